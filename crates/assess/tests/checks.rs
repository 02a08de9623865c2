//! Each check on a study that differs from a sound one in the single thing the check looks at. All parts are invented.

use tidewall_assess::assess;
use tidewall_assess::explain::ALL;
use tidewall_assess::result::{Assessment, CheckResult, Verdict};
use tidewall_study::{NoFiles, read_text};
use tidewall_transient::Options;

const SOUND: &str = r#"
title = "Sound inlet"

[port]
lines = 1
kind = "dc"
working = "20 V to 28 V"
must_not_conduct = "30 V"
abnormal = [{ level = "32 V", lasts = "500 ms" }]
source_resistance = "2 Ω"
ambient = "-20 °C to 60 °C"
leakage_limit = "100 µA"

[[stress]]
id = "surge"
standard = "IEC 61000-4-5"
level = "500 V"
coupling = "line-earth"
polarity = "both"

[[ladder]]
name = "S1"
series = { resistance = "20 mΩ", inductance = "15 nH" }

[[ladder]]
name = "D1"
shunt = "hazel-33"
lead = "2 nH"

[[ladder]]
series = { inductance = "10 nH" }

[pin]
name = "converter"
withstand = [{ voltage = "80 V", lasts = "any" }]
negative_withstand = [{ voltage = "-10 V", lasts = "any" }]
capacitance = "1 µF"
esr = "20 mΩ"

[[part]]
name = "hazel-33"
family = "avalanche"
kind = "invented"
source = "invented for this test"
bidirectional = false
stand_off = "33 V"
breakdown = { min = "36.7 V", max = "40.6 V", at = "1 mA" }
clamp = [{ wave = "10/1000", current = "28.2 A", max = "53.3 V" }]
rating = [{ wave = "10/1000", power = "1.5 kW" }]
temperature_coefficient = "0.098 %/K"
leakage = [{ voltage = "33 V", temperature = "25 °C", current = "1 µA" }]
capacitance = [{ bias = "0 V", min = "1.5 nF", typ = "2 nF", max = "2.5 nF" }]
forward = { voltage = "3.5 V", at = "100 A" }
junction_max = "175 °C"
thermal_resistance = "75 K/W"
"#;

fn judge(text: &str) -> Assessment {
    let study = read_text("study.toml", text, &NoFiles).unwrap_or_else(|error| panic!("{error}"));
    assess(&study, &Options::default(), &|_, _| {})
}

/// The sound study with replacements, each of which must find something to replace.
fn with(changes: &[(&str, &str)]) -> Assessment {
    let mut text = SOUND.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "nothing to replace: {from}");
        text = text.replace(from, to);
    }
    judge(&text)
}

fn find<'a>(assessment: &'a Assessment, check: &str) -> &'a CheckResult {
    let found = assessment.checks.iter().find(|result| result.check == check);
    found.unwrap_or_else(|| panic!("no check `{check}`"))
}

fn verdict_of(assessment: &Assessment, check: &str) -> Verdict {
    find(assessment, check).verdict
}

#[test]
fn the_sound_study_passes_everything() {
    let result = with(&[]);
    let bad: Vec<&CheckResult> = result
        .checks
        .iter()
        .filter(|check| check.verdict != Verdict::Pass)
        .collect();
    assert!(bad.is_empty(), "{bad:#?}");
    assert_eq!(result.verdict, Verdict::Pass);
    // Two ambients, two part corners, two tolerances, two polarities; unpowered and both ends of the range.
    assert_eq!(result.transients.len(), 2 * 2 * 2 * 2 * 3);
    assert!(
        result
            .transients
            .iter()
            .all(|transient| transient.audit.residual < 1e-3)
    );
}

#[test]
fn every_check_has_an_explanation() {
    for check in with(&[]).checks {
        assert!(
            ALL.iter().any(|explanation| explanation.check == check.check),
            "{}",
            check.check
        );
    }
}

#[test]
fn stand_off_and_breakdown_in_the_cold() {
    let result = with(&[("must_not_conduct = \"30 V\"", "must_not_conduct = \"34 V\"")]);
    assert_eq!(verdict_of(&result, "stand-off"), Verdict::Fail);
    // 36.7 V (1 + 0.00098 (−20 − 25)) = 35.08 V still blocks 34 V.
    let cold = find(&result, "cold-breakdown");
    assert!((cold.value.unwrap() - 35.0815).abs() < 1e-3, "{cold:?}");
    assert_eq!(cold.verdict, Verdict::Pass);
    let result = with(&[("must_not_conduct = \"30 V\"", "must_not_conduct = \"35.5 V\"")]);
    assert_eq!(verdict_of(&result, "cold-breakdown"), Verdict::Fail);
}

