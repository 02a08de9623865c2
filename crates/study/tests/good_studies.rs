//! What a good study becomes.

mod common;

use common::{Memory, PARTS, SAMPLE, files};
use tidewall_devices::datasheet::{Family, Firmness, RatingWave};
use tidewall_study::{
    Across, Between, FolderLoader, InLine, Interval, Mark, NoFiles, Origin, PortKind, PortPolarity, Powered,
    SeriesElement, Stage, Study, read, read_parts, read_text,
};

fn study(text: &str) -> Study {
    read_text("study.toml", text, &files()).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_sample_is_resolved() {
    let study = study(SAMPLE);
    assert_eq!(study.title, "River gauge 7: 24 V supply inlet");
    assert_eq!(study.margin, 0.1);
    assert!(study.assumptions.iter().any(|text| text.contains("margin")));
    let port = &study.port;
    assert_eq!(
        (port.lines, port.kind, port.powered),
        (1, PortKind::Dc, Powered::Both)
    );
    let limits = port.must_not_conduct_v.as_ref().expect("a level");
    assert_eq!(limits.value, Interval { low: 0.0, high: 30.2 });
    assert_eq!(limits.origin, Origin::Study { line: 5 });
    assert_eq!(port.abnormal.len(), 2);
    assert_eq!(
        (port.abnormal[0].value.level_v, port.abnormal[0].value.lasts_s),
        (35.0, 0.5)
    );
    assert_eq!(
        (port.abnormal[1].value.level_v, port.abnormal[1].value.lasts_s),
        (-30.0, 60.0)
    );
    assert_eq!(port.source_a.as_ref().map(|valued| valued.value), Some(5.0));
    assert_eq!(
        port.ambient_c.value,
        Interval {
            low: -40.0,
            high: 70.0
        }
    );
    let working = port.working_v.as_ref().expect("from the profile");
    assert!(
        matches!(&working.origin, Origin::Profile { key, mark: Mark::Seen, source }
            if key == "supply-24vdc" && source.contains("EN 61131-2")),
        "{working:?}"
    );
    assert_eq!(
        port.polarity.as_ref().map(|valued| valued.value),
        Some(PortPolarity::Unidirectional)
    );
    let ids: Vec<&str> = study.stresses.iter().map(|stress| stress.id.as_str()).collect();
    assert_eq!(ids, ["surge-earth", "esd"]);
    assert_eq!(study.stresses[0].request.level_v, Some(1000.0));
    assert_eq!(study.stresses[0].disturbance.short_circuit_peak_a.round(), 83.0);
    assert_eq!(study.stresses[1].line, 17);
    let names: Vec<&str> = study.ladder.iter().map(Stage::name).collect();
    assert_eq!(names, ["S1", "D1", "S2"]);
    let Stage::Shunt(shunt) = &study.ladder[1] else {
        panic!("a shunt")
    };
    assert_eq!(
        (shunt.part.as_str(), shunt.lead_h, shunt.between),
        ("alder-33", 2e-9, Between::LineReturn)
    );
    let Stage::Series(series) = &study.ladder[0] else {
        panic!("a series element")
    };
    assert_eq!(series.in_line, InLine::Both);
    assert_eq!(
        series.element,
        SeriesElement::Passive {
            resistance_ohm: 0.02,
            inductance_h: 15e-9,
            saturation_a: None
        }
    );
    assert_eq!(study.pin.withstand.len(), 1);
    assert_eq!(
        (study.pin.withstand[0].voltage_v, study.pin.withstand[0].lasts_s),
        (60.0, f64::INFINITY)
    );
    assert_eq!(study.pin.capacitance_f, Some(4.7e-6));
    assert_eq!(study.pin.failure_energy_j, None);
    assert_eq!(study.parts.len(), 2);
}

#[test]
fn the_digest_covers_the_study_and_its_files() {
    let digest = |text: &str, files: &Memory| {
        read_text("study.toml", text, files)
            .unwrap_or_else(|error| panic!("{error}"))
            .digest
    };
    let first = digest(SAMPLE, &files());
    assert_eq!(first.len(), 64);
    assert_eq!(first, digest(SAMPLE, &files()));
    assert_ne!(first, digest(&format!("{SAMPLE}# note\n"), &files()));
    assert_ne!(
        first,
        digest(
            SAMPLE,
            &Memory::default().with("parts.toml", format!("{PARTS}# note\n"))
        )
    );
    assert_eq!(
        first,
        digest(SAMPLE, &files().with("other.toml", "not referred to"))
    );
}

#[test]
fn byte_order_mark_and_carriage_returns_are_tolerated() {
    let plain = study(SAMPLE);
    let marked = study(&format!("\u{feff}{SAMPLE}"));
    assert_eq!(plain.digest, marked.digest);
    let windows = study(&SAMPLE.replace('\n', "\r\n"));
    assert_eq!(windows.stresses[1].line, plain.stresses[1].line);
    assert_eq!(windows.ladder, plain.ladder);
}

#[test]
fn a_study_is_read_from_its_folder() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("read-folder");
    std::fs::create_dir_all(folder.join("library")).expect("a folder");
    std::fs::write(folder.join("library/alder.toml"), PARTS).expect("written");
    let text = format!("parts = [\"library/alder.toml\"]\n{SAMPLE}");
    std::fs::write(folder.join("study.toml"), &text).expect("written");
    let from_file = read(&folder.join("study.toml")).unwrap_or_else(|error| panic!("{error}"));
    let from_text =
        read_text("x", &text, &FolderLoader::new(&folder)).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(from_file.digest, from_text.digest);
}

