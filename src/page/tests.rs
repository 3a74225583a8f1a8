//! What the page is answered, as text and value.

use super::Page;
use serde_json::{Value, json};

const LINK: &str = r#"rig 1
link shore-24 { band 2405..2475 MHz; channels 10; carry channel 1..4 levels 1500 every 1 update; carry channel 5..7 levels 2 every 3 updates }
"#;

const MODEL: &str = r#"rig 1
handset bench-one { stick-mode 2; switch left-front 2 positions; switch shoulder 2 positions sprung-to up; scale 1500 us plus-minus 500 us
  module built-in { link shore-24; chains 1; power 10 mW } }
craft dunlin { kind multirotor
  receiver { link shore-24; number 4; failsafe output-stops; outputs serial }
  controller { order A E T R; idle-below 1080 us; mode arm channel 7 1660..2140 us; on-loss motors-off after 1 s } }
model "dunlin race" { handset bench-one; flies dunlin; module built-in { receiver-number 4; match on }
  channel 1 = roll
  channel 2 = pitch
  channel 3 = throttle
  channel 4 = yaw
  channel 7 arm = left-front
}
"#;

fn ask(page: &mut Page, request: &Value, text: &str) -> Value {
    let request = format!("{request}\n{text}");
    serde_json::from_slice(&page.answer(request.as_bytes())).unwrap()
}

fn page() -> Page {
    let mut page = Page::new();
    for (name, text) in [("links.rig", LINK), ("dunlin.rig", MODEL)] {
        assert_eq!(ask(&mut page, &json!({"do": "set", "name": name}), text), json!({"value": null}));
    }
    page
}

fn inspected(page: &mut Page) -> Value {
    ask(page, &json!({"do": "inspect", "today": "2027-03-01"}), "")["value"].clone()
}

fn played(page: &mut Page, then: &[&str]) -> Value {
    let request = json!({"do": "play", "model": "dunlin race", "craft": "dunlin", "set": [], "then": then});
    ask(page, &request, "")["value"].clone()
}

#[test]
fn what_is_found_follows_the_texts() {
    let mut page = page();
    let before = inspected(&mut page);
    assert_eq!(before["files"], json!(["dunlin.rig", "links.rig"]));
    assert_eq!(before["pairs"], json!([{"model": "dunlin race", "craft": "dunlin"}]));
    assert_eq!(before["report"]["counts"]["fault"], 0);
    ask(
        &mut page,
        &json!({"do": "set", "name": "dunlin.rig"}),
        &MODEL.replace("channel 1 = roll", "channel 1 = rolll"),
    );
    assert_eq!(inspected(&mut page)["report"]["counts"]["fault"], 1);
    ask(&mut page, &json!({"do": "clear"}), "");
    assert_eq!(inspected(&mut page)["files"], json!([]));
}

#[test]
fn the_settings_file_nearest_the_top_is_obeyed() {
    let mut page = page();
    ask(&mut page, &json!({"do": "set", "name": "old/walkaround.toml"}), "exclude = ['**']\n");
    ask(&mut page, &json!({"do": "set", "name": "walkaround.toml"}), "exclude = ['links.rig']\n");
    let found = inspected(&mut page);
    assert_eq!((&found["settings"], &found["files"]), (&json!("walkaround.toml"), &json!(["dunlin.rig"])));
    ask(&mut page, &json!({"do": "set", "name": "walkaround.toml"}), "exclude = 3\n");
    let found = inspected(&mut page);
    assert_eq!(found["files"], json!(["dunlin.rig", "links.rig"]));
    assert_eq!(found["report"]["findings"][0]["place"]["file"], "walkaround.toml");
}

#[test]
fn a_record_of_known_findings_is_obeyed() {
    let mut page = Page::new();
    let order = MODEL.replace("channel 1 = roll", "channel 1 = yaw");
    ask(&mut page, &json!({"do": "set", "name": "below/dunlin.rig"}), &order);
    ask(&mut page, &json!({"do": "set", "name": "below/links.rig"}), LINK);
    ask(&mut page, &json!({"do": "set", "name": "below/walkaround.toml"}), "known = './known.findings'\n");
    let name = "below/known.findings";
    assert_eq!(ask(&mut page, &json!({"do": "record"}), ""), json!({"value": name}));
    let before = inspected(&mut page);
    let count = |found: &Value| found["report"]["findings"].as_array().unwrap().len();
    let fault = before["report"]["findings"].as_array().unwrap().iter().find(|one| one["severity"] == "fault").unwrap();
    assert!(fault["message"].as_str().unwrap().contains("not among the files"), "{fault}");
    let mut record = "version = 1\n".to_owned();
    let others = before["report"]["findings"].as_array().unwrap().iter().filter(|one| one["severity"] != "fault");
    for one in others {
        record += &format!(
            "[[finding]]\nrule = {}\nseverity = {}\nfingerprint = {}\nfile = 'dunlin.rig'\n",
            one["rule"], one["severity"], one["fingerprint"]
        );
    }
    record += "[[finding]]\nrule = 'arming/always'\nseverity = 'danger'\nfingerprint = '00000000000000ff'\nfile = 'dunlin.rig'\n";
    assert!(count(&before) > 2, "{before}");
    ask(&mut page, &json!({"do": "set", "name": name}), &record);
    assert_eq!(ask(&mut page, &json!({"do": "record"}), ""), json!({"value": null}));
    let after = inspected(&mut page);
    assert_eq!(count(&after), 0, "{after}");
    assert_eq!(after["report"]["known"], count(&before) - 1);
    let totals = after["totals"].as_str().unwrap();
    assert!(totals.contains("nothing new") && totals.contains("1 entry of the record"), "{totals}");
}

