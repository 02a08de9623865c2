//! Invented measurements made by the engine with one parameter changed: the correlation must name it.

use std::path::{Path, PathBuf};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use tidewall_assess::correlate::result::{CaptureRecord, Correlation, Outcome};
use tidewall_assess::correlate::{Measurement, Places, bench_cases, correlate};
use tidewall_assess::draws::Population;
use tidewall_assess::simulate::simulate;
use tidewall_extract::readers::capture;
use tidewall_extract::waves::{Treatment, Wave, treat};
use tidewall_stress::catalogue::Sign;
use tidewall_study::{SeriesElement, Stage, Study, read};
use tidewall_transient::Options;

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/river-gauge")
        .join(name)
}

fn io_link() -> Study {
    read(&demo("level-sensor-io-link.toml")).expect("the demo is sound")
}

/// How an invented measurement is made.
struct Bench {
    stress: &'static str,
    sign: Sign,
    /// Position of the parts in their tolerance.
    position: f64,
    factor: f64,
    step_s: f64,
    samples: usize,
    /// Samples before the event.
    before: usize,
    noise_v: f64,
    noise_a: f64,
}

const ESD: Bench = Bench {
    stress: "esd",
    sign: Sign::Positive,
    position: 0.5,
    factor: 1.0,
    step_s: 0.1e-9,
    samples: 1200,
    before: 200,
    noise_v: 0.15,
    noise_a: 0.05,
};

/// Two independent standard normal numbers (Box and Muller 1958).
fn normal(random: &mut ChaCha8Rng) -> (f64, f64) {
    let uniform = |random: &mut ChaCha8Rng| (random.next_u32() as f64 + 0.5) / 4_294_967_296.0;
    let (a, b) = (uniform(random), uniform(random));
    let size = (-2.0 * a.ln()).sqrt();
    let angle = std::f64::consts::TAU * b;
    (size * angle.cos(), size * angle.sin())
}

/// An invented measurement of a study at 23 °C as CSV: engine, noise, an offset of the voltage and the steps of a
/// converter. It goes through the specimens of the draws, not through what the correlation itself computes with.
fn invent(study: &Study, bench: &Bench, seed: u64) -> String {
    let population = Population::new(study);
    let range = study.port.ambient_c.value;
    let positions: Vec<f64> = population
        .axes()
        .iter()
        .map(|axis| match axis.name.as_str() {
            "ambient" => (23.0 - range.low) / (range.high - range.low),
            name if study.stresses.iter().any(|stress| stress.id == name) => 0.5,
            _ => bench.position,
        })
        .collect();
    let specimen = population.study_at(&positions);
    let mut case = population
        .cases_at(&specimen, &positions)
        .into_iter()
        .find(|case| {
            specimen.stresses[case.stress].id == bench.stress
                && case.sign == bench.sign
                && case.supply_v.is_none()
        })
        .expect("the case");
    case.factor = bench.factor;
    let options = Options {
        record: true,
        ..Options::with_relative(1e-6)
    };
    let outcome = simulate(&specimen, &case, &options).expect("a transient");
    let recording = outcome.outcome.recording.as_ref().expect("a recording");
    let wave = |values: &[f64]| Wave {
        times_s: recording.times_s.clone(),
        values: values.to_vec(),
    };
    let pin = outcome
        .assembly
        .probes
        .iter()
        .position(|probe| probe.name == "pin")
        .expect("the pin");
    let volts = wave(&recording.probes_v[pin]);
    let amps = wave(&recording.elements_a[outcome.element("D1").expect("D1")]);
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut text = String::from("Time (ns),Pin (V),D1 (A)\n");
    for k in 0..bench.samples {
        // The trigger is late by a third of a step, as it is in any instrument.
        let t = (k as f64 - bench.before as f64 + 0.33) * bench.step_s;
        let (a, b) = normal(&mut random);
        let (v, i) = if t < 0.0 {
            (0.0, 0.0)
        } else {
            (volts.at(t), amps.at(t))
        };
        let round = |value: f64, step: f64| (value / step).round() * step + 0.0;
        text.push_str(&format!(
            "{:.1},{:.2},{:.2}\n",
            k as f64 * bench.step_s * 1e9,
            round(v + 0.4 + bench.noise_v * a, 0.05),
            round(i + bench.noise_a * b, 0.02)
        ));
    }
    text
}

