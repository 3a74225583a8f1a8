//! Curves: linear between points, or PCHIP (piecewise cubic, monotone between neighbouring points), exactly.
//!
//! Slopes after DESIGN 4.3; the method is Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246 (from memory), with the
//! weighted harmonic mean inside and clamped one-sided three-point slopes at the ends.

use crate::signal::number::crossing::{Crossing, crossing, root};
use crate::signal::number::interval::Interval;
use crate::signal::number::rational::Rational;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::parts::Curve;
use std::cmp::Ordering;

/// A curve with its cubic pieces worked out, exactly and in floating point.
#[derive(Clone, Debug)]
pub(in crate::signal) struct Shape {
    /// x rises.
    points: Vec<Point>,
    /// One per pair of neighbours.
    pieces: Vec<Piece>,
}

#[derive(Clone, Debug)]
struct Point {
    x: Rational64,
    y: Rational64,
    near_x: Interval,
    near_y: Interval,
}

/// y = y₀ + u·(c₁ + u·(c₂ + u·c₃)), u = x − x₀.
#[derive(Clone, Debug)]
struct Piece {
    exact: [Rational; 3],
    near: [Interval; 3],
    /// Whether it rises (`Less`), stays or falls: pieces of both kinds are monotone.
    direction: Ordering,
    straight: bool,
}

impl Shape {
    /// Works out the pieces. The points are at least two and their x rise (checked before).
    pub(in crate::signal) fn new(curve: &Curve) -> Self {
        let points: Vec<Point> = curve
            .points
            .iter()
            .map(|&(x, y)| Point { x, y, near_x: Interval::of(x), near_y: Interval::of(y) })
            .collect();
        let difference = |a: Rational64, b: Rational64| Rational::Small(b).sub(&Rational::Small(a));
        let widths: Vec<Rational> = points.windows(2).map(|p| difference(p[0].x, p[1].x)).collect();
        let rises: Vec<Rational> =
            points.windows(2).zip(&widths).map(|(p, h)| difference(p[0].y, p[1].y).div(h)).collect();
        let slopes = if curve.rounded && points.len() > 2 { slopes(&widths, &rises) } else { Vec::new() };
        let pieces = widths.iter().zip(&rises).enumerate().map(|(at, (h, d))| {
            let exact = match slopes.get(at..at + 2) {
                Some([s, e]) => {
                    let (two, three) = (Rational::whole(2), Rational::whole(3));
                    let square = three.mul(d).sub(&two.mul(s)).sub(e).div(h);
                    [s.clone(), square, s.add(e).sub(&two.mul(d)).div(&h.mul(h))]
                }
                _ => [d.clone(), Rational::ZERO, Rational::ZERO],
            };
            let near = exact.each_ref().map(Rational::near);
            let straight = exact[1] == Rational::ZERO && exact[2] == Rational::ZERO;
            Piece { exact, near, direction: Rational::ZERO.cmp(d), straight }
        });
        Self { pieces: pieces.collect(), points }
    }

    /// The value at `x`; constant outside the points.
    pub(in crate::signal) fn at(&self, x: &Rational) -> Rational {
        let after = self.points.partition_point(|point| Rational::Small(point.x) <= *x);
        let point = &self.points[after.saturating_sub(1)];
        let y = Rational::Small(point.y);
        if after == 0 {
            return y;
        }
        let Some(Piece { exact: [c1, c2, c3], straight, .. }) = self.pieces.get(after - 1) else { return y };
        let u = x.sub(&Rational::Small(point.x));
        if *straight {
            return y.add(&u.mul(c1));
        }
        y.add(&u.mul(&c1.add(&u.mul(&c2.add(&u.mul(c3))))))
    }

    /// The value at `x` where it is a small fraction.
    pub(in crate::signal) fn small_at(&self, x: Rational64) -> Option<Rational64> {
        self.at(&Rational::Small(x)).small()
    }

