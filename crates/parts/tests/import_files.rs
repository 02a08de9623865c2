//! Tables in every form that they come in, and what is said of the bad ones.

use std::io::{Cursor, Read, Write};

use rust_xlsxwriter::{Format, Formula, Workbook};
use tidewall_devices::datasheet::{CapacitancePoint, Spread};
use tidewall_parts::import::{
    FileOptions, ImportError, ImportOptions, ImportReport, Mapping, Outcome, Refusal, Sink, Table,
    import_into,
};
use tidewall_parts::{Change, LibraryError, PartRecord};

const MAPPING: &str = r#"
mapping = 1
[constants]
kind = "guaranteed"
document = "price list"
revision = "3"
family = "avalanche"
[name]
column = "Part"
[[datum]]
key = "stand_off"
column = "VRWM"
unit = "V"
[[datum]]
key = "capacitance"
column = "C"
role = "typ"
voltage = "0 V"
"#;

#[derive(Default)]
struct Kept(Vec<PartRecord>);

impl Sink for Kept {
    fn put(&mut self, record: &PartRecord) -> Result<Change, LibraryError> {
        self.0.push(record.clone());
        Ok(Change::Added)
    }
}

fn run(bytes: &[u8], mapping: &str) -> Result<(ImportReport, Vec<PartRecord>), ImportError> {
    let mapping = Mapping::parse("map.toml", mapping)?;
    let table = Table::from_bytes("list", bytes.to_vec(), &mapping.file)?;
    let mut kept = Kept::default();
    let report = import_into(
        &table,
        &mapping,
        &ImportOptions::default(),
        &mut kept,
        &mut |_| {},
    );
    match report {
        Ok(report) => Ok((report, kept.0)),
        Err(Refusal::Table(error)) => Err(error),
        Err(Refusal::Library(error)) => panic!("{error}"),
    }
}

#[track_caller]
fn good(bytes: &[u8]) -> Vec<PartRecord> {
    let (report, records) = run(bytes, MAPPING).unwrap();
    assert_eq!(report.bad_rows, []);
    records
}

#[track_caller]
fn refused(bytes: &[u8]) -> String {
    match run(bytes, MAPPING) {
        Ok((report, _)) => panic!("not refused: {report:?}"),
        Err(error) => error.to_string(),
    }
}

/// Places and reasons of all faults.
fn faults(report: &ImportReport) -> Vec<(String, String)> {
    let all = report.bad_rows.iter().flat_map(|row| &row.faults);
    all.map(|fault| (fault.place.clone(), fault.reason.clone()))
        .collect()
}

fn two_parts(records: &[PartRecord]) {
    let capacitance = |typ| {
        vec![CapacitancePoint {
            bias_v: 0.0,
            capacitance_f: Spread {
                typ: Some(typ),
                ..Spread::default()
            },
        }]
    };
    let sheets: Vec<_> = records.iter().map(PartRecord::datasheet).collect();
    assert_eq!(sheets.len(), 2);
    assert_eq!(&*sheets[0].name, "alder-1");
    assert_eq!(sheets[0].stand_off_v, Some(33.5));
    assert_eq!(sheets[0].capacitance, capacitance(4.7e-6));
    assert_eq!(sheets[1].stand_off_v, Some(58.0));
    assert_eq!(sheets[1].capacitance, capacitance(1.2e-9));
}

#[test]
fn every_encoding_delimiter_and_decimal_mark_reads_the_same() {
    for delimiter in [",", ";", "\t", "|"] {
        for comma in [false, true] {
            for end in ["\n", "\r\n", "\r"] {
                let cell = |number: &str| {
                    let number = if comma {
                        number.replace('.', ",")
                    } else {
                        number.to_owned()
                    };
                    if delimiter == "," {
                        format!("\"{number}\"")
                    } else {
                        number
                    }
                };
                let rows = [
                    ["Part", "VRWM", "C"].map(str::to_owned),
                    ["alder-1".to_owned(), cell("33.5"), cell("4.7 µF")],
                    ["alder-2".to_owned(), cell("58"), cell("1.2 nF")],
                ];
                let text: String = rows.iter().map(|row| row.join(delimiter) + end).collect();
                two_parts(&good(text.as_bytes()));
                two_parts(&good(format!("\u{feff}{text}").as_bytes()));
                let windows: Vec<u8> = text
                    .chars()
                    .map(|c| u8::try_from(u32::from(c)).unwrap())
                    .collect();
                two_parts(&good(&windows));
                let wide = |order: fn(u16) -> [u8; 2]| -> Vec<u8> {
                    format!("\u{feff}{text}").encode_utf16().flat_map(order).collect()
                };
                two_parts(&good(&wide(u16::to_le_bytes)));
                two_parts(&good(&wide(u16::to_be_bytes)));
            }
        }
    }
}

