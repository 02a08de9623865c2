//! Ladders onto the sheet: stages side by side between the rails, in as many rows as they need.

use super::layout::{
    BLOCK, EDGE, LOOSE, NAME, OPEN, Rails, TERMINALS, VALUE, columns, is_series, label_from, rows,
    stage_width,
};
use super::symbols::{HALF, Pen, STROKE, draw as symbol, earth, steering};
use super::{Ladder, Place, Stage, Symbol};
use crate::chart::WIDTH;
use crate::font;
use crate::place::Rect;
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type, px};

/// Draws a ladder; returns width and height of the sheet.
pub(super) fn draw(svg: &mut Svg, ladder: &Ladder) -> (f64, f64) {
    let (width, rows) = rows(ladder);
    let count = rows.len();
    let mut top = EDGE + 14.0;
    let face = Type::SMALL;
    let head = font::fit(&ladder.connector, face.size, false, WIDTH - 2.0 * EDGE);
    svg.text((EDGE, EDGE + 9.0), Anchor::Start, face, &head);
    for (number, row) in rows.iter().enumerate() {
        let rails = Rails::at(top, ladder.lines);
        let (is_first, is_last) = (number == 0, number + 1 == count);
        let start = if is_first { EDGE + TERMINALS } else { EDGE + OPEN };
        let end = row.last().map_or(start, |(k, x)| {
            x + ladder
                .stages
                .get(*k)
                .map_or(0.0, |stage| stage_width(stage, ladder.lines))
        });
        // A short ladder still ends at the right edge or near it.
        let loose = if count == 1 {
            (width - EDGE - BLOCK - end - 8.0).clamp(0.0, LOOSE)
        } else {
            0.0
        };
        let end = if is_last { end + 8.0 + loose } else { WIDTH - EDGE };
        wires(svg, ladder, row, rails, (is_first, is_last), end);
        for (k, x) in row {
            if let Some(stage) = ladder.stages.get(*k) {
                insert(svg, *k, *x, rails);
                draw_stage(svg, stage, *k, *x, ladder.lines, rails);
            }
        }
        if is_last {
            insert(svg, ladder.stages.len(), end - 8.0, rails);
            block(svg, ladder, end, rails);
        }
        top = rails.end();
    }
    (width, top)
}

/// The wires of a row: terminals or an open start, to the block or an open end. Series symbols interrupt them.
fn wires(
    svg: &mut Svg,
    ladder: &Ladder,
    row: &[(usize, f64)],
    rails: Rails,
    (is_first, is_last): (bool, bool),
    end: f64,
) {
    let names: &[&str] = if ladder.lines == 2 {
        &["line 1", "line 2", "earth"]
    } else {
        &["line", "return"]
    };
    for (rail, name) in rails.all().zip(names) {
        let mut x = if is_first {
            svg.tag("circle")
                .tone(Tone::Ink)
                .num("cx", EDGE + 41.0)
                .num("cy", rail)
                .num("r", 2.6)
                .attr("fill", "none")
                .attr("stroke", "currentColor")
                .num("stroke-width", STROKE)
                .end();
            let at = (EDGE + 35.0, rail + 3.6);
            svg.text(at, Anchor::End, VALUE, name);
            EDGE + 43.6
        } else {
            chevron(svg, EDGE + 4.0, rail);
            EDGE + 6.0
        };
        for (k, left) in row {
            let Some(stage) = ladder.stages.get(*k) else {
                continue;
            };
            let on_first = matches!(stage.place, Place::Series | Place::SeriesFirst);
            let on_second = matches!(stage.place, Place::SeriesSecond)
                || stage.place == Place::Series && ladder.lines == 2;
            let here = rail == rails.first && on_first || Some(rail) == rails.second && on_second;
            if here {
                let middle = left + 0.5 * stage_width(stage, ladder.lines);
                svg.line((x, rail), (middle - HALF, rail), Tone::Ink, STROKE, Dash::Solid);
                x = middle + HALF;
            }
        }
        let until = if is_last { end } else { end - 6.0 };
        svg.line((x, rail), (until, rail), Tone::Ink, STROKE, Dash::Solid);
        if !is_last {
            chevron(svg, end - 4.0, rail);
        }
    }
    if is_first && ladder.lines == 2 {
        earth(svg, (EDGE + TERMINALS - 2.0, rails.bottom));
    }
}

