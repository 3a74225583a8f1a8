//! What a file says, before it is written in one form or another.

/// One line or block of a file.
pub(crate) enum Entry {
    /// An empty line.
    Gap,
    /// A comment of its own.
    Note(String),
    /// A statement on one line.
    Line(String),
    /// A statement with a body.
    Block(String, Vec<Entry>),
}

impl Entry {
    pub(crate) fn note(text: String) -> Self {
        Self::Note(text)
    }

    pub(crate) fn line(text: impl Into<String>) -> Self {
        Self::Line(text.into())
    }

    pub(crate) fn block(head: impl Into<String>, body: Vec<Self>) -> Self {
        Self::Block(head.into(), body)
    }

    /// A block whose lines are the lines of a text.
    pub(crate) fn block_of(head: impl Into<String>, lines: &str) -> Self {
        Self::Block(head.into(), lines_of(lines))
    }
}

/// One entry for each line of a text; indentation and empty lines don't count.
pub(crate) fn lines_of(text: &str) -> Vec<Entry> {
    text.lines().map(str::trim).filter(|line| !line.is_empty()).map(Entry::line).collect()
}

/// How many lines the entries take, with the file's first line and the gap below it.
pub(crate) fn line_count(entries: &[Entry]) -> usize {
    2 + entries.iter().map(height).sum::<usize>()
}

fn height(entry: &Entry) -> usize {
    match entry {
        Entry::Block(_, body) if fits_one_line(body).is_some() => 1,
        Entry::Block(_, body) => 2 + body.iter().map(height).sum::<usize>(),
        Entry::Gap | Entry::Note(_) | Entry::Line(_) => 1,
    }
}

/// The only line of a body that stands between its braces on the line of its head.
fn fits_one_line(body: &[Entry]) -> Option<&str> {
    match body {
        [Entry::Line(line)] if !line.contains('#') => Some(line),
        _ => None,
    }
}

/// The file in the rig language.
pub(crate) fn rig_text(entries: &[Entry]) -> String {
    let mut text = String::from("rig 1\n\n");
    for entry in entries {
        write_rig(entry, 0, &mut text);
    }
    text
}

fn write_rig(entry: &Entry, depth: usize, text: &mut String) {
    let indent = "  ".repeat(depth);
    match entry {
        Entry::Gap => text.push('\n'),
        Entry::Note(note) => text.push_str(&format!("{indent}# {note}\n")),
        Entry::Line(line) => text.push_str(&format!("{indent}{line}\n")),
        Entry::Block(head, body) => {
            if let Some(line) = fits_one_line(body) {
                text.push_str(&format!("{indent}{head} {{ {line} }}\n"));
                return;
            }
            text.push_str(&format!("{indent}{head} {{\n"));
            for entry in body {
                write_rig(entry, depth + 1, text);
            }
            text.push_str(&format!("{indent}}}\n"));
        }
    }
}
