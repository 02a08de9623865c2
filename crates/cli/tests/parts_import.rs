//! `tidewall parts import` and `parts sample`.

mod common;

use std::process::Stdio;
use std::time::{Duration, Instant};

use common::{Bench, Run, command, finish, tidewall};
use serde_json::Value;

/// A bench with the invented table of some rows, its mapping and the name of a library.
struct Desk {
    bench: Bench,
    table: String,
    mapping: String,
    library: String,
}

impl Desk {
    fn new(rows: u32) -> Desk {
        let bench = Bench::new();
        let (table, mapping) = (bench.arg("sample.csv"), bench.arg("mapping.toml"));
        let rows = rows.to_string();
        tidewall([
            "parts",
            "sample",
            &table,
            "--rows",
            &rows,
            "--seed",
            "7",
            "--decimal-comma",
            "--mapping",
            &mapping,
        ])
        .expect(0);
        let library = bench.arg("parts.sqlite");
        Desk {
            bench,
            table,
            mapping,
            library,
        }
    }

    fn parts(&self, args: &[&str]) -> Run {
        let mut command = command();
        command.args(["parts", "--library", &self.library]).args(args);
        finish(&mut command)
    }

    fn import(&self, table: &str, args: &[&str]) -> Run {
        let mut all = vec!["import", table, "--mapping", &self.mapping];
        all.extend(args);
        self.parts(&all)
    }

    fn library_bytes(&self) -> Vec<u8> {
        std::fs::read(&self.library).unwrap()
    }

    /// The whole library as JSON.
    fn export(&self, name: &str) -> Value {
        let file = self.bench.arg(name);
        self.parts(&["export", &file, "--force"]).expect(0);
        serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
    }
}

fn counts(report: &Value) -> [u64; 5] {
    ["added", "changed", "unchanged", "repeated", "bad"].map(|key| report[key].as_u64().unwrap())
}

#[test]
fn an_import_adds_all_and_the_next_one_finds_all_unchanged() {
    let desk = Desk::new(300);
    let first = desk.import(&desk.table, &["--format", "json"]).expect(0).json();
    assert_eq!(first["schema"], "tidewall/import/1");
    assert_eq!(first["outcome"], "complete");
    assert_eq!(counts(&first), [300, 0, 0, 0, 0]);
    // A part whose row has moved is not a changed one.
    let text = std::fs::read_to_string(&desk.table).unwrap();
    let (head, rows) = text.split_once('\n').unwrap();
    let moved = desk
        .bench
        .write("moved.csv", format!("A title;;\n{head}\n{rows}"));
    let report = desk
        .import(&moved, &["--dry-run", "--format", "json"])
        .expect(0)
        .json();
    assert_eq!((report["moved"].as_u64(), counts(&report)), (Some(300), [0; 5]));
    let before = desk.export("one.json");
    let second = desk.import(&desk.table, &["--format", "json"]).expect(0).json();
    assert_eq!(counts(&second), [0, 0, 300, 0, 0]);
    assert_eq!(desk.export("two.json"), before);
}

