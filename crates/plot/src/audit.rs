//! Reads a finished picture back and says what is wrong with it, for tests (feature `audit`).
//!
//! The boxes of texts come from the widths of the font that the picture names, not from what the drawing meant.

use roxmltree::{Document, Node};

use crate::figure::Figure;
use crate::font::{ASCENT, DESCENT, width};

/// Attributes that hold numbers.
const NUMBERS: [&str; 18] = [
    "d",
    "x",
    "y",
    "cx",
    "cy",
    "r",
    "width",
    "height",
    "viewBox",
    "font-size",
    "stroke-width",
    "data-box",
    "data-x-range",
    "data-y-range",
    "data-x-within",
    "data-points",
    "data-value",
    "data-at",
];

/// A text with its box: left, top, right, bottom in the units of the view box.
#[derive(Clone, Debug, PartialEq)]
pub struct TextBox {
    /// The text.
    pub text: String,
    /// Its box.
    pub sides: [f64; 4],
}

/// A line of a picture, read back as a script of a page reads it: by pixels and the ranges of its panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Number of its panel.
    pub panel: usize,
    /// Its name.
    pub name: String,
    /// Its points in the units of the axes, as exact as pixels are.
    pub points: Vec<(f64, f64)>,
}

/// Every line of a picture with even axes.
///
/// # Errors
/// The picture is not well-formed, or an axis is not even.
pub fn lines(svg: &str) -> Result<Vec<Line>, String> {
    let document = Document::parse(svg).map_err(|error| error.to_string())?;
    let mut lines = Vec::new();
    for panel in document
        .descendants()
        .filter(|node| node.has_attribute("data-panel"))
    {
        let numbers = |name: &str| -> Vec<f64> {
            let text = panel.attribute(name).unwrap_or_default();
            text.split(' ').filter_map(|number| number.parse().ok()).collect()
        };
        let even = ["data-x-scale", "data-y-scale"].map(|name| panel.attribute(name) == Some("linear"));
        if even != [true, true] {
            return Err("an axis is not even".to_owned());
        }
        let (sides, x, y) = (
            numbers("data-box"),
            numbers("data-x-range"),
            numbers("data-y-range"),
        );
        let ([left, top, width, height], [x_from, x_to], [y_from, y_to]) = (&sides[..], &x[..], &y[..])
        else {
            return Err(format!("panel with {sides:?}, {x:?}, {y:?}"));
        };
        for path in panel
            .descendants()
            .filter(|node| node.has_tag_name("path") && node.has_attribute("data-name"))
        {
            let points = walked(path.attribute("d").unwrap_or_default())
                .into_iter()
                .map(|(px, py)| {
                    (
                        x_from + (px - left) / width * (x_to - x_from),
                        y_from + (top + height - py) / height * (y_to - y_from),
                    )
                });
            lines.push(Line {
                panel: numbers("data-panel").first().map_or(0, |number| *number as usize),
                name: path.attribute("data-name").unwrap_or_default().to_owned(),
                points: points.collect(),
            });
        }
    }
    Ok(lines)
}

/// Places along path data of `M` and `l`.
fn walked(data: &str) -> Vec<(f64, f64)> {
    let mut places: Vec<(f64, f64)> = Vec::new();
    for piece in data.split('M').filter(|piece| !piece.is_empty()) {
        let spaced = piece.replace('l', " ").replace('-', " -");
        let numbers: Vec<f64> = spaced
            .split_whitespace()
            .filter_map(|number| number.parse().ok())
            .collect();
        let mut at = (0.0, 0.0);
        for pair in numbers.chunks_exact(2) {
            at = (at.0 + pair[0], at.1 + pair[1]);
            places.push(at);
        }
    }
    places
}

fn number(node: Node<'_, '_>, name: &str) -> Option<f64> {
    node.attribute(name)?.parse().ok()
}

