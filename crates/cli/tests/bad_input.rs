//! Every bad study gives one error with its place and a hint, status 3, and nothing on standard output.

mod common;

use common::{Bench, Run, fixture, tidewall};

/// The one error of a bad study, in the shape that holds for all of them.
#[track_caller]
fn refused(bench: &Bench, name: &str) -> Run {
    let path = bench.arg(name);
    let run = tidewall(["check", &path]).expect(3);
    assert!(run.stdout.is_empty(), "{}", run.stdout);
    let reports = run.stderr.lines().filter(|line| line.starts_with(&path)).count();
    assert_eq!(reports, 1, "{}", run.stderr);
    assert!(run.stderr.contains("\n  expected: "), "{}", run.stderr);
    assert!(run.stderr.contains("\n  hint: "), "{}", run.stderr);

    let json = tidewall(["check", &path, "--format", "json"]).expect(3);
    assert!(json.stdout.is_empty(), "{}", json.stdout);
    let report: serde_json::Value = serde_json::from_str(&json.stderr).expect("one JSON object");
    assert_eq!(report["schema"], "tidewall/error/1");
    assert_eq!(report["kind"], "study");
    assert_eq!(report["file"], path.as_str());
    let message = report["message"].as_str().expect("a message");
    assert!(run.stderr.contains(message), "{} and {message}", run.stderr);
    if let Some(line) = report["line"].as_u64() {
        let place = format!("{path}:{line}:{}: ", report["column"]);
        assert!(run.stderr.starts_with(&place), "{} and {place}", run.stderr);
    }
    run
}

/// A study that differs from a good one in one place; the error must stand at `at`.
#[track_caller]
fn spoilt(from: &str, to: &str, at: &str, hint: &str) {
    let bench = Bench::new();
    let good = std::fs::read_to_string(fixture("passes.toml")).expect("the fixture");
    assert!(good.contains(from), "`{from}` is in the fixture");
    let bad = good.replacen(from, to, 1);
    bench.write("bad.toml", &bad);
    let run = refused(&bench, "bad.toml");
    let offset = bad.find(at).unwrap_or_else(|| panic!("`{at}` is in the study"));
    let line = bad[..offset].matches('\n').count() + 1;
    let start = bad[..offset].rfind('\n').map_or(0, |end| end + 1);
    let column = bad[start..offset].chars().count() + 1;
    let place = format!("{}:{line}:{column}: ", bench.arg("bad.toml"));
    assert!(run.stderr.starts_with(&place), "want {place} in\n{}", run.stderr);
    assert!(run.stderr.contains('^'), "{}", run.stderr);
    assert!(run.stderr.contains(hint), "want `{hint}` in\n{}", run.stderr);
}

#[test]
fn a_wrong_unit() {
    spoilt(
        "level = \"500 V\"",
        "level = \"500 A\"",
        "A\"\ncoupling",
        "expected: voltage",
    );
}

#[test]
fn an_unknown_key() {
    spoilt(
        "source_current",
        "source_curent",
        "source_curent",
        "did you mean `source_current`?",
    );
}

#[test]
fn an_unknown_part() {
    spoilt(
        "\"alder-33\"",
        "\"alder-34\"",
        "\"alder-34\"",
        "did you mean `alder-33`",
    );
}

#[test]
fn an_impossible_range() {
    spoilt("-20 °C to 60 °C", "60 °C to -20 °C", "60 °C to", "hint");
}

#[test]
fn an_empty_ladder() {
    let bench = Bench::new();
    let good = std::fs::read_to_string(fixture("passes.toml")).expect("the fixture");
    let start = good.find("[[ladder]]").expect("a ladder");
    let end = good.find("[pin]").expect("a pin");
    let bad = format!("{}{}", &good[..start], &good[end..]).replacen("[port]", "ladder = []\n\n[port]", 1);
    bench.write("bad.toml", bad);
    let run = refused(&bench, "bad.toml");
    assert!(
        run.stderr.contains(":4:10: the ladder is empty"),
        "{}",
        run.stderr
    );
}

#[test]
fn a_loop_of_no_resistance() {
    spoilt(
        "{ resistance = \"20 mΩ\", inductance = \"15 nH\" }",
        "{ resistance = \"0 Ω\" }",
        "{ resistance = \"0 Ω\" }",
        "hint",
    );
}

#[test]
fn not_a_number() {
    spoilt("level = \"500 V\"", "level = \"NaN V\"", "NaN", "hint");
    spoilt("level = \"500 V\"", "level = nan", "nan", "hint");
    spoilt("level = \"500 V\"", "level = \"1e999 V\"", "1e999", "hint");
}

#[test]
fn a_file_of_100_megabytes() {
    let bench = Bench::new();
    let file = std::fs::File::create(bench.path("bad.toml")).expect("a file");
    file.set_len(100_000_000).expect("a sparse file");
    let run = refused(&bench, "bad.toml");
    assert!(run.stderr.contains("100.0 MB"), "{}", run.stderr);
}

#[test]
fn a_text_that_is_not_utf_8() {
    let bench = Bench::new();
    bench.write(
        "bad.toml",
        b"title = \"gauge\"\n[port]\nambient = \"-40 \xb0C to 70 \xb0C\"\n",
    );
    let run = refused(&bench, "bad.toml");
    let place = format!("{}:3:16: ", bench.arg("bad.toml"));
    assert!(run.stderr.starts_with(&place), "{}", run.stderr);
    assert!(run.stderr.contains("UTF-8"), "{}", run.stderr);
}

#[test]
fn a_missing_file() {
    // A folder stands for the studies in it: see `folder.rs`.
    let bench = Bench::new();
    refused(&bench, "missing.toml");
}

#[test]
fn a_broken_and_an_empty_text() {
    let bench = Bench::new();
    bench.write("broken.toml", "title = \"gauge\n");
    let run = refused(&bench, "broken.toml");
    assert!(run.stderr.contains("broken.toml:1:"), "{}", run.stderr);
    bench.write("empty.toml", "");
    refused(&bench, "empty.toml");
}

#[test]
fn a_name_cannot_steer_the_terminal() {
    let bench = Bench::new();
    let good = std::fs::read_to_string(fixture("passes.toml")).expect("the fixture");
    let nasty = good
        .replacen("title = \"Test", "title = \"\\u001b[2J\\u202eTest", 1)
        .replacen("id = \"esd\"", "id = \"\\u001b]0;esd\\u0007\"", 1);
    let path = bench.write("nasty.toml", nasty);
    let run = tidewall(["check", &path]);
    assert!(matches!(run.status, Some(0 | 3)), "{}", run.stderr);
    for text in [&run.stdout, &run.stderr] {
        assert!(!text.contains(['\u{1b}', '\u{7}', '\u{202e}']), "{text:?}");
    }
}
