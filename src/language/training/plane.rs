//! The plane that parts those of whom a claim holds from the others, and the table of several such planes.
//!
//! For every claim a linear support vector machine with squared hinge loss, found by dual
//! coordinate descent: Hsieh, Chang, Lin, Keerthi & Sundararajan, "A dual coordinate descent method
//! for large-scale linear SVM", ICML 2008, algorithm 1. A point is its set of signs, each worth the same,
//! together of length one, and one more that all have, for the bias.

use crate::knowledge::classifier::{Claim, Classifier, STEP};
use std::collections::{BTreeMap, BTreeSet};

/// Signs are learned that so many points have.
const FEWEST: usize = 3;
/// What an error costs against a large weight.
const COST: f64 = 3.0;
/// Ways through all points, at most.
const ROUNDS: usize = 100;
/// How far from the optimum it may end.
const TOLERANCE: f64 = 0.01;
/// Weights smaller than this are left out of the table.
const SMALL: f64 = 0.2;

/// The table of [`Classifier`], as text. `side` says of a claim and a point, both by their position, whether it
/// holds; nothing where that is not known.
///
/// # Panics
/// Where there are more than 256 claims.
#[must_use]
pub fn table(
    signs: &[BTreeSet<String>],
    claims: &[Claim],
    side: impl Fn(usize, usize) -> Option<bool>,
) -> String {
    let known = known(signs);
    let at = |sign: &String| known.get(sign.as_str()).copied();
    let points: Vec<Vec<usize>> = signs
        .iter()
        .map(|signs| signs.iter().filter_map(at).collect())
        .collect();
    let mut rows: Vec<(String, Vec<(u8, i8)>)> = known
        .keys()
        .map(|sign| ((*sign).to_owned(), Vec::new()))
        .collect();
    let mut bias = Vec::new();
    for nth in (0..=u8::MAX).take(claims.len()) {
        let sides: Vec<Option<bool>> = (0..points.len()).map(|at| side(nth.into(), at)).collect();
        let plane = separate(&points, &sides, known.len());
        bias.push(tenths(plane[known.len()]));
        for (row, weight) in rows.iter_mut().zip(&plane) {
            if weight.abs() >= SMALL {
                row.1.push((nth, tenths(*weight)));
            }
        }
    }
    assert_eq!(bias.len(), claims.len(), "no more than 256 claims");
    Classifier::written(claims, &bias, &rows)
}

/// Signs that enough points have, with their position.
fn known(signs: &[BTreeSet<String>]) -> BTreeMap<&str, usize> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for sign in signs.iter().flatten() {
        *counts.entry(sign).or_default() += 1;
    }
    counts.retain(|_, count| *count >= FEWEST);
    (0..)
        .zip(counts.into_keys())
        .map(|(at, sign)| (sign, at))
        .collect()
}

/// A weight as the table holds it.
#[expect(clippy::cast_possible_truncation, reason = "clamped to what fits")]
fn tenths(weight: f64) -> i8 {
    (weight / STEP).round().clamp(-127.0, 127.0) as i8
}

/// The plane between the points on either side: the weight of every sign, and last the bias.
fn separate(points: &[Vec<usize>], sides: &[Option<bool>], size: usize) -> Vec<f64> {
    let mut order: Vec<(usize, f64)> = (0..)
        .zip(sides)
        .filter_map(|(at, side)| side.map(|holds| (at, if holds { 1.0 } else { -1.0 })))
        .collect();
    let mut weights = vec![0.0; size + 1];
    let mut duals = vec![0.0; points.len()];
    // By sheer chance of the order other planes as good come out: the same order always, so that
    // the same points make the same table.
    let mut dice = fastrand::Rng::with_seed(1);
    for _ in 0..ROUNDS {
        dice.shuffle(&mut order);
        let mut farthest: f64 = 0.0;
        for &(at, sign) in &order {
            let missed = step(&points[at], sign, &mut duals[at], &mut weights);
            farthest = farthest.max(missed);
        }
        if farthest < TOLERANCE {
            break;
        }
    }
    weights
}

/// Moves the plane for one point; how far from the optimum it lay for it.
fn step(point: &[usize], side: f64, dual: &mut f64, weights: &mut [f64]) -> f64 {
    let softness = 0.5 / COST;
    let count = u32::try_from(point.len()).map_or(f64::INFINITY, f64::from);
    let share = 1.0 / count.max(1.0).sqrt();
    let bias = weights.len() - 1;
    let sum: f64 = point.iter().map(|sign| weights[*sign]).sum();
    let gradient = side * (share * sum + weights[bias]) - 1.0 + softness * *dual;
    let projected = if *dual > 0.0 {
        gradient
    } else {
        gradient.min(0.0)
    };
    if projected != 0.0 {
        // the point's own length is one, and one for the bias
        let moved = (*dual - gradient / (2.0 + softness)).max(0.0);
        let change = side * (moved - *dual);
        *dual = moved;
        for sign in point {
            weights[*sign] += change * share;
        }
        weights[bias] += change;
    }
    projected.abs()
}

#[cfg(test)]
mod tests {
    use super::{COST, separate};

    /// By hand: with one sign each, of length one, the plane is (a, -a) and no bias by symmetry, and
    /// a^2 + 2 C (1 - a)^2 is smallest at a = 2 C / (1 + 2 C).
    #[test]
    fn two_points_part_where_arithmetic_says() {
        let points = [vec![0], vec![1], vec![0]];
        let plane = separate(&points, &[Some(true), Some(false), None], 2);
        let expected = 2.0 * COST / (1.0 + 2.0 * COST);
        for (weight, expected) in plane.iter().zip([expected, -expected, 0.0]) {
            assert!((weight - expected).abs() < 0.01, "{plane:?}");
        }
    }
}
