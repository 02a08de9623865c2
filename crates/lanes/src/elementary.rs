//! Exponential, logarithm and what is made of them, for one number or several lanes alike.
//!
//! Errors are largest relative errors over the stated range, as the tests of this module find them against the standard
//! library's functions (themselves good to about one unit in the last place, 1.1e-16).

use crate::{Job, Lane};

/// 1.5 · 2^52: added to a number, it leaves the nearest whole number in the lowest bits.
const ROUND: f64 = 6_755_399_441_055_744.0;
/// Logarithm of two in two parts, the first of which has trailing zeros (from memory: Sun's fdlibm).
const LN2_HIGH: f64 = 0.693_147_180_369_123_8;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Smallest and largest argument of [`exp`] that is neither zero nor infinity.
const EXP_LEAST: f64 = -708.0;
const EXP_MOST: f64 = 709.0;
/// Bits of the square root of one half.
const HALF_ROOT: u64 = 0x3FE6_A09E_667F_3BCD;
const ONE: u64 = 0x3FF0_0000_0000_0000;
/// 2^52, whose lowest bits hold a whole number that is added as bits.
const WHOLE: u64 = 0x4330_0000_0000_0000;

/// `e^x`: relative error below 4e-16 from −708 to 709, zero below, infinite above.
///
/// Powers of two by their bits and the Taylor series to the thirteenth power between −½ ln 2 and ½ ln 2, whose remainder
/// is 6e-18.
pub fn exp<T: Lane>(x: T) -> T {
    T::work(Exp(x))
}

struct Exp<T>(T);

impl<T: Lane> Job for Exp<T> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        exp_here(self.0)
    }
}

/// [`exp`] as a part of a job.
#[inline(always)]
pub fn exp_here<T: Lane>(x: T) -> T {
    let c = T::splat;
    let shifted = x * c(std::f64::consts::LOG2_E) + c(ROUND);
    let whole = shifted - c(ROUND);
    let r = x - whole * c(LN2_HIGH) - whole * c(LN2_LOW);
    let square = r * r;
    // Even and odd powers apart: two shorter chains.
    let even = c(1.0 / 479_001_600.0);
    let even = even * square + c(1.0 / 3_628_800.0);
    let even = even * square + c(1.0 / 40_320.0);
    let even = even * square + c(1.0 / 720.0);
    let even = even * square + c(1.0 / 24.0);
    let even = even * square + c(0.5);
    let odd = c(1.0 / 6_227_020_800.0);
    let odd = odd * square + c(1.0 / 39_916_800.0);
    let odd = odd * square + c(1.0 / 362_880.0);
    let odd = odd * square + c(1.0 / 5_040.0);
    let odd = odd * square + c(1.0 / 120.0);
    let odd = odd * square + c(1.0 / 6.0);
    let series = c(1.0) + (r + square * (even + r * odd));
    let power = shifted.map(|shifted| f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52));
    let inside = x.below(c(EXP_LEAST), c(0.0), series * power);
    c(EXP_MOST).below(x, c(f64::INFINITY), inside)
}

/// Natural logarithm of a positive finite number of normal size: relative error below 3e-16. Not a number for infinite
/// arguments and such that are none; no use for others.
///
/// The argument as `2^k m` with `m` about one, and `ln m` from a series of `(m − 1)/(m + 1)` (from memory: Sun's fdlibm).
pub fn ln<T: Lane>(x: T) -> T {
    T::work(Ln(x))
}

struct Ln<T>(T);

impl<T: Lane> Job for Ln<T> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        ln_here(self.0)
    }
}

/// [`ln`] as a part of a job.
#[inline(always)]
pub fn ln_here<T: Lane>(x: T) -> T {
    let c = T::splat;
    let whole = x.map(|x| f64::from_bits(x.to_bits().wrapping_add(ONE - HALF_ROOT) >> 52 | WHOLE));
    let k = whole - c(4_503_599_627_370_496.0 + 1023.0);
    let m = x.map(|x| {
        let bits = x.to_bits();
        let k = bits.wrapping_add(ONE - HALF_ROOT) & 0xFFF0_0000_0000_0000;
        f64::from_bits(bits.wrapping_sub(k).wrapping_add(ONE))
    });
    let f = m - c(1.0);
    let s = f / (c(2.0) + f);
    let z = s * s;
    let w = z * z;
    let even = w
        * (c(0.399_999_999_994_094_2) + w * (c(0.222_221_984_321_497_84) + w * c(0.153_138_376_992_093_73)));
    let odd = z
        * (c(0.666_666_666_666_673_5)
            + w * (c(0.285_714_287_436_623_9)
                + w * (c(0.181_835_721_616_180_5) + w * c(0.147_981_986_051_165_86))));
    let half = c(0.5) * f * f;
    let out = k * c(LN2_HIGH) - ((half - (s * (half + (even + odd)) + k * c(LN2_LOW))) - f);
    out + x * c(0.0)
}

/// `x^y` for `x ≥ 0` of normal size: relative error below `(2 + |y ln x|) 3e-16`. Zero for `x = 0`, also where `y ≤ 0`.
pub fn pow<T: Lane>(x: T, y: T) -> T {
    T::work(Pow(x, y))
}

struct Pow<T>(T, T);

impl<T: Lane> Job for Pow<T> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        let Pow(x, y) = self;
        let power = exp_here(y * ln_here(x));
        x.below(T::splat(f64::MIN_POSITIVE), T::splat(0.0), power)
    }
}

/// `ln(1 + e^u)` and its derivative for `u` from −40 to 40, as a part of a job: relative errors below 1e-15 and 6e-16.
#[inline(always)]
pub fn softplus_here<T: Lane>(u: T) -> (T, T) {
    let one = T::splat(1.0);
    let e = exp_here(u);
    let sum = one + e;
    let inverse = one / sum;
    // What was lost in the sum counts for its share of it.
    (ln_here(sum) + (e - (sum - one)) * inverse, e * inverse)
}
