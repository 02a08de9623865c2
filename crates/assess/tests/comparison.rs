//! Parts side by side, and the nearest to a given one.

use std::sync::Arc;

use tidewall_assess::assess;
use tidewall_assess::compare::{Known, compare, compare_known, equivalents};
use tidewall_assess::memo::{Counts, Memo};
use tidewall_assess::rank::{Choice, Position, RankOptions, rank, with};
use tidewall_assess::result::{ElementResult, Verdict};
use tidewall_devices::datasheet::{Datasheet, Spread};
use tidewall_study::{FolderLoader, NoFiles, Study, read_parts, read_text};
use tidewall_transient::Options;

/// The demo's supply with its surges alone: discharges take ten times as long.
fn study() -> Study {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
    let text = std::fs::read_to_string(format!("{folder}/supply-24v.toml")).unwrap();
    let mut study = read_text("supply", &text, &FolderLoader::new(folder)).unwrap();
    study.stresses.retain(|stress| stress.id.starts_with("surge"));
    study
}

fn part(study: &Study, name: &str) -> Arc<Datasheet> {
    Arc::new(study.parts[name].clone())
}

#[test]
fn a_comparison_says_what_the_assessment_of_each_part_says() {
    let study = study();
    let parts = [
        part(&study, "maple-33"),
        part(&study, "alder-33"),
        part(&study, "beech-35"),
    ];
    let comparison = compare(&study, "D1", &parts, &Options::default(), &|_, _| {}).unwrap();
    assert_eq!(comparison.parts.len(), 3);
    for (compared, sheet) in comparison.parts.iter().zip(&parts) {
        assert_eq!(compared.part, *sheet.name);
        let placed = with(&study, &[("D1", &Choice::Part(sheet.clone()))]);
        let whole = assess(&placed, &Options::default(), &|_, _| {});
        assert_eq!(compared.verdict, whole.verdict);
        for stress in &compared.stresses {
            let runs = whole
                .transients
                .iter()
                .filter(|run| run.stress == stress.stress && run.corner.ambient_c == stress.ambient_c);
            let pin = runs.clone().map(|run| run.pin_peak_v.abs()).fold(0.0, f64::max);
            assert_eq!(stress.let_through_v, pin);
            let own = runs
                .flat_map(|run| &run.elements)
                .filter(|element| element.name == "D1");
            let (volts, joules) = own.fold((0.0, 0.0), |(volts, joules): (f64, f64), element| {
                (volts.max(element.peak_v), joules.max(element.energy_j))
            });
            assert_eq!((stress.clamp_v, stress.energy_j), (volts, joules));
        }
        // Two surges at both ends of the ambient range.
        assert_eq!(compared.stresses.len(), 4);
    }
}

#[test]
fn the_band_spans_the_tolerance_and_moves_with_temperature() {
    let study = study();
    let parts = [part(&study, "maple-33"), part(&study, "alder-33")];
    let comparison = compare(&study, "D1", &parts, &Options::default(), &|_, _| {}).unwrap();
    let [flat, avalanche] = comparison.parts.as_slice() else {
        panic!("two parts")
    };
    let highest = comparison
        .parts
        .iter()
        .flat_map(|part| &part.stresses)
        .map(|s| s.current_a)
        .fold(0.0, f64::max);
    for compared in [flat, avalanche] {
        assert!(
            compared
                .band
                .iter()
                .all(|point| point.low_v.unwrap() < point.high_v.unwrap())
        );
        let top = compared
            .band
            .iter()
            .map(|point| point.current_a)
            .fold(0.0, f64::max);
        assert_eq!(top, highest);
    }
    let at = |temperature_c: f64| {
        let mut points = avalanche
            .band
            .iter()
            .filter(|point| point.temperature_c == temperature_c);
        points.next().unwrap().high_v.unwrap()
    };
    // At one current the line moves with the breakdown alone: 40.6 V at 0.098 %/K over 110 K.
    let moved = at(70.0) - at(-40.0);
    assert!((moved / (40.6 * 0.00098 * 110.0) - 1.0).abs() < 1e-3, "{moved} V");
}

