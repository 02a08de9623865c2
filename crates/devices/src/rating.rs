//! Ratings carried over to the wave, temperature and repetition at hand.

use crate::build::MissingDatum;
use crate::curve::ClampLine;
use crate::datasheet::{Datasheet, Family, PulseRating, RatingWave};
use crate::known_wave::KnownWave;
use crate::pulse_power::{UnitWave, theta_peak_of_samples};

/// What a pulse does to a part, whatever its shape, for a peak of one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PulseShape {
    /// √t heating of the wave, `θ_pk` in √s.
    pub theta_peak_sqrt_s: f64,
    /// `∫|i|/Ip dt` in seconds.
    pub charge_s: f64,
    /// `∫i²/Ip² dt` in seconds.
    pub square_s: f64,
}

impl PulseShape {
    /// Shape of a standard wave.
    pub fn of(wave: &UnitWave) -> PulseShape {
        PulseShape {
            theta_peak_sqrt_s: wave.theta_peak(),
            charge_s: wave.charge_s(),
            square_s: wave.square_s(),
        }
    }

    /// Shape of a simulated current (s, A), taken straight between samples. `None` under the conditions of
    /// [`theta_peak_of_samples`].
    pub fn of_samples(t_s: &[f64], current_a: &[f64]) -> Option<PulseShape> {
        let theta_peak_sqrt_s = theta_peak_of_samples(t_s, current_a)?;
        let peak = current_a.iter().fold(0.0f64, |m, i| m.max(i.abs()));
        let (mut charge, mut square) = (0.0, 0.0);
        for k in 1..t_s.len() {
            let h = t_s[k] - t_s[k - 1];
            let (a, b) = (current_a[k - 1].abs() / peak, current_a[k].abs() / peak);
            charge += 0.5 * h * (a + b);
            square += h * (a * a + a * b + b * b) / 3.0; // derived: a straight line
        }
        Some(PulseShape {
            theta_peak_sqrt_s,
            charge_s: charge,
            square_s: square,
        })
    }

    /// Width in seconds of the rectangle of equal peak that heats as much.
    pub fn equivalent_s(&self) -> f64 {
        self.theta_peak_sqrt_s.powi(2)
    }

    /// Width in seconds on the scale of a varistor's pulse-life curves: equal charge, 8/20 µs standing for 20 µs (from memory).
    pub fn varistor_width_s(&self) -> f64 {
        20e-6 * self.charge_s / KnownWave::of(RatingWave::Surge8x20).map_or(17.46e-6, |w| w.charge_s)
    }
}

/// Part of a pulse rating that is left at an initial junction temperature: 1 up to `from_c`, straight to 0 at
/// `limit_c` (all in °C). Not universal: one 1500 W family keeps 1250 W at a junction of 150 °C.
pub fn derating_factor(initial_c: f64, from_c: f64, limit_c: f64) -> f64 {
    if initial_c <= from_c {
        1.0
    } else if initial_c >= limit_c {
        0.0
    } else {
        (limit_c - initial_c) / (limit_c - from_c)
    }
}

/// Temperature in °C at which a straight derating would reach zero, from the factor kept at `at_c` (°C), the full
/// rating holding at 25 °C. Above the rated junction temperature it shows that the usual line to Tj,max does not
/// apply to that part.
pub fn derating_zero_c(factor: f64, at_c: f64) -> f64 {
    25.0 + (at_c - 25.0) / (1.0 - factor) // ratings refer to 25 °C (common practice)
}

/// Exponent `p` of `I ∝ width^−p` between two ratings `(width in s, current in A)`.
pub fn width_exponent(short: (f64, f64), long: (f64, f64)) -> f64 {
    (short.1 / long.1).ln() / (long.0 / short.0).ln()
}

