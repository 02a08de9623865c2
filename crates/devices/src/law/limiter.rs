//! Blocking current limiter, a series element.

use super::{
    Bias, Characteristic, Conduction, MAX_EVENTS, MAX_INNER, Mode, Modes, Rate, State, Switching, Watch,
    alive_rate, goes_out, smooth_positive,
};

/// Reset time constant over that of opening and closing (numerical choice).
const RESET: f64 = 10.0;

/// Rounding of the foot of the fold-back curve as a share of the reset voltage (numerical choice).
const FOOT: f64 = 0.02;

/// Blocking current limiter: a resistance up to the trip current, then blocking until the voltage across it
/// falls below the reset voltage.
///
/// Once it has blocked, it conducts along its fold-back curve: a current that falls in a straight line from the trip current
/// at no voltage to nothing at the reset voltage (the static characteristic of such parts, from memory). A limiter that was
/// simply closed again would trip at once wherever the line feeds more than the trip current at less than the reset
/// voltage, and open and close for ever.
///
/// Inner state 0 is the conductance in siemens, relaxing to its on or blocked value within `transition_s`; inner
/// state 1 tells, while blocked, whether the voltage has stayed below the reset voltage long enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurrentLimiter {
    /// On resistance in ohms, above zero.
    pub on_ohm: f64,
    /// Trip current in amperes.
    pub trip_a: f64,
    /// Time constant of opening and closing in seconds, above zero.
    pub transition_s: f64,
    /// Resistance while blocking in ohms.
    pub blocked_ohm: f64,
    /// Voltage across the limiter below which it conducts again, in volts.
    pub reset_v: f64,
    /// Highest voltage it blocks, in volts; above it breaks down.
    pub withstand_v: f64,
    /// Slope resistance of that breakdown in ohms, above zero.
    pub breakdown_ohm: f64,
    /// Capacitance in farads, above zero.
    pub c_f: f64,
}

impl CurrentLimiter {
    /// Conductance in siemens on the fold-back curve at a voltage, and its derivative: that of the on resistance and that of
    /// the curve blended by their fourth powers (numerical choice), never less than while blocking.
    fn folded_back(&self, volts: f64) -> (f64, f64) {
        let size = volts.abs();
        let (share, slope) = smooth_positive(1.0 - size / self.reset_v, FOOT);
        // The curve's current as the voltage which that current would leave at the on resistance.
        let fall_v = self.on_ohm * self.trip_a;
        let (left, left_per_volt) = (fall_v * share, -fall_v * slope / self.reset_v);
        let blend = (left.powi(4) + size.powi(4)).powf(0.25);
        let per_volt = size.powi(3) * (left_per_volt * size - left) / blend.powi(5);
        (
            1.0 / self.blocked_ohm + left / blend / self.on_ohm,
            volts.signum() * per_volt / self.on_ohm,
        )
    }
}

impl Characteristic<f64> for CurrentLimiter {
    fn conduction(&self, _modes: &Modes<f64>, bias: &Bias) -> Conduction {
        let (over, up) = smooth_positive(bias.volts - self.withstand_v, 0.1);
        let (under, down) = smooth_positive(-bias.volts - self.withstand_v, 0.1);
        Conduction {
            amps: bias.inner[0] * bias.volts + (over - under) / self.breakdown_ohm,
            per_volt: bias.inner[0] + (up + down) / self.breakdown_ohm,
            per_kelvin: 0.0,
            per_inner: [bias.volts, 0.0],
        }
    }

    fn capacitance(&self, _volts: f64) -> (f64, f64) {
        (self.c_f, 0.0)
    }

    fn stored_j(&self, volts: f64) -> f64 {
        0.5 * self.c_f * volts * volts
    }

    fn inner_count(&self) -> usize {
        2
    }

    fn inner_rate(&self, modes: &Modes<f64>, bias: &Bias, _conduction: &Conduction, k: usize) -> Rate {
        if k == 1 {
            if !modes.all(Mode::Blocked) {
                return Rate::default();
            }
            let x_per = [1.0 / self.reset_v, 0.0, 0.0];
            let tau_s = RESET * self.transition_s;
            return alive_rate(bias.inner[1], bias.volts / self.reset_v, x_per, tau_s);
        }
        let (target, per_volt) = match modes.lane(0).mode {
            Mode::Blocked => (1.0 / self.blocked_ohm, 0.0),
            Mode::Limiting => self.folded_back(bias.volts),
            _ => (1.0 / self.on_ohm, 0.0),
        };
        Rate {
            per_s: (target - bias.inner[0]) / self.transition_s,
            per_volt: per_volt / self.transition_s,
            per_self: -1.0 / self.transition_s,
            ..Rate::default()
        }
    }
}

impl Switching for CurrentLimiter {
    fn inner_initial(&self, _volts: f64) -> [f64; MAX_INNER] {
        [1.0 / self.on_ohm, 0.0]
    }

    fn watches(&self, state: State, bias: &Bias, amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        match state.mode {
            Mode::Blocked => [Some(goes_out(bias.inner[1])), None, None],
            // The curve itself opens the limiter, as fast as a trip does.
            Mode::Limiting => [None; MAX_EVENTS],
            _ => [
                Some(Watch {
                    value: amps.abs() - self.trip_a,
                    at_once: true,
                }),
                None,
                None,
            ],
        }
    }

    fn after(&self, state: State, bias: &Bias, _amps: f64, _k: usize) -> (State, [f64; MAX_INNER]) {
        let (mode, held) = if state.mode == Mode::Blocked {
            (Mode::Limiting, 0.0)
        } else {
            (Mode::Blocked, 1.0)
        };
        (State { mode, ..state }, [bias.inner[0], held])
    }
}
