//! Constants of a shape from its front and tail.
//!
//! Front and tail scale together with time, so for a family with two constants only their ratio is
//! unknown: it follows from the ratio of tail to front, and the time scale from the front.

use crate::waveform::Shape;

/// How front and tail of an impulse are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Definition {
    /// IEC 60060-1 voltage impulse: front = (t90 − t30)/0.6; tail from the virtual origin through the 30 %
    /// and 90 % points to half value.
    Voltage,
    /// IEC 62475 (formerly 60060-1) current impulse: front = (t90 − t10)/0.8; tail from the virtual origin
    /// through the 10 % and 90 % points to half value.
    Current,
    /// Front = time from 10 % to 90 % of the peak; tail = time from 10 % on the rise to 10 % on the tail
    /// (ISO 7637-2, ISO 16750-2: tr and td).
    TenPercent,
    /// Front = time from 10 % to 90 % of the peak; tail = width between the 50 % points (IEC 60469-1).
    HalfWidth,
    /// Front = time of the peak, tail = time of half value, both from time zero (RTCA DO-160, SAE ARP5412).
    PeakTime,
}

/// Why a form has no constants for the front and tail asked for.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Front or tail is not a positive finite number, or the tail is not longer than the front.
    #[error(
        "front {front_s} s and tail {tail_s} s must be positive and finite, the tail longer than the front"
    )]
    BadTimes {
        /// Front asked for, in seconds.
        front_s: f64,
        /// Tail asked for, in seconds.
        tail_s: f64,
    },
    /// The ratio of tail to front lies outside what the form can take.
    #[error("no {form} has tail/front = {ratio:.3}; it needs a ratio {needed}")]
    NoSolution {
        /// Name of the form.
        form: &'static str,
        /// Ratio asked for.
        ratio: f64,
        /// Range of ratios the form can take, in words.
        needed: RatioRange,
    },
}

/// The ratios of tail to front that a form can take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioRange {
    /// Lowest ratio.
    pub lowest: f64,
    /// Highest ratio.
    pub highest: f64,
}

impl std::fmt::Display for RatioRange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "between {:.3} and {:.3e}", self.lowest, self.highest)
    }
}

