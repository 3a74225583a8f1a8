//! What is not understood or not stated takes with it what depends on it, and nothing else; every reason has its case.

use crate::fleet::{self, Fleet, read_condition};
use crate::signal::*;
use crate::source::FileId;
use crate::syntax::{Tables, parse};

const HANDSET: &str = "switch left-front 2 positions\nscale 1500 us plus-minus 500 us\ntrim-range 10 %";
const CONTROLLER: &str = "order A E T R\nmode arm channel 7 1660..2140 us";

/// A fleet of one model, with these statements inside of its handset, controller and model.
fn text(handset: &str, controller: &str, model: &str) -> String {
    format!(
        "rig 1\nlink shore-24 {{ channels 8 }}\nhandset bench {{\n{handset}\n}}\ncraft dunlin {{\ncontroller {{\n{controller}\n}}\n}}\n\
         model \"dunlin race\" {{\nhandset bench\nflies dunlin\n{model}\n}}\n"
    )
}

fn gather(text: &str) -> Fleet {
    let mut tables = Tables::default();
    parse(text.as_bytes(), fleet::table::vocabulary, &mut tables);
    Fleet::gather([(FileId(0), fleet::read(FileId(0), text.as_bytes(), &tables))]).0
}

fn lowered(text: &str) -> Result<Lowered, Refused> {
    let fleet = gather(text);
    lower(&fleet.models[0], fleet.handsets.first(), Over::Unchanged, fleet.crafts.first())
}

/// A model of usual handset and controller, put together.
fn model(statements: &str) -> Lowered {
    lowered(&text(HANDSET, CONTROLLER, statements)).unwrap()
}

/// The answer to a question in the words of the language.
fn ask(lowered: &Lowered, question: &str) -> Answer {
    let condition = lowered.condition(&read_condition(question).unwrap()).unwrap();
    lowered.program.ask(&Question::is(condition))
}

fn yes(lowered: &Lowered, question: &str) -> bool {
    match ask(lowered, question) {
        Answer::Yes(_) => true,
        Answer::No(_) => false,
        Answer::NotDecided(why) => panic!("{question}: {why}"),
    }
}

/// Whether a question is open because of the line that holds these words.
fn hangs_on(lowered: &Lowered, text: &str, question: &str, words: &str) -> bool {
    let Answer::NotDecided(Why::NotUnderstood(place)) = ask(lowered, question) else { return false };
    let at = text.find(words).unwrap() as u32;
    (place.span.start..place.span.end).contains(&at)
}

/// Which reason it is. A new one does not compile until it has a number, and the test fails until it has a case.
fn kind(reason: &Reason) -> usize {
    match reason {
        Reason::NoHandset => 0,
        Reason::NoScale => 1,
        Reason::ScaleNotUnderstood => 2,
        Reason::FlatScale => 3,
        Reason::TooManyParts(_) => 4,
        Reason::Line => 5,
        Reason::NoControl(_) => 6,
        Reason::NoPosition(_) => 7,
        Reason::NoCondition(_) => 8,
        Reason::NoCurve(_) => 9,
        Reason::NoMode(_) => 10,
        Reason::NoChannel(_) => 11,
        Reason::Cycle(_) => 12,
        Reason::TooDeep => 13,
        Reason::TooLong => 14,
        Reason::TooManyFactors => 15,
        Reason::TooManyHeld => 16,
        Reason::Number => 17,
        // The last one comes of no description: its references are sound.
        Reason::Malformed(_) => 18,
    }
}

const REASONS: usize = 19;

/// Conditions each of which names the one before.
fn chain(count: usize) -> String {
    let first = "condition c0 when left-front down\n".to_owned();
    (1..count).fold(first, |text, at| format!("{text}condition c{at} when c{}\n", at - 1))
}

