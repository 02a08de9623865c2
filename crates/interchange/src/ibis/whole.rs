//! What a section says once it is whole, and what only the whole file can tell.

use super::read::{Reader, Section};
use super::{Corner, Ibis, RESERVED, Row, TypMinMax, sections};
use tidewall_units::clip;

use crate::fault::{TextFault, Word, fault_at_end};

impl<'t> Reader<'t> {
    /// A line below `[Model]` itself.
    pub(super) fn subparameter(&mut self, words: &[Word<'t>]) -> Result<(), TextFault> {
        let name = words[0].text;
        let values: Vec<Word<'t>> = words[1..]
            .iter()
            .filter(|word| word.text != "=")
            .copied()
            .collect();
        if name.eq_ignore_ascii_case("model_type") {
            let Some(value) = values.first() else {
                return Err(self.fault(words[0], "Model_type has no value", "a type, such as Input", ""));
            };
            self.model().model_type = value.text.to_owned();
            return Ok(());
        }
        let lower = name.to_ascii_lowercase();
        let split = [
            "c_comp_pullup",
            "c_comp_pulldown",
            "c_comp_power_clamp",
            "c_comp_gnd_clamp",
        ];
        if lower != "c_comp" && !split.contains(&lower.as_str()) {
            return Ok(());
        }
        let columns = sections::columns(self.text, words[0], &values)?;
        let ordered = [columns.min, Some(columns.typ), columns.max];
        if !ordered.into_iter().flatten().is_sorted() || columns.min.unwrap_or(columns.typ) < 0.0 {
            return Err(self.fault(
                words[0],
                format!("{name} is an impossible range"),
                "0 ≤ min ≤ typ ≤ max; the columns stand in the order typ, min, max",
                "have two of the columns changed places?",
            ));
        }
        if lower != "c_comp" {
            self.split_c_comp.push(columns);
            let sum = self
                .split_c_comp
                .iter()
                .skip(1)
                .fold(self.split_c_comp[0], |sum, part| add(sum, *part));
            self.model().c_comp_f = Some(sum);
        } else if self.split_c_comp.is_empty() {
            self.model().c_comp_f = Some(columns);
        }
        Ok(())
    }

    /// Ends the section that is open.
    pub(super) fn close(&mut self) -> Result<(), TextFault> {
        let short = |reader: &Self, table: &[Row]| {
            (table.len() < 2).then(|| {
                reader.fault(
                    reader.opened,
                    format!("{} has fewer than two rows", reader.opened.text),
                    "rows of a voltage and three currents",
                    "",
                )
            })
        };
        match self.section {
            Section::Package => {
                let package = self.package.finish(self.text, self.opened)?;
                if let Some(component) = self.file.components.last_mut() {
                    component.package = Some(package);
                }
            }
            Section::Selector if self.file.selectors.last().is_some_and(|s| s.models.is_empty()) => {
                return Err(self.fault(
                    self.opened,
                    "the model selector lists no model",
                    "lines with the name of a model and a description",
                    "",
                ));
            }
            Section::GroundClamp | Section::PowerClamp => {
                let table = self.clamp_table();
                if table.len() > 1 && table[0].table_v > table[1].table_v {
                    table.reverse();
                }
                let table = table.clone();
                if let Some(fault) = short(self, &table) {
                    return Err(fault);
                }
                sections::ends_given(self.text, self.opened, &table)?;
            }
            _ => {}
        }
        self.section = Section::Free;
        Ok(())
    }

    /// What only the whole file can tell.
    pub(super) fn finish(mut self) -> Result<Ibis, TextFault> {
        let missing = |reader: &Self, what: &str| {
            fault_at_end(
                reader.text,
                format!("the file has no {what}"),
                format!("{what} with its value"),
                "the file may have been cut off; look for a whole copy",
            )
        };
        let Some(version) = self.version.take() else {
            return Err(missing(&self, "[IBIS Ver]"));
        };
        let Some(file_name) = self.file_name.take() else {
            return Err(missing(&self, "[File Name]"));
        };
        if self.file.components.is_empty() {
            return Err(missing(&self, "[Component]"));
        }
        if let Some(component) = self.file.components.iter().find(|c| c.pins.is_empty()) {
            return Err(missing(
                &self,
                &format!("[Pin] table for {}", clip(&component.name)),
            ));
        }
        for (word, selectors) in &self.named_models {
            let reserved = *selectors && RESERVED.iter().any(|name| name.eq_ignore_ascii_case(word.text));
            let selector = *selectors && self.file.selector(word.text).is_some();
            if !reserved && !selector && self.file.model(word.text).is_none() {
                return Err(self.fault(
                    *word,
                    format!("there is no model `{}` in the file", clip(word.text)),
                    if *selectors {
                        "a [Model], a [Model Selector], or POWER, GND, NC"
                    } else {
                        "the name of a [Model]"
                    },
                    "names of models count upper and lower case",
                ));
            }
        }
        self.file.version = version;
        self.file.file_name = file_name;
        Ok(self.file)
    }
}

fn add(a: TypMinMax, b: TypMinMax) -> TypMinMax {
    // A part that gives no minimum of its own has its typical value there.
    let corner = |corner: Corner| match (a.at(corner), b.at(corner)) {
        (None, None) => None,
        (x, y) => Some(x.unwrap_or(a.typ) + y.unwrap_or(b.typ)),
    };
    TypMinMax {
        typ: a.typ + b.typ,
        min: corner(Corner::Min),
        max: corner(Corner::Max),
    }
}
