//! Touchstone files by hand from the open specification.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use tidewall_interchange::touchstone::{
    Complex, Fixture, NoPart, Parameter, first_resonance_hz, part_at, ports_of_name, read,
};

fn near(got: f64, wanted: f64, relative: f64) {
    assert!(
        (got - wanted).abs() <= relative * wanted.abs(),
        "{got} instead of {wanted}"
    );
}

#[test]
fn a_one_port_in_each_format() {
    // 0.5 at 90°: real 0, imaginary 0.5, −6.0206 dB.
    for (format, first, second) in [
        ("RI", "0", "0.5"),
        ("MA", "0.5", "90"),
        ("DB", "-6.020599913279624", "90"),
    ] {
        let text = format!("! invented\n# MHz S {format} R 75\n10 {first} {second} ! a point\n20 0 0\n");
        let file = read(&text, Some(1)).unwrap_or_else(|fault| panic!("{fault}"));
        assert_eq!((file.version, file.ports, file.parameter), (1, 1, Parameter::S));
        assert_eq!(file.reference_ohm, [75.0]);
        assert_eq!(file.points[0].frequency_hz, 10e6);
        assert!((file.points[0].matrix[0].im - 0.5).abs() < 1e-12, "{format}");
        assert!(file.points[0].matrix[0].re.abs() < 1e-12, "{format}");
    }
}

#[test]
fn silent_options_are_those_of_the_specification() {
    let file = read("#\n1 1 0\n", Some(1)).unwrap();
    assert_eq!((file.points[0].frequency_hz, file.reference_ohm[0]), (1e9, 50.0));
    assert_eq!(file.points[0].matrix[0], Complex::new(1.0, 0.0));
    // Only the first option line counts.
    let file = read("# kHz S RI R 50\n# GHz Y MA R 1\n1 0.1 0.2\n", Some(1)).unwrap();
    assert_eq!((file.points[0].frequency_hz, file.parameter), (1e3, Parameter::S));
}

#[test]
fn a_two_port_of_version_1_has_its_columns_first() {
    let text = "# GHz S RI R 50\n1  11 0  21 0  12 0  22 0\n2 0 0 0 0 0 0 0 0\n 0.5 1.2 0.3 40 0.2\n 0.6 1 0.3 40 0.2\n";
    let file = read(text, Some(2)).unwrap_or_else(|fault| panic!("{fault}"));
    let real: Vec<f64> = file.points[0].matrix.iter().map(|entry| entry.re).collect();
    // Row by row: S11 S12 S21 S22.
    assert_eq!(real, [11.0, 12.0, 21.0, 22.0]);
    assert_eq!((file.points.len(), file.noise_points), (2, 2));
}

#[test]
fn three_and_four_ports_stand_row_by_row() {
    let text = "# Hz S RI R 50\n5 11 0 12 0 13 0\n 21 0 22 0 23 0\n 31 0 32 0 33 0\n";
    let file = read(text, Some(3)).unwrap();
    let real: Vec<f64> = file.points[0].matrix.iter().map(|entry| entry.re).collect();
    assert_eq!(real, [11.0, 12.0, 13.0, 21.0, 22.0, 23.0, 31.0, 32.0, 33.0]);
    let row = "1 0 2 0 3 0 4 0\n";
    let file = read(&format!("# Hz S RI R 50\n7 {}", row.repeat(4)), Some(4)).unwrap();
    assert_eq!((file.ports, file.points[0].matrix.len()), (4, 16));
}

const VERSION_2: &str = "! invented
[Version] 2.0
# MHz S RI R 50
[Number of Ports] 2
[Two-Port Data Order] 12_21
[Number of Frequencies] 2
[Number of Noise Frequencies] 1
[Reference] 50
75
[Matrix Format] Full
[Begin Information]
[Anything] at all
[End Information]
[Network Data]
1 11 0 12 0
  21 0 22 0
2 0 0 0 0 0 0 0 0
[Noise Data]
1 0.5 0.1 10 0.3
[End]
";

