//! How to do better where a reading is too close to call: what each cause of doubt calls for.

use super::uncertainty::{Origin, Part};

/// Something the rider can do for a surer reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Remedy {
    /// Hold the leads together and report what they show, or press the zero key.
    ReadLeads,
    /// Go to the lowest range that still shows the value.
    LowerRange,
    /// Report every digit the display shows.
    TypeAllDigits,
    /// Scrape the contacts clean and press the probes on hard; read it three times.
    BetterContact,
    /// Give one number instead of a range, or a number instead of a display without one.
    ReadANumber,
    /// Let the winding cool or warm to the temperature of the air, and say how warm that is.
    EvenTemperature,
    /// Let the battery rest without load or charger, or take the surface charge off it.
    RestBattery,
    /// Measure again with the load plugged in and running.
    MeasureUnderLoad,
    /// Measure a larger volume over a longer time.
    MeasureLonger,
    /// Use marks that can be read more closely.
    BetterMarks,
    /// Use a meter of better accuracy.
    BetterMeter,
}

/// A cause smaller than this share of the largest is not worth the rider's trouble.
const WORTH_IT: f64 = 0.25;

/// What would reduce an uncertainty most, first; each once. `coarse` is whether the digits given
/// are fewer than a common meter shows on its lowest range for that value.
#[must_use]
pub fn remedies(parts: &[Part], coarse: bool) -> Vec<Remedy> {
    let mut by_size: Vec<(f64, Origin)> = parts
        .iter()
        .map(|part| {
            let shift = part.shape.mean();
            ((part.shape.variance() + shift * shift).sqrt(), part.origin)
        })
        .collect();
    by_size.sort_by(|a, b| b.0.total_cmp(&a.0));
    let largest = by_size.first().map_or(0.0, |first| first.0);
    let mut found = Vec::new();
    for (size, origin) in by_size {
        if size < WORTH_IT * largest {
            break;
        }
        for remedy in against(origin) {
            let helps = coarse || !matches!(remedy, Remedy::LowerRange | Remedy::TypeAllDigits);
            if helps && !found.contains(remedy) {
                found.push(*remedy);
            }
        }
    }
    found
}

fn against(origin: Origin) -> &'static [Remedy] {
    match origin {
        Origin::Accuracy => &[
            Remedy::TypeAllDigits,
            Remedy::LowerRange,
            Remedy::BetterMeter,
        ],
        Origin::OffsetDigits => &[Remedy::TypeAllDigits, Remedy::LowerRange],
        Origin::Rounding | Origin::OffsetRounding => &[Remedy::TypeAllDigits],
        Origin::Contact => &[Remedy::BetterContact],
        Origin::LeadsUnread => &[Remedy::ReadLeads],
        Origin::Range => &[Remedy::ReadANumber],
        Origin::Temperature => &[Remedy::EvenTemperature],
        Origin::Rest => &[Remedy::RestBattery],
        Origin::NoLoad => &[Remedy::MeasureUnderLoad],
        Origin::Volume => &[Remedy::BetterMarks],
        Origin::Duration => &[Remedy::MeasureLonger],
    }
}
