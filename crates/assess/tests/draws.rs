//! Monte Carlo draws: known probabilities, corners at the ends of the axes, the same digits on any threads.

mod common;

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use common::study;
use tidewall_assess::corners::{self, Case};
use tidewall_assess::draws::{AxisKind, Distribution, Drawn, DrawnCheck, Plan, Population, run};
use tidewall_assess::rank::CheckLine;
use tidewall_assess::result::{PartSet, StressSet, Verdict};
use tidewall_assess::simulate::simulate;
use tidewall_study::{Interval, Study, read};
use tidewall_transient::Options;

/// The same without a stress and at 25 °C: the lowest breakdown against `limit_v` is decided by the draw alone.
fn fails_below(limit_v: f64) -> Study {
    let mut study = study(&[]);
    study.stresses.clear();
    study.port.ambient_c.value = Interval {
        low: 25.0,
        high: 25.0,
    };
    let levels = study.port.must_not_conduct_v.as_mut().expect("a level");
    levels.value = Interval {
        low: 0.0,
        high: limit_v,
    };
    study
}

fn draw(study: &Study, count: u64, seed: u64, distribution: Distribution) -> Drawn {
    let plan = Plan {
        count,
        seed,
        distribution,
    };
    run(
        study,
        &plan,
        &Options::default(),
        &|_, _| {},
        &AtomicBool::new(false),
    )
}

fn find<'a>(drawn: &'a Drawn, check: &str) -> &'a DrawnCheck {
    let found = drawn.draws.checks.iter().find(|result| result.check == check);
    found.unwrap_or_else(|| panic!("no check `{check}`"))
}

#[test]
fn a_known_probability_lies_in_its_interval() {
    for (limit_v, probability) in [
        (35.0, 0.0),
        (36.08, 0.02),
        (37.0, 0.25),
        (38.0, 0.5),
        (39.6, 0.9),
        (40.5, 1.0),
    ] {
        let drawn = draw(&fails_below(limit_v), 2000, 1, Distribution::Uniform);
        let check = find(&drawn, "cold-breakdown");
        let found = check.probability.expect("it was judged");
        assert!(
            (found.low..=found.high).contains(&probability),
            "{probability}: {found:?}"
        );
        assert_eq!(found.of, 2000);
        assert_eq!(check.judged, 2000);
        // Uniform from 36 V to 40 V: the median margin is that of 38 V.
        let median = check.margin_p50.expect("margins");
        assert!((median - (38.0 / limit_v - 1.0)).abs() < 0.01, "{median}");
        let low = check.margin_p05.expect("margins");
        assert!((low - (36.2 / limit_v - 1.0)).abs() < 0.005, "{low}");
    }
}

#[test]
fn a_normal_tolerance_fails_as_often_as_its_tail_is_large() {
    // Limits at three deviations: 37 V lies half a range below the middle, 1.5 deviations. Φ of the cut-off
    // distribution there is (Φ(−1.5) − Φ(−3)) / (1 − 2 Φ(−3)) = (0.066807 − 0.001350) / 0.997300.
    let p = 0.065_634;
    let n = 20_000;
    let drawn = draw(&fails_below(37.0), n, 2, Distribution::Normal);
    let found = find(&drawn, "cold-breakdown").probability.expect("it was judged");
    let error = (p * (1.0 - p) / n as f64).sqrt();
    assert!(
        (found.share - p).abs() < 4.0 * error,
        "{found:?} against {p} ± {error}"
    );
}

