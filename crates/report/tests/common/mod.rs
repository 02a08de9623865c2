//! What the tests of notes share.
#![allow(dead_code)] // Each test file uses its own part of this.

use std::sync::Arc;

use tidewall_report::content::{self, Form};
use tidewall_report::document::{Block, Note};
use tidewall_report::gather::{Material, Request, gather};
use tidewall_study::{NoFiles, Study, read_text};
use tidewall_transient::Options;

/// Two diodes, one in the ladder. Invented.
const INLET: &str = r#"
title = "TITLE"

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
name = "STAGE"
shunt = "PART"
lead = "2 nH"

[pin]
name = "PIN"
withstand = [{ voltage = "80 V", lasts = "any" }]
negative_withstand = [{ voltage = "-10 V", lasts = "any" }]
capacitance = "1 µF"
esr = "20 mΩ"

[[part]]
name = "PART"
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

[[part]]
name = "willow-12"
family = "avalanche"
kind = "invented"
source = "invented for this test"
bidirectional = false
stand_off = "12 V"
breakdown = { min = "13.3 V", max = "14.7 V", at = "1 mA" }
clamp = [{ wave = "10/1000", current = "75 A", max = "19.9 V" }]
rating = [{ wave = "10/1000", power = "1.5 kW" }]
temperature_coefficient = "0.08 %/K"
leakage = [{ voltage = "12 V", temperature = "25 °C", current = "1 µA" }]
capacitance = [{ bias = "0 V", typ = "4 nF" }]
forward = { voltage = "3.5 V", at = "100 A" }
junction_max = "175 °C"
thermal_resistance = "75 K/W"
"#;

/// The names that a user gives.
pub struct Names<'a> {
    pub title: &'a str,
    pub stage: &'a str,
    pub part: &'a str,
    pub pin: &'a str,
}

/// Names that nobody objects to.
pub const PLAIN: Names = Names {
    title: "Sound inlet",
    stage: "D1",
    part: "hazel-33",
    pin: "converter",
};

/// The inlet with these names.
pub fn study(names: &Names) -> Study {
    // A basic string of TOML: quotes, backslashes and control characters are escaped as JSON has them.
    let written = |text: &str| serde_json::to_string(text).expect("text is JSON");
    let text = INLET
        .replace("\"TITLE\"", &written(names.title))
        .replace("\"STAGE\"", &written(names.stage))
        .replace("\"PART\"", &written(names.part))
        .replace("\"PIN\"", &written(names.pin));
    read_text("study.toml", &text, &NoFiles).unwrap_or_else(|error| panic!("{error}"))
}

/// Everything that the note of a study is made from.
pub fn material(study: &Study) -> Material {
    let request = Request {
        options: Options::default(),
        judged: None,
        draws: None,
        candidates: study.parts.values().cloned().map(Arc::new).collect(),
        against: Vec::new(),
        at: None,
        progress: &|_, _, _| {},
    };
    gather(study, &request).expect("the parts fit")
}

/// The note of a study.
pub fn note(study: &Study, form: &Form) -> Note {
    content::note(study, &material(study), form)
}

/// Every text of a note that a reader must find, in its order.
pub fn texts(note: &Note) -> Vec<String> {
    let mut texts = vec![note.kind.clone(), note.title.clone()];
    texts.extend(
        note.facts
            .iter()
            .flat_map(|(word, text)| [word.clone(), text.words()]),
    );
    for section in &note.sections {
        texts.push(section.title.clone());
        for block in &section.blocks {
            match block {
                Block::Paragraph(text) => texts.push(text.words()),
                Block::Heading(text) | Block::Code(text) => texts.push(text.clone()),
                Block::Verdict(verdict) => texts.extend([verdict.word.clone(), verdict.sentence.words()]),
                Block::List(points) | Block::Steps(points) => {
                    texts.extend(points.iter().map(|point| point.words()));
                }
                Block::Terms(terms) => {
                    texts.extend(terms.iter().flat_map(|(word, text)| [word.clone(), text.words()]));
                }
                Block::Table(table) => {
                    texts.push(table.caption.clone());
                    texts.extend(table.columns.iter().map(|column| column.head.clone()));
                    texts.extend(table.rows.iter().flatten().map(|cell| cell.read()));
                    texts.extend(table.notes.iter().map(|note| note.words()));
                }
                Block::Picture(picture) => texts.push(picture.caption.clone()),
            }
        }
    }
    texts.retain(|text| !text.is_empty());
    texts
}

/// A text without what a line break may take or add.
pub fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != '\u{200b}' && *c != '\u{c}')
        .collect()
}
