//! The figures of the demo: sound, the same every time, and true to their data.

mod samples;

use samples::{STUDIES, assessed, comparison, correlation, drawn, fits, study};
use tidewall_assess::result::{PartSet, StressSet};
use tidewall_plot::audit::{faults, lines, texts};
use tidewall_plot::{Cell, Figure};
use tidewall_report::figures;
use tidewall_study::{Study, read_text};

/// Nothing wrong, and every number of the text alternative is finite.
fn sound(name: &str, figure: &Figure) {
    let found = faults(figure);
    assert!(found.is_empty(), "{name}, {}: {found:#?}", figure.id);
    assert!(!figure.data.is_empty(), "{name}, {}: no data", figure.id);
    assert!(
        figure.alt.chars().any(|char| char.is_ascii_digit()),
        "{name}, {}: {}",
        figure.id,
        figure.alt
    );
    assert!(
        !figure.alt.contains("NaN") && !figure.alt.contains(" inf"),
        "{}",
        figure.alt
    );
    assert!(
        figure.svg.len() < 400_000,
        "{name}, {}: {} bytes",
        figure.id,
        figure.svg.len()
    );
}

#[test]
fn the_figures_of_every_study_of_the_demo_are_sound() {
    for name in STUDIES {
        let study = study(name);
        // High parts in the heat, and low ones in the cold: enough to draw everything.
        let range = study.port.ambient_c.value;
        let (assessment, traces) = assessed(&study, &|case| {
            let end = match case.parts {
                PartSet::High => range.high,
                PartSet::Low => range.low,
                _ => return false,
            };
            case.ambient_c == end && case.tolerance != StressSet::Low
        });
        let all = figures::all(&study, &assessment, &traces);
        let mut ids: Vec<&str> = all.iter().map(|figure| figure.id.as_str()).collect();
        for wanted in ["ladder", "margins", "design-window", "energy"] {
            assert!(ids.contains(&wanted), "{name} has no {wanted}: {ids:?}");
        }
        let waves = ids.iter().filter(|id| id.starts_with("waveforms-")).count();
        assert_eq!(waves, study.stresses.len(), "{name}");
        for figure in &all {
            sound(name, figure);
        }
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all.len(), "{name}: two figures of one id");
        assert_eq!(all, figures::all(&study, &assessment, &traces), "{name}");
    }
}

#[test]
fn figures_of_comparison_draws_fits_and_correlation_are_sound() {
    let fits = fits();
    let fitted = fits.iter().map(figures::fit);
    for figure in comparison()
        .into_iter()
        .chain(drawn())
        .chain(fitted)
        .chain([correlation()])
    {
        sound("parts and measurements", &figure);
    }
}

/// A small inlet with what is asked for about its walls.
fn small(must_not_conduct: &str, withstand: &str, junction: &str) -> Study {
    let text = format!(
        r#"
title = "Small </title><script> & \"inlet\""

[port]
lines = 1
kind = "dc"
{must_not_conduct}
ambient = "-20 °C to 60 °C"

[[stress]]
id = "surge"
standard = "IEC 61000-4-5"
level = "500 V"
coupling = "line-earth"
polarity = "positive"

[[ladder]]
name = "D1"
shunt = "hazel-33"
lead = "2 nH"

[pin]
name = "converter <b>\"&'"
{withstand}
capacitance = "1 µF"

[[part]]
name = "hazel-33"
family = "avalanche"
kind = "invented"
source = "invented for this test"
bidirectional = true
stand_off = "33 V"
breakdown = {{ min = "36 V", max = "40 V", at = "1 mA" }}
clamp = [{{ wave = "10/1000", current = "28.2 A", max = "53.3 V" }}]
temperature_coefficient = "0.098 %/K"
capacitance = [{{ bias = "0 V", typ = "2 nF" }}]
{junction}
"#
    );
    read_text("small.toml", &text, &tidewall_study::NoFiles).unwrap_or_else(|error| panic!("{error}"))
}

const JUNCTION: &str = "junction_max = \"150 °C\"\nrating = [{ wave = \"10/1000\", power = \"1.5 kW\" }]";

fn find<'f>(all: &'f [Figure], id: &str) -> &'f Figure {
    all.iter().find(|figure| figure.id == id).expect("the figure")
}

