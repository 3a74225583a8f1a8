//! Blocks that are `like` others give what the same blocks give when they are written out: over whole fleets, in few lines.

use crate::{program, testdata};
use std::collections::BTreeSet;
use walkaround::findings::outcome::Outcome;
use walkaround::findings::{Finding, Mend, Severity};
use walkaround::fleet::table;
use walkaround::inspect::{Options, Workspace, inspect};
use walkaround::source::{FileId, Span};
use walkaround::syntax::{NONE, Tables, parse};

/// What a finding says, without where: rule, severity, key, message, and the aircraft one by one, since findings of one line are
/// one, and those of lines that say the same are several.
fn told(findings: &[Finding]) -> BTreeSet<(&str, Severity, &str, &str, &str)> {
    let each = |finding| {
        let Finding { rule, severity, key, message, aircraft, .. }: &Finding = finding;
        aircraft.iter().map(move |name| (*rule, *severity, *key, message.as_str(), name.as_str()))
    };
    findings.iter().flat_map(each).collect()
}

/// The verdicts and how each rule ended, without where.
fn verdicts(outcome: &Outcome) -> Vec<String> {
    let coverage = format!("{:?}", outcome.coverage);
    let mut without_places = String::new();
    for part in coverage.split_inclusive(|letter: char| !letter.is_ascii_digit()) {
        let is_place = ["start: ", "end: ", "FileId("].iter().any(|word| without_places.ends_with(word));
        without_places.push_str(if is_place {
            part.trim_start_matches(|letter: char| letter.is_ascii_digit())
        } else {
            part
        });
    }
    let verdicts = outcome.aircraft.iter().map(|aircraft| format!("{} {:?}", aircraft.name, aircraft.verdict));
    verdicts.chain([without_places]).collect()
}

#[track_caller]
fn same(like: &Outcome, whole: &Outcome) {
    assert_eq!(told(&like.findings), told(&whole.findings));
    assert_eq!(verdicts(like), verdicts(whole));
}

fn of_fleet(name: &str) -> Outcome {
    let texts = testdata::fleet_texts(name);
    let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
    inspect(&texts, &Options::default())
}

/// The lines that say something: not blank, and no comment alone.
fn lines(name: &str) -> usize {
    let texts = testdata::fleet_texts(name);
    let says = |line: &&str| !line.trim().is_empty() && !line.trim().starts_with('#');
    texts.iter().map(|text| std::str::from_utf8(text).unwrap().lines().filter(says).count()).sum()
}

#[test]
fn the_club_is_written_in_half_the_lines_and_says_the_same() {
    let (like, whole) = (of_fleet("club"), of_fleet("club-spelled-out"));
    assert_eq!(whole.aircraft.len(), 12);
    assert!(whole.findings.iter().all(|finding| finding.severity == Severity::Note), "{:?}", whole.findings);
    assert!(!whole.findings.is_empty());
    same(&like, &whole);
    assert!(2 * lines("club") <= lines("club-spelled-out"), "{} of {}", lines("club"), lines("club-spelled-out"));
}

/// The statements of the blocks that are like others, but for the headers of these blocks and of those in them.
#[test]
fn another_aircraft_takes_few_statements() {
    let (mut blocks, mut most) = (0, 0);
    for text in testdata::fleet_texts("club") {
        let mut tables = Tables::default();
        parse(&text, table::vocabulary, &mut tables);
        let mut count = std::collections::BTreeMap::<String, usize>::new();
        for (index, statement) in tables.statements.iter().enumerate() {
            let mut top = index;
            while tables.statements[top].parent != NONE {
                top = tables.statements[top].parent as usize;
            }
            let header = tables.header(&tables.statements[top]).of(&text);
            let header = String::from_utf8_lossy(header).into_owned();
            if !header.contains(" like ") || header.starts_with("handset") {
                continue;
            }
            blocks += usize::from(top == index);
            // The model and its craft, which stands before it.
            let name = header.split([' ', '"']).find(|word| !["craft", "model", ""].contains(word)).unwrap();
            *count.entry(name.to_owned()).or_default() += usize::from(!statement.has_body);
        }
        most = most.max(count.values().copied().max().unwrap_or_default());
    }
    assert!(blocks >= 14 && (1..=8).contains(&most), "{blocks} blocks, at most {most} statements");
}

