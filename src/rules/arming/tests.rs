//! Receivers on different links, which the pages' examples do not show.

use crate::findings::Finding;
use crate::inspect::{Options, inspect};
use crate::rules::book::preamble;

/// What the rules of arming find with these changes to the shared files, each as `(from, to)`.
fn found(changes: &[(&str, &str)]) -> Vec<Finding> {
    let mut text: String = ["link", "handset", "place", "knot", "knot-model"]
        .into_iter()
        .map(|name| preamble(name).unwrap().text.replacen("rig 1\n", "", 1))
        .collect();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let all = inspect(&[format!("rig 1\n{text}").as_bytes()], &Options::default()).findings;
    all.into_iter().filter(|finding| finding.rule.starts_with("arming/")).collect()
}

/// A second link, on which channel 7 has a hundred levels and comes every 20 updates, with a receiver and a bay for it.
const SECOND: [(&str, &str); 4] = [
    (
        "handset bench-one {",
        "link marsh-9 {\n  channels 10\n  update-rate 40 Hz\n  carry channel 1..10 levels 100 every 20 updates\n}\n\nhandset bench-one {",
    ),
    ("module plug-in empty", "module plug-in { link marsh-9; chains 1; power 40 mW }"),
    ("module plug-in off", "module plug-in { update-rate 40 Hz; telemetry off; power 40 mW }"),
    ("  receiver {\n", "  receiver spare { link marsh-9; number any; failsafe output-stops }\n  receiver main {\n"),
];

#[test]
fn each_receiver_has_its_way() {
    assert!(found(&[]).is_empty());
    let slow = found(&SECOND);
    let [finding] = slow.as_slice() else { panic!("{slow:#?}") };
    assert_eq!((finding.rule, finding.channels()), ("arming/slow", vec![7]));
    assert!(finding.message.contains("one update of 20"), "{}", finding.message);
}

#[test]
fn what_arrives_is_asked_over_each_link() {
    // Two levels have to round the middle of a three-position switch; a hundred carry it.
    let mut changes = SECOND.to_vec();
    changes.extend([("channel 7 arm = left-front", "channel 7 arm = left-rear"), ("before-start left-front up\n", "")]);
    let found = found(&changes);
    let rounded: Vec<_> = found.iter().filter(|finding| finding.rule == "arming/between-levels").collect();
    let [finding] = rounded.as_slice() else { panic!("{found:#?}") };
    assert!(finding.message.ends_with("That is so over the link \"shore-24\"."), "{}", finding.message);
}