/// Every reason that a description can come to, with one that does.
fn cases() -> Vec<(usize, String)> {
    let of = |statements: &str| text(HANDSET, CONTROLLER, statements);
    let many: String = (0..=MOST_PARTS).map(|at| format!("condition c{at} when left-front down\n")).collect();
    let deep = (0..28).fold("roll".to_owned(), |inner, _| format!("min(0 %, {}{inner})", "roll + ".repeat(15)));
    let held: String = (1..=usize::from(MOST_HELD) + 1)
        .map(|at| format!("condition h{at} when held {at} s left-front down\n"))
        .collect();
    let curve = "curve soft { points -100:-100, 0:10, 100:90; rounded }\n";
    vec![
        (0, format!("{}\n", of("channel 1 = roll").replace("handset bench\nflies", "flies"))),
        (1, text("switch left-front 2 positions", CONTROLLER, "channel 1 = roll")),
        (2, text("scale 1500 us plusminus 500 us", CONTROLLER, "channel 1 = roll")),
        (3, text("scale 1500 us plus-minus 0 us", CONTROLLER, "channel 1 = roll")),
        (4, of(&many)),
        (5, of("channel 1 {\nvalue roll roll\n}")),
        (5, of("channel 1 {\nreversed\n}")),
        (6, of("channel 1 = flipper")),
        (7, of("channel 1 {\nvalue roll when left-front sideways\nvalue 0 %\n}")),
        (8, of("channel 1 {\nvalue roll when ready\nvalue 0 %\n}")),
        (9, of("channel 1 = soft(roll)")),
        (10, of("channel 1 {\nvalue roll when mode glide\nvalue 0 %\n}")),
        (11, of("channel 1 {\nvalue roll when mode arm\nvalue 0 %\n}")),
        (12, of("channel 1 = channel 2\nchannel 2 = channel 1")),
        (13, of(&format!("channel 1 = {deep}"))),
        (14, of(&chain(LONGEST_CHAIN + 1))),
        (15, of(&format!("{curve}channel 1 = soft(soft(soft(soft(soft(roll)))))"))),
        (16, of(&held)),
        (17, text("scale 123456789012345 ms plus-minus 500 us", CONTROLLER, "channel 1 = roll")),
        (17, of("channel 1 {\nvalue roll when channel 2 above 123456789012345 ms\nvalue 0 %\n}\nchannel 2 = pitch")),
    ]
}

#[test]
fn every_reason_happens_and_is_told_with_its_place() {
    let mut seen = [false; REASONS];
    for (expected, text) in cases() {
        let fleet = gather(&text);
        let handset = fleet.handsets.first().filter(|_| fleet.models[0].handset.is_some());
        let found = lower(&fleet.models[0], handset, Over::Unchanged, fleet.crafts.first());
        let reasons: Vec<(Reason, crate::source::Place)> = match found {
            Err(Refused { reason, place }) => vec![(reason, place)],
            Ok(lowered) => {
                let unknown = lowered.program.parts().unknown.iter();
                let reasons = unknown.filter_map(|unknown| match unknown {
                    Unknown::NotUnderstood(place, reason) => Some((reason.clone(), *place)),
                    Unknown::NotStated(_) => None,
                });
                reasons.collect()
            }
        };
        let start: String = text.chars().skip(200).take(200).collect();
        assert!(reasons.iter().any(|(reason, _)| kind(reason) == expected), "{expected}: {reasons:?} of {start}");
        for (reason, place) in reasons {
            seen[kind(&reason)] = true;
            assert!(place.span.start < place.span.end && !reason.to_string().is_empty(), "{reason:?}");
        }
    }
    let nowhere = Parts { channels: vec![Channel::new(1, Value::Control(ControlId(3)))], ..Parts::default() };
    seen[kind(&Program::new(nowhere).unwrap_err().reason)] = true;
    assert_eq!(seen.iter().position(|seen| !seen), None, "a reason without a case");
}

#[test]
fn what_is_long_but_allowed_works() {
    let sum = vec!["roll * 1 %"; 66].join(" + ");
    let lowered =
        model(&format!("trims off\nchannel 1 = {sum}\nchannel 2 = {} - pitch", vec!["pitch"; 250].join(" - pitch + ")));
    assert!(yes(&lowered, "channel 1 above 1829 us"));
    assert!(!yes(&lowered, "channel 1 above 1830 us"));
    assert!(!yes(&lowered, "channel 2 above 1500 us"));
    let lowered = model(&format!("{}channel 7 {{\nvalue 100 % when c99\nvalue -100 %\n}}", chain(100)));
    assert!(yes(&lowered, "mode arm"));
    assert!(!yes(&lowered, "mode arm and left-front up"));
    let curve = "curve soft { points -100:-100, 0:10, 100:90; rounded }";
    let lowered = model(&format!("{curve}\ntrims off\nchannel 1 = soft(soft(soft(roll)))"));
    assert!(yes(&lowered, "channel 1 above 1700 us"));
}

const ARMS: &str = "channel 7 {\nvalue 100 % when left-front down\nvalue -100 %\n}\n";

