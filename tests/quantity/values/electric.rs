//! Checks of resistance, batteries, fuses and relays.

use super::case::{Case, Said};
use floatbowl::quantity::battery::{
    self, Charge, Make, Rested, charging, hydrogen, load_test_minimum, lost_standing,
};
use floatbowl::quantity::circuit::{self, Feed, parallel, power, series};
use floatbowl::quantity::copper::{gauge_diameter, over_reference, warmed, wire_resistance};
use floatbowl::quantity::fuse::{self, Opening, colour, hot_resistance, opening};
use floatbowl::quantity::relay::{
    coil_current, coil_power, coil_resistance, joined_to_common, terminal,
};
use floatbowl::quantity::si::{Amperes, Coulombs, Metres, Ohms, Seconds, Volts};
use floatbowl::quantity::uncertainty::{USUAL_LEADS, leads_worn};
use floatbowl::quantity::{Band, Doubt, Kind, Measured, Meter, Raw, Shown, Winding, judge};

pub fn check(case: &Case) -> Option<Said> {
    let number = || {
        let families = [wire, gauges, circuit, cells];
        families
            .iter()
            .find_map(|family| family(case))
            .map(Said::Number)
    };
    word(case).or_else(|| fuse_or_relay(case)).or_else(number)
}

fn volts(case: &Case) -> Volts {
    Volts(case.number("volts"))
}

fn amperes(case: &Case) -> Amperes {
    Amperes(case.number("amperes"))
}

fn ohms(case: &Case) -> Vec<Ohms> {
    case.list("ohms").into_iter().map(Ohms).collect()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a gauge is a small whole number"
)]
fn gauge(case: &Case) -> Metres {
    gauge_diameter(case.number("gauge") as i32)
}

fn wire(case: &Case) -> Option<f64> {
    let area = |square_mm: f64| Metres((square_mm * 1e-6 * 4.0 / std::f64::consts::PI).sqrt());
    Some(match case.text("check") {
        "wire" => {
            wire_resistance(
                Metres(case.number("metres")),
                area(case.number("square-mm")),
            )
            .0
        }
        "copper" => over_reference(case.number("celsius")),
        "winding" => {
            let winding = Winding {
                at_celsius: case.number("from"),
                doubt: 0.0,
                spec_celsius: case.number("to"),
            };
            case.number("ohms") * winding.factor()
        }
        "warmed" => {
            warmed(
                Ohms(case.number("ohms")),
                case.number("per-kelvin"),
                case.number("rise"),
            )
            .0
        }
        "wire-drop" => {
            (amperes(case) * wire_resistance(Metres(case.number("metres")), gauge(case))).0
        }
        "unread-leads" if case.text("of") == "low" => USUAL_LEADS.0,
        "unread-leads" => USUAL_LEADS.1,
        _ => return None,
    })
}

fn gauges(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "bore-ohm" => {
            wire_resistance(
                Metres(case.number("metres")),
                Metres(case.number("mm") * 1e-3),
            )
            .0
        }
        "gauge-mm" => gauge(case).0 * 1e3,
        "gauge-mm2" => gauge(case).circle().0 * 1e6,
        "gauge-ohm" => {
            let length = Metres(case.number("feet") * 0.3048);
            wire_resistance(length, gauge(case)).0 * over_reference(case.number("celsius"))
        }
        _ => return None,
    })
}

fn circuit(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "resistance" => coil_resistance(volts(case), amperes(case)).0,
        "current" => coil_current(volts(case), Ohms(case.number("ohms"))).0,
        "coil-power" => coil_power(volts(case), Ohms(case.number("ohms"))).0,
        "power" => power(volts(case), amperes(case)).0,
        "series" => series(&ohms(case)).0,
        "parallel" => parallel(&ohms(case)).0,
        "parallel-current" => (volts(case) / parallel(&ohms(case))).0,
        "drop" => (amperes(case) * Ohms(case.number("ohms"))).0,
        "hot-over-cold" => hot_resistance(volts(case), amperes(case)) / Ohms(case.number("cold")),
        "feed" => feed(case),
        "practice-drop" => practice_drop(case),
        _ => return None,
    })
}

fn feed(case: &Case) -> f64 {
    let feed = Feed {
        open: volts(case),
        path: Ohms(case.number("path")),
    };
    let load = case.maybe("load").map_or_else(
        || {
            parallel(
                &case
                    .list("beside")
                    .into_iter()
                    .map(Ohms)
                    .collect::<Vec<_>>(),
            )
        },
        Ohms,
    );
    match case.text("of") {
        "lost" => feed.lost(load).0,
        "at-load" => feed.at_load(load).0,
        "current" => feed.current(load).0,
        "resistance" => series(&[feed.path, load]).0,
        _ => feed.unplugged().0,
    }
}