#[test]
fn a_part_may_stand_in_the_study() {
    let text = format!("{SAMPLE}\n{PARTS}");
    let study = read_text("study.toml", &text, &NoFiles).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(study.parts.len(), 2);
}

#[test]
fn a_pair_has_its_own_words() {
    let text = r#"
title = "RS-485 to the sonde"
margin = 0.15
[port]
profile = "rs-485"
ambient = "-20 °C to 60 °C"
powered = "unpowered"
[[stress]]
id = "esd"
standard = "IEC 61000-4-2"
level = "±4 kV"
discharge = "contact"
[[ladder]]
series = "birch-track"
line = "second"
[[ladder]]
shunt = "alder-33"
between = "each-line-earth"
lead = "1 nH"
[[ladder]]
shunt = "alder-33"
between = "line-line"
lead = "1 nH"
reversed = true
[pin]
withstand = [{ voltage = "14 V", lasts = "any", polarity = "both" }]
withstand_common = [{ voltage = "18 V", lasts = "any" }, { voltage = "40 V", lasts = "100 ns" }]
conduction = { positive_threshold = "12.5 V", positive_resistance = "2 Ω", negative_threshold = "-8 V", negative_resistance = "3 Ω" }
failure_current = { value = "1 A", width = "1 µs" }
failure_energy = "10 µJ"
[board]
impedance = "75 Ω"
[assess]
ambients = ["25 °C"]
"#;
    let study = study(text);
    assert_eq!((study.margin, study.port.lines), (0.15, 2));
    assert_eq!(study.port.powered, Powered::Unpowered);
    assert_eq!(study.stresses[0].request.polarity.as_deref(), Some("both"));
    let limits = study.port.must_not_conduct_v.as_ref().expect("from the profile");
    assert_eq!(
        limits.value,
        Interval {
            low: -7.0,
            high: 12.0
        }
    );
    let Stage::Series(series) = &study.ladder[0] else {
        panic!("a series element")
    };
    assert_eq!(
        (series.in_line, &series.element),
        (InLine::Second, &SeriesElement::Part("birch-track".into()))
    );
    let Stage::Shunt(shunt) = &study.ladder[2] else {
        panic!("a shunt")
    };
    assert_eq!(
        (shunt.between, shunt.reversed, shunt.name.as_str()),
        (Between::LineLine, true, "D2")
    );
    assert_eq!(study.pin.negative_withstand[0].voltage_v, -14.0);
    assert_eq!(study.pin.withstand_common[0].lasts_s, 100e-9);
    assert_eq!(
        study.pin.negative_conduction.map(|side| side.threshold_v),
        Some(-8.0)
    );
    assert_eq!(study.pin.failure_current, Some((1.0, 1e-6)));
    assert_eq!(study.board_impedance_ohm, Some(75.0));
    assert_eq!(study.assess.extra_ambients_c, [25.0]);
}

