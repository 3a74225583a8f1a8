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
    let mut body = vec![Entry::line(format!("kind {kind}"))];
    if plan.forms.apart {
        body.push(receiver(
            plan,
            "receiver main",
            WING,
            "drives channel 1..4",
            "channel 1 1500 us; channel 2 1500 us; channel 3 1000 us; channel 4 1500 us",
        ));
        body.push(receiver(plan, "receiver flaps", SHORE, "drives channel 5", "channel 5 1000 us"));
    } else {
        let link = if plan.sort == Sort::Wing { WING } else { SHORE };
        body.push(receiver(plan, "receiver", link, "", stored(plan.sort).unwrap_or_default()));
    }
    body.push(if plan.sort.has_controller() { controller(plan) } else { surfaces(plan.sort) });
    body.push(Entry::line(format!(
        "battery {chemistry} {{ cells {}; capacity {} mAh; draw {} A }}",
        plan.cells, plan.capacity, plan.draw
    )));
    if plan.forms.supply {
        body.extend(lines_of("supply 6.0 V\nservo-voltage 4.8..7.4 V"));
    }
    body.extend(plan.forms.tested.iter().map(|day| Entry::line(format!("tested failsafe {day}"))));
    body.push(Entry::line(format!("flown-at \"{}\"", plan.place)));
    Entry::block(format!("craft {}", plan.name), body)
}

/// What the receiver and the model do when the link is lost. How long they wait is stated.
pub(crate) fn failsafe(sort: Sort) -> String {
    stored(sort).map_or_else(|| "failsafe output-stops".to_owned(), preset)
}

fn preset(stored: &str) -> String {
    format!("failsafe hold 0.5 s then preset {{ {stored} }}")
}

/// The pulses that are given out when the link is lost; none where the outputs stop then.
fn stored(sort: Sort) -> Option<&'static str> {
    match sort {
        Sort::Racer | Sort::Surveyor => None,
        Sort::Wing => {
            Some("channel 1 1500 us; channel 2 1500 us; channel 3 1000 us; channel 4 1500 us; channel 5 1000 us")
        }
        Sort::FlyingWing => Some("channel 1 1500 us; channel 2 1500 us; channel 3 1000 us"),
        Sort::Glider => Some("channel 1 1500 us; channel 2 1500 us; channel 4 1660 us; channel 5 1000 us"),
    }
}

/// The links with the firmware of their receivers.
const SHORE: (&str, &str) = ("shore-24", "12.6");
const WING: (&str, &str) = ("marsh-900", "21.0");

fn receiver(plan: &Plan, head: &str, (link, firmware): (&str, &str), drives: &str, stored: &str) -> Entry {
    let chains = if plan.sort == Sort::Surveyor { 2 } else { 1 };
    let outputs = match plan.sort {
        Sort::Racer => "serial",
        Sort::Surveyor => "serial flags-loss",
        Sort::Wing | Sort::FlyingWing | Sort::Glider => "pulses",
    };
    let failsafe = if stored.is_empty() { failsafe(plan.sort) } else { preset(stored) };
    let lines = format!(
        "link {link}
        chains {chains}
        number {}
        key {}
        firmware \"{firmware}\"
        domain any
        antenna-gain 2 dBi
        outputs {outputs}
        {drives}
        {failsafe}",
        plan.receiver_number, plan.key,
    );
    Entry::block_of(head, &lines)
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
            on-loss fly-back after 1 s",
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
