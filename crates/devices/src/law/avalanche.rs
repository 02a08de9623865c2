//! Avalanche diode.

use tidewall_lanes::Lane;

use super::pieces::REFERENCE_C;
use super::{Bias, Characteristic, ClampBranch, Conduction, Depletion, Modes, Switching};

/// Avalanche diode: `V = VBR(T) + R i` above breakdown, a forward branch or a second breakdown below zero.
///
/// `VBR(T) = VBR25 (1 + alpha (T − 25 °C))` (maker's family datasheet, automotive 1500 W class). The corner is
/// rounded over `knee_v` (numerical choice), which raises the current at VBR itself to
/// `knee_v ln 2 / r_ohm`; stand-off and leakage are judged from the data, not from this corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Avalanche<T = f64> {
    /// Breakdown voltage at 25 °C in volts.
    pub vbr25_v: T,
    /// Temperature coefficient of the breakdown voltage in 1/K.
    pub alpha_per_k: T,
    /// Isothermal dynamic resistance in ohms, above zero.
    pub r_ohm: T,
    /// Rounding of the corner in volts, above zero.
    pub knee_v: T,
    /// True for a part with breakdown in both directions.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional parts).
    pub forward_v: T,
    /// Forward resistance in ohms (unidirectional parts).
    pub forward_ohm: T,
    /// Capacitance at zero bias in farads, above zero.
    pub c0_f: T,
    /// Built-in voltage in volts of the capacitance law.
    pub built_in_v: T,
    /// Grading exponent of the capacitance law, 0.33 to 0.5.
    pub grading: T,
}

impl<T: Lane> Avalanche<T> {
    /// Breakdown voltage in volts at a junction temperature in °C, never below a tenth of its 25 °C value
    /// (so that a trial step at an absurd temperature stays finite).
    #[inline(always)]
    pub fn breakdown_v(&self, junction_c: T) -> T {
        let c = T::splat;
        self.vbr25_v * (c(1.0) + self.alpha_per_k * (junction_c - c(REFERENCE_C))).max(c(0.1))
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
}

impl<T: Lane> Characteristic<T> for Avalanche<T> {
    #[inline(always)]
    fn conduction(&self, _modes: &Modes<T>, bias: &Bias<T>) -> Conduction<T> {
        let c = T::splat;
        let breakdown = ClampBranch {
            start_v: self.breakdown_v(bias.junction_c),
            start_per_k: self.vbr25_v * self.alpha_per_k,
            ohm: self.r_ohm,
            knee_v: self.knee_v,
        };
        let below = if self.bidirectional {
            breakdown
        } else {
            // A forward corner is no rounder than a junction's (numerical choice).
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(c(0.03)))
        };
        let mut out = Conduction::default();
        breakdown.add(bias.volts, c(1.0), &mut out);
        below.add(bias.volts, c(-1.0), &mut out);
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
}

impl Switching for Avalanche {}
