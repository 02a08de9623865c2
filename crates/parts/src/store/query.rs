//! What the library holds.

use rusqlite::{OptionalExtension, Row};
use tidewall_devices::datasheet::{Datasheet, Family};

use super::edit::FieldChange;
use super::rows::{self, Head};
use super::{Action, Library, schema};
use crate::error::LibraryError;
use crate::record::{Datum, PartRecord};
use crate::wire::{self, DatumExport, PartExport};

/// Which parts are asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Only of this family.
    pub family: Option<Family>,
    /// Only with this text in the name, in any case.
    pub text: Option<String>,
}

/// What happened to a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// It was added.
    Added,
    /// A datum changed.
    Changed(Box<FieldChange>),
    /// It was taken out; what was stated of it then.
    Retired(PartRecord),
}

/// A line of a part's history.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryEntry {
    /// What was done.
    pub action: Action,
    /// Whether the program did it by itself, with the demonstration parts.
    pub by_program: bool,
    /// What that meant for the part.
    pub event: Event,
}

impl Library {
    /// The part of that name; `None` if there is none.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn part(&self, name: &str) -> Result<Option<PartRecord>, LibraryError> {
        let found = self
            .connection
            .prepare_cached(&format!(
                "SELECT id, name, family, {} FROM part WHERE name = ?1 AND retired = 0",
                self.seal_column()
            ))
            .and_then(|mut statement| statement.query_row([name], rows::head).optional());
        match found.map_err(|error| self.error(&error))? {
            Some(head) => self.record(&head).map(Some),
            None => Ok(None),
        }
    }

    /// The names of the parts asked for, sorted.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn names(&self, filter: &Filter) -> Result<Vec<String>, LibraryError> {
        let mut names = Vec::new();
        self.heads(filter, |head| {
            names.push(head.name);
            Ok(())
        })?;
        Ok(names)
    }

    /// Hands out the parts asked for one by one, sorted by name.
    ///
    /// # Errors
    /// The first error of `visit`, or a [`LibraryError`].
    pub fn each<E: From<LibraryError>>(
        &self,
        filter: &Filter,
        mut visit: impl FnMut(PartRecord) -> Result<(), E>,
    ) -> Result<(), E> {
        self.heads(filter, |head| visit(self.record(&head)?))
    }

    /// The parts asked for as the models need them, sorted by name.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn datasheets(&self, filter: &Filter) -> Result<Vec<Datasheet>, LibraryError> {
        let mut sheets = Vec::new();
        self.each(filter, |record| {
            sheets.push(record.datasheet());
            Ok::<(), LibraryError>(())
        })?;
        Ok(sheets)
    }

    /// What happened to a part, oldest first; empty if there never was one of that name.
    ///
    /// # Errors
    /// See [`LibraryError`].
    pub fn history(&self, name: &str) -> Result<Vec<HistoryEntry>, LibraryError> {
        let of = |error: rusqlite::Error| self.error(&error);
        let mut statement = self
            .connection
            .prepare_cached(
                "SELECT a.what, a.document, a.at_unix_s, a.by = 'program', h.event, h.old, h.new
                 FROM history h JOIN action a ON a.id = h.action JOIN part p ON p.id = h.part
                 WHERE p.name = ?1 ORDER BY h.id",
            )
            .map_err(of)?;
        let mut rows = statement.query([name]).map_err(of)?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next().map_err(of)? {
            entries.push(self.entry(row)?);
        }
        Ok(entries)
    }

    fn entry(&self, row: &Row<'_>) -> Result<HistoryEntry, LibraryError> {
        let of = |error: rusqlite::Error| self.error(&error);
        let event: String = row.get(4).map_err(of)?;
        let old: Option<String> = row.get(5).map_err(of)?;
        let new: Option<String> = row.get(6).map_err(of)?;
        let damaged = |why: &str| LibraryError::Damaged {
            path: self.path.clone(),
            why: format!("a line of the history {why}"),
        };
        let event = match event.as_str() {
            "added" => Event::Added,
            "retired" => {
                let record = old
                    .and_then(|text| serde_json::from_str::<PartExport>(&text).ok())
                    .and_then(|export| export.record().ok());
                Event::Retired(record.ok_or_else(|| damaged("holds no readable part"))?)
            }
            _ => {
                let datum = |text: Option<String>| -> Result<Option<Datum>, LibraryError> {
                    let Some(text) = text else { return Ok(None) };
                    let datum = serde_json::from_str::<DatumExport>(&text)
                        .ok()
                        .and_then(|export| export.datum().ok());
                    datum.map(Some).ok_or_else(|| damaged("holds no readable datum"))
                };
                let change = FieldChange::between(datum(old)?, datum(new)?);
                Event::Changed(Box::new(change.ok_or_else(|| damaged("holds no value"))?))
            }
        };
        Ok(HistoryEntry {
            action: Action {
                what: row.get(0).map_err(of)?,
                document: row.get(1).map_err(of)?,
                at_unix_s: row.get(2).map_err(of)?,
            },
            by_program: row.get(3).map_err(of)?,
            event,
        })
    }

    fn heads<E: From<LibraryError>>(
        &self,
        filter: &Filter,
        mut visit: impl FnMut(Head) -> Result<(), E>,
    ) -> Result<(), E> {
        let of = |error: rusqlite::Error| self.error(&error);
        let mut statement = self
            .connection
            .prepare_cached(&format!(
                "SELECT id, name, family, {} FROM part
                 WHERE retired = 0 AND (?1 IS NULL OR family = ?1) ORDER BY name",
                self.seal_column()
            ))
            .map_err(of)?;
        let family = filter.family.map(wire::family_word);
        let wanted = filter.text.as_ref().map(|text| text.to_lowercase());
        let mut rows = statement.query([family]).map_err(of)?;
        while let Some(row) = rows.next().map_err(of)? {
            let head = rows::head(row).map_err(of)?;
            let fits = wanted
                .as_ref()
                .is_none_or(|text| head.name.to_lowercase().contains(text.as_str()));
            if fits {
                visit(head)?;
            }
        }
        Ok(())
    }

    fn record(&self, head: &Head) -> Result<PartRecord, LibraryError> {
        let stored = rows::all(&self.connection, &self.path, head)?;
        let family = wire::family(&head.family).ok_or_else(|| LibraryError::Damaged {
            path: self.path.clone(),
            why: format!("part `{}` is of the unknown family `{}`", head.name, head.family),
        })?;
        Ok(PartRecord {
            name: head.name.clone(),
            family,
            data: stored.into_iter().map(|stored| stored.datum).collect(),
        })
    }

    /// A file of an earlier version that is only read has no seals.
    fn seal_column(&self) -> &'static str {
        if self.version < schema::SEALED {
            "NULL"
        } else {
            "seal"
        }
    }
}
