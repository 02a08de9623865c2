//! No bytes make the readers, the mapping or the guess panic, and a guess is a mapping that can be read.

use proptest::prelude::*;
use tidewall_parts::import::{
    FileOptions, GuessOptions, ImportOptions, Mapping, Sink, Table, guess, import_into,
};
use tidewall_parts::sample::{self, Style};
use tidewall_parts::{Change, LibraryError, PartRecord};

struct Nothing;

impl Sink for Nothing {
    fn put(&mut self, _: &PartRecord) -> Result<Change, LibraryError> {
        Ok(Change::Added)
    }
}

/// Does all that can be done with a file.
fn exercise(bytes: Vec<u8>) {
    let Ok(table) = Table::from_bytes("bytes", bytes.clone(), &FileOptions::default()) else {
        return;
    };
    let options = GuessOptions {
        kind: Some("invented".to_owned()),
        document: None,
        family: None,
    };
    let mapping = match guess(&table, &options) {
        Ok(guess) if guess.to_fill_in.is_empty() => Mapping::parse("guess", &guess.mapping)
            .unwrap_or_else(|error| panic!("{error}\n{}", guess.mapping)),
        _ => Mapping::parse("sample", &sample::mapping()).unwrap(),
    };
    let Ok(table) = Table::from_bytes("bytes", bytes, &mapping.file) else {
        return;
    };
    let _ = import_into(
        &table,
        &mapping,
        &ImportOptions::default(),
        &mut Nothing,
        &mut |_| {},
    );
}

fn sample_bytes(style: Style) -> Vec<u8> {
    let mut bytes = Vec::new();
    sample::write(12, 5, style, &mut bytes).unwrap();
    bytes
}

fn workbook_bytes() -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (row, name) in ["Part", "alder", "birch"].iter().enumerate() {
        let row = u32::try_from(row).unwrap();
        sheet.write(row, 0, *name).unwrap();
        sheet
            .write(row, 1, if row == 0 { "VRWM (V)" } else { "33" })
            .unwrap();
    }
    book.save_to_buffer().unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        exercise(bytes);
    }

    #[test]
    fn any_text(text in "(Part|VRWM \\(V\\)|[\"a-z0-9.,;\t µΩ@()\\n\\r-]){0,200}") {
        exercise(text.clone().into_bytes());
        exercise(text.encode_utf16().flat_map(u16::to_le_bytes).collect());
    }

    #[test]
    fn any_damage_of_a_table(
        comma in any::<bool>(),
        damage in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut bytes = sample_bytes(if comma { Style::Comma } else { Style::Point });
        for (place, byte) in damage {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        let length = cut.index(bytes.len() * 2).min(bytes.len());
        bytes.truncate(length);
        exercise(bytes);
    }

    #[test]
    fn any_damage_of_a_workbook(
        damage in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = workbook_bytes();
        for (place, byte) in damage {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        exercise(bytes);
    }

    #[test]
    fn any_text_as_a_mapping(text in "\\PC{0,300}") {
        let _ = Mapping::parse("text", &text);
    }
}

#[test]
fn the_guess_of_the_invented_table_reads_it_whole() {
    for style in [Style::Point, Style::Comma] {
        let bytes = sample_bytes(style);
        let table = Table::from_bytes("sample.csv", bytes.clone(), &FileOptions::default()).unwrap();
        let options = GuessOptions {
            kind: Some("invented".to_owned()),
            document: Some("table of invented parts".to_owned()),
            family: None,
        };
        let guess = guess(&table, &options).unwrap();
        assert_eq!(guess.to_fill_in, Vec::<String>::new());
        let read = |text: &str| {
            let mapping = Mapping::parse("mapping", text).unwrap();
            let table = Table::from_bytes("sample.csv", bytes.clone(), &mapping.file).unwrap();
            let mut kept = Kept(Vec::new());
            import_into(
                &table,
                &mapping,
                &ImportOptions::default(),
                &mut kept,
                &mut |_| {},
            )
            .unwrap();
            kept.0.iter().map(PartRecord::datasheet).collect::<Vec<_>>()
        };
        assert_eq!(read(&guess.mapping), read(&sample::mapping()));
    }
}

struct Kept(Vec<PartRecord>);

impl Sink for Kept {
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        self.0.push(record.clone());
        Ok(Change::Added)
    }
}
