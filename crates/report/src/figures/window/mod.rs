//! The design window: what must not conduct, what the pin withstands, and the clamp curve that must climb between them.

mod protectors;
mod walls;

use tidewall_assess::build::shunt_places;
use tidewall_assess::result::Assessment;
use tidewall_assess::traces::Traces;
use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_ladder::Across;
use tidewall_plot::{Axis, Cell, Chart, Figure, Item, Panel, Table, Words};
use tidewall_study::{ShuntStage, Stage, Study};

use super::text::restriction;
use protectors::Operating;
use walls::{alike, left_wall, withstand};

/// Decades of current below the largest that a window shows.
const DECADES: i32 = 4;

/// A way through the port: which conductors, and which sign.
#[derive(Clone, Copy, PartialEq)]
struct Way {
    between_lines: bool,
    negative: bool,
}

impl Way {
    fn sign(self) -> f64 {
        if self.negative { -1.0 } else { 1.0 }
    }

    fn words(self, study: &Study) -> &'static str {
        match (study.port.lines == 2, self.between_lines, self.negative) {
            (true, true, false) => "Between the lines",
            (true, true, true) => "Between the lines, negative",
            (_, false, false) if study.port.lines == 2 => "Line to earth",
            (_, false, true) if study.port.lines == 2 => "Line to earth, negative",
            (_, _, false) => "Line to return",
            (_, _, true) => "Line to return, negative",
        }
    }
}

/// Design windows: one panel for each pair of conductors that a protector stands between, and one for the negative side
/// where that differs. `None` without a shunt protector that has a clamp curve.
///
/// The operating points are those of `traces`; without them there are none, and the figure says so.
pub fn design_window(study: &Study, assessment: &Assessment, traces: Option<&Traces>) -> Option<Figure> {
    let mut table = Table::new(&[
        ("what", ""),
        ("conductors", ""),
        ("element", ""),
        ("stress", ""),
        ("voltage", "V"),
        ("current", "A"),
        ("condition", ""),
    ]);
    for (stress, amps) in &assessment.window.stress_currents_a {
        table.row([
            "short-circuit current of the generator".into(),
            Cell::Unknown,
            Cell::Unknown,
            stress.clone().into(),
            Cell::Unknown,
            (*amps).into(),
        ]);
    }
    let mut alt = Vec::new();
    let mut panels: Vec<Panel> = Vec::new();
    for way in ways(study) {
        let mut window = Window {
            study,
            traces,
            way,
            table: &mut table,
            alt: &mut alt,
        };
        panels.extend(window.panel());
    }
    let last = panels.last_mut()?;
    last.notes.extend(restriction(assessment));
    let mut caption = "Left wall: what the protector must not conduct at. Right wall: what the pin withstands. Bands: each \
         protector's own characteristic from the lowest to the highest part over the ambient range, at fixed junction \
         temperature. Points: each part at the instant of its largest current in each stress, cold and hot, lowest and \
         highest parts; heating moves them off the band, and lead and tracks add to what the pin sees."
        .to_owned();
    if shunts(study).count() > 1 {
        caption.push_str(
            " A protector with series elements behind it may stand beyond the right wall: the pin does not see its voltage.",
        );
    }
    let words = Words::new("design-window", "Design window", caption, alt.join(" "));
    Some(Chart::of(panels).figure(words, table))
}

fn shunts(study: &Study) -> impl Iterator<Item = (&ShuntStage, &Datasheet)> {
    study.ladder.iter().filter_map(|stage| match stage {
        Stage::Shunt(shunt) => Some((shunt, study.parts.get(&shunt.part)?)),
        _ => None,
    })
}

