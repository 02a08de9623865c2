//! Typed reading of TOML tables, with spans.

use std::ops::Range;

use serde_spanned::Spanned;
use tidewall_units::{Quantity, QuantityError, parse, parse_range};
use toml::de::{DeTable, DeValue};

use crate::error::StudyError;
use crate::model::Interval;
use tidewall_units::clip;

use crate::source::{Source, nearest};

type Value<'a> = &'a Spanned<DeValue<'a>>;

/// Parses the text of a whole file.
pub(crate) fn parse_document(source: &Source) -> Result<Spanned<DeTable<'_>>, StudyError> {
    DeTable::parse(&source.text).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        let message = error.message().lines().next().unwrap_or("not TOML").to_owned();
        source.error(
            span,
            format!("the file is not TOML: {message}"),
            "TOML 1.1: `key = \"value\"` lines under [table] and [[list]] headings",
            "quantities are texts in double quotes, such as \"24 V\"; each key stands once in its table",
        )
    })
}

/// One value with its place.
#[derive(Clone)]
pub(crate) struct Item<'a> {
    pub(crate) source: &'a Source,
    /// The key, or the list's key for an entry of a list.
    pub(crate) key: String,
    value: Value<'a>,
}

impl<'a> Item<'a> {
    pub(crate) fn span(&self) -> Range<usize> {
        self.value.span()
    }

    pub(crate) fn line(&self) -> usize {
        self.source.line(self.value.span().start)
    }

    pub(crate) fn error(
        &self,
        message: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> StudyError {
        self.source.error(self.span(), message, expected, hint)
    }

    fn wrong_type(&self, expected: impl Into<String>, hint: impl Into<String>) -> StudyError {
        let found = match self.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(number) if !number.as_str().contains(|c: char| c.is_ascii_digit()) => {
                return self.error(
                    format!("`{}`: {} is not a finite number", self.key, number.as_str()),
                    expected,
                    hint,
                );
            }
            DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.error(format!("`{}` cannot be {found}", self.key), expected, hint)
    }

    pub(crate) fn as_text(&self) -> Option<&'a str> {
        self.value.get_ref().as_str()
    }

    pub(crate) fn is_list(&self) -> bool {
        self.value.get_ref().is_array()
    }

