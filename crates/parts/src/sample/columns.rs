//! The columns of the invented table, and the mapping that reads it.

use std::fmt::Write as _;

/// A column.
pub(super) struct Column {
    /// Its header.
    pub header: &'static str,
    /// Whether it holds numbers.
    pub numeric: bool,
    /// What it states, in the words of a mapping file; empty for name and family, and for columns that others refer to.
    pub datum: &'static str,
    /// Its unit.
    pub unit: &'static str,
}

const fn words(header: &'static str, datum: &'static str) -> Column {
    Column {
        header,
        numeric: false,
        datum,
        unit: "",
    }
}

const fn numbers(header: &'static str, unit: &'static str, datum: &'static str) -> Column {
    Column {
        header,
        numeric: true,
        datum,
        unit,
    }
}

const AT_IT: &str = r#"current = { column = "IT (mA)", unit = "mA" }"#;

/// All columns, from left to right.
pub(super) const COLUMNS: &[Column] = &[
    words("Name", ""),
    words("Family", ""),
    words("Bidirectional", r#"key = "bidirectional""#),
    numbers("VRWM (V)", "V", r#"key = "stand_off""#),
    numbers("VBR min (V)", "V", r#"key = "breakdown", role = "min", AT_IT"#),
    numbers("VBR typ (V)", "V", r#"key = "breakdown", role = "typ", AT_IT"#),
    numbers("VBR max (V)", "V", r#"key = "breakdown", role = "max", AT_IT"#),
    numbers("IT (mA)", "mA", ""),
    numbers(
        "VC @ IC1 10/1000 (V)",
        "V",
        r#"key = "clamp", role = "max", wave = "10/1000", current = { column = "IC1 10/1000 (A)", unit = "A" }"#,
    ),
    numbers("IC1 10/1000 (A)", "A", ""),
    numbers(
        "VC @ IC2 8/20 (V)",
        "V",
        r#"key = "clamp", role = "max", wave = "8/20", current = { column = "IC2 8/20 (A)", unit = "A" }"#,
    ),
    numbers("IC2 8/20 (A)", "A", ""),
    numbers(
        "VC @ IC3 8/20 (V)",
        "V",
        r#"key = "clamp", role = "max", wave = "8/20", current = { column = "IC3 8/20 (A)", unit = "A" }"#,
    ),
    numbers("IC3 8/20 (A)", "A", ""),
    numbers(
        "Ppp 10/1000 (W)",
        "W",
        r#"key = "rating.power", wave = "10/1000", pulses = { column = "Pulses 10/1000" }"#,
    ),
    numbers(
        "Ppp 8/20 (W)",
        "W",
        r#"key = "rating.power", wave = "8/20", pulses = { column = "Pulses 8/20" }"#,
    ),
    numbers(
        "Ipp 10/1000 (A)",
        "A",
        r#"key = "rating.current", wave = "10/1000", pulses = { column = "Pulses 10/1000" }"#,
    ),
    words("Pulses 10/1000", ""),
    numbers(
        "Ipp 8/20 (A)",
        "A",
        r#"key = "rating.current", wave = "8/20", pulses = { column = "Pulses 8/20" }"#,
    ),
    words("Pulses 8/20", ""),
    numbers(
        "Temp coefficient (%/K)",
        "%/K",
        r#"key = "temperature_coefficient""#,
    ),
    numbers(
        "IR @ VRWM 25 °C (µA)",
        "µA",
        r#"key = "leakage", voltage = { column = "VRWM (V)", unit = "V" }, temperature = "25 °C""#,
    ),
    numbers(
        "IR @ VRWM 85 °C (µA)",
        "µA",
        r#"key = "leakage", voltage = { column = "VRWM (V)", unit = "V" }, temperature = "85 °C""#,
    ),
    numbers(
        "C @ 0 V min (pF)",
        "pF",
        r#"key = "capacitance", role = "min", voltage = "0 V""#,
    ),
    numbers(
        "C @ 0 V typ (pF)",
        "pF",
        r#"key = "capacitance", role = "typ", voltage = "0 V""#,
    ),
    numbers(
        "C @ 0 V max (pF)",
        "pF",
        r#"key = "capacitance", role = "max", voltage = "0 V""#,
    ),
    numbers(
        "C @ VRWM typ (pF)",
        "pF",
        r#"key = "capacitance", role = "typ", voltage = { column = "VRWM (V)", unit = "V" }"#,
    ),
    numbers("VF (V)", "V", r#"key = "forward.voltage""#),
    numbers("RF (mΩ)", "mΩ", r#"key = "forward.resistance""#),
    numbers("Tj max (°C)", "°C", r#"key = "junction_max""#),
    numbers("Derating from (°C)", "°C", r#"key = "derating_from""#),
    numbers("RthJA (K/W)", "K/W", r#"key = "thermal_resistance""#),
    numbers("Power dissipation (W)", "W", r#"key = "power""#),
    numbers("Package inductance (nH)", "nH", r#"key = "package_inductance""#),
    numbers("On voltage min (V)", "V", r#"key = "on_voltage", role = "min""#),
    numbers("On voltage typ (V)", "V", r#"key = "on_voltage", role = "typ""#),
    numbers("On voltage max (V)", "V", r#"key = "on_voltage", role = "max""#),
    numbers("Dynamic resistance (mΩ)", "mΩ", r#"key = "dynamic_resistance""#),
    numbers("Turn-on delay (ns)", "ns", r#"key = "turn_on_delay""#),
    numbers("Turn-off voltage (V)", "V", r#"key = "turn_off_voltage""#),
    numbers("Saturation current (A)", "A", r#"key = "saturation_current""#),
    numbers("Transistor breakdown (V)", "V", r#"key = "transistor_breakdown""#),
    numbers("IH min (mA)", "mA", r#"key = "hold_current", role = "min""#),
    numbers(
        "IH temp coefficient (%/K)",
        "%/K",
        r#"key = "hold_temperature_coefficient""#,
    ),
    numbers("Pulse life p", "", r#"key = "pulse_life.p""#),
    numbers("Pulse life q", "", r#"key = "pulse_life.q""#),
    numbers(
        "Spark-over 100 V/µs typ (V)",
        "V",
        r#"key = "firing", role = "typ", slope = "100 V/µs""#,
    ),
    numbers(
        "Spark-over 100 V/µs max (V)",
        "V",
        r#"key = "firing", role = "max", slope = "100 V/µs""#,
    ),
    numbers(
        "Spark-over 1 kV/µs typ (V)",
        "V",
        r#"key = "firing", role = "typ", slope = "1 kV/µs""#,
    ),
    numbers(
        "Spark-over 1 kV/µs max (V)",
        "V",
        r#"key = "firing", role = "max", slope = "1 kV/µs""#,
    ),
    numbers("Glow voltage (V)", "V", r#"key = "glow_voltage""#),
    numbers("Glow-to-arc current (A)", "A", r#"key = "glow_to_arc_current""#),
    numbers("Arc voltage (V)", "V", r#"key = "arc_voltage""#),
    numbers("Holdover voltage (V)", "V", r#"key = "holdover_voltage""#),
    numbers("Area (mm²)", "mm²", r#"key = "area""#),
    numbers("Price", "", r#"key = "cost""#),
];

/// The mapping file that reads the table.
pub fn mapping() -> String {
    let mut text = String::from(
        r#"# Mapping of the table that `tidewall parts sample` writes. All its parts are invented.
mapping = 1

[constants]
kind = "invented"
document = "table of invented parts"

[name]
column = "Name"

[family]
column = "Family"
"#,
    );
    for column in COLUMNS.iter().filter(|column| !column.datum.is_empty()) {
        let datum = column.datum.replace("AT_IT", AT_IT);
        let _ = write!(text, "\n[[datum]]\ncolumn = \"{}\"\n", column.header);
        if !column.unit.is_empty() {
            let _ = writeln!(text, "unit = \"{}\"", column.unit);
        }
        text.push_str(&lines(&datum));
    }
    text
}

/// One assignment a line, inline tables left whole.
fn lines(datum: &str) -> String {
    let mut text = String::new();
    let mut depth = 0;
    let mut rest = datum.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if c == ',' && depth == 0 {
            text.push('\n');
            rest.next_if_eq(&' ');
        } else {
            text.push(c);
        }
    }
    text.push('\n');
    text
}
