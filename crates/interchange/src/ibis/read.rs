//! From the text of an `.ibs` file to an [`Ibis`].

use super::sections::{self, PinColumns};
use super::{Component, Corner, Ibis, LONGEST_LINE, Model, RESERVED, Row, Selector, Skipped, TypMinMax};
use crate::fault::{Line, TextFault, Word, clip, fault, fault_at_end};

/// Versions of the specification that are read: its first digit.
const VERSIONS: std::ops::RangeInclusive<u32> = 1..=7;

/// Reads an IBIS file.
///
/// # Errors
/// [`TextFault`], exactly one: the first fault found.
pub fn read(text: &str) -> Result<Ibis, TextFault> {
    let mut reader = Reader {
        text,
        version: None,
        file_name: None,
        file: Ibis {
            version: String::new(),
            file_name: String::new(),
            components: Vec::new(),
            selectors: Vec::new(),
            models: Vec::new(),
            skipped: Vec::new(),
        },
        scope: Scope::Header,
        section: Section::Free,
        package: sections::PackageDraft::default(),
        split_c_comp: Vec::new(),
        named_models: Vec::new(),
        opened: Word { text: "", at: 0 },
    };
    let mut comment = '|';
    let mut ended = None;
    for raw in Line::all(text) {
        if let Some((index, _)) = raw.text.char_indices().nth(LONGEST_LINE) {
            return Err(fault(
                text,
                raw.word(index, raw.text.len()),
                "the line is too long",
                format!("at most {LONGEST_LINE} characters in a line"),
                "is this an IBIS file?",
            ));
        }
        // The old sign may stand in the argument of [Comment Char], so that line is looked at whole.
        if ended.is_none()
            && let Some(argument) = sections::comment_char_argument(raw)
        {
            comment = sections::comment_char(text, argument)?;
            continue;
        }
        let line = raw.before(comment);
        if line.is_blank() {
            continue;
        }
        if ended.is_some() {
            reader.file.skipped.push(Skipped {
                keyword: "text after [End]".to_owned(),
                line: line.number,
            });
            break;
        }
        match sections::keyword(text, line)? {
            Some((name, word, argument)) => {
                reader.close()?;
                if name == "end" {
                    ended = Some(word);
                } else {
                    reader.open(&name, word, argument, line.number)?;
                }
            }
            None => reader.data(line)?,
        }
    }
    if ended.is_none() {
        return Err(fault_at_end(
            text,
            "the file ends without [End]",
            "the keyword [End] on the last line",
            "the file may have been cut off; look for a whole copy",
        ));
    }
    reader.finish()
}

/// What the keywords belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Scope {
    Header,
    Component,
    Model,
    /// A submodel or a package model: its tables are none of the model before it.
    Other,
}

/// Where data lines go.
#[derive(Clone, Copy, Debug)]
enum Section {
    /// Data of a keyword that is passed over, or that needs no lines.
    Free,
    Package,
    Pins(PinColumns),
    Selector,
    Model,
    GroundClamp,
    PowerClamp,
}

struct Reader<'t> {
    text: &'t str,
    version: Option<String>,
    file_name: Option<String>,
    file: Ibis,
    scope: Scope,
    section: Section,
    package: sections::PackageDraft,
    /// Split forms of C_comp seen in the model that is open.
    split_c_comp: Vec<TypMinMax>,
    /// Every place that names a model, with whether a selector may stand there.
    named_models: Vec<(Word<'t>, bool)>,
    /// Keyword of the section that is open.
    opened: Word<'t>,
}

