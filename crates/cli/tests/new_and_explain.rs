//! Beginning a study, and the meaning of checks.

mod common;

use std::collections::BTreeSet;
use std::path::Path;

use common::{Bench, study, tidewall};

#[test]
fn every_profile_gives_a_study() {
    let list = tidewall(["new", "--list"]).expect(0).stdout;
    let keys: Vec<&str> = list
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(keys.len(), 45, "{list}");
    for key in keys {
        let text = tidewall(["new", key]).expect(0).stdout;
        assert!(text.contains(&format!("profile = \"{key}\"")), "{text}");
    }
}

#[test]
fn a_new_study_filled_in_can_be_checked() {
    let bench = Bench::new();
    let file = bench.arg("inlet.toml");
    let run = tidewall(["new", "supply-24vdc", "--output", &file]).expect(0);
    assert!(run.stdout.contains("tidewall check"), "{}", run.stdout);

    // As it is, the part is still to be chosen.
    let unfilled = tidewall(["check", &file]).expect(3);
    assert!(
        unfilled.stderr.contains("PUT-YOUR-PART-HERE"),
        "{}",
        unfilled.stderr
    );

    let text = std::fs::read_to_string(&file).expect("the study");
    let filled = text
        .replace("PUT-YOUR-PART-HERE", "alder-33")
        .replace("# withstand = [", "withstand = [")
        .replace("# negative_withstand = [", "negative_withstand = [")
        .replace("# capacitance = ", "capacitance = ");
    bench.write("inlet.toml", filled);
    let result = tidewall([
        "check",
        &file,
        "--corner",
        "part=high,polarity=+",
        "--format",
        "json",
    ]);
    assert!(matches!(result.status, Some(0..=2)), "{}", result.stderr);
    let result = result.json();
    let checks = result["checks"].as_array().expect("a list");
    let judged = checks
        .iter()
        .filter(|check| check["check"] == "let-through-voltage");
    assert!(
        judged.clone().count() >= 2 && judged.clone().all(|check| check["margin"].is_number()),
        "{result}"
    );
}

#[test]
fn a_file_is_never_overwritten_unasked() {
    let bench = Bench::new();
    let file = bench.write("mine.toml", "my work");
    let run = tidewall(["new", "can", "--output", &file]).expect(3);
    assert!(
        run.stderr.contains("exists already") && run.stderr.contains("--force"),
        "{}",
        run.stderr
    );
    assert_eq!(std::fs::read_to_string(&file).expect("the file"), "my work");
    tidewall(["new", "can", "--output", &file, "--force"]).expect(0);
    assert!(
        std::fs::read_to_string(&file)
            .expect("the file")
            .contains("profile = \"can\"")
    );
    assert_eq!(bench.names(), ["mine.toml", "parts.toml"]);
    tidewall(["new", "can", "--output", &bench.arg(""), "--force"]).expect(3);
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_a_dangling_one_is_not_followed_out() {
    let bench = Bench::new();
    let real = bench.write("real.toml", "old");
    std::os::unix::fs::symlink(&real, bench.path("link.toml")).expect("a link");
    tidewall(["new", "can", "--output", &bench.arg("link.toml"), "--force"]).expect(0);
    assert!(bench.path("link.toml").is_symlink());
    assert!(
        std::fs::read_to_string(&real)
            .expect("the file")
            .contains("profile = \"can\"")
    );
}

#[test]
fn a_wrong_profile_has_a_near_one() {
    let run = tidewall(["new", "suply-24vdc"]).expect(3);
    assert!(
        run.stderr.contains("did you mean `supply-24vdc`"),
        "{}",
        run.stderr
    );
    let run = tidewall(["new", "24vdc"]).expect(3);
    assert!(run.stderr.contains("`supply-24vdc`"), "{}", run.stderr);
    let run = tidewall(["new", "zzzzzzzz"]).expect(3);
    assert!(run.stderr.contains("tidewall new --list"), "{}", run.stderr);
}

#[test]
fn an_explanation_gives_formula_source_and_change() {
    let run = tidewall(["explain", "let-through-voltage"]).expect(0).stdout;
    for label in ["asks", "formula", "source", "change"] {
        assert!(
            run.lines().any(|line| line.trim_start().starts_with(label)),
            "{run}"
        );
    }
    let run = tidewall(["explain", "let-trough-voltage"]).expect(3);
    assert!(
        run.stderr.contains("did you mean `let-through-voltage`"),
        "{}",
        run.stderr
    );
}

/// Studies of the demonstration; every corner of one polarity and part tolerance shows every check there is.
fn demo() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/river-gauge");
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let mut names: Vec<String> = paths
        .filter(|path| path.extension().is_some_and(|end| end == "toml") && !path.ends_with("parts.toml"))
        .map(|path| path.display().to_string())
        .collect();
    names.sort();
    names
}

#[test]
fn every_check_of_every_study_is_explained() {
    let mut names: BTreeSet<String> = BTreeSet::new();
    let mut studies = demo();
    studies.extend(["passes.toml", "fails.toml", "unknown.toml", "two-stages.toml"].map(study));
    let mut args = ["check", "--format=json", "--corner", "part=high,polarity=+"]
        .map(str::to_owned)
        .to_vec();
    args.extend(studies);
    let run = tidewall(args);
    assert!(matches!(run.status, Some(1 | 2)), "{}", run.stderr);
    for result in run.json().as_array().expect("a list") {
        let checks = result["checks"].as_array().expect("a list");
        names.extend(
            checks
                .iter()
                .map(|check| check["check"].as_str().expect("a name").to_owned()),
        );
    }
    assert!(names.len() >= 12, "{names:?}");
    for name in names {
        tidewall(["explain", &name]).expect(0);
    }
}
