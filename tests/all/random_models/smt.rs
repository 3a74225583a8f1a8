//! A model's formulas as SMT-LIB 2 (linear arithmetic over reals, integers for links of many levels), written from DESIGN
//! section 4. It reads the same plain data as the program under test and shares no other line with it.
//!
//! A *moment* is one evaluation: the start, or the one after a movement. Its definitions are named with a suffix, so that
//! several moments can stand side by side.

use super::past::Test;
use num_rational::Ratio;
use std::collections::HashSet;
use std::fmt::Write as _;
use walkaround::signal::*;

/// A fraction of the library.
pub(crate) type Fraction = Ratio<i64>;

/// What was before a moment.
#[derive(Clone, Copy)]
pub(crate) enum Before<'a> {
    /// It is the start: latches are off and nothing becomes anything.
    Nothing,
    /// Any past: variables `moved`, `l0 …` for the latches and `w0 …` for the tests of `becomes`.
    Past(&'a [Test]),
    /// The moment of this suffix.
    Moment(&'a str),
}

/// Writes the definitions of one moment.
pub(crate) struct Moment<'a> {
    parts: &'a Parts,
    suffix: &'a str,
    before: Before<'a>,
    done: HashSet<String>,
    /// What was written since it was last taken.
    text: String,
}

/// The library's fraction of a number: what is computed here shares no arithmetic with the program under test.
pub(crate) fn fraction(value: Rational64) -> Fraction {
    let (n, d) = value.ratio();
    Ratio::new_raw(n, d)
}

/// A number as SMT-LIB writes it.
pub(crate) fn number(value: Fraction) -> String {
    let size = value.numer().unsigned_abs();
    let plain = if *value.denom() == 1 { format!("{size}.0") } else { format!("(/ {size}.0 {}.0)", value.denom()) };
    if *value.numer() < 0 { format!("(- {plain})") } else { plain }
}

/// The values of a switch's or button's positions: evenly spaced from −100 to 100; `None` for an axis.
pub(crate) fn switch_values(control: &Control) -> Option<Vec<Fraction>> {
    let count = match &control.kind {
        ControlKind::Switch { positions, .. } => positions.len() as i64,
        ControlKind::Button { .. } | ControlKind::Reported => 2,
        ControlKind::Stick { .. } | ControlKind::Axis { .. } => return None,
    };
    Some((0..count).map(|at| Ratio::new(200 * at, count - 1) - 100).collect())
}

/// The range of a stick's trim, where it has one.
pub(crate) fn trim_of(control: &Control) -> Option<Rational64> {
    match &control.kind {
        ControlKind::Stick { trim, .. } => *trim,
        _ => None,
    }
}

impl<'a> Moment<'a> {
    pub(crate) fn new(parts: &'a Parts, suffix: &'a str, before: Before<'a>) -> Self {
        Self { parts, suffix, before, done: HashSet::new(), text: String::new() }
    }

    /// The definitions written since the last call.
    pub(crate) fn take(&mut self) -> String {
        std::mem::take(&mut self.text)
    }

    /// Declares every control and trim, anywhere they can be.
    pub(crate) fn declare_controls(&mut self) {
        for (index, control) in self.parts.controls.iter().enumerate() {
            let name = self.name("c", index);
            let _ = writeln!(self.text, "(declare-const {name} Real)");
            match switch_values(control) {
                Some(values) => {
                    let one_of: Vec<_> = values.iter().map(|&v| format!("(= {name} {})", number(v))).collect();
                    let _ = writeln!(self.text, "(assert (or {}))", one_of.join(" "));
                }
                None => {
                    let _ = writeln!(self.text, "(assert (<= (- 100.0) {name} 100.0))");
                }
            }
            if let Some(range) = trim_of(control) {
                let (trim, range) = (self.name("t", index), number(fraction(range)));
                let _ = writeln!(self.text, "(declare-const {trim} Real)\n(assert (<= (- {range}) {trim} {range}))");
            }
        }
    }

