//! News for open pages, as server-sent events.

use std::convert::Infallible;
use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime};

use axum::extract::State;
use axum::response::sse::{self, KeepAlive, Sse};
use futures_util::Stream;
use serde::Serialize;
use sha2::{Digest, Sha256};
use tokio::sync::{broadcast, watch};

use crate::state::App;

/// How often files are looked at.
const EVERY: Duration = Duration::from_secs(1);
/// How many files of the folder are looked at.
const MOST_FILES: usize = 20_000;

/// Something that pages may want to know.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// The text of a study has changed, by a page or another program.
    Changed {
        /// The study.
        name: String,
        /// The revision it has now.
        revision: String,
    },
    /// An assessment goes on.
    Progress {
        /// The study.
        name: String,
        /// Finished corners.
        done: usize,
        /// All corners.
        all: usize,
    },
    /// An assessment is finished.
    Judged {
        /// The study.
        name: String,
    },
    /// A file of the folder or the parts library has changed.
    Files,
    /// A long run that a page began goes on.
    Job {
        /// Number of the run.
        id: u64,
        /// Finished pieces.
        done: u64,
        /// All pieces.
        all: u64,
        /// It has ended.
        ended: bool,
    },
    /// The server ends.
    Ending,
}

/// Where events go.
#[derive(Debug)]
pub struct Events {
    sender: broadcast::Sender<Event>,
    ending: watch::Sender<bool>,
}

impl Default for Events {
    fn default() -> Self {
        Events {
            sender: broadcast::Sender::new(256),
            ending: watch::Sender::new(false),
        }
    }
}

impl Events {
    /// Tells every open page.
    pub fn send(&self, event: Event) {
        // Without an open page nobody listens.
        let _ = self.sender.send(event);
    }

    /// Tells every page that the server ends, and ends their streams.
    pub fn end(&self) {
        self.send(Event::Ending);
        self.ending.send_replace(true);
    }

    /// Becomes true when the server ends.
    pub fn ending(&self) -> watch::Receiver<bool> {
        self.ending.subscribe()
    }
}

/// `GET /events`
pub async fn stream(State(app): State<App>) -> Sse<impl Stream<Item = Result<sse::Event, Infallible>>> {
    let receiver = app.events().sender.subscribe();
    let ending = app.events().ending();
    let stream = futures_util::stream::unfold((receiver, ending), |(mut receiver, mut ending)| async move {
        if *ending.borrow() {
            return None;
        }
        let event = tokio::select! {
            event = receiver.recv() => event,
            _ = ending.changed() => Ok(Event::Ending),
        };
        let event = match event {
            Ok(event) => event,
            // A page that slept has missed something: it looks at everything again.
            Err(broadcast::error::RecvError::Lagged(_)) => Event::Files,
            Err(broadcast::error::RecvError::Closed) => return None,
        };
        let data = sse::Event::default().json_data(&event).unwrap_or_default();
        Some((Ok(data), (receiver, ending)))
    });
    Sse::new(stream).keep_alive(KeepAlive::default())
}

/// Looks at the files of the folder and the library once a second until the server ends.
pub async fn watch(app: App) {
    let mut ending = app.events().ending();
    let mut seen: Option<String> = None;
    loop {
        tokio::select! {
            () = tokio::time::sleep(EVERY) => {}
            _ = ending.changed() => return,
        }
        let looking = app.clone();
        let look = move || {
            let changed = looking.studies().refresh();
            (changed, fingerprint(&looking))
        };
        let Ok((changed, now)) = tokio::task::spawn_blocking(look).await else {
            continue;
        };
        for name in changed {
            announce(&app, &name);
        }
        if seen.as_ref().is_some_and(|seen| *seen != now) {
            app.events().send(Event::Files);
        }
        seen = Some(now);
    }
}

/// Tells pages that a study's text has changed.
pub fn announce(app: &App, name: &str) {
    if let Ok(study) = app.studies().get(name) {
        let revision = study.snapshot().revision;
        app.events().send(Event::Changed {
            name: name.to_owned(),
            revision,
        });
    }
}

/// Changes when a file of the folder or the library does: a digest of names, sizes and times.
fn fingerprint(app: &App) -> String {
    let mut hash = Sha256::new();
    let mut left = MOST_FILES;
    add_folder(app.folder().root(), 4, &mut left, &mut hash);
    if let Some(path) = app.library_path() {
        for end in ["", "-wal"] {
            let mut name = path.clone().into_os_string();
            name.push(end);
            add_file(Path::new(&name), &mut hash);
        }
    }
    format!("{:x}", hash.finalize())
}

fn add_folder(folder: &Path, depth: usize, left: &mut usize, hash: &mut Sha256) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        let hidden = path
            .file_name()
            .is_none_or(|name| name.as_encoded_bytes().starts_with(b"."));
        if hidden || *left == 0 {
            continue;
        }
        *left -= 1;
        match fs::symlink_metadata(&path) {
            Ok(about) if about.is_dir() && depth > 0 => add_folder(&path, depth - 1, left, hash),
            _ => add_file(&path, hash),
        }
    }
}

fn add_file(path: &Path, hash: &mut Sha256) {
    let Ok(about) = fs::metadata(path) else {
        return;
    };
    hash.update(path.as_os_str().as_encoded_bytes());
    hash.update(about.len().to_le_bytes());
    let changed = about.modified().unwrap_or(SystemTime::UNIX_EPOCH);
    if let Ok(since) = changed.duration_since(SystemTime::UNIX_EPOCH) {
        hash.update(since.as_nanos().to_le_bytes());
    }
}
