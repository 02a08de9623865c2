//! The key a device model asks for is one a parts file may have.

use tidewall_devices::datasheet::{Datasheet, PartCorner};
use tidewall_study::parts::{FAMILIES, PART_KEYS};

#[test]
fn what_a_model_misses_can_be_written_into_a_parts_file() {
    for (word, family) in FAMILIES {
        let sheet = Datasheet::unknown("nothing known", *family, "invented for the test");
        let keys = [
            sheet
                .protector(PartCorner::Typical, 25.0)
                .err()
                .map(|missing| missing.key),
            sheet.resistor_ohm().err().map(|missing| missing.key),
            sheet.inductor().err().map(|missing| missing.key),
            sheet.bead().err().map(|missing| missing.key),
            sheet.fuse().err().map(|missing| missing.key),
            sheet.ptc().err().map(|missing| missing.key),
            sheet.limiter().err().map(|missing| missing.key),
            sheet.steering().err().map(|missing| missing.key),
        ];
        assert!(keys.iter().any(Option::is_some), "{word}");
        for key in keys.into_iter().flatten() {
            assert!(PART_KEYS.contains(&key), "{word} asks for `{key}`");
        }
    }
}
