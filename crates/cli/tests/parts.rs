//! `tidewall parts`: the library at the command line.

mod common;

use std::fs;
use std::path::Path;
use std::process::Command;

use common::{Bench, Run, command, finish};
use serde_json::Value;

/// The program with the library of a bench.
fn with_library(bench: &Bench) -> Command {
    let mut command = command();
    command.env("TIDEWALL_LIBRARY", bench.path("library.sqlite"));
    command
}

fn parts(bench: &Bench, args: &[&str]) -> Run {
    finish(with_library(bench).arg("parts").args(args))
}

const ASPEN: &str = r#"
[[part]]
name = "aspen-12"
family = "fuse"
kind = "guaranteed"
source = "bench sheet 7"
rated_current = "12 A"
"#;

#[test]
fn the_first_look_creates_the_library_with_the_demonstration_parts() {
    let bench = Bench::new();
    let run = parts(&bench, &["list"]).expect(0);
    assert!(bench.path("library.sqlite").is_file());
    for word in [
        "alder-33",
        "avalanche",
        "36.7 V to 40.6 V",
        "3 kW 10/1000 µs",
        "invented",
    ] {
        assert!(run.stdout.contains(word), "{word}: {}", run.stdout);
    }
    let run = parts(&bench, &["list", "hazel", "--family", "fuse", "--format", "json"]).expect(0);
    let list = run.json();
    let names: Vec<&Value> = list["parts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|part| &part["name"])
        .collect();
    assert_eq!(names, ["hazel-3", "hazel-6"]);
    assert_eq!(list["schema"], "tidewall/parts-list/1");
    let run = parts(&bench, &["list", "no-such-part"]).expect(0);
    assert!(run.stdout.contains("No part fits"), "{}", run.stdout);
    let run = parts(&bench, &["list", "--family", "varistro"]).expect(3);
    assert!(run.stderr.contains("did you mean `varistor`"), "{}", run.stderr);
}

#[test]
fn parts_are_added_shown_changed_and_retired_with_their_history() {
    let bench = Bench::new();
    let file = bench.write("aspen.toml", ASPEN);
    let run = parts(&bench, &["add", &file]).expect(0);
    assert!(run.stdout.contains("aspen-12  added"), "{}", run.stdout);
    let run = parts(&bench, &["add", &file]).expect(0);
    assert!(run.stdout.contains("aspen-12  unchanged"), "{}", run.stdout);

    bench.write("aspen.toml", ASPEN.replace("12 A", "13 A"));
    let before = fs::read(bench.path("library.sqlite")).unwrap();
    let run = parts(&bench, &["add", &file, "--dry-run"]).expect(0);
    let change = "rated current: 12 A (guaranteed; bench sheet 7), now 13 A (guaranteed; bench sheet 7)";
    assert!(run.stdout.contains(change), "{}", run.stdout);
    assert!(
        run.stdout.contains("Dry run: nothing was written"),
        "{}",
        run.stdout
    );
    assert_eq!(fs::read(bench.path("library.sqlite")).unwrap(), before);
    let json = parts(&bench, &["add", &file, "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(json["parts"][0]["change"], "changed");
    assert_eq!(json["parts"][0]["data"][0]["old"]["number"], 12.0);
    assert_eq!(json["parts"][0]["data"][0]["new"]["unit"], "A");

    let run = parts(&bench, &["show", "aspen-12"]).expect(0);
    for word in [
        "aspen-12 (fuse)",
        "rated current",
        "13 A",
        "guaranteed",
        "bench sheet 7",
    ] {
        assert!(run.stdout.contains(word), "{word}: {}", run.stdout);
    }
    let json = parts(&bench, &["show", "aspen-12", "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(json["part"]["data"][0]["number"], 13.0);
    assert_eq!(json["counts"], serde_json::json!([true]));

    parts(&bench, &["retire", "aspen-12"]).expect(0);
    let run = parts(&bench, &["show", "aspen-12"]).expect(3);
    assert!(
        run.stderr.contains("there is no part `aspen-12`"),
        "{}",
        run.stderr
    );
    let json = parts(&bench, &["history", "aspen-12", "--format", "json"])
        .expect(0)
        .json();
    let history = json["history"].as_array().unwrap();
    let events: Vec<&Value> = history.iter().map(|line| &line["event"]).collect();
    assert_eq!(events, ["added", "changed", "retired"]);
    for line in history {
        assert!(line["at"].as_str().unwrap().ends_with(" UTC"), "{line}");
        assert_eq!(line["by"], "user");
    }
    let run = parts(&bench, &["history", "aspen-12"]).expect(0);
    // Lines are broken where the text is wide.
    let text = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains(change), "{text}");
    assert!(text.contains(&format!("[parts file {file}]")), "{text}");
}

#[test]
fn a_second_document_stands_beside_and_the_one_that_does_not_count_is_marked() {
    let bench = Bench::new();
    let file = bench.write("aspen.toml", ASPEN);
    parts(&bench, &["add", &file]).expect(0);
    let measured = ASPEN
        .replace("guaranteed", "measured")
        .replace("bench sheet 7", "bench notes")
        .replace("12 A", "11.5 A");
    bench.write("aspen.toml", measured);
    parts(&bench, &["add", &file]).expect(0);
    let run = parts(&bench, &["show", "aspen-12"]).expect(0);
    assert!(run.stdout.contains("rated current * "), "{}", run.stdout);
    assert!(run.stdout.contains("* does not count"), "{}", run.stdout);
    let json = parts(&bench, &["show", "aspen-12", "--format", "json"])
        .expect(0)
        .json();
    assert_eq!(json["counts"], serde_json::json!([true, false]));
}

#[test]
fn a_dry_run_without_a_library_makes_none() {
    let bench = Bench::new();
    let file = bench.write("aspen.toml", ASPEN);
    let names = bench.names();
    let run = parts(&bench, &["add", &file, "--dry-run"]).expect(0);
    assert!(run.stdout.contains("aspen-12  added"), "{}", run.stdout);
    assert_eq!(bench.names(), names);
}

#[test]
fn nothing_is_written_when_one_of_several_parts_cannot_be() {
    let bench = Bench::new();
    let wrong =
        "[[part]]\nname = \"alder-33\"\nfamily = \"fuse\"\nkind = \"measured\"\nsource = \"x\"\ncost = 1.0\n";
    let file = bench.write(
        "two.toml",
        format!("{ASPEN}\n[[part]]{}", wrong.trim_start_matches("[[part]]")),
    );
    let run = parts(&bench, &["add", &file]).expect(3);
    assert!(
        run.stderr.contains("of the family avalanche in the library"),
        "{}",
        run.stderr
    );
    parts(&bench, &["show", "aspen-12"]).expect(3);
    let file = bench.write("bad.toml", ASPEN.replace("12 A", "12 V"));
    let run = parts(&bench, &["add", &file]).expect(3);
    assert!(run.stderr.contains("bad.toml:7"), "{}", run.stderr);
}

#[test]
fn the_library_is_exported_whole_and_no_file_is_replaced_unasked() {
    let bench = Bench::new();
    for (name, begins) in [
        ("out.csv", "\u{feff}name,family"),
        ("out.json", "{\n  \"schema\": \"tidewall/parts/1\""),
        ("out.xlsx", "PK"),
    ] {
        let file = bench.arg(name);
        let run = parts(&bench, &["export", &file]).expect(0);
        assert!(run.stdout.contains("13 parts written"), "{}", run.stdout);
        let bytes = fs::read(&file).unwrap();
        assert!(bytes.starts_with(begins.as_bytes()), "{name}");
        let run = parts(&bench, &["export", &file]).expect(3);
        assert!(run.stderr.contains("exists already"), "{}", run.stderr);
        parts(
            &bench,
            &["export", &file, "--force", "--family", "fuse", "--format", "json"],
        )
        .expect(0);
    }
    let json: Value = serde_json::from_slice(&fs::read(bench.path("out.json")).unwrap()).unwrap();
    assert_eq!(json["parts"].as_array().unwrap().len(), 2);
    let run = parts(&bench, &["export", &bench.arg("out.ods")]).expect(3);
    assert!(run.stderr.contains(".csv, .xlsx or .json"), "{}", run.stderr);
}

#[test]
fn the_place_is_the_option_then_the_variable_then_the_data_folder() {
    let bench = Bench::new();
    let listed = |command: &mut Command| {
        let json = finish(command.args(["parts", "list", "--format", "json"]))
            .expect(0)
            .json();
        Path::new(json["library"].as_str().unwrap()).to_owned()
    };
    let option = bench.path("option.sqlite");
    assert_eq!(listed(with_library(&bench).arg("--library").arg(&option)), option);
    assert!(option.is_file() && !bench.path("library.sqlite").exists());
    assert_eq!(listed(&mut with_library(&bench)), bench.path("library.sqlite"));
    let plain = |bench: &Bench| {
        let mut command = command();
        command
            .env_remove("TIDEWALL_LIBRARY")
            .env("HOME", bench.path("home"));
        command
    };
    let data = bench.path("data");
    assert_eq!(
        listed(plain(&bench).env("XDG_DATA_HOME", &data)),
        data.join("tidewall/parts.sqlite")
    );
    let home = bench.path("home/.local/share/tidewall/parts.sqlite");
    assert_eq!(listed(plain(&bench).env("XDG_DATA_HOME", "relative")), home);
    assert_eq!(listed(plain(&bench).env_remove("XDG_DATA_HOME")), home);
    let run = finish(
        plain(&bench)
            .env_remove("XDG_DATA_HOME")
            .env_remove("HOME")
            .args(["parts", "list"]),
    )
    .expect(3);
    assert!(run.stderr.contains("--library FILE"), "{}", run.stderr);
}

#[test]
fn a_damaged_library_is_reported_and_left_alone() {
    let bench = Bench::new();
    parts(&bench, &["list"]).expect(0);
    let file = bench.path("library.sqlite");
    let mut bytes = fs::read(&file).unwrap();
    bytes[4096..8192].fill(0xa5);
    fs::write(&file, &bytes).unwrap();
    for args in [
        &["list"][..],
        &["retire", "alder-33"],
        &["list", "--format", "json"],
    ] {
        let run = parts(&bench, args).expect(3);
        assert!(
            run.stderr.contains("is damaged") && run.stderr.contains("backup"),
            "{}",
            run.stderr
        );
        assert!(run.stdout.is_empty());
    }
    assert_eq!(fs::read(&file).unwrap(), bytes);
}

/// A study without parts file whose only protector is a part of the library.
fn bare_study(bench: &Bench) -> String {
    fs::remove_file(bench.path("parts.toml")).unwrap();
    let text = fs::read_to_string(common::fixture("passes.toml")).unwrap();
    // The demonstration part is symmetrical, that of the fixtures is not.
    bench.write("study.toml", text.replace("\"-10 V\"", "\"-80 V\""))
}

#[test]
fn a_study_may_name_a_part_of_the_library() {
    let bench = Bench::new();
    let study = bare_study(&bench);
    parts(&bench, &["list"]).expect(0);
    let check = || finish(with_library(&bench).args(["check", &study, "--format", "json"]));
    let run = check();
    let first = run.json();
    let origins = first["origins"].as_array().unwrap();
    let origin = origins
        .iter()
        .find(|origin| origin["what"] == "part alder-33")
        .expect("an origin");
    assert_eq!(origin["origin"], "parts library: invented for the demonstration");
    // What the library says of it is part of the study's digest.
    let file = bench.write(
        "alder.toml",
        "[[part]]\nname = \"alder-33\"\nfamily = \"avalanche\"\nkind = \"invented\"\nsource = \"second thoughts\"\ncost = 2.0\n",
    );
    parts(&bench, &["add", &file]).expect(0);
    let second = check().json();
    assert_ne!(first["study"]["digest"], second["study"]["digest"]);
}

#[test]
fn a_check_writes_nothing_and_opens_the_library_only_for_a_name_it_needs() {
    let bench = Bench::new();
    // The file is no library, but this study needs none.
    fs::write(
        bench.path("library.sqlite"),
        "not a database, but text\n".repeat(99),
    )
    .unwrap();
    fs::copy(common::fixture("passes.toml"), bench.path("own.toml")).unwrap();
    finish(with_library(&bench).args(["check", &bench.arg("own.toml"), "--quiet"])).expect(0);
    let study = bare_study(&bench);
    let run = finish(with_library(&bench).args(["check", &study, "--quiet"])).expect(3);
    assert!(run.stderr.contains("cannot be looked up"), "{}", run.stderr);
    assert!(run.stderr.contains("is not a parts library"), "{}", run.stderr);
    assert!(run.stderr.contains("study.toml:"), "{}", run.stderr);

    // Without a file the demonstration parts stand for it, and none is made.
    fs::remove_file(bench.path("library.sqlite")).unwrap();
    let names = bench.names();
    finish(with_library(&bench).args(["check", &study, "--quiet"])).expect(0);
    let text = fs::read_to_string(&study)
        .unwrap()
        .replace("alder-33", "alder-99");
    fs::write(&study, text).unwrap();
    let run = finish(with_library(&bench).args(["check", &study, "--quiet"])).expect(3);
    assert!(
        run.stderr.contains("there is no part `alder-99`"),
        "{}",
        run.stderr
    );
    assert!(
        run.stderr.contains("not there yet: demonstration parts only"),
        "{}",
        run.stderr
    );
    assert_eq!(bench.names(), names);
}

#[test]
fn the_outputs_fit_their_schema() {
    let bench = Bench::new();
    let file = bench.write("aspen.toml", ASPEN);
    let schema = |name: &str| finish(command().args(["schema", name])).expect(0).json();
    let fits = |schema: &Value, output: &Value| {
        let mut schemas = boon::Schemas::new();
        let mut compiler = boon::Compiler::new();
        compiler.add_resource("schema.json", schema.clone()).unwrap();
        let index = compiler.compile("schema.json", &mut schemas).unwrap();
        schemas
            .validate(output, index)
            .unwrap_or_else(|error| panic!("{error} in {output}"));
    };
    let outputs = schema("parts");
    let export = bench.arg("out.json");
    for args in [
        &["list"][..],
        &["show", "beech-35"],
        &["add", &file],
        &["export", &export],
        &["retire", "aspen-12"],
        &["history", "aspen-12"],
    ] {
        let mut args = args.to_vec();
        args.extend(["--format", "json"]);
        fits(&outputs, &parts(&bench, &args).expect(0).json());
    }
    let written: Value = serde_json::from_slice(&fs::read(export).unwrap()).unwrap();
    fits(&schema("parts-file"), &written);
}
