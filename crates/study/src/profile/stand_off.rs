//! The stand-off voltage a port wants, computed from the levels of its profile.

use tidewall_units::{Quantity, Volts};

use crate::model::{AbnormalLevel, Across, Interval};
use crate::profile::Profile;

/// Stand-off voltages avalanche parts are usually made for, in volts (from memory).
pub const SERIES_V: &[f64] = &[
    1.0, 1.2, 1.5, 1.8, 2.5, 3.3, 3.6, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0, 10.0, 11.0, 12.0, 13.0,
    14.0, 15.0, 16.0, 17.0, 18.0, 20.0, 22.0, 24.0, 26.0, 28.0, 30.0, 33.0, 36.0, 40.0, 43.0, 45.0, 48.0,
    51.0, 54.0, 58.0, 60.0, 64.0, 70.0, 75.0, 78.0, 85.0, 90.0, 100.0, 110.0, 120.0, 130.0, 150.0, 160.0,
    170.0, 180.0, 200.0, 220.0, 250.0, 300.0, 350.0, 400.0, 440.0,
];

/// Least breakdown voltage at 25 °C over stand-off voltage (from memory).
pub const BREAKDOWN_OVER_STAND_OFF: f64 = 1.11;

/// Relative rise of the breakdown voltage per kelvin above 6 V of stand-off (from memory; near zero below).
pub const COEFFICIENT_PER_K: f64 = 1e-3;

/// An abnormal level that lasts at least this long, in seconds, is one the junction reaches its final
/// temperature at, so it is held against breakdown rather than against pulse energy (common practice, no source).
const LONG_S: f64 = 1e-3;

/// A level that lasts at least this long, in seconds, counts like normal operation (common practice, no source).
const SUSTAINED_S: f64 = 3600.0;

/// Stand-off voltages for one polarity, in volts, of the usual series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandOffRange {
    /// Just enough: above the must-not-conduct level, breakdown at 25 °C above the long abnormal levels.
    pub low_v: f64,
    /// With care: breakdown in the cold above the long abnormal levels, and stand-off above the sustained ones.
    pub high_v: f64,
}

/// The stand-off a port wants.
#[derive(Clone, Debug, PartialEq)]
pub struct WantedStandOff {
    /// For positive voltages, or for both polarities of a symmetrical line; `None` if the line is never positive.
    pub positive: Option<StandOffRange>,
    /// For negative voltages where the line is not symmetrical but goes below its return.
    pub negative: Option<StandOffRange>,
    /// The steps of the computation, in words.
    pub reasons: Vec<String>,
}

/// The next voltage of the usual series at or above `level_v`; `None` above its end.
pub fn next_stand_off_v(level_v: f64) -> Option<f64> {
    SERIES_V
        .iter()
        .copied()
        .find(|value| *value >= level_v * (1.0 - 1e-9))
}

/// The stand-off the levels of a profile ask for, between the conductors its levels stand across.
///
/// The stand-off voltage must reach the must-not-conduct level, and the least breakdown voltage must reach
/// every abnormal level that lasts milliseconds or longer and at which the protector must not conduct. The low
/// end of the range takes that breakdown at 25 °C; the high end takes it at `coldest_c` and lets levels that
/// last an hour or longer count as normal operation. Rules: common practice, no source.
///
/// `None` if the profile has no must-not-conduct level, or none of the series is high enough.
pub fn wanted_stand_off(profile: &Profile, coldest_c: f64) -> Option<WantedStandOff> {
    let (limits, across) = if profile.between_lines {
        (
            profile.must_not_conduct_between_v.as_ref()?.value,
            Across::LineLine,
        )
    } else {
        (profile.must_not_conduct_v.as_ref()?.value, Across::LineEarth)
    };
    let levels: Vec<&AbnormalLevel> = profile
        .abnormal
        .iter()
        .map(|level| &level.value)
        .filter(|level| level.across == across)
        .collect();
    let mut reasons = Vec::new();
    let Interval { low, high } = limits;
    let symmetrical = low == -high;
    let positive = if high > 0.0 {
        let signed = |level_v: f64| if symmetrical { level_v.abs() } else { level_v };
        Some(range(high, &levels, signed, coldest_c, &mut reasons)?)
    } else {
        None
    };
    let negative = if low < 0.0 && !symmetrical {
        Some(range(-low, &levels, |level_v| -level_v, coldest_c, &mut reasons)?)
    } else {
        None
    };
    Some(WantedStandOff {
        positive,
        negative,
        reasons,
    })
}

fn range(
    limit_v: f64,
    levels: &[&AbnormalLevel],
    signed: impl Fn(f64) -> f64,
    coldest_c: f64,
    reasons: &mut Vec<String>,
) -> Option<StandOffRange> {
    let volts = |value: f64| Volts(value).rounded(4);
    let (mut low, mut high) = (limit_v, limit_v);
    reasons.push(format!(
        "must not conduct at {}: stand-off at least that",
        volts(limit_v)
    ));
    for level in levels {
        let level_v = signed(level.level_v);
        if level.may_conduct || level.lasts_s < LONG_S || level_v <= 0.0 {
            continue;
        }
        // Data sheets state breakdown at 25 °C (common practice).
        let warm = least_stand_off(level_v, 25.0);
        // The same (common practice).
        let cold = least_stand_off(level_v, coldest_c.min(25.0));
        reasons.push(format!(
            "{} for long: stand-off at least {} for breakdown at 25 °C, {} in the cold",
            volts(level_v),
            volts(warm),
            volts(cold)
        ));
        low = low.max(warm);
        high = high.max(cold);
        if level.lasts_s >= SUSTAINED_S {
            reasons.push(format!(
                "{} may be there for hours: with care, stand-off at least that",
                volts(level_v)
            ));
            high = high.max(level_v);
        }
    }
    Some(StandOffRange {
        low_v: next_stand_off_v(low)?,
        high_v: next_stand_off_v(high)?,
    })
}

/// The stand-off whose least breakdown voltage at a temperature is `level_v`; below 6 V breakdown hardly moves (from memory).
fn least_stand_off(level_v: f64, temperature_c: f64) -> f64 {
    let flat = level_v / BREAKDOWN_OVER_STAND_OFF;
    if flat <= 6.0 {
        return flat;
    }
    let factor = 1.0 + COEFFICIENT_PER_K * (temperature_c - 25.0);
    // Far below any temperature of this earth the straight line would cross zero.
    level_v / (BREAKDOWN_OVER_STAND_OFF * factor.max(0.5))
}
