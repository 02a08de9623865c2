//! The port profiles: complete, marked, and agreeing with what the trade chooses.

mod common;

use std::collections::BTreeSet;

use common::{Memory, PARTS};
use tidewall_study::profile::{self, Profile, WantedStandOff, wanted_stand_off};
use tidewall_study::template::{PLACEHOLDER, new_study};
use tidewall_study::{Mark, NoFiles, Origin, read_text};

fn find(key: &str) -> &'static Profile {
    profile::profile(key).unwrap_or_else(|| panic!("{key}"))
}

fn ends(wanted: &WantedStandOff) -> (f64, f64) {
    let range = wanted.positive.as_ref().expect("a positive side");
    (range.low_v, range.high_v)
}

#[test]
fn there_are_forty_five_profiles_with_keys_of_their_own() {
    let profiles = profile::load().unwrap_or_else(|error| panic!("{error}"));
    let numbers: Vec<u32> = profiles.iter().map(|profile| profile.number).collect();
    assert_eq!(numbers, (1..=45).collect::<Vec<u32>>());
    let keys: BTreeSet<&str> = profiles.iter().map(|profile| profile.key.as_str()).collect();
    assert_eq!(keys.len(), 45);
}

#[test]
fn every_profile_has_the_levels_that_decide() {
    for profile in profile::profiles() {
        let key = &profile.key;
        let limits = if profile.between_lines {
            &profile.must_not_conduct_between_v
        } else {
            &profile.must_not_conduct_v
        };
        let limits = limits
            .as_ref()
            .unwrap_or_else(|| panic!("{key}: must not conduct"));
        assert!(
            limits.value.low <= 0.0 && limits.value.high >= 0.0 && limits.value.low < limits.value.high,
            "{key}"
        );
        if let Some(working) = &profile.working_v {
            assert!(working.value.high <= limits.value.high * (1.0 + 1e-3), "{key}");
        }
        assert!(!profile.stresses.is_empty() && !profile.title.is_empty(), "{key}");
        assert!(profile.leakage_limit_a.is_some(), "{key}");
        // A value read or derived says where or how; the reader refuses it otherwise.
        assert!(
            !profile.usual_choice.value.is_empty() && !profile.survives.value.is_empty(),
            "{key}"
        );
    }
}

#[test]
fn every_usual_stress_is_one_the_catalogue_knows_and_every_template_reads() {
    for profile in profile::profiles() {
        let key = &profile.key;
        let text = new_study(key).unwrap_or_else(|| panic!("{key}"));
        // As written, the one fault is the part that is still to be chosen.
        let error = read_text("new.toml", &text, &NoFiles).expect_err("the part is missing");
        assert!(error.message.contains(PLACEHOLDER), "{key}: {error}");
        assert!(
            text.lines()
                .nth(error.line - 1)
                .is_some_and(|line| line.contains("FILL IN")),
            "{key}: {error}"
        );
        // With the part filled in it reads, and its values are the profile's.
        let filled = text.replace(PLACEHOLDER, "alder-33");
        let files = Memory::default().with("parts.toml", PARTS);
        let study = read_text("new.toml", &filled, &files).unwrap_or_else(|error| panic!("{key}: {error}"));
        assert_eq!(study.stresses.len(), profile.stresses.len(), "{key}");
        assert_eq!(study.port.abnormal.len(), profile.abnormal.len(), "{key}");
        let origin = study.port.polarity.as_ref().map(|valued| &valued.origin);
        assert!(
            matches!(origin, Some(Origin::Profile { key: from, .. }) if from == key),
            "{key}"
        );
    }
}

