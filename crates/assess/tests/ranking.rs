//! The ranking against the whole assessment of every candidate.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

use tidewall_assess::draws::{self, Distribution, Plan};
use tidewall_assess::rank::{
    Candidate, Choice, Order, Position, RankOptions, Standing, draw_best, rank, with,
};
use tidewall_assess::result::Verdict;
use tidewall_assess::{assess, rank::CheckLine};
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{FolderLoader, Study, read_text};
use tidewall_transient::Options;

/// Port of a supply with two stresses, and a part that the ranking replaces.
const STUDY: &str = r#"
title = "Ranking"
[port]
profile = "supply-24vdc"
ambient = "-40 °C to 70 °C"
must_not_conduct = "-30 V to 30.2 V"
powered = "unpowered"
[[stress]]
id = "earth"
standard = "IEC 61000-4-5"
level = "0.5 kV"
coupling = "line-earth"
polarity = "+"
[[stress]]
id = "line"
standard = "IEC 61000-4-5"
level = "0.25 kV"
coupling = "line-line"
polarity = "-"
[[ladder]]
name = "wire"
series = { inductance = "10 nH", resistance = "20 mΩ" }
[[ladder]]
name = "D1"
shunt = "alder-33"
lead = "2 nH"
[[ladder]]
name = "track"
series = { inductance = "5 nH", resistance = "2 mΩ" }
[pin]
name = "converter"
withstand = [{ voltage = "60 V", lasts = "any", polarity = "both" }]
capacitance = "100 nF"
"#;

fn study() -> Study {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
    read_text("ranking", STUDY, &FolderLoader::new(folder)).unwrap()
}

/// Parts around those of the demo: levels, ratings and tolerances scaled, some data left out.
fn library(study: &Study, most: usize) -> Vec<Arc<Datasheet>> {
    let mut parts = Vec::new();
    let series = |part: &&Datasheet| !tidewall_study::parts::is_series(part.family);
    let protectors: Vec<&Datasheet> = study.parts.values().filter(series).collect();
    // Levels on both sides of the window, most of them near it.
    const SCALES: [f64; 11] = [0.4, 0.75, 0.9, 0.95, 1.0, 1.05, 1.1, 1.15, 1.2, 1.4, 2.0];
    for round in 0.. {
        for base in &protectors {
            if parts.len() == most {
                return parts;
            }
            let scale = SCALES[round % SCALES.len()];
            let volts = |value: &mut Option<f64>| *value = value.map(|volts| volts * scale);
            let mut part = Datasheet::clone(base);
            part.name = format!("{}-{round}", base.name).into();
            volts(&mut part.stand_off_v);
            for spread in [&mut part.breakdown_v, &mut part.on_v, &mut part.hold_v] {
                volts(&mut spread.min);
                volts(&mut spread.typ);
                volts(&mut spread.max);
            }
            for point in &mut part.clamp {
                volts(&mut point.voltage_v.min);
                volts(&mut point.voltage_v.typ);
                volts(&mut point.voltage_v.max);
            }
            for point in &mut part.leakage {
                point.voltage_v *= scale;
            }
            volts(&mut part.turn_off_v);
            if round % 5 == 4 {
                part.leakage.clear();
            }
            parts.push(Arc::new(part));
        }
    }
    parts
}

fn position(study: &Study, parts: &[Arc<Datasheet>]) -> Vec<Position> {
    vec![Position::of_parts(study, "D1", parts).unwrap()]
}

fn part(candidate: &Candidate) -> &str {
    candidate.placed[0].part.as_deref().unwrap()
}

#[test]
fn ranking_equals_the_whole_assessment_of_every_part() {
    let study = study();
    let parts = library(&study, 200);
    let ranking = rank(&study, &position(&study, &parts), &RankOptions::default()).unwrap();
    assert!(ranking.complete);
    assert_eq!(ranking.counts.judged, 200);
    // Without parts in every class the comparison would prove little.
    let counts = &ranking.counts;
    assert!(counts.rejected_without_transient > 20, "{counts:?}");
    assert!(counts.rejected_in_transient > 5, "{counts:?}");
    assert!(counts.pass + counts.marginal > 3, "{counts:?}");
    assert!(counts.unknown > 3, "{counts:?}");

    let mut kept = 0;
    for sheet in &parts {
        let placed = with(&study, &[("D1", &Choice::Part(sheet.clone()))]);
        let whole = assess(&placed, &Options::default(), &|_, _| {});
        let found = |list: &[Candidate]| list.iter().find(|c| part(c) == &*sheet.name).cloned();
        if whole.verdict == Verdict::Fail {
            let rejected =
                found(&ranking.rejected).unwrap_or_else(|| panic!("{} is not rejected", sheet.name));
            let Standing::Rejected { reason, .. } = rejected.standing else {
                panic!("{} stands in the wrong list", sheet.name)
            };
            let same = whole.checks.iter().find(|check| {
                check.check == reason.check
                    && check.stress == reason.stress
                    && check.element == reason.element
            });
            assert_eq!(same.unwrap().verdict, Verdict::Fail, "{}: {reason:?}", sheet.name);
        } else {
            kept += 1;
            let ranked = found(&ranking.ranked).unwrap_or_else(|| panic!("{} is dropped", sheet.name));
            let Standing::Ranked { verdict, checks, .. } = ranked.standing else {
                panic!("{} stands in the wrong list", sheet.name)
            };
            assert_eq!(verdict, whole.verdict);
            let wanted: Vec<CheckLine> = whole.checks.iter().map(CheckLine::from).collect();
            assert_eq!(checks, wanted, "{}", sheet.name);
        }
    }
    assert_eq!(kept, ranking.ranked.len());
}

