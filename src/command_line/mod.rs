//! The command line: arguments in, files read, reports out. One file a command.

mod begin;
mod compare;
mod completions;
mod convert;
mod coverage;
mod editor;
mod inspect;
mod mend;
mod new_file;
mod output;
mod pairings;
mod progress;
mod record;
mod reference;
mod settings;
mod sheet;
mod signs;
mod sources;
mod threads;
mod tidy;
mod trace;
mod why;
mod writing;

use clap::{CommandFactory, Parser, Subcommand};
use std::ffi::OsString;
use std::process::ExitCode;

pub use editor::load;

/// What the program says about its run; the numbers are part of its contract.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Status {
    /// Nothing at or above the threshold.
    Clean = 0,
    /// Findings at or above the threshold, or a question of such a rule that was not decided.
    Found = 1,
    /// Some input could not be read or understood.
    NotUnderstood = 2,
    /// Arguments that can't be followed.
    WrongUsage = 64,
}

impl Status {
    /// The one that says more: what was not understood goes before what was found.
    fn worse(self, other: Self) -> Self {
        if other as u8 > self as u8 { other } else { self }
    }
}

/// Checks the settings of a radio-control handset before the aircraft flies.
///
/// Bench checks are done with the propellers off. Your own pre-flight check stays, and local aviation and radio rules
/// and licensed practice decide.
#[derive(Parser)]
#[command(name = "walkaround", version, arg_required_else_help = true, disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// When to colour what is printed
    #[arg(long = "color", value_enum, value_name = "WHEN", default_value = "auto", global = true)]
    colour: output::Colour,
}

#[derive(Subcommand)]
enum Command {
    Begin(begin::Arguments),
    Compare(compare::Arguments),
    Convert(convert::Arguments),
    Editor(editor::Arguments),
    Inspect(inspect::Arguments),
    Mend(mend::Arguments),
    Pairings(pairings::Arguments),
    Reference(reference::Arguments),
    Sheet(sheet::Arguments),
    Tidy(tidy::Arguments),
    Trace(trace::Arguments),
    Why(why::Arguments),
}

/// The declaration of the whole command line, for what is generated from it.
fn whole() -> clap::Command {
    Arguments::command()
}

/// Runs the program and gives its exit status.
pub fn run() -> ExitCode {
    // A shell of Windows leaves `*.rig` to the program; elsewhere these are the arguments as they came. What is done ends the process
    // at once: a large stack is not given back first.
    let status = threads::on_own_stack(|| std::process::exit(i32::from(run_with(wild::args_os()) as u8)));
    status.unwrap_or(ExitCode::FAILURE)
}

fn run_with(arguments: impl IntoIterator<Item = OsString>) -> Status {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(message) => {
            // Nothing can be told if even this can't be written.
            let _ = message.print();
            return if message.use_stderr() { Status::WrongUsage } else { Status::Clean };
        }
    };
    let colour = arguments.colour;
    match arguments.command {
        Command::Begin(arguments) => begin::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments, colour),
        Command::Convert(arguments) => convert::run(&arguments),
        Command::Editor(arguments) => editor::run(&arguments),
        Command::Inspect(arguments) => inspect::run(&arguments, colour),
        Command::Mend(arguments) => mend::run(&arguments, colour),
        Command::Pairings(arguments) => pairings::run(&arguments, colour),
        Command::Reference(arguments) => reference::run(&arguments),
        Command::Sheet(arguments) => sheet::run(&arguments),
        Command::Tidy(arguments) => tidy::run(&arguments),
        Command::Trace(arguments) => trace::run(&arguments, colour),
        Command::Why(arguments) => why::run(&arguments, colour),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_declaration_is_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn wrong_usage_has_its_own_status() {
        for (line, status) in [
            ("walkaround --help", Status::Clean),
            ("walkaround --version", Status::Clean),
            ("walkaround inspect --help", Status::Clean),
            ("walkaround", Status::WrongUsage),
            ("walkaround inspct", Status::WrongUsage),
            ("walkaround inspect --fail-at fault", Status::WrongUsage),
            ("walkaround inspect --as pages", Status::WrongUsage),
            ("walkaround inspect --today 2027-02-30", Status::WrongUsage),
            ("walkaround inspect --name x.rig .", Status::WrongUsage),
            ("walkaround inspect --rules armin", Status::WrongUsage),
            ("walkaround inspect --except arming/[", Status::WrongUsage),
            ("walkaround tidy - .", Status::WrongUsage),
            ("walkaround mend -", Status::WrongUsage),
            ("walkaround mend --ask --take-choices", Status::WrongUsage),
            ("walkaround mend --rules armin", Status::WrongUsage),
            ("walkaround why arming/slwo", Status::WrongUsage),
            ("walkaround reference --completions sch", Status::WrongUsage),
            ("walkaround reference --man --completions bash", Status::WrongUsage),
            ("walkaround sheet --today 2027-02-30", Status::WrongUsage),
            ("walkaround sheet --out Cargo.toml", Status::WrongUsage),
        ] {
            assert_eq!(run_with(line.split(' ').map(OsString::from)), status, "{line}");
        }
    }
}