#[test]
fn abnormal_levels_that_conduct() {
    let result = with(&[("level = \"32 V\"", "level = \"36 V\"")]);
    assert_eq!(verdict_of(&result, "abnormal-level"), Verdict::Fail);
    // Allowed to conduct: 36 V behind 2 Ω leaves under half an ampere, which the junction stands for 500 ms.
    let result = with(&[(
        "level = \"32 V\", lasts = \"500 ms\"",
        "level = \"36 V\", lasts = \"500 ms\", may_conduct = true",
    )]);
    assert_eq!(verdict_of(&result, "abnormal-level"), Verdict::Pass);
    // Reversed for a minute: the part conducts forward, limited by the source alone, about 13 A.
    let reversed = (
        "level = \"32 V\", lasts = \"500 ms\"",
        "level = \"-28 V\", lasts = \"1 min\", may_conduct = true",
    );
    let result = with(&[reversed]);
    assert_eq!(verdict_of(&result, "abnormal-level"), Verdict::Fail);
    // A weak source leaves it alone, where the part may conduct; where it must not, surviving does not help.
    let weak = ("source_resistance = \"2 Ω\"", "source_resistance = \"2 kΩ\"");
    let result = with(&[reversed, weak]);
    assert_eq!(verdict_of(&result, "abnormal-level"), Verdict::Pass);
    let must_not = (reversed.0, "level = \"-28 V\", lasts = \"1 min\"");
    let result = with(&[must_not, weak]);
    let check = find(&result, "abnormal-level");
    assert_eq!(
        (check.verdict, check.value),
        (Verdict::Fail, Some(28.0)),
        "{check:?}"
    );
    // A part that blocks both ways holds that level; what the pin bears is another matter.
    let result = with(&[must_not, weak, ("bidirectional = false", "bidirectional = true")]);
    let mut checks = result.checks.iter();
    let part = checks.find(|check| check.check == "abnormal-level" && check.element == "D1");
    assert_eq!(part.unwrap().verdict, Verdict::Pass);
    // Without the source nobody knows.
    let result = with(&[
        (
            "level = \"32 V\", lasts = \"500 ms\"",
            "level = \"36 V\", lasts = \"500 ms\", may_conduct = true",
        ),
        ("source_resistance = \"2 Ω\"\n", ""),
    ]);
    let check = find(&result, "abnormal-level");
    assert_eq!(check.verdict, Verdict::Unknown);
    assert!(check.missing.as_ref().unwrap().contains("source"), "{check:?}");
}

#[test]
fn a_powered_port_needs_its_source() {
    let result = with(&[("source_resistance = \"2 Ω\"\n", "")]);
    let check = find(&result, "simulation");
    assert_eq!(
        (check.verdict, result.verdict),
        (Verdict::Unknown, Verdict::Unknown),
        "{check:?}"
    );
    assert!(
        check.missing.as_ref().unwrap().contains("source_current"),
        "{check:?}"
    );
    let result = with(&[("source_resistance = \"2 Ω\"", "powered = \"unpowered\"")]);
    assert_eq!(result.verdict, Verdict::Pass);
}