#[test]
fn places_and_sources_are_those_of_the_file() {
    let text = "Our list;;\n\nPart;VRWM;C\n\n\"alder-1\";\"33,5\";4,7 µF\n";
    let records = good(text.as_bytes());
    let source = &records[0].data[0].source;
    assert_eq!(source.document, "price list");
    assert_eq!(source.revision, "3");
    assert_eq!(source.place, "line 5, column 2");
}

#[test]
fn quoted_line_ends_and_delimiters_belong_to_the_cell() {
    let mapping = MAPPING.replace("column = \"VRWM\"", "column = \"VRWM rated\"");
    let text =
        "Part,\"VRWM\nrated\",C,Note\nalder-1,33,1 nF,\"two\nlines, \"\"quoted\"\"\"\nalder-2,-5,1 nF,x\n";
    let (report, records) = run(text.as_bytes(), &mapping).unwrap();
    assert_eq!(records.len(), 1);
    assert_eq!(report.unused_columns, ["Note"]);
    // The second part begins in the fifth line.
    assert_eq!(
        faults(&report),
        [("line 5, column 2".to_owned(), "−5 V must be positive".to_owned())]
    );
}

#[test]
fn a_cut_file_gives_nothing() {
    let whole = "Part;VRWM;C\nalder-1;33;1 nF\nalder-2;36;1 nF\n";
    assert_eq!(good(whole.as_bytes()).len(), 2);
    for (text, word) in [
        ("Part;VRWM;C\nalder-1;33;1 nF\nalder-2;3", "2 of 3 columns"),
        ("Part;VRWM;C\nalder-1;33;1 nF\nald", "1 of 3 columns"),
        (
            "Part;VRWM;C\nalder-1;33;1 nF\n\"alder-2;36;1 nF\n",
            "quoted field",
        ),
        ("Part;VRWM;C\nalder-1;33;1 µF\nalder-2;36;1 ", ""),
    ] {
        let mut bytes = text.as_bytes().to_vec();
        if word.is_empty() {
            // Half of a character.
            bytes.push("µ".as_bytes()[0]);
        }
        let said = refused(&bytes);
        assert!(said.contains("the file is cut") && said.contains(word), "{said}");
    }
    // Whole, but without the last line end: said, because a cut within the last cell cannot be seen.
    let (report, records) = run(whole.trim_end().as_bytes(), MAPPING).unwrap();
    assert_eq!(records.len(), 2);
    assert!(report.notes[0].contains("no line end"), "{:?}", report.notes);
}

#[test]
fn a_quote_that_is_never_closed_is_found_in_time() {
    let mut text = String::from("Part;VRWM;C\n\"alder-1;33;1 nF\n");
    text.extend(std::iter::repeat_n("alder;33;1 nF\n", 200_000));
    let said = refused(text.as_bytes());
    assert!(
        said.contains("line 2") && said.contains("longer than 1 MiB"),
        "{said}"
    );
}

#[test]
fn what_is_no_table_is_refused() {
    for (bytes, word) in [
        (&b""[..], "empty"),
        (b"\x00\x01\x02", "zero byte"),
        (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "old binary form"),
        (b"PK\x03\x04 no archive", "workbook cannot be read"),
        (b"one column\nof text\n", "no delimiter"),
        (b"Part;VRWM\nalder;1\n", "no column \"C\""),
        (b"Part;VRWM;C;C\nalder;1;1 nF;1 nF\n", "several columns: C, D"),
    ] {
        let said = refused(bytes);
        assert!(said.contains(word), "{word}: {said}");
    }
}

