//! Finished pictures: well-formed, without overlap, with what their data hold, whatever they are given.

use proptest::prelude::*;
use tidewall_plot::audit::{faults, lines, texts};
use tidewall_plot::{
    At, Axis, Band, Bar, Bars, Chart, Curve, Dash, Figure, Fill, Item, Mark, Marker, Naming, Panel, Points,
    Style, Table, Tone, View, Words, Zone,
};

fn words(alt: &str) -> Words {
    Words::new("test", "A title", "A caption.", alt)
}

fn sound(figure: &Figure) {
    let faults = faults(figure);
    assert!(faults.is_empty(), "{faults:#?}\n{}", figure.svg);
}

/// Everything a panel can hold.
fn full(names: &str) -> Chart {
    let mut panel = Panel::new(Axis::linear(names, "V"), Axis::log(names, "A")).head(names);
    panel.items = vec![
        Item::Zone(Zone {
            label: format!("{names} must not conduct here"),
            x: (f64::NEG_INFINITY, 20.0),
            y: (f64::NEG_INFINITY, f64::INFINITY),
            hatched: true,
        }),
        Item::Zone(Zone {
            label: names.to_owned(),
            x: (60.0, f64::INFINITY),
            y: (f64::NEG_INFINITY, f64::INFINITY),
            hatched: false,
        }),
        Item::Band(Band {
            name: names.to_owned(),
            one: vec![(30.0, 0.01), (32.0, 1.0), (40.0, 100.0)],
            other: vec![(36.0, 0.01), (38.0, 1.0), (50.0, 100.0)],
            style: Style::nth(0),
            naming: Naming::Legend,
        }),
        Item::Curve(Curve {
            name: format!("{names} snapback"),
            points: [(0.0, 0.02), (70.0, 0.05), (12.0, 0.5), (16.0, 90.0)].into(),
            style: Style::nth_marked(1),
            naming: Naming::Direct,
        }),
        Item::Mark(Mark {
            label: format!("{names} limit"),
            at: At::Y(10.0),
            span: Some((25.0, 65.0)),
            style: Style::stroke(Tone::Ink, Dash::Short, 1.0),
        }),
        Item::Points(Points {
            name: names.to_owned(),
            points: vec![(40.0, 90.0, names.to_owned()), (41.0, 60.0, "B".to_owned())],
            style: Style::markers(Tone::Ink, Marker::Disc),
            naming: Naming::Legend,
        }),
    ];
    panel.note(format!("{names} is not known."));
    let panel = Panel {
        shares_x: names.len() == 2,
        ..panel
    };
    Chart {
        columns: 2,
        ..Chart::of(vec![panel.clone(), panel])
    }
}

#[test]
fn a_full_panel_is_sound_and_the_same_every_time() {
    let draw = || full("D1").figure(words("What it shows."), Table::default());
    sound(&draw());
    assert_eq!(draw(), draw());
}

#[test]
fn hostile_names_stay_text() {
    let name = "</text><script>alert(1)</script>\"'&\u{0}\u{8}]]>";
    let figure = full(name).figure(Words::new(name, name, name, name), Table::default());
    assert!(!figure.svg.contains("<script"));
    let found = texts(&figure.svg).expect("well-formed");
    assert!(found.iter().any(|text| text.text.contains("<script>")));
    assert!(
        figure
            .id
            .chars()
            .all(|char| char.is_ascii_alphanumeric() || char == '-')
    );
    let bar = Bar::new(name, Some(1.0), name);
    let figure = Bars::new(Axis::linear(name, name), vec![bar]).figure(words(name), Table::default());
    assert!(texts(&figure.svg).is_ok() && !figure.svg.contains("<script"));
}

#[test]
fn what_has_no_place_makes_a_gap_and_is_said() {
    let mut panel = Panel::new(Axis::linear("Time", "s"), Axis::log("Current", "A"));
    let points = vec![
        (0.0, 1.0),
        (1.0, 2.0),
        (2.0, f64::NAN),
        (3.0, 5.0),
        (4.0, -1.0),
        (5.0, 3.0),
        (6.0, 2.0),
    ];
    panel.curve("D1", points, Style::nth(0));
    let figure = Chart::of(vec![panel]).figure(words("Current of D1."), Table::default());
    assert_eq!(
        figure.alt,
        "Current of D1. 2 of the 7 points of D1 have no place on these axes and are left out."
    );
    sound(&figure);
    // One run of two points and one at the end; the single point between the gaps draws nothing.
    let path = figure
        .svg
        .lines()
        .find(|line| line.contains("data-name=\"D1\""))
        .expect("a curve");
    assert!(path.contains("d=\"M") && !path.contains("NaN"));
}