#[test]
fn a_line_that_is_not_understood_takes_its_channel_and_what_reads_it() {
    let statements =
        format!("{ARMS}channel 3 {{\nvalue throttle throttle\n}}\nchannel 5 = channel 3 + roll\nchannel 6 = roll");
    let text = text(HANDSET, CONTROLLER, &statements);
    let lowered = lowered(&text).unwrap();
    assert!(yes(&lowered, "mode arm"));
    assert!(!yes(&lowered, "mode arm and left-front up"));
    assert!(yes(&lowered, "channel 6 above 1900 us"));
    for question in ["channel 3 above 1000 us", "channel 5 below 3000 us", "channel 3 below 0 us or mode arm"] {
        assert!(hangs_on(&lowered, &text, question, "throttle throttle"), "{question}");
    }
    let program = &lowered.program;
    assert!(matches!(program.moved_by(5), Err(Why::NotUnderstood(_))));
    assert!(matches!(
        program.range(3, Measure::Sent, &Within::default()),
        Some(Reach::NotDecided(Why::NotUnderstood(_)))
    ));
    assert!(matches!(program.range(6, Measure::Sent, &Within::default()), Some(Reach::Range(_))));
    // One state leaves out what is not known, and tells the rest.
    let reading = program.play(&Path::at(program.rest()));
    assert_eq!(reading.channels.iter().map(|channel| channel.number).collect::<Vec<_>>(), [7, 6]);
    assert_eq!(program.read(&Path::at(program.rest()), 5), None);
}

#[test]
fn a_lost_line_takes_no_more_than_its_key_says() {
    let text = text(
        HANDSET,
        CONTROLLER,
        &format!(
            "{ARMS}channel 3 == throttle\nchannel 4 = channel 3\ncondition ready when when\nrates roll {{\nrate 70\n}}\nchannel 1 = roll\nchannel 2 = pitch"
        ),
    );
    let lowered = lowered(&text).unwrap();
    assert!(yes(&lowered, "mode arm") && yes(&lowered, "channel 2 above 1900 us"));
    for (question, words) in [
        ("channel 3 above 1500 us", "== throttle"),
        ("channel 4 above 1500 us", "== throttle"),
        ("channel 1 above 1500 us", "rate 70"),
    ] {
        assert!(hangs_on(&lowered, &text, question, words), "{question}");
    }
    assert_eq!(ask(&lowered, "channel 8 above 1500 us"), Answer::NotDecided(Why::NotKnown(8)));
}

#[test]
fn a_lost_line_may_define_what_nothing_else_does() {
    let text = text(HANDSET, CONTROLLER, &format!("{ARMS}channel three == throttle\nchannel 4 = channel 3"));
    let lowered = lowered(&text).unwrap();
    assert!(yes(&lowered, "mode arm"));
    for question in ["channel 3 above 1500 us", "channel 4 above 1500 us", "channel 8 above 1500 us"] {
        assert!(hangs_on(&lowered, &text, question, "== throttle"), "{question}");
    }
    assert!(matches!(lowered.program.moved_by(4), Err(Why::NotUnderstood(_))));
    assert!(matches!(
        lowered.program.range(3, Measure::Received, &Within::default()),
        Some(Reach::NotDecided(Why::NotUnderstood(_)))
    ));
}

#[test]
fn a_lost_curve_condition_or_rate_takes_what_uses_it() {
    let statements = format!(
        "{ARMS}curve soft {{ points 0:0 }}\ncondition ready when when\nrates roll {{\nrate 70\n}}\n\
         channel 1 = roll\nchannel 2 = soft(pitch)\nchannel 4 = unshaped roll\nchannel 5 {{\nvalue 100 % when ready\nvalue 0 %\n}}"
    );
    let text = text(HANDSET, CONTROLLER, &statements);
    let lowered = lowered(&text).unwrap();
    assert!(yes(&lowered, "mode arm") && yes(&lowered, "channel 4 above 1900 us"));
    assert!(hangs_on(&lowered, &text, "channel 1 above 1500 us", "rate 70"));
    assert!(hangs_on(&lowered, &text, "channel 2 above 1500 us", "points 0:0"));
    assert!(hangs_on(&lowered, &text, "channel 5 above 1600 us", "ready when when"));
}

#[test]
fn a_mode_that_was_not_understood_may_be_on() {
    let controller = "order A E T R\nmode arm channel 7 1660..2140 us\nmode level channel 6 1660";
    let text = text(HANDSET, controller, ARMS);
    let lowered = lowered(&text).unwrap();
    assert!(hangs_on(&lowered, &text, "mode level", "mode level"));
    assert!(yes(&lowered, "mode arm"));
    assert!(yes(&lowered, "channel 7 above 1900 us"));
}

