//! Choosing corners, and waveforms as CSV.

mod common;

use std::collections::BTreeSet;

use common::{Bench, study, tidewall};
use serde_json::Value;

fn result(args: &[&str]) -> Value {
    let mut all = vec!["check", "--format", "json"];
    all.extend(args);
    let run = tidewall(all);
    assert!(matches!(run.status, Some(0..=2)), "{}", run.stderr);
    run.json()
}

fn transients(result: &Value) -> &Vec<Value> {
    result["transients"].as_array().expect("a list")
}

#[test]
fn only_matching_corners_are_run_and_the_result_says_so() {
    let passes = study("passes.toml");
    let all = result(&[&passes]);
    assert!(all.get("restriction").is_none());
    let spec = "stress=esd,ambient=60,part=high,polarity=+,supply=none,tolerance=high";
    let one = result(&[&passes, "--corner", spec]);
    assert_eq!(one["restriction"]["corners"], serde_json::json!([spec]));
    assert_eq!(one["restriction"]["run"], 1);
    assert_eq!(
        one["restriction"]["left_out"].as_u64().expect("a number") as usize,
        transients(&all).len() - 1
    );
    // The corner gives what it gave among all.
    let [run] = transients(&one).as_slice() else {
        panic!("one transient: {one}");
    };
    assert!(transients(&all).contains(run));
    // A check that needs no transient is still made.
    let has = |name: &str| {
        one["checks"]
            .as_array()
            .expect("a list")
            .iter()
            .any(|check| check["check"] == name)
    };
    assert!(has("stand-off") && has("let-through-voltage"));
    let text = tidewall(["check", &passes, "--corner", spec]).expect(0).stdout;
    assert!(text.contains("Only the corners that fit"), "{text}");
}

#[test]
fn two_choices_are_joined() {
    let passes = study("passes.toml");
    let run = result(&[
        &passes,
        "--corner",
        "ambient=-20,part=low",
        "--corner",
        "ambient=60 °C,part=high",
    ]);
    let seen: BTreeSet<(String, String)> = transients(&run)
        .iter()
        .map(|run| {
            (
                run["corner"]["ambient_c"].to_string(),
                run["corner"]["part"].to_string(),
            )
        })
        .collect();
    let want = [("-20.0", "\"low\""), ("60.0", "\"high\"")].map(|(a, b)| (a.to_owned(), b.to_owned()));
    assert_eq!(seen, BTreeSet::from(want));
}

#[test]
fn a_blind_spot_can_be_chosen() {
    let run = result(&[
        &study("two-stages.toml"),
        "--corner",
        "tolerance=blind-spot,ambient=50,polarity=-",
    ]);
    let [only] = transients(&run).as_slice() else {
        panic!("one transient: {run}");
    };
    assert_eq!(only["corner"]["stress_tolerance"], "blind-spot");
    assert_eq!(only["corner"]["polarity"], "-");
    // A ladder with one stage has none.
    let none = tidewall(["check", &study("passes.toml"), "--corner", "tolerance=blind-spot"]).expect(3);
    assert!(none.stderr.contains("no blind spot"), "{}", none.stderr);
}

#[test]
fn a_choice_that_fits_nothing_says_what_there_is() {
    let passes = study("passes.toml");
    for (spec, hint) in [
        ("ambient=70", "ambient may be -20, 60"),
        ("stress=surge", "stress may be surge-earth, esd"),
        ("part=crossed", "part may be low, high"),
        ("supply=12", "supply may be none, 19.2, 30"),
        ("ambiant=60", "did you mean `ambient`?"),
        ("ambient=60 V", "a temperature such as 70 or 70 °C"),
        (
            "ambient",
            "keys are stress, ambient, part, tolerance, polarity, supply",
        ),
    ] {
        let run = tidewall(["check", &passes, "--corner", spec]).expect(3);
        assert!(run.stdout.is_empty(), "{spec}: {}", run.stdout);
        assert!(run.stderr.contains(hint), "{spec}: {}", run.stderr);
    }
}

/// Header and rows of a CSV file.
fn table(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader
        .headers()
        .expect("a header")
        .iter()
        .map(str::to_owned)
        .collect();
    let rows = reader
        .records()
        .map(|row| row.expect("a full row").iter().map(str::to_owned).collect())
        .collect();
    (header, rows)
}

fn column(table: &(Vec<String>, Vec<Vec<String>>), name: &str) -> Vec<f64> {
    let at = table
        .0
        .iter()
        .position(|head| head == name)
        .unwrap_or_else(|| panic!("no {name} in {:?}", table.0));
    table
        .1
        .iter()
        .map(|row| row[at].parse().expect("a number"))
        .collect()
}

