//! The note as one HTML file that needs nothing else: no script, no network, styles and pictures within.

mod pieces;
mod style;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::document::{Block, Note, Section};
use pieces::{Numbers, rich, table};

/// Renders a note.
pub fn html(note: &Note) -> String {
    let sheet = style::sheet(note);
    let policy = style::policy(&sheet);
    let mut numbers = Numbers::default();
    let page = html! {
        (DOCTYPE)
        html lang=(note.lang) {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(note.program);
                meta name="color-scheme" content="light dark";
                title { (note.title) }
                style { (PreEscaped(&sheet)) }
            }
            body {
                (head(note))
                (contents(note))
                main {
                    @for (number, section) in note.sections.iter().enumerate() {
                        (self::section(section, number + 1, &mut numbers, note))
                    }
                    (signatures(note))
                }
                footer {
                    p { (foot(note)) }
                }
            }
        }
    };
    page.into_string()
}

/// The content security policy that the file states of itself, for those who send it.
pub fn policy(note: &Note) -> String {
    style::policy(&style::sheet(note))
}

fn head(note: &Note) -> Markup {
    let sender = &note.sender;
    html! {
        header {
            @if !sender.name.is_empty() || sender.logo.is_some() || !sender.address.is_empty() {
                div.sender {
                    @if let Some(logo) = &sender.logo {
                        img src=(pieces::data_url(logo)) alt=(logo.alt);
                    }
                    address {
                        @if !sender.name.is_empty() { strong { (sender.name) } br; }
                        @for line in &sender.address { (line) br; }
                    }
                }
            }
            p.kind {
                span { (note.kind) }
                @if let Some(date) = &note.date { span { (date) } }
            }
            h1 dir="auto" { (note.title) }
            (pieces::terms(&note.facts))
        }
    }
}

fn contents(note: &Note) -> Markup {
    html! {
        nav aria-label=(note.labels.contents) {
            ol {
                @for section in &note.sections {
                    li { a href=(format!("#s-{}", section.id)) { (section.title) } }
                }
            }
        }
    }
}

fn section(section: &Section, number: usize, numbers: &mut Numbers, note: &Note) -> Markup {
    html! {
        section id=(format!("s-{}", section.id)) aria-labelledby=(format!("h-{}", section.id)) {
            h2 id=(format!("h-{}", section.id)) { (number) " " (section.title) }
            @for block in &section.blocks { (self::block(block, numbers, note)) }
        }
    }
}

fn block(block: &Block, numbers: &mut Numbers, note: &Note) -> Markup {
    match block {
        Block::Paragraph(text) => html! { p { (rich(text)) } },
        Block::Heading(text) => html! { h3 { (text) } },
        Block::Verdict(verdict) => html! {
            p.verdict.(pieces::class(verdict.tone)) {
                strong { (verdict.word) } " " (rich(&verdict.sentence))
            }
        },
        Block::List(points) => html! { ul { @for point in points { li { (rich(point)) } } } },
        Block::Steps(points) => html! { ol { @for point in points { li { (rich(point)) } } } },
        Block::Terms(terms) => pieces::terms(terms),
        Block::Table(it) => table(it, note.labels.table, numbers),
        Block::Picture(picture) => html! {
            figure {
                div.picture tabindex="0" role="region" aria-label=(picture.caption) { (PreEscaped(&picture.svg)) }
                figcaption {
                    strong { (note.labels.figure) " " (numbers.picture()) "." } " " (picture.caption)
                }
            }
        },
        Block::Code(text) => html! { pre { code { (text) } } },
    }
}

fn signatures(note: &Note) -> Markup {
    html! {
        @if !note.sender.signatures.is_empty() {
            div.signatures {
                @for who in &note.sender.signatures { p { (who) } }
            }
        }
    }
}

fn foot(note: &Note) -> String {
    if note.sender.footer.is_empty() {
        format!("{}, {}", note.program, note.digest)
    } else {
        note.sender.footer.clone()
    }
}
