//! The files of an invented settings folder.

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

/// How many aircraft share a folder.
const FILES_A_FOLDER: u32 = 250;

/// The names and texts of a folder with so many aircraft, and three files that they share.
pub(crate) fn files(count: u32, variant: u64, findings_per_file: u32) -> impl Iterator<Item = (String, String)> {
    let shared = [("places", shared::places()), ("links", shared::links()), ("handsets", shared::handsets())];
    let shared = shared.into_iter().map(|(name, entries)| (format!("{name}.rig"), outline::rig_text(&entries)));
    let aircraft = (0..count).map(move |number| {
        let mut dice = Dice::new(variant, number);
        let plan = Plan::draw(number, &mut dice);
        let name = format!("aircraft-{:03}/{}.rig", number / FILES_A_FOLDER, plan.name);
        (name, outline::rig_text(&file(&plan, findings_per_file, &mut dice)))
    });
    shared.chain(aircraft)
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
