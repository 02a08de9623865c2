//! Generic parts: classes of protectors whose data follow from stated formulas. No real part is one of them.
//!
//! They serve a design before parts are chosen. Each datum names its formula and how firm that is; the firmness of all is
//! `Generic`: minimum and maximum are given where a model needs them, and typical values are never lent to the corners.
//! `docs/generic-parts.md` lists the classes.

mod avalanche;
mod flat_clamp;
mod gas_tube;
mod thyristor;
mod varistor;

use std::fmt::Write as _;

use tidewall_devices::datasheet::{Family, Firmness, RatingWave, Spread};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_study::Mark;

use crate::record::{Condition, Datum, Key, PartRecord, Provenance, Value};

/// How one datum of a class follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Formula {
    /// The datum.
    pub key: Key,
    /// The formula in words.
    pub words: &'static str,
    /// How firm it is.
    pub mark: Mark,
}

/// A class of generic parts.
#[derive(Clone, Copy, Debug)]
pub struct Class {
    /// First part of the names of its members, such as `generic-avalanche`.
    pub key: &'static str,
    /// Family.
    pub family: Family,
    /// What it is, in a few words.
    pub title: &'static str,
    /// What its members are called and which there are.
    pub members: &'static str,
    /// How each datum follows.
    pub formulas: &'static [Formula],
    /// Where it is known to differ from published parts, and how far.
    pub deviations: &'static str,
    build: fn(&Class) -> Vec<PartRecord>,
}

impl Class {
    /// Its parts.
    pub fn parts(&self) -> Vec<PartRecord> {
        (self.build)(self)
    }
}

/// Every class.
pub fn classes() -> &'static [Class] {
    CLASSES
}

const CLASSES: &[Class] = &[
    avalanche::CLASS,
    flat_clamp::CLASS,
    varistor::CLASS,
    gas_tube::CLASS,
    thyristor::CLASS,
];

/// Every generic part.
pub fn all() -> Vec<PartRecord> {
    CLASSES.iter().flat_map(Class::parts).collect()
}

/// Title of the source of every generic datum.
pub const DOCUMENT: &str = "formulas of a generic class";
/// Revision of the formulas.
const REVISION: &str = "1";

/// Formulas that several classes share.
const fn formula(key: Key, words: &'static str, mark: Mark) -> Formula {
    Formula { key, words, mark }
}

/// A part in the making.
struct Draft<'c> {
    class: &'c Class,
    record: PartRecord,
}

impl<'c> Draft<'c> {
    fn new(class: &'c Class, rest: &str) -> Draft<'c> {
        Draft {
            class,
            record: PartRecord {
                name: format!("{}-{rest}", class.key),
                family: class.family,
                data: Vec::new(),
            },
        }
    }

    fn add(&mut self, key: Key, value: Value, condition: Condition) {
        // A datum without a formula keeps an empty place; a test refuses that.
        let mut place = String::new();
        if let Some(formula) = self.class.formulas.iter().find(|formula| formula.key == key) {
            // Writing to a string cannot fail.
            let _ = write!(place, "{} ({})", formula.words, formula.mark.text());
        }
        self.record.data.push(Datum {
            key,
            value,
            condition,
            firmness: Firmness::Generic,
            source: Provenance {
                document: DOCUMENT.to_owned(),
                revision: REVISION.to_owned(),
                place,
            },
        });
    }

    fn number(&mut self, key: Key, value: f64) {
        self.add(key, Value::Number(tidy(value)), Condition::default());
    }

    fn flag(&mut self, key: Key, value: bool) {
        self.add(key, Value::Flag(value), Condition::default());
    }

    fn spread(&mut self, key: Key, spread: Spread, condition: Condition) {
        let tidied = Spread {
            min: spread.min.map(tidy),
            typ: spread.typ.map(tidy),
            max: spread.max.map(tidy),
        };
        self.add(key, Value::Spread(tidied), condition);
    }

    fn rating(&mut self, key: Key, value: f64, wave: RatingWave, pulses: u32) {
        let condition = Condition {
            wave: Some(wave),
            pulses: Some(pulses),
            ..Condition::default()
        };
        self.add(key, Value::Number(tidy(value)), condition);
    }

    /// Highest clamping voltage at a peak current of a wave.
    fn clamp(&mut self, wave: RatingWave, current_a: f64, max_v: f64) {
        let condition = Condition {
            wave: Some(wave),
            current_a: Some(tidy(current_a)),
            ..Condition::default()
        };
        self.spread(
            "clamp",
            Spread {
                max: Some(max_v),
                ..Spread::default()
            },
            condition,
        );
    }

    fn leakage(&mut self, voltage_v: f64, temperature_c: f64, current_a: f64) {
        let condition = Condition {
            voltage_v: Some(voltage_v),
            temperature_c: Some(temperature_c),
            ..Condition::default()
        };
        self.add("leakage", Value::Number(tidy(current_a)), condition);
    }

    /// Capacitance at zero bias.
    fn capacitance(&mut self, spread: Spread) {
        let condition = Condition {
            voltage_v: Some(0.0),
            ..Condition::default()
        };
        self.spread("capacitance", spread, condition);
    }
}

/// A value as a table would print it: four significant digits.
fn tidy(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

const fn both(min: f64, max: f64) -> Spread {
    Spread {
        min: Some(min),
        typ: None,
        max: Some(max),
    }
}

/// A value of a name without a unit, such as `6.5`.
fn short(value: f64) -> String {
    format!("{value}")
}

/// Heating of a wave for a peak of one, in √s, under `Zth ∝ √t`.
fn theta(wave: RatingWave) -> f64 {
    // Not a number for a wave that cannot be: then no part of the class builds, and its test says so.
    UnitWave::of(wave).map_or(f64::NAN, |wave| wave.theta_peak())
}

/// Factor from a pulse power on 10/1000 µs to that on 8/20 µs by equal junction rise under `Zth ∝ √t`.
fn short_wave_factor() -> f64 {
    theta(RatingWave::Long10x1000) / theta(RatingWave::Surge8x20)
}
