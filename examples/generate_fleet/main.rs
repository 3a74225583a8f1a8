//! Writes an invented settings folder of any size, for timing and for trying the program on many aircraft:
//!
//! `cargo run --release --example generate_fleet -- --files 10000 --out DIR [--variant V] [--findings-per-file K]`
//!
//! `--files` counts the aircraft's files; the places, links and handsets that they share stand in three more. Each file holds
//! one aircraft and one or two models, 120 to 150 lines, about 4.4 kB. The same variant and number give the same
//! text, whatever the number of files. Without `--findings-per-file` the folder is clean by the rule book; with it every file
//! has about that many slips.

mod aircraft;
mod dice;
mod model;
mod outline;
mod plan;
mod remarks;
mod shared;
mod slips;

use dice::Dice;
use outline::Entry;
use plan::Plan;
use std::error::Error;
use std::fs;
use std::path::PathBuf;

/// How many aircraft share a folder.
const FILES_A_FOLDER: u32 = 250;

/// What the command line asks for.
struct Wanted {
    files: u32,
    out: PathBuf,
    variant: u64,
    findings_per_file: u32,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wanted = wanted(std::env::args().skip(1))?;
    fs::create_dir_all(&wanted.out)?;
    for (name, entries) in [("places", shared::places()), ("links", shared::links()), ("handsets", shared::handsets())]
    {
        fs::write(wanted.out.join(name).with_extension("rig"), outline::rig_text(&entries))?;
    }
    for number in 0..wanted.files {
        let mut dice = Dice::new(wanted.variant, number);
        let plan = Plan::draw(number, &mut dice);
        let folder = wanted.out.join(format!("aircraft-{:03}", number / FILES_A_FOLDER));
        if number % FILES_A_FOLDER == 0 {
            fs::create_dir_all(&folder)?;
        }
        let entries = file(&plan, wanted.findings_per_file, &mut dice);
        fs::write(folder.join(&plan.name).with_extension("rig"), outline::rig_text(&entries))?;
    }
    Ok(())
}

/// One aircraft's file: the aircraft, its models, and flight notes that fill it up to a length like the others'.
fn file(plan: &Plan, findings: u32, dice: &mut Dice) -> Vec<Entry> {
    let lines = dice.between(124, 147) as usize;
    let mut entries = vec![
        Entry::note(format!("{}: {}", plan.name, plan.sort.words())),
        Entry::Gap,
        aircraft::craft(plan),
        Entry::Gap,
        model::model(plan, false),
    ];
    if plan.models == 2 {
        entries.push(Entry::Gap);
        entries.push(model::model(plan, true));
    }
    // The slips throw their own dice, so that all else stays as in the clean file.
    slips::add(&mut entries, plan, findings, &mut dice.branch());
    remarks::add(&mut entries, dice);
    let mut log = vec![Entry::Gap, Entry::note("Flown:".into())];
    while outline::line_count(&entries) + log.len() < lines {
        log.push(Entry::note(flight(plan, dice)));
    }
    if log.len() > 2 {
        entries.extend(log);
    }
    entries
}

/// A line of the flight log.
fn flight(plan: &Plan, dice: &mut Dice) -> String {
    let remark = dice.pick(&[
        "nothing to report",
        "gusty, landed early",
        "props changed before",
        "range check done",
        "new cells, bench check done",
        "trimmed for calm air",
        "wet grass, dried the receiver",
        "link quality never under 90 %",
    ]);
    format!(
        "20{}-{:02}-{:02}  {}, {} min, {remark}",
        dice.between(24, 26),
        dice.between(1, 12),
        dice.between(1, 28),
        plan.place,
        dice.between(2, 12),
    )
}

/// Reads the command line.
fn wanted(arguments: impl Iterator<Item = String>) -> Result<Wanted, Box<dyn Error>> {
    let (mut files, mut out, mut variant, mut findings_per_file) = (None, None, 1, 0);
    let mut arguments = arguments;
    while let Some(name) = arguments.next() {
        let value = arguments.next().ok_or_else(|| format!("{name} needs a value"))?;
        match name.as_str() {
            "--files" => files = Some(value.parse()?),
            "--out" => out = Some(PathBuf::from(value)),
            "--variant" => variant = value.parse()?,
            "--findings-per-file" => findings_per_file = value.parse()?,
            _ => return Err(format!("{name} is not known: --files, --out, --variant, --findings-per-file").into()),
        }
    }
    let (Some(files), Some(out)) = (files, out) else { return Err("--files N and --out DIR are needed".into()) };
    Ok(Wanted { files, out, variant, findings_per_file })
}
