//! The study as it stands on the bench: one specimen of each part at one temperature, under one generator.

use tidewall_devices::build::ModelRange;
use tidewall_devices::datasheet::Family;
use tidewall_devices::law::Law;
use tidewall_extract::waves::Wave;
use tidewall_ladder::{Port, ProbeRole, SeriesKind, Stage};
use tidewall_stress::Network;
use tidewall_study::{Stage as StudyStage, Study};
use tidewall_transient::Options;

use super::CorrelateError;
use super::parameters::Quantity;
use crate::build::{self, places, series_places, shunt_places};
use crate::corners::Case;
use crate::result::PartSet;
use crate::simulate::{self, CaseOutcome};

/// Where the probes of the instrument stood.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    /// Name of the node whose voltage was measured (as in the columns of the waveforms); the pin without one.
    pub voltage_at: Option<String>,
    /// Name of the element whose current was measured; the first shunt without one.
    pub current_of: Option<String>,
}

/// A port that can be changed one parameter at a time.
pub(super) struct Bench<'s> {
    pub(super) study: &'s Study,
    pub(super) case: Case,
    port: Port,
    network: Network,
    /// Models of each shunt stage over its tolerance, by the stage's number.
    ranges: Vec<Option<ModelRange>>,
    rated_rises_k: Vec<(String, Option<f64>)>,
    options: Options,
}

/// Waves at the probes.
#[derive(Clone, Debug)]
pub(super) struct Predicted {
    pub(super) voltage: Wave,
    pub(super) current: Option<Wave>,
    pub(super) voltage_at: String,
    pub(super) current_of: Option<String>,
    pub(super) residual: f64,
}

