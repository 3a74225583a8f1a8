//! What was asked: in words beside a verdict, and as a table by hazard.

use super::Report;
use super::paragraphs::{sentences, wrapped};
use super::plain::plain;
use crate::findings::caution::Caution;
use crate::findings::coverage::{Missing, Row, Standing};
use crate::findings::outcome::Waived;
use crate::findings::{Finding, RuleId};
use crate::rules::book::{self, Asks, Group};
use crate::source::{Lines, Place};
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::fmt::Write as _;
use std::io::{self, Write};

/// So many missing statements are named beneath a verdict; the rest are counted.
const NAMED_AT_MOST: usize = 6;

/// Where more aircraft than this lack the same, it is said once for all of them.
const ALIKE_AT_MOST: usize = 6;

/// So many of them are named then.
const NAMES_AT_MOST: usize = 3;

/// More aircraft than this have one table together.
const TABLES_AT_MOST: usize = 6;

/// What a rule needs, in words: what to type, or the line that has to be understood.
pub fn in_words(missing: &Missing, report: &Report<'_>) -> String {
    match missing {
        Missing::Line(place) => format!("{}, which was not understood", line(*place, report)),
        Missing::SignalPath { place, why } => format!("{}: {}", line(*place, report), plain(why)),
        Missing::UnreadFile => "a file that could not be read".to_owned(),
        Missing::NoTable { region, link: None } => {
            format!("a table of radio rules for region {}, which this program does not have", plain(region))
        }
        Missing::NoTable { region, link: Some(link) } => format!(
            "radio rules of region {} for what link {} does there, which this program does not have",
            plain(region),
            plain(link)
        ),
        Missing::Statement { .. } => plain(&missing.to_type().unwrap_or_default()).into_owned(),
    }
}

/// A place as `line 12 of models.rig`.
fn line(place: Place, report: &Report<'_>) -> String {
    let text = (report.text_of)(place.file).unwrap_or_default();
    let line = Lines::new(&text).position(place.span.start).line;
    format!("line {line} of {}", plain(report.path(place.file)))
}

/// What a waiver covers: the rule, its aircraft and the first sentence of what it says.
pub fn waived_words(waived: &Waived) -> String {
    format!("{}{}: {}", waived.rule, about_aircraft(waived), plain(sentences(&waived.message, 1)))
}

/// The aircraft of a finding that is waived, in brackets.
fn about_aircraft(waived: &Waived) -> String {
    match waived.aircraft.as_slice() {
        [] => String::new(),
        names => format!(" ({})", names.iter().map(|name| plain(name)).collect::<Vec<_>>().join(", ")),
    }
}

/// Where a finding that is waived is, why it is waived and until when.
pub fn waiver(waived: &Waived, report: &Report<'_>) -> String {
    let text = (report.text_of)(waived.place.file).unwrap_or_default();
    let line = Lines::new(&text).position(waived.place.span.start).line;
    let until = last_day(waived);
    let place = format!("{}:{line}", plain(report.path(waived.place.file)));
    format!("at {place}, {until}, because \"{}\"", plain(&waived.reason))
}

/// Until when a waiver counts.
pub fn last_day(waived: &Waived) -> String {
    waived.until.map_or_else(|| "without a last day".to_owned(), |day| format!("until {day}"))
}

/// `1 rule`, `2 rules`.
fn rules(count: usize) -> String {
    if count == 1 { "1 rule".to_owned() } else { format!("{count} rules") }
}

/// What stands beneath the verdicts: what rules that were not asked would need. Where many aircraft lack the same, it is said once
/// for all of them.
pub struct Beneath<'r> {
    lacking: FxHashMap<Lacking<'r>, Vec<&'r str>>,
}

/// How many rules of an aircraft were not asked, and what they would need, each with how many of them need it.
type Lacking<'r> = (usize, Vec<(&'r Missing, usize)>);

impl<'r> Beneath<'r> {
    /// Finds out which aircraft lack the same.
    pub fn new(report: &Report<'r>) -> Self {
        let mut alike: FxHashMap<Lacking<'r>, Vec<&'r str>> = FxHashMap::default();
        for aircraft in report.aircraft {
            let row = report.coverage.of(&aircraft.name);
            if let Some(lacking) = row.and_then(lacking) {
                alike.entry(lacking).or_default().push(&aircraft.name);
            }
        }
        Self { lacking: alike }
    }

    /// What stands beneath the verdict of one aircraft, most wanted first; nothing where that is said of many.
    pub fn of(&self, row: &Row, report: &Report<'_>, width: usize) -> Vec<String> {
        match lacking(row) {
            Some(lacking) if self.lacking.get(&lacking).is_none_or(|names| names.len() <= ALIKE_AT_MOST) => {
                written(&lacking, report, width)
            }
            _ => Vec::new(),
        }
    }

