//! One complete part of every family, invented where no source is named.

use tidewall_devices::datasheet::{Datasheet, Family, FiringPoint, Firmness, RatingWave, Spread};

use super::{clamp, max, rating, spread};

pub fn forward(sheet: &mut Datasheet) {
    sheet.forward_v = Some(3.5);
    sheet.forward_at_a = Some(100.0);
}

pub fn empty(family: Family) -> Datasheet {
    let mut sheet = Datasheet::unknown("invented", family, "invented for this test");
    sheet.firmness = Some(Firmness::Guaranteed);
    sheet
}

pub fn flat_clamp() -> Datasheet {
    let mut sheet = empty(Family::FlatClamp);
    sheet.bidirectional = Some(false);
    sheet.stand_off_v = Some(33.0);
    sheet.breakdown_v = spread(34.5, 35.5, 36.5);
    sheet.on_v = spread(34.0, 35.0, 36.0);
    sheet.dynamic_ohm = Some(0.03);
    sheet.alpha_per_k = Some(1e-4);
    sheet.turn_on_s = Some(2e-9);
    sheet.turn_off_v = Some(30.5);
    sheet.saturation_a = Some(60.0);
    sheet.transistor_breakdown_v = Some(45.0);
    sheet.junction_max_c = Some(150.0);
    sheet.ratings = vec![rating(RatingWave::Surge8x20, None, Some(40.0))];
    forward(&mut sheet);
    sheet
}

pub fn snapback() -> Datasheet {
    // 3.3 V snapback array datasheet (2016), with a spread and a holding current invented.
    let mut sheet = empty(Family::Snapback);
    sheet.bidirectional = Some(true);
    sheet.stand_off_v = Some(3.3);
    sheet.breakdown_v = spread(5.0, 6.5, 8.0);
    sheet.clamp = vec![
        clamp(RatingWave::Rectangle { width_s: 100e-9 }, 4.0, 3.5),
        clamp(RatingWave::Rectangle { width_s: 100e-9 }, 16.0, 5.3),
    ];
    sheet.hold_a = Spread {
        min: Some(0.03),
        ..Spread::default()
    };
    sheet.alpha_per_k = Some(5e-4);
    sheet
}

pub fn varistor() -> Datasheet {
    // 420 V ac disc: V1mA 680 V ± 10 %, 1120 V at 50 A.
    let mut sheet = empty(Family::Varistor);
    sheet.breakdown_v = spread(612.0, 680.0, 748.0);
    sheet.clamp = vec![clamp(RatingWave::Surge8x20, 50.0, 1120.0)];
    sheet
}

pub fn gas_tube() -> Datasheet {
    // 230 V row of the two-pole tube datasheet; direct spark-over ± 15 %.
    let mut sheet = empty(Family::GasTube);
    sheet.breakdown_v = spread(195.5, 230.0, 264.5);
    let firing = |slope_v_per_s, volts| FiringPoint {
        slope_v_per_s,
        voltage_v: max(volts),
    };
    sheet.firing = vec![firing(100e6, 450.0), firing(1e9, 600.0)];
    sheet.glow_v = Some(70.0);
    sheet.glow_to_arc_a = Some(0.5);
    sheet.arc_v = Some(10.0);
    sheet
}

pub fn thyristor() -> Datasheet {
    // 5 V line thyristor datasheet (2016).
    let mut sheet = empty(Family::Thyristor);
    sheet.bidirectional = Some(true);
    sheet.stand_off_v = Some(5.25);
    sheet.breakdown_v = max(10.5);
    sheet.breakdown_at_a = Some(0.2);
    sheet.on_v = max(1.0);
    sheet.clamp = vec![clamp(RatingWave::Rectangle { width_s: 1e-3 }, 5.0, 3.0)];
    sheet.hold_a = Spread {
        min: Some(0.02),
        typ: Some(0.06),
        max: None,
    };
    sheet.alpha_per_k = Some(1e-3);
    sheet
}

pub fn table() -> Datasheet {
    let mut sheet = empty(Family::Table);
    sheet.bidirectional = Some(true);
    sheet.table = vec![(30.0, 1e-4), (36.0, 0.1), (38.0, 10.0), (41.0, 40.0)];
    sheet
}

pub fn steering() -> Datasheet {
    let mut sheet = empty(Family::Steering);
    forward(&mut sheet);
    sheet.rail_f = Some(1e-6);
    sheet.rail_v = Some(3.3);
    sheet.rail_clamp = Some((6.0, 0.2));
    sheet
}
