//! Running drawn cases, and their circuits changed by hand, and comparing what was seen.

use tidewall_devices::Law;
use tidewall_ladder::{Circuit, Equations, Port, ProbeRole};
use tidewall_soak::Case;
use tidewall_transient::{Options, Outcome, Problem, TransientError, Workspace, run};

/// What a run may be off by at the default tolerances.
pub const ACCURACY: f64 = 1e-3;

/// A case with its circuit.
pub struct Wired {
    pub case: Case,
    pub circuit: Circuit,
    /// Numbers of the probes at connector and pins.
    pub ends: Vec<usize>,
}

impl Wired {
    pub fn new(case: Case) -> Wired {
        let assembly = case.port.assemble(&case.network).unwrap();
        let roles = assembly.probes.iter().enumerate();
        let ends = roles
            .filter(|(_, probe)| probe.role != ProbeRole::Between)
            .map(|(k, _)| k)
            .collect();
        Wired {
            circuit: assembly.circuit,
            ends,
            case,
        }
    }

    /// The same stress on another port.
    pub fn with_port(&self, port: Port) -> Wired {
        Wired::new(Case {
            port,
            ..self.case.clone()
        })
    }

    pub fn attempt(&self, options: &Options) -> Result<Outcome, TransientError> {
        let probes = self.case.port.assemble(&self.case.network).unwrap().probes;
        let equations = Equations::new(self.circuit.clone()).unwrap();
        let breakpoints = self.case.network.breakpoints_s();
        let problem = Problem {
            equations: &equations,
            probes: &probes,
            levels: &[],
            breakpoints_s: &breakpoints,
            duration_s: self.case.network.duration_s,
            finest_s: self.case.network.finest_s,
        };
        run(&problem, options, &mut Workspace::new(&equations))
    }

    pub fn run(&self) -> Outcome {
        self.run_with(&Options::default())
    }

    pub fn run_with(&self, options: &Options) -> Outcome {
        let number = self.case.number;
        self.attempt(options)
            .unwrap_or_else(|error| panic!("case {number}: {error}"))
    }

    /// Largest voltages at connector and pins.
    pub fn ends_of(&self, outcome: &Outcome) -> Vec<f64> {
        let size = |&k: &usize| outcome.probes[k].volts.size();
        self.ends.iter().map(size).collect()
    }

    /// Fails unless connector and pins saw the same largest voltages in both runs, to `share` and some millivolts.
    pub fn same_ends(&self, a: &[f64], b: &[f64], share: f64) {
        for (a, b) in a.iter().zip(b) {
            self.close(*a, *b, share, 10.0 * Options::default().volts, "largest voltage");
        }
    }

    pub fn close(&self, a: f64, b: f64, share: f64, least: f64, what: &str) {
        assert!(
            (a - b).abs() <= share * a.abs().max(b.abs()) + least,
            "case {} ({}): {what} {a:e} against {b:e}",
            self.case.number,
            self.case.stress
        );
    }
}

/// The first `wanted` cases, from `first` on, that `fits` and whose runs take some thousands of steps at most.
pub fn cases(first: u64, wanted: usize, fits: impl Fn(&Case) -> bool) -> Vec<Wired> {
    let short = Options {
        max_steps: 3_000,
        ..Options::default()
    };
    (first..)
        .map(|number| Case::new(number).unwrap())
        .filter(|case| fits(case))
        .map(Wired::new)
        .filter(|wired| wired.attempt(&short).is_ok())
        .take(wanted)
        .collect()
}

/// Every resistance, inductance and thermal resistance times `factor`, every capacitance, conductance and current through it:
/// voltages and temperatures stay, currents and energies fall by it. False where a law cannot be scaled from outside.
pub fn scale(circuit: &mut Circuit, factor: f64) -> bool {
    for node in &mut circuit.nodes {
        node.capacitance_f /= factor;
    }
    for branch in &mut circuit.branches {
        branch.resistance_ohm *= factor;
        branch.inductance.henries *= factor;
        if let Some(amps) = &mut branch.inductance.saturation_a {
            *amps /= factor;
        }
        if let Some((farads, _)) = &mut branch.capacitor {
            *farads /= factor;
        }
        branch.initial_a /= factor;
    }
    for device in &mut circuit.devices {
        device.series_ohm *= factor;
        device.lead_h *= factor;
        device.loss_s /= factor;
        for ohm in &mut device.thermal.resistance_k_per_w {
            *ohm *= factor;
        }
        for capacity in &mut device.thermal.capacity_j_per_k {
            *capacity /= factor;
        }
    }
    circuit
        .devices
        .iter_mut()
        .all(|device| scale_law(&mut device.law, factor))
}

fn scale_law(law: &mut Law, factor: f64) -> bool {
    let (ohms, others): (Vec<&mut f64>, Vec<&mut f64>) = match law {
        Law::Avalanche(law) => (vec![&mut law.r_ohm, &mut law.forward_ohm], vec![&mut law.c0_f]),
        Law::FlatClamp(law) => (
            vec![&mut law.r_ohm, &mut law.breakdown_ohm, &mut law.forward_ohm],
            vec![&mut law.saturation_a, &mut law.c0_f],
        ),
        Law::Crowbar(law) => (
            vec![&mut law.off_ohm, &mut law.on_ohm, &mut law.forward_ohm],
            vec![&mut law.trigger_a, &mut law.hold_a, &mut law.c_f],
        ),
        Law::Varistor(law) => {
            law.v1ma_v *= factor.powf(1.0 / law.alpha);
            (vec![], vec![&mut law.linear_above_a, &mut law.c_f])
        }
        Law::GasTube(law) => (
            vec![&mut law.arc_ohm, &mut law.insulation_ohm],
            vec![
                &mut law.glow_to_arc_a,
                &mut law.arc_to_glow_a,
                &mut law.extinction_a,
                &mut law.c_f,
            ],
        ),
        Law::Diode(law) => (
            vec![&mut law.forward_ohm, &mut law.breakdown_ohm],
            vec![&mut law.c_f],
        ),
        Law::Pin(law) => (
            vec![&mut law.positive_ohm, &mut law.negative_ohm],
            vec![&mut law.c_f],
        ),
        // Its inner state is a conductance, whose absolute error would have to be scaled alone; a table keeps its points.
        Law::Limiter(_) | Law::Table(_) => return false,
    };
    ohms.into_iter().for_each(|ohm| *ohm *= factor);
    others.into_iter().for_each(|other| *other /= factor);
    true
}
