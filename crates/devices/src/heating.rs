//! A clamp that heats itself: peak voltage of `V = VBR (1 + α ΔT) + R i` on a given wave.

use crate::pulse_power::UnitWave;
use crate::thermal::Foster;

/// Instants at which a wave is followed (numerical choice).
const INSTANTS: usize = 300;

/// A current wave laid out against the poles of a thermal model, ready to be run for any voltages.
///
/// Every pole is advanced exactly for a power that is straight between instants; the voltage, on which the power
/// depends, is solved for at the end of each step (it enters linearly).
#[derive(Clone, Debug)]
pub struct HeatedPulse {
    current_a: Vec<f64>,
    // Per step and pole, one step after another: decay, weight of the power at the start, weight at the end (both in
    // K/W).
    steps: Vec<[f64; 3]>,
    poles: usize,
}

/// Highest values of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatedPeak {
    /// Highest voltage in volts.
    pub voltage_v: f64,
    /// Highest junction rise in kelvins.
    pub rise_k: f64,
}

impl HeatedPulse {
    /// Lays a wave of peak `current_a` amperes out against thermal poles.
    pub fn new(wave: &UnitWave, current_a: f64, thermal: &Foster) -> HeatedPulse {
        let end = match wave {
            UnitWave::Rectangle { width_s } => *width_s,
            _ => 2.5 * wave.half_s(), // the peak lies well before (numerical choice)
        };
        let instant = |k: usize| end * (k as f64 / INSTANTS as f64).powi(2);
        let steps = (1..=INSTANTS)
            .flat_map(|k| {
                let h = instant(k) - instant(k - 1);
                thermal
                    .resistance_k_per_w
                    .iter()
                    .zip(&thermal.time_s)
                    .map(move |(r, tau)| {
                        let x = h / tau;
                        let decay = (-x).exp();
                        // Derived: mean of the decay over the step; the series where the difference would cancel.
                        let (mean, late) = if x < 1e-3 {
                            (1.0 - x * (0.5 - x / 6.0), x * (0.5 - x / 6.0))
                        } else {
                            let mean = -(-x).exp_m1() / x;
                            (mean, 1.0 - mean)
                        };
                        [decay, r * (mean - decay), r * late]
                    })
            })
            .collect();
        HeatedPulse {
            current_a: (0..=INSTANTS)
                .map(|k| current_a * wave.value(instant(k)))
                .collect(),
            steps,
            poles: thermal.time_s.len(),
        }
    }

    /// The poles of each step; steps without any for a part without heating.
    fn each_step(&self) -> impl Iterator<Item = &[[f64; 3]]> {
        (0..self.current_a.len() - 1).map(|k| &self.steps[k * self.poles..(k + 1) * self.poles])
    }

    /// Runs the pulse from 25 °C: breakdown in volts at 25 °C, its coefficient in 1/K, isothermal resistance in
    /// ohms, and a factor on all thermal resistances. An infinite voltage means thermal runaway within a step.
    pub fn peak(&self, vbr_v: f64, alpha_per_k: f64, r_ohm: f64, thermal_factor: f64) -> HeatedPeak {
        let mut poles = vec![0.0; self.poles];
        let mut power = (vbr_v + r_ohm * self.current_a[0]) * self.current_a[0];
        let mut top = HeatedPeak {
            voltage_v: vbr_v + r_ohm * self.current_a[0],
            rise_k: 0.0,
        };
        for (step, &i) in self.each_step().zip(&self.current_a[1..]) {
            let (mut known, mut weight) = (0.0, 0.0);
            for (rise, [decay, early, late]) in poles.iter_mut().zip(step) {
                *rise = *rise * decay + thermal_factor * early * power;
                known += *rise;
                weight += thermal_factor * late;
            }
            let feedback = 1.0 - vbr_v * alpha_per_k * weight * i;
            // Close to the pole of the step's own equation (numerical choice).
            if feedback < 0.05 {
                return HeatedPeak {
                    voltage_v: f64::INFINITY,
                    rise_k: f64::INFINITY,
                };
            }
            let voltage = (vbr_v * (1.0 + alpha_per_k * known) + r_ohm * i) / feedback;
            power = voltage * i;
            for (rise, [_, _, late]) in poles.iter_mut().zip(step) {
                *rise += thermal_factor * late * power;
            }
            top.voltage_v = top.voltage_v.max(voltage);
            top.rise_k = top.rise_k.max(known + weight * power);
        }
        top
    }
}

/// Root of `f` between `low` and `high` by the Illinois form of false position; `None` without change of sign.
pub(crate) fn root(low: f64, high: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if (fa * fb).is_nan() || fa * fb > 0.0 {
        return None;
    }
    let mut side = 0;
    for _ in 0..200 {
        let mut c = (fa * b - fb * a) / (fa - fb);
        if !c.is_finite() {
            c = 0.5 * (a + b);
        }
        let fc = f(c);
        if fc == 0.0 || (b - a).abs() <= 1e-12 * (low.abs() + high.abs()) {
            return Some(c);
        }
        if fc * fb > 0.0 {
            (b, fb) = (c, fc);
            if side == -1 {
                fa *= 0.5;
            }
            side = -1;
        } else {
            (a, fa) = (c, fc);
            if side == 1 {
                fb *= 0.5;
            }
            side = 1;
        }
    }
    Some(0.5 * (a + b))
}
