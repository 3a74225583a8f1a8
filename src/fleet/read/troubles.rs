//! The troubles of the text's reader in words.

use super::Reader;
use crate::fleet::miss::any_of;
use crate::fleet::problem::{Problem, ProblemKind, nearest};
use crate::fleet::slip::Guess;
use crate::fleet::table::{self, Block};
use crate::source::{Place, Span};
use crate::syntax::{
    Kind, MAX_BYTES, MAX_DIGITS, MAX_NESTING, MAX_PROBLEMS, MAX_STATEMENTS, MAX_WORD, Problem as TextProblem,
    Statement, Trouble,
};
use std::borrow::Cow;

/// So many characters of what is wrong are shown in a message.
const SHOWN: usize = 60;

impl<'t> Reader<'t> {
    pub(super) fn troubles(&mut self) {
        for problem in &self.tables.problems {
            let problem = self.trouble(problem);
            self.tell(problem);
        }
    }

    fn trouble(&mut self, trouble: &TextProblem) -> Problem {
        let (kind, message, mend) = trouble_in_words(self.bytes, trouble);
        let mut problem = Problem::new(kind, self.place(trouble.span), message, mend);
        let guesses = match trouble.trouble {
            Trouble::DecimalComma => self.without_comma(trouble.span),
            _ => Vec::new(),
        };
        if trouble.trouble == Trouble::MissingBrace {
            let end = Span::new(trouble.span.end, trouble.span.end);
            problem = problem.repair("write ` {` at the end of the line", end, " {");
        } else if trouble.trouble == Trouble::BraceAlone {
            let before = self.bytes.get(..trouble.span.start as usize).unwrap_or_default();
            let end = before.trim_ascii_end().len() as u32;
            let commented = self.tables.comments.iter().any(|comment| comment.span.end == end);
            if !commented {
                let gap = Span::new(end, trouble.span.end);
                problem = problem.repair("put the `{` at the end of the line above", gap, " {");
            }
        } else if trouble.trouble == Trouble::StrayBrace {
            problem = problem.repair("take the `}` out", trouble.span, "");
        } else if self.guesses > 0
            && let Some((block, statement)) = self.around_of(trouble.span)
        {
            self.guesses -= 1;
            let line = self.line(block, statement);
            let guesses = guesses.into_iter().map(|text| Guess { span: trouble.span, text });
            let guesses = guesses.chain(line.of_trouble(trouble.trouble, trouble.span)).collect();
            problem = line.offer(problem, guesses);
        }
        match trouble.other {
            Some(other) => problem.other(self.place(other), "it was taken to end before this"),
            None => problem,
        }
    }

    /// The statement in whose header something stands, and the block that it stands in, where its header is known.
    fn around_of(&self, span: Span) -> Option<(Block, &'t Statement)> {
        let statements = &self.tables.statements;
        let at = statements.partition_point(|statement| self.tables.word(statement).start <= span.start);
        let statement = statements.get(at.checked_sub(1)?)?;
        let mut outer = Vec::new();
        let mut parent = statement.parent;
        while let Some(opening) = statements.get(parent as usize) {
            outer.push(opening);
            parent = opening.parent;
        }
        let opens = |block, opening: &&Statement| {
            table::find(block, self.tables.word(opening).of(self.bytes)).and_then(|ready| ready.entry.opens)
        };
        let block = outer.iter().rev().try_fold(Block::Top, opens)?;
        self.tables.header(statement).holds(span).then_some((block, statement))
    }

