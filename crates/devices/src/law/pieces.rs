//! What several families are made of: rounded corners, straight branches, the memory of a discharge, a junction's charge.

use std::f64::consts::LN_2;

use tidewall_lanes::{Lane, exp, ln, softplus};

use super::{Conduction, Rate, Watch};

/// Smooth positive part: `width ln(1 + exp(x / width))`, and its derivative.
///
/// Approaches `x` above and `0` below the corner within a few `width`, so that a clamp's V-I curve is
/// straight well above its knee. Beyond forty widths the difference to these is below the last digit (4e-18 widths) and
/// left out (numerical choice), which also saves the exponential for most of a transient.
#[inline(always)]
pub(crate) fn smooth_positive<T: Lane>(x: T, width: T) -> (T, T) {
    let c = T::splat;
    let u = x / width;
    let (size, most, zero) = (u.abs(), c(40.0), c(0.0));
    let far = (zero.below(u, x, zero), zero.below(u, c(1.0), zero));
    if most.all_below(size) {
        return far;
    }
    let (value, slope) = softplus(u);
    (
        most.below(size, far.0, width * value),
        most.below(size, far.1, slope),
    )
}

/// How far a device is from going out: relaxes within `tau_s` to `x² / (1 + x²)`, `x` being the present current (or
/// voltage) as a share of the level at which it goes out, so that a steady value at that level gives one half.
///
/// What keeps a discharge or a latched junction alive is charge carriers, which outlast a current zero: without them,
/// a ringing current would put the device out at its first reversal. `x_per` holds the derivatives of `x` to voltage,
/// other inner state and temperature.
#[inline(always)]
pub(crate) fn alive_rate<T: Lane>(alive: T, x: T, x_per: [T; 3], tau_s: T) -> Rate<T> {
    let one = T::splat(1.0);
    let below = one + x * x;
    let slope = T::splat(2.0) * x / (below * below) / tau_s;
    Rate {
        per_s: (x * x / below - alive) / tau_s,
        per_volt: slope * x_per[0],
        per_self: -one / tau_s,
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
pub(crate) struct ClampBranch<T = f64> {
    /// Voltage in volts at which it begins.
    pub start_v: T,
    /// Shift of that voltage in V/K.
    pub start_per_k: T,
    /// Slope resistance in ohms, above zero.
    pub ohm: T,
    /// Rounding of the corner in volts, above zero.
    pub knee_v: T,
}

impl<T: Lane> ClampBranch<T> {
    /// A branch whose start does not depend on temperature.
    #[inline(always)]
    pub(crate) fn fixed(start_v: T, ohm: T, knee_v: T) -> ClampBranch<T> {
        ClampBranch {
            start_v,
            start_per_k: T::default(),
            ohm,
            knee_v,
        }
    }

    /// Adds the branch for voltages of one sign (+1 or −1).
    #[inline(always)]
    pub(crate) fn add(&self, volts: T, sign: T, out: &mut Conduction<T>) {
        self.add_share(volts, sign, T::splat(1.0), out);
    }

    /// Adds a share (0 or 1) of the branch.
    #[inline(always)]
    pub(crate) fn add_share(&self, volts: T, sign: T, share: T, out: &mut Conduction<T>) {
        let (over, slope) = smooth_positive(sign * volts - self.start_v, self.knee_v);
        let siemens = share / self.ohm;
        let slope = slope * siemens;
        out.amps += sign * (over * siemens);
        out.per_volt += slope;
        out.per_kelvin -= sign * slope * self.start_per_k;
    }
}

/// Depletion capacitance `c0 / (1 + |v| / built_in)^grading` with its energy; in forward bias of a unidirectional junction
/// it is held at the value reached at half the built-in voltage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Depletion<T> {
    /// Capacitance at zero bias in farads.
    pub c0_f: T,
    /// Built-in voltage in volts.
    pub built_in_v: T,
    /// Grading exponent.
    pub grading: T,
    /// True for two junctions back to back.
    pub symmetrical: bool,
}

impl<T: Lane> Depletion<T> {
    /// Capacitance in farads at a voltage, and its derivative in F/V.
    #[inline(always)]
    pub(crate) fn farads(&self, volts: T) -> (T, T) {
        let c = T::splat;
        let one = c(1.0);
        let (reverse, direction) = if self.symmetrical {
            (volts.abs(), volts.below(c(0.0), -one, one))
        } else {
            (volts, one)
        };
        let edge = c(-0.5) * self.built_in_v;
        let x = one + reverse.max(edge) / self.built_in_v;
        // The exponent is small: as an exponential it keeps all but the last digits.
        let farads = self.c0_f * exp(-self.grading * ln(x));
        let slope = -direction * self.grading * farads / (x * self.built_in_v);
        (farads, reverse.below(edge, c(0.0), slope))
    }

    /// Energy in joules held at a voltage: the integral of `C(u) u du` from zero.
    #[inline(always)]
    pub(crate) fn joules(&self, volts: T) -> T {
        let c = T::splat;
        let (one, two) = (c(1.0), c(2.0));
        let reverse = if self.symmetrical { volts.abs() } else { volts };
        let edge = c(-0.5) * self.built_in_v;
        let inside = reverse.max(edge);
        let x = one + inside / self.built_in_v;
        let power = x * exp(-self.grading * ln(x));
        let depletion = self.c0_f
            * self.built_in_v
            * self.built_in_v
            * ((x * power - one) / (two - self.grading) - (power - one) / (one - self.grading));
        let flat = self.c0_f * exp(c(LN_2) * self.grading);
        let held = depletion + c(0.5) * flat * (reverse * reverse - edge * edge);
        reverse.below(edge, held, depletion)
    }
}