fn measurement(text: &str) -> Measurement {
    let capture = capture::read(text.as_bytes(), &Default::default(), &mut |_| {}).expect("a capture");
    let wave = |k: usize| Wave {
        times_s: capture.times_s.clone(),
        values: capture.channels[k].values.clone(),
    };
    Measurement {
        waves: treat(&wave(0), Some(&wave(1)), &Treatment::default()),
        record: CaptureRecord::default(),
        places: Places::default(),
        notes: Vec::new(),
    }
}

fn against(study: &Study, text: &str) -> Correlation {
    let cases = bench_cases(study, 23.0);
    correlate(study, &cases, "bench", &measurement(text), &|_, _| {}).expect("a correlation")
}

fn show(result: &Correlation) -> String {
    let mut text = format!(
        "{:?} {}\nresidual {:.3} V noise {:?} stress {} {:?} shift {:e}\n",
        result.finding.outcome,
        result.finding.text,
        result.residual_v,
        result.noise_v,
        result.stress,
        result.corner,
        result.alignment.shift_s
    );
    for c in &result.candidates {
        text.push_str(&format!(
            "  {:35} {:.4e} [{:.4e} {:.4e}]{} plausible {:?} {} explains {:.4} left {:.4} current {:?}\n",
            c.parameter,
            c.fitted,
            c.interval[0],
            c.interval[1],
            if c.interval_open { "+" } else { "" },
            c.plausible,
            c.is_plausible,
            c.explains,
            c.left_v,
            c.explains_current
        ));
    }
    for d in &result.deviations {
        text.push_str(&format!("  {:?}\n", d));
    }
    text
}

/// The stated value of a stage changed.
fn changed(mut study: Study, name: &str, change: impl Fn(&mut Stage)) -> Study {
    let stage = study
        .ladder
        .iter_mut()
        .find(|stage| stage.name() == name)
        .expect("the stage");
    change(stage);
    study
}

fn with_lead(study: Study, name: &str, lead_h: f64) -> Study {
    changed(study, name, |stage| match stage {
        Stage::Shunt(shunt) => shunt.lead_h = lead_h,
        other => panic!("{other:?}"),
    })
}

fn names(result: &Correlation) -> Vec<&str> {
    result.finding.parameters.iter().map(String::as_str).collect()
}

#[track_caller]
fn holds(result: &Correlation, parameter: &str, value: f64) {
    let found = result
        .candidates
        .iter()
        .find(|candidate| candidate.parameter == parameter)
        .expect("the parameter");
    let [low, high] = found.interval;
    assert!(
        low <= value && value <= high && !found.interval_open,
        "{}",
        show(result)
    );
}

#[test]
fn the_measurement_of_the_demo_names_the_lead() {
    let path = demo("measured/level-sensor-esd.csv");
    let made = invent(&with_lead(io_link(), "D1", 4e-9), &ESD, 1);
    if std::env::var_os("TIDEWALL_WRITE_DEMO").is_some() {
        std::fs::write(&path, &made).expect("the file is written");
    }
    let text = std::fs::read_to_string(&path).expect("the measurement of the demo");
    assert!(
        text == made,
        "TIDEWALL_WRITE_DEMO=1 makes {} anew",
        path.display()
    );
    let result = against(&io_link(), &text);
    assert_eq!(names(&result), ["lead inductance of D1"], "{}", show(&result));
    assert_eq!(result.finding.outcome, Outcome::One);
    holds(&result, "lead inductance of D1", 4e-9);
    let first = &result.candidates[0];
    assert!(first.is_plausible && first.explains > 0.95, "{}", show(&result));
    assert!(first.explains_current.expect("a current") > 0.9);
    // The right stress was found among those of the study, and the offset of 0.4 V taken off.
    assert_eq!(result.stress, "esd");
    assert!((result.alignment.shift_s - 19.72e-9).abs() < 0.1e-9);
    assert!((result.noise_v.expect("noise") / 0.15 - 1.0).abs() < 0.15);
    let peak = &result.deviations[0];
    assert!(peak.share.expect("both peaks") > 0.2, "{}", show(&result));
}

