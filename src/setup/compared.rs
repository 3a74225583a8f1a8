//! What comparisons of two models found, kept from run to run.

use super::strange::Wrong;
use crate::fleet::equipment::Head;
use crate::source::Place;
use rustc_hash::FxHashMap;
use std::sync::Mutex;

/// What was found about a strange model, an aircraft's own, and the aircraft, by the places of their headers; until one of the
/// three is another, or what it hangs on.
#[derive(Debug, Default)]
pub struct Compared(Mutex<FxHashMap<[Place; 3], Wrong>>);

/// More comparisons than this are forgotten all at once.
const MOST_COMPARED: usize = 1 << 16;

impl Compared {
    /// What is known of three blocks, or else what is found now.
    pub fn of(&self, heads: [&Head; 3], compare: impl FnOnce() -> Wrong) -> Wrong {
        let places = heads.map(|head| head.place(head.header));
        let known = self.0.lock().ok().and_then(|known| known.get(&places).cloned());
        known.unwrap_or_else(|| {
            let found = compare();
            if let Ok(mut known) = self.0.lock() {
                if known.len() >= MOST_COMPARED {
                    known.clear();
                }
                known.insert(places, found.clone());
            }
            found
        })
    }

    /// Forgets what is about a block that became another, given by the place of its header.
    pub fn forget(&self, is_other: &dyn Fn(Place) -> bool) {
        if let Ok(mut known) = self.0.lock() {
            known.retain(|places, _| !places.iter().any(|place| is_other(*place)));
        }
    }
}
