//! Changes reach the disk before they are answered, go back to the byte, and never overwrite what was not seen.

use std::fs;

use axum::body::Body;
use axum::http::StatusCode;
use serde_json::{Value, json};
use tidewall_desk::file::digest;

use crate::bench::{Answer, Bench, STUDY};

impl Bench {
    async fn post(&self, what: &str, body: Value) -> Answer {
        let request = self.request("POST", &format!("/api/study/sensor.toml/{what}"));
        let request = request.body(Body::from(body.to_string())).expect("a request");
        self.send(request).await
    }

    fn on_disk(&self) -> String {
        fs::read_to_string(self.folder.path().join("sensor.toml")).expect("the study")
    }

    fn write(&self, text: &str) {
        fs::write(self.folder.path().join("sensor.toml"), text).expect("written");
    }
}

fn read(answer: &Answer) -> Value {
    serde_json::from_str(&answer.body).expect("JSON")
}

fn set(base: &str, at: &str, value: &str) -> Value {
    json!({"base": base, "label": "a change", "edits": [{"edit": "set", "at": at, "value": value}]})
}

fn revision(answer: &Answer) -> String {
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
    read(answer)["revision"].as_str().expect("a revision").to_owned()
}

#[tokio::test]
async fn a_change_is_on_the_disk_when_it_is_answered_and_goes_back_to_the_byte() {
    let bench = Bench::new();
    let first = digest(STUDY);
    let answer = bench.post("edit", set(&first, "title", "Another")).await;
    let second = revision(&answer);
    let text = bench.on_disk();
    assert_eq!(digest(&text), second);
    assert!(text.contains("title = \"Another\""));
    assert_eq!(text.lines().count(), STUDY.lines().count());
    let parts = read(&answer)["parts"].as_array().expect("parts").len();
    assert!(parts > 8);
    assert!(answer.body.contains("Undo: a change"));
    let back = bench.post("undo", json!({"base": second})).await;
    assert_eq!(revision(&back), first);
    assert_eq!(bench.on_disk(), STUDY);
    let again = bench.post("redo", json!({"base": first})).await;
    assert_eq!(revision(&again), second);
    assert_eq!(bench.on_disk(), text);
    let nothing = bench.post("redo", json!({"base": second})).await;
    assert_eq!(nothing.status, StatusCode::BAD_REQUEST);
    assert!(nothing.body.contains("there is nothing to redo"));
    // No temporary file is left behind.
    let files = fs::read_dir(bench.folder.path()).expect("a folder").flatten();
    let names: Vec<String> = files
        .map(|file| file.file_name().to_string_lossy().into_owned())
        .collect();
    assert!(names.iter().all(|name| !name.contains("tmp")), "{names:?}");
}

#[tokio::test]
async fn two_windows_that_change_one_study_meet_in_a_conflict() {
    let bench = Bench::new();
    let base = digest(STUDY);
    let first = revision(&bench.post("edit", set(&base, "title", "First window")).await);
    let second = bench.post("edit", set(&base, "pin.name", "second window")).await;
    assert_eq!(second.status, StatusCode::CONFLICT);
    let both = read(&second);
    assert_eq!(both["conflict"]["revision"], first);
    assert_eq!(both["conflict"]["theirs"], bench.on_disk());
    let mine = both["conflict"]["mine"].as_str().expect("my text");
    assert!(mine.contains("second window") && !mine.contains("First window"));
    assert_eq!(both["conflict"]["fits"], true);
    assert!(both["error"]["hint"].is_string());
    // Made on their text, both changes are there.
    let merged = bench.post("edit", set(&first, "pin.name", "second window")).await;
    revision(&merged);
    let text = bench.on_disk();
    assert!(text.contains("First window") && text.contains("second window"));
}