/// Current in amperes a varistor stands `pulses` times for a width in seconds:
/// `I = I1 n^−p (t/20 µs)^−q` (form from memory); `single_a` for one pulse of 20 µs.
pub fn varistor_life_a(single_a: f64, p: f64, q: f64, pulses: u32, width_s: f64) -> f64 {
    single_a * f64::from(pulses.max(1)).powf(-p) * (width_s / 20e-6).powf(-q)
}

/// Furthest the √t law is carried below the shortest rated width, as a factor on power or current: a hundredth of the
/// width. Beyond it bond wires and metal, which the law does not know, come first (common practice, no source).
const SHORTEST_CREDIT: f64 = 10.0;

/// What a part stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// Peak current in amperes.
    pub current_a: f64,
    /// Rule by which the rating was carried over.
    pub rule: &'static str,
}

impl Datasheet {
    /// Peak current in amperes a shunt part stands `pulses` times on a wave of this shape, from an initial
    /// junction temperature in °C.
    ///
    /// Avalanche parts, flat clamps and tables: equal junction rise under `Zth ∝ √t`, `P θ_pk` constant, the
    /// current found on the worst-case clamping line, no credit below a hundredth of the shortest width (one published cross-check, 8/20 against 10/1000 within 1 %;
    /// otherwise a tolerance of 15 % is to be named). Several ratings: straight in log-log between them.
    /// Thyristors and snapback parts: per-part log-log table of current against equivalent width, never
    /// extrapolated to longer waves; snapback parts gain with √t below their shortest width. Varistors: pulse life. Gas tubes, and varistors without pulse life: the best
    /// rating whose wave is at least as long and whose count is at least as high. All times the derating.
    ///
    /// # Errors
    /// The rating, clamping point or derating datum that is missing.
    pub fn allowed_current(
        &self,
        shape: &PulseShape,
        pulses: u32,
        initial_c: f64,
    ) -> Result<Allowed, MissingDatum> {
        let derating = self.derating_at(initial_c)?;
        match self.family {
            Family::Avalanche | Family::FlatClamp | Family::Table => self.by_heating(shape, derating),
            Family::Thyristor | Family::Snapback => self.by_table(shape, derating),
            Family::Varistor if self.pulse_life.is_some() => self.by_pulse_life(shape, pulses, derating),
            Family::Varistor | Family::GasTube => self.by_dominance(shape, pulses, derating),
            _ => Err(self.missing(
                "a shunt family",
                "series elements are rated by energy, I²t or current, not by this rule",
                "family",
            )),
        }
    }

    /// Part of the pulse ratings left at an initial junction temperature in °C.
    ///
    /// # Errors
    /// Highest junction temperature not given and `initial_c` above where derating begins (25 °C unless stated).
    pub fn derating_at(&self, initial_c: f64) -> Result<f64, MissingDatum> {
        // Read in several datasheets: derated above 25 °C.
        let from = self.derating_from_c.unwrap_or(25.0);
        if initial_c <= from || self.family == Family::GasTube {
            return Ok(1.0);
        }
        let limit = self.junction_max_c.filter(|limit| *limit > from).ok_or_else(|| {
            self.missing(
                "highest junction temperature",
                "pulse ratings fall to zero there, in a straight line from where derating begins",
                "junction_max",
            )
        })?;
        Ok(derating_factor(initial_c, from, limit))
    }

    fn rating_missing(&self, why: &'static str) -> MissingDatum {
        self.missing("pulse rating (power or current) on a named wave", why, "rating")
    }

