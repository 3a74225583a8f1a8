//! What shells need to complete commands and options, and the names that stand in a folder: rules, models, aircraft.
//!
//! Which argument takes which names follows from the value's name in the declaration of the command line. The scripts ask
//! the program itself for the names (`reference --names`), so that they are those of the folder as it is now.

use super::output::{self, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings, whole};
use crate::inspect::Workspace;
use crate::report::plain::plain;
use crate::rules::book;
use clap::ValueEnum;
use clap_complete::Shell;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// A kind of names.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum Names {
    /// The rules, and their groups
    Rules,
    /// The models of a folder
    Models,
    /// The aircraft of a folder
    Aircraft,
}

impl Names {
    /// Those that a value takes which is called so.
    fn of(value: &str) -> Option<Self> {
        match value {
            "RULE" => Some(Self::Rules),
            "MODEL" => Some(Self::Models),
            "AIRCRAFT" => Some(Self::Aircraft),
            _ => None,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Rules => "rules",
            Self::Models => "models",
            Self::Aircraft => "aircraft",
        }
    }
}

/// Prints names, one a line.
pub(super) fn names(what: Names, place: &Path) -> Status {
    let mut names: Vec<String> = Vec::new();
    if what == Names::Rules {
        names.extend(book::groups().iter().map(|group| group.name.to_owned()));
        names.extend(book::BOOK.iter().map(|rule| rule.id.to_owned()));
    } else {
        let (paths, settings) = ([PathBuf::from(place)], settings::Choice::default());
        let wanted = Wanted { paths: &paths, name: "", around: true, settings: &settings };
        let (sources, settings) = match Sources::choose(&wanted) {
            Ok(chosen) => chosen,
            Err(message) => return wrong_usage(&message),
        };
        let mut workspace = Workspace::with(settings::options(&settings));
        sources.load(&mut workspace);
        let fleet = workspace.fleet();
        match what {
            Names::Models => names.extend(fleet.models.iter().map(|model| model.head.name.value.to_string())),
            _ => names.extend(fleet.crafts.iter().map(|craft| craft.head.name.value.to_string())),
        }
    }
    // A name with a line end in it would be two names.
    names.retain(|name| !name.contains(char::is_control));
    names.sort_unstable();
    names.dedup();
    output::write(Status::Clean, |out| names.iter().try_for_each(|name| writeln!(out, "{}", plain(name))))
}

/// The script for a shell.
pub(super) fn script(shell: Shell) -> Vec<u8> {
    let mut made = Vec::new();
    clap_complete::generate(shell, &mut whole(), "walkaround", &mut made);
    let made = String::from_utf8_lossy(&made).into_owned();
    let script = match shell {
        Shell::Bash => made.replace("complete -F _walkaround -o", "complete -F _walkaround_or_names -o") + &bash(),
        Shell::Zsh => match made.split_once("\nif [ \"$funcstack[1]\"") {
            Some((functions, _)) => format!("{functions}\n{}", zsh()),
            None => made,
        },
        Shell::Fish => made + &fish(),
        _ => made,
    };
    script.into_bytes()
}

/// What takes values: the command, the option (none: no option), and the names where it takes some.
fn places() -> Vec<(String, Option<String>, Option<Names>)> {
    let mut program = whole();
    program.build();
    let mut places = Vec::new();
    for command in program.get_subcommands() {
        for argument in command.get_arguments().filter(|argument| argument.get_action().takes_values()) {
            let names = argument.get_value_names().and_then(<[_]>::first).and_then(|value| Names::of(value));
            let option = argument.get_long().map(|long| format!("--{long}"));
            places.push((command.get_name().to_owned(), option, names));
        }
    }
    places
}