impl<'s> Bench<'s> {
    /// The study at a case. Parts that are `typical` stand in the middle of their tolerance.
    pub(super) fn new(study: &'s Study, case: Case) -> Result<Bench<'s>, CorrelateError> {
        let missing = |error| CorrelateError::Case(simulate::CaseError::Missing(error));
        let set = match case.parts {
            PartSet::Typical => PartSet::Low,
            set => set,
        };
        let built = build::port(study, case.ambient_c, set).map_err(missing)?;
        let range = study.port.ambient_c.value;
        let mut ranges = Vec::new();
        for stage in &study.ladder {
            ranges.push(match stage {
                StudyStage::Shunt(shunt) if study.parts[&shunt.part].family != Family::Steering => Some(
                    ModelRange::new(
                        &study.parts[&shunt.part],
                        range.low.min(case.ambient_c),
                        range.high.max(case.ambient_c),
                    )
                    .map_err(missing)?,
                ),
                _ => None,
            });
        }
        let mut port = built.port;
        port.supply = build::supply(study, case.supply_v);
        let mut bench = Bench {
            study,
            case,
            port,
            network: simulate::network(study, &case),
            ranges,
            rated_rises_k: built.rated_rises_k,
            // Finer than a verdict needs: the recorded points are joined by straight lines.
            options: Options {
                record: true,
                ..Options::with_relative(1e-5)
            },
        };
        if case.parts == PartSet::Typical {
            for stage in 0..study.ladder.len() {
                let mut port = bench.port.clone();
                bench.put_model(&mut port, stage, 0.5, case.ambient_c);
                bench.port = port;
            }
        }
        Ok(bench)
    }

    /// Where in its tolerance a shunt stage stands: 0 lowest, 1 highest; `None` where its places differ.
    pub(super) fn position(&self) -> Option<f64> {
        match self.case.parts {
            PartSet::Low => Some(0.0),
            PartSet::High => Some(1.0),
            PartSet::Typical => Some(0.5),
            _ => None,
        }
    }

    /// True if a shunt's position in its tolerance changes its model.
    pub(super) fn moves(&self, stage: usize) -> bool {
        self.ranges[stage].as_ref().is_some_and(|range| !range.is_alike())
    }

    /// Names of what the ladder holds of a stage of the study.
    fn names(&self, stage: usize) -> Vec<String> {
        match &self.study.ladder[stage] {
            StudyStage::Series(series) => series_places(self.study, series)
                .into_iter()
                .map(|place| place.0)
                .collect(),
            StudyStage::Shunt(shunt) => shunt_places(self.study, shunt)
                .into_iter()
                .map(|place| place.0)
                .collect(),
            StudyStage::Capacitor(capacitor) => places(self.study, &capacitor.name, capacitor.between)
                .into_iter()
                .map(|place| place.0)
                .collect(),
        }
    }

    /// Every part of the ladder that stands for a stage of the study.
    fn each<'p>(&self, port: &'p mut Port, stage: usize) -> Vec<&'p mut Stage> {
        let names = self.names(stage);
        port.stages
            .iter_mut()
            .filter(|part| match part {
                Stage::Series(series) => names.contains(&series.name),
                Stage::Shunt(shunt) => names.contains(&shunt.name),
                Stage::Capacitor(capacitor) => names.contains(&capacitor.name),
                Stage::Steering(steering) => names.contains(&steering.name),
            })
            .collect()
    }

    fn put_model(&self, port: &mut Port, stage: usize, position: f64, ambient_c: f64) {
        let Some(range) = &self.ranges[stage] else { return };
        let model = range.at(position, ambient_c).protector;
        for part in self.each(port, stage) {
            if let Stage::Shunt(shunt) = part {
                shunt.protector = model.clone();
            }
        }
    }

    /// Value of a quantity as the study has it, in its SI unit; `None` where the ladder has no such thing.
    pub(super) fn nominal(&self, quantity: Quantity) -> Option<f64> {
        let mut port = self.port.clone();
        let first =
            |stage: usize, port: &mut Port| self.each(port, stage).first().map(|part| (**part).clone());
        match quantity {
            Quantity::Lead(stage) => match first(stage, &mut port)? {
                Stage::Shunt(shunt) => Some(shunt.lead_h),
                Stage::Capacitor(capacitor) => Some(capacitor.lead_h),
                Stage::Steering(steering) => Some(steering.lead_h),
                Stage::Series(_) => None,
            },
            Quantity::SeriesOhm(stage) => match first(stage, &mut port)? {
                Stage::Series(series) => match series.kind {
                    SeriesKind::Plain { resistance_ohm, .. } => Some(resistance_ohm),
                    _ => None,
                },
                _ => None,
            },
            Quantity::SeriesHenry(stage) => match first(stage, &mut port)? {
                Stage::Series(series) => match series.kind {
                    SeriesKind::Plain { inductance, .. } | SeriesKind::Bead { inductance, .. } => {
                        Some(inductance.henries)
                    }
                    SeriesKind::Device { .. } => None,
                },
                _ => None,
            },
            Quantity::PinCapacitance => Some(self.port.pin.capacitance_f),
            Quantity::Position(stage) => self.position().filter(|_| self.moves(stage)),
            Quantity::Slope(stage) => match first(stage, &mut port)? {
                Stage::Shunt(mut shunt) => slope(&mut shunt.protector).copied().filter(|ohm| *ohm > 0.0),
                _ => None,
            },
            Quantity::Ambient => Some(self.case.ambient_c),
            Quantity::Amplitude => Some(self.case.factor),
            Quantity::SourceImpedance => {
                let ohm = self.study.stresses[self.case.stress].disturbance.effective_ohm;
                (ohm.is_finite() && ohm > 0.0).then_some(ohm)
            }
        }
    }

    fn changed(&self, quantity: Quantity, value: f64) -> (Port, Network) {
        let mut port = self.port.clone();
        let mut network = self.network.clone();
        match quantity {
            Quantity::Position(stage) => self.put_model(&mut port, stage, value, self.case.ambient_c),
            Quantity::Ambient => {
                port.ambient_c = value;
                if let Some(position) = self.position() {
                    (0..self.study.ladder.len())
                        .for_each(|stage| self.put_model(&mut port, stage, position, value));
                }
            }
            Quantity::PinCapacitance => port.pin.capacitance_f = value,
            Quantity::Amplitude => network = network.scaled(value / self.case.factor),
            Quantity::SourceImpedance => {
                let nominal = self.nominal(quantity).unwrap_or(value);
                scale_impedance(&mut network, value / nominal);
            }
            Quantity::Lead(stage)
            | Quantity::SeriesOhm(stage)
            | Quantity::SeriesHenry(stage)
            | Quantity::Slope(stage) => {
                for part in self.each(&mut port, stage) {
                    put(part, quantity, value);
                }
            }
        }
        (port, network)
    }

    /// Waves at the probes with one quantity changed, or as the study has them.
    pub(super) fn predict(
        &self,
        change: Option<(Quantity, f64)>,
        places: &Places,
    ) -> Result<Predicted, CorrelateError> {
        let (port, network) = match change {
            Some((quantity, value)) => self.changed(quantity, value),
            None => (self.port.clone(), self.network.clone()),
        };
        let outcome = simulate::run_port(
            self.study,
            &self.case,
            port,
            &self.rated_rises_k,
            &network,
            &self.options,
        )
        .map_err(CorrelateError::Case)?;
        waves(&outcome, places)
    }
}

