//! Port profiles: what each kind of port normally carries, as data with the mark of every value.

mod data;
mod stand_off;

use std::sync::OnceLock;

pub use stand_off::{
    BREAKDOWN_OVER_STAND_OFF, COEFFICIENT_PER_K, SERIES_V, StandOffRange, WantedStandOff, next_stand_off_v,
    wanted_stand_off,
};

use crate::error::StudyError;
use crate::model::{AbnormalLevel, Interval, PortKind, PortPolarity};
use crate::origin::{Mark, Origin, Valued};

/// A profile's value with how firm it is and where it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct Sourced<T> {
    /// The value in SI units.
    pub value: T,
    /// How firm it is.
    pub mark: Mark,
    /// The source in a few words, or the formula.
    pub source: String,
}

impl<T: Clone> Sourced<T> {
    /// The value as a study takes it over from the profile `key`.
    pub fn valued(&self, key: &str) -> Valued<T> {
        Valued {
            value: self.value.clone(),
            origin: Origin::Profile {
                key: key.to_owned(),
                mark: self.mark,
                source: self.source.clone(),
            },
        }
    }
}

/// A stress an engineer would usually apply to the port, in the keys of a study's `[[stress]]`.
#[derive(Clone, Debug, PartialEq)]
pub struct UsualStress {
    /// Key and TOML value, in the order to be written.
    pub keys: Vec<(String, String)>,
    /// What to bear in mind; may be empty.
    pub note: String,
}

/// One kind of port. `None` is unknown, or does not exist for the kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Key, such as `supply-24vdc`.
    pub key: String,
    /// Number in the list of port kinds, 1 to 45.
    pub number: u32,
    /// Title.
    pub title: String,
    /// Lines beside the return: 1, or 2 for a pair.
    pub lines: usize,
    /// Kind.
    pub kind: PortKind,
    /// Whether working voltage and abnormal levels without further word stand between the lines of the pair.
    pub between_lines: bool,
    /// Normal polarity.
    pub polarity: Sourced<PortPolarity>,
    /// Working voltage in volts; the range of the amplitude for alternating voltages.
    pub working_v: Option<Sourced<Interval>>,
    /// Frequency in hertz.
    pub frequency_hz: Option<Sourced<f64>>,
    /// Voltages from a line to its return at which the protector must not conduct.
    pub must_not_conduct_v: Option<Sourced<Interval>>,
    /// The same between the lines of a pair.
    pub must_not_conduct_between_v: Option<Sourced<Interval>>,
    /// Abnormal levels.
    pub abnormal: Vec<Sourced<AbnormalLevel>>,
    /// Highest current the source can keep feeding, in amperes.
    pub source_a: Option<Sourced<f64>>,
    /// Resistance of the source in ohms.
    pub source_ohm: Option<Sourced<f64>>,
    /// Highest capacitance of a protector from a line to earth, in farads.
    pub capacitance_limit_f: Option<Sourced<f64>>,
    /// Highest difference of that between the lines of a pair, in farads.
    pub capacitance_matching_f: Option<Sourced<f64>>,
    /// Leakage budget at the must-not-conduct level, hot, in amperes.
    pub leakage_limit_a: Option<Sourced<f64>>,
    /// Usual stresses, with the mark of the choice of levels.
    pub stresses: Vec<Sourced<UsualStress>>,
    /// The stand-off the trade usually chooses, in volts.
    pub usual_stand_off_v: Option<Sourced<Interval>>,
    /// The usual choice in words.
    pub usual_choice: Sourced<String>,
    /// What the circuit behind the port usually survives, in words.
    pub survives: Sourced<String>,
    /// The point that decides the choice, or a trap; may be empty.
    pub note: String,
}

static PROFILES: OnceLock<Result<Vec<Profile>, StudyError>> = OnceLock::new();

/// Every profile, or why the data that ship with this crate cannot be read (a defect of this crate).
///
/// # Errors
/// The error points into the data file.
pub fn load() -> Result<&'static [Profile], StudyError> {
    PROFILES.get_or_init(data::parse).as_deref().map_err(Clone::clone)
}

/// Every profile in the order of its number. Parsed at first use.
pub fn profiles() -> &'static [Profile] {
    load().unwrap_or_default()
}

/// The profile of a key.
pub fn profile(key: &str) -> Option<&'static Profile> {
    profiles().iter().find(|profile| profile.key == key)
}
