//! Figures of a study and its results. Nothing is computed here that the results do not hold, but for the steady V-I
//! characteristics of the parts, which are read off their models.
//!
//! Each function returns finished [`Figure`]s: picture, words and the data behind it. What is not known is said in the
//! picture and in its text alternative; no wall, limit or value is invented.

mod draws;
mod energy;
mod ladder;
mod margins;
mod measured;
mod parts;
mod text;
mod waveforms;
mod window;

use tidewall_assess::result::Assessment;
use tidewall_assess::traces::Traces;
use tidewall_plot::Figure;
use tidewall_study::Study;

pub use draws::{draws, sensitivity};
pub use energy::{energy, junctions};
pub use ladder::{ladder, ladder_of};
pub use margins::margins;
pub use measured::{correlation, fit};
pub use parts::{clamp_over_temperature, v_i_bands};
pub use waveforms::{waveforms, waveforms_of};
pub use window::design_window;

/// Every figure of an assessment, in the order in which a reader wants them: ladder, margins, design window, waveforms
/// of each stress, energy, junctions, draws, sensitivities. Those that have nothing to show are left out.
pub fn all(study: &Study, assessment: &Assessment, traces: &Traces) -> Vec<Figure> {
    let mut figures = vec![ladder(study), margins(study, assessment)];
    figures.extend(design_window(study, assessment, Some(traces)));
    figures.extend(waveforms(study, traces));
    figures.extend(energy(study, assessment));
    figures.extend(junctions(assessment));
    if let Some(result) = &assessment.draws {
        figures.push(draws(result));
    }
    figures.extend(assessment.sensitivity.iter().flatten().map(sensitivity));
    figures
}