/// The root of `function` between `low` and `high`, by bisection to the last bit that matters.
///
/// `function` must change sign once between the two; without a change of sign one of the ends is returned.
pub fn bisect(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    let rising = function(low) < function(high);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low.min(high) || middle >= low.max(high) {
            return middle;
        }
        if (function(middle) > 0.0) == rising {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

/// Front and tail of a shape with one peak of one at `peak_s`, rising before it and falling after it.
///
/// Returns `None` when the tail does not come down to the level the definition needs. Levels and origins are those of the
/// definitions named at [`Definition`] (from memory; 30 % to 90 % and 10 % to 90 % read in two teaching pages).
pub fn front_and_tail_s(
    value: impl Fn(f64) -> f64,
    peak_s: f64,
    definition: Definition,
) -> Option<(f64, f64)> {
    let rise = |level: f64| bisect(0.0, peak_s, |t| value(t) - level);
    let fall = |level: f64| {
        let mut late = 2.0 * peak_s;
        for _ in 0..200 {
            if value(late) < level {
                return Some(bisect(peak_s, late, |t| value(t) - level));
            }
            late *= 2.0;
        }
        None
    };
    Some(match definition {
        Definition::Voltage => {
            let (t30, t90) = (rise(0.3), rise(0.9));
            let front = (t90 - t30) / 0.6;
            (front, fall(0.5)? - (t30 - 0.3 * front))
        }
        Definition::Current => {
            let (t10, t90) = (rise(0.1), rise(0.9));
            let front = (t90 - t10) / 0.8;
            (front, fall(0.5)? - (t10 - 0.1 * front))
        }
        Definition::TenPercent => (rise(0.9) - rise(0.1), fall(0.1)? - rise(0.1)),
        Definition::HalfWidth => (rise(0.9) - rise(0.1), fall(0.5)? - rise(0.5)),
        Definition::PeakTime => (peak_s, fall(0.5)?),
    })
}

/// The double exponential with the given front and tail (seconds).
///
/// # Errors
/// [`FitError::NoSolution`] where the family ends: as both rates become equal, tail/front tends to 3.47
/// (voltage) or 3.80 (current). 8/20 is outside it: use [`power_exponential`].
pub fn double_exponential(front_s: f64, tail_s: f64, definition: Definition) -> Result<Shape, FitError> {
    // Unit slow rate; the unknown is the logarithm of (fast/slow − 1).
    let shape = |log_excess: f64| unit_double_exponential(1.0, 1.0 + log_excess.exp());
    let times = |log_excess: f64| {
        let (shape, peak_s) = shape(log_excess);
        front_and_tail_s(|t| shape.value(t), peak_s, definition)
    };
    // Range of the search: numerical choice.
    let (log_excess, rate) = solve_ratio("double exponential", front_s, tail_s, (-7.0, 18.0), times)?;
    Ok(unit_double_exponential(rate, rate * (1.0 + log_excess.exp())).0)
}

/// The form `(t/(n τ))^n exp(n − t/τ)` with the given front and tail (seconds).
///
/// # Errors
/// [`FitError::NoSolution`] where tail/front is above what `n = 1` gives or below what `n = 400` gives.
pub fn power_exponential(front_s: f64, tail_s: f64, definition: Definition) -> Result<Shape, FitError> {
    let times = |log_exponent: f64| {
        let exponent = log_exponent.exp();
        let shape = Shape::PowerExponential { exponent, tau_s: 1.0 };
        front_and_tail_s(|t| shape.value(t), exponent, definition)
    };
    // Range of the search: numerical choice.
    let (log_exponent, rate) =
        solve_ratio("power exponential", front_s, tail_s, (0.0, 400.0_f64.ln()), times)?;
    Ok(Shape::PowerExponential {
        exponent: log_exponent.exp(),
        tau_s: 1.0 / rate,
    })
}

/// A shape for any front and tail: a double exponential where one exists, else the power-exponential form.
///
/// # Errors
/// As [`power_exponential`].
pub fn impulse(front_s: f64, tail_s: f64, definition: Definition) -> Result<Shape, FitError> {
    double_exponential(front_s, tail_s, definition)
        .or_else(|_| power_exponential(front_s, tail_s, definition))
}

/// A straight ramp and an exponential tail with 10–90 % rise `rise_s` and 10–10 % duration `duration_s`,
/// standing on `base` (share of the peak). It exists for ratios for which no double exponential does.
///
/// # Errors
/// [`FitError::BadTimes`] unless the duration is longer than the part of it that the ramp takes.
pub fn ramp_exponential(rise_s: f64, duration_s: f64, base: f64) -> Result<Shape, FitError> {
    // Derived from the two definitions.
    let ramp_s = rise_s / 0.8;
    // Derived in the same way.
    let tau_s = (duration_s - 0.9 * ramp_s) / 10.0_f64.ln();
    if rise_s > 0.0 && tau_s > 0.0 && tau_s.is_finite() && (0.0..1.0).contains(&base) {
        Ok(Shape::RampExponential {
            base,
            ramp_s,
            top_s: 0.0,
            tau_s,
        })
    } else {
        Err(FitError::BadTimes {
            front_s: rise_s,
            tail_s: duration_s,
        })
    }
}

/// The double exponential of two rates with its peak of one, and the time of the peak in seconds.
pub fn unit_double_exponential(alpha_per_s: f64, beta_per_s: f64) -> (Shape, f64) {
    // ln(β/α) as ln_1p keeps its digits when the two rates are close.
    let peak_s = ((beta_per_s - alpha_per_s) / alpha_per_s).ln_1p() / (beta_per_s - alpha_per_s);
    let peak = (-alpha_per_s * peak_s).exp() - (-beta_per_s * peak_s).exp();
    (
        Shape::DoubleExponential {
            scale: 1.0 / peak,
            alpha_per_s,
            beta_per_s,
        },
        peak_s,
    )
}

/// Finds the family parameter at which tail/front has the wanted ratio, then the rate that stretches the
/// unit shape to the wanted front. `range` is where the parameter is searched.
fn solve_ratio(
    form: &'static str,
    front_s: f64,
    tail_s: f64,
    range: (f64, f64),
    times: impl Fn(f64) -> Option<(f64, f64)>,
) -> Result<(f64, f64), FitError> {
    let positive = |x: f64| x > 0.0 && x.is_finite();
    if !positive(front_s) || !positive(tail_s) || tail_s <= front_s {
        return Err(FitError::BadTimes { front_s, tail_s });
    }
    let wanted = tail_s / front_s;
    let ratio = |parameter: f64| times(parameter).map_or(f64::NAN, |(front, tail)| tail / front);
    let (first, last) = (ratio(range.0), ratio(range.1));
    let needed = RatioRange {
        lowest: first.min(last),
        highest: first.max(last),
    };
    if !(needed.lowest..=needed.highest).contains(&wanted) {
        return Err(FitError::NoSolution {
            form,
            ratio: wanted,
            needed,
        });
    }
    let parameter = bisect(range.0, range.1, |parameter| ratio(parameter) - wanted);
    match times(parameter) {
        Some((front, _)) => Ok((parameter, front / front_s)),
        None => Err(FitError::NoSolution {
            form,
            ratio: wanted,
            needed,
        }),
    }
}
