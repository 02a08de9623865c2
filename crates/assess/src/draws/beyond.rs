//! Draws that come off worse than every corner.
//!
//! Corners bound what rises or falls all the way from one end of a tolerance to the other. Where a part switches, the worst
//! case may lie in between, and a draw may find it.

use super::result::{BeyondCorners, DrawsResult};
use crate::rank::CheckLine;

/// Margins closer than this share of the limit are the same: the integration is not more exact.
const SAME: f64 = 0.005;

impl DrawsResult {
    /// Sets the draws against the checks at the corners: what comes off worse in some draw is named.
    pub fn compare(&mut self, corners: &[CheckLine]) {
        let beyond = self.checks.iter().filter_map(|drawn| {
            let corner = corners.iter().find(|corner| {
                corner.check == drawn.check
                    && corner.stress == drawn.stress
                    && corner.element == drawn.element
            })?;
            let (margin, corner_margin) = (drawn.worst_margin?, corner.margin?);
            let draw = drawn.worst_draw?;
            (margin < corner_margin - SAME).then(|| BeyondCorners {
                check: drawn.check,
                stress: drawn.stress.clone(),
                element: drawn.element.clone(),
                draw,
                margin,
                corner_margin,
            })
        });
        self.beyond_corners = beyond.filter(|beyond| beyond.check != "energy-audit").collect();
    }
}
