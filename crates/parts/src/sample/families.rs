//! What the parts of a family look like.

use super::{Draw, Filled, three_digits};

/// E24 steps of a decade.
const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
    7.5, 8.2, 9.1,
];

/// Pulse power on 8/20 µs over that on 10/1000 µs: √t heating, as in the demonstration parts.
const SHORT_OVER_LONG: f64 = 6.67;

/// Invented names begin with a tree or a bird; more than three digits keep them apart from the demonstration parts.
fn begin(number: u32, tree: &str, family: &str, filled: &mut Filled) {
    filled.text("Name", &format!("{tree}-{number:05}"));
    filled.text("Family", family);
}

/// Fills the row of one part.
pub(super) fn fill(number: u32, draw: &mut Draw, filled: &mut Filled) {
    // Of twenty parts eleven avalanche diodes, four flat clamps, two varistors, two thyristors and one gas tube.
    match number % 20 {
        1..=11 => avalanche(number, draw, filled),
        12..=15 => flat_clamp(number, draw, filled),
        16 | 17 => varistor(number, draw, filled),
        18 | 19 => thyristor(number, draw, filled),
        _ => gas_tube(number, draw, filled),
    }
}

/// An E24 step between two voltages.
fn step(draw: &mut Draw, low: f64, high: f64) -> f64 {
    let steps: Vec<f64> = (0..4)
        .flat_map(|decade| E24.map(|step| step * 10f64.powi(decade)))
        .filter(|step| (low..=high).contains(step))
        .collect();
    three_digits(draw.one_of(&steps))
}

fn package(power_w: f64, draw: &mut Draw, filled: &mut Filled) {
    let (area_mm2, inductance_nh) = match power_w {
        power if power >= 3000.0 => (48.0, 2.0),
        power if power >= 1500.0 => (44.0, 1.5),
        power if power >= 600.0 => (19.0, 1.0),
        power if power >= 400.0 => (10.5, 0.8),
        _ => (4.6, 0.6),
    };
    filled.number("Area (mm²)", area_mm2);
    filled.number("Package inductance (nH)", inductance_nh);
    filled.number("Tj max (°C)", if power_w > 600.0 { 175.0 } else { 150.0 });
    filled.number("RthJA (K/W)", 15.0 * (3000.0 / power_w).powf(0.8));
    let spread = draw.between(0.8, 1.25);
    filled.number("Price", spread * 0.08 * (power_w / 200.0).powf(0.7));
}

fn polarity(power_w: f64, draw: &mut Draw, filled: &mut Filled) -> bool {
    let bidirectional = draw.flag();
    filled.text("Bidirectional", if bidirectional { "yes" } else { "no" });
    if !bidirectional {
        filled.number("VF (V)", 0.8);
        filled.number("RF (mΩ)", 20.0 * 600.0 / power_w);
    }
    bidirectional
}

/// Leakage at the stand-off voltage: by area, and far more where the breakdown is part tunnelling, below some 10 V.
fn leakage(power_w: f64, stand_off_v: f64, draw: &mut Draw, filled: &mut Filled) {
    let low_voltage = match stand_off_v {
        v if v < 6.5 => 200.0,
        v if v < 8.5 => 50.0,
        v if v < 11.0 => 5.0,
        _ => 1.0,
    };
    let cold_ua = 0.3 * (power_w / 1000.0) * low_voltage * draw.between(0.7, 1.4);
    filled.number("IR @ VRWM 25 °C (µA)", cold_ua);
    filled.number("IR @ VRWM 85 °C (µA)", cold_ua * draw.between(5.0, 8.0));
}

/// Capacitance: by area over the width of the depletion layer, that is by pulse power over voltage.
fn capacitance(at_zero_pf: f64, at_stand_off: Option<f64>, filled: &mut Filled) {
    filled.number("C @ 0 V min (pF)", 0.8 * at_zero_pf);
    filled.number("C @ 0 V typ (pF)", at_zero_pf);
    filled.number("C @ 0 V max (pF)", 1.2 * at_zero_pf);
    if let Some(share) = at_stand_off {
        filled.number("C @ VRWM typ (pF)", share * at_zero_pf);
    }
}

