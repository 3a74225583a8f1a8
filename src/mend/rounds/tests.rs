use super::*;
use crate::inspect::{Options, inspect};
use crate::rules::book::preamble;

fn texts(named: &[&str], last: &str) -> Vec<Vec<u8>> {
    let shared = named.iter().map(|name| preamble(name).unwrap().text.as_bytes().to_vec());
    shared.chain([last.as_bytes().to_vec()]).collect()
}

fn look(texts: &[Vec<u8>]) -> Arc<Outcome> {
    let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
    Arc::new(inspect(&texts, &Options::default()))
}

fn run(texts: Vec<Vec<u8>>, how: How<'_>) -> Mended {
    mend(texts, &mut look, &|_| true, how)
}

fn last(mended: &Mended) -> String {
    String::from_utf8(mended.texts.last().unwrap().clone()).unwrap()
}

/// The shared model with another line for its start check and its trims.
fn model(from: &str, to: &str) -> Vec<Vec<u8>> {
    let text = preamble("model").unwrap().text;
    assert!(text.contains(from), "{from}");
    texts(&["link", "handset", "place", "craft"], &text.replace(from, to))
}

#[test]
fn a_clean_fleet_stays_as_it_is() {
    let mended = run(model("rig 1", "rig 1"), How::First);
    assert!(mended.done.is_empty() && mended.left.is_empty(), "{:?}", mended.left);
}

#[test]
fn sure_mends_that_insert_at_one_place_take_turns() {
    let without =
        preamble("model").unwrap().text.replace("trims off", "# trims").replace("stick-filter off", "# filter");
    let mended = run(texts(&["link", "handset", "place", "craft"], &without), How::Sure);
    let mut rules: Vec<_> = mended.done.iter().map(|done| done.rule).collect();
    rules.sort();
    assert_eq!(rules, ["channels/trims", "handset/stick-filter"]);
    assert!(last(&mended).contains("  stick-filter off\n  trims off\n"), "{}", last(&mended));
    assert!(mended.left.is_empty(), "{:?}", mended.left);
}

#[test]
fn an_edit_near_a_fault_waits_for_the_fault() {
    let mended = run(model("trims off", "timmer 2 min"), How::Sure);
    assert!(mended.done.is_empty());
    let whys: Vec<&Why> = mended.left.iter().map(|left| &left.why).collect();
    assert!(whys.iter().any(|why| matches!(why, Why::Choice(_))), "{whys:?}");
    assert!(whys.iter().any(|why| matches!(why, Why::Fault(_))), "{whys:?}");
    // The first choice repairs the word, and the trims follow.
    let mended = run(model("trims off", "timmer 2 min"), How::First);
    let rules: Vec<&str> = mended.done.iter().map(|done| done.rule).collect();
    assert_eq!(rules, ["format/unknown-statement", "channels/trims"]);
}

#[test]
fn a_mend_that_leaves_a_fault_in_its_line_is_undone() {
    // The word is repaired, and what then stands behind it is no position: that was there all the time.
    for line in ["before-strt left-front sideways", "timmer 4 hours"] {
        let before = model("trims off", line);
        let mended = run(before.clone(), How::First);
        assert_eq!(mended.texts, before, "{line}");
        let refused = |left: &Left| matches!(&left.why, Why::Refused(why) if why.contains("a fault in its line"));
        assert!(mended.left.iter().any(refused), "{:?}", mended.left);
    }
    // What is understood is written as a whole.
    for (line, written) in [("timer 4 minutes", "timer 4 min\n"), ("timer 4:30", "timer 4 min 30 s\n")] {
        let mended = run(model("trims off", line), How::First);
        assert!(last(&mended).contains(written), "{}", last(&mended));
        assert_eq!(mended.done.first().map(|done| done.rule), Some("format/unit"));
    }
}

#[test]
fn a_file_whose_braces_do_not_match_is_left_alone() {
    let text = format!("{}\nmodel other {{\n", preamble("model").unwrap().text.replace("trims off", ""));
    let mended = run(texts(&["link", "handset", "place", "craft"], &text), How::First);
    assert!(mended.done.is_empty(), "{:?}", mended.done);
    assert!(mended.left.iter().any(|left| matches!(left.why, Why::Fault(_))));
}

