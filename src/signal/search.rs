//! Branch and prune: a region is cut where something is not decided, until it is.

use super::cut::Cut;
use super::eval::Eval;
use super::fix::Fix;
use super::net::{Bit, VarId};
use super::region::{Cell, Hint};

/// Cuts the region by a hint and does `next` with each part, in an order that comes to low and first positions first. What
/// was cut is whole again afterwards, unless `next` ends the search: then the region stays as it was found. Hints that lead
/// nowhere do nothing.
pub(super) fn split<E>(
    eval: &mut Eval<'_>,
    hint: Hint,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    match hint {
        Hint::Close | Hint::NotKnown(_) => Ok(()),
        Hint::Atom(scene, bit) => match eval.net.bit(bit) {
            Bit::In(var, mask) => positions(eval, scene, var, mask, next),
            Bit::Above { var, strict, limit } => {
                let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
                let parts = [
                    Cell::Range { low, high: limit, low_open, high_open: !strict },
                    Cell::Range { low: limit, high, low_open: strict, high_open },
                ];
                each(eval, scene, var, parts, next)
            }
            Bit::Over { num, limit, .. } => match eval.cut(scene, num, Some(limit)) {
                Cut::Nothing => {
                    // From here on only what else is open can be decided.
                    let vars = eval.net.sort(num).cone.vars;
                    eval.region.stuck.push((scene, bit));
                    eval.region.changed(vars);
                    next(eval)?;
                    eval.region.stuck.pop();
                    eval.region.changed(vars);
                    Ok(())
                }
                cut => split_value(eval, cut, next),
            },
            _ => Ok(()),
        },
        Hint::Past { group, number, test } => {
            let group = usize::from(group);
            // What leads there by the shortest way goes first.
            let first = eval.region.groups[group].first_was(number, test);
            for on in [first, !first] {
                eval.region.settle(group, number, test, Some(on));
                next(eval)?;
            }
            eval.region.settle(group, number, test, None);
            Ok(())
        }
        Hint::Held(scene, number) => {
            for held in [false, true] {
                eval.region.hold(scene, number, Some(held));
                next(eval)?;
            }
            eval.region.hold(scene, number, None);
            Ok(())
        }
        Hint::Apart(scene) => {
            let Some((var, Cell::Mask(_))) = eval.region.scenes[usize::from(scene)].moved else { return Ok(()) };
            match eval.region.cells[usize::from(var)] {
                Cell::Mask(from) if from.count_ones() > 1 => every(eval, 0, var, next),
                Cell::Mask(from) => positions(eval, scene, var, from, next),
                Cell::Range { .. } => Ok(()),
            }
        }
    }
}

/// As [`split`], by what would tell more of a value.
pub(super) fn split_value<E>(
    eval: &mut Eval<'_>,
    cut: Cut,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    match cut {
        Cut::Nothing => Ok(()),
        Cut::Condition(hint) => split(eval, hint, next),
        Cut::Each(scene, var) => every(eval, scene, var, next),
        Cut::At(scene, var, at) => {
            let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
            let parts = [
                Cell::Range { low, high: at, low_open, high_open: true },
                Cell::range(at, at),
                Cell::Range { low: at, high, low_open: true, high_open },
            ];
            let inside = (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
            let parts = parts.into_iter().enumerate().filter(|(index, _)| *index != 1 || inside);
            each(eval, scene, var, parts.map(|(_, part)| part), next)
        }
        Cut::Halve(scene, var) => {
            let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
            let steps = 1_048_576.0;
            let middle = ((low.near() + high.near()) / 2.0 * steps).round() / steps;
            match Fix::dyadic(middle).filter(|at| low < *at && *at < high) {
                None => Ok(()),
                Some(at) => {
                    let parts = [
                        Cell::Range { low, high: at, low_open, high_open: false },
                        Cell::Range { low: at, high, low_open: true, high_open },
                    ];
                    each(eval, scene, var, parts, next)
                }
            }
        }
    }
}

/// In these positions, and in the others; those with the first position left go first.
fn positions<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    mask: u64,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
    let first = now & now.wrapping_neg();
    let (inside, outside) = (now & mask, now & !mask);
    let parts = if inside & first != 0 { [inside, outside] } else { [outside, inside] };
    each(eval, scene, var, parts.map(Cell::Mask), next)
}

/// In each position on its own.
fn every<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
    let parts = (0..64).map(|at| now & 1 << at).map(Cell::Mask);
    each(eval, scene, var, parts, next)
}

fn each<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    parts: impl IntoIterator<Item = Cell>,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let whole = eval.cell(scene, var);
    for part in parts {
        let empty = match part {
            Cell::Mask(mask) => mask == 0,
            Cell::Range { low, high, low_open, high_open } => low > high || low == high && (low_open || high_open),
        };
        if empty {
            continue;
        }
        eval.region.set(scene, var, part);
        next(eval)?;
    }
    eval.region.set(scene, var, whole);
    Ok(())
}
