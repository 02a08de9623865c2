//! Comparisons and parts that several tests share.
#![allow(dead_code)] // every test takes what it needs

pub mod parts;

use tidewall_devices::datasheet::{ClampPoint, Datasheet, Family, Firmness, PulseRating, RatingWave, Spread};

pub fn within(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{value} is not {expected} ± {tolerance}"
    );
}

pub fn within_percent(value: f64, expected: f64, percent: f64) {
    within(value, expected, 0.01 * percent * expected.abs());
}

/// One row of the automotive 1500 W family datasheet: typical breakdown, stand-off, clamping voltage and current for
/// 10/1000 µs with its resistance, the same for 8/20 µs, temperature coefficient in 1e-4/K, minimum breakdown.
pub struct Row {
    pub typ: f64,
    pub stand_off: f64,
    pub long: (f64, f64),
    pub r_long: f64,
    pub short: (f64, f64),
    pub r_short: f64,
    pub alpha: f64,
    pub min: f64,
}

const fn row(d: [f64; 10]) -> Row {
    let [
        typ,
        stand_off,
        v_long,
        i_long,
        r_long,
        v_short,
        i_short,
        r_short,
        alpha,
        min,
    ] = d;
    Row {
        typ,
        stand_off,
        long: (v_long, i_long),
        r_long,
        short: (v_short, i_short),
        r_short,
        alpha,
        min,
    }
}

pub const FAMILY: [Row; 10] = [
    row([18.0, 15.3, 25.2, 59.5, 0.106, 32.5, 308.0, 0.044, 8.8, 17.1]),
    row([22.0, 18.8, 30.6, 49.0, 0.153, 39.3, 254.0, 0.064, 9.2, 20.9]),
    row([24.0, 20.5, 33.2, 45.0, 0.178, 42.8, 234.0, 0.075, 9.4, 22.8]),
    row([27.0, 23.1, 37.5, 40.0, 0.228, 48.3, 207.0, 0.096, 9.6, 25.7]),
    row([30.0, 25.6, 41.5, 36.0, 0.278, 53.5, 187.0, 0.12, 9.7, 28.5]),
    row([33.0, 28.2, 45.7, 33.0, 0.333, 59.0, 169.0, 0.14, 9.8, 31.4]),
    row([36.0, 30.8, 49.9, 30.0, 0.403, 64.3, 156.0, 0.17, 9.9, 34.2]),
    row([39.0, 33.3, 53.9, 28.0, 0.461, 69.7, 143.0, 0.20, 10.0, 37.1]),
    row([47.0, 40.2, 64.5, 23.2, 0.653, 84.0, 119.0, 0.291, 10.1, 44.7]),
    row([68.0, 58.1, 92.0, 16.3, 1.26, 121.0, 83.0, 0.60, 10.4, 64.6]),
];

pub fn max(value: f64) -> Spread {
    Spread {
        max: Some(value),
        ..Spread::default()
    }
}

pub fn spread(min: f64, typ: f64, max: f64) -> Spread {
    Spread {
        min: Some(min),
        typ: Some(typ),
        max: Some(max),
    }
}

pub fn clamp(wave: RatingWave, current_a: f64, voltage_v: f64) -> ClampPoint {
    ClampPoint {
        wave,
        current_a,
        voltage_v: max(voltage_v),
    }
}

pub fn rating(wave: RatingWave, power_w: Option<f64>, current_a: Option<f64>) -> PulseRating {
    PulseRating {
        wave,
        power_w,
        current_a,
        energy_j: None,
        pulses: 1,
    }
}

/// Datasheet of a row, with both clamping points.
pub fn datasheet(row: &Row) -> Datasheet {
    let mut sheet = Datasheet::unknown("row", Family::Avalanche, "automotive 1500 W family datasheet");
    sheet.firmness = Some(Firmness::Guaranteed);
    sheet.bidirectional = Some(true);
    sheet.stand_off_v = Some(row.stand_off);
    sheet.breakdown_v = spread(row.min, row.typ, 1.05 * row.typ);
    sheet.breakdown_at_a = Some(1e-3);
    sheet.clamp = vec![
        clamp(RatingWave::Long10x1000, row.long.1, row.long.0),
        clamp(RatingWave::Surge8x20, row.short.1, row.short.0),
    ];
    sheet.ratings = vec![rating(RatingWave::Long10x1000, Some(1500.0), Some(row.long.1))];
    sheet.alpha_per_k = Some(1e-4 * row.alpha);
    sheet.junction_max_c = Some(150.0);
    sheet
}