#[test]
fn a_poor_resistor_is_named() {
    let other = changed(io_link(), "R1", |stage| match stage {
        Stage::Series(series) => {
            series.element = SeriesElement::Passive {
                resistance_ohm: 16.0,
                inductance_h: 0.0,
                saturation_a: None,
            }
        }
        other => panic!("{other:?}"),
    });
    let bench = Bench {
        sign: Sign::Negative,
        ..ESD
    };
    let result = against(&io_link(), &invent(&other, &bench, 2));
    assert_eq!(names(&result), ["series resistance of R1"], "{}", show(&result));
    holds(&result, "series resistance of R1", 16.0);
}

#[test]
fn a_breakdown_off_the_middle_is_named_or_tied_with_what_acts_alike() {
    let bench = Bench {
        position: 0.9,
        noise_v: 0.05,
        ..ESD
    };
    let result = against(&io_link(), &invent(&io_link(), &bench, 3));
    let names = names(&result);
    assert!(names.contains(&"breakdown position of D1"), "{}", show(&result));
    holds(&result, "breakdown position of D1", 0.9);
    // A warmer junction raises the breakdown too: the voltage of one discharge cannot tell, and that is said.
    for other in names.iter().filter(|name| **name != "breakdown position of D1") {
        assert_eq!(*other, "ambient temperature", "{}", show(&result));
    }
    assert_eq!(names.len() > 1, result.finding.outcome == Outcome::Tie);
}

#[test]
fn a_surge_of_another_amplitude_is_named() {
    let study = read(&demo("supply-24v-avalanche.toml")).expect("the demo is sound");
    let bench = Bench {
        stress: "surge-line",
        factor: 1.07,
        step_s: 100e-9,
        samples: 900,
        before: 150,
        noise_v: 0.1,
        noise_a: 0.5,
        ..ESD
    };
    let text = invent(&study, &bench, 6);
    let cases: Vec<_> = bench_cases(&study, 23.0)
        .into_iter()
        .filter(|case| study.stresses[case.stress].id == "surge-line")
        .collect();
    let result = correlate(&study, &cases, "bench", &measurement(&text), &|_, _| {}).expect("a correlation");
    println!("{}", show(&result));
    assert!(
        names(&result).contains(&"generator amplitude"),
        "{}",
        show(&result)
    );
    holds(&result, "generator amplitude", 1.07);
    assert_eq!(result.corner.supply_v, None);
}

#[test]
fn nothing_is_explained_where_there_is_nothing_or_no_single_cause() {
    let same = against(&io_link(), &invent(&io_link(), &ESD, 4));
    assert_eq!(same.finding.outcome, Outcome::Agreement, "{}", show(&same));
    assert!(same.finding.parameters.is_empty());
    // A ringing that no part of the ladder has.
    let text: String = invent(&io_link(), &ESD, 5)
        .lines()
        .enumerate()
        .map(|(k, line)| match line.split(',').collect::<Vec<_>>()[..] {
            [t, v, i] if k > 250 => {
                let v: f64 = v.parse().expect("a number");
                let late = (k - 250) as f64;
                let ringing = 25.0 * (late * 0.063).sin() * (-late / 600.0).exp();
                format!("{t},{:.2},{i}\n", v + ringing)
            }
            _ => format!("{line}\n"),
        })
        .collect();
    let ringing = against(&io_link(), &text);
    assert_eq!(ringing.finding.outcome, Outcome::None, "{}", show(&ringing));
    assert!(
        ringing.finding.text.contains("no single parameter"),
        "{}",
        show(&ringing)
    );
}
