//! JSON output: what the schemas promise, the same for every number of threads.

mod common;

use boon::{Compiler, Schemas};
use common::{Bench, command, finish, study, tidewall};
use serde_json::Value;

/// The faults that a value has by a schema that the program prints itself.
fn faults(output: &str, value: &Value) -> Option<String> {
    let schema = tidewall(["schema", output]).expect(0).json();
    let mut compiler = Compiler::new();
    compiler
        .add_resource("mem:///schema.json", schema)
        .expect("the schema is JSON Schema");
    let mut schemas = Schemas::new();
    let index = compiler
        .compile("mem:///schema.json", &mut schemas)
        .expect("the schema compiles");
    schemas
        .validate(value, index)
        .err()
        .map(|error| format!("{error:#}"))
}

#[track_caller]
fn fits(output: &str, value: &Value) {
    if let Some(faults) = faults(output, value) {
        panic!("{faults}");
    }
}

#[test]
fn results_fit_the_schema() {
    for (name, status) in [
        ("passes.toml", 0),
        ("fails.toml", 1),
        ("unknown.toml", 2),
        ("two-stages.toml", 1),
    ] {
        let result = tidewall(["check", &study(name), "--format", "json"])
            .expect(status)
            .json();
        fits("check", &result);
        assert_eq!(result["schema"], "tidewall/result/1");
        assert!(!result["transients"].as_array().expect("a list").is_empty());
    }
}

#[test]
fn rankings_requirements_and_comparisons_fit_their_schemas() {
    let json = |args: &[&str]| {
        let run = tidewall(args.iter().copied().chain(["--format", "json"]));
        run.json()
    };
    let (fails, two) = (study("fails.toml"), study("two-stages.toml"));
    let ranking = json(&["rank", &fails]);
    fits("rank", &ranking);
    assert!(!ranking["rejected"].as_array().expect("a list").is_empty());
    fits("requirement", &json(&["rank", "--explain", &fails]));
    let stages = json(&["rank", "--explain", &two, "--at", "F1", "--at", "D1"]);
    assert_eq!(stages.as_array().map(Vec::len), Some(2));
    fits("requirement", &stages);
    fits("compare", &json(&["compare", &fails, "alder-33", "birch-33"]));
    fits(
        "equivalents",
        &json(&["compare", &fails, "--equivalents-of", "birch-33"]),
    );
}

#[test]
fn plans_fit_their_schema() {
    for name in ["passes.toml", "unknown.toml", "two-stages.toml"] {
        let plan = tidewall(["plan", &study(name), "--format", "json"])
            .expect(0)
            .json();
        fits("plan", &plan);
        let mut bad = plan.clone();
        bad["tests"][0]["groups"][0]["level"] = "1 kV".into();
        assert!(faults("plan", &bad).is_some());
        let mut bad = plan.clone();
        bad["tests"][0]
            .as_object_mut()
            .expect("an object")
            .remove("steps");
        assert!(faults("plan", &bad).is_some());
    }
}

#[test]
fn draws_and_levels_fit_the_schema() {
    let result = tidewall([
        "check",
        &study("passes.toml"),
        "--draws",
        "3",
        "--highest-level",
        "--format",
        "json",
    ]);
    let result = result.expect(0).json();
    fits("check", &result);
    let levels = result["highest_levels"].as_array().expect("a list");
    let ids: Vec<&Value> = levels.iter().map(|level| &level["stress"]).collect();
    assert_eq!(ids, ["surge-earth", "esd"]);
    for level in levels {
        // The study passes, so it survives its own levels.
        assert!(level["factor"].as_f64().expect("a factor") >= 1.0, "{level}");
        assert_eq!(level["unit"], "V");
    }
    for key in ["draws", "sensitivity", "highest_levels"] {
        let mut bad = result.clone();
        bad[key] = "many".into();
        assert!(faults("check", &bad).is_some(), "{key}");
    }
}

#[test]
fn several_results_are_a_list_and_fit_the_schema() {
    let run = tidewall([
        "--format",
        "json",
        "check",
        &study("passes.toml"),
        "gone.toml",
        &study("fails.toml"),
    ]);
    let results = run.expect(3).json();
    fits("check", &results);
    let verdicts: Vec<&Value> = results
        .as_array()
        .expect("a list")
        .iter()
        .map(|one| &one["verdict"])
        .collect();
    assert_eq!(verdicts, ["pass", "fail"]);
}

#[test]
fn the_schema_refuses_what_is_not_a_result() {
    let good = tidewall([
        "check",
        &study("passes.toml"),
        "--corner",
        "stress=esd",
        "--format",
        "json",
    ]);
    let good = good.expect(0).json();
    fits("check", &good);
    let spoil = |change: fn(&mut Value)| {
        let mut bad = good.clone();
        change(&mut bad);
        assert!(faults("check", &bad).is_some(), "{bad}");
    };
    spoil(|value| value["verdict"] = "perhaps".into());
    spoil(|value| value["checks"][0]["value"] = "35 V".into());
    spoil(|value| value["transients"][0]["pin_peak_v"] = Value::Null);
    spoil(|value| value["restriction"]["run"] = (-1).into());
    spoil(|value| {
        value.as_object_mut().expect("an object").remove("verdict");
    });
    spoil(|value| {
        value["transients"][0]["audit"]
            .as_object_mut()
            .expect("an object")
            .remove("residual");
    });
    spoil(|value| *value = Value::Null);
}