#[test]
fn a_latch_of_what_is_not_known_is_not_known() {
    let lowered = model(
        "condition on latch set ready reset left-front up\ncondition off latch set left-front down reset left-front up",
    );
    let program = &lowered.program;
    let mut down = program.rest();
    down.set(Handle::Control(ControlId(4)), Setting::Position(1));
    assert_eq!(program.play(&Path::at(program.rest())).conditions, [Some(false), Some(false)]);
    assert_eq!(program.play(&Path::at(down)).conditions, [None, Some(true)]);
}

#[test]
fn a_stick_and_a_curve_of_a_constant_are_moved_by_the_stick() {
    let curve = "curve soft { points -100:-90, -37:-20, 13:11, 100:90; rounded }";
    let lowered = model(&format!("{curve}\ntrims off\nchannel 1 = roll * 50 % + soft(33.7 %)"));
    let (program, roll) = (&lowered.program, lowered.control("roll").unwrap());
    assert_eq!(program.moved_by(1), Ok(vec![roll]), "{:?}", program.parts().unknown);
    assert_eq!(program.moves(roll, 1), Ok(true));
    let pulse = |at| {
        let set = [(Handle::Control(roll), Setting::Percent(whole(at)))];
        approximate(&program.read_with(&set, 1).unwrap().sent)
    };
    let Some(Reach::Range(range)) = program.range(1, Measure::Sent, &Within::default()) else { panic!("decided") };
    assert!((range.low - pulse(-100)).abs() < 0.2 && (range.high - pulse(100)).abs() < 0.2, "{range:?}");
}

#[test]
fn an_unstated_trim_range_is_used_in_no_proof() {
    let handset = HANDSET.replace("\ntrim-range 10 %", "");
    let lowered =
        lowered(&text(&handset, CONTROLLER, &format!("{ARMS}channel 1 = roll * 50 %\nchannel 2 = pitch"))).unwrap();
    let not_stated = Why::NotStated(Unstated::TrimRange);
    // With trims centred it is so; with any trims it is not; with some trims alone it would be.
    assert!(yes(&lowered, "channel 1 above 1700 us"));
    assert!(!yes(&lowered, "channel 1 above 2000 us"));
    assert_eq!(ask(&lowered, "channel 1 above 1760 us"), Answer::NotDecided(not_stated));
    assert!(yes(&lowered, "mode arm"));
    let range = |channel| lowered.program.range(channel, Measure::Received, &Within::default());
    assert_eq!(range(1), Some(Reach::NotDecided(not_stated)));
    assert_eq!(range(2), Some(Reach::Range(Range { measure: Measure::Received, low: 1000.0, high: 2000.0 })));
    let shared = Answers::default();
    let program = lowered.program.clone().with_answers(&shared);
    let high = Question::received(1, Bounds::above(Rational64::new(1760, 1).unwrap()));
    assert_eq!(program.decide(&high), Err(not_stated));
    // A stated range of that width is another program.
    let stated = super::unknown::lowered(&text(
        &HANDSET.replace("10 %", "100 %"),
        CONTROLLER,
        &format!("{ARMS}channel 1 = roll * 50 %\nchannel 2 = pitch"),
    ));
    assert_eq!(stated.unwrap().program.with_answers(&shared).decide(&high), Ok(true));
    assert_eq!(program.decide(&high), Err(not_stated));
    // Whether a trim that is kept elsewhere can be there is not stated either.
    let trim = Handle::Trim(ControlId(0));
    let kept = Question::received(1, Bounds::above(Rational64::new(1700, 1).unwrap()))
        .keeping(trim, Kept::At(Setting::Percent(whole(5))));
    assert_eq!(program.ask(&kept), Answer::NotDecided(not_stated));
    let out = Condition::received(1, Bounds::below(whole(1400)));
    assert_eq!(program.trapped(&high.state, &out), Answer::NotDecided(not_stated));
}

