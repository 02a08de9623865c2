//! Avalanche diodes: breakdown, isothermal resistance and heating apart from each other.

use super::{Built, Heating, KNEE_V, LEAST_OHM, MissingDatum, Notes, assemble};
use crate::curve::ClampLine;
use crate::datasheet::{ClampPoint, Datasheet, PartCorner};
use crate::heating::{HeatedPulse, root};
use crate::known_wave::KnownWave;
use crate::law::{Avalanche, Law};
use crate::pulse_power::UnitWave;
use crate::thermal::Foster;

/// What two clamping points on different waves say about resistance and heating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatingSplit {
    /// Isothermal resistance in ohms.
    pub r_iso_ohm: f64,
    /// Heating coefficient in K/W per √s.
    pub k_k_per_w_sqrt_s: f64,
    /// Highest junction rise in kelvins of the longer wave.
    pub rise_long_k: f64,
    /// Highest junction rise in kelvins of the shorter wave.
    pub rise_short_k: f64,
}

/// Why two clamping points could not be split.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SplitRefusal {
    /// A wave, current or voltage cannot be used, or the clamping voltage is not above breakdown.
    Unusable,
    /// The slope on the longer wave is not above the slope on the shorter one: no heating to be seen.
    NoHeating,
    /// Heating alone would explain more than the rise seen: the isothermal resistance would not be positive.
    NoResistance,
}

/// A clamping point with its wave: peak current in amperes, clamping voltage in volts.
type Point = (UnitWave, f64, f64);

/// Splits two clamping points on different waves into isothermal resistance and heating under `Zth = K √t`.
///
/// The clamping voltage is the highest voltage during the wave (definition of IEC 61643-321, as quoted by a maker's
/// datasheet): on a long wave it comes well after the current peak, when the junction is hotter. `V = VBR (1 + α ΔT) + R i` is
/// followed through both waves with its own power, so the model gives back both points. Two data fix two
/// unknowns, so the split always fits: test it on a third point before trusting it beyond the two.
/// Volts at 25 °C, coefficient in 1/K.
pub fn split_heating(
    vbr_v: f64,
    alpha_per_k: f64,
    long: (UnitWave, f64, f64),
    short: (UnitWave, f64, f64),
) -> Result<HeatingSplit, SplitRefusal> {
    let usable = |p: &Point| p.1 > 0.0 && p.2 > vbr_v && p.2.is_finite() && p.1.is_finite();
    if !(usable(&long) && usable(&short) && vbr_v > 0.0 && alpha_per_k > 0.0) {
        return Err(SplitRefusal::Unusable);
    }
    let unit = Foster::square_root_law(1.0, None);
    let (on_long, on_short) = (
        HeatedPulse::new(&long.0, long.1, &unit),
        HeatedPulse::new(&short.0, short.1, &unit),
    );
    let apparent = (long.2 - vbr_v) / long.1;
    let r_for = |k: f64| -> Option<f64> {
        // One per cent more room, because the instants may step over the very peak (numerical choice).
        root(0.0, 1.01 * apparent, |r| {
            on_long.peak(vbr_v, alpha_per_k, r, k).voltage_v - long.2
        })
    };
    let miss = |k: f64| match r_for(k) {
        Some(r) => on_short.peak(vbr_v, alpha_per_k, r, k).voltage_v - short.2,
        None => f64::NAN,
    };
    if miss(0.0) <= 0.0 {
        return Err(SplitRefusal::NoHeating);
    }
    // Heating that alone gives the point on the long wave.
    let rise = (long.2 / vbr_v - 1.0) / alpha_per_k;
    let guess = rise / (long.1 * long.2 * long.0.theta_peak());
    // Four times the guess is above it (numerical choice).
    let all = root(0.0, 4.0 * guess, |k| {
        on_long.peak(vbr_v, alpha_per_k, 0.0, k).voltage_v - long.2
    })
    .ok_or(SplitRefusal::Unusable)?;
    let most = all * (1.0 - 1e-9);
    if miss(most) > 0.0 {
        return Err(SplitRefusal::NoResistance);
    }
    let k = root(0.0, most, miss).ok_or(SplitRefusal::Unusable)?;
    let r = r_for(k).filter(|r| *r > 0.0).ok_or(SplitRefusal::NoResistance)?;
    Ok(HeatingSplit {
        r_iso_ohm: r,
        k_k_per_w_sqrt_s: k,
        rise_long_k: on_long.peak(vbr_v, alpha_per_k, r, k).rise_k,
        rise_short_k: on_short.peak(vbr_v, alpha_per_k, r, k).rise_k,
    })
}

