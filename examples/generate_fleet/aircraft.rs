//! The aircraft's block.

use super::outline::{Entry, lines_of};
use super::plan::{Plan, Sort};

/// The block of an aircraft.
pub(crate) fn craft(plan: &Plan) -> Entry {
    let kind = match plan.sort {
        Sort::Racer | Sort::Surveyor => "multirotor",
        Sort::Wing => "aeroplane",
        Sort::FlyingWing => "flying-wing",
        Sort::Glider => "glider",
    };
    let chemistry = if plan.li_po { "li-po" } else { "li-ion" };
    let mut body = vec![Entry::line(format!("kind {kind}")), receiver(plan)];
    body.push(if plan.sort.has_controller() { controller(plan) } else { surfaces(plan.sort) });
    body.push(Entry::line(format!(
        "battery {chemistry} {{ cells {}; capacity {} mAh; draw {} A }}",
        plan.cells, plan.capacity, plan.draw
    )));
    body.push(Entry::line(format!("flown-at \"{}\"", plan.place)));
    Entry::block(format!("craft {}", plan.name), body)
}

/// What the receiver and the model do when the link is lost.
pub(crate) fn failsafe(sort: Sort) -> &'static str {
    match sort {
        Sort::Racer | Sort::Surveyor => "failsafe output-stops",
        Sort::Wing => {
            "failsafe preset { channel 1 1500 us; channel 2 1500 us; channel 3 1000 us; channel 4 1500 us; channel 5 1000 us }"
        }
        Sort::FlyingWing => "failsafe preset { channel 1 1500 us; channel 2 1500 us; channel 3 1000 us }",
        Sort::Glider => {
            "failsafe preset { channel 1 1500 us; channel 2 1500 us; channel 4 1660 us; channel 5 1000 us }"
        }
    }
}

fn receiver(plan: &Plan) -> Entry {
    let (link, firmware) = if plan.sort == Sort::Wing { ("marsh-900", "21.0") } else { ("shore-24", "12.6") };
    let chains = if plan.sort == Sort::Surveyor { 2 } else { 1 };
    let outputs = match plan.sort {
        Sort::Racer => "serial",
        Sort::Surveyor => "serial flags-loss",
        Sort::Wing | Sort::FlyingWing | Sort::Glider => "pulses",
    };
    let lines = format!(
        "link {link}
        chains {chains}
        number {}
        key {}
        firmware \"{firmware}\"
        domain any
        antenna-gain 2 dBi
        outputs {outputs}
        {}",
        plan.receiver_number,
        plan.key,
        failsafe(plan.sort)
    );
    Entry::block_of("receiver", &lines)
}

fn controller(plan: &Plan) -> Entry {
    let mut lines = format!(
        "order A E T R
        idle-below {} us
        full-above {} us
        deadband {} us
        valid 870..2140 us
        arm by switch needs low-throttle, seen-off
        mode arm channel 7 1660..2140 us\n",
        if plan.turns[0] { 1080 } else { 1070 },
        if plan.turns[1] { 1870 } else { 1880 },
        if plan.turns[2] { 6 } else { 8 },
    );
    if plan.sort == Sort::Surveyor {
        lines.push_str(
            "position on
            mode level channel 6 870..1340 us
            mode stay channel 6 1341..1659 us
            mode home channel 8 1660..2140 us kind return
            on-loss fly-back after 1.5 s",
        );
    } else {
        lines.push_str(
            "mode level channel 6 1290..2140 us
            mode finder channel 9 1660..2140 us kind locator
            on-loss motors-off after 1 s
            fall-accepted",
        );
    }
    Entry::block("controller", lines_of(&lines))
}

fn surfaces(sort: Sort) -> Entry {
    let lines = match sort {
        Sort::FlyingWing => {
            "channel 1 roll + pitch left
            channel 2 roll + pitch right
            motor channel 3 idle-below 1100 us"
        }
        Sort::Glider => "channel 1 roll\nchannel 2 pitch\nchannel 4 yaw\nchannel 5 flap",
        Sort::Wing | Sort::Racer | Sort::Surveyor => {
            "channel 1 roll\nchannel 2 pitch\nmotor channel 3 idle-below 1080 us\nchannel 4 yaw\nchannel 5 flap"
        }
    };
    Entry::block_of("surfaces", lines)
}
