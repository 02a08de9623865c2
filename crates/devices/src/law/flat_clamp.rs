//! Flat clamp: trigger circuit and power transistor.

use tidewall_lanes::Lane;

use super::pieces::REFERENCE_C;
use super::{
    Bias, Characteristic, ClampBranch, Conduction, Depletion, MAX_EVENTS, MAX_INNER, Mode, Modes, Rate,
    State, Switching, Watch, alive_rate, goes_out, smooth_positive,
};

/// How a flat clamp is triggered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trigger<T = f64> {
    /// By voltage; the clamp stays on for as long as the voltage is there.
    Voltage,
    /// By voltage together with a fast rise (`v` minus its low-pass of time constant `rc_s` above the trigger);
    /// after `hold_s` the clamp lets go even if the voltage is still high.
    Slope {
        /// Time constant of the detecting RC in seconds.
        rc_s: T,
        /// Time-out in seconds.
        hold_s: T,
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
pub struct FlatClamp<T = f64> {
    /// Trigger voltage at 25 °C in volts.
    pub trigger_v: T,
    /// On-branch voltage extrapolated to zero current at 25 °C, in volts.
    pub on_v: T,
    /// Temperature coefficient of both voltages in 1/K of the reference, which sits at case temperature.
    pub alpha_per_k: T,
    /// Temperature of the reference in °C (the ambient: it sits away from the power area).
    pub reference_c: T,
    /// Dynamic resistance in ohms, above zero.
    pub r_ohm: T,
    /// Turn-on delay in seconds, above zero.
    pub delay_s: T,
    /// Time constant of the turn-on itself in seconds, above zero.
    pub settle_s: T,
    /// Voltage below which the clamp turns off, in volts.
    pub off_v: T,
    /// Highest current of the on-branch in amperes; above it the voltage rises to the breakdown.
    pub saturation_a: T,
    /// Breakdown voltage of the power transistor in volts.
    pub breakdown_v: T,
    /// Slope resistance of that breakdown in ohms, above zero.
    pub breakdown_ohm: T,
    /// How the clamp is triggered.
    pub trigger: Trigger<T>,
    /// True for a symmetrical clamp.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional clamps).
    pub forward_v: T,
    /// Forward resistance in ohms (unidirectional clamps).
    pub forward_ohm: T,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: T,
    /// Capacitance at zero bias in farads, above zero.
    pub c0_f: T,
    /// Built-in voltage in volts of the capacitance law.
    pub built_in_v: T,
    /// Grading exponent of the capacitance law.
    pub grading: T,
}

impl<T: Lane> FlatClamp<T> {
    #[inline(always)]
    fn temperature_factor(&self) -> T {
        let c = T::splat;
        (c(1.0) + self.alpha_per_k * (self.reference_c - c(REFERENCE_C))).max(c(0.1))
    }

    /// Trigger voltage in volts at the reference temperature.
    #[inline(always)]
    pub fn trigger_at_v(&self) -> T {
        self.trigger_v * self.temperature_factor()
    }

    /// On-branch voltage at zero current in volts at the reference temperature.
    #[inline(always)]
    pub fn on_at_v(&self) -> T {
        self.on_v * self.temperature_factor()
    }

    #[inline(always)]
    fn depletion(&self) -> Depletion<T> {
        Depletion {
            c0_f: self.c0_f,
            built_in_v: self.built_in_v,
            grading: self.grading,
            symmetrical: self.bidirectional,
        }
    }

    /// Rate of what is counted while the clamp is on: its time-out, or whether the voltage has stayed up.
    #[inline(always)]
    fn held(&self, modes: &Modes<T>, bias: &Bias<T>) -> Rate<T> {
        match self.trigger {
            Trigger::Slope { hold_s, .. } => Rate {
                per_s: T::splat(1.0) / hold_s,
                ..Rate::default()
            },
            Trigger::Voltage => {
                let x = (modes.sign * bias.volts / self.off_v).max(T::default());
                let x_per = [modes.sign / self.off_v, T::default(), T::default()];
                alive_rate(bias.inner[1], x, x_per, T::splat(TURN_OFF) * self.settle_s)
            }
        }
    }
}

impl<T: Lane> Characteristic<T> for FlatClamp<T> {
    #[inline(always)]
    fn conduction(&self, modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        let (one, zero) = (T::splat(1.0), T::default());
        let mut out = Conduction::default();
        if modes.any(Mode::On) {
            let (over, slope) = smooth_positive(modes.sign * bias.volts - bias.inner[0], self.knee_v);
            let on = |value| modes.when(Mode::On, value, zero);
            let linear = over / self.r_ohm;
            // Saturation as a fourth-power blend: linear well below, flat well above the limit (numerical choice).
            let x = linear / self.saturation_a;
            let square = x * x;
            let root = (one + square * square).sqrt();
            let bend = one / root.sqrt();
            let gain = bend / (root * root) * slope / self.r_ohm;
            out.amps = on(modes.sign * (linear * bend));
            out.per_volt = on(gain);
            out.per_inner[0] = on(-modes.sign * gain);
        }
        let breakdown = ClampBranch::fixed(self.breakdown_v, self.breakdown_ohm, self.knee_v);
        let below = if self.bidirectional {
            breakdown
        } else {
            // A forward corner is no rounder than a junction's (numerical choice).
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(T::splat(0.03)))
        };
        breakdown.add(bias.volts, one, &mut out);
        below.add(bias.volts, -one, &mut out);
        out
    }

    #[inline(always)]
    fn capacitance(&self, volts: T) -> (T, T) {
        self.depletion().farads(volts)
    }

    #[inline(always)]
    fn stored_j(&self, volts: T) -> T {
        self.depletion().joules(volts)
    }

    #[inline(always)]
    fn inner_count(&self) -> usize {
        2
    }

    #[inline(always)]
    fn inner_rate(&self, modes: &Modes<T>, bias: &Bias<T>, _conduction: &Conduction<T>, k: usize) -> Rate<T> {
        let one = T::splat(1.0);
        if k == 0 {
            let settling = Rate {
                per_s: (self.on_at_v() - bias.inner[0]) / self.settle_s,
                per_self: -one / self.settle_s,
                ..Rate::default()
            };
            return settling.when(modes, Mode::On);
        }
        let mut out = match self.trigger {
            Trigger::Slope { rc_s, .. } if modes.any(Mode::Off) => Rate {
                per_s: (bias.volts - bias.inner[1]) / rc_s,
                per_volt: one / rc_s,
                per_self: -one / rc_s,
                ..Rate::default()
            }
            .when(modes, Mode::Off),
            _ => Rate::default(),
        };
        out.per_s = modes.when(Mode::Delay, one / self.delay_s, out.per_s);
        if modes.any(Mode::On) {
            out = self.held(modes, bias).or(modes, Mode::On, out);
        }
        out
    }
}

impl Switching for FlatClamp {
    fn inner_initial(&self, volts: f64) -> [f64; MAX_INNER] {
        match self.trigger {
            Trigger::Voltage => [0.0, 0.0],
            Trigger::Slope { .. } => [0.0, volts],
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
