//! Texts as long as they may be, made so that looking at everything for everything would take minutes, and models that are
//! small and hard: the work and the findings stay in bounds. Work is counted, or two sizes are compared; no clock decides.

use crate::testdata;
use std::fmt::Write as _;
use std::time::{Duration, Instant};
use walkaround::findings::grading::Grading;
use walkaround::inspect::{Options, Workspace, inspect};
use walkaround::mend::{How, mend};
use walkaround::signal::MODEL_BUDGET;

/// A tenth of the longest text, and a quarter of that.
const SIZES: [usize; 2] = [100 << 10, 400 << 10];

/// What grows with the square takes sixteen times as long for four times the text; what grows with it, four times.
const TIMES: u32 = 9;

/// What takes less than this is not compared.
const NOISE: Duration = Duration::from_millis(30);

/// The time that this thread was on a core, where the system tells: others that run beside it change nothing then.
fn busy() -> Duration {
    static BEGAN: std::sync::OnceLock<Instant> = std::sync::OnceLock::new();
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let told = told.and_then(|text| text.split(' ').next()?.parse().ok()).map(Duration::from_nanos);
    told.unwrap_or_else(|| BEGAN.get_or_init(Instant::now).elapsed())
}

/// A text of a size that says many times the same, with a number in place of every `@`.
fn many(size: usize, line: &str) -> String {
    let mut text = String::from("rig 1\n");
    let mut number = 0;
    while text.len() < size {
        text += &line.replace('@', &number.to_string());
        number += 1;
    }
    text
}

#[track_caller]
fn ends(text: impl Fn(usize) -> String, rule: &str) {
    ends_with(text, rule, &Options::default());
}

#[track_caller]
fn ends_with(text: impl Fn(usize) -> String, rule: &str, options: &Options) {
    let took = SIZES.map(|size| {
        let text = text(size);
        let before = busy();
        let outcome = inspect(&[text.as_bytes()], options);
        let took = busy().saturating_sub(before);
        let start = &text[..text.len().min(60)];
        let is_long = size == SIZES[1];
        assert!(!is_long || outcome.findings.iter().any(|finding| finding.rule == rule), "{start:?} has no {rule}");
        took.max(NOISE)
    });
    let [short, long] = took;
    assert!(long < short * TIMES, "{rule}: {long:?} for four times the text that took {short:?}");
}

#[test]
fn names_that_nobody_defines() {
    ends(|size| many(size, "model a@ { flies b@ }\ncraft c@ { }\n"), "format/unknown-name");
    ends(|size| many(size, "link a@ { }\nhandset b@ { module c { link d@ } }\n"), "format/unknown-name");
    ends(|size| many(size, "place a@ { }\ncraft b@ { flown-at c@ }\n"), "format/unknown-name");
}

#[test]
fn blocks_of_one_name_and_blocks_that_never_end() {
    ends(|size| many(size, "craft a { }\n"), "format/name-twice");
    ends(|size| many(size, "craft a {\n"), "format/syntax");
    ends(|size| many(size, "craft a@ { kind boot }; "), "format/syntax");
    let never = |size: usize| format!("rig 1\n{}{}", " ".repeat(size / 2), "craft a { ".repeat(size / 20));
    ends(never, "format/syntax");
}

#[test]
fn blocks_with_far_too_many_statements() {
    let inside = |size, line: &str| many(size, line).replacen("rig 1\n", "rig 1\nmodel a {\n", 1) + "}\n";
    ends(|size| inside(size, "condition c@ when throttle low\n"), "format/too-large");
    ends(|size| inside(size, "channel 1 = roll\n"), "format/too-large");
    let modes = |size| {
        let modes = many(size, "mode m@ channel 5 870..1210 us\n");
        modes.replacen("rig 1\n", "rig 1\ncraft a {\ncontroller {\n", 1) + "}\n}\n"
    };
    ends(modes, "format/too-large");
}

#[test]
fn waivers_beyond_counting() {
    ends(|size| many(size, "# waive arming/slow because \"tide\"\ncraft a { }\n"), "format/name-twice");
    let bare = |size| many(size, "# waive arming/slwo because \"tide\"\n") + "craft a { }\n";
    ends(bare, "house/waiver-bare");
}

#[test]
fn models_that_may_answer_each_other() {
    let fleet = |size: usize, [check, number, craft, module]: [&str; 4]| {
        let shared = "handset h { scale 1500 us plus-minus 500 us; module b { link l } }\n";
        let link = format!("rig 1\nlink l {{ receiver-number 1..60000; number-check {check} }}\n{shared}");
        let model = format!("model m@ {{ handset h; flies {craft}; module b {{ {module} }} }}\n");
        many(size, &format!("craft c@ {{ receiver {{ link l; number {number} }} }}\n{model}"))
            .replacen("rig 1\n", &link, 1)
    };
    // All on one number, each with an aircraft of its own, and with a key of its own.
    let ends = |said: [&str; 4], rule: &str| {
        let grading = Grading::new(&["receiver/*".to_owned()], &[]).unwrap();
        let options = Options { grading, ..Options::default() };
        ends_with(|size| fleet(size, said), rule, &options);
    };
    ends(["strict", "any", "c@", "receiver-number 1; match on"], "receiver/duplicate-number");
    ends(["strict", "1@", "c@", "receiver-number 1; match on"], "receiver/number-differs");
    ends(["strict", "1@", "c@", "receiver-number 1; match on; key k@"], "receiver/number-differs");
    ends(["strict", "1@", "c0", "receiver-number 1; match on"], "receiver/orphan-craft");
    // Each may answer all, which is more than are looked at; and none may answer another.
    ends(["none", "1@", "c@", "receiver-number 1@; match on"], "format/not-decided");
    ends(["strict", "1@", "c@", "receiver-number 1@; match off"], "receiver/locked-elsewhere");
}