/// Numbers that are the same in every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % end.max(1)
    }
}

/// The statements directly in a block, each with its words up to what tells it apart, and its text.
fn statements(text: &str, header: &str) -> Vec<(String, String)> {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    let of = |span: Span| String::from_utf8_lossy(span.of(text.as_bytes())).into_owned();
    let top = tables.statements.iter().position(|one| of(tables.header(one)) == header).unwrap();
    let several = ["channel", "condition", "curve", "rates", "module", "before-start", "alarm"];
    tables
        .body(Some(top as u32))
        .map(|index| {
            let words = of(tables.header(&tables.statements[index as usize]));
            let words: Vec<&str> = words.split_whitespace().collect();
            let key = if several.contains(&words[0]) { words[..2].join(" ") } else { words[0].to_owned() };
            (key, of(tables.whole(index)))
        })
        .collect()
}

/// Models made from another by taking statements away, by stating those of a third, and by both; spelled out here, by hand.
#[test]
fn a_model_like_another_gives_what_it_gives_spelled_out() {
    let clean = testdata::fleet("clean");
    let text_of = |name: &str| {
        let file = clean.iter().find(|(file, _)| file == name).unwrap();
        String::from_utf8(file.1.clone()).unwrap()
    };
    let others: Vec<Vec<(String, String)>> = [
        ("sanderling.rig", "model \"sanderling survey\""),
        ("plover.rig", "model \"plover\""),
        ("whimbrel.rig", "model \"whimbrel\""),
        ("dunlin.rig", "model \"spit racers\""),
    ]
    .map(|(file, header)| statements(&text_of(file), header))
    .into();
    let mut dice = Dice(9);
    for round in 0..60 {
        let base = &others[dice.below(others.len())];
        let from = &others[dice.below(others.len())];
        let base_name = ["sanderling survey", "plover", "whimbrel", "spit racers"]
            [others.iter().position(|known| known == base).unwrap()];
        // A block is stated whole beside its `without`, since what two blocks come to is held elsewhere.
        let fresh = |key: &str, text: &str| -> Vec<String> {
            match text.contains('{') && base.iter().any(|(known, _)| known == key) {
                true => vec![format!("without {key}"), text.to_owned()],
                false => vec![text.to_owned()],
            }
        };
        let mut own = vec!["flies plover".to_owned()];
        let module = "module built-in { receiver-number 7; match on; send-on chain 1; update-rate 110 Hz; power 120 mW; key club }";
        own.extend(fresh("module built-in", module));
        let mut whole = base.clone();
        let state = |key: &str, text: &str, whole: &mut Vec<(String, String)>| match whole
            .iter_mut()
            .find(|(known, _)| known == key)
        {
            Some(known) => known.1 = text.to_owned(),
            None => whole.push((key.to_owned(), text.to_owned())),
        };
        state("flies", "flies plover", &mut whole);
        state("module built-in", module, &mut whole);
        let mut used = vec!["flies".to_owned(), "module built-in".to_owned(), "expect".to_owned()];
        for _ in 0..dice.below(7) {
            let away = dice.below(3) == 0;
            let (key, text) =
                if away { base[dice.below(base.len())].clone() } else { from[dice.below(from.len())].clone() };
            if used.contains(&key) {
                continue;
            }
            used.push(key.clone());
            if away {
                own.push(format!("without {key}"));
                whole.retain(|(known, _)| *known != key);
            } else {
                own.extend(fresh(&key, &text));
                state(&key, &text, &mut whole);
            }
        }
        // In any order.
        for at in (1..own.len()).rev() {
            let other = dice.below(at + 1);
            own.swap(at, other);
        }
        let block = |header: &str, lines: &[String]| {
            format!("rig 1\nmodel \"made\"{header} {{\n  {}\n}}\n", lines.join("\n  "))
        };
        let whole: Vec<String> = whole.into_iter().map(|(_, text)| text).collect();
        let outcome = |made: &str| {
            let mut texts: Vec<&[u8]> = clean.iter().map(|(_, text)| text.as_slice()).collect();
            texts.push(made.as_bytes());
            inspect(&texts, &Options::default())
        };
        let (like, spelled) = (block(&format!(" like \"{base_name}\""), &own), block("", &whole));
        let (with, without) = (outcome(&like), outcome(&spelled));
        assert_eq!(told(&with.findings), told(&without.findings), "round {round}:\n{like}\n{spelled}");
        let both = (verdicts(&with).len(), verdicts(&without).len());
        assert_eq!(both.0, both.1);
        let names = |outcome: &Outcome| -> Vec<String> {
            outcome.aircraft.iter().map(|one| format!("{} {:?}", one.name, one.verdict)).collect()
        };
        assert_eq!(names(&with), names(&without), "round {round}:\n{like}\n{spelled}");
    }
}

