//! Gas discharge tube.

use tidewall_lanes::{Lane, pow};

use super::{
    Bias, Characteristic, Conduction, MAX_EVENTS, MAX_INNER, Mode, Modes, Rate, State, Switching, Watch,
    alive_rate, goes_out, smooth_positive,
};

/// Recovery time constant of the gas over that of the voltage collapse: a microsecond for a collapse of 10 ns. Full
/// recovery takes far longer (from memory: up to milliseconds); what matters here is that a discharge outlives the
/// current zeros of a ringing circuit and still goes out at those of mains.
const RECOVERY: f64 = 100.0;

/// Rounding of the corner of the discharge in volts (numerical choice).
const KNEE_V: f64 = 0.05;
/// By how much the discharge voltage begins above the voltage at firing, in volts: five roundings, so that the current
/// of the discharge begins near zero (tens of milliamperes) and passes through glow on its way to arc (numerical choice).
const IGNITION_V: f64 = 5.0 * KNEE_V;

/// Gas discharge tube: off, glow, arc.
///
/// Firing follows `Vs = Vdc + a (S / 1 V/µs)^b` on a ramp of slope `S`. For any other wave the same law is kept
/// in its integral form, the disruptive-effect integral of insulation co-ordination (from memory: Kind;
/// Witzke and Bliss): firing when `∫ ((|v| − Vdc)/a)^k dt` reaches `(a / 1 V/µs) / (k + 1)` with `k = 1/b − 1`,
/// which gives back the slope law exactly on a ramp. The integral is not reset while the tube is off.
///
/// Inner state 0 is the discharge voltage, relaxing to the glow or arc value within `drop_s`; inner state 1 is
/// the disruptive-effect integral as a fraction of its critical value while off; while the tube burns, it tells how much
/// of the ionisation is left, so that glow and arc end when the current has stayed small, not at its first zero. The
/// discharge conducts in either direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasTube<T = f64> {
    /// Direct spark-over voltage in volts.
    pub dc_v: T,
    /// Coefficient `a` of the slope law in volts, above zero.
    pub slope_coefficient_v: T,
    /// Exponent `b` of the slope law, between 0 and 1.
    pub slope_exponent: T,
    /// Glow voltage in volts.
    pub glow_v: T,
    /// Current above which the glow turns into an arc, in amperes.
    pub glow_to_arc_a: T,
    /// Arc voltage in volts.
    pub arc_v: T,
    /// Slope resistance of the discharge in ohms, above zero; one value for glow (whose voltage hardly depends on
    /// its current) and arc keeps the current continuous where one turns into the other.
    pub arc_ohm: T,
    /// Current below which the arc falls back to glow, in amperes (below `glow_to_arc_a`).
    pub arc_to_glow_a: T,
    /// Current below which the glow goes out, in amperes.
    pub extinction_a: T,
    /// Time constant of the voltage collapse in seconds, above zero.
    pub drop_s: T,
    /// Capacitance in farads, above zero.
    pub c_f: T,
    /// Insulation resistance in ohms.
    pub insulation_ohm: T,
}

impl GasTube {
    /// Firing voltage in volts on a ramp of `slope_v_per_s` volts per second.
    pub fn firing_v(&self, slope_v_per_s: f64) -> f64 {
        self.dc_v + self.slope_coefficient_v * (slope_v_per_s * 1e-6).max(0.0).powf(self.slope_exponent)
    }
}

impl<T: Lane> GasTube<T> {
    #[inline(always)]
    fn disruptive_power(&self) -> T {
        T::splat(1.0) / self.slope_exponent - T::splat(1.0)
    }

    /// Critical value in seconds of the integral of `((|v| − Vdc) / a)^k`.
    #[inline(always)]
    fn critical_s(&self) -> T {
        self.slope_coefficient_v * T::splat(1e-6) / (self.disruptive_power() + T::splat(1.0))
    }

