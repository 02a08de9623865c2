//! A library that is damaged.

use std::fs;
use std::path::Path;

use rusqlite::Connection;

use crate::common::{Bench, finish, tidewall};
use crate::tools::{Dice, kills, run, with_library};

fn library(bench: &Bench, rows: &str) -> std::path::PathBuf {
    let table = bench.arg("table.csv");
    let library = bench.path("library.sqlite");
    tidewall(["parts", "sample", "--rows", rows, "--seed", "3", &table]).expect(0);
    run(
        &library,
        &["parts", "import", &table, "--accept-guess", "--kind", "invented"],
        0,
    );
    library
}

/// What the library states, or what is said instead; the file must then be as it was.
fn stated(library: &Path) -> Result<String, String> {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out.json");
    let before = fs::read(library).expect("the library");
    let ran = finish(with_library(library).args(["parts", "export"]).arg(&out));
    if ran.status == Some(0) {
        return Ok(fs::read_to_string(out).expect("the export"));
    }
    let ran = ran.expect(3);
    assert!(
        ran.stderr.starts_with("error: ") && ran.stderr.contains("hint: "),
        "{}",
        ran.stderr
    );
    assert!(
        fs::read(library).expect("the library") == before,
        "the damaged file was changed: {}",
        ran.stderr
    );
    assert!(!out.exists(), "half an export is left");
    Err(ran.stderr)
}

#[test]
fn a_flipped_bit_is_found_or_harms_nothing() {
    let bench = Bench::new();
    let whole = library(&bench, "60");
    let expected = stated(&whole).expect("a whole library");
    let bytes = fs::read(&whole).expect("the library");
    let mut dice = Dice::new(6);
    let (mut found, mut harmless) = (0, 0);
    for _ in 0..kills() * 5 {
        let folder = tempfile::tempdir().expect("a folder");
        let library = folder.path().join("library.sqlite");
        let mut damaged = bytes.clone();
        let place = dice.below(damaged.len());
        let bit = dice.below(8);
        damaged[place] ^= 1 << bit;
        fs::write(&library, damaged).expect("the damaged library");
        match stated(&library) {
            Err(_) => found += 1,
            Ok(text) => {
                assert!(
                    text == expected,
                    "bit {bit} of byte {place} is flipped, and other data are read"
                );
                harmless += 1;
            }
        }
    }
    eprintln!("flipped bits: {found} found, {harmless} in places that state nothing of a part");
    assert!(found > harmless / 4);
}

#[test]
fn a_library_that_is_cut_short_is_found() {
    let bench = Bench::new();
    let whole = library(&bench, "60");
    let bytes = fs::read(&whole).expect("the library");
    let mut dice = Dice::new(7);
    for _ in 0..kills() {
        let folder = tempfile::tempdir().expect("a folder");
        let library = folder.path().join("library.sqlite");
        fs::write(&library, &bytes[..1 + dice.below(bytes.len() - 1)]).expect("the damaged library");
        let said = stated(&library).expect_err("it is cut short");
        assert!(
            said.contains("damaged") || said.contains("is not a parts library"),
            "{said}"
        );
    }
}

/// Reading a large library looks at what it reads; before a change all of it is looked through.
#[test]
fn damage_in_a_large_library_is_found_where_it_is_read_and_before_any_change() {
    let bench = Bench::new();
    let library = library(&bench, "20");
    let connection = Connection::open(&library).expect("the library");
    // A long history makes it large.
    let text = format!("\"{}\"", "x".repeat(1 << 20));
    for _ in 0..17 {
        connection
            .execute(
                "INSERT INTO history (part, action, event, old) VALUES (1, 1, 'changed', ?1)",
                [&text],
            )
            .expect("a line");
    }
    connection
        .execute(
            "UPDATE datum SET number = number + 1 WHERE part = 2 AND number IS NOT NULL",
            [],
        )
        .expect("a change");
    let name: String = connection
        .query_row("SELECT name FROM part WHERE id = 2", [], |row| row.get(0))
        .expect("a name");
    let other: String = connection
        .query_row("SELECT name FROM part WHERE id = 3", [], |row| row.get(0))
        .expect("a name");
    connection
        .execute_batch("PRAGMA wal_checkpoint(TRUNCATE)")
        .expect("one file");
    drop(connection);
    assert!(fs::metadata(&library).expect("the library").len() > 17 << 20);
    let said = run(&library, &["parts", "show", &name], 3).stderr;
    assert!(said.contains("is not as it was written"), "{said}");
    run(&library, &["parts", "show", &other], 0);

    // A page in the middle of the history: nothing that is read, but nothing is to be written beside it either.
    let mut bytes = fs::read(&library).expect("the library");
    let page = 4096;
    let table = bytes.len() / page / 2 * page;
    bytes[table..table + 4].copy_from_slice(&u32::MAX.to_be_bytes());
    fs::write(&library, &bytes).expect("the damaged library");
    let said = run(&library, &["parts", "retire", &other], 3).stderr;
    assert!(said.contains("damaged"), "{said}");
    assert!(
        fs::read(&library).expect("the library") == bytes,
        "the damaged file was changed"
    );
}
