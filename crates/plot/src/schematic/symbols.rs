//! The symbols, after IEC 60617 (from memory: the standard is not freely readable), as paths of our own. A flat clamp has
//! no symbol there; it is drawn as a breakdown diode within a frame.

use super::Symbol;
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type, px};

/// Half of the length along the wire that a symbol takes, in pixels.
pub(super) const HALF: f64 = 18.0;
/// Width of its strokes in pixels.
pub(super) const STROKE: f64 = 1.3;

/// Draws along a wire: `u` runs with it, `v` across, both from the middle of the symbol.
pub(super) struct Pen {
    pub origin: (f64, f64),
    /// Down the sheet instead of to the right.
    pub upright: bool,
    /// Turned end for end.
    pub turned: bool,
    path: String,
}

impl Pen {
    pub fn new(origin: (f64, f64), upright: bool, turned: bool) -> Pen {
        Pen {
            origin,
            upright,
            turned,
            path: String::new(),
        }
    }

    /// Place on the sheet.
    fn at(&self, u: f64, v: f64) -> (f64, f64) {
        let (u, v) = if self.turned { (-u, -v) } else { (u, v) };
        if self.upright {
            (self.origin.0 - v, self.origin.1 + u)
        } else {
            (self.origin.0 + u, self.origin.1 + v)
        }
    }

    fn pair(&self, u: f64, v: f64) -> String {
        let (x, y) = self.at(u, v);
        format!("{} {}", px(x), px(y))
    }

    fn lines(&mut self, points: &[(f64, f64)]) {
        for (k, (u, v)) in points.iter().enumerate() {
            let to = self.pair(*u, *v);
            self.path.push(if k == 0 { 'M' } else { 'L' });
            self.path.push_str(&to);
        }
    }

    fn closed(&mut self, points: &[(f64, f64)]) {
        self.lines(points);
        self.path.push('Z');
    }

    fn rect(&mut self, half_u: f64, half_v: f64) {
        self.closed(&[
            (-half_u, -half_v),
            (half_u, -half_v),
            (half_u, half_v),
            (-half_u, half_v),
        ]);
    }

    /// Half circles side by side between two places on the wire.
    fn bumps(&mut self, half: f64, count: u32) {
        let radius = half / f64::from(count);
        let start = self.pair(-half, 0.0);
        self.path.push_str(&format!("M{start}"));
        for k in 1..=count {
            let to = self.pair(-half + 2.0 * radius * f64::from(k), 0.0);
            self.path
                .push_str(&format!("A{} {} 0 0 1 {to}", px(radius), px(radius)));
        }
    }

    fn circle(&mut self, radius: f64) {
        let (one, other) = (self.pair(-radius, 0.0), self.pair(radius, 0.0));
        let radius = px(radius);
        self.path.push_str(&format!(
            "M{one}A{radius} {radius} 0 1 1 {other}A{radius} {radius} 0 1 1 {one}Z"
        ));
    }

    /// Leads from the ends of the symbol to its body.
    fn leads(&mut self, body: f64) {
        self.lines(&[(-HALF, 0.0), (-body, 0.0)]);
        self.lines(&[(body, 0.0), (HALF, 0.0)]);
    }

    /// A diode that conducts along `u`, its bar at `bar`, its base so far before it.
    fn triangle(&mut self, bar: f64, length: f64) {
        self.closed(&[(bar - length, -7.0), (bar - length, 7.0), (bar, 0.0)]);
    }

    fn finish(self, svg: &mut Svg) {
        svg.tag("path")
            .tone(Tone::Ink)
            .attr("d", &self.path)
            .stroke(STROKE, Dash::Solid)
            .end();
    }
}

