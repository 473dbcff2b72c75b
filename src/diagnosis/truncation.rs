//! How much probability the sets of more than three faults may hold, which a belief leaves out.
//!
//! Every weight is relative to "no fault". The weight of a set of faults S after the evidence is
//! the product of its odds and of its likelihood L(S) for every result. Whichever member decides a
//! result, L(S) <= b x product over S of max(1, L(f) / b), for any b not below the likelihood of
//! `normal`. With that the weights of all sets of four or more are bounded by the same weights of
//! independent faults with greater odds, which one pass over the faults adds up.

use super::likelihood::Likelihood;
use super::prior::Prior;
use super::sets::LARGEST;

/// An upper bound on the probability, given the results, that more than three faults were present.
///
/// `log_total` is the natural logarithm of the weights of all sets that were not left out.
pub fn dropped_mass_bound(prior: &Prior, seen: &[&Likelihood], log_total: f64) -> f64 {
    if log_total == f64::NEG_INFINITY {
        return 1.0;
    }
    let groups = exclusive_groups(prior);
    let mut bases: Vec<f64> = seen.iter().map(|likelihood| likelihood.normal()).collect();
    let mut best = log_dropped(prior, seen, &groups, &bases);
    for at in 0..seen.len() {
        for base in candidates(seen[at], prior.odds.len()) {
            let before = std::mem::replace(&mut bases[at], base);
            let log = log_dropped(prior, seen, &groups, &bases);
            if log < best {
                best = log;
            } else {
                bases[at] = before;
            }
        }
    }
    let ratio = (best - log_total).exp();
    if ratio.is_finite() {
        ratio / (1.0 + ratio)
    } else {
        1.0
    }
}

/// The distinct likelihoods above that of `normal`: one of them is the best base.
fn candidates(likelihood: &Likelihood, faults: usize) -> Vec<f64> {
    let mut values: Vec<f64> = (0..faults)
        .map(|fault| likelihood.alone(fault))
        .filter(|value| *value > likelihood.normal())
        .collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    values
}

/// Natural logarithm of a bound on the summed weights of all sets of four or more.
fn log_dropped(prior: &Prior, seen: &[&Likelihood], groups: &[Vec<usize>], bases: &[f64]) -> f64 {
    let boosted = |fault: usize| -> f64 {
        let boost =
            |(likelihood, base): (&&Likelihood, &f64)| (likelihood.alone(fault) / base).max(1.0);
        prior.odds[fault] * seen.iter().zip(bases).map(boost).product::<f64>()
    };
    let mut sums = [1.0, 0.0, 0.0, 0.0];
    let mut larger = 0.0;
    for group in groups {
        let odds: f64 = group.iter().map(|fault| boosted(*fault)).sum();
        larger = larger * (1.0 + odds) + sums[LARGEST] * odds;
        for size in (1..=LARGEST).rev() {
            sums[size] += sums[size - 1] * odds;
        }
    }
    larger.ln() + bases.iter().map(|base| base.ln()).sum::<f64>()
}

/// The faults in groups whose members all exclude each other: at most one of each can be present.
/// Faults that exclude all others are left out, being in no set of four.
fn exclusive_groups(prior: &Prior) -> Vec<Vec<usize>> {
    let faults = prior.odds.len();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for fault in 0..faults {
        if (0..faults).all(|other| other == fault || prior.excludes(fault, other)) {
            continue;
        }
        let fits =
            |group: &&mut Vec<usize>| group.iter().all(|other| prior.excludes(fault, *other));
        match groups.iter_mut().find(fits) {
            Some(group) => group.push(fault),
            None => groups.push(vec![fault]),
        }
    }
    groups
}
