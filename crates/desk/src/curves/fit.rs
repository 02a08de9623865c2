//! A fit, from points and what is known beside them.

use std::collections::BTreeMap;

use tidewall_devices::datasheet::RatingWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::thermal::PowerPoint;
use tidewall_extract::family::thyristor::SurgePoint;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Refusal, Settings, Warning, WarningKind, avalanche, capacitance, flat_clamp,
    gas_tube, leakage, pin, snapback, thermal, thyristor, varistor,
};
use tidewall_extract::fit::{FitError, Loss};
use tidewall_study::parts::wave::{self, parse_wave};
use tidewall_units::{
    Amps, Celsius, Farads, KelvinPerWatt, Kelvins, PerKelvin, Quantity, Seconds, Volts, VoltsPerSecond,
    Watts, parse,
};

use super::{Curve, Field, Points};
use crate::failure::Failure;

/// Window in which a transmission-line-pulse instrument averages, unless the user knows better (70 % to 90 % of the width,
/// common practice of the test).
const TLP_WINDOW: Reading = Reading::Window { from: 0.7, to: 0.9 };

/// What is wanted of a fit beside its curve, as people write it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// Values with their units, by the key of their [`Field`].
    pub fields: BTreeMap<&'static str, String>,
    /// Discount single bad points (Huber's loss).
    pub robust: bool,
    /// Seed of further starts.
    pub seed: u64,
    /// The points are the table of a transmission-line-pulse test.
    pub tlp: bool,
}

impl Default for Asked {
    fn default() -> Asked {
        Asked {
            fields: BTreeMap::new(),
            robust: false,
            seed: Settings::default().seed,
            tlp: false,
        }
    }
}

/// How a field is called where the user sees it.
pub type Naming = fn(&Field) -> String;

/// What is known, as values.
#[derive(Clone, Debug)]
pub struct Given {
    wave: Option<RatingWave>,
    reading: Reading,
    breakdown_v: Option<f64>,
    alpha_per_k: Option<f64>,
    law: Law,
    voltage_v: Option<f64>,
    rise_k: Option<f64>,
    total_k_per_w: Option<f64>,
    built_in: BuiltIn,
    width_s: Option<f64>,
    settings: Settings,
}

impl Given {
    /// Reads what is asked; `naming` says how the fields are called in errors.
    ///
    /// # Errors
    /// For a value that cannot be read, and for one that the curve has no use for: nothing is left unheard.
    pub fn of(curve: Curve, asked: &Asked, naming: Naming) -> Result<Given, Failure> {
        let mut told: BTreeMap<&str, (&str, String)> = BTreeMap::new();
        for field in &Field::ALL {
            let name = naming(field);
            match asked.fields.get(field.key) {
                Some(_) if !field.of.contains(&curve) => {
                    return Err(Failure::usage(
                        format!("{name} means nothing for this family"),
                        "leave it out; `tidewall extract fit --help` says which option belongs to which family",
                    ));
                }
                Some(_) if field.key == "width" && !asked.tlp => {
                    return Err(Failure::usage(
                        format!("{name} means nothing without the table of a transmission-line-pulse test"),
                        "leave it out, or say that the points are such a table",
                    ));
                }
                Some(text) => {
                    told.insert(field.key, (text, name));
                }
                None if field.needed && field.of.contains(&curve) => {
                    return Err(Failure::usage(format!("{name} is missing"), field.words));
                }
                None => {}
            }
        }
        let told = Told(told);
        let wave = told.with("wave", |text| {
            parse_wave(text).map_err(|_| {
                (
                    format!("`{text}` is no wave"),
                    format!("a wave is {}", wave::EXPECTED),
                )
            })
        })?;
        let law = told.with("law", |text| match text {
            "power" => Ok(Law::Power),
            "bulk" => Ok(Law::PowerAndBulk),
            "log" => Ok(Law::LogVoltage),
            _ => Err((format!("`{text}` is no law"), "power, bulk or log".to_owned())),
        })?;
        let otherwise = if asked.tlp { TLP_WINDOW } else { Reading::Highest };
        Ok(Given {
            wave,
            reading: told.with("window", window)?.unwrap_or(otherwise),
            breakdown_v: told.quantity::<Volts>("breakdown")?,
            alpha_per_k: told.quantity::<PerKelvin>("temperature-coefficient")?,
            law: law.unwrap_or(Law::Power),
            voltage_v: told.quantity::<Volts>("voltage")?,
            rise_k: told.quantity::<Kelvins>("rise")?,
            total_k_per_w: told.quantity::<KelvinPerWatt>("thermal-resistance")?,
            built_in: told
                .quantity::<Volts>("built-in")?
                .map_or(BuiltIn::FittedIfIdentified, BuiltIn::Fixed),
            width_s: told.quantity::<Seconds>("width")?,
            settings: Settings {
                loss: if asked.robust {
                    Loss::Huber { scale: None }
                } else {
                    Loss::Squares
                },
                seed: asked.seed,
            },
        })
    }

    /// Pulse width of a transmission-line-pulse table in seconds, in place of its own.
    pub fn width_s(&self) -> Option<f64> {
        self.width_s
    }
}

/// Texts by key, each with the name that the user knows it by.
struct Told<'t>(BTreeMap<&'t str, (&'t str, String)>);

impl Told<'_> {
    /// The value of a field; `read` says what is wrong and what to do.
    fn with<T>(
        &self,
        key: &str,
        read: impl FnOnce(&str) -> Result<T, (String, String)>,
    ) -> Result<Option<T>, Failure> {
        let Some((text, name)) = self.0.get(key) else {
            return Ok(None);
        };
        match read(text) {
            Ok(value) => Ok(Some(value)),
            Err((message, hint)) => Err(Failure::usage(format!("{name}: {message}"), hint)),
        }
    }

    fn quantity<Q: Quantity>(&self, key: &str) -> Result<Option<f64>, Failure> {
        self.with(key, |text| {
            parse::<Q>(text)
                .map(Quantity::si)
                .map_err(|error| (error.to_string(), "give the value with its unit".to_owned()))
        })
    }
}

