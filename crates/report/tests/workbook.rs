//! The workbook: text stays text, the same bytes every time.

mod common;

use std::io::Read;

use common::{Names, PLAIN, material, study};
use tidewall_report::sheet::workbook;

/// A file of the workbook.
fn inside(book: &[u8], name: &str) -> String {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(book)).expect("a workbook is an archive");
    let mut text = String::new();
    let mut file = archive.by_name(name).expect("the file is there");
    file.read_to_string(&mut text).expect("it is text");
    text
}

#[test]
fn a_name_is_never_a_formula() {
    let names = Names {
        title: "=1+1",
        stage: "=HYPERLINK(\"x\")",
        part: "+cmd|' /C calc'!A0",
        ..PLAIN
    };
    let study = study(&names);
    let book = workbook(&study, &material(&study)).expect("it can be made");
    let strings = inside(&book, "xl/sharedStrings.xml");
    for text in ["=1+1", "=HYPERLINK(", "+cmd|"] {
        assert!(strings.contains(text), "`{text}` is missing");
    }
    for sheet in 1..=7 {
        assert!(!inside(&book, &format!("xl/worksheets/sheet{sheet}.xml")).contains("<f>"));
    }
    // Margins and one stress.
    assert!(inside(&book, "xl/charts/chart1.xml").contains("<c:barChart>"));
    assert!(inside(&book, "xl/charts/chart2.xml").contains("<c:scatterChart>"));
}

#[test]
fn the_same_study_gives_the_same_bytes() {
    let study = study(&PLAIN);
    let material = material(&study);
    let once = workbook(&study, &material).expect("it can be made");
    assert!(once == workbook(&study, &material).expect("it can be made"));
}
