//! Comments behind statements, as pilots write them.

use super::dice::Dice;
use super::outline::Entry;

/// Where remarks stand, in characters from the statement's own indentation.
const COLUMN: usize = 42;

/// The start of a statement, and what pilots write behind it.
const REMARKS: [(&str, [&str; 2]); 18] = [
    ("handset", ["the one with the new sticks", "shared with the club"]),
    ("number", ["locked on the bench", "see the list in the shed"]),
    ("outputs", ["checked with the meter", "as delivered"]),
    ("idle-below", ["read off the controller", "a little above the lowest stick"]),
    ("deadband", ["measured, sticks let go", "as delivered"]),
    ("mode arm", ["up is off, always", "only on the flight line"]),
    ("mode level", ["for landing in a cross wind", "when the horizon is lost"]),
    ("on-loss", ["tried on the bench, propellers off", "tried over the mud"]),
    ("flown-at", ["at low tide only", "not while the birds breed"]),
    ("telemetry", ["enough for the alarms", "voltage and link quality"]),
    ("power", ["lawful here, with the antenna", "range check done"]),
    ("before-start left-front", ["off before the battery goes in", "up is off"]),
    ("trims", ["nothing to trim in flight", "set on the ground instead"]),
    ("channel 4", ["rudder", "left stick"]),
    ("rate", ["after two seasons of trying", "softer around the middle"]),
    ("alarm link-quality", ["turn back at once", "first call: turn back"]),
    ("alarm battery", ["land now", "half a minute left"]),
    ("timer", ["a tenth kept back", "with a margin for the way home"]),
];

/// Adds remarks to most of the statements that have one.
pub(crate) fn add(entries: &mut [Entry], dice: &mut Dice) {
    for entry in entries {
        match entry {
            Entry::Line(text) => {
                if let Some((_, remarks)) = REMARKS.iter().find(|(start, _)| text.starts_with(start))
                    && dice.chance(40)
                {
                    *text = format!("{text:COLUMN$} # {}", dice.pick(remarks));
                }
            }
            Entry::Block(_, body) => add(body, dice),
            Entry::Gap | Entry::Note(_) => {}
        }
    }
}
