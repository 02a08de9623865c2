//! Several processes at one library, and processes that end in the middle of their work.
//!
//! The other processes are this test's own program, told by the environment what to do.

mod common;

use std::collections::BTreeSet;
use std::env;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use common::{Bench, action, larch};
use rand::{RngExt, SeedableRng};
use tidewall_parts::{Filter, Library, Value};

const FILE: &str = "TIDEWALL_TEST_LIBRARY";
const TASK: &str = "TIDEWALL_TEST_TASK";

/// Not a test by itself: what the other processes do.
#[test]
fn other_process() {
    let (Ok(file), Ok(task)) = (env::var(FILE), env::var(TASK)) else {
        return;
    };
    let file = Path::new(&file);
    match task.split_once(' ').expect("a task and its name") {
        ("add", name) => {
            for count in 0..20 {
                let mut library = Library::open(file).expect("the library opens");
                put(&mut library, &format!("{name}-{count}"));
            }
        }
        ("flood", from) => {
            let mut library = Library::open(file).expect("the library opens");
            let from: u32 = from.parse().expect("a number");
            for volts in from.. {
                flood(&mut library, f64::from(volts));
            }
        }
        (other, _) => panic!("no task {other}"),
    }
}

fn put(library: &mut Library, name: &str) {
    let mut record = larch();
    record.name = name.to_owned();
    let mut edit = library.begin(&action("add")).expect("an edit");
    edit.put(&record).expect("a part");
    edit.commit().expect("it lasts");
}

/// Parts that one edit of [`flood`] touches.
const FLOODED: usize = 100;

/// Changes many parts in one edit, all to the same value.
fn flood(library: &mut Library, volts: f64) {
    let mut edit = library.begin(&action("flood")).expect("an edit");
    for count in 0..FLOODED {
        let mut record = larch();
        record.name = format!("aspen-{count}");
        record.data[1].value = Value::Number(volts);
        edit.put(&record).expect("a part");
    }
    edit.commit().expect("it lasts");
}

fn other(bench: &Bench, task: &str) -> Child {
    Command::new(env::current_exe().expect("this program"))
        .args(["--exact", "other_process"])
        .env(FILE, bench.path())
        .env(TASK, task)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("another process")
}

#[test]
fn processes_that_write_at_once_lose_nothing_from_the_creation_on() {
    let bench = Bench::new();
    let names = ["aspen", "cedar", "larch"];
    let children: Vec<Child> = names
        .iter()
        .map(|name| other(&bench, &format!("add {name}")))
        .collect();
    for mut child in children {
        assert!(child.wait().expect("it ends").success());
    }
    let library = bench.library();
    for name in names {
        let filter = Filter {
            text: Some(format!("{name}-")),
            ..Filter::default()
        };
        assert_eq!(library.names(&filter).unwrap().len(), 20, "{name}");
    }
    assert_eq!(
        library.history("alder-33").unwrap().len(),
        1,
        "the demonstration parts are put once"
    );
}

#[test]
fn a_process_killed_while_it_writes_leaves_the_library_whole() {
    let bench = Bench::new();
    put(&mut bench.library(), "larch-33");
    flood(&mut bench.library(), 1.0);
    let before = bench.library().names(&Filter::default()).unwrap();
    let flooded = Filter {
        text: Some("aspen-".to_owned()),
        ..Filter::default()
    };
    let log = bench.path().with_extension("sqlite-wal");
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(1);
    let mut values = BTreeSet::new();
    for round in 1..=100 {
        let mut child = other(&bench, &format!("flood {}", round * 1_000));
        // Its log of changes shows that it has begun to write; an orderly end takes the log away.
        while fs::metadata(&log).map_or(0, |about| about.len()) == 0 {
            assert!(
                child.try_wait().expect("its state").is_none(),
                "it ended by itself"
            );
            sleep(Duration::from_millis(1));
        }
        sleep(Duration::from_micros(random.random_range(0..30_000)));
        assert!(
            child.try_wait().expect("its state").is_none(),
            "it ended by itself"
        );
        child.kill().expect("it is killed");
        child.wait().expect("it ends");
        let library = bench.library();
        assert_eq!(library.names(&Filter::default()).unwrap(), before);
        let mut whole = larch();
        whole.name = "larch-33".to_owned();
        assert_eq!(library.part("larch-33").unwrap(), Some(whole));
        let volts: Vec<Option<f64>> = library
            .datasheets(&flooded)
            .unwrap()
            .iter()
            .map(|sheet| sheet.stand_off_v)
            .collect();
        assert_eq!(volts.len(), FLOODED);
        assert!(
            volts.iter().all(|value| *value == volts[0]),
            "half an edit: {volts:?}"
        );
        values.insert(volts[0].map(f64::to_bits));
    }
    assert!(values.len() > 10, "the processes wrote nothing: {values:?}");
}
