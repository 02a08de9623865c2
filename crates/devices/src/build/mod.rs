//! From what is known of a part to its model at one corner.
//!
//! A datum that decides a verdict is never made up: without it there is no model but a [`MissingDatum`] that says
//! what to look up and why. What may be chosen without it (how round a corner is, how fast a gas tube collapses
//! within what its family is known for) is listed in [`Built::assumptions`].

mod avalanche;
mod between;
mod crowbar;
mod flat_clamp;
mod gas_tube;
mod series;
mod steering;
mod table;
mod varistor;

use std::sync::Arc;

use crate::curve::ClampLine;
use crate::datasheet::{Datasheet, Family, Firmness, PartCorner, PulseRating, Spread};
use crate::heating::HeatedPulse;
use crate::known_wave::KnownWave;
use crate::law::Law;
use crate::protector::Protector;
use crate::pulse_power::UnitWave;
use crate::thermal::{Foster, SLOWEST_POLE_S, ThermalLadder};

pub use avalanche::{HeatingSplit, SplitRefusal, split_heating};
pub use between::{ModelRange, blend};
pub use gas_tube::fit_slope_law;
pub use series::{BeadModel, FuseModel, InductorModel, PtcModel};
pub use steering::SteeringModel;
pub use varistor::exponent_through;

/// A datum without which a model cannot be made, or which contradicts another.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("part \"{part}\" ({family}) needs {datum} (key `{key}`): {why}")]
pub struct MissingDatum {
    /// Name of the part.
    pub part: Arc<str>,
    /// Its family.
    pub family: Family,
    /// What is missing, in the words of a datasheet.
    pub datum: &'static str,
    /// Why a verdict depends on it.
    pub why: &'static str,
    /// Key of the parts file to fill in.
    pub key: &'static str,
}

/// Something chosen because no datum says it.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumption {
    /// What it is, with its unit.
    pub what: &'static str,
    /// Its value in SI units.
    pub value: f64,
    /// Why this value.
    pub why: &'static str,
}

/// A model with what had to be assumed for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Built {
    /// The model.
    pub protector: Protector,
    /// Poles of the heating that the model's thermal ladder stands for; none without a thermal model.
    pub poles: Foster,
    /// What no datum says.
    pub assumptions: Vec<Assumption>,
    /// Highest junction rise in kelvins this same model has in the part's own single-pulse rating from 25 °C: the
    /// limit for the rise in a run, times the derating ([`Datasheet::derating_at`]). `None` without a thermal model.
    ///
    /// With heating split off two maximum clamping points it lies far above Tj,max − 25 K: such a model's rise is
    /// an effective one, to be compared with this value and not with the junction rating.
    pub rated_rise_k: Option<f64>,
}

/// A series element's model with what had to be assumed for it.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltSeries<T> {
    /// The model.
    pub model: T,
    /// What no datum says.
    pub assumptions: Vec<Assumption>,
}

impl Datasheet {
    /// Electrical and thermal model of a shunt protector at a corner of its tolerance, at an ambient in °C.
    ///
    /// Specimens ([`Datasheet::of_specimens`]) have their own model: the corners are then the lowest and the highest of
    /// them, the same where there is one.
    ///
    /// The ambient sets the reference of flat clamps; all other laws take the junction temperature as they run.
    /// Series families, steering diodes and limiters have builders of their own ([`Datasheet::resistor_ohm`],
    /// [`Datasheet::inductor`], [`Datasheet::bead`], [`Datasheet::fuse`], [`Datasheet::ptc`],
    /// [`Datasheet::limiter`], [`Datasheet::steering`]) and are refused here.
    ///
    /// # Errors
    /// The first datum that decides a verdict and is not given, or cannot be used.
    pub fn protector(&self, corner: PartCorner, ambient_c: f64) -> Result<Built, MissingDatum> {
        if let Some(specimens) = &self.specimens {
            let (low, high) = specimens.range();
            let position = match corner {
                PartCorner::Low => low,
                PartCorner::Typical => 0.5 * (low + high),
                PartCorner::High => high,
            };
            return Ok(specimens.models.clone()?.at(position, ambient_c));
        }
        match self.family {
            Family::Avalanche => avalanche::build(self, corner, ambient_c),
            Family::FlatClamp => flat_clamp::build(self, corner, ambient_c),
            Family::Snapback | Family::Thyristor => crowbar::build(self, corner, ambient_c),
            Family::Varistor => varistor::build(self, corner),
            Family::GasTube => gas_tube::build(self, corner),
            Family::Table => table::build(self),
            _ => Err(self.missing(
                "a shunt family",
                "this family is not one shunt element: it goes in the line, or is a network of its own",
                "family",
            )),
        }
    }