#[test]
fn what_is_told_is_bounded_with_the_worst_first() {
    let mut page = page();
    for number in 0..12 {
        let lines = format!("rig 1\n{}", "no such thing\n".repeat(100));
        ask(&mut page, &json!({"do": "set", "name": format!("odd-{number:02}.rig")}), &lines);
    }
    let found = inspected(&mut page);
    let told = found["report"]["findings"].as_array().unwrap();
    assert_eq!(told.len(), 1_000);
    assert!(told.iter().all(|one| one["severity"] == "fault"));
    assert!(
        found["left"].as_u64().unwrap() >= 200 && found["totals"].as_str().unwrap().contains("1200 faults"),
        "{}",
        found["totals"]
    );
}

#[test]
fn each_receiver_tells_which_channels_it_drives_at_a_loss() {
    let mut page = page();
    let two = MODEL.replace(
        "receiver { link shore-24; number 4; failsafe output-stops; outputs serial }",
        "receiver main { link shore-24; number 4; failsafe output-stops; drives channel 1..3 }\n  receiver rear { link shore-24; number 4; failsafe hold; drives channel 4, 7 }",
    );
    assert_ne!(two, MODEL);
    ask(&mut page, &json!({"do": "set", "name": "dunlin.rig"}), &two);
    inspected(&mut page);
    let bench =
        ask(&mut page, &json!({"do": "describe", "model": "dunlin race", "craft": "dunlin"}), "")["value"].clone();
    let losses = bench["losses"].as_array().unwrap();
    let drives: Vec<&Value> = losses.iter().map(|loss| &loss["drives"]).collect();
    assert_eq!(drives, [&json!([1, 2, 3]), &json!([4, 7])]);
    assert_eq!((&losses[0]["outputs"], &losses[1]["outputs"]), (&json!({"do": "stops"}), &json!({"do": "repeats"})));
}

#[test]
fn what_is_received_is_what_a_trace_says() {
    let mut page = page();
    inspected(&mut page);
    let at_start = played(&mut page, &[]);
    assert_eq!(at_start["asks_to_arm"], false);
    assert_eq!(at_start["motors"], json!([{"channel": 3, "still": true, "percent": -100.0}]));
    let armed = played(&mut page, &["left-front=down", "throttle=20"]);
    assert_eq!(armed["asks_to_arm"], true);
    assert_eq!(armed["motors"], json!([{"channel": 3, "still": false, "percent": 19.9}]));
    // DESIGN.md, section 4: 1500 levels over 1000..2000 us are 1000/1499 us apart, and the nearest to 1600 us is the 899th.
    let throttle = &armed["state"]["channels"][2];
    assert_eq!((&throttle["pulse_us"], &throttle["carried_us"]), (&json!(1600.0), &json!(1599.7)));
}

#[test]
fn a_stick_that_is_drawn_along_makes_one_movement() {
    let mut page = page();
    inspected(&mut page);
    assert_eq!(played(&mut page, &["roll=10", "roll=20"])["shorter"], true);
    assert_eq!(played(&mut page, &["roll=10", "pitch=20"])["shorter"], false);
    // On the way the latch was set, and it stays so.
    let latched = MODEL.replace("channel 7 arm = left-front", "condition on latch set roll above 50 % reset pitch above 50 %\n  channel 7 arm { value 100 % when on; value -100 % }");
    ask(&mut page, &json!({"do": "set", "name": "dunlin.rig"}), &latched);
    inspected(&mut page);
    let passed = played(&mut page, &["roll=60", "roll=20"]);
    assert_eq!((&passed["shorter"], &passed["asks_to_arm"]), (&json!(false), &json!(true)));
    assert_eq!(played(&mut page, &["roll=20"])["asks_to_arm"], false);
}