    /// Puts every control and trim where it stands.
    pub(crate) fn define_controls(&mut self, stand: &Stand) {
        for (index, control) in self.parts.controls.iter().enumerate() {
            let value = match (stand.controls[index], switch_values(control)) {
                (Setting::Position(at), Some(values)) => values[usize::from(at)],
                (Setting::Percent(at), None) => fraction(at),
                (setting, _) => panic!("{setting:?} is no setting of {}", control.name),
            };
            let name = self.name("c", index);
            let _ = writeln!(self.text, "(define-fun {name} () Real {})", number(value));
            if trim_of(control).is_some() {
                let (trim, value) = (self.name("t", index), number(fraction(stand.trims[index])));
                let _ = writeln!(self.text, "(define-fun {trim} () Real {value})");
            }
        }
    }

    pub(crate) fn name(&self, kind: &str, index: impl std::fmt::Display) -> String {
        format!("{kind}{index}_{}", self.suffix)
    }

    /// Defines a name once; returns it.
    fn define(&mut self, name: String, sort: &str, body: impl FnOnce(&mut Self) -> String) -> String {
        if !self.done.contains(&name) {
            let body = body(self);
            let _ = writeln!(self.text, "(define-fun {name} () {sort} {body})");
            self.done.insert(name.clone());
        }
        name
    }

    pub(crate) fn condition(&mut self, condition: &Condition) -> String {
        match condition {
            Condition::Constant(value) => value.to_string(),
            Condition::Unknown(_) => panic!("everything is known in these models"),
            Condition::At(id, at) => self.at(*id, *at, self.suffix),
            Condition::Becomes(id, at) => {
                let now = self.at(*id, *at, self.suffix);
                match self.before {
                    Before::Nothing => "false".into(),
                    Before::Past(tests) => {
                        let test = tests.iter().position(|test| *test == (*id, *at)).expect("every test is known");
                        format!("(and {now} moved (not w{test}))")
                    }
                    Before::Moment(before) => format!("(and {now} (not {}))", self.at(*id, *at, before)),
                }
            }
            Condition::Axis(id, bounds) => within(&self.name("c", id.0), bounds),
            Condition::Channel(channel, measure, bounds) => within(&self.channel(*channel, *measure), bounds),
            Condition::Mode(id, measure) => {
                let any_of = &self.parts.modes[usize::from(id.0)].any_of;
                let every = any_of.iter().map(|ranges| {
                    let each = ranges.iter().map(|&(channel, low, high)| {
                        within(&self.channel(channel, *measure), &Bounds::between(low, high))
                    });
                    format!("(and true {})", each.collect::<Vec<_>>().join(" "))
                });
                format!("(or false {})", every.collect::<Vec<_>>().join(" "))
            }
            Condition::Named(id) => self.named(*id),
            Condition::Not(of) => format!("(not {})", self.condition(of)),
            Condition::All(of) => self.joined("and true", of),
            Condition::Any(of) => self.joined("or false", of),
            Condition::Held(..) => panic!("held conditions are not part of these models"),
        }
    }

    fn joined(&mut self, head: &str, of: &[Condition]) -> String {
        let each: Vec<_> = of.iter().map(|c| self.condition(c)).collect();
        format!("({head} {})", each.join(" "))
    }

    /// Whether a control stands in a position, in the moment of a suffix.
    fn at(&self, id: ControlId, at: Position, suffix: &str) -> String {
        let control = format!("c{}_{suffix}", id.0);
        match at {
            Position::Index(at) => {
                let values = switch_values(&self.parts.controls[usize::from(id.0)]).expect("an axis has no positions");
                format!("(= {control} {})", number(values[usize::from(at)]))
            }
            Position::Low => format!("(<= {control} (- 97.0))"),
            Position::Centre => format!("(<= (- 3.0) {control} 3.0)"),
            Position::High => format!("(>= {control} 97.0)"),
        }
    }

    pub(crate) fn test(&self, test: Test) -> String {
        self.at(test.0, test.1, self.suffix)
    }

    pub(crate) fn named(&mut self, id: ConditionId) -> String {
        let index = usize::from(id.0);
        let parts = self.parts;
        self.define(self.name("k", index), "Bool", |moment| match &parts.conditions[index].kind {
            NamedKind::Plain(condition) => moment.condition(condition),
            NamedKind::Toggle(on) => {
                let on = moment.condition(on);
                format!("(xor {on} {})", moment.was(index))
            }
            NamedKind::Latch { set, reset } => {
                let (set, reset) = (moment.condition(set), moment.condition(reset));
                format!("(and (not {reset}) (or {set} {}))", moment.was(index))
            }
        })
    }

