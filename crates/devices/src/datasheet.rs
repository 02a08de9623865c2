//! What is known of a part, datum by datum. Everything is optional: a model that lacks a datum says which.

use std::sync::Arc;

use crate::specimen::Specimens;

/// Which corner of a part's tolerance a model stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PartCorner {
    /// Lowest breakdown, lowest clamping.
    Low,
    /// Typical values.
    Typical,
    /// Highest breakdown, highest clamping.
    High,
}

/// How firm a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Firmness {
    /// Guaranteed by the maker.
    Guaranteed,
    /// Typical of the type.
    Typical,
    /// Measured on specimens.
    Measured,
    /// Invented for a demonstration.
    Invented,
    /// Derived by formula for a class of parts; no real part. Minimum and maximum stand for the class's corners, and
    /// typical values are not lent to them.
    Generic,
}

/// Minimum, typical and maximum of one datum in SI units; any may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// Minimum.
    pub min: Option<f64>,
    /// Typical.
    pub typ: Option<f64>,
    /// Maximum.
    pub max: Option<f64>,
}

/// A standard impulse that ratings are given for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RatingWave {
    /// 8/20 µs.
    Surge8x20,
    /// 10/1000 µs.
    Long10x1000,
    /// Any front and tail in seconds (current definition), e.g. 2/10, 10/350, 5/310.
    FrontTail {
        /// Front time in seconds.
        front_s: f64,
        /// Time to half value in seconds.
        tail_s: f64,
    },
    /// Rectangular pulse of a width in seconds (TLP, direct-current pulses).
    Rectangle {
        /// Width in seconds.
        width_s: f64,
    },
}

/// A point of the clamping characteristic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampPoint {
    /// The wave the current has.
    pub wave: RatingWave,
    /// Peak current in amperes.
    pub current_a: f64,
    /// Voltage at that current in volts.
    pub voltage_v: Spread,
}

/// A point of the pulse-power or pulse-current rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulseRating {
    /// The wave it is rated for.
    pub wave: RatingWave,
    /// Peak power in watts, if given.
    pub power_w: Option<f64>,
    /// Peak current in amperes, if given.
    pub current_a: Option<f64>,
    /// Energy in joules, if given.
    pub energy_j: Option<f64>,
    /// How many pulses the rating is for (1 unless the source says otherwise).
    pub pulses: u32,
}

/// Leakage at one voltage and temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakagePoint {
    /// Voltage in volts.
    pub voltage_v: f64,
    /// Temperature in °C.
    pub temperature_c: f64,
    /// Highest current in amperes.
    pub current_a: f64,
}

/// Capacitance at a bias.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapacitancePoint {
    /// Bias in volts.
    pub bias_v: f64,
    /// Capacitance in farads.
    pub capacitance_f: Spread,
}

/// Firing voltage of a gas tube at a slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FiringPoint {
    /// Slope in V/s.
    pub slope_v_per_s: f64,
    /// Firing voltage in volts.
    pub voltage_v: Spread,
}

/// Family of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Family {
    /// Avalanche diode.
    Avalanche,
    /// Triggered flat clamp.
    FlatClamp,
    /// Snapback clamp.
    Snapback,
    /// Metal-oxide varistor.
    Varistor,
    /// Gas discharge tube.
    GasTube,
    /// Thyristor surge suppressor.
    Thyristor,
    /// Steering diodes to a rail.
    Steering,
    /// Part known by a measured V-I table only.
    Table,
    /// Series resistor.
    Resistor,
    /// Inductor.
    Inductor,
    /// Ferrite bead.
    Bead,
    /// Fuse.
    Fuse,
    /// Polymer or ceramic PTC.
    Ptc,
    /// Blocking current limiter.
    Limiter,
}

impl std::fmt::Display for Family {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Family::Avalanche => "avalanche diode",
            Family::FlatClamp => "flat clamp",
            Family::Snapback => "snapback clamp",
            Family::Varistor => "varistor",
            Family::GasTube => "gas tube",
            Family::Thyristor => "thyristor",
            Family::Steering => "steering diodes",
            Family::Table => "measured table",
            Family::Resistor => "resistor",
            Family::Inductor => "inductor",
            Family::Bead => "ferrite bead",
            Family::Fuse => "fuse",
            Family::Ptc => "PTC",
            Family::Limiter => "current limiter",
        })
    }
}

