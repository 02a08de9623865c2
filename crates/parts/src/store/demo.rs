//! The built-in demonstration parts. All of them are invented, and say so.

use rusqlite::OptionalExtension;
use sha2::{Digest, Sha256};
use tidewall_study::{NoFiles, read_parts};

use super::{Action, Library};
use crate::error::LibraryError;
use crate::record::{PartRecord, Provenance};

const TEXT: &str = include_str!("../../../../demo/river-gauge/parts.toml");
const NAME: &str = "built-in demonstration parts";
/// Setting that holds the digest of the text last put.
const SETTING: &str = "demonstration parts";

/// Puts the demonstration parts of this version of the program, if the library does not have them yet.
pub(super) fn seed(library: &mut Library, at_unix_s: Option<i64>) -> Result<(), LibraryError> {
    seed_with(library, TEXT, at_unix_s)
}

fn seed_with(library: &mut Library, text: &str, at_unix_s: Option<i64>) -> Result<(), LibraryError> {
    let present = format!("{:x}", Sha256::digest(text));
    let last: Option<String> = library
        .connection
        .query_row("SELECT value FROM setting WHERE name = ?1", [SETTING], |row| {
            row.get(0)
        })
        .optional()
        .map_err(|error| library.error(&error))?;
    if last.as_ref() == Some(&present) {
        return Ok(());
    }
    let records = records(text)?;
    let action = Action {
        what: NAME.to_owned(),
        document: "invented for the demonstration".to_owned(),
        at_unix_s,
    };
    let mut edit = library.begin_as(&action, true)?;
    let mut notices = Vec::new();
    for record in &records {
        notices.extend(edit.offer(record)?);
    }
    edit.set(SETTING, &present)?;
    edit.commit()?;
    library.notices = notices;
    Ok(())
}

/// The parts of a parts file's text.
fn records(text: &str) -> Result<Vec<PartRecord>, LibraryError> {
    let unfit = |part: &str, why: String| LibraryError::Unfit {
        part: part.to_owned(),
        why,
    };
    let entries = read_parts(NAME, text, &NoFiles).map_err(|error| unfit(NAME, error.to_string()))?;
    let record = |sheet: &tidewall_devices::datasheet::Datasheet| {
        let source = Provenance {
            document: sheet.source.to_string(),
            ..Provenance::default()
        };
        PartRecord::from_datasheet(sheet, source).map_err(|error| unfit(&sheet.name, error.to_string()))
    };
    entries.iter().map(|entry| record(&entry.datasheet)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Datum, Value};
    use crate::store::{Event, Filter};

    fn library(folder: &tempfile::TempDir) -> Library {
        Library::open(&folder.path().join("parts.sqlite")).unwrap()
    }

    fn stand_off(library: &Library, name: &str) -> Option<f64> {
        library.part(name).unwrap().unwrap().datasheet().stand_off_v
    }

    #[test]
    fn a_new_library_holds_the_demonstration_parts_marked_invented() {
        let folder = tempfile::tempdir().unwrap();
        let library = library(&folder);
        let sheets = library.datasheets(&Filter::default()).unwrap();
        let entries = read_parts(NAME, TEXT, &NoFiles).unwrap();
        assert_eq!(sheets.len(), entries.len());
        for entry in &entries {
            let sheet = sheets.iter().find(|sheet| sheet.name == entry.datasheet.name);
            assert_eq!(sheet, Some(&entry.datasheet));
        }
    }

    #[test]
    fn changed_demonstration_parts_come_as_a_change_and_leave_the_users_data_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut library = library(&folder);
        let own = Action {
            what: "my own edit".to_owned(),
            document: String::new(),
            at_unix_s: Some(7),
        };
        let mut willow = library.part("willow-24").unwrap().unwrap();
        let mut edit = library.begin(&own).unwrap();
        willow.data.retain(|datum| datum.key == "stand_off");
        willow.data[0].value = Value::Number(23.0);
        edit.put(&willow).unwrap();
        edit.retire("elm-90").unwrap();
        edit.commit().unwrap();

        let text = TEXT
            .replace("stand_off = \"33 V\"", "stand_off = \"32 V\"")
            .replace("stand_off = \"24 V\"", "stand_off = \"22 V\"");
        seed_with(&mut library, &text, Some(9)).unwrap();
        assert_eq!(stand_off(&library, "alder-33"), Some(32.0));
        assert_eq!(stand_off(&library, "willow-24"), Some(23.0));
        assert_eq!(library.part("elm-90").unwrap(), None);
        let notice =
            "willow-24: stand-off voltage stays 23 V, as you stated it; the demonstration part now says 22 V";
        assert_eq!(library.notices(), [notice]);
        let history = library.history("alder-33").unwrap();
        let last = history.last().unwrap();
        assert!(last.by_program && last.action.at_unix_s == Some(9));
        let Event::Changed(change) = &last.event else {
            panic!("{last:?}");
        };
        let value = |datum: &Option<Datum>| datum.as_ref().map(|datum| datum.value.clone());
        assert_eq!(value(&change.old), Some(Value::Number(33.0)));
        assert_eq!(value(&change.new), Some(Value::Number(32.0)));
        // The same text once more does nothing.
        seed_with(&mut library, &text, Some(11)).unwrap();
        assert_eq!(library.history("alder-33").unwrap(), history);
    }

    #[test]
    fn a_part_of_the_users_own_is_not_mixed_with_invented_data() {
        let folder = tempfile::tempdir().unwrap();
        let mut library = library(&folder);
        let text = format!(
            "{TEXT}\n[[part]]\nname = \"aspen-5\"\nfamily = \"fuse\"\nkind = \"invented\"\nsource = \"x\"\nrated_current = \"5 A\"\n"
        );
        let own = Action {
            what: "parts file".to_owned(),
            document: String::new(),
            at_unix_s: None,
        };
        let mut edit = library.begin(&own).unwrap();
        let mine = text.replace(
            "kind = \"invented\"\nsource = \"x\"",
            "kind = \"measured\"\nsource = \"bench\"",
        );
        let mine = records(&mine).unwrap().pop().unwrap();
        assert_eq!(mine.name, "willow-24");
        let mine = PartRecord {
            name: "aspen-5".to_owned(),
            ..mine
        };
        edit.put(&mine).unwrap();
        edit.commit().unwrap();
        seed_with(&mut library, &text, None).unwrap();
        assert_eq!(library.part("aspen-5").unwrap(), Some(mine));
        assert_eq!(library.notices().len(), 1);
    }
}
