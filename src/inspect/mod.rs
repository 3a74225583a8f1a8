//! The only driver of an inspection: texts in, outcome out, again and again.
//!
//! A [`Workspace`] holds the texts of a folder. Each is read once, when it is new: what it says, what is wrong in it, and where
//! its statements stand is kept. Rules are asked about one subject at a time (a model with its aircraft, an aircraft, a
//! handset), and what they said is kept with the names that it hangs on. When a text changes, what hangs on none of the names that
//! stand in it, or stood in it before, is not asked again.
//!
//! ```
//! use walkaround::inspect::Workspace;
//!
//! let mut workspace = Workspace::new();
//! workspace.set("dunlin.rig", "rig 1\ncraft dunlin { kind aeroplane }\n".as_bytes());
//! let before = workspace.outcome();
//! workspace.set("dunlin.rig", "rig 1\ncraft dunlin { kind boot }\n".as_bytes());
//! assert_ne!(before.findings, workspace.outcome().findings);
//! workspace.remove("dunlin.rig");
//! assert!(workspace.outcome().aircraft.is_empty());
//! ```

mod aircraft;
mod ask;
mod file;
mod finish;
mod keep;
mod spell;
mod words;
mod workspace;

pub use crate::findings::outcome::Outcome;
pub use finish::unreadable_file;
pub use workspace::Workspace;

use crate::findings::Finding;
use crate::findings::grading::Grading;
use crate::findings::known::Known;
use crate::fleet::day::Day;
use crate::fleet::words::Tested;
use crate::rules::parameters::Parameters;
use std::sync::{Mutex, PoisonError};

/// How an inspection is done.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Which rules are asked, and their grades.
    pub grading: Grading,
    /// The rules' parameters.
    pub parameters: Parameters,
    /// The day that waivers and tests are held against; `None`: no waiver has ended, and no test is asked for.
    pub today: Option<Day>,
    /// What each aircraft is to be tested for, with how many days later again.
    pub tested: Vec<(Tested, u16)>,
    /// The place of aircraft that name none.
    pub default_place: Option<String>,
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// What is known already, and left out.
    pub known: Known,
    /// Another wording of every message; nothing else of an outcome hangs on it.
    pub reword: Option<fn(&Finding) -> String>,
}

/// Inspects texts on one thread; they are numbered in their order.
pub fn inspect(texts: &[&[u8]], options: &Options) -> Outcome {
    let mut workspace = Workspace::new();
    workspace.settings(options.clone());
    for (number, text) in texts.iter().enumerate() {
        workspace.set(&format!("{number:08}.rig"), *text);
    }
    workspace.into_outcome()
}

/// One of several independent pieces of work, by its number.
type Piece<'p> = &'p (dyn Fn(usize) + Sync);

/// Has so many pieces of work done, numbered from 0: the outside may do them at the same time.
pub(crate) struct Spread(Box<dyn Fn(usize, Piece<'_>) + Send + Sync>);

impl Default for Spread {
    /// One after the other.
    fn default() -> Self {
        Self(Box::new(|count, piece| (0..count).for_each(piece)))
    }
}

impl std::fmt::Debug for Spread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Spread")
    }
}

impl Spread {
    /// The results of so many pieces of work, in their order.
    fn map<T: Send>(&self, count: usize, one: impl Fn(usize) -> T + Sync) -> Vec<T> {
        let results: Vec<Mutex<Option<T>>> = (0..count).map(|_| Mutex::new(None)).collect();
        (self.0)(count, &|number| {
            if let Some(place) = results.get(number) {
                *place.lock().unwrap_or_else(PoisonError::into_inner) = Some(one(number));
            }
        });
        results.into_iter().filter_map(|result| result.into_inner().unwrap_or_else(PoisonError::into_inner)).collect()
    }
}
