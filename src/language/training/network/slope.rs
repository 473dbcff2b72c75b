//! A slope held against the differences of a loss, number by number.

/// How far a number is moved, and how near the slope must come to the central difference.
const TINY: f32 = 1e-3;
const NEAR: f32 = 5e-3;
/// A number that changes the loss more than this counts as moving it.
const FELT: f32 = 0.01;

/// Compares each number of a slope, kind by kind, with the central difference of the loss.
///
/// `moved` tells the loss after the number of that kind and place was moved by so much, and puts it back. At
/// least `felt` numbers must move the loss, or the comparison would say little.
pub(super) fn agrees(
    slope: &[Vec<f32>],
    felt: usize,
    mut moved: impl FnMut((usize, usize), f32) -> f32,
) {
    let mut moving = 0;
    for (kind, slope) in slope.iter().enumerate() {
        for (at, slope) in slope.iter().enumerate() {
            let place = (kind, at);
            let expected = (moved(place, TINY) - moved(place, -TINY)) / (2.0 * TINY);
            moving += usize::from(expected.abs() > FELT);
            assert!(
                (slope - expected).abs() < NEAR,
                "kind {kind}, number {at}: {slope} for {expected}"
            );
        }
    }
    assert!(moving > felt, "{moving}");
}
