//! From what the solver says to what a fit says.

use super::data::Datum;
use super::{
    Axis, BandPoint, Covariance, Entry, Estimate, Fit, Pole, Quality, Refusal, SCHEMA, Standing, UsedPoint,
    Warning, WarningKind,
};
use crate::fit::{Counters, Identified, Outcome};

/// A parameter as people know it.
#[derive(Clone, Copy)]
pub(super) struct Told {
    pub key: &'static str,
    pub meaning: &'static str,
    pub unit: &'static str,
    /// The measurement that would identify it.
    pub needs: &'static str,
}

/// A fit in the making.
pub(super) struct Draft {
    fit: Fit,
    freedom: Option<usize>,
}

/// Points at which a band is given.
const BAND: usize = 41;

impl Draft {
    pub fn new(family: &str, law: &str, x: (&str, &str), y: (&str, &str), residuals_in: &str) -> Draft {
        let axis = |(name, unit): (&str, &str)| Axis {
            name: name.to_owned(),
            unit: unit.to_owned(),
        };
        Draft {
            fit: Fit {
                schema: SCHEMA.to_owned(),
                family: family.to_owned(),
                law: law.to_owned(),
                x: axis(x),
                y: axis(y),
                estimates: Vec::new(),
                covariances: Vec::new(),
                points: Vec::new(),
                bands: Vec::new(),
                quality: Quality {
                    points: 0,
                    rejected: 0,
                    degrees_of_freedom: 0,
                    scatter: None,
                    residuals_in: residuals_in.to_owned(),
                    reduced_chi_square: None,
                    condition: None,
                },
                warnings: Vec::new(),
                recipe: String::new(),
                counters: Counters::default(),
                poles: Vec::new(),
                entries: Vec::new(),
                data: Vec::new(),
            },
            freedom: None,
        }
    }

    pub fn warn(&mut self, kind: WarningKind, text: impl Into<String>) {
        let text = text.into();
        self.fit.warnings.push(Warning { kind, text });
    }

