//! Changes, all or none.

use std::collections::HashMap;
use std::path::Path;

use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};
use sha2::{Digest, Sha256};

use super::rows::{self, Head, Stored};
use super::{Action, Library};
use crate::check;
use crate::error::LibraryError;
use crate::record::{Condition, Datum, Key, PartRecord, Provenance};
use crate::wire::{self, DatumExport, PartExport};
use crate::words;

/// Documents whose rows are remembered, so that memory stays bounded.
const REMEMBERED: usize = 4096;

/// What a record changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// The part is new, or comes back after it was retired.
    Added,
    /// All was there already.
    Unchanged,
    /// These data are new, or say something else than before.
    Changed(Vec<FieldChange>),
}

/// One changed datum.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldChange {
    /// Which.
    pub key: Key,
    /// Under which conditions.
    pub condition: Condition,
    /// What was stated before; `None` if nothing was.
    pub old: Option<Datum>,
    /// What is stated now; `None` if it was withdrawn.
    pub new: Option<Datum>,
}

impl FieldChange {
    pub(super) fn between(old: Option<Datum>, new: Option<Datum>) -> Option<FieldChange> {
        let either = new.as_ref().or(old.as_ref())?;
        Some(FieldChange {
            key: either.key,
            condition: either.condition,
            old,
            new,
        })
    }

    /// The change in words, such as `stand-off voltage: 33 V, now 36 V`.
    pub fn in_words(&self) -> String {
        let said = |datum: &Datum| {
            let kind = wire::firmness_word(datum.firmness);
            format!("{} ({kind}; {})", words::value(datum), words::source(datum))
        };
        match (&self.old, &self.new) {
            (Some(old), Some(new)) => format!("{}: {}, now {}", words::fact(new), said(old), said(new)),
            (None, Some(new)) => format!("{}: not stated before, now {}", words::fact(new), said(new)),
            (Some(old), None) => format!("{}: {}, now withdrawn", words::fact(old), said(old)),
            (None, None) => String::new(),
        }
    }
}

/// How many parts an edit touched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Done {
    /// Parts that are new.
    pub added: u64,
    /// Parts of which a datum changed.
    pub changed: u64,
    /// Parts that were there as they are.
    pub unchanged: u64,
    /// Parts that were taken out.
    pub retired: u64,
}

/// An open change of the library. Nothing of it lasts, and nobody else sees it, before [`Edit::commit`]; dropped, it
/// leaves the library as it was, which is what a dry run is.
#[derive(Debug)]
pub struct Edit<'l> {
    transaction: Transaction<'l>,
    path: &'l Path,
    action: i64,
    by_program: bool,
    documents: HashMap<(String, String), i64>,
    done: Done,
}

struct PartRow {
    head: Head,
    retired: bool,
    digest: Option<Vec<u8>>,
}

impl Library {
    /// Begins a change. No other process can write until it ends.
    ///
    /// # Errors
    /// [`LibraryError::Busy`] if another process is writing for more than five seconds, and the others.
    pub fn begin(&mut self, action: &Action) -> Result<Edit<'_>, LibraryError> {
        self.begin_as(action, false)
    }

    pub(super) fn begin_as(&mut self, action: &Action, by_program: bool) -> Result<Edit<'_>, LibraryError> {
        let path = self.path.as_path();
        let of = |error: rusqlite::Error| LibraryError::of(path, &error);
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(of)?;
        let by = if by_program { "program" } else { "user" };
        transaction
            .execute(
                "INSERT INTO action (by, what, document, at_unix_s) VALUES (?1, ?2, ?3, ?4)",
                params![by, action.what, action.document, action.at_unix_s],
            )
            .map_err(of)?;
        Ok(Edit {
            action: transaction.last_insert_rowid(),
            transaction,
            path,
            by_program,
            documents: HashMap::new(),
            done: Done::default(),
        })
    }
}