    pub(crate) fn missing(&self, datum: &'static str, why: &'static str, key: &'static str) -> MissingDatum {
        MissingDatum {
            part: self.name.clone(),
            family: self.family,
            datum,
            why,
            key,
        }
    }

    /// True when the part's values are stated as typical or measured, so that they are all there is.
    fn typical_only(&self) -> bool {
        matches!(self.firmness, Some(Firmness::Typical | Firmness::Measured))
    }

    /// Value of a spread at a corner. Parts declared typical or measured lend their typical value to all corners.
    fn at_corner(&self, spread: &Spread, corner: PartCorner, notes: &mut Notes) -> Option<f64> {
        let direct = match corner {
            PartCorner::Low => spread.min,
            PartCorner::High => spread.max,
            PartCorner::Typical => spread.typ,
        };
        if direct.is_some() {
            return direct;
        }
        match corner {
            PartCorner::Typical => {
                let middle = 0.5 * (spread.min? + spread.max?);
                notes.add("typical value", middle, "middle of minimum and maximum");
                Some(middle)
            }
            _ if self.typical_only() => {
                let typ = spread.typ?;
                notes.add(
                    "tolerance corner",
                    typ,
                    "values are typical or measured: no spread is known",
                );
                Some(typ)
            }
            _ => None,
        }
    }

