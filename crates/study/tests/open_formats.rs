//! Pins from IBIS files, capacitance from Touchstone files.

mod common;

use common::{Memory, SAMPLE, files};
use tidewall_study::{Pin, Study, read_parts, read_text};

const HERON: &str = include_str!("../../interchange/tests/files/heron.ibs");

fn loader() -> Memory {
    files().with("heron.ibs", HERON)
}

/// The sample study with these lines in its `[pin]`, without its own capacitance.
fn text(lines: &str) -> String {
    SAMPLE.replacen("capacitance = \"4.7 µF\"", lines, 1)
}

fn study(lines: &str) -> Study {
    read_text("study.toml", &text(lines), &loader()).unwrap_or_else(|error| panic!("{error}"))
}

fn pin(lines: &str) -> (Pin, String) {
    let study = study(lines);
    let about: Vec<String> = study
        .assumptions
        .into_iter()
        .filter(|line| line.starts_with("pin: "))
        .collect();
    (study.pin, about.join("\n"))
}

fn near(got: f64, wanted: f64) {
    assert!(
        (got - wanted).abs() <= 1e-9 * wanted.abs(),
        "{got} instead of {wanted}"
    );
}

const A3: &str = r#"ibis = { file = "heron.ibs", component = "heron", pin = "A3" }"#;

#[test]
fn a_pin_takes_the_weak_line_of_the_minimum_column() {
    let (pin, about) = pin(A3);
    // Minimum column: supply 3.0 V; power clamp 11 mA at 4.0 V, 90 mA at 6.3 V.
    let up = pin.positive_conduction.unwrap();
    near(up.resistance_ohm, 2.3 / 79e-3);
    near(up.threshold_v, 6.3 - 90e-3 * 2.3 / 79e-3);
    // Ground clamp: −10 mA at −1.0 V, −80 mA at −3.3 V.
    let down = pin.negative_conduction.unwrap();
    near(down.resistance_ohm, 2.3 / 70e-3);
    near(down.threshold_v, -(1.0 - 10e-3 * 2.3 / 70e-3));
    // Least C_comp and the pin's own capacitance.
    near(pin.capacitance_f.unwrap(), 4e-12 + 0.7e-12);
    assert!(about.contains("heron.ibs, model heron_in (line 29)"), "{about}");
    assert!(
        about.contains("4.7 pF = C_comp 4 pF (minimum) and 700 fF of the pin"),
        "{about}"
    );
    assert!(about.contains("table, which ends at 6.3 V, 90 mA"), "{about}");
    assert!(about.contains("supply of 3 V; unpowered"), "{about}");
}

#[test]
fn where_the_current_decides_the_strong_line_of_the_maximum_column_is_taken() {
    let lines = format!("{A3}\nfailure_current = {{ value = \"3 A\", width = \"100 ns\" }}");
    let (pin, _) = pin(&lines);
    // Maximum column: supply 3.6 V; 1.6 mA at 4.3 V, 17 mA at 4.6 V, 130 mA at 6.9 V.
    let up = pin.positive_conduction.unwrap();
    near(up.resistance_ohm, 0.3 / 15.4e-3);
    // It conducts no less than the table where that carries a hundredth of 130 mA.
    for (volts, amps) in [(4.3, 1.6e-3), (4.6, 17e-3), (6.9, 130e-3)] {
        assert!(
            (volts - up.threshold_v) / up.resistance_ohm >= amps * (1.0 - 1e-9),
            "{volts} V"
        );
    }
    let strong = pin.negative_conduction.unwrap();
    assert!(
        strong.threshold_v > -0.7 && strong.threshold_v < -0.4,
        "{strong:?}"
    );
}

