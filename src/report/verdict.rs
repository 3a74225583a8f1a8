//! What an inspection says of an aircraft, in the words that every form for people uses.

use crate::findings::coverage::{Row, Standing};
use crate::findings::verdict::Verdict;
use crate::report::totals::several;
use std::borrow::Cow;

/// The verdict with what it rests on: `nothing found by 61 rules, 3 not asked`. It gives no share of a whole: all of all would read
/// as a mark that the aircraft has passed.
pub fn in_words(verdict: Verdict, row: Option<&Row>) -> Cow<'static, str> {
    let (Verdict::NothingFound, Some(row)) = (verdict, row) else { return Cow::Borrowed(verdict.words()) };
    let asked = several(row.count(Standing::Clear), "rule");
    match row.count(Standing::NotAsked) {
        0 => format!("{} by {asked}", verdict.words()),
        left => format!("{} by {asked}, {left} not asked", verdict.words()),
    }
    .into()
}
