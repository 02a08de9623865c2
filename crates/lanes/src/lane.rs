//! One number, or one of each lane.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use crate::dispatch::{Job, wide};

/// A number, or a pack of them with one of each case; every operation works on each lane by itself.
pub trait Lane:
    Copy
    + Debug
    + Default
    + PartialEq
    + Send
    + Sync
    + 'static
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    /// Number of lanes.
    const LANES: usize;

    /// The same number in every lane.
    fn splat(value: f64) -> Self;
    /// The number in lane `k`.
    fn lane(&self, k: usize) -> f64;
    /// Puts a number into lane `k`.
    fn set(&mut self, k: usize, value: f64);
    /// A function of each lane.
    fn map(self, f: impl Fn(f64) -> f64) -> Self;
    /// A function of each lane of two.
    fn zip(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self;
    /// Where `self` is below `limit` the lane of `then`, elsewhere (and where either is not a number) that of `otherwise`.
    fn below(self, limit: Self, then: Self, otherwise: Self) -> Self;
    /// True when `self` is below `limit` in some lane.
    fn any_below(self, limit: Self) -> bool;
    /// True when `self` is below `limit` in every lane.
    fn all_below(self, limit: Self) -> bool;

    /// The smaller one; `other` where either is not a number.
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        self.zip(other, |a, b| if a < b { a } else { b })
    }

    /// The larger one; `other` where either is not a number.
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        self.zip(other, |a, b| if a > b { a } else { b })
    }

    /// The size.
    #[inline(always)]
    fn abs(self) -> Self {
        self.map(f64::abs)
    }

    /// The square root.
    #[inline(always)]
    fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    /// The size of `self` with the sign of `sign`.
    #[inline(always)]
    fn copysign(self, sign: Self) -> Self {
        self.zip(sign, f64::copysign)
    }

    /// Stands in loops over states so that one pass works on the lanes of one state; without it the compiler may well take
    /// the same lane of several states together, and gather and scatter them. Nothing for a single number.
    fn one_by_one();

    /// Runs a piece of work on numbers of this kind with the registers that suit them.
    fn work<J: Job>(job: J) -> J::Output;

    /// A pack of what `value` gives for each lane.
    #[inline(always)]
    fn of(value: impl Fn(usize) -> f64) -> Self {
        let mut out = Self::default();
        for k in 0..Self::LANES {
            out.set(k, value(k));
        }
        out
    }
}

impl Lane for f64 {
    const LANES: usize = 1;

    #[inline(always)]
    fn splat(value: f64) -> f64 {
        value
    }

    #[inline(always)]
    fn one_by_one() {}

    #[inline(always)]
    fn work<J: Job>(job: J) -> J::Output {
        job.run()
    }

    #[inline(always)]
    fn lane(&self, _k: usize) -> f64 {
        *self
    }

    #[inline(always)]
    fn set(&mut self, _k: usize, value: f64) {
        *self = value;
    }

    #[inline(always)]
    fn map(self, f: impl Fn(f64) -> f64) -> f64 {
        f(self)
    }

    #[inline(always)]
    fn zip(self, other: f64, f: impl Fn(f64, f64) -> f64) -> f64 {
        f(self, other)
    }

    #[inline(always)]
    fn below(self, limit: f64, then: f64, otherwise: f64) -> f64 {
        if self < limit { then } else { otherwise }
    }

    #[inline(always)]
    fn any_below(self, limit: f64) -> bool {
        self < limit
    }

    #[inline(always)]
    fn all_below(self, limit: f64) -> bool {
        self < limit
    }
}

/// One number of each of `L` cases.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(align(64))]
pub struct Pack<const L: usize>(pub [f64; L]);

impl<const L: usize> Default for Pack<L> {
    #[inline(always)]
    fn default() -> Self {
        Pack([0.0; L])
    }
}

macro_rules! operator {
    ($trait:ident, $method:ident, $op:tt) => {
        impl<const L: usize> $trait for Pack<L> {
            type Output = Self;

            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                let mut out = [0.0; L];
                for (k, out) in out.iter_mut().enumerate() {
                    *out = self.0[k] $op other.0[k];
                }
                Pack(out)
            }
        }
    };
}

operator!(Add, add, +);
operator!(Sub, sub, -);
operator!(Mul, mul, *);
operator!(Div, div, /);

impl<const L: usize> Neg for Pack<L> {
    type Output = Self;

    #[inline(always)]
    fn neg(self) -> Self {
        self.map(|value| -value)
    }
}

impl<const L: usize> AddAssign for Pack<L> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const L: usize> SubAssign for Pack<L> {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const L: usize> Lane for Pack<L> {
    const LANES: usize = L;

    #[inline(always)]
    fn splat(value: f64) -> Self {
        Pack([value; L])
    }

    #[inline(always)]
    fn one_by_one() {
        std::hint::black_box(0u8);
    }

    #[inline(always)]
    fn work<J: Job>(job: J) -> J::Output {
        wide(job)
    }

    #[inline(always)]
    fn lane(&self, k: usize) -> f64 {
        self.0[k]
    }

    #[inline(always)]
    fn set(&mut self, k: usize, value: f64) {
        self.0[k] = value;
    }

    #[inline(always)]
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        let mut out = [0.0; L];
        for (out, &value) in out.iter_mut().zip(&self.0) {
            *out = f(value);
        }
        Pack(out)
    }

    #[inline(always)]
    fn zip(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let mut out = [0.0; L];
        for (k, out) in out.iter_mut().enumerate() {
            *out = f(self.0[k], other.0[k]);
        }
        Pack(out)
    }

    #[inline(always)]
    fn below(self, limit: Self, then: Self, otherwise: Self) -> Self {
        let mut out = [0.0; L];
        for (k, out) in out.iter_mut().enumerate() {
            *out = if self.0[k] < limit.0[k] {
                then.0[k]
            } else {
                otherwise.0[k]
            };
        }
        Pack(out)
    }

    #[inline(always)]
    fn any_below(self, limit: Self) -> bool {
        let mut any = false;
        for (value, limit) in self.0.iter().zip(&limit.0) {
            any |= value < limit;
        }
        any
    }

    #[inline(always)]
    fn all_below(self, limit: Self) -> bool {
        let mut all = true;
        for (value, limit) in self.0.iter().zip(&limit.0) {
            all &= value < limit;
        }
        all
    }
}
