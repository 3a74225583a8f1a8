//! The block of a model.

use super::aircraft::failsafe;
use super::outline::{Entry, lines_of};
use super::plan::{Plan, Sort};

/// A model for the aircraft; the second one has calmer rates.
pub(crate) fn model(plan: &Plan, second: bool) -> Entry {
    let name = if second { "calm" } else { "usual" };
    let head = format!("model \"{} {name}\"", plan.name);
    if second && plan.forms.like {
        let mut body = vec![Entry::line(format!("flies {}", plan.name))];
        for bay in bays_on(plan) {
            body.push(Entry::block(
                format!("module {bay}"),
                vec![Entry::line(format!("receiver-number {}", plan.receiver_number))],
            ));
        }
        body.extend(rates(plan, true));
        return Entry::block(format!("{head} like \"{} usual\"", plan.name), body);
    }
    let mut body = lines_of(&format!("handset {}\nflies {}", plan.handset, plan.name));
    body.extend(modules(plan));
    body.extend(handling(plan));
    body.push(Entry::Gap);
    body.extend(shaping(plan, second));
    body.push(Entry::Gap);
    body.extend(channels(plan));
    body.push(Entry::Gap);
    body.extend(watches(plan));
    body.extend(wishes(plan));
    Entry::block(head, body)
}

/// The bays that send, the main one first.
fn bays_on(plan: &Plan) -> Vec<&'static str> {
    match (plan.sort, plan.forms.apart) {
        (Sort::Wing, true) => vec!["plug-in", "built-in"],
        (Sort::Wing, false) => vec!["plug-in"],
        _ => vec!["built-in"],
    }
}

fn modules(plan: &Plan) -> Vec<Entry> {
    let chains = if plan.sort == Sort::Surveyor { "chains 1, 2" } else { "chain 1" };
    let on = bays_on(plan);
    let module = |bay: &&str| {
        let power = if *bay == "plug-in" { 450 } else { 120 };
        // The second link of a wing carries its flaps only.
        let update_rate = if *bay == "built-in" && plan.sort == Sort::Wing { 45 } else { plan.update_rate };
        let lines = format!(
            "receiver-number {}
            match on
            send-on {chains}
            update-rate {update_rate} Hz
            telemetry {} %
            power {power} mW
            key {}",
            plan.receiver_number, plan.telemetry, plan.key
        );
        Entry::block_of(format!("module {bay}"), &lines)
    };
    let mut modules: Vec<Entry> = on.iter().map(module).collect();
    let off = ["built-in", "plug-in"].into_iter().filter(|bay| !on.contains(bay));
    modules.extend(off.map(|bay| Entry::line(format!("module {bay} off"))));
    modules
}

/// Stick filter, trims, the checks before the start.
fn handling(plan: &Plan) -> Vec<Entry> {
    lines_of(match plan.sort {
        Sort::Racer | Sort::Surveyor => {
            "stick-filter off
            trims off
            trainer off
            before-start throttle low
            before-start left-front up"
        }
        Sort::Wing | Sort::FlyingWing => {
            "trims throttle off
            before-start throttle low
            before-start left-front up"
        }
        Sort::Glider => "before-start left-rear up",
    })
}

/// Conditions, curves, rates.
fn shaping(plan: &Plan, second: bool) -> Vec<Entry> {
    let mut entries = Vec::new();
    match plan.sort {
        Sort::Racer => {
            entries.push(Entry::line("condition idle when throttle below -95 %"));
            entries.push(Entry::line("condition ready latch set left-front becomes down and idle reset left-front up"));
            let smooth = if plan.turns[3] { "; rounded" } else { "" };
            entries.push(Entry::line(format!("curve soft {{ points -100:-100, 0:{}, 100:100{smooth} }}", plan.middle)));
        }
        Sort::Wing | Sort::FlyingWing => entries
            .push(Entry::line("condition live latch set left-front becomes down and throttle low reset left-front up")),
        Sort::Glider => entries.push(Entry::line("condition landing when left-rear down")),
        Sort::Surveyor => {}
    }
    if plan.forms.mix {
        match plan.sort {
            Sort::Wing if plan.turns[5] => entries.push(Entry::line("mix help = 15 % * roll")),
            Sort::FlyingWing => entries.extend(lines_of("mix lean = 60 % * roll\nmix nod = 40 % * pitch")),
            _ => {}
        }
    }
    entries.extend(rates(plan, second));
    entries
}