    /// What digits with commas between them can mean: a decimal number, a list; the likelier in their statement first.
    fn without_comma(&self, span: Span) -> Vec<String> {
        if span.of(self.bytes).len() > MAX_WORD {
            return Vec::new();
        }
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
        let word_span = word.span();
        let text = self.text(word_span);
        let place = self.place(word.span());
        let elsewhere: Vec<&str> = table::entries()
            .filter(|entry| entry.word.as_bytes() == word.of(self.bytes))
            .map(|entry| entry.block.name())
            .collect();
        let words = || table::block(block).iter().map(|ready| ready.entry.word);
        // `receiver number 4`, and the first letters of a word where no other begins so.
        let two = self.tables.items(statement).first().filter(|item| item.kind == Kind::Word);
        let joined = two.and_then(|item| {
            let both = format!("{text}-{}", self.text(item.span()));
            words().find(|word| *word == both).map(|word| (word, word_span.to(item.span())))
        });
        if let Some((word, span)) = joined {
            let message = format!("`{}` is one word here: `{word}`", self.text(span));
            let problem =
                Problem::new(ProblemKind::UnknownStatement, self.place(span), message, "write it as one word");
            self.tell(problem.repair(format!("write `{word}`"), span, word));
            return;
        }
        // `ch1`, `channel5`: the word and its number.
        let digits = text.find(|letter: char| letter.is_ascii_digit()).filter(|at| *at > 1);
        if let Some((letters, number)) = digits.map(|at| text.split_at(at))
            && let Some(word) = words().find(|word| word.starts_with(&letters.to_lowercase()))
            && number.bytes().all(|digit| digit.is_ascii_digit())
        {
            let written = format!("{word} {number}");
            let message = format!("`{text}` is two words here: `{written}`");
            let problem = Problem::new(ProblemKind::UnknownStatement, place, message, "write them apart");
            self.tell(problem.repair(format!("write `{written}`"), word_span, written));
            return;
        }
        let begins = || words().filter(|word| text.len() > 1 && word.starts_with(text.as_str()));
        let only = begins().next().filter(|_| begins().count() == 1);
        let near = only.or_else(|| nearest(&text.to_lowercase(), words()));
        let mut message = format!("`{text}` is no statement of {}", block.name());
        let hinted = HINTS.iter().find(|(hinted, said, _)| *hinted == block && *said == text);
        let elsewhere = if hinted.is_some() { Vec::new() } else { elsewhere };
        if !elsewhere.is_empty() {
            message += &format!("; it belongs in {}", any_of(&elsewhere));
        } else if let Some(near) = near {
            message += &format!("; the nearest is `{near}`");
        }
        let mend = match elsewhere.as_slice() {
            [] => {
                let hint = HINTS.iter().find(|(hinted, said, _)| *hinted == block && *said == text.to_lowercase());
                let known: Vec<&str> = words().collect();
                match hint {
                    Some((.., hint)) => (*hint).to_owned(),
                    None => format!(
                        "correct the word, or take the line out; in {} stand {}",
                        block.name(),
                        known.join(", ")
                    ),
                }
            }
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
        self.tell(problem);
    }
}

/// What pilots call what a block says otherwise, and how it is said.
const HINTS: &[(Block, &str, &str)] = &[
    (Block::Model, "expo", "in a model expo stands in the rates of a stick: `rates roll { rate 100 % expo 30 % }`"),
    (Block::Model, "rate", "rates stand in the block of a stick: `rates roll { rate 100 % expo 30 % }`"),
    (
        Block::Model,
        "dual-rate",
        "rates stand in the block of a stick: `rates roll { rate 70 % when left-rear up; rate 100 % }`",
    ),
    (
        Block::Model,
        "throttle-cut",
        "a cut is a value of the throttle's channel: `channel 3 { value -100 % when left-front up; value throttle }`",
    ),
    (
        Block::Model,
        "cut",
        "a cut is a value of the throttle's channel: `channel 3 { value -100 % when left-front up; value throttle }`",
    ),
    (Block::Model, "arm", "arming is a channel that the controller's `mode arm` reads: `channel 5 arm = left-front`"),
    (Block::Model, "reversed", "the sign of a channel is turned in its block: `channel 1 { value roll; reversed }`"),
    (Block::Craft, "reversed", "the sign of a channel is turned in the model: `channel 1 { value roll; reversed }`"),
    (Block::Craft, "mode", "modes stand in the flight controller: `controller { mode arm channel 5 1660..2140 us }`"),
];

/// What a trouble is, said in a sentence, and how it is mended.
pub(in crate::fleet) fn trouble_in_words(bytes: &[u8], trouble: &TextProblem) -> (ProblemKind, String, String) {
    use ProblemKind::{Syntax, TooLarge, Unreadable};
    let whole = trouble.span.of(bytes);
    let text = shown(whole);
    match trouble.trouble {
        Trouble::Character if whole == b".." => (
            Syntax,
            "`..` stands between two numbers without spaces, and their unit once behind both".into(),
            "write a range like `900..1200 us`".into(),
        ),
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
        Trouble::Number if whole.iter().filter(|byte| byte.is_ascii_digit()).count() > MAX_DIGITS => (
            ProblemKind::Range,
            format!("`{text}` has more digits than can be kept exactly"),
            format!("give at most {MAX_DIGITS} digits"),
        ),
        Trouble::Number => (
            Syntax,
            format!("`{text}` is no number"),
            "write numbers like `3.5` and ranges like `1..4`, without spaces inside".into(),
        ),
        Trouble::LongWord => (
            TooLarge,
            format!("`{text}` has more than {MAX_WORD} characters"),
            format!("no name needs so many: use at most {MAX_WORD}; perhaps a quote or a blank is missing"),
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
        Trouble::MissingBrace => {
            (Syntax, format!("`{text}` opens a block and misses its `{{`"), format!("write `{text} {{`"))
        }
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
        Trouble::TooManyProblems => (TooLarge, too_many_words(), TOO_MANY_MEND.into()),
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

/// The problem that stands for all those that are not listed.
pub(super) fn too_many(place: Place) -> Problem {
    Problem::new(ProblemKind::TooLarge, place, too_many_words(), TOO_MANY_MEND)
}

fn too_many_words() -> String {
    format!("more than {MAX_PROBLEMS} problems in this file; the rest is not listed")
}

const TOO_MANY_MEND: &str = "mend the first ones and inspect again; perhaps this is no rig file";

/// What is wrong, as a message shows it: the start of it where it is long.
fn shown(bytes: &[u8]) -> Cow<'_, str> {
    // No character has more than four bytes.
    let start = String::from_utf8_lossy(bytes.get(..4 * SHOWN + 4).unwrap_or(bytes));
    match start.char_indices().nth(SHOWN) {
        Some((end, _)) => Cow::Owned(format!("{}…", start.get(..end).unwrap_or_default())),
        None => start,
    }
}

fn hex(bytes: &[u8]) -> String {
    let digits: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    digits.join(" ")
}