/// Here the wire goes on in the next row.
fn chevron(svg: &mut Svg, x: f64, y: f64) {
    svg.tag("path")
        .tone(Tone::Mute)
        .attr("d", &format!("M{} {}l4 4l-4 4", px(x - 2.0), px(y - 4.0)))
        .stroke(STROKE, Dash::Solid)
        .end();
}

/// The gap before a stage, for a page to put another one there.
fn insert(svg: &mut Svg, number: usize, x: f64, rails: Rails) {
    svg.tag("g")
        .attr("class", "tw-insert")
        .attr("data-insert", &number.to_string())
        .attr("data-at", &format!("{} {}", px(x), px(rails.first)))
        .open();
    hit(
        svg,
        Rect {
            left: x - 5.0,
            top: rails.first - 12.0,
            right: x + 5.0,
            bottom: rails.bottom,
        },
    );
    svg.close();
}

/// An area that takes the pointer and shows nothing.
fn hit(svg: &mut Svg, rect: Rect) {
    svg.tag("rect")
        .attr("class", "tw-hit")
        .num("x", rect.left)
        .num("y", rect.top)
        .num("width", rect.width())
        .num("height", rect.height())
        .attr("fill", "none")
        .attr("pointer-events", "all")
        .end();
}

fn draw_stage(svg: &mut Svg, stage: &Stage, number: usize, left: f64, lines: usize, rails: Rails) {
    let width = stage_width(stage, lines);
    svg.tag("g")
        .attr("class", "tw-stage")
        .attr("data-stage", &number.to_string())
        .attr("data-name", &stage.name)
        .open();
    hit(
        svg,
        Rect {
            left: left + 3.0,
            top: rails.top + 4.0,
            right: left + width - 3.0,
            bottom: rails.bottom + 4.0,
        },
    );
    if is_series(stage) {
        series(svg, stage, left + 0.5 * width, rails);
    } else {
        shunt(svg, stage, left, lines, rails);
    }
    svg.close();
}

fn series(svg: &mut Svg, stage: &Stage, middle: f64, rails: Rails) {
    let on: Vec<f64> = match (stage.place, rails.second) {
        (Place::SeriesSecond, Some(second)) => vec![second],
        (Place::Series, Some(second)) => vec![rails.first, second],
        _ => vec![rails.first],
    };
    for rail in &on {
        symbol(svg, stage.symbol, Pen::new((middle, *rail), false, false));
    }
    let rail = on.first().copied().unwrap_or(rails.first);
    svg.text((middle, rail - 16.0), Anchor::Middle, NAME, &stage.name);
    // Room for the letter of a varistor or thermistor.
    let first = if matches!(stage.symbol, Symbol::Ptc | Symbol::Varistor) {
        32.0
    } else {
        21.0
    };
    for (k, value) in stage.values.iter().enumerate() {
        let at = (middle, rail + first + 12.0 * k as f64);
        svg.text(at, Anchor::Middle, VALUE, value);
    }
}

