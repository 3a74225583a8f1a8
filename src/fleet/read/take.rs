//! The shapes of a declaration held against a statement, and what is said where none fits.

use super::Reader;
use crate::fleet::items::Items;
use crate::fleet::miss::{Expected, Miss, MissKind, units};
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::slip::{Guess, Line};
use crate::fleet::table::{self, Block, Ready};
use crate::source::Span;
use crate::syntax::{Kind, Statement};

impl<'t> Reader<'t> {
    /// Holds the shapes of a declaration against a statement; says what does not fit.
    pub(super) fn take(&mut self, ready: &'static Ready, statement: &Statement) -> bool {
        let word = self.tables.word(statement);
        let items = Items::new(self.bytes, self.tables.items(statement), word.end);
        let mut worst: Option<Miss> = None;
        let mut other_form = false;
        for shape in ready.shapes() {
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
        if let Some(miss) = worst {
            let line = self.line(ready.entry.block, statement);
            let other_form = other_form && (self.guesses == 0 || !line.has_meaning(&line.at(miss)));
            if other_form && self.fits_otherwise(ready, statement, &items, miss.at) {
                self.other_form(ready, statement);
            } else if let Some(list) = self.closed_list(ready, statement, &items, miss.at) {
                let what = format!("what `{}` takes here", ready.entry.word);
                let problem = self.unknown_word(items.span_at(miss.at), &what, &list);
                let near = problem.repairs.first().map(|near| Guess { span: near.span, text: near.text.clone() });
                let problem = match near.filter(|near| line.has_meaning(std::slice::from_ref(near))) {
                    Some(_) => problem,
                    None => self.guess(ready, statement, miss, Problem { repairs: Vec::new(), ..problem }),
                };
                self.tell(problem);
            } else {
                self.misfit(ready, statement, &items, miss);
            }
        } else if other_form {
            self.other_form(ready, statement);
        }
        self.missed = worst.map(|miss| miss.at);
        false
    }

    /// Whether a shape with a block, where the statement has none, or one without takes all that is written.
    #[cold]
    fn fits_otherwise(&mut self, ready: &'static Ready, statement: &Statement, items: &Items<'_>, at: usize) -> bool {
        let mut other = ready.shapes().iter().filter(|shape| shape.has_body() != statement.has_body);
        // A statement that is wrong further on is told so.
        at + 1 >= self.tables.items(statement).len()
            && other.any(|shape| shape.take(&mut items.clone(), &mut self.captures).is_ok())
    }

    /// A problem with what the pilot may have meant, as far as it can be read then.
    #[cold]
    fn guess(&mut self, ready: &Ready, statement: &Statement, miss: Miss, problem: Problem) -> Problem {
        if self.guesses == 0 {
            return problem;
        }
        self.guesses -= 1;
        let line = self.line(ready.entry.block, statement);
        line.offer(problem, line.at(miss))
    }

    pub(super) fn line(&self, block: Block, statement: &Statement) -> Line<'t> {
        let (word, items) = (self.tables.word(statement), self.tables.items(statement));
        Line { bytes: self.bytes, block, word, items, has_body: statement.has_body }
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
        for shape in ready.shapes().iter().filter(|shape| shape.has_body() == statement.has_body) {
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
        let header = self.tables.header(statement);
        let (message, mend) = if statement.has_body {
            (format!("`{}` has no block in braces here", ready.entry.word), "take the braces out".to_owned())
        } else {
            let word = ready.entry.word;
            let mut captures = std::mem::take(&mut self.captures);
            let items = Items::new(self.bytes, self.tables.items(statement), self.tables.word(statement).end);
            let opens = ready
                .shapes()
                .iter()
                .any(|shape| shape.has_body() && shape.take(&mut items.clone(), &mut captures).is_ok());
            self.captures = captures;
            let whole = if opens { self.text(header) } else { format!("{word} …") };
            let mend =
                format!("write `{whole} {{ … }}` with its lines between the braces (`walkaround reference {word}`)");
            (format!("`{word}` needs its block in braces here"), mend)
        };
        let mend = format!("{mend}; it is written {}", table::forms(ready.entry));
        self.problem(ProblemKind::Syntax, header, message, mend);
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
                let problem = Problem::new(ProblemKind::Syntax, self.place(span), message, written);
                let problem = self.guess(ready, statement, miss, problem);
                self.tell(problem);
            }
            MissKind::Range(allowed) => {
                let message = format!("{here} can't be here: `{}` takes {allowed}", ready.entry.word);
                let problem = Problem::new(ProblemKind::Range, self.place(span), message, format!("give {allowed}"));
                let problem = self.guess(ready, statement, miss, problem);
                self.tell(problem);
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
                let accepted = units(dimension);
                let line = self.line(ready.entry.block, statement);
                let wrong = line.items.get(miss.at).is_some_and(|token| matches!(token.kind, Kind::Unit(_)));
                let number = miss.at.saturating_sub(usize::from(wrong));
                let word = ready.entry.word;
                let message = match line.unit_as_said(number, dimension) {
                    Some((said, _)) => {
                        let said =
                            Span::new(line.items.get(number).map_or(said.start, |number| number.start), said.end);
                        span = said;
                        format!("`{}` is not how `{word}` is written: it takes {accepted}", self.text(said))
                    }
                    None if wrong => {
                        format!("{here} is no unit for this number in `{word}`: {accepted} is accepted")
                    }
                    None => format!("{here} misses its unit in `{word}`: {accepted} is accepted"),
                };
                let mend = format!("write the number with {accepted}");
                let problem = Problem::new(ProblemKind::Unit, self.place(span), message, mend);
                let problem = self.guess(ready, statement, miss, problem);
                self.tell(problem);
            }
        }
    }
}