fn window(text: &str) -> Result<Reading, (String, String)> {
    let ends = text.split_once("..").and_then(|(from, to)| {
        let share = |text: &str| text.trim().parse::<f64>().ok();
        Some((share(from)?, share(to)?))
    });
    match ends {
        Some((from, to)) if 0.0 <= from && from < to && to <= 1.0 => Ok(Reading::Window { from, to }),
        _ => Err((
            format!("`{text}` is no window"),
            "two shares of the width, such as 0.7..0.9".to_owned(),
        )),
    }
}

/// Fits a curve to points.
///
/// # Errors
/// Where the points lack a column or a value, or cannot carry the fit; the refusal says which point and why.
pub fn fitted(curve: Curve, points: &Points, given: &Given) -> Result<Fit, Failure> {
    let mut fit = law(curve, points, given)?;
    fit.warnings.extend(points.notes().iter().map(|text| Warning {
        kind: WarningKind::Assumption,
        text: text.clone(),
    }));
    Ok(fit)
}

fn law(family: Curve, points: &Points, given: &Given) -> Result<Fit, Failure> {
    let settings = &given.settings;
    let outcome = match family {
        Curve::Avalanche => {
            let waves = points.waves(given.wave)?;
            let list: Vec<PulsePoint> = currents(points)?
                .into_iter()
                .zip(waves)
                .map(|(p, wave)| PulsePoint {
                    wave,
                    current_a: p.current_a,
                    voltage_v: p.voltage_v,
                    sigma_v: p.sigma_v,
                    reading: match wave {
                        RatingWave::Rectangle { .. } => given.reading,
                        _ => Reading::Highest,
                    },
                })
                .collect();
            let known = Known {
                breakdown_v: given.breakdown_v,
                alpha_per_k: given.alpha_per_k,
            };
            avalanche::fit(&list, &known, settings)
        }
        Curve::FlatClamp => flat_clamp::fit(&currents(points)?, settings),
        Curve::Snapback => snapback::fit(&currents(points)?, settings),
        Curve::SnapbackOnBranch => snapback::on_branch(&currents(points)?, settings),
        Curve::Thyristor => thyristor::on_state(&currents(points)?, settings),
        Curve::Pin => pin::fit(&currents(points)?, settings),
        Curve::Varistor => varistor::fit(&currents(points)?, given.law, given.wave, settings),
        Curve::GasTube => {
            let list = pairs::<VoltsPerSecond, Volts>(points, "slope", "voltage")?;
            gas_tube::fit(&list, given.breakdown_v, settings)
        }
        Curve::Leakage => {
            let list = pairs::<Celsius, Amps>(points, "temperature", "current")?;
            leakage::fit(&list, given.voltage_v.unwrap_or(f64::NAN), settings)
        }
        Curve::Capacitance => {
            let list = pairs::<Volts, Farads>(points, "bias", "capacitance")?;
            capacitance::fit(&list, given.built_in, settings)
        }
        Curve::ThyristorSurge => {
            let (waves, currents) = (points.waves(given.wave)?, points.quantities::<Amps>("current")?);
            let rows = waves.into_iter().zip(currents).zip(points.deviations::<Amps>()?);
            let list: Vec<SurgePoint> = rows
                .map(|((wave, current_a), sigma_a)| SurgePoint {
                    wave,
                    current_a,
                    sigma_a,
                })
                .collect();
            thyristor::surge_current(&list, settings)
        }
        Curve::Thermal => {
            let (waves, powers) = (points.waves(given.wave)?, points.quantities::<Watts>("power")?);
            let rows = waves.into_iter().zip(powers).zip(points.deviations::<Watts>()?);
            let list: Vec<PowerPoint> = rows
                .map(|((wave, power_w), sigma_w)| PowerPoint {
                    wave,
                    power_w,
                    sigma_w,
                })
                .collect();
            thermal::fit(
                &list,
                given.rise_k.unwrap_or(f64::NAN),
                given.total_k_per_w,
                settings,
            )
        }
    };
    outcome.map_err(|refusal| {
        let point = match &refusal {
            Refusal::NotFinite { point, .. }
            | Refusal::NotPositive { point, .. }
            | Refusal::Absurd { point, .. }
            | Refusal::SomeSigmas { point }
            | Refusal::Unusable { point, .. }
            | Refusal::Fit(FitError::Unusable { point, .. }) => Some(*point),
            _ => None,
        };
        points.about(point, refusal.to_string(), refusal.hint())
    })
}

fn currents(points: &Points) -> Result<Vec<CurvePoint>, Failure> {
    let list = pairs::<Amps, Volts>(points, "current", "voltage")?;
    Ok(list
        .into_iter()
        .map(|p| CurvePoint {
            current_a: p.x,
            voltage_v: p.y,
            sigma_v: p.sigma,
        })
        .collect())
}

fn pairs<X: Quantity, Y: Quantity>(points: &Points, x: &str, y: &str) -> Result<Vec<Point>, Failure> {
    let (xs, ys) = (points.quantities::<X>(x)?, points.quantities::<Y>(y)?);
    let sigmas = points.deviations::<Y>()?;
    let rows = xs.into_iter().zip(ys).zip(sigmas);
    Ok(rows.map(|((x, y), sigma)| Point { x, y, sigma }).collect())
}
