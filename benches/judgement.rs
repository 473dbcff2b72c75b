//! How long a judgement takes, from a single rectangle to the worst budget.

use divan::{Bencher, black_box};
use floatbowl::quantity::{Band, Kind, Measured, Meter, Raw, Winding, judge};

fn main() {
    divan::main();
}

fn bands() -> [Band; 3] {
    [Band::below(1.6), Band::between(1.6, 2.2), Band::above(2.2)]
}

#[divan::bench]
fn one_voltage(bencher: Bencher) {
    let (bands, meter) = ([Band::below(12.4), Band::above(12.4)], Meter::cheap());
    let measured = Measured::new(Raw::value(Kind::Voltage, 12.45, Some(0.01)), &bands, &meter);
    bencher.bench(|| judge(black_box(&measured)));
}

#[divan::bench]
fn a_winding_less_its_leads_at_another_temperature(bencher: Bencher) {
    let (bands, meter) = (bands(), Meter::rated(0.5, 0.0));
    let measured = Measured {
        offset: Some(Raw::value(Kind::Resistance, 1.6, Some(0.1))),
        winding: Some(Winding {
            at_celsius: 35.0,
            doubt: 5.0,
            spec_celsius: 20.0,
        }),
        ..Measured::new(Raw::value(Kind::Resistance, 3.4, Some(0.1)), &bands, &meter)
    };
    bencher.bench(|| judge(black_box(&measured)));
}
