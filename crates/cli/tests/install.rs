//! Manual pages, completions, and the Debian package: what is in it, what installing and removing it does.

mod common;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use common::{Bench, command, finish, tidewall};
use tempfile::TempDir;

/// A program of the system, or a note that a test cannot be run without it.
fn there(program: &str) -> bool {
    let looked = Command::new("sh")
        .args(["-c", &format!("command -v {program}")])
        .stdout(Stdio::null())
        .status();
    let found = looked.is_ok_and(|status| status.success());
    if !found {
        eprintln!("not tested: this machine has no {program}");
    }
    found
}

fn output(command: &mut Command) -> String {
    let output = command.output().expect("the command starts");
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {error}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// The words that stand in a list of commands below a heading of the help.
fn commands_of(words: &[&str]) -> Vec<String> {
    let mut args = words.to_vec();
    args.push("--help");
    let help = tidewall(args).expect(0).stdout;
    let list = help.split("Commands:\n").nth(1).unwrap_or_default();
    let lines = list.lines().take_while(|line| line.starts_with("  "));
    let names = lines.filter(|line| !line.starts_with("   "));
    names
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_command_has_a_manual_page_with_all_its_options() {
    let bench = Bench::new();
    let folder = bench.path("man");
    let told = tidewall(["manual", "--into", &bench.arg("man")]).expect(0);
    let mut expected = BTreeSet::from(["tidewall.1".to_owned()]);
    for one in commands_of(&[]) {
        expected.insert(format!("tidewall-{one}.1"));
        for two in commands_of(&[&one]) {
            expected.insert(format!("tidewall-{one}-{two}.1"));
        }
    }
    assert!(expected.len() > 20, "{expected:?}");
    let written = std::fs::read_dir(&folder).expect("the folder");
    let written: BTreeSet<String> = written
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(written, expected);
    assert!(
        told.stdout.contains(&format!("{} manual pages", expected.len())),
        "{}",
        told.stdout
    );
    for name in &expected {
        let page = std::fs::read_to_string(folder.join(name)).expect("a page");
        let command = name.trim_end_matches(".1");
        let words: Vec<&str> = command.split('-').skip(1).collect();
        assert!(
            page.contains(&format!(".SH NAME\n{} \\-", command.replace('-', "\\-"))),
            "{page}"
        );
        let mut args = words.clone();
        args.push("--help");
        let help = tidewall(args).expect(0).stdout;
        for option in help.split_whitespace().filter(|word| word.starts_with("--")) {
            let option = option.trim_end_matches(|sign: char| !sign.is_ascii_alphanumeric());
            let written = option.replace('-', "\\-");
            assert!(page.contains(&written), "{name} does not tell of {option}");
        }
        // The page alone is the same.
        let mut args = vec!["manual"];
        args.extend(words);
        assert_eq!(tidewall(args).expect(0).stdout, page, "{name}");
    }
}

#[test]
fn manual_pages_please_the_formatter() {
    if !there("groff") {
        return;
    }
    let bench = Bench::new();
    tidewall(["manual", "--into", &bench.arg("man")]).expect(0);
    for entry in std::fs::read_dir(bench.path("man")).expect("the folder") {
        let file = entry.expect("an entry").path();
        let mut groff = Command::new("groff");
        groff.args(["-man", "-Tutf8", "-Kutf8", "-ww", "-z"]).arg(&file);
        let said = groff.output().expect("groff starts");
        let complaint = String::from_utf8_lossy(&said.stderr).into_owned();
        assert!(
            said.status.success() && complaint.is_empty(),
            "{}: {complaint}",
            file.display()
        );
    }
}

#[test]
fn an_unknown_command_has_no_page() {
    let run = tidewall(["manual", "parts", "imprt"]).expect(3);
    assert!(
        run.stderr.contains("tidewall parts has no command `imprt`"),
        "{}",
        run.stderr
    );
    assert!(run.stderr.contains("`import`"), "{}", run.stderr);
    let run = tidewall(["manual", "check", "now"]).expect(3);
    assert!(run.stderr.contains("no commands of its own"), "{}", run.stderr);
    let bench = Bench::new();
    let file = bench.write("file", "");
    let run = tidewall(["manual", "--into", &file]).expect(3);
    assert!(run.stderr.contains("the folder cannot be made"), "{}", run.stderr);
}

#[test]
fn completions_know_commands_options_and_values() {
    if !there("bash") {
        return;
    }
    let bench = Bench::new();
    let script = bench.write("completion", tidewall(["completions", "bash"]).expect(0).stdout);
    let complete = |words: &[&str]| {
        let last = words.len() - 1;
        let text = format!(
            "source '{script}'; COMP_WORDS=({}); COMP_CWORD={last}; _tidewall tidewall '{}' '{}'; \
             printf '%s\\n' \"${{COMPREPLY[@]}}\"",
            words.join(" "),
            words[last],
            words[last - 1],
        );
        let found = output(Command::new("bash").args(["--norc", "-c", &text]));
        found.lines().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(complete(&["tidewall", "ra"]), ["rank"]);
    assert_eq!(complete(&["tidewall", "parts", "imp"]), ["import"]);
    assert_eq!(complete(&["tidewall", "check", "--high"]), ["--highest-level"]);
    assert_eq!(complete(&["tidewall", "check", "--format", "j"]), ["json"]);
}

#[test]
fn completions_of_other_shells_are_sound() {
    for (shell, word) in [("zsh", "#compdef tidewall"), ("fish", "complete -c tidewall")] {
        let bench = Bench::new();
        let text = tidewall(["completions", shell]).expect(0).stdout;
        assert!(text.contains(word), "{text}");
        let script = bench.write("completion", text);
        if there(shell) {
            output(Command::new(shell).args(["-n", &script]));
        }
    }
}

/// The package, made once of the program under test and a stand-in for the licence texts; `None` where the system has no
/// tools for it.
fn package() -> Option<&'static Path> {
    static MADE: OnceLock<Option<(TempDir, PathBuf)>> = OnceLock::new();
    let made = MADE.get_or_init(|| {
        let tools = ["dpkg-deb", "dpkg-shlibdeps", "dpkg-architecture", "strip"];
        if !tools.into_iter().all(there) {
            return None;
        }
        let folder = tempfile::tempdir().expect("a folder");
        let file = make(folder.path());
        Some((folder, file))
    });
    made.as_ref().map(|(_, file)| file.as_path())
}

fn make(folder: &Path) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let notices = folder.join("notices");
    std::fs::write(&notices, "Licence texts.\n").expect("the notices");
    let mut build = Command::new("sh");
    build
        .arg(root.join("packaging/debian/build"))
        .arg(env!("CARGO_BIN_EXE_tidewall"))
        .args([&notices, folder])
        .env("SOURCE_DATE_EPOCH", "1700000000")
        .env("TIDEWALL_DEB_COMPRESSION", "none");
    PathBuf::from(output(&mut build).trim_end())
}

#[test]
fn the_package_holds_program_pages_completions_and_documents() {
    let Some(package) = package() else { return };
    let listing = output(Command::new("dpkg-deb").arg("--contents").arg(package));
    let mut found = BTreeSet::new();
    for line in listing.lines() {
        let columns: Vec<&str> = line.split_whitespace().collect();
        let (mode, owner, path) = (columns[0], columns[1], columns[5].trim_start_matches('.'));
        assert_eq!(owner, "root/root", "{line}");
        let expected = match mode.starts_with('d') || path.starts_with("/usr/bin/") {
            true => "rwxr-xr-x",
            false => "rw-r--r--",
        };
        assert_eq!(&mode[1..], expected, "{line}");
        assert!(path == "/" || path.starts_with("/usr/"), "{line}");
        found.insert(path.to_owned());
    }
    for path in [
        "/usr/bin/tidewall",
        "/usr/share/man/man1/tidewall.1.gz",
        "/usr/share/man/man1/tidewall-parts-import.1.gz",
        "/usr/share/bash-completion/completions/tidewall",
        "/usr/share/zsh/vendor-completions/_tidewall",
        "/usr/share/fish/vendor_completions.d/tidewall.fish",
        "/usr/share/doc/tidewall/copyright",
        "/usr/share/doc/tidewall/changelog.gz",
        "/usr/share/doc/tidewall/changelog.Debian.gz",
        "/usr/share/doc/tidewall/third-party.txt.gz",
        "/usr/share/doc/tidewall/README.md",
        "/usr/share/doc/tidewall/docs/install.md",
        "/usr/share/doc/tidewall/examples/river-gauge/supply-24v.toml",
        "/usr/share/doc/tidewall/schema/check.json",
    ] {
        assert!(found.contains(path), "{path} is missing in\n{listing}");
    }
    let pages = found
        .iter()
        .filter(|path| path.starts_with("/usr/share/man/man1/t"));
    assert_eq!(pages.count(), 1 + all_commands());

    let version = output(
        Command::new("dpkg-deb")
            .args(["--field"])
            .arg(package)
            .arg("Version"),
    );
    assert_eq!(version.trim(), concat!(env!("CARGO_PKG_VERSION"), "-1"));
    let depends = output(
        Command::new("dpkg-deb")
            .args(["--field"])
            .arg(package)
            .arg("Depends"),
    );
    assert!(depends.contains("libc6 (>= "), "{depends}");
}

fn all_commands() -> usize {
    let first = commands_of(&[]);
    first.len() + first.iter().map(|one| commands_of(&[one]).len()).sum::<usize>()
}

#[test]
fn the_package_is_the_same_bytes_each_time() {
    let Some(first) = package() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    let second = make(folder.path());
    assert_eq!(first.file_name(), second.file_name());
    let (first, second) = (
        std::fs::read(first).expect("one"),
        std::fs::read(second).expect("other"),
    );
    assert!(first == second, "two packages of the same program differ");
}

#[test]
fn what_is_extracted_runs_and_is_what_the_sums_say() {
    let Some(package) = package() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    output(
        Command::new("dpkg-deb")
            .arg("--raw-extract")
            .arg(package)
            .arg(folder.path()),
    );
    let mut control: Vec<_> = std::fs::read_dir(folder.path().join("DEBIAN"))
        .expect("the control files")
        .map(|entry| entry.expect("an entry").file_name())
        .collect();
    control.sort();
    // No script runs when it is installed or removed, so none can touch what belongs to the user.
    assert_eq!(control, ["control", "md5sums"]);
    output(
        Command::new("md5sum")
            .args(["--check", "--quiet", "DEBIAN/md5sums"])
            .current_dir(folder.path()),
    );
    let program = folder.path().join("usr/bin/tidewall");
    let version = output(Command::new(&program).arg("--version"));
    assert_eq!(version, tidewall(["--version"]).expect(0).stdout);
    let study = folder
        .path()
        .join("usr/share/doc/tidewall/examples/river-gauge/supply-24v.toml");
    let mut check = Command::new(&program);
    check.args(["check", "--quiet"]).arg(study);
    check.env("TIDEWALL_LIBRARY", folder.path().join("none.sqlite"));
    assert!(output(&mut check).starts_with("PASS"), "the demo");
}

/// Installed into a root of its own, which needs no rights; removed and purged from there.
#[test]
fn removing_the_package_leaves_the_library_of_the_user() {
    let Some(package) = package() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path().join("root");
    let state = root.join("var/lib/dpkg");
    for path in ["info", "updates", "triggers", "parts"] {
        std::fs::create_dir_all(state.join(path)).expect("a folder");
    }
    for path in ["status", "available", "diversions", "statoverride"] {
        std::fs::write(state.join(path), "").expect("a file");
    }
    let dpkg = |action: &[&str]| {
        let mut dpkg = Command::new("dpkg");
        dpkg.arg(format!("--root={}", root.display()))
            .arg(format!("--log={}", folder.path().join("log").display()))
            .args(["--force-not-root", "--force-bad-path", "--force-depends"])
            .args(action);
        output(&mut dpkg)
    };
    dpkg(&["--install", &package.display().to_string()]);
    let program = root.join("usr/bin/tidewall");
    let data = root.join("home/user/.local/share");
    let run = |args: &[&str]| {
        let mut command = Command::new(&program);
        command
            .args(args)
            .env_remove("TIDEWALL_LIBRARY")
            .env("XDG_DATA_HOME", &data);
        output(&mut command)
    };
    let parts = run(&["parts", "list"]);
    let library = data.join("tidewall/parts.sqlite");
    let before = std::fs::read(&library).expect("the library");

    dpkg(&["--purge", "tidewall"]);
    assert!(!program.exists(), "the program is still there");
    assert!(
        !root.join("usr/share/doc/tidewall").exists(),
        "documents are still there"
    );
    assert!(
        std::fs::read(&library).expect("the library") == before,
        "the library has changed"
    );
    // What is left serves the next installation.
    let mut again = command();
    again
        .args(["parts", "list"])
        .env_remove("TIDEWALL_LIBRARY")
        .env("XDG_DATA_HOME", &data);
    assert_eq!(finish(&mut again).expect(0).stdout, parts);
}

#[test]
fn the_package_pleases_debians_own_checker() {
    let Some(package) = package() else { return };
    if !there("lintian") {
        return;
    }
    let mut lintian = Command::new("lintian");
    // The tests' package alone is not compressed, to be quick.
    lintian
        .args(["--allow-root", "--fail-on=error,warning", "--suppress-tags"])
        .arg("uses-no-compression-for-control-tarball,uses-no-compression-for-data-tarball")
        .arg(package);
    output(&mut lintian);
}
