//! `tidewall extract fit`.

use std::path::Path;

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

use super::args::{FitArgs, FitFamily, VaristorLaw};
use super::part;
use super::points::Points;
use crate::args::Format;
use crate::failure::Failure;
use crate::library::Place;
use crate::output;
use crate::sheet;
use crate::status::Status;

/// Window in which a transmission-line-pulse instrument averages, unless the user knows better (70 % to 90 % of the width,
/// common practice of the test).
const TLP_WINDOW: Reading = Reading::Window { from: 0.7, to: 0.9 };

/// Fits a family to measured points.
pub fn run(args: &FitArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let mut given = Given::of(args)?;
    let points = if args.tlp {
        if args.window.is_none() {
            given.reading = TLP_WINDOW;
        }
        Points::of_tlp(&args.points, quantity::<Seconds>("--width", &args.width)?)?
    } else {
        Points::read(&args.points)?
    };
    let mut fit = fitted(args.family, &points, &given)?;
    fit.warnings.extend(points.notes().iter().map(|text| Warning {
        kind: WarningKind::Assumption,
        text: text.clone(),
    }));
    let kept = match (&args.keep, &args.into_part) {
        (Some(document), Some(name)) => {
            let place = Place::new(library)?;
            Some(part::keep(&fit, &args.points, name, document, &place)?)
        }
        _ => None,
    };
    match format {
        Format::Text => {
            let source = args.points.display().to_string();
            output::print(&sheet::fit::sheet(&fit, &source, args.into_part.as_deref()))?;
        }
        Format::Json => output::print_json(&fit)?,
    }
    if let Some(words) = kept {
        output::remark(&words);
    }
    Ok(Status::Pass)
}

/// The arguments as values.
struct Given {
    wave: Option<RatingWave>,
    reading: Reading,
    breakdown_v: Option<f64>,
    alpha_per_k: Option<f64>,
    law: Law,
    voltage_v: Option<f64>,
    rise_k: Option<f64>,
    total_k_per_w: Option<f64>,
    built_in: BuiltIn,
    settings: Settings,
}

impl Given {
    fn of(args: &FitArgs) -> Result<Given, Failure> {
        refuse_unused(args)?;
        let wave = match &args.wave {
            None => None,
            Some(text) => Some(parse_wave(text).map_err(|_| {
                let hint = format!("a wave is {}", wave::EXPECTED);
                Failure::usage(format!("--wave: `{text}` is no wave"), hint)
            })?),
        };
        let reading = match &args.window {
            None => Reading::Highest,
            Some(text) => window(text)?,
        };
        let built_in = quantity::<Volts>("--built-in", &args.built_in)?;
        Ok(Given {
            wave,
            reading,
            breakdown_v: quantity::<Volts>("--breakdown", &args.breakdown)?,
            alpha_per_k: quantity::<PerKelvin>("--temperature-coefficient", &args.temperature_coefficient)?,
            law: match args.law {
                None | Some(VaristorLaw::Power) => Law::Power,
                Some(VaristorLaw::Bulk) => Law::PowerAndBulk,
                Some(VaristorLaw::Log) => Law::LogVoltage,
            },
            voltage_v: quantity::<Volts>("--voltage", &args.voltage)?,
            rise_k: quantity::<Kelvins>("--rise", &args.rise)?,
            total_k_per_w: quantity::<KelvinPerWatt>("--thermal-resistance", &args.thermal_resistance)?,
            built_in: built_in.map_or(BuiltIn::FittedIfIdentified, BuiltIn::Fixed),
            settings: Settings {
                loss: if args.robust {
                    Loss::Huber { scale: None }
                } else {
                    Loss::Squares
                },
                seed: args.seed,
            },
        })
    }
}

/// An option that the family has no use for is a slip: nothing is left unheard.
fn refuse_unused(args: &FitArgs) -> Result<(), Failure> {
    use FitFamily::{Avalanche, Capacitance, GasTube, Leakage, Thermal, ThyristorSurge, Varistor};
    let options: [(&str, bool, &[FitFamily]); 9] = [
        (
            "--wave",
            args.wave.is_some(),
            &[Avalanche, Varistor, ThyristorSurge, Thermal],
        ),
        ("--window", args.window.is_some(), &[Avalanche]),
        ("--breakdown", args.breakdown.is_some(), &[Avalanche, GasTube]),
        (
            "--temperature-coefficient",
            args.temperature_coefficient.is_some(),
            &[Avalanche],
        ),
        ("--law", args.law.is_some(), &[Varistor]),
        ("--voltage", args.voltage.is_some(), &[Leakage]),
        ("--rise", args.rise.is_some(), &[Thermal]),
        (
            "--thermal-resistance",
            args.thermal_resistance.is_some(),
            &[Thermal],
        ),
        ("--built-in", args.built_in.is_some(), &[Capacitance]),
    ];
    match options
        .iter()
        .find(|(_, given, of)| *given && !of.contains(&args.family))
    {
        Some((name, ..)) => Err(Failure::usage(
            format!("{name} means nothing for this family"),
            "`tidewall extract fit --help` says which option belongs to which family",
        )),
        None => Ok(()),
    }
}

fn quantity<Q: Quantity>(name: &str, text: &Option<String>) -> Result<Option<f64>, Failure> {
    let Some(text) = text else { return Ok(None) };
    match parse::<Q>(text) {
        Ok(value) => Ok(Some(value.si())),
        Err(error) => Err(Failure::usage(
            format!("{name}: {error}"),
            "give the value with its unit, in quotes",
        )),
    }
}

fn window(text: &str) -> Result<Reading, Failure> {
    let ends = text.split_once("..").and_then(|(from, to)| {
        let share = |text: &str| text.trim().parse::<f64>().ok();
        Some((share(from)?, share(to)?))
    });
    match ends {
        Some((from, to)) if 0.0 <= from && from < to && to <= 1.0 => Ok(Reading::Window { from, to }),
        _ => Err(Failure::usage(
            format!("--window: `{text}` is no window"),
            "two shares of the width, such as 0.7..0.9",
        )),
    }
}

fn fitted(family: FitFamily, points: &Points, given: &Given) -> Result<Fit, Failure> {
    let settings = &given.settings;
    let outcome = match family {
        FitFamily::Avalanche => {
            let waves = points.waves(given.wave)?;
            let list: Vec<PulsePoint> = curve(points)?
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
        FitFamily::FlatClamp => flat_clamp::fit(&curve(points)?, settings),
        FitFamily::Snapback => snapback::fit(&curve(points)?, settings),
        FitFamily::SnapbackOnBranch => snapback::on_branch(&curve(points)?, settings),
        FitFamily::Thyristor => thyristor::on_state(&curve(points)?, settings),
        FitFamily::Pin => pin::fit(&curve(points)?, settings),
        FitFamily::Varistor => varistor::fit(&curve(points)?, given.law, given.wave, settings),
        FitFamily::GasTube => {
            let list = pairs::<VoltsPerSecond, Volts>(points, "slope", "voltage")?;
            gas_tube::fit(&list, given.breakdown_v, settings)
        }
        FitFamily::Leakage => {
            let list = pairs::<Celsius, Amps>(points, "temperature", "current")?;
            leakage::fit(&list, given.voltage_v.unwrap_or(f64::NAN), settings)
        }
        FitFamily::Capacitance => {
            let list = pairs::<Volts, Farads>(points, "bias", "capacitance")?;
            capacitance::fit(&list, given.built_in, settings)
        }
        FitFamily::ThyristorSurge => {
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
        FitFamily::Thermal => {
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

fn curve(points: &Points) -> Result<Vec<CurvePoint>, Failure> {
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
