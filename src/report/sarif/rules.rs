//! The rules of the book, as the tool's part of a log describes them.

use super::shape::level_of;
use crate::findings::RuleId;
use crate::report::paint::Paint;
use crate::report::{Report, rule_page};
use crate::rules::book::{BOOK, RuleDoc};
use crate::rules::catalogue;
use rustc_hash::FxHashSet;

/// The columns of the help text; viewers show it as it is.
const WIDTH: usize = 100;

/// A rule (section 3.49).
///
/// Its texts are no message strings with arguments, so their braces, which examples are full of, stay single.
#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Descriptor {
    id: &'static str,
    short_description: Texts,
    #[serde(skip_serializing_if = "Option::is_none")]
    full_description: Option<Texts>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<Texts>,
    #[serde(skip_serializing_if = "Option::is_none")]
    help_uri: Option<String>,
    default_configuration: Configuration,
    properties: Properties,
}

#[derive(serde::Serialize)]
struct Texts {
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    markdown: Option<String>,
}

#[derive(serde::Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(serde::Serialize)]
struct Properties {
    severity: &'static str,
    basis: &'static str,
    tags: [&'static str; 1],
}

/// The rules that a log speaks of, in the order of the book.
pub(super) struct Rules {
    /// Each with whether something of it was found, so that its page is wanted.
    rules: Vec<(&'static RuleDoc, bool)>,
}

impl Rules {
    /// Those that were asked, and those of which something was found, is known or is waived.
    pub(super) fn of(report: &Report<'_>) -> Self {
        let found = report.findings.iter().chain(report.known).map(|finding| finding.rule);
        let found: FxHashSet<RuleId> = found.chain(report.waived.iter().map(|waived| waived.rule)).collect();
        let asked: FxHashSet<RuleId> = report.coverage.rules.iter().copied().collect();
        let rules = BOOK.iter().filter(|doc| found.contains(doc.id) || asked.contains(doc.id));
        Self { rules: rules.map(|doc| (doc, found.contains(doc.id))).collect() }
    }

    pub(super) fn descriptors(&self) -> Vec<Descriptor> {
        self.rules.iter().map(|(doc, found)| Descriptor::of(doc, *found)).collect()
    }

    /// Where a rule stands among them.
    pub(super) fn index_of(&self, rule: &str) -> Option<usize> {
        self.rules.binary_search_by(|(doc, _)| doc.id.cmp(rule)).ok()
    }
}

/// The page of this program, which its owner names in Cargo.toml.
pub(super) fn home() -> Option<&'static str> {
    Some(env!("CARGO_PKG_HOMEPAGE")).filter(|home| !home.is_empty())
}

/// The page of a rule below the program's.
fn page_of(home: &str, rule: &str) -> String {
    format!("{}/docs/rules.md#{}", home.trim_end_matches('/'), rule.replace('/', ""))
}

impl Descriptor {
    /// A rule of which nothing was found has no page in the log: there are many, and a reader has no use for them.
    fn of(rule: &'static RuleDoc, found: bool) -> Self {
        let only = |text: String| Texts { text, markdown: None };
        Self {
            id: rule.id,
            short_description: only(format!("{}.", rule.title)),
            full_description: found.then(|| only(rule.what_is_it.trim_end().to_owned())),
            help: found.then(|| Texts {
                text: rule_page::page(rule, true, WIDTH, Paint::NONE),
                markdown: Some(catalogue::of_rule(rule)),
            }),
            help_uri: home().map(|home| page_of(home, rule.id)),
            default_configuration: Configuration { level: level_of(rule.severity) },
            properties: Properties { severity: rule.severity.word(), basis: rule.basis.word(), tags: [rule.group] },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_has_a_page_below_the_programs() {
        for home in ["https://example.org/walkaround", "https://example.org/walkaround/"] {
            assert_eq!(page_of(home, "arming/slow"), "https://example.org/walkaround/docs/rules.md#armingslow");
        }
    }
}
