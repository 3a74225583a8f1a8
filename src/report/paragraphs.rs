//! Text in lines.

/// The text in lines of at most `width` characters, broken between words, but not before a unit; a longer word has a
/// line of its own.
pub(crate) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::with_capacity(text.len() / width.max(1) + 1);
    let (mut words, mut number) = (text.split_whitespace().peekable(), String::new());
    let mut room = 0;
    while let Some(mut word) = words.next() {
        if word.ends_with(|end: char| end.is_ascii_digit())
            && let Some(unit) = words.next_if(|next| is_unit(next))
        {
            number.clear();
            number.extend([word, " ", unit]);
            word = &number;
        }
        let length = word.chars().count();
        match lines.last_mut().filter(|_| length < room) {
            Some(line) => {
                line.push(' ');
                line.push_str(word);
                room -= length + 1;
            }
            None => {
                let mut line = String::with_capacity(width.min(text.len()).max(word.len()));
                line.push_str(word);
                lines.push(line);
                room = width.saturating_sub(length);
            }
        }
    }
    lines
}

/// The first `count` sentences of a text's first paragraph.
pub(crate) fn sentences(text: &str, count: usize) -> &str {
    let paragraph = text.lines().next().unwrap_or("");
    let ends = paragraph.match_indices(['.', '?', '!']).map(|(at, _)| at + 1).filter(|&end| {
        let mut behind = paragraph[end..].chars();
        behind.next().is_none_or(|space| space == ' ' && behind.next().is_none_or(|next| !next.is_lowercase()))
    });
    ends.take(count).last().map_or(paragraph, |end| &paragraph[..end])
}

/// As much of a text as one line has room for; what is left off is marked.
#[cfg(feature = "command-line")]
pub(crate) fn first_line(text: &str, width: usize) -> String {
    match wrapped(text, width).as_slice() {
        [] => String::new(),
        [whole] => whole.clone(),
        _ => format!(
            "{}…",
            wrapped(text, width.saturating_sub(1)).first().map_or("", |line| line.trim_end_matches([',', ':']))
        ),
    }
}

/// A text of paragraphs and lists in one line.
#[cfg(any(test, feature = "command-line"))]
pub(crate) fn flat(text: &str) -> String {
    let lines = text.lines().map(|line| line.strip_prefix("- ").unwrap_or(line)).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join(" ")
}

fn is_unit(word: &str) -> bool {
    let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
    const UNITS: [&str; 16] =
        ["%", "us", "ms", "s", "min", "Hz", "MHz", "mW", "W", "dB", "dBm", "dBi", "V", "mAh", "m", "km"];
    UNITS.contains(&bare)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_sentences_of_a_text() {
        for (text, count, first) in [
            ("One. Two. Three.", 2, "One. Two."),
            ("Reads 3.5 V. Then e.g. this one. Last", 2, "Reads 3.5 V. Then e.g. this one."),
            ("No end", 2, "No end"),
            ("One!\n\nTwo.", 2, "One!"),
            ("", 1, ""),
        ] {
            assert_eq!(sentences(text, count), first);
        }
    }

    #[test]
    fn a_list_in_one_line() {
        assert_eq!(flat("Take care.\n\n- Put it up.\n- Read it.\n"), "Take care. Put it up. Read it.");
    }

    #[test]
    fn lines_break_between_words_but_not_before_a_unit() {
        assert_eq!(wrapped("put it to 12.5 %, then read", 12), ["put it to", "12.5 %, then", "read"]);
        assert_eq!(wrapped("averyveryverylongword x", 5), ["averyveryverylongword", "x"]);
        assert!(wrapped(" ", 5).is_empty());
    }
}