impl Edit<'_> {
    /// Puts what a record states into the library.
    ///
    /// A datum takes the place of the one with the same key, condition and document, which stays in the history.
    /// Data of other documents, and of keys the record does not mention, stay beside it.
    ///
    /// # Errors
    /// [`LibraryError::Unfit`] for a record that cannot stand in the library, and the others.
    pub fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        check::record(record)?;
        let change = self.place(record).map_err(|error| self.error(error))?;
        match &change {
            Change::Added => self.done.added += 1,
            Change::Unchanged => self.done.unchanged += 1,
            Change::Changed(_) => self.done.changed += 1,
        }
        Ok(change)
    }

    /// Takes a part out of the library. What was stated of it stays in its history.
    ///
    /// # Errors
    /// [`LibraryError::NoSuchPart`] if there is none of that name, and the others.
    pub fn retire(&mut self, name: &str) -> Result<PartRecord, LibraryError> {
        let row = self.row(name).map_err(|error| self.error(error.into()))?;
        let Some(row) = row.filter(|row| !row.retired) else {
            return Err(LibraryError::NoSuchPart(name.to_owned()));
        };
        let stored = rows::all(&self.transaction, self.path, &row.head)?;
        let family = wire::family(&row.head.family).ok_or_else(|| LibraryError::Damaged {
            path: self.path.to_owned(),
            why: format!("part `{name}` is of the unknown family `{}`", row.head.family),
        })?;
        let record = PartRecord {
            name: name.to_owned(),
            family,
            data: stored.into_iter().map(|stored| stored.datum).collect(),
        };
        self.take_out(row.head.id, &record)
            .map_err(|error| self.error(error.into()))?;
        rows::seal(&self.transaction, self.path, &row.head)?;
        self.done.retired += 1;
        Ok(record)
    }

    /// What the edit did so far.
    pub fn done(&self) -> Done {
        self.done
    }

    /// Makes the edit last. One that changed nothing leaves no trace.
    ///
    /// # Errors
    /// See [`LibraryError`]; the library is then as it was.
    pub fn commit(self) -> Result<Done, LibraryError> {
        let done = self.done;
        let ended = if done.added + done.changed + done.retired == 0 && !self.by_program {
            self.transaction.rollback()
        } else {
            self.transaction.commit()
        };
        ended.map_err(|error| LibraryError::of(self.path, &error))?;
        Ok(done)
    }

    pub(super) fn set(&self, setting: &str, value: &str) -> Result<(), LibraryError> {
        self.transaction
            .execute(
                "INSERT INTO setting (name, value) VALUES (?1, ?2) ON CONFLICT (name) DO UPDATE SET value = ?2",
                [setting, value],
            )
            .map(drop)
            .map_err(|error| self.error(error.into()))
    }

    fn row(&self, name: &str) -> rusqlite::Result<Option<PartRow>> {
        self.transaction
            .prepare_cached("SELECT id, name, family, seal, retired, digest FROM part WHERE name = ?1")?
            .query_row([name], |row| {
                Ok(PartRow {
                    head: rows::head(row)?,
                    retired: row.get(4)?,
                    digest: row.get(5)?,
                })
            })
            .optional()
    }

    fn place(&mut self, record: &PartRecord) -> Result<Change, Trouble> {
        let family = wire::family_word(record.family);
        let digest = digest(record);
        let Some(row) = self.row(&record.name)? else {
            self.transaction
                .prepare_cached("INSERT INTO part (name, family, digest) VALUES (?1, ?2, ?3)")?
                .execute(params![record.name, family, digest])?;
            let head = Head {
                id: self.transaction.last_insert_rowid(),
                name: record.name.clone(),
                family: family.to_owned(),
                seal: None,
            };
            self.fill(&head, record)?;
            return Ok(Change::Added);
        };
        if row.retired {
            self.transaction
                .prepare_cached("UPDATE part SET family = ?2, retired = 0, digest = ?3 WHERE id = ?1")?
                .execute(params![row.head.id, family, digest])?;
            let head = Head {
                family: family.to_owned(),
                ..row.head
            };
            self.fill(&head, record)?;
            return Ok(Change::Added);
        }
        if row.head.family != family {
            return Err(Trouble::Library(LibraryError::Unfit {
                part: record.name.clone(),
                why: format!(
                    "it is of the family {} in the library, not {family}; retire it first, or use another name",
                    row.head.family
                ),
            }));
        }
        if row.digest.as_deref() == Some(&digest) {
            return Ok(Change::Unchanged);
        }
        let stored = rows::all(&self.transaction, self.path, &row.head)?;
        let changes = self.merge(row.head.id, &stored, &record.data)?;
        rows::seal(&self.transaction, self.path, &row.head)?;
        self.transaction
            .prepare_cached("UPDATE part SET digest = ?2 WHERE id = ?1")?
            .execute(params![row.head.id, digest])?;
        Ok(match changes {
            changes if changes.is_empty() => Change::Unchanged,
            changes => Change::Changed(changes),
        })
    }

    /// Writes all data of a part that has none.
    fn fill(&mut self, head: &Head, record: &PartRecord) -> Result<(), Trouble> {
        let mut ordinal = 0;
        for (place, datum) in record.data.iter().enumerate() {
            // The same fact may be stated twice in the same words.
            if !record.data[..place].iter().any(|other| other.same_fact(datum)) {
                self.insert(head.id, ordinal, datum)?;
                ordinal += 1;
            }
        }
        self.remember(head.id, "added", None, None)?;
        rows::seal(&self.transaction, self.path, head)?;
        Ok(())
    }

    /// Merges data into those of a part.
    fn merge(&mut self, part: i64, stored: &[Stored], data: &[Datum]) -> Result<Vec<FieldChange>, Trouble> {
        let mut changes = Vec::new();
        let mut ordinal = stored.last().map_or(0, |last| last.ordinal + 1);
        for (place, datum) in data.iter().enumerate() {
            if data[..place].iter().any(|other| other.same_fact(datum)) {
                continue;
            }
            let old = stored.iter().find(|stored| stored.datum.same_fact(datum));
            if old.is_some_and(|old| old.datum == *datum || (self.by_program && !old.by_program)) {
                continue;
            }
            if let Some(old) = old {
                self.delete(part, old.ordinal)?;
            }
            self.insert(part, ordinal, datum)?;
            ordinal += 1;
            let old = old.map(|old| &old.datum);
            self.remember(part, "changed", old, Some(datum))?;
            changes.extend(FieldChange::between(old.cloned(), Some(datum.clone())));
        }
        Ok(changes)
    }

    /// Puts a part of the program's own, which never takes the place of what the user stated.
    ///
    /// What was left alone is said in words.
    pub(super) fn offer(&mut self, record: &PartRecord) -> Result<Vec<String>, LibraryError> {
        self.offer_to(record).map_err(|error| self.error(error))
    }

    fn offer_to(&mut self, record: &PartRecord) -> Result<Vec<String>, Trouble> {
        let name = &record.name;
        let Some(row) = self.row(name)? else {
            self.put(record)?;
            return Ok(Vec::new());
        };
        if row.retired {
            return Ok(Vec::new());
        }
        let begun_by: String = self.transaction.query_row(
            "SELECT a.by FROM history h JOIN action a ON a.id = h.action
             WHERE h.part = ?1 AND h.event = 'added' ORDER BY h.id DESC LIMIT 1",
            [row.head.id],
            |row| row.get(0),
        )?;
        if begun_by != "program" || row.head.family != wire::family_word(record.family) {
            return Ok(vec![format!(
                "the part `{name}` of your own stays; the demonstration part of that name is left out"
            )]);
        }
        let stored = rows::all(&self.transaction, self.path, &row.head)?;
        let mut kept = Vec::new();
        for old in &stored {
            let new = record.data.iter().find(|datum| datum.same_fact(&old.datum));
            match new {
                Some(new) if !old.by_program && *new != old.datum => kept.push(format!(
                    "{name}: {} stays {}, as you stated it; the demonstration part now says {}",
                    words::fact(new),
                    words::value(&old.datum),
                    words::value(new)
                )),
                None if old.by_program => {
                    self.delete(row.head.id, old.ordinal)?;
                    self.remember(row.head.id, "changed", Some(&old.datum), None)?;
                }
                _ => {}
            }
        }
        self.merge(row.head.id, &stored, &record.data)?;
        rows::seal(&self.transaction, self.path, &row.head)?;
        self.transaction
            .execute("UPDATE part SET digest = NULL WHERE id = ?1", [row.head.id])?;
        Ok(kept)
    }

    fn take_out(&self, part: i64, record: &PartRecord) -> rusqlite::Result<()> {
        self.transaction
            .execute("DELETE FROM datum WHERE part = ?1", [part])?;
        self.transaction
            .execute("UPDATE part SET retired = 1, digest = NULL WHERE id = ?1", [part])?;
        let old = serde_json::json!(PartExport::from(record)).to_string();
        self.transaction.execute(
            "INSERT INTO history (part, action, event, old) VALUES (?1, ?2, 'retired', ?3)",
            params![part, self.action, old],
        )?;
        Ok(())
    }

    fn insert(&mut self, part: i64, ordinal: i64, datum: &Datum) -> rusqlite::Result<()> {
        let document = self.document(&datum.source)?;
        let mut statement = self.transaction.prepare_cached(rows::INSERT)?;
        rows::insert(&mut statement, (part, ordinal), datum, (document, self.action))
    }

    fn delete(&self, part: i64, ordinal: i64) -> rusqlite::Result<()> {
        self.transaction
            .prepare_cached("DELETE FROM datum WHERE part = ?1 AND ordinal = ?2")?
            .execute([part, ordinal])
            .map(drop)
    }

    fn remember(
        &self,
        part: i64,
        event: &str,
        old: Option<&Datum>,
        new: Option<&Datum>,
    ) -> rusqlite::Result<()> {
        let text = |datum: &Datum| serde_json::json!(DatumExport::from(datum)).to_string();
        self.transaction
            .prepare_cached(
                "INSERT INTO history (part, action, event, old, new) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute(params![part, self.action, event, old.map(text), new.map(text)])
            .map(drop)
    }

    /// The row of a document, made where there is none.
    fn document(&mut self, source: &Provenance) -> rusqlite::Result<i64> {
        let key = (source.document.clone(), source.revision.clone());
        if let Some(id) = self.documents.get(&key) {
            return Ok(*id);
        }
        let found = self
            .transaction
            .prepare_cached("SELECT id FROM document WHERE title = ?1 AND revision = ?2")?
            .query_row([&key.0, &key.1], |row| row.get(0))
            .optional()?;
        let id = match found {
            Some(id) => id,
            None => {
                self.transaction
                    .prepare_cached("INSERT INTO document (title, revision) VALUES (?1, ?2)")?
                    .execute([&key.0, &key.1])?;
                self.transaction.last_insert_rowid()
            }
        };
        if self.documents.len() >= REMEMBERED {
            self.documents.clear();
        }
        self.documents.insert(key, id);
        Ok(id)
    }

    fn error(&self, trouble: Trouble) -> LibraryError {
        match trouble {
            Trouble::Library(error) => error,
            Trouble::Database(error) => LibraryError::of(self.path, &error),
        }
    }
}

/// What may go wrong inside an edit.
enum Trouble {
    Library(LibraryError),
    Database(rusqlite::Error),
}

impl From<LibraryError> for Trouble {
    fn from(error: LibraryError) -> Self {
        Trouble::Library(error)
    }
}

impl From<rusqlite::Error> for Trouble {
    fn from(error: rusqlite::Error) -> Self {
        Trouble::Database(error)
    }
}

/// A digest of a record as it is put. Another version of the program may find another one for the same record, which
/// costs it a comparison in full.
fn digest(record: &PartRecord) -> Vec<u8> {
    Sha256::digest(format!("{record:?}")).to_vec()
}
