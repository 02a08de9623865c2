//! Parts that stand in a parts library and in no parts file.

mod common;

use std::cell::RefCell;

use common::{PARTS, SAMPLE, files};
use tidewall_study::{LibraryPart, LoadError, Loader, NoFiles, read_parts, read_text};

/// A loader whose parts library holds the parts of [`PARTS`], or is broken.
struct Shelf {
    with_file: bool,
    broken: bool,
    text: &'static str,
    asked: RefCell<Vec<String>>,
}

impl Shelf {
    fn new() -> Shelf {
        Shelf {
            with_file: false,
            broken: false,
            text: "first",
            asked: RefCell::default(),
        }
    }
}

impl Loader for Shelf {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        if self.with_file {
            return files().load(name);
        }
        Err(LoadError::Missing)
    }

    fn part(&self, name: &str) -> Result<Option<LibraryPart>, (String, String)> {
        self.asked.borrow_mut().push(name.to_owned());
        if self.broken {
            return Err(("it is damaged".to_owned(), "take the backup".to_owned()));
        }
        let parts = read_parts("shelf", PARTS, &NoFiles).unwrap();
        let found = parts.into_iter().find(|entry| *entry.datasheet.name == *name);
        Ok(found.map(|entry| LibraryPart {
            datasheet: entry.datasheet,
            text: self.text.to_owned(),
        }))
    }

    fn library(&self) -> Option<String> {
        Some("the parts library shelf".to_owned())
    }
}

#[test]
fn a_part_of_no_file_is_taken_from_the_library_and_counts_in_the_digest() {
    let shelf = Shelf::new();
    let study = read_text("study.toml", SAMPLE, &shelf).unwrap();
    let named: Vec<&String> = study.library_parts.iter().collect();
    assert_eq!(named, ["alder-33"]);
    assert!(study.parts.contains_key("alder-33"));
    assert_eq!(*shelf.asked.borrow(), ["alder-33"]);
    let changed = Shelf {
        text: "second",
        ..Shelf::new()
    };
    let other = read_text("study.toml", SAMPLE, &changed).unwrap();
    assert_ne!(study.digest, other.digest);
}

#[test]
fn a_part_of_a_file_comes_first_and_the_library_is_not_asked() {
    let shelf = Shelf {
        with_file: true,
        broken: true,
        ..Shelf::new()
    };
    let study = read_text("study.toml", SAMPLE, &shelf).unwrap();
    assert!(study.library_parts.is_empty());
    assert!(shelf.asked.borrow().is_empty());
    let alone = read_text("study.toml", SAMPLE, &files()).unwrap();
    assert_eq!(study.digest, alone.digest);
}

#[test]
fn a_name_that_is_nowhere_says_where_it_was_looked_for() {
    let text = SAMPLE.replace("\"alder-33\"", "\"alder-99\"");
    let error = read_text("study.toml", &text, &Shelf::new()).unwrap_err();
    assert!(error.message.contains("there is no part `alder-99`"), "{error}");
    assert!(
        error.expected.contains("looked in the parts library shelf"),
        "{error}"
    );
}

#[test]
fn a_library_that_cannot_be_read_is_an_error_at_the_name() {
    let shelf = Shelf {
        broken: true,
        ..Shelf::new()
    };
    let error = read_text("study.toml", SAMPLE, &shelf).unwrap_err();
    assert!(
        error.message.contains("cannot be looked up: it is damaged"),
        "{error}"
    );
    assert!(
        error.line > 0 && error.source_line.contains("alder-33"),
        "{error}"
    );
    assert_eq!(error.hint, "take the backup");
}
