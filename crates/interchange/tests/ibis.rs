//! IBIS files by hand from the open specification.

use proptest::prelude::*;
use tidewall_interchange::ibis::{Corner, Ibis, NoCurve, PinModel, read};

const HERON: &str = include_str!("files/heron.ibs");

fn heron() -> Ibis {
    read(HERON).unwrap_or_else(|fault| panic!("{fault}"))
}

fn near(got: f64, wanted: f64) {
    assert!(
        (got - wanted).abs() <= 1e-9 * wanted.abs().max(1e-15),
        "{got} instead of {wanted}"
    );
}

#[test]
fn pins_lead_to_models() {
    let file = heron();
    assert_eq!(
        (file.version.as_str(), file.file_name.as_str()),
        ("5.0", "heron.ibs")
    );
    let part = file.component("heron").unwrap();
    assert_eq!(part.pins.len(), 6);
    let pin = part.pin("A3").unwrap();
    assert_eq!((pin.signal.as_str(), pin.model.as_str()), ("RXD", "heron_in"));
    near(pin.r_ohm.unwrap(), 45e-3);
    near(pin.l_h.unwrap(), 2.8e-9);
    near(part.pin_capacitance_f(pin).unwrap(), 0.7e-12);
    // NA falls back to the package, whose minimum is NA too.
    let other = part.pin("A4").unwrap();
    near(part.pin_capacitance_f(other).unwrap(), 0.8e-12);
    assert_eq!(part.package.unwrap().c_f.min, None);
    assert!(matches!(file.pin_model(pin), Some(PinModel::Model(model)) if model.name == "heron_in"));
    assert!(matches!(
        file.pin_model(part.pin("A1").unwrap()),
        Some(PinModel::Reserved("POWER"))
    ));
    match file.pin_model(part.pin("A5").unwrap()) {
        Some(PinModel::Default(model, selector)) => {
            assert_eq!((model.name.as_str(), selector.models.len()), ("heron_io", 2));
            assert_eq!(selector.models[0].1, "Drives and receives");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_passed_over_is_listed() {
    let skipped: Vec<String> = heron().skipped.into_iter().map(|s| s.keyword).collect();
    assert_eq!(
        skipped,
        [
            "File Rev",
            "Date",
            "Source",
            "Notes",
            "Manufacturer",
            "Rgnd",
            "Add Submodel",
            "Submodel",
            "GND Clamp"
        ]
    );
}

#[test]
fn capacitance_of_the_die_and_its_split_forms() {
    let file = heron();
    let c = file.model("heron_in").unwrap().c_comp_f.unwrap();
    near(c.typ, 5e-12);
    near(c.min.unwrap(), 4e-12);
    near(c.max.unwrap(), 6e-12);
    let c = file.model("heron_io").unwrap().c_comp_f.unwrap();
    near(c.typ, 3e-12);
    // The pull-up gives no minimum: its typical value stands there.
    near(c.min.unwrap(), 2.5e-12);
    near(c.max.unwrap(), 4e-12);
}

#[test]
fn the_power_clamp_counts_from_the_supply_of_its_corner() {
    let file = heron();
    let model = file.model("heron_in").unwrap();
    let typ = model.clamp_curve(Corner::Typ).unwrap();
    assert_eq!((typ.low_v(), typ.supply_v), (-3.3, Some(3.3)));
    near(typ.high_v(), 6.6);
    // Published rule: with VCC 3.3 V a pad at 4.3 V stands at −1.0 V of the table.
    near(typ.current_a(4.3).unwrap(), 14e-3);
    near(typ.current_a(-1.0).unwrap(), -13e-3);
    near(typ.current_a(-0.85).unwrap(), -7e-3);
    assert_eq!(typ.current_a(1.5), Some(0.0));
    let max = model.clamp_curve(Corner::Max).unwrap();
    near(max.high_v(), 6.9);
    near(max.current_a(4.6).unwrap(), 17e-3);
    // A row that is NA in this column is passed over: straight from −1.0 V to 0 V.
    near(
        model.clamp_curve(Corner::Min).unwrap().current_a(-0.5).unwrap(),
        -5e-3,
    );
}

#[test]
fn nothing_is_said_beyond_the_tables() {
    let file = heron();
    let curve = file.model("heron_in").unwrap().clamp_curve(Corner::Typ).unwrap();
    assert_eq!(curve.current_a(-3.31), None);
    assert_eq!(curve.current_a(6.61), None);
    assert!(curve.clamps_above && curve.clamps_below);
}

#[test]
fn reference_keywords_win_over_the_voltage_range() {
    let file = heron();
    let model = file.model("heron_io").unwrap();
    let curve = model.clamp_curve(Corner::Typ).unwrap();
    assert_eq!(curve.supply_v, Some(3.3));
    // Falling tables are turned round; the ground clamp counts from −0.5 V.
    near(curve.low_v(), -2.5);
    near(curve.current_a(-1.5).unwrap(), -10e-3);
    near(curve.high_v(), 5.3);
    assert_eq!(model.clamp_curve(Corner::Min), Err(NoCurve::NotAvailable));
}

#[test]
fn a_model_without_tables_or_supply_has_no_curve() {
    let mut model = heron().model("heron_in").unwrap().clone();
    model.voltage_v = None;
    assert_eq!(model.clamp_curve(Corner::Typ), Err(NoCurve::NoSupply));
    model.power_clamp.clear();
    let ground_only = model.clamp_curve(Corner::Typ).unwrap();
    assert!(ground_only.clamps_below && !ground_only.clamps_above);
    model.ground_clamp.clear();
    assert_eq!(model.clamp_curve(Corner::Typ), Err(NoCurve::NoTable));
}

/// The text of the test file with one piece replaced must fail at `line` with a message that holds `reason`.
fn fails(from: &str, to: &str, at: &str, reason: &str) {
    assert!(HERON.contains(from), "`{from}` is not in the file");
    let text = HERON.replacen(from, to, 1);
    let fault = read(&text).expect_err(&format!("`{to}` was accepted"));
    let found = text.lines().nth(fault.line - 1).unwrap_or_default();
    assert!(
        found.contains(at),
        "{to}: line {} is `{found}`\n{fault}",
        fault.line
    );
    assert!(fault.message.contains(reason), "{to}: {fault}");
    assert!(!fault.expected.is_empty() && fault.column > 0);
}

#[test]
fn every_malformed_input_gives_line_and_reason() {
    fails("[IBIS Ver]      5.0", "[IBIS Ver] nine", "nine", "cannot be");
    fails(
        "[IBIS Ver]      5.0",
        "[IBIS Ver]",
        "[IBIS Ver]",
        "nothing behind it",
    );
    fails(
        "[IBIS Ver]      5.0",
        "[Component] x",
        "[Component] x",
        "before [IBIS Ver]",
    );
    fails("[IBIS Ver]      5.0", "hello", "hello", "before [IBIS Ver]");
    fails("|_char", "#_chart", "#_chart", "[Comment Char]");
    fails(
        "[File Name]     heron.ibs",
        "[File Name",
        "[File Name",
        "closing bracket",
    );
    fails("[File Name]     heron.ibs", "[ _ ]", "[ _ ]", "empty");
    fails("[Package]", "[Model]", "[Model]", "nothing behind it");
    fails(
        "C_pkg         0.8pF",
        "C_pack 0.8pF",
        "C_pack",
        "no row of [Package]",
    );
    fails(
        "C_pkg         0.8pF    NA       NA",
        "",
        "[Package]",
        "not complete",
    );
    fails("0.8pF    NA       NA", "0.8pF NA", "C_pkg", "2 values");
    fails("0.8pF", "NA", "C_pkg", "typical value");
    fails("50m      40m", "50µ      40m", "50µ", "not a number");
    fails("[Pin]  signal_name", "[Pin]  name", "[Pin]", "no heading");
    fails("L_pin   C_pin", "L_pin   L_pin", "[Pin]", "no column");
    fails("A1     VCC          POWER", "A1  VCC", "A1", "2 columns");
    fails("A2     GND", "A1     GND", "A1     GND", "twice");
    fails("45m     2.8nH", "-45m     2.8nH", "-45m", "less than nothing");
    fails(
        "heron_in     45m",
        "heron_on     45m",
        "A3",
        "no model `heron_on`",
    );
    fails(
        "heron_in   Receives",
        "heron_on   Receives",
        "heron_on",
        "no model `heron_on`",
    );
    fails(
        "heron_sel\nheron_io",
        "heron_sel\n[Date]\nheron_io",
        "[Model Selector]",
        "lists no model",
    );
    fails(
        "[Model]  heron_io",
        "[Model]  heron_in",
        "[Model]  heron_in",
        "a second time",
    );
    fails("Model_type  Input", "Model_type", "Model_type", "no value");
    fails("5.0pF   4.0pF", "5.0pF   5.5pF", "C_comp", "impossible range");
    fails("25     100", "NA     100", "[Temperature", "typical value");
    fails(
        "[Temperature Range]",
        "[Voltage Range]",
        "[Voltage Range]      3.3V",
        "twice",
    );
    fails(
        "-3.3    -100mA     -80mA     -120mA",
        "-3.3 -1",
        "-3.3 -1",
        "2 columns",
    );
    fails("-3.3    -100mA", "-3.3    -100,5m", "-100,5m", "not a number");
    fails(
        "-3.3    -100mA",
        "-3.3    NA",
        "[GND_Clamp]",
        "typical column is NA",
    );
    fails(
        "-0.7     -1.0m",
        "-1.0     -1.0m",
        "-1.0     -1.0m",
        "one voltage twice",
    );
    fails(
        "-0.7     -1.0m",
        "-1.7     -1.0m",
        "-1.7     -1.0m",
        "turns round",
    );
    fails(
        "[GND_Clamp]",
        "[GND_Clamp]\n0 0 0 0\n[Date]",
        "[GND_Clamp]",
        "fewer than two rows",
    );
    fails(
        "[Component]     heron\n",
        "",
        "[Package]",
        "belongs to no [Component]",
    );
    fails("[File Name]     heron.ibs\n", "", "[End]", "no [File Name]");
    fails("[End]", "", "0 0 0 0", "without [End]");
    let long = format!("[Date] {}", "x".repeat(1030));
    fails("[Date]          1 June 2026", &long, "[Date]", "too long");
}

#[test]
fn clamp_tables_outside_a_model_are_refused() {
    let text = "[IBIS Ver] 3.2\n[File Name] x.ibs\n[Component] x\n[GND Clamp]\n[End]\n";
    let fault = read(text).unwrap_err();
    assert_eq!((fault.line, fault.column), (4, 1));
    assert!(fault.message.contains("belongs to no [Model]"), "{fault}");
}

#[test]
fn another_comment_sign_counts_from_its_keyword_on() {
    let text = HERON.replacen("|_char", "#_char", 1).replace("| ", "# ");
    // The lines before the keyword still begin with a bar.
    let text = text.replacen("# An invented", "| An invented", 1);
    assert_eq!(read(&text).map(|file| file.models), Ok(heron().models));
}

#[test]
fn text_after_the_end_is_passed_over_and_listed() {
    let file = read(&format!("{HERON}\nmore\nstill more\n")).unwrap();
    assert_eq!(file.skipped.last().unwrap().keyword, "text after [End]");
}

#[test]
fn line_ends_of_other_systems_change_nothing() {
    assert_eq!(read(&HERON.replace('\n', "\r\n")), Ok(heron()));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_panics(text in any::<String>()) {
        let _ = read(&text);
    }

    #[test]
    fn no_shuffled_file_panics(
        cuts in proptest::collection::vec((0usize..70, 0usize..70, "[\\[\\]|A-Za-z0-9 .µ=-]{0,12}"), 1..6),
    ) {
        let mut lines: Vec<String> = HERON.lines().map(str::to_owned).collect();
        for (a, b, piece) in cuts {
            let (a, b) = (a % lines.len(), b % lines.len());
            lines.swap(a, b);
            lines[a].push_str(&piece);
        }
        if let Ok(file) = read(&lines.join("\n")) {
            for model in &file.models {
                for corner in [Corner::Typ, Corner::Min, Corner::Max] {
                    if let Ok(curve) = model.clamp_curve(corner) {
                        prop_assert!(curve.points.windows(2).all(|pair| pair[0].0 < pair[1].0));
                    }
                }
            }
        }
    }
}