/// The ways that some protector stands across; the negative side where walls or parts are not the same there.
fn ways(study: &Study) -> Vec<Way> {
    let mut ways = Vec::new();
    for between_lines in [false, true] {
        let on = |shunt: &ShuntStage| {
            shunt_places(study, shunt)
                .iter()
                .any(|(_, across)| (*across == Across::LineToLine) == between_lines)
        };
        if !shunts(study).any(|(shunt, sheet)| sheet.family != Family::Steering && on(shunt)) {
            continue;
        }
        let one_sided = shunts(study).any(|(shunt, sheet)| on(shunt) && !symmetrical(sheet));
        let way = |negative| Way {
            between_lines,
            negative,
        };
        ways.push(way(false));
        let walls = |negative| {
            let way = way(negative);
            let right = withstand(study, way).into_iter().flatten();
            let right: Vec<(f64, f64)> = right
                .map(|level| (level.voltage_v.abs(), level.lasts_s))
                .collect();
            (left_wall(study, way).map(f64::abs), right)
        };
        if one_sided || (!between_lines && !alike(&walls(false), &walls(true))) {
            ways.push(way(true));
        }
    }
    ways
}

struct Window<'a> {
    study: &'a Study,
    traces: Option<&'a Traces>,
    way: Way,
    table: &'a mut Table,
    alt: &'a mut Vec<String>,
}

/// Varistors and gas tubes conduct both ways alike, whether or not their data say so.
fn symmetrical(sheet: &Datasheet) -> bool {
    matches!(sheet.family, Family::Varistor | Family::GasTube) || sheet.bidirectional == Some(true)
}

fn breaks_over(family: Family) -> bool {
    matches!(family, Family::GasTube | Family::Thyristor | Family::Snapback)
}

impl Window<'_> {
    fn panel(&mut self) -> Option<Panel> {
        let study = self.study;
        let parts: Vec<(&ShuntStage, &Datasheet, Vec<String>)> = shunts(study)
            .filter(|(_, sheet)| sheet.family != Family::Steering)
            .filter_map(|(shunt, sheet)| {
                let names: Vec<String> = shunt_places(study, shunt)
                    .into_iter()
                    .filter(|(_, across)| (*across == Across::LineToLine) == self.way.between_lines)
                    .map(|(name, _)| name)
                    .collect();
                (!names.is_empty()).then_some((shunt, sheet, names))
            })
            .collect();
        let operating: Vec<Vec<Operating>> =
            parts.iter().map(|(_, _, names)| self.operating(names)).collect();
        let top = operating
            .iter()
            .flatten()
            .map(|point| point.amps)
            .fold(0.0, f64::max);
        let top = if top > 0.0 { top } else { 1.0 };
        let floor = 10f64.powf((top.log10() - f64::from(DECADES)).floor());
        self.alt.push(format!("{}:", self.way.words(study)));
        let mut items = Vec::new();
        let mut notes = Vec::new();
        let mut reach = self.walls(&mut items, &mut notes);
        for (k, ((shunt, sheet, _), points)) in parts.iter().zip(&operating).enumerate() {
            match self.band(shunt, sheet, k, (floor, 2.0 * top)) {
                Ok(band) => {
                    let edges = band.iter().filter_map(|item| match item {
                        Item::Band(band) => Some(&band.other),
                        _ => None,
                    });
                    let widest = edges.flatten().filter(|(_, amps)| *amps <= top);
                    reach = widest.map(|(volts, _)| volts.abs()).fold(reach, f64::max);
                    items.extend(band);
                }
                Err(missing) => notes.push(format!("{}: no curve, {missing}.", shunt.name)),
            }
            reach = points.iter().map(|point| point.volts.abs()).fold(reach, f64::max);
            if points.is_empty() {
                let why = if self.traces.is_some() {
                    "it conducts in none of the runs"
                } else {
                    "no run was recorded"
                };
                notes.push(format!("{}: no operating point, {why}.", shunt.name));
            }
        }
        items.extend(self.load_line(&parts));
        items.extend(self.points(&parts, &operating));
        let sign = self.way.sign();
        let x = Axis::linear("Voltage", "V").range(0.0, sign * 1.12 * reach.max(1.0));
        let y = Axis::log("Current", "A").range(floor, 3.0 * top);
        let mut panel = Panel::new(x, y).height(310.0);
        if ways(study).len() > 1 {
            panel = panel.head(self.way.words(study));
        }
        panel.items = items;
        panel.notes = notes;
        Some(panel)
    }
}
