//! A disk that is full, and a folder that may not be written.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::common::{self, Bench, finish, study, tidewall};
use crate::tools::{files, litter, quick_study, run, with_library};

/// The program, with files of at most so many blocks of 512 bytes, which fails like a full disk; the signal that goes with it is
/// off, as it is on a full disk.
fn limited(blocks: u32, library: &Path) -> Command {
    let mut command = Command::new("sh");
    command
        .args([
            "-c",
            &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\""),
            "sh",
        ])
        .arg(env!("CARGO_BIN_EXE_tidewall"))
        .env("TIDEWALL_LIBRARY", library)
        .stdin(Stdio::null());
    command
}

/// Runs a script in a file system of its own: `$1` is a folder that stands on a full (`size=…`) or read-only mount, `$2` the
/// program. `None`, with a note, where this machine does not let that be done.
fn mounted(options: &str, folder: &Path, script: &str) -> Option<common::Run> {
    let may = |script: &str| {
        let mut command = Command::new("unshare");
        command
            .args(["--map-root-user", "--mount", "sh", "-c", script, "sh"])
            .arg(folder);
        command
    };
    let probe = may("mount -t tmpfs none \"$1\"")
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    if !probe.is_ok_and(|status| status.success()) {
        eprintln!("not tested: this machine does not let a test mount a file system");
        return None;
    }
    let mut command = may(&format!(
        "mount -t tmpfs -o {options} none \"$1\" || exit 99; {script}"
    ));
    command.arg(env!("CARGO_BIN_EXE_tidewall"));
    Some(finish(&mut command))
}

#[test]
fn output_to_a_full_device_is_an_error() {
    for args in [
        vec!["check", "STUDY", "--trace", "/dev/full"],
        vec!["plan", "STUDY", "--output", "/dev/full", "--force"],
        vec!["new", "can", "--output", "/dev/full", "--force"],
    ] {
        let bench = Bench::new();
        let study = quick_study(&bench, "study.toml", "Full");
        let args = args
            .iter()
            .map(|arg| if *arg == "STUDY" { study.as_str() } else { arg });
        let run = tidewall(args).expect(3);
        assert!(
            run.stderr.contains("/dev/full: cannot be written"),
            "{}",
            run.stderr
        );
    }
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("the device");
    let run = finish_into(common::command().args(["new", "--list"]), full);
    assert!(run.contains("standard output: cannot be written"), "{run}");
}

fn finish_into(command: &mut Command, file: fs::File) -> String {
    let output = command
        .stdout(file)
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let output = output.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(3));
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_report_that_finds_no_room_leaves_the_old_one() {
    let bench = Bench::new();
    let folder = tempfile::tempdir().expect("a folder");
    let study = quick_study(&bench, "study.toml", "No room");
    fs::write(folder.path().join("report.html"), "old").expect("an old report");
    let mut report = limited(64, Path::new("none.sqlite"));
    report
        .args(["report", &study, "--as", "html", "--force", "--output"])
        .arg(folder.path().join("report"));
    let run = finish(&mut report).expect(3);
    assert!(
        run.stderr.contains("report.html: cannot be written"),
        "{}",
        run.stderr
    );
    assert_eq!(files(folder.path()).len(), 1);
    assert_eq!(
        fs::read(folder.path().join("report.html")).expect("the report"),
        b"old"
    );
}

#[test]
fn an_import_that_finds_no_room_leaves_the_library_as_it_was() {
    let bench = Bench::new();
    let table = bench.arg("table.csv");
    let library = bench.path("library.sqlite");
    tidewall(["parts", "sample", "--rows", "400", "--seed", "4", &table]).expect(0);
    let before = run(&library, &["parts", "list"], 0).stdout;
    let mut import = limited(1000, &library);
    import.args(["parts", "import", &table, "--accept-guess", "--kind", "invented"]);
    let said = finish(&mut import).expect(3).stderr;
    assert!(
        said.contains("library.sqlite") && said.contains("room on the disk"),
        "{said}"
    );
    assert_eq!(run(&library, &["parts", "list"], 0).stdout, before);
    // With room it goes through.
    run(
        &library,
        &["parts", "import", &table, "--accept-guess", "--kind", "invented"],
        0,
    );
}

