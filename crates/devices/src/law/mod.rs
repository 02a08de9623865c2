//! Conduction, capacitance and switching of each family.
//!
//! A [`Law`] is a set of pure functions of the voltage across the device, its junction temperature and at
//! most two internal states. Discrete behaviour (off, glow, arc, on …) is a [`State`] that changes only at
//! events the integrator has located, so that between events every function is smooth.

use std::f64::consts::LN_2;

mod avalanche;
mod crowbar;
mod flat_clamp;
mod gas_tube;
mod limiter;
mod simple;

pub use avalanche::Avalanche;
pub use crowbar::Crowbar;
pub(crate) use crowbar::hold_at_a;
pub use flat_clamp::{FlatClamp, Trigger};
pub use gas_tube::GasTube;
pub use limiter::CurrentLimiter;
pub use simple::{Diode, PinClamp, Table, TableError, Varistor};

/// The most internal states a law may have (numerical choice).
pub const MAX_INNER: usize = 2;
/// The most events a law may watch in one state (numerical choice).
pub const MAX_EVENTS: usize = 3;

/// The discrete state of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Not triggered.
    Off,
    /// Triggered, waiting for its turn-on delay.
    Delay,
    /// Conducting in its low-voltage state.
    On,
    /// Gas tube in glow discharge.
    Glow,
    /// Gas tube in arc discharge.
    Arc,
    /// A triggered clamp whose time-out ran off while the stress was still there.
    TimedOut,
    /// A current limiter that blocks.
    Blocked,
    /// A current limiter that conducts again after it has blocked, along its fold-back curve.
    Limiting,
}

/// Discrete state with the polarity in which it was entered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Which branch of the characteristic is valid.
    pub mode: Mode,
    /// +1 or −1: polarity of the voltage that triggered the device.
    pub sign: f64,
}

impl State {
    /// The state before any stress.
    pub const INITIAL: State = State {
        mode: Mode::Off,
        sign: 1.0,
    };
}

/// What a law is asked at: voltage, junction temperature, inner states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bias {
    /// Voltage across the device in volts.
    pub volts: f64,
    /// Junction temperature in °C.
    pub junction_c: f64,
    /// Inner states; meaning depends on the family.
    pub inner: [f64; MAX_INNER],
}

/// Conduction current and its derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Conduction {
    /// Current in amperes.
    pub amps: f64,
    /// Derivative to voltage in siemens.
    pub per_volt: f64,
    /// Derivative to junction temperature in A/K.
    pub per_kelvin: f64,
    /// Derivatives to the inner states.
    pub per_inner: [f64; MAX_INNER],
}

/// Rate of change of an inner state and its derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rate {
    /// Rate per second.
    pub per_s: f64,
    /// Derivative to the voltage across the device.
    pub per_volt: f64,
    /// Derivative to the state itself.
    pub per_self: f64,
    /// Derivative to the other inner state.
    pub per_other: f64,
    /// Derivative to the junction temperature.
    pub per_kelvin: f64,
}

/// Everything a law says at one bias, evaluated together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Conduction current and its derivatives.
    pub conduction: Conduction,
    /// Capacitance in farads.
    pub farads: f64,
    /// Derivative of the capacitance in F/V.
    pub farads_per_volt: f64,
    /// Rates of the inner states in use.
    pub rates: [Rate; MAX_INNER],
}

/// A condition that ends a discrete state when it becomes zero from below.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watch {
    /// Negative while the state holds.
    pub value: f64,
    /// True when a value at or above zero right after a change of state counts at once (a trigger level);
    /// false when the value must first have been negative (extinction of a current that has yet to rise).
    pub at_once: bool,
}

/// A device law of one family.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Avalanche diode, unidirectional or bidirectional.
    Avalanche(Avalanche),
    /// Triggered transistor clamp with a flat characteristic.
    FlatClamp(FlatClamp),
    /// Snapback clamp or thyristor: breakover to a low on-voltage.
    Crowbar(Crowbar),
    /// Metal-oxide varistor.
    Varistor(Varistor),
    /// Gas discharge tube.
    GasTube(GasTube),
    /// A diode (steering diodes, bridge).
    Diode(Diode),
    /// Conduction of a protected pin.
    Pin(PinClamp),
    /// Measured V-I table.
    Table(Table),
    /// Blocking current limiter (a series element).
    Limiter(CurrentLimiter),
}

macro_rules! each_law {
    ($law:expr, $inner:ident => $body:expr) => {
        match $law {
            Law::Avalanche($inner) => $body,
            Law::FlatClamp($inner) => $body,
            Law::Crowbar($inner) => $body,
            Law::Varistor($inner) => $body,
            Law::GasTube($inner) => $body,
            Law::Diode($inner) => $body,
            Law::Pin($inner) => $body,
            Law::Table($inner) => $body,
            Law::Limiter($inner) => $body,
        }
    };
}

