//! What the tests share: files in memory and a study that reads without error.
#![allow(dead_code)] // Each test file uses its own part of this.

use std::collections::BTreeMap;

use tidewall_study::{LoadError, Loader, StudyError, read_text};

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

/// The one error of a bad study, in a shape that holds for all of them.
pub fn fail(text: &str, loader: &dyn Loader) -> StudyError {
    let error = read_text("study.toml", text, loader).expect_err("the study is bad");
    assert!(
        !error.message.is_empty() && !error.expected.is_empty(),
        "{error:?}"
    );
    let shown = error.to_string();
    if error.line > 0 {
        assert!(
            shown.starts_with(&format!("{}:{}:{}: ", error.file, error.line, error.column)),
            "{shown}"
        );
        let caret = shown.lines().nth(2).expect("a caret line");
        assert!(caret.contains('^'), "{shown}");
    }
    error
}

/// The error must stand at the start of `at`.
#[track_caller]
pub fn check(text: &str, loader: &dyn Loader, at: &str, message: &str, hint: &str) {
    let error = fail(text, loader);
    let offset = text.find(at).unwrap_or_else(|| panic!("`{at}` is in the text"));
    let line = text[..offset].matches('\n').count() + 1;
    let column = text[..offset]
        .rsplit('\n')
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        + 1;
    assert_eq!((error.line, error.column), (line, column), "{error}");
    assert!(error.message.contains(message), "{error}");
    assert!(error.hint.contains(hint), "{error}");
}
