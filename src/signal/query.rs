//! The query over all reachable states. So far nothing is decided: the search is still to come.

use super::parts::Measure;
use super::program::Program;
use super::question::{Answer, Question, Reach, Why, Within};

impl Program {
    /// Decides a question.
    pub fn ask(&self, _question: &Question) -> Answer {
        Answer::NotDecided(Why::Budget)
    }

    /// What a channel reaches; `None` where the model does not define it, or nothing of it is received.
    pub fn range(&self, channel: u16, _measure: Measure, _within: &Within) -> Option<Reach> {
        self.channel(channel).map(|_| Reach::NotDecided(Why::Budget))
    }
}
