//! The page about `walkaround.toml`, written from the table of keys that the reader itself uses.

use super::FILE_NAME;
use super::read::{MAX_GLOB, MAX_GLOBS, MAX_KEYS, MAX_SETTINGS};
use crate::rules::book;
use std::fmt::Write as _;

/// One key of the settings file.
#[derive(Clone, Copy, Debug)]
pub struct KeyDoc {
    /// How it is written.
    pub key: &'static str,
    /// What stands behind it, as a pilot reads it.
    pub takes: &'static str,
    /// What it decides.
    pub help: &'static str,
    /// What holds without it.
    pub default: &'static str,
    /// How it looks in a file.
    pub example: &'static str,
}

/// All keys, in the order in which they are told.
pub const KEYS: [KeyDoc; 8] = [
    KeyDoc {
        key: "include",
        takes: "a list of globs",
        help: "Which files are inspected, relative to this file. A file that is named by hand obeys it too.",
        default: "every file that ends in `.rig` or `.rig.json`",
        example: "include = [\"fleet/**\"]",
    },
    KeyDoc {
        key: "exclude",
        takes: "a list of globs",
        help: "Which of them are left out.",
        default: "none",
        example: "exclude = [\"fleet/old/**\"]",
    },
    KeyDoc {
        key: "fail-at",
        takes: "`danger`, `caution` or `note`",
        help: "The least severity that makes the exit status 1; `--fail-at` goes before it.",
        default: "`caution`",
        example: "fail-at = \"danger\"",
    },
    KeyDoc {
        key: "place",
        takes: "the name of a place",
        help: "Where aircraft are flown that state no `flown-at`.",
        default: "not known",
        example: "place = \"north spit\"",
    },
    KeyDoc {
        key: "known",
        takes: "the name of a file below this folder",
        help: "The record of findings that are known, which `inspect` leaves out: see outputs.md.",
        default: "none",
        example: "known = \"known-findings.toml\"",
    },
    KeyDoc {
        key: "tested",
        takes: "a table of `failsafe`, `range` and `directions`, each with a number of days in quotes",
        help: "What every aircraft here is tested for, and how many days later again: `house/not-tested` holds the `tested` lines of the aircraft against it.",
        default: "no test is asked for",
        example: "[tested]\nfailsafe = \"90 days\"\nrange = \"180 days\"",
    },
    KeyDoc {
        key: "severity",
        takes: "a table of rules and groups, each with `danger`, `caution`, `note` or `off`",
        help: "How bad a rule, or each rule of a group, is here; `off` does not ask it. Faults and what is wrong with waivers can't be graded.",
        default: "as the rule book says",
        example: "[severity]\n\"channels/subtrim\" = \"off\"\nspectrum = \"caution\"",
    },
    KeyDoc {
        key: "parameters",
        takes: "a table of rules, each with its parameters, in quotes with their units",
        help: "Numbers that rules judge by.",
        default: "as the table below says",
        example: "[parameters.\"arming/slow\"]\nafter = \"150 ms\"",
    },
];

/// A parameter as it is written in the settings file, with the header of its table.
pub fn parameter(rule: &str, name: &str, value: &str) -> String {
    format!("[parameters.\"{rule}\"]\n{name} = \"{value}\"")
}

/// The page as Markdown.
pub fn markdown() -> String {
    let mut page = format!(
        "<!-- Written by `cargo run --example write_docs` from the table of keys; changes made here are lost. -->\n\
         # {FILE_NAME}\n\n\
         The settings of the program for one folder, as TOML. It is looked for in the folder that is inspected and in those above it, up to the \
         top of the repository; `--settings FILE` names another, whose patterns start from its own folder, and `--no-settings` leaves all of them aside. All of it may be left out; a key that is not listed here is a fault that names the nearest.\n\n\
         | key | takes | decides | without it |\n|---|---|---|---|\n"
    );
    for doc in &KEYS {
        // Writing to a string can't fail, here and below.
        let _ = writeln!(page, "| `{}` | {} | {} | {} |", doc.key, doc.takes, doc.help, doc.default);
    }
    page += "\nAll of them in one file:\n\n```toml\n";
    for doc in &KEYS {
        let gap = if doc.example.starts_with('[') { "\n" } else { "" };
        let _ = writeln!(page, "{gap}{}", doc.example);
    }
    page += "```\n\n";
    let _ = writeln!(
        page,
        "Limits: {} KiB, {MAX_GLOBS} globs of at most {MAX_GLOB} characters, {MAX_KEYS} keys in one table.\n",
        MAX_SETTINGS >> 10
    );
    page += "## Parameters\n\n`walkaround why RULE` shows those of one rule as they are to be written.\n\n\
             | rule | parameter | default | decides |\n|---|---|---|---|\n";
    for rule in book::BOOK {
        for parameter in rule.parameters {
            let help = parameter.help.replace('|', "\\|");
            let _ = writeln!(page, "| {} | `{}` | `\"{}\"` | {help} |", rule.id, parameter.name, parameter.default);
        }
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::FileId;

    /// The file that the page shows is read without a word, and each default of a parameter can be written as it is shown.
    #[test]
    fn what_the_page_shows_can_be_read() {
        let check = |_: &book::ParameterDoc, _: &str| Ok(());
        let page = markdown();
        let shown = page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
        assert_eq!(super::super::read::read(shown.as_bytes(), FileId(0), &check).1, []);
        for rule in book::BOOK {
            for of in rule.parameters {
                let text = parameter(rule.id, of.name, of.default);
                let (settings, findings) = super::super::read::read(text.as_bytes(), FileId(0), &check);
                assert_eq!((settings.parameters.len(), findings), (1, Vec::new()), "{text}");
            }
        }
        for doc in KEYS {
            assert!(page.contains(&format!("\n| `{}` |", doc.key)), "{}", doc.key);
        }
    }
}
