//! Two programs held against each other by themselves, without a fleet around them.

use super::join::Timed;
use super::pair::{Pair, Verdict, Watch};
use crate::signal::{Path, Program};

/// Whether something is the same in two programs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Same {
    /// In every state that can occur, proved.
    Yes,
    /// Not at the end of this path, as each of the two sees it.
    No(Box<(Path, Path)>),
    /// Neither was shown, and why.
    NotDecided(String),
}

/// Whether the pulses of each channel that both define are the same, up to 0.1 us, with the controls of both at the same places.
pub fn same_pulses(old: &Program, new: &Program) -> Vec<(u16, Same)> {
    let pair = Pair::new(Timed { program: old, held_for: &|_| None }, Timed { program: new, held_for: &|_| None });
    let both = old.parts().channels.iter().filter(|channel| !channel.is_mix() && new.channel(channel.number).is_some());
    let both: Vec<u16> = both.map(|channel| channel.number).collect();
    let other = both.iter().filter(|number| !pair.joined.same_channels.contains(number));
    let mut watches: Vec<Watch> = other.map(|number| Watch::Pulse(*number)).collect();
    let mut found: Vec<(Watch, Verdict)> =
        pair.look(&mut watches).into_iter().map(|(watch, path)| (watch, Verdict::Differs(path))).collect();
    found.extend(watches.into_iter().map(|watch| (watch.clone(), pair.verdict(&watch))));
    let one = |number: u16| match found.iter().find(|(watch, _)| *watch == Watch::Pulse(number)) {
        None | Some((_, Verdict::Same)) => Same::Yes,
        Some((_, Verdict::Differs(path))) => Same::No(Box::new(pair.paths(path))),
        Some((_, Verdict::Open(why))) => Same::NotDecided(why.clone()),
    };
    both.into_iter().map(|number| (number, one(number))).collect()
}
