//! The writer: escaped text, short numbers, one tag after the other.

use crate::font::{self, FAMILY};
use crate::style::{Dash, Marker, Style, Tone};

/// Text that may stand in an element or attribute. Characters that XML 1.0 does not know become U+FFFD, and so do those that
/// turn the text around them to another direction.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for char in text.chars() {
        match char {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                out.push('\u{fffd}')
            }
            other => out.push(other),
        }
    }
    out
}

/// An identifier out of any text: letters, digits, `-` and `_`, a letter first. What is not ASCII stands as its number, so
/// that texts in other letters stay apart.
pub(crate) fn identifier(text: &str) -> String {
    let mut id = String::new();
    for char in text.chars() {
        match char {
            'a'..='z' | 'A'..='Z' | '0'..='9' | '-' | '_' => id.push(char),
            char if char.is_ascii() => id.push('-'),
            char => id.push_str(&format!("_{:x}", u32::from(char))),
        }
    }
    if !id.starts_with(|char: char| char.is_ascii_alphabetic()) {
        id.insert_str(0, "fig-");
    }
    id
}

/// A length in pixels with at most two decimals.
pub(crate) fn px(value: f64) -> String {
    let mut text = String::new();
    push_hundredths(&mut text, hundredths(value));
    text
}

/// A length in hundredths of a pixel.
fn hundredths(value: f64) -> i64 {
    // A cast of what is no number is zero, and of what is too large the largest there is.
    (value * 100.0).round() as i64
}

/// Writes hundredths as a number without trailing zeros. Pictures are mostly such numbers, so that the writing of them is
/// what drawing costs.
fn push_hundredths(text: &mut String, value: i64) {
    if value < 0 {
        text.push('-');
    }
    let size = value.unsigned_abs();
    let mut digits = [0u8; 20];
    let mut at = digits.len();
    let mut whole = size / 100;
    loop {
        at -= 1;
        digits[at] = b'0' + (whole % 10) as u8;
        whole /= 10;
        if whole == 0 {
            break;
        }
    }
    for digit in &digits[at..] {
        text.push(char::from(*digit));
    }
    let (tenth, hundredth) = ((size / 10 % 10) as u8, (size % 10) as u8);
    if tenth != 0 || hundredth != 0 {
        text.push('.');
        text.push(char::from(b'0' + tenth));
        if hundredth != 0 {
            text.push(char::from(b'0' + hundredth));
        }
    }
}

/// Path data of a polyline: its first point, then steps from point to point; each point stands within half a hundredth of a
/// pixel, since the steps are those between rounded points.
pub(crate) fn path(points: &[(f64, f64)]) -> String {
    let mut text = String::with_capacity(8 * points.len() + 8);
    let mut points = points.iter().map(|(x, y)| (hundredths(*x), hundredths(*y)));
    let Some(mut at) = points.next() else { return text };
    text.push('M');
    push_hundredths(&mut text, at.0);
    text.push(' ');
    push_hundredths(&mut text, at.1);
    let mut begun = false;
    for point in points {
        let step = (point.0.saturating_sub(at.0), point.1.saturating_sub(at.1));
        if step == (0, 0) {
            continue;
        }
        at = point;
        if !begun {
            text.push('l');
            begun = true;
        } else if step.0 >= 0 {
            text.push(' ');
        }
        push_hundredths(&mut text, step.0);
        if step.1 >= 0 {
            text.push(' ');
        }
        push_hundredths(&mut text, step.1);
    }
    text
}

/// A number of the data with six significant digits, for `data-` attributes.
pub(crate) fn datum(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.5e}");
    // The shortest text of what the six digits are.
    match text.parse::<f64>() {
        Ok(rounded) if (1e-3..1e6).contains(&rounded.abs()) => format!("{rounded}"),
        Ok(rounded) => format!("{rounded:e}"),
        Err(_) => text,
    }
}

/// Where a text stands with respect to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Type {
    pub size: f64,
    pub bold: bool,
    pub tone: Tone,
}

