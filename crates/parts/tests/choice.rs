//! Of several data of one fact, the one that counts.

mod common;

use common::{datum, part, spread, typical};
use tidewall_devices::datasheet::{Firmness, PartCorner, RatingWave};
use tidewall_parts::{Datum, Value};

use Firmness::{Guaranteed, Invented, Measured, Typical};

fn stand_off(data: Vec<Datum>) -> Option<f64> {
    part("larch-33", data).datasheet().stand_off_v
}

fn volts(value: f64, firmness: Firmness, document: &str) -> Datum {
    datum("stand_off", Value::Number(value), firmness, document)
}

#[test]
fn guaranteed_before_measured_before_typical() {
    let (firm, bench, usual) = (
        volts(33.0, Guaranteed, "sheet"),
        volts(34.0, Measured, "bench"),
        volts(35.0, Typical, "note"),
    );
    assert_eq!(
        stand_off(vec![usual.clone(), firm.clone(), bench.clone()]),
        Some(33.0)
    );
    assert_eq!(stand_off(vec![firm, usual.clone(), bench.clone()]), Some(33.0));
    assert_eq!(stand_off(vec![bench, usual]), Some(34.0));
}

#[test]
fn newer_before_older() {
    let (old, new) = (
        volts(33.0, Guaranteed, "sheet 1"),
        volts(32.0, Guaranteed, "sheet 2"),
    );
    assert_eq!(stand_off(vec![old.clone(), new.clone()]), Some(32.0));
    assert_eq!(stand_off(vec![new, old]), Some(33.0));
}

#[test]
fn invented_data_do_not_count_beside_others() {
    let invented = volts(33.0, Invented, "demonstration");
    assert_eq!(stand_off(vec![invented.clone()]), Some(33.0));
    let cost = datum("cost", Value::Number(1.0), Measured, "bench");
    let mixed = part("larch-33", vec![invented, cost]);
    assert_eq!(mixed.counting(), [false, true]);
    let sheet = mixed.datasheet();
    assert_eq!((sheet.stand_off_v, sheet.cost), (None, Some(1.0)));
    assert_eq!((sheet.firmness, &*sheet.source), (Some(Measured), "bench"));
}

#[test]
fn a_value_at_another_temperature_is_none_at_room_temperature() {
    let mut hot = datum("breakdown", spread(40.0, 44.0), Guaranteed, "sheet");
    hot.condition.temperature_c = Some(125.0);
    let mut cool = hot.clone();
    cool.condition.temperature_c = Some(25.0);
    cool.value = spread(36.7, 40.6);
    assert_eq!(
        part("larch-33", vec![hot.clone()]).datasheet().breakdown_v.min,
        None
    );
    let sheet = part("larch-33", vec![cool, hot]).datasheet();
    assert_eq!(sheet.breakdown_v.min, Some(36.7));
}

#[test]
fn points_under_different_conditions_stay_side_by_side() {
    let point = |amps: f64, volts: f64, document: &str| {
        let mut datum = datum("clamp", spread(volts, volts), Guaranteed, document);
        datum.condition.wave = Some(RatingWave::Surge8x20);
        datum.condition.current_a = Some(amps);
        datum
    };
    let sheet = part(
        "larch-33",
        vec![
            point(10.0, 45.0, "one"),
            point(100.0, 55.0, "one"),
            point(10.0, 46.0, "two"),
        ],
    )
    .datasheet();
    let clamp: Vec<_> = sheet
        .clamp
        .iter()
        .map(|p| (p.current_a, p.voltage_v.max))
        .collect();
    assert_eq!(clamp, [(100.0, Some(55.0)), (10.0, Some(46.0))]);
    assert_eq!(&*sheet.source, "one; two");
}

#[test]
fn exponents_of_a_pulse_life_come_from_one_document() {
    let exponent =
        |key, value, firmness, document: &str| datum(key, Value::Number(value), firmness, document);
    let record = part(
        "larch-33",
        vec![
            exponent("pulse_life.p", 0.3, Typical, "one"),
            exponent("pulse_life.q", 0.6, Typical, "one"),
            exponent("pulse_life.p", 0.4, Guaranteed, "half"),
            exponent("pulse_life.q", 0.7, Guaranteed, "other half"),
        ],
    );
    assert_eq!(record.datasheet().pulse_life, Some((0.3, 0.6)));
}

/// The whole of a part is typical only if all of it is: otherwise a model would lend its typical breakdown to the
/// tolerance corners of a part whose other data are guaranteed.
#[test]
fn a_typical_value_is_not_lent_to_a_corner_of_a_guaranteed_part() {
    let breakdown = datum("breakdown", typical(38.0), Typical, "note");
    let known = [
        datum("bidirectional", Value::Flag(true), Typical, "note"),
        datum("temperature_coefficient", Value::Number(1e-3), Typical, "note"),
        datum("junction_max", Value::Number(150.0), Typical, "note"),
        breakdown,
    ];
    let mut rating = datum("rating.power", Value::Number(3000.0), Typical, "note");
    rating.condition.wave = Some(RatingWave::Long10x1000);
    let mut clamp = datum("clamp", typical(53.0), Typical, "note");
    clamp.condition.wave = Some(RatingWave::Long10x1000);
    clamp.condition.current_a = Some(56.0);
    clamp.value = spread(50.0, 53.0);
    let mut data = known.to_vec();
    data.extend([rating, clamp]);
    let all_typical = part("larch-33", data.clone()).datasheet();
    assert_eq!(all_typical.firmness, Some(Typical));
    assert!(all_typical.protector(PartCorner::Low, 25.0).is_ok());

    data.push(volts(33.0, Guaranteed, "sheet"));
    let mixed = part("larch-33", data).datasheet();
    assert_eq!(mixed.firmness, Some(Guaranteed));
    let missing = mixed.protector(PartCorner::Low, 25.0).unwrap_err();
    assert_eq!(missing.key, "breakdown");
}
