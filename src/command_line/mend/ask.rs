//! Choices put to the pilot.

use super::super::output::{self, Colour};
use super::Around;
use crate::findings::coverage::Coverage;
use crate::findings::{Finding, Mend};
use crate::mend::Asked;
use crate::report::plain::plain;
use crate::report::{Report, text};
use crate::source::FileId;
use std::io::{self, BufRead, Write};

/// The pilot at the terminal.
pub(super) struct Pilot<'s> {
    around: &'s Around,
    /// Beside a preview, which has standard output to itself.
    preview: bool,
    colour: Colour,
    /// There is no more to read, or the pilot wants to be asked no more.
    gone: bool,
}

impl<'s> Pilot<'s> {
    pub(super) fn new(around: &'s Around, preview: bool, colour: Colour) -> Self {
        Self { around, preview, colour, gone: false }
    }

    fn out(&self) -> Box<dyn Write> {
        if self.preview { Box::new(io::stderr()) } else { Box::new(io::stdout()) }
    }

    /// Shows a finding with its choices and reads the number of one; `None` leaves it. At the end of the input
    /// everything else is left.
    pub(super) fn answer(&mut self, asked: &Asked<'_>) -> Option<usize> {
        if self.gone {
            return None;
        }
        let answer = match asked.warning {
            None => self.shown(asked).and_then(|()| read(asked.choices.len(), &mut self.out())),
            Some(danger) => all_the_same(danger, &mut self.out()),
        };
        match answer {
            Ok(Answer::Take(number)) => Some(number),
            Ok(Answer::Leave) => None,
            Ok(Answer::Stop) | Err(_) => {
                self.gone = true;
                None
            }
        }
    }

    fn shown(&self, asked: &Asked<'_>) -> io::Result<()> {
        let text_of = |file: FileId| match asked.texts.get(file.0 as usize) {
            Some(text) => Some(text.as_slice().into()),
            None => self.around.other_text(file).cloned(),
        };
        // The choices are listed below, with their numbers.
        let finding = Finding { mend: Mend::Words(asked.words.to_owned()), ..asked.finding.clone() };
        let report = Report {
            paths: &self.around.names,
            files: self.around.firsts.len(),
            findings: std::slice::from_ref(&finding),
            aircraft: &[],
            coverage: &Coverage::default(),
            known: &[],
            stale: &[],
            waived: &[],
            text_of: &text_of,
        };
        let style = text::Style { colour: self.colour.is_on() && !self.preview, width: output::width(), full: true };
        let mut out = self.out();
        text::write_findings(&report, style, &mut out)?;
        for (number, choice) in asked.choices.iter().enumerate() {
            writeln!(out, "  {:>2}  {}", number + 1, plain(&choice.label))?;
        }
        writeln!(out, "   0  leave it")?;
        out.flush()
    }
}

enum Answer {
    Take(usize),
    Leave,
    Stop,
}

/// Whether a choice is to be done although it brings a danger.
fn all_the_same(danger: &str, out: &mut dyn Write) -> io::Result<Answer> {
    writeln!(out, "This would bring another danger. {}", plain(danger))?;
    write!(out, "Do it all the same? (yes, or anything else to leave it): ")?;
    out.flush()?;
    let mut line = String::new();
    if io::stdin().lock().read_line(&mut line)? == 0 {
        writeln!(out)?;
        return Ok(Answer::Stop);
    }
    Ok(if line.trim().eq_ignore_ascii_case("yes") { Answer::Take(0) } else { Answer::Leave })
}

/// Reads lines until one is an answer.
fn read(choices: usize, out: &mut dyn Write) -> io::Result<Answer> {
    loop {
        write!(out, "Your choice, 0 to {choices} (q leaves all the rest): ")?;
        out.flush()?;
        let mut line = String::new();
        if io::stdin().lock().read_line(&mut line)? == 0 {
            writeln!(out)?;
            return Ok(Answer::Stop);
        }
        match line.trim() {
            "" | "0" => return Ok(Answer::Leave),
            "q" | "Q" => return Ok(Answer::Stop),
            text => match text.parse::<usize>() {
                Ok(number) if (1..=choices).contains(&number) => return Ok(Answer::Take(number - 1)),
                _ => writeln!(out, "That is none of the numbers.")?,
            },
        }
    }
}