#[test]
fn screens_change_nothing_but_the_work() {
    let study = study();
    let parts = library(&study, 40);
    let screened = rank(&study, &position(&study, &parts), &RankOptions::default()).unwrap();
    let options = RankOptions {
        screen: false,
        ..RankOptions::default()
    };
    let whole = rank(&study, &position(&study, &parts), &options).unwrap();
    assert!(whole.counts.transients > 2 * screened.counts.transients);
    let bare = |list: &[Candidate]| -> Vec<Candidate> {
        let without = |candidate: &Candidate| Candidate {
            transients: 0,
            ..candidate.clone()
        };
        list.iter().map(without).collect()
    };
    assert_eq!(bare(&screened.ranked), bare(&whole.ranked));
    assert_eq!(bare(&screened.rejected), bare(&whole.rejected));
}

#[test]
fn stopped_work_goes_on_where_it_was() {
    let study = study();
    let parts = library(&study, 60);
    let positions = position(&study, &parts);
    let whole = rank(&study, &positions, &RankOptions::default()).unwrap();

    let judged: Mutex<HashMap<String, Candidate>> = Mutex::default();
    let keep = |candidate: &Candidate, _, _| {
        let mut judged = judged.lock().unwrap();
        judged.insert(candidate.fingerprint.clone(), candidate.clone());
    };
    let stop = || judged.lock().unwrap().len() >= 20;
    let options = RankOptions {
        judged: &keep,
        stop: &stop,
        ..RankOptions::default()
    };
    let part = rank(&study, &positions, &options).unwrap();
    assert!(!part.complete);
    assert!(part.counts.judged >= 20 && part.counts.judged < 60);

    let before = judged.lock().unwrap().clone();
    let again = AtomicUsize::new(0);
    let count = |candidate: &Candidate, _, _| {
        if !before.contains_key(&candidate.fingerprint) {
            again.fetch_add(1, Ordering::Relaxed);
        }
    };
    let known = |fingerprint: &str| before.get(fingerprint).cloned();
    let options = RankOptions {
        judged: &count,
        known: &known,
        ..RankOptions::default()
    };
    let rest = rank(&study, &positions, &options).unwrap();
    assert_eq!(again.load(Ordering::Relaxed), 60 - before.len());
    assert_eq!(rest, whole);
    // Another margin is another question: nothing known of the first may answer it.
    let other = Study {
        margin: 0.2,
        ..study.clone()
    };
    let fresh = rank(&other, &positions, &options).unwrap();
    let old = before.keys().any(|key| {
        fresh
            .ranked
            .iter()
            .chain(&fresh.rejected)
            .any(|c| &c.fingerprint == key)
    });
    assert!(!old);
}

#[test]
fn any_number_of_threads_ranks_alike() {
    let study = study();
    let parts = library(&study, 40);
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| rank(&study, &position(&study, &parts), &RankOptions::default()).unwrap())
    };
    assert_eq!(run(1), run(2));
}

#[test]
fn two_stages_and_a_resistor_rank_as_each_combination_alone() {
    let text = STUDY.replace(
        "name = \"track\"\nseries = { inductance = \"5 nH\", resistance = \"2 mΩ\" }",
        "name = \"R1\"\nseries = { inductance = \"5 nH\", resistance = \"1 Ω\" }\n[[ladder]]\nname = \"D2\"\nshunt = \"alder-33\"\nlead = \"1 nH\"",
    );
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
    let study = read_text("ranking", &text, &FolderLoader::new(folder)).unwrap();
    let parts = library(&study, 200);
    // Near the window, so that some combinations pass.
    let some: Vec<Arc<Datasheet>> = parts
        .into_iter()
        .filter(|part| part.name.contains("alder"))
        .collect();
    let positions = [
        Position::of_parts(&study, "D1", &some).unwrap(),
        Position::of_ohms(&study, "R1", &[0.47, 4.7]).unwrap(),
        Position::of_parts(&study, "D2", &some[8..14]).unwrap(),
    ];
    let ranking = rank(&study, &positions, &RankOptions::default()).unwrap();
    assert_eq!(ranking.counts.candidates, some.len() * 2 * 6);
    assert!(
        ranking.counts.pass + ranking.counts.marginal > 3,
        "{:?}",
        ranking.counts
    );
    assert!(
        ranking.counts.rejected_without_transient > 3,
        "{:?}",
        ranking.counts
    );
    // Every tenth combination alone; all would take as long as the rest of these tests together.
    let chosen = ranking.ranked.iter().chain(&ranking.rejected).step_by(10);
    for candidate in chosen {
        let choices: Vec<(&str, Choice)> = candidate
            .placed
            .iter()
            .map(|placed| {
                let choice = match (&placed.part, placed.resistance_ohm) {
                    (Some(name), _) => Choice::Part(
                        some.iter()
                            .find(|part| &*part.name == name.as_str())
                            .unwrap()
                            .clone(),
                    ),
                    (None, Some(ohms)) => Choice::Ohms(ohms),
                    (None, None) => panic!("an empty place"),
                };
                (placed.stage.as_str(), choice)
            })
            .collect();
        let placed: Vec<(&str, &Choice)> = choices.iter().map(|(stage, choice)| (*stage, choice)).collect();
        let whole = assess(&with(&study, &placed), &Options::default(), &|_, _| {});
        match &candidate.standing {
            Standing::Ranked { verdict, .. } => assert_eq!(*verdict, whole.verdict),
            Standing::Rejected { .. } => assert_eq!(whole.verdict, Verdict::Fail),
        }
    }
}

