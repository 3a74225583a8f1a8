//! Text to flat tables with spans and problems.
//!
//! Reading never fails and never loses a byte: the tokens, the comments and the white space between them give the text
//! back ([`Tables::gives_back`]). Recovery is per statement and per block: a broken line never hides another's
//! statements, and an unclosed block ends where the text shows that its pilot thought it had.

mod lex;
mod limits;
mod structure;
mod token;

pub use limits::{MAX_BYTES, MAX_DIGITS, MAX_IN_BLOCK, MAX_NESTING, MAX_PROBLEMS, MAX_STATEMENTS, MAX_WORD};
pub use structure::{BlockKind, Known, Vocabulary, parse, parse_part};
pub use token::{Kind, Token, Unit};

use crate::source::Span;

/// Index that stands for "none": no parent, no following statement.
pub const NONE: u32 = u32::MAX;

/// The statements of one text as flat tables. A value of this type can be used again for the next text.
#[derive(Debug, Default)]
pub struct Tables {
    /// Words, numbers, strings and signs, in text order; ends of lines too, comments and blanks not.
    pub tokens: Vec<Token>,
    /// The statements in text order: a block's own statements follow its header.
    pub statements: Vec<Statement>,
    /// The comments in text order.
    pub comments: Vec<Comment>,
    /// What could not be understood, in text order.
    pub problems: Vec<Problem>,
}

/// One statement: `word items [{ body }]`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Statement {
    /// The token of its word.
    pub word: u32,
    /// One past its last item token; the items are `word + 1 .. items_end`.
    pub items_end: u32,
    /// The statement whose block it stands in, or [`NONE`].
    pub parent: u32,
    /// One past the last statement of its own block, so that the next one in the same block stands there.
    pub after: u32,
    /// The token of the `}` that closes its body; [`NONE`] where there is no body or where it was never closed.
    pub close: u32,
    /// Whether it opens a block. The `{` is the token at `items_end`.
    pub has_body: bool,
    /// Whether a problem was already found in its own words; nothing more is then said about them.
    pub broken: bool,
}

/// A comment, from its `#` to the end of its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comment {
    /// From the `#`, without the line end.
    pub span: Span,
    /// The first statement that begins after it, or one past the last.
    pub before: u32,
    /// Whether nothing else stands on its line.
    pub own_line: bool,
}

/// Something in the text that is no statement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where.
    pub span: Span,
    /// What.
    pub trouble: Trouble,
    /// A second place that explains the first: where an unclosed block was taken to end.
    pub other: Option<Span>,
}

/// The kinds of trouble the reader of the text can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// A character that begins nothing.
    Character,
    /// A string without its closing `"` on the line.
    OpenString,
    /// An escape in a string that is none.
    Escape,
    /// A comma between digits.
    DecimalComma,
    /// A number that is written wrongly (`5.`, `.5`, `1. .2`, more digits than can be kept exactly).
    Number,
    /// A statement that does not begin with a word.
    NoWord,
    /// A `}` that closes nothing.
    StrayBrace,
    /// A block that is not closed.
    OpenBlock,
    /// A `;` outside braces.
    Semicolon,
    /// Something after a `}` on its line.
    AfterBlock,
    /// A word or a text of more than [`MAX_WORD`] characters.
    LongWord,
    /// A `{` that follows no statement.
    BraceAlone,
    /// The header of a block without its `{`, where its lines and its `}` follow.
    MissingBrace,
    /// Blocks nested deeper than [`MAX_NESTING`].
    TooDeep,
    /// More than [`MAX_STATEMENTS`] statements.
    TooMany,
    /// More than [`MAX_BYTES`] bytes.
    TooLong,
    /// More problems than [`MAX_PROBLEMS`]; the rest are not listed.
    TooManyProblems,
    /// Bytes that are not UTF-8.
    NotUtf8,
}

impl Tables {
    /// Empties the tables and keeps their memory.
    pub fn clear(&mut self) {
        self.tokens.clear();
        self.statements.clear();
        self.comments.clear();
        self.problems.clear();
    }

