//! What is written to the terminal, and how it looks there.

use super::{Status, signs};
pub(super) use crate::fleet::no_such;
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

/// The same for a page that people read: where the locale knows ASCII only, it is written in that.
pub(super) fn show(status: Status, to: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Status {
    if !signs::only_ascii() {
        return write(status, to);
    }
    write(status, |out| {
        let mut page = Vec::new();
        to(&mut page)?;
        out.write_all(signs::in_ascii(&String::from_utf8_lossy(&page)).as_bytes())
    })
}

/// Tells something on standard error, in one line.
pub(super) fn tell(message: &str) {
    let mut message = plain(message);
    if signs::only_ascii() {
        message = signs::in_ascii(&message).into();
    }
    // Nothing can be told if even this can't be written.
    let _ = writeln!(io::stderr(), "walkaround: {message}");
}

/// Tells what is wrong with the arguments.
pub(super) fn wrong_usage(message: &str) -> Status {
    tell(message);
    Status::WrongUsage
}

/// When standard output is coloured.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, ValueEnum)]
pub(super) enum Colour {
    /// On a terminal, unless NO_COLOR is set; elsewhere where CLICOLOR_FORCE or FORCE_COLOR is set
    #[default]
    Auto,
    /// Also in a file or a pipe
    Always,
    /// Nowhere
    Never,
}

impl Colour {
    /// Whether to colour. What stands on the command line counts before the environment, and there `NO_COLOR`
    /// (<https://no-color.org>) before `CLICOLOR_FORCE` (<https://bixense.com/clicolors>) and `FORCE_COLOR`
    /// (<https://force-color.org>).
    pub(super) fn is_on(self) -> bool {
        let forced = || std::env::var_os("FORCE_COLOR").is_some_and(|value| !value.is_empty() && value != "0");
        let on = match self {
            Self::Always => true,
            Self::Never => false,
            Self::Auto if anstyle_query::no_color() => false,
            Self::Auto if anstyle_query::clicolor_force() || forced() => true,
            Self::Auto => {
                let wanted = anstyle_query::clicolor().unwrap_or(true) && anstyle_query::term_supports_ansi_color();
                wanted && io::stdout().is_terminal()
            }
        };
        if on {
            // A console of Windows shows colours only when it is asked to; elsewhere this does nothing.
            let _ = anstyle_query::windows::enable_ansi_colors();
        }
        on
    }
}

/// The columns to fill: those of the terminal, but no more than read well.
pub(super) fn width() -> usize {
    const READS_WELL: usize = 100;
    let columns = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    columns.map_or(READS_WELL, |columns| columns.clamp(40, READS_WELL))
}