    /// Takes the parameters of an outcome over, and the quality of the worst of several.
    pub fn outcome(&mut self, outcome: &Outcome, told: &[Told], given_sigmas: bool) {
        for (j, told) in told.iter().enumerate() {
            let standing = match outcome.identified[j] {
                Identified::Yes => Standing::Estimated,
                Identified::NotTestable => Standing::NotTestable,
                Identified::No => Standing::NotIdentified,
            };
            let end = |x: f64| x.is_finite().then_some(x);
            let interval = outcome.intervals[j].map(|(low, high)| [end(low), end(high)]);
            let value = (standing != Standing::NotIdentified).then_some(outcome.values[j]);
            let needs = match standing {
                Standing::NotIdentified => Some(told.needs.to_owned()),
                Standing::NotTestable => Some("a further point".to_owned()),
                _ => None,
            };
            if let (Some(value), Some(error)) = (value, outcome.standard_errors[j])
                && error > 0.5 * value.abs()
                // The terms of that law may well be zero.
                && self.fit.family != "varistor-log"
            {
                self.warn(
                    WarningKind::Weak,
                    format!(
                        "{} is known poorly; to know it better, {}",
                        told.meaning, told.needs
                    ),
                );
            }
            self.fit.estimates.push(Estimate {
                key: told.key.to_owned(),
                meaning: told.meaning.to_owned(),
                unit: told.unit.to_owned(),
                value,
                standard_error: outcome.standard_errors[j],
                interval,
                standing,
                needs,
            });
        }
        let known: Vec<usize> = (0..told.len())
            .filter(|&j| outcome.identified[j] == Identified::Yes)
            .collect();
        if !known.is_empty() {
            self.fit.covariances.push(Covariance {
                keys: known.iter().map(|&j| told[j].key.to_owned()).collect(),
                rows: known
                    .iter()
                    .map(|&i| known.iter().map(|&j| outcome.covariance[i][j]).collect())
                    .collect(),
            });
        }
        let quality = &mut self.fit.quality;
        self.freedom = Some(self.freedom.map_or(outcome.freedom, |f| f.min(outcome.freedom)));
        let worst = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => Some(a.max(b)),
            (a, b) => a.or(b),
        };
        if outcome.freedom > 0 {
            quality.scatter = worst(quality.scatter, outcome.scatter());
        }
        let finite = outcome.condition.is_finite().then_some(outcome.condition);
        quality.condition = worst(quality.condition, finite);
        let counters = &mut self.fit.counters;
        counters.starts += outcome.counters.starts;
        counters.iterations += outcome.counters.iterations;
        counters.evaluations += outcome.counters.evaluations;
        if outcome.freedom == 0 {
            return;
        }
        let discounted: Vec<String> = (0..outcome.kept.len())
            .filter(|&k| outcome.kept[k] < 0.5)
            .map(|k| (k + 1).to_string())
            .collect();
        if !discounted.is_empty() {
            self.warn(
                WarningKind::Outliers,
                format!(
                    "discounted by more than half (of the points used): {}",
                    discounted.join(", ")
                ),
            );
        }
        if let (true, Some(chi)) = (given_sigmas, outcome.reduced_chi_square) {
            let quality = &mut self.fit.quality;
            quality.reduced_chi_square = worst(quality.reduced_chi_square, Some(chi));
            // Twice the standard deviation of the reduced chi-square of normal errors.
            let room = 2.0 * (2.0 / outcome.freedom as f64).sqrt();
            if (chi - 1.0).abs() > 1.5 * room {
                self.warn(
                    WarningKind::Scatter,
                    format!(
                        "reduced chi-square {chi:.2}: the given standard deviations do not match the scatter"
                    ),
                );
            }
        }
    }

    pub fn estimate(&mut self, told: Told, value: f64, standing: Standing) {
        let known = standing != Standing::NotIdentified;
        self.fit.estimates.push(Estimate {
            key: told.key.to_owned(),
            meaning: told.meaning.to_owned(),
            unit: told.unit.to_owned(),
            value: known.then_some(value),
            standard_error: None,
            interval: None,
            standing,
            needs: (!known).then(|| told.needs.to_owned()),
        });
    }

    /// A value that follows from the parameters, with its interval.
    pub fn derived(&mut self, told: Told, outcome: &Outcome, quantity: impl Fn(&[f64]) -> f64) -> f64 {
        let band = outcome.predict(quantity);
        let testable = band.curve.is_some();
        self.fit.estimates.push(Estimate {
            key: told.key.to_owned(),
            meaning: told.meaning.to_owned(),
            unit: told.unit.to_owned(),
            value: Some(band.value),
            standard_error: band.curve.map(|half| half / outcome.t()),
            interval: band
                .curve
                .map(|half| [Some(band.value - half), Some(band.value + half)]),
            standing: if testable {
                Standing::Estimated
            } else {
                Standing::NotTestable
            },
            needs: (!testable).then(|| "a further point".to_owned()),
        });
        band.value
    }

    pub fn point(&mut self, number: usize, of: &str, at: (f64, f64), fitted: Option<f64>) {
        let (x, y) = at;
        let residual = fitted.map(|f| y - f);
        self.fit.points.push(UsedPoint {
            number,
            of: of.to_owned(),
            x,
            y,
            fitted,
            residual,
            rejected: None,
        });
    }

    pub fn rejected(&mut self, number: usize, of: &str, (x, y): (f64, f64), why: &str) {
        self.fit.points.push(UsedPoint {
            number,
            of: of.to_owned(),
            x,
            y,
            fitted: None,
            residual: None,
            rejected: Some(why.to_owned()),
        });
    }

    /// Band of a curve from `low` to `high`, spaced evenly or in the logarithm. `back` turns the solver's scale into the
    /// axis's.
    pub fn band(
        &mut self,
        of: &str,
        (low, high): (f64, f64),
        outcome: &Outcome,
        curve: impl Fn(&[f64], f64) -> f64,
        back: impl Fn(f64) -> f64,
    ) {
        let logarithmic = low > 0.0 && high > 20.0 * low;
        for k in 0..BAND {
            let share = k as f64 / (BAND - 1) as f64;
            let x = if logarithmic {
                low * (high / low).powf(share)
            } else {
                low + (high - low) * share
            };
            self.band_point(of, x, outcome, |values| curve(values, x), &back);
        }
    }

    /// One point of a band.
    pub fn band_point(
        &mut self,
        of: &str,
        x: f64,
        outcome: &Outcome,
        curve: impl Fn(&[f64]) -> f64,
        back: impl Fn(f64) -> f64,
    ) {
        let band = outcome.predict(curve);
        let ends = |half: Option<f64>| half.map(|half| [back(band.value - half), back(band.value + half)]);
        self.fit.bands.push(BandPoint {
            of: of.to_owned(),
            x,
            value: back(band.value),
            curve: ends(band.curve),
            observation: ends(band.observation),
        });
    }

    /// Says of the last `count` estimates which wave they are for.
    pub fn of_wave(&mut self, count: usize, wave: &str) {
        let first = self.fit.estimates.len() - count;
        for estimate in &mut self.fit.estimates[first..] {
            estimate.key = format!("{}@{wave}", estimate.key);
            estimate.meaning = format!("{}, {wave}", estimate.meaning);
        }
        if let Some(covariance) = self.fit.covariances.last_mut() {
            for key in covariance.keys.iter_mut().filter(|key| !key.contains('@')) {
                *key = format!("{key}@{wave}");
            }
        }
    }

    pub fn poles(&mut self, poles: Vec<Pole>) {
        self.fit.poles = poles;
    }

    pub fn datum(&mut self, datum: Datum) {
        self.fit.data.push(datum);
    }

    /// Warnings that depend on the points alone: their number, span and residuals.
    pub fn usual_warnings(&mut self, what: &str, used: usize, span: Option<f64>) {
        if used < 4 {
            self.warn(
                WarningKind::FewPoints,
                format!("{used} points on {what}: fewer than four"),
            );
        }
        if let Some(span) = span.filter(|span| *span < 3.0 * (1.0 - 1e-12)) {
            self.warn(
                WarningKind::ShortSpan,
                format!("the points on {what} span {span:.2} : 1, less than 3 : 1"),
            );
        }
        let large: Vec<String> = self
            .fit
            .points
            .iter()
            .filter(|p| p.of == what && p.residual.is_some_and(|r| r.abs() > 0.03 * p.y.abs()))
            .map(|p| p.number.to_string())
            .collect();
        if !large.is_empty() {
            self.warn(
                WarningKind::LargeResidual,
                format!(
                    "more than 3 % off the curve on {what}: point {}",
                    large.join(", ")
                ),
            );
        }
    }

    pub fn finish(mut self, recipe: impl Into<String>) -> Result<Fit, Refusal> {
        let fit = &mut self.fit;
        fit.recipe = recipe.into();
        fit.points.sort_by_key(|p| p.number);
        fit.quality.rejected = fit.points.iter().filter(|p| p.rejected.is_some()).count();
        fit.quality.points = fit.points.len() - fit.quality.rejected;
        fit.quality.degrees_of_freedom = self.freedom.unwrap_or(0);
        fit.entries = fit.data.iter().map(Datum::entry).collect::<Vec<Entry>>();
        let finite = fit.estimates.iter().all(|e| e.value.is_none_or(f64::is_finite))
            && fit.bands.iter().all(|b| b.value.is_finite());
        if finite {
            Ok(self.fit)
        } else {
            Err(Refusal::Contradiction("the points lead to values without bounds"))
        }
    }
}
