//! Published selections of a protector, posed as rankings over a small library: the published part comes out, or the
//! corner says why not.
//!
//! Sources: automotive ideal-diode controller datasheet, protector selection for a 12 V system, its part's clamping point
//! quoted in a support thread; ideal-diode controller datasheets, 24 V systems (2020 and 2023); "How to Select a Low
//! Voltage DC MOV" (2015). The neighbours of the published parts are the usual 600 W class on 10/1000 (from memory).

use std::sync::Arc;

use tidewall_assess::rank::{Candidate, CheckLine, Order, Position, RankOptions, Ranking, Standing, rank};
use tidewall_assess::result::Verdict;
use tidewall_devices::datasheet::Datasheet;
use tidewall_study::{NoFiles, read_parts, read_text};

/// Stand-off, least and largest breakdown in volts, current in amperes and clamping voltage in volts on 10/1000.
const CLASS: [[f64; 5]; 7] = [
    [24.0, 26.7, 29.5, 15.4, 38.9],
    [26.0, 28.9, 31.9, 14.25, 42.1],
    [28.0, 31.1, 34.4, 13.2, 45.4],
    [30.0, 33.3, 36.8, 12.4, 48.4],
    [33.0, 36.7, 40.7, 11.3, 53.3],
    [36.0, 40.0, 44.2, 10.3, 58.1],
    [58.0, 64.4, 71.2, 6.4, 93.6],
];

fn avalanche_parts() -> String {
    let part = |[stand_off, min, max, amps, clamp]: [f64; 5]| {
        format!(
            r#"
[[part]]
name = "{stand_off} V"
family = "avalanche"
kind = "guaranteed"
source = "600 W class"
bidirectional = true
stand_off = "{stand_off} V"
breakdown = {{ min = "{min} V", max = "{max} V", at = "1 mA" }}
clamp = [{{ wave = "10/1000", current = "{amps} A", max = "{clamp} V" }}]
rating = [{{ wave = "10/1000", power = "600 W" }}]
temperature_coefficient = "0.1 %/K"
junction_max = "150 °C"
thermal_resistance = "50 K/W"
leakage = [{{ voltage = "{stand_off} V", temperature = "25 °C", current = "1 µA" }}]
capacitance = [{{ bias = "0 V", typ = "2 nF" }}]
"#
        )
    };
    CLASS.map(part).concat()
}

/// A vehicle supply with pulse 1 and a negative limit at the controller.
fn vehicle(level: &str, system: &str, normal: &str, abnormal: &str, limit: &str) -> String {
    format!(
        r#"
title = "Published selection"
[port]
lines = 1
kind = "dc"
working = "9 V to 16 V"
must_not_conduct = "{normal}"
abnormal = {abnormal}
ambient = "24 °C to 26 °C"
leakage_limit = "1 mA"
[[stress]]
id = "pulse-1"
standard = "ISO 7637-2"
pulse = "1"
system = "{system}"
edition = "2011"
level = "{level}"
[[ladder]]
series = {{ resistance = "1 mΩ", inductance = "5 nH" }}
[[ladder]]
name = "D1"
shunt = "33 V"
lead = "1 nH"
[pin]
name = "controller input"
withstand = [{{ voltage = "100 V", lasts = "any" }}]
negative_withstand = [{{ voltage = "-{limit}", lasts = "any" }}]
capacitance = "100 nF"
"#
    )
}

fn ranked(study: &str, parts: &str, order: Order) -> Ranking {
    let study =
        read_text("study.toml", &format!("{study}{parts}"), &NoFiles).unwrap_or_else(|e| panic!("{e}"));
    let entries = read_parts("parts.toml", parts, &NoFiles).unwrap_or_else(|e| panic!("{e}"));
    let parts: Vec<Arc<Datasheet>> = entries
        .into_iter()
        .map(|entry| Arc::new(entry.datasheet))
        .collect();
    let stage = study.ladder[1].name().to_owned();
    let position = Position::of_parts(&study, &stage, &parts).unwrap();
    let options = RankOptions {
        order,
        ..RankOptions::default()
    };
    rank(&study, &[position], &options).unwrap()
}

