//! `tidewall plan`: the sheet, the file, and what is refused.

mod common;

use common::{Bench, command, finish, study, tidewall};
use serde_json::Value;

#[test]
fn the_sheet_says_what_a_laboratory_needs() {
    let run = tidewall(["plan", &study("passes.toml")]).expect(0);
    for words in [
        "Test plan: ",
        "Caution",
        "can kill",
        "To be provided or agreed",
        "acceptance criterion",
        "Before the first shot",
        "Protectors: measure before the first shot",
        "Record at each shot",
        "Stop when",
        "Test 1, ",
        "Equipment, verified without the specimen",
        "short circuit",
        "Shots in their order",
        "Oscilloscope at the required level",
        "bandwidth at least",
        "from memory",
        "25 °C",
        "1 min",
        "Assumptions",
    ] {
        assert!(run.stdout.contains(words), "{words} is not in {}", run.stdout);
    }
    assert!(run.stderr.is_empty(), "{}", run.stderr);
}

#[test]
fn every_study_that_can_be_read_makes_a_plan_whatever_its_verdict() {
    for name in ["passes.toml", "fails.toml", "unknown.toml", "two-stages.toml"] {
        let plan = tidewall(["plan", &study(name), "--format", "json"])
            .expect(0)
            .json();
        assert_eq!(plan["schema"], "tidewall/plan/1", "{name}");
        assert!(!plan["tests"].as_array().expect("a list").is_empty(), "{name}");
    }
}

#[test]
fn the_file_holds_one_row_for_each_group_with_the_numbers_of_the_json() {
    let bench = Bench::new();
    for name in ["passes.toml", "two-stages.toml"] {
        let file = format!("{name}.csv");
        let args = [
            "plan",
            &study(name),
            "--format",
            "json",
            "--output",
            &bench.arg(&file),
        ];
        let plan = tidewall(args).expect(0).json();
        let mut reader = csv::Reader::from_path(bench.path(&file)).expect("the file is there");
        let header = reader.headers().expect("a header").clone();
        let mut names: Vec<&str> = header.iter().collect();
        let columns = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), columns, "two columns of one name in {header:?}");
        let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
        let groups: Vec<(&Value, &Value)> = plan["tests"]
            .as_array()
            .expect("a list")
            .iter()
            .flat_map(|test| {
                let groups = test["groups"].as_array().expect("a list");
                groups.iter().map(move |group| (test, group))
            })
            .collect();
        assert_eq!(rows.len(), groups.len(), "{name}");
        let number = |row: &csv::StringRecord, column: &str| -> f64 {
            let place = header.iter().position(|name| name == column);
            let place = place.unwrap_or_else(|| panic!("no column {column} in {header:?}"));
            row[place]
                .parse()
                .unwrap_or_else(|_| panic!("{column}: {} is no number", &row[place]))
        };
        for (row, (test, group)) in rows.iter().zip(groups) {
            assert_eq!(number(row, "group"), group["number"].as_f64().expect("a number"));
            assert_eq!(Some(&row[1]), test["stress"].as_str());
            assert_eq!(number(row, "level"), group["level"].as_f64().expect("a level"));
            assert_eq!(number(row, "shots"), group["shots"].as_f64().expect("a count"));
            let readings = group["readings"].as_array().expect("a list");
            assert!(!readings.is_empty());
            for reading in readings {
                let place = reading["place"].as_str().expect("a place");
                let place: Vec<&str> = place.split([' ', ',']).filter(|word| !word.is_empty()).collect();
                let unit = reading["unit"].as_str().expect("a unit").to_lowercase();
                for (column, key) in [("peak", "typical"), ("peak_low", "low"), ("peak_high", "high")] {
                    let column = format!("{}_{column}_{unit}", place.join("_"));
                    assert_eq!(
                        number(row, &column),
                        reading["peak"][key].as_f64().expect("a value"),
                        "{column}"
                    );
                }
            }
        }
    }
}

#[test]
fn an_existing_file_stays_unless_forced_and_nothing_half_written_is_left() {
    let bench = Bench::new();
    let file = bench.write("plan.csv", "mine\n");
    let kept = tidewall(["plan", &study("passes.toml"), "--output", &file]).expect(3);
    assert!(
        kept.stderr.contains("exists already") && kept.stderr.contains("--force"),
        "{}",
        kept.stderr
    );
    assert_eq!(
        std::fs::read_to_string(bench.path("plan.csv")).expect("the file"),
        "mine\n"
    );
    tidewall(["plan", &study("passes.toml"), "--output", &file, "--force"]).expect(0);
    assert!(
        std::fs::read_to_string(bench.path("plan.csv"))
            .expect("the file")
            .starts_with("group,stress,")
    );
    assert_eq!(bench.names(), ["parts.toml", "plan.csv"]);
    // A study that cannot be read leaves no file.
    let none = bench.arg("none.csv");
    let gone = tidewall(["plan", "gone.toml", "--output", &none]).expect(3);
    assert!(
        gone.stdout.is_empty() && gone.stderr.contains("gone.toml"),
        "{}",
        gone.stderr
    );
    for bad in [bench.arg(""), bench.arg("no-folder/plan.csv")] {
        let run = tidewall(["plan", &study("passes.toml"), "--output", &bad]).expect(3);
        assert!(
            run.stdout.is_empty() && run.stderr.contains("hint"),
            "{}",
            run.stderr
        );
    }
    assert_eq!(bench.names(), ["parts.toml", "plan.csv"]);
    tidewall(["plan", &study("passes.toml"), "--force"]).expect(3);
}

#[test]
fn one_thread_and_two_plan_the_same() {
    let with = |threads: &str| {
        let mut command = command();
        command
            .args(["plan", &study("two-stages.toml"), "--format", "json"])
            .env("RAYON_NUM_THREADS", threads);
        finish(&mut command).stdout
    };
    let one = with("1");
    assert!(one.len() > 10_000, "{one}");
    assert!(one == with("2"), "one thread and two differ");
}
