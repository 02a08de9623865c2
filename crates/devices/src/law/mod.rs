//! Conduction, capacitance and switching of each family.
//!
//! A [`Law`] is a set of pure functions of the voltage across the device, its junction temperature and at
//! most two internal states. Discrete behaviour (off, glow, arc, on …) is a [`State`] that changes only at
//! events the integrator has located, so that between events every function is smooth.

mod avalanche;
mod bank;
mod crowbar;
mod flat_clamp;
mod gas_tube;
mod limiter;
mod pieces;
mod simple;

use tidewall_lanes::Lane;

pub use avalanche::Avalanche;
pub use bank::{Bank, Modes};
pub use crowbar::Crowbar;
pub(crate) use crowbar::hold_at_a;
pub use flat_clamp::{FlatClamp, Trigger};
pub use gas_tube::GasTube;
pub use limiter::CurrentLimiter;
pub(crate) use pieces::{ClampBranch, Depletion, alive_rate, goes_out, smooth_positive};
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
pub struct Bias<T = f64> {
    /// Voltage across the device in volts.
    pub volts: T,
    /// Junction temperature in °C.
    pub junction_c: T,
    /// Inner states; meaning depends on the family.
    pub inner: [T; MAX_INNER],
}

/// Conduction current and its derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Conduction<T = f64> {
    /// Current in amperes.
    pub amps: T,
    /// Derivative to voltage in siemens.
    pub per_volt: T,
    /// Derivative to junction temperature in A/K.
    pub per_kelvin: T,
    /// Derivatives to the inner states.
    pub per_inner: [T; MAX_INNER],
}

/// Rate of change of an inner state and its derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rate<T = f64> {
    /// Rate per second.
    pub per_s: T,
    /// Derivative to the voltage across the device.
    pub per_volt: T,
    /// Derivative to the state itself.
    pub per_self: T,
    /// Derivative to the other inner state.
    pub per_other: T,
    /// Derivative to the junction temperature.
    pub per_kelvin: T,
}

/// Everything a law says at one bias, evaluated together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point<T = f64> {
    /// Conduction current and its derivatives.
    pub conduction: Conduction<T>,
    /// Capacitance in farads.
    pub farads: T,
    /// Derivative of the capacitance in F/V.
    pub farads_per_volt: T,
    /// Rates of the inner states in use.
    pub rates: [Rate<T>; MAX_INNER],
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

/// The smooth functions of a family, for one device or the same device of several corners.
pub(crate) trait Characteristic<T: Lane> {
    /// Conduction current at a bias.
    fn conduction(&self, modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T>;
    /// Capacitance in farads and its derivative in F/V.
    fn capacitance(&self, volts: T) -> (T, T);
    /// Energy in joules stored in the capacitance at a voltage.
    fn stored_j(&self, volts: T) -> T;
    /// How many inner states the family uses.
    #[inline(always)]
    fn inner_count(&self) -> usize {
        0
    }
    /// Rate of inner state `k`; `conduction` is that of the same state and bias.
    #[inline(always)]
    fn inner_rate(
        &self,
        _modes: &Modes<T>,
        _bias: &Bias<T>,
        _conduction: &Conduction<T>,
        _k: usize,
    ) -> Rate<T> {
        Rate::default()
    }
    /// Conduction, capacitance and inner rates together.
    #[inline(always)]
    fn point(&self, modes: &Modes<T>, bias: &Bias<T>) -> Point<T> {
        let conduction = self.conduction(modes, bias);
        let (farads, farads_per_volt) = self.capacitance(bias.volts);
        let mut rates = [Rate::default(); MAX_INNER];
        for (k, rate) in rates.iter_mut().enumerate().take(self.inner_count()) {
            *rate = self.inner_rate(modes, bias, &conduction, k);
        }
        Point {
            conduction,
            farads,
            farads_per_volt,
            rates,
        }
    }
}

/// The discrete side of a family; the defaults describe a device without switching.
pub(crate) trait Switching {
    /// Inner states before the stress, at a working voltage.
    fn inner_initial(&self, _volts: f64) -> [f64; MAX_INNER] {
        [0.0; MAX_INNER]
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
        let modes = Modes::of(state);
        each_law!(self, law => law.conduction(&modes, bias))
    }

    /// Capacitance in farads at a voltage, and its derivative in F/V.
    pub fn capacitance(&self, volts: f64) -> (f64, f64) {
        each_law!(self, law => Characteristic::<f64>::capacitance(law, volts))
    }

    /// Energy in joules stored in the capacitance at a voltage.
    pub fn stored_j(&self, volts: f64) -> f64 {
        each_law!(self, law => Characteristic::<f64>::stored_j(law, volts))
    }

    /// How many inner states the law uses (0 to [`MAX_INNER`]).
    pub fn inner_count(&self) -> usize {
        each_law!(self, law => Characteristic::<f64>::inner_count(law))
    }

    /// Inner states before the stress, when the device stands at `volts`.
    pub fn inner_initial(&self, volts: f64) -> [f64; MAX_INNER] {
        each_law!(self, law => law.inner_initial(volts))
    }

    /// Rate of inner state `k`.
    pub fn inner_rate(&self, state: State, bias: &Bias, k: usize) -> Rate {
        let modes = Modes::of(state);
        each_law!(self, law => law.inner_rate(&modes, bias, &law.conduction(&modes, bias), k))
    }

    /// Conduction, capacitance and inner rates together, which share what is costly.
    pub fn point(&self, state: State, bias: &Bias) -> Point {
        let modes = Modes::of(state);
        each_law!(self, law => law.point(&modes, bias))
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
