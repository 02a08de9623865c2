//! Test plans: predictions against direct transients, counts and levels of the standards, and what is not known.

mod common;

use std::path::PathBuf;
use std::sync::LazyLock;

use tidewall_assess::corners::Case;
use tidewall_assess::plan::{
    Extent, LAB_C, PLAN_SCHEMA, PlaceKind, Reading, ShotGroup, StressTest, TestPlan, plan, plan_to,
};
use tidewall_assess::result::{PartSet, Polarity, StressSet};
use tidewall_assess::simulate::{CaseOutcome, simulate};
use tidewall_stress::catalogue::Sign;
use tidewall_study::{Study, read};
use tidewall_transient::Options;

const DEMO: [&str; 7] = [
    "supply-24v-avalanche",
    "supply-24v",
    "sonde-rs485",
    "heater-24vac",
    "camera-poe",
    "service-usb-c",
    "level-sensor-io-link",
];

fn demo(name: &str) -> Study {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo/river-gauge");
    read(&folder.join(format!("{name}.toml"))).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn planned(study: &Study) -> TestPlan {
    plan(study, &Options::default(), &|_, _| {})
}

static PLANS: LazyLock<Vec<(&str, Study, TestPlan)>> = LazyLock::new(|| {
    DEMO.map(|name| {
        let study = demo(name);
        let plan = planned(&study);
        (name, study, plan)
    })
    .into()
});

fn demo_plan(name: &str) -> &'static (&'static str, Study, TestPlan) {
    PLANS
        .iter()
        .find(|(other, _, _)| *other == name)
        .expect("a study of the demo")
}

fn test<'a>(plan: &'a TestPlan, stress: &str) -> &'a StressTest {
    let found = plan.tests.iter().find(|test| test.stress == stress);
    found.unwrap_or_else(|| panic!("no stress {stress}"))
}

fn levels(test: &StressTest) -> Vec<f64> {
    test.steps.iter().map(|step| step.level).collect()
}

#[test]
fn every_study_of_the_demo_makes_a_whole_plan() {
    for (name, study, plan) in PLANS.iter() {
        assert_eq!(plan.schema, PLAN_SCHEMA);
        assert_eq!(plan.tests.len(), study.stresses.len(), "{name}");
        let mut number = 0;
        for test in &plan.tests {
            assert!(!test.groups.is_empty(), "{name}, {}", test.stress);
            for group in &test.groups {
                number += 1;
                assert_eq!(group.number, number, "{name}");
                assert_eq!(group.missing, None, "{name}, group {number}");
                assert!(group.readings.len() >= 4, "{name}, group {number}");
                for reading in &group.readings {
                    assert!(
                        reading.peak.low <= reading.peak.typical && reading.peak.typical <= reading.peak.high
                    );
                    // Eight divisions hold every part's trace.
                    let largest = [
                        reading.peak.low,
                        reading.peak.high,
                        reading.back.low,
                        reading.back.high,
                    ]
                    .map(f64::abs)
                    .into_iter()
                    .fold(0.0, f64::max);
                    assert!(4.0 * reading.per_division >= largest, "{name}, {reading:?}");
                    assert!(
                        reading.bandwidth_hz.is_none_or(|hertz| hertz <= 2e9),
                        "{name}, {reading:?}"
                    );
                }
            }
            let all: u64 = test
                .groups
                .iter()
                .map(|group| group.shots.expect("a count"))
                .sum();
            assert_eq!(test.shots, Some(all), "{name}, {}", test.stress);
            assert_eq!(levels(test).last(), Some(&test.level), "{name}, {}", test.stress);
            assert!(levels(test).is_sorted(), "{name}, {}", test.stress);
            assert!(!test.verification.is_empty());
            for row in &test.verification {
                assert!(row.computed.is_some(), "{name}, {}: {row:?}", test.stress);
                assert_ne!(row.inside, Some(false), "{name}, {}: {row:?}", test.stress);
            }
        }
        let all: u64 = plan.tests.iter().filter_map(|test| test.shots).sum();
        assert_eq!(plan.shots, Some(all), "{name}");
        let lasts_s: f64 = plan.tests.iter().filter_map(|test| test.lasts_s).sum();
        assert_eq!(plan.lasts_s, Some(lasts_s), "{name}");
        assert!(!plan.health.is_empty() && !plan.cautions.is_empty(), "{name}");
    }
}

