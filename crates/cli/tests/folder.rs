//! A folder stands for the studies in it.

mod common;

use common::{study, tidewall};

#[test]
fn a_folder_is_every_study_in_it_and_no_parts_file() {
    let folder = study("");
    let run = tidewall(["check", &folder, "--quiet"]).expect(1);
    let lines: Vec<&str> = run.stdout.lines().collect();
    assert_eq!(lines.len(), 4, "{}", run.stdout);
    for (line, name) in lines.iter().zip(["fails", "passes", "two-stages", "unknown"]) {
        assert!(line.contains(&format!("{name}.toml")), "{line}");
    }
}

#[test]
fn a_folder_without_studies_is_an_error() {
    let empty = tempfile::tempdir().expect("a folder");
    let run = tidewall(["check", &empty.path().display().to_string()]).expect(3);
    assert!(run.stderr.contains("no study in the folder"), "{}", run.stderr);
    assert!(run.stderr.contains("[port]"), "{}", run.stderr);
}