/// Finds `what` from `command`, `before` and `typed`, for shells that understand the words of the standard one.
fn cases() -> String {
    let mut options: Vec<(String, Option<Names>)> = Vec::new();
    let mut lone = String::new();
    for (command, option, names) in places() {
        match (option, names) {
            (Some(option), names) => options.push((format!("\"{command} {option}\""), names)),
            (None, Some(names)) => {
                let _ = writeln!(lone, "                {command}) what={} ;;", names.word());
            }
            (None, None) => {}
        }
    }
    let mut cases = String::from("    case \"$command $before\" in\n");
    for wanted in [None, Some(Names::Rules), Some(Names::Models), Some(Names::Aircraft)] {
        let of = options.iter().filter(|(_, names)| *names == wanted).map(|(option, _)| option.as_str());
        let of: Vec<&str> = of.collect();
        if !of.is_empty() {
            let what = wanted.map_or_else(String::new, |names| format!("what={} ", names.word()));
            let _ = writeln!(cases, "        {}) {what};;", of.join("|"));
        }
    }
    // An option that is begun, or a value of another kind, is not a name.
    let _ = write!(
        cases,
        "        *)
            case \"$typed\" in -*) ;; *) case \"$command\" in
{lone}            esac ;; esac ;;
    esac
"
    );
    cases.replace(") ;;\n", ") : ;;\n")
}

fn bash() -> String {
    format!(
        r#"
_walkaround_or_names() {{
    local typed="${{COMP_WORDS[COMP_CWORD]}}" before="${{COMP_WORDS[COMP_CWORD-1]}}" command="${{COMP_WORDS[1]}}"
    local what="" place="." quoted="" at name
    (( COMP_CWORD > 1 )) || {{ _walkaround "$@"; return; }}
{cases}    [ -n "$what" ] || {{ _walkaround "$@"; return; }}
    for (( at = 2; at < COMP_CWORD; at++ )); do
        name="${{COMP_WORDS[at]//\\/}}"
        [ "${{COMP_WORDS[at-1]}}" != --in ] && [ ! -d "$name" ] || place="$name"
    done
    # A name that is begun with a quote is completed inside it; elsewhere its spaces are escaped.
    case "$typed" in \"*|\'*) quoted=yes; typed="${{typed:1}}" ;; esac
    [ -n "$quoted" ] || typed="${{typed//\\/}}"
    COMPREPLY=()
    while IFS= read -r name; do
        [[ "$name" == "$typed"* ]] || continue
        [ -n "$quoted" ] || printf -v name %q "$name"
        COMPREPLY+=("$name")
    done < <(walkaround reference --names "$what" --in "$place" 2>/dev/null)
}}
"#,
        cases = cases()
    )
}

fn zsh() -> String {
    format!(
        r#"
_walkaround_or_names() {{
    local typed="${{(Q)words[CURRENT]}}" before="${{words[CURRENT-1]}}" command="${{words[2]}}"
    local what="" place="." at name
    local -a known
    (( CURRENT > 2 )) || {{ _walkaround_commands_and_options "$@"; return; }}
{cases}    [ -n "$what" ] || {{ _walkaround_commands_and_options "$@"; return; }}
    for (( at = 3; at < CURRENT; at++ )); do
        name="${{(Q)words[at]}}"
        [[ "${{words[at-1]}}" != --in && ! -d "$name" ]] || place="$name"
    done
    known=(${{(f)"$(walkaround reference --names "$what" --in "$place" 2>/dev/null)"}})
    compadd -a known
}}

# Read from a folder of completions, this file is the body of _walkaround, which is made anew by the first call: what is called later has to
# know the names too.
functions[_walkaround_commands_and_options]=$functions[_walkaround]
functions[_walkaround]=$functions[_walkaround_or_names]
if [ "$funcstack[1]" = "_walkaround" ]; then
    _walkaround_or_names "$@"
else
    compdef _walkaround walkaround
fi
"#,
        cases = cases()
    )
}

fn fish() -> String {
    let mut script = String::from(
        r#"
function __walkaround_names
    set -l words (commandline -opc)
    set -l place .
    for at in (seq (count $words))
        if test $at -gt 2; and begin; test "$words[(math $at - 1)]" = --in; or test -d "$words[$at]"; end
            set place $words[$at]
        end
    end
    walkaround reference --names $argv[1] --in $place 2>/dev/null
end
"#,
    );
    for (command, option, names) in places() {
        let Some(names) = names else { continue };
        let option = option.map_or_else(String::new, |option| format!("-l {} -r ", option.trim_start_matches('-')));
        let _ = writeln!(
            script,
            "complete -c walkaround -n \"__fish_walkaround_using_subcommand {command}\" {option}-f -a \"(__walkaround_names {})\"",
            names.word()
        );
    }
    script
}