/// A direct transient of a group.
fn direct(study: &Study, stress: usize, share: f64, group: &ShotGroup, parts: PartSet) -> CaseOutcome {
    let case = Case {
        stress,
        ambient_c: LAB_C,
        parts,
        tolerance: StressSet::Nominal,
        factor: share,
        sign: if group.polarity == Polarity::Positive {
            Sign::Positive
        } else {
            Sign::Negative
        },
        supply_v: group.supply_v,
    };
    simulate(study, &case, &Options::default()).expect("the transient runs")
}

fn reading<'a>(group: &'a ShotGroup, place: &str) -> &'a Reading {
    let found = group.readings.iter().find(|reading| reading.place == place);
    found.unwrap_or_else(|| panic!("no place {place} in {:?}", group.readings))
}

#[test]
fn predictions_are_the_numbers_of_direct_transients() {
    let (_, study, plan) = demo_plan("supply-24v");
    let (mut looked_at, mut compared) = (0, 0);
    for (stress, test) in plan.tests.iter().enumerate() {
        for group in &test.groups {
            let share = group.level / test.level;
            let sets = [PartSet::Typical, PartSet::Low, PartSet::High];
            let runs = sets.map(|set| direct(study, stress, share, group, set));
            let up = group.polarity == Polarity::Positive;
            let expect = |reading: &Reading, of: &dyn Fn(&CaseOutcome) -> (f64, f64)| {
                let found = runs.each_ref().map(of);
                let peak = |values: (f64, f64)| if up { values.1 } else { values.0 };
                let back = |values: (f64, f64)| if up { values.0 } else { values.1 };
                // What is below the integrator's accuracy is told as zero.
                let shown = |value: f64| if value.abs() < 5e-4 { 0.0 } else { value };
                assert_eq!(reading.peak.typical, shown(peak(found[0])), "{reading:?}");
                assert_eq!(reading.back.typical, shown(back(found[0])), "{reading:?}");
                let all = found.map(|values| shown(peak(values)));
                assert_eq!(
                    reading.peak.low,
                    all.iter().copied().fold(f64::INFINITY, f64::min)
                );
                assert_eq!(
                    reading.peak.high,
                    all.iter().copied().fold(f64::NEG_INFINITY, f64::max)
                );
            };
            let probe = |name: &str| {
                let place = runs[0]
                    .assembly
                    .probes
                    .iter()
                    .position(|probe| probe.name == name);
                let place = place.unwrap_or_else(|| panic!("no probe {name}"));
                move |run: &CaseOutcome| {
                    let volts = &run.outcome.probes[place].volts;
                    (volts.min, volts.max)
                }
            };
            expect(reading(group, "connector voltage"), &probe("connector"));
            expect(reading(group, "pin voltage"), &probe("pin"));
            expect(reading(group, "D1 current"), &|run| {
                let amps = &run.outcome.elements[run.element("D1").expect("D1")].amps;
                (amps.min, amps.max)
            });
            expect(reading(group, "D1 voltage"), &|run| {
                let volts = &run.outcome.elements[run.element("D1").expect("D1")].volts;
                (volts.min, volts.max)
            });
            // All of a surge goes through the first element (a discharge also charges the connector); what is summed is
            // sampled at the steps.
            let terminal = &runs[0].outcome.elements[runs[0].element("terminal").expect("the terminal")].amps;
            let expected = if up { terminal.max } else { terminal.min };
            let found = reading(group, "connector current").peak.typical;
            if group.supply_v.is_none() && test.stress.starts_with("surge") {
                compared += 1;
                assert!(
                    (found / expected - 1.0).abs() < 0.02,
                    "{found} against {expected}"
                );
            }
            looked_at += 1;
        }
    }
    assert!(looked_at > 15 && compared == 4, "{looked_at} {compared}");
}

