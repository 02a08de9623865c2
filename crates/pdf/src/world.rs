//! What a template can see: itself, its data and its pictures.

use std::collections::HashMap;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

use crate::fonts::{FONTS, readable};
use crate::{Job, PdfError};

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));

/// A job, laid out for the typesetter.
pub(crate) struct Desk {
    template: Source,
    files: HashMap<FileId, Bytes>,
}

impl Desk {
    pub fn new(job: &Job) -> Result<Desk, PdfError> {
        let mut files = HashMap::new();
        // Outside of its texts JSON is ASCII, and so is SVG: only texts can hold what has no glyph.
        files.insert(name("data.json")?, Bytes::from_string(readable(&job.data)));
        for (path, bytes) in &job.pictures {
            let bytes = match std::str::from_utf8(bytes) {
                Ok(text) => Bytes::from_string(readable(text)),
                Err(_) => Bytes::new(bytes.clone()),
            };
            files.insert(name(path)?, bytes);
        }
        Ok(Desk {
            template: Source::new(name("template.typ")?, job.template.to_owned()),
            files,
        })
    }
}

fn name(path: &str) -> Result<FileId, PdfError> {
    let path = VirtualPath::new(path).map_err(|_| PdfError {
        faults: vec![format!("`{path}` is not the name of a picture")],
    })?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FONTS.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() {
            Ok(self.template.clone())
        } else {
            Err(absent(id))
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| absent(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        // A template has no clock: dates are data.
        None
    }
}

fn absent(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_without_slash().into())
}
