//! A clock that jumps, and files whose times say nothing.

use std::fs::{self, File};
use std::time::{Duration, SystemTime};

use serde_json::json;

use crate::common::{Bench, tidewall};
use crate::server::Server;
use crate::tools::quick_study;

fn set_time(path: &std::path::Path, time: SystemTime) {
    let file = File::options().write(true).open(path).expect("the file");
    file.set_modified(time).expect("its time");
}

#[test]
fn times_of_files_do_not_change_a_result() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Timeless");
    let check = || tidewall(["check", &study, "--format", "json"]).expect(0).stdout;
    let expected = check();
    for time in [
        SystemTime::UNIX_EPOCH,
        SystemTime::UNIX_EPOCH - Duration::from_secs(86_400),
        SystemTime::now() + Duration::from_secs(10 * 365 * 86_400),
    ] {
        set_time(&bench.path("study.toml"), time);
        set_time(&bench.path("parts.toml"), time);
        assert!(check() == expected, "another result at {time:?}");
    }
}

/// An editor, or a copy that keeps times, may change a study and leave size and time as they were.
#[test]
fn a_study_changed_under_the_same_time_and_size_is_not_overwritten() {
    let bench = Bench::new();
    let folder = tempfile::tempdir().expect("a folder");
    fs::copy(bench.path("parts.toml"), folder.path().join("parts.toml")).expect("the parts");
    let text = fs::read_to_string(quick_study(&bench, "study.toml", "Mine")).expect("a study");
    let file = folder.path().join("study.toml");
    fs::write(&file, &text).expect("the study");
    let time = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000_000);
    set_time(&file, time);
    let mut server = Server::start(folder.path());
    let revision = server.revision_of(&text);
    let revision = server
        .set_title("study.toml", &revision, "Ours")
        .expect("a change");
    let ours = fs::read_to_string(&file).expect("the study");
    set_time(&file, time);

    let theirs = ours.replacen("Ours", "Hers", 1);
    assert_eq!(theirs.len(), ours.len());
    fs::write(&file, &theirs).expect("their change");
    set_time(&file, time);
    let change = json!({
        "base": revision,
        "label": "title",
        "edits": [{ "edit": "set", "at": "title", "value": "Mine again" }],
    });
    let (status, answer) = server
        .post("/api/study/study.toml/edit", &change)
        .expect("an answer");
    assert_eq!(status, "409", "{answer}");
    assert_eq!(answer["conflict"]["theirs"], theirs);
    assert_eq!(fs::read_to_string(&file).expect("the study"), theirs);
    // A time in the future, or before the first, is no hindrance.
    for (number, time) in [
        time + Duration::from_secs(3_000_000_000),
        SystemTime::UNIX_EPOCH - Duration::from_secs(9),
    ]
    .into_iter()
    .enumerate()
    {
        set_time(&file, time);
        let text = fs::read_to_string(&file).expect("the study");
        let revision = server.revision_of(&text);
        assert!(
            server
                .set_title("study.toml", &revision, &format!("Later {number}"))
                .is_some()
        );
    }
}
