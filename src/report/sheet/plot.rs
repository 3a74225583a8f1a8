//! The channels of an aircraft as pictures: lines told apart by dashes and letters, ranges by hatching, and a table under each.

use super::say;
use crate::report::witness::number;
use crate::setup::Setup;
use crate::setup::shapes::{Line, Point, Shape, Steps};
use crate::sheet::{Page, SignalPages};
use maud::{Markup, html};

/// The picture's size, in its own units.
const WIDTH: f64 = 460.0;
const HEIGHT: f64 = 250.0;

/// Where the axes stand.
const LEFT: f64 = 44.0;
const RIGHT: f64 = WIDTH - 96.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = HEIGHT - 30.0;

/// The dashes of the lines, in their order.
const DASHES: [&str; 6] = ["none", "7 4", "2 3", "10 3 2 3", "4 4 1 4", "14 4"];

/// The letters that name them.
const LETTERS: [&str; 6] = ["A", "B", "C", "D", "E", "F"];

/// All pictures of an aircraft.
pub(super) fn plots(page: &Page<'_, '_>) -> Markup {
    let Some(path) = &page.path else { return html! {} };
    if path.shapes.is_empty() && path.steps.is_empty() {
        return html! {};
    }
    html! {
        div.plots {
            h2 { (say::text(&page.setup.craft.head.name.value)) ": channels along the sticks" }
            p.small {
                "Heavy lines are what is sent, thin steps what arrives where the link tells few levels apart, hatched bands where a mode is on. \
                 Everything else is at rest. The tables hold the corners of each line."
            }
            @for shape in &path.shapes { (one(page, path, shape)) }
            @for steps in &path.steps { (stepped(page, steps)) }
        }
    }
}

/// A range of pulses with a name.
struct Band {
    name: String,
    low: f64,
    high: f64,
}

fn bands(setup: &Setup<'_>, channel: u8) -> Vec<Band> {
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    let tests = modes.flat_map(|mode| mode.tests().map(move |test| (mode, test)));
    let own = tests.filter(|(_, test)| test.channel.value == channel);
    own.map(|(mode, test)| Band {
        name: format!("mode {}", say::text(&mode.name.value)),
        low: test.range.value.0.to_f64(),
        high: test.range.value.1.to_f64(),
    })
    .collect()
}

/// The pulses at which a motor begins to run, and from which on it runs at full power, with names.
fn edges(setup: &Setup<'_>, channel: u8) -> Vec<(String, f64)> {
    use crate::fleet::craft::Idle;
    let mut edges = Vec::new();
    for motor in setup.motor_channels().iter().filter(|motor| motor.channel == channel) {
        match motor.idle {
            Some(Idle::Below(at)) => edges.push((format!("idle below {at}"), at.to_f64())),
            Some(Idle::Above(at)) => edges.push((format!("idle above {at}"), at.to_f64())),
            Some(Idle::Within(low, high)) => {
                edges.push((format!("idle from {low}"), low.to_f64()));
                edges.push((format!("idle to {high}"), high.to_f64()));
            }
            None => {}
        }
    }
    if let Some(controller) = &setup.craft.controller
        && controller.functions().any(|(_, known)| known == channel)
        && let Some(full) = controller.full_above
    {
        edges.push((format!("full above {}", full.value), full.value.to_f64()));
    }
    edges
}

/// Pulses up the picture.
#[derive(Clone, Copy)]
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    /// One that holds all points, with round ends.
    fn of(points: impl Iterator<Item = f64>) -> Self {
        const STEP: f64 = 250.0;
        let (mut low, mut high) = (1000.0_f64, 2000.0_f64);
        points.for_each(|pulse| (low, high) = (low.min(pulse), high.max(pulse)));
        Self { low: (low / STEP).floor() * STEP, high: (high / STEP).ceil() * STEP }
    }

    fn y(self, pulse: f64) -> f64 {
        BOTTOM - (pulse.clamp(self.low, self.high) - self.low) / (self.high - self.low) * (BOTTOM - TOP)
    }

    fn ticks(self) -> impl Iterator<Item = f64> {
        let count = ((self.high - self.low) / 250.0).round() as i32;
        (0..=count).map(move |at| self.low + f64::from(at) * 250.0)
    }
}

fn x(percent: f64) -> f64 {
    LEFT + (percent + 100.0) / 200.0 * (RIGHT - LEFT)
}

/// A coordinate as it is written.
fn c(value: f64) -> String {
    number(value)
}