#[test]
fn levels_and_counts_are_those_of_the_standards() {
    let (_, _, sonde) = demo_plan("sonde-rs485");
    let surge = test(sonde, "surge");
    assert_eq!(levels(surge), [500.0, 1e3, 2e3]);
    assert_eq!(surge.steps[2].name.as_deref(), Some("3"));
    assert_eq!((surge.shots_each, surge.interval_s), (Some(5), Some(60.0)));
    // Three levels powered, the last one unpowered too; two polarities, five shots.
    assert_eq!(surge.shots, Some((3 + 1) * 2 * 5));
    assert_eq!(surge.lasts_s, Some(40.0 * 60.0));
    assert_eq!(levels(test(sonde, "lightning")), [500.0, 1e3, 2e3, 4e3]);
    let burst = test(sonde, "burst");
    assert_eq!(levels(burst), [250.0, 500.0, 1e3]);
    assert_eq!((burst.shots_each, burst.impulses_each), (Some(1), Some(15_000)));
    assert!((burst.interval_s.expect("a time") - 60.0).abs() < 1e-9);
    let esd = test(sonde, "esd");
    assert_eq!(levels(esd), [2e3, 4e3]);
    assert_eq!((esd.shots_each, esd.interval_s), (Some(10), Some(1.0)));
    // Both lines are points of their own: two levels powered and one unpowered.
    assert_eq!(esd.points.len(), 2);
    assert_eq!(esd.shots, Some((2 + 1) * 2 * 2 * 10));

    let (_, _, supply) = demo_plan("supply-24v");
    // Without an edition the list is not known by name, but no edition has a level below 0.5 kV.
    let line = test(supply, "surge-line");
    assert_eq!(levels(line), [500.0]);
    assert_eq!(line.steps[0].name, None);
    assert_eq!(levels(test(supply, "burst")), [500.0, 1e3, 2e3]);
    let (_, _, camera) = demo_plan("camera-poe");
    assert_eq!(levels(test(camera, "esd")), [2e3, 4e3, 6e3, 8e3]);
    assert_eq!(levels(test(camera, "surge")), [500.0, 1e3, 2e3]);
    let (_, _, usb) = demo_plan("service-usb-c");
    assert_eq!(levels(test(usb, "esd-air")), [2e3, 4e3, 8e3, 15e3]);
    let charger = test(usb, "charger-surge");
    assert_eq!((levels(charger), charger.unit), (vec![25.0], "A"));
    assert_eq!(charger.connector_probe_v, None);
    assert!(
        usb.missing
            .iter()
            .any(|line| line.contains("charger-surge: open-circuit voltage"))
    );
}

#[test]
fn alternating_supplies_are_shot_at_four_phase_angles() {
    let (_, study, heater) = demo_plan("heater-24vac");
    let crest_v = study
        .port
        .working_v
        .as_ref()
        .expect("a working voltage")
        .value
        .high;
    let surge = test(heater, "surge-line");
    assert_eq!(surge.phases_deg, [0.0, 90.0, 180.0, 270.0]);
    for (degrees, share) in [(0.0, 0.0), (90.0, 1.0), (180.0, 0.0), (270.0, -1.0)] {
        let at: Vec<&ShotGroup> = surge
            .groups
            .iter()
            .filter(|group| group.phase_deg == Some(degrees))
            .collect();
        assert_eq!(at.len(), 2, "{degrees}");
        assert!(
            at.iter().all(|group| group.supply_v == Some(share * crest_v)),
            "{degrees}"
        );
    }
    // Four angles and unpowered, two polarities, five shots.
    assert_eq!(surge.shots, Some((4 + 1) * 2 * 5));
    let burst = test(heater, "burst");
    assert!(burst.phases_deg.is_empty());
    for group in burst.groups.iter().filter(|group| group.supply_v.is_some()) {
        let sign = if group.polarity == Polarity::Positive {
            1.0
        } else {
            -1.0
        };
        assert_eq!(
            group.supply_v,
            Some(sign * crest_v),
            "the crest that adds to the pulse"
        );
    }
    let (_, _, supply) = demo_plan("supply-24v");
    assert!(supply.tests.iter().all(|test| test.phases_deg.is_empty()));
}

#[test]
fn the_second_line_of_a_pair_is_predicted_by_exchange() {
    let (_, _, sonde) = demo_plan("sonde-rs485");
    let groups = &test(sonde, "esd").groups;
    let at =
        |point: &str| -> Vec<&ShotGroup> { groups.iter().filter(|group| group.point == point).collect() };
    let (first, second) = (at("line 1"), at("line 2"));
    assert_eq!(first.len(), second.len());
    // The ladder is the same in both lines, so each sees what the other saw; that between them turns round.
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-3 * a.abs().max(1.0);
    for (one, two) in first.iter().zip(&second) {
        for (here, there) in [
            ("pin 1 voltage", "pin 2 voltage"),
            ("D1 (line 1) current", "D1 (line 2) current"),
        ] {
            let (a, b) = (reading(one, here), reading(two, there));
            assert!(close(a.peak.typical, b.peak.typical), "{a:?} against {b:?}");
        }
        let (a, b) = (
            reading(one, "pin 1 to pin 2 voltage"),
            reading(two, "pin 1 to pin 2 voltage"),
        );
        assert!(close(a.peak.typical, -b.peak.typical), "{a:?} against {b:?}");
        assert!(
            reading(one, "pin 1 voltage").peak.typical.abs()
                > 1.2 * reading(one, "pin 2 voltage").peak.typical.abs()
        );
    }
}