    /// All values over a range of arguments, enclosed. Pieces are monotone, so that the ends of the argument on each piece
    /// give the ends of the value.
    pub(in crate::signal) fn enclose(&self, x: Interval) -> Interval {
        let (first, last) = (&self.points[0], &self.points[self.points.len() - 1]);
        let mut all: Option<Interval> = None;
        let mut add = |part: Interval| all = Some(all.map_or(part, |known| known.hull(part)));
        if x.low <= first.near_x.high {
            add(first.near_y);
        }
        if x.high >= last.near_x.low {
            add(last.near_y);
        }
        for (piece, ends) in self.pieces.iter().zip(self.points.windows(2)) {
            let (from, to) = (&ends[0], &ends[1]);
            if x.high < from.near_x.low || x.low > to.near_x.high {
                continue;
            }
            let value = |x: f64| {
                let u = Interval::point(x).sub(from.near_x).max(Interval::point(0.0));
                let [c1, c2, c3] = piece.near;
                let slope = if piece.straight { c1 } else { c1.add(u.mul(c2.add(u.mul(c3)))) };
                from.near_y.add(u.mul(slope))
            };
            let low = if x.low <= from.near_x.high { from.near_y } else { value(x.low) };
            let high = if x.high >= to.near_x.low { to.near_y } else { value(x.high) };
            add(low.hull(high));
        }
        all.unwrap_or(Interval::ALL)
    }

    /// Where to split a range of arguments: at a point of the curve inside it, or where a straight piece meets a limit.
    pub(in crate::signal) fn turn(&self, x: Interval, limit: Option<Rational64>) -> Option<Rational64> {
        let start = self.points.partition_point(|point| point.near_x.low <= x.low);
        let end = self.points.partition_point(|point| point.near_x.high < x.high);
        if start < end {
            return Some(self.points[start + (end - start) / 2].x);
        }
        let at = start.checked_sub(1)?;
        let piece = self.pieces.get(at)?;
        if !piece.straight || piece.direction == Ordering::Equal {
            return None;
        }
        let point = &self.points[at];
        limit?.sub(point.y)?.div(piece.exact[0].small()?)?.add(point.x)
    }

    /// Whether the values far to the left are over a limit, and where that turns, in order; `None` where such a place can't
    /// be found closely.
    pub(in crate::signal) fn crossings(&self, strict: bool, limit: Rational64) -> Option<(bool, Vec<Crossing>)> {
        let over = |y: Rational64| if strict { y > limit } else { y >= limit };
        let mut crossings = Vec::new();
        for (piece, ends) in self.pieces.iter().zip(self.points.windows(2)) {
            if over(ends[0].y) != over(ends[1].y) {
                crossings.push(self.meets(piece, &ends[0], &ends[1], limit)?);
            }
        }
        Some((over(self.points[0].y), crossings))
    }

    /// Where a piece between two points meets a limit that lies between their values.
    fn meets(&self, piece: &Piece, from: &Point, to: &Point, limit: Rational64) -> Option<Crossing> {
        if let Some(at) = [from, to].into_iter().find(|end| end.y == limit) {
            return Some(Crossing::At(at.x));
        }
        if piece.straight {
            return Some(Crossing::At(limit.sub(from.y)?.div(piece.exact[0].small()?)?.add(from.x)?));
        }
        let [c1, c2, c3] = piece.near.map(|near| near.low);
        let (rising, start, goal) = (piece.direction == Ordering::Less, from.y.near(), limit.near());
        let width = to.x.near() - from.x.near();
        let near = root(0.0, width, |u| start + u * (c1 + u * (c2 + u * c3)) - goal);
        let exactly = |x: Rational64| self.at(&Rational::Small(x)).cmp(&Rational::Small(limit));
        let enclosed = |x: f64| {
            let value = self.enclose(Interval::point(x));
            (value.high < limit.below(), value.low > limit.above())
        };
        crossing(from.x.near() + near, rising, exactly, enclosed)
    }

