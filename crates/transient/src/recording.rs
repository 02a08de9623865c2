//! Waveforms of a transient.

/// Sampled waveforms; every series has one value per time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// Times in seconds, rising (equal at an event).
    pub times_s: Vec<f64>,
    /// Probe voltages in volts, one series per probe.
    pub probes_v: Vec<Vec<f64>>,
    /// Element currents in amperes, one series per element.
    pub elements_a: Vec<Vec<f64>>,
    /// Element voltages in volts, one series per element.
    pub elements_v: Vec<Vec<f64>>,
    /// Junction temperatures in °C, one series per element.
    pub junctions_c: Vec<Vec<f64>>,
}

impl Recording {
    /// An empty recording with room for `samples` samples.
    pub fn with_capacity(probes: usize, elements: usize, samples: usize) -> Recording {
        let series = |count: usize| {
            (0..count)
                .map(|_| Vec::with_capacity(samples))
                .collect::<Vec<_>>()
        };
        Recording {
            times_s: Vec::with_capacity(samples),
            probes_v: series(probes),
            elements_a: series(elements),
            elements_v: series(elements),
            junctions_c: series(elements),
        }
    }

    /// An empty recording of the currents of the elements from `first` on.
    pub(crate) fn of_currents(elements: usize, first: usize, samples: usize) -> Recording {
        let series = |element: usize| if element < first { 0 } else { samples };
        Recording {
            times_s: Vec::with_capacity(samples),
            elements_a: (0..elements).map(|k| Vec::with_capacity(series(k))).collect(),
            ..Recording::default()
        }
    }
}
