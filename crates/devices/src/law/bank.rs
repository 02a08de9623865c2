//! One device of several corners: the same law with the numbers of each.

use tidewall_lanes::{Job, Lane};

use super::{
    Avalanche, Bias, Characteristic, Crowbar, Diode, FlatClamp, GasTube, Law, MAX_INNER, Mode, PinClamp,
    Point, Rate, State, Trigger, Varistor,
};

/// Discrete states of one device of several corners.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Modes<T> {
    /// Number of the [`Mode`] of each lane.
    mode: T,
    /// Polarities.
    pub(super) sign: T,
}

const MODES: [Mode; 8] = [
    Mode::Off,
    Mode::Delay,
    Mode::On,
    Mode::Glow,
    Mode::Arc,
    Mode::TimedOut,
    Mode::Blocked,
    Mode::Limiting,
];

impl Modes<f64> {
    /// That of a single device.
    #[inline(always)]
    pub fn of(state: State) -> Modes<f64> {
        Modes {
            mode: f64::from(state.mode as u8),
            sign: state.sign,
        }
    }
}

impl<T: Lane> Modes<T> {
    /// Sets the state of one lane.
    pub fn set(&mut self, lane: usize, state: State) {
        self.mode.set(lane, f64::from(state.mode as u8));
        self.sign.set(lane, state.sign);
    }

    /// The state of one lane.
    pub fn lane(&self, lane: usize) -> State {
        State {
            mode: MODES[(self.mode.lane(lane) as usize).min(MODES.len() - 1)],
            sign: self.sign.lane(lane),
        }
    }

    /// In lanes of one mode the value `then`, in others `otherwise`.
    #[inline(always)]
    pub(super) fn when(&self, mode: Mode, then: T, otherwise: T) -> T {
        let apart = (self.mode - T::splat(f64::from(mode as u8))).abs();
        apart.below(T::splat(0.5), then, otherwise)
    }

    /// True when some lane is in a mode.
    #[inline(always)]
    pub(super) fn any(&self, mode: Mode) -> bool {
        let apart = (self.mode - T::splat(f64::from(mode as u8))).abs();
        apart.any_below(T::splat(0.5))
    }

    /// True when every lane is in a mode.
    #[inline(always)]
    pub(super) fn all(&self, mode: Mode) -> bool {
        let apart = (self.mode - T::splat(f64::from(mode as u8))).abs();
        apart.all_below(T::splat(0.5))
    }
}

impl<T: Lane> Rate<T> {
    /// This rate in lanes of one mode, `otherwise` in the others.
    #[inline(always)]
    pub(super) fn or(self, modes: &Modes<T>, mode: Mode, otherwise: Rate<T>) -> Rate<T> {
        let pick = |then, otherwise| modes.when(mode, then, otherwise);
        Rate {
            per_s: pick(self.per_s, otherwise.per_s),
            per_volt: pick(self.per_volt, otherwise.per_volt),
            per_self: pick(self.per_self, otherwise.per_self),
            per_other: pick(self.per_other, otherwise.per_other),
            per_kelvin: pick(self.per_kelvin, otherwise.per_kelvin),
        }
    }

    /// This rate in lanes of one mode, none in the others.
    #[inline(always)]
    pub(super) fn when(self, modes: &Modes<T>, mode: Mode) -> Rate<T> {
        self.or(modes, mode, Rate::default())
    }
}

/// The law of one device with the numbers of several corners, one per lane.
#[derive(Clone, Debug)]
pub enum Bank<T> {
    /// Avalanche diodes.
    Avalanche(Avalanche<T>),
    /// Triggered transistor clamps.
    FlatClamp(FlatClamp<T>),
    /// Snapback clamps or thyristors.
    Crowbar(Crowbar<T>),
    /// Varistors.
    Varistor(Varistor<T>),
    /// Gas discharge tubes.
    GasTube(GasTube<T>),
    /// Diodes.
    Diode(Diode<T>),
    /// Conduction of a protected pin.
    Pin(PinClamp<T>),
    /// Laws that are evaluated lane by lane.
    Each(Vec<Law>),
}

