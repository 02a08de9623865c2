//! `kill -9` at random moments.

use std::fs;
use std::path::Path;

use rusqlite::Connection;

use crate::common::{Bench, finish, fixture, tidewall};
use crate::server::Server;
use crate::tools::{
    duration, enough, files, in_full, kill_after, kill_at_first_file, kills, litter, moments, quick_study,
    run, with_library,
};

/// Everything that a library states, history included, as text; panics unless the file is sound.
fn content(library: &Path) -> String {
    let connection = Connection::open(library).expect("the library opens");
    let sound: String = connection
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .expect("it is looked through");
    assert_eq!(sound, "ok");
    drop(connection);
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("all.json");
    run(library, &["parts", "export", &file.display().to_string()], 0);
    let mut text = fs::read_to_string(file).expect("the export");
    // The time of the action is the only thing that two imports of a file differ in.
    text.push_str(&run(library, &["parts", "history", "alder-33"], 0).stdout);
    text
}

#[test]
fn an_import_is_whole_or_not_there() {
    let bench = Bench::new();
    let (before, table) = (bench.arg("before.csv"), bench.arg("table.csv"));
    tidewall(["parts", "sample", "--rows", "50", "--seed", "1", &before]).expect(0);
    tidewall(["parts", "sample", "--rows", "500", "--seed", "2", &table]).expect(0);
    let import = |library: &Path, file: &str| {
        let mut command = with_library(library);
        command.args(["parts", "import", file, "--accept-guess", "--kind", "invented"]);
        command
    };
    let original = bench.path("original.sqlite");
    finish(&mut import(&original, &before)).expect(0);
    let old = content(&original);
    let complete = bench.path("complete.sqlite");
    fs::copy(&original, &complete).expect("a copy");
    let took = duration(&mut import(&complete, &table));
    let new = content(&complete);
    assert!(new.len() > old.len());

    let (mut met, mut olds) = (0, 0);
    for (number, moment) in moments(kills(), took, 1).enumerate() {
        let folder = tempfile::tempdir().expect("a folder");
        let library = folder.path().join("parts.sqlite");
        fs::copy(&original, &library).expect("a copy");
        met += u32::from(kill_after(&mut import(&library, &table), moment));
        let now = content(&library);
        assert!(
            now == old || now == new,
            "the import that was killed after {moment:?} is there in part"
        );
        olds += u32::from(now == old);
        if number % 4 == 0 {
            finish(&mut import(&library, &table)).expect(0);
            assert!(
                content(&library) == new,
                "the import after a kill after {moment:?} is another one"
            );
        }
    }
    eprintln!("import: {olds} of {} libraries are as before", kills());
    enough("import", met, kills());
}

#[test]
fn a_library_killed_while_it_is_made_is_made_by_the_next_command() {
    let bench = Bench::new();
    let list = |library: &Path| {
        let mut command = with_library(library);
        command.args(["parts", "list"]);
        command
    };
    let took = duration(&mut list(&bench.path("first.sqlite")));
    let whole = |library: &Path| finish(&mut list(library)).expect(0).stdout.lines().count();
    let parts = whole(&bench.path("first.sqlite"));
    let mut met = 0;
    for moment in moments(kills(), took, 2) {
        let folder = tempfile::tempdir().expect("a folder");
        let library = folder.path().join("parts.sqlite");
        met += u32::from(kill_after(&mut list(&library), moment));
        assert_eq!(whole(&library), parts, "killed after {moment:?}");
    }
    enough("making a library", met, kills());
}

#[test]
fn a_ranking_goes_on_where_it_was_killed() {
    let bench = Bench::new();
    let state = bench.path("state");
    let study = quick_study(&bench, "study.toml", "Ranked");
    // Each takes some transients.
    let parts: Vec<String> = ["90v", "150v", "200v", "230v", "250v", "300v"]
        .iter()
        .flat_map(|volts| ["5ka", "10ka"].map(|amperes| format!("generic-gas-tube-{amperes}-{volts}")))
        .collect();
    let plain = || {
        let mut command = with_library(Path::new("none.sqlite"));
        command.args([
            "rank",
            &study,
            "--from",
            "generic",
            "--format",
            "json",
            "--only",
            &parts.join(","),
        ]);
        command
    };
    let rank = |state: &Path| {
        let mut command = plain();
        command.arg("--resume").arg(state);
        command
    };
    let took = duration(&mut rank(&bench.path("complete")));
    let undisturbed = finish(&mut plain());
    let status = undisturbed.status.expect("a status");
    let expected = undisturbed.stdout;
    let lines = || fs::read(&state).map_or(0, |bytes| bytes.iter().filter(|byte| **byte == b'\n').count());

    let (mut met, mut ended, mut carried) = (0, 0, 0);
    // A ranking ends after some kills, each of which finds it further on; then another begins.
    for moment in moments(kills(), took.mul_f64(0.6), 3) {
        let before = lines();
        let killed = kill_after(&mut rank(&state), moment);
        met += u32::from(killed);
        assert!(lines() >= before, "what was judged is gone after {moment:?}");
        carried += lines() - before;
        if !killed || (met % 4 == 0) {
            let run = finish(&mut rank(&state)).expect(status);
            assert!(
                run.stdout == expected,
                "the ranking is another one after a kill after {moment:?}"
            );
            fs::remove_file(&state).expect("the state");
            ended += 1;
        }
    }
    let run = finish(&mut rank(&state)).expect(status);
    assert!(run.stdout == expected, "the last ranking is another one");
    eprintln!("ranking: {ended} ended the same, {carried} candidates carried over kills");
    assert!(carried > 0, "no candidate was judged before a kill");
    enough("ranking", met, kills());
}

