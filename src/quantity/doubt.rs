//! Sanity before arithmetic: readings that cannot mean what they say, or may not. Ask, never guess.

use super::band::Band;
use super::judgement::{Estimate, Measured, estimate};
use super::plausible::{Plausible, plausible};
use super::reading::Shown;
use super::spec::Side;
use super::{Kind, Raw};

/// Resistance at which the continuity beeper of any meter has stopped sounding, in ohms. Not
/// standardised: 40 and 70 stand in meter manuals, 20 to 100 is common.
pub const BEEP_AT_MOST: f64 = 100.0;

/// Resistance below which the beeper of any meter sounds, in ohms.
pub const NO_BEEP_FROM: f64 = 20.0;

/// A question to put before a reading is used, with what it takes to ask it. Values in base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// The unit does not fit the question: volts where ohms were asked for.
    OtherKind {
        /// What was asked for.
        asked: Kind,
        /// What the unit measures.
        said: Kind,
    },
    /// What is taken off has another unit, or is no number.
    OffsetDoesNotFit {
        /// What the reading measures.
        reading: Kind,
        /// What was to be taken off.
        offset: Kind,
    },
    /// The leads held together show an overload: a broken lead, a loose plug or a blown meter fuse.
    LeadsOpen,
    /// Less than nothing is left after the correction, beyond what the meter may be off by.
    NegativeAfterCorrection {
        /// The reading.
        raw: f64,
        /// What was taken off.
        offset: f64,
    },
    /// Next to nothing is left after the correction, where a part of some resistance was expected.
    OffsetAsLargeAsReading {
        /// The reading.
        raw: f64,
        /// What was taken off.
        offset: f64,
    },
    /// A negative voltage or current: the probes are the wrong way round.
    ProbesReversed {
        /// The reading.
        value: f64,
    },
    /// A negative resistance: the circuit still has voltage on it.
    LiveCircuit {
        /// The reading.
        value: f64,
    },
    /// The point seems to be in the wrong place.
    DecimalSlip {
        /// As said.
        said: f64,
        /// What would fit.
        meant: f64,
    },
    /// A `k`, `M` or `m` seems to be missing or too much.
    PrefixSlip {
        /// As said.
        said: f64,
        /// What would fit.
        meant: f64,
    },
    /// The meter seems to be set to AC volts: many cheap ones show a battery as 2.2 times its DC
    /// voltage there (common practice, no source).
    SetToAlternating {
        /// As said.
        said: f64,
        /// What it would be on the DC range.
        meant: f64,
    },
    /// No such value occurs on a motorcycle with a 12 V battery.
    Implausible {
        /// As said.
        said: f64,
        /// What occurs.
        plausible: Plausible,
    },
    /// A `1` without decimals may be a lone 1 on the left of the display, which means overload.
    LoneOne,
    /// An overload display where only a number can answer: range too low, or wrong setting.
    OverloadForNumber {
        /// What was asked for.
        asked: Kind,
    },
    /// The beeper cannot tell the outcomes apart: it says nothing about ohms, let alone milliohms.
    BeepProvesLittle {
        /// Whether it sounded.
        sounded: bool,
        /// A limit it says nothing about.
        limit: f64,
    },
    /// No outcome has an interval, and the display is no outcome either.
    NothingToJudgeBy,
    /// Not a finite number.
    NotANumber,
}

/// Whether a measurement can be judged as it stands.
///
/// # Errors
/// The first doubt found; those that only may be wrong are passed over once confirmed.
pub(super) fn sane(measured: &Measured) -> Result<(), Doubt> {
    let Measured { raw, asked, .. } = measured;
    if raw.kind != *asked {
        return Err(Doubt::OtherKind {
            asked: *asked,
            said: raw.kind,
        });
    }
    if let Some(offset) = &measured.offset {
        offset_fits(raw, offset)?;
    }
    match raw.shown {
        Shown::Value(value) => sane_number(measured, value),
        Shown::Overload => overload_fits(measured),
        Shown::Beep if !measured.confirmed => beep_tells(measured.bands, true),
        Shown::NoBeep if !measured.confirmed => beep_tells(measured.bands, false),
        _ => Ok(()),
    }
}

fn offset_fits(raw: &Raw, offset: &Raw) -> Result<(), Doubt> {
    match offset.shown {
        Shown::Overload => Err(Doubt::LeadsOpen),
        _ if offset.kind == raw.kind && offset.centre().is_some_and(f64::is_finite) => Ok(()),
        _ => Err(Doubt::OffsetDoesNotFit {
            reading: raw.kind,
            offset: offset.kind,
        }),
    }
}

fn sane_number(measured: &Measured, value: f64) -> Result<(), Doubt> {
    if !value.is_finite() {
        return Err(Doubt::NotANumber);
    }
    if !measured.confirmed {
        possible(measured, value)?;
        slip(measured, value)?;
    }
    left_over(measured, &estimate(measured, value))
}

fn possible(measured: &Measured, value: f64) -> Result<(), Doubt> {
    let kind = measured.asked;
    if value < 0.0 && matches!(kind, Kind::Voltage | Kind::Current) {
        return Err(Doubt::ProbesReversed { value });
    }
    if value < 0.0 && kind == Kind::Resistance {
        return Err(Doubt::LiveCircuit { value });
    }
    let plausible = plausible(kind);
    if let Some(meant) = thousandth(measured, value) {
        return Err(Doubt::PrefixSlip { said: value, meant });
    }
    if plausible.holds(value) {
        return Ok(());
    }
    if kind == Kind::Voltage && ALTERNATING.contains(&value) {
        let meant = value / ALTERNATING_FACTOR;
        return Err(Doubt::SetToAlternating { said: value, meant });
    }
    let shifted = [10.0, 100.0, 1000.0].map(|factor| value / factor);
    match shifted.into_iter().find(|&meant| plausible.is_usual(meant)) {
        Some(meant) => Err(Doubt::DecimalSlip { said: value, meant }),
        None => Err(Doubt::Implausible {
            said: value,
            plausible,
        }),
    }
}