#[test]
fn a_limit_off_the_panel_is_said() {
    let mut panel = Panel::new(
        Axis::linear("Time", "s").range(0.0, 1.0),
        Axis::linear("Voltage", "V").range(0.0, 10.0),
    );
    panel.limit("limit 60 V", 60.0);
    let figure = Chart::of(vec![panel]).figure(words("Nothing."), Table::default());
    assert_eq!(figure.alt, "Nothing. “limit 60 V” lies outside what is shown.");
}

#[test]
fn panels_tell_a_script_their_ranges_and_values() {
    let mut panel = Panel::new(
        Axis::symlog("Voltage", "V", 0.5),
        Axis::linear("Current", "A").range(0.0, 10.0),
    );
    panel.curve("pin", vec![(-5.0, 1.0), (50.0, 2.5)], Style::nth(0));
    let svg = Chart::of(vec![panel]).figure(words("Pin."), Table::default()).svg;
    for piece in [
        "data-x-scale=\"symlog\"",
        "data-x-within=\"0.5\"",
        "data-y-range=\"0 10\"",
        "data-x-unit=\"V\"",
        "data-name=\"pin\"",
        "data-box=\"",
    ] {
        assert!(svg.contains(piece), "no {piece} in {svg}");
    }
}

#[test]
fn a_long_wave_keeps_its_one_peak_and_stays_small() {
    let mut points: Vec<(f64, f64)> = (0..200_000)
        .map(|k| (f64::from(k) * 1e-9, (f64::from(k) * 0.01).sin()))
        .collect();
    points[123_457].1 = 400.0;
    let mut panel = Panel::new(Axis::linear("Time", "s"), Axis::linear("Voltage", "V"));
    panel.curve("pin", points, Style::nth(0));
    let figure = Chart::of(vec![panel]).figure(words("Pin."), Table::default());
    let drawn = lines(&figure.svg).expect("readable");
    let top = drawn[0].points.iter().fold(0.0f64, |top, point| top.max(point.1));
    assert!((top - 400.0).abs() < 0.1, "the peak is gone: {top}");
    assert!(figure.svg.len() < 120_000, "{} bytes", figure.svg.len());
}

#[test]
fn bars_cut_what_is_too_long_and_say_what_is_unknown() {
    let bars = vec![
        Bar {
            group: "surge".to_owned(),
            fill: Fill::Solid,
            number: "−340 %".to_owned(),
            detail: "70 °C, parts high".to_owned(),
            limit: Some(10.0),
            ..Bar::new("Let-through voltage", Some(-340.0), "FAIL")
        },
        Bar {
            group: "surge".to_owned(),
            fill: Fill::Hatched,
            whisker: Some((2.0, 9.0)),
            ..Bar::new("Surge current", Some(4.0), "MARGINAL")
        },
        Bar {
            group: "esd".to_owned(),
            ..Bar::new(
                "Let-through energy",
                None,
                "UNKNOWN: needs `failure_energy` of the pin",
            )
        },
        Bar::new("not a number", Some(f64::NAN), "?"),
    ];
    let mut chart = Bars::new(Axis::linear("Margin", "%").range(-100.0, 100.0), bars);
    for (label, at) in [("10 % wanted", 10.0), ("limit", 0.0)] {
        chart.marks.push(Mark {
            label: label.to_owned(),
            at: At::X(at),
            span: None,
            style: Style::stroke(Tone::Ink, Dash::Short, 1.0),
        });
    }
    let figure = chart.figure(words("Margins."), Table::default());
    sound(&figure);
    let found = texts(&figure.svg).expect("well-formed");
    assert!(found.iter().any(|text| text.text.starts_with("UNKNOWN: needs")));
    assert!(
        figure
            .alt
            .ends_with("The value of not a number is not finite; it has no bar.")
    );
}