#[test]
fn a_ranking_that_finds_no_room_goes_on_when_there_is_some() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Ranked");
    let args = |state: &str| {
        let words = [
            "rank",
            &study,
            "--from",
            "generic",
            "--family",
            "thyristor",
            "--format",
            "json",
            "--resume",
            state,
        ];
        words.map(str::to_owned)
    };
    let (state, other) = (bench.arg("state"), bench.arg("other"));
    let expected = tidewall(args(&other));
    let run = finish(limited(16, Path::new("none.sqlite")).args(args(&state))).expect(3);
    assert!(
        run.stderr.contains("cannot be written") && run.stderr.contains("free some space"),
        "{}",
        run.stderr
    );
    let kept = fs::read(bench.path("state")).expect("the state");
    assert!(kept.len() > 4000, "{} bytes are kept", kept.len());
    let again = tidewall(args(&state));
    assert_eq!(again.status, expected.status);
    assert!(again.stdout == expected.stdout, "the ranking is another one");
}

#[test]
fn on_a_full_disk_nothing_is_half_written() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Full");
    let place = tempfile::tempdir().expect("a folder");
    let script = format!(
        "cd \"$1\"; dd if=/dev/zero of=filler bs=1k count=150 2>/dev/null; echo old > report.html; \
         export TIDEWALL_LIBRARY=\"$1/library.sqlite\"; \
         \"$2\" report '{study}' --as html --force --output \"$1/report\"; echo \"report $?\"; cat report.html; \
         \"$2\" parts list; echo \"parts $?\"; ls -A; rm filler; \"$2\" parts list | tail -n 1"
    );
    let Some(run) = mounted("size=200k", place.path(), &script) else {
        return;
    };
    assert!(
        run.stdout.contains("report 3\nold\n"),
        "{}{}",
        run.stdout,
        run.stderr
    );
    assert!(run.stdout.contains("parts 3"), "{}{}", run.stdout, run.stderr);
    assert!(!run.stdout.contains(".tidewall-"), "{}", run.stdout);
    for words in [
        "report.html: cannot be written",
        "make room on the disk",
        "the parts library cannot be used",
    ] {
        assert!(run.stderr.contains(words), "{words} is not in {}", run.stderr);
    }
}

#[test]
fn a_folder_that_may_not_be_written_is_said_and_a_library_in_it_read() {
    let bench = Bench::new();
    let study = quick_study(&bench, "study.toml", "Read only");
    let library = bench.path("library.sqlite");
    run(&library, &["parts", "list"], 0);
    let place = tempfile::tempdir().expect("a folder");
    let script = format!(
        "cp '{}' \"$1/library.sqlite\"; mount -o remount,ro \"$1\" || exit 99; \
         export TIDEWALL_LIBRARY=\"$1/library.sqlite\"; \
         \"$2\" report '{study}' --as html --output \"$1/report\"; echo \"report $?\"; \
         \"$2\" rank '{study}' --from generic --family thyristor --resume \"$1/state\"; echo \"rank $?\"; \
         \"$2\" parts retire alder-33; echo \"retire $?\"; \"$2\" parts show alder-33 >/dev/null; echo \"show $?\"",
        library.display()
    );
    let Some(run) = mounted("size=2m", place.path(), &script) else {
        return;
    };
    for words in ["report 3", "rank 3", "retire 3", "show 0"] {
        assert!(
            run.stdout.contains(words),
            "{words} is not in {}{}",
            run.stdout,
            run.stderr
        );
    }
    for words in [
        "report.html: cannot be written",
        "check the permissions",
        "state: cannot be used",
    ] {
        assert!(run.stderr.contains(words), "{words} is not in {}", run.stderr);
    }
    assert!(
        run.stderr.contains("the parts library may not be written"),
        "{}",
        run.stderr
    );
}

/// A file stands where a folder is meant.
#[test]
fn a_folder_that_is_a_file_is_said() {
    let bench = Bench::new();
    let file = bench.write("file", "mine");
    for args in [
        vec![
            "check".to_owned(),
            study("passes.toml"),
            "--trace".to_owned(),
            format!("{file}/trace.csv"),
        ],
        vec![
            "new".to_owned(),
            "can".to_owned(),
            "--output".to_owned(),
            format!("{file}/study.toml"),
        ],
    ] {
        let run = tidewall(&args).expect(3);
        assert!(run.stderr.contains("there is no folder"), "{}", run.stderr);
    }
    let library = Path::new(&file).join("library.sqlite");
    let run = finish(with_library(&library).args(["parts", "list"])).expect(3);
    assert!(
        run.stderr.contains("the parts library cannot be used"),
        "{}",
        run.stderr
    );
    assert_eq!(fs::read(&file).expect("the file"), b"mine");
    assert_eq!(
        litter(Path::new(&file).parent().expect("a folder")),
        Vec::<String>::new()
    );
}
