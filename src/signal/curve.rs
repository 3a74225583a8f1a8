//! Curves: linear between points, or PCHIP (piecewise cubic, monotone between neighbouring points), exactly.
//!
//! Slopes after DESIGN 4.3; the method is Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246 (from memory), with the
//! weighted harmonic mean inside and clamped one-sided three-point slopes at the ends.

use super::fix::Fix;
use super::interval::Interval;
use super::number::{Exact, enclose, exact};
use super::parts::Curve;
use num_traits::{Signed, Zero};

/// A curve with its cubic pieces worked out.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    /// Rising.
    pub(super) xs: Vec<Exact>,
    /// One per x.
    pub(super) ys: Vec<Exact>,
    /// One per pair of neighbours: y = y₀ + (x−x₀)·(c₁ + (x−x₀)·(c₂ + (x−x₀)·c₃)).
    pub(super) pieces: Vec<[Exact; 3]>,
}

impl Shape {
    /// Works out the pieces. The points are at least two and their x rise (checked before).
    pub(super) fn new(curve: &Curve) -> Self {
        let xs: Vec<Exact> = curve.points.iter().map(|p| exact(p.0)).collect();
        let ys: Vec<Exact> = curve.points.iter().map(|p| exact(p.1)).collect();
        let widths: Vec<Exact> = xs.windows(2).map(|x| &x[1] - &x[0]).collect();
        let rises: Vec<Exact> = ys.windows(2).zip(&widths).map(|(y, h)| (&y[1] - &y[0]) / h).collect();
        let pieces = if curve.smooth && xs.len() > 2 {
            let slopes = slopes(&widths, &rises);
            let piece = |i: usize| {
                let (h, d, s, e) = (&widths[i], &rises[i], &slopes[i], &slopes[i + 1]);
                let two = number(2);
                [s.clone(), (number(3) * d - &two * s - e) / h, (s + e - two * d) / (h * h)]
            };
            (0..widths.len()).map(piece).collect()
        } else {
            rises.into_iter().map(|d| [d, Exact::zero(), Exact::zero()]).collect()
        };
        Self { xs, ys, pieces }
    }

    /// The value at `x`; constant outside the points.
    pub(super) fn at(&self, x: &Exact) -> Exact {
        let after = self.xs.partition_point(|k| k <= x);
        if after == 0 {
            return self.ys[0].clone();
        }
        let at = after - 1;
        let Some([c1, c2, c3]) = self.pieces.get(at) else { return self.ys[at].clone() };
        let u = x - &self.xs[at];
        &self.ys[at] + &u * (c1 + &u * (c2 + &u * c3))
    }
}

impl Shape {
    /// All values over a range of arguments, enclosed: on each piece the cubic in Horner's form, met with the hull of its
    /// ends, between which it lies (both kinds of curve are monotone between neighbouring points).
    pub(super) fn enclose(&self, x: Interval) -> Interval {
        let (first, last) = (float(&self.xs[0]), float(&self.xs[self.xs.len() - 1]));
        let mut all: Option<Interval> = None;
        let mut add = |part: Interval| all = Some(all.map_or(part, |known| known.hull(part)));
        if x.low <= first.high {
            add(float(&self.ys[0]));
        }
        if x.high >= last.low {
            add(float(&self.ys[self.ys.len() - 1]));
        }
        for (at, piece) in self.pieces.iter().enumerate() {
            let (from, to) = (float(&self.xs[at]), float(&self.xs[at + 1]));
            if x.high < from.low || x.low > to.high {
                continue;
            }
            // Monotone on the piece, so that the ends of the argument give the ends of the value.
            let [c1, c2, c3] = piece.each_ref().map(float);
            let value = |x: f64| {
                let u = Interval::point(x).sub(from).max(Interval::point(0.0));
                float(&self.ys[at]).add(u.mul(c1.add(u.mul(c2.add(u.mul(c3))))))
            };
            let low = if x.low <= from.high { float(&self.ys[at]) } else { value(x.low) };
            let high = if x.high >= to.low { float(&self.ys[at + 1]) } else { value(x.high) };
            add(low.hull(high));
        }
        all.unwrap_or(Interval::ALL)
    }

    /// Where to split a range of arguments: at a point of the curve inside it, or where a straight piece meets a limit.
    pub(super) fn turn(&self, x: Interval, limit: Option<Fix>) -> Option<Fix> {
        let inside: Vec<&Exact> =
            self.xs.iter().filter(|at| float(at).low > x.low && float(at).high < x.high).collect();
        if let Some(middle) = inside.get(inside.len() / 2) {
            return Fix::narrow(middle);
        }
        let at = self.xs.iter().rposition(|at| float(at).low <= x.low)?;
        let [c1, c2, c3] = self.pieces.get(at)?;
        if !c2.is_zero() || !c3.is_zero() || c1.is_zero() {
            return None;
        }
        let limit = limit?.exact();
        Fix::narrow(&(&self.xs[at] + (limit - &self.ys[at]) / c1))
    }