fn one(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, shape: &Shape) -> Markup {
    let setup = page.setup;
    let axis = say::text(path.signals.name(shape.axis)).into_owned();
    let title = format!("Channel {} {} along {axis}", shape.channel, say::label(setup, shape.channel));
    let all = shape.lines.iter().flat_map(|line| &line.points).map(|point| point.sent);
    let scale = Scale::of(all);
    let [low, high] = crate::findings::hands::ends(setup.hands().grip, &axis);
    let few = shape.levels.is_some_and(|levels| levels <= 100);
    html! {
        figure {
            figcaption { (title) }
            svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(title) {
                (frame(setup, shape.channel, scale, &bands(setup, shape.channel)))
                @for percent in [-100.0, -50.0, 0.0, 50.0, 100.0] {
                    line.tick x1=(c(x(percent))) y1=(c(TOP)) x2=(c(x(percent))) y2=(c(BOTTOM)) {}
                    text x=(c(x(percent))) y=(c(BOTTOM + 13.0)) text-anchor="middle" { (number(percent)) }
                }
                text x=(c(LEFT)) y=(c(BOTTOM + 26.0)) { (low) }
                text x=(c((LEFT + RIGHT) / 2.0)) y=(c(BOTTOM + 26.0)) text-anchor="middle" { (say::text(&axis)) ", %" }
                text x=(c(RIGHT)) y=(c(BOTTOM + 26.0)) text-anchor="end" { (high) }
                @for (at, (line, (dash, letter))) in shape.lines.iter().zip(DASHES.iter().zip(LETTERS)).enumerate() {
                    @if few { path.received d=(drawn(&line.points, scale, |point| point.received)) {} }
                    path.sent d=(drawn(&line.points, scale, |point| Some(point.sent))) stroke-dasharray=(dash) {}
                    @for point in line.points.iter().filter(|point| point.is_corner) {
                        circle.corner cx=(c(x(point.at))) cy=(c(scale.y(point.sent))) r="2.2" {}
                    }
                    @if shape.lines.len() > 1 { (letter_at(line, letter, at, scale)) }
                }
            }
            (legend(shape))
            (table(shape))
        }
    }
}

/// The axes of a picture, with the ranges of modes and the edges of a motor.
fn frame(setup: &Setup<'_>, channel: u8, scale: Scale, bands: &[Band]) -> Markup {
    html! {
        @for band in bands {
            rect.band x=(c(LEFT)) y=(c(scale.y(band.high))) width=(c(RIGHT - LEFT)) height=(c(scale.y(band.low) - scale.y(band.high))) fill="url(#hatch)" {}
            text x=(c(RIGHT + 3.0)) y=(c(scale.y(band.high) + 9.0)) { (clipped(&band.name)) }
        }
        @for pulse in scale.ticks() {
            line.tick x1=(c(LEFT)) y1=(c(scale.y(pulse))) x2=(c(RIGHT)) y2=(c(scale.y(pulse))) {}
            text x=(c(LEFT - 4.0)) y=(c(scale.y(pulse) + 4.0)) text-anchor="end" { (number(pulse)) }
        }
        text x=(c(LEFT - 4.0)) y="12" text-anchor="end" { "us" }
        path.axis d=(format!("M{LEFT} {TOP}V{BOTTOM}H{RIGHT}")) {}
        @for (name, pulse) in edges(setup, channel) {
            line.edge x1=(c(LEFT)) y1=(c(scale.y(pulse))) x2=(c(RIGHT)) y2=(c(scale.y(pulse))) {}
            text x=(c(RIGHT + 3.0)) y=(c(scale.y(pulse) + 4.0)) { (name) }
        }
    }
}

/// The way along the points.
fn drawn(points: &[Point], scale: Scale, of: impl Fn(&Point) -> Option<f64>) -> String {
    let mut way = String::new();
    for point in points {
        let Some(pulse) = of(point) else { continue };
        way += if way.is_empty() { "M" } else { "L" };
        way += &format!("{} {}", c(x(point.at)), c(scale.y(pulse)));
    }
    way
}

/// The letter of a line, beside it: each a little further right, so that those of lines which lie close together can be told apart.
fn letter_at(line: &Line, letter: &str, number: usize, scale: Scale) -> Markup {
    let at = 25.0 + 14.0 * number as f64;
    let mut pairs = line.points.iter().zip(line.points.iter().skip(1));
    let around = pairs.rfind(|(before, after)| before.at <= at && at <= after.at && before.at < after.at);
    html! {
        @if let Some((before, after)) = around {
            @let pulse = before.sent + (after.sent - before.sent) * (at - before.at) / (after.at - before.at);
            text x=(c(x(at) - 3.0)) y=(c(scale.y(pulse) - 5.0)) text-anchor="end" font-weight="bold" { (letter) }
        }
    }
}