fn avalanche(number: u32, draw: &mut Draw, filled: &mut Filled) {
    let tree = draw.one_of(&["alder", "willow", "birch", "poplar", "aspen"]);
    begin(number, tree, "avalanche", filled);
    let stand_off_v = step(draw, 5.0, 220.0);
    let power_w = draw.one_of(&[200.0, 400.0, 600.0, 1500.0, 3000.0, 5000.0]);
    let bidirectional = polarity(power_w, draw, filled);
    let (low_v, high_v) = (1.11 * stand_off_v, 1.23 * stand_off_v);
    filled.number("VRWM (V)", stand_off_v);
    filled.number("VBR min (V)", low_v);
    filled.number("VBR max (V)", high_v);
    filled.number("IT (mA)", if stand_off_v < 8.5 { 10.0 } else { 1.0 });
    // The longer wave heats more, so that its clamping line is the steeper one.
    let shape = draw.between(0.99, 1.01);
    let (long_v, short_v) = (1.318 * shape * high_v, 1.717 * shape * high_v);
    filled.number("VC @ IC1 10/1000 (V)", long_v);
    filled.number("IC1 10/1000 (A)", power_w / long_v);
    filled.number("VC @ IC2 8/20 (V)", short_v);
    filled.number("IC2 8/20 (A)", SHORT_OVER_LONG * power_w / short_v);
    filled.number("Ppp 10/1000 (W)", power_w);
    filled.number("Ppp 8/20 (W)", SHORT_OVER_LONG * power_w);
    filled.number("Ipp 10/1000 (A)", power_w / long_v);
    filled.number("Ipp 8/20 (A)", SHORT_OVER_LONG * power_w / short_v);
    // From tunnelling to pure avalanche the coefficient climbs from near zero towards 0.11 %/K.
    filled.number("Temp coefficient (%/K)", 0.103 * (1.0 - 2.0 / stand_off_v));
    leakage(power_w, stand_off_v, draw, filled);
    let at_zero_pf = 20.0 * power_w / stand_off_v.powf(0.95) * draw.between(0.9, 1.1);
    capacitance(
        if bidirectional {
            at_zero_pf
        } else {
            1.9 * at_zero_pf
        },
        Some(0.28),
        filled,
    );
    package(power_w, draw, filled);
}

fn flat_clamp(number: u32, draw: &mut Draw, filled: &mut Filled) {
    let tree = draw.one_of(&["maple", "larch", "cedar"]);
    begin(number, tree, "flat-clamp", filled);
    let stand_off_v = step(draw, 12.0, 100.0);
    let power_w = draw.one_of(&[400.0, 600.0, 1500.0, 3000.0]);
    polarity(power_w, draw, filled);
    filled.number("VRWM (V)", stand_off_v);
    filled.number("VBR min (V)", 1.115 * stand_off_v);
    filled.number("VBR typ (V)", 1.20 * stand_off_v);
    filled.number("VBR max (V)", 1.29 * stand_off_v);
    filled.number("IT (mA)", 1.0);
    let high_v = 1.32 * stand_off_v;
    filled.number("On voltage min (V)", 1.14 * stand_off_v);
    filled.number("On voltage typ (V)", 1.23 * stand_off_v);
    filled.number("On voltage max (V)", high_v);
    // At the rated current on 8/20 µs the branch has risen by 8 %.
    let rise = 0.08;
    let short_a = SHORT_OVER_LONG * power_w / (high_v * (1.0 + rise));
    let ohm = rise * high_v / short_a;
    filled.number("Dynamic resistance (mΩ)", 1e3 * ohm);
    filled.number("Ipp 8/20 (A)", short_a);
    filled.number("Ipp 10/1000 (A)", power_w / (high_v * (1.0 + rise / 6.0)));
    filled.number("Saturation current (A)", 1.6 * short_a);
    filled.number("Transistor breakdown (V)", 1.65 * stand_off_v);
    filled.number("Turn-off voltage (V)", 1.03 * stand_off_v);
    filled.number("Turn-on delay (ns)", draw.between(3.0, 8.0));
    filled.number("Temp coefficient (%/K)", 0.02);
    leakage(0.5 * power_w, stand_off_v, draw, filled);
    let at_zero_pf = 16.0 * power_w / stand_off_v.powf(0.95) * draw.between(0.9, 1.1);
    capacitance(at_zero_pf, Some(0.33), filled);
    package(power_w, draw, filled);
    let price = draw.between(0.8, 1.25) * 0.35 * (power_w / 200.0).powf(0.7);
    filled.number("Price", price);
}

