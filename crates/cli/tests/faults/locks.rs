//! Files that another process uses, and two processes that write.

use std::fs::{self, File};
use std::path::Path;
use std::process::Stdio;

use rusqlite::Connection;
use serde_json::json;

use crate::common::{Bench, finish, tidewall};
use crate::server::Server;
use crate::tools::{litter, quick_study, run, with_library};

#[test]
fn a_library_that_another_process_writes_is_read_and_its_second_writer_is_told() {
    let bench = Bench::new();
    let library = bench.path("library.sqlite");
    let before = run(&library, &["parts", "list"], 0).stdout;
    let other = Connection::open(&library).expect("the library");
    other
        .execute_batch("BEGIN EXCLUSIVE; DELETE FROM datum;")
        .expect("a lock");
    let said = run(&library, &["parts", "retire", "alder-33"], 3).stderr;
    assert!(
        said.contains("another process is writing to the parts library"),
        "{said}"
    );
    assert!(said.contains("try again when the other process"), "{said}");
    assert_eq!(run(&library, &["parts", "list"], 0).stdout, before);
    other.execute_batch("ROLLBACK").expect("the lock goes");
    run(&library, &["parts", "retire", "alder-33"], 0);
}

#[test]
fn a_library_that_another_process_keeps_for_itself_is_said_to_be_in_use() {
    let bench = Bench::new();
    let library = bench.path("library.sqlite");
    run(&library, &["parts", "list"], 0);
    let other = Connection::open(&library).expect("the library");
    other
        .execute_batch("PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; DELETE FROM datum;")
        .expect("a lock");
    let said = run(&library, &["parts", "show", "alder-33"], 3).stderr;
    assert!(
        said.contains("another process is writing to the parts library"),
        "{said}"
    );
    assert_eq!(
        said.lines().filter(|line| line.starts_with("error: ")).count(),
        1,
        "{said}"
    );
    drop(other);
    run(&library, &["parts", "show", "alder-33"], 0);
}

#[test]
fn two_imports_at_once_are_both_there() {
    let bench = Bench::new();
    let library = bench.path("library.sqlite");
    let children: Vec<_> = ["5", "6", "7"]
        .iter()
        .map(|seed| {
            let table = bench.arg(&format!("{seed}.csv"));
            tidewall(["parts", "sample", "--rows", "150", "--seed", seed, &table]).expect(0);
            let mut import = with_library(&library);
            import.args(["parts", "import", &table, "--accept-guess", "--kind", "invented"]);
            import
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn()
                .expect("it starts")
        })
        .collect();
    for child in children {
        let output = child.wait_with_output().expect("it ends");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{said}");
    }
    // A later import of the same tables finds nothing to do.
    for seed in ["5", "6", "7"] {
        let args = [
            "parts",
            "import",
            &bench.arg(&format!("{seed}.csv")),
            "--accept-guess",
            "--kind",
            "invented",
        ];
        let told = run(&library, &args, 0).stdout;
        assert!(told.contains(" 0 added, 0 changed"), "{told}");
    }
}

#[test]
fn two_rankings_do_not_share_a_state() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Ranked");
    let state = bench.arg("state");
    let args = [
        "rank",
        &study,
        "--from",
        "generic",
        "--family",
        "thyristor",
        "--resume",
        &state,
    ];
    let first = tidewall(args);
    let before = fs::read(&state).expect("the state");
    let held = File::open(&state).expect("the state");
    held.lock().expect("the lock of another ranking");
    let second = tidewall(args).expect(3);
    assert!(
        second.stderr.contains("is in use by another `tidewall rank`"),
        "{}",
        second.stderr
    );
    assert_eq!(fs::read(&state).expect("the state"), before);
    drop(held);
    assert_eq!(tidewall(args).stdout, first.stdout);
}

/// What a killed process has left of the state's first line is no reason to refuse it; nor are lines that nobody can read.
#[test]
fn a_state_that_is_hurt_is_used_as_far_as_it_goes() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Ranked");
    let state = bench.arg("state");
    let args = [
        "rank",
        &study,
        "--from",
        "generic",
        "--family",
        "thyristor",
        "--format",
        "json",
        "--resume",
        &state,
    ];
    let expected = tidewall(args);
    let whole = fs::read(&state).expect("the state");
    fs::write(&state, &whole[..10]).expect("a state");
    let again = tidewall(args);
    assert_eq!(
        (again.status, again.stdout == expected.stdout),
        (expected.status, true),
        "{}",
        again.stderr
    );
    let mut hurt = whole.clone();
    hurt[300..330].fill(0xff);
    fs::write(&state, &hurt).expect("a state");
    let again = tidewall(args);
    assert_eq!(
        (again.status, again.stdout == expected.stdout),
        (expected.status, true),
        "{}",
        again.stderr
    );
}

/// Two workbenches count in the title of one study, each on what it last read.
#[test]
fn two_workbenches_lose_no_change_of_a_study() {
    let bench = Bench::new();
    let folder = tempfile::tempdir().expect("a folder");
    fs::copy(bench.path("parts.toml"), folder.path().join("parts.toml")).expect("the parts");
    let text = fs::read_to_string(quick_study(&bench, "study.toml", "Counted")).expect("a study");
    let text = text.replacen("Counted: supply inlet that holds", "0", 1);
    let file = folder.path().join("study.toml");
    fs::write(&file, &text).expect("the study");
    let number = |text: &str| -> u32 {
        let title = text.split('"').nth(1).expect("a title");
        title.parse().expect("a number")
    };
    let count = |accepted: u32| {
        let server = Server::start(folder.path());
        let (mut done, mut conflicts) = (0, 0);
        while done < accepted {
            let text = fs::read_to_string(&file).expect("the study");
            let change = json!({
                "base": server.revision_of(&text),
                "label": "count",
                "edits": [{ "edit": "set", "at": "title", "value": (number(&text) + 1).to_string() }],
            });
            let (status, answer) = server
                .post("/api/study/study.toml/edit", &change)
                .expect("an answer");
            match status.as_str() {
                "200" => done += 1,
                "409" => conflicts += 1,
                _ => panic!("{status}: {answer}"),
            }
        }
        conflicts
    };
    let conflicts: u32 = std::thread::scope(|scope| {
        let counters = [scope.spawn(|| count(15)), scope.spawn(|| count(15))];
        counters
            .map(|counter| counter.join().expect("a counter"))
            .iter()
            .sum()
    });
    assert_eq!(number(&fs::read_to_string(&file).expect("the study")), 30);
    assert_eq!(litter(folder.path()), Vec::<String>::new());
    eprintln!("two workbenches: 30 changes accepted, {conflicts} refused as made on an older text");
}

#[test]
fn a_library_that_is_not_there_is_no_reason_to_wait() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Alone");
    finish(with_library(Path::new("/nowhere/at/all.sqlite")).args(["check", &study])).expect(0);
}
