//! A study as the engine needs it: everything resolved, in SI units, with origins where people ask for them.

use std::collections::{BTreeMap, BTreeSet};

use tidewall_devices::datasheet::Datasheet;
use tidewall_stress::catalogue::{Disturbance, StressRequest};

use crate::origin::Valued;

/// One port, its stresses, its ladder and pin.
#[derive(Clone, Debug)]
pub struct Study {
    /// Title.
    pub title: String,
    /// SHA-256 over the study text and every file it refers to, in hexadecimal.
    pub digest: String,
    /// The name the study was read under.
    pub path: String,
    /// What the port normally carries.
    pub port: Port,
    /// The stresses, in the order of the text; at least one.
    pub stresses: Vec<StressCase>,
    /// From the connector inwards; at least one stage.
    pub ladder: Vec<Stage>,
    /// The protected circuit.
    pub pin: Pin,
    /// Margin inside a limit below which a result is marginal, as a ratio.
    pub margin: f64,
    /// Characteristic impedance of the board's tracks in ohms; gives each track its capacitance.
    pub board_impedance_ohm: Option<f64>,
    /// Every part of the parts files, and those of the parts library that the ladder names, by name.
    pub parts: BTreeMap<String, Datasheet>,
    /// Names of those parts that stand in the parts library only.
    pub library_parts: BTreeSet<String>,
    /// Choices made for the engineer, in words, to be printed with the result.
    pub assumptions: Vec<String>,
    /// Options of the assessment.
    pub assess: AssessOptions,
}

impl Study {
    /// The shunt stage of that name.
    pub fn shunt(&self, name: &str) -> Option<&ShuntStage> {
        self.ladder.iter().find_map(|stage| match stage {
            Stage::Shunt(shunt) if shunt.name == name => Some(shunt),
            _ => None,
        })
    }
}

/// A closed interval with `low ≤ high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// What kind of line the port is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PortKind {
    /// Direct-voltage supply.
    Dc,
    /// Alternating-voltage supply.
    Ac,
    /// Signal or data.
    Signal,
}

/// Whether the line goes to both sides of its return in normal operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PortPolarity {
    /// One side only.
    Unidirectional,
    /// Both sides.
    Bidirectional,
}

/// Between which conductors of the port a level stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Across {
    /// Each line to the port's return or earth.
    LineEarth,
    /// Between the two lines of a pair.
    LineLine,
}

/// Whether the port is fed while it is stressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Powered {
    /// Its own source connected.
    Powered,
    /// Source disconnected.
    Unpowered,
    /// Each in turn.
    Both,
}

/// A level outside normal operation that the port must survive.
#[derive(Clone, Debug, PartialEq)]
pub struct AbnormalLevel {
    /// Level in volts with its sign; the amplitude for alternating voltages.
    pub level_v: f64,
    /// How long it lasts in seconds; infinite for "continuous".
    pub lasts_s: f64,
    /// Between which conductors.
    pub across: Across,
    /// Whether the protector may conduct at this level if it survives.
    pub may_conduct: bool,
    /// What it is, in a few words; may be empty.
    pub note: String,
}

/// What the port normally carries. `None` is unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Key of the profile, if the study names one.
    pub profile: Option<String>,
    /// Title of the profile; empty without one.
    pub title: String,
    /// Number of lines beside the return or earth: 1, or 2 for a pair.
    pub lines: usize,
    /// Kind.
    pub kind: PortKind,
    /// Normal working voltage in volts; for alternating voltages the range of the amplitude.
    pub working_v: Option<Valued<Interval>>,
    /// Where the working voltage stands.
    pub working_across: Across,
    /// Frequency of an alternating working voltage in hertz.
    pub frequency_hz: Option<Valued<f64>>,
    /// Voltages from a line to return or earth at which the protector must not conduct: `low ≤ 0 ≤ high`.
    pub must_not_conduct_v: Option<Valued<Interval>>,
    /// The same between the two lines of a pair.
    pub must_not_conduct_between_v: Option<Valued<Interval>>,
    /// Abnormal levels.
    pub abnormal: Vec<Valued<AbnormalLevel>>,
    /// Highest current the source can keep feeding, in amperes.
    pub source_a: Option<Valued<f64>>,
    /// Resistance of the source in ohms.
    pub source_ohm: Option<Valued<f64>>,
    /// Normal polarity.
    pub polarity: Option<Valued<PortPolarity>>,
    /// Range of ambient temperature in °C.
    pub ambient_c: Valued<Interval>,
    /// Highest capacitance a protector may add from a line to earth, in farads.
    pub capacitance_limit_f: Option<Valued<f64>>,
    /// Highest difference of that capacitance between the lines of a pair, in farads.
    pub capacitance_matching_f: Option<Valued<f64>>,
    /// Highest leakage at the must-not-conduct level over temperature, in amperes.
    pub leakage_limit_a: Option<Valued<f64>>,
    /// With or without the port's own source.
    pub powered: Powered,
}

