//! Figures of the demo and of invented measurements, for the tests and for looking at them.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use tidewall_assess::assess_filtered;
use tidewall_assess::compare::compare;
use tidewall_assess::corners::Case;
use tidewall_assess::correlate::result::CaptureRecord;
use tidewall_assess::correlate::{Measurement, Places, bench_cases, correlate};
use tidewall_assess::draws::{self, Distribution};
use tidewall_assess::result::Assessment;
use tidewall_assess::traces::{Traces, traces};
use tidewall_extract::family::varistor::Law;
use tidewall_extract::family::{CurvePoint, Fit, Settings, flat_clamp, snapback, varistor};
use tidewall_extract::readers::capture;
use tidewall_extract::waves::{Treatment, Wave, treat};
use tidewall_plot::Figure;
use tidewall_report::figures;
use tidewall_study::{Study, read};
use tidewall_transient::Options;

/// The studies of the demo.
pub const STUDIES: [&str; 7] = [
    "supply-24v",
    "supply-24v-avalanche",
    "sonde-rs485",
    "heater-24vac",
    "camera-poe",
    "service-usb-c",
    "level-sensor-io-link",
];

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/river-gauge")
        .join(name)
}

/// A study of the demo.
pub fn study(name: &str) -> Study {
    read(&demo(&format!("{name}.toml"))).expect("the demo is sound")
}

/// Its assessment at the corners that are kept, and the waveforms.
pub fn assessed(study: &Study, keep: &(dyn Fn(&Case) -> bool + Sync)) -> (Assessment, Traces) {
    let options = Options::default();
    let assessment = assess_filtered(study, &options, keep, vec!["of this test".to_owned()], &|_, _| {});
    let traces = traces(study, &assessment, &options);
    (assessment, traces)
}

/// The first stress only, so that it is quick.
fn first_stress(name: &str) -> Study {
    let mut study = study(name);
    study.stresses.truncate(1);
    study
}

/// Two technologies and the next stand-off of one of them, side by side in the 24 V inlet.
pub fn comparison() -> Vec<Figure> {
    let study = first_stress("supply-24v");
    let parts: Vec<_> = ["maple-33", "alder-33", "alder-36"]
        .iter()
        .map(|name| Arc::new(study.parts[*name].clone()))
        .collect();
    let comparison = compare(&study, "D1", &parts, &Options::default(), &|_, _| {}).expect("parts that fit");
    vec![
        figures::clamp_over_temperature(&comparison),
        figures::v_i_bands(&comparison),
    ]
}

/// A few draws of the avalanche inlet, which fails in some.
pub fn drawn() -> Vec<Figure> {
    let plan = draws::Plan {
        count: 24,
        seed: 1,
        distribution: Distribution::Uniform,
    };
    let never = AtomicBool::new(false);
    let study = first_stress("supply-24v-avalanche");
    let drawn = draws::run(&study, &plan, &Options::default(), &|_, _| {}, &never);
    let mut list = vec![figures::draws(&drawn.draws)];
    list.extend(drawn.sensitivity.iter().map(figures::sensitivity));
    list
}

fn curve(points: &[(f64, f64)]) -> Vec<CurvePoint> {
    points
        .iter()
        .map(|(amps, volts)| CurvePoint::new(*amps, *volts))
        .collect()
}

/// Fits of invented measurements: a varistor over six decades, a flat clamp, a snapback clamp.
pub fn fits() -> Vec<Fit> {
    let settings = Settings::default();
    let scatter = |k: usize| 1.0 + 0.004 * (k as f64 * 2.4).sin();
    let varistor: Vec<(f64, f64)> = (0..14)
        .map(|k| {
            let amps = 1e-3 * 10f64.powf(k as f64 * 0.42);
            (amps, 68.0 * (amps / 1e-3).powf(0.033) * scatter(k) + 0.06 * amps)
        })
        .collect();
    let clamp: Vec<(f64, f64)> = (1..12)
        .map(|k| (20.0 * k as f64, (41.0 + 0.012 * 20.0 * k as f64) * scatter(k)))
        .collect();
    let mut folding = vec![(0.001, 6.0), (0.002, 7.2), (0.003, 8.1), (0.004, 8.6)];
    folding.extend((1..10).map(|k| (k as f64, (3.1 + 0.32 * k as f64) * scatter(k))));
    vec![
        varistor::fit(&curve(&varistor), Law::PowerAndBulk, None, &settings).expect("a varistor"),
        flat_clamp::fit(&curve(&clamp), &settings).expect("a flat clamp"),
        snapback::fit(&curve(&folding), &settings).expect("a snapback clamp"),
    ]
}

/// The demo's invented measurement against its prediction.
pub fn correlation() -> Figure {
    let study = study("level-sensor-io-link");
    let text = std::fs::read(demo("measured/level-sensor-esd.csv")).expect("the demo's measurement");
    let capture = capture::read(text.as_slice(), &Default::default(), &mut |_| {}).expect("a capture");
    let wave = |k: usize| Wave {
        times_s: capture.times_s.clone(),
        values: capture.channels[k].values.clone(),
    };
    let measurement = Measurement {
        waves: treat(&wave(0), Some(&wave(1)), &Treatment::default()),
        record: CaptureRecord {
            file: "level-sensor-esd.csv".to_owned(),
            ..CaptureRecord::default()
        },
        places: Places::default(),
        notes: Vec::new(),
    };
    let cases = bench_cases(&study, 23.0);
    let result = correlate(&study, &cases, "the bench", &measurement, &|_, _| {}).expect("a correlation");
    figures::correlation(&result)
}
