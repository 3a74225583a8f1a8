//! `alarms/cell-count`: the battery alarm fits a pack with another number of cells.

use super::volts;
use crate::findings::fact::{Unit, amount, fill, number};
use crate::radio::battery::Measured;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for alarm in battery_alarms(setup) {
        let Some((fits, cells)) = alarm.other_cells() else { continue };
        let (Some(cell), Some(pack)) = (alarm.cell_v(), alarm.landing_as_measured_v()) else { continue };
        let statement = match alarm.measured {
            Some(Measured::Rested) => "alarm battery below {landing} per-cell rested",
            Some(Measured::UnderLoad) => "alarm battery below {landing} per-cell under-load",
            None => "alarm battery below {landing} per-cell",
        };
        let facts = [
            amount("voltage", alarm.voltage.value, Unit::V),
            volts("cell", cell),
            number("cells", cells),
            number("fits", fits),
        ];
        let mend = [volts("landing", alarm.landing_v()), volts("pack", pack), number("cells", cells)];
        let head = &setup.model.head;
        let choices = vec![
            choice(
                fill("sound it at {landing} a cell, which fits every pack of this chemistry", &mend),
                vec![replace(head, alarm.alarm.span, fill(statement, &mend))],
            ),
            choice(
                fill("sound it at {pack}, for {cells} cells", &mend),
                vec![replace(head, alarm.voltage.span, fill("{pack}", &mend))],
            ),
        ];
        let sentence = "The alarm at {voltage} comes to {cell} a cell for the {cells} cells of this battery; it fits {fits} cells.";
        let finding = out.find(setup.in_model(alarm.alarm.span), "other-pack", sentence, facts);
        finding.mend_choices("Write the alarm for the pack that flies, or per cell.", choices);
        if let Some(battery) = setup.craft.watched_battery() {
            let span = battery.cells.map_or(battery.header, |cells| cells.span);
            finding.other(setup.in_craft(span), "the battery that flies");
        }
    }
}