#[test]
fn decimal_marks_that_clash_are_reported_and_never_guessed() {
    let said = refused(b"Part;VRWM;C\na;33,5;1 nF\nb;36.5;1 nF\n");
    assert!(said.contains("`33,5`") && said.contains("`36.5`"), "{said}");
    let told = MAPPING.replace("[constants]", "[file]\ndecimal = \"comma\"\n[constants]");
    let text = "Part;VRWM;C\na;33,5;1 nF\nb;36.5;1 nF\nc;1.234,5;1 nF\nd;1,234;1 nF\ne;7;1 nF\n";
    let (report, records) = run(text.as_bytes(), &told).unwrap();
    let places: Vec<String> = faults(&report).into_iter().map(|(place, _)| place).collect();
    assert_eq!(places, ["line 3, column 2", "line 4, column 2"]);
    assert_eq!(records[1].datasheet().stand_off_v, Some(1.234));
    // Nothing in the file says what the mark is.
    for cell in ["1,234", "1.234", "1,234.5", "1'234"] {
        let (report, records) = run(format!("Part;VRWM;C\na;{cell};1 nF\n").as_bytes(), MAPPING).unwrap();
        assert_eq!((records.len(), report.outcome), (0, Outcome::Nothing), "{cell}");
        assert_eq!(report.bad_rows[0].faults[0].place, "line 2, column 2");
    }
}

#[test]
fn repeated_names_are_noted_and_contradictions_are_bad() {
    let text = "Part;VRWM;C\na;33;1 nF\nb;36;1 nF\na;33;1 nF\na;34;1 nF\n";
    let (report, records) = run(text.as_bytes(), MAPPING).unwrap();
    assert_eq!(records.len(), 2);
    assert_eq!(
        (report.rows, report.added, report.repeated, report.bad),
        (4, 2, 1, 1)
    );
    assert_eq!(report.outcome, Outcome::Partial);
    let reason = "`a` stands in row 2 already, with other values";
    assert_eq!(
        faults(&report),
        [("line 5, column 1".to_owned(), reason.to_owned())]
    );
}

#[test]
fn rows_that_contradict_themselves_are_bad_and_the_others_go_in() {
    let mapping = r#"
mapping = 1
[constants]
kind = "typical"
document = "list"
[name]
column = "Part"
[family]
column = "Type"
[words.family]
"TVS" = "avalanche"
[words.bidirectional]
"bi" = true
"uni" = false
[[datum]]
key = "bidirectional"
column = "Pol"
[[datum]]
key = "stand_off"
column = "VRWM"
unit = "V"
[[datum]]
key = "breakdown"
column = "min"
role = "min"
unit = "V"
[[datum]]
key = "breakdown"
column = "max"
role = "max"
unit = "V"
[[datum]]
key = "clamp"
column = "VC"
role = "max"
unit = "V"
wave = "8/20"
current = { column = "Ipp", unit = "A" }
[[datum]]
key = "leakage"
column = "IR"
unit = "µA"
voltage = { column = "VRWM", unit = "V" }
temperature = "25 °C"
"#;
    let text = "Part;Type;Pol;VRWM;min;max;VC;Ipp;IR\n\
        good;TVS;bi;33;36;40;60;100;<1\n\
        plain;avalanche;no;33;36;40;n/a;;2 nA\n\
        swapped;TVS;bi;33;40;36;60;100;1\n\
        low;TVS;bi;33;30;32;60;100;1\n\
        under;TVS;bi;33;36;40;35;100;1\n\
        alone;TVS;bi;33;36;40;60;;1\n\
        what;valve;maybe;33;36;40;60;100;1\n\
        negative;TVS;bi;33;36;40;60;100;-1\n\
        unit;TVS;bi;33 A;36;40;60;100;1\n\
        above;TVS;bi;33;>36;>40;60;100;1\n\
        ;TVS;bi;33;36;40;60;100;1\n";
    let mapping = Mapping::parse("map.toml", mapping).unwrap();
    let table = Table::from_bytes("list", text.into(), &mapping.file).unwrap();
    let mut kept = Kept::default();
    let options = ImportOptions {
        max_bad: Some(100),
        ..ImportOptions::default()
    };
    let report = import_into(&table, &mapping, &options, &mut kept, &mut |_| {}).unwrap();
    let names: Vec<&str> = kept.0.iter().map(|record| record.name.as_str()).collect();
    assert_eq!(names, ["good", "plain"]);
    assert_eq!(kept.0[0].datasheet().leakage[0].current_a, 1e-6);
    assert_eq!(kept.0[1].datasheet().bidirectional, Some(false));
    let found = faults(&report);
    let said: Vec<(&str, &str)> = found
        .iter()
        .map(|(place, why)| (place.as_str(), why.as_str()))
        .collect();
    let expected = [
        ("line 4, column 5", "does not rise"),
        ("line 5, column 5", "is not above the stand-off voltage"),
        ("line 6, column 7", "is not above the breakdown voltage"),
        ("line 7, column 8", "the current of `clamp` is missing"),
        ("line 8, column 2", "`valve` is no family"),
        ("line 8, column 3", "`maybe` is neither yes nor no"),
        ("line 9, column 9", "must be positive"),
        ("line 10, column 4", "`A` is a unit of current, not of voltage"),
        ("line 11, column 6", "is a limit"),
        ("line 12, column 1", "the name is missing"),
    ];
    assert_eq!(said.len(), expected.len(), "{said:#?}");
    for ((place, why), (wanted, piece)) in said.iter().zip(expected) {
        assert!(
            *place == wanted && why.contains(piece),
            "{place}: {why}, wanted {wanted}: {piece}"
        );
    }
    assert_eq!(report.bad, 9);
}