#[tokio::test]
async fn what_another_program_wrote_is_not_overwritten() {
    let bench = Bench::new();
    let base = digest(STUDY);
    bench.get("/study/sensor.toml").await;
    let theirs = format!("{STUDY}# by an editor\n");
    bench.write(&theirs);
    let answer = bench.post("edit", set(&base, "title", "Mine")).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    assert_eq!(bench.on_disk(), theirs);
    assert_eq!(read(&answer)["conflict"]["theirs"], theirs);
    assert!(
        read(&answer)["conflict"]["mine"]
            .as_str()
            .expect("my text")
            .contains("Mine")
    );
    // The text before theirs can be had back, and theirs again.
    let now = digest(&theirs);
    let back = bench.post("undo", json!({"base": now})).await;
    assert_eq!(revision(&back), base);
    assert_eq!(bench.on_disk(), STUDY);
    let again = bench.post("redo", json!({"base": base})).await;
    assert_eq!(revision(&again), now);
}

#[tokio::test]
async fn a_new_start_knows_a_text_by_its_digest() {
    let bench = Bench::new();
    let base = digest(STUDY);
    let second = revision(&bench.post("edit", set(&base, "title", "Kept")).await);
    let later = Bench::over(bench.folder);
    assert!(later.on_disk().contains("Kept"));
    // A window of the earlier start: its keys are no longer good, its revision is.
    let third = revision(&later.post("edit", set(&second, "title", "Later")).await);
    let stale = later.post("edit", set(&second, "title", "Stale")).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    assert_eq!(digest(&later.on_disk()), third);
    let unknown = later.post("edit", set(&base, "title", "Older")).await;
    let both = read(&unknown);
    assert_eq!(unknown.status, StatusCode::CONFLICT);
    assert!(
        both["conflict"]["mine"].is_null(),
        "the text before this start is not known"
    );
    assert_eq!(both["conflict"]["fits"], true);
}

#[tokio::test]
async fn a_study_that_is_gone_is_shown_and_not_written() {
    let bench = Bench::new();
    let base = digest(STUDY);
    bench.get("/study/sensor.toml").await;
    fs::remove_file(bench.folder.path().join("sensor.toml")).expect("removed");
    let answer = bench.post("edit", set(&base, "title", "Mine")).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    assert!(answer.body.contains("no longer there"), "{}", answer.body);
    assert!(!bench.folder.path().join("sensor.toml").exists());
    let page = bench.get("/study/sensor.toml").await;
    assert!(page.body.contains("removed or renamed by another program"));
    assert!(page.body.contains("[pin]"), "the text is still there");
    bench.write(STUDY);
    revision(&bench.post("edit", set(&base, "title", "Back")).await);
}

#[tokio::test]
async fn a_fault_is_shown_in_its_place_and_loses_nothing() {
    let bench = Bench::new();
    let broken = revision(
        &bench
            .post("edit", set(&digest(STUDY), "port.ambient", "warm"))
            .await,
    );
    assert!(bench.on_disk().contains("ambient = \"warm\""));
    let page = bench.get("/study/sensor.toml").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.body.contains("id=\"e-port.ambient\""), "{}", page.body);
    assert!(page.body.contains("aria-invalid=\"true\""));
    assert!(page.body.contains("value=\"warm\""));
    let text = json!({"base": broken, "edits": [{"edit": "text", "text": "title = \n[["}]});
    let worse = revision(&bench.post("edit", text).await);
    let page = bench.get("/study/sensor.toml").await;
    assert!(page.body.contains("This study cannot be read"), "{}", page.body);
    assert!(page.body.contains("title = \n[["));
    let refused = bench.post("edit", set(&worse, "title", "x")).await;
    assert_eq!(refused.status, StatusCode::BAD_REQUEST);
    assert_eq!(bench.on_disk(), "title = \n[[");
    let back = revision(&bench.post("undo", json!({"base": worse})).await);
    let back = revision(&bench.post("undo", json!({"base": back})).await);
    assert_eq!(back, digest(STUDY));
}