/// Packs the numbers of a family, field by field; what is not a number is that of the first law.
macro_rules! pack {
    ($variant:ident, $family:ident, $laws:expr, [$($field:ident),*] $(, $name:ident: $other:expr)*) => {{
        let of = |field: fn(&$family) -> f64| {
            T::of(|k| match $laws[k] {
                Law::$variant(law) => field(law),
                _ => f64::NAN,
            })
        };
        Bank::$variant($family { $($field: of(|law| law.$field),)* $($name: $other),* })
    }};
}

macro_rules! each_bank {
    ($bank:expr, $inner:ident => $body:expr, $laws:ident => $each:expr) => {
        match $bank {
            Bank::Avalanche($inner) => $body,
            Bank::FlatClamp($inner) => $body,
            Bank::Crowbar($inner) => $body,
            Bank::Varistor($inner) => $body,
            Bank::GasTube($inner) => $body,
            Bank::Diode($inner) => $body,
            Bank::Pin($inner) => $body,
            Bank::Each($laws) => $each,
        }
    };
}

impl Law {
    /// True for laws of the same family that differ in nothing but numbers.
    fn differs_by_numbers(&self, other: &Law) -> bool {
        let same_trigger = |a: &FlatClamp, b: &FlatClamp| {
            std::mem::discriminant(&a.trigger) == std::mem::discriminant(&b.trigger)
        };
        match (self, other) {
            (Law::Avalanche(a), Law::Avalanche(b)) => a.bidirectional == b.bidirectional,
            (Law::FlatClamp(a), Law::FlatClamp(b)) => {
                a.bidirectional == b.bidirectional && same_trigger(a, b)
            }
            (Law::Crowbar(a), Law::Crowbar(b)) => a.bidirectional == b.bidirectional,
            (Law::Varistor(_), Law::Varistor(_))
            | (Law::GasTube(_), Law::GasTube(_))
            | (Law::Diode(_), Law::Diode(_))
            | (Law::Pin(_), Law::Pin(_)) => true,
            _ => false,
        }
    }
}

impl<T: Lane> Bank<T> {
    /// The law of one device of each corner; one per lane, with the same number of inner states.
    pub fn new(laws: &[&Law]) -> Bank<T> {
        let each = || Bank::Each(laws.iter().map(|law| (*law).clone()).collect());
        if !laws.iter().all(|law| laws[0].differs_by_numbers(law)) {
            return each();
        }
        match laws[0] {
            Law::Avalanche(first) => pack!(
                Avalanche, Avalanche, laws,
                [vbr25_v, alpha_per_k, r_ohm, knee_v, forward_v, forward_ohm, c0_f, built_in_v, grading],
                bidirectional: first.bidirectional
            ),
            Law::FlatClamp(first) => {
                let slope = |of: fn(f64, f64) -> f64| {
                    T::of(|k| match laws[k] {
                        Law::FlatClamp(FlatClamp {
                            trigger: Trigger::Slope { rc_s, hold_s },
                            ..
                        }) => of(*rc_s, *hold_s),
                        _ => f64::NAN,
                    })
                };
                let trigger = match first.trigger {
                    Trigger::Voltage => Trigger::Voltage,
                    Trigger::Slope { .. } => Trigger::Slope {
                        rc_s: slope(|rc_s, _| rc_s),
                        hold_s: slope(|_, hold_s| hold_s),
                    },
                };
                pack!(
                    FlatClamp, FlatClamp, laws,
                    [
                        trigger_v, on_v, alpha_per_k, reference_c, r_ohm, delay_s, settle_s, off_v, saturation_a,
                        breakdown_v, breakdown_ohm, forward_v, forward_ohm, knee_v, c0_f, built_in_v, grading
                    ],
                    trigger: trigger,
                    bidirectional: first.bidirectional
                )
            }
            Law::Crowbar(first) => pack!(
                Crowbar, Crowbar, laws,
                [
                    trigger_v, trigger_a, alpha_per_k, off_ohm, on_v, on_ohm, hold_a, hold_per_k, transition_s,
                    forward_v, forward_ohm, knee_v, c_f
                ],
                bidirectional: first.bidirectional
            ),
            Law::Varistor(_) => pack!(
                Varistor,
                Varistor,
                laws,
                [v1ma_v, alpha, v1ma_per_k, linear_above_a, c_f]
            ),
            Law::GasTube(_) => pack!(
                GasTube,
                GasTube,
                laws,
                [
                    dc_v,
                    slope_coefficient_v,
                    slope_exponent,
                    glow_v,
                    glow_to_arc_a,
                    arc_v,
                    arc_ohm,
                    arc_to_glow_a,
                    extinction_a,
                    drop_s,
                    c_f,
                    insulation_ohm
                ]
            ),
            Law::Diode(_) => pack!(
                Diode,
                Diode,
                laws,
                [forward_v, forward_ohm, breakdown_v, breakdown_ohm, knee_v, c_f]
            ),
            Law::Pin(_) => pack!(
                Pin,
                PinClamp,
                laws,
                [positive_v, positive_ohm, negative_v, negative_ohm, knee_v, c_f]
            ),
            Law::Table(_) | Law::Limiter(_) => each(),
        }
    }