#[test]
fn more_than_half_bad_rows_import_nothing_unless_it_is_allowed() {
    let text = "Part;VRWM;C\na;33;1 nF\nb;x;1 nF\nc;y;1 nF\n";
    let (report, _) = run(text.as_bytes(), MAPPING).unwrap();
    assert_eq!(report.outcome, Outcome::Nothing);
    assert!(report.refused.unwrap().contains("more than half"));
}

/// A workbook with a title, merged cells, formulas, an error, a date and a number in a text.
fn workbook() -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name("Parts").unwrap();
    sheet.write(0, 0, "Invented list").unwrap();
    for (column, head) in ["Part", "VRWM", "C"].iter().enumerate() {
        sheet.write(2, u16::try_from(column).unwrap(), *head).unwrap();
    }
    let write = |sheet: &mut rust_xlsxwriter::Worksheet, row: u32, name: &str| {
        sheet.write(row, 0, name).unwrap();
        sheet.write(row, 1, 33.5).unwrap();
        sheet.write(row, 2, "4,7 nF").unwrap();
    };
    for (place, name) in ["first", "second", "third", "formula", "bare", "error", "date"]
        .iter()
        .enumerate()
    {
        write(sheet, 3 + u32::try_from(place).unwrap(), name);
    }
    let centred = Format::new();
    sheet.merge_range(3, 1, 5, 1, "", &centred).unwrap();
    sheet.write(3, 1, 58.0).unwrap();
    sheet
        .write_formula(6, 1, Formula::new("=20+2").set_result("22"))
        .unwrap();
    sheet
        .write_formula(7, 1, Formula::new("=20+2").set_result(""))
        .unwrap();
    sheet
        .write_formula(8, 1, Formula::new("=1/0").set_result("#DIV/0!"))
        .unwrap();
    let date = Format::new().set_num_format("yyyy-mm-dd");
    sheet.write_with_format(9, 1, 45000.0, &date).unwrap();
    book.save_to_buffer().unwrap()
}

#[test]
fn a_workbook_with_merged_cells_formulas_errors_and_dates() {
    let (report, records) = run(&workbook(), MAPPING).unwrap();
    let volts: Vec<(String, Option<f64>)> = records
        .iter()
        .map(|record| (record.name.clone(), record.datasheet().stand_off_v))
        .collect();
    let expected = [
        ("first", 58.0),
        ("second", 58.0),
        ("third", 58.0),
        ("formula", 22.0),
    ];
    assert_eq!(
        volts,
        expected.map(|(name, volts)| (name.to_owned(), Some(volts)))
    );
    assert_eq!(records[0].data[0].source.place, "Parts, B4");
    assert!(
        report.notes.iter().any(|note| note.contains("B4:B6")),
        "{:?}",
        report.notes
    );
    let found = faults(&report);
    let places: Vec<&str> = found.iter().map(|(place, _)| place.as_str()).collect();
    assert_eq!(places, ["B8", "B9", "B10"]);
    assert!(found[1].1.contains("#DIV/0!"), "{found:?}");
    assert!(found[2].1.contains("date"), "{found:?}");
}