#[tokio::test]
async fn an_edit_that_fails_changes_nothing() {
    let bench = Bench::new();
    let base = digest(STUDY);
    for edits in [
        json!([{"edit": "set", "at": "title", "value": "x"}, {"edit": "unset", "at": "nowhere"}]),
        json!([{"edit": "remove", "list": "ladder", "at": 99}]),
        json!([{"edit": "burn"}]),
        json!("all"),
    ] {
        let answer = bench.post("edit", json!({"base": base, "edits": edits})).await;
        assert_eq!(answer.status, StatusCode::BAD_REQUEST, "{edits}: {}", answer.body);
        assert!(read(&answer)["error"]["message"].is_string());
        assert_eq!(bench.on_disk(), STUDY);
    }
}

#[cfg(unix)]
#[tokio::test]
async fn a_replaced_file_keeps_its_permissions() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    let path = bench.folder.path().join("sensor.toml");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("set");
    revision(&bench.post("edit", set(&digest(STUDY), "title", "x")).await);
    let mode = fs::metadata(&path).expect("a file").permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
}

impl Bench {
    async fn ask(&self, address: &str, body: Value) -> Answer {
        let request = self.request("POST", address).body(Body::from(body.to_string()));
        self.send(request.expect("a request")).await
    }
}

#[tokio::test]
async fn a_study_is_begun_and_copied_and_nothing_is_replaced() {
    let bench = Bench::new();
    let begun = bench
        .ask("/api/new", json!({"profile": "supply-24vdc", "name": "inlet"}))
        .await;
    assert_eq!(begun.status, StatusCode::OK, "{}", begun.body);
    assert_eq!(read(&begun)["address"], "/study/inlet.toml");
    let text = fs::read_to_string(bench.folder.path().join("inlet.toml")).expect("a study");
    assert!(text.contains("profile = \"supply-24vdc\""));
    let copied = bench
        .ask("/api/study/sensor.toml/copy", json!({"name": "variant.toml"}))
        .await;
    assert_eq!(read(&copied)["address"], "/study/variant.toml");
    assert_eq!(
        fs::read_to_string(bench.folder.path().join("variant.toml")).expect("a copy"),
        STUDY
    );
    for name in [
        "sensor.toml",
        "inlet",
        "../out",
        "/tmp/out",
        ".hidden",
        "no/such/folder",
        "",
        "a\0b",
        "a\\b",
    ] {
        for (address, body) in [
            ("/api/new", json!({"profile": "supply-24vdc", "name": name})),
            ("/api/study/sensor.toml/copy", json!({"name": name})),
        ] {
            let refused = bench.ask(address, body).await;
            let status = refused.status;
            assert!(
                status == StatusCode::CONFLICT || status == StatusCode::BAD_REQUEST,
                "{name:?}: {status}"
            );
        }
    }
    assert_eq!(bench.on_disk(), STUDY);
    let unknown = bench
        .ask("/api/new", json!({"profile": "supply-24vd", "name": "x"}))
        .await;
    assert!(
        unknown.body.contains("did you mean `supply-24vdc`"),
        "{}",
        unknown.body
    );
    // Only the demo can be kept elsewhere.
    let elsewhere = bench.folder.path().join("kept");
    let kept = bench
        .ask(
            "/api/demo/keep",
            json!({"folder": elsewhere.display().to_string()}),
        )
        .await;
    assert_eq!(kept.status, StatusCode::BAD_REQUEST);
    assert!(!elsewhere.exists());
}

#[tokio::test]
async fn what_another_process_does_to_the_library_is_seen_at_once() {
    let bench = Bench::new();
    let path = bench.folder.path().join("library.sqlite");
    // Open until the end, so that what is committed stays in the log.
    let mut library = tidewall_parts::Library::open(&path).expect("a library");
    let known = |name: &str| bench.app.part_names().iter().any(|known| known == name);
    assert!(known("alder-33"));
    let action = tidewall_parts::Action {
        what: "test".to_owned(),
        document: String::new(),
        at_unix_s: None,
    };
    let mut edit = library.begin(&action).expect("a change");
    edit.retire("alder-33").expect("a part");
    edit.commit().expect("the change lasts");
    assert!(!known("alder-33"));
}