fn shunt(svg: &mut Svg, stage: &Stage, left: f64, lines: usize, rails: Rails) {
    let second = rails.second.unwrap_or(rails.first);
    let columns = columns(stage, lines);
    let ends: Vec<(f64, f64)> = match stage.place {
        Place::ShuntBetween => vec![(rails.first, second)],
        Place::ShuntSecond => vec![(second, rails.bottom)],
        Place::ShuntReturn if lines == 2 => vec![(rails.first, rails.bottom), (second, rails.bottom)],
        _ => vec![(rails.first, rails.bottom)],
    };
    for (column, (from, to)) in columns.iter().zip(&ends) {
        let x = left + column;
        // On its way to earth the first line's branch passes the second line, and sits below it like its fellow.
        let crosses = lines == 2 && *from == rails.first && *to == rails.bottom;
        let from = if crosses {
            hop(svg, x_of(stage, x), rails.first, second);
            second + 5.0
        } else {
            *from
        };
        if stage.symbol == Symbol::Steering {
            steering(svg, x, from, *to);
            node(svg, (x_of(stage, x), if crosses { rails.first } else { from }));
            node(svg, (x, *to));
            node(svg, (x + 22.0, *to));
            continue;
        }
        let below = if lines == 2 && *to == rails.bottom {
            second
        } else {
            from
        };
        let middle = 0.5 * (below + to);
        svg.line((x, from), (x, middle - HALF), Tone::Ink, STROKE, Dash::Solid);
        svg.line((x, middle + HALF), (x, *to), Tone::Ink, STROKE, Dash::Solid);
        symbol(svg, stage.symbol, Pen::new((x, middle), true, stage.reversed));
        node(svg, (x, if crosses { rails.first } else { from }));
        node(svg, (x, *to));
    }
    let middle = match stage.place {
        Place::ShuntBetween => 0.5 * (rails.first + second),
        _ => 0.5 * (second + rails.bottom),
    };
    let x = left + label_from(stage, lines);
    let lines_of_text = stage.values.len() as f64;
    let start = middle - 6.0 * lines_of_text + 4.0;
    svg.text((x, start), Anchor::Start, NAME, &stage.name);
    for (k, value) in stage.values.iter().enumerate() {
        svg.text((x, start + 12.0 * (k + 1) as f64), Anchor::Start, VALUE, value);
    }
}

/// Where a branch leaves the line.
fn x_of(stage: &Stage, x: f64) -> f64 {
    if stage.symbol == Symbol::Steering {
        x - 14.0
    } else {
        x
    }
}

/// A branch from the first line that passes over the second.
fn hop(svg: &mut Svg, x: f64, first: f64, second: f64) {
    let path = format!(
        "M{} {}V{}A5 5 0 0 1 {} {}",
        px(x),
        px(first),
        px(second - 5.0),
        px(x),
        px(second + 5.0)
    );
    svg.tag("path")
        .tone(Tone::Ink)
        .attr("d", &path)
        .stroke(STROKE, Dash::Solid)
        .end();
}

/// Wires that are joined.
fn node(svg: &mut Svg, (x, y): (f64, f64)) {
    svg.tag("circle")
        .tone(Tone::Ink)
        .num("cx", x)
        .num("cy", y)
        .num("r", 2.1)
        .attr("fill", "currentColor")
        .end();
}

/// The protected circuit.
fn block(svg: &mut Svg, ladder: &Ladder, left: f64, rails: Rails) {
    svg.tag("g").attr("class", "tw-pin").attr("data-pin", "").open();
    let (top, bottom) = (rails.first - 16.0, rails.bottom + 12.0);
    svg.tag("rect")
        .tone(Tone::Ink)
        .num("x", left)
        .num("y", top)
        .num("width", BLOCK)
        .num("height", bottom - top)
        .attr("fill", "none")
        .attr("stroke", "currentColor")
        .num("stroke-width", STROKE)
        .attr("pointer-events", "all")
        .end();
    let room = BLOCK - 16.0;
    let most = ((bottom - top - 20.0) / 13.0) as usize;
    let names = font::wrap(&ladder.pin, NAME.size, true, room);
    let values = ladder
        .pin_values
        .iter()
        .flat_map(|value| font::wrap(value, VALUE.size, false, room));
    let lines: Vec<(Type, String)> = names
        .into_iter()
        .map(|line| (NAME, line))
        .chain(values.map(|line| (VALUE, line)))
        .take(most)
        .collect();
    let mut y = 0.5 * (top + bottom) - 6.5 * lines.len() as f64 + 10.0;
    for (face, line) in lines {
        let line = font::fit(&line, face.size, face.bold, room);
        svg.text((left + 0.5 * BLOCK, y), Anchor::Middle, face, &line);
        y += 13.0;
    }
    svg.close();
}
