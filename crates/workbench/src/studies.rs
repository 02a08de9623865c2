//! The studies of the folder as texts: what was read, what was changed, and how to take it back.
//!
//! Every accepted change is on the disk before it is answered, so that a process that is killed loses nothing but the
//! ways back. The revision of a text is its digest: a change names the revision it was made on, and one made on another
//! is a conflict, be it by another window, an editor or a restart.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tidewall_desk::failure::Failure;
use tidewall_desk::file::{self, WriteError};
use tidewall_desk::folder::Folder;

use crate::error::Refusal;

/// How many steps back are kept for each study.
const STEPS: usize = 500;

/// A mutex whose holder panicked still guards whole values here: each is replaced in one go.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The opened folder and the studies of it that were asked for.
#[derive(Debug)]
pub struct Studies {
    folder: Folder,
    open: Mutex<BTreeMap<String, Arc<OpenStudy>>>,
}

/// One study.
#[derive(Debug)]
pub struct OpenStudy {
    name: String,
    path: PathBuf,
    state: Mutex<State>,
}

#[derive(Debug)]
struct State {
    text: Arc<str>,
    revision: String,
    undo: Vec<Step>,
    redo: Vec<Step>,
    gone: bool,
}

/// A text that was left, and what was done to it then.
#[derive(Clone, Debug)]
struct Step {
    label: String,
    text: Arc<str>,
}

/// A study's text at an instant.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// Name in the folder.
    pub name: String,
    /// The file.
    pub path: PathBuf,
    /// The text.
    pub text: Arc<str>,
    /// Digest of the text.
    pub revision: String,
    /// What undo would take back.
    pub undo: Option<String>,
    /// What redo would do again.
    pub redo: Option<String>,
    /// The file is no longer there.
    pub gone: bool,
}

/// Why a change was not made.
#[derive(Clone, Debug)]
pub enum ChangeError {
    /// It was made on another text than the present one.
    Conflict {
        /// The text as it is.
        now: Box<Snapshot>,
        /// The text that the change was made on, if it is still known.
        base: Option<Arc<str>>,
    },
    /// It cannot be made.
    Failed(Failure),
}

impl From<Failure> for ChangeError {
    fn from(failure: Failure) -> Self {
        ChangeError::Failed(failure)
    }
}