/// A folder of two files, and what is found in it.
fn found(texts: [&str; 2]) -> (Workspace, std::sync::Arc<Outcome>) {
    let mut workspace = Workspace::new();
    for (name, text) in ["base.rig", "heirs.rig"].iter().zip(texts) {
        workspace.set(name, text.as_bytes());
    }
    let outcome = workspace.outcome();
    (workspace, outcome)
}

const BASE: &str = "rig 1\nhandset h { stick-mode 2; knob dial }\ncraft a { kind glider; surfaces { channel 1 roll } }\n\
                    model ma { handset h; flies a; channel 1 = rol; channel 2 = pitch }\n";

#[test]
fn what_is_wrong_in_an_inherited_line_is_told_once_there() {
    let (_, outcome) = found([
        BASE,
        "rig 1\ncraft b like a { }\nmodel mb like ma { flies b }\nmodel mc like mb { flies b; channel 3 = yav }\n",
    ]);
    let faults: Vec<(u32, &str)> = outcome
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Fault)
        .map(|finding| (finding.place.file.0, finding.message.as_str()))
        .collect();
    assert_eq!(
        faults,
        [
            (0, "There is no control called \"rol\"; the nearest is \"roll\"."),
            (1, "There is no control called \"yav\"; the nearest is \"yaw\".")
        ]
    );
    // A fault in what they are like stands beside the others too.
    let verdict = |name: &str| {
        let aircraft = outcome.aircraft.iter().find(|aircraft| aircraft.name == name).unwrap();
        format!("{:?}", aircraft.verdict)
    };
    assert!(!verdict("b").contains("Nothing"), "{}", verdict("b"));
}

#[test]
fn an_unknown_base_is_one_fault_and_what_is_stated_is_checked() {
    let (_, outcome) =
        found([BASE, "rig 1\ncraft b like aa { kind boot }\nmodel mb like man { flies b; handset h; trims onn }\n"]);
    let messages: Vec<&str> = outcome
        .findings
        .iter()
        .filter(|finding| finding.place.file == FileId(1))
        .map(|finding| finding.message.as_str())
        .collect();
    assert_eq!(messages.len(), 4, "{messages:?}");
    for wanted in
        ["no craft called \"aa\"; the nearest is \"a\"", "no model called \"man\"", "`boot` is not", "`onn` is not"]
    {
        assert!(messages.iter().any(|message| message.contains(wanted)), "{wanted}: {messages:?}");
    }
}

