//! What all requests share.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use tidewall_desk::failure::Failure;
use tidewall_desk::folder::Folder;
use tidewall_desk::library::{Place, Shelf};
use tidewall_parts::Filter;
use tidewall_study::Study;
use tokio::task::spawn_blocking;

use crate::error::Refusal;
use crate::events::Events;
use crate::figures::Figures;
use crate::guard::Keys;
use crate::jobs::Jobs;
use crate::judge::Judge;
use crate::studies::{Snapshot, Studies};
use crate::uploads::Uploads;

/// The workbench of one start; cheap to clone.
#[derive(Clone, Debug)]
pub struct App(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    keys: Keys,
    studies: Studies,
    library: Option<PathBuf>,
    demo: bool,
    judge: Judge,
    jobs: Jobs,
    events: Events,
    part_names: Mutex<Option<PartNames>>,
    uploads: Uploads,
    figures: Figures,
}

/// Size and time of a file; `None` where there is none.
type Stamp = Option<(u64, Option<SystemTime>)>;

/// Names of the library's parts, with the file, its stamp and that of its log by which they are known to be fresh.
type PartNames = (Option<(PathBuf, [Stamp; 2])>, Arc<Vec<String>>);

fn stamp(path: &Path) -> Stamp {
    let about = path.metadata().ok()?;
    Some((about.len(), about.modified().ok()))
}

/// A study as it stands: its text, and what the text says or why it cannot be read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The text.
    pub snapshot: Snapshot,
    /// The study.
    pub study: Result<Arc<Study>, Failure>,
}

impl App {
    /// A workbench over a folder. `library` names the parts library's file in place of the usual one.
    pub fn new(folder: Folder, library: Option<PathBuf>, demo: bool, keys: Keys) -> App {
        App(Arc::new(Inner {
            keys,
            studies: Studies::new(folder),
            library,
            demo,
            judge: Judge::default(),
            jobs: Jobs::default(),
            events: Events::default(),
            part_names: Mutex::default(),
            uploads: Uploads::default(),
            figures: Figures::default(),
        }))
    }

    /// The secrets.
    pub fn keys(&self) -> &Keys {
        &self.0.keys
    }

    /// The studies.
    pub fn studies(&self) -> &Studies {
        &self.0.studies
    }

    /// The opened folder.
    pub fn folder(&self) -> &Folder {
        self.0.studies.folder()
    }

    /// The folder is a copy of the demo.
    pub fn is_demo(&self) -> bool {
        self.0.demo
    }

    /// Who computes.
    pub fn judge(&self) -> &Judge {
        &self.0.judge
    }

    /// Long runs.
    pub fn jobs(&self) -> &Jobs {
        &self.0.jobs
    }

    /// News for open pages.
    pub fn events(&self) -> &Events {
        &self.0.events
    }

    /// Tables that pages sent.
    pub fn uploads(&self) -> &Uploads {
        &self.0.uploads
    }

    /// Figures that pages have shown.
    pub fn figures(&self) -> &Figures {
        &self.0.figures
    }

    /// The parts library's file as it was named at the start; `None` for the usual place.
    pub fn library(&self) -> Option<&Path> {
        self.0.library.as_deref()
    }

    /// The parts library's file, wherever it is.
    pub fn library_path(&self) -> Option<PathBuf> {
        let place = Place::new(self.library()).ok()?;
        Some(place.path().to_owned())
    }

    /// Reader of studies and parts. It is for one thread; make one where it is used.
    pub fn shelf(&self) -> Shelf {
        Shelf::new(self.library())
    }

    /// A study by name, read anew from the disk. Blocks.
    ///
    /// # Errors
    /// Where there is no such study in the folder.
    pub fn reading(&self, name: &str) -> Result<Reading, Refusal> {
        let snapshot = self.studies().get(name)?.snapshot();
        let study = self.read(&snapshot);
        Ok(Reading { snapshot, study })
    }

    /// What a text says. Blocks.
    pub fn read(&self, snapshot: &Snapshot) -> Result<Arc<Study>, Failure> {
        let shelf = self.shelf();
        let study = shelf.study_text(&snapshot.path, &snapshot.name, &snapshot.text, self.folder());
        study.map(Arc::new)
    }

    /// Names of the library's parts; none where it cannot be read. Blocks.
    pub fn part_names(&self) -> Arc<Vec<String>> {
        let stamp = self.library_path().map(|path| {
            // What is committed stands in the log first.
            let mut log = path.clone().into_os_string();
            log.push("-wal");
            let stamps = [stamp(&path), stamp(Path::new(&log))];
            (path, stamps)
        });
        let mut known = self.0.part_names.lock().unwrap_or_else(PoisonError::into_inner);
        match &*known {
            Some((own, names)) if *own == stamp => Arc::clone(names),
            _ => {
                let library = Place::new(self.library())
                    .ok()
                    .and_then(|place| place.read().ok());
                let names = library.and_then(|library| library.names(&Filter::default()).ok());
                let names = Arc::new(names.unwrap_or_default());
                *known = Some((stamp, Arc::clone(&names)));
                names
            }
        }
    }

    /// Runs something that reads files or computes on a thread that may block.
    ///
    /// # Errors
    /// Those of `work`, and [`Refusal::internal`] if it panics.
    pub async fn blocking<T: Send + 'static>(
        &self,
        work: impl FnOnce(&App) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let app = self.clone();
        match spawn_blocking(move || work(&app)).await {
            Ok(done) => done,
            Err(_) => Err(Refusal::internal()),
        }
    }
}
