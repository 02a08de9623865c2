//! Snapback clamp and thyristor.

use super::{
    Bias, ClampBranch, Conduction, DeviceLaw, MAX_EVENTS, MAX_INNER, Mode, Rate, State, Watch, alive_rate,
    goes_out, smooth_positive,
};

/// Turn-off time constant over the time constant of the turn-on: stored charge leaves more slowly than it comes (of the
/// order of what data sheets of thyristors give; numerical choice).
const TURN_OFF: f64 = 30.0;

/// Holding current in amperes at a junction temperature in °C of a device that holds with `hold_a` amperes at 25 °C, never
/// below a tenth of that; the coefficient in 1/K.
pub(crate) fn hold_at_a(hold_a: f64, hold_per_k: f64, junction_c: f64) -> f64 {
    hold_a * (1.0 + hold_per_k * (junction_c - 25.0)).max(0.1)
}

/// Breakover device: an avalanche branch up to the trigger point, then a low on-voltage until the current
/// falls below the holding current.
///
/// Piecewise form of the snapback and thyristor characteristics (IEC 61643-341 terms). Inner state 0 is the
/// on-branch voltage, which relaxes from its value at breakover to `on_v` within `transition_s`; inner state 1 tells how
/// much of the stored charge is left: the device turns off when the current has stayed below the holding current for
/// some turn-off times, not at the first zero of a ringing current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowbar {
    /// Trigger (breakover) voltage at 25 °C in volts.
    pub trigger_v: f64,
    /// Current at the trigger point in amperes.
    pub trigger_a: f64,
    /// Temperature coefficient of the trigger voltage in 1/K.
    pub alpha_per_k: f64,
    /// Slope resistance of the avalanche branch in ohms, above zero.
    pub off_ohm: f64,
    /// On-state voltage extrapolated to zero current, in volts.
    pub on_v: f64,
    /// On-state resistance in ohms, above zero.
    pub on_ohm: f64,
    /// Holding current at 25 °C in amperes.
    pub hold_a: f64,
    /// Temperature coefficient of the holding current in 1/K (negative).
    pub hold_per_k: f64,
    /// Time constant of the transition in seconds, above zero.
    pub transition_s: f64,
    /// True for a symmetrical device.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional devices).
    pub forward_v: f64,
    /// Forward resistance in ohms (unidirectional devices).
    pub forward_ohm: f64,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: f64,
    /// Capacitance in farads, above zero.
    pub c_f: f64,
}

impl Crowbar {
    /// Trigger voltage in volts at a junction temperature in °C.
    pub fn trigger_at_v(&self, junction_c: f64) -> f64 {
        self.trigger_v * (1.0 + self.alpha_per_k * (junction_c - 25.0)).max(0.1)
    }

    /// Holding current in amperes at a junction temperature in °C, never below a tenth of its 25 °C value.
    pub fn hold_at_a(&self, junction_c: f64) -> f64 {
        hold_at_a(self.hold_a, self.hold_per_k, junction_c)
    }

    /// The avalanche branch of one polarity, drawn so that it carries `trigger_a` at the trigger voltage.
    fn add_avalanche(&self, bias: &Bias, sign: f64, out: &mut Conduction) {
        let branch = ClampBranch {
            start_v: self.trigger_at_v(bias.junction_c) - self.off_ohm * self.trigger_a,
            start_per_k: self.trigger_v * self.alpha_per_k,
            ohm: self.off_ohm,
            knee_v: self.knee_v,
        };
        branch.add(bias.volts, sign, out);
    }

    fn charge_rate(&self, state: State, bias: &Bias, c: &Conduction) -> Rate {
        if state.mode != Mode::On {
            return Rate::default();
        }
        let hold = self.hold_at_a(bias.junction_c);
        let hold_per_k = if hold > 0.1 * self.hold_a {
            self.hold_a * self.hold_per_k
        } else {
            0.0
        };
        // Reverse current (of the diode of a unidirectional part) does not hold.
        let x = (state.sign * c.amps / hold).max(0.0);
        let per_amp = state.sign / hold;
        let x_per = [
            per_amp * c.per_volt,
            per_amp * c.per_inner[0],
            per_amp * c.per_kelvin - x * hold_per_k / hold,
        ];
        alive_rate(bias.inner[1], x, x_per, TURN_OFF * self.transition_s)
    }
}

impl DeviceLaw for Crowbar {
    fn conduction(&self, state: State, bias: &Bias) -> Conduction {
        let mut out = Conduction::default();
        if state.mode == Mode::On {
            let (over, slope) = smooth_positive(state.sign * bias.volts - bias.inner[0], self.knee_v);
            out.amps = state.sign * over / self.on_ohm;
            out.per_volt = slope / self.on_ohm;
            out.per_inner[0] = -state.sign * slope / self.on_ohm;
            if self.bidirectional {
                // The other polarity has not broken over: its avalanche branch is there all the same.
                self.add_avalanche(bias, -state.sign, &mut out);
            }
        } else {
            self.add_avalanche(bias, 1.0, &mut out);
            if self.bidirectional {
                self.add_avalanche(bias, -1.0, &mut out);
            }
        }
        if !self.bidirectional {
            // A forward corner is no rounder than a junction's (numerical choice).
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(0.03))
                .add(bias.volts, -1.0, &mut out);
        }
        out
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

    fn inner_rate(&self, state: State, bias: &Bias, conduction: &Conduction, k: usize) -> Rate {
        if k == 1 {
            return self.charge_rate(state, bias, conduction);
        }
        let target = if state.mode == Mode::On { self.on_v } else { 0.0 };
        Rate {
            per_s: (target - bias.inner[0]) / self.transition_s,
            per_self: -1.0 / self.transition_s,
            ..Rate::default()
        }
    }

    fn watches(&self, state: State, bias: &Bias, _amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        let trigger = self.trigger_at_v(bias.junction_c);
        if state.mode == Mode::On {
            let other = self.bidirectional.then_some(Watch {
                value: -state.sign * bias.volts - trigger,
                at_once: true,
            });
            [Some(goes_out(bias.inner[1])), other, None]
        } else {
            let up = Some(Watch {
                value: bias.volts - trigger,
                at_once: true,
            });
            let down = self.bidirectional.then_some(Watch {
                value: -bias.volts - trigger,
                at_once: true,
            });
            [up, down, None]
        }
    }

    fn after(&self, state: State, bias: &Bias, amps: f64, k: usize) -> (State, [f64; MAX_INNER]) {
        if state.mode == Mode::On && k == 0 {
            return (
                State {
                    mode: Mode::Off,
                    sign: state.sign,
                },
                [bias.inner[0], 0.0],
            );
        }
        let sign = match state.mode {
            Mode::On => -state.sign,
            _ if k == 0 => 1.0,
            _ => -1.0,
        };
        // The current is continuous through breakover: the on-branch starts where the avalanche branch ended.
        let start = sign * bias.volts - self.on_ohm * (sign * amps).max(0.0);
        (State { mode: Mode::On, sign }, [start, 1.0])
    }
}