fn practice_drop(case: &Case) -> f64 {
    match case.text("of") {
        "connection" => circuit::CONNECTION_DROP.0,
        "side-least" => circuit::SIDE_DROP.0.0,
        "side-most" => circuit::SIDE_DROP.1.0,
        "critical" => case.number("volts") * circuit::SHARE_DROP.0,
        _ => case.number("volts") * circuit::SHARE_DROP.1,
    }
}

fn cells(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "gravity-volts" => battery::voltage_of_gravity(case.number("gravity")).0,
        "temperature-doubt" => rested(case).temperature_doubt().0,
        "surface-charge" => rested(case).surface_charge().0,
        "load-test" => {
            load_test_minimum(case.number("celsius"))
                .expect("within the table")
                .0
        }
        "standing-loss" => {
            let (least, most) = lost_standing(make(case), case.number("months"));
            if case.text("of") == "least" {
                least
            } else {
                most
            }
        }
        "hydrogen-litres" => {
            let charge = Coulombs(case.number("ampere-hours") * 3600.0);
            hydrogen(charge, case.number("celsius")).0 * 1e3 * case.number("cells")
        }
        _ => return None,
    })
}

fn make(case: &Case) -> Make {
    match case.0.get("make").and_then(|make| make.as_str()) {
        Some("flooded") => Make::Flooded,
        Some("agm") => Make::Agm,
        _ => Make::Unknown,
    }
}

fn rested(case: &Case) -> Rested {
    Rested {
        make: make(case),
        rest: case.maybe("hours").map(|hours| Seconds(hours * 3600.0)),
        celsius: case.maybe("celsius"),
    }
}

fn rested_well(case: &Case, volts: Volts) -> Charge {
    Rested {
        rest: Some(Seconds(86_400.0)),
        ..rested(case)
    }
    .charge(volts)
}

fn word(case: &Case) -> Option<Said> {
    let holds = |charge: Charge| {
        let share = case.number("percent") / 100.0;
        Said::yes(charge.low <= share && share <= charge.high)
    };
    Some(match case.text("check") {
        "charge-holds" => holds(rested_well(case, volts(case))),
        "gravity-charge-holds" => {
            let flooded = Rested {
                make: Make::Flooded,
                rest: Some(Seconds(86_400.0)),
                celsius: None,
            };
            holds(flooded.charge(battery::voltage_of_gravity(case.number("gravity"))))
        }
        "charge-at-least-wide" => {
            let charge = rested_well(case, volts(case));
            Said::yes(charge.high - charge.low >= case.number("percent") / 100.0)
        }
        "asks-rest" => Said::yes(rested(case).needs_rest_time()),
        "charging" => Said::word(format!("{:?}", charging(volts(case)))),
        "leads-worn" => Said::word(if leads_worn(case.number("ohms")) {
            "worn"
        } else {
            "fine"
        }),
        "beep" => beep(case.number("limit")),
        _ => return None,
    })
}

fn fuse_or_relay(case: &Case) -> Option<Said> {
    Some(match case.text("check") {
        "fuse-colour" => Said::word(colour(amperes(case)).unwrap_or("none")),
        "fuse-opening" => fuse_opening(case),
        "fuse-sides" => {
            let (before, behind) = (Volts(case.number("before")), Volts(case.number("behind")));
            Said::word(format!(
                "{:?}",
                fuse::state(fuse::Check::BothSides { before, behind })
            ))
        }
        "relay-terminal" => Said::word(format!(
            "{:?}",
            terminal(case.text("number")).expect("a terminal")
        )),
        "relay-joined" => {
            let other = terminal(case.text("number")).expect("a terminal");
            Said::yes(joined_to_common(other, case.flag("energised")))
        }
        _ => return None,
    })
}

fn beep(limit: f64) -> Said {
    let (bands, meter) = ([Band::below(limit), Band::above(limit)], Meter::cheap());
    let sounded = Raw::shown(Kind::Resistance, Shown::Beep);
    match judge(&Measured::new(sounded, &bands, &meter)) {
        Err(Doubt::BeepProvesLittle { .. }) => Said::word("proves little"),
        Ok(judgement) if judgement.weights[0] > 0.999 => Said::word("below"),
        other => Said::word(format!("{other:?}")),
    }
}

fn fuse_opening(case: &Case) -> Said {
    let rating = Amperes(case.number("rating"));
    match opening(rating, rating * case.number("multiple")) {
        Opening::Holds(Seconds(least)) => Said::word(format!("holds {least} s")),
        Opening::Within(span) => Said::word(format!("{} to {} s", span.start(), span.end())),
        Opening::Unknown => Said::word("unknown"),
    }
}