#[test]
fn what_arrives_over_a_link_that_is_not_known_is_not_known() {
    let fleet = gather(&text(HANDSET, CONTROLLER, ARMS));
    let lowered = lower(&fleet.models[0], fleet.handsets.first(), Over::NotKnown, fleet.crafts.first()).unwrap();
    assert_eq!(ask(&lowered, "mode arm"), Answer::NotDecided(Why::NotStated(Unstated::Link)));
    let program = &lowered.program;
    let range = |measure| program.range(7, measure, &Within::default());
    assert_eq!(range(Measure::Received), Some(Reach::NotDecided(Why::NotStated(Unstated::Link))));
    assert!(matches!(range(Measure::Sent), Some(Reach::Range(_))));
    let reading = program.play(&Path::at(program.rest()));
    assert_eq!(reading.channel(7).unwrap().received, None);
    assert_eq!(reading.modes, [None]);
}

#[test]
fn a_lost_line_of_a_link_takes_what_arrives() {
    let text = text(HANDSET, CONTROLLER, ARMS).replace("channels 8 }", "channels eight }");
    let fleet = gather(&text);
    let lowered =
        lower(&fleet.models[0], fleet.handsets.first(), Over::Link(&fleet.links[0]), fleet.crafts.first()).unwrap();
    assert!(hangs_on(&lowered, &text, "mode arm", "eight"));
}

#[test]
fn a_malformed_question_says_so() {
    let lowered = model(ARMS);
    let nowhere = Condition::at(ControlId(99), 0);
    let program = &lowered.program;
    assert_eq!(program.ask(&Question::is(nowhere.clone())), Answer::NotDecided(Why::Malformed));
    assert_eq!(program.trapped(&nowhere, &Condition::Constant(true)), Answer::NotDecided(Why::Malformed));
    let within = Within { given: nowhere, ..Within::default() };
    assert_eq!(program.range(7, Measure::Sent, &within), Some(Reach::NotDecided(Why::Malformed)));
    assert_eq!(lowered.condition(&read_condition("ready").unwrap()), Err(Reason::NoCondition("ready".into())));
}

#[test]
fn a_mode_that_feeds_itself_is_a_fault_and_leaves_the_rest_as_it_is() {
    let statements = "channel 7 {\nvalue 100 % when not mode arm\nvalue -100 %\n}\nchannel 1 = roll";
    let text = text(HANDSET, CONTROLLER, statements);
    let problems = gather(&text).check();
    assert!(
        problems.iter().any(|problem| problem.message == "channel 7 feeds itself: channel 7 → channel 7"),
        "{problems:?}"
    );
    let lowered = lowered(&text).unwrap();
    assert!(yes(&lowered, "channel 1 above 1900 us"));
    assert!(hangs_on(&lowered, &text, "mode arm", "channel 7 {"));
}

#[test]
fn what_passes_a_limit_says_so() {
    let curve = "curve soft { points -100:-100, 0:10, 100:90; rounded }";
    let lowered = model(&format!("{curve}\nchannel 1 = soft(soft(soft(soft(soft(roll)))))"));
    assert!(matches!(ask(&lowered, "channel 1 above 1500 us"), Answer::NotDecided(Why::BeyondLimits(_))));
}

/// Every walk goes as deep as parts may be nested through one another: on a thread of usual size that has to work.
#[test]
fn the_deepest_chain_that_is_allowed_is_asked_and_played() {
    let deep =
        |inner: &str| (0..25).fold(inner.to_owned(), |inner, _| format!("min(100 %, {}{inner})", "0 % + ".repeat(15)));
    let channels: Vec<String> = (1..=9)
        .map(|at| {
            format!("channel {at} = {}", deep(&if at == 1 { "roll".into() } else { format!("channel {}", at - 1) }))
        })
        .collect();
    let lowered = model(&format!("trims off\n{}", channels.join("\n")));
    assert_eq!(lowered.program.parts().unknown, []);
    assert!(yes(&lowered, "channel 9 above 1900 us"));
    let conditions: String = (1..250)
        .map(|at| format!("condition c{at} when not (c{} and (left-front up or left-front down))\n", at - 1))
        .collect();
    let lowered = model(&format!(
        "condition c0 when left-front down\n{conditions}channel 7 {{\nvalue 100 % when c249\nvalue -100 %\n}}"
    ));
    assert_eq!(lowered.program.parts().unknown, []);
    assert!(yes(&lowered, "mode arm") && !yes(&lowered, "mode arm and left-front down"));
    let longer: String =
        (1..299).map(|at| format!("condition c{at} when not (not (not (c{} and left-front up)))\n", at - 1)).collect();
    let lowered = model(&format!("condition c0 when left-front down\n{longer}"));
    let passed = |unknown: &Unknown| matches!(unknown, Unknown::NotUnderstood(_, Reason::TooLong));
    assert!(lowered.program.parts().unknown.iter().any(passed));
}
