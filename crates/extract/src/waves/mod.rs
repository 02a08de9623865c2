//! What is computed from captured waves: zero and noise, skew between channels, peaks, the voltage at the peak of the
//! current, energy, charge, front and tail, and the flat part of a transmission-line pulse.

mod rest;
mod skew;

use tidewall_stress::measure::measure_samples;

pub use rest::{Rest, rest};
pub use skew::{Lag, front, front_lag};

/// A wave: times in seconds, rising or equal, and a value for each.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wave {
    /// Times in seconds.
    pub times_s: Vec<f64>,
    /// Values.
    pub values: Vec<f64>,
}

impl Wave {
    /// The value at a time, along straight lines; the first or last value outside.
    pub fn at(&self, time_s: f64) -> f64 {
        let next = self.times_s.partition_point(|t| *t <= time_s);
        if next == 0 {
            return self.values.first().copied().unwrap_or(0.0);
        }
        if next == self.times_s.len() {
            return self.values[next - 1];
        }
        let (s, t) = (self.times_s[next - 1], self.times_s[next]);
        let (a, b) = (self.values[next - 1], self.values[next]);
        a + (b - a) * (time_s - s) / (t - s)
    }

    /// The value of largest size and its time in seconds.
    pub fn peak(&self) -> Option<(f64, f64)> {
        let at = (0..self.values.len()).max_by(|a, b| {
            let size = self.values[*a].abs().total_cmp(&self.values[*b].abs());
            // The first of equal ones.
            size.then(b.cmp(a))
        })?;
        Some((self.values[at], self.times_s[at]))
    }

    /// Time integral along straight lines.
    pub fn integral(&self) -> f64 {
        let steps = self.times_s.windows(2).zip(self.values.windows(2));
        steps.map(|(t, v)| 0.5 * (t[1] - t[0]) * (v[0] + v[1])).sum()
    }

    /// Time integral of the product with another wave on the same times, exact for straight lines.
    pub fn product_integral(&self, other: &Wave) -> f64 {
        let steps = self.times_s.windows(2);
        let values = self.values.windows(2).zip(other.values.windows(2));
        steps
            .zip(values)
            .map(|(t, (a, b))| {
                (t[1] - t[0]) / 6.0 * (2.0 * (a[0] * b[0] + a[1] * b[1]) + a[0] * b[1] + a[1] * b[0])
            })
            .sum()
    }

    /// The same wave later by so many seconds.
    pub fn later(&self, seconds: f64) -> Wave {
        Wave {
            times_s: self.times_s.iter().map(|t| t + seconds).collect(),
            values: self.values.clone(),
        }
    }

    /// The wave at other times.
    pub fn on(&self, times_s: &[f64]) -> Wave {
        Wave {
            times_s: times_s.to_vec(),
            values: times_s.iter().map(|t| self.at(*t)).collect(),
        }
    }

    /// `(value − zero) factor`.
    pub fn scaled(&self, zero: f64, factor: f64) -> Wave {
        Wave {
            times_s: self.times_s.clone(),
            values: self.values.iter().map(|v| (v - zero) * factor).collect(),
        }
    }
}

/// What to do to a pair of waves before anything is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Treatment {
    /// Factor of the voltage: attenuation of its probe, −1 to turn it.
    pub voltage_factor: f64,
    /// Factor of the current: attenuation or amperes per volt of its probe, −1 to turn it.
    pub current_factor: f64,
    /// Whether the zero is taken from the part before the event.
    pub zero: bool,
    /// Time in seconds by which the current is late against the voltage.
    pub skew: Skew,
}

/// Lag of the current channel behind the voltage channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Skew {
    /// Known, in seconds.
    Given(f64),
    /// To be found by cross-correlation of the fronts. An inductance in the path moves the fronts apart, which this
    /// takes for skew.
    Estimated,
}

impl Default for Treatment {
    fn default() -> Self {
        Treatment {
            voltage_factor: 1.0,
            current_factor: 1.0,
            zero: true,
            skew: Skew::Given(0.0),
        }
    }
}

/// Waves that have been treated.
#[derive(Clone, Debug, PartialEq)]
pub struct Treated {
    /// Voltage in volts.
    pub voltage: Wave,
    /// Current in amperes on the same times.
    pub current: Option<Wave>,
    /// Whether the zero of the voltage was taken from the part before its event.
    pub zeroed: bool,
    /// The voltage before the event, with factor, zero still in it.
    pub rest: Option<Rest>,
    /// The same of the current.
    pub current_rest: Option<Rest>,
    /// What was done, in words.
    pub notes: Vec<String>,
}