#[test]
fn steering_diodes_need_a_rating() {
    let steering = |rating: &str| {
        let part = format!(
            "[[part]]\nname = \"hazel-33\"\nfamily = \"steering\"\nkind = \"invented\"\nsource = \"invented\"\nforward = {{ voltage = \"2 V\", at = \"10 A\" }}\nrail_capacitance = \"10 µF\"\nrail_voltage = \"32 V\"\nrail_clamp = {{ voltage = \"40 V\", resistance = \"0.1 Ω\" }}\nleakage = [{{ voltage = \"33 V\", temperature = \"25 °C\", current = \"1 µA\" }}]\ncapacitance = [{{ bias = \"0 V\", max = \"5 pF\" }}]\n{rating}"
        );
        judge(&format!("{}{part}", &SOUND[..SOUND.find("[[part]]").unwrap()]))
    };
    let diode = "D1 (to rail)";
    assert_eq!(
        on(&steering(""), "surge-current", diode).verdict,
        Verdict::Unknown
    );
    // Five surges of each polarity: a rating for one pulse says nothing of ten.
    let once = "rating = [{ wave = \"10/1000\", current = \"500 A\" }]\n";
    assert_eq!(
        on(&steering(once), "surge-current", diode).verdict,
        Verdict::Unknown
    );
    let rated = "rating = [{ wave = \"10/1000\", current = \"500 A\", pulses = 10 }]\n";
    let result = steering(rated);
    assert_eq!(on(&result, "surge-current", diode).verdict, Verdict::Pass);
    // The clamp behind the diodes takes the surge, and nothing is known of what it stands.
    assert_eq!(
        on(&result, "surge-current", "D1 (rail clamp)").verdict,
        Verdict::Unknown
    );
    let weak = "rating = [{ wave = \"10/1000\", current = \"10 A\", pulses = 10 }]\n";
    assert_eq!(on(&steering(weak), "surge-current", diode).verdict, Verdict::Fail);
}

#[test]
fn polarity_of_the_part() {
    let result = with(&[(
        "must_not_conduct = \"30 V\"",
        "must_not_conduct = \"-7 V to 30 V\"",
    )]);
    assert_eq!(verdict_of(&result, "polarity"), Verdict::Fail);
    let result = with(&[
        (
            "must_not_conduct = \"30 V\"",
            "must_not_conduct = \"-7 V to 30 V\"",
        ),
        ("bidirectional = false", "bidirectional = true"),
        ("voltage = \"-10 V\"", "voltage = \"-80 V\""),
    ]);
    assert_eq!(verdict_of(&result, "polarity"), Verdict::Pass);
}

#[test]
fn leakage_at_the_hot_end() {
    // 1 µA doubling every 10 K from 25 °C to 60 °C: 2^3.5 = 11.3 µA.
    let result = with(&[]);
    assert!((find(&result, "leakage").value.unwrap() - 11.31e-6).abs() < 0.02e-6);
    let result = with(&[("leakage_limit = \"100 µA\"", "leakage_limit = \"10 µA\"")]);
    assert_eq!(verdict_of(&result, "leakage"), Verdict::Fail);
    let result = with(&[("leakage_limit = \"100 µA\"\n", "")]);
    assert_eq!(verdict_of(&result, "leakage"), Verdict::Unknown);
}

#[test]
fn capacitance_of_a_line() {
    let result = with(&[("leakage_limit", "capacitance_limit = \"5 nF\"\nleakage_limit")]);
    assert_eq!(verdict_of(&result, "line-capacitance"), Verdict::Pass);
    let result = with(&[("leakage_limit", "capacitance_limit = \"2 nF\"\nleakage_limit")]);
    assert_eq!(verdict_of(&result, "line-capacitance"), Verdict::Fail);
}

#[test]
fn let_through_by_duration_class() {
    let peak = find(&with(&[]), "let-through-voltage").value.unwrap();
    let steady = format!("{:.1} V", peak - 4.0);
    let pulse = format!("{:.1} V", peak + 8.0);
    // Above the steady level for some microseconds: a failure, unless a pulse level allows it for long enough.
    let only_steady = format!("withstand = [{{ voltage = \"{steady}\", lasts = \"any\" }}]");
    let any = "withstand = [{ voltage = \"80 V\", lasts = \"any\" }]";
    assert_eq!(
        verdict_of(&with(&[(any, &only_steady)]), "let-through-voltage"),
        Verdict::Fail
    );
    let with_pulse = |lasts: &str| {
        let text = format!(
            "withstand = [{{ voltage = \"{steady}\", lasts = \"any\" }}, {{ voltage = \"{pulse}\", lasts = \"{lasts}\" }}]"
        );
        verdict_of(&with(&[(any, &text)]), "let-through-voltage")
    };
    assert_eq!(with_pulse("100 ns"), Verdict::Fail);
    // A peak just below the steady level, short enough for the pulse level, is judged by the pulse level.
    let close = format!(
        "withstand = [{{ voltage = \"{:.1} V\", lasts = \"any\" }}, {{ voltage = \"{:.1} V\", lasts = \"1 ms\" }}]",
        peak + 0.5,
        2.0 * peak
    );
    assert_eq!(
        verdict_of(&with(&[(any, &close)]), "let-through-voltage"),
        Verdict::Pass
    );
    assert!(with_pulse("1 ms") < Verdict::Unknown);
    let result = with(&[(any, "")]);
    assert_eq!(verdict_of(&result, "let-through-voltage"), Verdict::Unknown);
    assert_eq!(result.verdict, Verdict::Unknown);
}