    /// Whether a latch or toggle was on before this moment.
    fn was(&self, index: usize) -> String {
        match self.before {
            Before::Nothing => "false".into(),
            Before::Past(_) => format!("l{index}"),
            Before::Moment(before) => format!("k{index}_{before}"),
        }
    }

    pub(crate) fn channel(&mut self, channel: u16, measure: Measure) -> String {
        let parts = self.parts;
        let of = parts.channels.iter().find(|c| c.number == channel).expect("the channel is defined");
        match measure {
            Measure::Percent => self.define(self.name("p", channel), "Real", |moment| {
                let mut text = String::new();
                let mut closing = String::new();
                for line in &of.lines {
                    let value = moment.value(&line.value);
                    let Some(when) = &line.when else {
                        return text + &value + &closing;
                    };
                    let _ = write!(text, "(ite {} {value} ", moment.condition(when));
                    closing.push(')');
                }
                text + "0.0" + &closing
            }),
            Measure::Sent => self.define(self.name("s", channel), "Real", |moment| {
                let percent = moment.channel(channel, Measure::Percent);
                let signed = if of.reversed { format!("(- {percent})") } else { percent };
                let (low, high) = (number(fraction(of.travel.0)), number(fraction(of.travel.1)));
                let centre = number(fraction(of.centre.unwrap_or(parts.scale.centre)));
                let span = number(fraction(parts.scale.span) / 100);
                // Below the centre −100 % becomes the lower end, above it 100 % the upper one.
                let (below, above) = (number(-fraction(of.ends.0) / 100), number(fraction(of.ends.1) / 100));
                format!(
                    "(let ((u (+ {signed} {}))) (let ((v (ite (< u 0.0) (* {below} u) (* {above} u)))) \
                     (+ {centre} (* {span} (ite (< v {low}) {low} (ite (> v {high}) {high} v))))))",
                    number(fraction(of.subtrim))
                )
            }),
            Measure::Received => match of.carriage {
                Carriage::Not | Carriage::Unknown(_) => panic!("every channel of these models is carried"),
                Carriage::Unchanged => self.channel(channel, Measure::Sent),
                Carriage::Levels(levels) => self.received(channel, levels),
            },
        }
    }

    fn received(&mut self, channel: u16, levels: u32) -> String {
        let scale = self.parts.scale;
        let lowest = fraction(scale.centre) - fraction(scale.span);
        let step = fraction(scale.span) * 2 / i64::from(levels - 1);
        let level = |at: u32| number(lowest + step * i64::from(at));
        let sent = self.channel(channel, Measure::Sent);
        if levels <= 12 {
            // Each level is reached up to the middle between it and the next, the middle included.
            return self.define(self.name("r", channel), "Real", |_| {
                let mut text = String::new();
                for at in 0..levels - 1 {
                    let middle = number(lowest + step * i64::from(at) + step / 2);
                    let _ = write!(text, "(ite (<= {sent} {middle}) {} ", level(at));
                }
                text + &level(levels - 1) + &")".repeat(levels as usize - 1)
            });
        }
        // The nearest level as an integer between the ends: pulse − half a step ≤ level < pulse + half a step, so that a tie
        // is the lower; the first takes everything below, the last everything above.
        let index = self.name("i", channel);
        let (lowest, half, step, last) = (number(lowest), number(step / 2), number(step), levels - 1);
        let arrives = format!("(+ {lowest} (* {step} (to_real {index})))");
        if self.done.insert(index.clone()) {
            let _ = writeln!(
                self.text,
                "(declare-const {index} Int)\n(assert (<= 0 {index} {last}))\n(assert (let ((l {arrives})) (and \
                 (or (= {index} 0) (< l (+ {sent} {half}))) (or (= {index} {last}) (<= (- {sent} {half}) l)))))"
            );
        }
        self.define(self.name("r", channel), "Real", |_| arrives)
    }