/// What is found in an inherited line points there, with the header that inherits beside it; it can be mended here or there.
#[test]
fn a_finding_in_an_inherited_line_has_both_places_and_both_mends() {
    let base = "rig 1\nlink s { channels 8 }\nhandset h { stick-mode 2; switch cut 2 positions; scale 1500 us plus-minus 500 us; trim-range 20 % }\n\
                craft a { kind multirotor; receiver { link s; failsafe output-stops }; controller { order A E T R; mode arm channel 5 1660..2140 us; arm by switch } }\n\
                model ma { handset h; flies a; trims on; channel 1 = roll; channel 2 = pitch; channel 3 = throttle; channel 4 = yaw; channel 5 = cut; before-start cut up; before-start throttle low }\n";
    // The base flies nothing of the kind, so that only the heir is blamed.
    let base = base.replace("flies a;", "");
    let (workspace, outcome) = found([&base, "rig 1\nmodel mb like ma {\n  flies a\n}\n"]);
    let finding = outcome.findings.iter().find(|finding| finding.rule == "channels/trims").unwrap();
    let text = workspace.text(finding.place.file).unwrap();
    assert_eq!(String::from_utf8_lossy(finding.place.span.of(&text)), "trims on");
    let heirs = workspace.text(FileId(1)).unwrap();
    let other = |(place, _): &&(walkaround::source::Place, String)| place.file == FileId(1);
    let header = finding.others.iter().find(other).map(|(place, _)| place.span.of(&heirs).to_vec()).unwrap();
    assert_eq!(String::from_utf8_lossy(&header), "model mb like ma");
    let Mend::Choices(_, choices) = &finding.mend else { panic!("{:?}", finding.mend) };
    let edits: Vec<(u32, &str)> =
        choices.iter().flat_map(|choice| &choice.edits).map(|edit| (edit.place.file.0, edit.text.as_str())).collect();
    assert_eq!(edits.first(), Some(&(1, "  trims off\n")));
    assert!(edits.iter().any(|(file, text)| *file == 0 && text.contains("off")), "{edits:?}");
    // A waiver above the line covers what is found there of both.
    let waived =
        base.replace("trims on;", "\n# waive channels/trims because \"flown like that for years\"\ntrims on\n");
    let (_, outcome) = found([&waived, "rig 1\nmodel mb like ma {\n  flies a\n}\n"]);
    assert!(outcome.findings.iter().all(|finding| finding.rule != "channels/trims"));
    assert!(outcome.findings.iter().all(|finding| finding.rule != "house/waiver-stale"));
}

#[test]
fn hostile_chains_and_crowds_stay_bounded() {
    let began = std::time::Instant::now();
    let chain: String = (1..10_000).map(|n| format!("model m{n} like m{} {{ }}\n", n - 1)).collect();
    let outcome = inspect(&[format!("rig 1\nmodel m0 {{ handset h }}\n{chain}").as_bytes()], &Options::default());
    assert!(outcome.findings.iter().any(|finding| finding.rule == "format/too-large"));
    let long: String = (1..=64).map(|n| format!("  channel {n} = roll * 50 % + pitch * 50 %\n")).collect();
    let crowd: String = (1..10_000).map(|n| format!("model m{n} like m0 {{ }}\n")).collect();
    let outcome = inspect(&[format!("rig 1\nmodel m0 {{\n{long}}}\n{crowd}").as_bytes()], &Options::default());
    assert!(outcome.findings.iter().any(|finding| finding.rule == "format/too-large"));
    let circle: String = (0..5_000).map(|n| format!("craft c{n} like c{} {{ }}\n", (n + 1) % 5_000)).collect();
    let outcome = inspect(&[format!("rig 1\n{circle}").as_bytes()], &Options::default());
    assert!(outcome.findings.iter().any(|finding| finding.rule == "format/too-large"));
    assert!(began.elapsed().as_secs() < 60, "{:?}", began.elapsed());
}

/// Every brace of the club's texts taken away in turn: the braces around are told, and nothing else.
#[test]
fn a_missing_brace_is_one_fault() {
    let texts: Vec<String> =
        testdata::fleet_texts("club").into_iter().map(|text| String::from_utf8(text).unwrap()).collect();
    let file = texts.iter().position(|text| text.contains("craft redshank")).unwrap();
    let mut count = 0;
    for (at, _) in texts[file].match_indices('}') {
        let mut broken = texts.clone();
        broken[file].replace_range(at..=at, " ");
        let texts: Vec<&[u8]> = broken.iter().map(String::as_bytes).collect();
        let outcome = inspect(&texts, &Options::default());
        let faults: Vec<&str> = outcome
            .findings
            .iter()
            .filter(|finding| finding.severity == Severity::Fault)
            .map(|finding| finding.message.as_str())
            .collect();
        assert!(faults.len() == 1 && faults[0].contains("is not closed"), "without the brace at {at}: {faults:?}");
        count += 1;
    }
    assert!(count > 12);
}