/// As much of a name as has room beside a picture.
fn clipped(name: &str) -> String {
    const ROOM: usize = 16;
    if name.chars().count() <= ROOM { name.to_owned() } else { name.chars().take(ROOM - 1).chain(['…']).collect() }
}

/// In which positions a line holds.
fn held(held: &[Vec<(compact_str::CompactString, compact_str::CompactString)>]) -> String {
    let one = |all: &Vec<(compact_str::CompactString, compact_str::CompactString)>| {
        let named: Vec<String> =
            all.iter().map(|(control, at)| format!("{} {}", say::text(control), say::text(at))).collect();
        named.join(" and ")
    };
    let all: Vec<String> = held.iter().map(one).filter(|text| !text.is_empty()).collect();
    if all.is_empty() { "in every position".to_owned() } else { all.join("; or ") }
}

fn legend(shape: &Shape) -> Markup {
    html! {
        ul.small {
            @for (line, letter) in shape.lines.iter().zip(LETTERS) {
                li { b { (letter) } ": " (held(&line.held)) }
            }
            @if shape.more > 0 { li { "and " (shape.more) " more ways in which the switches can stand: `walkaround trace` tells them." } }
            @if !shape.exact { li { "Where the lines bend was found only by looking at many places." } }
            @if let Some(levels) = shape.levels { li { "The link tells " (levels) " levels apart." } }
        }
    }
}

fn table(shape: &Shape) -> Markup {
    html! {
        table.small {
            tr { th { "line" } th.n { "stick, %" } th.n { "sent, us" } th.n { "arrives, us" } }
            @for (line, letter) in shape.lines.iter().zip(LETTERS) {
                @for point in line.points.iter().filter(|point| point.is_corner) {
                    tr {
                        td { (letter) }
                        td.n { (number(point.at)) }
                        td.n { (number(point.sent)) }
                        td.n { @match point.received { Some(pulse) => (number(pulse)), None => "nothing" } }
                    }
                }
            }
        }
    }
}

/// A channel that only switches move: a place for each way in which they can stand, with what is sent and what arrives.
fn stepped(page: &Page<'_, '_>, steps: &Steps) -> Markup {
    let setup = page.setup;
    let bands = bands(setup, steps.channel);
    let title = format!("Channel {} {} by its switches", steps.channel, say::label(setup, steps.channel));
    let scale = Scale::of(steps.rows.iter().map(|row| row.sent));
    let place = |at: usize| LEFT + (RIGHT - LEFT) * (at as f64 + 0.5) / steps.rows.len() as f64;
    html! {
        figure {
            figcaption { (title) }
            svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(title) {
                (frame(setup, steps.channel, scale, &bands))
                @for (at, row) in steps.rows.iter().enumerate() {
                    text x=(c(place(at))) y=(c(BOTTOM + 13.0)) text-anchor="middle" { (at + 1) }
                    @if let Some(received) = row.received {
                        line.received x1=(c(place(at) - 9.0)) y1=(c(scale.y(received))) x2=(c(place(at) + 9.0)) y2=(c(scale.y(received))) {}
                    }
                    circle.mark cx=(c(place(at))) cy=(c(scale.y(row.sent))) r="3" {}
                }
            }
            p.small { "A dot is what is sent, a short line what arrives." }
            table.small {
                tr { th.n { "place" } th { "position" } th.n { "sent, us" } th.n { "arrives, us" } th { "in the range of" } }
                @for (at, row) in steps.rows.iter().enumerate() {
                    tr {
                        td.n { (at + 1) }
                        td { (held(std::slice::from_ref(&row.held))) }
                        td.n { (number(row.sent)) }
                        td.n { @match row.received { Some(pulse) => (number(pulse)), None => "nothing" } }
                        td { (within(&bands, row.received)) }
                    }
                }
            }
        }
    }
}

/// The names of the ranges in which a pulse lies.
fn within(bands: &[Band], pulse: Option<f64>) -> String {
    let has = |band: &&Band| pulse.is_some_and(|pulse| band.low <= pulse && pulse <= band.high);
    let names: Vec<&str> = bands.iter().filter(has).map(|band| band.name.as_str()).collect();
    if names.is_empty() { "–".to_owned() } else { names.join(", ") }
}
