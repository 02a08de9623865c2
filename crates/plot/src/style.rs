//! Tones, strokes and markers. Series differ by stroke and marker as well as by tone, so that a grey print and a
//! colour-blind reader tell them apart.

/// A tone: a class that a page's style sheet can give another colour, and the colour it has without one.
///
/// Each element that has a tone carries its class and the presentation attribute `color`, and paints with
/// `currentColor`: a sheet needs to say no more than `.tw-ink { color: … }`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Text and main lines.
    Ink,
    /// The one accent.
    Accent,
    /// Secondary text and lines.
    Mute,
    /// Grid lines.
    Grid,
    /// Forbidden regions.
    Zone,
    /// The ground.
    Paper,
}

impl Tone {
    /// Class of the style sheet.
    pub fn class(self) -> &'static str {
        match self {
            Tone::Ink => "tw-ink",
            Tone::Accent => "tw-accent",
            Tone::Mute => "tw-mute",
            Tone::Grid => "tw-grid",
            Tone::Zone => "tw-zone",
            Tone::Paper => "tw-paper",
        }
    }

    /// Colour without a style sheet. Contrast against the ground: ink 17 : 1, accent 7 : 1, mute 5.6 : 1.
    pub fn colour(self) -> &'static str {
        match self {
            Tone::Ink => "#1a1a1a",
            Tone::Accent => "#0a57a4",
            Tone::Mute => "#666666",
            Tone::Grid => "#dedede",
            Tone::Zone => "#7a7a7a",
            Tone::Paper => "#ffffff",
        }
    }
}

/// Pattern of a stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long dashes.
    Dashed,
    /// Dots.
    Dotted,
    /// Dash and dot.
    DashDot,
    /// Short dashes.
    Short,
}

impl Dash {
    /// Value of `stroke-dasharray`; `None` for an unbroken stroke.
    pub fn pattern(self) -> Option<&'static str> {
        match self {
            Dash::Solid => None,
            Dash::Dashed => Some("7 3"),
            Dash::Dotted => Some("1.5 2.5"),
            Dash::DashDot => Some("8 2.5 1.5 2.5"),
            Dash::Short => Some("3.5 2"),
        }
    }
}

/// Shape of a marker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marker {
    /// Disc.
    Disc,
    /// Ring.
    Ring,
    /// Filled square.
    Square,
    /// Hollow square.
    Frame,
    /// Filled triangle.
    Triangle,
    /// Hollow diamond.
    Diamond,
    /// Upright cross.
    Plus,
    /// Diagonal cross.
    Cross,
}

/// How a series is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    /// Tone.
    pub tone: Tone,
    /// Stroke; `None` draws markers only.
    pub dash: Option<Dash>,
    /// Width of the stroke in pixels.
    pub width: f64,
    /// Marker at each point; `None` draws the stroke only.
    pub marker: Option<Marker>,
}

impl Style {
    /// A plain stroke.
    pub const fn stroke(tone: Tone, dash: Dash, width: f64) -> Style {
        Style {
            tone,
            dash: Some(dash),
            width,
            marker: None,
        }
    }

    /// Markers without a stroke.
    pub const fn markers(tone: Tone, marker: Marker) -> Style {
        Style {
            tone,
            dash: None,
            width: 1.2,
            marker: Some(marker),
        }
    }

    /// The same with a marker at each point.
    pub const fn with(self, marker: Marker) -> Style {
        Style {
            marker: Some(marker),
            ..self
        }
    }

    /// Stroke of the n-th of several series: the first has the accent, the others differ in tone, stroke and width.
    pub fn nth(n: usize) -> Style {
        const STROKES: [Style; 8] = [
            Style::stroke(Tone::Accent, Dash::Solid, 1.8),
            Style::stroke(Tone::Ink, Dash::Dashed, 1.3),
            Style::stroke(Tone::Ink, Dash::Solid, 1.1),
            Style::stroke(Tone::Mute, Dash::DashDot, 1.5),
            Style::stroke(Tone::Accent, Dash::Dotted, 1.8),
            Style::stroke(Tone::Mute, Dash::Solid, 1.8),
            Style::stroke(Tone::Ink, Dash::Short, 1.3),
            Style::stroke(Tone::Accent, Dash::DashDot, 1.3),
        ];
        STROKES[n % STROKES.len()]
    }

    /// The same with the n-th marker.
    pub fn nth_marked(n: usize) -> Style {
        Style::nth(n).with(Self::nth_marker(n))
    }

    /// The n-th marker.
    pub fn nth_marker(n: usize) -> Marker {
        const MARKERS: [Marker; 8] = [
            Marker::Disc,
            Marker::Frame,
            Marker::Triangle,
            Marker::Diamond,
            Marker::Plus,
            Marker::Square,
            Marker::Ring,
            Marker::Cross,
        ];
        MARKERS[n % MARKERS.len()]
    }
}