#[test]
fn the_interval_covers_the_truth_as_often_as_it_says() {
    // 400 seeds of 60 draws each: the score interval's own coverage at p = 0.25 and n = 60 is 0.937 (summed over the
    // binomial distribution in the assertion below); four standard errors round it.
    let study = fails_below(37.0);
    let (n, p) = (60u64, 0.25f64);
    let mut weight = (1.0 - p).powi(60);
    let mut exact = 0.0;
    for count in 0..=n {
        let (low, high) = tidewall_assess::draws::wilson(count, n);
        if (low..=high).contains(&p) {
            exact += weight;
        }
        weight *= (n - count) as f64 / (count + 1) as f64 * p / (1.0 - p);
    }
    assert!((0.92..0.97).contains(&exact), "{exact}");
    let seeds = 400;
    let covered = (0..seeds)
        .filter(|seed| {
            let drawn = draw(&study, n, *seed, Distribution::Uniform);
            let found = find(&drawn, "cold-breakdown").probability.expect("it was judged");
            (found.low..=found.high).contains(&p)
        })
        .count();
    let share = covered as f64 / seeds as f64;
    let error = (exact * (1.0 - exact) / seeds as f64).sqrt();
    assert!(
        (share - exact).abs() < 4.0 * error,
        "{share} against {exact} ± {error}"
    );
}

#[test]
fn the_overall_share_counts_draws_and_says_what_is_undecided() {
    let drawn = draw(&fails_below(37.0), 500, 3, Distribution::Uniform);
    // The stand-off of 33 V fails in every draw.
    let any = drawn.draws.any_failure.expect("draws");
    assert_eq!((any.count, any.of), (500, 500));
    let mut unknown = fails_below(35.0);
    unknown.port.leakage_limit_a = None;
    unknown.parts.get_mut("hazel-33").expect("the part").stand_off_v = Some(36.0);
    let drawn = draw(&unknown, 100, 3, Distribution::Uniform);
    assert_eq!(drawn.draws.any_failure.expect("draws").count, 0);
    assert_eq!(drawn.draws.undecided, 100);
    let leakage = find(&drawn, "leakage");
    assert_eq!((leakage.judged, leakage.unknown), (0, 100));
    assert_eq!(leakage.probability, None);
}

#[test]
fn one_thread_and_two_draw_the_same_digits() {
    let study = study(&[]);
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads")
            .install(|| draw(&study, 24, 5, Distribution::Uniform))
    };
    let one = with(1);
    assert_eq!(one, with(2));
    assert!(one.draws.complete);
    assert_ne!(one, draw(&study, 24, 6, Distribution::Uniform));
    assert!(one.draws.worst.is_some());
}

#[test]
fn a_cancelled_run_is_the_run_of_the_draws_that_were_done() {
    let study = fails_below(37.0);
    let plan = Plan {
        count: 1000,
        seed: 9,
        distribution: Distribution::Uniform,
    };
    let cancel = AtomicBool::new(false);
    let seen = AtomicU64::new(0);
    let progress = |done: u64, all: u64| {
        assert_eq!(all, 1000);
        seen.fetch_max(done, Ordering::Relaxed);
        if done >= 150 {
            cancel.store(true, Ordering::Relaxed);
        }
    };
    let cut = run(&study, &plan, &Options::default(), &progress, &cancel);
    assert!(!cut.draws.complete);
    assert!((64..1000).contains(&cut.draws.done), "{}", cut.draws.done);
    assert!(seen.load(Ordering::Relaxed) >= cut.draws.done);
    assert!(cut.sensitivity.is_empty());
    let whole = draw(&study, cut.draws.done, 9, Distribution::Uniform);
    assert_eq!(cut.draws.checks, whole.draws.checks);
    assert_eq!(cut.draws.worst, whole.draws.worst);
    let none = run(
        &study,
        &plan,
        &Options::default(),
        &|_, _| {},
        &AtomicBool::new(true),
    );
    assert_eq!((none.draws.done, none.draws.any_failure), (0, None));
}

#[test]
fn the_worst_specimen_can_be_found_again() {
    let study = study(&[]);
    let drawn = draw(&study, 16, 11, Distribution::Uniform);
    let worst = drawn.draws.worst.expect("some margin varies");
    let positions: Vec<f64> = worst.positions.iter().map(|at| at.position).collect();
    let population = Population::new(&study);
    let again =
        tidewall_assess::draws::positions(11, worst.draw, population.axes().len(), Distribution::Uniform);
    assert_eq!(positions, again);
    let breakdown = &worst.positions[0];
    assert_eq!((breakdown.axis.as_str(), breakdown.unit), ("D1", "V"));
    let volts = breakdown.value.expect("a breakdown");
    assert!((volts - (36.0 + 4.0 * breakdown.position)).abs() < 1e-9);
}