/// What every family provides; the defaults describe a device without switching.
pub(crate) trait DeviceLaw {
    /// Conduction current at a bias.
    fn conduction(&self, state: State, bias: &Bias) -> Conduction;
    /// Capacitance in farads and its derivative in F/V.
    fn capacitance(&self, volts: f64) -> (f64, f64);
    /// Energy in joules stored in the capacitance at a voltage.
    fn stored_j(&self, volts: f64) -> f64;
    /// How many inner states the family uses.
    fn inner_count(&self) -> usize {
        0
    }
    /// Inner states before the stress, at a working voltage.
    fn inner_initial(&self, _volts: f64) -> [f64; MAX_INNER] {
        [0.0; MAX_INNER]
    }
    /// Rate of inner state `k`; `conduction` is that of the same state and bias.
    fn inner_rate(&self, _state: State, _bias: &Bias, _conduction: &Conduction, _k: usize) -> Rate {
        Rate::default()
    }
    /// Conditions watched in a state; unused places hold `None`.
    fn watches(&self, _state: State, _bias: &Bias, _amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        [None; MAX_EVENTS]
    }
    /// State and inner states after watch `k` has come true.
    fn after(&self, state: State, bias: &Bias, _amps: f64, _k: usize) -> (State, [f64; MAX_INNER]) {
        (state, bias.inner)
    }
}

impl Law {
    /// Conduction current and derivatives at a bias in a discrete state.
    pub fn conduction(&self, state: State, bias: &Bias) -> Conduction {
        each_law!(self, law => law.conduction(state, bias))
    }

    /// Capacitance in farads at a voltage, and its derivative in F/V.
    pub fn capacitance(&self, volts: f64) -> (f64, f64) {
        each_law!(self, law => law.capacitance(volts))
    }

    /// Energy in joules stored in the capacitance at a voltage.
    pub fn stored_j(&self, volts: f64) -> f64 {
        each_law!(self, law => law.stored_j(volts))
    }

    /// How many inner states the law uses (0 to [`MAX_INNER`]).
    pub fn inner_count(&self) -> usize {
        each_law!(self, law => law.inner_count())
    }

    /// Inner states before the stress, when the device stands at `volts`.
    pub fn inner_initial(&self, volts: f64) -> [f64; MAX_INNER] {
        each_law!(self, law => law.inner_initial(volts))
    }

    /// Rate of inner state `k`.
    pub fn inner_rate(&self, state: State, bias: &Bias, k: usize) -> Rate {
        each_law!(self, law => law.inner_rate(state, bias, &law.conduction(state, bias), k))
    }

    /// Conduction, capacitance and inner rates together, which share what is costly.
    pub fn point(&self, state: State, bias: &Bias) -> Point {
        each_law!(self, law => {
            let conduction = law.conduction(state, bias);
            let (farads, farads_per_volt) = law.capacitance(bias.volts);
            let mut rates = [Rate::default(); MAX_INNER];
            for (k, rate) in rates.iter_mut().enumerate().take(law.inner_count()) {
                *rate = law.inner_rate(state, bias, &conduction, k);
            }
            Point { conduction, farads, farads_per_volt, rates }
        })
    }

    /// The conditions that would end the present discrete state.
    pub fn watches(&self, state: State, bias: &Bias, amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        each_law!(self, law => law.watches(state, bias, amps))
    }

    /// True for a law some of whose watched conditions are about its current.
    pub fn watches_current(&self) -> bool {
        matches!(self, Law::GasTube(_) | Law::Limiter(_))
    }

    /// Discrete and inner states after watch `k` has come true.
    pub fn after(&self, state: State, bias: &Bias, amps: f64, k: usize) -> (State, [f64; MAX_INNER]) {
        each_law!(self, law => law.after(state, bias, amps, k))
    }

    /// True for a unidirectional protector: rated in its breakdown direction, a diode in the other.
    pub fn is_one_sided(&self) -> bool {
        match self {
            Law::Avalanche(law) => !law.bidirectional,
            Law::FlatClamp(law) => !law.bidirectional,
            Law::Crowbar(law) => !law.bidirectional,
            _ => false,
        }
    }

    /// True for a law with discrete states.
    pub fn switches(&self) -> bool {
        matches!(
            self,
            Law::FlatClamp(_) | Law::Crowbar(_) | Law::GasTube(_) | Law::Limiter(_)
        )
    }
}

