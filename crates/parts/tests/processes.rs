//! Several processes at one library, and processes that end in the middle of their work.
//!
//! The other processes are this test's own program, told by the environment what to do.

mod common;

use std::env;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use common::{Bench, action, larch};
use rand::{RngExt, SeedableRng};
use tidewall_parts::{Filter, Library};

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
        ("flood", name) => {
            let mut library = Library::open(file).expect("the library opens");
            let mut edit = library.begin(&action("flood")).expect("an edit");
            for count in 0.. {
                let mut record = larch();
                record.name = format!("{name}-{}", count % 50_000);
                record.data[1].source.place = format!("line {count}");
                edit.put(&record).expect("a part");
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
fn a_process_killed_while_it_writes_leaves_the_library_as_it_was() {
    let bench = Bench::new();
    put(&mut bench.library(), "larch-33");
    let before = bench.library().names(&Filter::default()).unwrap();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(1);
    let mut in_the_middle = 0;
    for _ in 0..100 {
        let mut child = other(&bench, "flood aspen");
        sleep(Duration::from_micros(random.random_range(0..90_000)));
        in_the_middle += u32::from(child.try_wait().expect("its state").is_none());
        child.kill().expect("it is killed");
        child.wait().expect("it ends");
        let library = bench.library();
        assert_eq!(library.names(&Filter::default()).unwrap(), before);
        let mut whole = larch();
        whole.name = "larch-33".to_owned();
        assert_eq!(library.part("larch-33").unwrap(), Some(whole));
    }
    assert_eq!(in_the_middle, 100, "a process ended by itself: it never wrote");
    // And it can be written again.
    put(&mut bench.library(), "larch-34");
    assert_eq!(
        bench.library().names(&Filter::default()).unwrap().len(),
        before.len() + 1
    );
}
