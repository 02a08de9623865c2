//! Ranking of many parts.

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use cpu_time::ProcessTime;
use serde::{Deserialize, Serialize};
use tidewall_assess::corners::cases;
use tidewall_assess::rank::{Position, RankOptions, rank};
use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_study::{FolderLoader, Study, read_text};

use super::memory;

const STUDY: &str = include_str!("../../data/ranking.toml");
/// The stage that the parts stand in.
const STAGE: &str = "D1";

/// What one ranking took.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Ranked {
    /// Parts judged.
    pub parts: usize,
    /// Stresses of the study.
    pub stresses: usize,
    /// Corners of all stresses.
    pub corners: usize,
    /// Whether a part was left at its first failing step.
    pub screened: bool,
    /// Transients run.
    pub transients: usize,
    /// Parts rejected.
    pub rejected: usize,
    /// Time in seconds.
    pub seconds: f64,
    /// Processor time of all threads in seconds.
    pub processor_s: f64,
    /// Most memory the process has had, in bytes, and before the ranking began.
    pub peak_bytes: Option<u64>,
    /// The same before the ranking began.
    pub before_bytes: Option<u64>,
}

/// The study, with its first `stresses` stresses only.
///
/// # Errors
/// In words, why it cannot be read.
pub fn study(demo: &Path, stresses: usize) -> Result<Study, String> {
    let mut study =
        read_text("ranking", STUDY, &FolderLoader::new(demo)).map_err(|error| error.to_string())?;
    study.stresses.truncate(stresses);
    Ok(study)
}

/// So many parts: the demonstration's avalanche diodes and flat clamps with every voltage scaled from 0.8 to 1.6 of its own.
pub fn parts(study: &Study, count: usize) -> Vec<Arc<Datasheet>> {
    let wanted = |part: &&Datasheet| matches!(part.family, Family::Avalanche | Family::FlatClamp);
    let bases: Vec<&Datasheet> = study.parts.values().filter(wanted).collect();
    (0..count)
        .map(|k| {
            let base = bases[k % bases.len()];
            // Steps of the golden ratio fill the range evenly however many there are.
            let scale = 0.8 + 0.8 * (0.618_033_988_75 * (k / bases.len()) as f64).fract();
            Arc::new(scaled(base, scale, k))
        })
        .collect()
}

fn scaled(base: &Datasheet, scale: f64, number: usize) -> Datasheet {
    let mut part = base.clone();
    part.name = format!("{}-{number}", base.name).into();
    let volts = |value: &mut Option<f64>| *value = value.map(|volts| volts * scale);
    volts(&mut part.stand_off_v);
    volts(&mut part.turn_off_v);
    for spread in [&mut part.breakdown_v, &mut part.on_v, &mut part.hold_v] {
        volts(&mut spread.min);
        volts(&mut spread.typ);
        volts(&mut spread.max);
    }
    for point in &mut part.clamp {
        volts(&mut point.voltage_v.min);
        volts(&mut point.voltage_v.typ);
        volts(&mut point.voltage_v.max);
    }
    for point in &mut part.leakage {
        point.voltage_v *= scale;
    }
    part
}

/// Ranks so many parts under so many stresses.
///
/// # Errors
/// In words, why they cannot be ranked.
pub fn once(demo: &Path, count: usize, stresses: usize, screened: bool) -> Result<Ranked, String> {
    let study = study(demo, stresses)?;
    let parts = parts(&study, count);
    let position = Position::of_parts(&study, STAGE, &parts).map_err(|error| error.to_string())?;
    let options = RankOptions {
        screen: screened,
        ..RankOptions::default()
    };
    let before_bytes = memory::own_peak_bytes();
    let (start, spent) = (Instant::now(), ProcessTime::now());
    let ranking = rank(&study, &[position], &options).map_err(|error| error.to_string())?;
    let (seconds, processor_s) = (start.elapsed().as_secs_f64(), spent.elapsed().as_secs_f64());
    let all = ranking.ranked.iter().chain(&ranking.rejected);
    Ok(Ranked {
        parts: ranking.counts.judged,
        stresses: study.stresses.len(),
        corners: cases(&study).len(),
        screened,
        transients: all.map(|candidate| candidate.transients).sum(),
        rejected: ranking.rejected.len(),
        seconds,
        processor_s,
        peak_bytes: memory::own_peak_bytes(),
        before_bytes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stress_of_the_study_has_32_corners() {
        let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/river-gauge");
        let study = study(Path::new(demo), usize::MAX).unwrap();
        let cases = cases(&study);
        assert_eq!(study.stresses.len(), 6);
        for stress in 0..6 {
            assert_eq!(cases.iter().filter(|case| case.stress == stress).count(), 32);
        }
    }
}
