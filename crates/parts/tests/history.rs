//! Whatever is put and retired, the history leads back to every earlier state.

mod common;

use common::{Bench, action, datum, part};
use proptest::collection::vec;
use proptest::prelude::*;
use tidewall_devices::datasheet::Firmness;
use tidewall_parts::{Datum, Event, Library, PartRecord, Value};

const NAME: &str = "larch-33";

/// A step: the data to put, or none to retire the part.
fn step() -> impl Strategy<Value = Option<Vec<Datum>>> {
    let keys = prop::sample::select(vec!["stand_off", "cost", "junction_max"]);
    let documents = prop::sample::select(vec!["sheet", "bench"]);
    let one = (keys, documents, 1u8..4, prop::option::of(Just(85.0))).prop_map(
        |(key, document, value, celsius)| {
            let mut datum = datum(key, Value::Number(f64::from(value)), Firmness::Measured, document);
            datum.condition.temperature_c = celsius;
            datum
        },
    );
    let data = vec(one, 1..5).prop_map(|data| {
        let mut kept: Vec<Datum> = Vec::new();
        for datum in data {
            if !kept.iter().any(|other| other.same_fact(&datum)) {
                kept.push(datum);
            }
        }
        kept
    });
    prop_oneof![6 => data.prop_map(Some), 1 => Just(None)]
}

/// The data of the part without their order; `None` if it is not there.
fn state(record: Option<&PartRecord>) -> Option<Vec<String>> {
    let mut data: Vec<String> = record?.data.iter().map(|datum| format!("{datum:?}")).collect();
    data.sort();
    Some(data)
}

fn take(library: &mut Library, number: usize, step: &Option<Vec<Datum>>) {
    let mut edit = library.begin(&action(&number.to_string())).unwrap();
    match step {
        Some(data) => {
            edit.put(&part(NAME, data.clone())).unwrap();
        }
        // There may be nothing to retire.
        None => drop(edit.retire(NAME)),
    }
    edit.commit().unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_history_leads_back_to_every_earlier_state(steps in vec(step(), 1..8)) {
        let bench = Bench::new();
        let mut library = bench.library();
        let mut states = vec![None];
        for (number, step) in steps.iter().enumerate() {
            take(&mut library, number, step);
            states.push(state(library.part(NAME).unwrap().as_ref()));
        }
        let mut now = library.part(NAME).unwrap();
        let mut history = library.history(NAME).unwrap();
        for number in (0..steps.len()).rev() {
            prop_assert_eq!(state(now.as_ref()), states[number + 1].clone());
            while history.last().is_some_and(|line| line.action.what == number.to_string()) {
                match history.pop().unwrap().event {
                    Event::Added => now = None,
                    Event::Retired(record) => now = Some(record),
                    Event::Changed(change) => {
                        let data = &mut now.as_mut().expect("a part that changed").data;
                        if let Some(new) = &change.new {
                            let place = data.iter().position(|datum| datum == new).expect("what was put");
                            data.remove(place);
                        }
                        data.extend(change.old);
                    }
                }
            }
        }
        prop_assert!(history.is_empty() && now.is_none());
    }
}
