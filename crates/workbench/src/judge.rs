//! Assessments in the background, kept by what they depend on.
//!
//! An assessment of a study that has changed meanwhile is given up: the newest text wins. Transients are kept over edits,
//! so that only those are run that an edit touches.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tidewall_assess::assess_live;
use tidewall_assess::memo::Memo;
use tidewall_assess::result::{Assessment, Verdict};
use tidewall_assess::traces::Traces;
use tidewall_plot::Figure;
use tidewall_report::words::finding::reason;
use tidewall_study::Study;
use tidewall_transient::Options;
use tokio::sync::{Notify, Semaphore};

use crate::events::Event;
use crate::state::App;

/// How many results are kept.
const KEPT: usize = 60;
/// How many assessments run at once in the background; each uses all cores by itself.
const AT_ONCE: usize = 1;
/// How many assessments are kept in one line.
const SUMMARIES: usize = 20_000;
/// How many transients are kept over edits: some tens of kilobytes each.
const TRANSIENTS: usize = 1500;
/// How many transients are kept with their waves: up to a megabyte each.
const WAVES: usize = 80;

/// A study with its result.
#[derive(Debug)]
pub struct Judged {
    /// The study.
    pub study: Arc<Study>,
    /// The result.
    pub assessment: Assessment,
    /// Waves of each stress's worst corner.
    pub traces: Traces,
    /// Figures that were drawn of it, by the title of their section.
    pub drawn: Mutex<BTreeMap<&'static str, Vec<Arc<Figure>>>>,
}

impl Judged {
    /// The figures of a section, drawn when they are first asked for.
    pub fn figures(
        &self,
        title: &'static str,
        draw: impl FnOnce(&Judged) -> Vec<Figure>,
    ) -> Vec<Arc<Figure>> {
        let known = || self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(figures) = known().get(title) {
            return figures.clone();
        }
        let figures: Vec<Arc<Figure>> = draw(self).into_iter().map(Arc::new).collect();
        known().insert(title, figures.clone());
        figures
    }
}

/// What is known of an assessment.
#[derive(Clone, Debug)]
pub enum Judgement {
    /// It is done.
    Done(Arc<Judged>),
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

/// How soon an assessment is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Haste {
    /// Somebody looks at this very study.
    Now,
    /// When there is nothing else to do.
    InTurn,
}

/// Runs and keeps assessments. The key is the digest of a study, which covers its text and all files and parts it names.
#[derive(Debug)]
pub struct Judge {
    known: Mutex<Known>,
    permits: Arc<Semaphore>,
    /// Told whenever an assessment ends.
    news: Notify,
    memo: Memo,
    waves: Memo,
}

#[derive(Debug, Default)]
struct Known {
    judgements: BTreeMap<String, (u64, Judgement)>,
    /// Counts uses, to know what was used last.
    uses: u64,
    /// Of each study the assessment that goes on: its digest, and how to give it up.
    running: BTreeMap<String, (String, Arc<AtomicBool>)>,
    /// Of each study looked at the last finished assessment.
    last: BTreeMap<String, Arc<Judged>>,
    /// What lists say of assessments that may no longer be kept, by digest.
    summaries: BTreeMap<String, Summary>,
}

/// An assessment in one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// The verdict.
    pub verdict: Verdict,
    /// Its reason.
    pub reason: String,
}

impl Default for Judge {
    fn default() -> Self {
        Judge {
            known: Mutex::default(),
            permits: Arc::new(Semaphore::new(AT_ONCE)),
            news: Notify::new(),
            memo: Memo::new(TRANSIENTS),
            waves: Memo::new(WAVES),
        }
    }
}

impl Known {
    fn touch(&mut self, digest: &str) -> Option<Judgement> {
        self.uses += 1;
        let now = self.uses;
        let (used, judgement) = self.judgements.get_mut(digest)?;
        *used = now;
        Some(judgement.clone())
    }

    fn put(&mut self, digest: &str, judgement: Judgement) {
        self.uses += 1;
        self.judgements.insert(digest.to_owned(), (self.uses, judgement));
        while self.judgements.len() > KEPT {
            let finished = self
                .judgements
                .iter()
                .filter(|(_, (_, judgement))| !matches!(judgement, Judgement::Running { .. }));
            let Some(oldest) = finished
                .min_by_key(|(_, (used, _))| *used)
                .map(|(digest, _)| digest.clone())
            else {
                return;
            };
            self.judgements.remove(&oldest);
        }
    }

    fn keep(&mut self, name: &str, judged: &Arc<Judged>) {
        self.last.insert(name.to_owned(), Arc::clone(judged));
        while self.last.len() > KEPT {
            let other = self.last.keys().find(|own| *own != name).cloned();
            other.and_then(|other| self.last.remove(&other));
        }
        if self.summaries.len() >= SUMMARIES {
            self.summaries.clear();
        }
        let summary = Summary {
            verdict: judged.assessment.verdict,
            reason: reason(&judged.assessment),
        };
        self.summaries.insert(judged.study.digest.clone(), summary);
    }

