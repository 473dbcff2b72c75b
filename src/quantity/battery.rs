//! A 12 V lead-acid battery: charge from rest voltage, load test, charging, self-discharge.
//!
//! Published tables of rest voltage disagree by up to 0.2 V, and AGM pages by more; so a charge is
//! always a range, wide enough to hold what each of them says.

use super::distribution::Shape;
use super::si::{CubicMetres, Seconds, Volts};
use super::uncertainty::{Origin, Part};

/// What a battery is made like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Make {
    /// Cells with liquid acid.
    Flooded,
    /// Sealed, acid held in glass mat.
    Agm,
    /// The rider does not know.
    Unknown,
}

/// A table of rest voltages at charges of 0, 25, 50, 75 and 100 %, and how far off it may be.
struct Table {
    volts: [f64; 5],
    doubt: f64,
}

/// Flooded cells rested at 26.7 degC: BCI table as reproduced by a battery maker.
const FLOODED: Table = Table {
    volts: [11.89, 12.06, 12.24, 12.45, 12.65],
    doubt: 0.10,
};

/// The rounded table of a marine trade page; differs from the former by up to 0.19 V.
const ROUNDED: Table = Table {
    volts: [11.7, 12.0, 12.2, 12.4, 12.6],
    doubt: 0.05,
};

/// AGM; no standard found, general pages disagree (100 % from 12.7 to 13.0 V).
const AGM: Table = Table {
    volts: [11.8, 12.0, 12.3, 12.6, 12.9],
    doubt: 0.2,
};

/// No AGM voltage tells the charge closer than to this half-width.
const AGM_HALF_WIDTH: f64 = 0.2;

impl Table {
    /// The charge at a voltage, by straight lines between the entries; held within 0 and 1.
    fn charge(&self, volts: f64) -> f64 {
        let after = self.volts.iter().position(|&entry| entry > volts);
        match after {
            Some(0) => 0.0,
            None => 1.0,
            Some(after) => {
                let (low, high) = (self.volts[after - 1], self.volts[after]);
                #[expect(clippy::cast_precision_loss, reason = "five entries")]
                let entry = (after - 1) as f64;
                (entry + (volts - low) / (high - low)) / 4.0
            }
        }
    }

    /// Lowest and highest charge a reading may stand for.
    fn range(&self, lowest: f64, highest: f64) -> Charge {
        Charge {
            low: self.charge(lowest - self.doubt),
            high: self.charge(highest + self.doubt),
        }
    }
}

/// The charge of a battery as a range, in shares of full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// At least.
    pub low: f64,
    /// At most.
    pub high: f64,
}

impl Charge {
    fn or(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    fn at_least_as_wide(self, half_width: f64) -> Self {
        let middle = f64::midpoint(self.low, self.high);
        Self {
            low: self.low.min(middle - half_width).max(0.0),
            high: self.high.max(middle + half_width).min(1.0),
        }
    }
}

/// What is known of a battery when its voltage is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rested {
    /// How it is made.
    pub make: Make,
    /// Time since it last was under charge or load; none where the rider has not said.
    pub rest: Option<Seconds>,
    /// Its temperature in degrees Celsius; none where unknown.
    pub celsius: Option<f64>,
}

impl Rested {
    /// Volts that a rest too short may still add to the reading: the surface charge.
    ///
    /// Rules from 2 h to 24 h are found, 6 to 8 h is common; the amounts are common practice, no
    /// source.
    #[must_use]
    pub fn surface_charge(&self) -> Volts {
        match self.rest {
            Some(Seconds(rest)) if rest >= 8.0 * HOUR => Volts(0.0),
            Some(Seconds(rest)) if rest >= 2.0 * HOUR => Volts(0.1),
            _ => Volts(0.3),
        }
    }

    /// Whether the rest has to be asked for before the reading says much.
    #[must_use]
    pub fn needs_rest_time(&self) -> bool {
        self.rest.is_none()
    }

    /// Volts a temperature other than that of the tables may add or take.
    ///
    /// Sources contradict each other in sign, so nothing is corrected; the larger figure, 0.024 V
    /// for 10 degF, widens the range both ways.
    #[must_use]
    pub fn temperature_doubt(&self) -> Volts {
        let away = (self.celsius.unwrap_or(TABLE_CELSIUS) - TABLE_CELSIUS).abs();
        Volts(0.024 * away / (10.0 / 1.8))
    }