#[test]
fn an_answer_is_played_to_the_same_state() {
    let mut page = page();
    inspected(&mut page);
    let asked =
        json!({"do": "ask", "model": "dunlin race", "craft": "dunlin", "condition": "mode arm and roll above 50 %"});
    let answer = ask(&mut page, &asked, "")["value"].clone();
    assert_eq!(answer["answer"], "yes");
    let words = |list: &Value| -> Vec<String> { serde_json::from_value(list.clone()).unwrap() };
    let (set, then) = (words(&answer["moves"]["set"]), words(&answer["moves"]["then"]));
    let request = json!({"do": "play", "model": "dunlin race", "craft": "dunlin", "set": set, "then": then});
    let shown = ask(&mut page, &request, "")["value"].clone();
    assert_eq!(shown["asks_to_arm"], true);
    let carried = |value: &Value| value["carried_us"].as_f64().map(|pulse| (pulse * 10.0).round() / 10.0);
    let channels = |value: &Value| value["channels"].as_array().unwrap().iter().map(carried).collect::<Vec<_>>();
    assert_eq!(channels(&shown["state"]), channels(&answer["witness"]));
    let never =
        json!({"do": "ask", "model": "dunlin race", "craft": "dunlin", "condition": "mode arm and left-front up"});
    assert_eq!(ask(&mut page, &never, "")["value"]["answer"], "no");
}

#[test]
fn every_example_of_the_hurried_fleet_is_played_by_its_model() {
    let mut page = Page::new();
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/fleets/hurried")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        ask(&mut page, &json!({"do": "set", "name": name}), &std::fs::read_to_string(&path).unwrap());
    }
    let found = inspected(&mut page);
    let findings = found["report"]["findings"].as_array().unwrap();
    let mut played = 0;
    for (number, finding) in findings.iter().enumerate() {
        let example = ask(&mut page, &json!({"do": "example", "finding": number}), "");
        assert_eq!(example["value"].is_null(), finding["witness"].is_null(), "{}", finding["message"]);
        played += usize::from(!finding["witness"].is_null());
    }
    assert!(played > 0);
}

#[test]
fn what_is_wrong_is_told_in_words() {
    let mut page = page();
    inspected(&mut page);
    for (request, words) in [
        (json!({"do": "dance"}), "not understood"),
        (json!({"do": "inspect", "today": "soon"}), "a day is written"),
        (json!({"do": "why", "rule": "arming/moon"}), "arming/moon"),
        (json!({"do": "describe", "model": "dunlin rice", "craft": "dunlin"}), "did you mean \"dunlin race\""),
        (
            json!({"do": "play", "model": "dunlin race", "craft": "dunlin", "set": ["shoulder=sideways"], "then": []}),
            "sideways",
        ),
        (json!({"do": "ask", "model": "dunlin race", "craft": "dunlin", "condition": "mode moon"}), "moon"),
        (json!({"do": "example", "finding": 999}), "no such finding"),
    ] {
        let answer = ask(&mut page, &request, "");
        assert!(answer["wrong"].as_str().unwrap().contains(words), "{answer}");
    }
}

#[test]
fn the_description_holds_what_is_drawn() {
    let mut page = page();
    inspected(&mut page);
    let asked = json!({"do": "describe", "model": "dunlin race", "craft": "dunlin"});
    let bench = ask(&mut page, &asked, "")["value"].clone();
    let control =
        |name: &str| bench["controls"].as_array().unwrap().iter().find(|known| known["name"] == name).unwrap().clone();
    // The four stick modes are common practice, no source.
    assert_eq!((&control("throttle")["side"], &control("throttle")["upright"]), (&json!("left"), &json!(true)));
    assert_eq!((&control("roll")["side"], &control("roll")["upright"]), (&json!("right"), &json!(false)));
    assert_eq!(control("shoulder")["springs_to"], json!({"place": 0, "word": "up"}));
    assert_eq!(bench["caution"], "Propellers off.");
    assert_eq!(bench["losses"][0]["outputs"], json!({"do": "stops"}));
}

#[test]
fn a_core_practises_on_the_examples_of_all_rules() {
    let mut page = page();
    let open = inspected(&mut page);
    let (mut from, mut turns) = (json!(0), 0);
    while !from.is_null() {
        let answer = ask(&mut page, &json!({"do": "practise", "from": from}), "");
        assert!(answer.get("wrong").is_none(), "{answer}");
        assert!(answer["value"]["findings"].as_u64() > Some(0), "{answer}");
        (from, turns) = (answer["value"]["next"].clone(), turns + 1);
    }
    assert_eq!(turns, crate::rules::book::BOOK.len().div_ceil(super::PRACTISED_AT_ONCE));
    assert_eq!(inspected(&mut page), open, "what is open stays as it was");
}
