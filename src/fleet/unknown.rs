//! Names that are used and not defined.

use super::condition::Name;
use super::problem::{Problem, ProblemKind, nearest};
use super::resolve::quoted;
use super::table::lists::SYNONYMS;
use crate::source::Place;
use rustc_hash::FxHashSet;

/// How many known names are held against unknown ones in one inspection, so that its time does not grow with the square
/// of the names: a pilot mends the first slips and inspects again.
const MOST_COMPARED: usize = 1_000_000;

/// The problems that names make, as they are found.
#[derive(Debug, Default)]
pub(super) struct Problems {
    pub(super) list: Vec<Problem>,
    compared: usize,
}

impl Problems {
    /// For those who ask only whether there are any.
    pub(super) fn without_guesses() -> Self {
        Self { list: Vec::new(), compared: MOST_COMPARED }
    }

    pub(super) fn push(&mut self, problem: Problem) {
        self.list.push(problem);
    }

    /// Says that a name is not defined, with the nearest of those that are.
    pub(super) fn unknown<'w>(
        &mut self,
        place: Place,
        what: &str,
        name: &Name,
        known: impl IntoIterator<Item = &'w str>,
    ) {
        let mut near = None;
        let mut all: Vec<&str> = Vec::new();
        if self.compared < MOST_COMPARED {
            all.extend(known);
            self.compared += all.len();
            let small = name.value.to_lowercase();
            let said = SYNONYMS.iter().find(|(said, _)| *said == small).map(|(_, meant)| *meant);
            let same = all.iter().copied().find(|known| Some(*known) == said || known.to_lowercase() == small);
            let mut sorted = all.clone();
            sorted.sort_unstable();
            near = same.or_else(|| nearest(&name.value, sorted)).filter(|near| *near != name.value);
        }
        let message = match near {
            Some(near) => format!("there is no {what} called \"{}\"; the nearest is \"{near}\"", name.value),
            None => format!("there is no {what} called \"{}\"", name.value),
        };
        let mut mend = match named(&all) {
            known if known.is_empty() => format!("correct the name, or define the {what}"),
            known => format!("correct the name, or define the {what}; known here: {known}"),
        };
        if matches!(what, "handset" | "link" | "craft" | "place") {
            mend += "; if it stands in another file, inspect the folder that holds both";
        }
        let problem = Problem::new(ProblemKind::UnknownName, place, message, mend);
        self.list.push(match near {
            Some(near) => problem.repair(format!("write {near}"), name.span, quoted(near)),
            None => problem,
        });
    }
}

/// Names that are told; the rest are counted.
const NAMED_AT_MOST: usize = 12;

/// The names that there are, each once.
fn named(all: &[&str]) -> String {
    let mut met = FxHashSet::default();
    let once: Vec<&str> = all.iter().copied().filter(|name| met.insert(*name)).collect();
    let shown = once.iter().take(NAMED_AT_MOST).map(|name| quoted(name)).collect::<Vec<_>>().join(", ");
    match once.len().saturating_sub(NAMED_AT_MOST) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Located, Span};

    #[test]
    fn names_that_stand_twice_are_counted_once() {
        let names: Vec<String> = (0..NAMED_AT_MOST + 2).map(|number| format!("plover-{number}")).collect();
        let twice: Vec<&str> = names.iter().chain(&names).map(String::as_str).collect();
        assert!(named(&twice).ends_with("plover-11 and 2 more"), "{}", named(&twice));
        assert!(named(&twice[..NAMED_AT_MOST]).ends_with("plover-11"));
    }

    #[test]
    fn the_first_unknown_names_have_a_guess_and_the_rest_are_told() {
        let known: Vec<String> = (0..MOST_COMPARED / 2).map(|number| format!("plover-{number}")).collect();
        let mut problems = Problems::default();
        for _ in 0..4 {
            let name = Located::new("plover-x17".into(), Span::default());
            problems.unknown(Place::default(), "craft", &name, known.iter().map(String::as_str));
        }
        let guesses: Vec<usize> = problems.list.iter().map(|problem| problem.repairs.len()).collect();
        assert_eq!(guesses, [1, 1, 0, 0]);
        assert!(problems.list[1].message.ends_with("the nearest is \"plover-117\""), "{:?}", problems.list[1]);
        assert_eq!(problems.list[3].message, "there is no craft called \"plover-x17\"");
    }
}
