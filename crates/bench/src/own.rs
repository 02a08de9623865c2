//! Tidewall's own runs of the circuits.

use tidewall_transient::{Counters, Options, TransientError, Workspace, run};

use crate::measure::{Places, Quantities};
use crate::suite::Assembled;

/// Relative tolerance of the tight reference.
pub const TIGHT: f64 = 1e-9;

/// Runs a circuit.
///
/// # Errors
/// [`TransientError`] where the integration is given up.
pub fn at(
    assembled: &Assembled,
    places: &Places,
    options: &Options,
    workspace: &mut Workspace,
) -> Result<(Quantities, Counters), TransientError> {
    let outcome = run(&assembled.problem(), options, workspace)?;
    Ok((places.read(&outcome), outcome.counters))
}

/// The tight reference of a circuit.
///
/// # Errors
/// As [`at`].
pub fn reference(assembled: &Assembled, places: &Places) -> Result<Quantities, TransientError> {
    let options = Options {
        max_steps: 20_000_000,
        ..Options::with_relative(TIGHT)
    };
    Ok(at(
        assembled,
        places,
        &options,
        &mut Workspace::new(&assembled.equations),
    )?
    .0)
}
