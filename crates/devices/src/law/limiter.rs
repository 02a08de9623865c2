//! Blocking current limiter, a series element.

use super::{
    Bias, Characteristic, Conduction, MAX_EVENTS, MAX_INNER, Mode, Modes, Rate, State, Switching, Watch,
    alive_rate, goes_out, smooth_positive,
};

/// Reset time constant over that of opening and closing (numerical choice).
const RESET: f64 = 10.0;

/// Blocking current limiter: a resistance up to the trip current, then blocking until the voltage across it
/// falls below the reset voltage.
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
        let ohm = modes.when(Mode::Blocked, self.blocked_ohm, self.on_ohm);
        Rate {
            per_s: (1.0 / ohm - bias.inner[0]) / self.transition_s,
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
        if state.mode == Mode::Blocked {
            [Some(goes_out(bias.inner[1])), None, None]
        } else {
            [
                Some(Watch {
                    value: amps.abs() - self.trip_a,
                    at_once: true,
                }),
                None,
                None,
            ]
        }
    }

    fn after(&self, state: State, bias: &Bias, _amps: f64, _k: usize) -> (State, [f64; MAX_INNER]) {
        let (mode, held) = if state.mode == Mode::Blocked {
            (Mode::Off, 0.0)
        } else {
            (Mode::Blocked, 1.0)
        };
        (State { mode, ..state }, [bias.inner[0], held])
    }
}