#[test]
fn a_tube_that_fires_with_some_parts_only_is_told() {
    let (_, _, sonde) = demo_plan("sonde-rs485");
    let surge = test(sonde, "surge");
    let told: Vec<&ShotGroup> = surge
        .groups
        .iter()
        .filter(|group| !group.differs.is_empty())
        .collect();
    assert!(!told.is_empty());
    for group in told {
        let current = reading(group, "G1 (line 1) current");
        let ends = [current.peak.low.abs(), current.peak.high.abs()];
        assert!(
            ends.iter().any(|amps| *amps < 0.1) && ends.iter().any(|amps| *amps > 1.0),
            "{current:?}"
        );
    }
    assert!(surge.notes.iter().any(|note| note.text.contains("blind spot")));
}

#[test]
fn what_is_not_known_is_said() {
    // No number of shots, no interval, no levels: ISO 10605 was not at hand.
    let vehicle = "standard = \"ISO 10605\"\nlevel = \"8 kV\"\ndischarge = \"contact\"\nstorage = \"330 pF\"\ndischarge_resistance = \"2 kΩ\"\npolarity = \"both\"\ncriterion = \"A\"";
    let surge =
        "standard = \"IEC 61000-4-5\"\nlevel = \"500 V\"\ncoupling = \"line-earth\"\npolarity = \"both\"";
    let plan_of = |changes: &[(&str, &str)]| planned(&common::study(changes));
    let plan = plan_of(&[(surge, vehicle)]);
    let only = &plan.tests[0];
    assert_eq!(
        (plan.shots, plan.lasts_s, only.shots_each, only.interval_s),
        (None, None, None, None)
    );
    assert!(
        plan.missing.iter().any(|line| line.contains("`pulses`")),
        "{:?}",
        plan.missing
    );
    assert!(
        plan.missing.iter().any(|line| line.contains("`interval`")),
        "{:?}",
        plan.missing
    );
    assert!(
        only.criterion.starts_with("A: normal performance"),
        "{}",
        only.criterion
    );
    assert!(!plan.missing.iter().any(|line| line.contains("criterion")));
    // Without the criterion it is to be agreed.
    let plan = plan_of(&[]);
    assert_eq!(plan.tests[0].criterion, "to be agreed");
    assert!(
        plan.missing
            .iter()
            .any(|line| line.contains("acceptance criterion of surge"))
    );
    // The user's own words stay.
    let plan = plan_of(&[(
        "polarity = \"both\"",
        "polarity = \"both\"\ncriterion = \"no reset\"",
    )]);
    assert_eq!(plan.tests[0].criterion, "no reset");
    // A part without the datum that its model needs gives no prediction, and says which.
    let plan = plan_of(&[(
        "breakdown = { min = \"36 V\", max = \"40 V\", at = \"1 mA\" }\n",
        "",
    )]);
    for group in &plan.tests[0].groups {
        assert!(group.readings.is_empty());
        assert!(
            group
                .missing
                .as_ref()
                .is_some_and(|missing| missing.contains("hazel-33")),
            "{:?}",
            group.missing
        );
    }
    assert!(plan.missing.iter().any(|line| line.contains("no prediction")));
    assert!(plan.shots.is_some(), "the shots are known all the same");
    // No leakage limit from the part: unknown, with what to provide.
    let plan = plan_of(&[(
        "leakage = [{ voltage = \"33 V\", temperature = \"25 °C\", current = \"1 µA\" }]\n",
        "",
    )]);
    let leakage = plan
        .health
        .iter()
        .find(|check| check.quantity.starts_with("leakage"))
        .expect("leakage is measured");
    assert_eq!(leakage.highest, None);
    assert!(
        plan.missing
            .iter()
            .any(|line| line.contains("leakage of `hazel-33`")),
        "{:?}",
        plan.missing
    );
}

