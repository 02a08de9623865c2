//! Long runs that a page asks for: rankings, comparisons, draws, plans and notes.
//!
//! A run is known by a number as long as the workbench runs, so that a page that is loaded again finds it. Numbers begin with
//! the time of the start: those of an earlier start are never given again, and a page that asks for one can be told that the
//! run went with that start.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use axum::http::StatusCode;
use tidewall_desk::failure::Failure;
use tidewall_desk::library::now;
use tokio::sync::Semaphore;

use crate::asked::Asked;
use crate::error::Refusal;
use crate::events::Event;
use crate::known::Known;
use crate::product::Product;
use crate::state::App;

/// How many runs go on at once; each uses all cores by itself.
const AT_ONCE: usize = 2;
/// How many may wait or go on; more are refused.
const MOST_UNFINISHED: usize = 16;
/// Time between two events of one run at least.
const BETWEEN_EVENTS: Duration = Duration::from_millis(100);
/// How many ended runs are kept.
const KEPT: usize = 60;
/// How many ended runs of one kind and one study are kept.
const KEPT_ALIKE: usize = 4;

/// A mutex whose holder panicked still guards whole values here: each is replaced in one go.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Candidates are judged.
    Ranking,
    /// What a part must be.
    Requirement,
    /// Parts are laid side by side.
    Comparison,
    /// The parts nearest to one are looked for.
    Equivalents,
    /// Specimens are drawn.
    Draws,
    /// The highest survived levels are looked for.
    Levels,
    /// The laboratory test is planned.
    Plan,
    /// The note is made.
    Report,
    /// A capture is set against the prediction.
    Correlation,
}

impl Kind {
    /// What the run is called.
    pub fn title(self) -> &'static str {
        match self {
            Kind::Ranking => "ranking",
            Kind::Requirement => "requirement",
            Kind::Comparison => "comparison",
            Kind::Equivalents => "search for equivalents",
            Kind::Draws => "draws",
            Kind::Levels => "search for the highest levels",
            Kind::Plan => "test plan",
            Kind::Report => "report",
            Kind::Correlation => "comparison with the measurement",
        }
    }

    /// What a stop keeps of it: all that was done by then, or nothing.
    pub fn keeps_what_is_done(self) -> bool {
        matches!(
            self,
            Kind::Ranking | Kind::Equivalents | Kind::Draws | Kind::Levels
        )
    }
}

/// How far a run is.
#[derive(Clone, Debug)]
pub enum Stage {
    /// Others go on before it.
    Waiting,
    /// It goes on.
    Running {
        /// What is being counted.
        what: &'static str,
        /// Finished pieces.
        done: u64,
        /// All pieces; zero where that is not known yet.
        all: u64,
    },
    /// It has ended; a stopped one holds what was done by then.
    Done(Arc<Product>),
    /// It was stopped, and nothing of it is left.
    Stopped,
    /// It cannot be done.
    Failed(Failure),
    /// It broke.
    Broken,
}

/// A run.
#[derive(Debug)]
pub struct Job {
    /// Its number.
    pub id: u64,
    /// The study's name in the folder.
    pub study: String,
    /// What is done.
    pub kind: Kind,
    /// What was asked for.
    pub asked: Asked,
    /// Digest of the study that it is about.
    pub digest: String,
    stop: AtomicBool,
    stage: Mutex<Stage>,
    /// When pages were told last how far it is.
    told: Mutex<Option<Instant>>,
}

impl Job {
    /// How far it is.
    pub fn stage(&self) -> Stage {
        lock(&self.stage).clone()
    }

    /// It neither waits nor goes on.
    pub fn ended(&self) -> bool {
        !matches!(*lock(&self.stage), Stage::Waiting | Stage::Running { .. })
    }

    /// It was told to stop.
    pub fn is_stopping(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// What a run has of its surroundings.
pub struct Run<'a> {
    app: &'a App,
    job: &'a Job,
}

/// Ends a run that cannot be asked to stop; thrown by [`Run::show_or_stop`] and caught by the registry.
struct StopNow;

impl Run<'_> {
    /// The workbench.
    pub fn app(&self) -> &App {
        self.app
    }

    /// True once the run is to stop.
    pub fn stopping(&self) -> bool {
        self.job.is_stopping()
    }

    /// The same as a flag.
    pub fn stop(&self) -> &AtomicBool {
        &self.job.stop
    }

    /// Tells the pages how far it is.
    pub fn show(&self, what: &'static str, done: u64, all: u64) {
        *lock(&self.job.stage) = Stage::Running { what, done, all };
        // Pieces may take microseconds or minutes: events go by the clock.
        let now = Instant::now();
        let mut told = lock(&self.job.told);
        if done != all && told.is_some_and(|told| now.duration_since(told) < BETWEEN_EVENTS) {
            return;
        }
        *told = Some(now);
        drop(told);
        self.app.events().send(Event::Job {
            id: self.job.id,
            done,
            all,
            ended: false,
        });
    }

    /// The same for work that has no other place to stop: it is unwound from here, and nothing of it is left.
    pub fn show_or_stop(&self, what: &'static str, done: usize, all: usize) {
        if self.stopping() {
            resume_unwind(Box::new(StopNow));
        }
        self.show(what, done as u64, all as u64);
    }
}

/// All runs.
#[derive(Debug)]
pub struct Jobs {
    list: Mutex<List>,
    permits: Arc<Semaphore>,
    known: Known,
}

#[derive(Debug)]
struct List {
    next: u64,
    /// Oldest first.
    jobs: VecDeque<Arc<Job>>,
}

