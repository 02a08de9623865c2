//! What the tests of draws and levels share.

use tidewall_study::{NoFiles, Study, read_text};

/// One diode whose breakdown lies between 36 V and 40 V. Invented.
const SOUND: &str = r#"
title = "Sound inlet"

[port]
lines = 1
kind = "dc"
working = "20 V to 28 V"
must_not_conduct = "30 V"
source_resistance = "2 Ω"
ambient = "-20 °C to 60 °C"
leakage_limit = "100 µA"

[[stress]]
id = "surge"
standard = "IEC 61000-4-5"
level = "500 V"
coupling = "line-earth"
polarity = "both"

[[ladder]]
name = "S1"
series = { resistance = "20 mΩ", inductance = "15 nH" }

[[ladder]]
name = "D1"
shunt = "hazel-33"
lead = "2 nH"

[pin]
name = "converter"
withstand = [{ voltage = "80 V", lasts = "any" }]
negative_withstand = [{ voltage = "-10 V", lasts = "any" }]
capacitance = "1 µF"
esr = "20 mΩ"

[[part]]
name = "hazel-33"
family = "avalanche"
kind = "invented"
source = "invented for this test"
bidirectional = false
stand_off = "33 V"
breakdown = { min = "36 V", max = "40 V", at = "1 mA" }
clamp = [{ wave = "10/1000", current = "28.2 A", max = "53.3 V" }]
rating = [{ wave = "10/1000", power = "1.5 kW" }]
temperature_coefficient = "0.098 %/K"
leakage = [{ voltage = "33 V", temperature = "25 °C", current = "1 µA" }]
capacitance = [{ bias = "0 V", min = "1.5 nF", typ = "2 nF", max = "2.5 nF" }]
forward = { voltage = "3.5 V", at = "100 A" }
junction_max = "175 °C"
thermal_resistance = "75 K/W"
"#;

/// The sound inlet with replacements, each of which must find something to replace.
pub fn study(changes: &[(&str, &str)]) -> Study {
    let mut text = SOUND.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "nothing to replace: {from}");
        text = text.replace(from, to);
    }
    read_text("study.toml", &text, &NoFiles).unwrap_or_else(|error| panic!("{error}"))
}