    /// Adds the tables of a text that stands behind this one, from a byte on. What is wrong in it is not added.
    pub fn append(&mut self, other: &Self, at: u32) {
        let (tokens, statements) = (self.tokens.len() as u32, self.statements.len() as u32);
        let moved = |index: u32, by: u32| if index == NONE { NONE } else { index + by };
        let token = |token: &Token| Token { start: token.start + at, end: token.end + at, ..*token };
        self.tokens.extend(other.tokens.iter().map(token));
        self.statements.extend(other.statements.iter().map(|statement| Statement {
            word: statement.word + tokens,
            items_end: statement.items_end + tokens,
            parent: moved(statement.parent, statements),
            after: statement.after + statements,
            close: moved(statement.close, tokens),
            ..*statement
        }));
        self.comments.extend(other.comments.iter().map(|comment| Comment {
            span: Span::new(comment.span.start + at, comment.span.end + at),
            before: comment.before + statements,
            ..*comment
        }));
    }

    /// Marks the statements whose words stand at these bytes, in text order: that they are wrong was told.
    pub fn mark_broken(&mut self, words: &[u32]) {
        if words.is_empty() {
            return;
        }
        let Self { tokens, statements, .. } = self;
        for statement in statements {
            let start = tokens.get(statement.word as usize).map(|token| token.start);
            statement.broken |= start.is_some_and(|start| words.binary_search(&start).is_ok());
        }
    }

    /// The item tokens of a statement.
    pub fn items(&self, statement: &Statement) -> &[Token] {
        self.tokens.get(statement.word as usize + 1..statement.items_end as usize).unwrap_or_default()
    }

    /// The token of a statement's word.
    pub fn word(&self, statement: &Statement) -> Token {
        self.tokens.get(statement.word as usize).copied().unwrap_or_default()
    }

    /// The statement's own words, from its first to its last item, without its body.
    pub fn header(&self, statement: &Statement) -> Span {
        let last = self.tokens.get((statement.items_end as usize).saturating_sub(1)).copied().unwrap_or_default();
        self.word(statement).span().to(last.span())
    }

    /// The statement with its body and closing brace.
    pub fn whole(&self, index: u32) -> Span {
        let Some(statement) = self.statements.get(index as usize) else { return Span::default() };
        let header = self.header(statement);
        if !statement.has_body {
            return header;
        }
        let end = match self.tokens.get(statement.close as usize) {
            Some(close) => close.span(),
            None if statement.after > index + 1 => self.whole(statement.after - 1),
            None => self.tokens.get(statement.items_end as usize).copied().unwrap_or_default().span(),
        };
        header.to(end)
    }