#[test]
fn health_limits_are_the_parts_data() {
    let plan = planned(&common::study(&[]));
    let of = |start: &str| {
        plan.health
            .iter()
            .find(|check| check.quantity.starts_with(start))
            .expect(start)
    };
    assert_eq!(of("leakage at 30 V").highest, Some(1e-6));
    let breakdown = of("breakdown voltage at 1 mA");
    assert_eq!((breakdown.lowest, breakdown.highest), (Some(36.0), Some(40.0)));
}

/// Stresses beside those of the demo, as a study says them.
const OTHERS: [(&str, &str); 15] = [
    (
        "discharge, air",
        "standard = \"IEC 61000-4-2\"\nlevel = \"15 kV\"\ndischarge = \"air\"",
    ),
    ("human body", "standard = \"HBM\"\nlevel = \"2 kV\""),
    (
        "line pulse",
        "standard = \"TLP\"\ncurrent = \"16 A\"\nwidth = \"100 ns\"\nrise = \"10 ns\"",
    ),
    (
        "burst, direct",
        "standard = \"IEC 61000-4-4\"\nlevel = \"2 kV\"\ncoupling = \"direct\"\nrepetition = \"5 kHz\"",
    ),
    (
        "surge, direct",
        "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"direct\"",
    ),
    (
        "surge, line to line",
        "standard = \"IEC 61000-4-5\"\nlevel = \"2 kV\"\ncoupling = \"line-line\"\nedition = \"3\"",
    ),
    (
        "surge, shield",
        "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"shield\"",
    ),
    (
        "10/700",
        "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"telecom-direct\"\nwires = 1",
    ),
    (
        "10605 metal",
        "standard = \"ISO 10605\"\nlevel = \"8 kV\"\ndischarge = \"contact\"\nstorage = \"150 pF\"\ndischarge_resistance = \"330 Ω\"",
    ),
    (
        "10605 inside",
        "standard = \"ISO 10605\"\nlevel = \"8 kV\"\ndischarge = \"contact\"\nstorage = \"330 pF\"\ndischarge_resistance = \"330 Ω\"",
    ),
    (
        "10605 skin",
        "standard = \"ISO 10605\"\nlevel = \"8 kV\"\ndischarge = \"contact\"\nstorage = \"150 pF\"\ndischarge_resistance = \"2 kΩ\"",
    ),
    (
        "10605 skin inside",
        "standard = \"ISO 10605\"\nlevel = \"8 kV\"\ndischarge = \"contact\"\nstorage = \"330 pF\"\ndischarge_resistance = \"2 kΩ\"",
    ),
    (
        "signal, capacitor",
        "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"line-earth-capacitor\"",
    ),
    (
        "signal, arrester",
        "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"line-earth-arrester\"",
    ),
    (
        "impulse",
        "standard = \"impulse\"\nlevel = \"1 kV\"\nfront = \"1.2 µs\"\ntail = \"50 µs\"\nsource_resistance = \"42 Ω\"\npulses = 5\ninterval = \"1 min\"",
    ),
];

#[test]
fn generators_are_verified_inside_the_limits_of_their_standards() {
    let surge = "standard = \"IEC 61000-4-5\"\nlevel = \"500 V\"\ncoupling = \"line-earth\"";
    for (name, text) in OTHERS {
        let plan = planned(&common::study(&[(surge, text)]));
        let only = &plan.tests[0];
        assert!(!only.verification.is_empty(), "{name}");
        for row in &only.verification {
            assert!(row.computed.is_some_and(|value| value > 0.0), "{name}: {row:?}");
            assert_ne!(row.inside, Some(false), "{name}: {row:?}");
        }
        // A tolerance is known for all of these but the impulse of the study's own and the line pulse.
        let known = only.verification.iter().any(|row| row.inside == Some(true));
        assert_eq!(known, !matches!(name, "impulse" | "line pulse"), "{name}");
        assert!(
            only.groups.iter().all(|group| group.missing.is_none()),
            "{name}: {:?}",
            plan.missing
        );
    }
}

