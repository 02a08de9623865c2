//! What is read off a circuit: linear forms of the state vector.

use tidewall_lanes::Lane;
use tidewall_stress::Waves;

/// What drives the current of a branch.
#[derive(Clone, Debug)]
pub enum Emf<T = f64> {
    /// The state variable that carries it.
    State(usize),
    /// A function of time.
    Wave(Waves<T>),
}

/// A source: its voltage and the form of the current through it.
#[derive(Clone, Debug)]
pub struct Source<T = f64> {
    /// Its voltage.
    pub emf: Emf<T>,
    /// Form of the current in the direction of the voltage.
    pub amps: usize,
}

/// A current that enters the port at one of its nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow {
    /// State variable of the node's voltage.
    pub node: usize,
    /// Form of the current.
    pub amps: usize,
    /// +1 where that current flows into the node, −1 where it leaves it.
    pub sign: f64,
}

/// Linear forms of the state vector, numbered; two per element, and what the book-keeping of energy needs besides.
#[derive(Clone, Debug, Default)]
pub struct Forms<T = f64> {
    start: Vec<usize>,
    columns: Vec<usize>,
    factors: Vec<T>,
    /// Resistance in ohms and form of the current, for what heats as `R i²`; one list per element.
    pub(super) resistors: Vec<Vec<(T, usize)>>,
    pub(super) junctions: Vec<Option<usize>>,
    pub(super) ambients: Vec<T>,
    pub(super) in_port: Vec<bool>,
    pub(super) sources: Vec<Source<T>>,
    pub(super) flows: Vec<Flow>,
}

impl Forms {
    /// Form of the voltage across element `k` without its lead inductance.
    pub fn volts(k: usize) -> usize {
        2 * k
    }

    /// Form of the current through element `k`.
    pub fn amps(k: usize) -> usize {
        2 * k + 1
    }
}

impl<T: Lane> Forms<T> {
    /// Adds a form and returns its number.
    pub(super) fn push(&mut self, terms: &[(usize, T)]) -> usize {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for &(column, factor) in terms {
            self.columns.push(column);
            self.factors.push(factor);
        }
        self.start.push(self.columns.len());
        self.start.len() - 2
    }

    /// Number of forms.
    pub fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// True when nothing is read.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Columns and factors of form `k`.
    #[inline(always)]
    pub fn terms(&self, k: usize) -> impl Iterator<Item = (usize, T)> + '_ {
        let range = self.start[k]..self.start[k + 1];
        let columns = self.columns[range.clone()].iter().copied();
        columns.zip(self.factors[range].iter().copied())
    }

    /// Number of elements.
    pub fn elements(&self) -> usize {
        self.junctions.len()
    }

    /// Resistance in ohms and form of the current of what heats as `R i²` in element `k`.
    pub fn resistors(&self, k: usize) -> &[(T, usize)] {
        &self.resistors[k]
    }

    /// State variable of the junction temperature of element `k`.
    pub fn junction(&self, k: usize) -> Option<usize> {
        self.junctions[k]
    }

    /// Junction temperature in °C of element `k` where no state variable holds it; not a number without a junction.
    pub fn ambient_c(&self, k: usize) -> T {
        self.ambients[k]
    }

    /// True for an element on the port's side of the connector.
    pub fn in_port(&self, k: usize) -> bool {
        self.in_port[k]
    }

    /// Every source.
    pub fn sources(&self) -> &[Source<T>] {
        &self.sources
    }

    /// Every current that enters the port.
    pub fn flows(&self) -> &[Flow] {
        &self.flows
    }

    /// True when another circuit's forms differ from these by numbers alone.
    pub(super) fn differ_by_numbers<U>(&self, other: &Forms<U>) -> bool {
        let resistors = |a: &[(T, usize)], b: &[(U, usize)]| {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.1 == b.1)
        };
        let source = |a: &Source<T>, b: &Source<U>| {
            a.amps == b.amps
                && match (&a.emf, &b.emf) {
                    (Emf::State(a), Emf::State(b)) => a == b,
                    (Emf::Wave(_), Emf::Wave(_)) => true,
                    _ => false,
                }
        };
        self.start == other.start
            && self.columns == other.columns
            && self.junctions == other.junctions
            && self.in_port == other.in_port
            && self.flows == other.flows
            && self.resistors.len() == other.resistors.len()
            && self
                .resistors
                .iter()
                .zip(&other.resistors)
                .all(|(a, b)| resistors(a, b))
            && self.sources.len() == other.sources.len()
            && self.sources.iter().zip(&other.sources).all(|(a, b)| source(a, b))
    }

    /// Puts the forms of single circuits side by side, one per lane.
    pub(super) fn pack(forms: &[&Forms]) -> Forms<T> {
        let first = forms[0];
        let elements = 0..first.elements();
        Forms {
            start: first.start.clone(),
            columns: first.columns.clone(),
            factors: (0..first.factors.len())
                .map(|j| T::of(|k| forms[k].factors[j]))
                .collect(),
            resistors: elements
                .clone()
                .map(|element| {
                    let each = first.resistors[element].iter().enumerate();
                    each.map(|(j, &(_, form))| (T::of(|k| forms[k].resistors[element][j].0), form))
                        .collect()
                })
                .collect(),
            junctions: first.junctions.clone(),
            ambients: elements.map(|j| T::of(|k| forms[k].ambients[j])).collect(),
            in_port: first.in_port.clone(),
            sources: first
                .sources
                .iter()
                .enumerate()
                .map(|(j, source)| Source {
                    emf: match source.emf {
                        Emf::State(row) => Emf::State(row),
                        Emf::Wave(_) => Emf::Wave(Waves::pack(&waves(forms, j))),
                    },
                    amps: source.amps,
                })
                .collect(),
            flows: first.flows.clone(),
        }
    }
}

fn waves<'a>(forms: &[&'a Forms], source: usize) -> Vec<&'a Waves<f64>> {
    let wave = |forms: &&'a Forms| match &forms.sources[source].emf {
        Emf::Wave(wave) => Some(wave),
        Emf::State(_) => None,
    };
    forms.iter().filter_map(wave).collect()
}