    /// Rate of the disruptive-effect integral as a fraction of its critical value.
    #[inline(always)]
    fn disruption(&self, volts: T) -> Rate<T> {
        let zero = T::default();
        let over = volts.abs() - self.dc_v;
        if !zero.any_below(over) {
            return Rate::default();
        }
        let power = self.disruptive_power();
        let per_s = pow((over / self.slope_coefficient_v).max(zero), power) / self.critical_s();
        let per_volt = T::splat(1.0).copysign(volts) * power * per_s / over;
        Rate {
            per_s: zero.below(over, per_s, zero),
            per_volt: zero.below(over, per_volt, zero),
            ..Rate::default()
        }
    }
}

impl<T: Lane> Characteristic<T> for GasTube<T> {
    #[inline(always)]
    fn conduction(&self, modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        let one = T::splat(1.0);
        let leak = one / self.insulation_ohm;
        let mut out = Conduction {
            amps: leak * bias.volts,
            per_volt: leak,
            ..Conduction::default()
        };
        if modes.all(Mode::Off) {
            return out;
        }
        let knee_v = T::splat(KNEE_V);
        let (over, up) = smooth_positive(bias.volts - bias.inner[0], knee_v);
        let (under, down) = smooth_positive(-bias.volts - bias.inner[0], knee_v);
        let burning = |value, otherwise| modes.when(Mode::Off, otherwise, value);
        out.amps = burning(out.amps + (over - under) / self.arc_ohm, out.amps);
        out.per_volt = burning(out.per_volt + (up + down) / self.arc_ohm, out.per_volt);
        out.per_inner[0] = burning((down - up) / self.arc_ohm, T::default());
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
    fn inner_rate(&self, modes: &Modes<T>, bias: &Bias<T>, c: &Conduction<T>, k: usize) -> Rate<T> {
        let zero = T::default();
        if k == 0 {
            let target = modes.when(
                Mode::Glow,
                self.glow_v,
                modes.when(Mode::Arc, self.arc_v, bias.inner[0]),
            );
            return Rate {
                per_s: (target - bias.inner[0]) / self.drop_s,
                per_self: modes.when(Mode::Off, zero, T::splat(-1.0) / self.drop_s),
                ..Rate::default()
            };
        }
        let before = if modes.any(Mode::Off) {
            self.disruption(bias.volts)
        } else {
            Rate::default()
        };
        if modes.all(Mode::Off) {
            return before;
        }
        let level = modes.when(Mode::Arc, self.arc_to_glow_a, self.extinction_a);
        let x_per = [c.per_volt / level, c.per_inner[0] / level, zero];
        let burning = alive_rate(
            bias.inner[1],
            c.amps / level,
            x_per,
            T::splat(RECOVERY) * self.drop_s,
        );
        before.or(modes, Mode::Off, burning)
    }
}

impl Switching for GasTube {
    fn watches(&self, state: State, bias: &Bias, amps: f64) -> [Option<Watch>; MAX_EVENTS] {
        match state.mode {
            Mode::Glow => [
                Some(Watch {
                    value: amps.abs() - self.glow_to_arc_a,
                    at_once: true,
                }),
                Some(goes_out(bias.inner[1])),
                None,
            ],
            Mode::Arc => [Some(goes_out(bias.inner[1])), None, None],
            _ => [
                Some(Watch {
                    value: bias.inner[1] - 1.0,
                    at_once: true,
                }),
                None,
                None,
            ],
        }
    }

    fn after(&self, state: State, bias: &Bias, _amps: f64, k: usize) -> (State, [f64; MAX_INNER]) {
        match (state.mode, k) {
            (Mode::Glow, 0) => (
                State {
                    mode: Mode::Arc,
                    ..state
                },
                [bias.inner[0], 1.0],
            ),
            (Mode::Arc, _) => (
                State {
                    mode: Mode::Glow,
                    ..state
                },
                [bias.inner[0], 1.0],
            ),
            (Mode::Glow, _) => (
                State {
                    mode: Mode::Off,
                    ..state
                },
                [0.0, 0.0],
            ),
            _ => {
                let sign = if bias.volts < 0.0 { -1.0 } else { 1.0 };
                (
                    State {
                        mode: Mode::Glow,
                        sign,
                    },
                    [bias.volts.abs() + IGNITION_V, 1.0],
                )
            }
        }
    }
}
