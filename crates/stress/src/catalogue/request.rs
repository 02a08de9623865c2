//! What a study asks for, and why it cannot be had.

use std::fmt;

use super::Sign;
use crate::generator::Drive;

/// What the port is for, where a standard's level or coupling depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PortUse {
    /// Direct-voltage supply port.
    DcSupply,
    /// Alternating-voltage supply port.
    AcSupply,
    /// Signal, control or data port.
    Signal,
}

/// One stress as the study states it. SI units; `None` is "not stated". Magnitudes are positive: the sign
/// of a disturbance is `polarity`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StressRequest {
    /// Standard, see [`super::STANDARDS`].
    pub standard: String,
    /// Edition or year of the standard where levels or shapes differ between editions.
    pub edition: Option<String>,
    /// Test level or open-circuit voltage in volts.
    pub level_v: Option<f64>,
    /// Name of a level or row of the standard's table ("3", "class 3", "IV", "3 first level", "A metallic").
    pub level_name: Option<String>,
    /// Short-circuit current in amperes.
    pub current_a: Option<f64>,
    /// Coupling, by its key.
    pub coupling: Option<String>,
    /// For a port of two lines, where the coupling does not say it: `line-line`, `line-earth`, `both-earth`.
    pub across: Option<String>,
    /// `contact` or `air` (electrostatic discharge).
    pub discharge: Option<String>,
    /// Storage capacitance in farads (ISO 10605).
    pub storage_f: Option<f64>,
    /// Discharge resistance in ohms (ISO 10605).
    pub discharge_ohm: Option<f64>,
    /// Which representation of the generator: a set of the combination wave (`H`, `K`, `D2`, `D3`, `D18`), or
    /// `circuit` or `current` for electrostatic discharge.
    pub model: Option<String>,
    /// `positive`, `negative` or `both` (also `+`, `-`, `±`).
    pub polarity: Option<String>,
    /// Pulse of the standard ("1", "2a", "A", "WF4").
    pub pulse: Option<String>,
    /// Wave of the standard where it has several: `1.2/50` or `10/700`.
    pub wave: Option<String>,
    /// Nominal system voltage in volts (12 or 24 for road vehicles).
    pub system_v: Option<f64>,
    /// Suppressed load dump level in volts.
    pub suppressed_v: Option<f64>,
    /// Source resistance in ohms.
    pub source_ohm: Option<f64>,
    /// Front time in seconds.
    pub front_s: Option<f64>,
    /// Time to half value in seconds.
    pub tail_s: Option<f64>,
    /// Width or duration of the pulse in seconds.
    pub width_s: Option<f64>,
    /// Rise time from 10 % to 90 % in seconds.
    pub rise_s: Option<f64>,
    /// Frequency of an oscillation in hertz.
    pub frequency_hz: Option<f64>,
    /// Repetition rate within a burst in hertz.
    pub repetition_hz: Option<f64>,
    /// Number of conductors of the cable that the coupling network feeds at once.
    pub wires: Option<u32>,
    /// Number of lines of the port that is modelled: 1, or 2 for a pair. Zero is taken as not stated.
    pub lines: usize,
    /// What the port is for.
    pub port: Option<PortUse>,
    /// Sampled waveform, `(seconds, volts or amperes)`.
    pub samples: Option<Vec<(f64, f64)>>,
    /// What the samples are: `voltage` or `current`.
    pub quantity: Option<String>,
    /// Impulses per polarity, if other than the standard's.
    pub count: Option<u32>,
    /// Time between impulses in seconds, if other than the standard's.
    pub interval_s: Option<f64>,
}

/// Why there is no disturbance for a request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RequestError {
    /// Name of the field of [`StressRequest`] that is missing or wrong.
    pub field: &'static str,
    /// What is wrong with it.
    pub message: String,
    /// The values that would have been accepted, or the form of one.
    pub expected: Vec<String>,
    /// What to do; may be empty.
    pub hint: String,
}

impl fmt::Display for RequestError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field, self.message)?;
        if !self.expected.is_empty() {
            write!(f, "; expected {}", self.expected.join(", "))?;
        }
        if self.hint.is_empty() {
            Ok(())
        } else {
            write!(f, " ({})", self.hint)
        }
    }
}

impl std::error::Error for RequestError {}

impl RequestError {
    pub(super) fn new<T: Into<String>>(
        field: &'static str,
        message: impl Into<String>,
        expected: impl IntoIterator<Item = T>,
        hint: impl Into<String>,
    ) -> Self {
        RequestError {
            field,
            message: message.into(),
            expected: expected.into_iter().map(Into::into).collect(),
            hint: hint.into(),
        }
    }
}

/// Names every field that the request states.
macro_rules! stated {
    ($request:expr, $($field:ident),+) => {
        [$((stringify!($field), $request.$field.is_some())),+]
    };
}

impl StressRequest {
    /// Number of lines, 1 or 2.
    pub(super) fn line_count(&self) -> Result<usize, RequestError> {
        match self.lines {
            1 | 2 => Ok(self.lines),
            other => Err(RequestError::new(
                "lines",
                format!("a port of {other} lines cannot be modelled"),
                ["1", "2"],
                "",
            )),
        }
    }