#[test]
fn a_twin_is_nearest_and_a_failing_part_stands_for_nothing() {
    let study = study();
    let reference = part(&study, "maple-33");
    let twin = Arc::new(Datasheet {
        name: "twin".into(),
        ..Datasheet::clone(&reference)
    });
    // A little higher in everything, still inside the window.
    let mut sheet = Datasheet::clone(&reference);
    sheet.name = "cousin".into();
    sheet.cost = Some(5.0);
    for spread in [&mut sheet.breakdown_v, &mut sheet.on_v] {
        for value in [&mut spread.min, &mut spread.typ, &mut spread.max] {
            *value = value.map(|volts| volts * 1.04);
        }
    }
    let candidates = [
        Arc::new(sheet),
        twin,
        part(&study, "alder-33"),
        part(&study, "willow-24"),
        reference.clone(),
    ];
    let found = equivalents(&study, "D1", &reference, &candidates, 5, &RankOptions::default()).unwrap();
    assert_eq!(found.candidates, 4);
    assert_eq!(found.rejected, 2);
    let names: Vec<&str> = found
        .equivalents
        .iter()
        .map(|equivalent| equivalent.part.part.as_str())
        .collect();
    assert_eq!(names, ["twin", "cousin"]);
    assert_eq!(found.equivalents[0].distance, 0.0);
    assert_eq!(
        found.equivalents[0].differences,
        ["no difference of note in this port"]
    );
    let cousin = &found.equivalents[1];
    assert!(cousin.distance > 0.0);
    let words = cousin.differences.join("; ");
    assert!(
        words.contains("let-through-voltage, surge-line") && words.contains("margin smaller"),
        "{words}"
    );
    assert!(words.contains("cost 5 in place of 4"), "{words}");
}

#[test]
fn a_part_that_lacks_data_comes_after_those_that_are_known() {
    let study = study();
    let reference = part(&study, "maple-33");
    // Alike in all that is stated, but nothing is known of its conduction.
    let mut bare = Datasheet::clone(&reference);
    bare.name = "bare".into();
    bare.on_v = Spread::default();
    let mut cousin = Datasheet::clone(&reference);
    cousin.name = "cousin".into();
    for spread in [&mut cousin.breakdown_v, &mut cousin.on_v] {
        for value in [&mut spread.min, &mut spread.typ, &mut spread.max] {
            *value = value.map(|volts| volts * 1.04);
        }
    }
    let candidates = [Arc::new(bare), Arc::new(cousin)];
    let found = equivalents(&study, "D1", &reference, &candidates, 5, &RankOptions::default()).unwrap();
    let names: Vec<&str> = found
        .equivalents
        .iter()
        .map(|other| other.part.part.as_str())
        .collect();
    assert_eq!(names, ["cousin", "bare"]);
    let (cousin, bare) = (&found.equivalents[0], &found.equivalents[1]);
    assert!(bare.distance < cousin.distance, "the trap is not set");
    assert_eq!(bare.part.verdict, Verdict::Unknown);
    assert!(
        bare.differences.iter().any(|words| words.starts_with("lacks ")),
        "{:?}",
        bare.differences
    );
}

#[test]
fn a_check_met_in_another_quantity_is_said_in_its_own_unit() {
    let mut study = study();
    study.port.abnormal.retain(|level| level.value.level_v < 0.0);
    assert!(study.port.abnormal.iter().all(|level| level.value.may_conduct));
    // At the reversed level one part blocks, the other conducts and has to survive it.
    let reference = Datasheet::clone(&part(&study, "alder-33"));
    let mut one_way = reference.clone();
    one_way.name = "one way".into();
    one_way.bidirectional = Some(false);
    (one_way.forward_v, one_way.forward_ohm) = (Some(0.7), Some(0.02));
    study.stresses.clear();
    study.port.must_not_conduct_v.as_mut().unwrap().value.low = 0.0;
    study.port.source_a.as_mut().unwrap().value = 3e-3;
    let reference = Arc::new(reference);
    let options = RankOptions::default();
    let found = equivalents(&study, "D1", &reference, &[Arc::new(one_way)], 5, &options).unwrap();
    let words = found.equivalents[0].differences.join("; ");
    assert!(words.contains(" K against "), "{words}");
}

#[test]
fn a_part_of_the_line_is_named_and_refused() {
    let study = study();
    let parts = [part(&study, "maple-33"), part(&study, "hazel-3")];
    let error = compare(&study, "D1", &parts, &Options::default(), &|_, _| {}).unwrap_err();
    assert!(
        error.to_string().starts_with("`hazel-3` cannot stand in `D1`"),
        "{error}"
    );
}

