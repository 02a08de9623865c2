//! A datasheet becomes a record and comes back the same, directly, through the file and through JSON.

mod common;

use common::{Bench, action};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use tidewall_devices::datasheet::{
    CapacitancePoint, ClampPoint, Datasheet, Family, FiringPoint, Firmness, LeakagePoint, PulseRating,
    RatingWave, Spread,
};
use tidewall_parts::wire::{self, PartExport};
use tidewall_parts::{PartRecord, Provenance};
use tidewall_study::parts::{FAMILIES, FIRMNESS};

fn number() -> impl Strategy<Value = f64> {
    (1u32..1_000_000, -18i32..9).prop_map(|(digits, power)| f64::from(digits) * 10f64.powi(power))
}

fn spread() -> impl Strategy<Value = Spread> {
    ([number(), number(), number()], 1u8..8).prop_map(|(mut numbers, given)| {
        numbers.sort_by(f64::total_cmp);
        let at = |bit: u8| (given & (1 << bit) != 0).then_some(numbers[usize::from(bit)]);
        Spread {
            min: at(0),
            typ: at(1),
            max: at(2),
        }
    })
}

fn maybe_spread() -> impl Strategy<Value = Spread> {
    of(spread()).prop_map(Option::unwrap_or_default)
}

fn wave() -> impl Strategy<Value = RatingWave> {
    prop_oneof![
        Just(RatingWave::Surge8x20),
        Just(RatingWave::Long10x1000),
        (number(), number()).prop_map(|(front_s, tail_s)| RatingWave::FrontTail { front_s, tail_s }),
        number().prop_map(|width_s| RatingWave::Rectangle { width_s }),
    ]
}

/// Without items that are alike in what `alike` compares.
fn unlike<T>(items: Vec<T>, alike: impl Fn(&T, &T) -> bool) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for item in items {
        if !kept.iter().any(|other| alike(other, &item)) {
            kept.push(item);
        }
    }
    kept
}

fn points() -> impl Strategy<Value = Datasheet> {
    let clamp = (wave(), number(), spread()).prop_map(|(wave, current_a, voltage_v)| ClampPoint {
        wave,
        current_a,
        voltage_v,
    });
    let rating = (wave(), of(number()), of(number()), of(number()), 1u32..5).prop_map(
        |(wave, power_w, current_a, energy_j, pulses)| PulseRating {
            wave,
            // At least one is given.
            power_w: power_w.or(current_a.is_none().then_some(1.5)),
            current_a,
            energy_j,
            pulses,
        },
    );
    let leakage =
        (number(), -55.0..175.0, number()).prop_map(|(voltage_v, temperature_c, current_a)| LeakagePoint {
            voltage_v,
            temperature_c,
            current_a,
        });
    let capacitance = (number(), spread()).prop_map(|(bias_v, capacitance_f)| CapacitancePoint {
        bias_v,
        capacitance_f,
    });
    let firing = (number(), spread()).prop_map(|(slope_v_per_s, voltage_v)| FiringPoint {
        slope_v_per_s,
        voltage_v,
    });
    let lists = (
        vec(clamp, 0..4),
        vec(rating, 0..4),
        vec(leakage, 0..4),
        vec(capacitance, 0..4),
        vec(firing, 0..4),
    );
    let table = vec((1u32..1_000, 0u32..1_000), 2..5).prop_map(|steps| {
        let (mut volts, mut milliamps) = (0, 0);
        let points = steps.iter().map(|(up, on)| {
            volts += up;
            milliamps += on;
            (f64::from(volts), f64::from(milliamps) * 1e-3)
        });
        points.collect::<Vec<_>>()
    });
    (0..FAMILIES.len(), 0..FIRMNESS.len(), lists, of(table)).prop_map(|(family, kind, lists, table)| {
        let mut sheet = Datasheet::unknown("larch-33", FAMILIES[family].1, "sheet 1, table 2");
        sheet.firmness = Some(FIRMNESS[kind].1);
        sheet.clamp = unlike(lists.0, |a, b| a.wave == b.wave && a.current_a == b.current_a);
        sheet.ratings = unlike(lists.1, |a, b| a.wave == b.wave && a.pulses == b.pulses);
        sheet.leakage = unlike(lists.2, |a, b| {
            a.voltage_v == b.voltage_v && a.temperature_c == b.temperature_c
        });
        sheet.capacitance = unlike(lists.3, |a, b| a.bias_v == b.bias_v);
        sheet.firing = unlike(lists.4, |a, b| a.slope_v_per_s == b.slope_v_per_s);
        sheet.table = table.unwrap_or_default();
        // Something is stated, so that firmness and source have a place.
        sheet.cost = Some(1.0);
        sheet
    })
}

