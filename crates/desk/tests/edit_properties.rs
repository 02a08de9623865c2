//! Whatever is edited, the way back is exact and no comment is lost that was not removed with its own line or entry.

use proptest::prelude::*;
use tidewall_desk::edit::{Edit, Entry, Patch, Value, apply};

const DEMO: &[&str] = &[
    include_str!("../../../demo/river-gauge/supply-24v.toml"),
    include_str!("../../../demo/river-gauge/sonde-rs485.toml"),
    include_str!("../../../demo/river-gauge/service-usb-c.toml"),
    include_str!("../../../demo/river-gauge/heater-24vac.toml"),
];

fn text() -> impl Strategy<Value = String> {
    (0..DEMO.len(), any::<bool>()).prop_map(|(which, dos)| {
        if dos {
            DEMO[which].replace('\n', "\r\n")
        } else {
            DEMO[which].to_owned()
        }
    })
}

fn value() -> impl Strategy<Value = Value> {
    prop_oneof![
        any::<bool>().prop_map(Value::Truth),
        any::<i64>().prop_map(Value::Whole),
        any::<f64>()
            .prop_filter("finite", |number| number.is_finite())
            .prop_map(Value::Number),
        any::<String>().prop_map(Value::Text),
        "[a-z0-9 µΩ\"'\\\\]{0,12}".prop_map(Value::Text),
        proptest::collection::vec("[ -~]{0,8}".prop_map(Value::Text), 0..3).prop_map(Value::List),
        ("[a-z]{1,6}", "[ -~]{0,8}")
            .prop_map(|(key, text)| Value::Table(Entry(vec![(key, Value::Text(text))]))),
    ]
}

fn place() -> impl Strategy<Value = String> {
    prop_oneof![
        "(title|margin|port|stress|ladder|pin|board)(\\.[0-6])?(\\.(id|level|name|shunt|series|lead|ambient|withstand))?(\\.(0|resistance|voltage))?",
        "(stress|ladder)\\.[0-5]\\.(level|polarity|name|lead|note)",
        "[a-z]{1,5}(\\.[a-z]{1,5}){0,2}",
    ]
}

fn edit() -> impl Strategy<Value = Edit> {
    let list = || {
        prop_oneof![
            Just("ladder".to_owned()),
            Just("stress".to_owned()),
            Just("abc".to_owned())
        ]
    };
    prop_oneof![
        4 => (place(), value()).prop_map(|(at, value)| Edit::Set { at, value }),
        2 => place().prop_map(|at| Edit::Unset { at }),
        1 => (list(), 0usize..7, value()).prop_map(|(list, at, value)| Edit::Insert {
            list,
            at,
            entry: Entry(vec![("name".to_owned(), value)]),
        }),
        1 => (list(), 0usize..7).prop_map(|(list, at)| Edit::Remove { list, at }),
        2 => (list(), 0usize..7, 0usize..7).prop_map(|(list, from, to)| Edit::Move { list, from, to }),
    ]
}

/// Comments that stand on lines of their own.
fn comments(text: &str) -> Vec<&str> {
    let mut lines: Vec<&str> = text
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with('#'))
        .collect();
    lines.sort_unstable();
    lines
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn edits_are_taken_back_to_the_byte(start in text(), edits in proptest::collection::vec(edit(), 1..8)) {
        let mut now = start.clone();
        let mut back: Vec<Patch> = Vec::new();
        for edit in &edits {
            let Ok(patch) = apply(&now, edit) else { continue };
            let new = patch.on(&now).expect("a patch of this text");
            prop_assert!(new.parse::<toml_edit::DocumentMut>().is_ok(), "{edit:?} made no TOML of\n{now}");
            if !matches!(edit, Edit::Remove { .. }) {
                prop_assert_eq!(comments(&new), comments(&now), "{:?}", edit);
            }
            back.push(patch.inverse());
            now = new;
        }
        for patch in back.iter().rev() {
            now = patch.on(&now).expect("the way back");
        }
        prop_assert_eq!(now, start);
    }

    #[test]
    fn what_is_set_is_read_back(start in text(), at in "(title|port\\.note|stress\\.0\\.level|ladder\\.1\\.name|pin\\.name|board\\.x)", word in any::<String>()) {
        let edit = Edit::Set { at: at.clone(), value: Value::Text(word.clone()) };
        let new = apply(&start, &edit).expect("a place that can be set").on(&start).expect("a patch of this text");
        let read: toml_edit::DocumentMut = new.parse().expect("TOML");
        let mut item = read.as_item();
        for piece in at.split('.') {
            item = match piece.parse::<usize>() {
                Ok(position) => &item[position],
                Err(_) => &item[piece],
            };
        }
        prop_assert_eq!(item.as_str(), Some(word.as_str()));
    }

    #[test]
    fn any_two_texts_have_a_patch(old in any::<String>(), new in any::<String>()) {
        let patch = Patch::between(&old, &new);
        prop_assert_eq!(patch.on(&old), Some(new.clone()));
        prop_assert_eq!(patch.inverse().on(&new), Some(old));
    }

    #[test]
    fn any_text_is_survived(text in any::<String>(), edit in edit()) {
        let _ = apply(&text, &edit);
    }
}
