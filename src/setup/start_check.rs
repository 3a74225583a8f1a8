//! What `before-start` demands.

use super::signals::Signals;
use super::subject::Subject;
use crate::signal::{ControlId, Setting, whole};

/// What `before-start` demands of switches and of the throttle.
pub(super) fn demands(subject: &Subject<'_>, signals: &Signals) -> Vec<(ControlId, Setting)> {
    let demands = subject.model.before_start.iter().filter_map(|start| {
        let control = signals.lowered().control(&start.control.value)?;
        if start.control.value == "throttle" {
            return Some((control, Setting::Percent(whole(-100))));
        }
        Some((control, Setting::Position(signals.lowered().position(control, &start.position.value)?)))
    });
    demands.collect()
}
