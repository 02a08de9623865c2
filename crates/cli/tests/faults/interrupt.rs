//! Ctrl-C.

use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::common::{command, fixture, study};

/// Ctrl-C, as a terminal sends it.
fn interrupt(child: &Child) {
    let sent = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status();
    assert!(sent.expect("kill starts").success());
}

/// Starts a command that would run for minutes, waits until it is at its long work, and interrupts it.
fn stopped(args: &[&str]) -> (Option<i32>, String, String) {
    let mut child = command()
        .args(args)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // A command that has not set its handler yet ends at once; then it is tried again with more patience.
    for patience in [1500, 6000, 24_000] {
        std::thread::sleep(Duration::from_millis(patience));
        interrupt(&child);
        let output = child.wait_with_output().expect("it ends");
        if output.status.code().is_some() {
            let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            return (output.status.code(), text(&output.stdout), text(&output.stderr));
        }
        child = command()
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
    }
    let _ = child.kill();
    panic!("{args:?}: the signal ended it each time, before any work");
}

#[test]
fn draws_stop_with_what_was_drawn_and_say_so() {
    let (status, out, error) = stopped(&["check", &study("passes.toml"), "--draws", "100000"]);
    assert_eq!(status, Some(130), "{out}{error}");
    assert!(out.starts_with("PASS") || out.contains("PASS"), "{out}");
    assert!(out.contains("of 100000 asked for, INCOMPLETE"), "{out}");
    assert_eq!(error.lines().count(), 1, "{error}");
    assert!(
        error.contains("stopped in") && error.contains("not complete"),
        "{error}"
    );
}

#[test]
fn a_stop_leaves_the_studies_that_follow() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::copy(fixture("parts.toml"), folder.path().join("parts.toml")).expect("parts");
    for name in ["1.toml", "2.toml", "3.toml"] {
        std::fs::copy(fixture("passes.toml"), folder.path().join(name)).expect("a study");
    }
    let path = folder.path().display().to_string();
    let args = [
        "check",
        &path,
        "--draws",
        "100000",
        "--highest-level",
        "--format",
        "json",
    ];
    let (status, out, error) = stopped(&args);
    assert_eq!(status, Some(130), "{error}");
    let results: serde_json::Value = serde_json::from_str(&out).expect("whole JSON");
    let results = results.as_array().expect("a list");
    assert_eq!(results.len(), 1);
    assert_eq!(results[0]["draws"]["complete"], false);
    assert_eq!(results[0]["verdict"], "pass");
    let levels = results[0]["highest_levels"].as_array().expect("levels");
    assert!(
        levels.iter().all(|level| level["outcome"] == "cancelled"),
        "{levels:?}"
    );
    assert!(error.contains("2 studies are not judged"), "{error}");
}