#[test]
fn a_port_without_profile_says_what_it_is() {
    let text = SAMPLE.replace("profile = \"supply-24vdc\"", "kind = \"dc\"");
    let study = study(&text);
    assert_eq!(study.port.profile, None);
    assert_eq!(study.port.working_v, None);
    assert!(
        study.assumptions.iter().any(|text| text.contains("lines = 1")),
        "{:?}",
        study.assumptions
    );
    assert!(
        study
            .assumptions
            .iter()
            .any(|text| text.contains("must_not_conduct")),
        "{:?}",
        study.assumptions
    );
}

#[test]
fn alternating_voltages_are_kept_as_amplitudes() {
    let text = SAMPLE.replace("\"supply-24vdc\"", "\"supply-24vac\"").replace(
        "must_not_conduct = \"30.2 V\"",
        "must_not_conduct = \"±40 V\"\nworking_rms = \"20 V to 28 V\"",
    );
    let study = study(&text);
    let working = study.port.working_v.as_ref().expect("given").value;
    assert!(
        (working.low - 28.284).abs() < 1e-3 && (working.high - 39.598).abs() < 1e-3,
        "{working:?}"
    );
    assert_eq!(
        study.port.must_not_conduct_v.as_ref().map(|v| v.value),
        Some(Interval {
            low: -40.0,
            high: 40.0
        })
    );
    assert_eq!(study.port.frequency_hz.as_ref().map(|v| v.value), Some(50.0));
}

#[test]
fn the_between_lines_profile_puts_levels_between_the_lines() {
    let text = SAMPLE
        .replace("\"supply-24vdc\"", "\"loop-4-20ma\"")
        .replace("must_not_conduct = \"30.2 V\"\n", "")
        .replace(
            "coupling = \"line-earth\"",
            "coupling = \"symmetrical-arrester\"\nwires = 2",
        )
        .replace("lead = \"2 nH\"", "lead = \"2 nH\"\nbetween = \"line-line\"");
    let study = study(&text);
    assert_eq!(study.port.working_across, Across::LineLine);
    assert_eq!(study.port.abnormal[0].value.across, Across::LineLine);
}

#[test]
fn samples_come_from_csv_with_their_units() {
    let text = SAMPLE.replace(
        "standard = \"IEC 61000-4-2\"\nlevel = \"8 kV\"\ndischarge = \"contact\"",
        "standard = \"samples\"\nsource_resistance = \"2 Ω\"\npolarity = \"positive\"\npulses = 5\ninterval = \"1 min\"\ncsv = \"wave.csv\"",
    );
    let wave = |csv: &str, text: &str| {
        let study = read_text("study.toml", text, &files().with("wave.csv", csv))
            .unwrap_or_else(|error| panic!("{error}"));
        let request = study.stresses[1].request.clone();
        assert_eq!(request.quantity.as_deref(), Some("voltage"));
        assert_eq!((request.count, request.interval_s), (Some(5), Some(60.0)));
        request.samples.expect("samples")
    };
    let expected = vec![(0.0, 0.0), (1e-6, 1000.0), (50e-6, 500.0)];
    let near = |samples: Vec<(f64, f64)>| {
        samples.len() == expected.len()
            && samples
                .iter()
                .zip(&expected)
                .all(|(a, b)| (a.0 - b.0).abs() < 1e-12 && (a.1 - b.1).abs() < 1e-9)
    };
    assert!(near(wave("time (µs),voltage (kV)\n0,0\n1,1\n50,0.5\n", &text)));
    assert!(near(wave(
        "# scope\ntime (us);voltage (V)\r\n0;0\r\n1,0;1000\r\n50;500,0\r\n",
        &text
    )));
    let bare = text.replace("csv =", "time_unit = \"µs\"\nvalue_unit = \"kV\"\ncsv =");
    assert!(near(wave("Time,Voltage\n0,0\n1,1\n50,5e-1\n", &bare)));
}

