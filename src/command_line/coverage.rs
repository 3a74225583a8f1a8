//! How one rule ended for one aircraft: `walkaround why RULE --for AIRCRAFT`.

use super::Status;
use super::inspect::day;
use super::output::{self, tell, wrong_usage};
use super::settings;
use super::sources::{Sources, Wanted};
use crate::findings::RuleId;
use crate::inspect::{Options, Workspace};
use crate::report::{Report, coverage};
use std::path::{Path, PathBuf};

/// Inspects a path and says how a rule ended for an aircraft, and why.
pub(super) fn why(rule: RuleId, aircraft: &str, path: &Path, settings: &settings::Choice) -> Status {
    let paths = [PathBuf::from(path)];
    let wanted = Wanted { paths: &paths, name: "standard-input.rig", around: path.as_os_str() != "-", settings };
    let (sources, settings) = match Sources::choose(&wanted) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    if sources.is_empty() {
        tell("there is nothing to inspect: give the folder of the description with --in");
        return Status::NotUnderstood;
    }
    let mut options = Options { today: day(None).ok(), ..settings::options(&settings) };
    settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
    let mut workspace = Workspace::with(options);
    sources.load(&mut workspace);
    let outcome = workspace.outcome();
    let names = || outcome.aircraft.iter().map(|known| known.name.as_str());
    if !names().any(|known| known == aircraft) {
        return wrong_usage(&output::no_such("aircraft", aircraft, names()));
    }
    let text_of = &|file| workspace.text(file);
    let report = Report::of(&outcome, workspace.names(), workspace.count(), text_of);
    let page = coverage::of_rule(rule, aircraft, &report, output::width());
    output::show(Status::Clean, |out| out.write_all(page.as_bytes()))
}