#[test]
fn a_trace_holds_the_waveforms_of_the_chosen_corner() {
    let bench = Bench::new();
    let file = bench.arg("trace.csv");
    let spec = "stress=surge-earth,ambient=60,part=high,tolerance=high,polarity=+,supply=30";
    let run = result(&[&study("passes.toml"), "--corner", spec, "--trace", &file]);
    let text = std::fs::read_to_string(&file).expect("the trace");
    assert!(!text.contains('#'));
    let table = table(&text);
    assert_eq!(
        table.0[..5],
        ["stress", "corner", "time_s", "connector_v", "after_S1_v"]
    );
    assert!(
        table
            .1
            .iter()
            .all(|row| row[0] == "surge-earth" && row[1] == spec)
    );
    let times = column(&table, "time_s");
    assert!(times.windows(2).all(|pair| pair[0] <= pair[1]));
    let size = |values: &[f64]| values.iter().fold(0.0f64, |top, value| top.max(value.abs()));
    let of = |name: &str| -> Value {
        let elements = transients(&run)[0]["elements"]
            .as_array()
            .expect("a list")
            .clone();
        elements
            .into_iter()
            .find(|element| element["name"] == name)
            .expect("the element")
    };
    // Samples stand at steps, peaks may lie between them.
    let near = |value: f64, peak: &Value| {
        let peak = peak.as_f64().expect("a number").abs();
        assert!(
            value <= peak * (1.0 + 1e-9) && value > 0.99 * peak,
            "{value} against {peak}"
        );
    };
    near(
        size(&column(&table, "connector_v")),
        &transients(&run)[0]["connector_peak_v"],
    );
    near(size(&column(&table, "pin_v")), &transients(&run)[0]["pin_peak_v"]);
    near(size(&column(&table, "D1_current_a")), &of("D1")["peak_a"]);
    near(size(&column(&table, "D1_voltage_v")), &of("D1")["peak_v"]);
    near(
        size(&column(&table, "D1_junction_c")),
        &of("D1")["peak_junction_c"],
    );
    // The energy under the curves is the energy of the result.
    let (volts, amps) = (column(&table, "D1_voltage_v"), column(&table, "D1_current_a"));
    let energy: f64 = (1..times.len())
        .map(|k| 0.5 * (times[k] - times[k - 1]) * (volts[k] * amps[k] + volts[k - 1] * amps[k - 1]))
        .sum();
    let booked = of("D1")["energy_j"].as_f64().expect("a number");
    assert!((energy / booked - 1.0).abs() < 0.01, "{energy} against {booked}");
}

#[test]
fn without_a_choice_each_stress_is_traced_at_its_worst_let_through() {
    let bench = Bench::new();
    let file = bench.arg("trace.csv");
    let run = result(&[&study("passes.toml"), "--trace", &file]);
    let table = table(&std::fs::read_to_string(&file).expect("the trace"));
    let corners: BTreeSet<(&str, &str)> = table
        .1
        .iter()
        .map(|row| (row[0].as_str(), row[1].as_str()))
        .collect();
    assert_eq!(corners.len(), 2);
    for stress in ["surge-earth", "esd"] {
        let peak = table
            .1
            .iter()
            .filter(|row| row[0] == stress)
            .map(|row| row[table.0.iter().position(|head| head == "pin_v").expect("the pin")].parse::<f64>())
            .map(|volts| volts.expect("a number"))
            .fold(0.0, f64::max);
        let worst = run["checks"]
            .as_array()
            .expect("a list")
            .iter()
            .find(|check| check["stress"] == stress && check["check"] == "let-through-voltage")
            .expect("the check")["value"]
            .as_f64()
            .expect("a number");
        assert!(
            peak <= worst * (1.0 + 1e-9) && peak > 0.99 * worst,
            "{stress}: {peak} against {worst}"
        );
    }
    // The corner's text chooses that corner again.
    let (_, text) = corners
        .iter()
        .find(|(stress, _)| *stress == "esd")
        .expect("the discharge");
    assert_eq!(
        result(&[&study("passes.toml"), "--corner", text])["restriction"]["run"],
        1
    );
}

#[test]
fn a_trace_is_written_whole_or_not_at_all() {
    let bench = Bench::new();
    let before = bench.names();
    let folder = tidewall(["check", &study("passes.toml"), "--trace", &bench.arg("")]).expect(3);
    assert!(folder.stderr.contains("is a folder"), "{}", folder.stderr);
    let nowhere = tidewall([
        "check",
        &study("passes.toml"),
        "--trace",
        &bench.arg("no/trace.csv"),
    ])
    .expect(3);
    assert!(
        nowhere.stderr.contains("there is no folder"),
        "{}",
        nowhere.stderr
    );
    assert_eq!(bench.names(), before);
    // Neither has cost the time of a run.
    assert!(folder.stdout.is_empty() && nowhere.stdout.is_empty());

    // An old trace is replaced, and nothing else appears.
    let old = bench.write("trace.csv", "old");
    tidewall([
        "check",
        &study("passes.toml"),
        "--corner",
        "stress=esd,supply=none",
        "--trace",
        &old,
    ])
    .expect(0);
    assert!(
        std::fs::read_to_string(&old)
            .expect("the trace")
            .starts_with("stress,corner,time_s")
    );
    assert_eq!(bench.names(), ["parts.toml", "trace.csv"]);

    // A study that cannot be computed leaves the old trace alone.
    let bad = bench.write("bad.toml", "title = 1");
    tidewall(["check", &bad, "--trace", &old]).expect(3);
    assert!(
        std::fs::read_to_string(&old)
            .expect("the trace")
            .starts_with("stress,corner,time_s")
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_device_is_written_to_and_never_replaced() {
    use std::os::unix::fs::FileTypeExt;
    let run = tidewall([
        "check",
        &study("passes.toml"),
        "--corner",
        "stress=esd,supply=none",
        "--trace",
        "/dev/full",
    ]);
    let run = run.expect(3);
    // The verdict is shown all the same.
    assert!(run.stdout.contains("Verdict: PASS") && run.stderr.contains("/dev/full: cannot be written"));
    let about = std::fs::metadata("/dev/full").expect("/dev/full");
    assert!(about.file_type().is_char_device());
}