/// All that is known of one part. Voltages in volts, SI units throughout; what is unknown is `None` or empty.
#[derive(Clone, Debug, PartialEq)]
pub struct Datasheet {
    /// Name in the library.
    pub name: Arc<str>,
    /// Family.
    pub family: Family,
    /// True for a symmetrical part.
    pub bidirectional: Option<bool>,
    /// How firm the values are unless a datum says otherwise.
    pub firmness: Option<Firmness>,
    /// Where the values are from.
    pub source: Arc<str>,

    /// Stand-off voltage in volts (avalanche, flat clamp, snapback), maximum continuous voltage (varistor),
    /// off-state voltage VDRM (thyristor).
    pub stand_off_v: Option<f64>,
    /// Breakdown voltage at `breakdown_at_a` (avalanche); trigger voltage (flat clamp, snapback); V at 1 mA
    /// (varistor); breakover voltage (thyristor); direct spark-over voltage (gas tube).
    pub breakdown_v: Spread,
    /// Current at which `breakdown_v` is measured, in amperes; trigger or breakover current for crowbars.
    pub breakdown_at_a: Option<f64>,
    /// Clamping points.
    pub clamp: Vec<ClampPoint>,
    /// Pulse ratings.
    pub ratings: Vec<PulseRating>,
    /// Temperature coefficient of the breakdown or trigger voltage in 1/K.
    pub alpha_per_k: Option<f64>,
    /// Leakage points.
    pub leakage: Vec<LeakagePoint>,
    /// Temperature rise that doubles the leakage, in kelvins.
    pub leakage_doubling_k: Option<f64>,
    /// Capacitance points.
    pub capacitance: Vec<CapacitancePoint>,
    /// Grading exponent of the capacitance law, if known.
    pub grading: Option<f64>,
    /// Forward voltage in volts at `forward_at_a` (unidirectional parts, steering diodes).
    pub forward_v: Option<f64>,
    /// Forward current in amperes at which `forward_v` is given.
    pub forward_at_a: Option<f64>,
    /// Forward resistance in ohms.
    pub forward_ohm: Option<f64>,
    /// Highest junction temperature in °C.
    pub junction_max_c: Option<f64>,
    /// Initial junction temperature in °C up to which the pulse ratings hold without derating.
    pub derating_from_c: Option<f64>,
    /// Thermal resistance junction to ambient in K/W.
    pub thermal_k_per_w: Option<f64>,
    /// Continuous power rating in watts.
    pub power_w: Option<f64>,
    /// Package inductance in henries.
    pub package_h: Option<f64>,

    /// Dynamic resistance in ohms (flat clamp, snapback on-state, thyristor on-state, varistor bulk, steering).
    pub dynamic_ohm: Option<f64>,
    /// On-state voltage at zero current in volts: flat clamp V0, snapback V0, thyristor VT0.
    pub on_v: Spread,
    /// Holding voltage in volts (snapback).
    pub hold_v: Spread,
    /// Holding current in amperes at 25 °C.
    pub hold_a: Spread,
    /// Temperature coefficient of the holding current in 1/K.
    pub hold_per_k: Option<f64>,
    /// Turn-on delay or transition time in seconds.
    pub turn_on_s: Option<f64>,
    /// Failure (second breakdown) current in amperes of a snapback part, for `failure_width_s`.
    pub failure_a: Option<f64>,
    /// Pulse width of `failure_a` in seconds.
    pub failure_width_s: Option<f64>,
    /// Highest current of a flat clamp's on-branch in amperes.
    pub saturation_a: Option<f64>,
    /// Breakdown of a flat clamp's power transistor in volts.
    pub transistor_breakdown_v: Option<f64>,
    /// Voltage below which a flat clamp turns off, in volts.
    pub turn_off_v: Option<f64>,
    /// Time constant of a slope-triggered clamp's detector in seconds; `None` for a voltage-triggered clamp.
    pub detector_s: Option<f64>,
    /// Time-out of a slope-triggered clamp in seconds.
    pub time_out_s: Option<f64>,