#[test]
fn sensitivity_names_the_tolerance_that_decides() {
    // At 25 °C and without a stress only the breakdown's own tolerance moves the cold breakdown.
    let mut still = fails_below(38.0);
    still.port.ambient_c.value = Interval {
        low: -20.0,
        high: 60.0,
    };
    let drawn = draw(&still, 300, 4, Distribution::Uniform);
    let of = drawn
        .sensitivity
        .iter()
        .find(|of| of.check == "cold-breakdown")
        .expect("the cold breakdown varies");
    let axis = |name: &str| of.axes.iter().find(|axis| axis.axis == name).expect("the axis");
    // 4 V of tolerance at the specimen's temperature, 0.098 %/K over 80 K at the specimen's breakdown.
    let (part, ambient) = (
        axis("D1").swing.expect("a swing"),
        axis("ambient").swing.expect("a swing"),
    );
    assert!((part * 38.0 / 4.0 - 1.0).abs() < 0.05, "{part}");
    assert!((ambient * 38.0 / (0.0784 * 36.2) - 1.0).abs() < 0.02, "{ambient}");
    assert_eq!(of.axes[0].axis, "D1");
    assert!(axis("D1").rank_correlation.expect("it varies") > 0.7);
    assert!(axis("ambient").rank_correlation.expect("it varies") > 0.3);
    assert!(axis("supply").swing == Some(0.0));
    let supply = axis("supply").rank_correlation.expect("it varies");
    assert!(supply.abs() < 0.2, "{supply}");
    assert!(of.margin < 0.0);
}

#[test]
fn a_datum_that_is_missing_makes_every_draw_unknown() {
    let mut lacking = study(&[("breakdown = { min = \"36 V\", max", "breakdown = { max")]);
    lacking.stresses.truncate(1);
    let drawn = draw(&lacking, 3, 1, Distribution::Uniform);
    for check in ["simulation", "cold-breakdown"] {
        let found = find(&drawn, check);
        assert_eq!((found.unknown, found.judged), (3, 0), "{check}");
    }
    assert_eq!(drawn.draws.undecided, 3);
}

fn demo(name: &str) -> Study {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/river-gauge")
        .join(name);
    read(&file).unwrap_or_else(|error| panic!("{error}"))
}

/// Positions of a specimen at a corner.
fn at_corner(study: &Study, population: &Population, case: &Case) -> Vec<f64> {
    let last = study
        .ladder
        .iter()
        .rposition(|stage| matches!(stage, tidewall_study::Stage::Shunt(_)));
    let end = |high: bool| if high { 1.0 } else { 0.0 };
    population
        .axes()
        .iter()
        .map(|axis| match axis.kind {
            AxisKind::Part { stage, line } => end(match case.parts {
                PartSet::Low => false,
                PartSet::High => true,
                PartSet::Crossed => Some(stage) != last,
                PartSet::UnlikeLines => line == 1,
                PartSet::UnlikeLinesMirrored => line == 0,
                other => panic!("{other:?} is no corner"),
            }),
            AxisKind::Amplitude { .. } => end(case.tolerance == StressSet::High),
            AxisKind::Ambient => end(case.ambient_c == study.port.ambient_c.value.high),
            AxisKind::Supply => end(case.supply_v.is_some_and(|volts| {
                volts.abs() == study.port.working_v.as_ref().expect("a range").value.high
            })),
        })
        .collect()
}

