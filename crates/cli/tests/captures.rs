//! `tidewall extract read` and `extract against`: errors, and what is kept.

mod common;

use common::{Bench, command, finish, tidewall};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");

#[test]
fn faults_name_file_line_and_cell() {
    let bench = Bench::new();
    let bad = bench.write("bad.csv", "time_s,v_v\n0,0\n1e-9,abc\n");
    let run = tidewall(["extract", "read", &bad]).expect(3);
    for words in [
        "bad.csv",
        "line 3, cell 2",
        "`abc` is not a number",
        "expected a number",
    ] {
        assert!(run.stderr.contains(words), "{}", run.stderr);
    }
    let json = tidewall(["extract", "read", &bad, "--format", "json"]).expect(3);
    let error: serde_json::Value = serde_json::from_str(&json.stderr).expect("one object");
    assert_eq!((&error["kind"], &error["line"]), (&"capture".into(), &3.into()));
    assert!(
        tidewall(["extract", "read", &bench.arg("gone.csv")])
            .expect(3)
            .stderr
            .contains("cannot be read")
    );
    assert!(
        tidewall(["extract", "read", &bench.arg(".")])
            .expect(3)
            .stderr
            .contains("cannot be read")
    );
}

#[test]
fn columns_that_are_not_clear_are_asked_for() {
    let bench = Bench::new();
    let two = bench.write("two.csv", "t (ns),a (V),b (V)\n0,0,0\n1,5,2\n2,4,1\n");
    let study = format!("{DEMO}/level-sensor-io-link.toml");
    let run = tidewall(["extract", "against", &study, &two]).expect(3);
    assert!(
        run.stderr.contains("`a`, `b`") && run.stderr.contains("--voltage"),
        "{}",
        run.stderr
    );
    // Reading alone needs no choice.
    let read = tidewall(["extract", "read", &two]).expect(0);
    assert!(read.stdout.contains("highest 5 V at 1 ns"), "{}", read.stdout);
    let run = tidewall(["extract", "read", &two, "--voltage", "c"]).expect(3);
    assert!(run.stderr.contains("no column `c`"), "{}", run.stderr);
    let run = tidewall(["extract", "read", &two, "--voltage", "a", "--voltage-factor", "0"]).expect(3);
    assert!(run.stderr.contains("0 is no factor"), "{}", run.stderr);
    let turned = tidewall([
        "extract",
        "read",
        &two,
        "--voltage",
        "2",
        "--current",
        "a",
        "--voltage-factor",
        "-10",
    ]);
    assert!(
        turned
            .expect(0)
            .stdout
            .contains("peak voltage               −20 V")
    );
}

#[test]
fn a_voltage_measured_elsewhere_is_not_kept_as_the_parts_own() {
    let bench = Bench::new();
    let library = bench.arg("parts.sqlite");
    let study = format!("{DEMO}/level-sensor-io-link.toml");
    let capture = format!("{DEMO}/measured/level-sensor-esd.csv");
    let against = |more: &[&str]| {
        let words = [
            "extract",
            "against",
            &study,
            &capture,
            "--stress",
            "esd",
            "--library",
            &library,
            "--keep",
            "--specimen",
            "board 1",
            "--instrument",
            "scope A",
            "--date",
            "2026-11-02",
        ];
        finish(command().args(words).args(more))
    };
    let run = against(&[]).expect(3);
    assert!(
        run.stderr
            .contains("measured at pin, but D1 stands at after connector"),
        "{}",
        run.stderr
    );
    let kept = against(&["--at", "after_connector"]).expect(0);
    assert!(kept.stderr.contains("kept of birch-36"), "{}", kept.stderr);
    let shown = tidewall(["parts", "show", "birch-36", "--library", &library])
        .expect(0)
        .stdout;
    for words in ["measured", "specimen board 1, scope A", "2026-11-02"] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    // Without the record there is nothing to keep.
    let bare = tidewall(["extract", "against", &study, &capture, "--keep"]).expect(3);
    assert!(bare.stderr.contains("--specimen"), "{}", bare.stderr);
}