    /// Non-linearity exponent of a varistor.
    pub exponent: Option<f64>,
    /// Pulse-life exponents `(p, q)` of `I = I1 n^−p (t / 20 µs)^−q` (varistor).
    pub pulse_life: Option<(f64, f64)>,

    /// Firing points of a gas tube.
    pub firing: Vec<FiringPoint>,
    /// Glow voltage in volts.
    pub glow_v: Option<f64>,
    /// Glow-to-arc transition current in amperes.
    pub glow_to_arc_a: Option<f64>,
    /// Arc voltage in volts.
    pub arc_v: Option<f64>,
    /// Direct holdover voltage in volts.
    pub holdover_v: Option<f64>,

    /// Resistance in ohms: resistor, inductor winding, cold fuse, cold PTC, limiter on-state.
    pub resistance_ohm: Option<f64>,
    /// Inductance in henries (inductor, bead).
    pub inductance_h: Option<f64>,
    /// Saturation current in amperes (inductor, bead).
    pub inductor_saturation_a: Option<f64>,
    /// Resistance in ohms of a bead at high frequency (in parallel to its inductance).
    pub bead_ohm: Option<f64>,
    /// Melting I²t in A²s (fuse).
    pub melting_a2s: Option<f64>,
    /// Rated current in amperes (fuse), hold current (PTC).
    pub rated_a: Option<f64>,
    /// Trip current in amperes (PTC, limiter).
    pub trip_a: Option<f64>,
    /// Highest voltage in volts (fuse, PTC, limiter, resistor).
    pub voltage_max_v: Option<f64>,
    /// Reset voltage in volts (limiter).
    pub reset_v: Option<f64>,

    /// Capacitance in farads of the rail behind steering diodes.
    pub rail_f: Option<f64>,
    /// Working voltage of that rail in volts.
    pub rail_v: Option<f64>,
    /// Breakdown of the clamp on that rail in volts, and its dynamic resistance in ohms.
    pub rail_clamp: Option<(f64, f64)>,

    /// Measured V-I points (volts, amperes), rising.
    pub table: Vec<(f64, f64)>,

    /// Board area in m².
    pub area_m2: Option<f64>,
    /// Price in any one currency (relative cost).
    pub cost: Option<f64>,

    /// The specimens these data speak of; `None` for a type.
    pub specimens: Option<Box<Specimens>>,
}

impl Datasheet {
    /// A part of which nothing is known but its name, family and source.
    pub fn unknown(name: &str, family: Family, source: &str) -> Datasheet {
        Datasheet {
            name: name.into(),
            family,
            bidirectional: None,
            firmness: None,
            source: source.into(),
            stand_off_v: None,
            breakdown_v: Spread::default(),
            breakdown_at_a: None,
            clamp: Vec::new(),
            ratings: Vec::new(),
            alpha_per_k: None,
            leakage: Vec::new(),
            leakage_doubling_k: None,
            capacitance: Vec::new(),
            grading: None,
            forward_v: None,
            forward_at_a: None,
            forward_ohm: None,
            junction_max_c: None,
            derating_from_c: None,
            thermal_k_per_w: None,
            power_w: None,
            package_h: None,
            dynamic_ohm: None,
            on_v: Spread::default(),
            hold_v: Spread::default(),
            hold_a: Spread::default(),
            hold_per_k: None,
            turn_on_s: None,
            failure_a: None,
            failure_width_s: None,
            saturation_a: None,
            transistor_breakdown_v: None,
            turn_off_v: None,
            detector_s: None,
            time_out_s: None,
            exponent: None,
            pulse_life: None,
            firing: Vec::new(),
            glow_v: None,
            glow_to_arc_a: None,
            arc_v: None,
            holdover_v: None,
            resistance_ohm: None,
            inductance_h: None,
            inductor_saturation_a: None,
            bead_ohm: None,
            melting_a2s: None,
            rated_a: None,
            trip_a: None,
            voltage_max_v: None,
            reset_v: None,
            rail_f: None,
            rail_v: None,
            rail_clamp: None,
            table: Vec::new(),
            area_m2: None,
            cost: None,
            specimens: None,
        }
    }
}