#[test]
fn nothing_at_all_is_still_a_picture() {
    sound(
        &Chart::of(vec![Panel::new(Axis::linear("x", "s"), Axis::log("y", "A"))])
            .figure(words("Empty."), Table::default()),
    );
    sound(&Bars::new(Axis::linear("x", "%"), Vec::new()).figure(words("Empty."), Table::default()));
    sound(&Chart::of(Vec::new()).figure(words("Empty."), Table::default()));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn labels_never_overlap_nor_leave_the_sheet(
        limits in prop::collection::vec((-80.0f64..80.0, "[A-Z][a-z]{2,14} [0-9]{1,3} V"), 0..9),
        marks in prop::collection::vec((0.0f64..1.0, "[a-z]{2,9}"), 0..6),
        wave in prop::collection::vec(-90.0f64..90.0, 2..60),
    ) {
        let mut panel = Panel::new(Axis::linear("Time", "s"), Axis::linear("Voltage", "V"));
        let last = wave.len() as f64 - 1.0;
        let points: Vec<(f64, f64)> = wave.iter().enumerate().map(|(k, y)| (k as f64 / last, *y)).collect();
        panel.curve("pin", points, Style::nth(0));
        for (y, label) in &limits {
            panel.limit(label.clone(), *y);
        }
        panel.items.push(Item::Points(Points {
            name: "peaks".to_owned(),
            points: marks.iter().map(|(x, label)| (*x, 0.0, label.clone())).collect(),
            style: Style::markers(Tone::Accent, Marker::Ring),
            naming: Naming::Legend,
        }));
        let figure = Chart::of(vec![panel]).figure(words("Waves."), Table::default());
        // A label may find no room in such a crowd; then it must be said, not drawn over another.
        let mut left = faults(&figure);
        left.retain(|fault| !fault.contains("no room"));
        prop_assert!(left.is_empty(), "{:#?}", left);
    }
}

#[test]
fn a_closer_look_shows_what_lies_there() {
    // A ringing that is over long before the run is.
    let wave: Vec<(f64, f64)> = (0..20_000)
        .map(|k| f64::from(k) * 1e-9)
        .map(|t| (t, 50.0 * (-t / 100e-9).exp() * (t * 6.3e8).sin() + 20.0))
        .collect();
    let time = || Axis::linear("Time", "s").range(0.0, 20e-6);
    let mut upper = Panel::new(time(), Axis::linear("Voltage", "V").from_zero()).head("At the pin");
    upper.curve("pin", wave.clone(), Style::nth(0));
    let mut lower = Panel::new(time(), Axis::linear("Current", "A"));
    lower.curve("D1", wave.clone(), Style::nth(0));
    let figure = Chart::of(vec![upper, lower]).figure(words("A ringing."), Table::default());
    let view = View {
        panel: 0,
        x: Some((0.0, 50e-9)),
        ..View::default()
    };
    let closer = figure.viewed(std::slice::from_ref(&view)).expect("a chart");
    let found = lines(&closer).expect("readable");
    assert_eq!(found.len(), 2, "the panel below follows");
    for line in &found {
        // Every turn of the ringing is there, to a thousandth of the range.
        for (t, volts) in wave.iter().take(50) {
            let after = line
                .points
                .partition_point(|point| point.0 <= *t)
                .clamp(1, line.points.len() - 1);
            let (a, b) = (line.points[after - 1], line.points[after]);
            let drawn = a.1 + (t - a.0) / (b.0 - a.0) * (b.1 - a.1);
            assert!((drawn - volts).abs() < 0.5, "{t}: {drawn} for {volts}");
        }
    }
    assert!(closer.contains("At the pin, part of it"), "the heading tells");
    // Nothing comes of what cannot be.
    for wrong in [(1.0, 1.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
        let view = View {
            x: Some(wrong),
            ..view.clone()
        };
        assert_eq!(figure.viewed(&[view]).as_ref(), Some(&figure.svg));
    }
    let beyond = View {
        panel: 9,
        ..view.clone()
    };
    assert_eq!(figure.viewed(&[beyond]).as_ref(), Some(&figure.svg));
    let log = View {
        panel: 0,
        y_log: Some(true),
        ..View::default()
    };
    let log = figure.viewed(&[log]).expect("a chart");
    assert!(log.contains("data-y-scale=\"symlog\""), "it goes below zero");
}
