//! What pages are made of: the frame, numbers, verdicts and notes.

use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};
use tidewall_assess::result::Verdict;
use tidewall_report::words::harmless;

use crate::assets::VERSION;
use crate::state::App;

/// A markup as an answer: a page or a fragment of one.
#[derive(Clone, Debug)]
pub struct Page(pub Markup);

impl IntoResponse for Page {
    fn into_response(self) -> Response {
        (
            [(header::CONTENT_TYPE, "text/html; charset=utf-8")],
            self.0.into_string(),
        )
            .into_response()
    }
}

/// A place of the workbench, for the navigation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place<'n> {
    /// The list of studies.
    Studies,
    /// A page of the parts library.
    Parts,
    /// A page of measured curves.
    Curves,
    /// A page of a study: its name, and which page.
    Study(&'n str, StudyPage),
}

/// The pages of a study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StudyPage {
    /// The sheet.
    Sheet,
    /// Candidates for a stage.
    Candidates,
    /// Parts side by side.
    Compare,
    /// Monte Carlo draws and highest levels.
    Draws,
    /// The laboratory test plan.
    Plan,
    /// A capture against the prediction.
    Measured,
    /// The recommendation note.
    Report,
}

impl StudyPage {
    /// All of them, in the order of the work.
    pub const ALL: [StudyPage; 7] = [
        StudyPage::Sheet,
        StudyPage::Candidates,
        StudyPage::Compare,
        StudyPage::Draws,
        StudyPage::Plan,
        StudyPage::Measured,
        StudyPage::Report,
    ];

    /// What it is called.
    pub fn title(self) -> &'static str {
        match self {
            StudyPage::Sheet => "Sheet",
            StudyPage::Candidates => "Candidates",
            StudyPage::Compare => "Compare",
            StudyPage::Draws => "Draws",
            StudyPage::Plan => "Test plan",
            StudyPage::Measured => "Measured",
            StudyPage::Report => "Report",
        }
    }

    fn end(self) -> &'static str {
        match self {
            StudyPage::Sheet => "",
            StudyPage::Candidates => "/candidates",
            StudyPage::Compare => "/compare",
            StudyPage::Draws => "/draws",
            StudyPage::Plan => "/plan",
            StudyPage::Measured => "/measured",
            StudyPage::Report => "/report",
        }
    }

    /// Its address for a study.
    pub fn address(self, study: &str) -> String {
        format!("/study/{}{}", escaped(study), self.end())
    }
}

/// A name as one piece of an address: everything but letters, digits, `-`, `.`, `_` and `~` is escaped.
pub fn escaped(name: &str) -> String {
    name.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                char::from(byte).to_string()
            }
            byte => format!("%{byte:02X}"),
        })
        .collect()
}

/// A page with its frame. `title` stands in the window's title; `body` should begin with an `h1`.
pub fn page(app: &App, place: Place<'_>, title: &str, body: &Markup) -> Page {
    let here = |is: bool| is.then_some("page");
    Page(html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                (head(title))
                meta name="tidewall-token" content=(app.keys().token);
                script src=(format!("/static/workbench.js?{}", *VERSION)) defer {}
            }
            body {
                a.skip href="#content" { "To the content" }
                header.top {
                    a.mark href="/" { "Tidewall" }
                    nav aria-label="Workbench" {
                        a href="/" aria-current=[here(place == Place::Studies)] { "Studies" }
                        a href="/parts" aria-current=[here(place == Place::Parts)] { "Parts" }
                        a href="/curves" aria-current=[here(place == Place::Curves)] { "Curves" }
                    }
                    span.folder title="The opened folder" { (harmless(&app.folder().root().display().to_string())) }
                }
                @if app.is_demo() {
                    p.banner {
                        "This is a copy of the demonstration; it goes when the workbench ends. Parts and readings in it are \
                         invented. "
                        code { "tidewall open FOLDER" }
                        " opens studies of your own."
                    }
                }
                @if let Place::Study(name, current) = place {
                    nav.pages aria-label="Study" {
                        span.name { (harmless(name)) }
                        @for each in StudyPage::ALL {
                            a href=(each.address(name)) aria-current=[here(each == current)] { (each.title()) }
                        }
                    }
                }
                main id="content" tabindex="-1" { (body) }
                div id="status" role="status" aria-live="polite" {}
            }
        }
    })
}

/// A page that stands alone, for errors.
pub fn bare_page(title: &str, body: &Markup) -> Page {
    Page(html! {
        (DOCTYPE)
        html lang="en-GB" {
            head { (head(title)) }
            body { main id="content" { (body) } }
        }
    })
}

fn head(title: &str) -> Markup {
    html! {
        meta charset="utf-8";
        meta name="viewport" content="width=device-width, initial-scale=1";
        meta name="color-scheme" content="light dark";
        title { (harmless(title)) " · Tidewall" }
        link rel="stylesheet" href=(format!("/static/workbench.css?{}", *VERSION));
        link rel="icon" href="/static/icon.svg" type="image/svg+xml";
    }
}

/// A verdict in words and in shade.
pub fn verdict(verdict: Verdict) -> Markup {
    html! { span class=(format!("verdict {}", verdict.word())) { (verdict.word()) } }
}

/// Something that opens a note in place when it is asked. Works by keyboard and without script.
pub fn asked(shown: &Markup, note: &Markup) -> Markup {
    html! { details.asked { summary { (shown) } div.note { (note) } } }
}

/// Numbers of one column with their decimal points under each other: set them right-aligned in figures of one width, as
/// cells of class `n` are.
pub fn aligned(texts: &[String]) -> Vec<String> {
    // A figure space is as wide as a digit, a punctuation space as wide as a point.
    let decimals = |text: &str| text.split_once('.').map(|(_, end)| end.chars().count());
    let most = texts.iter().filter_map(|text| decimals(text)).max();
    let Some(most) = most else {
        return texts.to_vec();
    };
    texts
        .iter()
        .map(|text| match decimals(text) {
            _ if text.is_empty() => String::new(),
            Some(own) => format!("{text}{}", "\u{2007}".repeat(most - own)),
            None => format!("{text}\u{2008}{}", "\u{2007}".repeat(most)),
        })
        .collect()
}