#[test]
fn version_2_with_its_keywords() {
    let file = read(VERSION_2, Some(2)).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!((file.version, file.ports, file.noise_points), (2, 2, 1));
    assert_eq!(file.reference_ohm, [50.0, 75.0]);
    let real: Vec<f64> = file.points[0].matrix.iter().map(|entry| entry.re).collect();
    assert_eq!(real, [11.0, 12.0, 21.0, 22.0]);
    let swapped = read(&VERSION_2.replace("12_21", "21_12"), None).unwrap();
    assert_eq!(swapped.points[0].matrix[1].re, 21.0);
}

fn fails(text: &str, ports: Option<usize>, line: usize, reason: &str) {
    let fault = read(text, ports).expect_err(&format!("accepted:\n{text}"));
    assert_eq!(fault.line, line, "{fault}\n{text}");
    assert!(fault.message.contains(reason), "{fault}");
    assert!(!fault.expected.is_empty());
}

#[test]
fn every_malformed_input_gives_line_and_reason() {
    let one = Some(1);
    fails("", one, 1, "empty");
    fails("! only a comment\n", one, 1, "empty");
    fails("1 0 0\n", one, 1, "before the option line");
    fails("# Hz S RI R 50\n", one, 1, "no data");
    fails("# Hz S RI R 50\n1 0 0\n", None, 1, "number of ports is not known");
    fails(
        "# Hz S RI R 50\n1 0 0\n",
        Some(5),
        1,
        "number of ports is not known",
    );
    fails("# Hz S RI R\n1 0 0\n", one, 1, "cannot stand here");
    fails("# Hz S RI R -50\n1 0 0\n", one, 1, "cannot stand here");
    fails("# Hz S RI kHz\n1 0 0\n", one, 1, "twice");
    fails("# Hz S XY\n1 0 0\n", one, 1, "no place");
    fails("# Hz S RI\n1 0,5 0\n", one, 2, "not a number");
    fails("# Hz S RI\n1 nan 0\n", one, 2, "not a number");
    fails("# Hz S RI\n2 0 0\n1 0 0\n", one, 3, "not above");
    fails("# Hz S RI\n-1 0 0\n", one, 2, "not above");
    fails("# Hz S RI\n1 0 0 0 0\n", one, 2, "more than its 3");
    fails("# Hz S RI\n1 0\n", one, 2, "2 numbers");
    fails("# Hz S RI\n1 0 0 0 0 0 0\n", Some(3), 2, "not whole");
    fails("# Hz S DB\n1 1e9 0\n", one, 2, "beyond all numbers");
    fails("# Hz S RI\n[Network Data]\n1 0 0\n", one, 2, "keyword");
    fails("[Network Data]\n", one, 1, "before [Version]");
    fails("[Version\n", one, 1, "closing bracket");
    fails("[Version] 3.0\n# Hz\n", one, 1, "not known");
    let noise = "# GHz S RI R 50\n1 0 0 0 0 0 0 0 0\n0.5 1 1 1 1\n";
    fails(&format!("{noise}0.4 1 1 1 1\n"), Some(2), 4, "no noise data");
    fails(
        &format!("{noise}2 0 0 0 0 0 0 0 0\n"),
        Some(2),
        4,
        "no noise data",
    );
}

#[test]
fn every_fault_of_version_2_gives_line_and_reason() {
    let change = |from: &str, to: &str| {
        assert!(VERSION_2.contains(from), "{from}");
        VERSION_2.replacen(from, to, 1)
    };
    fails(
        &change("[Number of Ports] 2", "[Number of Ports] 9"),
        None,
        4,
        "whole number",
    );
    fails(VERSION_2, Some(3), 4, "its name says otherwise");
    fails(&change("12_21", "11_22"), None, 5, "not clear");
    fails(
        &change("[Two-Port Data Order] 12_21\n", ""),
        None,
        13,
        "without [Two-Port Data Order]",
    );
    fails(
        &change("[Number of Frequencies] 2\n", ""),
        None,
        13,
        "without [Number of Frequencies]",
    );
    fails(
        &change("[Number of Frequencies] 2", "[Number of Frequencies] 3"),
        None,
        20,
        "promises 3",
    );
    fails(
        &change(
            "[Number of Noise Frequencies] 1",
            "[Number of Noise Frequencies] 2",
        ),
        None,
        20,
        "promises 2",
    );
    fails(
        &change("# MHz S RI R 50\n", ""),
        None,
        13,
        "without the option line",
    );
    fails(&change("75\n", "75 50\n"), None, 9, "more references");
    fails(&change("75\n", ""), None, 13, "a [Reference] for each port");
    fails(&change("Full", "Upper"), None, 10, "whole matrices");
    fails(
        &change("[Matrix Format] Full", "[Mixed-Mode Order] D2,3"),
        None,
        10,
        "mixed-mode",
    );
    fails(
        &change("[Matrix Format] Full", "[Surprise]"),
        None,
        10,
        "no keyword",
    );
    fails(
        &change("[Matrix Format] Full", "loose"),
        None,
        10,
        "cannot stand here",
    );
    fails(
        &change("[Reference] 50\n75", "loose"),
        None,
        8,
        "belongs to nothing",
    );
    fails(&change("  21 0 22 0\n", ""), None, 16, "more than its 9");
    fails(&change("[End]\n", ""), None, 19, "without [End]");
    fails(&format!("{VERSION_2}more\n"), None, 21, "after [End]");
    fails(&change("[Noise Data]\n", "[Network Data]\n"), None, 18, "twice");
}

