//! The exit status says what a script needs to know.

mod common;

use common::{study, tidewall};

#[test]
fn pass_is_0_fail_is_1_unknown_is_2() {
    for (name, status, word) in [
        ("passes.toml", 0, "PASS"),
        ("fails.toml", 1, "FAIL"),
        ("unknown.toml", 2, "UNKNOWN"),
    ] {
        let run = tidewall(["check", &study(name), "--quiet"]).expect(status);
        assert!(run.stdout.starts_with(word), "{}", run.stdout);
        assert_eq!(
            run.stdout.lines().count(),
            1,
            "the sheet is not shown: {}",
            run.stdout
        );
    }
}

#[test]
fn a_marginal_pass_is_0_and_says_so() {
    // The surge leaves 28 % to the withstand; asking for 40 % makes that marginal.
    let run = tidewall(["check", &study("passes.toml"), "--margin", "40 %"]).expect(0);
    assert!(run.stdout.contains("Verdict: MARGINAL"), "{}", run.stdout);
    assert!(
        run.stdout.contains("margin = 40 % (from the command line)"),
        "{}",
        run.stdout
    );
    assert!(!run.stdout.contains("margin = 10 %"), "{}", run.stdout);
}

#[test]
fn the_worst_of_several_studies_counts() {
    let check = |names: &[&str], status| {
        let mut args = vec!["check".to_owned(), "--quiet".to_owned()];
        args.extend(names.iter().map(|name| study(name)));
        tidewall(args).expect(status)
    };
    check(&["passes.toml", "unknown.toml"], 2);
    check(&["fails.toml", "unknown.toml", "passes.toml"], 1);
    let run = check(&["fails.toml", "no-such-file.toml", "passes.toml"], 3);
    // What can be judged is judged all the same.
    assert!(
        run.stdout.contains("FAIL") && run.stdout.contains("PASS"),
        "{}",
        run.stdout
    );
    assert!(run.stderr.contains("no-such-file.toml"), "{}", run.stderr);
}

#[test]
fn a_table_of_verdicts_closes_several_sheets() {
    let run = tidewall([
        "check",
        &study("passes.toml"),
        &study("two-stages.toml"),
        "gone.toml",
    ])
    .expect(3);
    let (_, closing) = run.stdout.split_once("\nVerdicts\n").expect("a closing table");
    let rows: Vec<&str> = closing.lines().collect();
    assert_eq!(rows.len(), 4, "{closing}");
    assert!(
        rows[1].contains("pass ") && rows[1].contains("passes.toml"),
        "{closing}"
    );
    assert!(
        rows[2].contains("fail ") && rows[2].contains("two-stages.toml"),
        "{closing}"
    );
    assert!(
        rows[3].contains("not judged") && rows[3].contains("gone.toml"),
        "{closing}"
    );
}

#[test]
fn wrong_usage_is_3() {
    let passes = study("passes.toml");
    let cases: &[&[&str]] = &[
        &[],
        &["chekc"],
        &["check"],
        &["check", "--no-such-option", &passes],
        &["check", &passes, "--format", "xml"],
        &["check", &passes, "--quiet", "--verbose"],
        &["check", &passes, "--margin", "10 V"],
        &["check", &passes, "--margin", "100 %"],
        &["check", &passes, "--margin", "NaN"],
        &["check", &passes, "--corner", "part=medium"],
        &["check", &passes, &passes, "--trace", "never-written.csv"],
        &["new"],
        &["new", "supply-24vdc", "--force"],
        &["explain", "no-such-check"],
        &["schema", "no-such-output"],
    ];
    for args in cases {
        let run = tidewall(*args).expect(3);
        assert!(
            run.stdout.is_empty() && !run.stderr.is_empty(),
            "{args:?}: {}{}",
            run.stdout,
            run.stderr
        );
    }
    assert!(!std::path::Path::new("never-written.csv").exists());
}

#[test]
fn help_and_version_are_0() {
    let help: &[&[&str]] = &[&["--help"], &["help"], &["check", "--help"], &["new", "-h"]];
    for args in help {
        let run = tidewall(*args).expect(0);
        assert!(run.stdout.contains("Usage: tidewall"), "{args:?}: {}", run.stdout);
    }
    let run = tidewall(["--version"]).expect(0);
    assert_eq!(run.stdout, format!("tidewall {}\n", env!("CARGO_PKG_VERSION")));
}