#[test]
fn weights_decide_within_a_verdict() {
    let study = study();
    let mut parts = library(&study, 120);
    // Costs and areas that run against the margins.
    for (k, part) in parts.iter_mut().enumerate() {
        let part = Arc::make_mut(part);
        part.cost = (k % 7 != 0).then_some((k * 37 % 11) as f64 + 1.0);
        part.area_m2 = Some(1e-6 * (k % 5 + 1) as f64);
    }
    let sorted = |order: Order| {
        let options = RankOptions {
            order,
            ..RankOptions::default()
        };
        rank(&study, &position(&study, &parts), &options).unwrap().ranked
    };
    let keys = |c: &Candidate| match &c.standing {
        Standing::Ranked {
            verdict,
            worst_margin,
            ..
        } => (*verdict, worst_margin.unwrap_or(f64::NEG_INFINITY)),
        Standing::Rejected { .. } => panic!("rejected among the ranked"),
    };
    let in_turn = sorted(Order::InTurn);
    assert!(in_turn.windows(2).all(|pair| {
        let ((va, ma), (vb, mb)) = (keys(&pair[0]), keys(&pair[1]));
        va < vb || va == vb && ma >= mb
    }));
    let by_cost = sorted(Order::Weighted {
        margin: 0.0,
        let_through: 0.0,
        area: 0.0,
        cost: 1.0,
        capacitance: 0.0,
    });
    // An unknown cost counts as the worst of its verdict.
    let cost = |candidate: &Candidate| {
        let alike = by_cost.iter().filter(|other| keys(other).0 == keys(candidate).0);
        let worst = alike.filter_map(|other| other.cost).fold(0.0, f64::max);
        candidate.cost.unwrap_or(worst)
    };
    assert!(
        by_cost
            .windows(2)
            .all(|pair| { keys(&pair[0]).0 < keys(&pair[1]).0 || cost(&pair[0]) <= cost(&pair[1]) })
    );
    assert_ne!(in_turn, by_cost);
}

#[test]
fn places_that_take_no_part_are_refused() {
    let study = study();
    let parts = library(&study, 3);
    let error = Position::of_parts(&study, "D9", &parts).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the ladder has no stage `D9`; it has wire, D1, track"
    );
    // Shunt parts cannot stand in the line.
    assert!(Position::of_parts(&study, "wire", &parts).is_err());
    assert!(Position::of_ohms(&study, "D1", &[1.0]).is_err());
    assert!(Position::of_ohms(&study, "wire", &[0.0]).is_err());
    let twice = [position(&study, &parts), position(&study, &parts)].concat();
    assert!(rank(&study, &twice, &RankOptions::default()).is_err());
}

#[test]
fn the_short_list_is_drawn_as_each_candidate_alone() {
    let study = study();
    let parts = library(&study, 120);
    let positions = position(&study, &parts);
    let ranking = rank(&study, &positions, &RankOptions::default()).unwrap();
    let plan = Plan {
        count: 6,
        seed: 3,
        distribution: Distribution::Uniform,
    };
    let options = Options::default();
    let best = &ranking.ranked[..2];
    let list = draw_best(
        &study,
        &positions,
        best,
        &plan,
        &options,
        &|_, _| {},
        &AtomicBool::new(false),
    );
    assert_eq!(list.len(), 2);
    for (entry, candidate) in list.iter().zip(best) {
        assert_eq!(entry.placed, candidate.placed);
        let sheet = parts
            .iter()
            .find(|sheet| *sheet.name == *part(candidate))
            .unwrap();
        let placed = with(&study, &[("D1", &Choice::Part(sheet.clone()))]);
        let mut alone = draws::run(&placed, &plan, &options, &|_, _| {}, &AtomicBool::new(false));
        let whole = assess(&placed, &options, &|_, _| {});
        let corners: Vec<CheckLine> = whole.checks.iter().map(CheckLine::from).collect();
        alone.draws.compare(&corners);
        assert_eq!(entry.draws, alone.draws);
        assert_eq!(entry.sensitivity, alone.sensitivity);
    }
}
