//! Draws and highest levels on the command line.

mod common;

use common::{command, finish, study, tidewall};
use serde_json::Value;

fn checks(args: &[&str]) -> Value {
    let file = study("passes.toml");
    let mut all = vec!["check", &file, "--format", "json"];
    all.extend(args);
    tidewall(all).expect(0).json()
}

#[test]
fn draws_are_added_to_the_result_and_leave_the_rest_alone() {
    let plain = checks(&[]);
    let drawn = checks(&["--draws", "12", "--seed", "7"]);
    for key in ["verdict", "checks", "transients"] {
        assert_eq!(plain[key], drawn[key], "{key}");
    }
    assert!(plain.get("draws").is_none() && plain.get("sensitivity").is_none());
    let draws = &drawn["draws"];
    assert_eq!(draws["asked"], 12);
    assert_eq!(draws["done"], 12);
    assert_eq!(draws["complete"], true);
    assert_eq!(draws["seed"], 7);
    assert_eq!(draws["distribution"], "uniform");
    assert_eq!(draws["any_failure"]["of"], 12);
    assert!(draws["checks"].as_array().expect("a list").len() > 10);
    let positions = draws["worst"]["positions"].as_array().expect("a list");
    let names: Vec<&str> = positions
        .iter()
        .map(|at| at["axis"].as_str().expect("a name"))
        .collect();
    assert_eq!(names, ["D1", "surge-earth", "esd", "ambient", "supply"]);
    assert!(!drawn["sensitivity"].as_array().expect("a list").is_empty());
}

#[test]
fn the_seed_and_the_distribution_decide_and_the_threads_do_not() {
    let run = |args: &[&str], threads: &str| {
        let mut command = command();
        command
            .args(["check", &study("passes.toml"), "--format", "json", "--draws", "8"])
            .args(args)
            .env("RAYON_NUM_THREADS", threads);
        finish(&mut command).expect(0).stdout
    };
    let one = run(&["--seed", "3"], "1");
    assert!(one == run(&["--seed", "3"], "2"), "one thread and two differ");
    assert!(one != run(&["--seed", "4"], "2"), "two seeds agree");
    assert!(one != run(&["--seed", "3", "--distribution", "normal"], "2"));
}

#[test]
fn the_sheet_says_how_often_it_fails_and_up_to_which_level_it_holds() {
    let run = tidewall([
        "check",
        &study("fails.toml"),
        "--draws",
        "8",
        "--distribution",
        "normal",
        "--highest-level",
    ]);
    // The status is that of the corners.
    let sheet = run.expect(1).stdout;
    for text in [
        "Draws: 8, seed 1, normal about the middle",
        "of 8 draws",
        "worst specimen, draw ",
        "What decides",
        "rank correlation",
        "Highest survived level of each stress",
        "gives way",
    ] {
        assert!(sheet.contains(text), "no `{text}` in {sheet}");
    }
    let quiet = tidewall(["check", "-q", "--draws", "2", &study("passes.toml")]).expect(0);
    assert_eq!(quiet.stdout.lines().count(), 1, "{}", quiet.stdout);
}

#[test]
fn arguments_that_make_no_sense_are_refused() {
    let file = study("passes.toml");
    for args in [
        &["--draws", "0"][..],
        &["--draws", "100001"],
        &["--draws", "many"],
        &["--draws", "-3"],
        &["--seed", "3"],
        &["--distribution", "normal"],
        &["--draws", "3", "--distribution", "flat"],
        &["--draws", "3", "--corner", "part=low"],
        &["--highest-level", "--corner", "part=low"],
    ] {
        let mut all = vec!["check", &file];
        all.extend(args);
        let run = tidewall(all).expect(3);
        assert!(run.stdout.is_empty(), "{args:?}: {}", run.stdout);
    }
}
