//! Runs the rules over a fleet and brings what they say into the form that reports take.
//!
//! The work comes in steps that a caller may spread over threads: [`read`] each file, [`Inspection::new`], [`Inspection::model`]
//! for each model, [`Inspection::rest`], [`Inspection::finish`]. [`inspect`] does it all on one thread.

mod contexts;

use super::all::{Check, RULES};
use super::house;
use super::out::{Out, Undecided, page};
use super::parameters::Parameters;
use super::reading;
use super::subject::{Arms, ModelView, Pair, Setup};
use super::unstated;
use crate::findings::day::Day;
use crate::findings::gather::gather;
use crate::findings::grading::Grading;
use crate::findings::known::Known;
use crate::findings::verdict::{AircraftVerdict, NOT_DECIDED, leave_out, verdicts};
use crate::findings::waiver::{Placed, Waiver, apply};
use crate::findings::{Finding, Mend, RuleId, Severity};
use crate::fleet::problem::Problem;
use crate::fleet::{self, FileFleet, Fleet};
use crate::signal::Why;
use crate::source::{FileId, Place, Span};
use crate::syntax::{Tables, parse};
use compact_str::CompactString;
use contexts::Contexts;
use rustc_hash::FxHashSet;

/// What of a file is kept once it is read.
#[derive(Debug, Default)]
pub struct ReadFile {
    fleet: FileFleet,
    waivers: Vec<Placed>,
    /// What looks like a secret.
    secrets: Vec<Place>,
}

impl ReadFile {
    /// A file of which nothing could be read.
    pub fn unread() -> Self {
        Self { fleet: FileFleet { unread: true, ..FileFleet::default() }, ..Self::default() }
    }
}

/// How an inspection is done.
#[derive(Debug, Default)]
pub struct Options {
    /// Which rules are asked, and their grades.
    pub grading: Grading,
    /// The rules' parameters.
    pub parameters: Parameters,
    /// The day that waivers are held against; `None`: none has ended.
    pub today: Option<Day>,
    /// The place of aircraft that name none.
    pub default_place: Option<String>,
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// What is known already, and left out.
    pub known: Known,
}

/// What an inspection found.
#[derive(Debug, Default)]
pub struct Outcome {
    /// The findings in the order in which they are read.
    pub findings: Vec<Finding>,
    /// A verdict for each aircraft, the worst first.
    pub aircraft: Vec<AircraftVerdict>,
    /// The findings that were known.
    pub known: Vec<Finding>,
    /// The numbers of entries of the record that no finding has, and whether the rule of each was asked and found all its
    /// answers, so that the entry can be blamed.
    pub unmatched: Vec<(usize, bool)>,
    /// The findings that waivers cover.
    pub waived: Vec<(RuleId, Place)>,
}

/// Reads one text. `tables` are used again from text to text.
pub fn read(file: FileId, bytes: &[u8], tables: &mut Tables) -> ReadFile {
    parse(bytes, fleet::table::vocabulary, tables);
    let secrets = house::secret::scan(bytes, tables).into_iter().map(|span| Place::new(file, span)).collect();
    ReadFile { fleet: fleet::read(file, bytes, tables), waivers: waivers(file, bytes, tables), secrets }
}

/// Reads a text in the JSON form. All places are in the rig text that it is turned into: [`fleet::json::Map`] leads them
/// back.
pub fn read_json(file: FileId, bytes: &[u8], tables: &mut Tables) -> ReadFile {
    let turned = fleet::json::to_rig(file, bytes);
    let bytes = turned.text.as_bytes();
    parse(bytes, fleet::table::vocabulary, tables);
    turned.mark(tables);
    let secrets = house::secret::scan(bytes, tables).into_iter().map(|span| Place::new(file, span)).collect();
    let mut fleet = fleet::read(file, bytes, tables);
    fleet.problems.extend(turned.problems);
    fleet.unread |= turned.unread;
    ReadFile { fleet, waivers: waivers(file, bytes, tables), secrets }
}