/// Applies factors, zeros and skew.
pub fn treat(voltage: &Wave, current: Option<&Wave>, treatment: &Treatment) -> Treated {
    let mut notes = Vec::new();
    let mut prepare = |wave: &Wave, factor: f64, what: &str, unit: &str| {
        let raw = wave.scaled(0.0, factor);
        if factor != 1.0 {
            notes.push(format!("{what} multiplied by {factor}"));
        }
        let rest = rest(&raw.times_s, &raw.values);
        match (&rest, treatment.zero) {
            (Some(rest), true) => {
                notes.push(format!(
                    "zero of the {what} from {} samples before the event: {:.4e} {unit} taken off, noise {:.3e} {unit}",
                    rest.samples, rest.mean, rest.noise
                ));
                (raw.scaled(rest.mean, 1.0), Some(*rest))
            }
            (None, true) => {
                notes.push(format!(
                    "no steady part before the event: the zero of the {what} is left as it is"
                ));
                (raw, None)
            }
            (rest, false) => (raw, *rest),
        }
    };
    let (voltage, rest) = prepare(voltage, treatment.voltage_factor, "voltage", "V");
    let prepared = current.map(|current| prepare(current, treatment.current_factor, "current", "A"));
    let (current, current_rest) = prepared.map_or((None, None), |(wave, rest)| (Some(wave), rest));
    let current = current.map(|current| {
        let lag = match treatment.skew {
            Skew::Given(seconds) => {
                if seconds != 0.0 {
                    notes.push(format!("current moved by {:e} s as given", -seconds));
                }
                seconds
            }
            Skew::Estimated => match front_lag(&voltage, &current) {
                Some(lag) => {
                    notes.push(format!(
                        "current moved by {:.4e} s, estimated by cross-correlation of the fronts (correlation {:.3}); \
                         an inductance in the path looks like such a skew",
                        -lag.seconds, lag.correlation
                    ));
                    lag.seconds
                }
                None => {
                    notes.push("the skew cannot be estimated: a wave has no front".to_owned());
                    0.0
                }
            },
        };
        if lag == 0.0 {
            current
        } else {
            current.later(-lag).on(&voltage.times_s)
        }
    });
    Treated {
        zeroed: treatment.zero && rest.is_some(),
        voltage,
        current,
        rest,
        current_rest,
        notes,
    }
}

/// What people read off a pair of waves. What cannot be known is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings {
    /// Voltage of largest size in volts, and when in seconds.
    pub peak_v: (f64, f64),
    /// Current of largest size in amperes, and when in seconds.
    pub peak_a: Option<(f64, f64)>,
    /// Voltage in volts at the instant of the largest current: the clamping voltage without `L di/dt`. It differs from
    /// the peak voltage by what the front's inductive drop adds.
    pub clamp_v: Option<f64>,
    /// Share by which the highest voltage up to the instant of the largest current lies above the voltage then.
    pub overshoot: Option<f64>,
    /// `∫ v i dt` in joules.
    pub energy_j: Option<f64>,
    /// `∫ i dt` in coulombs.
    pub charge_c: Option<f64>,
    /// Front `1.25 (t90 − t10)` of the current in seconds (IEC 60060-1).
    pub front_s: Option<f64>,
    /// Time to half value of the current from its virtual origin in seconds (IEC 60060-1).
    pub tail_s: Option<f64>,
}

/// Reads off a pair of waves on the same times; `None` for empty ones.
pub fn readings(voltage: &Wave, current: Option<&Wave>) -> Option<Readings> {
    let peak_v = voltage.peak()?;
    let peak_a = current.and_then(Wave::peak).filter(|peak| peak.0 != 0.0);
    let clamp_v = peak_a.map(|(_, time)| voltage.at(time));
    let overshoot = peak_a.zip(clamp_v).and_then(|((_, time), clamp)| {
        let until = voltage.times_s.partition_point(|t| *t <= time);
        let highest = voltage.values[..until]
            .iter()
            .map(|v| v * clamp.signum())
            .reduce(f64::max)?;
        (clamp != 0.0).then(|| highest / clamp.abs() - 1.0)
    });
    let shape = current.and_then(|current| {
        let points: Vec<(f64, f64)> = current
            .times_s
            .iter()
            .copied()
            .zip(current.values.iter().copied())
            .collect();
        measure_samples(&points)
    });
    Some(Readings {
        peak_v,
        peak_a,
        clamp_v,
        overshoot,
        energy_j: current.map(|current| voltage.product_integral(current)),
        charge_c: current.map(Wave::integral),
        front_s: shape.and_then(|shape| shape.front_current_s),
        tail_s: shape.and_then(|shape| shape.tail_current_s),
    })
}

/// Mean of a transmission-line pulse between two shares of its width (0.7 and 0.9 are common, IEC 62615 from memory),
/// the width counted from the rising to the falling 50 % point of `pulse`. `None` without both points or without a
/// sample between the shares.
pub fn window_mean(wave: &Wave, pulse: &Wave, shares: (f64, f64)) -> Option<f64> {
    let peak = pulse.peak()?.0;
    let above = |v: &f64| v / peak >= 0.5;
    let rise = pulse.values.iter().position(above)?;
    let fall = rise + pulse.values[rise..].iter().position(|v| !above(v))?;
    let (start, end) = (pulse.times_s[rise], pulse.times_s[fall]);
    let at = |share: f64| start + share * (end - start);
    let (from, to) = (at(shares.0), at(shares.1));
    let inside: Vec<f64> = wave
        .times_s
        .iter()
        .zip(&wave.values)
        .filter(|(t, _)| (from..=to).contains(*t))
        .map(|(_, v)| *v)
        .collect();
    (!inside.is_empty()).then(|| inside.iter().sum::<f64>() / inside.len() as f64)
}
