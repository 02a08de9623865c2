//! Single specimens of a type: where each stands in its type's tolerance.

use std::borrow::Cow;
use std::sync::Arc;

use crate::build::{MissingDatum, ModelRange, blend};
use crate::datasheet::{Datasheet, Spread};

/// The specimens of a type that one stage of a ladder holds: one, or one on each line of a pair.
#[derive(Clone, Debug, PartialEq)]
pub struct Specimens {
    /// Their type. Ratings and holding data stay those of the type, which are guaranteed of every specimen.
    pub of: Arc<Datasheet>,
    /// Models of the type at the ends of its tolerance, or the datum they lack.
    pub models: Result<Arc<ModelRange>, MissingDatum>,
    /// Position in the tolerance of the specimen on the first line and of that on the second: 0 is the low corner, 1
    /// the high one. Equal where there is one specimen.
    pub positions: [f64; 2],
}

impl Specimens {
    /// Lowest and highest position.
    pub fn range(&self) -> (f64, f64) {
        let [a, b] = self.positions;
        (a.min(b), a.max(b))
    }
}

impl Datasheet {
    /// The data of these specimens: breakdown and capacitance narrowed to where they stand, models blended there.
    ///
    /// A datum with a minimum and a maximum goes from one to the other with the position. A datum that is known from
    /// one side only says nothing of a specimen and stays what it is: a bound.
    pub fn of_specimens(specimens: Specimens) -> Datasheet {
        let range = specimens.range();
        let of = &specimens.of;
        let mut sheet = Datasheet::clone(of);
        sheet.breakdown_v = narrowed(&of.breakdown_v, range);
        for point in &mut sheet.capacitance {
            point.capacitance_f = narrowed(&point.capacitance_f, range);
        }
        sheet.specimens = Some(Box::new(specimens));
        sheet
    }

    /// The data of the type, which for specimens are those of all that could have stood in their place.
    pub fn of_type(&self) -> &Datasheet {
        self.specimens.as_ref().map_or(self, |specimens| &specimens.of)
    }

    /// The data of what stands on one line of a pair (0 or 1), where the lines hold different specimens.
    pub fn on_line(&self, line: usize) -> Cow<'_, Datasheet> {
        match &self.specimens {
            Some(specimens) if specimens.positions[0] != specimens.positions[1] => {
                Cow::Owned(Datasheet::of_specimens(Specimens {
                    positions: [specimens.positions[line]; 2],
                    ..Specimens::clone(specimens)
                }))
            }
            _ => Cow::Borrowed(self),
        }
    }

    /// True if some datum of the part's own has a minimum below its maximum.
    pub fn has_spread(&self) -> bool {
        let wide = |spread: &Spread| matches!((spread.min, spread.max), (Some(min), Some(max)) if min < max);
        wide(&self.breakdown_v) || self.capacitance.iter().any(|point| wide(&point.capacitance_f))
    }
}

fn narrowed(spread: &Spread, (low, high): (f64, f64)) -> Spread {
    match (spread.min, spread.max) {
        (Some(min), Some(max)) => Spread {
            min: Some(blend(min, max, low)),
            typ: Some(blend(min, max, 0.5 * (low + high))),
            max: Some(blend(min, max, high)),
        },
        _ => *spread,
    }
}