    /// Forgets an assessment that was given up, unless it is known by now.
    fn drop_running(&mut self, digest: &str) {
        if matches!(self.judgements.get(digest), Some((_, Judgement::Running { .. }))) {
            self.judgements.remove(digest);
        }
    }
}

impl Judge {
    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// An assessment in one line, by the digest of its study.
    pub fn summary(&self, digest: &str) -> Option<Summary> {
        self.lock().summaries.get(digest).cloned()
    }

    /// The assessment of a digest, where it is finished.
    pub fn done(&self, digest: &str) -> Option<Arc<Judged>> {
        match self.lock().touch(digest)? {
            Judgement::Done(judged) => Some(judged),
            _ => None,
        }
    }

    /// The last finished assessment of a study of the folder, which may be of an earlier text.
    pub fn last(&self, name: &str) -> Option<Arc<Judged>> {
        self.lock().last.get(name).cloned()
    }

    /// What is known of a digest. Where nothing is, it is marked as running, an older run of the same study is told to stop,
    /// and the caller has to run it.
    fn known_or_begun(&self, name: &str, digest: &str) -> Result<Judgement, Arc<AtomicBool>> {
        let mut known = self.lock();
        if let Some(judgement) = known.touch(digest) {
            if let Judgement::Done(judged) = &judgement {
                known.keep(name, judged);
            }
            return Ok(judgement);
        }
        known.put(digest, BEGUN);
        let cancel = Arc::new(AtomicBool::new(false));
        let run = (digest.to_owned(), Arc::clone(&cancel));
        if let Some((older, stop)) = known.running.insert(name.to_owned(), run) {
            stop.store(true, Ordering::Relaxed);
            known.drop_running(&older);
        }
        Err(cancel)
    }

    /// Keeps what a run came to; `None` where it was given up. `cancel` tells the run from a later one of the same digest.
    fn ended(&self, name: &str, digest: &str, cancel: &Arc<AtomicBool>, judgement: Option<Judgement>) {
        let mut known = self.lock();
        let own = known
            .running
            .get(name)
            .is_some_and(|(_, running)| Arc::ptr_eq(running, cancel));
        if own {
            known.running.remove(name);
        }
        match judgement {
            Some(judgement) => {
                if let Judgement::Done(judged) = &judgement {
                    known.keep(name, judged);
                }
                known.put(digest, judgement);
            }
            None if own => known.drop_running(digest),
            None => {}
        }
        drop(known);
        self.news.notify_waiters();
    }
}

/// What is known of a study's assessment; begins it where nothing is. `name` is the study's name in the folder, for the
/// events. Call it within the server's runtime.
pub fn judgement(app: &App, name: &str, study: &Arc<Study>, haste: Haste) -> Judgement {
    let cancel = match app.judge().known_or_begun(name, &study.digest) {
        Ok(known) => return known,
        Err(cancel) => cancel,
    };
    let (app, name, study) = (app.clone(), name.to_owned(), Arc::clone(study));
    tokio::spawn(async move {
        let permits = Arc::clone(&app.judge().permits);
        let _permit = match haste {
            Haste::Now => None,
            Haste::InTurn => permits.acquire_owned().await.ok(),
        };
        let work = {
            let (app, name) = (app.clone(), name.clone());
            tokio::task::spawn_blocking(move || run(&app, &name, &study, &cancel))
        };
        if matches!(work.await, Ok(true)) {
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
        if !matches!(app.judge().lock().touch(digest), Some(Judgement::Running { .. })) {
            return;
        }
        news.await;
    }
}

/// True if there is a result to be told of.
fn run(app: &App, name: &str, study: &Arc<Study>, cancel: &Arc<AtomicBool>) -> bool {
    let judge = app.judge();
    let progress = |done: usize, all: usize| {
        // Some tens of events are enough for a bar.
        if done.is_multiple_of((all / 40).max(1)) {
            let mut known = judge.lock();
            // Looked at under the lock: a later run of the same digest may stand there.
            if cancel.load(Ordering::Relaxed) {
                return;
            }
            known.put(&study.digest, Judgement::Running { done, all });
            drop(known);
            app.events().send(Event::Progress {
                name: name.to_owned(),
                done,
                all,
            });
        }
    };
    let memos = (&judge.memo, &judge.waves);
    let work = AssertUnwindSafe(|| assess_live(study, &Options::default(), memos, cancel, &progress));
    let judgement = match catch_unwind(work) {
        Ok(Some((assessment, traces))) => Some(Judgement::Done(Arc::new(Judged {
            study: Arc::clone(study),
            assessment,
            traces,
            drawn: Mutex::default(),
        }))),
        Ok(None) => None,
        Err(_) => Some(Judgement::Broken),
    };
    let known = judgement.is_some();
    judge.ended(name, &study.digest, cancel, judgement);
    known
}