impl Type {
    /// Labels of ticks, legends and everything within the plot.
    pub const LABEL: Type = Type {
        size: 11.0,
        bold: false,
        tone: Tone::Ink,
    };
    /// The same, less loud.
    pub const SMALL: Type = Type {
        size: 10.0,
        bold: false,
        tone: Tone::Mute,
    };
    /// Headings of panels.
    pub const HEAD: Type = Type {
        size: 11.5,
        bold: true,
        tone: Tone::Ink,
    };

    pub fn width(self, text: &str) -> f64 {
        font::width(text, self.size, self.bold)
    }

    pub fn toned(self, tone: Tone) -> Type {
        Type { tone, ..self }
    }
}

/// A picture in the making.
#[derive(Debug, Default)]
pub(crate) struct Svg {
    text: String,
    open: Vec<&'static str>,
}

/// An element in the making; its attributes come first.
pub(crate) struct Tag<'a> {
    svg: &'a mut Svg,
    name: &'static str,
}

impl Svg {
    /// Begins an element.
    pub fn tag(&mut self, name: &'static str) -> Tag<'_> {
        self.text.push('<');
        self.text.push_str(name);
        Tag { svg: self, name }
    }

    /// Ends the element opened last.
    pub fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.text.push_str(&format!("</{name}>\n"));
        }
    }

    /// Adds elements that were written elsewhere.
    pub fn append(&mut self, other: Svg) {
        self.text.push_str(&other.finish());
    }

    /// A text on one line.
    pub fn text(&mut self, (x, y): (f64, f64), anchor: Anchor, face: Type, text: &str) {
        let mut tag = self
            .tag("text")
            .tone(face.tone)
            .num("x", x)
            .num("y", y)
            .num("font-size", face.size);
        tag = match anchor {
            Anchor::Start => tag,
            Anchor::Middle => tag.attr("text-anchor", "middle"),
            Anchor::End => tag.attr("text-anchor", "end"),
        };
        if face.bold {
            tag = tag.attr("font-weight", "bold");
        }
        tag.attr("fill", "currentColor").content(text);
    }

    /// A straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), tone: Tone, width: f64, dash: Dash) {
        self.tag("path")
            .tone(tone)
            .attr(
                "d",
                &format!("M{} {}L{} {}", px(from.0), px(from.1), px(to.0), px(to.1)),
            )
            .stroke(width, dash)
            .end();
    }

    /// A marker of 7 pixels at a place. Hollow ones cover the line below them.
    pub fn marker(&mut self, at: (f64, f64), marker: Marker, tone: Tone) {
        let path = marker_path(at, marker);
        let is_closed = path.ends_with('Z');
        let hollow = matches!(marker, Marker::Ring | Marker::Frame | Marker::Diamond);
        if hollow {
            self.tag("path")
                .tone(Tone::Paper)
                .attr("d", &path)
                .attr("fill", "currentColor")
                .end();
        }
        self.tag("path")
            .tone(tone)
            .attr("d", &path)
            .attr(
                "fill",
                if is_closed && !hollow {
                    "currentColor"
                } else {
                    "none"
                },
            )
            .attr("stroke", "currentColor")
            .num("stroke-width", 1.2)
            .end();
    }

    /// A sample of a style, as a legend shows it, centred on a place.
    pub fn sample(&mut self, (x, y): (f64, f64), half: f64, style: Style) {
        if let Some(dash) = style.dash {
            self.line((x - half, y), (x + half, y), style.tone, style.width, dash);
        }
        if let Some(marker) = style.marker {
            self.marker((x, y), marker, style.tone);
        }
    }

    /// The elements so far; whatever is open is closed.
    pub fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.text
    }
}

