//! What the catalogue refuses, and how it says so.

mod support;

use support::requests::{base, both, built, complete, key};
use tidewall_stress::catalogue::PortUse;
use tidewall_stress::{StressRequest, disturbance};

#[test]
fn a_choice_left_open_is_refused_by_name() {
    type Taker = (&'static str, fn(&mut StressRequest) -> bool);
    let takers: [Taker; 14] = [
        ("polarity", |r| r.polarity.take().is_some()),
        ("coupling", |r| r.coupling.take().is_some()),
        ("discharge", |r| r.discharge.take().is_some()),
        ("storage_f", |r| r.storage_f.take().is_some()),
        ("discharge_ohm", |r| r.discharge_ohm.take().is_some()),
        ("pulse", |r| r.pulse.take().is_some()),
        ("system_v", |r| r.system_v.take().is_some()),
        ("width_s", |r| r.width_s.take().is_some()),
        ("rise_s", |r| r.rise_s.take().is_some()),
        ("repetition_hz", |r| r.repetition_hz.take().is_some()),
        ("wires", |r| r.wires.take().is_some()),
        ("front_s", |r| r.front_s.take().is_some()),
        ("frequency_hz", |r| r.frequency_hz.take().is_some()),
        ("samples", |r| r.samples.take().is_some()),
    ];
    let mut refused = 0;
    for request in complete() {
        for (field, take) in takers {
            let mut left = request.clone();
            if take(&mut left) {
                let error = disturbance(&left).expect_err(&format!("{} without {field}", request.standard));
                assert_eq!(error.field, field, "{}: {error}", request.standard);
                assert!(!error.expected.is_empty(), "{error}");
                refused += 1;
            }
        }
        let mut left = request.clone();
        if left.level_v.take().is_some()
            || left.level_name.take().is_some()
            || left.current_a.take().is_some()
        {
            let error = disturbance(&left);
            assert!(error.is_err(), "{} without a level", request.standard);
        }
        let two = StressRequest {
            lines: 2,
            ..request.clone()
        };
        if let Err(error) = disturbance(&two) {
            assert_eq!(error.field, "across", "{error}");
        }
    }
    assert!(refused > 100, "{refused}");
}

#[test]
fn what_a_standard_does_not_use_is_refused() {
    for request in complete() {
        let mut extra = request.clone();
        if request.discharge.is_none() {
            extra.discharge = key("contact");
            assert_eq!(
                disturbance(&extra).unwrap_err().field,
                "discharge",
                "{}",
                request.standard
            );
        }
        let mut extra = request.clone();
        if request.standard != "IEC 61000-4-5" {
            extra.wires = Some(2);
            assert_eq!(
                disturbance(&extra).unwrap_err().field,
                "wires",
                "{}",
                request.standard
            );
        }
    }
}

#[test]
fn wrong_values_give_one_error_with_the_accepted_ones() {
    let error = disturbance(&base("IEC 61000-4-99")).unwrap_err();
    assert_eq!(error.field, "standard");
    assert!(error.expected.iter().any(|name| name == "IEC 61000-4-5"));
    let surge = StressRequest {
        level_v: Some(1e3),
        coupling: key("capacitive"),
        ..both("IEC 61000-4-5")
    };
    let error = disturbance(&surge).unwrap_err();
    assert_eq!(error.field, "coupling");
    assert!(error.expected.iter().any(|name| name == "line-earth"));
    let signal = StressRequest {
        coupling: key("line-earth"),
        port: Some(PortUse::Signal),
        ..surge.clone()
    };
    let error = disturbance(&signal).unwrap_err();
    assert!(
        error.expected.iter().any(|name| name == "line-earth-capacitor"),
        "{error}"
    );
    let pulse = StressRequest {
        level_v: Some(100.0),
        pulse: key("1"),
        system_v: Some(12.0),
        polarity: key("positive"),
        ..base("ISO 7637-2")
    };
    assert_eq!(disturbance(&pulse).unwrap_err().field, "polarity");
    assert!(
        disturbance(&StressRequest {
            polarity: key("-"),
            ..pulse
        })
        .is_ok()
    );
    let twice = StressRequest {
        level_v: Some(8e3),
        level_name: key("4"),
        discharge: key("contact"),
        ..both("IEC 61000-4-2")
    };
    assert_eq!(disturbance(&twice).unwrap_err().field, "level_name");
    for (polarity, count) in [
        ("+", 1),
        ("-", 1),
        ("−", 1),
        ("±", 2),
        ("Both", 2),
        ("negative", 1),
    ] {
        let request = StressRequest {
            level_v: Some(2e3),
            polarity: key(polarity),
            ..base("HBM")
        };
        assert_eq!(built(&request).polarities.len(), count, "{polarity}");
    }
}

#[test]
fn no_number_makes_it_panic_or_slip_through() {
    let odd = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        0.0,
        -1.0,
        1e300,
        1e-300,
    ];
    for request in complete() {
        for number in odd {
            let mut tries: Vec<StressRequest> = Vec::new();
            let mut with = |change: &dyn Fn(&mut StressRequest)| {
                let mut changed = request.clone();
                change(&mut changed);
                tries.push(changed);
            };
            if request.level_v.is_some() {
                with(&|r| r.level_v = Some(number));
            }
            if request.current_a.is_some() {
                with(&|r| r.current_a = Some(number));
            }
            if request.source_ohm.is_some() {
                with(&|r| r.source_ohm = Some(number));
            }
            if request.width_s.is_some() {
                with(&|r| r.width_s = Some(number));
            }
            if request.front_s.is_some() {
                with(&|r| r.front_s = Some(number));
                with(&|r| r.tail_s = Some(number));
            }
            if request.samples.is_some() {
                with(&|r| r.samples = Some(vec![(0.0, 0.0), (number, 1.0), (2.0, 0.0)]));
            }
            with(&|r| r.interval_s = Some(number));
            for changed in tries {
                assert!(
                    disturbance(&changed).is_err(),
                    "{number} was accepted: {changed:?}"
                );
            }
        }
    }
    assert!(disturbance(&StressRequest::default()).is_err());
    for lines in [0, 3, usize::MAX] {
        for request in complete() {
            assert_eq!(
                disturbance(&StressRequest { lines, ..request })
                    .unwrap_err()
                    .field,
                "lines"
            );
        }
    }
}
