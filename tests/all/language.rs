//! The language read from real files.

use crate::testdata;
use walkaround::fleet::problem::{Problem, ProblemKind};
use walkaround::fleet::{FileFleet, Fleet, read, table};
use walkaround::source::{FileId, Lines};
use walkaround::syntax::{Tables, parse};

fn understand(file: u32, text: &[u8]) -> (FileId, FileFleet) {
    let mut tables = Tables::default();
    parse(text, table::vocabulary, &mut tables);
    (FileId(file), read(FileId(file), text, &tables))
}

/// All problems of one text taken as the whole fleet, as `line: kind: message`.
fn problems(text: &str) -> Vec<String> {
    let (fleet, mut problems) = Fleet::gather([understand(0, text.as_bytes())]);
    problems.extend(fleet.check());
    let lines = Lines::new(text.as_bytes());
    problems.sort_by_key(|problem| problem.place);
    let line = |problem: &Problem| lines.position(problem.place.span.start).line;
    problems.iter().map(|problem| format!("{}: {:?}: {}", line(problem), problem.kind, problem.message)).collect()
}

fn file(name: &str) -> String {
    std::fs::read_to_string(testdata::folder().join(name)).unwrap()
}

#[test]
fn the_whole_example_is_understood() {
    assert_eq!(problems(&file("syntax/design-example.rig")), Vec::<String>::new());
}

#[test]
fn every_closing_brace_that_is_missing_is_one_fault() {
    let text = file("syntax/design-example.rig");
    let comments: Vec<(usize, usize)> = {
        let mut at = 0;
        text.split_inclusive('\n')
            .filter_map(|line| {
                let start = at;
                at += line.len();
                line.find('#').map(|hash| (start + hash, at))
            })
            .collect()
    };
    let braces = text
        .match_indices('}')
        .map(|(at, _)| at)
        .filter(|at| !comments.iter().any(|&(from, to)| (from..to).contains(at)));
    let mut count = 0;
    for at in braces {
        let broken = format!("{}{}", &text[..at], &text[at + 1..]);
        let found = problems(&broken);
        assert_eq!(found.len(), 1, "without the brace at {at}: {found:#?}");
        count += 1;
    }
    assert!(count > 12, "only {count} blocks");
}

#[test]
fn kinds_are_distinct() {
    let text = "rig 1\ncraft a {\n  receiver {\n    link nowhere\n    chainz 2\n    number 70000\n    antenna-gain 2 V\n    antenna-gain 3\n  }\n  battery li-po { cells 6; cells 4 }\n}\n";
    let found = understand(0, text.as_bytes());
    let (fleet, mut problems) = Fleet::gather([found]);
    problems.extend(fleet.check());
    let kinds: Vec<ProblemKind> = problems.iter().map(|problem| problem.kind).collect();
    use ProblemKind::*;
    assert_eq!(kinds, [UnknownStatement, Range, Unit, RepeatedStatement, RepeatedStatement, UnknownName]);
}

#[test]
fn the_fleets_and_cases_of_testdata_are_understood() {
    for name in ["syntax/every-statement.rig", "syntax/odd-layout.rig"] {
        assert_eq!(problems(&file(name)), Vec::<String>::new(), "{name}");
    }
    for fleet in ["clean", "hurried", "newcomer"] {
        let (whole, mut found) =
            Fleet::gather(testdata::fleet_texts(fleet).iter().zip(0..).map(|(text, file)| understand(file, text)));
        found.extend(whole.check());
        let found: Vec<_> = found.iter().map(|problem| &problem.message).collect();
        // The newcomer's folder has three lines that can't be understood, told in testdata/fleets/README.md.
        assert_eq!(found.len(), if fleet == "newcomer" { 3 } else { 0 }, "{fleet}: {found:#?}");
    }
}

#[test]
fn ten_broken_lines_are_ten_faults() {
    let found = problems(&file("syntax/ten-broken-lines.rig"));
    assert_eq!(found.len(), 10, "{found:#?}");
}