    /// Whether the curve rises (`Less`), falls or stays the same from one argument to another; `None` where it turns
    /// between them.
    pub(in crate::signal) fn direction(&self, low: Rational64, high: Rational64) -> Option<Ordering> {
        if low == high {
            return Some(Ordering::Equal);
        }
        let (first, last) = (self.points[0].x, self.points[self.points.len() - 1].x);
        let outside = (low < first || high > last).then_some(Ordering::Equal);
        let within = self.pieces.iter().zip(self.points.windows(2));
        let within = within.filter(|(_, ends)| ends[0].x < high && low < ends[1].x).map(|(piece, _)| piece.direction);
        let mut all = outside.into_iter().chain(within);
        let direction = all.next()?;
        all.all(|next| next == direction).then_some(direction)
    }
}

/// The slope at every point, from the widths and rises between them; at least two of each.
fn slopes(widths: &[Rational], rises: &[Rational]) -> Vec<Rational> {
    let last = widths.len() - 1;
    let two = Rational::whole(2);
    let inner = |i: usize| {
        let (h0, h1, d0, d1) = (&widths[i], &widths[i + 1], &rises[i], &rises[i + 1]);
        if d0.sign() != d1.sign() || d0.sign() == Ordering::Equal {
            return Rational::ZERO;
        }
        let (w1, w2) = (two.mul(h1).add(h0), h1.add(&two.mul(h0)));
        w1.add(&w2).div(&w1.div(d0).add(&w2.div(d1)))
    };
    let mut slopes = vec![end_slope(&widths[0], &widths[1], &rises[0], &rises[1])];
    slopes.extend((0..last).map(inner));
    slopes.push(end_slope(&widths[last], &widths[last - 1], &rises[last], &rises[last - 1]));
    slopes
}

/// The slope at an end: one-sided over three points, clamped so that the piece stays monotone.
fn end_slope(h0: &Rational, h1: &Rational, d0: &Rational, d1: &Rational) -> Rational {
    let slope = Rational::whole(2).mul(h0).add(h1).mul(d0).sub(&h0.mul(d1)).div(&h0.add(h1));
    let steepest = Rational::whole(3).mul(d0);
    if slope.sign() != d0.sign() {
        Rational::ZERO
    } else if d0.sign() != d1.sign() && slope.abs() > steepest.abs() {
        steepest
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::number::rational64::{Rational64, whole};

    fn shape(points: &[(i64, i64)], rounded: bool) -> Shape {
        let points = points.iter().map(|&(x, y)| (whole(x), whole(y))).collect();
        Shape::new(&Curve { name: "".into(), points, rounded })
    }

    fn near(shape: &Shape, x: f64, y: f64) {
        let found = shape.at(&Rational::from_big(crate::signal::number::big::from_f64(x))).roughly();
        assert!((found - y).abs() <= 1e-9 * y.abs().max(1.0), "at {x}: {found}, not {y}");
    }

    /// SciPy 1.17.1 `PchipInterpolator`.
    #[test]
    fn smooth_curves_agree_with_scipy() {
        let s = shape(&[(-100, -100), (-50, -20), (0, 0), (50, 20), (100, 100)], true);
        for (x, y) in [(-75.0, -50.25), (-25.0, -8.5), (10.0, 3.616), (25.0, 8.5), (75.0, 50.25), (90.0, 78.624)] {
            near(&s, x, y);
        }
        let slopes: Vec<f64> = s.pieces.iter().map(|p| p.exact[0].roughly()).collect();
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
        let points = xs
            .iter()
            .zip(ys)
            .map(|(&x, y)| (Rational64::new(x, 100).unwrap(), Rational64::new(y, 10_000_000_000).unwrap()))
            .collect();
        let s = Shape::new(&Curve { name: "".into(), points, rounded: true });
        for (x, y) in [(8.5, 0.116_632_576_9), (9.0, 0.337_534_326_8), (9.5, 0.685_217_945_1), (11.0, 0.986_043_362_5)]
        {
            near(&s, x, y);
        }
        near(&s, 13.0, 0.999_361_822_1);
        let small = s.at(&Rational::whole(8)).roughly();
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