    /// Zero-bias capacitance, built-in voltage and grading exponent.
    fn junction(&self, notes: &mut Notes) -> Junction {
        let known: Vec<(f64, f64)> = self
            .capacitance
            .iter()
            .filter_map(|p| {
                let c = &p.capacitance_f;
                Some((p.bias_v.abs(), c.typ.or(c.min).or(c.max)?))
            })
            .filter(|&(v, c)| v.is_finite() && c > 0.0 && c.is_finite())
            .collect();
        let built_in_v = BUILT_IN_V;
        let lowest = known.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0));
        let highest = known.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0));
        let (Some(low), Some(high)) = (lowest, highest) else {
            notes.add(
                "capacitance in F",
                LEAST_F,
                "not given: the least there can be lets the most through",
            );
            return Junction {
                c0_f: LEAST_F,
                built_in_v,
                grading: 0.5,
            };
        };
        let fitted = (high.0 > low.0)
            .then(|| (low.1 / high.1).ln() / ((1.0 + high.0 / built_in_v) / (1.0 + low.0 / built_in_v)).ln());
        // No junction is steeper than a power of 0.9 (numerical choice).
        let grading = match (self.grading, fitted) {
            (Some(m), _) => m,
            (None, Some(m)) => m.clamp(0.0, 0.9),
            (None, None) => {
                notes.add(
                    "grading exponent",
                    0.5,
                    "abrupt junction: falls most with bias and filters least",
                );
                0.5
            }
        };
        Junction {
            c0_f: low.1 * (1.0 + low.0 / built_in_v).powf(grading),
            built_in_v,
            grading,
        }
    }

    /// Capacitance in farads of a family whose capacitance does not depend on bias.
    fn constant_capacitance(&self, notes: &mut Notes) -> f64 {
        let least = self
            .capacitance
            .iter()
            .filter_map(|p| {
                p.capacitance_f
                    .min
                    .or(p.capacitance_f.typ)
                    .or(p.capacitance_f.max)
            })
            .filter(|c| *c > 0.0 && c.is_finite())
            .reduce(f64::min);
        least.unwrap_or_else(|| {
            notes.add(
                "capacitance in F",
                LEAST_F,
                "not given: the least there can be lets the most through",
            );
            LEAST_F
        })
    }

    /// Forward threshold in volts and resistance in ohms of a unidirectional part.
    fn forward(&self, notes: &mut Notes) -> Result<(f64, f64), MissingDatum> {
        let volts = self.forward_v.ok_or_else(|| {
            self.missing(
                "forward voltage",
                "the undershoot of the stress drives a unidirectional part forward",
                "forward",
            )
        })?;
        match (self.forward_at_a, self.forward_ohm) {
            (at, Some(ohm)) => Ok(((volts - at.unwrap_or(0.0) * ohm).max(0.1), ohm.max(LEAST_OHM))),
            (Some(at), None) if volts > BUILT_IN_V => {
                notes.add(
                    "forward threshold in V",
                    BUILT_IN_V,
                    "silicon junction; the rest is resistance",
                );
                Ok((BUILT_IN_V, ((volts - BUILT_IN_V) / at).max(LEAST_OHM)))
            }
            _ => Err(self.missing(
                "forward resistance, or the current of the forward voltage",
                "one voltage without a current says nothing about the forward drop in a surge",
                "forward",
            )),
        }
    }

    fn package(&self, notes: &mut Notes) -> f64 {
        self.package_h.unwrap_or_else(|| {
            notes.add(
                "package inductance in H",
                0.0,
                "not given: the lead of the study holds all of it",
            );
            0.0
        })
    }

    /// Single-pulse ratings as `(wave, current in A, power in W)`, the one that is not given taken from a clamping
    /// line.
    fn single_pulses(&self, line: ClampLine) -> Vec<(UnitWave, f64, f64)> {
        let both = |rating: &PulseRating| {
            let wave = KnownWave::of(rating.wave)?.wave;
            let current = match (rating.current_a, rating.power_w) {
                (Some(current), _) => current,
                (None, Some(power)) => line.current_at_power_a(power),
                (None, None) => return None,
            };
            let power = rating.power_w.unwrap_or(current * line.voltage_v(current));
            let usable = |x: f64| x > 0.0 && x.is_finite();
            (usable(current) && usable(power)).then_some((wave, current, power))
        };
        self.ratings
            .iter()
            .filter(|r| r.pulses <= 1)
            .filter_map(both)
            .collect()
    }

    /// Poles of the heating model from the pulse ratings, for a part that clamps along a line.
    ///
    /// Every rating gives one point `Zth(t_eq) = ΔT/P` with `ΔT = Tj,max − 25 K`; one point is continued by `√t`,
    /// several are fitted. `None` without ratings or a highest junction temperature.
    fn heating(&self, line: ClampLine) -> Option<Foster> {
        // Ratings hold from 25 °C (common practice, no source).
        let allowed_k = self.junction_max_c.filter(|limit| *limit > 25.0)? - 25.0;
        let points: Vec<(f64, f64)> = self
            .single_pulses(line)
            .iter()
            .map(|(wave, _, power)| (wave.equivalent_s(), allowed_k / power))
            // What no part can have is no datum.
            .filter(|(t, z)| PLAUSIBLE_S.contains(t) && PLAUSIBLE_K.contains(&(z / t.sqrt())))
            .collect();
        match points[..] {
            [] => None,
            [(t, z)] => Some(Foster::square_root_law(z / t.sqrt(), self.thermal_k_per_w)),
            _ => Foster::from_points(&points, self.thermal_k_per_w),
        }
    }

    /// Least of the junction rises in kelvins which a model has in the part's own ratings: the ratings' currents along
    /// `line`, run through `V = V0 (1 + alpha ΔT) + R i`.
    fn rated_rise_k(&self, line: ClampLine, poles: &Foster, alpha_per_k: f64, r_ohm: f64) -> Option<f64> {
        self.single_pulses(line)
            .iter()
            .map(|(wave, current, _)| {
                HeatedPulse::new(wave, *current, poles)
                    .peak(line.v0_v, alpha_per_k, r_ohm, 1.0)
                    .rise_k
            })
            .filter(|rise| rise.is_finite())
            .reduce(f64::min)
    }

    /// Heating of a part whose voltage does not follow its own heat.
    fn plain_heating(&self, v0_v: f64, r_ohm: f64) -> Option<Heating> {
        let line = ClampLine { v0_v, r_ohm };
        let poles = self.heating(line)?;
        Some(Heating {
            rated_rise_k: self.rated_rise_k(line, &poles, 0.0, r_ohm),
            poles,
        })
    }
}

