//! Requirement synthesis: the design window for a part, from port, stresses and pin, before any part is chosen.
//!
//! Normal operation gives bounds at once. What a stress asks is found by transients with an *ideal clamp* in the place:
//! no current up to a voltage, 1 mΩ above it, no heating, no capacitance worth speaking of. The highest voltage of that
//! clamp at which the pin stays inside its limits is the right wall for this place, with the study's own inductances in
//! it; the current that flows then is what a part must carry. No real part does better than the ideal clamp of its own
//! breakdown voltage, so where even the lowest one allowed fails, no single part can do it.

mod demands;
mod result;

use std::sync::Arc;

use tidewall_devices::datasheet::{Datasheet, Family, RatingWave};
use tidewall_devices::pulse_power::UnitWave;
use tidewall_study::{Between, InLine, SeriesElement, SeriesStage, ShuntStage, Stage, Study};
use tidewall_transient::Options;

use crate::build::shunt_places;
use crate::checks;
use crate::corners::{self, Case};
use crate::firing::blind_spots;
use crate::rank::{Choice, RankError, with};
use crate::result::{CheckResult, Corner, PartSet, StressSet, StudyRef, Verdict};
use crate::simulate::{CaseOutcome, Ports, Runs, simulate_all};
use crate::text::volts;
use demands::Walls;

pub use result::{Demand, Opening, REQUIREMENT_SCHEMA, Requirement, StressDemand};

/// Current in amperes at the end of the ideal clamp's curve, and its rise in volts up to there.
const END_A: f64 = 1e4;
const END_V: f64 = 10.0;
/// Current in amperes where the ideal clamp begins.
const FOOT_A: f64 = 1e-3;
/// Forward voltage in volts of the ideal clamp where it blocks one way only.
const FORWARD_V: f64 = 0.7;
/// Fineness of the searches, as a share.
const FINE: f64 = 0.01;
/// How far above the pin's highest withstand the search for the clamp voltage goes.
const HEADROOM: f64 = 1.5;
/// Range in ohms in which a series resistance is looked for.
const OHMS: (f64, f64) = (0.01, 1e3);

/// The window of a part in the place of a shunt stage.
///
/// # Errors
/// The ladder has no shunt stage of that name.
pub fn synthesise(study: &Study, stage: &str, options: &Options) -> Result<Requirement, RankError> {
    let shunt = study.shunt(stage).ok_or_else(|| RankError::NoStage {
        stage: stage.to_owned(),
        stages: shunts(study),
    })?;
    let walls = Walls::of(study, shunt);
    let search = Search {
        study,
        shunt,
        both_ways: walls.as_ref().is_none_or(|walls| walls.both_ways),
        beside_others: corners::shunts(study) > 1,
        options,
    };
    let wall_v = walls.as_ref().map(|walls| walls.lowest_clamp_v);
    let stresses: Vec<StressDemand> = match wall_v {
        Some(wall_v) => (0..study.stresses.len())
            .map(|number| search.stress(number, wall_v))
            .collect(),
        None => Vec::new(),
    };
    let known = wall_v.is_some() && stresses.iter().all(|stress| stress.missing.is_none());
    let window = known.then(|| stresses.iter().all(|stress| stress.highest_clamp_v.is_some()));
    let openings = match (window, wall_v) {
        (Some(false), Some(wall_v)) => search.openings(wall_v),
        _ => Vec::new(),
    };
    Ok(Requirement {
        schema: REQUIREMENT_SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        stage: stage.to_owned(),
        wall_v,
        demands: demands::demands(study, shunt),
        stresses,
        window,
        openings,
        notes: vec![
            "clamp voltages, currents and energies are those of an ideal clamp (1 mΩ) in this place, with the study's own \
             inductances; a real part's voltage rises with current and heat and must stay below the highest one"
                .to_owned(),
            "currents in 8/20 and 10/1000 are those of the same √t heating (mean power × √time), at 25 °C; derate for ambient"
                .to_owned(),
        ],
    })
}

fn shunts(study: &Study) -> Vec<String> {
    let shunts = study
        .ladder
        .iter()
        .filter(|stage| matches!(stage, Stage::Shunt(_)));
    shunts.map(|stage| stage.name().to_owned()).collect()
}

/// A clamp that conducts above `clamp_v` and hardly below.
fn ideal(clamp_v: f64, both_ways: bool) -> Datasheet {
    let mut sheet = Datasheet::unknown(
        "ideal clamp",
        Family::Table,
        "ideal clamp of the requirement synthesis",
    );
    let back_v = if both_ways { clamp_v } else { FORWARD_V };
    sheet.bidirectional = Some(both_ways);
    sheet.table = vec![
        (-back_v - END_V, -END_A),
        (-back_v, -FOOT_A),
        (clamp_v, FOOT_A),
        (clamp_v + END_V, END_A),
    ];
    sheet
}

