//! `walkaround why`: a rule in plain words, or the catalogue.

use super::output::{self, Colour, wrong_usage};
use super::{Status, coverage, settings};
use crate::report::paint::Paint;
use crate::report::rule_page;
use crate::rules::book;
use std::path::PathBuf;

/// Explains a rule: what can happen, how to see it on the bench, how to mend it, when it is fine
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// The rule's name, as a finding shows it; a group's name lists its rules. Without a name: all rules
    rule: Option<String>,
    /// Show the examples whole
    #[arg(long, requires = "rule")]
    whole: bool,
    /// Say instead how the rule ended for this aircraft, and what it would need
    #[arg(long = "for", value_name = "AIRCRAFT", requires = "rule")]
    aircraft: Option<String>,
    /// The file or folder that describes the aircraft
    #[arg(long = "in", value_name = "PATH", default_value = ".", requires = "aircraft")]
    path: PathBuf,
    #[command(flatten)]
    settings: settings::Choice,
}

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    let (width, paint) = (output::width(), Paint(colour.is_on()));
    if let (Some(aircraft), Some(name)) = (&arguments.aircraft, &arguments.rule) {
        return match book::find(name) {
            Some(rule) => coverage::why(rule.id, aircraft, &arguments.path, &arguments.settings),
            None => unknown(name),
        };
    }
    let page = match arguments.rule.as_deref() {
        None => rule_page::catalogue(width, paint),
        Some(name) => match book::groups().iter().find(|group| group.name == name) {
            Some(group) => rule_page::group(group, width, paint),
            None => match book::find(name) {
                Some(rule) => rule_page::page(rule, arguments.whole, width, paint),
                None => return unknown(name),
            },
        },
    };
    output::show(Status::Clean, |out| out.write_all(page.as_bytes()))
}

fn unknown(name: &str) -> Status {
    match book::nearest(name) {
        Some(near) => wrong_usage(&format!("no rule is called \"{name}\"; did you mean {}?", near.id)),
        None => wrong_usage(&format!("no rule is called \"{name}\"; `walkaround why` lists them all")),
    }
}