/// "12 mV" where every limit is a matter of volts: the prefix is one too many.
fn thousandth(measured: &Measured, value: f64) -> Option<f64> {
    let meant = value * 1000.0;
    let said_in_milli = measured.raw.unit.symbol == "mV";
    let usual = plausible(Kind::Voltage).is_usual(meant);
    (is_of_volts(measured) && said_in_milli && usual).then_some(meant)
}

/// Whether every limit is a matter of volts, not of a drop along a wire.
fn is_of_volts(measured: &Measured) -> bool {
    let limits = measured.bands.iter().flat_map(|band| [band.low, band.high]);
    measured.asked == Kind::Voltage && limits.flatten().all(|limit| limit > 1.0)
}

/// What a half-wave rectifying AC range makes of a direct voltage: π/√2.
const ALTERNATING_FACTOR: f64 = std::f64::consts::PI * std::f64::consts::FRAC_1_SQRT_2;

/// 11 to 15 V, as such a range shows them.
const ALTERNATING: std::ops::RangeInclusive<f64> = 24.4..=33.3;

/// Looks for a shifted point or a lost prefix, where that alone would bring the value into spec.
fn slip(measured: &Measured, value: f64) -> Result<(), Doubt> {
    if is_lone_one(measured, value) {
        return Err(Doubt::LoneOne);
    }
    let Some((low, high)) = spec_limits(measured.bands) else {
        return Ok(());
    };
    let offset = measured
        .offset
        .as_ref()
        .and_then(Raw::centre)
        .unwrap_or(0.0);
    let fits = |meant: f64| low <= meant - offset && meant - offset <= high;
    if fits(value) {
        return Ok(());
    }
    let factors = if typed_whole(&measured.raw) {
        &[0.1, 10.0][..]
    } else {
        &[10.0]
    };
    if let Some(meant) = factors.iter().map(|f| value * f).find(|&meant| fits(meant)) {
        return Err(Doubt::DecimalSlip { said: value, meant });
    }
    match [1e-3, 1e3]
        .into_iter()
        .map(|f| value * f)
        .find(|&meant| fits(meant))
    {
        Some(meant) => Err(Doubt::PrefixSlip { said: value, meant }),
        None => Ok(()),
    }
}

/// Both limits of the spec, where it has two.
fn spec_limits(bands: &[Band]) -> Option<(f64, f64)> {
    let within = bands.iter().find(|band| band.side == Some(Side::Within))?;
    // Where a wider range is permitted, a shifted point would always fit.
    within
        .low
        .zip(within.high)
        .filter(|&(low, high)| low > 0.0 && high < 10.0 * low)
}

/// A number typed with a point shows where the point was; one without may have lost it.
fn typed_whole(raw: &Raw) -> bool {
    raw.resolution
        .is_none_or(|step| raw.unit.show_difference(step) > 0.99)
}

/// Where an open circuit would show it, or volts were to come: on too low a range it is shown for them too.
fn is_lone_one(measured: &Measured, value: f64) -> bool {
    let shown = measured.raw.unit.show(value);
    let shows_one = (shown - 1.0).abs() < 1e-9
        && measured.raw.resolution.is_some()
        && typed_whole(&measured.raw);
    let is_open = |band: &Band| band.overload && !band.holds(value);
    let may_be_shown = match measured.asked {
        Kind::Resistance => measured.bands.iter().any(is_open),
        _ => is_of_volts(measured),
    };
    shows_one && may_be_shown
}

/// What is left after the correction must not be less than nothing.
fn left_over(measured: &Measured, estimate: &Estimate) -> Result<(), Doubt> {
    let Some(offset) = estimate.offset else {
        return Ok(());
    };
    let raw = estimate.raw;
    if estimate.corrected < -estimate.expanded_uncertainty {
        return Err(Doubt::NegativeAfterCorrection { raw, offset });
    }
    let expects_some = measured
        .bands
        .iter()
        .any(|band| band.side == Some(Side::Below));
    let nothing_left = estimate.corrected <= estimate.expanded_uncertainty;
    if nothing_left && expects_some && !measured.confirmed && measured.asked == Kind::Resistance {
        return Err(Doubt::OffsetAsLargeAsReading { raw, offset });
    }
    Ok(())
}

fn overload_fits(measured: &Measured) -> Result<(), Doubt> {
    let is_outcome = |band: &Band| band.overload || (band.low.is_some() && band.high.is_none());
    let fits = measured.asked == Kind::Resistance && measured.bands.iter().any(is_outcome);
    if fits {
        Ok(())
    } else {
        Err(Doubt::OverloadForNumber {
            asked: measured.asked,
        })
    }
}

/// A beep tells something only where all limits lie beyond what beepers differ in.
fn beep_tells(bands: &[Band], sounded: bool) -> Result<(), Doubt> {
    let silent_about = |&limit: &f64| {
        if sounded {
            limit > 0.0 && limit < BEEP_AT_MOST
        } else {
            limit > NO_BEEP_FROM
        }
    };
    let limits = bands
        .iter()
        .flat_map(|band| [band.low, band.high])
        .flatten();
    match limits.into_iter().find(silent_about) {
        Some(limit) => Err(Doubt::BeepProvesLittle { sounded, limit }),
        None => Ok(()),
    }
}
