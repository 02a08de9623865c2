//! From the text of a cell to a number in SI units.

use serde::{Deserialize, Serialize};
use tidewall_units::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Henries, Hertz, Joules, KelvinPerWatt, Kelvins, Ohms,
    PerKelvin, Quantity, Relation, Seconds, SquareMetres, Volts, VoltsPerSecond, Watts,
};

use crate::keys::Unit;

/// The decimal mark of a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Decimal {
    /// `4,7`; a point in a number is a fault.
    Comma,
    /// `4.7`; a comma in a number is a fault.
    Point,
    /// No cell shows it: a number that could mean either is a fault.
    #[default]
    Unknown,
}

/// What one cell says about the decimal mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Evidence {
    Comma,
    Point,
    None,
}

/// Judges a text that is a number with one mark, and perhaps a unit. Three digits behind the mark say nothing unless a
/// zero leads: they may be thousands.
pub(super) fn evidence(text: &str) -> Evidence {
    let text = text
        .trim()
        .trim_start_matches(['+', '-', '−', '±', '<', '≤'])
        .trim_start();
    let digits = |text: &str| text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let whole = digits(text);
    let mut behind = text[whole..].chars();
    let (Some(mark @ (',' | '.')), true) = (behind.next(), whole > 0) else {
        return Evidence::None;
    };
    let fraction = digits(behind.as_str());
    let rest = behind.as_str()[fraction..].trim_start();
    let unit = rest.chars().count() <= 6
        && !rest.contains([',', '.'])
        && !rest.contains(|c: char| c.is_ascii_digit());
    if fraction == 0 || !unit || fraction == 3 && !text.starts_with('0') {
        return Evidence::None;
    }
    if mark == ',' {
        Evidence::Comma
    } else {
        Evidence::Point
    }
}

/// Why a text is not the number that is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct NoNumber {
    pub message: String,
    pub expected: String,
    pub hint: String,
}

/// A quantity of the parts library or of a condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Measure {
    Of(Unit),
    Hertz,
    VoltPerSecond,
    Count,
}

/// Calls a function of the units crate for the quantity.
macro_rules! with_quantity {
    ($measure:expr, $call:ident, $text:expr, plain $plain:expr) => {
        match $measure {
            Measure::Of(Unit::None) | Measure::Count => $plain,
            Measure::Of(Unit::Volt) => $call::<Volts>($text),
            Measure::Of(Unit::Ampere) => $call::<Amps>($text),
            Measure::Of(Unit::Watt) => $call::<Watts>($text),
            Measure::Of(Unit::Joule) => $call::<Joules>($text),
            Measure::Of(Unit::Ohm) => $call::<Ohms>($text),
            Measure::Of(Unit::Farad) => $call::<Farads>($text),
            Measure::Of(Unit::Henry) => $call::<Henries>($text),
            Measure::Of(Unit::Second) => $call::<Seconds>($text),
            Measure::Of(Unit::Celsius) => $call::<Celsius>($text),
            Measure::Of(Unit::Kelvin) => $call::<Kelvins>($text),
            Measure::Of(Unit::KelvinPerWatt) => $call::<KelvinPerWatt>($text),
            Measure::Of(Unit::PerKelvin) => $call::<PerKelvin>($text),
            Measure::Of(Unit::AmpereSquaredSecond) => $call::<AmpSquaredSeconds>($text),
            Measure::Of(Unit::SquareMetre) => $call::<SquareMetres>($text),
            Measure::Hertz => $call::<Hertz>($text),
            Measure::VoltPerSecond => $call::<VoltsPerSecond>($text),
        }
    };
}

impl Measure {
    /// Reads a text that is complete with its unit.
    pub fn read(self, text: &str) -> Result<f64, NoNumber> {
        with_quantity!(self, one, text, plain plain(text))
    }

    /// Whether a unit, such as `pF`, is one of this quantity.
    pub fn takes(self, unit: &str) -> bool {
        !unit.trim().is_empty() && self.read(&format!("1 {unit}")).is_ok()
    }

