//! Ten thousand random ladders: every transient ends, and its energy balances.

#[path = "../../ladder/tests/support/mod.rs"]
mod ladders;

use tidewall_ladder::Equations;
use tidewall_transient::{Options, Problem, Workspace, run};

/// Cases in all, shared out so that they run side by side.
const CASES: u64 = 10_000;
const SHARES: u64 = 8;

/// Runs one case; the text says what went wrong.
fn verdict(number: u64) -> Result<(), String> {
    let case = ladders::case(number);
    let assembly = case.port.assemble(&case.network).map_err(|e| e.to_string())?;
    let equations = Equations::new(assembly.circuit).map_err(|e| e.to_string())?;
    let breakpoints = case.network.breakpoints_s();
    let problem = Problem {
        equations: &equations,
        probes: &assembly.probes,
        levels: &[],
        breakpoints_s: &breakpoints,
        duration_s: case.network.duration_s,
        finest_s: case.network.finest_s,
    };
    let outcome = run(&problem, &Options::default(), &mut Workspace::new(&equations))
        .map_err(|error| format!("{error} ({})", case.stress))?;
    if !outcome.audit.holds() {
        return Err(format!("{:?} ({})", outcome.audit, case.stress));
    }
    let probes = outcome.probes.iter().map(|probe| probe.volts.size());
    let elements = outcome
        .elements
        .iter()
        .map(|element| element.amps.size() + element.energy_j);
    if probes.chain(elements).any(|value| !value.is_finite()) {
        return Err(format!("a value that is not finite ({})", case.stress));
    }
    Ok(())
}

fn share(which: u64) {
    let wrong: Vec<String> = (0..CASES)
        .filter(|number| number % SHARES == which)
        .filter_map(|number| verdict(number).err().map(|text| format!("case {number}: {text}")))
        .collect();
    assert!(
        wrong.is_empty(),
        "{} of {}:\n{}",
        wrong.len(),
        CASES / SHARES,
        wrong.join("\n")
    );
}

macro_rules! shares {
    ($($name:ident $which:literal)*) => {
        $(#[test]
        fn $name() {
            share($which);
        })*
    };
}

shares! {
    random_ladders_balance_1_of_8 0
    random_ladders_balance_2_of_8 1
    random_ladders_balance_3_of_8 2
    random_ladders_balance_4_of_8 3
    random_ladders_balance_5_of_8 4
    random_ladders_balance_6_of_8 5
    random_ladders_balance_7_of_8 6
    random_ladders_balance_8_of_8 7
}
