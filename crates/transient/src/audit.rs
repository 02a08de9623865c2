//! Energy audit of a transient.

/// Where the energy went. The port's side is booked apart from the generator's, because a generator may burn a
/// thousand times what reaches the port and would hide an error there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Audit {
    /// Net energy that entered the port through its connector, in joules.
    pub delivered_j: f64,
    /// Energy turned into heat in the port, in joules.
    pub dissipated_j: f64,
    /// Change of the energy stored in the port, in joules.
    pub stored_j: f64,
    /// Energy that the generator or the supply sent into the port, without what either took out again, in joules.
    pub entered_j: f64,
    /// `|delivered − dissipated − stored|` as a share of what was put in: the energy that entered and the net energy
    /// that the port's own charged capacitances gave up; where next to nothing was (an arrester that did not fire, an open
    /// line), of what the absolute errors of current and voltage ([`crate::Options`]) stand for at the connector. The
    /// larger of the port's and the whole circuit's.
    pub residual: f64,
}

impl Audit {
    /// The largest residual at which a result may be used.
    pub const LIMIT: f64 = 1e-3;

    /// True when the balance closes within [`Audit::LIMIT`].
    pub fn holds(&self) -> bool {
        self.residual < Audit::LIMIT
    }
}
