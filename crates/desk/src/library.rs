//! Where the parts library is, and who reads it.

use std::cell::OnceCell;
use std::env;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use tidewall_devices::datasheet::Datasheet;
use tidewall_parts::wire::PartExport;
use tidewall_parts::{Filter, Library, LibraryError};
use tidewall_study::{FolderLoader, LibraryPart, LoadError, Loader, Study, folder_of, read_text, read_with};

use crate::failure::Failure;
use crate::folder::Folder;

/// Names the file in place of the usual one.
const VARIABLE: &str = "TIDEWALL_LIBRARY";

/// The present time in seconds since 1970-01-01 UTC.
pub fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(0, |time| i64::try_from(time.as_secs()).unwrap_or(i64::MAX))
}

/// The library's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    path: PathBuf,
    /// Nobody named it, so that its folder may be made.
    usual: bool,
}

impl Place {
    /// What `--library` says, else `TIDEWALL_LIBRARY`, else `tidewall/parts.sqlite` in the user's data folder
    /// (`XDG_DATA_HOME`, else `~/.local/share`).
    pub fn new(option: Option<&Path>) -> Result<Place, Failure> {
        let named = |path: PathBuf| Place { path, usual: false };
        if let Some(path) = option {
            return Ok(named(path.to_owned()));
        }
        let variable = |name: &str| {
            env::var_os(name)
                .filter(|value| !value.is_empty())
                .map(PathBuf::from)
        };
        if let Some(path) = variable(VARIABLE) {
            return Ok(named(path));
        }
        // The XDG base directory specification tells to ignore relative paths.
        let data = variable("XDG_DATA_HOME").filter(|path| path.is_absolute());
        let data = data.or_else(|| Some(variable("HOME")?.join(".local/share")));
        let data = data.ok_or_else(|| {
            Failure::usage(
                "there is no place for the parts library: neither HOME nor XDG_DATA_HOME is set",
                format!("name it with --library FILE or {VARIABLE}"),
            )
        })?;
        Ok(Place {
            path: data.join("tidewall").join("parts.sqlite"),
            usual: true,
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The library for reading and writing; created where there is none.
    pub fn open(&self) -> Result<Library, Failure> {
        if self.usual {
            let folder = folder_of(&self.path);
            std::fs::create_dir_all(folder).map_err(|error| {
                Failure::library(
                    format!("the folder `{}` cannot be made: {error}", folder.display()),
                    "name another place with --library FILE",
                )
            })?;
        }
        Ok(Library::open_at(&self.path, Some(now()))?)
    }

    /// The library for a command of its own that reads: as [`Place::open`], but what may not be written is only read.
    pub fn look(&self) -> Result<Library, Failure> {
        match Library::open_at(&self.path, Some(now())) {
            Err(LibraryError::ReadOnly(_) | LibraryError::Busy(_)) if self.path.is_file() => Ok(self.read()?),
            Ok(library) => Ok(library),
            Err(LibraryError::Unusable { .. }) if self.usual => self.open(),
            Err(error) => Err(error.into()),
        }
    }

    /// The library for reading, without a trace: a file that is not there stands for what it would be created with.
    pub fn read(&self) -> Result<Library, LibraryError> {
        match Library::open_read_only(&self.path) {
            Err(LibraryError::Missing(_)) => Library::in_memory(),
            library => library,
        }
    }
}

/// Reads studies, with the parts library behind their parts files. It is opened when a study names a part that stands
/// in none of these, and not before.
pub struct Shelf {
    place: Result<Place, Failure>,
    library: OnceCell<Result<Library, LibraryError>>,
}

impl Shelf {
    /// With the library at the place that `--library` names, or the usual one.
    pub fn new(option: Option<&Path>) -> Shelf {
        Shelf {
            place: Place::new(option),
            library: OnceCell::new(),
        }
    }

    /// Reads a study.
    pub fn study(&self, path: &Path) -> Result<Study, Failure> {
        let loader = StudyLoader {
            files: FolderLoader::new(folder_of(path)),
            shelf: self,
        };
        Ok(read_with(path, &loader)?)
    }

    /// Reads a study from a text in place of what stands in its file. The files that it names are looked for beside it
    /// and, where a folder is given, must lie in that folder whatever links lead to.
    pub fn study_text(&self, path: &Path, name: &str, text: &str, within: &Folder) -> Result<Study, Failure> {
        let loader = StudyLoader {
            files: ConfinedLoader {
                files: FolderLoader::new(folder_of(path)),
                beside: folder_of(path).to_owned(),
                within: within.clone(),
            },
            shelf: self,
        };
        Ok(read_text(name, text, &loader)?)
    }

    /// Every part of the library.
    pub fn datasheets(&self) -> Result<Vec<Datasheet>, Failure> {
        let place = self.place.as_ref().map_err(Clone::clone)?;
        match self.opened(place) {
            Ok(library) => Ok(library.datasheets(&Filter::default())?),
            Err(error) => Err(Failure::library(error.to_string(), error.hint())),
        }
    }

    fn opened(&self, place: &Place) -> &Result<Library, LibraryError> {
        self.library.get_or_init(|| place.read())
    }
}

/// Files beside a study, and the shelf.
struct StudyLoader<'s, F> {
    files: F,
    shelf: &'s Shelf,
}

/// Files beside a study, as far as they lie in an opened folder.
struct ConfinedLoader {
    files: FolderLoader,
    beside: PathBuf,
    within: Folder,
}

impl Loader for ConfinedLoader {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        match self.beside.join(name).canonicalize() {
            Ok(real) if !self.within.holds(&real) => Err(LoadError::Other(
                "it is hidden, or a link that leads out of the opened folder".to_owned(),
            )),
            // By the path that was looked at: an absolute one stays what it is when joined.
            Ok(real) => match real.to_str() {
                Some(real) => self.files.load(real),
                None => Err(LoadError::Other("its path is not in UTF-8".to_owned())),
            },
            // What is not there the inner loader says best.
            Err(_) => self.files.load(name),
        }
    }
}

impl<F: Loader> Loader for StudyLoader<'_, F> {
    fn load(&self, name: &str) -> Result<Vec<u8>, LoadError> {
        self.files.load(name)
    }

    fn part(&self, name: &str) -> Result<Option<LibraryPart>, (String, String)> {
        // Without a place for a library there is no library.
        let Ok(place) = &self.shelf.place else {
            return Ok(None);
        };
        let words = |error: &LibraryError| (error.to_string(), error.hint().to_owned());
        let library = self.shelf.opened(place).as_ref().map_err(words)?;
        let Some(record) = library.part(name).map_err(|error| words(&error))? else {
            return Ok(None);
        };
        let text = serde_json::to_string(&PartExport::from(&record))
            .map_err(|error| (error.to_string(), String::new()))?;
        Ok(Some(LibraryPart {
            datasheet: record.datasheet(),
            text,
        }))
    }

    fn library(&self) -> Option<String> {
        let path = self.shelf.place.as_ref().ok()?.path();
        let kind = if path.exists() {
            ""
        } else {
            " (not there yet: demonstration parts only)"
        };
        Some(format!("the parts library {}{kind}", path.display()))
    }
}