    /// Reads a limit such as `< 5 pF`.
    fn limit(self, text: &str) -> Result<(Relation, f64), NoNumber> {
        let bare = |text: &str| {
            let value = plain(text.trim_start_matches(['<', '≤', '>', '≥', '=']).trim())?;
            let above = text.starts_with(['>', '≥']);
            Ok((
                if above {
                    Relation::AtLeast
                } else {
                    Relation::AtMost
                },
                value,
            ))
        };
        with_quantity!(self, side, text, plain bare(text))
    }

    fn name(self) -> &'static str {
        match self {
            Measure::Of(unit) => match unit {
                Unit::None => "a plain number",
                Unit::Volt => Volts::NAME,
                Unit::Ampere => Amps::NAME,
                Unit::Watt => Watts::NAME,
                Unit::Joule => Joules::NAME,
                Unit::Ohm => Ohms::NAME,
                Unit::Farad => Farads::NAME,
                Unit::Henry => Henries::NAME,
                Unit::Second => Seconds::NAME,
                Unit::Celsius => Celsius::NAME,
                Unit::Kelvin => Kelvins::NAME,
                Unit::KelvinPerWatt => KelvinPerWatt::NAME,
                Unit::PerKelvin => PerKelvin::NAME,
                Unit::AmpereSquaredSecond => AmpSquaredSeconds::NAME,
                Unit::SquareMetre => SquareMetres::NAME,
            },
            Measure::Hertz => Hertz::NAME,
            Measure::VoltPerSecond => VoltsPerSecond::NAME,
            Measure::Count => "a whole number",
        }
    }

    fn needs_unit(self) -> bool {
        !matches!(self, Measure::Of(Unit::None) | Measure::Count)
    }
}

fn refused(error: &tidewall_units::QuantityError) -> NoNumber {
    NoNumber {
        message: error.message.clone(),
        expected: error.expected.clone(),
        hint: error.hint.clone().unwrap_or_default(),
    }
}

fn one<Q: Quantity>(text: &str) -> Result<f64, NoNumber> {
    tidewall_units::parse::<Q>(text)
        .map(Quantity::si)
        .map_err(|error| refused(&error))
}

fn side<Q: Quantity>(text: &str) -> Result<(Relation, f64), NoNumber> {
    tidewall_units::parse_limit::<Q>(text)
        .map(|limit| (limit.relation, limit.value.si()))
        .map_err(|error| refused(&error))
}

fn plain(text: &str) -> Result<f64, NoNumber> {
    let text = text.trim().replace('−', "-");
    // A ratio without its signs of per cent is a plain number, read by the same rules.
    if text.contains(['%', 'p', 'P']) {
        return Err(no("is not a plain number", "a number without unit", ""));
    }
    one::<tidewall_units::Ratio>(&text).map_err(|mut error| {
        error.expected = "a number without unit".to_owned();
        error
    })
}

fn no(message: impl Into<String>, expected: &str, hint: &str) -> NoNumber {
    NoNumber {
        message: message.into(),
        expected: expected.to_owned(),
        hint: hint.to_owned(),
    }
}

/// What side of a datum a cell states.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Lower,
    Upper,
    Neither,
}

/// How the numbers of a column are written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Writing<'a> {
    pub measure: Measure,
    pub unit: Option<&'a str>,
    pub decimal: Decimal,
    pub side: Side,
}