/// One stress of the study.
#[derive(Clone, Debug)]
pub struct StressCase {
    /// Its id, unique in the study.
    pub id: String,
    /// Line of the text, counted from 1.
    pub line: usize,
    /// Acceptance criterion of the laboratory test: a letter of the basic standards or the study's own words; `None` is
    /// to be agreed.
    pub criterion: Option<String>,
    /// What the study asks for.
    pub request: StressRequest,
    /// The disturbance that is.
    pub disturbance: Disturbance,
}

/// Which line of a pair a series element sits in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum InLine {
    /// An equal element in each line. The only choice on a port of one line.
    Both,
    /// First line only.
    First,
    /// Second line only.
    Second,
}

/// Between which conductors a shunt protector sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Between {
    /// Line and return (one line).
    LineReturn,
    /// The two lines of a pair.
    LineLine,
    /// One protector from each line of a pair to earth.
    EachLineEarth,
    /// First line and earth.
    FirstEarth,
    /// Second line and earth.
    SecondEarth,
}

/// A stage of the ladder.
#[derive(Clone, Debug, PartialEq)]
pub enum Stage {
    /// In the line.
    Series(SeriesStage),
    /// Across it.
    Shunt(ShuntStage),
    /// A capacitor across it.
    Capacitor(CapacitorStage),
}

impl Stage {
    /// Its name.
    pub fn name(&self) -> &str {
        match self {
            Self::Series(stage) => &stage.name,
            Self::Shunt(stage) => &stage.name,
            Self::Capacitor(stage) => &stage.name,
        }
    }

    /// Line of the text, counted from 1.
    pub fn line(&self) -> usize {
        match self {
            Self::Series(stage) => stage.line,
            Self::Shunt(stage) => stage.line,
            Self::Capacitor(stage) => stage.line,
        }
    }
}

/// A capacitor across the line.
#[derive(Clone, Debug, PartialEq)]
pub struct CapacitorStage {
    /// Name; `C1`, `C2`, … where the study gives none.
    pub name: String,
    /// Capacitance in farads.
    pub capacitance_f: f64,
    /// Series resistance in ohms.
    pub esr_ohm: f64,
    /// Inductance of its path in henries.
    pub lead_h: f64,
    /// Between which conductors.
    pub between: Between,
    /// Line of the text, counted from 1.
    pub line: usize,
}

/// An element in the line.
#[derive(Clone, Debug, PartialEq)]
pub struct SeriesStage {
    /// Name; `S1`, `S2`, … where the study gives none.
    pub name: String,
    /// What it is.
    pub element: SeriesElement,
    /// Which line.
    pub in_line: InLine,
    /// Line of the text, counted from 1.
    pub line: usize,
}

/// What a series element is.
#[derive(Clone, Debug, PartialEq)]
pub enum SeriesElement {
    /// Resistance and inductance; at least one of them above zero.
    Passive {
        /// Resistance in ohms.
        resistance_ohm: f64,
        /// Inductance in henries.
        inductance_h: f64,
        /// Saturation current in amperes, if the inductance saturates.
        saturation_a: Option<f64>,
    },
    /// A part of the library, by name.
    Part(String),
}

/// A protector across the line.
#[derive(Clone, Debug, PartialEq)]
pub struct ShuntStage {
    /// Name; `D1`, `D2`, … where the study gives none.
    pub name: String,
    /// The part, by name; present in `Study::parts`.
    pub part: String,
    /// Inductance of the shunt's own path in henries, package included.
    pub lead_h: f64,
    /// Between which conductors.
    pub between: Between,
    /// True if the part is turned round (cathode to return).
    pub reversed: bool,
    /// Line of the text, counted from 1.
    pub line: usize,
}

/// What the pin withstands for how long.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Withstand {
    /// Voltage in volts: above zero in `withstand`, below in `negative_withstand`.
    pub voltage_v: f64,
    /// For how long, in seconds; infinite for "any".
    pub lasts_s: f64,
}

/// Conduction of the pin itself: no current up to the threshold, then a resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conduction {
    /// Threshold in volts (positive side above zero, negative side below).
    pub threshold_v: f64,
    /// Resistance above it, in ohms.
    pub resistance_ohm: f64,
}

/// The protected circuit. `None` and empty lists are unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// Name.
    pub name: String,
    /// Positive withstand levels, shortest first.
    pub withstand: Vec<Withstand>,
    /// Negative withstand levels (voltages below zero), shortest first.
    pub negative_withstand: Vec<Withstand>,
    /// Withstand of each line to earth on a pair whose `withstand` stands between the lines, shortest first.
    pub withstand_common: Vec<Withstand>,
    /// Capacitance in farads.
    pub capacitance_f: Option<f64>,
    /// Series resistance of that capacitance in ohms.
    pub esr_ohm: Option<f64>,
    /// Conduction on the positive side.
    pub positive_conduction: Option<Conduction>,
    /// Conduction on the negative side.
    pub negative_conduction: Option<Conduction>,
    /// Current in amperes that destroys the pin, and the pulse width in seconds it is known for.
    pub failure_current: Option<(f64, f64)>,
    /// Energy in joules that destroys the pin.
    pub failure_energy_j: Option<f64>,
    /// Line of the `[pin]` table, counted from 1.
    pub line: usize,
}

/// Options of the assessment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AssessOptions {
    /// Ambient temperatures in °C to run besides the ends of the range.
    pub extra_ambients_c: Vec<f64>,
}