    /// What is said once, for as many aircraft as possible first: the aircraft, and below them the same lines.
    pub fn of_many(&self, report: &Report<'_>, width: usize) -> Vec<(String, Vec<String>)> {
        let many = self.lacking.iter().filter(|(_, names)| names.len() > ALIKE_AT_MOST);
        let mut many: Vec<(&Lacking<'_>, &[&str])> = many.map(|(lacking, names)| (lacking, &names[..])).collect();
        many.sort_by_key(|(_, names)| (Reverse(names.len()), names.first().copied()));
        let said = many.into_iter().map(|(lacking, names)| {
            let named: Vec<_> = names.iter().take(NAMES_AT_MOST).map(|name| plain(name)).collect();
            let more = names.len().saturating_sub(NAMES_AT_MOST);
            let head = format!("{} aircraft ({} and {more} more):", names.len(), named.join(", "));
            (head, written(lacking, report, width))
        });
        said.collect()
    }
}

fn lacking(row: &Row) -> Option<Lacking<'_>> {
    let open = row.count(Standing::NotAsked);
    (open > 0).then(|| (open, row.wanted()))
}

fn written((open, wanted): &Lacking<'_>, report: &Report<'_>, width: usize) -> Vec<String> {
    let mut lines = vec![format!("{} could not be asked, for want of:", rules(*open))];
    for (missing, count) in wanted.iter().take(NAMED_AT_MOST) {
        let text = format!("{}  ({})", in_words(missing, report), rules(*count));
        lines.extend(wrapped(&text, width.saturating_sub(2).max(20)).into_iter().map(|line| format!("  {line}")));
    }
    if let Some(more @ 1..) = wanted.len().checked_sub(NAMED_AT_MOST) {
        lines.push(format!("  and {more} more: walkaround inspect --coverage"));
    }
    lines
}

/// How a rule ended for an aircraft, and why, in sentences for `why`.
pub fn of_rule(rule: RuleId, aircraft: &str, report: &Report<'_>, width: usize) -> String {
    let number = report.coverage.rules.iter().position(|known| *known == rule);
    let row = report.coverage.of(aircraft);
    let mut text = String::new();
    let (Some(number), Some(row)) = (number, row) else {
        let name = plain(aircraft);
        return format!(
            "{rule} was not asked about {name}: it is left out by the settings, or looks at no aircraft.\n"
        );
    };
    let standing = row.standing(number);
    // Writing to a string can't fail, here and below.
    let _ = writeln!(text, "{rule}, {}: {}.", plain(aircraft), standing.words());
    let doc = book::find(rule);
    let why = match standing {
        Standing::Found => {
            let about = |waived: &&Waived| waived.rule == rule && waived.aircraft.iter().any(|name| name == aircraft);
            let told =
                |waived: &Waived| format!("{}{} {}", waived.rule, about_aircraft(waived), waiver(waived, report));
            let covered: Vec<String> = report.waived.iter().filter(about).map(told).collect();
            let found = report.findings.iter().filter(|finding| finding.rule == rule);
            let open = found.filter(|finding| finding.aircraft.iter().any(|name| name == aircraft)).count();
            match (covered.is_empty(), open) {
                (false, 0) => format!("It was asked, and what it found is waived: {}.", covered.join("; ")),
                (false, _) => format!(
                    "It was asked, and it found something: `walkaround inspect` shows it. Some of it is waived: {}.",
                    covered.join("; ")
                ),
                (true, _) => "It was asked, and it found something: `walkaround inspect` shows it.".to_owned(),
            }
        }
        Standing::Clear => "It was asked, and what it looks for is not there.".to_owned(),
        Standing::NotDecided => {
            let known = report.aircraft.iter().find(|known| known.name == aircraft);
            let off = known.map_or_else(Caution::default, |known| known.caution).inside();
            format!("It was asked, and the analysis ended without an answer: check it on the bench ({off}).")
        }
        Standing::NotAsked => "It can't be asked without:".to_owned(),
        Standing::DoesNotApply => match doc.map(about) {
            Some(about) if !about.is_empty() => format!(
                "It looks only at {about}, and there only where the thing is that it is about: `walkaround why {rule}` tells which. Something of that is not so here."
            ),
            _ => "It is about something that this aircraft or its models do not have.".to_owned(),
        },
    };
    for line in wrapped(&why, width) {
        let _ = writeln!(text, "{line}");
    }
    for missing in row.missing(number) {
        let _ = writeln!(text, "  {}", in_words(missing, report));
    }
    text
}

