//! What several families are made of: rounded corners, straight branches, the memory of a discharge, a junction's charge.

use tidewall_lanes::elementary::{exp_here, ln_here, softplus_here};
use tidewall_lanes::{Job, Lane};

use super::{Conduction, Rate, Watch};

/// Junction temperature in °C to which data sheets refer (common practice, no source).
pub(crate) const REFERENCE_C: f64 = 25.0;

/// How many widths from its corner a rounded branch is taken as straight: the difference is below the last digit there (4e-18
/// widths; numerical choice).
const STRAIGHT: f64 = 40.0;

/// Smooth positive part: `width ln(1 + exp(x / width))`, and its derivative.
///
/// Approaches `x` above and `0` below the corner within a few `width`, so that a clamp's V-I curve is
/// straight well above its knee. Beyond [`STRAIGHT`] widths the difference to these is left out, which also saves the
/// exponential for most of a transient.
pub(crate) fn smooth_positive<T: Lane>(x: T, width: T) -> (T, T) {
    T::work(SmoothPositive { x, width })
}

struct SmoothPositive<T> {
    x: T,
    width: T,
}

impl<T: Lane> Job for SmoothPositive<T> {
    type Output = (T, T);

    #[inline(always)]
    fn run(self) -> (T, T) {
        let SmoothPositive { x, width } = self;
        let (most, zero, one) = (T::splat(STRAIGHT), T::splat(0.0), T::splat(1.0));
        let u = x / width;
        let size = u.abs();
        let far = (zero.below(u, x, zero), zero.below(u, one, zero));
        if most.all_below(size) {
            return far;
        }
        let (value, slope) = softplus_here(u);
        (
            most.below(size, far.0, width * value),
            most.below(size, far.1, slope),
        )
    }
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
    pub(crate) fn farads(&self, volts: T) -> (T, T) {
        T::work(Farads(self, volts))
    }

    /// Energy in joules held at a voltage: the integral of `C(u) u du` from zero.
    pub(crate) fn joules(&self, volts: T) -> T {
        T::work(Joules(self, volts))
    }

    #[inline(always)]
    fn reverse(&self, volts: T) -> T {
        if self.symmetrical { volts.abs() } else { volts }
    }
}

struct Farads<'a, T>(&'a Depletion<T>, T);

impl<T: Lane> Job for Farads<'_, T> {
    type Output = (T, T);

    #[inline(always)]
    fn run(self) -> (T, T) {
        let c = T::splat;
        let (one, zero) = (c(1.0), c(0.0));
        let Farads(law, volts) = self;
        let reverse = law.reverse(volts);
        let direction = if law.symmetrical {
            volts.below(zero, -one, one)
        } else {
            one
        };
        let edge = c(-0.5) * law.built_in_v;
        let x = one + reverse.max(edge) / law.built_in_v;
        // The exponent is small: as an exponential it keeps all but the last digits.
        let farads = law.c0_f * exp_here(-law.grading * ln_here(x));
        let slope = -direction * law.grading * farads / (x * law.built_in_v);
        (farads, reverse.below(edge, zero, slope))
    }
}

struct Joules<'a, T>(&'a Depletion<T>, T);

impl<T: Lane> Job for Joules<'_, T> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        let c = T::splat;
        let (one, two) = (c(1.0), c(2.0));
        let Joules(law, volts) = self;
        let reverse = law.reverse(volts);
        let edge = c(-0.5) * law.built_in_v;
        let inside = reverse.max(edge);
        let x = one + inside / law.built_in_v;
        let power = exp_here(-law.grading * ln_here(x));
        let per_x = x * power;
        let depletion = law.c0_f
            * law.built_in_v
            * law.built_in_v
            * ((x * per_x - one) / (two - law.grading) - (per_x - one) / (one - law.grading));
        // At the edge the power is that of its capacitance.
        let held = depletion + c(0.5) * law.c0_f * power * (reverse * reverse - edge * edge);
        reverse.below(edge, held, depletion)
    }
}
