//! Errors of the elementary functions over their ranges, and lanes beside single numbers.

use proptest::prelude::*;
use tidewall_lanes::elementary::softplus_here;
use tidewall_lanes::{Lane, Pack, exp, ln, pow};

fn largest(mut error: impl FnMut(f64) -> f64, from: f64, to: f64) -> f64 {
    const PLACES: u32 = 200_000;
    let place = |k: u32| from + (to - from) * f64::from(k) / f64::from(PLACES);
    (0..=PLACES).map(|k| error(place(k))).fold(0.0, f64::max)
}

fn relative(got: f64, wanted: f64) -> f64 {
    ((got - wanted) / wanted).abs()
}

#[test]
fn exponentials_over_the_whole_range() {
    for (from, to) in [(-708.0, 709.0), (-1.0, 1.0), (-1e-6, 1e-6), (-40.0, 40.0)] {
        let error = largest(|x| relative(exp(x), x.exp()), from, to);
        assert!(error < 4e-16, "{error} between {from} and {to}");
    }
    assert_eq!((exp(-708.5), exp(709.5), exp(0.0)), (0.0, f64::INFINITY, 1.0));
    assert!(exp(f64::NAN).is_nan());
    assert_eq!((exp(f64::NEG_INFINITY), exp(f64::INFINITY)), (0.0, f64::INFINITY));
}

#[test]
fn logarithms_over_the_whole_range() {
    for (from, to) in [
        (0.5, 2.0),
        (0.999, 1.001),
        (0.01, 1e3),
        (1e-300, 1e-290),
        (1.0, 1e300),
    ] {
        let error = largest(
            |x| {
                if x == 1.0 {
                    ln(x).abs()
                } else {
                    relative(ln(x), x.ln())
                }
            },
            from,
            to,
        );
        assert!(error < 3e-16, "{error} between {from} and {to}");
    }
    let error = largest(|x| relative(ln(2f64.powf(x)), 2f64.powf(x).ln()), -1021.5, -0.5);
    assert!(error < 3e-16, "{error} over the exponents");
    assert!(ln(f64::INFINITY).is_nan() && ln(f64::NAN).is_nan());
}

#[test]
fn powers_as_the_laws_use_them() {
    for y in [0.3, 1.7, 12.0, 50.0, -10.0] {
        let bound = |x: f64| (2.0 + (y * x.ln()).abs()) * 3e-16;
        let error = largest(|x| relative(pow(x, y), x.powf(y)) / bound(x), 1e-3, 50.0);
        assert!(error < 1.0, "{error} of the bound at an exponent of {y}");
        assert_eq!(pow(0.0, y), 0.0);
    }
}

#[test]
fn rounded_corners() {
    let value = largest(|u| relative(softplus_here(u).0, u.exp().ln_1p()), -40.0, 40.0);
    let slope = largest(
        |u| relative(softplus_here(u).1, 1.0 / (1.0 + (-u).exp())),
        -40.0,
        40.0,
    );
    assert!(value < 1e-15 && slope < 1e-15, "{value}, {slope}");
}

/// A function of one number, or two, that a pack must equal in every lane.
type Single = fn(f64, f64) -> f64;

proptest! {
    #[test]
    fn a_lane_holds_what_a_single_number_would(
        numbers in prop::array::uniform8(-750.0f64..750.0),
        others in prop::array::uniform8(1e-9f64..1e9),
    ) {
        type Lanes = Pack<8>;
        let (x, y) = (Pack(numbers), Pack(others));
        let pairs: [(Lanes, Single); 8] = [
            (exp(x), |x, _| exp(x)),
            (ln(y), |_, y| ln(y)),
            (pow(y, x * Lanes::splat(0.01)), |x, y| pow(y, x * 0.01)),
            (softplus_here(x * Lanes::splat(0.05)).0, |x, _| softplus_here(x * 0.05).0),
            (x.max(y), |x, y| Lane::max(x, y)),
            (x.below(y, x / y, y.sqrt()), |x, y| x.below(y, x / y, Lane::sqrt(y))),
            (y.copysign(x), |x, y| Lane::copysign(y, x)),
            (-x - y, |x, y| -x - y),
        ];
        for (pack, single) in pairs {
            for k in 0..8 {
                prop_assert_eq!(pack.lane(k).to_bits(), single(numbers[k], others[k]).to_bits());
            }
        }
        prop_assert_eq!(x.any_below(y), (0..8).any(|k| numbers[k] < others[k]));
        prop_assert_eq!(x.all_below(y), (0..8).all(|k| numbers[k] < others[k]));
    }
}
