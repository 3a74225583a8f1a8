//! `alarms/cell-count`: the battery alarm fits a pack with another number of cells.

use super::{battery_alarms, volts};
use crate::radio::battery::Measured;
use crate::rules::out::{Out, choice, replace};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    for alarm in battery_alarms(pair) {
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
                vec![replace(&pair.model.head, alarm.alarm.span, each)],
            ),
            choice(
                format!("sound it at {pack}, for {cells} cells"),
                vec![replace(&pair.model.head, alarm.voltage.span, pack.clone())],
            ),
        ];
        let battery =
            pair.craft.battery.as_ref().map(|battery| battery.cells.map_or(battery.header, |cells| cells.span));
        let finding = out.find(pair.in_model(alarm.alarm.span), message);
        finding.mend_choices("Write the alarm for the pack that flies, or per cell.", choices);
        if let Some(span) = battery {
            finding.other(pair.in_craft(span), "the battery that flies");
        }
    }
}
