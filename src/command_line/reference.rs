//! `walkaround reference`: the language, the schema of its JSON form, shell completions and man pages, all from the declarations that the program
//! itself works by.

use super::output::{self, tell, wrong_usage};
use super::{Status, new_file, whole};
use crate::fleet::table;
use clap::Command;
use clap_complete::Shell;
use std::io;
use std::path::{Path, PathBuf};

/// Prints the reference of the rig language, the schema of its JSON form, completions for a shell, or man pages
#[derive(clap::Args)]
#[group(multiple = false)]
pub(super) struct Arguments {
    /// Print what one statement says, with an example; `words` prints the closed lists
    statement: Option<String>,
    /// Print what a shell needs to complete commands and options
    #[arg(long, value_enum, value_name = "SHELL")]
    completions: Option<Shell>,
    /// Print the JSON Schema of the JSON form of rig files
    #[arg(long)]
    schema: bool,
    /// Print the man pages, or write one page a command into this folder
    #[arg(long, value_name = "DIR", num_args = 0..=1)]
    man: Option<Option<PathBuf>>,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    match arguments {
        Arguments { completions: Some(shell), .. } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut whole(), "walkaround", &mut script);
            output::write(Status::Clean, |out| out.write_all(&script))
        }
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

/// A man page for the program and one for each command.
fn pages() -> Vec<clap_mangen::Man> {
    let mut program = whole();
    program.build();
    let commands: Vec<Command> = program.get_subcommands().cloned().collect();
    std::iter::once(program).chain(commands).map(clap_mangen::Man::new).collect()
}

/// Writes the pages into a folder, over those of an earlier version.
fn write_pages(folder: &Path) -> Status {
    let write = |page: &clap_mangen::Man| -> io::Result<()> {
        new_file::save(&folder.join(page.get_filename()), true, |file| page.render(file))
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