#[test]
fn the_other_commands_fit_their_schemas() {
    let bench = Bench::new();
    let new = tidewall(["new", "can", "--format", "json"]).expect(0).json();
    fits("new", &new);
    assert!(
        new["text"]
            .as_str()
            .expect("a text")
            .contains("profile = \"can\"")
    );
    let written = tidewall([
        "new",
        "can",
        "--format",
        "json",
        "--output",
        &bench.arg("can.toml"),
    ])
    .expect(0)
    .json();
    fits("new", &written);
    assert_eq!(written["written"], bench.arg("can.toml").as_str());
    let list = tidewall(["new", "--list", "--format", "json"]).expect(0).json();
    fits("new", &list);
    assert_eq!(list["profiles"].as_array().expect("a list").len(), 45);
    let all = tidewall(["explain", "--format", "json"]).expect(0).json();
    fits("explain", &all);
    let one = tidewall(["explain", "latch-up", "--format", "json"])
        .expect(0)
        .json();
    fits("explain", &one);
    assert_eq!(one["checks"][0]["check"], "latch-up");
    assert!(faults("explain", &new).is_some());
    let points = bench.write(
        "pin.csv",
        "current (A),voltage (V)\n0.5,4.6\n1,5.1\n2,6.1\n3,7.15\n",
    );
    let fit = tidewall(["extract", "fit", "pin", &points, "--format", "json"])
        .expect(0)
        .json();
    fits("fit", &fit);
    assert_eq!(fit["schema"], "tidewall/fit/1");
    let pages = tidewall(["manual", "--into", &bench.arg("man"), "--format", "json"])
        .expect(0)
        .json();
    fits("manual", &pages);
    assert!(pages["written"].as_array().expect("a list").len() > 20);
}

#[test]
fn errors_are_json_when_json_is_asked_for() {
    let cases: &[(&[&str], &str)] = &[
        (&["check", "gone.toml", "--format", "json"], "study"),
        (&["explain", "no-such-check", "--format=json"], "usage"),
        (&["new", "no-such-port", "--format", "json"], "usage"),
        (&["check", "--format", "json"], "usage"),
        (&["--format", "json"], "usage"),
        (&["new", "can", "--output", "/", "--format", "json"], "output"),
    ];
    for (args, kind) in cases {
        let run = tidewall(*args).expect(3);
        assert!(run.stdout.is_empty(), "{args:?}: {}", run.stdout);
        let report: Value =
            serde_json::from_str(&run.stderr).unwrap_or_else(|_| panic!("{args:?}: {}", run.stderr));
        fits("error", &report);
        assert_eq!(report["kind"], *kind, "{args:?}");
        assert!(report["hint"].is_string(), "{args:?}: {report}");
    }
}

#[test]
fn the_same_bytes_come_from_one_thread_and_from_two() {
    for name in ["passes.toml", "two-stages.toml"] {
        let with = |threads: &str| {
            let mut command = command();
            command
                .args(["check", &study(name), "--format", "json"])
                .env("RAYON_NUM_THREADS", threads);
            finish(&mut command).stdout
        };
        let one = with("1");
        assert!(one.len() > 10_000, "{name}: {one}");
        assert!(one == with("2"), "{name}: one thread and two differ");
        assert!(one == with("1"), "{name}: two runs differ");
    }
}

#[test]
fn the_schema_in_the_repository_is_the_programs() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schema/check.json");
    let kept = std::fs::read_to_string(&file).expect("schema/check.json is there");
    let printed = tidewall(["schema"]).expect(0).stdout;
    assert!(
        kept == printed,
        "renew it: cargo run -p tidewall -- schema > schema/check.json"
    );
}

#[test]
fn captures_and_correlations_fit_their_schemas() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
    let study = format!("{demo}/level-sensor-io-link.toml");
    let capture = format!("{demo}/measured/level-sensor-esd.csv");
    let read = tidewall(["extract", "read", &capture, "--format", "json"])
        .expect(0)
        .json();
    fits("capture", &read);
    assert_eq!(read["schema"], "tidewall/capture/1");
    assert_eq!(read["samples"], 1200);
    let words = [
        "extract", "against", &study, &capture, "--stress", "esd", "--format", "json",
    ];
    let record = [
        "--specimen",
        "board 1",
        "--instrument",
        "scope A",
        "--date",
        "2026-11-02",
    ];
    let result = tidewall(words.iter().chain(&record)).expect(0).json();
    fits("correlation", &result);
    assert_eq!(result["schema"], "tidewall/correlation/1");
    assert_eq!(result["finding"]["outcome"], "one");
    assert_eq!(result["finding"]["parameters"][0], "lead inductance of D1");
    for (key, text) in [
        ("specimen", "board 1"),
        ("instrument", "scope A"),
        ("date", "2026-11-02"),
    ] {
        assert_eq!(result["capture"][key], text);
    }
    for (key, bad) in [
        ("finding", "one".into()),
        ("candidates", Value::Null),
        ("residual_v", "2 V".into()),
    ] {
        let mut spoiled = result.clone();
        spoiled[key] = bad;
        assert!(faults("correlation", &spoiled).is_some(), "{key}");
    }
}
