//! `walkaround reference`: the language, the schema of its JSON form, shell completions and man pages, all from the declarations that the program
//! itself works by.

use super::output::{self, tell, wrong_usage};
use super::{Status, completions, new_file, whole};
use crate::fleet::table;
use clap::{ArgGroup, Command};
use clap_complete::Shell;
use std::io;
use std::path::{Path, PathBuf};

/// Prints the reference of the rig language, the schema of its JSON form, completions for a shell, or man pages
#[derive(clap::Args)]
#[group(skip)]
#[command(group = ArgGroup::new("asked").multiple(false))]
pub(super) struct Arguments {
    /// Print what one statement says, with an example; `words` prints the closed lists
    #[arg(group = "asked")]
    statement: Option<String>,
    /// Print what a shell needs to complete commands and options, and in bash, zsh and fish the names of rules, models and aircraft
    #[arg(long, value_enum, value_name = "SHELL", group = "asked")]
    completions: Option<Shell>,
    /// Print the JSON Schema of the JSON form of rig files
    #[arg(long, group = "asked")]
    schema: bool,
    /// Print the man pages, or write one page a command into this folder
    #[arg(long, value_name = "DIR", num_args = 0..=1, group = "asked")]
    man: Option<Option<PathBuf>>,
    /// Print names, one a line: those that a shell offers
    #[arg(long, value_enum, value_name = "KIND", group = "asked")]
    names: Option<completions::Names>,
    /// The file or folder whose names are printed
    #[arg(long = "in", value_name = "PATH", default_value = ".", requires = "names")]
    place: PathBuf,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    match arguments {
        Arguments { completions: Some(shell), .. } => {
            let script = completions::script(*shell);
            output::write(Status::Clean, |out| out.write_all(&script))
        }
        Arguments { names: Some(what), place, .. } => completions::names(*what, place),
        Arguments { man: Some(None), .. } => {
            let pages = pages();
            output::write(Status::Clean, |out| pages.iter().try_for_each(|page| page.render(out)))
        }
        Arguments { man: Some(Some(folder)), .. } => write_pages(folder),
        Arguments { statement: Some(word), .. } => entry(word),
        Arguments { schema: true, .. } => {
            output::write(Status::Clean, |out| writeln!(out, "{:#}", crate::fleet::json::schema()))
        }
        _ => output::write(Status::Clean, |out| out.write_all(table::markdown().as_bytes())),
    }
}

/// What the reference says of one statement, or of the closed lists.
fn entry(word: &str) -> Status {
    let page = match word {
        "words" => table::lists(),
        _ => table::entry(word),
    };
    if !page.is_empty() {
        return output::write(Status::Clean, |out| out.write_all(page.as_bytes()));
    }
    let near = crate::fleet::problem::nearest(word, table::entries().map(|entry| entry.word));
    let near = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
    wrong_usage(&format!("no statement is called \"{word}\"{near}"))
}

/// The day of the manual: that of the last change to what it says.
const DAY: &str = "2026-11-28";

/// What every page says of the exit status.
const STATUS: &str = "\
.SH EXIT STATUS
.TP
0
Nothing at or above the threshold was found.
.TP
1
Something was found, or a question was not decided.
.TP
2
Some input could not be read or understood, or something could not be written.
.TP
64
Wrong usage.
";

/// What every page says of files and the environment.
const FILES: &str = "\
.SH FILES
.TP
*.rig, *.rig.json
Descriptions of handsets, links, aircraft and models.
.TP
walkaround.toml
Settings: the nearest one in the folder of the first path or above it, up to the top of the repository.
.SH ENVIRONMENT
.TP
NO_COLOR, CLICOLOR, CLICOLOR_FORCE, FORCE_COLOR
Whether to colour, where \\-\\-color does not say.
.TP
LC_ALL, LC_CTYPE, LANG
Where the first that is set names a character set other than UTF-8, pages for people are written in ASCII.
.TP
RAYON_NUM_THREADS
How many threads to use at most.
";

/// One page of the manual.
struct ManPage {
    page: clap_mangen::Man,
    name: String,
    /// A section of commands would be written without any, too.
    has_commands: bool,
    /// The names of the other pages.
    others: Vec<String>,
}

impl ManPage {
    fn render(&self, out: &mut dyn io::Write) -> io::Result<()> {
        self.page.render_title(out)?;
        self.page.render_name_section(out)?;
        self.page.render_synopsis_section(out)?;
        self.page.render_description_section(out)?;
        self.page.render_options_section(out)?;
        if self.has_commands {
            self.page.render_subcommands_section(out)?;
        }
        out.write_all(STATUS.as_bytes())?;
        out.write_all(FILES.as_bytes())?;
        writeln!(out, ".SH SEE ALSO")?;
        let names: Vec<String> =
            self.others.iter().map(|name| format!("\\fB{}\\fR(1)", name.replace('-', "\\-"))).collect();
        writeln!(out, "{}", names.join(",\n"))
    }

    fn file_name(&self) -> String {
        format!("{}.1", self.name)
    }
}

/// A man page for the program and one for each command.
fn pages() -> Vec<ManPage> {
    let mut program = whole();
    program.build();
    let commands: Vec<Command> = program.get_subcommands().cloned().collect();
    let of = |command: &Command| command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
    let all: Vec<Command> = std::iter::once(program).chain(commands).collect();
    let names: Vec<String> = all.iter().map(of).collect();
    let page = |command: Command| {
        let name = of(&command);
        let others = names.iter().filter(|other| **other != name).cloned().collect();
        let source = format!("walkaround {}", env!("CARGO_PKG_VERSION"));
        // The synopsis would not say that a path can be given more than once.
        let command = command.mut_args(|argument| {
            let many = argument.is_positional() && argument.get_num_args().is_some_and(|count| count.max_values() > 1);
            let is_path = argument.get_value_names().is_some_and(|names| names.iter().any(|name| name == "PATH"));
            if many && is_path { argument.value_name("PATH ...") } else { argument }
        });
        let has_commands = command.has_subcommands();
        let page = clap_mangen::Man::new(command).date(DAY).source(source).manual("walkaround");
        ManPage { page, name, has_commands, others }
    };
    all.into_iter().map(page).collect()
}

/// Writes the pages into a folder, over those of an earlier version.
fn write_pages(folder: &Path) -> Status {
    let write = |page: &ManPage| -> io::Result<()> {
        new_file::save(&folder.join(page.file_name()), true, |file| page.render(file))
    };
    let written = std::fs::create_dir_all(folder).and_then(|()| pages().iter().try_for_each(write));
    match written {
        Ok(()) => Status::Clean,
        Err(error) => {
            tell(&format!("the man pages can't be written to {}: {error}", folder.display()));
            Status::NotUnderstood
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_of_the_manual_is_one() {
        assert!(crate::fleet::day::Day::parse(DAY).is_ok());
    }
}
