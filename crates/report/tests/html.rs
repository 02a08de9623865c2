//! The HTML file: complete, harmless, the same every time.

mod common;

use common::{Names, PLAIN, note, squeezed, study, texts};
use tidewall_report::content::Form;
use tidewall_report::html::html;

/// The text that a reader sees: tags taken away, entities read.
fn seen(page: &str) -> String {
    let body = page.split_once("<body>").expect("there is a body").1;
    let mut text = String::new();
    let mut rest = body;
    while let Some((before, tag)) = rest.split_once('<') {
        text.push_str(before);
        rest = tag.split_once('>').expect("every tag ends").1;
    }
    text.push_str(rest);
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

#[test]
fn everything_that_the_note_says_stands_in_the_file() {
    let note = note(&study(&PLAIN), &Form::default());
    let seen = squeezed(&seen(&html(&note)));
    for text in texts(&note) {
        assert!(seen.contains(&squeezed(&text)), "`{text}` is missing");
    }
}

#[test]
fn the_file_needs_nothing_else_and_lets_nothing_in() {
    let page = html(&note(&study(&PLAIN), &Form::default()));
    assert!(page.contains("default-src &#39;none&#39;") || page.contains("default-src 'none'"));
    for word in [
        "<script", "http://", "https://", "style=", "onload", "<link", "@import", "url(h",
    ] {
        let places: Vec<&str> = page
            .match_indices(word)
            .map(|(at, _)| &page[at..(at + 60).min(page.len())])
            .filter(|place| !place.starts_with("http://www.w3.org/2000/svg"))
            .collect();
        assert_eq!(places, [""; 0], "{word}");
    }
}

#[test]
fn hostile_names_come_out_as_text() {
    let names = Names {
        title: "<script>alert(1)</script> & \"q\" שלום عربي \u{1f30a} #panic() $x$ *b* \u{202e}reversed",
        stage: "</td><b>D1</b>",
        part: "<img src=x onerror=alert(1)>",
        pin: "Aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
    };
    let page = html(&note(&study(&names), &Form::default()));
    for raw in ["<script", "<img", "<b>", "</td><b", "\u{202e}"] {
        assert!(!page.contains(raw), "{raw} stands in the file as it is");
    }
    let seen = seen(&page);
    let title = names.title.replace('\u{202e}', "\\u{202e}");
    for text in [title.as_str(), names.stage, names.part, names.pin] {
        assert!(squeezed(&seen).contains(&squeezed(text)), "`{text}` is missing");
    }
}

#[test]
fn hostile_parts_and_endless_titles_come_out_as_text() {
    let endless = "W".repeat(300);
    let names = Names {
        title: &endless,
        stage: "שלום <b>D1</b>",
        part: "عربي \u{1f30a} </td><script>alert(1)</script> #eval(\"1\") $ _x_ \" onload='x'",
        pin: "漢字 &amp; <!-- --> \u{202e}gnp.exe",
    };
    let page = html(&note(&study(&names), &Form::default()));
    for raw in ["<script", "<b>", "<!-- ", "</td><s", "\u{202e}", "\" onload='"] {
        assert!(!page.contains(raw), "{raw} stands in the file as it is");
    }
    let seen = squeezed(&seen(&page));
    let pin = names.pin.replace('\u{202e}', "\\u{202e}");
    for text in [names.title, names.stage, names.part, &pin] {
        assert!(seen.contains(&squeezed(text)), "`{text}` is missing");
    }
}

#[test]
fn identifiers_are_used_once() {
    let page = html(&note(&study(&PLAIN), &Form::default()));
    let mut ids: Vec<&str> = page
        .split(" id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all);
    assert!(all > 20, "only {all} identifiers");
}

#[test]
fn the_same_study_gives_the_same_bytes_and_a_date_stands_only_where_it_is_given() {
    let study = study(&PLAIN);
    let plain = html(&note(&study, &Form::default()));
    assert_eq!(plain, html(&note(&study, &Form::default())));
    let dated = Form {
        date: Some("5 May 2031".to_owned()),
        ..Form::default()
    };
    assert!(!plain.contains("2031"));
    assert!(html(&note(&study, &dated)).contains("May 2031"));
}