fn names(list: &[Candidate]) -> Vec<&str> {
    list.iter()
        .map(|candidate| candidate.placed[0].part.as_deref().unwrap())
        .collect()
}

fn check<'c>(candidate: &'c Candidate, name: &str) -> &'c CheckLine {
    match &candidate.standing {
        Standing::Ranked { checks, .. } => checks.iter().find(|check| check.check == name).unwrap(),
        Standing::Rejected { reason, .. } => panic!("rejected for {reason:?}"),
    }
}

fn reason<'r>(ranking: &'r Ranking, part: &str) -> &'r CheckLine {
    let mut rejected = ranking.rejected.iter();
    let candidate = rejected.find(|candidate| candidate.placed[0].part.as_deref() == Some(part));
    match &candidate
        .unwrap_or_else(|| panic!("{part} is not rejected"))
        .standing
    {
        Standing::Rejected { reason, .. } => reason,
        Standing::Ranked { .. } => panic!("{part} is ranked"),
    }
}

#[test]
fn the_twelve_volt_system_has_no_part_and_the_published_one_fails_at_its_corner() {
    // −150 V behind 10 Ω, limit 60 V − 16 V = 44 V; no conduction at 24 V jump start and 35 V suppressed load dump.
    let abnormal = r#"[{ level = "35 V", lasts = "400 ms", may_conduct = false }]"#;
    let study = vehicle("150 V", "12 V", "-20 V to 24 V", abnormal, "44 V");
    let ranking = ranked(&study, &avalanche_parts(), Order::InTurn);
    assert!(ranking.ranked.is_empty(), "{:?}", names(&ranking.ranked));
    // The published 33 V part: chosen on its least breakdown, it lets too much through at its largest.
    let published = reason(&ranking, "33 V");
    assert_eq!(published.check, "let-through-negative-voltage");
    let value = published.value.unwrap();
    // Static worst case of the published data: 51.7 V; the generator's +10 % and heating add to it.
    assert!((50.5..53.5).contains(&value), "{value}");
    // Every part that would hold 44 V conducts at the suppressed load dump.
    for part in ["24 V", "26 V", "28 V", "30 V"] {
        assert_eq!(reason(&ranking, part).check, "abnormal-level", "{part}");
    }
    // The nearest miss comes first.
    assert_eq!(names(&ranking.rejected)[0], "33 V");
}

#[test]
fn the_twenty_four_volt_system_cannot_do_with_one_part_for_both_sides() {
    // −600 V behind 50 Ω, limit 75 V − 32 V = 43 V; no conduction at 48 V jump start and 65 V suppressed load dump.
    let abnormal = r#"[{ level = "65 V", lasts = "400 ms", may_conduct = false }]"#;
    let study = vehicle("600 V", "24 V", "-26 V to 48 V", abnormal, "43 V");
    let ranking = ranked(&study, &avalanche_parts(), Order::InTurn);
    assert!(ranking.ranked.is_empty(), "{:?}", names(&ranking.ranked));
    // The 58 V part, published for the positive side, has its least breakdown of 64.4 V just below the load dump.
    assert_eq!(reason(&ranking, "58 V").check, "abnormal-level");
    assert_eq!(reason(&ranking, "26 V").check, "stand-off");
}

#[test]
fn the_negative_side_of_the_24_volt_system_takes_the_published_26_volt_part_alone() {
    // The line goes no lower than what the published part is meant to block.
    let study = vehicle("600 V", "24 V", "-26 V to 20 V", "[]", "43 V");
    let ranking = ranked(&study, &avalanche_parts(), Order::InTurn);
    assert_eq!(names(&ranking.ranked), ["26 V"]);
    // Static worst case of the published data: 11.2 A and 39.95 V against 43 V; the generator's tolerance adds to it.
    let let_through = check(&ranking.ranked[0], "let-through-negative-voltage");
    assert!(
        (38.5..43.0).contains(&let_through.value.unwrap()),
        "{let_through:?}"
    );
    assert_eq!(reason(&ranking, "24 V").check, "stand-off");
    // The next one: (600 V − 34.4 V) / 50.8 Ω = 11.1 A, 43.7 V.
    let next = reason(&ranking, "28 V");
    assert_eq!(next.check, "let-through-negative-voltage");
    assert!((43.0..46.0).contains(&next.value.unwrap()), "{next:?}");
}