#[test]
fn names_say_the_ports() {
    assert_eq!(ports_of_name("folder/x.s2p"), Some(2));
    assert_eq!(ports_of_name("X.S4P"), Some(4));
    for name in ["x.ts", "x.s0p", "x.s5p", "sp", "s2p.txt", ""] {
        assert_eq!(ports_of_name(name), None, "{name}");
    }
}

/// A file of a capacitance with a series inductance and resistance in a fixture of 50 Ω.
fn measured(fixture: Fixture, c: f64, l: f64, r: f64, frequencies_hz: &[f64]) -> String {
    let one = Complex::new(1.0, 0.0);
    let mut text = "# Hz S RI R 50\n".to_owned();
    for &f in frequencies_hz {
        let z = Complex::new(r, TAU * f * l - 1.0 / (TAU * f * c));
        let y = one / z;
        let minus = |a: Complex, b: Complex| a + b.times(-1.0);
        // S11 = (z − 1)/(z + 1); S21 from the chain matrices.
        match fixture {
            Fixture::OnePort => {
                let s = minus(z, Complex::new(50.0, 0.0)) / (z + Complex::new(50.0, 0.0));
                text += &format!("{f} {} {}\n", s.re, s.im);
            }
            Fixture::Series | Fixture::Shunt => {
                let s = if fixture == Fixture::Series {
                    Complex::new(100.0, 0.0) / (z + Complex::new(100.0, 0.0))
                } else {
                    Complex::new(2.0, 0.0) / (y.times(50.0) + Complex::new(2.0, 0.0))
                };
                text += &format!("{f} 0 0 {} {} 0 0 0 0\n", s.re, s.im);
            }
        }
    }
    text
}

#[test]
fn each_fixture_gives_the_capacitance_back() {
    for fixture in [Fixture::OnePort, Fixture::Series, Fixture::Shunt] {
        let ports = if fixture == Fixture::OnePort { 1 } else { 2 };
        let text = measured(fixture, 150e-12, 1e-12, 0.05, &[1e6, 10e6, 30e6]);
        let file = read(&text, Some(ports)).unwrap();
        let part = part_at(&file, fixture, 10e6).unwrap_or_else(|why| panic!("{fixture:?}: {why}"));
        near(part.capacitance_f, 150e-12, 1e-4);
        near(part.admittance.im, TAU * 10e6 * 150e-12, 1e-4);
        assert!(part.relative < 0.1);
        // Wrong fixture for these ports.
        let other = if ports == 1 {
            Fixture::Shunt
        } else {
            Fixture::OnePort
        };
        assert_eq!(part_at(&file, other, 10e6), Err(NoPart::Ports(ports)));
    }
}

