//! Bad files: outside the folder, too large, not UTF-8, missing, or with an error of their own.

mod common;

use common::{Memory, PARTS, SAMPLE, check, fail, files};
use tidewall_study::{LARGEST_FILE, read};

#[test]
fn files_outside_the_folder_are_refused() {
    for name in [
        "../parts.toml",
        "/etc/parts.toml",
        "a/../../b.toml",
        "C:/parts.toml",
        "a\\b.toml",
        "",
    ] {
        let text = format!("parts = ['{name}']\n{SAMPLE}");
        check(
            &text,
            &files(),
            &format!("'{name}'"),
            "the name",
            "beside the study",
        );
    }
    let text = format!("parts = [\"none.toml\"]\n{SAMPLE}");
    check(
        &text,
        &files(),
        "\"none.toml\"",
        "no file `none.toml`",
        "relative",
    );
    let text = format!("parts = [\"parts.toml\", \"parts.toml\"]\n{SAMPLE}");
    check(&text, &files(), "\"parts.toml\"]", "named twice", "");
}

#[test]
fn an_error_in_a_parts_file_names_that_file() {
    let parts = PARTS.replace("breakdown =", "breakdwon =");
    let error = fail(SAMPLE, &Memory::default().with("parts.toml", parts));
    assert_eq!(
        (error.file.as_str(), error.line, error.column),
        ("parts.toml", 8, 1),
        "{error}"
    );
    assert!(error.hint.contains("`breakdown`"), "{error}");
    let parts = PARTS.replace("10/1000", "10x1000");
    let error = fail(SAMPLE, &Memory::default().with("parts.toml", parts));
    assert_eq!((error.line, error.column), (9, 19), "{error}");
    let error = fail(SAMPLE, &Memory::default().with("parts.toml", "# nothing"));
    assert!(error.message.contains("no part"), "{error}");
    let error = fail(
        SAMPLE,
        &Memory::default().with("parts.toml", b"name = \"\xff\"".to_vec()),
    );
    assert_eq!(
        (error.file.as_str(), error.line, error.column),
        ("parts.toml", 1, 9),
        "{error}"
    );
}

#[test]
fn an_error_in_a_csv_file_points_at_the_cell() {
    let text = SAMPLE.replace(
        "standard = \"IEC 61000-4-2\"\nlevel = \"8 kV\"\ndischarge = \"contact\"",
        "standard = \"samples\"\nsource_resistance = \"2 Ω\"\ncsv = \"wave.csv\"",
    );
    for (csv, line, column, message) in [
        ("time (µs),voltage (V)\n0,0\n1,abc\n", 3, 3, "not a finite number"),
        (
            "time (µs),voltage (V)\n0,0\n# note\n1,inf\n",
            4,
            3,
            "not a finite number",
        ),
        ("time (µs),voltage (V)\n0,0\n1\n", 3, 1, "1 columns"),
        ("0,0\n1,1\n", 1, 1, "no heading"),
        (
            "time (V),voltage (V)\n0,0\n",
            1,
            1,
            "unit of voltage, not of time",
        ),
        ("time,voltage (V)\n0,0\n", 1, 1, "has no unit"),
        ("zeit (s),voltage (V)\n0,0\n", 1, 1, "the heading is"),
        ("", 1, 1, "no rows"),
    ] {
        let error = fail(&text, &files().with("wave.csv", csv));
        assert_eq!(
            (error.file.as_str(), error.line, error.column),
            ("wave.csv", line, column),
            "{error}"
        );
        assert!(error.message.contains(message), "{error}");
    }
}

#[test]
fn text_that_is_not_utf8_is_refused_at_the_bad_byte() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("not-utf8");
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("study.toml");
    std::fs::write(&path, b"title = \"x\"\nambient = \"70 \xb0C\"\n".as_slice()).expect("written");
    let error = read(&path).expect_err("not UTF-8");
    assert_eq!((error.line, error.column), (2, 15), "{error}");
    assert!(error.message.contains("0xb0"), "{error}");
    assert!(error.hint.contains("UTF-8"), "{error}");
}

#[test]
fn a_file_of_a_hundred_megabytes_is_refused_before_it_is_read() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("large");
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("study.toml");
    // A sparse file: it has the size but takes no room.
    std::fs::File::create(&path)
        .and_then(|file| file.set_len(100_000_000))
        .expect("a sparse file");
    let error = read(&path).expect_err("too large");
    assert!(
        error.message.contains("100.0 MB") && error.message.contains("8.4 MB"),
        "{error}"
    );
    assert_eq!(error.line, 0);
    std::fs::write(&path, SAMPLE).expect("written");
    std::fs::File::create(folder.join("parts.toml"))
        .and_then(|file| file.set_len(LARGEST_FILE + 1))
        .expect("a sparse file");
    let error = read(&path).expect_err("its parts file is too large");
    assert!(
        error.message.contains("parts.toml") && error.message.contains("8.4 MB"),
        "{error}"
    );
    let text = "#".repeat(LARGEST_FILE as usize + 1);
    let error = fail(&text, &files());
    assert!(error.message.contains("8.4 MB"), "{}", error.message);
}

#[test]
fn a_missing_file_and_a_folder_are_refused() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    let error = read(&folder.join("no-such-study.toml")).expect_err("missing");
    assert!(error.message.contains("there is no file"), "{error}");
    assert!(!error.hint.is_empty());
    let error = read(folder).expect_err("a folder");
    assert!(error.message.contains("is not a file"), "{error}");
}