    pub(crate) fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    pub(crate) fn text(&self) -> Result<&'a str, StudyError> {
        self.as_text()
            .ok_or_else(|| self.wrong_type("a text in double quotes", ""))
    }

    /// A text that is not empty.
    pub(crate) fn name(&self) -> Result<&'a str, StudyError> {
        let text = self.text()?;
        if text.trim().is_empty() {
            return Err(self.error(
                format!("`{}` is empty", self.key),
                "a text with at least one letter",
                "",
            ));
        }
        Ok(text)
    }

    pub(crate) fn flag(&self) -> Result<bool, StudyError> {
        self.value
            .get_ref()
            .as_bool()
            .ok_or_else(|| self.wrong_type("true or false, without quotes", ""))
    }

    pub(crate) fn count(&self, range: std::ops::RangeInclusive<u32>) -> Result<u32, StudyError> {
        let expected = format!(
            "a whole number from {} to {}, without quotes",
            range.start(),
            range.end()
        );
        let Some(number) = self.value.get_ref().as_integer() else {
            return Err(self.wrong_type(expected, ""));
        };
        match u32::from_str_radix(number.as_str(), number.radix()) {
            Ok(value) if range.contains(&value) => Ok(value),
            _ => Err(self.error(
                format!("`{}` cannot be {}", self.key, clip(&number.to_string())),
                expected,
                "",
            )),
        }
    }

    /// A plain number (exponents and other values that have no unit).
    pub(crate) fn number(&self) -> Result<f64, StudyError> {
        let expected = "a finite number, without quotes";
        let value = match self.value.get_ref() {
            DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
                .ok()
                .map(|n| n as f64),
            DeValue::Float(number) => number.as_str().parse::<f64>().ok().filter(|n| n.is_finite()),
            _ => return Err(self.wrong_type(expected, "")),
        };
        value.ok_or_else(|| self.error(format!("`{}` is not a finite number", self.key), expected, ""))
    }

    pub(crate) fn list(&self) -> Result<Vec<Item<'a>>, StudyError> {
        let Some(entries) = self.value.get_ref().as_array() else {
            return Err(self.wrong_type("a list in square brackets", ""));
        };
        let item = |value| Item {
            source: self.source,
            key: self.key.clone(),
            value,
        };
        Ok(entries.iter().map(item).collect())
    }

    /// A table whose keys are all among `keys`.
    pub(crate) fn table(&self, keys: &'static [&'static str]) -> Result<Section<'a>, StudyError> {
        let Some(table) = self.value.get_ref().as_table() else {
            let keys = keys.iter().take(4).copied().collect::<Vec<_>>().join(", ");
            return Err(self.wrong_type(
                format!("a table in curly brackets or under a heading (keys: {keys}, …)"),
                "",
            ));
        };
        Section::new(self.source, table, self.span(), &self.key, keys)
    }

    /// Reads the text with `read`, the error's span carried into the file.
    pub(crate) fn read<T>(
        &self,
        example: &str,
        read: impl FnOnce(&str) -> Result<T, QuantityError>,
    ) -> Result<T, StudyError> {
        let Some(text) = self.as_text() else {
            let hint = match self.value.get_ref() {
                DeValue::Integer(_) | DeValue::Float(_) => {
                    format!("write it with its unit in double quotes: {example}")
                }
                _ => String::new(),
            };
            return Err(self.wrong_type(format!("a text with a unit, such as {example}"), hint));
        };
        read(text).map_err(|error| {
            self.source.error(
                self.inner_span(&error.span),
                format!("`{}`: {}", self.key, error.message),
                error.expected,
                error
                    .hint
                    .unwrap_or_else(|| format!("write a number and its unit, such as {example}")),
            )
        })
    }

    /// Where a piece of the text stands in the file; the whole value if escapes make that hard to say.
    pub(crate) fn inner_span(&self, inner: &Range<usize>) -> Range<usize> {
        let span = self.span();
        let raw = self.source.text.get(span.clone()).unwrap_or_default();
        let plain = raw.len() >= 2 && self.as_text() == raw.get(1..raw.len() - 1);
        if plain {
            span.start + 1 + inner.start..span.start + 1 + inner.end
        } else {
            span
        }
    }

    /// A quantity in SI units.
    pub(crate) fn quantity<Q: Quantity>(&self) -> Result<f64, StudyError> {
        // A ratio needs no unit, so a bare number is complete.
        if Q::SYMBOL.is_empty() && !matches!(self.value.get_ref(), DeValue::String(_)) {
            return self.number();
        }
        self.read(&example::<Q>(), |text| parse::<Q>(text).map(Quantity::si))
    }

    /// A quantity above zero.
    pub(crate) fn positive<Q: Quantity>(&self) -> Result<f64, StudyError> {
        let value = self.quantity::<Q>()?;
        if value > 0.0 {
            return Ok(value);
        }
        Err(self.error(
            format!("`{}` must be above zero", self.key),
            format!("a {} above zero", Q::NAME),
            "",
        ))
    }

    /// A quantity that is zero or above.
    pub(crate) fn not_negative<Q: Quantity>(&self) -> Result<f64, StudyError> {
        let value = self.quantity::<Q>()?;
        if value >= 0.0 {
            return Ok(value);
        }
        let expected = format!("a {} of zero or above", Q::NAME);
        Err(self.error(format!("`{}` cannot be below zero", self.key), expected, ""))
    }

    /// A range `LOW to HIGH`.
    pub(crate) fn range<Q: Quantity>(&self) -> Result<Interval, StudyError> {
        let example = format!("\"LOW to HIGH\" with units ({})", Q::NAME);
        let range = self.read(&example, parse_range::<Q>)?;
        Ok(Interval {
            low: range.low.si(),
            high: range.high.si(),
        })
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy>(&self, choices: &[(&str, T)]) -> Result<T, StudyError> {
        let text = self.text()?;
        if let Some((_, value)) = choices.iter().find(|(word, _)| *word == text) {
            return Ok(*value);
        }
        let words: Vec<String> = choices.iter().map(|(word, _)| format!("\"{word}\"")).collect();
        Err(self.error(
            format!("`{}` cannot be \"{}\"", self.key, clip(text)),
            words.join(", "),
            nearest(text, choices.iter().map(|(word, _)| *word)),
        ))
    }
}