fn waivers(file: FileId, bytes: &[u8], tables: &Tables) -> Vec<Placed> {
    let mut found = Vec::new();
    for (index, comment) in tables.comments.iter().enumerate() {
        if !comment.own_line || memchr::memmem::find(comment.span.of(bytes), b"waive").is_none() {
            continue;
        }
        let Ok(text) = std::str::from_utf8(comment.span.of(bytes)) else { continue };
        let Some(waiver) = Waiver::parse(text, Place::new(file, comment.span)) else { continue };
        // The next statement, unless the block ends before it.
        let next = tables.statements.get(comment.before as usize);
        let ends = |token: &crate::syntax::Token| {
            token.kind == crate::syntax::Kind::BlockClose && token.start > comment.span.start
        };
        let header = next.filter(|statement| {
            let word = tables.word(statement).start;
            let from = tables.tokens.partition_point(|token| token.start < comment.span.start);
            let between = tables.tokens.get(from..).unwrap_or_default();
            !between.iter().take_while(|token| token.start < word).any(ends)
        });
        let _ = index;
        let start =
            memchr::memrchr(b'\n', bytes.get(..comment.span.start as usize).unwrap_or_default()).map_or(0, |at| at + 1);
        let rest = bytes.get(comment.span.end as usize..).unwrap_or_default();
        let end = memchr::memchr(b'\n', rest).map_or(bytes.len(), |at| comment.span.end as usize + at + 1);
        found.push(Placed {
            waiver,
            line: Span::new(start as u32, end as u32),
            header: header.map(|statement| tables.header(statement)),
        });
    }
    found
}

/// The fleet of an inspection, ready to be judged.
#[derive(Debug)]
pub struct Inspection<'o> {
    fleet: Fleet,
    problems: Vec<Problem>,
    waivers: Vec<Placed>,
    secrets: Vec<Place>,
    options: &'o Options,
}

/// What was found about one part of the fleet.
#[derive(Debug, Default)]
pub struct Found {
    findings: Vec<Finding>,
    undecided: Vec<(RuleId, Place)>,
    arms: Vec<Arms>,
    unstated: Vec<(CompactString, Vec<&'static str>)>,
}

impl Found {
    /// Takes in what was found elsewhere.
    pub fn add(&mut self, other: Self) {
        self.findings.extend(other.findings);
        self.undecided.extend(other.undecided);
        self.arms.extend(other.arms);
        self.unstated.extend(other.unstated);
    }

    fn take(&mut self, out: Out<'_>) {
        let doc = out.doc;
        self.findings.extend(out.findings);
        for Undecided { place, why, aircraft } in out.undecided {
            self.undecided.push((doc.id, place));
            self.findings.push(Finding {
                rule: NOT_DECIDED,
                severity: doc.severity.min(Severity::Caution),
                place,
                others: Vec::new(),
                message: format!("It was not decided whether {} holds here: {why}.", doc.id),
                what_can_happen: None,
                witness: None,
                reached: None,
                mend: Mend::Words(
                    "make the conditions and values of this channel simpler, and check it on the bench, propellers off"
                        .into(),
                ),
                aircraft,
                fingerprint: 0,
            });
        }
    }
}

impl<'o> Inspection<'o> {
    /// Puts the files together.
    pub fn new(files: Vec<ReadFile>, options: &'o Options) -> Self {
        let (mut waivers, mut secrets) = (Vec::new(), Vec::new());
        let fleets: Vec<FileFleet> = files
            .into_iter()
            .map(|file| {
                waivers.extend(file.waivers);
                secrets.extend(file.secrets);
                file.fleet
            })
            .collect();
        let (fleet, mut problems) = Fleet::gather(fleets);
        problems.extend(fleet.check());
        Self { fleet, problems, waivers, secrets, options }
    }

    /// The fleet.
    pub fn fleet(&self) -> &Fleet {
        &self.fleet
    }

