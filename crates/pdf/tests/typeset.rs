//! A template sees its data and pictures and nothing else; what it makes is the same every time.

use tidewall_pdf::{Job, Typeset, typeset};

const TEMPLATE: &str = r#"
#let data = json("data.json")
#set document(title: data.title, date: none)
#set text(lang: "en", font: ("Liberation Sans", "DejaVu Sans"))
#title()
#data.text
#figure(image("figure.svg", alt: "a line"), caption: [A line.])
"#;

const FIGURE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="90" height="40" viewBox="0 0 90 40"
 font-family="'Liberation Sans', sans-serif"><path d="M0 30L90 10" stroke="black"/><text x="5" y="12" font-size="9">4 kV</text></svg>"#;

fn job(text: &str) -> Job<'static> {
    Job {
        template: TEMPLATE,
        data: serde_json::json!({ "title": "A title", "text": text }).to_string(),
        pictures: vec![("figure.svg".to_owned(), FIGURE.as_bytes().to_vec())],
        ident: "test".to_owned(),
        creator: "Tidewall".to_owned(),
    }
}

#[track_caller]
fn set(job: &Job) -> Typeset {
    let done = typeset(job).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(done.warnings, [""; 0]);
    assert_eq!(done.outside, [""; 0]);
    done
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let first = set(&job("words"));
    let second = set(&job("words"));
    assert!(first.bytes.starts_with(b"%PDF-1.7"));
    assert_eq!(first.bytes, second.bytes);
    assert_eq!(first.pages, 1);
    assert_ne!(first.bytes, set(&job("other words")).bytes);
}

#[test]
fn data_are_never_markup() {
    let hostile =
        r##"*bold* #panic("no") $x^2$ @ref <label> = h [c] `r` // c https://x.y \ ~ -- "quoted" 'x'"##;
    let done = set(&job(hostile));
    assert!(done.text.contains(hostile), "{}", done.text);
}

#[test]
fn every_script_comes_out_as_text() {
    let done = set(&job("Ωµ− Жд ελ שלום سلام 漢 \u{1f30a}"));
    for word in ["Ωµ−", "Жд", "ελ", "שלום", "سلام", "[U+6F22]", "[U+1F30A]"] {
        assert!(done.text.contains(word), "{word} is not in {}", done.text);
    }
}

#[test]
fn a_template_cannot_look_further() {
    for template in [
        "#read(\"/etc/hostname\")",
        "#read(\"../Cargo.toml\")",
        "#import \"@preview/example:0.1.0\"",
        "#datetime.today()",
    ] {
        let error = typeset(&Job {
            template,
            ..job("words")
        });
        assert!(error.is_err(), "{template}");
    }
}

#[test]
fn what_is_no_picture_is_an_error() {
    let mut broken = job("words");
    broken.pictures[0].1 = b"<svg".to_vec();
    let error = typeset(&broken).unwrap_err();
    assert!(
        !error.faults.is_empty() && !error.to_string().contains("panicked"),
        "{error}"
    );
}

#[test]
fn a_picture_without_words_is_refused() {
    // PDF/UA asks for an alternative of every picture.
    let template = TEMPLATE.replace(", alt: \"a line\"", "");
    let job = job("words");
    let error = typeset(&Job {
        template: &template,
        ..job
    });
    assert!(error.is_err());
}