impl Default for Jobs {
    fn default() -> Self {
        // A thousand runs a second and 2^53, the largest number that scripts count to, are far away.
        let start = u64::try_from(now()).unwrap_or(0) * 1000;
        Jobs {
            list: Mutex::new(List {
                next: start,
                jobs: VecDeque::new(),
            }),
            permits: Arc::new(Semaphore::new(AT_ONCE)),
            known: Known::default(),
        }
    }
}

impl Jobs {
    /// Candidates judged by earlier runs.
    pub fn known(&self) -> &Known {
        &self.known
    }

    /// The run of a number, if it was begun in this start and is still kept.
    pub fn get(&self, id: u64) -> Option<Arc<Job>> {
        let list = lock(&self.list);
        list.jobs.iter().find(|job| job.id == id).cloned()
    }

    /// The latest run of a kind for a study.
    pub fn latest(&self, study: &str, kind: Kind) -> Option<Arc<Job>> {
        self.latest_where(|job| job.study == study && job.kind == kind)
    }

    /// The latest run of a kind for a study as it was then, with that question.
    pub fn latest_asked(&self, study: &str, kind: Kind, digest: &str, asked: &Asked) -> Option<Arc<Job>> {
        self.latest_where(|job| {
            job.study == study && job.kind == kind && job.digest == digest && job.asked == *asked
        })
    }

    fn latest_where(&self, wanted: impl Fn(&Job) -> bool) -> Option<Arc<Job>> {
        let list = lock(&self.list);
        list.jobs.iter().rev().find(|job| wanted(job)).cloned()
    }

    /// Tells a run to stop; false where it has ended or is not known.
    pub fn stop(&self, id: u64) -> bool {
        let Some(job) = self.get(id) else { return false };
        job.stop.store(true, Ordering::Relaxed);
        !job.ended()
    }

    /// Tells all runs to stop.
    pub fn stop_all(&self) {
        for job in &lock(&self.list).jobs {
            job.stop.store(true, Ordering::Relaxed);
        }
    }

    /// Takes a new run in. An unfinished one of the same kind for the same study is stopped: it was asked for something else.
    fn add(&self, wish: Wish) -> Result<Arc<Job>, Refusal> {
        let mut list = lock(&self.list);
        let unfinished = || list.jobs.iter().filter(|job| !job.ended());
        if unfinished().count() >= MOST_UNFINISHED {
            return Err(Refusal::new(
                StatusCode::TOO_MANY_REQUESTS,
                format!("{MOST_UNFINISHED} runs wait or go on already"),
                "wait until one has ended, or stop one",
            ));
        }
        for job in unfinished().filter(|job| job.study == wish.study && job.kind == wish.kind) {
            job.stop.store(true, Ordering::Relaxed);
        }
        let job = Arc::new(Job {
            id: list.next,
            study: wish.study,
            kind: wish.kind,
            asked: wish.asked,
            digest: wish.digest,
            stop: AtomicBool::new(false),
            stage: Mutex::new(Stage::Waiting),
            told: Mutex::new(None),
        });
        list.next += 1;
        list.jobs.push_back(Arc::clone(&job));
        list.forget(&job);
        Ok(job)
    }
}

impl List {
    /// Drops the oldest ended runs beyond the limits.
    fn forget(&mut self, newest: &Job) {
        let alike = |job: &Job| job.study == newest.study && job.kind == newest.kind;
        let drop_oldest = |jobs: &mut VecDeque<Arc<Job>>, most: usize, of: &dyn Fn(&Job) -> bool| {
            let ended: Vec<usize> = (0..jobs.len())
                .filter(|&k| jobs[k].ended() && of(&jobs[k]))
                .collect();
            let surplus = ended.len().saturating_sub(most);
            for k in ended[..surplus].iter().rev() {
                jobs.remove(*k);
            }
        };
        drop_oldest(&mut self.jobs, KEPT_ALIKE, &alike);
        drop_oldest(&mut self.jobs, KEPT, &|_| true);
    }
}

/// What is to be run.
#[derive(Clone, Debug)]
pub struct Wish {
    /// The study's name in the folder.
    pub study: String,
    /// What is done.
    pub kind: Kind,
    /// What was asked for.
    pub asked: Asked,
    /// Digest of the study that it is about.
    pub digest: String,
}

/// Begins a run. Call it within the server's runtime.
///
/// # Errors
/// Where too many are unfinished.
pub fn start(
    app: &App,
    wish: Wish,
    work: impl FnOnce(&Run<'_>) -> Result<Product, Failure> + Send + 'static,
) -> Result<Arc<Job>, Refusal> {
    let job = app.jobs().add(wish)?;
    let (app, own) = (app.clone(), Arc::clone(&job));
    tokio::spawn(async move {
        let Ok(_permit) = Arc::clone(&app.jobs().permits).acquire_owned().await else {
            return;
        };
        let ended = {
            let (app, job) = (app.clone(), Arc::clone(&own));
            tokio::task::spawn_blocking(move || outcome(&app, &job, work)).await
        };
        *lock(&own.stage) = ended.unwrap_or(Stage::Broken);
        app.events().send(Event::Job {
            id: own.id,
            done: 1,
            all: 1,
            ended: true,
        });
    });
    Ok(job)
}

fn outcome(app: &App, job: &Job, work: impl FnOnce(&Run<'_>) -> Result<Product, Failure>) -> Stage {
    if job.is_stopping() {
        return Stage::Stopped;
    }
    let run = Run { app, job };
    run.show("", 0, 0);
    match catch_unwind(AssertUnwindSafe(|| work(&run))) {
        Ok(Ok(product)) => Stage::Done(Arc::new(product)),
        Ok(Err(failure)) => Stage::Failed(failure),
        Err(reason) if reason.is::<StopNow>() => Stage::Stopped,
        Err(_) => Stage::Broken,
    }
}