    /// The statements directly inside a block; `None` for the top level.
    pub fn body(&self, parent: Option<u32>) -> impl Iterator<Item = u32> + '_ {
        let (mut next, end) = match parent {
            Some(index) => (index + 1, self.statements.get(index as usize).map_or(0, |statement| statement.after)),
            None => (0, self.statements.len() as u32),
        };
        std::iter::from_fn(move || {
            if next >= end {
                return None;
            }
            let here = next;
            next = self.statements.get(here as usize).map_or(end, |statement| statement.after).max(here + 1);
            Some(here)
        })
    }

    /// The text put together again from the tokens, the comments and the bytes between them, to show that nothing was
    /// lost; `None` where a byte between them is not white space, a byte-order mark or part of a listed problem.
    pub fn gives_back(&self, text: &[u8]) -> Option<Vec<u8>> {
        let mut pieces: Vec<(Span, bool)> = self.tokens.iter().map(|token| (token.span(), true)).collect();
        pieces.extend(self.comments.iter().map(|comment| (comment.span, true)));
        pieces.sort();
        let (mut out, mut at) = (Vec::with_capacity(text.len()), 0);
        let gap = |from: u32, to: u32| {
            let bytes = text.get(from as usize..to as usize)?;
            let blank = bytes.iter().all(|byte| matches!(byte, b' ' | b'\t' | b'\r' | 0xef | 0xbb | 0xbf));
            blank.then_some(bytes)
        };
        for (span, _) in pieces {
            out.extend_from_slice(gap(at, span.start)?);
            out.extend_from_slice(span.of(text));
            at = span.end;
        }
        out.extend_from_slice(gap(at, text.len() as u32)?);
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn knows(block: BlockKind, word: &[u8], has_body: bool) -> Known {
        match (block.0, word, has_body) {
            (0, b"craft", true) => Known::Opens(BlockKind(1)),
            (0, b"model", true) => Known::Opens(BlockKind(2)),
            (1, b"receiver" | b"controller", true) => Known::Opens(BlockKind(3)),
            (2, b"channel", true) => Known::Opens(BlockKind(4)),
            (2, b"channel" | b"handset", false) => Known::Yes,
            (3, b"link" | b"order" | b"number", false) | (4, b"value" | b"travel", false) => Known::Yes,
            _ => Known::No,
        }
    }

    fn read(text: &str) -> Tables {
        let mut tables = Tables::default();
        parse(text.as_bytes(), knows, &mut tables);
        tables
    }

    fn outline(text: &str) -> Vec<String> {
        let tables = read(text);
        let line = |statement: &Statement| {
            let mut depth = 0;
            let mut at = statement.parent;
            while let Some(parent) = tables.statements.get(at as usize) {
                depth += 1;
                at = parent.parent;
            }
            let header = tables.header(statement).of(text.as_bytes());
            format!("{}{}", ">".repeat(depth), String::from_utf8_lossy(header))
        };
        tables.statements.iter().map(line).collect()
    }

    fn troubles(text: &str) -> Vec<(Trouble, String)> {
        let of =
            |problem: &Problem| (problem.trouble, String::from_utf8_lossy(problem.span.of(text.as_bytes())).into());
        read(text).problems.iter().map(of).collect()
    }

    const WHOLE: &str = "rig 1\ncraft a {\n  receiver {\n    link x\n  }\n  controller {\n    order A E T R\n  }\n}\n\
                         model b {\n  handset h\n  channel 1 = roll # c\n  channel 3 throttle {\n    value 5 %; travel -100..100 %\n  }\n  channel 4 = yaw\n}\n";

    #[test]
    fn blocks_hold_their_statements() {
        let lines = outline(WHOLE);
        assert_eq!(lines[1..5], ["craft a", ">receiver", ">>link x", ">controller"]);
        assert_eq!(lines[9..13], [">channel 3 throttle", ">>value 5 %", ">>travel -100..100 %", ">channel 4 = yaw"]);
        assert_eq!(troubles(WHOLE), []);
    }

    #[test]
    fn a_missing_brace_is_one_problem_and_moves_no_statement() {
        let expected = outline(WHOLE);
        for (at, _) in WHOLE.match_indices('}') {
            let text = format!("{} {}", &WHOLE[..at], &WHOLE[at + 1..]);
            assert_eq!(outline(&text), expected, "without the brace at {at}");
            let found = troubles(&text);
            assert_eq!(found.len(), 1, "{found:?}");
            assert_eq!(found[0].0, Trouble::OpenBlock);
        }
    }

    #[test]
    fn a_broken_line_leaves_the_others() {
        let text =
            "rig 1\nmodel b {\n handset \"h\n channel 1 = 3,5 %\n channel 2 = @@\n = 4\n channel 5 = yaw\n}\n}\n;\n";
        let found: Vec<Trouble> = troubles(text).into_iter().map(|(trouble, _)| trouble).collect();
        use Trouble::*;
        assert_eq!(found, [OpenString, DecimalComma, Character, NoWord, StrayBrace, Semicolon]);
        assert!(outline(text).contains(&">channel 5 = yaw".to_owned()));
    }

    #[test]
    fn numbers_ranges_and_units() {
        let text = "a -100..100 % 3.5 s 2 min 7 min(x -5 - 5 -x 1..2 left-rear 5. 1234567890123456";
        let tables = read(text);
        let kinds: Vec<Kind> = tables.tokens.iter().map(|token| token.kind).collect();
        use Kind::*;
        let percent = Unit(super::Unit::Percent);
        let (second, minute) = (Unit(super::Unit::Second), Unit(super::Unit::Minute));
        assert_eq!(kinds[1..9], [Range, percent, Number, second, Number, minute, Number, Word]);
        assert_eq!(kinds[9..], [Open, Word, Number, Minus, Number, Minus, Word, Range, Word, Bad, Bad]);
    }

    #[test]
    fn deep_nesting_and_bad_bytes_are_refused_not_suffered() {
        let deep = "a {\n".repeat(10_000);
        let found = read(&deep);
        assert!(found.problems.iter().any(|problem| problem.trouble == Trouble::TooDeep));
        assert!(found.problems.len() <= MAX_NESTING + 2);
        let mut tables = Tables::default();
        parse(b"rig 1\n\xff\n", knows, &mut tables);
        assert_eq!(tables.problems[0].trouble, Trouble::NotUtf8);
        assert_eq!(tables.problems[0].span, Span::new(6, 7));
        parse(&vec![b' '; MAX_BYTES + 1], knows, &mut tables);
        assert_eq!(tables.problems[0].trouble, Trouble::TooLong);
    }

    fn texts() -> impl Strategy<Value = String> {
        let pieces = prop::sample::select(vec![
            "rig 1",
            "\n",
            "{",
            "}",
            ";",
            "channel ",
            "model ",
            "craft ",
            "\"a\\u{41}\"",
            "\"",
            "#",
            " ",
            "\t",
            "\r\n",
            "5",
            "..",
            "3.5",
            ",",
            "%",
            " us",
            "é",
            "\u{feff}",
            "(",
            ")",
            "*",
            "-",
            "@",
            "\0",
            "value ",
            "receiver ",
        ]);
        prop_oneof![prop::collection::vec(pieces, 0..60).prop_map(|pieces| pieces.concat()), any::<String>(),]
    }

    /// Demo files, sound ones and broken ones.
    const FILES: [&str; 5] = [
        include_str!("../../testdata/fleets/clean/dunlin.rig"),
        include_str!("../../testdata/fleets/clean/handset.rig"),
        include_str!("../../testdata/syntax/every-statement.rig"),
        include_str!("../../testdata/syntax/odd-layout.rig"),
        include_str!("../../testdata/syntax/ten-broken-lines.rig"),
    ];

    /// A demo file in which stretches are replaced by any bytes.
    fn damaged() -> impl Strategy<Value = Vec<u8>> {
        let piece = prop_oneof![
            prop::sample::select(vec!["{", "}", "\n", ";", "\"", "\\", "#", ",", "..", "-", "5", "é", "@", ""])
                .prop_map(|piece| piece.as_bytes().to_vec()),
            prop::collection::vec(any::<u8>(), 0..4),
        ];
        let cut = (any::<prop::sample::Index>(), 0..30usize, piece);
        (prop::sample::select(&FILES[..]), prop::collection::vec(cut, 1..9)).prop_map(|(file, cuts)| {
            let mut bytes = file.as_bytes().to_vec();
            for (at, length, piece) in cuts {
                let from = at.index(bytes.len());
                let to = (from + length).min(bytes.len());
                bytes.splice(from..to, piece);
            }
            bytes
        })
    }

    /// Holds the tables of any bytes, UTF-8 or not, to what is promised of them.
    fn hold(bytes: &[u8]) -> Result<(), TestCaseError> {
        let mut tables = Tables::default();
        let from = if bytes.starts_with(lex::MARK) { lex::MARK.len() } else { 0 };
        lex::tokens(bytes, from, &mut tables);
        prop_assert_eq!(tables.gives_back(bytes), Some(bytes.to_vec()));
        parse(bytes, knows, &mut tables);
        for (index, statement) in tables.statements.iter().enumerate() {
            prop_assert!(statement.word < statement.items_end);
            prop_assert!(statement.items_end as usize <= tables.tokens.len());
            prop_assert!(statement.after as usize > index && statement.after as usize <= tables.statements.len());
            prop_assert!(statement.parent == NONE || (statement.parent as usize) < index);
        }
        prop_assert!(tables.problems.is_sorted_by_key(|problem| problem.span));
        Ok(())
    }

    proptest! {
        #[test]
        fn tokens_and_gaps_give_the_text_back(text in texts()) {
            hold(text.as_bytes())?;
        }

        #[test]
        fn tokens_and_gaps_give_any_bytes_back(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            hold(&bytes)?;
        }

        #[test]
        fn tokens_and_gaps_give_damaged_files_back(bytes in damaged()) {
            hold(&bytes)?;
        }
    }
}