    fn by_heating(&self, shape: &PulseShape, derating: f64) -> Result<Allowed, MissingDatum> {
        let mut points = Vec::new();
        for rating in self.ratings.iter().filter(|r| r.pulses <= 1) {
            let Some(wave) = KnownWave::of(rating.wave) else {
                continue;
            };
            let theta = wave.theta_peak_sqrt_s;
            let power = match (rating.power_w, rating.current_a) {
                (Some(power), _) => power,
                (None, Some(current)) => current * self.line_for(theta)?.voltage_v(current),
                _ => continue,
            };
            points.push((theta, power));
        }
        let shortest = points.iter().map(|point| point.0).fold(f64::INFINITY, f64::min);
        let theta = shape.theta_peak_sqrt_s.max(shortest / SHORTEST_CREDIT);
        let power = log_log(&mut points, theta, Some(-1.0))
            .ok_or_else(|| self.rating_missing("the surge current is judged against it"))?;
        let line = self.line_for(shape.theta_peak_sqrt_s)?;
        Ok(Allowed {
            current_a: line.current_at_power_a(power * derating),
            rule: if theta > shape.theta_peak_sqrt_s {
                "√t heating, no credit for being shorter than a hundredth of the shortest rated width"
            } else {
                "equal junction rise under √t heating"
            },
        })
    }

    /// Clamping line for the power of a current: worst case, or the on-branch of a flat clamp or table.
    fn line_for(&self, theta: f64) -> Result<ClampLine, MissingDatum> {
        if let (Some(v0_v), Some(r_ohm)) = (self.on_v.max.or(self.on_v.typ), self.dynamic_ohm) {
            return Ok(ClampLine { v0_v, r_ohm });
        }
        if let [.., (v1, i1), (v2, i2)] = self.table[..]
            && i2 > i1
        {
            let r_ohm = (v2 - v1) / (i2 - i1);
            return Ok(ClampLine {
                v0_v: v2 - r_ohm * i2,
                r_ohm,
            });
        }
        self.worst_line(theta)
    }

    fn by_table(&self, shape: &PulseShape, derating: f64) -> Result<Allowed, MissingDatum> {
        let mut points: Vec<(f64, f64)> = self
            .ratings
            .iter()
            .filter(|r| r.pulses <= 1)
            .filter_map(|r| Some((KnownWave::of(r.wave)?.theta_peak_sqrt_s.powi(2), r.current_a?)))
            .collect();
        if let (Some(current), Some(width)) = (self.failure_a, self.failure_width_s) {
            points.push((width, current));
        }
        let width = shape.equivalent_s();
        // Two per cent for the rounding of named waves (numerical choice).
        if points.iter().all(|p| p.0 < 0.98 * width) {
            return Err(self.rating_missing(
                "crowbars do not follow the √t law: a rating on a wave at least as long is needed",
            ));
        }
        // Below its shortest rated width a snapback part gains with the root of the width (Wunsch and Bell, from
        // memory; towards 10 ns the gain is larger still), by no more than a hundredth of that width.
        let shortest = points.iter().map(|point| point.0).fold(f64::INFINITY, f64::min);
        let snapback = self.family == Family::Snapback && width < shortest;
        let gain = if snapback {
            (shortest / width).sqrt().min(SHORTEST_CREDIT)
        } else {
            1.0
        };
        let current = log_log(&mut points, width, None)
            .ok_or_else(|| self.rating_missing("the surge current is judged against it"))?;
        Ok(Allowed {
            current_a: current * gain * derating,
            rule: if snapback {
                "shortest rating of the part, carried to the shorter wave by √t"
            } else {
                "log-log table of the part, not extrapolated"
            },
        })
    }

    fn by_pulse_life(&self, shape: &PulseShape, pulses: u32, derating: f64) -> Result<Allowed, MissingDatum> {
        let single = self
            .ratings
            .iter()
            .filter(|r| r.pulses <= 1 && r.wave == RatingWave::Surge8x20)
            .find_map(|r| r.current_a)
            .ok_or_else(|| self.rating_missing("pulse life is counted from the single 8/20 µs current"))?;
        let (p, q) = self.pulse_life.unwrap_or_default();
        // Never more than the single-pulse rating, however short the wave (20 µs of its curves: from memory).
        let current = varistor_life_a(single, p, q, pulses, shape.varistor_width_s().max(20e-6));
        Ok(Allowed {
            current_a: current * derating,
            rule: "pulse life I = I1 n^-p (t/20 µs)^-q",
        })
    }

