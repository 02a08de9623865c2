//! No input panics, and what is not finite never comes out as a value.

use proptest::prelude::*;
use tidewall_devices::datasheet::RatingWave;
use tidewall_extract::family::avalanche::{Known, PulsePoint, Reading};
use tidewall_extract::family::capacitance::BuiltIn;
use tidewall_extract::family::thermal::PowerPoint;
use tidewall_extract::family::thyristor::SurgePoint;
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{
    CurvePoint, Fit, Point, Refusal, Settings, avalanche, capacitance, flat_clamp, gas_tube, leakage, pin,
    snapback, thermal, thyristor, varistor,
};
use tidewall_extract::fit::Loss;

/// Mostly sizes that occur, sometimes anything.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => (0.01f64..100.0).boxed(),
        2 => (-12.0f64..12.0).prop_map(|x| 10f64.powf(x)).boxed(),
        1 => any::<f64>().boxed(),
        1 => prop_oneof![Just(0.0), Just(-1.0), Just(f64::NAN), Just(f64::INFINITY), Just(1e308), Just(5e-324)].boxed(),
    ]
}

fn points() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop_oneof![
        prop::collection::vec((number(), number()), 0..9),
        // Clean ones, so that the fits themselves are reached.
        prop::collection::vec((0.01f64..100.0, 0.01f64..100.0), 1..9),
    ]
}

fn wave() -> impl Strategy<Value = RatingWave> {
    prop_oneof![
        Just(RatingWave::Surge8x20),
        Just(RatingWave::Long10x1000),
        (number(), number()).prop_map(|(a, b)| RatingWave::FrontTail {
            front_s: a * 1e-6,
            tail_s: b * 1e-5
        }),
        number().prop_map(|w| RatingWave::Rectangle { width_s: w * 1e-7 }),
    ]
}

fn sound(result: Result<Fit, Refusal>, input: &[f64]) -> Result<(), TestCaseError> {
    match result {
        Ok(fit) => {
            prop_assert!(
                input.iter().all(|x| x.is_finite()),
                "a number that is none was accepted"
            );
            for estimate in &fit.estimates {
                prop_assert!(estimate.value.is_none_or(f64::is_finite), "{estimate:?}");
                prop_assert!(
                    estimate.standard_error.is_none_or(|e| !e.is_nan()),
                    "{estimate:?}"
                );
                if let (Some([low, high]), Some(value)) = (estimate.interval, estimate.value) {
                    let slack = 1e-9 * value.abs();
                    prop_assert!(low.is_none_or(|x| x <= value + slack), "{estimate:?}");
                    prop_assert!(high.is_none_or(|x| x >= value - slack), "{estimate:?}");
                }
            }
        }
        Err(refusal) => prop_assert!(!refusal.to_string().is_empty() && !refusal.hint().is_empty()),
    }
    Ok(())
}

fn flat(points: &[(f64, f64)]) -> Vec<f64> {
    points.iter().flat_map(|&(x, y)| [x, y]).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn curves(pairs in points(), robust in any::<bool>(), direct in number()) {
        let settings = Settings {
            loss: if robust { Loss::Huber { scale: None } } else { Loss::Squares },
            seed: 1,
        };
        let curve: Vec<CurvePoint> = pairs.iter().map(|&(i, v)| CurvePoint::new(i, v)).collect();
        let plain: Vec<Point> = pairs.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let input = flat(&pairs);
        sound(flat_clamp::fit(&curve, &settings), &input)?;
        sound(snapback::fit(&curve, &settings), &input)?;
        sound(snapback::on_branch(&curve, &settings), &input)?;
        sound(thyristor::on_state(&curve, &settings), &input)?;
        sound(pin::fit(&curve, &settings), &input)?;
        for law in [Law::Power, Law::PowerAndBulk, Law::LogVoltage] {
            sound(varistor::fit(&curve, law, Some(RatingWave::Surge8x20), &settings), &input)?;
        }
        sound(gas_tube::fit(&plain, None, &settings), &input)?;
        sound(gas_tube::fit(&plain, Some(direct), &settings), &input)?;
        sound(leakage::fit(&plain, direct, &settings), &input)?;
        for built_in in [BuiltIn::Fixed(direct), BuiltIn::Fitted, BuiltIn::FittedIfIdentified] {
            sound(capacitance::fit(&plain, built_in, &settings), &input)?;
        }
    }

    #[test]
    fn waves(rows in prop::collection::vec((wave(), number(), number()), 0..6), given in number(), alpha in number()) {
        let settings = Settings::default();
        let input: Vec<f64> = rows.iter().flat_map(|&(_, x, y)| [x, y]).collect();
        let pulses: Vec<PulsePoint> = rows
            .iter()
            .map(|&(wave, current_a, voltage_v)| PulsePoint {
                wave, current_a, voltage_v, sigma_v: None, reading: Reading::Highest,
            })
            .collect();
        for (breakdown_v, alpha_per_k) in [
            (None, Some(1e-3)), (Some(given), Some(1e-3)), (Some(given), Some(alpha)), (None, None),
        ] {
            let known = Known { breakdown_v, alpha_per_k };
            sound(avalanche::fit(&pulses, &known, &settings), &input)?;
        }
        let first: Vec<f64> = rows.iter().map(|r| r.1).collect();
        let powers: Vec<PowerPoint> = rows
            .iter()
            .map(|&(wave, power_w, _)| PowerPoint { wave, power_w, sigma_w: None })
            .collect();
        sound(thermal::fit(&powers, given, Some(alpha), &settings), &first)?;
        let surges: Vec<SurgePoint> = rows
            .iter()
            .map(|&(wave, current_a, _)| SurgePoint { wave, current_a, sigma_a: None })
            .collect();
        sound(thyristor::surge_current(&surges, &settings), &first)?;
    }
}