impl<'t> Reader<'t> {
    fn fault(
        &self,
        word: Word<'_>,
        message: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> TextFault {
        fault(self.text, word, message, expected, hint)
    }

    /// The argument of a keyword, which must be there and, with `taken`, must be new.
    fn name(&self, word: Word<'t>, argument: Word<'t>, taken: bool) -> Result<String, TextFault> {
        let keyword = word.text;
        if argument.text.is_empty() {
            return Err(self.fault(
                word,
                format!("{keyword} has nothing behind it"),
                format!("{keyword} with a name or value on the same line"),
                "",
            ));
        }
        if taken {
            return Err(self.fault(
                argument,
                format!("{keyword} gives `{}` a second time", clip(argument.text)),
                "each name once",
                "remove or rename one of the two",
            ));
        }
        Ok(argument.text.to_owned())
    }

    /// Begins the section of a keyword.
    fn open(
        &mut self,
        name: &str,
        word: Word<'t>,
        argument: Word<'t>,
        number: usize,
    ) -> Result<(), TextFault> {
        if self.version.is_none() && name != "ibis ver" {
            return Err(self.fault(
                word,
                format!("{} stands before [IBIS Ver]", clip(word.text)),
                "[IBIS Ver] as the first keyword",
                "is this an IBIS file?",
            ));
        }
        self.opened = word;
        self.section = Section::Free;
        match name {
            "ibis ver" => {
                let version = self.name(word, argument, self.version.is_some())?;
                let major = version.split('.').next().and_then(|digits| digits.parse().ok());
                let plain = version.chars().all(|c| c.is_ascii_digit() || c == '.');
                if !plain || !major.is_some_and(|major: u32| VERSIONS.contains(&major)) {
                    return Err(self.fault(
                        argument,
                        format!("[IBIS Ver] cannot be `{}`", clip(&version)),
                        format!(
                            "a version from {} to {}, such as 5.0",
                            VERSIONS.start(),
                            VERSIONS.end()
                        ),
                        "",
                    ));
                }
                self.version = Some(version);
            }
            "file name" => self.file_name = Some(self.name(word, argument, self.file_name.is_some())?),
            "component" => {
                let name = self.name(word, argument, self.file.component(argument.text).is_some())?;
                self.scope = Scope::Component;
                self.file.components.push(Component {
                    name,
                    package: None,
                    pins: Vec::new(),
                    line: number,
                });
            }
            "package" | "pin" => {
                if self.scope != Scope::Component {
                    return Err(self.outside(word, "[Component]"));
                }
                self.section = if name == "package" {
                    self.package = sections::PackageDraft::default();
                    Section::Package
                } else {
                    Section::Pins(sections::pin_columns(self.text, word, argument)?)
                };
            }
            "model selector" => {
                let name = self.name(word, argument, self.file.selector(argument.text).is_some())?;
                self.file.selectors.push(Selector {
                    name,
                    models: Vec::new(),
                });
                self.section = Section::Selector;
            }
            "model" => {
                let name = self.name(word, argument, self.file.model(argument.text).is_some())?;
                self.scope = Scope::Model;
                self.section = Section::Model;
                self.split_c_comp.clear();
                self.file.models.push(empty_model(name, number));
            }
            "temperature range"
            | "voltage range"
            | "power clamp reference"
            | "gnd clamp reference"
            | "gnd clamp"
            | "power clamp"
                if self.scope != Scope::Other =>
            {
                self.open_in_model(name, word, argument)?;
            }
            _ => {
                if matches!(name, "submodel" | "define package model") {
                    self.scope = Scope::Other;
                }
                self.file.skipped.push(Skipped {
                    keyword: word.text.trim_matches(['[', ']']).trim().to_owned(),
                    line: number,
                });
            }
        }
        Ok(())
    }

    fn outside(&self, word: Word<'_>, owner: &str) -> TextFault {
        self.fault(
            word,
            format!("{} belongs to no {owner}", word.text),
            format!("{owner} before it"),
            "",
        )
    }

    /// A keyword of a model that this reader uses.
    fn open_in_model(&mut self, name: &str, word: Word<'t>, argument: Word<'t>) -> Result<(), TextFault> {
        if self.scope != Scope::Model {
            return Err(self.outside(word, "[Model]"));
        }
        let again = {
            let model = self.model();
            match name {
                "temperature range" => model.temperature_c.is_some(),
                "voltage range" => model.voltage_v.is_some(),
                "power clamp reference" => model.power_reference_v.is_some(),
                "gnd clamp reference" => model.ground_reference_v.is_some(),
                "gnd clamp" => !model.ground_clamp.is_empty(),
                _ => !model.power_clamp.is_empty(),
            }
        };
        if again {
            return Err(self.fault(
                word,
                format!("{} stands twice in one model", word.text),
                "each keyword once in a model",
                "",
            ));
        }
        if name == "gnd clamp" {
            self.section = Section::GroundClamp;
            return Ok(());
        }
        if name == "power clamp" {
            self.section = Section::PowerClamp;
            return Ok(());
        }
        let columns = sections::columns(self.text, word, &sections::words(self.text, argument))?;
        let model = self.model();
        *match name {
            "temperature range" => &mut model.temperature_c,
            "voltage range" => &mut model.voltage_v,
            "power clamp reference" => &mut model.power_reference_v,
            _ => &mut model.ground_reference_v,
        } = Some(columns);
        Ok(())
    }

    /// The model that is open. Only called in its scope, which begins by adding one.
    fn model(&mut self) -> &mut Model {
        if self.file.models.is_empty() {
            self.file.models.push(empty_model(String::new(), 0));
        }
        let last = self.file.models.len() - 1;
        &mut self.file.models[last]
    }

    /// A line that is no keyword.
    fn data(&mut self, line: Line<'t>) -> Result<(), TextFault> {
        if self.version.is_none() {
            return Err(self.fault(
                line.whole(),
                "text before [IBIS Ver]",
                "[IBIS Ver] as the first keyword",
                "is this an IBIS file?",
            ));
        }
        let words = line.words();
        match self.section {
            Section::Free => {}
            Section::Package => self.package.row(self.text, &words)?,
            Section::Pins(columns) => {
                let pin = sections::pin(self.text, columns, &words, line.number)?;
                self.named_models.push((words[2], true));
                if let Some(component) = self.file.components.last_mut() {
                    if component.pin(&pin.name).is_some() {
                        return Err(self.fault(
                            words[0],
                            format!("the pin `{}` is listed twice", clip(&pin.name)),
                            "each pin once",
                            "",
                        ));
                    }
                    component.pins.push(pin);
                }
            }
            Section::Selector => {
                let first = words[0];
                let end = first.at - line.at + first.text.len();
                let description = line.text[end..].trim().to_owned();
                self.named_models.push((first, false));
                if let Some(selector) = self.file.selectors.last_mut() {
                    selector.models.push((first.text.to_owned(), description));
                }
            }
            Section::Model => self.subparameter(&words)?,
            Section::GroundClamp | Section::PowerClamp => {
                let row = sections::row(self.text, &words)?;
                let power = matches!(self.section, Section::PowerClamp);
                let model = self.model();
                let table = if power {
                    &mut model.power_clamp
                } else {
                    &mut model.ground_clamp
                };
                table.push(row);
                if let Err(message) = rising_or_falling(table) {
                    return Err(self.fault(
                        words[0],
                        message,
                        "voltages that rise, or fall, from row to row",
                        "",
                    ));
                }
            }
        }
        Ok(())
    }

    /// A line below `[Model]` itself.
    fn subparameter(&mut self, words: &[Word<'t>]) -> Result<(), TextFault> {
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
    fn close(&mut self) -> Result<(), TextFault> {
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
                let power = matches!(self.section, Section::PowerClamp);
                let model = self.model();
                let table = if power {
                    &mut model.power_clamp
                } else {
                    &mut model.ground_clamp
                };
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
    fn finish(mut self) -> Result<Ibis, TextFault> {
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

fn empty_model(name: String, line: usize) -> Model {
    Model {
        name,
        model_type: String::new(),
        c_comp_f: None,
        temperature_c: None,
        voltage_v: None,
        power_reference_v: None,
        ground_reference_v: None,
        ground_clamp: Vec::new(),
        power_clamp: Vec::new(),
        line,
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

/// Whether the last row goes on in the direction of the table.
fn rising_or_falling(table: &[Row]) -> Result<(), String> {
    let step = |pair: &[Row]| pair[1].table_v - pair[0].table_v;
    let [.., before, last] = table else { return Ok(()) };
    let now = last.table_v - before.table_v;
    if now == 0.0 {
        return Err("the table gives one voltage twice".to_owned());
    }
    if table.len() > 2 && step(&table[..2]) * now < 0.0 {
        return Err("the voltage of the table turns round".to_owned());
    }
    Ok(())
}
