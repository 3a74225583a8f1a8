//! What is written to the terminal, and how it looks there.

use super::Status;
use crate::report::plain::plain;
use clap::ValueEnum;
use std::io::{self, BufWriter, IsTerminal, Write};

/// How an answer is written.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// For people
    Text,
    /// For programs
    Json,
}

/// Writes to standard output through a buffer. A reader that has gone away is no error; any other failure is told and
/// is the status.
pub(super) fn write(status: Status, to: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Status {
    let mut out = BufWriter::new(io::stdout().lock());
    match to(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            tell(&format!("the report could not be written: {error}"));
            Status::NotUnderstood
        }
        _ => status,
    }
}

/// Tells something on standard error, in one line.
pub(super) fn tell(message: &str) {
    // Nothing can be told if even this can't be written.
    let _ = writeln!(io::stderr(), "walkaround: {}", plain(message));
}

/// Tells what is wrong with the arguments.
pub(super) fn wrong_usage(message: &str) -> Status {
    tell(message);
    Status::WrongUsage
}

/// Whether standard output may be coloured: it is a terminal, and `NO_COLOR` (<https://no-color.org>) is not set.
pub(super) fn colour() -> bool {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let dumb = std::env::var_os("TERM").is_some_and(|value| value == "dumb");
    io::stdout().is_terminal() && !refused && !dumb
}

/// The columns to fill: those of the terminal, but no more than read well.
pub(super) fn width() -> usize {
    const READS_WELL: usize = 100;
    let columns = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    columns.map_or(READS_WELL, |columns| columns.clamp(40, READS_WELL))
}

/// The words for a name that is not there, with those that are.
pub(super) fn no_such<'n>(what: &str, unknown: &str, names: impl Iterator<Item = &'n str>) -> String {
    const SHOWN: usize = 12;
    let mut names: Vec<&str> = names.collect();
    names.sort_unstable();
    let shown = names.iter().take(SHOWN).map(|name| plain(name).into_owned()).collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(SHOWN) {
        _ if names.is_empty() => format!("no {what} is called \"{unknown}\": none is described here"),
        0 => format!("no {what} is called \"{unknown}\"; there are {shown}"),
        more => format!("no {what} is called \"{unknown}\"; there are {shown} and {more} more"),
    }
}