fn rates(plan: &Plan, second: bool) -> Vec<Entry> {
    let mut entries = Vec::new();
    let [gentle, full, most, least] = plan.rates;
    let (gentle, least) = if second { (gentle - 10, least + 5) } else { (gentle, least) };
    for stick in ["roll", "pitch", "yaw"] {
        if stick == "yaw" && plan.sort == Sort::FlyingWing {
            continue;
        }
        let mut lines = Vec::new();
        if plan.sort != Sort::Surveyor && stick != "yaw" {
            lines.push(Entry::line(format!("rate {gentle} % expo {most} % when left-rear up")));
        }
        lines.push(Entry::line(format!("rate {full} % expo {least} %")));
        entries.push(Entry::block(format!("rates {stick}"), lines));
    }
    entries
}

fn channels(plan: &Plan) -> Vec<Entry> {
    match plan.sort {
        Sort::Racer => {
            let mut entries = lines_of("channel 1 = roll\nchannel 2 = pitch");
            entries.push(Entry::block_of("channel 3 throttle", "value soft(throttle) when ready\nvalue -100 %"));
            entries.extend(lines_of("channel 4 = yaw\nchannel 6 level = left-rear * -100 %"));
            entries.push(Entry::block_of("channel 7 arm", "value 100 % when ready\nvalue -100 %"));
            entries.push(Entry::line("channel 9 finder = shoulder"));
            entries
        }
        Sort::Surveyor => lines_of(
            "channel 1 = roll
            channel 2 = pitch
            channel 3 = throttle
            channel 4 = yaw
            channel 6 \"flight modes\" = rotary
            channel 7 arm = left-front
            channel 8 home = left-rear",
        ),
        Sort::Wing => {
            let mut entries = vec![Entry::line("channel 1 = roll")];
            let reversed = if plan.turns[4] { "reversed\n" } else { "" };
            let elevator = format!("value pitch\n{reversed}subtrim {} %", plan.middle.abs() / 5 + 1);
            entries.push(Entry::block_of("channel 2 elevator", &format!("{elevator}\ntravel -115..115 %")));
            entries.push(motor());
            entries.push(Entry::line(match (plan.turns[5], plan.forms.mix) {
                (true, true) => "channel 4 = yaw + help",
                (true, false) => "channel 4 = yaw + 15 % * roll",
                (false, _) => "channel 4 = yaw",
            }));
            entries.push(Entry::block_of("channel 5 flap", "value dial\nfull-sweep 1.5 s"));
            entries
        }
        Sort::FlyingWing => {
            let mut entries = lines_of(if plan.forms.mix {
                "channel 1 \"left elevon\" = lean + nod\nchannel 2 \"right elevon\" = lean - nod"
            } else {
                "channel 1 \"left elevon\" = 60 % * roll + 40 % * pitch
                channel 2 \"right elevon\" = 60 % * roll - 40 % * pitch"
            });
            entries.push(motor());
            entries
        }
        Sort::Glider => {
            let mut entries = vec![Entry::line("channel 1 = roll")];
            let lines = "value 90 % * pitch - 8 % when landing\nvalue pitch";
            entries.push(Entry::block_of("channel 2 elevator", lines));
            entries.push(Entry::line("channel 4 = yaw"));
            entries.push(Entry::block_of("channel 5 flap", "value left-rear\nfull-sweep 2 s"));
            entries
        }
    }
}

fn motor() -> Entry {
    Entry::block_of("channel 3 motor", "value throttle when live\nvalue -100 %")
}

/// Failsafe, alarms, timer.
fn watches(plan: &Plan) -> Vec<Entry> {
    let cell = if plan.li_po { "3.5 V" } else { "3.3 V" };
    let running = match plan.sort {
        Sort::Racer | Sort::Surveyor => "channel 7 above 1660 us",
        Sort::Wing | Sort::FlyingWing => "channel 3 above 1150 us",
        Sort::Glider => "not landing",
    };
    let (minutes, seconds) = (plan.timer / 60, plan.timer % 60);
    let seconds = if seconds == 0 { String::new() } else { format!(" {seconds} s") };
    lines_of(&format!(
        "{}
        alarm link-quality below {} %
        alarm signal below {} dBm
        alarm battery below {cell} per-cell under-load
        timer {minutes} min{seconds} while {running}",
        failsafe(plan.sort),
        plan.link_alarm,
        plan.sensitivity() + 9,
    ))
}

/// The pilot's own rules.
fn wishes(plan: &Plan) -> Vec<Entry> {
    lines_of(match plan.sort {
        Sort::Racer => {
            "expect never (mode arm and not left-front down)
            expect never (channel 3 above 1080 us and not mode arm)
            expect caution reachable mode level"
        }
        Sort::Surveyor => {
            "expect never (mode arm and left-front up)
            expect never (mode level and mode stay)"
        }
        Sort::Wing | Sort::FlyingWing => "expect never (channel 3 above 1120 us and left-front up)",
        Sort::Glider => "expect reachable channel 5 above 1900 us",
    })
}
