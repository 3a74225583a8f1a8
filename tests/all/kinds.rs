//! Sound fleets of many kinds of aircraft, each of another pilot, and the mistakes that pilots of each kind make: of a sound
//! one every rule that applies is asked and nothing above a note is found; each mistake is found at its line, and nothing else is.

use crate::patches::cases;
use crate::patches::judged::{assert_perfect, found, judge_all};
use crate::testdata::{File, fleet};
use std::collections::BTreeMap;
use walkaround::findings::Severity;
use walkaround::findings::coverage::Standing;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, inspect};

/// A fleet of `testdata/fleets` and its mistakes in `testdata/mistakes`, in a folder of the same name.
struct Sound {
    name: &'static str,
    /// What the aircraft share; all other files hold one aircraft each.
    shared: &'static [&'static str],
    /// Rules that are asked of it, over all its aircraft, at least.
    asked: usize,
    /// Mistakes for each aircraft, at least.
    for_each: usize,
}

const SOUND: &[Sound] = &[
    Sound { name: "kinds", shared: &["handsets.rig", "links.rig", "places.rig"], asked: 20 * 60, for_each: 8 },
    Sound { name: "neighbours", shared: &["equipment.rig"], asked: 12 * 60, for_each: 0 },
    Sound { name: "visitors", shared: &["equipment.rig"], asked: 22 * 60, for_each: 0 },
];

impl Sound {
    fn mistakes(&self) -> String {
        format!("mistakes/{}", self.name)
    }

    fn aircraft<'a>(&self, files: &'a [File]) -> Vec<&'a str> {
        let own = files.iter().filter(|(name, _)| !self.shared.contains(&name.as_str()));
        own.map(|(name, _)| name.strip_suffix(".rig").unwrap()).collect()
    }
}

#[test]
fn nothing_above_a_note_is_found_in_a_sound_fleet() {
    let mut wrong = Vec::new();
    for sound in SOUND {
        let files = fleet(sound.name);
        let above = found(&files).into_iter().filter(|finding| finding.severity != Severity::Note);
        wrong.extend(above.map(|finding| {
            format!("{}: {} {}", files[finding.place.file.0 as usize].0, finding.rule, finding.message)
        }));
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_rule_that_applies_is_asked_of_every_kind() {
    let mut wrong = Vec::new();
    for sound in SOUND {
        let files = fleet(sound.name);
        let texts: Vec<&[u8]> = files.iter().map(|(_, text)| text.as_slice()).collect();
        let outcome = inspect(&texts, &Options { today: Day::new(2027, 3, 1), ..Options::default() });
        let mut asked = 0;
        for (name, row) in outcome.coverage.rows() {
            for (number, rule) in outcome.coverage.rules.iter().enumerate() {
                match row.standing(number) {
                    Standing::NotAsked => {
                        let needs: Vec<_> =
                            row.missing(number).map(|it| it.to_type().unwrap_or(format!("{it:?}"))).collect();
                        wrong.push(format!("{name}: {rule} is not asked: {}", needs.join(", ")));
                    }
                    Standing::NotDecided => wrong.push(format!("{name}: {rule} is not decided")),
                    Standing::Found | Standing::Clear => asked += 1,
                    Standing::DoesNotApply => {}
                }
            }
        }
        assert!(asked > sound.asked, "{}: {asked}", sound.name);
    }
    wrong.sort();
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_mistake_is_found_at_its_line_and_nothing_else() {
    for sound in SOUND {
        let judged = judge_all(&sound.mistakes(), sound.name);
        assert_perfect(&judged);
        assert!(judged.caught > 0, "{}", sound.name);
    }
}

#[test]
fn every_kind_has_its_mistakes_and_each_is_well_formed() {
    let mut wrong = Vec::new();
    for sound in SOUND {
        let files = fleet(sound.name);
        let aircraft = sound.aircraft(&files);
        let (mut counts, mut seen) = (BTreeMap::<String, [usize; 2]>::new(), Vec::new());
        for case in cases(&sound.mistakes()).unwrap() {
            let mut say = |what: &str| wrong.push(format!("{}: {what}", case.name));
            let kind = case.name.split('/').nth(2).unwrap_or_default().to_owned();
            if !aircraft.contains(&kind.as_str()) {
                say("its folder is named for no aircraft of the fleet");
            }
            if !case.rule.is_empty() || case.findings.iter().any(|expected| expected.rule.is_none()) {
                say("each of its findings names a rule, and the mistake itself does not");
            }
            if case.findings.is_empty() != case.unseen.is_some() {
                say("it says what is found, or why nobody can see it in a text");
            }
            if case.also.iter().any(|expected| expected.reason.as_deref().is_none_or(|why| why.trim().is_empty())) {
                say("what comes along has a reason");
            }
            if case.story.trim().is_empty() {
                say("it has no story");
            }
            match case.patched(&files) {
                Ok(patched) if patched == files && case.unseen.is_none() => say("it changes nothing"),
                Ok(patched) if case.unseen.is_none() && seen.contains(&patched) => say("it is there twice"),
                Ok(patched) => seen.push(patched),
                Err(why) => say(&why),
            }
            counts.entry(kind).or_default()[usize::from(case.unseen.is_some())] += 1;
        }
        println!("{}: mistakes found and not to be seen in a text, for each aircraft: {counts:?}", sound.name);
        for kind in aircraft {
            let count = counts.get(kind).map_or(0, |[found, unseen]| found + unseen);
            if count < sound.for_each {
                wrong.push(format!("{}/{kind}: {count} mistakes", sound.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