/// Draws a symbol with leads of [`HALF`] to both sides.
pub(super) fn draw(svg: &mut Svg, symbol: Symbol, mut pen: Pen) {
    let mut letter: Option<(&str, (f64, f64))> = None;
    match symbol {
        Symbol::Resistor => {
            pen.leads(14.0);
            pen.rect(14.0, 5.0);
        }
        Symbol::Inductor => {
            pen.leads(16.0);
            pen.bumps(16.0, 4);
        }
        Symbol::Track => {
            pen.leads(9.0);
            pen.bumps(9.0, 3);
        }
        Symbol::Bead => {
            pen.lines(&[(-HALF, 0.0), (HALF, 0.0)]);
            pen.closed(&[(-9.0, 6.0), (-3.0, -6.0), (9.0, -6.0), (3.0, 6.0)]);
        }
        Symbol::Capacitor => {
            pen.leads(2.8);
            pen.lines(&[(-2.8, -10.0), (-2.8, 10.0)]);
            pen.lines(&[(2.8, -10.0), (2.8, 10.0)]);
        }
        Symbol::Fuse => {
            pen.lines(&[(-HALF, 0.0), (HALF, 0.0)]);
            pen.rect(14.0, 5.0);
        }
        Symbol::Ptc | Symbol::Varistor => {
            // Alike both ways; its letter stays on the side away from the label.
            pen.turned = false;
            pen.leads(14.0);
            pen.rect(14.0, 5.0);
            pen.lines(&[(-17.0, 11.0), (-11.0, 11.0), (13.0, -11.0)]);
            let name = if symbol == Symbol::Ptc { "ϑ" } else { "U" };
            letter = Some((name, (-14.0, 19.0)));
        }
        Symbol::Limiter => {
            pen.leads(14.0);
            pen.rect(14.0, 9.0);
            // A current that stops rising.
            pen.lines(&[(-9.0, 5.0), (-2.0, -4.0), (9.0, -4.0)]);
        }
        Symbol::Avalanche { bidirectional } => breakdown(&mut pen, bidirectional),
        Symbol::FlatClamp { bidirectional } => {
            breakdown(&mut pen, bidirectional);
            pen.rect(15.0, 11.0);
        }
        Symbol::GasTube => {
            pen.leads(5.0);
            pen.circle(12.0);
            for side in [-1.0, 1.0] {
                pen.lines(&[(5.0 * side, -5.0), (5.0 * side, 5.0)]);
            }
        }
        Symbol::Breakover { bidirectional } => {
            pen.leads(8.0);
            pen.lines(&[(-8.0, -11.0), (-8.0, 11.0)]);
            pen.lines(&[(8.0, -11.0), (8.0, 11.0)]);
            if bidirectional {
                pen.closed(&[(-8.0, -10.0), (-8.0, 0.0), (8.0, -5.0)]);
                pen.closed(&[(8.0, 0.0), (8.0, 10.0), (-8.0, 5.0)]);
            } else {
                pen.closed(&[(-8.0, -7.0), (-8.0, 7.0), (8.0, 0.0)]);
            }
        }
        Symbol::Steering | Symbol::Box => {
            pen.leads(15.0);
            pen.rect(15.0, 11.0);
            pen.lines(&[(-9.0, 6.0), (2.0, 4.0), (8.0, -7.0)]);
        }
    }
    let dot = (symbol == Symbol::GasTube).then(|| pen.at(8.0, 3.6));
    // Letters stay upright and beside the body.
    let letter = letter.map(|(text, (u, v))| {
        let (x, y) = pen.at(u, v);
        (text, if pen.upright { (x, y + 4.0) } else { (x, y) })
    });
    pen.finish(svg);
    if let Some((x, y)) = dot {
        svg.tag("circle")
            .tone(Tone::Ink)
            .num("cx", x)
            .num("cy", y)
            .num("r", 1.7)
            .attr("fill", "currentColor")
            .end();
    }
    if let Some((text, at)) = letter {
        svg.text(at, Anchor::Middle, Type::SMALL.toned(Tone::Ink), text);
    }
}

/// A breakdown diode. One-sided ones have their cathode at the start of the wire, as a positive line wants it.
fn breakdown(pen: &mut Pen, bidirectional: bool) {
    if bidirectional {
        pen.leads(12.0);
        pen.closed(&[(-12.0, -7.0), (-12.0, 7.0), (0.0, 0.0)]);
        pen.closed(&[(12.0, -7.0), (12.0, 7.0), (0.0, 0.0)]);
        pen.lines(&[(-4.0, -8.0), (0.0, -8.0), (0.0, 8.0), (4.0, 8.0)]);
    } else {
        pen.leads(7.0);
        pen.closed(&[(7.0, -7.0), (7.0, 7.0), (-7.0, 0.0)]);
        pen.lines(&[(-3.0, -8.0), (-7.0, -8.0), (-7.0, 8.0)]);
    }
}

/// Two steering diodes from the return over the line to a rail, and the clamp of that rail beside them. The wire comes
/// from the line at `top` and the return lies at `bottom`; the whole is drawn around `x`.
pub(super) fn steering(svg: &mut Svg, x: f64, top: f64, bottom: f64) {
    let span = bottom - top;
    let middle = top + 0.52 * span;
    let rail = top + 0.16 * span;
    for center in [0.5 * (rail + middle), 0.5 * (middle + bottom)] {
        // Upwards: from the return to the rail.
        let mut pen = Pen::new((x, center), true, true);
        pen.triangle(6.0, 11.0);
        pen.lines(&[(6.0, -7.0), (6.0, 7.0)]);
        pen.finish(svg);
    }
    let wire = |svg: &mut Svg, from, to| svg.line(from, to, Tone::Ink, STROKE, Dash::Solid);
    wire(svg, (x, rail), (x, 0.5 * (rail + middle) - 6.0));
    wire(
        svg,
        (x, 0.5 * (rail + middle) + 5.0),
        (x, 0.5 * (middle + bottom) - 6.0),
    );
    wire(svg, (x, 0.5 * (middle + bottom) + 5.0), (x, bottom));
    // From the line beside the upper diode to the point between both.
    wire(svg, (x - 14.0, top), (x - 14.0, middle));
    wire(svg, (x - 14.0, middle), (x, middle));
    let beside = x + 22.0;
    wire(svg, (x, rail), (beside, rail));
    wire(svg, (beside, rail), (beside, 0.5 * (rail + bottom) - HALF));
    wire(svg, (beside, 0.5 * (rail + bottom) + HALF), (beside, bottom));
    let pen = Pen::new((beside, 0.5 * (rail + bottom)), true, false);
    draw(svg, Symbol::Avalanche { bidirectional: false }, pen);
}

/// Earth: a stem and three bars.
pub(super) fn earth(svg: &mut Svg, (x, y): (f64, f64)) {
    let mut path = format!("M{} {}v7", px(x), px(y));
    for (k, half) in [8.0, 5.0, 2.0].into_iter().enumerate() {
        path.push_str(&format!(
            "M{} {}h{}",
            px(x - half),
            px(y + 7.0 + 3.5 * k as f64),
            px(2.0 * half)
        ));
    }
    svg.tag("path")
        .tone(Tone::Ink)
        .attr("d", &path)
        .stroke(STROKE, Dash::Solid)
        .end();
}