fn varistor(number: u32, draw: &mut Draw, filled: &mut Filled) {
    begin(number, "beech", "varistor", filled);
    let nominal_v = step(draw, 18.0, 820.0);
    let (diameter_mm, short_a) = draw.one_of(&[
        (5.0, 100.0),
        (7.0, 250.0),
        (10.0, 500.0),
        (14.0, 1000.0),
        (20.0, 2000.0),
    ]);
    // The highest continuous direct voltage is about four fifths of the voltage at 1 mA.
    filled.number("VRWM (V)", 0.8 * nominal_v);
    filled.number("VBR min (V)", 0.9 * nominal_v);
    filled.number("VBR typ (V)", nominal_v);
    filled.number("VBR max (V)", 1.1 * nominal_v);
    filled.number("IT (mA)", 1.0);
    filled.number("VC @ IC2 8/20 (V)", 1.964 * nominal_v);
    filled.number("IC2 8/20 (A)", 0.01 * short_a);
    filled.number("VC @ IC3 8/20 (V)", 2.589 * nominal_v);
    filled.number("IC3 8/20 (A)", 0.1 * short_a);
    filled.number("Ipp 8/20 (A)", short_a);
    filled.number("Pulse life p", 0.35);
    filled.number("Pulse life q", 0.6);
    filled.number("Temp coefficient (%/K)", -0.05);
    let area = (diameter_mm / 20.0_f64).powi(2);
    filled.number("IR @ VRWM 25 °C (µA)", 10.0);
    filled.number("IR @ VRWM 85 °C (µA)", 50.0);
    capacitance(7500.0 * area * 56.0 / nominal_v, None, filled);
    filled.number("Tj max (°C)", 125.0);
    filled.number("Derating from (°C)", 85.0);
    filled.number("Power dissipation (W)", 0.2 * area.max(0.05));
    filled.number("Package inductance (nH)", 8.0);
    filled.number("Area (mm²)", diameter_mm * 5.0);
    filled.number("Price", draw.between(0.8, 1.25) * (0.05 + 0.5 * area));
}

fn thyristor(number: u32, draw: &mut Draw, filled: &mut Filled) {
    begin(number, "heron", "thyristor", filled);
    let stand_off_v = step(draw, 24.0, 330.0);
    let (long_a, short_a) = draw.one_of(&[(50.0, 250.0), (80.0, 400.0), (100.0, 500.0), (200.0, 1000.0)]);
    filled.text("Bidirectional", "yes");
    filled.number("VRWM (V)", stand_off_v);
    filled.number("VBR min (V)", 1.05 * stand_off_v);
    filled.number("VBR max (V)", 1.33 * stand_off_v);
    filled.number("IT (mA)", 300.0);
    filled.number("On voltage min (V)", 1.2);
    filled.number("On voltage typ (V)", 1.6);
    filled.number("On voltage max (V)", 2.0);
    filled.number("Dynamic resistance (mΩ)", 2000.0 / long_a);
    filled.number("IH min (mA)", draw.one_of(&[50.0, 120.0, 150.0, 180.0]));
    filled.number("IH temp coefficient (%/K)", -0.7);
    filled.number("Turn-on delay (ns)", draw.between(200.0, 800.0));
    filled.number("Temp coefficient (%/K)", 0.1);
    filled.number("Ipp 10/1000 (A)", long_a);
    filled.number("Ipp 8/20 (A)", short_a);
    filled.number("IR @ VRWM 25 °C (µA)", 5.0);
    filled.number("IR @ VRWM 85 °C (µA)", 20.0);
    capacitance(1.1 * long_a * (100.0 / stand_off_v).sqrt(), Some(0.4), filled);
    package(20.0 * long_a, draw, filled);
    filled.number("Tj max (°C)", 150.0);
}

fn gas_tube(number: u32, draw: &mut Draw, filled: &mut Filled) {
    begin(number, "elm", "gas-tube", filled);
    let direct_v = draw.one_of(&[75.0, 90.0, 150.0, 230.0, 350.0, 470.0, 600.0]);
    let high_v = 1.2 * direct_v;
    filled.number("VBR min (V)", 0.8 * direct_v);
    filled.number("VBR typ (V)", direct_v);
    filled.number("VBR max (V)", high_v);
    // Firing points on V + a S^b; late tubes lie a fifth above.
    let slow_v = 120.0 + direct_v;
    let fast_v = 2.19 * slow_v;
    filled.number("Spark-over 100 V/µs typ (V)", direct_v + slow_v);
    filled.number("Spark-over 100 V/µs max (V)", high_v + 1.2 * slow_v);
    filled.number("Spark-over 1 kV/µs typ (V)", direct_v + fast_v);
    filled.number("Spark-over 1 kV/µs max (V)", high_v + 1.2 * fast_v);
    filled.number("Glow voltage (V)", 60.0 + 0.06 * direct_v);
    filled.number("Glow-to-arc current (A)", draw.between(0.3, 0.6));
    filled.number("Arc voltage (V)", draw.between(10.0, 16.0));
    filled.number("Holdover voltage (V)", (0.58 * direct_v).min(135.0));
    let class = draw.one_of(&[2.5, 5.0, 10.0, 20.0]);
    filled.number("Ipp 8/20 (A)", 1e3 * class);
    filled.text("Pulses 8/20", "10");
    filled.number("Ipp 10/1000 (A)", 20.0 * class);
    filled.text("Pulses 10/1000", "300");
    capacitance(0.8, None, filled);
    filled.number("Package inductance (nH)", 3.0);
    filled.number("Area (mm²)", 25.0 + 4.0 * class);
    filled.number("Price", draw.between(0.3, 0.5) + 0.03 * class);
}