/// The workbook with the stored value of the formula in B8 taken out, as programs write it that do not calculate.
fn without_value() -> Vec<u8> {
    let mut archive = zip::ZipArchive::new(Cursor::new(workbook())).unwrap();
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for place in 0..archive.len() {
        let mut file = archive.by_index(place).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut text = String::new();
        file.read_to_string(&mut text).unwrap();
        let (before, after) = match text.split_once("<c r=\"B8\"") {
            Some((before, after)) => (before.to_owned(), format!("<c r=\"B8\"{after}")),
            None => (text.clone(), String::new()),
        };
        let text = before + &after.replacen("<v>0</v>", "", 1);
        out.start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        out.write_all(text.as_bytes()).unwrap();
    }
    out.finish().unwrap().into_inner()
}

#[test]
fn a_formula_without_a_stored_value_is_a_bad_cell() {
    let (report, _) = run(&without_value(), MAPPING).unwrap();
    let fault = &report.bad_rows[0].faults[0];
    assert_eq!(fault.place, "B8");
    assert!(
        fault.reason.contains("formula without a stored value"),
        "{fault:?}"
    );
}

#[test]
fn a_workbook_of_several_sheets_asks_for_one() {
    let mut book = Workbook::new();
    for name in ["One", "Two"] {
        let sheet = book.add_worksheet();
        sheet.set_name(name).unwrap();
        for (column, head) in ["Part", "VRWM", "C"].iter().enumerate() {
            sheet.write(0, u16::try_from(column).unwrap(), *head).unwrap();
        }
        sheet.write(1, 0, name).unwrap();
        sheet.write(1, 1, 5.0).unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    let said = refused(&bytes);
    assert!(said.contains("\"One\", \"Two\""), "{said}");
    let mapping = MAPPING.replace("[constants]", "[file]\nsheet = \"Two\"\n[constants]");
    let (_, records) = run(&bytes, &mapping).unwrap();
    assert_eq!(records[0].name, "Two");
    let options = FileOptions {
        sheet: Some("Three".to_owned()),
        ..FileOptions::default()
    };
    assert!(Table::from_bytes("book", bytes, &options).is_err());
}

#[test]
fn a_cut_workbook_is_refused() {
    let whole = workbook();
    for length in [whole.len() / 4, whole.len() / 2, whole.len() - 30] {
        let said = refused(&whole[..length]);
        assert!(said.contains("workbook cannot be read"), "{said}");
    }
}

#[test]
fn faults_of_a_mapping_name_their_line() {
    for (from, to, place, word) in [
        (
            "key = \"capacitance\"",
            "key = \"capacitence\"",
            "line 14",
            "no datum `capacitence`",
        ),
        (
            "unit = \"V\"",
            "unit = \"A\"",
            "line 10",
            "no unit of `stand_off`",
        ),
        ("unit = \"V\"", "unit = \"FILL IN\"", "line 10", "not filled in"),
        ("role = \"typ\"\n", "", "line 14", "needs a role"),
        (
            "voltage = \"0 V\"",
            "",
            "line 14",
            "says nothing without its voltage",
        ),
        (
            "kind = \"guaranteed\"",
            "kind = \"sure\"",
            "[constants]",
            "`kind` cannot be",
        ),
        ("unit = \"V\"", "units = \"V\"", "line 13", "unknown field"),
        ("\"avalanche\"", "\"valve\"", "", "no family `valve`"),
        ("mapping = 1", "mapping = 2", "", "version 2"),
    ] {
        let error = Mapping::parse("map.toml", &MAPPING.replacen(from, to, 1)).unwrap_err();
        let said = error.to_string();
        assert!(said.contains(word), "{said}");
        assert_eq!(error.place, place, "{said}");
    }
}