struct Search<'a> {
    study: &'a Study,
    shunt: &'a ShuntStage,
    both_ways: bool,
    /// The study has other shunt stages, whose tolerances count too.
    beside_others: bool,
    options: &'a Options,
}

/// What ideal clamps leave of one or all stresses.
struct Tried {
    outcomes: Vec<CaseOutcome>,
    checks: Vec<CheckResult>,
    /// Corners that could not be run.
    failed: usize,
}

impl Tried {
    fn verdict(&self) -> Verdict {
        if self.failed > 0 {
            return Verdict::Unknown;
        }
        let checks = self.let_through();
        checks.fold(Verdict::Pass, |worst, check| worst.worse(check.verdict))
    }

    fn let_through(&self) -> impl Iterator<Item = &CheckResult> {
        let checks = self.checks.iter();
        checks.filter(|check| check.check.starts_with("let-through"))
    }
}

impl Search<'_> {
    /// The study with an ideal clamp in the place.
    fn ideal(&self, clamp_v: f64) -> Study {
        let choice = Choice::Part(Arc::new(ideal(clamp_v, self.both_ways)));
        with(self.study, &[(&self.shunt.name, &choice)])
    }

    /// Runs a study at the corners that an ideal clamp leaves different. Beside another stage the weaker generator and
    /// the blind spots below the firing count too: a first stage may leave them all to the clamp.
    fn run(&self, study: &Study, stress: Option<usize>) -> Tried {
        let others = self.beside_others;
        let hot = study.port.ambient_c.value.high;
        let wanted = |case: &Case| {
            stress.is_none_or(|stress| case.stress == stress)
                && (others
                    || case.tolerance != StressSet::Low
                        && case.ambient_c == hot
                        && case.parts == PartSet::High)
        };
        let mut cases: Vec<Case> = corners::cases(study).into_iter().filter(wanted).collect();
        let ports = Ports::new(study, &cases);
        if others {
            cases.extend(blind_spots(&ports, &cases, self.options));
        }
        let results = simulate_all(&ports, &cases, self.options, &|_| {});
        let runs = Runs::of(study, &cases, results);
        Tried {
            failed: runs.failures.len(),
            checks: runs.checks(study),
            outcomes: runs.outcomes,
        }
    }

    fn stress(&self, number: usize, wall_v: f64) -> StressDemand {
        let at = |clamp_v: f64| self.run(&self.ideal(clamp_v), Some(number));
        let lowest = at(wall_v);
        let pin = &self.study.pin;
        let withstand = [&pin.withstand, &pin.negative_withstand, &pin.withstand_common];
        let highest_withstand = withstand
            .into_iter()
            .flatten()
            .map(|level| level.voltage_v.abs())
            .fold(0.0, f64::max);
        let top = HEADROOM * highest_withstand;
        let (mut highest, mut open_above, mut used) = (None, false, lowest);
        match used.verdict() {
            Verdict::Pass | Verdict::Marginal if top > wall_v => {
                let above = at(top);
                if above.verdict() < Verdict::Unknown {
                    (highest, open_above, used) = (Some(top), true, above);
                } else {
                    let (mut safe, mut beyond) = (wall_v, top);
                    while beyond - safe > FINE * safe {
                        let middle = 0.5 * (safe + beyond);
                        let tried = at(middle);
                        if tried.verdict() < Verdict::Unknown {
                            (safe, used) = (middle, tried);
                        } else {
                            beyond = middle;
                        }
                    }
                    highest = Some(safe);
                }
            }
            Verdict::Pass | Verdict::Marginal => highest = Some(wall_v),
            Verdict::Unknown | Verdict::Fail => {}
        }
        let missing = match used.verdict() {
            Verdict::Unknown if used.failed > 0 => {
                Some("a ladder whose transient can be computed".to_owned())
            }
            Verdict::Unknown => used.let_through().find_map(|check| check.missing.clone()),
            _ => None,
        };
        self.demand(number, wall_v, highest, open_above, &used, missing)
    }

    fn demand(
        &self,
        number: usize,
        wall_v: f64,
        highest_clamp_v: Option<f64>,
        open_above: bool,
        tried: &Tried,
        missing: Option<String>,
    ) -> StressDemand {
        let case = &self.study.stresses[number];
        let mut demand = StressDemand {
            stress: case.id.clone(),
            highest_clamp_v,
            open_above,
            current_a: 0.0,
            energy_j: 0.0,
            as_8_20_a: None,
            as_10_1000_a: None,
            corner: Corner::at(self.study.port.ambient_c.value.high),
            impulses: checks::impulses(case),
            slope_at_most_ohm: None,
            missing,
        };
        let reference = |wave| UnitWave::of(wave).map(|wave: UnitWave| wave.theta_peak());
        let (short, long) = (
            reference(RatingWave::Surge8x20),
            reference(RatingWave::Long10x1000),
        );
        // The wall is approached from below in the directions that the clamp blocks; what flows forward meets none.
        let mut blocking_a = 0.0f64;
        for outcome in &tried.outcomes {
            for (name, _) in shunt_places(self.study, self.shunt) {
                let Some(element) = outcome.element(&name) else {
                    continue;
                };
                let log = &outcome.outcome.elements[element];
                demand.energy_j = demand.energy_j.max(log.energy_j);
                // In the part's own orientation, which turns to the side that blocks.
                blocking_a = blocking_a.max(if self.both_ways {
                    log.amps.size()
                } else {
                    log.amps.max
                });
                if log.amps.size() > demand.current_a {
                    demand.current_a = log.amps.size();
                    demand.corner = outcome.case.corner();
                }
                if let Some(shape) = &outcome.shapes[element] {
                    let heating = shape.theta_peak_sqrt_s * log.amps.size();
                    let larger = |old: Option<f64>, theta: Option<f64>| {
                        let new = theta.map(|theta| heating / theta);
                        old.into_iter().chain(new).reduce(f64::max)
                    };
                    demand.as_8_20_a = larger(demand.as_8_20_a, short);
                    demand.as_10_1000_a = larger(demand.as_10_1000_a, long);
                }
            }
        }
        if let Some(highest) = highest_clamp_v
            && !open_above
            && blocking_a > 0.0
        {
            demand.slope_at_most_ohm = Some((highest - wall_v) / blocking_a);
        }
        demand
    }

    fn openings(&self, wall_v: f64) -> Vec<Opening> {
        let index = self
            .study
            .ladder
            .iter()
            .position(|stage| stage.name() == self.shunt.name)
            .unwrap_or_default();
        let shut = self.ideal(wall_v);
        let with_series = |at: usize, ohms: f64| {
            let mut study = shut.clone();
            study.ladder.insert(at, Stage::Series(resistor(ohms)));
            study
        };
        let holds = |study: &Study| self.run(study, None).verdict() < Verdict::Unknown;
        let resistance = |place: &dyn Fn(f64) -> Study| -> Option<f64> {
            let (mut low, mut high) = OHMS;
            if !holds(&place(high)) {
                return None;
            }
            while high / low > 1.0 + FINE {
                let middle = (low * high).sqrt();
                if holds(&place(middle)) {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            Some(high)
        };
        let range = format!("up to {} Ω do not open it alone", OHMS.1);
        let mut openings = Vec::new();
        let mut add = |change: &str, value: Option<f64>, unit: &'static str, why: &str| {
            openings.push(Opening {
                change: change.to_owned(),
                value,
                unit,
                why: if value.is_some() {
                    why.to_owned()
                } else {
                    range.clone()
                },
            });
        };
        let behind = resistance(&|ohms| with_series(index + 1, ohms));
        add(
            "series resistance between this stage and the pin",
            behind,
            "Ω",
            "at least, with an ideal clamp at the left wall; a real part needs more. See to its drop at the working current and its pulse energy",
        );
        let before = resistance(&|ohms| with_series(index, ohms));
        add(
            "series resistance before this stage",
            before,
            "Ω",
            "at least, with an ideal clamp at the left wall; a real part needs more. It carries the whole surge",
        );
        let second = resistance(&|ohms| {
            let mut study = with_series(index + 1, ohms);
            let mut stage = self.shunt.clone();
            stage.name = "second stage".to_owned();
            let sheet = ideal(wall_v, self.both_ways);
            stage.part = "second stage: ideal clamp".to_owned();
            stage.between = if study.port.lines == 1 {
                Between::LineReturn
            } else {
                stage.between
            };
            study.parts.insert(stage.part.clone(), sheet);
            study.ladder.insert(index + 2, Stage::Shunt(stage));
            study
        });
        add(
            "second stage of the same kind behind a series resistance",
            second,
            "Ω",
            "resistance at least, with ideal clamps at the left wall in both stages",
        );
        let tried = self.run(&shut, None);
        for check in tried.let_through().filter(|check| check.verdict == Verdict::Fail) {
            let stress = check.stress.clone().unwrap_or_default();
            openings.push(Opening {
                change: format!("a pin that withstands more ({}, {stress})", check.check),
                value: check.value,
                unit: check.unit,
                why: format!(
                    "at least what an ideal clamp of {} lets through, where the pin now bears {}",
                    volts(wall_v),
                    check.limit.map_or("an unknown value".to_owned(), |limit| format!(
                        "{limit} {}",
                        check.unit
                    ))
                ),
            });
        }
        openings
    }
}

fn resistor(ohms: f64) -> SeriesStage {
    SeriesStage {
        name: "added resistance".to_owned(),
        element: SeriesElement::Passive {
            resistance_ohm: ohms,
            inductance_h: 0.0,
            saturation_a: None,
        },
        in_line: InLine::Both,
        line: 0,
    }
}