impl Studies {
    /// The studies of a folder.
    pub fn new(folder: Folder) -> Studies {
        Studies {
            folder,
            open: Mutex::default(),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Folder {
        &self.folder
    }

    /// The study of that name, as it is on the disk now.
    ///
    /// # Errors
    /// Where the folder has no such file, or it is no text.
    pub fn get(&self, name: &str) -> Result<Arc<OpenStudy>, Refusal> {
        let known = lock(&self.open).get(name).cloned();
        if let Some(study) = known {
            study.refresh();
            return Ok(study);
        }
        let not_there = |failure: Failure| Refusal {
            status: axum::http::StatusCode::NOT_FOUND,
            ..Refusal::from(failure)
        };
        if !name.ends_with(".toml") {
            return Err(Refusal::missing(
                format!("`{name}` is no study"),
                "a study is a .toml file with a [port] table",
            ));
        }
        let path = self.folder.file(name).map_err(not_there)?;
        let text = file::read(&path, name)?;
        let study = Arc::new(OpenStudy::new(name, path, text));
        Ok(Arc::clone(
            lock(&self.open).entry(name.to_owned()).or_insert(study),
        ))
    }

    /// Looks whether files of open studies have changed; the names of those that have.
    pub fn refresh(&self) -> Vec<String> {
        let open: Vec<Arc<OpenStudy>> = lock(&self.open).values().cloned().collect();
        open.iter()
            .filter(|study| study.refresh())
            .map(|study| study.name.clone())
            .collect()
    }
}

impl OpenStudy {
    fn new(name: &str, path: PathBuf, text: String) -> OpenStudy {
        let revision = file::digest(&text);
        OpenStudy {
            name: name.to_owned(),
            path,
            state: Mutex::new(State {
                text: text.into(),
                revision,
                undo: Vec::new(),
                redo: Vec::new(),
                gone: false,
            }),
        }
    }

    /// The text as it was last seen.
    pub fn snapshot(&self) -> Snapshot {
        self.snapshot_of(&lock(&self.state))
    }

    fn snapshot_of(&self, state: &State) -> Snapshot {
        let label = |steps: &[Step]| steps.last().map(|step| step.label.clone());
        Snapshot {
            name: self.name.clone(),
            path: self.path.clone(),
            text: Arc::clone(&state.text),
            revision: state.revision.clone(),
            undo: label(&state.undo),
            redo: label(&state.redo),
            gone: state.gone,
        }
    }

    /// Takes over what another program has written; true if there was something.
    pub fn refresh(&self) -> bool {
        self.adopt(&mut lock(&self.state))
    }

    fn adopt(&self, state: &mut State) -> bool {
        match file::read(&self.path, &self.name) {
            Ok(text) => {
                let came_back = std::mem::take(&mut state.gone);
                let revision = file::digest(&text);
                if revision == state.revision {
                    return came_back;
                }
                state.go(text.into(), "change by another program");
                true
            }
            Err(_) => !std::mem::replace(&mut state.gone, true),
        }
    }

    /// Makes a change on the text whose revision is `base`: `change` gives the new text. The text is on the disk when
    /// this returns.
    ///
    /// # Errors
    /// See [`ChangeError`]; the file is then as it was.
    pub fn change(
        &self,
        base: &str,
        label: &str,
        change: impl FnOnce(&str) -> Result<String, Failure>,
    ) -> Result<Snapshot, ChangeError> {
        let mut state = lock(&self.state);
        self.current(&mut state, base)?;
        let text = change(&state.text)?;
        if *text != *state.text {
            self.write(&mut state, &text)?;
            state.go(text.into(), label);
        }
        Ok(self.snapshot_of(&state))
    }

    /// Takes the last change back.
    ///
    /// # Errors
    /// As [`OpenStudy::change`], and where there is nothing to take back.
    pub fn undo(&self, base: &str) -> Result<Snapshot, ChangeError> {
        self.step(base, "undo", |state| (&mut state.undo, &mut state.redo))
    }

    /// Makes the last change that was taken back again.
    ///
    /// # Errors
    /// As [`OpenStudy::change`], and where there is nothing to make again.
    pub fn redo(&self, base: &str) -> Result<Snapshot, ChangeError> {
        self.step(base, "redo", |state| (&mut state.redo, &mut state.undo))
    }

    fn step(
        &self,
        base: &str,
        verb: &str,
        sides: fn(&mut State) -> (&mut Vec<Step>, &mut Vec<Step>),
    ) -> Result<Snapshot, ChangeError> {
        let mut state = lock(&self.state);
        self.current(&mut state, base)?;
        let (from, _) = sides(&mut state);
        let Some(step) = from.last().cloned() else {
            return Err(ChangeError::Failed(Failure::usage(
                format!("there is nothing to {verb}"),
                "changes of this start can be taken back; those made before are in the file's own history",
            )));
        };
        self.write(&mut state, &step.text)?;
        let left = Step {
            label: step.label,
            text: Arc::clone(&state.text),
        };
        let (from, to) = sides(&mut state);
        from.pop();
        to.push(left);
        state.set(step.text);
        Ok(self.snapshot_of(&state))
    }

    /// Refuses a change that was not made on the present text.
    fn current(&self, state: &mut State, base: &str) -> Result<(), ChangeError> {
        self.adopt(state);
        if state.gone {
            return Err(ChangeError::Failed(Failure::output(
                &self.name,
                "is no longer there",
                "it was removed or renamed by another program; its text is still shown here, copy it if you need it",
            )));
        }
        if base == state.revision {
            return Ok(());
        }
        let known = state.undo.iter().chain(&state.redo);
        let base = known
            .map(|step| &step.text)
            .find(|text| file::digest(text) == base)
            .map(Arc::clone);
        Err(ChangeError::Conflict {
            now: Box::new(self.snapshot_of(state)),
            base,
        })
    }

    fn write(&self, state: &mut State, text: &str) -> Result<(), ChangeError> {
        match file::replace(&self.path, &self.name, text, &state.revision) {
            Ok(()) => Ok(()),
            Err(WriteError::Failed(failure)) => Err(ChangeError::Failed(failure)),
            Err(WriteError::Changed(_)) => {
                let base = Arc::clone(&state.text);
                self.adopt(state);
                Err(ChangeError::Conflict {
                    now: Box::new(self.snapshot_of(state)),
                    base: Some(base),
                })
            }
        }
    }
}

impl State {
    /// Goes to a new text, with a way back to the present one.
    fn go(&mut self, text: Arc<str>, label: &str) {
        if self.undo.len() == STEPS {
            self.undo.remove(0);
        }
        self.undo.push(Step {
            label: label.to_owned(),
            text: Arc::clone(&self.text),
        });
        self.redo.clear();
        self.set(text);
    }

    fn set(&mut self, text: Arc<str>) {
        self.revision = file::digest(&text);
        self.text = text;
    }
}