#[test]
fn the_study_chooses_the_corner() {
    let (pin, _) = pin(r#"ibis = { file = "heron.ibs", pin = "A3", corner = "typical" }"#);
    near(pin.positive_conduction.unwrap().resistance_ohm, 2.3 / 96e-3);
}

#[test]
fn a_model_alone_has_no_package() {
    let (pin, about) = pin(r#"ibis = { file = "heron.ibs", model = "heron_in" }"#);
    near(pin.capacitance_f.unwrap(), 4e-12);
    assert!(about.contains("nothing of the package"), "{about}");
}

#[test]
fn a_selector_takes_its_default_and_says_so() {
    let (first, about) = pin(r#"ibis = { file = "heron.ibs", pin = "A5" }"#);
    assert!(about.contains("its first, heron_io, is taken"), "{about}");
    // The minimum column of this model is NA: the typical one stands in.
    assert!(about.contains("typical column taken"), "{about}");
    near(first.capacitance_f.unwrap(), 2.5e-12 + 0.8e-12);
    let (chosen, about) = pin(r#"ibis = { file = "heron.ibs", pin = "A5", model = "heron_in" }"#);
    assert!(!about.contains("is taken"), "{about}");
    near(chosen.capacitance_f.unwrap(), 4e-12 + 0.8e-12);
}

#[test]
fn keys_of_the_study_win_and_the_difference_is_told() {
    let lines = format!(
        "{A3}\ncapacitance = \"15 pF\"\nconduction = {{ positive_threshold = \"4 V\", positive_resistance = \"1 Ω\" }}"
    );
    let (pin, about) = pin(&lines);
    assert_eq!(pin.capacitance_f, Some(15e-12));
    assert_eq!(pin.positive_conduction.unwrap().threshold_v, 4.0);
    assert!(
        pin.negative_conduction.is_some(),
        "the side left open is the file's"
    );
    assert!(
        about.contains("the study's own 15 pF, not that of heron.ibs"),
        "{about}"
    );
    assert!(
        about.contains("positive conduction is the study's own"),
        "{about}"
    );
}

#[test]
fn the_digest_covers_the_file() {
    let other = files().with("heron.ibs", HERON.replace("5.0pF", "5.1pF"));
    let changed = read_text("study.toml", &text(A3), &other).unwrap();
    assert_ne!(study(A3).digest, changed.digest);
}

#[test]
fn a_conduction_of_the_study_serves_where_the_file_has_no_clamp() {
    let own = "conduction = { positive_threshold = \"4 V\", positive_resistance = \"1 Ω\" }";
    let without = HERON
        .replacen("[GND_Clamp]", "[No Clamp]", 1)
        .replacen("[POWER Clamp]", "[No Clamp]", 1);
    let loader = files().with("heron.ibs", without);
    let error = read_text("study.toml", &text(A3), &loader).unwrap_err();
    assert!(
        error.message.contains("neither [GND Clamp] nor [POWER Clamp]"),
        "{error}"
    );
    let study = read_text("study.toml", &text(&format!("{A3}\n{own}")), &loader).unwrap();
    assert_eq!(study.pin.positive_conduction.unwrap().threshold_v, 4.0);
    near(study.pin.capacitance_f.unwrap(), 4.7e-12);
    assert!(
        study
            .assumptions
            .iter()
            .any(|line| line.contains("no clamp curve to hold against"))
    );
    // One clamp alone leaves the other side without conduction, and says so.
    let half = files().with("heron.ibs", HERON.replacen("[POWER Clamp]", "[No Clamp]", 1));
    let study = read_text("study.toml", &text(A3), &half).unwrap();
    assert!(study.pin.positive_conduction.is_none() && study.pin.negative_conduction.is_some());
    assert!(
        study
            .assumptions
            .iter()
            .any(|line| line.contains("no clamp on the positive side"))
    );
}

#[track_caller]
fn refused(lines: &str, file: &str, message: &str) {
    let error = read_text("study.toml", &text(lines), &loader()).expect_err("refused");
    assert_eq!(error.file, file, "{error}");
    assert!(error.line > 0 && error.message.contains(message), "{error}");
}

#[test]
fn what_the_file_does_not_have_is_refused_where_it_is_named() {
    let study = "study.toml";
    refused(r#"ibis = { pin = "A3" }"#, study, "no `file`");
    refused(
        r#"ibis = { file = "other.ibs", pin = "A3" }"#,
        study,
        "there is no file",
    );
    refused(r#"ibis = { file = "heron.ibs" }"#, study, "names no pin");
    refused(
        r#"ibis = { file = "heron.ibs", component = "heron" }"#,
        study,
        "without a pin",
    );
    refused(
        r#"ibis = { file = "heron.ibs", component = "hero", pin = "A3" }"#,
        study,
        "no component `hero`",
    );
    refused(
        r#"ibis = { file = "heron.ibs", pin = "B3" }"#,
        study,
        "no pin `B3`",
    );
    refused(r#"ibis = { file = "heron.ibs", pin = "A1" }"#, study, "is POWER");
    refused(
        r#"ibis = { file = "heron.ibs", model = "x" }"#,
        study,
        "no model `x`",
    );
    refused(
        r#"ibis = { file = "heron.ibs", pin = "A3", model = "heron_io" }"#,
        study,
        "not this one",
    );
    refused(
        r#"ibis = { file = "heron.ibs", pin = "A3", corner = "best" }"#,
        study,
        "cannot be",
    );
    refused(
        r#"ibis = { file = "heron.ibs", pin = "A3", colour = "red" }"#,
        study,
        "unknown key",
    );
}

#[test]
fn a_fault_of_the_file_stands_in_the_file() {
    let broken = files().with("heron.ibs", HERON.replace("[End]", ""));
    let error = read_text("study.toml", &text(A3), &broken).unwrap_err();
    assert_eq!((error.file.as_str(), error.line), ("heron.ibs", 70), "{error}");
    // A table that conducts as a resistor from below zero on is no clamp.
    let rows = "-1.0     14m        11m       17m\n-0.7     1m         NA        1.6m\n 0.0     0          0         0\n";
    assert!(HERON.contains(rows));
    let pull_up = files().with("heron.ibs", HERON.replacen(rows, " 3.6 0 0 0\n", 1));
    let error = read_text("study.toml", &text(A3), &pull_up).unwrap_err();
    assert!(error.message.contains("is no clamp"), "{error}");
}

/// 150 pF from the line to ground in a two-port of 50 Ω: S21 = 2/(2 + 50 Y).
fn shunt() -> String {
    let mut text = "! invented\n# MHz S RI R 50\n".to_owned();
    for megahertz in [1.0, 2.0, 10.0] {
        let b = 50.0 * std::f64::consts::TAU * megahertz * 1e6 * 150e-12;
        let size = 4.0 + b * b;
        text += &format!("{megahertz} 0 0 {} {} 0 0 0 0\n", 4.0 / size, -2.0 * b / size);
    }
    text
}

fn part(key: &str) -> String {
    format!(
        "[[part]]\nname = \"birch\"\nfamily = \"avalanche\"\nkind = \"measured\"\nsource = \"own lab\"\n{key}\n"
    )
}

#[test]
fn a_part_takes_its_capacitance_from_network_parameters() {
    let loader = Memory::default().with("birch.s2p", shunt());
    let text = part(
        "capacitance = [{ bias = \"5 V\", typ = \"90 pF\" }]\n\
         capacitance_touchstone = { file = \"birch.s2p\", fixture = \"shunt\", at = \"10 MHz\", bias = \"0 V\" }",
    );
    let parts = read_parts("parts.toml", &text, &loader).unwrap_or_else(|error| panic!("{error}"));
    let sheet = &parts[0].datasheet;
    assert_eq!(sheet.capacitance.len(), 2);
    near(sheet.capacitance[1].capacitance_f.typ.unwrap(), 150e-12);
    assert_eq!(sheet.capacitance[1].capacitance_f.max, None);
    assert_eq!(
        &*sheet.source,
        "own lab; capacitance at 0 V from birch.s2p (shunt, at 10 MHz)"
    );
}

#[test]
fn network_parameters_that_do_not_serve_are_refused() {
    let loader = Memory::default()
        .with("birch.s2p", shunt())
        .with("bad.s2p", "# MHz S RI R 50\n1 0 x\n");
    let check = |key: &str, file: &str, message: &str| {
        let error = read_parts("parts.toml", &part(key), &loader).expect_err(key);
        assert_eq!(error.file, file, "{error}");
        assert!(error.line > 0 && error.message.contains(message), "{error}");
    };
    let key = |file: &str, fixture: &str, at: &str| {
        format!(
            "capacitance_touchstone = {{ file = \"{file}\", fixture = \"{fixture}\", at = \"{at}\", bias = \"0 V\" }}"
        )
    };
    let parts = "parts.toml";
    check(
        &key("birch.s2p", "shunt", "20 MHz"),
        parts,
        "reaches from 1 MHz to 10 MHz only",
    );
    check(&key("birch.s2p", "one-port", "2 MHz"), parts, "2 ports");
    check(&key("birch.s2p", "across", "2 MHz"), parts, "cannot be");
    check(&key("none.s2p", "shunt", "2 MHz"), parts, "there is no file");
    check(&key("bad.s2p", "shunt", "2 MHz"), "bad.s2p", "is not a number");
    let twice = format!(
        "capacitance = [{{ bias = \"0 V\", typ = \"1 pF\" }}]\n{}",
        key("birch.s2p", "shunt", "2 MHz")
    );
    check(&twice, parts, "already gives a value");
}