/// A gas tube before a diode under one stress: with blind spots.
fn two_stages() -> Study {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
    let text = std::fs::read_to_string(format!("{folder}/sonde-rs485.toml")).unwrap();
    let mut study = read_text("sonde", &text, &FolderLoader::new(folder)).unwrap();
    study.stresses.retain(|stress| stress.id == "lightning");
    study
}

#[test]
fn what_is_known_is_not_run_again_and_changes_nothing() {
    let study = two_stages();
    let options = Options::default();
    let memo = Memo::new(2000);
    let others = [part(&study, "maple-33"), part(&study, "maple-58")];
    let ranked = rank(
        &study,
        &[Position::of_parts(&study, "D1", &others).unwrap()],
        &RankOptions {
            memo: Some(&memo),
            ..RankOptions::default()
        },
    )
    .unwrap();
    let run_by_ranking = memo.counts();
    assert_eq!(run_by_ranking.run as usize, ranked.counts.transients);
    assert!(run_by_ranking.run > 0, "the ranking needs transients");

    let standing = assess(&study, &options, &|_, _| {});
    let parts = [part(&study, "willow-24"), others[0].clone(), others[1].clone()];
    let known = Known {
        standing: Some(&standing),
        memo: Some(&memo),
    };
    let quick = compare_known(&study, "D1", &parts, known, &options, &|_, _| {}).unwrap();
    let anew = compare(&study, "D1", &parts, &options, &|_, _| {}).unwrap();
    assert_eq!(quick, anew);

    // Each transient of the two others was run once; none of the part that stands there.
    let all: usize = others
        .iter()
        .map(|other| {
            let placed = with(&study, &[("D1", &Choice::Part(other.clone()))]);
            assess(&placed, &options, &|_, _| {}).transients.len()
        })
        .sum();
    let Counts { known, run } = memo.counts();
    assert_eq!((run as usize, known), (all, run_by_ranking.run));
}

#[test]
fn steering_diodes_on_one_line_are_shown_as_one_part() {
    let mut study = study();
    study.stresses.retain(|stress| stress.id == "surge-earth");
    let parts = read_parts(
        "steering",
        r#"
[[part]]
name = "hazel-rail"
family = "steering"
kind = "invented"
source = "invented for this test"
forward = { voltage = "2 V", at = "10 A" }
rail_capacitance = "10 µF"
rail_voltage = "32 V"
rail_clamp = { voltage = "40 V", resistance = "0.1 Ω" }
leakage = [{ voltage = "33 V", temperature = "25 °C", current = "1 µA" }]
capacitance = [{ bias = "0 V", max = "5 pF" }]
"#,
        &NoFiles,
    )
    .unwrap();
    let steering = Arc::new(parts[0].datasheet.clone());
    let comparison = compare(
        &study,
        "D1",
        std::slice::from_ref(&steering),
        &Options::default(),
        &|_, _| {},
    )
    .unwrap();
    let placed = with(&study, &[("D1", &Choice::Part(steering))]);
    let whole = assess(&placed, &Options::default(), &|_, _| {});
    for stress in &comparison.parts[0].stresses {
        let runs = whole
            .transients
            .iter()
            .filter(|run| run.corner.ambient_c == stress.ambient_c);
        let of = |name: &str, value: fn(&ElementResult) -> f64| {
            let elements = runs.clone().flat_map(|run| &run.elements);
            elements
                .filter(|element| element.name == name)
                .map(value)
                .fold(0.0, f64::max)
        };
        let (up, down) = (
            of("D1 (to rail)", |e| e.peak_a),
            of("D1 (from return)", |e| e.peak_a),
        );
        assert!(up > 10.0 && down > 10.0, "{up} A, {down} A: both conduct");
        assert_eq!(stress.current_a, up.max(down));
        // The diode that blocks sees the rail and what the other drops.
        assert_eq!(
            stress.clamp_v,
            of("D1 (from return)", |e| e.peak_v).max(of("D1 (to rail)", |e| e.peak_v))
        );
        assert!(stress.clamp_v > 32.0, "{} V", stress.clamp_v);
        // Diodes and rail clamp together.
        assert!(stress.energy_j > of("D1 (to rail)", |e| e.energy_j));
    }
}
