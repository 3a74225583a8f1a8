//! Changes put into a text, and places found again behind them.

use crate::source::Span;

/// Bytes of a text that are replaced; what [`super::ready`] makes of a finding's edits.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Change {
    /// The bytes that go.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// The text with the changes put in. They stand in text order and do not overlap; one that reaches out of the text is
/// passed over.
pub fn splice(text: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut out = Vec::with_capacity(text.len() + changes.iter().map(|change| change.text.len()).sum::<usize>());
    let mut at = 0;
    for change in changes {
        let Some(kept) = text.get(at..change.span.start as usize) else { continue };
        out.extend_from_slice(kept);
        out.extend_from_slice(change.text.as_bytes());
        at = change.span.end as usize;
    }
    out.extend_from_slice(text.get(at..).unwrap_or_default());
    out
}

/// Where a byte of the text after the changes stood before them. What was put in stands where it was put.
pub fn back(changes: &[Change], at: u32) -> u32 {
    let mut shift = 0i64;
    for change in changes {
        let start = i64::from(change.span.start) + shift;
        if i64::from(at) < start {
            break;
        }
        if i64::from(at) < start + change.text.len() as i64 {
            return change.span.start;
        }
        shift += change.text.len() as i64 - i64::from(change.span.end - change.span.start);
    }
    u32::try_from(i64::from(at) - shift).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(start: u32, end: u32, text: &str) -> Change {
        Change { span: Span::new(start, end), text: text.to_owned() }
    }

    #[test]
    fn changes_go_in_and_places_are_found_again() {
        let changes = [change(1, 3, ""), change(4, 4, "xyz"), change(5, 6, "q")];
        let after = splice(b"abcdefg", &changes);
        assert_eq!(after, b"adxyzeqg");
        let places: Vec<u32> = (0..9).map(|at| back(&changes, at)).collect();
        assert_eq!(places, [0, 3, 4, 4, 4, 4, 5, 6, 7]);
    }
}
