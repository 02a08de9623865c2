//! `tidewall report`: what it writes, that its numbers are those of `check`, and what it refuses.

mod common;

use common::{Bench, study, tidewall};
use serde_json::Value;
use tidewall_units::{
    AmpSquaredSeconds, Amps, Celsius, Farads, Joules, Kelvins, Quantity, Volts, Watts, parse,
};

/// The text of an element without its tags.
fn plain(html: &str) -> String {
    let mut text = String::new();
    for (k, piece) in html.split(['<', '>']).enumerate() {
        if k % 2 == 0 {
            text.push_str(piece);
        }
    }
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

/// Rows of the table with this caption, as the texts of their cells.
fn rows(html: &str, caption: &str) -> Vec<Vec<String>> {
    // The caption stands in the table, and before it as the name of what can be scrolled.
    let own = |table: &&str| {
        let head = table.split("</caption>").next().unwrap_or_default();
        head.starts_with("<caption>") && head.contains(caption)
    };
    let table = html.split("<table>").find(own);
    let table = table.unwrap_or_else(|| panic!("there is no table `{caption}`"));
    let body = table.split("<tbody>").nth(1).expect("a body");
    let body = body.split("</tbody>").next().expect("its end");
    body.split("<tr>")
        .skip(1)
        .map(|row| {
            let cells = row.replace("<th", "<td").replace("</th>", "</td>");
            let cells = cells.split("</td>").filter(|cell| cell.contains("<td"));
            cells.map(|cell| plain(cell.trim_start())).collect()
        })
        .collect()
}

/// A shown number in SI units, and by how much it may be off, or `None` for "below" one.
fn si(text: &str, unit: &str) -> (f64, f64, bool) {
    let below = text.starts_with("< ") || text.starts_with("> −");
    let text = text
        .trim_start_matches(['≤', '≥', '<', '>', ' '])
        .replace('\u{a0}', " ");
    let number: String = text
        .chars()
        .take_while(|c| "−-+.0123456789".contains(*c))
        .collect();
    let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let digits = number.chars().filter(char::is_ascii_digit).count();
    let read = |text: &str| -> f64 {
        let text = text.replace('−', "-");
        match unit {
            "V" => parse::<Volts>(&text).map(Quantity::si),
            "A" => parse::<Amps>(&text).map(Quantity::si),
            "J" => parse::<Joules>(&text).map(Quantity::si),
            "K" => parse::<Kelvins>(&text).map(Quantity::si),
            "°C" => parse::<Celsius>(&text).map(Quantity::si),
            "F" => parse::<Farads>(&text).map(Quantity::si),
            "W" => parse::<Watts>(&text).map(Quantity::si),
            "A²s" => parse::<AmpSquaredSeconds>(&text).map(Quantity::si),
            "1" if text.ends_with('%') => Ok(0.01
                * text
                    .trim_end_matches([' ', '%'])
                    .parse::<f64>()
                    .expect("a number")),
            "1" => Ok(text.trim().parse::<f64>().expect("a number")),
            other => panic!("a unit nobody thought of: {other}"),
        }
        .unwrap_or_else(|error| panic!("{text}: {error}"))
    };
    let value = read(&text);
    // Half of the last decimal; of a whole number of four digits or more half of its fourth.
    let step = if decimals > 0 || digits < 4 {
        0.5 * 0.1f64.powi(decimals as i32)
    } else {
        0.5 * 10f64.powi(digits as i32 - 4)
    };
    let unit_text = text.strip_prefix(number.as_str()).unwrap_or_default();
    let scale = if number.is_empty() {
        1.0
    } else {
        (read(&format!("2{unit_text}")) - read(&format!("1{unit_text}"))).abs()
    };
    (value, 1.0001 * step * scale + 1e-12 * value.abs(), below)
}

#[track_caller]
fn agrees(text: &str, value: &Value, unit: &str) {
    match value.as_f64() {
        None => assert!(
            text.is_empty() || text == "?",
            "`{text}` for a value that is not there"
        ),
        Some(value) => {
            let (shown, off, below) = si(text, unit);
            if below {
                assert!(value.abs() <= shown.abs(), "`{text}` for {value} {unit}");
            } else {
                // Trailing zeros are dropped, so a short text may stand for four digits.
                let off = off.max(5.1e-4 * value.abs());
                assert!((shown - value).abs() <= off, "`{text}` for {value} {unit}");
            }
        }
    }
}

#[test]
fn numbers_are_those_of_check() {
    for (name, status) in [
        ("passes.toml", 0),
        ("fails.toml", 1),
        ("unknown.toml", 2),
        ("two-stages.toml", 1),
    ] {
        let bench = Bench::new();
        let base = bench.arg("note");
        let run = tidewall(["report", &study(name), "--as", "html", "-o", &base]);
        run.expect(status);
        let html = std::fs::read_to_string(bench.path("note.html")).expect("the note is there");
        let checked = tidewall(["check", &study(name), "--format", "json"])
            .expect(status)
            .json();
        let checks = checked["checks"].as_array().expect("a list");
        let rows = rows(&html, "Every check at its worst corner");
        assert_eq!(rows.len(), checks.len(), "{name}");
        for (row, check) in rows.iter().zip(checks) {
            let unit = check["unit"].as_str().expect("a unit");
            assert_eq!(row[0], check["check"].as_str().expect("a name"));
            assert_eq!(row[1], check["stress"].as_str().unwrap_or("–"));
            assert_eq!(
                row[2].replace('\u{a0}', " "),
                check["element"].as_str().expect("an element")
            );
            agrees(&row[3], &check["value"], unit);
            agrees(&row[4], &check["limit"], unit);
            match check["margin"].as_f64() {
                None => assert_eq!(row[5], ""),
                // Far margins are told as "> 999".
                Some(margin) if margin.abs() < 9.99 => {
                    let shown = row[5].replace('−', "-").replace(['\u{a0}', '%'], "");
                    let shown: f64 = shown.trim().parse().expect("a number");
                    assert!((shown - 100.0 * margin).abs() <= 0.0501, "{row:?} for {margin}");
                }
                Some(_) => assert!(row[5].contains("999"), "{row:?}"),
            }
            assert_eq!(row[6], check["verdict"].as_str().expect("a verdict"));
        }
    }
}

#[test]
fn files_are_told_and_not_replaced_unasked() {
    let bench = Bench::new();
    let base = bench.arg("note");
    let args = [
        "report",
        &study("passes.toml"),
        "--as",
        "html",
        "-o",
        &base,
        "--format",
        "json",
    ];
    let told = tidewall(args).expect(0).json();
    assert_eq!(told["schema"], "tidewall/report/1");
    assert_eq!(told["verdict"], "pass");
    let file = &told["files"][0];
    assert_eq!(file["form"], "html");
    let bytes = std::fs::read(bench.path("note.html")).expect("the note is there");
    assert_eq!(file["bytes"].as_u64(), Some(bytes.len() as u64));
    let again = tidewall(args).expect(3);
    assert!(again.stderr.contains("exists already"), "{}", again.stderr);
    let forced = tidewall(args.iter().copied().chain(["--force"])).expect(0).json();
    assert_eq!(forced["files"][0]["sha256"], file["sha256"]);
}

#[test]
fn a_bad_template_is_refused_with_its_line_and_nothing_is_written() {
    let bench = Bench::new();
    let base = bench.arg("note");
    let folder = bench.arg("own");
    let args = [
        "report",
        &study("passes.toml"),
        "--as",
        "html",
        "-o",
        &base,
        "--template",
        &folder,
    ];
    let absent = tidewall(args).expect(3);
    assert!(
        absent.stderr.contains("template.toml: cannot be read"),
        "{}",
        absent.stderr
    );
    std::fs::create_dir(bench.path("own")).expect("a folder");
    bench.write("own/template.toml", "name = \"Ferry\"\nlogo = \"mark.svg\"\n");
    let absent = tidewall(args).expect(3);
    assert!(
        absent.stderr.contains("template.toml:2: logo: `mark.svg`"),
        "{}",
        absent.stderr
    );
    bench.write(
        "own/mark.svg",
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"/>",
    );
    bench.write("own/template.toml", "nmae = \"Ferry\"\n");
    let unknown = tidewall(args).expect(3);
    assert!(
        unknown.stderr.contains("template.toml:1") && unknown.stderr.contains("nmae"),
        "{}",
        unknown.stderr
    );
    assert_eq!(bench.names(), ["own", "parts.toml"]);
    bench.write(
        "own/template.toml",
        "name = \"Ferry & Sons\"\nlogo = \"mark.svg\"\nfooter = \"Ours\"\n",
    );
    tidewall(args).expect(0);
    let html = std::fs::read_to_string(bench.path("note.html")).expect("the note is there");
    assert!(html.contains("Ferry &amp; Sons") && html.contains("src=\"data:image/svg+xml;base64,"));
}

#[test]
fn arguments_that_cannot_be_used_are_refused_before_any_work() {
    let bench = Bench::new();
    let base = bench.arg("note");
    let refused = |more: &[&str], words: &str| {
        let study = study("passes.toml");
        let args = ["report", &study, "--as", "html", "-o", &base];
        let run = tidewall(args.iter().chain(more)).expect(3);
        assert!(run.stderr.contains(words), "{}", run.stderr);
    };
    refused(&["--against", "alder-34"], "did you mean");
    refused(&["--at", "D9", "--against", "birch-33"], "no stage `D9`");
    refused(&["--compare", "alder-33", "nothing"], "no part `nothing`");
    refused(&["--sheet", &bench.arg("none/data.xlsx")], "no folder");
    refused(&["--margin", "200 %"], "--margin");
    assert_eq!(bench.names(), ["parts.toml"]);
}

#[test]
fn two_parts_are_compared_and_the_workbook_is_written() {
    let bench = Bench::new();
    let base = bench.arg("two");
    let run = tidewall([
        "report",
        &study("fails.toml"),
        "--as",
        "html",
        "-o",
        &base,
        "--compare",
        "alder-33",
        "birch-33",
    ]);
    assert!(run.stdout.contains("two.html"), "{}{}", run.stdout, run.stderr);
    let html = std::fs::read_to_string(bench.path("two.html")).expect("the note is there");
    assert!(html.contains("alder-33") && html.contains("birch-33"));
    let sheet = bench.arg("data.xlsx");
    let base = bench.arg("note");
    tidewall([
        "report",
        &study("fails.toml"),
        "--as",
        "html",
        "-o",
        &base,
        "--sheet",
        &sheet,
    ])
    .expect(1);
    assert!(
        std::fs::read(bench.path("data.xlsx"))
            .expect("the workbook")
            .starts_with(b"PK")
    );
}

#[cfg(feature = "pdf")]
#[test]
fn both_forms_are_written_and_the_same_twice() {
    let bench = Bench::new();
    let files = |name: &str| {
        let base = bench.arg(name);
        let told = tidewall([
            "report",
            &study("fails.toml"),
            "-o",
            &base,
            "--date",
            "5 May 2031",
            "--format",
            "json",
        ]);
        let told = told.expect(1).json();
        let forms: Vec<&Value> = told["files"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|file| &file["form"])
            .collect();
        assert_eq!(forms, ["pdf", "html"]);
        assert!(told["files"][0]["pages"].as_u64().expect("pages") > 2);
        let digests: Vec<Value> = told["files"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|file| file["sha256"].clone())
            .collect();
        digests
    };
    assert_eq!(files("once"), files("again"));
}