/// One part with every key, so that no key can be accepted and dropped.
#[test]
fn every_key_of_a_part_reaches_the_datasheet() {
    let text = r#"
[[part]]
name = "everything"
family = "avalanche"
kind = "guaranteed"
source = "invented for the test"
bidirectional = true
stand_off = "1 V"
breakdown = { min = "2 V", typ = "3 V", max = "4 V", at = "1 mA" }
clamp = [{ wave = "8/20", current = "5 A", max = "6 V" }]
rating = [{ wave = "2/10", power = "7 W", current = "8 A", energy = "9 J", pulses = 10 }, { wave = "rectangle 100 ns", current = "16 A" }]
temperature_coefficient = "0.1 %/K"
leakage = [{ voltage = "1 V", temperature = "25 °C", current = "1 µA" }]
leakage_doubling = "10 K"
capacitance = [{ bias = "0 V", max = "100 pF" }]
grading_exponent = 0.4
forward = { voltage = "1 V", at = "2 A", resistance = "3 Ω" }
junction_max = "150 °C"
derating_from = "25 °C"
thermal_resistance = "50 K/W"
power = "5 W"
package_inductance = "1 nH"
dynamic_resistance = "0.1 Ω"
on_voltage = "2 V"
hold_voltage = { min = "3 V" }
hold_current = { min = "150 mA" }
hold_temperature_coefficient = "-0.5 %/K"
turn_on_delay = "50 ns"
failure_current = { current = "20 A", width = "100 ns" }
saturation_current = "30 A"
transistor_breakdown = "40 V"
turn_off_voltage = "20 V"
detector_time = "1 µs"
time_out = "1 ms"
exponent = 30
pulse_life = { p = 0.3, q = 0.5 }
firing = [{ slope = "100 V/s", min = "72 V", max = "108 V" }]
glow_voltage = "70 V"
glow_to_arc_current = "0.5 A"
arc_voltage = "15 V"
holdover_voltage = "60 V"
resistance = "1 Ω"
inductance = "2 µH"
inductor_saturation = "3 A"
bead_resistance = "600 Ω"
melting_i2t = "0.05 A²s"
rated_current = "1 A"
trip_current = "2 A"
voltage_max = "60 V"
reset_voltage = "10 V"
rail_capacitance = "100 nF"
rail_voltage = "5 V"
rail_clamp = { voltage = "6 V", resistance = "0.2 Ω" }
table = [["1 V", "0 A"], ["2 V", "1 A"]]
area = "2 mm²"
cost = 0.5
"#;
    for key in tidewall_study::parts::PART_KEYS
        .iter()
        .filter(|key| !["table_csv", "capacitance_touchstone"].contains(key))
    {
        assert!(text.contains(&format!("\n{key} = ")), "`{key}` is in the test");
    }
    let parts = read_parts("parts.toml", text, &NoFiles).unwrap_or_else(|error| panic!("{error}"));
    let sheet = &parts[0].datasheet;
    assert_eq!(
        (sheet.family, sheet.firmness),
        (Family::Avalanche, Some(Firmness::Guaranteed))
    );
    // Whatever a key fails to set is still as in an unknown part: nothing of that may be left.
    let debug = format!("{sheet:?}");
    assert!(
        !debug.contains("_v: None") && !debug.contains("_a: None") && !debug.contains("_s: None"),
        "{debug}"
    );
    assert!(
        !debug.contains("_ohm: None") && !debug.contains("_h: None") && !debug.contains("_f: None"),
        "{debug}"
    );
    assert!(!debug.contains("[]"), "{debug}");
    // A file gives types, never single specimens.
    assert!(sheet.specimens.is_none(), "{debug}");
    // Beside that, what the text leaves out of min, typ and max, and of the second rating.
    assert_eq!(debug.matches("None").count(), 1 + 13, "{debug}");
    assert_eq!(
        sheet.ratings[0].wave,
        RatingWave::FrontTail {
            front_s: 2e-6,
            tail_s: 10e-6
        }
    );
    assert_eq!(sheet.ratings[1].wave, RatingWave::Rectangle { width_s: 100e-9 });
    assert_eq!(sheet.hold_per_k, Some(-0.005));
    assert_eq!(sheet.rail_clamp, Some((6.0, 0.2)));
    assert_eq!(sheet.pulse_life, Some((0.3, 0.5)));
}

