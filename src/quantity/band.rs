//! The intervals of a measurement's outcomes, and how probability is shared out among them.

use super::spec::Side;

/// One outcome's interval, in the base unit. Bands may leave gaps and may overlap.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Band {
    /// Lower limit; none where unbounded.
    pub low: Option<f64>,
    /// Upper limit; none where unbounded.
    pub high: Option<f64>,
    /// Whether a display that overflows is this outcome.
    pub overload: bool,
    /// Where it lies with respect to the spec, for an outcome that has one.
    pub side: Option<Side>,
}

impl Band {
    /// A band between two limits.
    #[must_use]
    pub fn between(low: f64, high: f64) -> Self {
        Self {
            low: Some(low),
            high: Some(high),
            ..Self::default()
        }
    }

    /// Everything below a limit.
    #[must_use]
    pub fn below(high: f64) -> Self {
        Self {
            high: Some(high),
            ..Self::default()
        }
    }

    /// Everything above a limit.
    #[must_use]
    pub fn above(low: f64) -> Self {
        Self {
            low: Some(low),
            ..Self::default()
        }
    }

    /// What an overflowing display means, and no number does.
    #[must_use]
    pub fn overload() -> Self {
        Self {
            overload: true,
            ..Self::default()
        }
    }

    /// The same band on a side of the spec.
    #[must_use]
    pub fn on(self, side: Side) -> Self {
        Self {
            side: Some(side),
            ..self
        }
    }

    /// Whether a number can fall into it; an outcome without limits is for other answers.
    #[must_use]
    pub fn takes_numbers(&self) -> bool {
        self.low.is_some() || self.high.is_some()
    }

    /// Whether a value lies in it.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        self.takes_numbers() && self.distance(value) <= 0.0
    }

    /// Whether any value between two others lies in it.
    #[must_use]
    pub fn meets(&self, low: f64, high: f64) -> bool {
        self.takes_numbers() && self.bottom() < high && low < self.top()
    }

    /// How far outside a value lies; negative inside.
    #[must_use]
    pub fn distance(&self, value: f64) -> f64 {
        (self.bottom() - value).max(value - self.top())
    }

    fn bottom(&self) -> f64 {
        self.low.unwrap_or(f64::NEG_INFINITY)
    }

    fn top(&self) -> f64 {
        self.high.unwrap_or(f64::INFINITY)
    }
}

/// Shares the probability of a distribution out among bands: one weight each, summing to 1.
///
/// What falls into several bands is shared equally among them; what falls into none goes to the
/// nearest. `below` is a cumulative distribution. None where no band takes numbers.
#[must_use]
pub fn share(bands: &[Band], below: impl Fn(f64) -> f64) -> Option<Vec<f64>> {
    if !bands.iter().any(Band::takes_numbers) {
        return None;
    }
    let cuts = cuts(bands);
    let mut weights = vec![0.0; bands.len()];
    let mut left = 0.0;
    for (i, cut) in cuts.iter().map(Some).chain([None]).enumerate() {
        let right = cut.map_or(1.0, |&cut| below(cut));
        let owners = owners(bands, inside(&cuts, i));
        for &owner in &owners {
            #[expect(clippy::cast_precision_loss, reason = "a handful of bands")]
            let part = (right - left).max(0.0) / owners.len() as f64;
            weights[owner] += part;
        }
        left = right;
    }
    Some(normalised(weights))
}

/// Equal weights for the bands that `open` leaves possible, where nothing more is known.
#[must_use]
pub fn share_equally(bands: &[Band], open: impl Fn(&Band) -> bool) -> Option<Vec<f64>> {
    let weights: Vec<f64> = bands
        .iter()
        .map(|band| if open(band) { 1.0 } else { 0.0 })
        .collect();
    (weights.iter().sum::<f64>() > 0.0).then(|| normalised(weights))
}

/// Every limit of a band, and the middle of every gap between two limits.
fn cuts(bands: &[Band]) -> Vec<f64> {
    let mut limits: Vec<f64> = bands
        .iter()
        .flat_map(|band| [band.low, band.high])
        .flatten()
        .collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    let middles: Vec<f64> = limits
        .windows(2)
        .map(|pair| f64::midpoint(pair[0], pair[1]))
        .collect();
    limits.extend(middles);
    limits.sort_by(f64::total_cmp);
    limits
}

/// A value inside the i-th interval between cuts, the outermost two being unbounded.
fn inside(cuts: &[f64], i: usize) -> f64 {
    match (i.checked_sub(1).map(|before| cuts[before]), cuts.get(i)) {
        (None, Some(&first)) => first - 1.0,
        (Some(last), None) => last + 1.0,
        (Some(left), Some(&right)) => f64::midpoint(left, right),
        (None, None) => 0.0,
    }
}

/// The bands a value belongs to: those that hold it, or else the nearest.
fn owners(bands: &[Band], value: f64) -> Vec<usize> {
    let numeric = || (0..bands.len()).filter(|&i| bands[i].takes_numbers());
    let holding: Vec<usize> = numeric().filter(|&i| bands[i].holds(value)).collect();
    if !holding.is_empty() {
        return holding;
    }
    numeric()
        .min_by(|&a, &b| {
            bands[a]
                .distance(value)
                .total_cmp(&bands[b].distance(value))
        })
        .into_iter()
        .collect()
}

fn normalised(weights: Vec<f64>) -> Vec<f64> {
    let total: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / total).collect()
}
