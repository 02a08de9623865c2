//! Axes: scales, ranges and ticks.

use crate::number::{fixed, prefix, quantity, takes_prefix};

/// How values are spread along an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// Evenly.
    Linear,
    /// By their logarithm; only values above zero have a place.
    Log,
    /// By the logarithm of their size on both sides of zero, and about evenly within ± this value: `sgn(v) log₁₀(1 + |v|/t)`.
    Symlog(f64),
}

impl Scale {
    /// Name in `data-` attributes.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Scale::Linear => "linear",
            Scale::Log => "log",
            Scale::Symlog(_) => "symlog",
        }
    }

    /// Place on an endless ruler; not finite where a value has none.
    pub(crate) fn forward(self, value: f64) -> f64 {
        match self {
            Scale::Linear => value,
            Scale::Log if value > 0.0 => value.log10(),
            Scale::Log => f64::NAN,
            Scale::Symlog(within) => {
                value.signum() * (value.abs() / within).ln_1p() / std::f64::consts::LN_10
            }
        }
    }
}

/// An axis as asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it shows, such as "Voltage".
    pub label: String,
    /// SI symbol of the data's unit; prefixes are chosen when it is drawn. May be empty.
    pub unit: String,
    /// Scale.
    pub scale: Scale,
    /// Ends in the unit of the data; the first may be the larger one. `None` takes them from the data.
    pub range: Option<(f64, f64)>,
    /// Whether a range taken from the data must hold zero.
    pub with_zero: bool,
}

impl Axis {
    /// A linear axis that takes its range from the data.
    pub fn linear(label: impl Into<String>, unit: impl Into<String>) -> Axis {
        Axis {
            label: label.into(),
            unit: unit.into(),
            scale: Scale::Linear,
            range: None,
            with_zero: false,
        }
    }

    /// A logarithmic axis.
    pub fn log(label: impl Into<String>, unit: impl Into<String>) -> Axis {
        Axis {
            scale: Scale::Log,
            ..Axis::linear(label, unit)
        }
    }

    /// An axis that is logarithmic on both sides of ± a value.
    pub fn symlog(label: impl Into<String>, unit: impl Into<String>, within: f64) -> Axis {
        let scale = if within > 0.0 && within.is_finite() {
            Scale::Symlog(within)
        } else {
            Scale::Linear
        };
        Axis {
            scale,
            ..Axis::linear(label, unit)
        }
    }

    /// The same with given ends.
    pub fn range(self, from: f64, to: f64) -> Axis {
        Axis {
            range: Some((from, to)),
            ..self
        }
    }

    /// The same with zero in a range that is taken from the data.
    pub fn from_zero(self) -> Axis {
        Axis {
            with_zero: true,
            ..self
        }
    }
}

/// A mark of an axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where, in the unit of the data.
    pub at: f64,
    /// Its text; `None` for a minor mark.
    pub label: Option<String>,
}

/// The marks of an axis and what its label says about the unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticks {
    /// Marks, in rising order.
    pub ticks: Vec<Tick>,
    /// Unit with prefix for the axis's label; empty where the marks carry it.
    pub unit: String,
}

/// Range of an axis over its data: finite, not empty, with room at the ends unless they are round.
pub(crate) fn range_of(axis: &Axis, values: impl Iterator<Item = f64>) -> (f64, f64) {
    if let Some((from, to)) = axis.range
        && from.is_finite()
        && to.is_finite()
        && from != to
        && axis.scale.forward(from).is_finite()
        && axis.scale.forward(to).is_finite()
    {
        return (from, to);
    }
    let placed = values.filter(|value| value.is_finite() && axis.scale.forward(*value).is_finite());
    let ends = placed.fold(None, |ends: Option<(f64, f64)>, value| {
        Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
    });
    let (mut low, mut high) = match (ends, axis.scale) {
        (Some(ends), _) => ends,
        (None, Scale::Log) => (0.1, 10.0),
        (None, _) => (0.0, 1.0),
    };
    match axis.scale {
        Scale::Log => {
            let (low, high) = (low / 1.3, high * 1.3);
            (low.max(f64::MIN_POSITIVE), high.min(f64::MAX / 10.0))
        }
        Scale::Linear | Scale::Symlog(_) => {
            if axis.with_zero {
                (low, high) = (low.min(0.0), high.max(0.0));
            }
            if high - low <= 1e-12 * high.abs().max(low.abs()) {
                let room = if high == 0.0 { 1.0 } else { 0.1 * high.abs() };
                (low, high) = (low - room, high + room);
            }
            let room = 0.06 * (high - low);
            // No room beyond zero: it is where such an axis begins.
            let below = if low == 0.0 { 0.0 } else { room };
            let above = if high == 0.0 { 0.0 } else { room };
            (low - below, high + above)
        }
    }
}

/// Marks of an axis between two ends, about `wanted` of them with text.
pub fn ticks(axis: &Axis, (from, to): (f64, f64), wanted: usize) -> Ticks {
    let (low, high) = (from.min(to), from.max(to));
    let unit = axis.unit.as_str();
    match axis.scale {
        // Less than a decade and a half has too few decades to be marked by them.
        Scale::Log if (high / low).log10() < 1.2 => linear(low, high, wanted, unit),
        Scale::Log => log(low, high, wanted, unit),
        Scale::Symlog(within) if high.abs().max(low.abs()) > 10.0 * within => {
            symlog(low, high, within, wanted, unit)
        }
        Scale::Linear | Scale::Symlog(_) => linear(low, high, wanted, unit),
    }
}