fn example<Q: Quantity>() -> String {
    // The quantity's own example stands at the end of what the parser expects of an empty text.
    match parse::<Q>("") {
        Err(error) => error.expected,
        Ok(_) => Q::NAME.to_owned(),
    }
}

/// A table with its place and the keys it may have.
pub(crate) struct Section<'a> {
    pub(crate) source: &'a Source,
    pub(crate) title: String,
    table: &'a DeTable<'a>,
    span: Range<usize>,
    keys: &'static [&'static str],
}

impl<'a> Section<'a> {
    /// Fails at the first key, in the order of the text, that is not among `keys`.
    pub(crate) fn new(
        source: &'a Source,
        table: &'a DeTable<'a>,
        span: Range<usize>,
        title: &str,
        keys: &'static [&'static str],
    ) -> Result<Section<'a>, StudyError> {
        let unknown = table
            .iter()
            .map(|(key, _)| key)
            .filter(|key| !keys.contains(&key.get_ref().as_ref()))
            .min_by_key(|key| key.span().start);
        if let Some(key) = unknown {
            let place = if title.is_empty() {
                "at the top of the file".to_owned()
            } else {
                format!("in `{title}`")
            };
            return Err(source.error(
                key.span(),
                format!("unknown key `{}` {place}", clip(key.get_ref())),
                "a key that means something here",
                nearest(key.get_ref(), keys.iter().copied()),
            ));
        }
        Ok(Section {
            source,
            title: title.to_owned(),
            table,
            span,
            keys,
        })
    }

    pub(crate) fn get(&self, key: &'static str) -> Option<Item<'a>> {
        debug_assert!(
            self.keys.contains(&key),
            "`{key}` is not among the keys of `{}`",
            self.title
        );
        let (_, value) = self.table.get_key_value(key)?;
        Some(Item {
            source: self.source,
            key: key.to_owned(),
            value,
        })
    }

    pub(crate) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    pub(crate) fn line(&self) -> usize {
        self.source.line(self.span.start)
    }

    pub(crate) fn error(
        &self,
        message: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> StudyError {
        self.source.error(self.span(), message, expected, hint)
    }

    /// The value of `key`, or an error at the table that it is missing.
    pub(crate) fn require(&self, key: &'static str, hint: &str) -> Result<Item<'a>, StudyError> {
        self.get(key).ok_or_else(|| {
            let place = if self.title.is_empty() {
                "the file".to_owned()
            } else {
                format!("`{}`", self.title)
            };
            self.error(format!("{place} has no `{key}`"), format!("`{key}`"), hint)
        })
    }

    pub(crate) fn optional<T>(
        &self,
        key: &'static str,
        read: impl FnOnce(&Item<'a>) -> Result<T, StudyError>,
    ) -> Result<Option<T>, StudyError> {
        self.get(key).map(|item| read(&item)).transpose()
    }

    pub(crate) fn list(&self, key: &'static str) -> Result<Vec<Item<'a>>, StudyError> {
        Ok(self.optional(key, Item::list)?.unwrap_or_default())
    }
}
