//! From the text of an `.ibs` file to an [`Ibis`].

use super::sections::{self, PinColumns};
use super::{Component, Ibis, LONGEST_LINE, Model, Row, Selector, Skipped, TypMinMax};
use tidewall_units::clip;

use crate::fault::{Line, TextFault, Word, fault, fault_at_end};

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
pub(super) enum Scope {
    Header,
    Component,
    Model,
    /// A submodel or a package model: its tables are none of the model before it.
    Other,
}

/// Where data lines go.
#[derive(Clone, Copy, Debug)]
pub(super) enum Section {
    /// Data of a keyword that is passed over, or that needs no lines.
    Free,
    Package,
    Pins(PinColumns),
    Selector,
    Model,
    GroundClamp,
    PowerClamp,
}

pub(super) struct Reader<'t> {
    pub(super) text: &'t str,
    pub(super) version: Option<String>,
    pub(super) file_name: Option<String>,
    pub(super) file: Ibis,
    pub(super) scope: Scope,
    pub(super) section: Section,
    pub(super) package: sections::PackageDraft,
    /// Split forms of C_comp seen in the model that is open.
    pub(super) split_c_comp: Vec<TypMinMax>,
    /// Every place that names a model, with whether a selector may stand there.
    pub(super) named_models: Vec<(Word<'t>, bool)>,
    /// Keyword of the section that is open.
    pub(super) opened: Word<'t>,
}

impl<'t> Reader<'t> {
    pub(super) fn fault(
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
    pub(super) fn model(&mut self) -> &mut Model {
        if self.file.models.is_empty() {
            self.file.models.push(empty_model(String::new(), 0));
        }
        let last = self.file.models.len() - 1;
        &mut self.file.models[last]
    }

    /// The clamp table that is open. Only called in its scope.
    pub(super) fn clamp_table(&mut self) -> &mut Vec<Row> {
        let power = matches!(self.section, Section::PowerClamp);
        let model = self.model();
        if power {
            &mut model.power_clamp
        } else {
            &mut model.ground_clamp
        }
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
                let table = self.clamp_table();
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
