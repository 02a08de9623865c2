//! The files a study refers to: loaded once each, and part of its digest.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::error::StudyError;
use crate::loader::{LARGEST_FILE, LibraryPart, LoadError, Loader, explain, refuse_name};
use tidewall_units::clip;

use crate::source::Source;
use crate::table::Item;

/// Loads files and remembers what it loaded.
pub(crate) struct Files<'l> {
    loader: &'l dyn Loader,
    loaded: BTreeMap<String, Source>,
    /// Texts of the parts taken from the parts library, by name.
    parts: BTreeMap<String, String>,
}

impl<'l> Files<'l> {
    pub(crate) fn new(loader: &'l dyn Loader) -> Self {
        Files {
            loader,
            loaded: BTreeMap::new(),
            parts: BTreeMap::new(),
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

    /// The part that `item` names, from the parts library.
    pub(crate) fn library_part(&mut self, item: &Item<'_>) -> Result<Option<LibraryPart>, StudyError> {
        let name = item.name()?;
        let found = self.loader.part(name).map_err(|(why, hint)| {
            item.error(
                format!("the part `{}` cannot be looked up: {why}", clip(name)),
                "a parts library that can be read, or the part in a parts file",
                hint,
            )
        })?;
        if let Some(part) = &found {
            self.parts.insert(name.to_owned(), part.text.clone());
        }
        Ok(found)
    }

    /// What the parts library is called, if there is one.
    pub(crate) fn library(&self) -> Option<String> {
        self.loader.library()
    }

    /// SHA-256 over the study text and, in the order of their names, the name and text of every file loaded and
    /// of every part taken from the parts library.
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
        for (name, text) in &self.parts {
            // No file has a name with a null character.
            add(&format!("\0{name}"));
            add(text);
        }
        format!("{:x}", hash.finalize())
    }
}
