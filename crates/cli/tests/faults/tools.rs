//! Tools of these tests.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::common::{self, Bench, finish, fixture};

/// Kills of each kind.
pub fn kills() -> u32 {
    let said = std::env::var("TIDEWALL_KILLS").ok();
    said.map_or(8, |text| text.parse().expect("TIDEWALL_KILLS is a number"))
}

/// Whether as many kills are asked for as are worth longer commands.
pub fn in_full() -> bool {
    kills() >= 100
}

/// Numbers from 0 to 1, the same ones each time.
pub struct Dice(ChaCha8Rng);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(seed))
    }

    pub fn share(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / f64::from(u32::MAX)
    }

    pub fn below(&mut self, limit: usize) -> usize {
        ((self.share() * limit as f64) as usize).min(limit - 1)
    }
}

/// The program with a library of its own.
pub fn with_library(library: &Path) -> Command {
    let mut command = common::command();
    command.env("TIDEWALL_LIBRARY", library);
    command
}

/// Runs the program with a library of its own; it must end so.
#[track_caller]
pub fn run(library: &Path, args: &[&str], status: i32) -> common::Run {
    finish(with_library(library).args(args)).expect(status)
}

/// How long a command takes when nobody disturbs it.
pub fn duration(command: &mut Command) -> Duration {
    let start = Instant::now();
    let status = command.stdout(Stdio::null()).stderr(Stdio::null()).status();
    assert!(
        status
            .expect("the program starts")
            .code()
            .is_some_and(|code| code < 3),
        "{command:?}"
    );
    start.elapsed()
}

/// Starts a command and kills it after a time without a warning. True if it had not ended by itself.
pub fn kill_after(command: &mut Command, after: Duration) -> bool {
    let mut child = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    std::thread::sleep(after);
    child.kill().expect("it is killed");
    child.wait().expect("it has ended").code().is_none()
}

/// Moments spread over the duration of a command, the n-th of them within the n-th part of it.
pub fn moments(count: u32, duration: Duration, seed: u64) -> impl Iterator<Item = Duration> {
    let mut dice = Dice::new(seed);
    (0..count).map(move |number| duration.mul_f64((f64::from(number) + dice.share()) / f64::from(count)))
}

/// Most kills must have met a running program, else the test has shown nothing.
pub fn enough(what: &str, met: u32, of: u32) {
    eprintln!("{what}: {met} of {of} kills met the running program");
    assert!(
        met * 4 >= of,
        "{what}: only {met} of {of} kills met the running program"
    );
}

/// Every file of a folder with its bytes.
pub fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).expect("the folder");
    entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.is_file())
        .map(|path| {
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            (name, std::fs::read(&path).expect("a file"))
        })
        .collect()
}

/// Names of temporary files that were left behind.
pub fn litter(folder: &Path) -> Vec<String> {
    files(folder)
        .into_keys()
        .filter(|name| name.ends_with(".tmp"))
        .collect()
}

/// A study of one discharge, which is judged in a moment, with its parts beside it.
pub fn quick_study(bench: &Bench, name: &str, title: &str) -> String {
    let text = std::fs::read_to_string(fixture("passes.toml")).expect("a study");
    let surge = text.find("[[stress]]").expect("the surge");
    let discharge = text.rfind("[[stress]]").expect("the discharge");
    let text = format!("{}{}", &text[..surge], &text[discharge..]);
    bench.write(name, text.replacen("Test bench", title, 1))
}

/// Starts a command and kills it as soon as a file appears in a folder, or a little later. True if it had not ended by itself.
pub fn kill_at_first_file(command: &mut Command, folder: &Path, later: Duration) -> bool {
    let before = std::fs::read_dir(folder).expect("the folder").count();
    let mut child = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    while std::fs::read_dir(folder).expect("the folder").count() == before {
        if child.try_wait().expect("it is asked").is_some() {
            return false;
        }
        std::thread::sleep(Duration::from_micros(100));
    }
    std::thread::sleep(later);
    child.kill().expect("it is killed");
    child.wait().expect("it has ended").code().is_none()
}
