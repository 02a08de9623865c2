//! Flat clamp: trigger circuit and power transistor.

use super::{
    Bias, ClampBranch, Conduction, DeviceLaw, MAX_EVENTS, MAX_INNER, Mode, Rate, State, Watch, alive_rate,
    goes_out, junction_capacitance, junction_energy, smooth_positive,
};

/// How a flat clamp is triggered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trigger {
    /// By voltage; the clamp stays on for as long as the voltage is there.
    Voltage,
    /// By voltage together with a fast rise (`v` minus its low-pass of time constant `rc_s` above the trigger);
    /// after `hold_s` the clamp lets go even if the voltage is still high.
    Slope {
        /// Time constant of the detecting RC in seconds.
        rc_s: f64,
        /// Time-out in seconds.
        hold_s: f64,
    },
}

/// Time constant with which a voltage-triggered clamp turns off over that with which it turns on: the trigger circuit
/// does not let go for a single swing of a ringing voltage (numerical choice).
const TURN_OFF: f64 = 10.0;

/// Flat clamp: off, delay, on (`V = V0(T) + R i`), and the transistor's own breakdown above.
///
/// Inner state 0 is the on-branch voltage, relaxing to `V0(T)`; inner state 1 is the low-pass of the detecting
/// RC while off (slope-triggered kinds), the elapsed fraction of the delay in [`Mode::Delay`], and the elapsed
/// fraction of the time-out while on (for voltage-triggered kinds, whether the voltage has stayed up).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatClamp {
    /// Trigger voltage at 25 °C in volts.
    pub trigger_v: f64,
    /// On-branch voltage extrapolated to zero current at 25 °C, in volts.
    pub on_v: f64,
    /// Temperature coefficient of both voltages in 1/K of the reference, which sits at case temperature.
    pub alpha_per_k: f64,
    /// Temperature of the reference in °C (the ambient: it sits away from the power area).
    pub reference_c: f64,
    /// Dynamic resistance in ohms, above zero.
    pub r_ohm: f64,
    /// Turn-on delay in seconds, above zero.
    pub delay_s: f64,
    /// Time constant of the turn-on itself in seconds, above zero.
    pub settle_s: f64,
    /// Voltage below which the clamp turns off, in volts.
    pub off_v: f64,
    /// Highest current of the on-branch in amperes; above it the voltage rises to the breakdown.
    pub saturation_a: f64,
    /// Breakdown voltage of the power transistor in volts.
    pub breakdown_v: f64,
    /// Slope resistance of that breakdown in ohms, above zero.
    pub breakdown_ohm: f64,
    /// How the clamp is triggered.
    pub trigger: Trigger,
    /// True for a symmetrical clamp.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional clamps).
    pub forward_v: f64,
    /// Forward resistance in ohms (unidirectional clamps).
    pub forward_ohm: f64,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: f64,
    /// Capacitance at zero bias in farads, above zero.
    pub c0_f: f64,
    /// Built-in voltage in volts of the capacitance law.
    pub built_in_v: f64,
    /// Grading exponent of the capacitance law.
    pub grading: f64,
}

impl FlatClamp {
    fn temperature_factor(&self) -> f64 {
        (1.0 + self.alpha_per_k * (self.reference_c - 25.0)).max(0.1)
    }

    /// Trigger voltage in volts at the reference temperature.
    pub fn trigger_at_v(&self) -> f64 {
        self.trigger_v * self.temperature_factor()
    }

    /// On-branch voltage at zero current in volts at the reference temperature.
    pub fn on_at_v(&self) -> f64 {
        self.on_v * self.temperature_factor()
    }
}