/// Each gets a number of its own at once, however many there are, and only a few choices are tried beforehand: the texts are
/// looked at as often for many models as for few.
#[test]
fn models_of_one_number_are_mended_in_a_few_looks() {
    let looks = |count: usize, how: How<'_>| {
        let mut text = String::from("rig 1\nlink l { receiver-number 1..60000; number-check strict }\n");
        text += "handset h { scale 1500 us plus-minus 500 us; module b { link l } }\n";
        for at in 0..count {
            let _ = writeln!(text, "craft c{at} {{ receiver {{ link l; number 7 }} }}");
            let _ =
                writeln!(text, "model m{at} {{ handset h; flies c{at}; module b {{ receiver-number 7; match on }} }}");
        }
        let grading = Grading::new(&["receiver/*".to_owned()], &[]).unwrap();
        let mut workspace = Workspace::new();
        workspace.settings(Options { grading, ..Options::default() });
        let mut looks = 0;
        let mut look = |texts: &[Vec<u8>]| {
            looks += 1;
            workspace.set("a.rig", texts[0].as_slice());
            workspace.outcome()
        };
        let left = mend(vec![text.into_bytes()], &mut look, &|_| true, how).outcome;
        (looks, left.findings.iter().filter(|finding| finding.rule == "receiver/duplicate-number").count())
    };
    let few = looks(20, How::First);
    assert_eq!((few.1, looks(160, How::First)), (0, few));
    assert!(looks(400, How::Sure).0 <= 4);
}

/// A model on a multirotor, with these lines of its handset and of its own.
fn model(controls: &str, lines: &str) -> String {
    format!(
        "rig 1
link shore-24 {{ band 2405..2475 MHz; channels 16; modulation hopping; update-rate 40 Hz }}
handset bench {{
  scale 1500 us plus-minus 493.5 us
  trim-range 20 %
  module built-in {{ link shore-24; chains 1; power 40 mW }}
{controls}
}}
craft knot {{
  kind multirotor
  receiver {{ link shore-24; chains 1 }}
  controller {{
    order A E T R
    idle-below 1080 us
    valid 870..2140 us
    mode arm channel 7 1660..2140 us
    mode level channel 7 1340..1570 us
  }}
}}
model \"knot race\" {{
  handset bench
  flies knot
  module built-in {{ power 40 mW; update-rate 40 Hz }}
  channel 1 = roll
  channel 2 = pitch
  channel 3 = throttle
  channel 4 = yaw
{lines}
}}
"
    )
}

fn switches(count: usize, positions: usize) -> String {
    (0..count).map(|at| format!("  switch s{at} {positions} positions\n")).collect()
}

fn joined(count: usize, sign: &str, one: impl Fn(usize) -> String) -> String {
    (0..count).map(one).collect::<Vec<_>>().join(sign)
}