#[test]
fn a_dry_run_shows_old_and_new_and_leaves_the_library_alone() {
    let desk = Desk::new(50);
    // Not even a file appears.
    let dry = desk.import(&desk.table, &["--dry-run"]).expect(0);
    assert!(
        dry.stdout.contains("50 added") && dry.stdout.contains("Nothing was written"),
        "{}",
        dry.stdout
    );
    assert!(!desk.bench.path("parts.sqlite").exists());

    desk.import(&desk.table, &[]).expect(0);
    let before = desk.library_bytes();
    let text = std::fs::read_to_string(&desk.table).unwrap();
    let name = text.lines().nth(2).unwrap().split(';').next().unwrap().to_owned();
    let changed: Vec<String> = text
        .lines()
        .map(|line| {
            let mut cells: Vec<&str> = line.split(';').collect();
            if cells[0] == name {
                *cells.last_mut().unwrap() = "99,5";
            }
            cells.join(";")
        })
        .collect();
    let other = desk.bench.write("changed.csv", changed.join("\n") + "\n");
    let dry = desk
        .import(&other, &["--dry-run", "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(counts(&dry), [0, 1, 49, 0, 0]);
    let change = dry["changed_parts"][0]["changes"][0].as_str().unwrap();
    assert!(
        change.starts_with("cost: ") && change.contains("now 99.5"),
        "{change}"
    );
    assert_eq!(desk.library_bytes(), before);
    let shown = desk.import(&other, &[]).expect(0);
    assert!(
        shown.stdout.contains(change.split(' ').next().unwrap()),
        "{}",
        shown.stdout
    );
    assert_ne!(desk.export("after.json"), Value::Null);
    let shown = desk.parts(&["show", &name]).expect(0);
    assert!(shown.stdout.contains("99.5"), "{}", shown.stdout);
}

#[test]
fn bad_rows_end_with_two_and_nothing_good_with_three() {
    let desk = Desk::new(20);
    let text = std::fs::read_to_string(&desk.table).unwrap();
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[3] = lines[3].replacen(';', ";no-family-", 1);
    let some = desk.bench.write("some.csv", lines.join("\n") + "\n");
    let report = desk.import(&some, &["--format", "json"]).expect(2).json();
    assert_eq!(report["outcome"], "partial");
    assert_eq!(counts(&report), [19, 0, 0, 0, 1]);
    assert_eq!(report["bad_rows"][0]["faults"][0]["place"], "line 4, column 2");
    // The limit is kept, and then nothing is written.
    let before = desk.library_bytes();
    desk.import(&some, &["--max-bad", "0"]).expect(3);
    assert_eq!(desk.library_bytes(), before);
    for line in &mut lines[1..] {
        *line = line.replacen(';', ";no-family-", 1);
    }
    let none = desk.bench.write("none.csv", lines.join("\n") + "\n");
    let report = desk.import(&none, &["--format", "json"]).expect(3).json();
    assert_eq!(report["outcome"], "nothing");
    // A cut file is an error that names the place, and nothing is kept.
    let cut = desk.bench.write("cut.csv", &text.as_bytes()[..text.len() - 40]);
    let run = desk.import(&cut, &["--format", "json"]).expect(3);
    let error: Value = serde_json::from_str(run.stderr.lines().last().unwrap()).unwrap();
    assert_eq!(error["kind"], "table");
    assert!(
        error["message"].as_str().unwrap().contains("the file is cut"),
        "{error}"
    );
    assert_eq!(desk.library_bytes(), before);
}

#[test]
fn a_guess_is_shown_or_written_and_never_imported_unasked() {
    let desk = Desk::new(40);
    let shown = desk.parts(&["import", &desk.table]).expect(3);
    assert!(
        shown.stdout.contains("certain") && shown.stderr.contains("--accept-guess"),
        "{}",
        shown.stderr
    );
    assert!(!desk.bench.path("parts.sqlite").exists());
    let open = desk.parts(&["import", &desk.table, "--accept-guess"]).expect(3);
    assert!(open.stderr.contains("`kind`"), "{}", open.stderr);
    assert!(!desk.bench.path("parts.sqlite").exists());

    let guess = desk.bench.arg("guess.toml");
    desk.parts(&["import", &desk.table, "--guess", &guess, "--kind", "invented"])
        .expect(0);
    desk.parts(&["import", &desk.table, "--guess", &guess]).expect(3);
    assert!(!desk.bench.path("parts.sqlite").exists());
    let report = desk
        .parts(&["import", &desk.table, "--mapping", &guess, "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(counts(&report), [40, 0, 0, 0, 0]);
    let report = desk
        .parts(&[
            "import",
            &desk.table,
            "--accept-guess",
            "--kind",
            "invented",
            "--format",
            "json",
        ])
        .expect(0)
        .json();
    assert_eq!(counts(&report), [0, 0, 40, 0, 0]);
}

#[test]
fn outputs_keep_their_schema() {
    let desk = Desk::new(20);
    let schema = tidewall(["schema", "import"]).expect(0).json();
    let mut compiler = boon::Compiler::new();
    let mut schemas = boon::Schemas::new();
    compiler.add_resource("import.json", schema).unwrap();
    let index = compiler.compile("import.json", &mut schemas).unwrap();
    let report = desk.import(&desk.table, &["--format", "json"]).expect(0).json();
    let guess = desk
        .parts(&["import", &desk.table, "--format", "json"])
        .expect(3)
        .json();
    assert_eq!(guess["schema"], "tidewall/import-guess/1");
    for output in [report, guess] {
        if let Err(error) = schemas.validate(&output, index) {
            panic!("{error}");
        }
    }
}

/// The export of a library read back gives the same datasheets.
#[test]
fn an_export_can_be_imported_again() {
    for ending in ["csv", "xlsx"] {
        let desk = Desk::new(60);
        desk.import(&desk.table, &[]).expect(0);
        let file = desk.bench.arg(&format!("export.{ending}"));
        desk.parts(&["export", &file]).expect(0);
        let again = Desk {
            library: desk.bench.arg("again.sqlite"),
            ..desk
        };
        let args = [
            "import",
            &file,
            "--accept-guess",
            "--kind",
            "invented",
            "--format",
            "json",
        ];
        let report = again.parts(&args).expect(0).json();
        assert_eq!(report["bad"], 0, "{report}");
        let back = again.bench.arg(&format!("back.{ending}"));
        again.parts(&["export", &back]).expect(0);
        if ending == "csv" {
            let rows = |path: &str| -> Vec<Vec<String>> {
                let mut reader = csv::Reader::from_path(path).unwrap();
                let source = reader.headers().unwrap().iter().position(|head| head == "source");
                let records = reader.records().map(|record| {
                    let record = record.unwrap();
                    let cells = record
                        .iter()
                        .enumerate()
                        .filter(|(place, _)| Some(*place) != source);
                    cells.map(|(_, cell)| cell.to_owned()).collect()
                });
                records.collect()
            };
            assert_eq!(rows(&back), rows(&file));
        }
    }
}

/// A hundred imports, each killed at another moment: the library is always the old one, or the new one if it was done.
#[test]
fn a_killed_import_leaves_the_library_whole() {
    let desk = Desk::new(400);
    let text = std::fs::read_to_string(&desk.table).unwrap();
    let few: Vec<&str> = text.lines().take(41).collect();
    let few = desk.bench.write("few.csv", few.join("\n") + "\n");
    desk.import(&few, &[]).expect(0);
    let parts = |value: &Value| value["parts"].as_array().unwrap().len();
    let old = desk.export("old.json");

    // How long a whole import takes decides which moments are tried.
    let trial = desk.bench.arg("trial.sqlite");
    std::fs::copy(&desk.library, &trial).unwrap();
    let start = Instant::now();
    let mut whole = command();
    whole.args([
        "parts",
        "--library",
        &trial,
        "import",
        &desk.table,
        "--mapping",
        &desk.mapping,
    ]);
    finish(&mut whole).expect(0);
    let takes = start.elapsed();

    let old_bytes = desk.library_bytes();
    let mut done = 0;
    for turn in 0..100u32 {
        let mut child = command()
            .args([
                "parts",
                "--library",
                &desk.library,
                "import",
                &desk.table,
                "--mapping",
                &desk.mapping,
            ])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        // Moments spread over the run by the golden ratio, so that no two are alike.
        let share = (f64::from(turn) * 0.618_033_988_749_895).fract();
        std::thread::sleep(takes.mul_f64(share).max(Duration::from_micros(200)));
        child.kill().expect("the child is ours to kill");
        child.wait().expect("the child ends");
        let now = desk.export("now.json");
        if now == old {
            continue;
        }
        assert_eq!(
            parts(&now),
            parts(&old) + 360,
            "turn {turn}: neither the old nor the new library"
        );
        done += 1;
        // Back to the old one for the next turn.
        for rest in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{rest}", desk.library));
        }
        std::fs::write(&desk.library, &old_bytes).unwrap();
    }
    assert!(
        done < 90,
        "{done} of 100 were done before they were killed: nothing was tried"
    );
}
