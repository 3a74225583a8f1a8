//! What the pages' examples of the channel rules do not show.

use crate::findings::{Finding, Mend};
use crate::inspect::{Options, inspect};
use crate::rules::book::preamble;

/// The shared files in one text, with these changes, each as `(from, to)`.
fn text(changes: &[(&str, &str)]) -> String {
    let files = ["link", "handset", "place", "craft", "model"].into_iter();
    let mut text: String = files.map(|name| preamble(name).unwrap().text.replacen("rig 1\n", "", 1)).collect();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    format!("rig 1\n{text}")
}

/// What one rule finds in a text.
fn found(rule: &str, text: &str) -> Vec<Finding> {
    let all = inspect(&[text.as_bytes()], &Options::default()).findings;
    all.into_iter().filter(|finding| finding.rule == rule).collect()
}

#[test]
fn the_whole_statement_goes_however_its_words_stand_apart() {
    let text = text(&[("deadband 6 us", "deadband 6 us\n    reversed    pitch")]);
    let found = found("channels/reversed", &text);
    let [finding] = found.as_slice() else { panic!("{found:#?}") };
    let Mend::Choices(_, choices) = &finding.mend else { panic!("{finding:#?}") };
    let edit = &choices[1].edits[0];
    let (start, end) = (edit.place.span.start as usize, edit.place.span.end as usize);
    assert_eq!((&text[start..end], edit.text.as_str()), ("reversed    pitch", ""));
}

#[test]
fn each_crossed_stick_is_named() {
    let text = text(&[
        ("channel 1 = roll", "channel 1 = pitch"),
        ("channel 2 = pitch", "channel 2 = throttle"),
        ("value soft(throttle) when ready", "value roll when ready"),
    ]);
    let found = found("channels/order", &text);
    let [finding] = found.as_slice() else { panic!("{found:#?}") };
    assert_eq!(
        finding.message,
        "Channel 1 carries pitch, and the controller reads roll there; channel 2 carries throttle, and the controller reads \
         pitch there; channel 3 carries roll, and the controller reads throttle there: each of these sticks would do what \
         another should."
    );
    assert_eq!(finding.channels(), [1, 2, 3]);
}

#[test]
fn a_stick_may_move_three_functions() {
    let text = text(&[
        ("channel 1 = roll", "channel 1 = roll + yaw"),
        ("channel 2 = pitch", "channel 2 = pitch + 50 % * yaw"),
    ]);
    let twice = found("channels/twice", &text);
    let [finding] = twice.as_slice() else { panic!("{twice:#?}") };
    assert_eq!(finding.message, "The yaw stick moves roll (channel 1) and pitch (channel 2) and yaw (channel 4).");
    assert_eq!(found("channels/mixed", &text).len(), 2);
}