#[test]
fn a_table_may_come_from_csv() {
    let text = "[[part]]\nname = \"curve\"\nfamily = \"table\"\nkind = \"measured\"\nsource = \"own lab\"\ntable_csv = \"curve.csv\"\n";
    let files = Memory::default().with("curve.csv", "voltage (V),current (mA)\n30,0\n36,1\n40,20e3\n");
    let parts = read_parts("parts.toml", text, &files).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(
        parts[0].datasheet.table,
        [(30.0, 0.0), (36.0, 0.001), (40.0, 20.0)]
    );
    let falling = Memory::default().with("curve.csv", "voltage (V),current (A)\n30,1\n36,0\n");
    let error = read_parts("parts.toml", text, &falling).expect_err("falls");
    assert!(error.message.contains("does not rise"), "{error}");
}

#[test]
fn the_package_adds_to_the_lead() {
    let parts = PARTS.replace("bidirectional = false", "package_inductance = \"1 nH\"");
    let with = |text: &str| {
        let study = read_text("s", text, &Memory::default().with("parts.toml", parts.as_str()))
            .unwrap_or_else(|error| panic!("{error}"));
        match &study.ladder[1] {
            Stage::Shunt(shunt) => shunt.lead_h,
            Stage::Capacitor(capacitor) => capacitor.lead_h,
            Stage::Series(_) => panic!("a shunt"),
        }
    };
    assert!((with(SAMPLE) - 3e-9).abs() < 1e-18);
    assert!((with(&SAMPLE.replace("lead = \"2 nH\"\n", "")) - 1e-9).abs() < 1e-18);
}

#[test]
fn a_capacitor_stands_across_the_line() {
    let text = SAMPLE.replace(
        "[pin]",
        "[[ladder]]\nshunt = { capacitance = \"10 µF\", esr = \"5 mΩ\" }\nlead = \"1.5 nH\"\n\n[pin]",
    );
    let study = study(&text);
    let Some(Stage::Capacitor(capacitor)) = study.ladder.last() else {
        panic!("a capacitor")
    };
    assert_eq!(capacitor.name, "C1");
    assert_eq!(
        (capacitor.capacitance_f, capacitor.esr_ohm, capacitor.lead_h),
        (10e-6, 5e-3, 1.5e-9)
    );
}

#[test]
fn names_that_the_result_uses_are_refused() {
    for name in ["pin", "port pair", "X (line 1)", "D1 (rail clamp)"] {
        let text = SAMPLE.replacen("name = \"D1\"", &format!("name = \"{name}\""), 1);
        let error = read_text("study.toml", &text, &files()).expect_err("a refusal");
        assert!(error.to_string().contains("belongs to the result"), "{error}");
        assert!(error.line > 0 && error.column > 0, "{error}");
    }
}