#[test]
fn a_report_is_absent_old_or_new_and_litter_goes_with_the_next() {
    let bench = Bench::new();
    let other = quick_study(&bench, "other.toml", "Before");
    let study = quick_study(&bench, "study.toml", "After");
    let pdf = cfg!(feature = "pdf") && in_full();
    let forms: &[&str] = if pdf { &["html", "pdf"] } else { &["html"] };
    let report = |study: &str, folder: &Path| {
        let mut command = with_library(Path::new("none.sqlite"));
        command
            .args(["report", study, "--force", "--sheet"])
            .arg(folder.join("data.xlsx"));
        command.arg("--output").arg(folder.join("report"));
        for form in forms {
            command.args(["--as", form]);
        }
        command
    };
    let [old, new] = [&other, &study].map(|study| {
        let folder = tempfile::tempdir().expect("a folder");
        finish(&mut report(study, folder.path())).expect(0);
        files(folder.path())
    });
    assert_eq!(new.len(), forms.len() + 1);
    let timed = tempfile::tempdir().expect("a folder");
    let took = duration(&mut report(&study, timed.path()));

    let (mut met, mut within, mut left) = (0, 0, 0);
    // The files are written in the last moments: every other kill waits for the first of them to appear.
    for (number, moment) in moments(kills(), took, 4).enumerate() {
        let folder = tempfile::tempdir().expect("a folder");
        let begun = number % 4 > 1;
        if begun {
            for (name, bytes) in &old {
                fs::write(folder.path().join(name), bytes).expect("an old report");
            }
        }
        let mut writing = report(&study, folder.path());
        if number % 2 == 0 {
            met += u32::from(kill_after(&mut writing, moment));
        } else {
            within += u32::from(kill_at_first_file(
                &mut writing,
                folder.path(),
                moment.mul_f64(0.01),
            ));
        }
        left += litter(folder.path()).len();
        for (name, bytes) in files(folder.path()) {
            if !name.ends_with(".tmp") {
                let whole = bytes == new[&name] || (begun && bytes == old[&name]);
                assert!(
                    whole,
                    "{name} is neither the old nor the new one after {moment:?}"
                );
            }
        }
        if number % 8 == 0 || !litter(folder.path()).is_empty() {
            finish(&mut report(&study, folder.path())).expect(0);
            assert!(
                files(folder.path()) == new,
                "the next report leaves other files: {:?}",
                litter(folder.path())
            );
        }
    }
    eprintln!("report: {within} kills met it writing; {left} temporary files were left and taken away");
    enough("report", met, kills().div_ceil(2));
}

#[test]
fn a_study_edited_in_the_workbench_is_as_it_was_or_as_it_was_answered() {
    let text = fs::read_to_string(fixture("passes.toml")).expect("a study");
    let title = |number: u32| {
        text.replacen(
            "Test bench: supply inlet that holds",
            &format!("Edit {number}"),
            1,
        )
    };
    let (mut met, mut edits) = (0, 0);
    let folder = tempfile::tempdir().expect("a folder");
    fs::copy(fixture("parts.toml"), folder.path().join("parts.toml")).expect("the parts");
    let file = folder.path().join("inlet.toml");
    // Edits are quick: the time of some of them.
    let moments = moments(kills(), std::time::Duration::from_millis(1500), 5);
    for moment in moments {
        fs::write(&file, &text).expect("the study");
        let mut server = Server::start(folder.path());
        let killer = server.kill_after(moment);
        let mut answered = 0;
        let mut revision = server.revision_of(&text);
        while let Some(next) = server.set_title("inlet.toml", &revision, &format!("Edit {}", answered + 1)) {
            revision = next;
            answered += 1;
        }
        killer.join().expect("the killer");
        met += 1;
        edits += answered;
        let now = fs::read_to_string(&file).expect("the study");
        let last = if answered == 0 {
            text.clone()
        } else {
            title(answered)
        };
        assert!(
            now == last || now == title(answered + 1),
            "{answered} changes were answered before the kill after {moment:?}, and the study is\n{now}"
        );
    }
    assert!(edits > 0, "no change was answered before a kill");
    let mut server = Server::start(folder.path());
    let now = fs::read_to_string(&file).expect("the study");
    let revision = server.revision_of(&now);
    assert!(server.set_title("inlet.toml", &revision, "The end").is_some());
    assert_eq!(litter(folder.path()), Vec::<String>::new());
    eprintln!("edits: {edits} were answered before {met} kills");
}