#[test]
fn what_is_unknown_is_said_and_no_wall_is_drawn() {
    let known = small(
        "must_not_conduct = \"-30 V to 30 V\"",
        "withstand = [{ voltage = \"60 V\", lasts = \"any\", polarity = \"both\" }]",
        JUNCTION,
    );
    let unknown = small("", "", JUNCTION);
    let window = |study: &Study| {
        let (assessment, traces) = assessed(study, &|_| true);
        let all = figures::all(study, &assessment, &traces);
        for figure in &all {
            sound("small", figure);
        }
        (
            find(&all, "design-window").clone(),
            find(&all, "waveforms-surge").clone(),
        )
    };
    let walls = |figure: &Figure| figure.svg.matches("<rect class=\"tw-zone\"").count();
    let (figure, _) = window(&known);
    assert_eq!(walls(&figure), 2);
    assert!(
        figure
            .alt
            .contains("must not conduct up to 30 V. The pin withstands 60 V for any time.")
    );
    let (figure, waves) = window(&unknown);
    assert_eq!(walls(&figure), 0);
    assert!(
        figure
            .alt
            .contains("The left wall is unknown. The right wall is unknown.")
    );
    let seen = texts(&figure.svg).expect("well-formed");
    for said in ["Left wall unknown", "Right wall unknown"] {
        assert!(seen.iter().any(|text| text.text.starts_with(said)), "{said}");
    }
    assert!(waves.alt.contains("What the pin withstands is not known."));
}

#[test]
fn a_part_without_a_model_has_no_curve_and_the_window_says_why() {
    let study = small("must_not_conduct = \"-30 V to 30 V\"", "", "");
    let (assessment, traces) = assessed(&study, &|_| true);
    let all = figures::all(&study, &assessment, &traces);
    let ids: Vec<&str> = all.iter().map(|figure| figure.id.as_str()).collect();
    assert_eq!(ids, ["ladder", "margins", "design-window"]);
    all.iter().for_each(|figure| sound("small", figure));
    let seen = texts(&find(&all, "design-window").svg).expect("well-formed");
    let said: Vec<&str> = seen.iter().map(|text| text.text.as_str()).collect();
    assert!(said.join(" ").contains("D1: no curve, part"), "{said:?}");
}

#[test]
fn operating_points_lie_where_the_part_conducts() {
    let study = study("supply-24v");
    let (assessment, traces) = assessed(&study, &|case| case.stress == 0);
    let figure = figures::design_window(&study, &assessment, Some(&traces)).expect("a window");
    let data = &figure.data;
    let points: Vec<(f64, f64)> = (0..data.len())
        .filter(|row| data.cell(*row, 0) == Cell::Text("operating point".to_owned()))
        .map(|row| match (data.cell(row, 4), data.cell(row, 5)) {
            (Cell::Number(volts), Cell::Number(amps)) => (volts, amps),
            other => panic!("{other:?}"),
        })
        .collect();
    // Cold and hot, low and high parts; the demo's README has 266 A and a clamp of 45 V to 49 V for high parts.
    assert_eq!(points.len(), 4, "{points:?}");
    assert!(
        points
            .iter()
            .all(|(volts, amps)| (38.0..50.0).contains(volts) && (250.0..270.0).contains(amps)),
        "{points:?}"
    );
    let without = figures::design_window(&study, &assessment, None).expect("a window");
    assert!(
        texts(&without.svg)
            .expect("well-formed")
            .iter()
            .any(|text| text.text.contains("no run was recorded"))
    );
}

#[test]
fn the_data_of_waveforms_hold_the_peaks_that_the_assessment_found() {
    let study = study("supply-24v-avalanche");
    let (assessment, traces) = assessed(&study, &|case| case.stress == 0 && case.parts == PartSet::High);
    let outcome = traces.of(0).expect("the first stress");
    let figure = figures::waveforms_of(&study, outcome).expect("a recording");
    let pin = figure
        .data
        .columns
        .iter()
        .position(|column| column.name == "pin")
        .expect("the pin");
    let top = (0..figure.data.len()).fold(0.0f64, |top, row| match figure.data.cell(row, pin) {
        Cell::Number(volts) => top.max(volts),
        _ => top,
    });
    let found = assessment
        .transients
        .iter()
        .map(|run| run.pin_peak_v)
        .fold(0.0, f64::max);
    assert!((top / found - 1.0).abs() < 2e-3, "{top} {found}");
    // The picture keeps that peak, too, as exact as its pixels are.
    let drawn = lines(&figure.svg).expect("readable");
    let drawn = drawn
        .iter()
        .filter(|line| line.name == "pin")
        .flat_map(|line| &line.points);
    let drawn = drawn.fold(0.0f64, |top, point| top.max(point.1));
    assert!((drawn / top - 1.0).abs() < 1e-3, "{drawn} {top}");
}