impl Writing<'_> {
    /// Reads the number of a workbook cell.
    pub fn number(&self, number: f64) -> Result<f64, NoNumber> {
        // Plain digits where they are short, so that messages show what the workbook shows.
        let plain = number == 0.0 || (1e-6..1e15).contains(&number.abs());
        self.with_unit(&if plain {
            number.to_string()
        } else {
            format!("{number:e}")
        })
    }

    /// Reads a text.
    pub fn text(&self, text: &str) -> Result<f64, NoNumber> {
        let text = self.unify(text)?;
        if text.starts_with(['<', '>', '≤', '≥']) {
            return self.one_sided(&text);
        }
        self.with_unit(&text)
    }

    fn one_sided(&self, text: &str) -> Result<f64, NoNumber> {
        let complete = match self.unit {
            Some(unit) if is_bare(text.trim_start_matches(['<', '>', '≤', '≥', '='])) => {
                format!("{text} {unit}")
            }
            _ => text.to_owned(),
        };
        let (relation, value) = self.measure.limit(&complete)?;
        let upper = matches!(relation, Relation::Below | Relation::AtMost);
        match (upper, self.side) {
            (true, Side::Upper) | (false, Side::Lower) => Ok(value),
            _ => Err(no(
                format!("`{text}` is a limit, and this column is not for one of that side"),
                "a value",
                "`<` fits a maximum only, `>` a minimum only",
            )),
        }
    }

    fn with_unit(&self, text: &str) -> Result<f64, NoNumber> {
        match self.unit {
            Some(unit) if is_bare(text) => self.measure.read(&format!("{text} {unit}")),
            None if is_bare(text) && self.measure.needs_unit() => Err(no(
                format!("`{text}` has no unit"),
                self.measure.name(),
                "state the `unit` of the column in the mapping file",
            )),
            _ => self.measure.read(text),
        }
    }

    /// The text with a decimal point, if it keeps to the file's decimal mark.
    fn unify(&self, text: &str) -> Result<String, NoNumber> {
        let marks: Vec<char> = between_digits(text);
        let clash = |found: &str, kind: &str| {
            no(
                format!("`{text}` has {found} in a file of decimal {kind}"),
                "one decimal mark and no separators of thousands",
                "write the number without separators, or state `decimal` in [file] of the mapping file",
            )
        };
        match self.decimal {
            Decimal::Comma if marks.contains(&'.') => Err(clash("a decimal point", "commas")),
            Decimal::Point if marks.contains(&',') => Err(clash("a comma", "points")),
            Decimal::Comma if marks.len() == 1 => Ok(text.replacen(',', ".", 1)),
            Decimal::Comma if marks.len() > 1 => Err(clash("several commas", "commas")),
            Decimal::Unknown if ambiguous_point(text, &marks) => Err(no(
                format!("`{text}` is ambiguous: decimal point or separator of thousands"),
                "a number whose decimal mark is known",
                "state `decimal` in [file] of the mapping file",
            )),
            _ => Ok(text.to_owned()),
        }
    }
}

/// Points and commas that stand before a digit.
fn between_digits(text: &str) -> Vec<char> {
    let mut marks = Vec::new();
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        if matches!(c, ',' | '.') && characters.peek().is_some_and(char::is_ascii_digit) {
            marks.push(c);
        }
    }
    marks
}

/// `1.234` with nothing else in the file to say what the point is. The units' parser reads it as a decimal point, which
/// is right for a text that a person wrote by our rules, and a guess for a table of unknown origin.
fn ambiguous_point(text: &str, marks: &[char]) -> bool {
    if marks != ['.'] {
        return false;
    }
    let number = text
        .trim()
        .trim_start_matches(['+', '-', '−', '<', '>', '≤', '≥', '=', ' ']);
    let Some((whole, rest)) = number.split_once('.') else {
        return false;
    };
    let fraction = rest.chars().take_while(char::is_ascii_digit).count();
    let thousands = (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    fraction == 3 && thousands && whole.chars().all(|c| c.is_ascii_digit())
}

/// Whether a text is a number and nothing else.
fn is_bare(text: &str) -> bool {
    let text = text.trim();
    let mut digits = false;
    let mut before = ' ';
    for c in text.chars() {
        let fits = match c {
            '0'..='9' => true,
            '.' | ',' | '\'' | '’' | '_' => true,
            '+' | '-' | '−' => before == ' ' || matches!(before, 'e' | 'E'),
            'e' | 'E' => digits,
            _ => false,
        };
        if !fits {
            return false;
        }
        digits |= c.is_ascii_digit();
        before = c;
    }
    digits && !text.ends_with(['e', 'E'])
}
