//! Checks of flow, head, fuel demand and vapour.

use super::case::{Case, Said};
use floatbowl::quantity::fuel::{CONSUMPTION, DENSITY, demand, density_with_can, efficiency};
use floatbowl::quantity::hydraulics::{
    Hose, Liquid, Loss, Orifice, depth, efflux, head, height_for, nozzle_pressure, speed,
};
use floatbowl::quantity::si::{
    CubicMetres, CubicMetresPerSecond, Kilograms, KilogramsPerCubicMetre, KilogramsPerJoule,
    Metres, PascalSeconds, Pascals, SquareMetres, Watts,
};
use floatbowl::quantity::vapour::{Volatile, category, over_air};

pub fn check(case: &Case) -> Option<Said> {
    Some(match case.text("check") {
        "category" => {
            let found = category(case.number("flash"), case.number("boiling"));
            Said::word(found.map_or("none".to_owned(), |category| category.to_string()))
        }
        "hose-regime" => Said::word(match hose(case).loss(flow(case), liquid(case)) {
            Loss::Laminar(Pascals(loss)) => format!("laminar {loss:.1} Pa"),
            Loss::MoreThan(Pascals(loss)) => format!("more than {loss:.1} Pa"),
        }),
        _ => Said::Number(
            gravity(case)
                .or_else(|| pipes(case))
                .or_else(|| fuel(case))?,
        ),
    })
}

fn density(case: &Case) -> KilogramsPerCubicMetre {
    KilogramsPerCubicMetre(case.number("density"))
}

fn millimetres(case: &Case, name: &str) -> Metres {
    Metres(case.number(name) * 1e-3)
}

fn flow(case: &Case) -> CubicMetresPerSecond {
    CubicMetresPerSecond(case.number("ml-per-s") * 1e-6)
}

fn hose(case: &Case) -> Hose {
    Hose {
        bore: millimetres(case, "bore-mm"),
        length: Metres(case.number("metres")),
    }
}

fn liquid(case: &Case) -> Liquid {
    Liquid {
        density: density(case),
        viscosity: PascalSeconds(case.number("viscosity")),
    }
}

fn gravity(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "head" => head(density(case), Metres(case.number("metres")))
            .in_unit(case.unit("to"))
            .expect("a pressure"),
        "height" => {
            let pressure =
                Pascals::of(case.number("value"), case.unit("from")).expect("a pressure");
            height_for(pressure, density(case)).0
        }
        "efflux" => efflux(Metres(case.number("metres"))).0,
        "tank-depth" => {
            depth(
                Kilograms(case.number("kilograms")),
                density(case),
                SquareMetres(case.number("floor")),
            )
            .0
        }
        "volume-of" => (Kilograms(case.number("kilograms")) / density(case))
            .in_unit(case.unit("to"))
            .expect("a volume"),
        "with-can" => {
            let litres = CubicMetres(case.number("litres") * 1e-3);
            density_with_can(Kilograms(case.number("can")), litres, density(case)).0
        }
        _ => return None,
    })
}

fn orifice(case: &Case) -> Orifice {
    Orifice {
        bore: millimetres(case, "bore-mm"),
        discharge: case.number("discharge"),
    }
}

fn pipes(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "hose-loss" => match hose(case).loss(flow(case), liquid(case)) {
            Loss::Laminar(loss) => loss.0 + case.number("plus"),
            Loss::MoreThan(_) => panic!("laminar flow expected"),
        },
        "reynolds" => hose(case).reynolds(flow(case), liquid(case)),
        "speed" => speed(flow(case), millimetres(case, "bore-mm")).0,
        "orifice" => {
            orifice(case)
                .flow(Pascals(case.number("kpa") * 1e3), density(case))
                .0
                * 1e6
        }
        "drain" => {
            orifice(case)
                .drain_time(
                    SquareMetres(case.number("floor")),
                    Metres(case.number("from")),
                    Metres(case.number("to")),
                )
                .0
        }
        "nozzle" => {
            let through = |bore| speed(flow(case), millimetres(case, bore));
            let water = KilogramsPerCubicMetre(1000.0);
            nozzle_pressure(
                water,
                through("before-mm"),
                through("after-mm"),
                Metres(case.number("metres")),
            )
            .0
        }
        _ => return None,
    })
}

fn fuel(case: &Case) -> Option<f64> {
    let consumption = || KilogramsPerJoule(case.number("g-per-kwh") * 1e-3 / 3.6e6);
    let end = |least: f64, most: f64| {
        if case.text("of") == "least" {
            least
        } else {
            most
        }
    };
    Some(match case.text("check") {
        "demand" => demand(
            Watts(case.number("kilowatts") * 1e3),
            consumption(),
            density(case),
        )
        .in_unit(case.unit("to"))
        .expect("a flow"),
        "efficiency" => efficiency(consumption(), case.number("mj-per-kg") * 1e6),
        "petrol-density" => end(DENSITY.0.0, DENSITY.1.0),
        "consumption" => {
            let shown = |c: KilogramsPerJoule| c.in_unit(case.unit("to")).expect("a consumption");
            end(shown(CONSUMPTION.0), shown(CONSUMPTION.1))
        }
        "over-air" => over_air(case.number("molar-mass")),
        "liquid-to-limit-ml" => {
            let liquid = Volatile {
                molar_mass: case.number("molar-mass"),
                density: case.number("density"),
                lower_limit: case.number("limit"),
            };
            liquid.to_reach_limit(CubicMetres(case.number("room"))).0 * 1e6
        }
        _ => return None,
    })
}
