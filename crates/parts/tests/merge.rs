//! What `put` and `retire` do to what is there, and what the history keeps of it.

mod common;

use std::fs;

use common::{Bench, action, datum, document, firm, larch, part, spread};
use tidewall_devices::datasheet::{Family, Firmness};
use tidewall_parts::{Action, Change, Done, Event, Filter, LibraryError, PartRecord, Value};

fn put(bench: &Bench, record: &PartRecord) -> Change {
    let mut library = bench.library();
    let mut edit = library.begin(&action("test")).unwrap();
    let change = edit.put(record).unwrap();
    edit.commit().unwrap();
    change
}

fn part_of(bench: &Bench) -> PartRecord {
    bench
        .library()
        .part("larch-33")
        .unwrap()
        .expect("the part is there")
}

#[test]
fn the_same_record_again_changes_nothing_and_leaves_no_trace() {
    let bench = Bench::new();
    assert_eq!(put(&bench, &larch()), Change::Added);
    let (before, history) = (
        fs::read(bench.path()).unwrap(),
        bench.library().history("larch-33").unwrap(),
    );
    assert_eq!(put(&bench, &larch()), Change::Unchanged);
    // In another order it takes the comparison in full.
    let mut turned = larch();
    turned.data.reverse();
    assert_eq!(put(&bench, &turned), Change::Unchanged);
    assert_eq!(fs::read(bench.path()).unwrap(), before);
    assert_eq!(bench.library().history("larch-33").unwrap(), history);
    assert_eq!(part_of(&bench), larch());
}

#[test]
fn a_datum_of_the_same_document_takes_the_place_of_the_older_one() {
    let bench = Bench::new();
    put(&bench, &larch());
    let mut newer = firm("stand_off", Value::Number(34.0));
    newer.source.revision = "B".to_owned();
    let Change::Changed(changes) = put(&bench, &part("larch-33", vec![newer.clone()])) else {
        panic!("a change");
    };
    assert_eq!(changes.len(), 1);
    let old = firm("stand_off", Value::Number(33.0));
    assert_eq!(
        (changes[0].key, &changes[0].old, &changes[0].new),
        ("stand_off", &Some(old.clone()), &Some(newer.clone()))
    );
    assert_eq!(
        changes[0].in_words(),
        "stand-off voltage: 33 V (guaranteed; sheet 1), now 34 V (guaranteed; sheet 1, B)"
    );
    // What the record did not mention stays.
    let now = part_of(&bench);
    assert_eq!(now.data.len(), larch().data.len());
    assert!(now.data.contains(&newer) && !now.data.contains(&old));
    let history = bench.library().history("larch-33").unwrap();
    assert_eq!(history.len(), 2);
    assert_eq!(history[0].event, Event::Added);
    assert_eq!(history[1].event, Event::Changed(Box::new(changes[0].clone())));
    assert_eq!(history[1].action, action("test"));
    // The older record again is a change back, although it was put before.
    assert!(matches!(put(&bench, &larch()), Change::Changed(changes) if changes.len() == 1));
    assert_eq!(part_of(&bench).datasheet().stand_off_v, Some(33.0));
}

#[test]
fn data_of_other_documents_and_conditions_stay_beside() {
    let bench = Bench::new();
    put(&bench, &larch());
    let measured = datum("stand_off", Value::Number(35.0), Firmness::Measured, "bench");
    let mut hot = firm("breakdown", spread(38.0, 42.0));
    hot.condition.current_a = Some(1e-3);
    hot.condition.temperature_c = Some(125.0);
    let change = put(&bench, &part("larch-33", vec![measured.clone(), hot.clone()]));
    assert!(matches!(change, Change::Changed(changes) if changes.iter().all(|change| change.old.is_none())));
    let now = part_of(&bench);
    assert_eq!(now.data.len(), larch().data.len() + 2);
    assert!(now.data.contains(&measured) && now.data.contains(&hot));
    assert_eq!(now.datasheet().stand_off_v, Some(33.0));
}

#[test]
fn a_dropped_edit_leaves_the_file_as_it_is_to_the_byte() {
    let bench = Bench::new();
    put(&bench, &larch());
    let before = fs::read(bench.path()).unwrap();
    {
        let mut library = bench.library();
        let mut edit = library.begin(&action("dry run")).unwrap();
        for count in 0..2_000 {
            let mut record = larch();
            record.name = format!("larch-{count}");
            edit.put(&record).unwrap();
        }
        edit.retire("alder-33").unwrap();
        let done = edit.done();
        // `larch-33` is there already.
        assert_eq!((done.added, done.unchanged, done.retired), (1_999, 1, 1));
    }
    assert_eq!(fs::read(bench.path()).unwrap(), before);
    assert!(bench.library().part("alder-33").unwrap().is_some());
}

