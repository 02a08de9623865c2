//! Static curves: clamping lines from two datasheet points, load lines, sharing between parallel parts.

use crate::build::MissingDatum;
use crate::law::{Bias, Law, MAX_INNER, State};

/// A straight clamping line `V = V0 + R I` for one wave.
///
/// The worst-case line of an avalanche part goes from the maximum breakdown voltage to the maximum clamping
/// voltage (makers' notes on clamping voltage at intermediate current); measured slopes are shallower.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampLine {
    /// Voltage at no current in volts.
    pub v0_v: f64,
    /// Apparent resistance in ohms, which contains the heating of the wave it is for.
    pub r_ohm: f64,
}

/// Current in amperes and voltage in volts where a load line meets a clamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// Current in amperes.
    pub current_a: f64,
    /// Voltage across the clamp in volts.
    pub voltage_v: f64,
}

impl ClampLine {
    /// Line from a breakdown voltage to a clamping voltage at a current (volts, volts, amperes).
    pub fn through(breakdown_v: f64, clamp_v: f64, current_a: f64) -> ClampLine {
        ClampLine {
            v0_v: breakdown_v,
            r_ohm: (clamp_v - breakdown_v) / current_a,
        }
    }

    /// Line of a resistance through a clamping voltage at a current: `V = VCL − R (IPP − I)`.
    pub fn with_resistance(r_ohm: f64, clamp_v: f64, current_a: f64) -> ClampLine {
        ClampLine {
            v0_v: clamp_v - r_ohm * current_a,
            r_ohm,
        }
    }

    /// Voltage in volts at a current in amperes.
    pub fn voltage_v(&self, current_a: f64) -> f64 {
        self.v0_v + self.r_ohm * current_a
    }

    /// Where a source of `source_v` volts behind `source_ohm` ohms meets the line; no current below `v0_v`.
    pub fn meets(&self, source_v: f64, source_ohm: f64) -> Meeting {
        let current_a = ((source_v - self.v0_v) / (source_ohm + self.r_ohm)).max(0.0);
        Meeting {
            current_a,
            voltage_v: source_v - source_ohm * current_a,
        }
    }

    /// Current in amperes at which the line dissipates `power_w` watts.
    pub fn current_at_power_a(&self, power_w: f64) -> f64 {
        // Derived from V0 I + R I² = P, in the form that stays exact for small R.
        let root = (self.v0_v * self.v0_v + 4.0 * self.r_ohm.max(0.0) * power_w).sqrt();
        2.0 * power_w / (self.v0_v + root)
    }
}

/// Apparent resistance in ohms for a pulse width in seconds, straight between its values for 8/20 µs (20 µs) and
/// 10/1000 µs (1 ms); shorter pulses keep the first, longer ones the second (read in a maker's note on dynamic
/// resistance, 2004).
pub fn apparent_ohm_at_width(r_20us_ohm: f64, r_1ms_ohm: f64, width_s: f64) -> f64 {
    let part = ((width_s - 20e-6) / 980e-6).clamp(0.0, 1.0);
    r_20us_ohm + (r_1ms_ohm - r_20us_ohm) * part
}

/// Dynamic resistance in ohms of a clamp loop: `(1/gm)/(1 + A) + Rs`, transconductance in siemens, loop gain of an
/// amplifier in front of it (zero without one).
pub fn clamp_loop_ohm(transconductance_s: f64, loop_gain: f64, series_ohm: f64) -> f64 {
    1.0 / (transconductance_s * (1.0 + loop_gain)) + series_ohm
}

/// Voltage in volts at which a law carries a positive current in amperes, in one discrete state.
///
/// `None` when the law cannot carry it (blocked or out of range up to 100 kV). `inner` are the settled inner states,
/// for instance the on-voltage of a crowbar.
pub fn voltage_at(
    law: &Law,
    state: State,
    inner: [f64; MAX_INNER],
    junction_c: f64,
    current_a: f64,
) -> Option<f64> {
    let excess = |volts: f64| {
        law.conduction(
            state,
            &Bias {
                volts,
                junction_c,
                inner,
            },
        )
        .amps
            - current_a
    };
    let (mut low, mut high) = (0.0, 1.0);
    while excess(high) < 0.0 {
        low = high;
        high *= 2.0;
        if high > 1e5 {
            return None;
        }
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}

/// Where a positive source of `source_v` volts behind `source_ohm` ohms meets a law with a linear resistance
/// `series_ohm` in series (ohms), in one discrete state.
pub fn operating_point(
    law: &Law,
    series_ohm: f64,
    state: State,
    inner: [f64; MAX_INNER],
    junction_c: f64,
    source_v: f64,
    source_ohm: f64,
) -> Meeting {
    let total = source_ohm + series_ohm;
    let (mut low, mut high) = (0.0, source_v.max(0.0));
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        let amps = law
            .conduction(
                state,
                &Bias {
                    volts: middle,
                    junction_c,
                    inner,
                },
            )
            .amps;
        if middle + total * amps < source_v {
            low = middle;
        } else {
            high = middle;
        }
    }
    let on_law = 0.5 * (low + high);
    let current_a = if total > 0.0 {
        (source_v - on_law) / total
    } else {
        law.conduction(
            state,
            &Bias {
                volts: on_law,
                junction_c,
                inner,
            },
        )
        .amps
    };
    Meeting {
        current_a,
        voltage_v: on_law + series_ohm * current_a,
    }
}

/// How two parallel clamps share a current: `(first, second)` in amperes.
///
/// `I1 − I2 = (V02 − V01)/R` for equal resistances; a part whose share would be negative carries nothing.
pub fn parallel_share_a(first: ClampLine, second: ClampLine, total_a: f64) -> (f64, f64) {
    let share = (second.v0_v - first.v0_v + second.r_ohm * total_a) / (first.r_ohm + second.r_ohm);
    let one = share.clamp(0.0, total_a);
    (one, total_a - one)
}

impl crate::datasheet::Datasheet {
    /// Worst-case clamping line: maximum breakdown to the highest-current maximum clamping voltage on the wave
    /// nearest in heating to `theta_peak_sqrt_s` (√s), never a shorter one if there is a longer one.
    ///
    /// # Errors
    /// Maximum breakdown voltage or maximum clamping voltage not given.
    pub fn worst_line(&self, theta_peak_sqrt_s: f64) -> Result<ClampLine, MissingDatum> {
        // Ratings are guaranteed of every specimen, along the line of the worst one.
        let breakdown = self.of_type().breakdown_v.max.ok_or_else(|| {
            self.missing(
                "maximum breakdown voltage",
                "the worst-case line starts there",
                "breakdown",
            )
        })?;
        let mut points: Vec<(f64, f64, f64)> = self
            .clamp
            .iter()
            .filter_map(|p| {
                let theta = crate::known_wave::KnownWave::of(p.wave)?.theta_peak_sqrt_s;
                Some((theta, p.current_a, p.voltage_v.max?))
            })
            .filter(|p| p.1 > 0.0 && p.2 >= breakdown)
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
        // Within rounding (numerical choice).
        let longer = points.iter().find(|p| p.0 >= 0.999 * theta_peak_sqrt_s);
        let &(_, current, volts) = longer.or(points.last()).ok_or_else(|| {
            self.missing(
                "maximum clamping voltage at a current on a named wave",
                "the worst-case line ends there",
                "clamp",
            )
        })?;
        Ok(ClampLine::through(breakdown, volts, current))
    }
}