fn put(part: &mut Stage, quantity: Quantity, value: f64) {
    match (quantity, part) {
        (Quantity::Lead(_), Stage::Shunt(shunt)) => shunt.lead_h = value,
        (Quantity::Lead(_), Stage::Capacitor(capacitor)) => capacitor.lead_h = value,
        (Quantity::Lead(_), Stage::Steering(steering)) => steering.lead_h = value,
        (Quantity::SeriesOhm(_), Stage::Series(series)) => {
            if let SeriesKind::Plain { resistance_ohm, .. } = &mut series.kind {
                *resistance_ohm = value;
            }
        }
        (Quantity::SeriesHenry(_), Stage::Series(series)) => {
            if let SeriesKind::Plain { inductance, .. } | SeriesKind::Bead { inductance, .. } =
                &mut series.kind
            {
                inductance.henries = value;
            }
        }
        (Quantity::Slope(_), Stage::Shunt(shunt)) => {
            if let Some(ohm) = slope(&mut shunt.protector) {
                *ohm = value;
            }
        }
        _ => {}
    }
}

/// The slope resistance of a protector's conducting branch.
fn slope(protector: &mut tidewall_devices::Protector) -> Option<&mut f64> {
    match &mut protector.law {
        Law::Avalanche(law) => Some(&mut law.r_ohm),
        Law::FlatClamp(law) => Some(&mut law.r_ohm),
        Law::Crowbar(law) => Some(&mut law.on_ohm),
        Law::GasTube(law) => Some(&mut law.arc_ohm),
        Law::Varistor(_) => Some(&mut protector.series_ohm),
        _ => None,
    }
}

/// The same generator and coupling at another level of impedance: resistances and inductances multiplied, capacitances
/// divided. The open-circuit voltage keeps its shape and size, and every current into a load of the same multiple is divided.
fn scale_impedance(network: &mut Network, factor: f64) {
    for branch in &mut network.branches {
        branch.resistance_ohm *= factor;
        branch.inductance_h *= factor;
        branch.initial_a /= factor;
        if let Some(capacitor) = &mut branch.capacitor {
            capacitor.capacitance_f /= factor;
        }
    }
    for capacitor in &mut network.capacitors {
        capacitor.capacitance_f /= factor;
    }
}

fn waves(outcome: &CaseOutcome, places: &Places) -> Result<Predicted, CorrelateError> {
    let Some(recording) = &outcome.outcome.recording else {
        return Err(CorrelateError::NoWave);
    };
    let probes = &outcome.assembly.probes;
    let column = |name: &str| name.split_whitespace().collect::<Vec<_>>().join("_");
    let probe = match &places.voltage_at {
        Some(name) => probes
            .iter()
            .position(|probe| probe.name == *name || column(&probe.name) == column(name)),
        None => probes
            .iter()
            .position(|probe| probe.role == ProbeRole::PinPair)
            .or_else(|| {
                probes
                    .iter()
                    .position(|probe| matches!(probe.role, ProbeRole::Pin(_)))
            }),
    };
    let probe = probe.ok_or_else(|| CorrelateError::NoPlace {
        what: "voltage",
        name: places.voltage_at.clone().unwrap_or_default(),
        there: probes.iter().map(|probe| column(&probe.name)).collect(),
    })?;
    let element = match &places.current_of {
        Some(name) => {
            let found = outcome.assembly.elements.iter().copied().find(|element| {
                outcome.names[*element] == *name || column(&outcome.names[*element]) == column(name)
            });
            Some(found.ok_or_else(|| {
                CorrelateError::NoPlace {
                    what: "current",
                    name: name.clone(),
                    there: outcome
                        .assembly
                        .elements
                        .iter()
                        .map(|element| outcome.names[*element].clone())
                        .collect(),
                }
            })?)
        }
        None => outcome
            .assembly
            .elements
            .iter()
            .copied()
            .find(|element| outcome.protector(&outcome.names[*element]).is_some()),
    };
    let wave = |values: &[f64]| Wave {
        times_s: recording.times_s.clone(),
        values: values.to_vec(),
    };
    Ok(Predicted {
        voltage: wave(&recording.probes_v[probe]),
        current: element.map(|element| wave(&recording.elements_a[element])),
        voltage_at: probes[probe].name.clone(),
        current_of: element.map(|element| outcome.names[element].clone()),
        residual: outcome.outcome.audit.residual,
    })
}