#[test]
fn a_retired_part_is_gone_but_not_forgotten_and_may_come_back() {
    let bench = Bench::new();
    put(&bench, &larch());
    let mut library = bench.library();
    let retire = |library: &mut tidewall_parts::Library| {
        let mut edit = library.begin(&action("clearing up"))?;
        edit.retire("larch-33")?;
        edit.commit()
    };
    let done = retire(&mut library).unwrap();
    assert_eq!(
        done,
        Done {
            retired: 1,
            ..Done::default()
        }
    );
    assert_eq!(library.part("larch-33").unwrap(), None);
    assert!(
        !library
            .names(&Filter::default())
            .unwrap()
            .contains(&"larch-33".to_owned())
    );
    assert_eq!(
        retire(&mut library).unwrap_err(),
        LibraryError::NoSuchPart("larch-33".to_owned())
    );
    let history = library.history("larch-33").unwrap();
    assert_eq!(history[1].event, Event::Retired(larch()));
    // A part of that name may be of another family then.
    let fuse = PartRecord {
        family: Family::Fuse,
        ..part("larch-33", vec![firm("rated_current", Value::Number(3.0))])
    };
    assert_eq!(put(&bench, &fuse), Change::Added);
    assert_eq!(part_of(&bench), fuse);
    assert_eq!(bench.library().history("larch-33").unwrap().len(), 3);
}

#[test]
fn what_cannot_stand_in_the_library_is_refused_with_its_reason() {
    let curve = |points: &[(f64, f64)]| firm("table", Value::Curve(points.to_vec()));
    let mut nameless = firm("stand_off", Value::Number(1.0));
    nameless.source = document("");
    let mut never = firm("stand_off", Value::Number(1.0));
    never.condition.pulses = Some(0);
    let cases = [
        (vec![firm("stand_off", Value::Number(f64::NAN))], "not finite"),
        (vec![firm("stand_off", spread(1.0, 2.0))], "needs one number"),
        (vec![firm("breakdown", spread(2.0, 1.0))], "do not rise"),
        (
            vec![firm("breakdown", Value::Spread(Default::default()))],
            "gives neither",
        ),
        (vec![firm("no_such_key", Value::Number(1.0))], "no key"),
        (vec![curve(&[(1.0, 0.0)])], "two points"),
        (vec![curve(&[(1.0, 0.0), (1.0, 1.0)])], "rising voltage"),
        (vec![nameless], "no document"),
        (vec![never], "no pulse"),
        (
            vec![
                firm("stand_off", Value::Number(1.0)),
                firm("stand_off", Value::Number(2.0)),
            ],
            "stated twice in \"sheet 1\": 1 V and 2 V",
        ),
    ];
    let bench = Bench::new();
    let before = {
        drop(bench.library());
        fs::read(bench.path()).unwrap()
    };
    for (data, why) in cases {
        let mut library = bench.library();
        let mut edit = library.begin(&action("test")).unwrap();
        let error = edit.put(&part("larch-33", data)).unwrap_err();
        assert!(matches!(error, LibraryError::Unfit { .. }), "{error}");
        assert!(error.to_string().contains(why), "{error} lacks {why}");
        drop(edit);
    }
    for name in ["", " larch", "lar\nch"] {
        let mut library = bench.library();
        let mut edit = library.begin(&action("test")).unwrap();
        assert!(edit.put(&part(name, Vec::new())).is_err(), "{name:?}");
    }
    assert_eq!(fs::read(bench.path()).unwrap(), before);
}

#[test]
fn a_part_does_not_change_its_family() {
    let bench = Bench::new();
    put(&bench, &larch());
    let mut library = bench.library();
    let mut edit = library.begin(&action("test")).unwrap();
    let fuse = PartRecord {
        family: Family::Fuse,
        ..larch()
    };
    let error = edit.put(&fuse).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("of the family avalanche in the library, not fuse"),
        "{error}"
    );
}

#[test]
fn parts_are_found_by_family_and_by_a_piece_of_their_name() {
    let bench = Bench::new();
    let library = bench.library();
    let names = |family, text: Option<&str>| {
        let filter = Filter {
            family,
            text: text.map(str::to_owned),
        };
        library.names(&filter).unwrap()
    };
    assert_eq!(names(Some(Family::Fuse), None), ["hazel-3", "hazel-6"]);
    assert_eq!(names(None, Some("MAPLE-3")), ["maple-33"]);
    assert_eq!(names(Some(Family::Fuse), Some("maple")), [""; 0]);
    // No wild cards.
    assert_eq!(names(None, Some("%")), [""; 0]);
}

#[test]
fn a_time_that_is_not_known_stays_unknown() {
    let bench = Bench::new();
    let mut library = bench.library();
    let nobody = Action {
        at_unix_s: None,
        ..action("test")
    };
    let mut edit = library.begin(&nobody).unwrap();
    edit.put(&larch()).unwrap();
    edit.commit().unwrap();
    assert_eq!(library.history("larch-33").unwrap()[0].action, nobody);
}
