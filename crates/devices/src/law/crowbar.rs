//! Snapback clamp and thyristor.

use tidewall_lanes::Lane;

use super::pieces::REFERENCE_C;
use super::{
    Bias, Characteristic, ClampBranch, Conduction, MAX_EVENTS, MAX_INNER, Mode, Modes, Rate, State,
    Switching, Watch, alive_rate, goes_out, smooth_positive,
};

/// Turn-off time constant over the time constant of the turn-on: stored charge leaves more slowly than it comes (of the
/// order of what data sheets of thyristors give; numerical choice).
const TURN_OFF: f64 = 30.0;

/// Holding current in amperes at a junction temperature in °C of a device that holds with `hold_a` amperes at 25 °C, never
/// below a tenth of that; the coefficient in 1/K.
#[inline(always)]
pub(crate) fn hold_at_a<T: Lane>(hold_a: T, hold_per_k: T, junction_c: T) -> T {
    let c = T::splat;
    hold_a * (c(1.0) + hold_per_k * (junction_c - c(REFERENCE_C))).max(c(0.1))
}

/// Breakover device: an avalanche branch up to the trigger point, then a low on-voltage until the current
/// falls below the holding current.
///
/// Piecewise form of the snapback and thyristor characteristics (IEC 61643-341 terms). Inner state 0 is the
/// on-branch voltage, which relaxes from its value at breakover to `on_v` within `transition_s`; inner state 1 tells how
/// much of the stored charge is left: the device turns off when the current has stayed below the holding current for
/// some turn-off times, not at the first zero of a ringing current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowbar<T = f64> {
    /// Trigger (breakover) voltage at 25 °C in volts.
    pub trigger_v: T,
    /// Current at the trigger point in amperes.
    pub trigger_a: T,
    /// Temperature coefficient of the trigger voltage in 1/K.
    pub alpha_per_k: T,
    /// Slope resistance of the avalanche branch in ohms, above zero.
    pub off_ohm: T,
    /// On-state voltage extrapolated to zero current, in volts.
    pub on_v: T,
    /// On-state resistance in ohms, above zero.
    pub on_ohm: T,
    /// Holding current at 25 °C in amperes.
    pub hold_a: T,
    /// Temperature coefficient of the holding current in 1/K (negative).
    pub hold_per_k: T,
    /// Time constant of the transition in seconds, above zero.
    pub transition_s: T,
    /// True for a symmetrical device.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional devices).
    pub forward_v: T,
    /// Forward resistance in ohms (unidirectional devices).
    pub forward_ohm: T,
    /// Rounding of the corners in volts, above zero.
    pub knee_v: T,
    /// Capacitance in farads, above zero.
    pub c_f: T,
}

impl<T: Lane> Crowbar<T> {
    /// Trigger voltage in volts at a junction temperature in °C.
    #[inline(always)]
    pub fn trigger_at_v(&self, junction_c: T) -> T {
        let c = T::splat;
        self.trigger_v * (c(1.0) + self.alpha_per_k * (junction_c - c(REFERENCE_C))).max(c(0.1))
    }

    /// Holding current in amperes at a junction temperature in °C, never below a tenth of its 25 °C value.
    #[inline(always)]
    pub fn hold_at_a(&self, junction_c: T) -> T {
        hold_at_a(self.hold_a, self.hold_per_k, junction_c)
    }

    /// A share (0 or 1) of the avalanche branch of one polarity, drawn so that it carries `trigger_a` at the trigger
    /// voltage.
    #[inline(always)]
    fn add_avalanche(&self, bias: &Bias<T>, sign: T, share: T, out: &mut Conduction<T>) {
        let branch = ClampBranch {
            start_v: self.trigger_at_v(bias.junction_c) - self.off_ohm * self.trigger_a,
            start_per_k: self.trigger_v * self.alpha_per_k,
            ohm: self.off_ohm,
            knee_v: self.knee_v,
        };
        branch.add_share(bias.volts, sign, share, out);
    }

    #[inline(always)]
    fn charge_rate(&self, modes: &Modes<T>, bias: &Bias<T>, c: &Conduction<T>) -> Rate<T> {
        if !modes.any(Mode::On) {
            return Rate::default();
        }
        let zero = T::default();
        let hold = self.hold_at_a(bias.junction_c);
        let least = T::splat(0.1) * self.hold_a;
        let hold_per_k = least.below(hold, self.hold_a * self.hold_per_k, zero);
        // Reverse current (of the diode of a unidirectional part) does not hold.
        let x = (modes.sign * c.amps / hold).max(zero);
        let per_amp = modes.sign / hold;
        let x_per = [
            per_amp * c.per_volt,
            per_amp * c.per_inner[0],
            per_amp * c.per_kelvin - x * hold_per_k / hold,
        ];
        let rate = alive_rate(bias.inner[1], x, x_per, T::splat(TURN_OFF) * self.transition_s);
        rate.when(modes, Mode::On)
    }
}

impl<T: Lane> Characteristic<T> for Crowbar<T> {
    #[inline(always)]
    fn conduction(&self, modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        let (one, zero) = (T::splat(1.0), T::default());
        let mut out = Conduction::default();
        if modes.any(Mode::On) {
            let (over, slope) = smooth_positive(modes.sign * bias.volts - bias.inner[0], self.knee_v);
            let on = |value| modes.when(Mode::On, value, zero);
            let slope = slope / self.on_ohm;
            out.amps = on(modes.sign * over / self.on_ohm);
            out.per_volt = on(slope);
            out.per_inner[0] = on(-modes.sign * slope);
        }
        if self.bidirectional {
            // While one polarity has broken over the avalanche branch of the other is there all the same.
            let up = modes.when(Mode::On, zero.below(modes.sign, zero, one), one);
            let down = modes.when(Mode::On, zero.below(modes.sign, one, zero), one);
            self.add_avalanche(bias, one, up, &mut out);
            self.add_avalanche(bias, -one, down, &mut out);
        } else {
            let up = modes.when(Mode::On, zero, one);
            self.add_avalanche(bias, one, up, &mut out);
            // A forward corner is no rounder than a junction's (numerical choice).
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(T::splat(0.03)))
                .add(bias.volts, -one, &mut out);
        }
        out
    }

    #[inline(always)]
    fn capacitance(&self, _volts: T) -> (T, T) {
        (self.c_f, T::default())
    }

    #[inline(always)]
    fn stored_j(&self, volts: T) -> T {
        T::splat(0.5) * self.c_f * volts * volts
    }

    #[inline(always)]
    fn inner_count(&self) -> usize {
        2
    }

    #[inline(always)]
    fn inner_rate(&self, modes: &Modes<T>, bias: &Bias<T>, conduction: &Conduction<T>, k: usize) -> Rate<T> {
        if k == 1 {
            return self.charge_rate(modes, bias, conduction);
        }
        let target = modes.when(Mode::On, self.on_v, T::default());
        Rate {
            per_s: (target - bias.inner[0]) / self.transition_s,
            per_self: T::splat(-1.0) / self.transition_s,
            ..Rate::default()
        }
    }
}

impl Switching for Crowbar {
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