    /// The charge a rest voltage stands for.
    #[must_use]
    pub fn charge(&self, volts: Volts) -> Charge {
        let doubt = self.temperature_doubt().0;
        let (lowest, highest) = (volts.0 - self.surface_charge().0 - doubt, volts.0 + doubt);
        let flooded = || {
            FLOODED
                .range(lowest, highest)
                .or(ROUNDED.range(lowest, highest))
        };
        let agm = || AGM.range(lowest, highest).at_least_as_wide(AGM_HALF_WIDTH);
        match self.make {
            Make::Flooded => flooded(),
            Make::Agm => agm(),
            Make::Unknown => flooded().or(agm()),
        }
    }

    /// What rest and temperature add to the uncertainty of the voltage itself, for a judgement
    /// against limits that hold for a rested battery.
    #[must_use]
    pub fn parts(&self) -> Vec<Part> {
        let doubt = self.temperature_doubt().0;
        let low = -self.surface_charge().0 - doubt;
        if low >= 0.0 {
            return Vec::new();
        }
        vec![Part {
            origin: Origin::Rest,
            shape: Shape::Rectangle { low, high: doubt },
        }]
    }
}

const HOUR: f64 = 3600.0;

/// The temperature the tables of rest voltage hold at, 80 degF.
const TABLE_CELSIUS: f64 = 26.7;

/// Rest voltage of six cells from the specific gravity of their acid (DOE-HDBK-1084-95, eq. 6).
#[must_use]
pub fn voltage_of_gravity(specific_gravity: f64) -> Volts {
    Volts(6.0 * (specific_gravity + 0.845))
}

/// Lowest voltage after 15 s at half the cold-cranking current: 9.6 V at 21 degC, 0.1 V less for
/// each 10 degF (BCI practice; a load tester's rule, not a starter's). None outside 4 to 21 degC.
#[must_use]
pub fn load_test_minimum(celsius: f64) -> Option<Volts> {
    const WARMEST: f64 = 21.1;
    const COLDEST: f64 = 4.4;
    let known = (COLDEST - 0.5..=WARMEST + 0.5).contains(&celsius);
    known.then(|| Volts(9.6 - 0.3 * (WARMEST - celsius) / (WARMEST - COLDEST)))
}

/// What the voltage of a warm battery says with the engine running above idle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charging {
    /// No charge arrives.
    None,
    /// Less than usual.
    Weak,
    /// As it should be.
    Usual,
    /// More than usual.
    High,
    /// The regulator has failed.
    Overcharge,
}

/// The limits between those, in volts; common practice, no standard. AGM and temperature shift them.
pub const CHARGING_LIMITS: [f64; 4] = [13.0, 13.5, 14.8, 15.0];

/// What a charging voltage says.
#[must_use]
pub fn charging(volts: Volts) -> Charging {
    let [none, weak, usual, high] = CHARGING_LIMITS;
    match volts.0 {
        v if v < none => Charging::None,
        v if v < weak => Charging::Weak,
        v if v <= usual => Charging::Usual,
        v if v <= high => Charging::High,
        _ => Charging::Overcharge,
    }
}

/// Share of its charge a standing battery loses, least and most, near 25 degC.
///
/// General pages: AGM 2 to 3 % and flooded 4 to 6 % per month, an old flooded one 4 % per week.
#[must_use]
pub fn lost_standing(make: Make, months: f64) -> (f64, f64) {
    const WEEKS_PER_MONTH: f64 = 365.25 / 12.0 / 7.0;
    let (least, most) = match make {
        Make::Agm => (0.02, 0.03),
        Make::Flooded => (0.04, 0.04 * WEEKS_PER_MONTH),
        Make::Unknown => (0.02, 0.04 * WEEKS_PER_MONTH),
    };
    ((least * months).min(1.0), (most * months).min(1.0))
}

/// Faraday constant, in C/mol (CODATA 2018, exact).
const FARADAY: f64 = 96_485.332_12;

/// Molar gas constant, in J/(mol K) (exact).
const GAS: f64 = 8.314_462_618;

/// Hydrogen a cell gives off for a charge put in after it is full, by Faraday's law: half a mole
/// for each mole of electrons, at atmospheric pressure.
#[must_use]
pub fn hydrogen(charge: super::si::Coulombs, celsius: f64) -> CubicMetres {
    let moles = charge.0 / (2.0 * FARADAY);
    CubicMetres(moles * GAS * (celsius + 273.15) / 101_325.0)
}
