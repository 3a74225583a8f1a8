//! The rule book as one page of Markdown, for `docs/rules.md`. Of each rule it prints every bad example and one good one;
//! the rest stands in the data files.

use super::book::{self, Group, MendKind, RuleDoc};
use std::fmt::Write as _;

/// The whole book: an introduction, a table of the rules by group, then a section a rule.
pub fn markdown() -> String {
    let mut page = String::from(INTRODUCTION);
    for group in written_groups() {
        contents(&mut page, group);
    }
    for group in written_groups() {
        // Writing to a string can't fail, here and below.
        let _ = write!(page, "\n## {}\n\n{}\n", group.name, group.about);
        for rule in book::in_group(group.name) {
            section(&mut page, rule);
        }
    }
    page
}

/// One rule's section, with its heading.
pub fn of_rule(rule: &RuleDoc) -> String {
    let mut page = String::new();
    section(&mut page, rule);
    page.trim_start().to_owned()
}

const INTRODUCTION: &str = "\
<!-- Written by `cargo run --example write_docs` from rules/; changes made here are lost. -->
# The rule book

One rule, one hazard. Each says what it looks for, what can happen, how to see it on the bench, how to mend it and when
it may stay as it is. `walkaround why RULE` shows the same text.

**Before any bench check, take the propellers off.** These checks do not replace your own check before each flight, and
local aviation and radio rules and licensed practice decide. That nothing is found does not mean that an aircraft is
safe to fly.

| severity | means |
|---|---|
| fault | the description can't be understood |
| danger | someone can be hurt, or a law is broken |
| caution | an aircraft can be lost or will not work |
| note | untidy, confusing |

What a verdict rests on: *signal*, what the aircraft would receive in every state that can be reached; *pairing*, which
stored model and which receiver connect; *table*, a table of radio rules or battery limits with its sources; *facts*, what
the description says; *practice*, a rule of thumb of the trade; *reading*, the text itself.

Some words that all rules use. The **handset** is what the pilot holds; a **model** is one set of settings stored in it; the
**link** is the kind of radio between handset and **receiver**; the **flight controller** is the small computer that some
aircraft carry to steer themselves by. To **arm** is to make the motors live. A **channel** is one of the numbers that
travel to the aircraft, a pulse length in microseconds (us): usually 1000 us at one end, 1500 us in the middle and
2000 us at the other end.

The examples are excerpts of invented setups: they show what their own rule needs, and other rules may have a caution
about what is left out. The files that they share stand in `rules/examples/`. A comment that starts with an arrow marks
the line at which the finding stands; it is not part of the setup.
";

/// The groups that have rules.
fn written_groups() -> impl Iterator<Item = &'static Group> {
    book::groups().iter().filter(|group| book::in_group(group.name).next().is_some())
}

fn contents(page: &mut String, group: &Group) {
    let _ = write!(page, "\n**{}** {}\n\n| rule | severity | finds |\n|---|---|---|\n", group.name, group.about);
    for rule in book::in_group(group.name) {
        let (id, severity, title) = (rule.id, rule.severity.word(), rule.title);
        let _ = writeln!(page, "| [{id}](#{}) | {severity} | {} |", anchor(id), cell(title));
    }
}

fn section(page: &mut String, rule: &RuleDoc) {
    let severity = rule.severities.unwrap_or(rule.severity.word());
    let _ = write!(
        page,
        "\n### {}\n\n**{}.** Severity: {severity}. Basis: {}. {}\n\n{}\n",
        rule.id,
        rule.title,
        rule.basis.word(),
        match rule.mend_kind {
            MendKind::Sure => "`mend` corrects it.",
            MendKind::Choice => "`mend --ask` offers a choice.",
            MendKind::Words => "It is mended by hand.",
        },
        rule.what_is_it
    );
    for (heading, text) in [
        ("What can happen", rule.all_that_can_happen().as_str()),
        ("On the bench, propellers off", rule.bench),
        ("Mend", rule.mend),
        ("When it is fine", rule.when_fine),
        ("Source", rule.source),
    ] {
        let _ = write!(page, "\n**{heading}.** {text}\n");
    }
    if !rule.parameters.is_empty() {
        page.push_str("\n| parameter | default | decides |\n|---|---|---|\n");
        for parameter in rule.parameters {
            let _ = writeln!(page, "| `{}` | {} | {} |", parameter.name, parameter.default, cell(parameter.help));
        }
    }
    for bad in rule.bad {
        let _ = write!(page, "\nBad ({}): {}\n", bad.severity.word(), bad.title);
        fence(page, bad.file, bad.text);
    }
    if let Some(good) = rule.good.first() {
        let _ = write!(page, "\nGood: {}\n", good.title);
        fence(page, good.file, good.text);
    }
    if let Some(reason) = rule.no_example {
        let _ = write!(page, "\n{reason}\n");
    }
}

/// A code block; its language is the ending of the file's name.
fn fence(page: &mut String, file: Option<&str>, text: &str) {
    let language = file.and_then(|name| name.rsplit_once('.')).map_or("rig", |(_, ending)| ending);
    let _ = write!(page, "\n```{language}\n{}\n```\n", text.trim_end());
}

/// A text that may stand in a cell of a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// The address that Markdown viewers give a heading: small letters, spaces as hyphens, other marks left out.
fn anchor(heading: &str) -> String {
    heading.chars().filter(|c| c.is_alphanumeric() || matches!(c, '-' | '_')).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_has_its_section_and_its_line_in_the_contents() {
        let page = markdown();
        for rule in book::BOOK {
            assert_eq!(page.matches(&format!("\n### {}\n", rule.id)).count(), 1, "{}", rule.id);
            assert!(page.contains(&format!("| [{}](#{}) |", rule.id, anchor(rule.id))), "{}", rule.id);
        }
    }

    #[test]
    fn code_blocks_are_closed() {
        assert_eq!(markdown().lines().filter(|line| line.starts_with("```")).count() % 2, 0);
    }

    #[test]
    fn headings_are_addressed_as_viewers_do() {
        assert_eq!(anchor("arming/at-rest"), "armingat-rest");
    }
}
