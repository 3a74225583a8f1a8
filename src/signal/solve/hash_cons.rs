//! Flat tables of nodes: runs in a shared list, and finding an equal node by its hash.

use rustc_hash::{FxHashMap, FxHasher};
use std::hash::{Hash, Hasher};
use std::ops::Range;

/// A stretch of a shared list.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(in crate::signal) struct Run {
    start: u32,
    end: u32,
}

impl Run {
    /// Appends `items` to a list.
    pub(in crate::signal) fn push<T: Copy>(list: &mut Vec<T>, items: &[T]) -> Self {
        let start = list.len() as u32;
        list.extend_from_slice(items);
        Self { start, end: list.len() as u32 }
    }

    pub(in crate::signal) const fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// Numbers of nodes by the hashes of what they hold; the nodes themselves stay where they are.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Index {
    /// The node added last under each hash.
    heads: FxHashMap<u64, u32>,
    /// For each node, the one added before it under the same hash.
    before: Vec<u32>,
}

const NONE: u32 = u32::MAX;

impl Index {
    /// With room for some nodes.
    pub(in crate::signal) fn with_room(nodes: usize) -> Self {
        let mut heads = FxHashMap::default();
        heads.reserve(nodes);
        Self { heads, before: Vec::with_capacity(nodes) }
    }

    /// The node with this hash that is `same`.
    pub(in crate::signal) fn find(&self, hash: u64, same: impl Fn(u32) -> bool) -> Option<u32> {
        let mut at = *self.heads.get(&hash)?;
        while at != NONE {
            if same(at) {
                return Some(at);
            }
            at = self.before[at as usize];
        }
        None
    }

    /// Adds a node; they are added in the order of their numbers.
    pub(in crate::signal) fn add(&mut self, hash: u64, id: u32) {
        let before = self.heads.insert(hash, id).unwrap_or(NONE);
        self.before.push(before);
    }
}

pub(in crate::signal) fn hash_of(value: &impl Hash) -> u64 {
    let mut hasher = FxHasher::default();
    value.hash(&mut hasher);
    hasher.finish()
}