/// Marks at multiples of 1, 2 or 5 times a power of ten.
fn linear(low: f64, high: f64, wanted: usize, unit: &str) -> Ticks {
    let (power, letter) = prefix(low.abs().max(high.abs()), unit);
    let span = high - low;
    let wanted = wanted.max(2) as f64;
    let decade = 10f64.powf((span / wanted).log10().floor());
    // The step whose number of marks comes nearest to what is wanted, as a ratio.
    let miss = |step: f64| (span / step / wanted).ln().abs();
    let (step, parts) = [(1.0, 5), (2.0, 4), (5.0, 5), (10.0, 5)]
        .into_iter()
        .map(|(factor, parts)| (factor * decade, parts))
        .min_by(|a, b| miss(a.0).total_cmp(&miss(b.0)))
        .unwrap_or((decade, 5));
    let unit_step = step / 10f64.powi(power);
    // Ten to the minus decimals is at most the step; the bound keeps a strange range from a long label.
    let decimals = (-(unit_step * (1.0 + 1e-9)).log10().floor()).clamp(0.0, 12.0) as usize;
    let minor = step / f64::from(parts);
    let first = (low / minor - 1e-6).ceil();
    let last = (high / minor + 1e-6).floor();
    let mut ticks = Vec::new();
    let mut k = first;
    while k <= last && ticks.len() < 400 {
        let at = k * minor;
        let major = (k / f64::from(parts)).fract() == 0.0;
        ticks.push(Tick {
            at,
            label: major.then(|| fixed(at / 10f64.powi(power), decimals)),
        });
        k += 1.0;
    }
    Ticks {
        ticks,
        unit: format!("{letter}{unit}"),
    }
}

fn decade_label(at: f64, unit: &str) -> String {
    if takes_prefix(unit) {
        quantity(at, unit, 1)
    } else {
        quantity(at, "", 1)
    }
}

/// Unit for the label of an axis whose marks carry prefixes, or do not.
fn decade_unit(unit: &str) -> String {
    if takes_prefix(unit) {
        String::new()
    } else {
        unit.to_owned()
    }
}

/// Marks at the decades between two values above zero; every few of them, or twos and fives too, as there is room.
fn log(low: f64, high: f64, wanted: usize, unit: &str) -> Ticks {
    let first = (low.log10() - 1e-9).floor() as i32;
    let last = (high.log10() + 1e-9).ceil() as i32;
    let decades = (high / low).log10();
    let every = ((decades / wanted.max(2) as f64).ceil() as i32).max(1);
    let between = decades * 3.0 <= wanted as f64 + 1.0;
    let mut ticks = Vec::new();
    for power in first..=last {
        for digit in 1..10 {
            if digit > 1 && last - first > 9 {
                break;
            }
            let at = f64::from(digit) * 10f64.powi(power);
            let inside = at >= low * (1.0 - 1e-9) && at <= high * (1.0 + 1e-9);
            // With many decades the lines between them would only grey the ground.
            if !inside || (digit > 1 && decades > 9.0) {
                continue;
            }
            let major = match digit {
                1 => power.rem_euclid(every) == 0,
                2 | 5 => between,
                _ => false,
            };
            ticks.push(Tick {
                at,
                label: major.then(|| decade_label(at, unit)),
            });
        }
    }
    Ticks {
        ticks,
        unit: decade_unit(unit),
    }
}

/// Marks at zero and at the decades on both sides of it.
fn symlog(low: f64, high: f64, within: f64, wanted: usize, unit: &str) -> Ticks {
    let scale = Scale::Symlog(within);
    let first = within.log10().ceil() as i32;
    let last = low.abs().max(high.abs()).log10().floor() as i32;
    let spans = scale.forward(high) - scale.forward(low);
    let every = ((spans / wanted.max(2) as f64).ceil() as i32).max(1);
    let mut ticks = vec![Tick {
        at: 0.0,
        label: Some("0".to_owned()),
    }];
    for power in first..=last {
        for digit in 1..10 {
            if digit > 1 && last - first > 9 {
                break;
            }
            for sign in [-1.0, 1.0] {
                let at = sign * f64::from(digit) * 10f64.powi(power);
                let major = digit == 1 && (power - first) % every == 0 && power > first;
                ticks.push(Tick {
                    at,
                    label: major.then(|| decade_label(at, unit)),
                });
            }
        }
    }
    let (least, most) = (low - 1e-9 * low.abs(), high + 1e-9 * high.abs());
    ticks.retain(|tick| tick.at >= least && tick.at <= most);
    ticks.sort_by(|a, b| a.at.total_cmp(&b.at));
    Ticks {
        ticks,
        unit: decade_unit(unit),
    }
}

/// From values to pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Map {
    pub scale: Scale,
    pub from: f64,
    pub to: f64,
    pub px_from: f64,
    pub px_to: f64,
}

impl Map {
    /// Pixel of a value; `None` where it has no place.
    pub fn at(&self, value: f64) -> Option<f64> {
        let (from, to) = (self.scale.forward(self.from), self.scale.forward(self.to));
        let share = (self.scale.forward(value) - from) / (to - from);
        let pixel = self.px_from + share * (self.px_to - self.px_from);
        // Far outside is as good as anywhere outside, and keeps the arithmetic of clipping exact.
        pixel.is_finite().then(|| pixel.clamp(-1e5, 1e5))
    }
}
