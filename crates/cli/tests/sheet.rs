//! The sheet as people see it.

mod common;

use std::process::Stdio;

use common::{command, finish, study, tidewall};

fn sheet(name: &str, status: i32) -> String {
    tidewall(["check", &study(name)]).expect(status).stdout
}

/// The rows of the table of checks, without its head.
fn rows(sheet: &str) -> Vec<&str> {
    sheet
        .lines()
        .skip_while(|line| !line.starts_with("  check "))
        .skip(1)
        .take_while(|line| !line.starts_with("  a  "))
        .collect()
}

#[test]
fn title_port_and_verdict_stand_on_top() {
    let sheet = sheet("fails.toml", 1);
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(lines[0], "Test bench: supply inlet that fails");
    assert!(lines[1].contains("24 V DC supply"), "{sheet}");
    let verdict = lines[..8]
        .iter()
        .find(|line| line.contains("Verdict: FAIL – "))
        .expect("a verdict");
    // The reason stands in the same line.
    assert!(verdict.contains("surge-earth, D1"), "{verdict}");
}

#[test]
fn checks_stand_worst_first_in_words_and_aligned() {
    let sheet = sheet("fails.toml", 1);
    let rows = rows(&sheet);
    assert!(rows.len() > 10, "{sheet}");
    let order = |row: &str| {
        let words = [" fail ", " unknown ", " marginal ", " pass "];
        let padded = format!("{row} ");
        words
            .iter()
            .position(|word| padded.contains(word))
            .unwrap_or_else(|| panic!("no verdict in {row}"))
    };
    assert!(
        rows.windows(2).all(|pair| order(pair[0]) <= order(pair[1])),
        "{sheet}"
    );
    assert_eq!(order(rows[0]), 0);
    // Margins in percent have one decimal, so their points must stand in one column.
    let points: Vec<usize> = rows
        .iter()
        .filter_map(|row| {
            let percent = row.rfind(" %  ")?;
            let before: Vec<char> = row[..percent].trim_end().chars().collect();
            before
                .iter()
                .rposition(|c| *c == '.')
                .filter(|at| *at + 2 == before.len())
        })
        .collect();
    assert!(points.len() > 8, "{sheet}");
    assert!(
        points.windows(2).all(|pair| pair[0] == pair[1]),
        "{points:?}\n{sheet}"
    );
    assert!(
        sheet.contains('−') && !sheet.contains(" -"),
        "real minus signs: {sheet}"
    );
}

#[test]
fn energy_shares_add_up() {
    let sheet = sheet("passes.toml", 0);
    let table = sheet
        .split("Stress surge-earth")
        .nth(1)
        .expect("a section of the stress");
    let mut sum = 0.0;
    let mut count = 0;
    for row in table
        .lines()
        .skip_while(|line| !line.starts_with("  element"))
        .skip(1)
    {
        let Some((before, _)) = row.split_once(" %") else {
            break;
        };
        let share = before.split_whitespace().last().expect("a number");
        sum += share.parse::<f64>().expect("a number");
        count += 1;
    }
    assert_eq!(count, 4, "{table}");
    assert!((sum - 100.0).abs() < 0.25, "{sum}: {table}");
    assert!(table.contains("hottest junction"), "{table}");
}

#[test]
fn what_is_unknown_comes_with_what_to_provide_and_cautions_close_the_sheet() {
    let sheet = sheet("unknown.toml", 2);
    let (_, wanted) = sheet.split_once("\nTo be provided\n").expect("a list of data");
    assert!(wanted.starts_with("  – `withstand` of the pin"), "{wanted}");
    let (_, cautions) = sheet.split_once("\nCaution\n").expect("cautions");
    assert!(cautions.lines().all(|line| line.starts_with("  ")), "{cautions}");
    assert!(cautions.contains("can kill"), "{cautions}");
}

#[test]
fn origins_and_every_reason_are_shown_on_request() {
    let usual = sheet("passes.toml", 0);
    assert!(
        !usual.contains("\nOrigins\n") && !usual.contains("\nReasons\n"),
        "{usual}"
    );
    let run = tidewall(["check", &study("passes.toml"), "--verbose"]).expect(0);
    assert!(
        run.stdout.contains("\nOrigins\n") && run.stdout.contains("\nReasons\n"),
        "{}",
        run.stdout
    );
    assert!(
        run.stdout
            .contains("must not conduct: 0 V to 30.2 V – study, line 6"),
        "{}",
        run.stdout
    );
    // How long it took differs from run to run and is no part of the result.
    assert!(run.stderr.contains("s\n") && usual == sheet("passes.toml", 0));
}

#[test]
fn the_sheet_is_at_most_110_columns_wide() {
    for (name, status) in [("passes.toml", 0), ("fails.toml", 1), ("two-stages.toml", 1)] {
        let sheet = sheet(name, status);
        let widest = sheet
            .lines()
            .max_by_key(|line| line.chars().count())
            .expect("a line");
        assert!(widest.chars().count() <= 110, "{name}: {widest}");
        assert!(
            sheet.lines().all(|line| line == line.trim_end()),
            "{name}: blanks at the end of a line"
        );
    }
}

#[test]
fn colour_needs_a_terminal_and_says_nothing_that_words_do_not() {
    let plain = sheet("fails.toml", 1);
    assert!(!plain.contains('\u{1b}'), "{plain:?}");
    let mut forced = command();
    forced
        .args(["check", &study("fails.toml")])
        .env("CLICOLOR_FORCE", "1");
    let coloured = finish(&mut forced).expect(1).stdout;
    assert!(coloured.contains("\u{1b}["), "{coloured:?}");
    assert_eq!(console::strip_ansi_codes(&coloured), plain);
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    for args in [
        vec!["check".to_owned(), study("passes.toml")],
        vec![
            "check".to_owned(),
            study("passes.toml"),
            "--format=json".to_owned(),
        ],
        vec!["schema".to_owned()],
        vec!["explain".to_owned()],
        vec!["--help".to_owned()],
    ] {
        let mut command = command();
        command.args(&args).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("the program ends");
        let stderr = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{args:?}: {stderr}");
        assert_eq!(stderr, "", "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_an_error() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("/dev/full");
    let run = finish(command().arg("explain").stdout(full));
    // `output` gives the pipe only where none was set; the status and standard error are what counts.
    let run = run.expect(3);
    assert!(
        run.stderr.contains("standard output: cannot be written"),
        "{}",
        run.stderr
    );
}
