//! The PDF: all of the note, on the paper, the same every time.
#![cfg(feature = "pdf")]

mod common;

use common::{Names, PLAIN, note, squeezed, study, texts};
use tidewall_pdf::readable;
use tidewall_report::content::Form;
use tidewall_report::document::{Note, Paper};
use tidewall_report::pdf::pdf;

/// The text of the pages, once everything fits them.
#[track_caller]
fn set(note: &Note) -> String {
    let done = pdf(note).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(done.warnings, [""; 0]);
    assert_eq!(done.outside, [""; 0]);
    assert!(done.bytes.len() < 1 << 20, "{} bytes", done.bytes.len());
    done.text
}

#[test]
fn everything_that_the_note_says_stands_on_its_pages() {
    for paper in [Paper::A4, Paper::UsLetter] {
        let form = Form {
            paper,
            ..Form::default()
        };
        let note = note(&study(&PLAIN), &form);
        let seen = squeezed(&set(&note));
        for text in texts(&note) {
            assert!(seen.contains(&squeezed(&text)), "`{text}` is missing");
        }
    }
}

#[test]
fn verdict_and_recommendation_stand_on_the_first_page() {
    let note = note(&study(&PLAIN), &Form::default());
    let text = set(&note);
    let first = squeezed(text.split('\u{c}').next().expect("there is a page"));
    let summary = &note.sections[0];
    assert_eq!(summary.id, "summary");
    for text in texts(&Note {
        sections: vec![summary.clone()],
        ..note.clone()
    }) {
        assert!(
            first.contains(&squeezed(&text)),
            "`{text}` is not on the first page"
        );
    }
}

#[test]
fn hostile_names_come_out_as_text() {
    let names = Names {
        title: "#panic(\"no\") $x^2$ *bold* @ref <label> שלום عربي 漢 \u{1f30a} // `raw` \\ \u{202e}x",
        stage: "#read(\"x\")",
        part: "*_$#part$_*",
        pin: "Aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
    };
    let seen = squeezed(&set(&note(&study(&names), &Form::default())));
    let title = readable(&names.title.replace('\u{202e}', "\\u{202e}"));
    // Word by word: pieces of a line that runs both ways are set in the order in which they are seen.
    let words = title.split(' ').chain([names.stage, names.part, names.pin]);
    for word in words {
        assert!(seen.contains(&squeezed(word)), "`{word}` is missing");
    }
}

#[test]
fn hostile_parts_and_endless_titles_come_out_as_text() {
    let endless = "W".repeat(300);
    let names = Names {
        title: &endless,
        stage: "שלום <b>D1</b>",
        part: "عربي \u{1f30a}\u{fe0f} </td><script>alert(1)</script> #eval(\"1\") $ _x_ Zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz",
        pin: "漢字 &amp; <!-- --> \u{202e}gnp.exe",
    };
    let seen = squeezed(&set(&note(&study(&names), &Form::default())));
    let pin = names.pin.replace('\u{202e}', "\\u{202e}");
    let texts = [names.title, names.stage, names.part, &pin];
    for word in texts.iter().flat_map(|text| text.split(' ')) {
        let word = squeezed(&readable(word));
        assert!(seen.contains(&word), "`{word}` is missing");
    }
}

#[test]
fn the_same_study_gives_the_same_bytes() {
    let study = study(&PLAIN);
    let once = pdf(&note(&study, &Form::default())).expect("it can be set");
    let again = pdf(&note(&study, &Form::default())).expect("it can be set");
    assert!(once.bytes == again.bytes);
}
