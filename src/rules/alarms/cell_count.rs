//! `alarms/cell-count`: the battery alarm fits a pack with another number of cells.

use super::volts;
use crate::radio::battery::Measured;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for alarm in battery_alarms(setup) {
        let Some((fits, cells)) = alarm.other_cells() else { continue };
        let total = alarm.voltage.value.to_f64();
        let message = format!(
            "The alarm at {} V comes to {} a cell for the {cells} cells of this battery; it fits {fits} cells.",
            alarm.voltage.value,
            volts(total / f64::from(cells.max(1)))
        );
        let landing = alarm.landing_v();
        let how = match alarm.measured {
            Some(Measured::Rested) => " rested",
            Some(Measured::UnderLoad) => " under-load",
            None => "",
        };
        let each = format!("alarm battery below {} per-cell{how}", volts(landing));
        let pack = volts(landing * f64::from(cells));
        let choices = vec![
            choice(
                format!("sound it at {} a cell, which fits every pack of this chemistry", volts(landing)),
                vec![replace(&setup.model.head, alarm.alarm.span, each)],
            ),
            choice(
                format!("sound it at {pack}, for {cells} cells"),
                vec![replace(&setup.model.head, alarm.voltage.span, pack.clone())],
            ),
        ];
        let battery =
            setup.craft.battery.as_ref().map(|battery| battery.cells.map_or(battery.header, |cells| cells.span));
        let finding = out.find_text(setup.in_model(alarm.alarm.span), message);
        finding.mend_choices("Write the alarm for the pack that flies, or per cell.", choices);
        if let Some(span) = battery {
            finding.other(setup.in_craft(span), "the battery that flies");
        }
    }
}