    /// Whether the curve rises (`Less`), falls or stays the same from one argument to another; `None` where it turns
    /// between them.
    pub(super) fn direction(&self, low: Fix, high: Fix) -> Option<std::cmp::Ordering> {
        let (low, high) = (low.exact(), high.exact());
        let mut points = vec![self.at(&low)];
        points.extend(self.xs.iter().zip(&self.ys).filter(|(x, _)| **x > low && **x < high).map(|(_, y)| y.clone()));
        points.push(self.at(&high));
        let mut directions = points.windows(2).map(|pair| pair[0].cmp(&pair[1]));
        let first = directions.next()?;
        directions.all(|next| next == first).then_some(first)
    }
}

fn float(value: &Exact) -> Interval {
    let (low, high) = enclose(value);
    Interval { low, high }
}

/// A small whole number.
fn number(value: i64) -> Exact {
    Exact::from_integer(value.into())
}

/// The slope at every point, from the widths and rises between them; at least two of each.
fn slopes(widths: &[Exact], rises: &[Exact]) -> Vec<Exact> {
    let last = widths.len() - 1;
    let inner = |i: usize| {
        let (h0, h1, d0, d1) = (&widths[i], &widths[i + 1], &rises[i], &rises[i + 1]);
        if !(d0 * d1).is_positive() {
            return Exact::zero();
        }
        let (w1, w2) = (number(2) * h1 + h0, h1 + number(2) * h0);
        (&w1 + &w2) / (w1 / d0 + w2 / d1)
    };
    let mut slopes = vec![end_slope(&widths[0], &widths[1], &rises[0], &rises[1])];
    slopes.extend((0..last).map(inner));
    slopes.push(end_slope(&widths[last], &widths[last - 1], &rises[last], &rises[last - 1]));
    slopes
}

/// The slope at an end: one-sided over three points, clamped so that the piece stays monotone.
fn end_slope(h0: &Exact, h1: &Exact, d0: &Exact, d1: &Exact) -> Exact {
    let slope = ((number(2) * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if !(&slope * d0).is_positive() {
        Exact::zero()
    } else if !(d0 * d1).is_positive() && slope.abs() > number(3) * d0.abs() {
        number(3) * d0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::number::{Number, approximate, whole};

    fn shape(points: &[(i64, i64)], smooth: bool) -> Shape {
        let points = points.iter().map(|&(x, y)| (whole(x), whole(y))).collect();
        Shape::new(&Curve { name: String::new(), points, smooth })
    }

    fn near(shape: &Shape, x: f64, y: f64) {
        let found = approximate(&shape.at(&super::super::number::from_f64(x)));
        assert!((found - y).abs() <= 1e-9 * y.abs().max(1.0), "at {x}: {found}, not {y}");
    }

    /// SciPy 1.17.1 `PchipInterpolator`.
    #[test]
    fn smooth_curves_agree_with_scipy() {
        let s = shape(&[(-100, -100), (-50, -20), (0, 0), (50, 20), (100, 100)], true);
        for (x, y) in [(-75.0, -50.25), (-25.0, -8.5), (10.0, 3.616), (25.0, 8.5), (75.0, 50.25), (90.0, 78.624)] {
            near(&s, x, y);
        }
        let slopes: Vec<f64> = s.pieces.iter().map(|p| approximate(&p[0])).collect();
        assert_eq!(slopes, [2.2, 0.64, 0.4, 0.64]);
        let t = shape(&[(-100, -100), (-50, -80), (0, 0), (50, 10), (100, 10)], true);
        for (x, y) in [(-75.0, -94.0), (-25.0, -38.222_222_222_2), (25.0, 7.222_222_222_2), (75.0, 10.0)] {
            near(&t, x, y);
        }
    }

    /// The RPN14 data of Fritsch & Carlson (1980, from memory), values by SciPy 1.17.1 `PchipInterpolator`.
    #[test]
    fn smooth_curves_agree_on_the_published_data() {
        let xs = [799, 809, 819, 870, 920, 1000, 1200, 1500, 2000];
        let ys = [
            0,
            276_429,
            437_498_000,
            1_691_830_000,
            4_694_280_000,
            9_437_400_000,
            9_986_360_000,
            9_999_190_000,
            9_999_940_000,
        ];
        let points = xs.iter().zip(ys).map(|(&x, y)| (Number::new(x, 100), Number::new(y, 10_000_000_000))).collect();
        let s = Shape::new(&Curve { name: String::new(), points, smooth: true });
        for (x, y) in [(8.5, 0.116_632_576_9), (9.0, 0.337_534_326_8), (9.5, 0.685_217_945_1), (11.0, 0.986_043_362_5)]
        {
            near(&s, x, y);
        }
        near(&s, 13.0, 0.999_361_822_1);
        let small = approximate(&s.at(&Exact::from_integer(8.into())));
        assert!((small - 2.767_434e-7).abs() < 1e-12, "{small}");
    }

    /// numpy.interp: linear between the points, clamped outside.
    #[test]
    fn linear_curves_are_clamped_outside() {
        let s = shape(&[(-50, -80), (0, 0), (100, 90)], false);
        for (x, y) in [(-100.0, -80.0), (-50.0, -80.0), (-25.0, -40.0), (50.0, 45.0), (100.0, 90.0), (120.0, 90.0)] {
            near(&s, x, y);
        }
        near(&shape(&[(-100, -100), (100, 100)], true), 33.0, 33.0);
    }
}