#[test]
fn the_pilot_is_asked_once_and_may_leave() {
    let mut asked = Vec::new();
    let mut leave = |question: &Asked<'_>| {
        asked.push(question.finding.rule);
        None
    };
    let mended = run(model("receiver-number 4", "receiver-number 5"), How::Ask(&mut leave));
    assert_eq!(asked, ["receiver/number-differs"]);
    assert_eq!(mended.left.iter().map(|left| &left.why).collect::<Vec<_>>(), [&Why::Left]);
    let mut second = |_: &Asked<'_>| Some(1);
    let mended = run(model("receiver-number 4", "receiver-number 5"), How::Ask(&mut second));
    assert_eq!(mended.done.len(), 1);
    assert!(mended.left.is_empty());
    assert!(last(&mended).contains("receiver-number 5"), "the receiver was to be locked, not the model changed");
}

#[test]
fn places_are_those_of_the_first_texts() {
    let mended = run(model("trims off", "# trims"), How::Sure);
    let first = model("trims off", "# trims");
    let place = mended.done[0].place;
    assert!(first[place.file.0 as usize][place.span.start as usize..].starts_with(b"model"));
}

/// A look that finds what the closure says, at the first byte.
fn found(rule: RuleId, text: &[Vec<u8>], edit: impl Fn(&[u8]) -> Option<(u32, u32, &'static str)>) -> Arc<Outcome> {
    let mut outcome = Outcome::default();
    if let Some((start, end, new)) = edit(&text[0]) {
        let mut finding = crate::findings::tests::finding(rule, 0, 0, "x");
        let edits = vec![crate::findings::tests::edit(0, start, end, new)];
        finding.mend = Mend::Sure(Choice { label: "do it".to_owned(), edits });
        finding.fingerprint = 1;
        outcome.findings.push(finding);
    }
    Arc::new(outcome)
}

#[test]
fn a_mend_that_does_not_take_its_finding_away_is_undone() {
    let mut look = |texts: &[Vec<u8>]| found("modes/stuck", texts, |_| Some((6, 6, "x")));
    let mended = mend(vec![b"rig 1\n".to_vec()], &mut look, &|_| true, How::Sure);
    assert_eq!(mended.texts, [b"rig 1\n"]);
    assert!(matches!(&mended.left[..], [Left { why: Why::Refused(_), .. }]));
}

#[test]
fn a_mend_is_tried_again_once_its_line_is_another() {
    let mut look = |texts: &[Vec<u8>]| {
        let mut outcome = Outcome::default();
        // The first is not gone while the second is there.
        let stuck = (texts[0] != *b"xy\n").then_some(("modes/stuck", 1, 2, "y"));
        let clash = (texts[0][0] == b'a').then_some(("modes/clash", 0, 1, "x"));
        for (rule, start, end, new) in stuck.into_iter().chain(clash) {
            let mut finding = crate::findings::tests::finding(rule, 0, start, "x");
            let edits = vec![crate::findings::tests::edit(0, start, end, new)];
            finding.mend = Mend::Sure(Choice { label: "do it".to_owned(), edits });
            finding.fingerprint = u64::from(start) + 1;
            outcome.findings.push(finding);
        }
        Arc::new(outcome)
    };
    let mended = mend(vec![b"ab\n".to_vec()], &mut look, &|_| true, How::Sure);
    assert_eq!((mended.texts, mended.done.len(), mended.left.len()), (vec![b"xy\n".to_vec()], 2, 0));
}

#[test]
fn mends_that_undo_each_other_come_to_an_end() {
    let mut look = |texts: &[Vec<u8>]| match texts[0].as_slice() {
        b"rig 1\n" => found("modes/stuck", texts, |_| Some((4, 5, "2"))),
        _ => found("modes/clash", texts, |_| Some((4, 5, "1"))),
    };
    let mended = mend(vec![b"rig 1\n".to_vec()], &mut look, &|_| true, How::Sure);
    assert_eq!((mended.texts, mended.done.len()), (vec![b"rig 2\n".to_vec()], 1));
}
