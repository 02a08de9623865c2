//! Drawings of ladders.

use proptest::prelude::*;
use tidewall_plot::audit::{faults, texts};
use tidewall_plot::schematic::{Ladder, Place, Stage, Symbol};

const SYMBOLS: [Symbol; 19] = [
    Symbol::Resistor,
    Symbol::Inductor,
    Symbol::Track,
    Symbol::Bead,
    Symbol::Capacitor,
    Symbol::Fuse,
    Symbol::Ptc,
    Symbol::Limiter,
    Symbol::Varistor,
    Symbol::Avalanche { bidirectional: true },
    Symbol::Avalanche { bidirectional: false },
    Symbol::FlatClamp { bidirectional: true },
    Symbol::FlatClamp { bidirectional: false },
    Symbol::GasTube,
    Symbol::Breakover { bidirectional: true },
    Symbol::Breakover { bidirectional: false },
    Symbol::Steering,
    Symbol::Box,
    Symbol::Capacitor,
];

const PLACES: [Place; 7] = [
    Place::Series,
    Place::ShuntReturn,
    Place::ShuntBetween,
    Place::SeriesFirst,
    Place::ShuntFirst,
    Place::SeriesSecond,
    Place::ShuntSecond,
];

fn stage(symbol: Symbol, place: Place, k: usize) -> Stage {
    Stage {
        name: format!("X{k}"),
        values: vec!["maple-33".to_owned(), "path 2 nH".to_owned()],
        symbol,
        place,
        reversed: k.is_multiple_of(3),
        words: "something".to_owned(),
    }
}

fn ladder(lines: usize, stages: Vec<Stage>) -> Ladder {
    Ladder {
        connector: "24 V supply".to_owned(),
        lines,
        stages,
        pin: "reverse-blocking switch of the converter".to_owned(),
        pin_values: vec!["60 V, any time".to_owned(), "1 nF".to_owned()],
    }
}

#[test]
fn every_symbol_stands_in_line_and_across_on_one_line_and_on_a_pair() {
    for lines in [1, 2] {
        let places: &[Place] = if lines == 2 { &PLACES } else { &PLACES[..2] };
        for place in places {
            let stages = SYMBOLS
                .iter()
                .enumerate()
                .map(|(k, symbol)| stage(*symbol, *place, k));
            let figure = ladder(lines, stages.collect()).figure("ladder", "Ladder");
            assert_eq!(faults(&figure), Vec::<String>::new(), "{lines} {place:?}");
        }
    }
}

#[test]
fn each_stage_and_each_gap_can_be_found() {
    let stages = vec![
        stage(Symbol::Fuse, Place::Series, 1),
        stage(Symbol::FlatClamp { bidirectional: true }, Place::ShuntReturn, 2),
    ];
    let figure = ladder(1, stages).figure("ladder", "Ladder");
    for piece in [
        "data-stage=\"0\"",
        "data-stage=\"1\"",
        "data-insert=\"0\"",
        "data-insert=\"1\"",
        "data-insert=\"2\"",
    ] {
        assert_eq!(figure.svg.matches(piece).count(), 1, "{piece}");
    }
    assert_eq!(
        figure.alt,
        "Ladder of 2 stages from the connector to reverse-blocking switch of the converter. \
         1: X1, something, in the line (maple-33, path 2 nH). \
         2: X2, something, from the line to its return (maple-33, path 2 nH)."
    );
    assert_eq!(figure.data.len(), 2);
}

#[test]
fn a_long_ladder_wraps_and_an_empty_one_is_drawn() {
    let stages = (0..24)
        .map(|k| stage(SYMBOLS[k % SYMBOLS.len()], PLACES[k % 2], k))
        .collect();
    let long = ladder(1, stages).figure("ladder", "Ladder");
    assert_eq!(faults(&long), Vec::<String>::new());
    assert!(long.svg.contains("viewBox=\"0 0 640 "), "not wrapped");
    assert_eq!(
        texts(&long.svg)
            .unwrap()
            .iter()
            .filter(|text| text.text.starts_with('X'))
            .count(),
        24
    );
    assert_eq!(
        faults(&ladder(2, Vec::new()).figure("ladder", "Ladder")),
        Vec::<String>::new()
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_ladder_is_sound(
        lines in 1usize..3,
        picks in prop::collection::vec((0usize..19, 0usize..7, "[A-Za-z0-9 ]{1,24}"), 0..16),
    ) {
        let places = if lines == 2 { 7 } else { 2 };
        let stages = picks.iter().enumerate().map(|(k, (symbol, place, name))| Stage {
            name: name.clone(),
            ..stage(SYMBOLS[*symbol], PLACES[place % places], k)
        });
        let found = faults(&ladder(lines, stages.collect()).figure("ladder", "Ladder"));
        prop_assert!(found.is_empty(), "{:#?}", found);
    }
}