    /// How many faults the description has.
    pub fn faults(&self) -> usize {
        self.problems.len()
    }

    /// How many models there are.
    pub fn models(&self) -> usize {
        self.fleet.models.len()
    }

    /// What holds for the whole inspection.
    pub fn setup(&self) -> Setup<'_> {
        Setup {
            fleet: &self.fleet,
            parameters: &self.options.parameters,
            default_place: self.options.default_place.as_deref(),
            budget: self.options.budget,
        }
    }

    /// Asks the rules about one model and its aircraft.
    pub fn model(&self, index: usize) -> Found {
        let mut found = Found::default();
        let Some(model) = self.fleet.models.get(index) else { return found };
        let setup = self.setup();
        let view = ModelView::new(&setup, model);
        for rule in RULES {
            match rule.check {
                Check::Model(check) => self.run(rule.id, &names(&view), &mut found, |out| check(&view, out)),
                Check::Pair(check) => {
                    for pair in &view.pairs {
                        let name = pair.craft.head.name.value.clone();
                        self.run(rule.id, &[name], &mut found, |out| check(pair, out));
                    }
                }
                _ => {}
            }
        }
        found.unstated.extend(unstated::of(&view));
        for pair in &view.pairs {
            match pair.arms() {
                Ok(arms) => found.arms.extend(arms),
                Err(why) => self.arms_not_decided(pair, why, &mut found),
            }
        }
        found
    }

    /// Notes that the rules about what the arming controls of all models do miss one of them.
    fn arms_not_decided(&self, pair: &Pair<'_>, why: Why, found: &mut Found) {
        let name = [pair.craft.head.name.value.clone()];
        let place =
            pair.arm_channels().first().map_or(pair.model.head.header, |&channel| pair.channel_place(channel).span);
        for rule in RULES.iter().filter(|rule| matches!(rule.check, Check::Arms(_))) {
            self.run(rule.id, &name, found, |out| out.why(why, pair.in_model(place)));
        }
    }

    /// Asks the rules about handsets, aircraft and the fleet as a whole, with what was found about all models.
    pub fn rest(&self, mut found: Found) -> Found {
        let mut arms = std::mem::take(&mut found.arms);
        arms.sort_by_key(|arms| arms.place);
        let setup = self.setup();
        for rule in RULES {
            match rule.check {
                Check::Arms(check) => self.run(rule.id, &[], &mut found, |out| check(&setup, &arms, out)),
                Check::Fleet(check) => self.run(rule.id, &[], &mut found, |out| check(&setup, out)),
                Check::Craft(check) => {
                    for craft in &self.fleet.crafts {
                        self.run(rule.id, std::slice::from_ref(&craft.head.name.value), &mut found, |out| {
                            check(&setup, craft, out)
                        });
                    }
                }
                Check::Handset(check) => {
                    for handset in &self.fleet.handsets {
                        self.run(rule.id, &[], &mut found, |out| check(&setup, handset, out));
                    }
                }
                _ => {}
            }
        }
        found
    }

