//! What the pages' examples do not show.

use crate::findings::{Finding, Mend, Severity};
use crate::inspect::{Options, inspect};
use crate::rules::book::preamble;

/// What the spectrum rules find with these changes to the shared files, each as `(from, to)`.
fn found(changes: &[(&str, &str)]) -> Vec<Finding> {
    let mut text: String = ["link", "handset", "place", "knot", "knot-model"]
        .into_iter()
        .map(|name| preamble(name).unwrap().text.replacen("rig 1\n", "", 1))
        .collect();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let text = format!("rig 1\n{text}");
    let all = inspect(&[text.as_bytes()], &Options::default()).findings;
    assert!(all.iter().all(|finding| finding.severity < Severity::Fault), "{all:#?}");
    all.into_iter().filter(|finding| finding.rule.starts_with("spectrum/")).collect()
}

fn names(changes: &[(&str, &str)]) -> Vec<(&'static str, Severity)> {
    found(changes).iter().map(|finding| (finding.rule, finding.severity)).collect()
}

use Severity::{Caution, Danger, Note};

#[test]
fn a_link_at_the_limit_and_what_is_not_stated_stay_silent() {
    let us = ("region AU", "region US");
    for silent in [
        vec![],
        // The rule's 125 mW for 40 hopping channels, to the milliwatt.
        vec![us, ("power 10, 40,", "power 10, 40, 125,"), ("power 160 mW", "power 125 mW")],
        // With 75 channels 1 W is allowed, and nothing says how many there are.
        vec![us, ("  hop-channels 40\n", "")],
        vec![("  region AU\n", "")],
        vec![("  band 2405..2475 MHz\n", "")],
        vec![("    power 160 mW\n", "")],
        vec![("  reach 800 m\n", ""), ("power 160 mW", "power 40 mW")],
        vec![("    antenna-gain 2 dBi\n", ""), ("power 160 mW", "power 40 mW")],
        vec![("  flown-at \"north spit\"\n", ""), ("power 160 mW", "power 720 mW")],
        // A simulator's model sends nothing.
        vec![("  flies knot\n", "  flies knot\n  purpose simulator\n"), ("power 160 mW", "power 720 mW")],
    ] {
        assert_eq!(names(&silent), [], "{silent:?}");
    }
}

#[test]
fn the_top_of_a_range_counts_for_the_law_and_its_bottom_for_the_reach() {
    let range = [("region AU", "region US"), ("power 160 mW", "power 40..160 mW")];
    assert_eq!(names(&range), [("spectrum/power", Danger), ("spectrum/reach", Caution)]);
    let finding = &found(&range)[0];
    assert!(finding.message.contains("160 mW a chain (22 dBm) make 22 dBm conducted"), "{}", finding.message);
    assert!(finding.message.contains("20.97 dBm conducted (125 mW)"), "{}", finding.message);
    let Mend::Choices(_, choices) = &finding.mend else { panic!("{:?}", finding.mend) };
    assert_eq!(choices[0].edits[0].text, "40 mW");
}

#[test]
fn chains_are_added_up_before_the_eyes_of_the_reader() {
    // 380 mW on each of two chains with 2 dBi: 25.80 + 3.01 + 2 = 30.81 dBm, by FCC KDB 662911 D01.
    let two = [("send-on chain 1", "send-on chains 1, 2"), ("power 160 mW", "power 380 mW")];
    let finding = &found(&two)[0];
    assert_eq!((finding.rule, finding.severity), ("spectrum/power", Caution));
    for words in ["380 mW a chain (25.8 dBm) + 3 dB for 2 chains at once + 2 dBi", "30.8 dBm e.i.r.p.", "understood"] {
        assert!(finding.message.contains(words), "{words}: {}", finding.message);
    }
    // In turn they count as one: 27.80 dBm, still above 26.99 dBm, and then 160 mW keeps to it.
    let in_turn = [("send-on chain 1", "send-on chains 1, 2 in-turn"), ("power 160 mW", "power 380 mW")];
    assert!(found(&in_turn)[0].message.contains("27.8 dBm e.i.r.p."));
}