#[test]
fn with_85_volts_the_published_28_volt_part_is_the_best() {
    // Limit 85 V − 32 V = 53 V.
    let study = vehicle("600 V", "24 V", "-28 V to 20 V", "[]", "53 V");
    let ranking = ranked(&study, &avalanche_parts(), Order::InTurn);
    assert_eq!(names(&ranking.ranked)[0], "28 V");
    assert_eq!(reason(&ranking, "26 V").check, "stand-off");
    assert_eq!(reason(&ranking, "36 V").check, "let-through-negative-voltage");
}

#[test]
fn the_varistor_for_a_24_volt_line_is_the_31_volt_rating() {
    // 24 V direct with 20 % high line is 28.8 V; 40 surges of 1 kA, 8/20 µs; the load stands 300 V. Voltages at 1 mA and
    // bulk are usual values (from memory).
    let part = |stand_off: f64, v_1ma: f64| {
        let (min, max) = (0.9 * v_1ma, 1.1 * v_1ma);
        format!(
            r#"
[[part]]
name = "{stand_off} V"
family = "varistor"
kind = "guaranteed"
source = "low-voltage varistors"
stand_off = "{stand_off} V"
breakdown = {{ min = "{min:.1} V", typ = "{v_1ma} V", max = "{max:.1} V", at = "1 mA" }}
exponent = 25
dynamic_resistance = "40 mΩ"
rating = [{{ wave = "8/20", current = "1.2 kA", pulses = 40 }}]
leakage = [{{ voltage = "{stand_off} V", temperature = "25 °C", current = "200 µA" }}]
junction_max = "125 °C"
derating_from = "85 °C"
power = "0.2 W"
capacitance = [{{ bias = "0 V", typ = "5 nF" }}]
"#
        )
    };
    let parts = [
        part(22.0, 27.0),
        part(26.0, 33.0),
        part(31.0, 39.0),
        part(38.0, 47.0),
        part(45.0, 56.0),
    ]
    .concat();
    let study = r#"
title = "Published selection of a varistor"
[port]
lines = 1
kind = "dc"
working = "20 V to 28.8 V"
must_not_conduct = "28.8 V"
abnormal = []
powered = "unpowered"
ambient = "25 °C"
leakage_limit = "1 mA"
[[stress]]
id = "surge"
standard = "impulse"
front = "8 µs"
tail = "20 µs"
current = "1 kA"
source_resistance = "2 Ω"
polarity = "positive"
pulses = 40
interval = "1 min"
[[ladder]]
series = { resistance = "5 mΩ", inductance = "10 nH" }
[[ladder]]
name = "V1"
shunt = "31 V"
lead = "5 nH"
[pin]
name = "load"
withstand = [{ voltage = "300 V", lasts = "any" }]
negative_withstand = [{ voltage = "-300 V", lasts = "any" }]
capacitance = "100 nF"
"#;
    // The published rule is the lowest rating that clears the line, that is the lowest let-through of those that do. (By
    // the worst margin a higher rating would come first: it takes a little less of the surge current.)
    let order = Order::Weighted {
        margin: 0.0,
        let_through: 1.0,
        area: 0.0,
        cost: 0.0,
        capacitance: 0.0,
    };
    let ranking = ranked(study, &parts, order);
    assert!(!ranking.ranked.is_empty(), "{:?}", ranking.rejected);
    for part in ["22 V", "26 V"] {
        assert_eq!(reason(&ranking, part).check, "stand-off", "{part}");
    }
    assert_eq!(names(&ranking.ranked)[0], "31 V");
    let let_through = check(&ranking.ranked[0], "let-through-voltage");
    assert!(let_through.value.unwrap() < 300.0, "{let_through:?}");
    assert!(check(&ranking.ranked[0], "surge-current").verdict < Verdict::Unknown);
}
