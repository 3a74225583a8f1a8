//! The printed sheet: one HTML file that holds all it needs, without a script.
//!
//! | file | writes |
//! |---|---|
//! | `mod` | the document around the pages |
//! | `front` | the first page of a fleet |
//! | `card` | the field card of an aircraft |
//! | `handset` | its handset |
//! | `bench` | its bench check |
//! | `plot` | its channels as pictures, each with a table |
//! | `live` | the live bench with the texts of a folder in it |
//! | `changes` | what a change does, side by side |
//! | `say` | what all of them say in the same words |
//!
//! Every text is made plain by [`plain`](super::plain::plain()) and escaped by the macro that writes the page.

mod bench;
mod card;
mod changes;
mod front;
mod handset;
pub mod live;
mod plot;
mod say;

pub use card::loss_step;
pub use say::{label, verdict};

use super::Report;
use crate::compare::Comparison;
use crate::sheet::{Front, Page};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::io::{self, Write};

/// What a browser may load for the sheet: nothing but the style that stands in it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// The style of the sheet; it is the program's own.
const STYLE: &str = include_str!("sheet.css");

/// By this a sheet is known again that may be written over.
pub const GENERATOR: &str = "walkaround sheet";

/// What stands under every page: the same that stands under every report.
const STAYS: &str = "Your own pre-flight check stays, and local aviation and radio rules and licensed practice decide. This sheet says \
                     what the description says: it can't see whether handset and aircraft are set up like that.";

/// What takes more room than this is set smaller, so that it stays on one page of Letter.
const LONG: usize = 695;

/// What takes more room than this is set smaller still.
const LONGER: usize = 835;

/// How far down a page what is written on it reaches, in points, as it is printed at its usual size: fitted to the heights that a browser
/// gives the pages of the fleets of the tests, from which it is off by 43 at most.
fn room(written: &str) -> usize {
    let (mut letters, mut items) = (0, 0);
    for part in written.split('<') {
        let (tag, text) = part.split_once('>').unwrap_or(("", part));
        letters += text.chars().count();
        let is_item = matches!(tag.split(' ').next(), Some("li" | "tr" | "p" | "h2")) || tag == "span class=\"expect\"";
        items += usize::from(is_item);
    }
    150 + 4 * items + letters / 19
}

/// A sheet that is written page by page.
pub struct Sheet<'o> {
    out: &'o mut dyn Write,
    /// Whether the plots stand below each aircraft.
    with_plots: bool,
}

impl<'o> Sheet<'o> {
    /// Begins a sheet, with or without the plots of each aircraft.
    ///
    /// # Errors
    /// When `out` can't be written to.
    pub fn begin(title: &str, with_plots: bool, out: &'o mut dyn Write) -> io::Result<Self> {
        let head = html! {
            (DOCTYPE)
            html lang="en";
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(GENERATOR);
                title { (say::text(title)) }
                style { (PreEscaped(STYLE)) }
            }
        };
        let choice = html! {
            // The hatching of all pictures.
            svg width="0" height="0" aria-hidden="true" {
                defs {
                    pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                        line.hatch x1="0" y1="0" x2="0" y2="7" {}
                    }
                }
            }
            @if with_plots {
                p.print-choice.screen {
                    input type="checkbox" id="with-plots" checked[false];
                    label for="with-plots" { " Print the plots too (they stand below each aircraft)." }
                }
            }
        };
        let mut sheet = Self { out, with_plots };
        sheet.write(head)?;
        sheet.out.write_all(b"<body>")?;
        sheet.write(choice)?;
        Ok(sheet)
    }

    /// Writes the first page of a fleet.
    ///
    /// # Errors
    /// When the sheet can't be written to.
    pub fn front(&mut self, front: &Front<'_, '_>, report: &Report<'_>) -> io::Result<()> {
        self.write(front::front(front, report))
    }

    /// Writes the page of an aircraft.
    ///
    /// # Errors
    /// When the sheet can't be written to.
    pub fn page(&mut self, page: &Page<'_, '_>, report: &Report<'_>) -> io::Result<()> {
        let printed = html! {
            (card::head(page))
            div.columns { (card::card(page, report)) }
            (bench::bench(page))
            p.small { (STAYS) }
        };
        let room = room(&printed.0);
        self.write(html! {
            article.page.dense[room > LONG].denser[room > LONGER] {
                (printed)
                @if self.with_plots { (plot::plots(page)) }
            }
        })
    }

    /// Writes what a change does to the aircraft; `sides` are what was compared, in words.
    ///
    /// # Errors
    /// When the sheet can't be written to.
    pub fn changes(&mut self, comparison: &Comparison, sides: [&str; 2]) -> io::Result<()> {
        self.write(changes::changes(comparison, sides))
    }

    /// Ends the sheet.
    ///
    /// # Errors
    /// When it can't be written to.
    pub fn end(self) -> io::Result<()> {
        self.out.write_all(b"</body></html>\n")
    }

    fn write(&mut self, part: Markup) -> io::Result<()> {
        self.out.write_all(part.into_string().as_bytes())
    }
}
