//! `walkaround reference`: what it prints is made from the one declaration of the command line, so that every command and
//! every option is in it.

use std::fs;
use std::io::Write;
use std::process::{Command, Output, Stdio};

fn reference(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_walkaround")).arg("reference").args(arguments).output().unwrap()
}

fn text(output: Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The commands, as the program's own help lists them.
fn commands() -> Vec<String> {
    let output = Command::new(env!("CARGO_BIN_EXE_walkaround")).arg("--help").output().unwrap();
    let help = text(output);
    let (_, list) = help.split_once("Commands:\n").unwrap();
    let list = list.split("\n\n").next().unwrap();
    // A command stands two columns in; the lines that its words go on in stand deeper.
    let names = list.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names: Vec<String> = names.map(|line| line.split_whitespace().next().unwrap().to_owned()).collect();
    assert!(names.len() >= 4 && names.iter().any(|name| name == "inspect"), "{names:?}");
    names
}

/// The long options of a command, as its help lists them.
fn options(command: &str) -> Vec<String> {
    let output = Command::new(env!("CARGO_BIN_EXE_walkaround")).args([command, "--help"]).output().unwrap();
    let help = text(output);
    let lines = help.lines().map(str::trim_start).filter(|line| line.starts_with('-'));
    let names = lines.filter_map(|line| line.split([' ', ',', '=', '[']).find(|word| word.starts_with("--")));
    names.map(str::to_owned).collect()
}

#[test]
fn the_language_reference_is_the_page() {
    assert_eq!(text(reference(&[])), include_str!("../../docs/language.md"));
}

#[test]
fn the_schema_is_the_published_one() {
    assert_eq!(text(reference(&["--schema"])), include_str!("../../docs/rig.schema.json"));
}

#[test]
fn the_bash_completion_loads_and_completes_every_command_and_option() {
    let script = text(reference(&["--completions", "bash"]));
    let mut check = Command::new("bash").arg("-n").stdin(Stdio::piped()).spawn().unwrap();
    check.stdin.take().unwrap().write_all(script.as_bytes()).unwrap();
    assert!(check.wait().unwrap().success());
    // Asked as bash asks it: the words typed so far in, the candidates out.
    let complete = |words: &[&str]| {
        let program = format!(
            "{script}\nCOMP_WORDS=({}); COMP_CWORD={}; _walkaround walkaround '{}' ''; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
            words.join(" "),
            words.len() - 1,
            words.last().unwrap(),
        );
        let output = Command::new("bash").args(["-c", &program]).output().unwrap();
        String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect::<Vec<_>>()
    };
    for command in commands() {
        let first = &command[..2];
        assert!(complete(&["walkaround", first]).contains(&command), "{command}");
        let offered = complete(&["walkaround", &command, "--"]);
        for option in options(&command) {
            assert!(offered.contains(&option), "{command} {option}: {offered:?}");
        }
    }
}

#[test]
fn every_shell_gets_every_command() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = text(reference(&["--completions", shell]));
        for command in commands() {
            assert!(script.contains(&command), "{shell} {command}");
        }
    }
}

/// The words of a man page as a reader sees them: without font changes and escaped strokes.
fn words(roff: &str) -> String {
    roff.replace("\\-", "-").replace("\\fB", "").replace("\\fI", "").replace("\\fR", "")
}

#[test]
fn there_is_a_man_page_for_each_command_with_each_option() {
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("man");
    assert_eq!(text(reference(&["--man", pages.to_str().unwrap()])), "");
    let program = words(&fs::read_to_string(pages.join("walkaround.1")).unwrap());
    assert!(program.contains("propellers off") && program.contains(".SH SUBCOMMANDS\n.TP\n"), "{program}");
    let mut all = program.clone();
    for command in commands() {
        assert!(program.contains(&format!("walkaround-{command}(1)")), "{command}: {program}");
        let page = words(&fs::read_to_string(pages.join(format!("walkaround-{command}.1"))).unwrap());
        let title = page.lines().find(|line| line.starts_with(&format!(".TH walkaround-{command} 1"))).unwrap();
        // A day, as ISO 8601 writes it.
        assert!(
            title.split(" ").any(|part| part.len() == 10 && part.starts_with("20") && part.matches('-').count() == 2)
        );
        let sections = [".SH EXIT STATUS", ".SH FILES", ".SH ENVIRONMENT", ".SH SEE ALSO"];
        assert!(sections.iter().all(|section| page.contains(section)), "{page}");
        // No command has commands of its own.
        assert!(!page.contains(".SH SUBCOMMANDS"), "{page}");
        assert!(page.contains("walkaround(1)") && page.contains("walkaround-why(1)") | (command == "why"), "{page}");
        let takes_paths = ["inspect", "mend", "pairings", "tidy"].contains(&command.as_str());
        assert_eq!(page.contains("[PATH ...]"), takes_paths, "{page}");
        for option in options(&command) {
            assert!(page.contains(&option), "{command} {option}: {page}");
        }
        all += &page;
    }
    assert_eq!(fs::read_dir(&pages).unwrap().count(), commands().len() + 1);
    // Without a folder the same pages come one after the other.
    assert_eq!(words(&text(reference(&["--man"]))), all);
}

