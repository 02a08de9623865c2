//! Fits from the command line.

mod common;

use common::{Bench, tidewall};

const SNAPBACK: &str =
    "current (A),voltage (V)\n0.0001,7\n0.001,9.5\n0.05,8\n1,4.1\n4,4.71\n8,5.5\n12,6.28\n16,7.12\n";

#[test]
fn a_fit_shows_values_intervals_and_rejected_points() {
    let bench = Bench::new();
    let points = bench.write("rowan.csv", SNAPBACK);
    let text = tidewall(["extract", "fit", "snapback", &points]).expect(0).stdout;
    assert!(
        text.contains("200.3 mΩ") && text.contains("195.8 mΩ") && text.contains("204.8 mΩ"),
        "{text}"
    );
    assert!(
        text.contains("3  8 V at 50 mA: between trigger and hold"),
        "{text}"
    );
}

#[test]
fn a_printed_part_can_be_read() {
    let bench = Bench::new();
    let points = bench.write("rowan.csv", SNAPBACK);
    let args = ["extract", "fit", "snapback", &points, "--into-part", "rowan-5"];
    let text = tidewall(args).expect(0).stdout;
    let part = text
        .split("For a parts file\n")
        .nth(1)
        .expect("the part is printed");
    let file = bench.write("rowan.toml", part);
    let library = bench.arg("parts.sqlite");
    tidewall(["parts", "add", &file, "--library", &library]).expect(0);
    let shown = tidewall(["parts", "show", "rowan-5", "--library", &library])
        .expect(0)
        .stdout;
    assert!(
        shown.contains("9.5 V") && shown.contains("200.26 mΩ") && shown.contains("measured"),
        "{shown}"
    );
}

#[test]
fn one_wave_is_said_not_to_tell_heating() {
    let bench = Bench::new();
    let text = "current (A);voltage (V)\n5;35,1\n12;36,9\n22;40,0\n33;43,8\n";
    let points = bench.write("alder.csv", text);
    let args = ["extract", "fit", "avalanche", &points, "--wave", "10/1000"];
    let tail = ["--temperature-coefficient", "0.098 %/K", "--format", "json"];
    let fit = tidewall(args.iter().chain(&tail)).expect(0).json();
    let all = fit["estimates"].as_array().expect("a list");
    let heating = all
        .iter()
        .find(|e| e["key"] == "heating_coefficient")
        .expect("it is named");
    assert_eq!(heating["standing"], "not-identified");
    assert!(heating["value"].is_null());
}

#[test]
fn points_that_cannot_be_used_are_refused_with_their_line() {
    let bench = Bench::new();
    for (content, expected) in [
        (
            "slope (V/µs),voltage (V)\n100,450\n1000,xx\n",
            "gas.csv:3: column 2: `xx` is not a number",
        ),
        (
            "slope (V/µs),voltage (V)\n100,450\n1000,200\n",
            "gas.csv:3: point 2: the firing voltage is not above",
        ),
        (
            "slope (V/µs),voltage\n100,450\n",
            "the column `voltage` has no unit",
        ),
        (
            "slope (V/µs),current (A)\n100,450\n",
            "has no column `voltage (V)`",
        ),
        (
            "slope (V/µs),voltage (V)\n100\n",
            "gas.csv:2: column 2: there is no voltage",
        ),
        ("", "is empty"),
        (
            "slope (V/µs),voltage (V)\n100,450\n",
            "only 1 point on the firing voltages, at least 2 needed",
        ),
    ] {
        let points = bench.write("gas.csv", content);
        let run = tidewall(["extract", "fit", "gas-tube", &points, "--breakdown", "230 V"]).expect(3);
        assert!(
            run.stdout.is_empty() && run.stderr.contains(expected),
            "{content}: {}",
            run.stderr
        );
        assert!(run.stderr.contains("hint:"), "{}", run.stderr);
    }
    let points = bench.write("rowan.csv", SNAPBACK);
    let run = tidewall(["extract", "fit", "snapback", &points, "--breakdown", "9 V"]).expect(3);
    assert!(run.stderr.contains("--breakdown means nothing"), "{}", run.stderr);
    let gone = bench.arg("gone.csv");
    tidewall(["extract", "fit", "pin", &gone]).expect(3);
    let usage = tidewall(["extract", "fit", "leakage", &gone]).expect(3);
    assert!(usage.stderr.contains("--voltage"), "{}", usage.stderr);
}