#[test]
fn the_ends_of_the_axes_are_the_corners_of_the_assessment() {
    let options = Options::default();
    for (name, stress) in [
        ("supply-24v.toml", "surge-line"),
        ("supply-24v-avalanche.toml", "esd"),
        ("sonde-rs485.toml", "esd"),
        ("heater-24vac.toml", "surge-line"),
    ] {
        let study = demo(name);
        let population = Population::new(&study);
        let number = study
            .stresses
            .iter()
            .position(|case| case.id == stress)
            .expect("the stress");
        let all = corners::cases(&study);
        // Every set of parts, at one combination of the rest each.
        let mut seen = Vec::new();
        for (index, case) in all.iter().filter(|case| case.stress == number).enumerate() {
            if seen.contains(&case.parts) || index % 3 != 1 {
                continue;
            }
            seen.push(case.parts);
            let positions = at_corner(&study, &population, case);
            let drawn_study = population.study_at(&positions);
            let cases = population.cases_at(&drawn_study, &positions);
            let same = cases
                .iter()
                .find(|drawn| {
                    drawn.stress == case.stress && drawn.sign == case.sign && drawn.supply_v == case.supply_v
                })
                .unwrap_or_else(|| panic!("{name}: no drawn case for {case:?}"));
            assert_eq!(
                (same.factor, same.ambient_c),
                (case.factor, case.ambient_c),
                "{name}"
            );
            let corner = simulate(&study, case, &options).expect("the corner runs");
            let drawn = simulate(&drawn_study, same, &options).expect("the specimen runs");
            assert_eq!(corner.port, drawn.port, "{name}: {case:?}");
            assert_eq!(corner.rated_rises_k, drawn.rated_rises_k, "{name}: {case:?}");
            assert_eq!(corner.shapes, drawn.shapes, "{name}: {case:?}");
            let logs = |outcome: &tidewall_assess::simulate::CaseOutcome| format!("{:?}", outcome.outcome);
            assert_eq!(logs(&corner), logs(&drawn), "{name}: {case:?}");
        }
        let sets = if study.port.lines == 2 { 4 } else { 2 };
        assert!(seen.len() >= sets, "{name}: only {seen:?}");
    }
}

#[test]
fn unlike_lines_have_specimens_of_their_own() {
    let study = demo("sonde-rs485.toml");
    let population = Population::new(&study);
    let parts = |line: usize| {
        population
            .axes()
            .iter()
            .filter(|axis| matches!(axis.kind, AxisKind::Part { line: of, .. } if of == line))
            .count()
    };
    assert!(parts(0) > 0 && parts(1) > 0, "{:?}", population.axes());
    assert!(
        population
            .axes()
            .iter()
            .any(|axis| axis.name.ends_with("(line 2)"))
    );
}

#[test]
fn specimens_of_a_sound_study_pass() {
    let study = study(&[]);
    let drawn = draw(&study, 8, 21, Distribution::Normal);
    for check in &drawn.draws.checks {
        assert_eq!((check.failures, check.unknown), (0, 0), "{check:?}");
    }
    let worst = drawn.draws.worst.expect("some margin varies");
    assert_ne!(worst.verdict, Verdict::Fail);
    assert_eq!(drawn.draws.undecided, 0);
}

#[test]
fn checks_without_a_transient_speak_of_the_specimen() {
    let mut still = study(&[]);
    still.stresses.clear();
    let whole = tidewall_assess::assess(&still, &Options::default(), &|_, _| {});
    let population = Population::new(&still);
    let at = |position: f64| {
        let specimen = population.study_at(&vec![position; population.axes().len()]);
        tidewall_assess::assess(&specimen, &Options::default(), &|_, _| {})
    };
    let value = |assessment: &tidewall_assess::result::Assessment, check: &str| {
        let found = assessment.checks.iter().find(|result| result.check == check);
        found
            .and_then(|result| result.value)
            .unwrap_or_else(|| panic!("no value of `{check}`"))
    };
    // Cold and low is the worst corner of the breakdown, hot that of the leakage.
    assert_eq!(value(&at(0.0), "cold-breakdown"), value(&whole, "cold-breakdown"));
    assert_eq!(value(&at(1.0), "leakage"), value(&whole, "leakage"));
    let breakdown = |position: f64| (36.0 + 4.0 * position) * (1.0 + 9.8e-4 * (80.0 * position - 45.0));
    for position in [0.0, 0.3, 1.0] {
        let found = value(&at(position), "cold-breakdown");
        assert!(
            (found / breakdown(position) - 1.0).abs() < 1e-9,
            "{position}: {found}"
        );
    }
    assert!(value(&at(0.3), "leakage") < value(&whole, "leakage"));
}