#[test]
fn a_folder_that_cannot_be_is_told() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "").unwrap();
    let output = reference(&["--man", folder.path().join("file/man").to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("man pages can't be written"));
}

/// What bash offers for the last of the words, in a folder.
fn bash_offers(folder: &str, words: &[&str]) -> Vec<String> {
    let script = text(reference(&["--completions", "bash"]));
    let program = format!(
        "{script}\nCOMP_WORDS=(\"$@\"); COMP_CWORD=$(($# - 1)); \
         _walkaround_or_names walkaround \"${{@: -1}}\" \"${{@: -2:1}}\"; printf '%s\\n' \"${{COMPREPLY[@]}}\""
    );
    let built = std::path::Path::new(env!("CARGO_BIN_EXE_walkaround")).parent().unwrap();
    let path = std::env::var_os("PATH").unwrap();
    let path = std::env::join_paths(std::iter::once(built.to_owned()).chain(std::env::split_paths(&path))).unwrap();
    let mut bash = Command::new("bash");
    bash.args(["-c", &program, "bash", "walkaround"]).args(words).current_dir(folder).env("PATH", path);
    let output = bash.output().unwrap();
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

#[test]
fn bash_completes_the_names_that_stand_in_the_folder() {
    let clean = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/fleets/clean");
    for (words, offered) in [
        (&["why", "arming/sl"][..], &["arming/slow"][..]),
        (&["why", "handset/stick-f"], &["handset/stick-filter"]),
        (&["why", "--whole", "arming/sl"], &["arming/slow"]),
        (&["why", "arming/slow", "--for", "kn"], &["knot"]),
        // A name with a space stays one word.
        (&["trace", "sand"], &["sanderling\\ survey"]),
        (&["trace", "sanderling\\ su"], &["sanderling\\ survey"]),
        (&["trace", "\"sand"], &["sanderling survey"]),
        (&["trace", "rain", "--craft", "kn"], &["knot"]),
        (&["inspect", "--aircraft", "plo"], &["plover"]),
        (&["pairings", "--model", "rai"], &["rain"]),
        (&["sheet", "turn"], &["turnstone"]),
        // What is no name is completed as before.
        (&["trace", "--cra"], &["--craft"]),
        (&["tra"], &["trace"]),
        (&["inspect", "--fail-at", "dan"], &["danger"]),
        (&["trace", "nothing-like-this"], &[""]),
    ] {
        assert_eq!(bash_offers(clean, words), offered, "{words:?}");
    }
    assert!(bash_offers(clean, &["why", "arming"]).contains(&"arming".to_owned()), "a group");
    let fleets = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/fleets");
    assert_eq!(bash_offers(fleets, &["trace", "--in", "clean", "whim"]), ["whimbrel"]);
    assert_eq!(bash_offers(fleets, &["inspect", "clean", "--aircraft", "kn"]), ["knot"]);
}

#[test]
fn names_are_printed_also_of_a_folder_with_faults() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.rig"), "rig 1\ncraft knot {\nmodel \"two words\" {\n").unwrap();
    let place = folder.path().to_str().unwrap();
    assert_eq!(text(reference(&["--names", "models", "--in", place])), "two words\n");
    assert_eq!(text(reference(&["--names", "aircraft", "--in", place])), "knot\n");
    assert_eq!(reference(&["--in", place]).status.code(), Some(64));
    assert_eq!(reference(&["--names", "models", "--schema"]).status.code(), Some(64));
}
