//! Answers that programs share. Models of one fleet are often alike where it matters: the same switch arms them all. What
//! was decided about one holds for every other whose question hangs on the same.

use crate::signal::program::compiled::Compiled;
use crate::signal::solve::cache_key::{Ids, Numbers, Row, Writer, Written};
use crate::signal::solve::question::Reach;
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex};

/// Answers that one program after another can use and add to. Programs of one thread share one; a clone is the same one.
#[derive(Clone, Debug, Default)]
pub struct Answers(Arc<Mutex<Table>>);

/// More rows or answers than this are forgotten all at once.
const MOST: usize = 8192;

#[derive(Debug, Default)]
struct Table {
    numbers: Numbers,
    /// With the work that it took.
    settled: FxHashMap<Row, (Settled, u64)>,
    words: Vec<u32>,
}

/// What was proved once. That something was not decided is not kept: it may hang on what else was asked.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) enum Settled {
    Yes,
    /// With the number of regions looked at.
    No(u64),
    Reach(Reach),
    /// How far a pulse jumps, in microseconds.
    Jump(f64),
}

/// What is known of something that was asked.
pub(in crate::signal) enum Looked {
    /// What was settled, and the work that it took: who uses it pays for it too, so that what is decided of a model does not
    /// hang on which models came first.
    Found(Settled, u64),
    /// Nothing yet; what is found can be kept under this.
    New(Key),
    /// Nothing, and it has no row.
    NoRow,
}

/// Where an answer belongs.
pub(in crate::signal) struct Key {
    row: Row,
    age: u32,
}

impl Answers {
    /// Looks up what a row asks.
    pub(in crate::signal) fn look_up(
        &self,
        program: &Compiled,
        ids: &mut Ids,
        write: impl FnOnce(&mut Writer<'_>) -> Written,
    ) -> Looked {
        let Ok(mut table) = self.0.lock() else { return Looked::NoRow };
        let Table { numbers, settled, words } = &mut *table;
        if numbers.len() > MOST || settled.len() > MOST {
            numbers.forget();
            settled.clear();
        }
        if write(&mut Writer::new(program, numbers, ids, words)).is_err() {
            return Looked::NoRow;
        }
        match settled.get(words.as_slice()) {
            Some(&(settled, work)) => Looked::Found(settled, work),
            None => Looked::New(Key { row: words.as_slice().into(), age: numbers.age() }),
        }
    }

    /// Keeps what was found.
    pub(in crate::signal) fn keep(&self, key: Key, found: Settled, work: u64) {
        // Rows that were written before everything was forgotten mean something else now.
        if let Ok(mut table) = self.0.lock()
            && table.numbers.age() == key.age
        {
            table.settled.insert(key.row, (found, work));
        }
    }
}
