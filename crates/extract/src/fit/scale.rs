//! Parameters and the scales on which they are searched.

/// Scale on which a parameter is searched and its interval is symmetrical. A bound is never reached: it lies at infinity
/// on the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// The value itself; `typical` is its usual size, which steps are measured by.
    Linear {
        /// Usual size, above zero.
        typical: f64,
    },
    /// Logarithm: above zero.
    Log,
    /// Logit: between two bounds.
    Between {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Reciprocal, for quantities that enter their law as one over the value.
    Reciprocal,
}

impl Scale {
    /// From the value to the scale.
    pub(super) fn inner(self, value: f64) -> f64 {
        match self {
            Scale::Linear { .. } => value,
            Scale::Log => value.ln(),
            Scale::Between { low, high } => ((value - low) / (high - value)).ln(),
            Scale::Reciprocal => 1.0 / value,
        }
    }

    /// From the scale to the value.
    pub(super) fn value(self, inner: f64) -> f64 {
        match self {
            Scale::Linear { .. } => inner,
            Scale::Log => inner.exp(),
            Scale::Between { low, high } => low + (high - low) / (1.0 + (-inner).exp()),
            Scale::Reciprocal => 1.0 / inner,
        }
    }

    /// Derivative of the value by the scale.
    pub(super) fn slope(self, inner: f64) -> f64 {
        match self {
            Scale::Linear { .. } => 1.0,
            Scale::Log => inner.exp(),
            Scale::Between { low, high } => {
                let x = 1.0 / (1.0 + (-inner).exp());
                (high - low) * x * (1.0 - x)
            }
            Scale::Reciprocal => -1.0 / (inner * inner),
        }
    }

    /// Size on the scale that counts as one.
    pub(super) fn unit(self, inner: f64) -> f64 {
        match self {
            Scale::Linear { typical } => inner.abs().max(typical),
            Scale::Log | Scale::Between { .. } => 1.0,
            Scale::Reciprocal => inner.abs(),
        }
    }

    /// Ends of an interval about `middle` on the scale as values, lower one first. An interval of a reciprocal that contains
    /// zero has one end only: that on the side of the value.
    pub(super) fn interval(self, middle: f64, inner: (f64, f64)) -> (f64, f64) {
        if self == Scale::Reciprocal {
            return match inner {
                (low, high) if low > 0.0 || high < 0.0 => (1.0 / high, 1.0 / low),
                (_, high) if middle > 0.0 => (1.0 / high, f64::INFINITY),
                (low, _) => (f64::NEG_INFINITY, 1.0 / low),
            };
        }
        (self.value(inner.0), self.value(inner.1))
    }
}

/// A parameter to be found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Its name, for messages.
    pub name: &'static str,
    /// How it is searched.
    pub scale: Scale,
    /// Where the search begins, within the bounds.
    pub start: f64,
    /// Range from which further starts are drawn, on the scale; `None` keeps to `start`.
    pub search: Option<(f64, f64)>,
}

impl Parameter {
    /// A parameter with one start.
    pub fn new(name: &'static str, scale: Scale, start: f64) -> Parameter {
        Parameter {
            name,
            scale,
            start,
            search: None,
        }
    }

    /// With a range from which further starts are drawn.
    pub fn within(self, low: f64, high: f64) -> Parameter {
        Parameter {
            search: Some((low, high)),
            ..self
        }
    }
}
