//! The law of `like`, case by case.

use super::*;
use crate::fleet::read;

/// One text read as a whole fleet, with its blocks spelled out; and the way to spell them.
fn with<T>(text: &str, look: impl FnOnce(&Speller<'_>, &[Written]) -> T) -> T {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    let found = read(FileId(0), text.as_bytes(), &tables);
    let all: Vec<Written> = found.heads().map(|(kind, head)| Written::of(kind, head)).collect();
    let find = |kind: u8, name: &str| all.iter().find(|block| block.kind == kind && block.name == name).cloned();
    let text_of = |_| Some((text.as_bytes(), &[][..]));
    let mut heirs: Vec<Written> = all.iter().filter(|block| block.like.is_some()).cloned().collect();
    heirs.sort_by_key(|block| block.whole);
    look(&Speller::new(&find, &text_of), &heirs)
}

pub(in crate::fleet) fn alone(text: &str) -> FileFleet {
    with(text, |speller, heirs| speller.behind(heirs, false).read(FileId(0), text.as_bytes(), &[]).fleet)
}

/// The last block of a text spelled out, a statement a line without its indentation; and what is wrong with it.
fn spelt(text: &str) -> (Vec<String>, Vec<String>) {
    with(text, |speller, heirs| {
        let heir = heirs.last().unwrap();
        let chain = speller.chain(heir);
        assert!(chain.whole, "{chain:?}");
        let (spelt, problems) = speller.spell(heir, &chain.blocks);
        let lines = spelt.text.lines().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty()).collect();
        (lines, problems.into_iter().map(|problem| format!("{:?}: {}", problem.kind, problem.message)).collect())
    })
}

#[track_caller]
fn merges(base: &str, own: &str, wanted: &[&str]) {
    let (lines, problems) = spelt(&format!("rig 1\n{base}\n{own}\n"));
    assert_eq!(lines, wanted);
    assert_eq!(problems, Vec::<String>::new());
}

#[test]
fn one_of_a_word_or_of_a_key_takes_the_place_of_its_twin() {
    merges(
        "craft a {\n kind glider # flies far\n weight 500 g\n # the only one\n flown-at spit\n}",
        "craft b like a {\n weight 0.6 kg\n motor none\n}",
        &[
            "craft b {",
            "kind glider  # flies far",
            "weight 0.6 kg",
            "# the only one",
            "flown-at spit",
            "motor none",
            "}",
        ],
    );
    merges(
        "handset a { switch x 2 positions; switch \"y\" 3 positions; knob z }",
        "handset b like a { switch y 2 positions; knob w }",
        &["handset b {", "switch x 2 positions", "switch y 2 positions", "knob z", "knob w", "}"],
    );
}

#[test]
fn blocks_are_put_together_statement_by_statement() {
    merges(
        "craft a { receiver main { link s; chains 2; number 4 }; receiver spare { link s; number 5 } }",
        "craft b like a { receiver main { chains 1 }; surfaces { channel 1 roll } }",
        &[
            "craft b {",
            "receiver main {",
            "link s",
            "chains 1",
            "}",
            "receiver spare {",
            "link s",
            "}",
            "surfaces { channel 1 roll }",
            "}",
        ],
    );
    // Another form of a statement takes its place.
    merges(
        "model a { failsafe preset { channel 3 1000 us }; module m { match on } }",
        "model b like a { failsafe output-stops; module m off }",
        &["model b {", "failsafe output-stops", "module m off", "}"],
    );
    // A pulse for one more channel.
    merges(
        "model a { failsafe preset { channel 3 1000 us } }",
        "model b like a { failsafe hold 1 s then preset { channel 4 1500 us } }",
        &["model b {", "failsafe hold 1 s then preset {", "channel 3 1000 us", "channel 4 1500 us", "}", "}"],
    );
}

#[test]
fn a_channel_of_one_line_has_its_value_in_a_block_too() {
    merges(
        "model a { channel 2 = -pitch + 10 % * roll; channel 3 t { value throttle; travel -90..90 % } }",
        "model b like a { channel 2 { reversed }; channel 3 = throttle }",
        &["model b {", "channel 2 {", "value -pitch + 10 % * roll", "reversed", "}", "channel 3 = throttle", "}"],
    );
}

#[test]
fn what_belongs_together_is_replaced_together() {
    merges(
        "model a {\n channel 3 {\n  value roll when x up\n  travel -90..90 %\n  value yaw\n }\n alarm signal below -80 dBm\n \
         alarm battery below 3.5 V per-cell\n alarm battery below 10 V\n timer 2 min\n timer 3 min\n \
         expect never x up\n}",
        "model b like a {\n channel 3 { value pitch }\n alarm battery below 11 V\n timer 4 min\n expect never x down\n}",
        &[
            "model b {",
            "channel 3 {",
            "value pitch",
            "travel -90..90 %",
            "}",
            "alarm signal below -80 dBm",
            "alarm battery below 11 V",
            "timer 4 min",
            "expect never x up",
            "expect never x down",
            "}",
        ],
    );
}