/// Every text of a picture with its box.
///
/// # Errors
/// The picture is not well-formed.
pub fn texts(svg: &str) -> Result<Vec<TextBox>, String> {
    let document = Document::parse(svg).map_err(|error| error.to_string())?;
    let mut boxes = Vec::new();
    for node in document.descendants().filter(|node| node.has_tag_name("text")) {
        let text = node.text().unwrap_or_default().to_owned();
        let size = number(node, "font-size").ok_or_else(|| format!("`{text}` has no size"))?;
        let (x, y) = (number(node, "x").unwrap_or(0.0), number(node, "y").unwrap_or(0.0));
        let wide = width(&text, size, node.attribute("font-weight") == Some("bold"));
        let left = match node.attribute("text-anchor") {
            Some("middle") => x - 0.5 * wide,
            Some("end") => x - wide,
            _ => x,
        };
        boxes.push(TextBox {
            text,
            sides: [left, y - ASCENT * size, left + wide, y + DESCENT * size],
        });
    }
    Ok(boxes)
}

/// What is wrong with a figure: not well-formed, without its words, something from outside, texts that overlap or leave the
/// sheet, numbers that are none, ids that are not its own.
pub fn faults(figure: &Figure) -> Vec<String> {
    let mut faults = Vec::new();
    let svg = &figure.svg;
    let document = match Document::parse(svg) {
        Ok(document) => document,
        Err(error) => return vec![format!("not well-formed: {error}")],
    };
    let root = document.root_element();
    words(figure, root, &mut faults);
    for banned in [
        "var(",
        "<script",
        "foreignObject",
        "href",
        "url(",
        "@import",
        "style=",
    ] {
        if svg.contains(banned) {
            faults.push(format!("holds `{banned}`"));
        }
    }
    for node in document.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id")
            && !id.starts_with(&figure.id)
        {
            faults.push(format!("id `{id}` does not start with that of the figure"));
        }
        for attribute in node.attributes() {
            let value = attribute.value();
            if NUMBERS.contains(&attribute.name()) && (value.contains("NaN") || value.contains("inf")) {
                faults.push(format!("{} is {value}", attribute.name()));
            }
        }
    }
    let sheet: Vec<f64> = root
        .attribute("viewBox")
        .unwrap_or_default()
        .split(' ')
        .filter_map(|side| side.parse().ok())
        .collect();
    let [_, _, right, bottom] = sheet.as_slice() else {
        faults.push("no view box".to_owned());
        return faults;
    };
    let boxes = match texts(svg) {
        Ok(boxes) => boxes,
        Err(error) => return vec![error],
    };
    for text in &boxes {
        let [x0, y0, x1, y1] = text.sides;
        if x0 < -0.01 || y0 < -0.01 || x1 > right + 0.01 || y1 > bottom + 0.01 {
            faults.push(format!("`{}` leaves the sheet: {:?}", text.text, text.sides));
        }
        let hyphen = text.text.strip_prefix('-');
        if text.text == "−0"
            || hyphen.is_some_and(|rest| rest.starts_with(|char: char| char.is_ascii_digit()))
        {
            faults.push(format!(
                "`{}` is a negative zero or has a hyphen for a minus",
                text.text
            ));
        }
    }
    faults.extend(overlaps(&boxes));
    faults
}

fn words(figure: &Figure, root: Node<'_, '_>, faults: &mut Vec<String>) {
    let child = |name: &str| {
        let found = root.children().find(|node| node.has_tag_name(name));
        found.and_then(|node| node.text()).unwrap_or_default().to_owned()
    };
    if root.attribute("role") != Some("img") || child("title").is_empty() || child("desc").is_empty() {
        faults.push("no role, title or description".to_owned());
    }
    if figure.alt.trim().is_empty() || figure.title.trim().is_empty() || figure.caption.trim().is_empty() {
        faults.push("no alternative, title or caption".to_owned());
    }
    if figure.alt.contains("no room") || figure.alt.contains("outside what is shown") {
        faults.push(figure.alt.clone());
    }
}

/// Pairs of texts that lie on each other. Ascent and descent are those of the tallest letters, so that half a pixel of
/// overlap of two lines is none to the eye.
fn overlaps(boxes: &[TextBox]) -> Vec<String> {
    let mut faults = Vec::new();
    for (k, a) in boxes.iter().enumerate() {
        for b in &boxes[k + 1..] {
            let across = a.sides[2].min(b.sides[2]) - a.sides[0].max(b.sides[0]);
            let down = a.sides[3].min(b.sides[3]) - a.sides[1].max(b.sides[1]);
            if across > 0.5 && down > 1.0 {
                faults.push(format!("`{}` and `{}` overlap", a.text, b.text));
            }
        }
    }
    faults
}
