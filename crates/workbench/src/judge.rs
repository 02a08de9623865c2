//! Assessments in the background, kept by what they depend on.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tidewall_assess::result::Assessment;
use tidewall_study::Study;
use tidewall_transient::Options;
use tokio::sync::{Notify, Semaphore};

use crate::events::Event;
use crate::state::App;

/// How many results are kept.
const KEPT: usize = 200;
/// How many assessments run at once; each uses all cores by itself.
const AT_ONCE: usize = 1;

/// What is known of an assessment.
#[derive(Clone, Debug)]
pub enum Judgement {
    /// It is done.
    Done(Arc<Assessment>),
    /// So many of so many corners are finished; none of none before it has begun.
    Running {
        /// Finished corners.
        done: usize,
        /// All corners.
        all: usize,
    },
    /// The computation broke.
    Broken,
}

/// Runs and keeps assessments. The key is the digest of a study, which covers its text and all files and parts it names.
#[derive(Debug)]
pub struct Judge {
    known: Mutex<Known>,
    permits: Arc<Semaphore>,
    /// Told whenever an assessment ends.
    news: Notify,
}

#[derive(Debug, Default)]
struct Known {
    judgements: BTreeMap<String, (u64, Judgement)>,
    /// Counts uses, to know what was used last.
    uses: u64,
}

impl Default for Judge {
    fn default() -> Self {
        Judge {
            known: Mutex::default(),
            permits: Arc::new(Semaphore::new(AT_ONCE)),
            news: Notify::new(),
        }
    }
}

impl Judge {
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn put(&self, digest: &str, judgement: Judgement) {
        let mut known = self.lock();
        known.uses += 1;
        let now = known.uses;
        known.judgements.insert(digest.to_owned(), (now, judgement));
        while known.judgements.len() > KEPT {
            let finished = known
                .judgements
                .iter()
                .filter(|(_, (_, judgement))| !matches!(judgement, Judgement::Running { .. }));
            let Some(oldest) = finished
                .min_by_key(|(_, (used, _))| *used)
                .map(|(digest, _)| digest.clone())
            else {
                return;
            };
            known.judgements.remove(&oldest);
        }
    }

    /// What is known of a digest; where nothing is, it is marked as running and the caller has to run it.
    fn known_or_begun(&self, digest: &str) -> Option<Judgement> {
        let mut known = self.lock();
        known.uses += 1;
        let now = known.uses;
        if let Some((used, judgement)) = known.judgements.get_mut(digest) {
            *used = now;
            return Some(judgement.clone());
        }
        known.judgements.insert(digest.to_owned(), (now, BEGUN));
        None
    }

    fn get(&self, digest: &str) -> Option<Judgement> {
        let mut known = self.lock();
        known.uses += 1;
        let now = known.uses;
        let (used, judgement) = known.judgements.get_mut(digest)?;
        *used = now;
        Some(judgement.clone())
    }
}

/// What is known of a study's assessment; begins it where nothing is. `name` is the study's name in the folder, for the
/// events. Call it within the server's runtime.
pub fn judgement(app: &App, name: &str, study: &Arc<Study>) -> Judgement {
    let judge = app.judge();
    if let Some(known) = judge.known_or_begun(&study.digest) {
        return known;
    }
    let (app, name, study) = (app.clone(), name.to_owned(), Arc::clone(study));
    tokio::spawn(async move {
        let Ok(_permit) = Arc::clone(&app.judge().permits).acquire_owned().await else {
            return;
        };
        let work = {
            let (app, name) = (app.clone(), name.clone());
            tokio::task::spawn_blocking(move || run(&app, &name, &study))
        };
        if work.await.is_ok() {
            app.events().send(Event::Judged { name });
        }
    });
    BEGUN
}

/// An assessment that waits for its turn.
const BEGUN: Judgement = Judgement::Running { done: 0, all: 0 };

/// Ends when the assessment of that digest is no longer running.
pub async fn finished(app: &App, digest: &str) {
    loop {
        let news = app.judge().news.notified();
        tokio::pin!(news);
        // Registered before looking, or the end could fall between.
        news.as_mut().enable();
        if !matches!(app.judge().get(digest), Some(Judgement::Running { .. })) {
            return;
        }
        news.await;
    }
}

fn run(app: &App, name: &str, study: &Study) {
    let progress = |done: usize, all: usize| {
        // Some tens of events are enough for a bar.
        if done.is_multiple_of((all / 40).max(1)) {
            app.judge().put(&study.digest, Judgement::Running { done, all });
            app.events().send(Event::Progress {
                name: name.to_owned(),
                done,
                all,
            });
        }
    };
    let work = AssertUnwindSafe(|| tidewall_assess::assess(study, &Options::default(), &progress));
    let judgement = match catch_unwind(work) {
        Ok(result) => Judgement::Done(Arc::new(result)),
        Err(_) => Judgement::Broken,
    };
    app.judge().put(&study.digest, judgement);
    app.judge().news.notify_waiters();
}