    /// Fails on a stated field outside `used`, so that nothing the engineer wrote is dropped in silence.
    pub(super) fn only(&self, used: &[&'static str]) -> Result<(), RequestError> {
        let stated = stated!(
            self,
            edition,
            level_v,
            level_name,
            current_a,
            coupling,
            across,
            discharge,
            storage_f,
            discharge_ohm,
            model,
            polarity,
            pulse,
            wave,
            system_v,
            suppressed_v,
            source_ohm,
            front_s,
            tail_s,
            width_s,
            rise_s,
            frequency_hz,
            repetition_hz,
            wires,
            samples,
            quantity
        );
        match stated
            .into_iter()
            .find(|(field, is_stated)| *is_stated && !used.contains(field))
        {
            None => Ok(()),
            Some((field, _)) => Err(RequestError::new(
                field,
                format!("not used by {} as stated here", self.standard.trim()),
                used.iter().copied(),
                "leave it out",
            )),
        }
    }

    /// A key out of a list; missing or unknown is an error that shows the list.
    pub(super) fn key<T: Copy>(
        &self,
        field: &'static str,
        value: &Option<String>,
        choices: &[(&'static str, T)],
        hint: &str,
    ) -> Result<T, RequestError> {
        let expected = || choices.iter().map(|choice| choice.0);
        let Some(text) = value else {
            return Err(RequestError::new(field, "missing", expected(), hint));
        };
        let wanted = normalised(text);
        choices
            .iter()
            .find(|choice| normalised(choice.0) == wanted)
            .map(|choice| choice.1)
            .ok_or_else(|| {
                RequestError::new(
                    field,
                    format!("`{}` is not known here", text.trim()),
                    expected(),
                    hint,
                )
            })
    }

    /// A positive number; missing, zero, negative, not finite or out of `low..=high` is an error.
    pub(super) fn number(
        field: &'static str,
        value: Option<f64>,
        (low, high): (f64, f64),
        expected: &str,
        hint: &str,
    ) -> Result<f64, RequestError> {
        match value {
            None => Err(RequestError::new(field, "missing", [expected], hint)),
            // A hair of slack, so that a limit read from decimal text is inside.
            Some(value) if value >= low * (1.0 - 1e-9) && value <= high * (1.0 + 1e-9) => Ok(value),
            Some(value) => Err(RequestError::new(
                field,
                format!("{value} (SI unit) is out of range"),
                [expected],
                hint,
            )),
        }
    }

    /// Level in volts, stated as a voltage.
    pub(super) fn voltage(&self, hint: &str) -> Result<f64, RequestError> {
        Self::number(
            "level_v",
            self.level_v,
            (1e-3, 1e6),
            "a voltage between 1 mV and 1 MV",
            hint,
        )
    }

    /// Fails if a level is stated both as a voltage and by name.
    pub(super) fn one_level(&self) -> Result<(), RequestError> {
        if self.level_v.is_some() && self.level_name.is_some() {
            return Err(RequestError::new(
                "level_name",
                "the level is stated twice, as a voltage and by name",
                ["one of level_v, level_name"],
                "leave one of them out",
            ));
        }
        Ok(())
    }

    /// The polarities asked for; the sign is a choice of the test plan, so a missing one is an error.
    pub(super) fn polarities(&self) -> Result<Vec<Sign>, RequestError> {
        let choices: [(&str, &[Sign]); 3] = [
            ("positive", &[Sign::Positive]),
            ("negative", &[Sign::Negative]),
            ("both", &[Sign::Positive, Sign::Negative]),
        ];
        let signs = [("+", 0), ("-", 1), ("−", 1), ("±", 2), ("+/-", 2)];
        if let Some(text) = &self.polarity
            && let Some(sign) = signs.iter().find(|sign| sign.0 == text.trim())
        {
            return Ok(choices[sign.1].1.to_vec());
        }
        self.key(
            "polarity",
            &self.polarity,
            &choices,
            "most standards ask for both",
        )
        .map(<[Sign]>::to_vec)
    }

    /// For a pulse whose sign the standard fixes: a stated polarity must be that one.
    pub(super) fn fixed_polarity(&self, sign: Sign) -> Result<Vec<Sign>, RequestError> {
        if self.polarity.is_some() && self.polarities()? != [sign] {
            let name = if sign == Sign::Positive {
                "positive"
            } else {
                "negative"
            };
            return Err(RequestError::new(
                "polarity",
                format!("the standard defines this pulse as {name}"),
                [name],
                "leave it out",
            ));
        }
        Ok(vec![sign])
    }

    /// Which conductors are driven, where the coupling does not say it.
    pub(super) fn drive(&self) -> Result<Drive, RequestError> {
        let one = [("line-earth", Drive::LineToEarth)];
        let two = [
            ("line-line", Drive::LineToLine),
            ("line-earth", Drive::LineToEarth),
            ("both-earth", Drive::BothToEarth),
        ];
        match (self.line_count()?, &self.across) {
            (1, None) => Ok(Drive::LineToEarth),
            (1, across) => self.key("across", across, &one, "the port has one line"),
            (_, across) => self.key("across", across, &two, "the port has two lines"),
        }
    }

    /// The level in volts: stated, or by its name in a table of `(name, volts)`.
    pub(super) fn level(&self, table: &[(&'static str, f64)], hint: &str) -> Result<f64, RequestError> {
        self.one_level()?;
        match (self.level_v, &self.level_name) {
            (None, None) => {
                let names = table.iter().map(|row| format!("level_name {}", row.0));
                let expected = std::iter::once("level_v in volts".to_owned()).chain(names);
                Err(RequestError::new("level_v", "missing", expected, hint))
            }
            (Some(_), _) => self.voltage(hint),
            (None, Some(name)) if table.is_empty() => Err(RequestError::new(
                "level_name",
                format!(
                    "no named levels are known here, `{}` cannot be looked up",
                    name.trim()
                ),
                ["level_v in volts"],
                hint,
            )),
            (None, name) => self.key("level_name", name, table, hint),
        }
    }
}

/// Lower case, without spaces, underscores and hyphens, so that spellings of one key compare equal.
pub(super) fn normalised(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '_' | '-' | '\u{2010}' | '\u{2011}' | '\u{2013}'))
        .flat_map(char::to_lowercase)
        .collect()
}