    fn by_dominance(&self, shape: &PulseShape, pulses: u32, derating: f64) -> Result<Allowed, MissingDatum> {
        // Two per cent for the rounding of named waves (numerical choice).
        let covers = |r: &&PulseRating| {
            r.pulses >= pulses && KnownWave::of(r.wave).is_some_and(|w| w.charge_s >= 0.98 * shape.charge_s)
        };
        let best = self
            .ratings
            .iter()
            .filter(covers)
            .filter_map(|r| r.current_a)
            .reduce(f64::max);
        match best {
            Some(current) => Ok(Allowed {
                current_a: current * derating,
                rule: "rating on a wave at least as long, for at least as many pulses",
            }),
            None => Err(self.rating_missing(
                "none of the ratings covers this wave and number of pulses, and no pulse life is given",
            )),
        }
    }
}

/// Value at `x` of points straight in a log-log plot. Beyond the ends the value follows `outside` as an exponent, or
/// is held. `None` without points.
fn log_log(points: &mut Vec<(f64, f64)>, x: f64, outside: Option<f64>) -> Option<f64> {
    points.retain(|p| p.0 > 0.0 && p.1 > 0.0 && p.0.is_finite() && p.1.is_finite());
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (&first, &last) = (points.first()?, points.last()?);
    let end = if x <= first.0 {
        Some(first)
    } else if x >= last.0 {
        Some(last)
    } else {
        None
    };
    if let Some((x0, y0)) = end {
        return Some(y0 * (x / x0).powf(outside.unwrap_or(0.0)));
    }
    let k = points.partition_point(|p| p.0 <= x);
    let (a, b) = (points[k - 1], points[k]);
    Some(a.1 * (x / a.0).powf((b.1 / a.1).ln() / (b.0 / a.0).ln()))
}

/// Highest rate in hertz at which pulses of `energy_j` joules may follow each other for good:
/// `E f <= (Tj,max − Ta)/RthJA` (°C, °C, K/W). Infinite for no energy, zero above the limit.
pub fn highest_repetition_hz(
    energy_j: f64,
    junction_max_c: f64,
    ambient_c: f64,
    thermal_k_per_w: f64,
) -> f64 {
    ((junction_max_c - ambient_c) / (thermal_k_per_w * energy_j)).max(0.0)
}

/// Rise in kelvins left `after_s` seconds after a pulse of `energy_j` joules, while heat still spreads as
/// `K √t` (K/W per √s): `K E / (2 √t)`.
pub fn residual_rise_k(k_k_per_w_sqrt_s: f64, energy_j: f64, after_s: f64) -> f64 {
    0.5 * k_k_per_w_sqrt_s * energy_j / after_s.sqrt()
}

/// Rise in kelvins just before the next pulse of a train of `pulses` equal ones, `period_s` apart, by superposition
/// of [`residual_rise_k`]. It only holds while the √t law does (up to the package's knee).
pub fn train_residual_k(k_k_per_w_sqrt_s: f64, energy_j: f64, period_s: f64, pulses: u32) -> f64 {
    (1..=pulses)
        .map(|n| residual_rise_k(k_k_per_w_sqrt_s, energy_j, f64::from(n) * period_s))
        .sum()
}

/// `K` in K/W per √s from a pulse rating: the allowed rise in kelvins over rated power in watts times `θ_pk` in √s.
pub fn heating_coefficient(allowed_rise_k: f64, power_w: f64, theta_peak_sqrt_s: f64) -> f64 {
    allowed_rise_k / (power_w * theta_peak_sqrt_s)
}

/// Rise in kelvins that heating alone would need to explain a clamping voltage above breakdown (V, V, 1/K).
pub fn rise_to_explain_k(breakdown_v: f64, clamp_v: f64, alpha_per_k: f64) -> f64 {
    (clamp_v / breakdown_v - 1.0) / alpha_per_k
}
