//! Whatever the text, reading ends in a study or in one error that points into the text.

mod common;

use common::{PARTS, SAMPLE, files};
use proptest::prelude::*;
use tidewall_study::{NoFiles, StudyError, read_parts, read_text};

fn points_into(error: &StudyError, study: &str) {
    let shown = error.to_string();
    assert!(shown.contains(&error.message));
    assert!(!error.message.is_empty() && !error.expected.is_empty());
    if error.line > 0 && error.file == "study.toml" {
        assert!(
            error.span.start <= error.span.end && error.span.end <= study.len(),
            "{shown}"
        );
        assert!(
            study.is_char_boundary(error.span.start) && study.is_char_boundary(error.span.end),
            "{shown}"
        );
        assert!(error.line <= study.matches('\n').count() + 1, "{shown}");
    }
    assert!(shown.lines().all(|line| line.chars().count() < 1500), "{shown}");
}

/// Pieces that studies are made of, and some that break them.
const PIECES: &[&str] = &[
    "",
    "\"",
    "=",
    "[",
    "]",
    "{",
    "}",
    "\n",
    "[[ladder]]\n",
    "[port]\n",
    "nan",
    "inf",
    "-",
    "\u{feff}",
    "µ",
    "°",
    "\"\"\"",
    "''",
    "\\",
    "\0",
    "1e400 V",
    "-1 V",
    "0 V",
    "0 nH",
    "true",
    "[1]",
    "{ }",
    "series = ",
    "shunt = ",
    "\"line-line\"",
    "lines = 2\n",
    "profile = \"rs-485\"\n",
    "kind = \"ac\"\n",
    "± 5 V",
    "\"5 V to 3 V\"",
    "0x7fff",
];

fn mutated(text: &'static str) -> impl Strategy<Value = String> {
    let cut = (0..=text.len(), 0..40_usize, 0..PIECES.len());
    proptest::collection::vec(cut, 1..5).prop_map(move |cuts| {
        let mut text = text.to_owned();
        for (at, length, piece) in cuts {
            let boundary = |mut at: usize| {
                at = at.min(text.len());
                while !text.is_char_boundary(at) {
                    at -= 1;
                }
                at
            };
            let (start, end) = (boundary(at), boundary(at + length));
            text.replace_range(start..end.max(start), PIECES[piece]);
        }
        text
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_mutated_study_never_panics(text in mutated(SAMPLE)) {
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        if let Err(error) = read_text("study.toml", text, &files()) {
            points_into(&error, text);
        }
    }

    #[test]
    fn a_mutated_parts_file_never_panics(text in mutated(PARTS)) {
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        if let Err(error) = read_parts("study.toml", text, &NoFiles) {
            points_into(&error, text);
        }
    }

    #[test]
    fn any_text_never_panics(text in "\\PC*") {
        if let Err(error) = read_text("study.toml", &text, &NoFiles) {
            points_into(&error, &text);
        }
    }

    #[test]
    fn a_value_of_any_text_never_panics(value in "\\PC{0,30}", number in any::<f64>()) {
        let escaped = value.replace('\\', "\\\\").replace('"', "\\\"");
        for to in [format!("\"{escaped}\""), number.to_string(), format!("\"{number} V\"")] {
            for from in ["\"60 V\"", "\"30.2 V\"", "\"500 ms\"", "\"-40 °C to 70 °C\"", "\"1 kV\"", "\"alder-33\"", "\"esd\""] {
                let text = SAMPLE.replacen(from, &to, 1);
                if let Err(error) = read_text("study.toml", &text, &files()) {
                    points_into(&error, &text);
                }
            }
        }
    }

    /// What a study says in numbers comes out in SI units, whatever prefix it is written with.
    #[test]
    fn quantities_come_out_in_si_units(millivolts in 30_300_u32..60_000, nanohenries in 1_u32..1000) {
        let text = SAMPLE
            .replace("\"30.2 V\"", &format!("\"{millivolts} mV\""))
            .replace("\"2 nH\"", &format!("\"{nanohenries}nH\""));
        let study = read_text("study.toml", &text, &files()).expect("good");
        let limits = study.port.must_not_conduct_v.expect("given").value;
        prop_assert_eq!(limits.high, f64::from(millivolts) / 1e3);
        let tidewall_study::Stage::Shunt(shunt) = &study.ladder[1] else { panic!("a shunt") };
        prop_assert_eq!(shunt.lead_h, f64::from(nanohenries) / 1e9);
    }
}
