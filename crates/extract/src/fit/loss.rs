//! What a residual costs.

/// Loss of a residual, so that a few bad points do not carry the fit away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// Least squares.
    Squares,
    /// Huber (1964): squares up to the scale, straight beyond.
    Huber {
        /// Residual, in the unit of the weighted residuals, from which the cost is straight; `None` takes 1.345 times the
        /// scatter of the residuals (median absolute deviation over 0.6745), which loses 5 % on clean normal data.
        scale: Option<f64>,
    },
    /// Smooth approximation of the absolute value, `2 c² (√(1 + (r/c)²) − 1)`.
    SoftL1 {
        /// Residual at which the cost bends; `None` takes the scatter of the residuals.
        scale: Option<f64>,
    },
}

/// A loss with its scale settled.
#[derive(Clone, Copy, Debug)]
pub(super) struct Settled {
    loss: Loss,
    scale: f64,
}

impl Loss {
    /// Scale given by the caller, if any.
    pub(super) fn given(self) -> Option<f64> {
        match self {
            Loss::Squares => Some(1.0),
            Loss::Huber { scale } | Loss::SoftL1 { scale } => scale,
        }
    }

    /// Scale for residuals: the given one, or the one from their scatter.
    pub(super) fn settle(self, residuals: &[f64], parameters: usize) -> Settled {
        let tuning = if let Loss::Huber { .. } = self { 1.345 } else { 1.0 };
        let scale = self.given().unwrap_or_else(|| {
            let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
            sizes.sort_by(f64::total_cmp);
            // As many residuals as parameters are zero, or nearly so, by the fit itself.
            let kept = &sizes[parameters.min(sizes.len() - 1)..];
            tuning * kept[kept.len() / 2] / 0.6745
        });
        Settled {
            loss: self,
            scale: scale.max(f64::MIN_POSITIVE),
        }
    }
}

impl Settled {
    /// Least squares.
    pub fn squares() -> Settled {
        Settled {
            loss: Loss::Squares,
            scale: 1.0,
        }
    }

    /// Cost, so that it is the square for small residuals.
    pub fn cost(&self, r: f64) -> f64 {
        let c = self.scale;
        let x = (r / c).abs();
        match self.loss {
            Loss::Squares => r * r,
            Loss::Huber { .. } if x <= 1.0 => r * r,
            Loss::Huber { .. } => c * c * (2.0 * x - 1.0),
            Loss::SoftL1 { .. } => 2.0 * c * c * ((1.0 + x * x).sqrt() - 1.0),
        }
    }

    /// Half the derivative of the cost over the residual itself: the weight of iteratively reweighted squares.
    pub fn weight(&self, r: f64) -> f64 {
        let x = (r / self.scale).abs();
        match self.loss {
            Loss::Squares => 1.0,
            Loss::Huber { .. } => 1.0 / x.max(1.0),
            Loss::SoftL1 { .. } => 1.0 / (1.0 + x * x).sqrt(),
        }
    }

    /// Half the second derivative of the cost.
    pub fn bend(&self, r: f64) -> f64 {
        let x = (r / self.scale).abs();
        match self.loss {
            Loss::Squares => 1.0,
            Loss::Huber { .. } => f64::from(x <= 1.0),
            Loss::SoftL1 { .. } => (1.0 + x * x).powf(-1.5),
        }
    }
}
