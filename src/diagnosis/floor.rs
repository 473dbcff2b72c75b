//! The weight below which sets may be left out, all of them together holding no more than is spared.

/// The weight below which all together stay under `spare`.
///
/// Weights are counted by their binary exponent, so that one pass suffices.
pub fn floor(weights: impl Iterator<Item = f64>, mut spare: f64) -> f64 {
    const FRACTION_BITS: u32 = 52;
    let exponent =
        |weight: f64| usize::try_from(weight.to_bits() >> FRACTION_BITS).expect("eleven bits");
    let mut by_exponent = vec![0.0; 2048];
    weights.for_each(|weight| by_exponent[exponent(weight)] += weight);
    let kept = by_exponent.iter().position(|mass| {
        spare -= mass;
        spare < 0.0
    });
    kept.map_or(f64::MIN_POSITIVE, |bits| {
        f64::from_bits((bits.max(1) as u64) << FRACTION_BITS)
    })
}
