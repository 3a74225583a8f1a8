//! What the data file of a rule says that it needs is what decides whether it is asked: each needed statement is taken out of
//! the demo fleets in turn, and put in again.

use crate::testdata::fleet_texts;
use std::path::Path;
use walkaround::findings::coverage::{Coverage, Missing, Standing};
use walkaround::fleet::day::Day;
use walkaround::fleet::table::Block;
use walkaround::inspect::{Options, inspect};
use walkaround::rules::book::{BOOK, Need, RuleDoc, Special};

/// The same fleet with another line about a lost link in each receiver that stores pulses.
fn with_failsafe(texts: Vec<Vec<u8>>, line: &str) -> Vec<Vec<u8>> {
    let other = |text: Vec<u8>| {
        let text = String::from_utf8(text).unwrap();
        let lines = text.lines().map(|own| if own.contains("failsafe hold 0.5 s then preset {") { line } else { own });
        lines.collect::<Vec<_>>().join("\n").into_bytes()
    };
    texts.into_iter().map(other).collect()
}

fn covered(texts: &[Vec<u8>]) -> (Coverage, Vec<String>) {
    let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
    let outcome = inspect(&texts, &Options { today: Day::new(2026, 11, 25), ..Options::default() });
    let names = outcome.aircraft.iter().map(|aircraft| aircraft.name.to_string()).collect();
    (outcome.coverage, names)
}

/// A text without any of these statements.
fn without(text: &[u8], gone: &[(Block, &str)]) -> Vec<u8> {
    let mut rest = text.to_vec();
    let all = crate::statements::statements(text);
    all.iter().filter(|one| gone.contains(&(one.block, one.word))).for_each(|one| one.blank(&mut rest));
    rest
}

/// The statements that have to go for a need not to be there, and that are then missing.
fn statements(need: &Need) -> &'static [(Block, &'static str)] {
    match need {
        Need::Stated(block, word) => Box::leak(Box::new([(*block, *word)])),
        Need::Special(Special::Signal) => &[(Block::Handset, "scale")],
        Need::Special(Special::ArmMode | Special::OtherMode) => &[(Block::Controller, "mode")],
        Need::Special(Special::ArmNeeds) => &[(Block::Controller, "arm")],
        Need::Special(Special::Links) => &[(Block::HandsetModule, "link")],
        Need::Special(Special::BayOn) => &[(Block::Model, "module")],
        Need::Special(Special::MatchOn) => &[(Block::ModelModule, "match")],
        Need::Special(Special::Preset | Special::Hold | Special::OutputStops) => {
            &[(Block::Receiver, "failsafe"), (Block::Model, "failsafe")]
        }
        Need::Special(Special::AllFlies) => &[(Block::Model, "flies")],
        // What these need is a part of a statement, or hangs on figures: `src/rules/standing/tests.rs` holds them.
        Need::Special(_) => &[],
    }
}

fn asked(standing: Standing) -> bool {
    matches!(standing, Standing::Found | Standing::Clear | Standing::NotDecided)
}

/// Whether a rule is about the very thing that is gone: it does not apply then.
fn is_about(doc: &RuleDoc, gone: &[(Block, &str)]) -> bool {
    let about = doc.applies.has.iter().copied().flatten().flat_map(statements);
    about.copied().any(|statement| gone.contains(&statement))
}

fn page(rule: &str) -> &'static RuleDoc {
    BOOK.iter().find(|doc| doc.id == rule).unwrap()
}