    fn value(&mut self, value: &Value) -> String {
        match value {
            Value::Percent(percent) => number(fraction(*percent)),
            Value::Unknown(_) => panic!("everything is known in these models"),
            Value::Unshaped(id) => self.name("c", id.0),
            Value::Control(id) => self.shaped(*id),
            Value::Channel(channel) => self.channel(*channel, Measure::Percent),
            Value::Curve(id, of) => {
                let x = self.value(of);
                self.curve(&x, &self.parts.curves[usize::from(id.0)])
            }
            Value::Min(a, b) => {
                format!("(let ((a {}) (b {})) (ite (<= a b) a b))", self.value(a), self.value(b))
            }
            Value::Max(a, b) => {
                format!("(let ((a {}) (b {})) (ite (>= a b) a b))", self.value(a), self.value(b))
            }
            Value::Add(a, b) => format!("(+ {} {})", self.value(a), self.value(b)),
            Value::Subtract(a, b) => format!("(- {} {})", self.value(a), self.value(b)),
            Value::Negate(of) => format!("(- {})", self.value(of)),
            Value::Multiply(a, b) => self.product(a, b),
        }
    }

    /// A product of which the left factor is a constant, or a switch: one constant a position.
    fn product(&mut self, a: &Value, b: &Value) -> String {
        let right = self.value(b);
        if let Some(by) = constant(a) {
            return format!("(* {} {right})", number(by / 100));
        }
        let Value::Control(id) = a else { panic!("not linear: {a:?}") };
        let values = switch_values(&self.parts.controls[usize::from(id.0)]).expect("not linear");
        let control = self.name("c", id.0);
        let (last, others) = values.split_last().unwrap();
        let mut text = format!("(let ((f {right})) ");
        for &value in others {
            let _ = write!(text, "(ite (= {control} {}) (* {} f) ", number(value), number(value / 100));
        }
        let _ = write!(text, "(* {} f){}", number(*last / 100), ")".repeat(others.len() + 1));
        text
    }

    /// A stick after its rates (without expo here) and trim; any other control as it is.
    fn shaped(&mut self, id: ControlId) -> String {
        let index = usize::from(id.0);
        let raw = self.name("c", index);
        let parts = self.parts;
        let ControlKind::Stick { trim, rates, .. } = &parts.controls[index].kind else { return raw };
        let trim = trim.map(|_| self.name("t", index));
        self.define(self.name("y", index), "Real", |moment| {
            let mut text = String::new();
            let mut closing = String::new();
            let mut last = raw.clone();
            for rate in rates {
                assert_eq!(rate.expo, whole(0), "expo is not linear");
                let value = format!("(* {} {raw})", number(fraction(rate.rate) / 100));
                let Some(when) = &rate.when else {
                    last = value;
                    break;
                };
                let _ = write!(text, "(ite {} {value} ", moment.condition(when));
                closing.push(')');
            }
            let shaped = text + &last + &closing;
            trim.map_or_else(|| shaped.clone(), |trim| format!("(+ {shaped} {trim})"))
        })
    }

    /// Straight between the points, constant outside.
    fn curve(&self, x: &str, curve: &Curve) -> String {
        assert!(!curve.rounded, "a rounded curve is not linear");
        let points: Vec<_> = curve.points.iter().map(|&(x, y)| (fraction(x), fraction(y))).collect();
        let (first, last) = (points[0], points[points.len() - 1]);
        let mut text = format!("(let ((x {x})) (ite (<= x {}) {} ", number(first.0), number(first.1));
        for pair in points.windows(2) {
            let slope = (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0);
            let (x0, y0, x1) = (number(pair[0].0), number(pair[0].1), number(pair[1].0));
            let _ = write!(text, "(ite (<= x {x1}) (+ {y0} (* {} (- x {x0}))) ", number(slope));
        }
        let _ = write!(text, "{}{}", number(last.1), ")".repeat(points.len() + 1));
        text
    }
}

/// The value of an expression without controls.
fn constant(value: &Value) -> Option<Fraction> {
    match value {
        Value::Percent(percent) => Some(fraction(*percent)),
        Value::Negate(of) => constant(of).map(|c| -c),
        Value::Multiply(a, b) => Some(constant(a)? * constant(b)? / 100),
        _ => None,
    }
}

fn within(value: &str, bounds: &Bounds) -> String {
    let mut text = String::from("(and true");
    if let Some(low) = bounds.low {
        let _ = write!(text, " ({} {value} {})", if low.strict { ">" } else { ">=" }, number(fraction(low.at)));
    }
    if let Some(high) = bounds.high {
        let _ = write!(text, " ({} {value} {})", if high.strict { "<" } else { "<=" }, number(fraction(high.at)));
    }
    text + ")"
}
