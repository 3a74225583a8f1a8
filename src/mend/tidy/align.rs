//! Columns over lines that follow one another.

use super::lay::Line;

/// A line of more characters than this takes no part in a column of comments, so that one long line does not push
/// all others away.
const WIDE: usize = 100;

/// Makes a column behind the names that like statements define, as `mode` and `switch` do.
pub(super) fn names(lines: &mut [Line<'_>]) {
    let key = |line: &Line<'_>| line.name.map(|name| (name.word.to_vec(), name.parent));
    for run in lines.chunk_by_mut(|one, next| key(one).is_some() && key(one) == key(next)) {
        let width = |line: &Line<'_>| {
            line.name.map_or(0, |name| line.code.get(..name.end).map_or(0, |code| code.chars().count()))
        };
        let column = run.iter().map(width).max().unwrap_or_default();
        for line in run {
            let missing = column - width(line);
            if let Some(name) = line.name {
                line.code.insert_str(name.end, &" ".repeat(missing));
            }
        }
    }
}

/// Puts the comments behind statements of lines that follow one another into one column: the leftmost that they stood
/// in, or as far to the right as the longest of the lines needs.
pub(super) fn comments(lines: &mut [Line<'_>]) {
    let has = |line: &Line<'_>| line.comment.is_some() && !line.code.is_empty();
    for run in lines.chunk_by_mut(|one, next| has(one) && has(next)) {
        let narrow = || run.iter().filter(|line| has(line) && line.width() <= WIDE);
        let stood = narrow().map(|line| line.column).min().unwrap_or_default();
        let needed = narrow().map(|line| line.width() + 2).max().unwrap_or_default();
        for line in run.iter_mut() {
            line.column = if line.width() <= WIDE { stood.max(needed) } else { line.width() + 2 };
        }
    }
}