/// Kinds of aircraft with their articles: `a glider or an aeroplane`.
fn one_of(kinds: &[&str]) -> String {
    let article = |kind: &&str| if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    let kinds: Vec<String> = kinds.iter().map(|kind| format!("{} {kind}", article(kind))).collect();
    kinds.join(" or ")
}

/// What a rule is about, as far as its data file narrows it down by the kind of aircraft.
fn about(doc: &book::RuleDoc) -> String {
    let applies = &doc.applies;
    let mut parts = Vec::new();
    if !applies.kinds.is_empty() {
        parts.push(one_of(applies.kinds));
    }
    if !applies.not_kinds.is_empty() {
        parts.push(format!("aircraft other than {}", one_of(applies.not_kinds)));
    }
    let sorts = [
        (applies.controller, "a flight controller"),
        (applies.surfaces, "surfaces that the handset moves"),
        (applies.powered, "a motor"),
        (applies.combustion, "an engine that burns fuel"),
    ];
    for (wanted, what) in sorts {
        match wanted {
            Some(true) => parts.push(format!("aircraft with {what}")),
            Some(false) => parts.push(format!("aircraft without {what}")),
            None => {}
        }
    }
    if applies.simulator == Some(false) {
        parts.push("models that are not for a simulator".to_owned());
    }
    match parts.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// Writes the table: how each rule ended, by hazard, for each aircraft; for many of them, together.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, width: usize, out: &mut dyn Write) -> io::Result<()> {
    let width = width.max(40);
    for line in wrapped(
        "What was checked. A rule that was asked is found (it speaks), clear (what it looks for is not there) or not decided. A rule that was not asked needs something that the description leaves out: the words to type stand below the table. A rule that does not apply is about other aircraft, or about a thing that this one does not have.",
        width,
    ) {
        writeln!(out, "{line}")?;
    }
    if report.coverage.filtered {
        writeln!(out, "Only {} were to be asked: others are left out.", rules(report.coverage.rules.len()))?;
    }
    let rows: Vec<(String, &Row)> = report
        .aircraft
        .iter()
        .filter_map(|aircraft| Some((plain(&aircraft.name).into_owned(), report.coverage.of(&aircraft.name)?)))
        .collect();
    if rows.len() > TABLES_AT_MOST {
        return together(report, &rows, width, out);
    }
    for (name, row) in &rows {
        let head = format!("{name}: {} clear of {} that apply", row.count(Standing::Clear), rules(row.applicable()));
        writeln!(out, "\n{head}\n")?;
        table(report, &[row], out)?;
        for standing in [Standing::Found, Standing::NotDecided] {
            let list: Vec<String> =
                ended(report, row, standing).into_iter().map(|rule| with_cover(rule, name, report)).collect();
            if !list.is_empty() {
                let text = format!("{}: {}", standing.words(), list.join(", "));
                for line in wrapped(&text, width.saturating_sub(2)) {
                    writeln!(out, "  {line}")?;
                }
            }
        }
        not_asked(report, row, width, out)?;
    }
    Ok(())
}

/// A rule with what covers all that it found about an aircraft.
fn with_cover(rule: RuleId, aircraft: &str, report: &Report<'_>) -> String {
    let is_about =
        |other: RuleId, names: &[CompactString]| other == rule && names.iter().any(|name| plain(name) == aircraft);
    let stands = |findings: &[Finding]| findings.iter().any(|finding| is_about(finding.rule, &finding.aircraft));
    let waived = report.waived.iter().any(|waived| is_about(waived.rule, &waived.aircraft));
    match (stands(report.findings), waived, stands(report.known)) {
        (false, true, _) => format!("{rule} (waived)"),
        (false, false, true) => format!("{rule} (known)"),
        _ => rule.to_owned(),
    }
}

/// The rules of an aircraft that ended so.
fn ended(report: &Report<'_>, row: &Row, standing: Standing) -> Vec<RuleId> {
    let rules = report.coverage.rules.iter().enumerate();
    rules.filter(|(number, _)| row.standing(*number) == standing).map(|(_, rule)| *rule).collect()
}

/// What to type, and below it the rules that need it.
fn not_asked(report: &Report<'_>, row: &Row, width: usize, out: &mut dyn Write) -> io::Result<()> {
    let wanted = row.wanted();
    if wanted.is_empty() {
        return Ok(());
    }
    writeln!(out, "  not asked, for want of:")?;
    for (missing, _) in wanted {
        writeln!(out, "    {}", in_words(missing, report))?;
        let numbers = report.coverage.rules.iter().enumerate();
        let open = numbers.filter(|(number, _)| row.missing(*number).any(|known| known == missing));
        let list: Vec<RuleId> = open.map(|(_, rule)| *rule).collect();
        for line in wrapped(&list.join(", "), width.saturating_sub(8)) {
            writeln!(out, "        {line}")?;
        }
    }
    Ok(())
}