    /// Conduction, capacitance and inner rates together, which share what is costly.
    pub fn point(&self, modes: &Modes<T>, bias: &Bias<T>, out: &mut Point<T>) {
        each_bank!(
            self,
            law => T::work(At { law, modes, bias, out }),
            laws => each(laws, modes, bias, out)
        );
    }

    /// Energy in joules stored in the capacitance at a voltage.
    pub fn stored_j(&self, volts: T) -> T {
        each_bank!(self, law => T::work(Held { law, volts }), laws => {
            T::of(|k| laws[k].stored_j(volts.lane(k)))
        })
    }
}

struct At<'a, T, F> {
    law: &'a F,
    modes: &'a Modes<T>,
    bias: &'a Bias<T>,
    out: &'a mut Point<T>,
}

impl<T: Lane, F: Characteristic<T>> Job for At<'_, T, F> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        *self.out = self.law.point(self.modes, self.bias);
    }
}

struct Held<'a, T, F> {
    law: &'a F,
    volts: T,
}

impl<T: Lane, F: Characteristic<T>> Job for Held<'_, T, F> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        self.law.stored_j(self.volts)
    }
}

/// Lane by lane.
fn each<T: Lane>(laws: &[Law], modes: &Modes<T>, bias: &Bias<T>, out: &mut Point<T>) {
    for (k, law) in laws.iter().enumerate() {
        let bias = Bias {
            volts: bias.volts.lane(k),
            junction_c: bias.junction_c.lane(k),
            inner: bias.inner.map(|inner| inner.lane(k)),
        };
        let point = law.point(modes.lane(k), &bias);
        let (to, from) = (&mut out.conduction, point.conduction);
        to.amps.set(k, from.amps);
        to.per_volt.set(k, from.per_volt);
        to.per_kelvin.set(k, from.per_kelvin);
        out.farads.set(k, point.farads);
        out.farads_per_volt.set(k, point.farads_per_volt);
        for j in 0..MAX_INNER {
            to.per_inner[j].set(k, from.per_inner[j]);
            let (to, from): (&mut Rate<T>, Rate) = (&mut out.rates[j], point.rates[j]);
            to.per_s.set(k, from.per_s);
            to.per_volt.set(k, from.per_volt);
            to.per_self.set(k, from.per_self);
            to.per_other.set(k, from.per_other);
            to.per_kelvin.set(k, from.per_kelvin);
        }
    }
}