/// Smooth positive part: `width ln(1 + exp(x / width))`, and its derivative.
///
/// Approaches `x` above and `0` below the corner within a few `width`, so that a clamp's V-I curve is
/// straight well above its knee. Beyond forty widths the difference to these is below the last digit (4e-18 widths) and
/// left out (numerical choice), which also saves the exponential for most of a transient.
pub(crate) fn smooth_positive(x: f64, width: f64) -> (f64, f64) {
    let u = x / width;
    if u > 40.0 {
        (x, 1.0)
    } else if u < -40.0 {
        (0.0, 0.0)
    } else {
        let e = u.exp();
        (width * e.ln_1p(), e / (1.0 + e))
    }
}

/// How far a device is from going out: relaxes within `tau_s` to `x² / (1 + x²)`, `x` being the present current (or
/// voltage) as a share of the level at which it goes out, so that a steady value at that level gives one half.
///
/// What keeps a discharge or a latched junction alive is charge carriers, which outlast a current zero: without them,
/// a ringing current would put the device out at its first reversal. `x_per` holds the derivatives of `x` to voltage,
/// other inner state and temperature.
pub(crate) fn alive_rate(alive: f64, x: f64, x_per: [f64; 3], tau_s: f64) -> Rate {
    let below = 1.0 + x * x;
    let slope = 2.0 * x / (below * below) / tau_s;
    Rate {
        per_s: (x * x / below - alive) / tau_s,
        per_volt: slope * x_per[0],
        per_self: -1.0 / tau_s,
        per_other: slope * x_per[1],
        per_kelvin: slope * x_per[2],
    }
}

/// The condition that a state held by [`alive_rate`] ends.
pub(crate) fn goes_out(alive: f64) -> Watch {
    Watch {
        value: 0.5 - alive,
        at_once: false,
    }
}

/// A branch that conducts beyond a voltage: straight, with a rounded corner.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ClampBranch {
    /// Voltage in volts at which it begins.
    pub start_v: f64,
    /// Shift of that voltage in V/K.
    pub start_per_k: f64,
    /// Slope resistance in ohms, above zero.
    pub ohm: f64,
    /// Rounding of the corner in volts, above zero.
    pub knee_v: f64,
}

impl ClampBranch {
    /// A branch whose start does not depend on temperature.
    pub(crate) fn fixed(start_v: f64, ohm: f64, knee_v: f64) -> ClampBranch {
        ClampBranch {
            start_v,
            start_per_k: 0.0,
            ohm,
            knee_v,
        }
    }

    /// Adds the branch for voltages of one sign (+1 or −1).
    pub(crate) fn add(&self, volts: f64, sign: f64, out: &mut Conduction) {
        let (over, slope) = smooth_positive(sign * volts - self.start_v, self.knee_v);
        out.amps += sign * over / self.ohm;
        out.per_volt += slope / self.ohm;
        out.per_kelvin -= sign * slope * self.start_per_k / self.ohm;
    }
}

/// Depletion capacitance `c0 / (1 + |v| / built_in)^grading` and its derivative; in forward bias of a
/// unidirectional junction it is held at the value reached at half the built-in voltage.
pub(crate) fn junction_capacitance(
    c0_f: f64,
    built_in_v: f64,
    grading: f64,
    symmetrical: bool,
    volts: f64,
) -> (f64, f64) {
    let (reverse, direction) = if symmetrical && volts < 0.0 {
        (-volts, -1.0)
    } else {
        (volts, 1.0)
    };
    if reverse < -0.5 * built_in_v {
        return (c0_f * (LN_2 * grading).exp(), 0.0);
    }
    let x = 1.0 + reverse / built_in_v;
    // The exponent is small: as an exponential it keeps all but the last digits and costs half of a general power.
    let c = c0_f * (-grading * x.ln()).exp();
    (c, -direction * grading * c / (x * built_in_v))
}

/// Energy in joules held by [`junction_capacitance`] at `volts`: the integral of `C(u) u du` from zero.
pub(crate) fn junction_energy(
    c0_f: f64,
    built_in_v: f64,
    grading: f64,
    symmetrical: bool,
    volts: f64,
) -> f64 {
    let reverse = if symmetrical { volts.abs() } else { volts };
    let depletion = |v: f64| {
        let x = 1.0 + v / built_in_v;
        let power = x * (-grading * x.ln()).exp();
        c0_f * built_in_v
            * built_in_v
            * ((x * power - 1.0) / (2.0 - grading) - (power - 1.0) / (1.0 - grading))
    };
    let edge = -0.5 * built_in_v;
    if reverse < edge {
        let flat = c0_f * (LN_2 * grading).exp();
        depletion(edge) + 0.5 * flat * (reverse * reverse - edge * edge)
    } else {
        depletion(reverse)
    }
}