#[test]
fn no_step_of_a_strong_module_fits() {
    let finding = &found(&[
        ("region AU", "region DE"),
        ("power 10, 40, 160, 380, 720 mW", "power 160, 380 mW"),
        ("adaptive off", "adaptive on"),
    ])[0];
    assert_eq!(finding.rule, "spectrum/power");
    assert!(finding.message.contains("No step of the module"), "{}", finding.message);
    assert!(matches!(&finding.mend, Mend::Words(_)));
}

#[test]
fn both_bays_transmit_where_the_aircraft_is_flown() {
    let second = [
        (
            "module plug-in empty",
            "module plug-in { link shore-24; chains 1; power 720 mW; antenna-gain 2 dBi; domain EU }",
        ),
        ("module plug-in off", "module plug-in { update-rate 185 Hz; telemetry off; power 720 mW }"),
    ];
    assert_eq!(names(&second), [("spectrum/domain", Caution), ("spectrum/power", Caution)]);
}

#[test]
fn domains_of_one_table_agree_and_unknown_ones_are_not_judged() {
    assert_eq!(names(&[("region AU", "region KE"), ("domain any", "domain EU")]), [("spectrum/no-table", Note)]);
    let europe = [
        ("region AU", "region NO"),
        ("domain any", "domain DE"),
        ("power 160 mW", "power 10 mW"),
        ("800 m\n", "99 m\n"),
    ];
    assert_eq!(names(&europe), [("spectrum/duty", Caution)]);
    let abroad = [
        ("region AU", "region US"),
        ("domain any", "domain CA"),
        ("power 160 mW", "power 40 mW"),
        ("800 m\n", "500 m\n"),
    ];
    assert_eq!(names(&abroad), [("spectrum/domain", Danger), ("spectrum/domain", Danger)]);
}

#[test]
fn a_band_that_the_table_does_not_know_is_a_note() {
    let other = [("band 2405..2475 MHz", "band 40.665..40.695 MHz")];
    let found = found(&other);
    assert_eq!((found[0].rule, found[0].severity), ("spectrum/no-table", Note));
    assert!(found[0].message.contains("40.665 to 40.695 MHz"), "{}", found[0].message);
}

#[test]
fn what_would_keep_to_the_time_on_air_is_named() {
    let slow = [
        ("region AU", "region DE"),
        ("air-time 2.6 ms at 185 Hz", "air-time 2.6 ms at 185 Hz\n  air-time 3 ms at 40 Hz"),
        ("power 160 mW", "power 40 mW"),
        ("800 m\n", "300 m\n"),
    ];
    let finding = &found(&slow)[0];
    assert_eq!(finding.rule, "spectrum/duty");
    // 63 mW EIRP for 3 ms in each of 40 updates a second: 63 % of 11.8 %, which is below 10 %.
    let Mend::Words(words) = &finding.mend else { panic!() };
    assert!(words.contains("40 Hz") && words.contains("listens"), "{words}");
}

#[test]
fn the_bench_power_is_only_called_so_where_a_lawful_step_would_do() {
    assert_eq!(names(&[("power 160 mW", "power 10 mW")]), [("spectrum/bench-power", Caution)]);
    // At 3 km no lawful step leaves the margin.
    assert_eq!(names(&[("power 160 mW", "power 10 mW"), ("reach 800 m", "reach 3 km")]), [("spectrum/reach", Caution)]);
    // A range that begins at the lowest step leaves it to the link.
    assert_eq!(names(&[("power 160 mW", "power 10..160 mW")]), [("spectrum/reach", Caution)]);
}

#[test]
fn the_reach_that_is_named_has_the_margin_that_is_asked_for() {
    // 16.02 + 2 + 2 + 97 - 20 = 97.02 dB of free-space loss are left; ITU-R P.525-5 at 2475 MHz gives 684 m.
    let finding = &found(&[("power 160 mW", "power 40 mW")])[0];
    assert!(finding.message.contains("up to 680 m"), "{}", finding.message);
    assert_eq!(names(&[("power 160 mW", "power 40 mW"), ("reach 800 m", "reach 680 m")]), []);
}