/// What hostile input met: each ran for minutes once, or took hundreds of megabytes.
fn hard_models() -> Vec<(&'static str, String)> {
    let sum = |count, share: fn(usize) -> usize| {
        format!("  channel 7 = {}", joined(count, " + ", |at| format!("s{at} * {} %", share(at))))
    };
    let mut odd = String::from("  condition x0 when s0 down\n");
    for at in 1..14 {
        let before = at - 1;
        let _ = writeln!(odd, "  condition x{at} when x{before} and not s{at} down or not x{before} and s{at} down");
    }
    let latch = |at: usize, set: String| format!("  condition l{at} latch set {set} reset s{} up\n", (at * 5 + 1) % 14);
    let latches: String = (0..64).map(|at| latch(at, format!("s{} becomes down", at % 14))).collect();
    let chain: String = (0..64_usize)
        .map(|at| match at.checked_sub(1) {
            Some(before) => latch(at, format!("l{before} and s{} becomes down", at % 14)),
            None => latch(at, "s0 becomes down".to_owned()),
        })
        .collect();
    let armed = |when: &str| format!("  channel 7 {{ value 100 % when {when}; value -100 % }}");
    let squares: String = (8..67).map(|at| format!("  channel {at} = channel {0} * channel {0}\n", at - 1)).collect();
    let curve = |at: usize, rounded: &str| {
        format!(
            "  curve c{at} {{ points -100:-{}, -30:{}, 40:35, 100:{}{rounded} }}\n",
            90 + at % 7,
            at % 13,
            99 - at % 3
        )
    };
    let curves: String = (0..60).map(|at| curve(at, "")).collect();
    let bends: String = (0..60).map(|at| curve(at, "; rounded")).collect();
    let bent: String = (8..67).map(|at| format!("  channel {at} = c{}(channel {})\n", at - 7, at - 1)).collect();
    let least = "  channel 7 = min(s0, max(dial * knob, throttle))\n  channel 5 = min(roll, max(yaw, dial)) + s0\n";
    let least = format!("{least}  channel 6 = min(roll * pitch, max(yaw, dial * s0))\n");
    let product = joined(14, " * ", |at| format!("s{at}"));
    vec![
        ("a sum of twelve switches", model(&switches(12, 5), &sum(12, |at| 7 + at))),
        ("a sum of twelve switches alike", model(&switches(12, 5), &sum(12, |_| 8))),
        ("a sum of twenty-four switches", model(&switches(24, 3), &sum(24, |at| 3 + at))),
        ("a sum of twenty-four switches alike", model(&switches(24, 3), &sum(24, |_| 4))),
        ("exclusive-or of switches", model(&switches(14, 2), &format!("{odd}{}", armed("x13")))),
        ("a product of switches", model(&switches(14, 2), &format!("  channel 7 = {product}"))),
        (
            "latches",
            model(&switches(14, 2), &format!("{latches}{}", armed(&joined(64, " and ", |at| format!("l{at}"))))),
        ),
        ("latches in a chain", model(&switches(14, 2), &format!("{chain}{}", armed("l63")))),
        ("squares of a constant", model("", &format!("  channel 7 = 97 %\n{squares}"))),
        ("a chain of curves", model("  knob dial", &format!("{curves}  channel 7 = c0(roll + dial)\n{bent}"))),
        ("a chain of rounded curves", model("  knob dial", &format!("{bends}  channel 7 = c0(roll + dial)\n{bent}"))),
        ("the least of three", model("  switch s0 13 positions\n  knob dial\n  knob knob", &least)),
    ]
}

fn asked(texts: &[(String, Vec<u8>)]) -> Workspace {
    let mut workspace = Workspace::new();
    workspace.settings(Options::default());
    texts.iter().for_each(|(name, text)| workspace.set(name, text.clone()));
    workspace.outcome();
    workspace
}

/// The budget of a model is at most fifty times what the largest model of the fleets takes, and so is the time of a hard one.
#[test]
fn no_model_takes_much_more_than_the_largest_of_the_fleets() {
    let mut most = 0;
    for fleet in testdata::fleet_names() {
        most = most.max(asked(&testdata::fleet(&fleet)).most_work());
    }
    assert!(MODEL_BUDGET <= 50 * most, "the largest model of the fleets takes {most} of {MODEL_BUDGET}");
    for (what, text) in hard_models() {
        let before = busy();
        let work = asked(&[("hard.rig".to_owned(), text.into_bytes())]).most_work();
        println!("{what}: {work} in {:?}", busy().saturating_sub(before));
        assert!(work <= MODEL_BUDGET, "{what} takes {work}");
    }
}

/// What a sum of switches comes to is decided, however many there are.
#[test]
fn sums_of_many_switches_are_decided() {
    for (what, text) in hard_models().into_iter().filter(|(what, _)| what.contains("sum")) {
        let outcome = inspect(&[text.as_bytes()], &Options::default());
        let open: Vec<_> = outcome.findings.iter().filter(|finding| finding.rule == "format/not-decided").collect();
        assert!(open.is_empty(), "{what}: {open:#?}");
    }
}

/// Where few threads can be started, or none, or stacks are small, or many threads are asked for, or the time zone is a device,
/// the program says the same as ever.
#[cfg(target_os = "linux")]
#[test]
fn a_cramped_system_is_enough() {
    let fleet = testdata::fleet_folder("hurried");
    let run = |before: &str, variables: &[(&str, &str)]| {
        let line = format!("{before} exec \"$0\" inspect \"$1\" --today 2027-03-01 --as lines");
        let mut command = std::process::Command::new("sh");
        command.args(["-c", &line, env!("CARGO_BIN_EXE_walkaround")]).arg(&fleet);
        let output = command.envs(variables.iter().copied()).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
    };
    let usual = run("", &[]);
    assert_eq!(usual.0, Some(1), "{}", usual.2);
    for (before, variables) in [
        ("ulimit -s 64;", &[][..]),
        // Too little for the stack of a single thread.
        ("ulimit -v 60000;", &[]),
        ("", &[("RAYON_NUM_THREADS", "100000")]),
        ("", &[("RAYON_NUM_THREADS", "1")]),
    ] {
        assert_eq!(run(before, variables), usual, "{before} {variables:?}");
    }
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.rig"), "rig 1\ncraft knot { kind boat }\n").unwrap();
    for zone in ["/dev/zero", ":/dev/zero", "../../../../../../../../dev/zero"] {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"));
        let output = command.args(["inspect", folder.path().to_str().unwrap()]).env("TZ", zone).output().unwrap();
        assert!(output.status.code().is_some_and(|status| status < 3), "{zone}: {output:?}");
    }
}
