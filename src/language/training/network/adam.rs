//! Moving numbers down a slope: Adam with decoupled decay.

use std::f32::consts::PI;

/// How far a step goes at most; it grows to this over [`WARM_UP`] steps and falls as a cosine to nothing.
const RATE: f32 = 1.5e-3;
const WARM_UP: f32 = 200.0;
/// What the means of the slope and of its square keep at each step, and what keeps their ratio finite.
const KEPT: (f32, f32) = (0.9, 0.999);
const FINITE: f32 = 1e-8;
/// The slope is cut to this length.
const STEEPEST: f32 = 5.0;

/// The means of a slope and of its square, kind by kind of numbers.
pub(super) struct Adam {
    mean: Vec<Vec<f32>>,
    square: Vec<Vec<f32>>,
    /// How much of each number a full step takes away.
    decay: f32,
    step: f32,
    steps: f32,
}

impl Adam {
    /// For numbers of those kinds, and so many steps.
    #[expect(clippy::cast_precision_loss, reason = "counts far below 2^24")]
    pub(super) fn new(kinds: &[&mut [f32]], decay: f32, steps: usize) -> Self {
        let zero: Vec<Vec<f32>> = kinds.iter().map(|kind| vec![0.0; kind.len()]).collect();
        Self {
            mean: zero.clone(),
            square: zero,
            decay,
            step: 0.0,
            steps: steps as f32,
        }
    }

    /// One step down the mean slope of `count` messages, of which `slope` is the sum.
    #[expect(clippy::cast_precision_loss, reason = "counts far below 2^24")]
    pub(super) fn walk(
        &mut self,
        weights: &mut [&mut [f32]],
        slope: &mut [&mut [f32]],
        count: usize,
    ) {
        self.step += 1.0;
        let share = 1.0 / count as f32;
        let squares = slope
            .iter()
            .map(|kind| kind.iter().map(|x| x * x).sum::<f32>());
        let length = share * squares.sum::<f32>().sqrt();
        let share = share * (STEEPEST / length.max(STEEPEST));
        let rate = self.rate();
        let unbiased = (1.0 - KEPT.0.powf(self.step), 1.0 - KEPT.1.powf(self.step));
        let means = self.mean.iter_mut().zip(&mut self.square);
        for ((weights, slope), (mean, square)) in weights.iter_mut().zip(slope).zip(means) {
            let numbers = weights.iter_mut().zip(slope.iter());
            let means = mean.iter_mut().zip(square.iter_mut());
            for ((weight, slope), (mean, square)) in numbers.zip(means) {
                let slope = slope * share;
                *mean = KEPT.0 * *mean + (1.0 - KEPT.0) * slope;
                *square = KEPT.1 * *square + (1.0 - KEPT.1) * slope * slope;
                let ratio = *mean / unbiased.0 / ((*square / unbiased.1).sqrt() + FINITE);
                *weight -= rate * (ratio + self.decay * *weight);
            }
        }
    }

    fn rate(&self) -> f32 {
        let warm = (self.step / WARM_UP).min(1.0);
        let done = (self.step / self.steps).min(1.0);
        RATE * warm * f32::midpoint(1.0, (done * PI).cos())
    }
}