/// The comments of a template are what the profile says: with every override uncommented it still reads, to
/// the same values within the four digits that are written.
#[test]
fn the_overrides_of_a_template_give_the_profile_back() {
    let keys = [
        "working",
        "working_rms",
        "frequency",
        "must_not_conduct",
        "must_not_conduct_between",
        "abnormal",
        "source_current",
        "source_resistance",
        "capacitance_limit",
        "capacitance_matching",
        "leakage_limit",
        "powered",
        "  {",
        "]",
    ];
    for profile in profile::profiles() {
        let key = &profile.key;
        let text = new_study(key)
            .unwrap_or_else(|| panic!("{key}"))
            .replace(PLACEHOLDER, "alder-33");
        let uncommented: String = text
            .lines()
            .map(|line| {
                let rest = line
                    .strip_prefix("# ")
                    .filter(|rest| keys.iter().any(|key| rest.starts_with(key)));
                // The pin's comments come later and hold other keys.
                format!("{}\n", rest.unwrap_or(line))
            })
            .collect();
        let files = Memory::default().with("parts.toml", PARTS);
        let read =
            |text: &str| read_text("new.toml", text, &files).unwrap_or_else(|error| panic!("{key}: {error}"));
        let (plain, open) = (read(&text), read(&uncommented));
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-3 * b.abs() || a == b;
        assert_eq!(plain.port.abnormal.len(), open.port.abnormal.len(), "{key}");
        for (a, b) in plain.port.abnormal.iter().zip(&open.port.abnormal) {
            assert!(
                near(a.value.level_v, b.value.level_v) && near(a.value.lasts_s, b.value.lasts_s),
                "{key}"
            );
            assert_eq!(
                (a.value.across, a.value.may_conduct),
                (b.value.across, b.value.may_conduct),
                "{key}"
            );
            assert!(matches!(b.origin, Origin::Study { .. }), "{key}");
        }
        for (a, b) in [
            (&plain.port.working_v, &open.port.working_v),
            (&plain.port.must_not_conduct_v, &open.port.must_not_conduct_v),
            (
                &plain.port.must_not_conduct_between_v,
                &open.port.must_not_conduct_between_v,
            ),
        ] {
            match (a, b) {
                (None, None) => {}
                (Some(a), Some(b)) => {
                    assert!(
                        near(a.value.low, b.value.low) && near(a.value.high, b.value.high),
                        "{key}"
                    );
                    assert!(matches!(b.origin, Origin::Study { .. }), "{key}");
                }
                _ => panic!("{key}"),
            }
        }
        for (a, b) in [
            (&plain.port.source_a, &open.port.source_a),
            (&plain.port.capacitance_limit_f, &open.port.capacitance_limit_f),
            (&plain.port.leakage_limit_a, &open.port.leakage_limit_a),
            (&plain.port.frequency_hz, &open.port.frequency_hz),
        ] {
            assert_eq!(a.is_some(), b.is_some(), "{key}");
            if let (Some(a), Some(b)) = (a, b) {
                assert!(near(a.value, b.value), "{key}");
            }
        }
    }
}

/// Common practice, no source: USB-C 20 V → 22 V to 24 V, IO-Link → 33 V to 36 V, 24 V AC → 43 V to 45 V,
/// Power over Ethernet → 58 V.
#[test]
fn the_wanted_stand_off_is_what_the_trade_chooses() {
    for (key, low, high) in [
        ("usb-c-vbus-spr", 22.0, 24.0),
        ("io-link-supply", 33.0, 36.0),
        ("supply-24vac", 43.0, 45.0),
        ("poe-pd", 58.0, 58.0),
    ] {
        let wanted = wanted_stand_off(find(key), -40.0).unwrap_or_else(|| panic!("{key}"));
        assert_eq!(ends(&wanted), (low, high), "{key}: {:#?}", wanted.reasons);
    }
}

/// Ports where the trade stands off higher than the levels ask for, with the reason as far as it is known
/// (common practice, no source).
const HIGHER: &[(&str, &str)] = &[
    (
        "ethernet-line",
        "3.3 V parts are the common ones; 2.5 V would do for the signal",
    ),
    ("podl", "one step of headroom above 30 V"),
    ("rtd-thermocouple", "chosen with a view to 24 V miswired"),
    (
        "audio-jack",
        "5 V parts are the common ones, and 5 V may be plugged in by mistake",
    ),
    (
        "railway-110v",
        "stand-off itself above 1.4 times nominal, where breakdown in the cold would do",
    ),
];

/// The usual choices of the list of port kinds, all common practice or read in the source named there: the
/// computed range meets each, but for the ports where the trade is known to stand off higher. Ports where the
/// choice is no stand-off voltage (varistors, the driver's own clamp) have none.
#[test]
fn the_wanted_stand_off_meets_the_usual_choice_of_every_port() {
    let mut compared = 0;
    for profile in profile::profiles() {
        let Some(usual) = &profile.usual_stand_off_v else {
            continue;
        };
        let wanted = wanted_stand_off(profile, -40.0).unwrap_or_else(|| panic!("{}", profile.key));
        // Of two sides the one that asks for more is the one a symmetrical part is chosen by.
        let sides = || wanted.positive.iter().chain(&wanted.negative);
        let low = sides().map(|side| side.low_v).fold(0.0, f64::max);
        let high = sides().map(|side| side.high_v).fold(0.0, f64::max);
        let told = format!(
            "{}: computed {low} V to {high} V, usual {} V to {} V: {:#?}",
            profile.key, usual.value.low, usual.value.high, wanted.reasons
        );
        if HIGHER.iter().any(|(key, _)| *key == profile.key) {
            assert!(high < usual.value.low, "no longer an exception: {told}");
        } else {
            assert!(low <= usual.value.high && usual.value.low <= high, "{told}");
            compared += 1;
        }
    }
    assert!(compared >= 32, "{compared}");
}

