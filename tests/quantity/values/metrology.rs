//! Checks of conversions, uncertainty and conformity.

use super::case::{Case, Said};
use floatbowl::quantity::band::share;
use floatbowl::quantity::budget::{
    Input, combined, coverage_factor, effective_freedom, independent,
};
use floatbowl::quantity::distribution::{Shape, Sum};
use floatbowl::quantity::guard::{action_level, false_acceptance, guarded};
use floatbowl::quantity::{Band, Judgement, Kind, Measured, Meter, Raw, Unit, flow, judge};

pub fn check(case: &Case) -> Option<Said> {
    Some(match case.text("check") {
        "guarded" => Said::word(format!(
            "{:?}",
            guarded(
                case.number("value"),
                case.number("limit"),
                case.number("guard")
            )
        )),
        _ => Said::Number(
            unit_number(case)
                .or_else(|| budget_number(case))
                .or_else(|| conformity_number(case))?,
        ),
    })
}

fn unit_number(case: &Case) -> Option<f64> {
    let value = || case.number("value");
    let converted = || {
        case.unit("from")
            .convert(value(), case.unit("to"))
            .expect("one dimension")
    };
    Some(match case.text("check") {
        "convert" => converted(),
        "excess" => converted() / case.number("over") - 1.0,
        "difference" => case
            .unit("from")
            .convert_difference(value(), case.unit("to"))
            .expect("one dimension"),
        "flow" => caught(case),
        "volume-percent" => {
            100.0
                * case
                    .unit("of")
                    .convert(value(), case.unit("in"))
                    .expect("one dimension")
        }
        _ => return None,
    })
}

fn caught(case: &Case) -> f64 {
    let litres = case
        .unit("of")
        .convert(case.number("volume"), Unit::base(Kind::Volume));
    let volume = Raw::value(Kind::Volume, litres.expect("a volume"), None).said_in(case.unit("of"));
    let duration = Raw::value(Kind::Duration, case.number("seconds"), None);
    let worked_out = flow(&volume, &duration, &Meter::cheap()).expect("a flow");
    let per_minute = worked_out.raw.centre().expect("a number");
    Unit::base(Kind::Flow)
        .convert(per_minute, case.unit("to"))
        .expect("a flow unit")
}

fn inputs(case: &Case) -> Vec<Input> {
    let with_freedom = |(u, freedom)| Input {
        u,
        sensitivity: 1.0,
        freedom,
    };
    case.list("u")
        .into_iter()
        .zip(case.list("freedom"))
        .map(with_freedom)
        .collect()
}

fn budget_number(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "combined" => {
            let signed = |(u, sign)| Input::known(u, sign);
            let inputs: Vec<Input> = case
                .list("u")
                .into_iter()
                .zip(case.list("signs"))
                .map(signed)
                .collect();
            combined(&inputs, |_, _| case.number("r"))
        }
        "freedom" => effective_freedom(&inputs(case)),
        "expanded" => {
            let inputs = inputs(case);
            independent(&inputs)
                * coverage_factor(case.number("coverage"), effective_freedom(&inputs))
        }
        "coverage-factor" => coverage_factor(case.number("coverage"), case.number("freedom")),
        "quotient-u" => {
            let (a, b) = (case.number("a"), case.number("b"));
            independent(&[
                Input::known(case.number("ua"), 1.0 / b),
                Input::known(case.number("ub"), a / b / b),
            ])
        }
        "gum-h2" => gum_h2(case.text("of")),
        _ => return None,
    })
}

/// GUM H.2: voltage, current and phase with their correlations; sensitivities of V/I times the
/// cosine, the sine, and one.
fn gum_h2(of: &str) -> f64 {
    let (v, i, phase) = (4.9990, 19.661e-3, 1.044_46_f64);
    let (shape, slope) = match of {
        "R" => (phase.cos(), -phase.sin()),
        "X" => (phase.sin(), phase.cos()),
        _ => (1.0, 0.0),
    };
    let inputs = [
        Input::known(0.0032, shape / i),
        Input::known(0.0095e-3, -v / i / i * shape),
        Input::known(0.000_75, v / i * slope),
    ];
    combined(&inputs, |a, b| match (a.min(b), a.max(b)) {
        (0, 1) => -0.36,
        (0, 2) => 0.86,
        _ => -0.65,
    })
}

fn sum(case: &Case) -> Sum {
    let rectangles = case.list("rectangles").into_iter().map(Shape::within);
    let normals = case
        .list("normals")
        .into_iter()
        .map(|sd| Shape::Normal { sd });
    Sum::about(0.0, &rectangles.chain(normals).collect::<Vec<_>>())
}

fn conformity_number(case: &Case) -> Option<f64> {
    Some(match case.text("check") {
        "u" => sum(case).sd(),
        "half-width" => sum(case).half_width(case.number("coverage")),
        "k" => sum(case).half_width(case.number("coverage")) / sum(case).sd(),
        "conforms" => conforms(case),
        "action-level" => {
            action_level(case.number("limit"), case.number("share"), case.number("z"))
        }
        "false-acceptance" => false_acceptance(case.number("guard")),
        "reading-u" => {
            judged(case)
                .estimate
                .expect("a number")
                .standard_uncertainty
        }
        "judged" => of_judgement(case),
        _ => return None,
    })
}

fn conforms(case: &Case) -> f64 {
    let sum = Sum::about(
        case.number("value"),
        &[Shape::Normal {
            sd: case.number("u"),
        }],
    );
    let within = Band {
        low: case.maybe("low"),
        high: case.maybe("high"),
        ..Band::default()
    };
    let rest = [
        case.maybe("low").map(Band::below),
        case.maybe("high").map(Band::above),
    ];
    let bands: Vec<Band> = std::iter::once(within)
        .chain(rest.into_iter().flatten())
        .collect();
    share(&bands, |limit| sum.below(limit)).expect("bands with limits")[0]
}

fn judged(case: &Case) -> Judgement {
    let kind = match case.text("kind") {
        "resistance" => Kind::Resistance,
        _ => Kind::Voltage,
    };
    let bands = match (case.maybe("low"), case.maybe("high")) {
        (Some(low), _) => [Band::above(low), Band::below(low)],
        (_, Some(high)) => [Band::below(high), Band::above(high)],
        _ => [Band::above(0.0), Band::below(0.0)],
    };
    let meter = Meter::rated(case.number("percent"), case.number("digits")).with_contact(0.0);
    let raw = |value| Raw::value(kind, value, case.maybe("step"));
    judge(&Measured {
        offset: case.maybe("offset").map(raw),
        ..Measured::new(raw(case.number("value")), &bands, &meter)
    })
    .expect("a plain reading")
}

fn of_judgement(case: &Case) -> f64 {
    let judgement = judged(case);
    let estimate = judgement.estimate.as_ref().expect("a number");
    match case.text("of") {
        "corrected" => estimate.corrected,
        "u" => estimate.standard_uncertainty,
        _ => judgement.weights[0],
    }
}