#[test]
fn surge_current_and_junction() {
    let result = with(&[("level = \"500 V\"", "level = \"2 kV\"")]);
    assert_eq!(verdict_of(&result, "surge-current"), Verdict::Fail);
    assert_eq!(verdict_of(&result, "junction-rise"), Verdict::Fail);
    let result = with(&[("rating = [{ wave = \"10/1000\", power = \"1.5 kW\" }]\n", "")]);
    assert_eq!(result.verdict, Verdict::Unknown);
    let missing = find(&result, "simulation").missing.clone().unwrap();
    assert!(missing.contains("rating"), "{missing}");
}

#[test]
fn series_parts() {
    let fuse = |melting: &str| {
        let part = format!(
            "[[part]]\nname = \"reed-2\"\nfamily = \"fuse\"\nkind = \"invented\"\nsource = \"invented\"\nresistance = \"30 mΩ\"\nmelting_i2t = \"{melting}\"\nrated_current = \"2 A\"\nvoltage_max = \"125 V\"\npackage_inductance = \"5 nH\"\n\n[[part]]\nname = \"hazel-33\""
        );
        with(&[
            (
                "series = { resistance = \"20 mΩ\", inductance = \"15 nH\" }",
                "series = \"reed-2\"",
            ),
            ("[[part]]\nname = \"hazel-33\"", &part),
        ])
    };
    assert_eq!(verdict_of(&fuse("5 A²s"), "fuse-i2t"), Verdict::Pass);
    assert_eq!(verdict_of(&fuse("0.02 A²s"), "fuse-i2t"), Verdict::Fail);
    // A resistor given by its value alone has no rating.
    let result = with(&[("resistance = \"20 mΩ\"", "resistance = \"2 Ω\"")]);
    assert_eq!(verdict_of(&result, "resistor-pulse"), Verdict::Unknown);
}

#[test]
fn crowbars_and_the_supply() {
    let crowbar = |hold: &str, source: &str| {
        let part = format!(
            "[[part]]\nname = \"hazel-33\"\nfamily = \"snapback\"\nkind = \"invented\"\nsource = \"invented\"\nbidirectional = false\nstand_off = \"33 V\"\nbreakdown = {{ min = \"36 V\", typ = \"38 V\", max = \"40 V\", at = \"10 mA\" }}\nhold_voltage = {{ min = \"{hold}\", typ = \"{hold}\", max = \"{hold}\" }}\non_voltage = {{ min = \"{hold}\", typ = \"{hold}\", max = \"{hold}\" }}\nhold_current = {{ min = \"50 mA\", typ = \"60 mA\", max = \"70 mA\" }}\nhold_temperature_coefficient = \"-0.5 %/K\"\ndynamic_resistance = \"0.1 Ω\"\nturn_on_delay = \"1 ns\"\ntemperature_coefficient = \"0.05 %/K\"\nrating = [{{ wave = \"10/1000\", current = \"100 A\" }}]\njunction_max = \"175 °C\"\nthermal_resistance = \"75 K/W\"\nforward = {{ voltage = \"3.5 V\", at = \"100 A\" }}\nleakage = [{{ voltage = \"33 V\", temperature = \"25 °C\", current = \"1 µA\" }}]\ncapacitance = [{{ bias = \"0 V\", min = \"90 pF\", typ = \"100 pF\", max = \"110 pF\" }}]\n"
        );
        let start = SOUND.find("[[part]]").unwrap();
        let text = format!("{}{part}", &SOUND[..start]).replace(
            "source_resistance = \"2 Ω\"",
            &format!("source_resistance = \"{source}\""),
        );
        judge(&text)
    };
    // Holds at 6 V on a 28 V supply of 2 Ω: latched, by the load line and in the transient.
    let result = crowbar("6 V", "2 Ω");
    assert_eq!(verdict_of(&result, "latch-up"), Verdict::Fail);
    assert_eq!(verdict_of(&result, "recovery"), Verdict::Fail);
    // Holding above the supply cannot latch.
    let result = crowbar("30 V", "2 Ω");
    assert_eq!(verdict_of(&result, "latch-up"), Verdict::Pass);
    assert_eq!(verdict_of(&result, "recovery"), Verdict::Pass);
    // (28 V − 6 V) / 1 kΩ = 22 mA, below 50 mA (1 − 0.5 %/K × 35 K) = 41 mA at the hot end.
    let result = crowbar("6 V", "1 kΩ");
    let check = find(&result, "latch-up");
    assert_eq!(check.verdict, Verdict::Pass, "{check:?}");
    assert!((check.limit.unwrap() - 0.04125).abs() < 1e-4, "{check:?}");
}