/// A base that changes, comes or goes makes all that is like it new, also through a chain.
#[test]
fn a_changed_base_changes_its_heirs() {
    let mut workspace = Workspace::new();
    let glider = |weight: &str| format!("rig 1\ncraft a {{ kind glider; weight {weight} }}\n");
    workspace.set("m.rig", glider("1 kg").as_bytes());
    workspace.set("n.rig", "rig 1\ncraft b like a { motor none }\n".as_bytes());
    workspace.set("z.rig", "rig 1\ncraft c like b { weight 2 kg }\ncraft d like b { }\n".as_bytes());
    let weights = |workspace: &mut Workspace| {
        workspace.outcome();
        let fleet = workspace.fleet();
        let weight = |name: &str| fleet.craft(name).unwrap().weight.as_ref().map(|weight| weight.value.to_string());
        ["b", "c", "d"].map(weight)
    };
    let of = |b: Option<&str>, c: &str, d: Option<&str>| [b, Some(c), d].map(|weight| weight.map(str::to_owned));
    let first = weights(&mut workspace);
    assert_eq!((&first[0], &first[1]), (&first[2], &Some("2000".to_owned())));
    workspace.set("m.rig", glider("3 kg").as_bytes());
    assert_eq!(weights(&mut workspace), of(Some("3000"), "2000", Some("3000")));
    // Another file before it has the name now.
    workspace.set("a.rig", glider("4 kg").as_bytes());
    assert_eq!(weights(&mut workspace), of(Some("4000"), "2000", Some("4000")));
    workspace.remove("a.rig");
    workspace.remove("m.rig");
    assert_eq!(weights(&mut workspace), of(None, "2000", None));
    workspace.set("m.rig.json", r#"{"rig": 1, "statements": [{"statement": "craft", "name": "a", "body": [{"statement": "weight", "mass": "5 kg"}]}]}"#.as_bytes());
    assert_eq!(weights(&mut workspace), of(Some("5000"), "2000", Some("5000")));
}

#[test]
fn a_block_is_shown_whole() {
    let folder = testdata::fleet_folder("club");
    let run = program::run(&folder, "trace", &["--spelled-out", "phalarope race"], "");
    let shown = String::from_utf8(run.stdout).unwrap();
    let whole = testdata::fleet_texts("club-spelled-out").concat();
    let whole = String::from_utf8(whole).unwrap();
    let from = whole.find("model \"phalarope race\" {").unwrap();
    let wanted = &whole[from..from + whole[from..].find("\n}\n").unwrap() + 3];
    // The comments of the other block are shown too; there are none in this one.
    assert_eq!(shown.trim_end(), wanted.trim_end());
    let run = program::run(&folder, "trace", &["--spelled-out=craft", "phalarope"], "");
    assert!(String::from_utf8(run.stdout).unwrap().contains("idle-below 1060 us"));
    let run = program::run(&folder, "convert", &["--spelled-out", "wings.rig"], "");
    let shown = String::from_utf8(run.stdout).unwrap();
    assert!(shown.contains("craft snipe {") && !shown.contains(" like "), "{shown}");
    let whole = std::fs::read_to_string(testdata::fleet_folder("club-spelled-out").join("wings.rig")).unwrap();
    let texts = [testdata::fleet("club"), vec![]].concat();
    let texts: Vec<&[u8]> =
        texts.iter().filter(|(name, _)| name != "wings.rig").map(|(_, text)| text.as_slice()).collect();
    let with = |wings: &str| inspect(&[texts.as_slice(), &[wings.as_bytes()]].concat(), &Options::default());
    same(&with(&shown), &with(&whole));
}