fn sheet() -> impl Strategy<Value = Datasheet> {
    let spreads = [maybe_spread(), maybe_spread(), maybe_spread(), maybe_spread()];
    let pairs = (
        of((number(), number())),
        of((number(), number())),
        of(any::<bool>()),
    );
    (points(), spreads, vec(of(number()), 41), pairs).prop_map(|(mut s, spreads, n, pairs)| {
        [s.breakdown_v, s.on_v, s.hold_v, s.hold_a] = spreads;
        (s.pulse_life, s.rail_clamp, s.bidirectional) = pairs;
        let fields = [
            &mut s.stand_off_v,
            &mut s.breakdown_at_a,
            &mut s.alpha_per_k,
            &mut s.leakage_doubling_k,
            &mut s.grading,
            &mut s.forward_v,
            &mut s.forward_at_a,
            &mut s.forward_ohm,
            &mut s.junction_max_c,
            &mut s.derating_from_c,
            &mut s.thermal_k_per_w,
            &mut s.power_w,
            &mut s.package_h,
            &mut s.dynamic_ohm,
            &mut s.hold_per_k,
            &mut s.turn_on_s,
            &mut s.failure_a,
            &mut s.failure_width_s,
            &mut s.saturation_a,
            &mut s.transistor_breakdown_v,
            &mut s.turn_off_v,
            &mut s.detector_s,
            &mut s.time_out_s,
            &mut s.exponent,
            &mut s.glow_v,
            &mut s.glow_to_arc_a,
            &mut s.arc_v,
            &mut s.holdover_v,
            &mut s.resistance_ohm,
            &mut s.inductance_h,
            &mut s.inductor_saturation_a,
            &mut s.bead_ohm,
            &mut s.melting_a2s,
            &mut s.rated_a,
            &mut s.trip_a,
            &mut s.voltage_max_v,
            &mut s.reset_v,
            &mut s.rail_f,
            &mut s.rail_v,
            &mut s.area_m2,
            &mut s.cost,
        ];
        assert_eq!(fields.len(), n.len(), "every number has a value");
        for (field, value) in fields.into_iter().zip(n) {
            *field = value;
        }
        s.cost = s.cost.or(Some(1.0));
        s
    })
}

fn record(sheet: &Datasheet) -> PartRecord {
    let source = Provenance {
        document: sheet.source.to_string(),
        ..Provenance::default()
    };
    PartRecord::from_datasheet(sheet, source).expect("it says how firm it is")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_datasheet_comes_back_from_its_record_and_from_json(sheet in sheet()) {
        let record = record(&sheet);
        prop_assert_eq!(&record.datasheet(), &sheet);
        let text = serde_json::to_string(&PartExport::from(&record)).unwrap();
        let export: PartExport = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(export.record().unwrap(), record);
    }
}

#[test]
fn records_come_back_from_the_file() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let records: Vec<PartRecord> = (0..200)
        .map(|count| {
            let sheet = sheet().new_tree(&mut runner).unwrap().current();
            PartRecord {
                name: format!("larch-{count}"),
                ..record(&sheet)
            }
        })
        .collect();
    let bench = Bench::new();
    let mut library = bench.library();
    let mut edit = library.begin(&action("test")).unwrap();
    for record in &records {
        edit.put(record).unwrap();
    }
    edit.commit().unwrap();
    drop(library);
    let library = bench.library();
    for record in &records {
        assert_eq!(library.part(&record.name).unwrap().as_ref(), Some(record));
    }
}

#[test]
fn words_cover_every_family_and_firmness() {
    let families = [
        Family::Avalanche,
        Family::FlatClamp,
        Family::Snapback,
        Family::Varistor,
        Family::GasTube,
        Family::Thyristor,
        Family::Steering,
        Family::Table,
        Family::Resistor,
        Family::Inductor,
        Family::Bead,
        Family::Fuse,
        Family::Ptc,
        Family::Limiter,
    ];
    for family in families {
        assert_eq!(wire::family(wire::family_word(family)), Some(family));
    }
    for firmness in [
        Firmness::Guaranteed,
        Firmness::Typical,
        Firmness::Measured,
        Firmness::Invented,
        Firmness::Generic,
    ] {
        assert_eq!(wire::firmness(wire::firmness_word(firmness)), Some(firmness));
    }
}

#[test]
fn a_datasheet_without_firmness_is_refused() {
    let sheet = Datasheet::unknown("larch-33", Family::Avalanche, "sheet 1");
    let error = PartRecord::from_datasheet(&sheet, Provenance::default()).unwrap_err();
    assert!(error.to_string().contains("how firm"), "{error}");
}
