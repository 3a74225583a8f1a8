//! Branch and prune: a box is split where something is not decided, until it is.

use super::eval::Eval;
use super::fix::Fix;
use super::region::{Cell, Hint};

/// Splits the box by a hint and does `next` with each part, in an order that comes to rest positions first. What was
/// split is whole again afterwards, unless `next` ends the search: then the box stays as it was found. Hints that lead nowhere do nothing.
pub(super) fn split<E>(
    eval: &mut Eval<'_>,
    hint: Hint,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    match hint {
        Hint::Close | Hint::NotKnown(_) => Ok(()),
        Hint::Past(group) => {
            let group = usize::from(group);
            for chosen in 0..eval.groups[group].pasts.len() {
                eval.groups[group].chosen = Some(chosen as u16);
                next(eval)?;
                eval.groups[group].chosen = None;
            }
            Ok(())
        }
        Hint::Held(scene, number) => {
            let scene = usize::from(scene);
            eval.scenes[scene].held_known |= 1 << number;
            for held in [0, 1 << number] {
                eval.scenes[scene].held = eval.scenes[scene].held & !(1 << number) | held;
                next(eval)?;
            }
            unsettle(eval, scene, number);
            Ok(())
        }
        Hint::Positions(scene, var, mask) => {
            let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
            let rest = now & now.wrapping_neg();
            let (inside, outside) = (now & mask, now & !mask);
            let parts = if inside & rest != 0 { [inside, outside] } else { [outside, inside] };
            each(eval, scene, var, &parts.map(Cell::Mask), next)
        }
        Hint::Switch(scene, var) => {
            let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
            let parts: Vec<Cell> = (0..64).filter(|at| now >> at & 1 == 1).map(|at| Cell::Mask(1 << at)).collect();
            each(eval, scene, var, &parts, next)
        }
        Hint::Axis(scene, var, at) => {
            let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
            let mut parts = Vec::with_capacity(3);
            if low < at || low == at && high > at && low_open {
                parts.push(Cell::Range { low, high: at, low_open, high_open: true });
            }
            if (low < at || low == at && !low_open) && (at < high || at == high && !high_open) {
                parts.push(Cell::range(at, at));
            }
            if at < high {
                parts.push(Cell::Range { low: at, high, low_open: true, high_open });
            }
            parts.retain(|part| !matches!(part, Cell::Range { low, high, low_open, high_open } if low == high && (*low_open || *high_open)));
            each(eval, scene, var, &parts, next)
        }
        Hint::Halve(scene, var) => {
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
                    each(eval, scene, var, &parts, next)
                }
            }
        }
    }
}

fn unsettle(eval: &mut Eval<'_>, scene: usize, number: u8) {
    eval.scenes[scene].held_known &= !(1 << number);
    eval.scenes[scene].held &= !(1 << number);
}

fn each<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: u16,
    parts: &[Cell],
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let own = matches!(eval.scenes[usize::from(scene)].moved, Some((moved, _)) if moved == var);
    let whole = eval.cell(scene, var);
    let set = |eval: &mut Eval<'_>, cell: Cell| {
        if own {
            eval.scenes[usize::from(scene)].moved = Some((var, cell));
        } else {
            eval.cells[usize::from(var)] = cell;
        }
    };
    for &part in parts {
        if matches!(part, Cell::Mask(0)) {
            continue;
        }
        set(eval, part);
        next(eval)?;
        set(eval, whole);
    }
    Ok(())
}
