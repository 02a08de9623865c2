//! The guess as a commented mapping file.

use std::path::Path;

use super::columns::Column;
use super::datum::{Guessed, Written};
use super::{Confidence, GuessOptions};
use crate::import::cell::{Cell, letters};
use crate::import::mapping::{FILL_IN, Role, VERSION};
use crate::import::number::Decimal;
use crate::import::table::{Form, Table};
use crate::import::terms::{FAMILY_WORDS, Meaning, POLARITY_WORDS};
use crate::wire;

/// The mapping file, and what is left to the user.
pub(super) struct Output {
    pub text: String,
    pub to_fill_in: Vec<String>,
}

/// A text as TOML.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

pub(super) fn mapping(
    table: &Table,
    header_row: u64,
    columns: &[Column],
    data: &[Guessed],
    options: &GuessOptions,
) -> Output {
    let mut out = Output {
        text: String::new(),
        to_fill_in: Vec::new(),
    };
    out.line("# A first guess: compare every line with the table, and fill in what says FILL IN.");
    out.line(&format!("mapping = {VERSION}"));
    out.line("");
    out.skip(columns);
    out.file(table, header_row);
    out.constants(table, columns, options);
    let name = columns
        .iter()
        .position(|column| column.meaning == Some(Meaning::Name));
    out.place("name", name, columns);
    if let Some(place) = family_column(columns, options) {
        out.place("family", Some(place), columns);
        out.family_words(&columns[place]);
    }
    if data.is_empty() {
        out.to_fill_in
            .push("at least one [[datum]]: no column is understood as one".to_owned());
    }
    for guessed in data {
        out.datum(guessed, columns);
    }
    out
}

fn family_column(columns: &[Column], options: &GuessOptions) -> Option<usize> {
    columns
        .iter()
        .position(|column| column.meaning == Some(Meaning::Family))
        .filter(|_| options.family.is_none())
}

/// Texts of the sampled cells, each once, in lower case.
fn sample_words(column: &Column) -> Vec<String> {
    let mut words: Vec<String> = column
        .samples
        .iter()
        .filter_map(|cell| match cell {
            Cell::Text(text) => Some(text.to_lowercase()),
            _ => None,
        })
        .collect();
    words.sort();
    words.dedup();
    words
}