    fn run(&self, rule: RuleId, aircraft: &[CompactString], found: &mut Found, check: impl FnOnce(&mut Out<'_>)) {
        let Some(doc) = page(rule).filter(|_| self.options.grading.asks(rule)) else { return };
        let mut out = Out::new(doc, aircraft.to_vec(), &self.options.parameters);
        check(&mut out);
        found.take(out);
    }

    /// Grades, waives, orders and fingerprints what was found, and gives the verdicts. `more` are faults found outside
    /// the fleet's texts; `text_of` gives a file's text again.
    pub fn finish(&self, found: Found, more: Vec<Finding>, text_of: &dyn Fn(FileId) -> Option<Vec<u8>>) -> Outcome {
        let mut findings = found.findings;
        findings.extend(self.problems.iter().filter_map(|problem| reading::finding(problem, &self.fleet)));
        let crafts = || self.fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
        findings.extend(more.into_iter().map(|fault| match fault.rule {
            // What stands in a file that could not be read may concern any of them.
            "format/unreadable" => Finding { aircraft: crafts(), ..fault },
            _ => fault,
        }));
        findings.extend(self.secrets.iter().map(|place| house::secret::finding(place.file, place.span)));
        self.options.grading.apply(&mut findings);
        let undecided: FxHashSet<(RuleId, Place)> =
            found.undecided.iter().map(|&(rule, place)| (rule, self.block_of(place))).collect();
        // A rule may be silent because of a fault elsewhere: in the handset, in an aircraft, in a file that was not read.
        let clear = self.problems.is_empty() && !self.fleet.unread;
        let decided = |rule: RuleId, place: Place| {
            // A page of the book whose rule nobody asks yet has not been decided anywhere.
            (RULES.iter().any(|known| known.id == rule) || rule.starts_with("format/") || rule.starts_with("house/"))
                && self.options.grading.asks(rule)
                && clear
                && !undecided.contains(&(rule, self.block_of(place)))
        };
        let rules: Vec<RuleId> = super::book::BOOK.iter().map(|doc| doc.id).collect();
        // Without a day no waiver has ended.
        let today = self.options.today.or_else(|| Day::new(1, 1, 1));
        let (findings, waived) = match today {
            Some(today) => {
                let applied = apply(findings, &self.waivers, today, &rules, &decided);
                (applied.findings, applied.waived.iter().map(|(finding, _)| (finding.rule, finding.place)).collect())
            }
            None => (findings, Vec::new()),
        };
        let mut findings = findings;
        self.options.grading.apply(&mut findings);
        let contexts = Contexts::new(text_of);
        let split = self.options.known.split(gather(findings, &|place| contexts.of(place)));
        let decided = !split.findings.iter().any(|finding| finding.severity == Severity::Fault);
        let answered = |rule: &str| {
            decided
                && self.options.grading.asks(rule)
                && found.undecided.iter().all(|(undecided, _)| *undecided != rule)
        };
        let unmatched = split
            .unmatched
            .iter()
            .map(|&number| (number, self.options.known.entries.get(number).is_some_and(|entry| answered(&entry.rule))));
        let unmatched = unmatched.collect();
        let aircraft: Vec<CompactString> =
            self.fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
        let mut aircraft = verdicts(&aircraft, &split.findings, &split.known, &|_| false);
        leave_out(&mut aircraft, found.unstated);
        Outcome { findings: split.findings, aircraft, waived, known: split.known, unmatched }
    }

    /// The top-level block that a place lies in, by its header.
    fn block_of(&self, place: Place) -> Place {
        let fleet = &self.fleet;
        let heads = fleet.models.iter().map(|m| &m.head).chain(fleet.crafts.iter().map(|c| &c.head));
        let mut heads = heads.chain(fleet.handsets.iter().map(|h| &h.head)).chain(fleet.links.iter().map(|l| &l.head));
        heads
            .find(|head| head.file == place.file && head.body.whole.holds(place.span))
            .map_or(place, |head| head.place(head.header))
    }
}

fn names(view: &ModelView<'_>) -> Vec<CompactString> {
    view.pairs.iter().map(|pair| pair.craft.head.name.value.clone()).collect()
}

/// Inspects texts on one thread.
pub fn inspect(texts: &[&[u8]], options: &Options) -> Outcome {
    let mut tables = Tables::default();
    let files = texts.iter().enumerate().map(|(index, bytes)| read(FileId(index as u32), bytes, &mut tables)).collect();
    let inspection = Inspection::new(files, options);
    let mut found = Found::default();
    (0..inspection.models()).for_each(|index| found.add(inspection.model(index)));
    let found = inspection.rest(found);
    inspection.finish(found, Vec::new(), &|file| texts.get(file.0 as usize).map(|text| text.to_vec()))
}