#[test]
fn the_same_digits_on_any_number_of_threads() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| serde_json::to_string(&with(&[])).unwrap())
    };
    assert_eq!(on(1), on(2));
}

#[test]
fn a_part_named_like_the_generator_is_judged_as_itself() {
    // The coupling branch of the generator is called "coupling" too.
    let result = with(&[
        ("name = \"D1\"", "name = \"coupling\""),
        ("level = \"500 V\"", "level = \"2 kV\""),
    ]);
    assert_eq!(verdict_of(&result, "surge-current"), Verdict::Fail);
    let check = find(&result, "surge-current");
    assert!(
        check.element == "coupling" && check.value.unwrap() > 100.0,
        "{check:?}"
    );
}

#[test]
fn a_failure_level_without_conduction_is_unknown() {
    for (key, check) in [
        (
            "failure_current = { value = \"1 A\", width = \"100 ns\" }",
            "let-through-current",
        ),
        ("failure_energy = \"1 µJ\"", "let-through-energy"),
    ] {
        let result = with(&[("esr = \"20 mΩ\"", &format!("esr = \"20 mΩ\"\n{key}"))]);
        assert_eq!(
            (verdict_of(&result, check), result.verdict),
            (Verdict::Unknown, Verdict::Unknown)
        );
    }
}

#[test]
fn an_unknown_pin_capacitance_is_said() {
    let result = with(&[("capacitance = \"1 µF\"\nesr = \"20 mΩ\"\n", "")]);
    assert_eq!(result.verdict, Verdict::Unknown);
    let pin = result
        .checks
        .iter()
        .find(|check| check.element == "pin" && check.check == "simulation");
    assert!(
        pin.is_some_and(|check| check.missing.as_ref().unwrap().contains("capacitance")),
        "{pin:?}"
    );
}

/// Every result of a check on an element.
fn on<'a>(assessment: &'a Assessment, check: &str, element: &str) -> &'a CheckResult {
    let found = assessment
        .checks
        .iter()
        .find(|result| result.check == check && result.element == element);
    found.unwrap_or_else(|| panic!("no check `{check}` on `{element}`: {:#?}", assessment.checks))
}

#[test]
fn an_abnormal_level_reaches_the_pin() {
    // 32 V for half a second: the part blocks, the pin must stand it.
    assert_eq!(on(&with(&[]), "abnormal-level", "pin").verdict, Verdict::Pass);
    let any = "withstand = [{ voltage = \"80 V\", lasts = \"any\" }]";
    let weak =
        "withstand = [{ voltage = \"31 V\", lasts = \"any\" }, { voltage = \"80 V\", lasts = \"1 ms\" }]";
    let result = with(&[(any, weak)]);
    let pin = on(&result, "abnormal-level", "pin");
    assert_eq!((pin.verdict, pin.limit), (Verdict::Fail, Some(31.0)));
    assert!((pin.value.unwrap() - 32.0).abs() < 1e-9, "{pin:?}");
    // A conducting part leaves less: 60 V behind 2 Ω is held near the breakdown.
    let result = with(&[(
        "level = \"32 V\", lasts = \"500 ms\"",
        "level = \"60 V\", lasts = \"1 ms\", may_conduct = true",
    )]);
    let reaches = on(&result, "abnormal-level", "pin").value.unwrap();
    assert!((40.0..50.0).contains(&reaches), "{reaches}");
}