#[test]
fn beyond_its_series_resonance_a_part_is_inductive() {
    let (c, l): (f64, f64) = (100e-12, 1e-9);
    let resonance = 1.0 / (2.0 * PI * (l * c).sqrt());
    let frequencies: Vec<f64> = (1..=40).map(|step| 25e6 * f64::from(step)).collect();
    let file = read(&measured(Fixture::Shunt, c, l, 0.1, &frequencies), Some(2)).unwrap();
    near(
        first_resonance_hz(&file, Fixture::Shunt).unwrap().unwrap(),
        resonance,
        1e-3,
    );
    match part_at(&file, Fixture::Shunt, 1e9) {
        Err(NoPart::Inductive(henries, Some(at))) => {
            // What is seen at 1 GHz: ωL − 1/(ωC).
            near(henries, l - 1.0 / (TAU.powi(2) * 1e18 * c), 1e-6);
            near(at, resonance, 1e-3);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_the_fixture_cannot_tell_is_refused() {
    // 0.5 pF in 50 Ω at 1 MHz: an admittance of 3 µS beside 20 mS.
    for fixture in [Fixture::OnePort, Fixture::Shunt] {
        let ports = if fixture == Fixture::OnePort { 1 } else { 2 };
        let file = read(&measured(fixture, 0.5e-12, 1e-15, 0.0, &[1e6, 2e6]), Some(ports)).unwrap();
        assert!(
            matches!(part_at(&file, fixture, 1e6), Err(NoPart::IllConditioned(relative)) if relative > 1.0)
        );
    }
    // In series the same part is well told at 1 GHz, and 100 nF is not.
    let file = read(&measured(Fixture::Series, 0.5e-12, 1e-15, 0.0, &[1e9]), Some(2)).unwrap();
    near(
        part_at(&file, Fixture::Series, 1e9).unwrap().capacitance_f,
        0.5e-12,
        1e-4,
    );
    let file = read(&measured(Fixture::Series, 100e-9, 1e-15, 0.0, &[1e9]), Some(2)).unwrap();
    assert!(matches!(
        part_at(&file, Fixture::Series, 1e9),
        Err(NoPart::IllConditioned(_))
    ));
    // A through line or an open: nothing but an unbounded answer.
    let file = read("# Hz S RI R 50\n1 -1 0\n2 -1 0\n", Some(1)).unwrap();
    assert!(matches!(
        part_at(&file, Fixture::OnePort, 1.0),
        Err(NoPart::IllConditioned(_))
    ));
}

#[test]
fn frequencies_outside_the_file_are_refused() {
    let file = read(&measured(Fixture::Shunt, 1e-9, 1e-15, 0.0, &[1e6, 2e6]), Some(2)).unwrap();
    assert_eq!(
        part_at(&file, Fixture::Shunt, 0.9e6),
        Err(NoPart::Outside(1e6, 2e6))
    );
    assert_eq!(
        part_at(&file, Fixture::Shunt, 2.1e6),
        Err(NoPart::Outside(1e6, 2e6))
    );
    assert_eq!(part_at(&file, Fixture::Shunt, 0.0), Err(NoPart::Frequency));
    near(
        part_at(&file, Fixture::Shunt, 1.5e6).unwrap().capacitance_f,
        1e-9,
        1e-2,
    );
    let other = read(&VERSION_2.replace("S RI", "Z RI"), None).unwrap();
    assert_eq!(part_at(&other, Fixture::Shunt, 1e6), Err(NoPart::Parameter));
    assert_eq!(
        part_at(&read(VERSION_2, None).unwrap(), Fixture::Shunt, 1e6),
        Err(NoPart::Reference)
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_panics(text in any::<String>(), ports in proptest::option::of(0usize..7)) {
        let _ = read(&text, ports);
    }

    #[test]
    fn no_shuffled_file_panics(
        cuts in proptest::collection::vec((0usize..30, 0usize..30, "[\\[\\]!#A-Za-z0-9 .-]{0,9}"), 1..5),
        ports in proptest::option::of(1usize..5),
    ) {
        let mut lines: Vec<String> = VERSION_2.lines().map(str::to_owned).collect();
        for (a, b, piece) in cuts {
            let (a, b) = (a % lines.len(), b % lines.len());
            lines.swap(a, b);
            lines[a].push_str(&piece);
        }
        if let Ok(file) = read(&lines.join("\n"), ports) {
            prop_assert!(file.points.iter().all(|point| point.matrix.len() == file.ports * file.ports));
            for fixture in [Fixture::OnePort, Fixture::Series, Fixture::Shunt] {
                let _ = part_at(&file, fixture, 1.5e6);
            }
        }
    }
}
