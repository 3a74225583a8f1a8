//! The rules of the book, as the tool's part of a log describes them.

use super::shape::level_of;
use crate::report::rule_page;
use crate::rules::book::{BOOK, RuleDoc};
use crate::rules::catalogue;

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
    full_description: Texts,
    help: Texts,
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

/// Every rule of the book, in its order.
pub(super) fn all() -> Vec<Descriptor> {
    BOOK.iter().map(Descriptor::of).collect()
}

/// Where a rule stands in [`all`].
pub(super) fn index_of(rule: &str) -> Option<usize> {
    BOOK.binary_search_by(|doc| doc.id.cmp(rule)).ok()
}

impl Descriptor {
    fn of(rule: &'static RuleDoc) -> Self {
        let only = |text: String| Texts { text, markdown: None };
        Self {
            id: rule.id,
            short_description: only(format!("{}.", rule.title)),
            full_description: only(rule.what_is_it.trim_end().to_owned()),
            help: Texts { text: rule_page::page(rule, true, WIDTH), markdown: Some(catalogue::of_rule(rule)) },
            default_configuration: Configuration { level: level_of(rule.severity) },
            properties: Properties { severity: rule.severity.word(), basis: rule.basis.word(), tags: [rule.group] },
        }
    }
}