/// Clamping points usable at a corner, longest wave first, the highest current of each wave.
fn points_at(sheet: &Datasheet, corner: PartCorner, notes: &mut Notes) -> Vec<Point> {
    let mut usable: Vec<(f64, Point)> = sheet
        .clamp
        .iter()
        .filter_map(|p: &ClampPoint| {
            let known = KnownWave::of(p.wave)?;
            let volts = sheet.at_corner(&p.voltage_v, corner, notes)?;
            (p.current_a > 0.0).then_some((known.theta_peak_sqrt_s, (known.wave, p.current_a, volts)))
        })
        .collect();
    usable.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.1.total_cmp(&a.1.1)));
    usable.dedup_by(|later, first| later.0 == first.0);
    usable.into_iter().map(|(_, p)| p).collect()
}

/// Resistance, coefficient of the voltage and poles that reproduce the clamping data.
struct Slope {
    r_ohm: f64,
    alpha_per_k: f64,
    thermal: Foster,
    // Clamping line on which the part's own ratings lie, of the same kind of values.
    line: ClampLine,
}

fn slope(sheet: &Datasheet, corner: PartCorner, notes: &mut Notes) -> Result<Slope, MissingDatum> {
    let alpha = sheet.alpha_per_k.filter(|a| a.is_finite()).ok_or_else(|| {
        sheet.missing(
            "temperature coefficient of the breakdown voltage",
            "breakdown moves with ambient and with the heat of the pulse itself",
            "temperature_coefficient",
        )
    })?;
    // The slope comes from a pair of breakdown and clamping values of the same kind.
    let order = match corner {
        PartCorner::High => [PartCorner::High, PartCorner::High, PartCorner::High],
        PartCorner::Low => [PartCorner::Low, PartCorner::High, PartCorner::Typical],
        PartCorner::Typical => [PartCorner::Typical, PartCorner::High, PartCorner::High],
    };
    for kind in order {
        let mut own = Notes::default();
        let Some(vbr) = sheet.at_corner(&sheet.breakdown_v, kind, &mut own) else {
            continue;
        };
        let points = points_at(sheet, kind, &mut own);
        let found = match points[..] {
            [] => continue,
            [long, .., short] => match split_heating(vbr, alpha, long, short) {
                Ok(split) => Slope {
                    r_ohm: split.r_iso_ohm,
                    alpha_per_k: alpha,
                    thermal: Foster::square_root_law(split.k_k_per_w_sqrt_s, sheet.thermal_k_per_w),
                    line: ClampLine::through(vbr, long.2, long.1),
                },
                Err(refusal) => {
                    own.add(
                        "clamping points used (of several waves)",
                        1.0,
                        match refusal {
                            SplitRefusal::NoHeating => "the slope does not grow with the width of the wave",
                            SplitRefusal::NoResistance => "heating would explain more than the rise seen",
                            SplitRefusal::Unusable => "a clamping point is not above breakdown",
                        },
                    );
                    // The steeper one is the pessimistic one.
                    let steeper = |a: &Point, b: &Point| ((a.2 - vbr) / a.1).total_cmp(&((b.2 - vbr) / b.1));
                    let point = if steeper(&long, &short).is_ge() {
                        long
                    } else {
                        short
                    };
                    from_one_point(sheet, vbr, alpha, point, &mut own)?
                }
            },
            [point] => from_one_point(sheet, vbr, alpha, point, &mut own)?,
        };
        if kind != corner {
            own.add(
                "slope resistance in Ω",
                found.r_ohm,
                "slope of the maximum curve, used at this corner too",
            );
        }
        notes.0.append(&mut own.0);
        return Ok(found);
    }
    if let Some(r_ohm) = sheet.dynamic_ohm.filter(|r| *r > 0.0) {
        let vbr = sheet.at_corner(&sheet.breakdown_v, corner, notes).unwrap_or(0.0);
        let line = ClampLine { v0_v: vbr, r_ohm };
        let thermal = sheet.heating(line).ok_or_else(|| rating_missing(sheet))?;
        return Ok(Slope {
            r_ohm,
            alpha_per_k: alpha,
            thermal,
            line,
        });
    }
    Err(sheet.missing(
        "clamping voltage (maximum) at a current on a named wave, with the breakdown voltage of the same kind",
        "the slope above breakdown decides the let-through voltage",
        "clamp",
    ))
}