/// The worked example of a 24 V supply: breakdown of a 33 V part falls to 34.3 V at −40 °C, below 35 V.
#[test]
fn a_33_v_part_is_enough_at_25_degrees_but_not_in_the_cold() {
    let warm = wanted_stand_off(find("supply-24vdc"), 25.0).expect("computed");
    assert_eq!(ends(&warm), (33.0, 33.0));
    let cold = wanted_stand_off(find("supply-24vdc"), -40.0).expect("computed");
    assert_eq!(ends(&cold), (33.0, 36.0));
}

/// The rule follows the levels: it is no table of answers.
#[test]
fn the_wanted_stand_off_follows_the_levels() {
    let mut profile = find("poe-pd").clone();
    for (factor, expected) in [(0.5, 30.0), (1.2, 70.0), (2.0, 120.0)] {
        let mut scaled = profile.clone();
        if let Some(limits) = &mut scaled.must_not_conduct_v {
            limits.value.low *= factor;
            limits.value.high *= factor;
        }
        for level in &mut scaled.abnormal {
            level.value.level_v *= factor;
        }
        let wanted = wanted_stand_off(&scaled, -40.0).expect("computed");
        assert_eq!(ends(&wanted).0, expected, "{factor}: {:#?}", wanted.reasons);
    }
    profile.abnormal.clear();
    profile.must_not_conduct_v = None;
    assert_eq!(wanted_stand_off(&profile, -40.0), None);
}

#[test]
fn the_marks_are_those_of_the_sources() {
    let supply = find("supply-24vdc");
    let limits = supply.must_not_conduct_v.as_ref().expect("a level");
    assert_eq!((limits.value.high, limits.mark), (30.2, Mark::Seen));
    assert!(limits.source.contains("EN 61131-2"));
    assert_eq!(
        find("supply-24vac")
            .must_not_conduct_v
            .as_ref()
            .map(|level| level.mark),
        Some(Mark::Derived)
    );
    assert_eq!(
        find("rs-485").must_not_conduct_v.as_ref().map(|level| level.mark),
        Some(Mark::Memory)
    );
    assert_eq!(find("poe-pd").usual_choice.mark, Mark::CommonPractice);
    for mark in [Mark::Seen, Mark::Memory, Mark::Derived, Mark::CommonPractice] {
        let used = profile::profiles().iter().any(|profile| {
            profile
                .leakage_limit_a
                .as_ref()
                .is_some_and(|value| value.mark == mark)
                || profile.polarity.mark == mark
                || profile.usual_choice.mark == mark
        });
        assert!(used, "{mark:?}");
    }
}

/// Derived values are the formula's: amplitudes of alternating voltages and the capacitance of a return loss.
#[test]
fn derived_values_follow_their_formula() {
    let amplitude = |rms: f64| std::f64::consts::SQRT_2 * rms;
    for (key, level_v) in [
        ("supply-24vac", amplitude(24.0 * 1.2)),
        ("mains-120v", amplitude(132.0)),
        ("mains-230v", amplitude(253.0)),
        ("relay-output", amplitude(264.0)),
        ("telephone-line", 56.5 + amplitude(105.0)),
    ] {
        let profile = find(key);
        let limits = profile.must_not_conduct_v.as_ref().expect("a level").value;
        assert!(
            (limits.high - level_v).abs() < 0.1,
            "{key}: {} against {level_v}",
            limits.high
        );
    }
    let capacitance = |return_loss_db: f64, hertz: f64, ohms: f64| {
        2.0 * 10_f64.powf(-return_loss_db / 20.0) / (2.0 * std::f64::consts::PI * hertz * ohms)
    };
    for (key, farads) in [
        ("usb2-data", 2.0 * capacitance(20.0, 240e6, 90.0)),
        ("antenna-receive", capacitance(20.0, 1575e6, 50.0)),
        ("antenna-transmit", capacitance(20.0, 2450e6, 50.0)),
        ("hdmi-tmds", 2.0 * capacitance(15.0, 1.7e9, 100.0)),
    ] {
        let limit = find(key).capacitance_limit_f.as_ref().expect("a limit").value;
        assert!(
            (limit / farads - 1.0).abs() < 0.03,
            "{key}: {limit} against {farads}"
        );
    }
}
