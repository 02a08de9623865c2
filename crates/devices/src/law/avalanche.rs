//! Avalanche diode.

use super::{Bias, ClampBranch, Conduction, DeviceLaw, State, junction_capacitance, junction_energy};

/// Avalanche diode: `V = VBR(T) + R i` above breakdown, a forward branch or a second breakdown below zero.
///
/// `VBR(T) = VBR25 (1 + alpha (T − 25 °C))` (maker's family datasheet, automotive 1500 W class). The corner is
/// rounded over `knee_v` (numerical choice), which raises the current at VBR itself to
/// `knee_v ln 2 / r_ohm`; stand-off and leakage are judged from the data, not from this corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Avalanche {
    /// Breakdown voltage at 25 °C in volts.
    pub vbr25_v: f64,
    /// Temperature coefficient of the breakdown voltage in 1/K.
    pub alpha_per_k: f64,
    /// Isothermal dynamic resistance in ohms, above zero.
    pub r_ohm: f64,
    /// Rounding of the corner in volts, above zero.
    pub knee_v: f64,
    /// True for a part with breakdown in both directions.
    pub bidirectional: bool,
    /// Forward threshold in volts (unidirectional parts).
    pub forward_v: f64,
    /// Forward resistance in ohms (unidirectional parts).
    pub forward_ohm: f64,
    /// Capacitance at zero bias in farads, above zero.
    pub c0_f: f64,
    /// Built-in voltage in volts of the capacitance law.
    pub built_in_v: f64,
    /// Grading exponent of the capacitance law, 0.33 to 0.5.
    pub grading: f64,
}

impl Avalanche {
    /// Breakdown voltage in volts at a junction temperature in °C, never below a tenth of its 25 °C value
    /// (so that a trial step at an absurd temperature stays finite).
    pub fn breakdown_v(&self, junction_c: f64) -> f64 {
        self.vbr25_v * (1.0 + self.alpha_per_k * (junction_c - 25.0)).max(0.1)
    }
}

impl DeviceLaw for Avalanche {
    fn conduction(&self, _state: State, bias: &Bias) -> Conduction {
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
            ClampBranch::fixed(self.forward_v, self.forward_ohm, self.knee_v.min(0.03))
        };
        let mut out = Conduction::default();
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
}