#[test]
fn a_rule_is_asked_when_what_it_needs_is_stated_and_says_what_is_missing() {
    let mut needs: Vec<&[Need]> = BOOK.iter().flat_map(|doc| doc.needs.iter().copied()).collect();
    needs.dedup();
    let mut seen: Vec<&[Need]> = Vec::new();
    needs.retain(|list| {
        let gone: Vec<(Block, &str)> = list.iter().flat_map(statements).copied().collect();
        let new = !seen.contains(list)
            && list.iter().all(|need| !statements(need).is_empty())
            && BOOK.iter().any(|doc| doc.needs.contains(list) && !is_about(doc, &gone));
        seen.push(list);
        new
    });
    assert!(needs.len() > 30, "{}", needs.len());
    let mut wrong = Vec::new();
    let (mut looked_at, mut exercised) = (0, vec![false; needs.len()]);
    let fleets =
        ["clean", "hurried", "mixed", "mixed-split", "kinds", "neighbours"].map(|name| (name, fleet_texts(name)));
    let others =
        ["failsafe hold", "failsafe output-stops"].map(|line| (line, with_failsafe(fleet_texts("clean"), line)));
    for (name, texts) in fleets.into_iter().chain(others) {
        let (whole, aircraft) = covered(&texts);
        for (list, exercised) in needs.iter().zip(&mut exercised) {
            let gone: Vec<(Block, &str)> = list.iter().flat_map(statements).copied().collect();
            let less: Vec<Vec<u8>> = texts.iter().map(|text| without(text, &gone)).collect();
            let (now, _) = covered(&less);
            let needing = |doc: &RuleDoc| doc.needs.contains(list) && !is_about(doc, &gone);
            for (number, rule) in whole.rules.iter().enumerate().filter(|(_, rule)| needing(page(rule))) {
                for aircraft in &aircraft {
                    if !asked(whole.of(aircraft).unwrap().standing(number)) {
                        continue;
                    }
                    let what = || format!("{name}: {rule} about {aircraft} without {gone:?}");
                    let Some(row) = now.of(aircraft) else { panic!("{}", what()) };
                    if row.standing(number) != Standing::NotAsked {
                        wrong.push(format!("{}: {:?}", what(), row.standing(number)));
                        continue;
                    }
                    let says = |missing: &Missing| match missing {
                        Missing::Statement { block, word, .. } => gone.contains(&(*block, word)),
                        _ => false,
                    };
                    let missing: Vec<&Missing> = row.missing(number).collect();
                    if !missing.iter().any(|missing| says(missing)) {
                        wrong.push(format!("{}: {missing:?}", what()));
                    }
                    looked_at += 1;
                    *exercised = true;
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(looked_at > 1_000, "{looked_at}");
    let idle: Vec<_> = needs.iter().zip(exercised).filter(|(_, exercised)| !exercised).map(|(list, _)| list).collect();
    assert!(idle.is_empty(), "no demo fleet states {idle:?}");
}

/// A line that is not understood leaves open what it may have said, and the rules that need it name the line.
#[test]
fn a_line_that_is_not_understood_is_named() {
    let mut texts = fleet_texts("clean");
    let before = covered(&texts);
    let place = |texts: &[Vec<u8>]| {
        texts.iter().enumerate().find_map(|(file, text)| {
            let text = String::from_utf8(text.clone()).unwrap();
            Some((file, text.find("    valid 870..2140 us")?))
        })
    };
    let Some((file, at)) = place(&texts) else { panic!("no controller of the fleet states `valid`") };
    texts[file].splice(at..at + "    valid 870..2140 us".len(), *b"    valid 870..2140 mm");
    let (now, aircraft) = covered(&texts);
    let number = now.rules.iter().position(|rule| *rule == "channels/lost-signal").unwrap();
    let broken: Vec<_> = aircraft
        .iter()
        .filter(|name| now.of(name).unwrap().standing(number) != before.0.of(name).unwrap().standing(number))
        .collect();
    assert_eq!(broken.len(), 1);
    let row = now.of(broken[0]).unwrap();
    assert_eq!(row.standing(number), Standing::NotAsked);
    assert!(
        row.missing(number).any(|missing| matches!(missing, Missing::Line(place) if place.file.0 as usize == file))
    );
}

/// Each rule that asks has a source file of its own, and no source file of a group is left out.
#[test]
fn every_source_file_of_a_rule_has_its_data_file() {
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules");
    let mut count = 0;
    for group in walkaround::rules::book::groups() {
        let Ok(folder) = std::fs::read_dir(sources.join(group.name)) else { continue };
        for path in folder.map(|entry| entry.unwrap().path()) {
            let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
            if stem == "mod" || stem == "tests" {
                continue;
            }
            let id = format!("{}/{}", group.name, stem.replace('_', "-"));
            assert!(BOOK.iter().any(|doc| doc.id == id && doc.asks.is_some()), "{id} has no data file that asks");
            count += 1;
        }
    }
    assert_eq!(count, BOOK.iter().filter(|doc| doc.asks.is_some()).count());
}