/// The groups whose rules are asked about aircraft.
fn groups() -> impl Iterator<Item = &'static Group> {
    let asks = |group: &&Group| book::in_group(group.name).any(|doc| doc.asks.is_some_and(|asks| asks != Asks::Text));
    book::groups().iter().filter(asks)
}

/// How many rules of each group ended how, over all of these rows.
fn table(report: &Report<'_>, rows: &[&Row], out: &mut dyn Write) -> io::Result<()> {
    let titles = Standing::ALL.map(Standing::words);
    writeln!(out, "  {:10}{}", "", titles.map(|title| format!("  {title}")).concat())?;
    for group in groups() {
        let mut counts = [0usize; Standing::ALL.len()];
        for (number, rule) in report.coverage.rules.iter().enumerate() {
            if book::find(rule).is_none_or(|doc| doc.group != group.name || doc.asks == Some(Asks::Text)) {
                continue;
            }
            for row in rows {
                let standing = row.standing(number);
                for (count, known) in counts.iter_mut().zip(Standing::ALL) {
                    *count += usize::from(known == standing);
                }
            }
        }
        if counts == [0; Standing::ALL.len()] {
            continue;
        }
        let cells = counts.iter().zip(titles).map(|(count, title)| {
            let shown = if *count == 0 { "-".to_owned() } else { count.to_string() };
            format!("  {shown:>width$}", width = title.len())
        });
        writeln!(out, "  {:10}{}", group.name, cells.collect::<String>())?;
    }
    Ok(())
}

/// One table for many aircraft, then what most of them lack, then a line for each.
fn together(report: &Report<'_>, rows: &[(String, &Row)], width: usize, out: &mut dyn Write) -> io::Result<()> {
    let all: Vec<&Row> = rows.iter().map(|(_, row)| *row).collect();
    writeln!(out, "\n{} aircraft together, each rule counted once for each of them\n", rows.len())?;
    table(report, &all, out)?;
    // Names aside, what is missing is the same statement for many.
    let mut wanted: Vec<(String, usize)> = Vec::new();
    for row in &all {
        let mut own: Vec<String> = row.wanted().into_iter().map(|(missing, _)| general(missing, report)).collect();
        own.sort();
        own.dedup();
        for text in own {
            match wanted.iter_mut().find(|(known, _)| *known == text) {
                Some((_, count)) => *count += 1,
                None => wanted.push((text, 1)),
            }
        }
    }
    wanted.sort_by(|(one, few), (other, many)| many.cmp(few).then(one.cmp(other)));
    if !wanted.is_empty() {
        writeln!(out, "  not asked, for want of:")?;
    }
    const WANTED_AT_MOST: usize = 24;
    for (text, count) in wanted.iter().take(WANTED_AT_MOST) {
        writeln!(out, "    {text}  ({count} aircraft)")?;
    }
    if let Some(more @ 1..) = wanted.len().checked_sub(WANTED_AT_MOST) {
        writeln!(out, "    and {more} more")?;
    }
    writeln!(out)?;
    let longest = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0).min(40);
    for (name, row) in rows {
        let pad = " ".repeat(longest.saturating_sub(name.chars().count()));
        let counts = Standing::ALL.map(|standing| (row.count(standing), standing));
        let counts = counts.into_iter().filter(|&(count, standing)| count > 0 && standing != Standing::DoesNotApply);
        let counts: Vec<String> = counts.map(|(count, standing)| format!("{count} {}", standing.words())).collect();
        writeln!(out, "  {name}{pad}  {}", counts.join(", "))?;
    }
    writeln!(out)?;
    for line in
        wrapped("Inspect fewer files to see each aircraft's own table, or `walkaround why RULE --for AIRCRAFT`.", width)
    {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

/// What is missing without the names of blocks, which differ from aircraft to aircraft.
fn general(missing: &Missing, report: &Report<'_>) -> String {
    match missing {
        Missing::Statement { block, word, within, form } => {
            let words = within.split(" { ").map(|header| match header.split_once(' ') {
                Some((word, _)) => format!("{word} …"),
                None => header.to_owned(),
            });
            let within = words.collect::<Vec<_>>().join(" { ").into();
            let missing = Missing::Statement { block: *block, word, within, form };
            plain(&missing.to_type().unwrap_or_default()).into_owned()
        }
        _ => in_words(missing, report),
    }
}
