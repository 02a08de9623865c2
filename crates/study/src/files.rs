//! The files a study refers to: loaded once each, and part of its digest.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use crate::error::StudyError;
use crate::loader::{LARGEST_FILE, LoadError, Loader, explain, refuse_name};
use crate::source::Source;
use crate::table::Item;

/// Loads files and remembers what it loaded.
pub(crate) struct Files<'l> {
    loader: &'l dyn Loader,
    loaded: BTreeMap<String, Source>,
}

impl<'l> Files<'l> {
    pub(crate) fn new(loader: &'l dyn Loader) -> Self {
        Files {
            loader,
            loaded: BTreeMap::new(),
        }
    }

    /// The text of the file that `item` names.
    pub(crate) fn text(&mut self, item: &Item<'_>) -> Result<Source, StudyError> {
        let name = item.text()?;
        if let Some(why) = refuse_name(name) {
            return Err(item.error(
                why,
                "the name of a file in the study's folder or below it, such as \"parts.toml\"",
                "copy the file beside the study, so that both travel together",
            ));
        }
        match self.named(name) {
            Ok(source) => source,
            Err(error) => {
                let (message, expected, hint) = explain(name, &error);
                Err(item.error(message, expected, hint))
            }
        }
    }

    /// A file by name: the outer error is the loader's, the inner one that of its text.
    pub(crate) fn named(&mut self, name: &str) -> Result<Result<Source, StudyError>, LoadError> {
        if let Some(source) = self.loaded.get(name) {
            return Ok(Ok(source.clone()));
        }
        let bytes = self.loader.load(name)?;
        if bytes.len() as u64 > LARGEST_FILE {
            return Err(LoadError::TooLarge(Some(bytes.len() as u64)));
        }
        let source = match Source::from_bytes(name, bytes) {
            Ok(source) => source,
            Err(error) => return Ok(Err(error)),
        };
        self.loaded.insert(name.to_owned(), source.clone());
        Ok(Ok(source))
    }

    /// SHA-256 over the study text and, in the order of their names, the name and text of every file loaded.
    /// Each piece is preceded by its length, so that no two sets of files look alike.
    pub(crate) fn digest(&self, study: &str) -> String {
        let mut hash = Sha256::new();
        let mut add = |piece: &str| {
            hash.update((piece.len() as u64).to_le_bytes());
            hash.update(piece.as_bytes());
        };
        add(study);
        for (name, source) in &self.loaded {
            add(name);
            add(&source.text);
        }
        hash.finalize()
            .iter()
            .fold(String::with_capacity(64), |mut text, byte| {
                // Writing to a string cannot fail.
                let _ = write!(text, "{byte:02x}");
                text
            })
    }
}
