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
fn each_function_that_a_stick_is_mixed_into_is_told_with_the_stick_s_own() {
    let text = text(&[
        ("channel 1 = roll", "channel 1 = roll + yaw"),
        ("channel 2 = pitch", "channel 2 = pitch + 50 % * yaw"),
    ]);
    let mixed = found("channels/mixed", &text);
    let [roll, pitch] = mixed.as_slice() else { panic!("{mixed:#?}") };
    assert!(
        roll.message.starts_with("Channel 1, where the controller reads roll, is mixed from the sticks roll and yaw")
    );
    for finding in [roll, pitch] {
        let [(own, _)] = finding.others.as_slice() else { panic!("{finding:#?}") };
        assert!(text[own.span.start as usize..].starts_with("channel 4 = yaw"));
    }
}