/// Built-in voltage in volts of a silicon junction in the capacitance law (0.6 to 0.8 V, from memory).
pub(crate) const BUILT_IN_V: f64 = 0.7;
/// Capacitance in farads of a part whose capacitance is not given (numerical choice).
const LEAST_F: f64 = 1e-12;
/// Least slope resistance in ohms, so that a law stays finite (numerical choice).
const LEAST_OHM: f64 = 1e-4;
/// Equivalent pulse widths in seconds a rating may stand for (numerical choice).
const PLAUSIBLE_S: std::ops::Range<f64> = 1e-10..1e4;
/// Heating coefficients in K/W per √s a rating may stand for (numerical choice).
const PLAUSIBLE_K: std::ops::Range<f64> = 1e-6..1e12;
/// Rounding of corners in volts (numerical choice).
const KNEE_V: f64 = 0.05;

/// Assumptions as they gather; each is named once.
#[derive(Default)]
struct Notes(Vec<Assumption>);

impl Notes {
    fn add(&mut self, what: &'static str, value: f64, why: &'static str) {
        if !self.0.iter().any(|a| a.what == what && a.value == value) {
            self.0.push(Assumption { what, value, why });
        }
    }
}

struct Junction {
    c0_f: f64,
    built_in_v: f64,
    grading: f64,
}

/// A thermal model and the rise it has in the part's own rating, in kelvins.
struct Heating {
    poles: Foster,
    rated_rise_k: Option<f64>,
}

fn assemble(
    sheet: &Datasheet,
    law: Law,
    series_ohm: f64,
    heating: Option<Heating>,
    mut notes: Notes,
) -> Built {
    let package_h = sheet.package(&mut notes);
    if heating.is_some() && sheet.thermal_k_per_w.is_none() {
        notes.add(
            "slowest time constant of the heating in s",
            SLOWEST_POLE_S,
            "thermal resistance to ambient not given: heating goes on as √t for about a second, then settles low",
        );
    }
    let rated_rise_k = heating.as_ref().and_then(|h| h.rated_rise_k);
    let poles = heating.map(|h| h.poles).unwrap_or_default();
    let thermal = if poles.time_s.is_empty() {
        ThermalLadder::default()
    } else {
        poles.to_ladder()
    };
    Built {
        protector: Protector {
            law,
            series_ohm,
            package_h,
            thermal,
        },
        poles,
        assumptions: notes.0,
        rated_rise_k,
    }
}

/// Least-squares line through `(current in A, voltage in V)`: resistance in ohms and voltage at zero current.
///
/// `None` with fewer than two different currents.
pub fn fit_line(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let n = points.len() as f64;
    let (mean_i, mean_v) = points
        .iter()
        .fold((0.0, 0.0), |(i, v), p| (i + p.0 / n, v + p.1 / n));
    let spread: f64 = points.iter().map(|p| (p.0 - mean_i).powi(2)).sum();
    if !(spread > 0.0 && spread.is_finite()) {
        return None;
    }
    let slope = points
        .iter()
        .map(|p| (p.0 - mean_i) * (p.1 - mean_v))
        .sum::<f64>()
        / spread;
    Some((slope, mean_v - slope * mean_i))
}