/// Outline of a marker; closed unless it is a cross.
fn marker_path((x, y): (f64, f64), marker: Marker) -> String {
    let line = |r: f64, points: &[(f64, f64)]| {
        let mut path = String::new();
        for (k, (dx, dy)) in points.iter().enumerate() {
            let letter = if k == 0 { 'M' } else { 'L' };
            path.push_str(&format!("{letter}{} {}", px(x + r * dx), px(y + r * dy)));
        }
        path
    };
    let closed = |r: f64, points: &[(f64, f64)]| line(r, points) + "Z";
    match marker {
        Marker::Disc | Marker::Ring => format!(
            "M{} {}a3.4 3.4 0 1 1 6.8 0a3.4 3.4 0 1 1 -6.8 0Z",
            px(x - 3.4),
            px(y)
        ),
        Marker::Square | Marker::Frame => closed(3.0, &[(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]),
        Marker::Triangle => closed(3.9, &[(0.0, -1.0), (0.95, 0.75), (-0.95, 0.75)]),
        Marker::Diamond => closed(4.2, &[(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]),
        Marker::Plus => line(4.0, &[(-1.0, 0.0), (1.0, 0.0)]) + &line(4.0, &[(0.0, -1.0), (0.0, 1.0)]),
        Marker::Cross => line(3.1, &[(-1.0, -1.0), (1.0, 1.0)]) + &line(3.1, &[(-1.0, 1.0), (1.0, -1.0)]),
    }
}

impl<'a> Tag<'a> {
    /// An attribute.
    pub fn attr(self, name: &str, value: &str) -> Tag<'a> {
        self.svg.text.push_str(&format!(" {name}=\"{}\"", escape(value)));
        self
    }

    /// A length in pixels.
    pub fn num(self, name: &str, value: f64) -> Tag<'a> {
        let value = px(value);
        self.attr(name, &value)
    }

    /// Class and colour of a tone.
    pub fn tone(self, tone: Tone) -> Tag<'a> {
        self.attr("class", tone.class()).attr("color", tone.colour())
    }

    /// A stroke in the tone's colour, not filled.
    pub fn stroke(self, width: f64, dash: Dash) -> Tag<'a> {
        let tag = self
            .attr("fill", "none")
            .attr("stroke", "currentColor")
            .num("stroke-width", width);
        match dash.pattern() {
            Some(pattern) => tag.attr("stroke-dasharray", pattern),
            None => tag,
        }
    }

    /// Ends an element without content.
    pub fn end(self) {
        self.svg.text.push_str("/>\n");
    }

    /// Ends an element with a text as its content.
    pub fn content(self, text: &str) {
        let closed = format!(">{}</{}>\n", escape(text), self.name);
        self.svg.text.push_str(&closed);
    }

    /// Leaves the element open for others within it.
    pub fn open(self) {
        self.svg.text.push_str(">\n");
        self.svg.open.push(self.name);
    }
}

/// A whole picture around its elements: a sheet shown at a width.
pub(crate) fn document(
    id: &str,
    title: &str,
    alt: &str,
    shown: f64,
    (width, height): (f64, f64),
    body: Svg,
) -> String {
    let mut svg = Svg::default();
    svg.tag("svg")
        .attr("xmlns", "http://www.w3.org/2000/svg")
        .attr("id", id)
        .attr("class", "tw-figure")
        .num("width", shown)
        .num("height", height * shown / width)
        .attr("viewBox", &format!("0 0 {} {}", px(width), px(height)))
        .attr("role", "img")
        .attr("aria-labelledby", &format!("{id}-title"))
        .attr("aria-describedby", &format!("{id}-desc"))
        .attr("font-family", FAMILY)
        .attr("font-size", "11")
        .attr("stroke-linejoin", "round")
        .open();
    svg.tag("title").attr("id", &format!("{id}-title")).content(title);
    svg.tag("desc").attr("id", &format!("{id}-desc")).content(alt);
    svg.append(body);
    svg.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        assert_eq!(px(-0.001), "0");
        assert_eq!(px(12.0), "12");
        assert_eq!(px(12.346), "12.35");
        assert_eq!(px(-0.5), "-0.5");
        assert_eq!(datum(1.234_567_89e-9), "1.23457e-9");
        assert_eq!(datum(43.718_291), "43.7183");
        assert_eq!(datum(-0.0), "0");
    }

    #[test]
    fn any_text_is_made_harmless() {
        assert_eq!(
            escape("<a b='c'>&\"\u{1}"),
            "&lt;a b=&#39;c&#39;&gt;&amp;&quot;\u{fffd}"
        );
        assert_eq!(identifier("4 kV/Ω"), "fig-4-kV-_3a9");
        assert_eq!(identifier(""), "fig-");
    }
}
