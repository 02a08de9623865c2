//! Ranking, requirement and comparison from the command line.

mod common;

use std::fs;

use common::{study, tidewall};

#[test]
fn a_ranking_names_the_best_and_the_reasons() {
    let run = tidewall(["rank", &study("fails.toml"), "--margin", "10 %"]);
    assert!(
        run.stdout.contains("Rejected") || run.stdout.contains("Ranked"),
        "{}{}",
        run.stdout,
        run.stderr
    );
    let json = tidewall(["rank", &study("fails.toml"), "--format", "json"]).json();
    assert_eq!(json["schema"], "tidewall/ranking/1");
    let counts = &json["counts"];
    let listed = json["ranked"].as_array().unwrap().len() + json["rejected"].as_array().unwrap().len();
    assert_eq!(counts["candidates"], listed);
    assert_eq!(counts["judged"], listed);
    for rejected in json["rejected"].as_array().unwrap() {
        assert_eq!(rejected["reason"]["verdict"], "fail");
        assert!(!rejected["reason"]["why"].as_str().unwrap().is_empty());
    }
}

#[test]
fn the_status_is_that_of_the_best_candidate() {
    let status =
        |only: &str| tidewall(["rank", &study("passes.toml"), "--only", only, "--format", "json"]).status;
    let check = tidewall(["check", &study("passes.toml"), "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(check["verdict"], "pass");
    let part = fs::read_to_string(common::fixture("passes.toml")).unwrap();
    let part = part
        .split("shunt = \"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_owned();
    assert_eq!(status(&part), Some(0));
}

#[test]
fn a_ranking_goes_on_from_its_state() {
    let folder = tempfile::tempdir().unwrap();
    let state = folder.path().join("ranking.state");
    let state_text = state.display().to_string();
    let run = || {
        tidewall([
            "rank",
            &study("fails.toml"),
            "--resume",
            &state_text,
            "--format",
            "json",
        ])
        .stdout
    };
    let first = run();
    let written = fs::read(&state).unwrap();
    // Cut in the middle of the last line, as a stop would.
    fs::write(&state, &written[..written.len() - 40]).unwrap();
    assert_eq!(run(), first);
    let lines = |bytes: &[u8]| {
        let mut lines: Vec<String> = String::from_utf8(bytes.to_vec())
            .unwrap()
            .lines()
            .map(str::to_owned)
            .collect();
        lines.sort();
        lines
    };
    assert_eq!(lines(&fs::read(&state).unwrap()), lines(&written));
    // A file that is something else is left as it is.
    let other = folder.path().join("notes.txt");
    fs::write(&other, "notes\n").unwrap();
    let run = tidewall([
        "rank",
        &study("fails.toml"),
        "--resume",
        &other.display().to_string(),
    ])
    .expect(3);
    assert!(run.stderr.contains("is not a state"), "{}", run.stderr);
    assert_eq!(fs::read_to_string(&other).unwrap(), "notes\n");
}

#[test]
fn bad_arguments_are_refused_with_a_hint() {
    let refused = |args: &[&str], words: &str| {
        let study = study("fails.toml");
        let mut all = vec!["rank", &study];
        all.extend(args);
        let run = tidewall(all).expect(3);
        assert!(
            run.stderr.contains(words) && run.stderr.contains("hint"),
            "{words} is not in {}",
            run.stderr
        );
    };
    refused(&["--at", "D9"], "no stage `D9`");
    refused(&["--family", "avalanch"], "avalanche");
    refused(&["--only", "nothing"], "no part `nothing`");
    refused(&["--series", "S1=1V"], "--series");
    refused(&["--series", "S1=E7:1Ω..10Ω"], "E3, E6, E12");
    refused(&["--at", "D9"], "--at names a stage");
    refused(&["--prefer", "price=1"], "price");
    refused(&["--from", "nowhere.toml"], "nowhere.toml");
    let run = tidewall(["compare", &study("fails.toml")]).expect(3);
    assert!(run.stderr.contains("no part is named"), "{}", run.stderr);
    let run = tidewall(["rank", &study("two-stages.toml")]).expect(3);
    assert!(run.stderr.contains("several shunt stages"), "{}", run.stderr);
}

#[test]
fn a_requirement_says_the_window() {
    let run = tidewall(["rank", "--explain", &study("passes.toml")]).expect(0);
    for words in [
        "before any part is chosen",
        "the clamp must live between",
        "stand-off voltage",
        "at least",
    ] {
        assert!(run.stdout.contains(words), "{words} is not in {}", run.stdout);
    }
    let json = tidewall(["rank", "--explain", &study("passes.toml"), "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(json["schema"], "tidewall/requirement/1");
    assert_eq!(json["window"], true);
}

#[test]
fn parts_stand_side_by_side() {
    let json = tidewall(["rank", &study("fails.toml"), "--format", "json"]).json();
    let all = json["rejected"]
        .as_array()
        .unwrap()
        .iter()
        .chain(json["ranked"].as_array().unwrap());
    let names: Vec<String> = all
        .map(|c| c["placed"][0]["part"].as_str().unwrap().to_owned())
        .collect();
    let fixture = study("fails.toml");
    let mut args = vec!["compare", &fixture];
    args.extend(names.iter().map(String::as_str));
    let text = tidewall(&args).stdout;
    for words in ["verdict", "stand-off", "What decides"]
        .into_iter()
        .chain(names.iter().map(String::as_str))
    {
        assert!(text.contains(words), "{words} is not in {text}");
    }
    args.extend(["--format", "json"]);
    let json = tidewall(&args).json();
    assert_eq!(json["schema"], "tidewall/comparison/1");
    assert_eq!(json["parts"].as_array().unwrap().len(), names.len());
}