#[test]
fn a_verification_can_fail() {
    // Set D18 is made for the output through 18 µF; at the bare output its current is too long and too large.
    let text = "standard = \"IEC 61000-4-5\"\nlevel = \"1 kV\"\ncoupling = \"direct\"\nmodel = \"D18\"";
    let surge = "standard = \"IEC 61000-4-5\"\nlevel = \"500 V\"\ncoupling = \"line-earth\"";
    let plan = planned(&common::study(&[(surge, text)]));
    let outside: Vec<&str> = plan.tests[0]
        .verification
        .iter()
        .filter(|row| row.inside == Some(false))
        .map(|row| row.quantity)
        .collect();
    assert!(outside.contains(&"peak current"), "{outside:?}");
    let connector = plan.tests[0].groups[0]
        .readings
        .iter()
        .find(|reading| reading.kind == PlaceKind::Connector);
    assert!(connector.is_some());
}

/// Standards whose verification is open circuit and short circuit, in words of a study.
const PLAIN: [&str; 12] = [
    "standard = \"IEC 61000-4-12\"\nlevel = \"1 kV\"\ncoupling = \"line-earth\"\nsource_resistance = \"12 Ω\"",
    "standard = \"ISO 7637-2\"\npulse = \"1\"\nsystem = \"12 V\"\nlevel_name = \"IV\"\nedition = \"2011\"",
    "standard = \"ISO 7637-2\"\npulse = \"2a\"\nsystem = \"12 V\"\nlevel_name = \"IV\"\nedition = \"2011\"",
    "standard = \"ISO 7637-2\"\npulse = \"3b\"\nsystem = \"12 V\"\nlevel_name = \"IV\"\nedition = \"2011\"",
    "standard = \"ISO 16750-2\"\npulse = \"A\"\nsystem = \"12 V\"\nlevel = \"90 V\"\nsource_resistance = \"4 Ω\"\nwidth = \"200 ms\"",
    "standard = \"ISO 16750-2\"\npulse = \"B\"\nsystem = \"12 V\"\nlevel = \"90 V\"\nsource_resistance = \"4 Ω\"\nwidth = \"200 ms\"",
    "standard = \"ITU-T K.20\"\nlevel_name = \"inherent basic\"\ncoupling = \"transverse\"",
    "standard = \"ITU-T K.45\"\nlevel = \"1.5 kV\"\ncoupling = \"port-earth\"",
    "standard = \"GR-1089\"\nlevel_name = \"first-level 3\"\ncoupling = \"longitudinal\"",
    "standard = \"TIA-968\"\nlevel_name = \"A metallic\"",
    "standard = \"DO-160\"\npulse = \"WF4\"\nlevel_name = \"3\"",
    "standard = \"impulse\"\ncurrent = \"10 A\"\nfront = \"8 µs\"\ntail = \"20 µs\"",
];

#[test]
fn every_other_standard_makes_a_plan_and_says_what_it_does_not_know() {
    let surge =
        "standard = \"IEC 61000-4-5\"\nlevel = \"500 V\"\ncoupling = \"line-earth\"\npolarity = \"both\"";
    for text in PLAIN {
        let plan = planned(&common::study(&[(surge, text)]));
        let only = &plan.tests[0];
        assert_eq!(
            only.shots.is_none(),
            plan.missing.iter().any(|line| line.contains("`pulses`")),
            "{text}"
        );
        assert_eq!(
            only.interval_s.is_none(),
            plan.missing.iter().any(|line| line.contains("`interval`")),
            "{text}"
        );
        for group in &only.groups {
            assert_ne!(
                group.readings.is_empty(),
                group.missing.is_none(),
                "{text}: {:?}",
                group.missing
            );
        }
        for row in only
            .verification
            .iter()
            .filter(|row| row.quantity.starts_with("peak"))
        {
            assert!(row.computed.is_some(), "{text}: {row:?}");
            assert_ne!(row.inside, Some(false), "{text}: {row:?}");
        }
    }
}

#[test]
fn a_plan_of_the_required_levels_is_that_part_of_the_whole() {
    let (_, study, whole) = demo_plan("camera-poe");
    let short = plan_to(study, Extent::RequiredLevels, &Options::default(), &|_, _| {});
    assert_eq!((short.shots, short.lasts_s), (whole.shots, whole.lasts_s));
    let mut left_out = 0;
    for (short, whole) in short.tests.iter().zip(&whole.tests) {
        let (required, others): (Vec<_>, Vec<_>) =
            whole.groups.iter().partition(|group| group.level == whole.level);
        assert!(!required.is_empty());
        assert_eq!(short.groups.iter().collect::<Vec<_>>(), required);
        assert_eq!(short.shots, whole.shots);
        left_out += others.len();
    }
    assert!(left_out > 0, "the whole plan has lower levels");
}