impl Output {
    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn fill_in(&mut self, what: String) -> &'static str {
        self.to_fill_in.push(what);
        FILL_IN
    }

    fn skip(&mut self, columns: &[Column]) {
        let unknown: Vec<&Column> = columns
            .iter()
            .filter(|column| !column.text.is_empty() && column.confidence == Confidence::NotUnderstood)
            .collect();
        if unknown.is_empty() {
            return;
        }
        self.line("# Columns that are not understood, so that nothing is taken from them:");
        for column in unknown {
            self.line(&format!(
                "#   {}: {}",
                flat(&column.text),
                flat(&column.reasons.join("; "))
            ));
        }
        self.line("# Name in `skip` those that you do not want, and they are no longer reported.");
        self.line("skip = []");
        self.line("");
    }

    fn file(&mut self, table: &Table, header_row: u64) {
        self.line("[file]");
        self.line(&format!("header_row = {header_row}"));
        match table.form() {
            Form::Workbook { sheet } => self.line(&format!("sheet = {}", quoted(sheet))),
            Form::Text { encoding, delimiter } => {
                self.line(&format!("encoding = {}", quoted(&encoding.to_lowercase())));
                self.line(&format!("delimiter = {}", quoted(&delimiter.to_string())));
            }
        }
        match table.decimal() {
            Decimal::Comma => self.line("decimal = \"comma\""),
            Decimal::Point => self.line("decimal = \"point\""),
            Decimal::Unknown => {
                self.line("# decimal = \"comma\" or \"point\": no cell of the first rows shows which it is");
            }
        }
        self.line("");
    }

    fn constants(&mut self, table: &Table, columns: &[Column], options: &GuessOptions) {
        self.line("[constants]");
        let kind = match options.kind.clone().or_else(|| one_kind(columns)) {
            Some(kind) => kind,
            None => self
                .fill_in("`kind` in [constants]: guaranteed, typical, measured or invented".to_owned())
                .to_owned(),
        };
        self.line(&format!(
            "kind = {}           # guaranteed, typical, measured or invented: how firm the values are",
            quoted(&kind)
        ));
        let file = Path::new(table.name())
            .file_name()
            .map(|name| name.to_string_lossy().into_owned());
        let document = options
            .document
            .clone()
            .or(file)
            .unwrap_or_else(|| table.name().to_owned());
        self.line(&format!("document = {}", quoted(&document)));
        self.line("revision = \"\"");
        if family_column(columns, options).is_none() {
            let family = match &options.family {
                Some(family) => family.clone(),
                None => self
                    .fill_in("`family` in [constants]: the table has no column for it".to_owned())
                    .to_owned(),
            };
            self.line(&format!("family = {}", quoted(&family)));
        }
        self.line("");
    }

    fn place(&mut self, what: &str, place: Option<usize>, columns: &[Column]) {
        self.line(&format!("[{what}]"));
        match place {
            Some(place) => {
                self.comment(&columns[place]);
                self.line(&reference(place, columns));
            }
            None => {
                let text = self.fill_in(format!("the column of the {what}"));
                self.line(&format!("column = {}", quoted(text)));
            }
        }
        self.line("");
    }

    fn comment(&mut self, column: &Column) {
        self.line(&format!(
            "# {}: {}",
            column.confidence.in_words(),
            flat(&column.reasons.join("; "))
        ));
    }

    fn family_words(&mut self, column: &Column) {
        let foreign: Vec<String> = sample_words(column)
            .into_iter()
            .filter(|word| wire::family(word).is_none())
            .collect();
        if foreign.is_empty() {
            return;
        }
        self.line("[words.family]");
        for word in foreign {
            let known = FAMILY_WORDS.iter().find(|(known, _)| *known == word);
            let meaning = match known {
                Some((_, meaning)) => (*meaning).to_owned(),
                None => self.fill_in(format!("the family that `{word}` means")).to_owned(),
            };
            self.line(&format!("{} = {}", quoted(&word), quoted(&meaning)));
        }
        self.line("");
    }

    fn datum(&mut self, guessed: &Guessed, columns: &[Column]) {
        let column = &columns[guessed.column];
        self.line("[[datum]]");
        self.comment(column);
        self.line(&format!("key = {}", quoted(guessed.info.key)));
        self.line(&reference(guessed.column, columns));
        if let Some(role) = guessed.role {
            let word = match role {
                Role::Min => "min",
                Role::Typ => "typ",
                Role::Max => "max",
                Role::Range => "range",
            };
            self.line(&format!("role = \"{word}\""));
        }
        if let Some(unit) = &guessed.unit {
            if unit == FILL_IN {
                self.fill_in(format!("the unit of column \"{}\"", column.text));
            }
            self.line(&format!("unit = {}", quoted(unit)));
        }
        for (word, written) in &guessed.conditions {
            let text = match written {
                Written::Constant(text) => {
                    if text == FILL_IN {
                        self.fill_in(format!("the {word} of column \"{}\"", column.text));
                    }
                    quoted(text)
                }
                Written::Column { column: place, unit } => {
                    let unit = match unit.as_deref() {
                        None => String::new(),
                        Some(unit) => {
                            if unit == FILL_IN {
                                self.fill_in(format!("the unit of column \"{}\"", columns[*place].text));
                            }
                            format!(", unit = {}", quoted(unit))
                        }
                    };
                    format!("{{ {}{unit} }}", reference(*place, columns))
                }
            };
            self.line(&format!("{word} = {text}"));
        }
        self.line("");
        if guessed.info.key == "bidirectional" {
            self.polarity_words(column);
        }
    }

    fn polarity_words(&mut self, column: &Column) {
        let plain = ["yes", "no", "true", "false"];
        let foreign: Vec<String> = sample_words(column)
            .into_iter()
            .filter(|word| !plain.contains(&word.as_str()))
            .collect();
        if foreign.is_empty() {
            return;
        }
        self.line("[words.bidirectional]");
        for word in foreign {
            match POLARITY_WORDS.iter().find(|(known, _)| *known == word) {
                Some((_, flag)) => self.line(&format!("{} = {flag}", quoted(&word))),
                None => {
                    let text = self.fill_in(format!("whether `{word}` means bidirectional: true or false"));
                    self.line(&format!("{} = {}", quoted(&word), quoted(text)));
                }
            }
        }
        self.line("");
    }
}

/// The one word of a column that says how firm the values are.
fn one_kind(columns: &[Column]) -> Option<String> {
    let column = columns
        .iter()
        .find(|column| column.meaning == Some(Meaning::Firmness))?;
    match sample_words(column).as_slice() {
        [word] if wire::firmness(word).is_some() && word != "generic" => Some(word.clone()),
        _ => None,
    }
}

/// A column as the mapping names it.
fn reference(place: usize, columns: &[Column]) -> String {
    let column = &columns[place];
    if column.twin || column.text.is_empty() {
        format!("letter = \"{}\"", letters(place))
    } else {
        format!("column = {}", quoted(&column.text))
    }
}

/// On one line, for a comment.
fn flat(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}
