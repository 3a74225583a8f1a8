//! Every example of the rule book is read as its rule says: the examples of `format` have their fault at the mark, all
//! other examples and the shared files have none.

use walkaround::fleet::problem::Problem;
use walkaround::fleet::table;
use walkaround::fleet::{Fleet, read};
use walkaround::rules::book::{self, BOOK, RuleDoc};
use walkaround::rules::reading::rule;
use walkaround::source::{FileId, Lines};
use walkaround::syntax::{Tables, parse};

/// The faults of a text read together with shared files; the text is the first file.
fn faults(text: &str, with: &[&str]) -> Vec<Problem> {
    let shared = with.iter().map(|name| book::preamble(name).unwrap().text);
    let files = std::iter::once(text).chain(shared).enumerate().map(|(index, text)| {
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        (FileId(index as u32), read(FileId(index as u32), text.as_bytes(), &tables))
    });
    let (fleet, mut problems) = Fleet::gather(files);
    problems.extend(fleet.check());
    problems
}

fn described(rule_doc: &RuleDoc, title: &str, faults: &[Problem]) -> String {
    let mut out = format!("{}: {title}", rule_doc.id);
    for fault in faults {
        out += &format!("\n  {} in file {}: {}", rule(fault.kind), fault.place.file.0, fault.message);
    }
    out
}

#[test]
fn the_shared_files_have_no_fault() {
    for names in [
        ["link", "handset", "place", "craft", "wing", "model", "wing-model"].as_slice(),
        &["link", "handset", "place", "craft", "model-short"],
    ] {
        let faults = faults("rig 1\n", names);
        assert!(faults.is_empty(), "{faults:?}");
    }
}

#[test]
fn examples_have_no_fault_but_their_own() {
    let mut wrong = Vec::new();
    for rule_doc in BOOK {
        for good in rule_doc.good.iter().filter(|good| good.file.is_none()) {
            let found = faults(good.text, good.with);
            if !found.is_empty() {
                wrong.push(described(rule_doc, good.title, &found));
            }
        }
        for bad in rule_doc.bad.iter().filter(|bad| bad.file.is_none()) {
            let found = faults(bad.text, bad.with);
            let own = rule_doc.group == "format";
            let lines = Lines::new(bad.text.as_bytes());
            let at_mark = |fault: &Problem| {
                rule(fault.kind) == rule_doc.id
                    && fault.place.file == FileId(0)
                    && bad.marks().any(|(line, _)| lines.position(fault.place.span.start).line as usize == line)
            };
            if own != found.iter().any(at_mark) || found.iter().any(|fault| rule(fault.kind) != rule_doc.id) {
                wrong.push(described(rule_doc, bad.title, &found));
            }
            if let Some(repaired) = bad.repaired {
                let found = faults(repaired, bad.with);
                if !found.is_empty() {
                    wrong.push(described(rule_doc, "repaired text", &found));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