impl DeviceLaw for FlatClamp {
    fn conduction(&self, state: State, bias: &Bias) -> Conduction {
        let mut out = Conduction::default();
        if state.mode == Mode::On {
            let (over, slope) = smooth_positive(state.sign * bias.volts - bias.inner[0], self.knee_v);
            let linear = over / self.r_ohm;
            // Saturation as a fourth-power blend: linear well below, flat well above the limit (numerical choice).
            let x = linear / self.saturation_a;
            let square = x * x;
            let root = (1.0 + square * square).sqrt();
            let bend = 1.0 / root.sqrt();
            let limited = linear * bend;
            let gain = bend / (root * root) * slope / self.r_ohm;
            out.amps = state.sign * limited;
            out.per_volt = gain;
            out.per_inner[0] = -state.sign * gain;
        }
        let breakdown = ClampBranch::fixed(self.breakdown_v, self.breakdown_ohm, self.knee_v);
        let below = if self.bidirectional {
            breakdown
        } else {
            // A forward corner is no rounder than a junction's (numerical choice).
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(0.03))
        };
        breakdown.add(bias.volts, 1.0, &mut out);
        below.add(bias.volts, -1.0, &mut out);
        out
    }

    fn capacitance(&self, volts: f64) -> (f64, f64) {
        junction_capacitance(
            self.c0_f,
            self.built_in_v,
            self.grading,
            self.bidirectional,
            volts,
        )
    }

    fn stored_j(&self, volts: f64) -> f64 {
        junction_energy(
            self.c0_f,
            self.built_in_v,
            self.grading,
            self.bidirectional,
            volts,
        )
    }

    fn inner_count(&self) -> usize {
        2
    }

    fn inner_initial(&self, volts: f64) -> [f64; MAX_INNER] {
        match self.trigger {
            Trigger::Voltage => [0.0, 0.0],
            Trigger::Slope { .. } => [0.0, volts],
        }
    }

    fn inner_rate(&self, state: State, bias: &Bias, _conduction: &Conduction, k: usize) -> Rate {
        if k == 0 {
            if state.mode != Mode::On {
                return Rate::default();
            }
            return Rate {
                per_s: (self.on_at_v() - bias.inner[0]) / self.settle_s,
                per_self: -1.0 / self.settle_s,
                ..Rate::default()
            };
        }
        match (state.mode, self.trigger) {
            (Mode::Delay, _) => Rate {
                per_s: 1.0 / self.delay_s,
                ..Rate::default()
            },
            (Mode::On, Trigger::Slope { hold_s, .. }) => Rate {
                per_s: 1.0 / hold_s,
                ..Rate::default()
            },
            (Mode::On, Trigger::Voltage) => {
                let x = (state.sign * bias.volts / self.off_v).max(0.0);
                let x_per = [state.sign / self.off_v, 0.0, 0.0];
                alive_rate(bias.inner[1], x, x_per, TURN_OFF * self.settle_s)
            }
            (Mode::Off, Trigger::Slope { rc_s, .. }) => Rate {
                per_s: (bias.volts - bias.inner[1]) / rc_s,
                per_volt: 1.0 / rc_s,
                per_self: -1.0 / rc_s,
                ..Rate::default()
            },
            _ => Rate::default(),
        }
    }

    fn watches(&self, state: State, bias: &Bias, _amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        let along = state.sign * bias.volts;
        match state.mode {
            Mode::Off => {
                let low_pass = match self.trigger {
                    Trigger::Voltage => 0.0,
                    Trigger::Slope { .. } => bias.inner[1],
                };
                let trigger = self.trigger_at_v();
                let up = (bias.volts - trigger).min(bias.volts - low_pass - trigger);
                let down = (-bias.volts - trigger).min(low_pass - bias.volts - trigger);
                [
                    Some(Watch {
                        value: up,
                        at_once: true,
                    }),
                    self.bidirectional.then_some(Watch {
                        value: down,
                        at_once: true,
                    }),
                    None,
                ]
            }
            Mode::Delay => [
                Some(Watch {
                    value: bias.inner[1] - 1.0,
                    at_once: true,
                }),
                None,
                None,
            ],
            Mode::On if self.trigger == Trigger::Voltage => [Some(goes_out(bias.inner[1])), None, None],
            Mode::On => {
                let time_out = matches!(self.trigger, Trigger::Slope { .. }).then_some(Watch {
                    value: bias.inner[1] - 1.0,
                    at_once: true,
                });
                [
                    Some(Watch {
                        value: self.off_v - along,
                        at_once: true,
                    }),
                    time_out,
                    None,
                ]
            }
            _ => [
                Some(Watch {
                    value: self.off_v - along,
                    at_once: true,
                }),
                None,
                None,
            ],
        }
    }

    fn after(&self, state: State, bias: &Bias, _amps: f64, k: usize) -> (State, [f64; MAX_INNER]) {
        match state.mode {
            Mode::Off => {
                let sign = if k == 0 { 1.0 } else { -1.0 };
                (
                    State {
                        mode: Mode::Delay,
                        sign,
                    },
                    [0.0, 0.0],
                )
            }
            Mode::Delay => {
                // The transistor takes over from zero current, wherever the voltage has got to.
                let start = (state.sign * bias.volts).max(self.on_at_v());
                let second = match self.trigger {
                    Trigger::Voltage => 1.0,
                    Trigger::Slope { .. } => 0.0,
                };
                (
                    State {
                        mode: Mode::On,
                        ..state
                    },
                    [start, second],
                )
            }
            Mode::On if k == 1 => (
                State {
                    mode: Mode::TimedOut,
                    ..state
                },
                [0.0, 0.0],
            ),
            _ => (
                State {
                    mode: Mode::Off,
                    ..state
                },
                self.inner_initial(bias.volts),
            ),
        }
    }
}
