//! What the tests share: files in memory and a study that reads without error.
#![allow(dead_code)] // Each test file uses its own part of this.

use std::collections::BTreeMap;

use tidewall_study::{LoadError, Loader};

/// Files in memory.
#[derive(Clone, Debug, Default)]
pub struct Memory(pub BTreeMap<String, Vec<u8>>);

impl Memory {
    pub fn with(mut self, name: &str, text: impl Into<Vec<u8>>) -> Self {
        self.0.insert(name.to_owned(), text.into());
        self
    }
}

impl Loader for Memory {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        self.0.get(name).cloned().ok_or(LoadError::Missing)
    }
}

/// The study of a 24 V supply inlet, with a parts file beside it.
pub const SAMPLE: &str = r#"title = "River gauge 7: 24 V supply inlet"

[port]
profile = "supply-24vdc"
must_not_conduct = "30.2 V"
abnormal = [{ level = "35 V", lasts = "500 ms" }, { level = "-30 V", lasts = "1 min" }]
source_current = "5 A"
ambient = "-40 °C to 70 °C"

[[stress]]
id = "surge-earth"
standard = "IEC 61000-4-5"
level = "1 kV"
coupling = "line-earth"
polarity = "both"

[[stress]]
id = "esd"
standard = "IEC 61000-4-2"
level = "8 kV"
discharge = "contact"

[[ladder]]
series = { resistance = "20 mΩ", inductance = "15 nH" }

[[ladder]]
name = "D1"
shunt = "alder-33"
lead = "2 nH"

[[ladder]]
series = { inductance = "10 nH" }

[pin]
name = "converter input"
withstand = [{ voltage = "60 V", lasts = "any" }]
capacitance = "4.7 µF"
"#;

pub const PARTS: &str = r#"[[part]]
name = "alder-33"
family = "avalanche"
kind = "invented"
source = "invented for the test"
bidirectional = false
stand_off = "33 V"
breakdown = { min = "36.7 V", max = "40.6 V", at = "1 mA" }
clamp = [{ wave = "10/1000", current = "28 A", max = "53.3 V" }]
rating = [{ wave = "10/1000", power = "1.5 kW" }]
temperature_coefficient = "0.098 %/K"

[[part]]
name = "birch-track"
family = "resistor"
kind = "invented"
source = "invented for the test"
resistance = "1 Ω"
"#;

pub fn files() -> Memory {
    Memory::default().with("parts.toml", PARTS)
}
