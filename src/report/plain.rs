//! Texts from files, made harmless: the one place that decides which characters are shown instead of sent.

use std::borrow::Cow;
use std::fmt::Write as _;

/// Whether a character must not reach a terminal or a reader as it is: it moves the cursor, turns the direction of
/// writing, ends a line or can't be seen.
pub fn is_unwelcome(character: char) -> bool {
    match character {
        // C0, DELETE and C1.
        _ if character.is_control() => true,
        // The bidirectional controls of UAX #9, and the line and paragraph separators.
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        // Invisible: soft hyphen, zero-width space, word joiner and invisible operators, byte-order mark,
        // interlinear annotation, tags.
        '\u{ad}' | '\u{200b}' | '\u{2060}'..='\u{2064}' | '\u{206a}'..='\u{206f}' => true,
        '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}' => true,
        _ => false,
    }
}

/// The text with every unwelcome character written as an escape of the rig language, in one line.
pub fn plain(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_unwelcome) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    text.chars().for_each(|character| push(&mut shown, character));
    Cow::Owned(shown)
}

/// Appends a character, or its escape if it is unwelcome.
pub fn push(shown: &mut String, character: char) {
    match character {
        '\n' => shown.push_str("\\n"),
        '\t' => shown.push_str("\\t"),
        _ if is_unwelcome(character) => {
            // Writing to a string can't fail.
            let _ = write!(shown, "\\u{{{:x}}}", u32::from(character));
        }
        _ => shown.push(character),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_and_what_is_sent() {
        for (text, shown) in [
            ("dunlin é 🪶", "dunlin é 🪶"),
            ("\u{1b}[31mred", "\\u{1b}[31mred"),
            ("two\nlines\r\tx", "two\\nlines\\u{d}\\tx"),
            ("c1 \u{9b}31m del \u{7f} nul \0", "c1 \\u{9b}31m del \\u{7f} nul \\u{0}"),
            (
                "bidi \u{202e}nilnud\u{202c} \u{2066}x\u{2069} \u{200f}",
                "bidi \\u{202e}nilnud\\u{202c} \\u{2066}x\\u{2069} \\u{200f}",
            ),
            ("\u{feff}mark \u{2028} \u{e0041}", "\\u{feff}mark \\u{2028} \\u{e0041}"),
        ] {
            assert_eq!(plain(text), shown);
        }
    }
}