#[test]
fn without_takes_away() {
    merges(
        "model a { channel 8 = roll; channel 9 = yaw; alarm signal below -80 dBm; alarm battery below 10 V; timer 2 min }",
        "model b like a { without channel 08; without alarm signal; without timer; channel 7 = yaw }",
        &["model b {", "channel 9 = yaw", "alarm battery below 10 V", "channel 7 = yaw", "}"],
    );
    // What is stated beside it stands alone.
    merges(
        "craft a { controller { order A E T R; deadband 5 us } }",
        "craft b like a { without controller; controller { order T A E R } }",
        &["craft b {", "controller { order T A E R }", "}"],
    );
    let (_, problems) = spelt(
        "rig 1\nmodel a { channel 8 = roll; channel 9 = yaw; timer 1 min }\nmodel b like a { without channel 7 }",
    );
    assert_eq!(
        problems,
        ["UnknownName: there is no `channel 7` to take away: model a has `channel 8`, `channel 9` here"]
    );
    let (_, problems) = spelt("rig 1\nplace a { reach 1 km }\nplace b like a { without region; without }");
    assert_eq!(
        problems,
        [
            "UnknownName: there is no `region` to take away: place a has `reach` here",
            "Syntax: `without` takes a statement's word, and what tells it from others with its word",
        ]
    );
}

#[test]
fn numbers_of_one_aircraft_are_not_guessed() {
    let base = "rig 1\nmodel a { flies c; module m { receiver-number 4; match on; power 10 mW } }\n";
    for (own, wanted) in [
        ("", vec!["its receiver number", "which aircraft it flies"]),
        ("flies d", vec!["its receiver number"]),
        ("flies d; module m { receiver-number 5 }", vec![]),
        ("flies d; module m { match off }", vec![]),
        ("without flies; module m off", vec![]),
        ("without flies; module m { without receiver-number }", vec![]),
    ] {
        let (lines, problems) = spelt(&format!("{base}model b like a {{ {own} }}"));
        assert_eq!(problems.len(), wanted.len(), "{own}: {problems:?}");
        for (problem, wanted) in problems.iter().zip(wanted) {
            assert!(problem.starts_with("MissingStatement: ") && problem.contains(wanted), "{own}: {problem}");
        }
        assert!(!lines.iter().any(|line| line == "flies c" || line == "receiver-number 4"), "{own}: {lines:?}");
    }
}

#[test]
fn chains_go_from_one_to_the_next() {
    merges(
        "place a { region AU; reach 1 km }\nplace b like a { reach 2 km }\nplace c like b { without region }",
        "place d like c { region NZ }",
        &["place d {", "reach 2 km", "region NZ", "}"],
    );
    let chain = |length: usize| {
        let links = (1..=length).map(|n| format!("place p{n} like p{} {{ }}\n", n - 1));
        format!("rig 1\nplace p0 {{ reach 1 km }}\n{}", links.collect::<String>())
    };
    assert!(alone(&chain(MAX_CHAIN)).problems.is_empty());
    let problems = alone(&chain(MAX_CHAIN + 1)).problems;
    assert_eq!(problems.iter().map(|problem| problem.kind).collect::<Vec<_>>(), [ProblemKind::TooLarge]);
}

#[test]
fn a_circle_is_told_once_with_all_its_blocks() {
    let found = alone("rig 1\nplace z like x { }\nplace x like y { }\nplace y like x { }\nplace s like s { }\n");
    let told: Vec<(String, usize)> =
        found.problems.iter().map(|problem| (problem.message.clone(), problem.others.len())).collect();
    assert_eq!(
        told,
        [("place x is like itself: x → y → x".to_owned(), 1), ("place s is like itself: s → s".to_owned(), 0)]
    );
    assert!(found.sites.iter().all(|site| site.head.lost_any(&["reach"])));
}

/// What becomes of a block when its spelled-out text changes: the block itself is changed, and spelled out it says the same.
#[test]
fn a_change_is_made_where_the_block_is_written() {
    let base = "rig 1\nmodel a {\n  handset h\n  trims on\n  channel 3 t {\n    value roll when x up\n    value yaw\n    reversed\n  }\n  \
                module m { match off; power 10 mW }\n}\n";
    for (own, from, to, wanted) in [
        ("", "trims on", "trims off", "\n  trims off\n"),
        ("", "    reversed\n", "", "\n  channel 3 t { without reversed }\n"),
        ("", "power 10 mW", "power 20 mW", "\n  module m { power 20 mW }\n"),
        ("", "value yaw", "value pitch", "\n  channel 3 t { value roll when x up; value pitch }\n"),
        ("", "  trims on\n", "  trims on\n  trainer off\n", "\n  trainer off\n"),
        ("  channel 3 { subtrim 1 % }\n", "value yaw", "value pitch", "; value roll when x up; value pitch }"),
        ("  module m { power 5 mW }\n", "    match off\n", "", "  module m { power 5 mW ; without match }\n"),
        ("  trims off\n", "trims off", "trims throttle off", "  trims throttle off\n"),
    ] {
        let text = format!("{base}model b like a {{\n{own}}}\n");
        let spell = |text: &str| {
            with(text, |speller, heirs| {
                let chain = speller.chain(&heirs[0]);
                (speller.spell(&heirs[0], &chain.blocks).0.text, heirs[0].clone())
            })
        };
        let (old, written) = spell(&text);
        let new = old.replacen(from, to, 1);
        assert_ne!(new, old, "{from}");
        let mut edits = here(text.as_bytes(), &written, &old, &new).unwrap();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span));
        let mut changed = text.clone();
        edits.iter().for_each(|edit| changed.replace_range(edit.span.range(), &edit.text));
        assert!(changed.contains(wanted), "{from}: {changed}");
        let words = |text: &str| {
            let mut words: Vec<String> = text.split(['\n', ';', '{', '}']).map(|line| line.trim().to_owned()).collect();
            words.retain(|word| !word.is_empty());
            words.sort();
            words
        };
        assert_eq!(words(&spell(&changed).0), words(&new), "{from}: {changed}");
    }
}
