//! From a transmission-line-pulse table to a model in the parts library.

mod common;

use std::fs;
use std::path::Path;

use common::{command, finish};

/// An on-branch of 4 V and 0.5 Ω with a millivolt of unevenness, failing at the last but one of its pulses.
fn table(folder: &Path) -> String {
    let mut text = String::from("Pulse Width,100 ns\nV (V),I (A),Leakage (nA)\n");
    for k in 1..=12 {
        let amps = 0.5 * f64::from(k);
        let volts = 4.0 + 0.5 * amps + 0.001 * f64::from(k % 3 - 1);
        let leakage = if k >= 11 { 5000.0 } else { 1.0 };
        text.push_str(&format!("{volts},{amps},{leakage}\n"));
    }
    let path = folder.join("tlp.csv");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn a_table_is_fitted_without_its_failed_pulses() {
    let folder = tempfile::tempdir().unwrap();
    let file = table(folder.path());
    let run = finish(command().args([
        "extract",
        "fit",
        "snapback-on-branch",
        &file,
        "--tlp",
        "--format",
        "json",
    ]));
    let json = run.expect(0).json();
    assert_eq!(json["quality"]["points"], 10);
    let estimates = json["estimates"].as_array().unwrap();
    let value = |key: &str| {
        let found = estimates.iter().find(|estimate| estimate["key"] == key);
        found.unwrap_or_else(|| panic!("no {key} in {estimates:?}"))["value"]
            .as_f64()
            .unwrap()
    };
    assert!(
        (value("on_voltage") - 4.0).abs() < 0.005,
        "{}",
        value("on_voltage")
    );
    assert!(
        (value("dynamic_resistance") - 0.5).abs() < 0.002,
        "{}",
        value("dynamic_resistance")
    );
    let warnings = json["warnings"].to_string();
    assert!(warnings.contains("failure in line 13"), "{warnings}");
}

#[test]
fn the_model_goes_into_the_library_with_its_source() {
    let folder = tempfile::tempdir().unwrap();
    let file = table(folder.path());
    let library = folder.path().join("parts.sqlite");
    let fit = |document: &[&str]| {
        let mut run = command();
        run.env("TIDEWALL_LIBRARY", &library);
        run.args([
            "extract",
            "fit",
            "snapback-on-branch",
            &file,
            "--tlp",
            "--into-part",
            "wren-4",
        ]);
        finish(run.args(document))
    };
    let first = fit(&["--keep", "specimen 7, pulser A, 2026-11-25"]).expect(0);
    assert!(
        first.stderr.contains("kept as the new part wren-4"),
        "{}",
        first.stderr
    );
    let show = finish(
        command()
            .env("TIDEWALL_LIBRARY", &library)
            .args(["parts", "show", "wren-4"]),
    )
    .expect(0);
    for words in ["measured", "specimen 7, pulser A, 2026-11-25", "on-state voltage"] {
        assert!(show.stdout.contains(words), "{words} is not in {}", show.stdout);
    }
    let again = fit(&["--keep", "specimen 7, pulser A, 2026-11-25"]).expect(0);
    assert!(
        again.stderr.contains("had these data already"),
        "{}",
        again.stderr
    );
    // A curve that any family may have needs to know its part.
    let points = folder.path().join("leakage.csv");
    fs::write(
        &points,
        "temperature (°C),current (nA)\n25,1\n45,3.9\n65,16.2\n85,63\n105,260\n",
    )
    .unwrap();
    let points = points.display().to_string();
    let mut run = command();
    run.env("TIDEWALL_LIBRARY", &library);
    let leakage = [
        "extract",
        "fit",
        "leakage",
        &points,
        "--voltage",
        "5 V",
        "--into-part",
        "nobody",
        "--keep",
        "lab",
    ];
    let refused = finish(run.args(leakage)).expect(3);
    assert!(refused.stderr.contains("no part `nobody`"), "{}", refused.stderr);
}
