//! Answers that programs share. Models of one fleet are often alike where it matters: the same switch arms them all. What
//! was decided about one holds for every other whose question hangs on the same.

use super::alike::{Numbers, Row, Writer, Written};
use super::program::Program;
use super::question::{Answer, Proof, Question, Reach, Why};
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
    settled: FxHashMap<Row, Settled>,
    words: Vec<u32>,
}

/// What was proved once. That something was not decided is not kept: it may hang on what else was asked.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Settled {
    Yes,
    /// With the number of regions looked at.
    No(u64),
    Reach(Reach),
}

/// What is known of something that was asked.
pub(super) enum Looked {
    Known(Settled),
    /// Nothing yet; what is found can be kept under this.
    New(Key),
    /// Nothing, and it has no row.
    NoRow,
}

/// Where an answer belongs.
pub(super) struct Key {
    row: Row,
    age: u32,
}

impl Answers {
    /// Looks up what a row asks.
    pub(super) fn look(&self, program: &Program, write: impl FnOnce(&mut Writer<'_>) -> Written) -> Looked {
        let Ok(mut table) = self.0.lock() else { return Looked::NoRow };
        let Table { numbers, settled, words } = &mut *table;
        if numbers.len() > MOST || settled.len() > MOST {
            numbers.forget();
            settled.clear();
        }
        if write(&mut Writer::new(program, numbers, &mut program.ids.borrow_mut(), words)).is_err() {
            return Looked::NoRow;
        }
        match settled.get(words.as_slice()) {
            Some(known) => Looked::Known(*known),
            None => Looked::New(Key { row: words.as_slice().into(), age: numbers.age() }),
        }
    }

    /// Keeps what was found.
    pub(super) fn keep(&self, key: Key, found: Settled) {
        // Rows that were written before everything was forgotten mean something else now.
        if let Ok(mut table) = self.0.lock()
            && table.numbers.age() == key.age
        {
            table.settled.insert(key.row, found);
        }
    }
}

impl Program {
    /// Decides a question.
    pub fn ask(&self, question: &Question) -> Answer {
        self.shared(|row| row.question(question), || self.find(question))
    }

    /// Whether there is a reachable state as asked for, without showing it: a fraction of the work where programs share
    /// their answers ([`Program::with_answers`]).
    ///
    /// # Errors
    /// Why it was not decided.
    pub fn decide(&self, question: &Question) -> Result<bool, Why> {
        let answer = match self.look(|row| row.question(question)) {
            Looked::Known(settled) => return Ok(settled == Settled::Yes),
            Looked::New(key) => self.kept(key, self.find(question)),
            Looked::NoRow => self.find(question),
        };
        match answer {
            Answer::Yes(_) => Ok(true),
            Answer::No(_) => Ok(false),
            Answer::NotDecided(why) => Err(why),
        }
    }

    /// An answer that others may have proved. A yes is found anew, since its state is shown.
    pub(super) fn shared(
        &self,
        write: impl FnOnce(&mut Writer<'_>) -> Written,
        find: impl FnOnce() -> Answer,
    ) -> Answer {
        match self.look(write) {
            Looked::Known(Settled::No(regions)) => Answer::No(Proof { regions }),
            Looked::New(key) => self.kept(key, find()),
            _ => find(),
        }
    }

    /// What programs that share answers know of a row.
    pub(super) fn look(&self, write: impl FnOnce(&mut Writer<'_>) -> Written) -> Looked {
        self.answers.as_ref().map_or(Looked::NoRow, |answers| answers.look(self, write))
    }

    /// The answer, kept for other programs where it was decided.
    fn kept(&self, key: Key, answer: Answer) -> Answer {
        let settled = match &answer {
            Answer::Yes(_) => Some(Settled::Yes),
            Answer::No(proof) => Some(Settled::No(proof.regions)),
            Answer::NotDecided(_) => None,
        };
        if let (Some(answers), Some(settled)) = (&self.answers, settled) {
            answers.keep(key, settled);
        }
        answer
    }
}
