//! The invented table: read without a fault, and every part of it a model.

use tidewall_devices::datasheet::{Family, PartCorner};
use tidewall_parts::import::{ImportOptions, Mapping, Outcome, Sink, Table, import_into};
use tidewall_parts::sample::{self, Style};
use tidewall_parts::{Change, LibraryError, PartRecord};

/// Keeps what it is given.
#[derive(Default)]
struct Kept(Vec<PartRecord>);

impl Sink for Kept {
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        self.0.push(record.clone());
        Ok(Change::Added)
    }
}

fn table(rows: u32, seed: u64, style: Style) -> Vec<u8> {
    let mut bytes = Vec::new();
    sample::write(rows, seed, style, &mut bytes).unwrap();
    bytes
}

fn import(bytes: Vec<u8>) -> Vec<PartRecord> {
    let mapping = Mapping::parse("mapping.toml", &sample::mapping()).unwrap();
    let table = Table::from_bytes("sample.csv", bytes, &mapping.file).unwrap();
    let mut kept = Kept::default();
    let options = ImportOptions::default();
    let report = import_into(&table, &mapping, &options, &mut kept, &mut |_| {}).unwrap();
    assert_eq!(report.bad_rows, []);
    assert_eq!(report.outcome, Outcome::Complete);
    assert_eq!(report.unused_columns, Vec::<String>::new());
    kept.0
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_a_longer_table_begins_with_the_shorter() {
    let short = table(40, 7, Style::Point);
    assert_eq!(short, table(40, 7, Style::Point));
    assert!(table(80, 7, Style::Point).starts_with(&short));
    assert_ne!(short, table(40, 8, Style::Point));
}

#[test]
fn both_ways_of_writing_say_the_same() {
    let values = |style| {
        let mut records = import(table(200, 7, style));
        for datum in records.iter_mut().flat_map(|record| &mut record.data) {
            datum.source.place.clear();
        }
        records
    };
    assert_eq!(values(Style::Point), values(Style::Comma));
}

#[test]
fn every_part_builds_a_model_at_its_corner_and_has_its_ratings() {
    let records = import(table(2000, 7, Style::Comma));
    assert_eq!(records.len(), 2000);
    for family in [
        Family::Avalanche,
        Family::FlatClamp,
        Family::Varistor,
        Family::Thyristor,
        Family::GasTube,
    ] {
        let count = records.iter().filter(|record| record.family == family).count();
        assert!(count >= 90, "{count} of {family}");
    }
    let corners = [PartCorner::Low, PartCorner::Typical, PartCorner::High];
    for (number, record) in records.iter().enumerate() {
        let sheet = record.datasheet();
        // Every part at one corner: what is missing at one is missing at each of its family, and all take turns.
        let (corner, ambient_c) = (corners[number % 3], [-40.0, 25.0, 85.0, 70.0][number % 4]);
        if let Err(missing) = sheet.protector(corner, ambient_c) {
            panic!("{missing}");
        }
        if let Err(missing) = sheet.derating_at(70.0) {
            panic!("{missing}");
        }
        if record.family != Family::GasTube {
            let stand_off = sheet.stand_off_v.unwrap();
            assert!(sheet.leakage_at(stand_off, 85.0).is_ok(), "{}", record.name);
            assert!(sheet.junction_max_c.is_some(), "{}", record.name);
            let cooled = sheet.thermal_k_per_w.is_some() || sheet.power_w.is_some();
            assert!(cooled, "{}", record.name);
        }
        assert!(
            sheet.ratings.len() >= 2 || record.family == Family::Varistor,
            "{}",
            record.name
        );
        assert!(!sheet.capacitance.is_empty(), "{}", record.name);
    }
}

#[test]
fn avalanche_ratings_follow_from_each_other() {
    // The clamping points lie on the pulse powers, and heating splits off: the demonstration parts' own rules.
    let records = import(table(400, 3, Style::Point));
    let mut looked_at = 0;
    for record in records.iter().filter(|record| record.family == Family::Avalanche) {
        let sheet = record.datasheet();
        for rating in &sheet.ratings {
            let point = sheet
                .clamp
                .iter()
                .find(|point| point.wave == rating.wave)
                .unwrap();
            let power = point.current_a * point.voltage_v.max.unwrap();
            let stated = rating.power_w.unwrap();
            assert!(
                (power / stated - 1.0).abs() < 0.02,
                "{}: {power} {stated}",
                record.name
            );
            looked_at += 1;
        }
        let built = sheet.protector(PartCorner::High, 25.0).unwrap();
        let refused = built
            .assumptions
            .iter()
            .any(|assumption| assumption.what.contains("clamping points used"));
        assert!(!refused, "{}: {:?}", record.name, built.assumptions);
    }
    assert!(looked_at > 300);
}