/// Capacitance of two specimens on a pair: the difference is theirs, and not that of the worst two of the type.
#[test]
fn the_lines_of_a_pair_are_matched_as_drawn() {
    let text = r#"
        title = "Pair"
        [port]
        lines = 2
        kind = "signal"
        must_not_conduct = "±6 V"
        ambient = "25 °C to 26 °C"
        capacitance_limit = "200 pF"
        capacitance_matching = "10 pF"
        [[stress]]
        id = "esd"
        standard = "IEC 61000-4-2"
        level = "4 kV"
        discharge = "contact"
        [[ladder]]
        name = "D1"
        shunt = "rowan-6"
        between = "each-line-earth"
        lead = "1 nH"
        [pin]
        name = "bus"
        withstand = [{ voltage = "20 V", lasts = "any" }]
        capacitance = "20 pF"
        [[part]]
        name = "rowan-6"
        family = "avalanche"
        kind = "invented"
        source = "invented for this test"
        bidirectional = true
        breakdown = { min = "7 V", max = "8 V", at = "1 mA" }
        capacitance = [{ bias = "0 V", min = "40 pF", max = "60 pF" }]
    "#;
    let mut pair = tidewall_study::read_text("pair.toml", text, &tidewall_study::NoFiles)
        .unwrap_or_else(|error| panic!("{error}"));
    pair.stresses.clear();
    let n = 2000;
    let drawn = draw(&pair, n, 1, Distribution::Uniform);
    // |a − b| > 10 pF of two that are uniform over 20 pF: (1 − 10/20)² = 1/4.
    let found = find(&drawn, "capacitance-matching")
        .probability
        .expect("it was judged");
    let error = (0.25 * 0.75 / n as f64).sqrt();
    assert!((found.share - 0.25).abs() < 4.0 * error, "{found:?}");
    let sum = find(&drawn, "line-capacitance");
    assert_eq!(sum.failures, 0);
    // The larger of the two: its median is 40 pF + 20 pF / √2.
    let median = sum.margin_p50.expect("margins");
    assert!(
        (median - (1.0 - (40.0 + 20.0 / 2f64.sqrt()) / 200.0)).abs() < 0.005,
        "{median}"
    );
}

#[test]
fn what_comes_off_worse_than_every_corner_is_named() {
    let mut still = study(&[]);
    still.stresses.clear();
    let whole = tidewall_assess::assess(&still, &Options::default(), &|_, _| {});
    let mut corners: Vec<CheckLine> = whole.checks.iter().map(CheckLine::from).collect();
    let mut drawn = draw(&still, 50, 1, Distribution::Uniform).draws;
    drawn.compare(&corners);
    assert!(drawn.beyond_corners.is_empty(), "{:?}", drawn.beyond_corners);
    let cold = corners.iter_mut().find(|check| check.check == "cold-breakdown");
    let cold = cold.expect("the check");
    cold.margin = cold.margin.map(|margin| margin + 0.3);
    let (margin, place) = (cold.margin, cold.element.clone());
    drawn.compare(&corners);
    let [beyond] = &drawn.beyond_corners[..] else {
        panic!("{:?}", drawn.beyond_corners)
    };
    assert_eq!((beyond.check, &beyond.element), ("cold-breakdown", &place));
    assert_eq!(Some(beyond.corner_margin), margin);
    let check = drawn
        .checks
        .iter()
        .find(|check| check.check == "cold-breakdown")
        .expect("the check");
    assert_eq!(Some(beyond.margin), check.worst_margin);
    assert_eq!(Some(beyond.draw), check.worst_draw);
}
