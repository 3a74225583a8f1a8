//! The troubles of the text's reader in words.

use super::Reader;
use crate::fleet::miss::any_of;
use crate::fleet::problem::{Problem, ProblemKind, nearest};
use crate::fleet::table::{self, Block};
use crate::source::Span;
use crate::syntax::{MAX_BYTES, MAX_NESTING, MAX_PROBLEMS, MAX_STATEMENTS, Problem as TextProblem, Statement, Trouble};

impl Reader<'_> {
    pub(super) fn troubles(&mut self) {
        for problem in &self.tables.problems {
            let problem = self.trouble(problem);
            self.problems.push(problem);
        }
    }

    fn trouble(&self, trouble: &TextProblem) -> Problem {
        let (kind, message, mend) = trouble_in_words(self.bytes, trouble);
        let mut problem = Problem::new(kind, self.place(trouble.span), message, mend);
        if trouble.trouble == Trouble::DecimalComma {
            for text in self.without_comma(trouble.span) {
                problem = problem.repair(format!("write `{text}`"), trouble.span, text);
            }
        }
        match trouble.other {
            Some(other) => problem.other(self.place(other), "it was taken to end before this"),
            None => problem,
        }
    }

    /// What digits with commas between them can mean: a decimal number, a list; the likelier in their statement first.
    fn without_comma(&self, span: Span) -> Vec<String> {
        let text = self.text(span);
        let list = text.split(',').collect::<Vec<_>>().join(", ");
        if text.matches(',').count() != 1 || text.contains('.') {
            return vec![list];
        }
        let at = self.tables.statements.partition_point(|statement| self.tables.word(statement).start <= span.start);
        let statement = at.checked_sub(1).and_then(|at| self.tables.statements.get(at));
        let word = statement.map_or(&[][..], |statement| self.tables.word(statement).of(self.bytes));
        let takes_list = table::entries()
            .filter(|entry| entry.word.as_bytes() == word)
            .any(|entry| entry.shapes.iter().any(|shape| shape.contains(":numbers") || shape.contains(":ints ")));
        let decimal = text.replace(',', ".");
        if takes_list { vec![list, decimal] } else { vec![decimal, list] }
    }

    /// A word that no statement of this block has.
    #[cold]
    pub(super) fn unknown_statement(&mut self, block: Block, statement: &Statement) {
        let word = self.tables.word(statement);
        let text = self.text(word.span());
        let place = self.place(word.span());
        let elsewhere: Vec<&str> = table::entries()
            .filter(|entry| entry.word.as_bytes() == word.of(self.bytes))
            .map(|entry| entry.block.name())
            .collect();
        let near = nearest(&text, table::block(block).iter().map(|ready| ready.entry.word));
        let mut message = format!("`{text}` is no statement of {}", block.name());
        if !elsewhere.is_empty() {
            message += &format!("; it belongs in {}", any_of(&elsewhere));
        } else if let Some(near) = near {
            message += &format!("; the nearest is `{near}`");
        }
        let mend = match elsewhere.as_slice() {
            [] => "correct the word, or take the line out".to_owned(),
            blocks => {
                format!("move the line into {}; if it stands in one, look for a `}}` too many above it", any_of(blocks))
            }
        };
        let mut problem = Problem::new(ProblemKind::UnknownStatement, place, message, mend);
        if elsewhere.is_empty()
            && let Some(near) = near
        {
            problem = problem.repair(format!("write `{near}`"), word.span(), near);
        }
        self.problems.push(problem);
    }
}

/// What a trouble is, said in a sentence, and how it is mended.
pub(in crate::fleet) fn trouble_in_words(bytes: &[u8], trouble: &TextProblem) -> (ProblemKind, String, String) {
    use ProblemKind::{Syntax, TooLarge, Unreadable};
    let text = String::from_utf8_lossy(trouble.span.of(bytes));
    match trouble.trouble {
        Trouble::Character => (
            Syntax,
            format!("`{text}` begins nothing that the language has"),
            "take it out, or put text in quotes".into(),
        ),
        Trouble::OpenString => {
            (Syntax, "this text has no closing quote on its line".into(), "close it with `\"`".into())
        }
        Trouble::Escape => (
            Syntax,
            "an escape in this text is none of \\\" \\\\ \\n \\t \\u{…}".into(),
            "write a backslash as `\\\\`".into(),
        ),
        Trouble::DecimalComma => (
            Syntax,
            format!("`{text}` has a comma between digits"),
            format!("for a decimal number write `{}`; in a list put a space after the comma", text.replace(',', ".")),
        ),
        Trouble::Number if text.bytes().filter(u8::is_ascii_digit).count() > 15 => (
            ProblemKind::Range,
            format!("`{text}` has more digits than can be kept exactly"),
            "give at most 15 digits".into(),
        ),
        Trouble::Number => (
            Syntax,
            format!("`{text}` is no number"),
            "write numbers like `3.5` and ranges like `1..4`, without spaces inside".into(),
        ),
        Trouble::NoWord => {
            (Syntax, format!("a line can't begin with `{text}`"), "begin the line with a statement's word".into())
        }
        Trouble::StrayBrace => {
            (Syntax, "this `}` closes nothing".into(), "take it out, or add the `{` that it belongs to".into())
        }
        Trouble::OpenBlock => (
            Syntax,
            format!("the block `{text} {{` is not closed"),
            "add the missing `}`, in the column where this line begins".into(),
        ),
        Trouble::Semicolon => {
            (Syntax, "`;` separates statements only inside braces".into(), "use a line for each".into())
        }
        Trouble::AfterBlock => {
            (Syntax, format!("`{text}` follows a `}}` on its line"), "begin a new line after the `}`".into())
        }
        Trouble::BraceAlone => {
            (Syntax, "this `{` follows no statement".into(), "put it at the end of the statement's own line".into())
        }
        Trouble::TooDeep => (
            TooLarge,
            format!("blocks stand more than {MAX_NESTING} deep in each other"),
            "no statement of the language needs this; look for a missing `}` above".into(),
        ),
        Trouble::TooMany => (
            TooLarge,
            format!("the file has more than {MAX_STATEMENTS} statements; the rest is not read"),
            "split it into several files".into(),
        ),
        Trouble::TooLong => (
            TooLarge,
            format!("the file is larger than {} MiB and is not read", MAX_BYTES >> 20),
            "split it into several files".into(),
        ),
        Trouble::TooManyProblems => (
            TooLarge,
            format!("more than {MAX_PROBLEMS} problems in this file; the rest is not listed"),
            "mend the first ones and inspect again; perhaps this is no rig file".into(),
        ),
        Trouble::NotUtf8 => (
            Unreadable,
            format!(
                "byte {} of the file (hexadecimal {}) is not UTF-8 text",
                trouble.span.start + 1,
                hex(trouble.span.of(bytes))
            ),
            "save the file as UTF-8".into(),
        ),
    }
}

fn hex(bytes: &[u8]) -> String {
    let digits: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    digits.join(" ")
}