fn rating_missing(sheet: &Datasheet) -> MissingDatum {
    if sheet.junction_max_c.is_none() {
        sheet.missing(
            "highest junction temperature",
            "with the pulse rating it gives the heating of the junction",
            "junction_max",
        )
    } else {
        sheet.missing(
            "single-pulse power or current rating on a named wave",
            "it gives the heating of the junction, which raises the clamping voltage and ends the part",
            "rating",
        )
    }
}

/// One clamping point and the pulse rating: heating from the rating, resistance from what is left of the rise.
///
/// When heating by the rating would explain more than the whole rise, the voltage is taken as not depending on
/// the junction's own heat: the apparent resistance of that wave then holds all of it, which is pessimistic for
/// shorter waves.
fn from_one_point(
    sheet: &Datasheet,
    vbr: f64,
    alpha: f64,
    (wave, current, volts): Point,
    notes: &mut Notes,
) -> Result<Slope, MissingDatum> {
    let apparent = (volts - vbr) / current;
    if apparent.is_nan() || apparent <= 0.0 {
        return Err(sheet.missing(
            "clamping voltage above the breakdown voltage of the same kind",
            "the two contradict each other, so that no slope can be taken from them",
            "clamp",
        ));
    }
    let line = ClampLine {
        v0_v: vbr,
        r_ohm: apparent,
    };
    let thermal = sheet.heating(line).ok_or_else(|| rating_missing(sheet))?;
    let pulse = HeatedPulse::new(&wave, current, &thermal);
    // One per cent more room, as above (numerical choice).
    let r = root(0.0, 1.01 * apparent, |r| {
        pulse.peak(vbr, alpha, r, 1.0).voltage_v - volts
    })
    .filter(|r| *r > 0.0);
    Ok(match r {
        Some(r_ohm) => Slope {
            r_ohm,
            alpha_per_k: alpha,
            thermal,
            line,
        },
        None => {
            notes.add(
                "rise of the voltage with the heat of the pulse in 1/K",
                0.0,
                "heating by the rating would exceed the rise seen: the apparent resistance holds all of it",
            );
            Slope {
                r_ohm: apparent,
                alpha_per_k: 0.0,
                thermal,
                line,
            }
        }
    })
}

pub(super) fn build(sheet: &Datasheet, corner: PartCorner, ambient_c: f64) -> Result<Built, MissingDatum> {
    let mut notes = Notes::default();
    let vbr = sheet
        .at_corner(&sheet.breakdown_v, corner, &mut notes)
        .filter(|v| *v > 0.0)
        .ok_or_else(|| {
            sheet.missing(
                "breakdown voltage, minimum and maximum",
                "the tolerance of the breakdown moves the whole curve",
                "breakdown",
            )
        })?;
    let bidirectional = sheet.bidirectional.ok_or_else(|| {
        sheet.missing(
            "whether the part is symmetrical",
            "a unidirectional part conducts forward below zero",
            "bidirectional",
        )
    })?;
    let slope = slope(sheet, corner, &mut notes)?;
    let (forward_v, forward_ohm) = if bidirectional {
        (vbr, slope.r_ohm.max(LEAST_OHM))
    } else {
        sheet.forward(&mut notes)?
    };
    // Without feedback of the pulse's heat the breakdown is the one at ambient.
    let ambient_factor = match sheet.alpha_per_k {
        Some(alpha) if slope.alpha_per_k == 0.0 => (1.0 + alpha * (ambient_c - 25.0)).max(0.1),
        _ => 1.0,
    };
    let junction = sheet.junction(&mut notes);
    notes.add(
        "rounding of the breakdown corner in V",
        KNEE_V,
        "numerical choice",
    );
    let law = Law::Avalanche(Avalanche {
        vbr25_v: vbr * ambient_factor,
        alpha_per_k: slope.alpha_per_k,
        r_ohm: slope.r_ohm.max(LEAST_OHM),
        knee_v: KNEE_V,
        bidirectional,
        forward_v,
        forward_ohm,
        c0_f: junction.c0_f,
        built_in_v: junction.built_in_v,
        grading: junction.grading,
    });
    let rated_rise_k = sheet.rated_rise_k(slope.line, &slope.thermal, slope.alpha_per_k, slope.r_ohm);
    Ok(assemble(
        sheet,
        law,
        0.0,
        Some(Heating {
            poles: slope.thermal,
            rated_rise_k,
        }),
        notes,
    ))
}