/// A pair with the part of the sound study, symmetrical, placed as `between` says.
fn pair(between: &str, abnormal: &str, pin: &str) -> Assessment {
    let mut text = SOUND.to_owned();
    for (from, to) in [
        ("lines = 1", "lines = 2\nacross = \"line-line\""),
        (
            "must_not_conduct = \"30 V\"",
            "must_not_conduct = \"-30 V to 30 V\"\nmust_not_conduct_between = \"-30 V to 30 V\"",
        ),
        ("abnormal = [{ level = \"32 V\", lasts = \"500 ms\" }]", abnormal),
        ("bidirectional = false", "bidirectional = true"),
        ("lead = \"2 nH\"", between),
        ("withstand = [{ voltage = \"80 V\", lasts = \"any\" }]", pin),
        (
            "negative_withstand = [{ voltage = \"-10 V\", lasts = \"any\" }]",
            "",
        ),
    ] {
        if !from.starts_with("negative") || text.contains(from) {
            assert!(text.contains(from), "{from}");
            text = text.replacen(from, to, 1);
        }
    }
    judge(&text)
}

#[test]
fn abnormal_levels_across_other_conductors_are_not_dropped() {
    let pin = "withstand = [{ voltage = \"300 V\", lasts = \"any\" }]\nwithstand_common = [{ voltage = \"300 V\", lasts = \"any\" }]";
    let each = "lead = \"2 nH\"\nbetween = \"each-line-earth\"";
    let level = |volts: &str| {
        format!("abnormal = [{{ level = \"{volts}\", lasts = \"continuous\", across = \"line-line\" }}]")
    };
    // Two symmetrical parts in series block 2 × 35.08 V for certain; 230 V is a question, not a pass.
    assert_eq!(
        on(&pair(each, &level("60 V"), pin), "abnormal-level", "D1").verdict,
        Verdict::Pass
    );
    assert_eq!(
        on(&pair(each, &level("230 V"), pin), "abnormal-level", "D1").verdict,
        Verdict::Unknown
    );
    let between = "lead = \"2 nH\"\nbetween = \"line-line\"";
    let earth = "abnormal = [{ level = \"100 V\", lasts = \"continuous\", across = \"line-earth\" }]";
    assert_eq!(
        on(&pair(between, earth, pin), "abnormal-level", "D1").verdict,
        Verdict::Unknown
    );
}

#[test]
fn both_walls_and_both_signs_of_a_pair() {
    let each = "lead = \"2 nH\"\nbetween = \"each-line-earth\"";
    let pin = "withstand = [{ voltage = \"300 V\", lasts = \"any\" }]\nwithstand_common = [{ voltage = \"20 V\", lasts = \"any\" }]";
    let result = pair(each, "abnormal = []", pin);
    assert_eq!(on(&result, "window", "port").verdict, Verdict::Fail);
    assert_eq!(on(&result, "window", "port pair").verdict, Verdict::Pass);
    let pin = "withstand = [{ voltage = \"300 V\", lasts = \"any\" }]\nnegative_withstand = [{ voltage = \"-1 V\", lasts = \"any\" }]\nwithstand_common = [{ voltage = \"300 V\", lasts = \"any\" }]";
    let result = pair(each, "abnormal = []", pin);
    assert_eq!(verdict_of(&result, "let-through-negative-voltage"), Verdict::Fail);
}

#[test]
fn a_pair_is_matched_line_against_line_and_crossed_both_ways() {
    let pin = "withstand = [{ voltage = \"300 V\", lasts = \"any\" }]\nwithstand_common = [{ voltage = \"300 V\", lasts = \"any\" }]";
    let limit = "abnormal = []\ncapacitance_matching = \"3 nF\"";
    let each = pair("lead = \"2 nH\"\nbetween = \"each-line-earth\"", limit, pin);
    // Two specimens between 1.5 nF and 2.5 nF differ by up to 1 nF.
    let check = on(&each, "capacitance-matching", "port");
    assert!(
        (check.value.unwrap() - 1e-9).abs() < 1e-18 && check.verdict == Verdict::Pass,
        "{check:?}"
    );
    // One part on one line: all of it is difference.
    let first = pair("lead = \"2 nH\"\nbetween = \"first-earth\"", limit, pin);
    assert!((on(&first, "capacitance-matching", "port").value.unwrap() - 2.5e-9).abs() < 1e-18);
    let sets: Vec<&str> = each
        .transients
        .iter()
        .filter_map(|run| Some(run.corner.part?.word()))
        .collect();
    for set in ["low", "high", "unlike-lines", "unlike-lines-mirrored"] {
        assert!(sets.contains(&set), "{set}");
    }
}
