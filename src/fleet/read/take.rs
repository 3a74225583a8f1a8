//! The shapes of a declaration held against a statement, and what is said where none fits.

use super::Reader;
use crate::fleet::Decimal;
use crate::fleet::items::Items;
use crate::fleet::miss::{Expected, Miss, MissKind, units};
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::table::{self, Ready};
use crate::source::Span;
use crate::syntax::{Kind, Statement};

impl Reader<'_> {
    /// Holds the shapes of a declaration against a statement; says what does not fit.
    pub(super) fn take(&mut self, ready: &'static Ready, statement: &Statement) -> bool {
        let word = self.tables.word(statement);
        let items = Items::new(self.bytes, self.tables.items(statement), word.end);
        let mut worst: Option<Miss> = None;
        let mut other_form = false;
        for shape in &ready.shapes {
            if shape.has_body() != statement.has_body {
                other_form = true;
                continue;
            }
            match shape.take(&mut items.clone(), &mut self.captures) {
                Ok(()) => return true,
                Err(miss) => {
                    // The miss that lies furthest on says most; at one place a wrong number says more than a word.
                    let precise = !matches!(miss.kind, MissKind::Expected(_));
                    if worst.as_ref().is_none_or(|known| (miss.at, precise) > (known.at, false)) {
                        worst = Some(miss);
                    }
                }
            }
        }
        match worst {
            Some(miss) => match self.closed_list(ready, statement, &items, miss.at) {
                Some(list) => {
                    let what = format!("what `{}` takes here", ready.entry.word);
                    self.problems.push(self.unknown_word(items.span_at(miss.at), &what, &list));
                }
                None => self.misfit(ready, statement, &items, miss),
            },
            None if other_form => self.other_form(ready, statement),
            None => {}
        }
        false
    }

    /// The words that the shapes take at an item, where the item is a word and they take nothing else.
    #[cold]
    fn closed_list(
        &mut self,
        ready: &'static Ready,
        statement: &Statement,
        items: &Items<'_>,
        at: usize,
    ) -> Option<Vec<&'static str>> {
        let mut list = Vec::new();
        for shape in ready.shapes.iter().filter(|shape| shape.has_body() == statement.has_body) {
            match shape.take(&mut items.clone(), &mut self.captures) {
                Err(Miss { at: here, kind: MissKind::Expected(Expected::OneOf(words)) }) if here == at => {
                    list.extend(words)
                }
                Err(Miss { at: here, kind: MissKind::Expected(Expected::Word(word)) }) if here == at => list.push(word),
                Err(miss) if miss.at == at => return None,
                _ => {}
            }
        }
        // A single word is part of how the statement is written, and no list.
        (list.len() > 1 && items.is_word_at(at)).then_some(list)
    }

    /// Says that a statement has a block in braces where it can't, or none where it must.
    #[cold]
    fn other_form(&mut self, ready: &Ready, statement: &Statement) {
        let (message, mend) = if statement.has_body {
            (format!("`{}` has no block in braces here", ready.entry.word), "take the braces out")
        } else {
            (format!("`{}` needs its block in braces here", ready.entry.word), "add `{` and `}` with its lines")
        };
        let mend = format!("{mend}; it is written {}", table::forms(ready.entry));
        self.problem(ProblemKind::Syntax, self.tables.header(statement), message, mend);
    }

    #[cold]
    fn misfit(&mut self, ready: &Ready, statement: &Statement, items: &Items<'_>, miss: Miss) {
        let mut span = items.span_at(miss.at);
        let here = if span.start == span.end {
            // Something is missing at the end: the last word shows the place.
            span = Span::new(self.tables.header(statement).start, span.end);
            "the end of the line".to_owned()
        } else {
            format!("`{}`", self.text(span))
        };
        let written = format!("it is written {}", table::forms(ready.entry));
        match miss.kind {
            MissKind::Expected(expected) => {
                let message = format!("expected {expected} in `{}`, found {here}", ready.entry.word);
                self.problem(ProblemKind::Syntax, span, message, written);
            }
            MissKind::Range(allowed) => {
                let message = format!("{here} can't be here: `{}` takes {allowed}", ready.entry.word);
                self.problem(ProblemKind::Range, span, message, format!("give {allowed}"));
            }
            MissKind::TooLarge(what, limit) => {
                let message = format!("more than {limit} {what}: this program reads no more");
                self.problem(
                    ProblemKind::TooLarge,
                    span,
                    message,
                    "split it into several, such as named conditions or channels",
                );
            }
            MissKind::Unit(dimension) => {
                let token = self.tables.items(statement).get(miss.at);
                let wrong = token.is_some_and(|token| matches!(token.kind, Kind::Unit(_)));
                let accepted = units(dimension);
                let message = if wrong {
                    format!("{here} is no unit for this number in `{}`: {accepted} is accepted", ready.entry.word)
                } else {
                    format!("{here} misses its unit in `{}`: {accepted} is accepted", ready.entry.word)
                };
                let place = self.place(span);
                let mut problem =
                    Problem::new(ProblemKind::Unit, place, message, format!("write the number with {accepted}"));
                let number = self.tables.items(statement).get(miss.at - usize::from(wrong && miss.at > 0));
                let number = number.map_or(0.0, |token| first_number(token.of(self.bytes)));
                for unit in dimension.likely_units(ready.entry.word, number) {
                    let text = if wrong { unit.text().to_owned() } else { format!(" {}", unit.text()) };
                    let at = if wrong { span } else { Span::new(span.end, span.end) };
                    problem = problem.repair(format!("write {}", unit.text()), at, text);
                }
                self.problems.push(problem);
            }
        }
    }
}

/// The number of a token, or the first of its range.
fn first_number(token: &[u8]) -> f64 {
    let end = memchr::memmem::find(token, b"..").unwrap_or(token.len());
    Decimal::parse(token.get(..end).unwrap_or_default()).unwrap_or_default().to_f64()
}
