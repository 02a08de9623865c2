//! The design window: what must not conduct, what the pin withstands, and the clamp curve that must climb between them.

use tidewall_assess::build::shunt_places;
use tidewall_assess::corners::source_ohm;
use tidewall_assess::result::{Assessment, PartSet, Polarity};
use tidewall_assess::traces::Traces;
use tidewall_devices::datasheet::{Datasheet, Family, PartCorner};
use tidewall_ladder::Across;
use tidewall_plot::number::quantity;
use tidewall_plot::{
    At, Axis, Band, Cell, Chart, Curve, Dash, Figure, Item, Mark, Naming, Panel, Points, Style, Table, Tone,
    Words, Zone,
};
use tidewall_study::{PortKind, ShuntStage, Stage, Study, Withstand};

use super::text::{corner, list};

/// Points of a band per decade of current.
const PER_DECADE: i32 = 8;
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
/// With `traces` the points of parts that break over are read off the recorded runs; without them those parts have none.
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
    let mut alt = Vec::new();
    let mut panels = Vec::new();
    for way in ways(study) {
        let mut window = Window {
            study,
            assessment,
            traces,
            way,
            table: &mut table,
            alt: &mut alt,
        };
        panels.extend(window.panel());
    }
    if panels.is_empty() {
        return None;
    }
    let words = Words::new(
        "design-window",
        "Design window",
        "Left wall: what the protector must not conduct at. Right wall: what the pin withstands. Bands: each protector's own \
         characteristic from the lowest part in the cold to the highest in the heat, at fixed junction temperature. Points: \
         largest current and voltage of each part in each stress; heating lifts them above the band, and lead and tracks add \
         to what the pin sees.",
        alt.join(" "),
    );
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
        let one_sided = shunts(study).any(|(shunt, sheet)| on(shunt) && sheet.bidirectional != Some(true));
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
        let symmetrical = matches!(study.port.kind, PortKind::Ac) || between_lines;
        if one_sided || (!symmetrical && !alike(&walls(false), &walls(true))) {
            ways.push(way(true));
        }
    }
    ways
}

/// Left wall, then level and duration of each right one.
type Walls = (Option<f64>, Vec<(f64, f64)>);

/// Whether walls of both signs are the same but for a few percent.
fn alike(one: &Walls, other: &Walls) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 0.05 * a.abs().max(b.abs());
    let left = match (one.0, other.0) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let mut pairs = one.1.iter().zip(&other.1);
    left && one.1.len() == other.1.len() && pairs.all(|(a, b)| near(a.0, b.0) && a.1 == b.1)
}

/// Level in volts up to which nothing may conduct.
fn left_wall(study: &Study, way: Way) -> Option<f64> {
    let levels = if way.between_lines && study.port.lines == 2 {
        study.port.must_not_conduct_between_v.as_ref()
    } else {
        study.port.must_not_conduct_v.as_ref()
    }?;
    Some(if way.negative {
        levels.value.low
    } else {
        levels.value.high
    })
}

/// What the pin withstands on a way, shortest first; `None` where the study does not say.
fn withstand(study: &Study, way: Way) -> Option<Vec<Withstand>> {
    let pin = &study.pin;
    let list = match (study.port.lines == 2, way.between_lines) {
        (true, false) => &pin.withstand_common,
        (true, true) if way.negative && !pin.negative_withstand.is_empty() => &pin.negative_withstand,
        (true, true) => &pin.withstand,
        (false, _) if way.negative => &pin.negative_withstand,
        (false, _) => &pin.withstand,
    };
    (!list.is_empty()).then(|| {
        let signed = list.iter().map(|level| Withstand {
            voltage_v: way.sign() * level.voltage_v.abs(),
            ..*level
        });
        signed.collect()
    })
}

/// A largest value and where it was found.
struct Operating {
    stress: String,
    volts: f64,
    amps: f64,
    condition: String,
}

struct Window<'a> {
    study: &'a Study,
    assessment: &'a Assessment,
    traces: Option<&'a Traces>,
    way: Way,
    table: &'a mut Table,
    alt: &'a mut Vec<String>,
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
        let operating: Vec<Vec<Operating>> = parts
            .iter()
            .map(|(_, sheet, names)| {
                if breaks_over(sheet.family) {
                    self.recorded(names)
                } else {
                    self.simulated(names)
                }
            })
            .collect();
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
                let why = if breaks_over(sheet.family) {
                    "it breaks over, and no run was recorded"
                } else {
                    "no transient was computed, or none reached it"
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

    /// Both walls; returns the voltage up to which the panel must reach.
    fn walls(&mut self, items: &mut Vec<Item>, notes: &mut Vec<String>) -> f64 {
        let study = self.study;
        let conductors = self.way.words(study);
        let sign = self.way.sign();
        let everywhere = (f64::NEG_INFINITY, f64::INFINITY);
        let mut reach = 0.0f64;
        match left_wall(study, self.way) {
            Some(volts) if volts != 0.0 => {
                reach = reach.max(volts.abs());
                let text = format!("must not conduct up to {}", quantity(volts, "V", 3));
                self.alt.push(format!("{text}."));
                items.push(Item::Zone(Zone {
                    label: text,
                    x: (0.0, volts),
                    y: everywhere,
                    hatched: true,
                }));
                self.table.row([
                    "must not conduct".into(),
                    conductors.into(),
                    "port".into(),
                    Cell::Unknown,
                    volts.into(),
                ]);
            }
            Some(_) => notes.push("Normal operation does not go to this side: no left wall.".to_owned()),
            None => {
                notes.push(
                    "Left wall unknown: the study does not say up to which voltage the protector must not conduct."
                        .to_owned(),
                );
                self.alt.push("The left wall is unknown.".to_owned());
            }
        }
        let Some(levels) = withstand(study, self.way) else {
            notes.push("Right wall unknown: the study does not say what the pin withstands here.".to_owned());
            self.alt.push("The right wall is unknown.".to_owned());
            return reach;
        };
        let size = |level: &Withstand| level.voltage_v.abs();
        let lowest = levels.iter().map(size).fold(f64::INFINITY, f64::min);
        let highest = levels.iter().map(size).fold(0.0, f64::max);
        reach = reach.max(1.08 * highest);
        let lasts = |level: &Withstand| {
            if level.lasts_s.is_finite() {
                format!("up to {}", quantity(level.lasts_s, "s", 3))
            } else {
                "for any time".to_owned()
            }
        };
        for level in &levels {
            let text = format!("{} {}", quantity(level.voltage_v, "V", 3), lasts(level));
            self.alt.push(format!("The pin withstands {text}."));
            self.table.row([
                "withstand of the pin".into(),
                conductors.into(),
                "pin".into(),
                Cell::Unknown,
                level.voltage_v.into(),
                Cell::Unknown,
                lasts(level).into(),
            ]);
            if size(level) < highest {
                items.push(Item::Mark(Mark {
                    label: format!("pin: {text}"),
                    at: At::X(level.voltage_v),
                    span: None,
                    style: Style::stroke(Tone::Ink, Dash::Short, 1.1),
                }));
            }
        }
        if lowest < highest {
            items.push(Item::Zone(Zone {
                label: String::new(),
                x: (sign * lowest, sign * highest),
                y: everywhere,
                hatched: false,
            }));
        }
        let highest_level = levels.iter().find(|level| size(level) == highest);
        if let Some(level) = highest_level {
            items.push(Item::Zone(Zone {
                label: format!(
                    "{} withstands {} {}",
                    study.pin.name,
                    quantity(level.voltage_v, "V", 3),
                    lasts(level)
                ),
                x: (level.voltage_v, sign * f64::INFINITY),
                y: everywhere,
                hatched: true,
            }));
        }
        reach
    }

    /// Band of a part from the lowest to the highest of its tolerance over the ambient range, and where it triggers.
    fn band(
        &mut self,
        shunt: &ShuntStage,
        sheet: &Datasheet,
        k: usize,
        (floor, top): (f64, f64),
    ) -> Result<Vec<Item>, String> {
        let ambient = self.study.port.ambient_c.value;
        let mut models = Vec::new();
        for corner in [PartCorner::Low, PartCorner::High] {
            for temperature_c in [ambient.low, ambient.high] {
                let built = sheet.protector(corner, temperature_c);
                let protector = built.map_err(|missing| missing.to_string())?.protector;
                models.push((temperature_c, protector));
            }
        }
        let sign = self.way.sign();
        let through = if shunt.reversed { -sign } else { sign };
        let steps = (f64::from(PER_DECADE) * (top / floor).log10()).ceil() as i32;
        let (mut one, mut other) = (Vec::new(), Vec::new());
        for step in 0..=steps {
            let amps = floor * (top / floor).powf(f64::from(step) / f64::from(steps));
            let volts: Vec<f64> = models
                .iter()
                .filter_map(|(temperature, protector)| protector.steady_v(through * amps, *temperature))
                .collect();
            // A part rests at this current at every corner or not at all.
            if volts.len() < models.len() {
                continue;
            }
            let low = volts.iter().copied().fold(f64::INFINITY, f64::min);
            let high = volts.iter().copied().fold(0.0, f64::max);
            one.push((sign * low, amps));
            other.push((sign * high, amps));
            self.table.row([
                "lowest characteristic".into(),
                self.way.words(self.study).into(),
                shunt.name.clone().into(),
                Cell::Unknown,
                (sign * low).into(),
                amps.into(),
            ]);
            self.table.row([
                "highest characteristic".into(),
                self.way.words(self.study).into(),
                shunt.name.clone().into(),
                Cell::Unknown,
                (sign * high).into(),
                amps.into(),
            ]);
        }
        let style = Style {
            width: 1.2,
            ..Style::nth([0, 1, 3, 5][k % 4])
        };
        let name = format!("{}, {}", shunt.name, sheet.family);
        let mut items = vec![Item::Band(Band {
            name,
            one,
            other,
            style,
            naming: Naming::Legend,
        })];
        if sheet.family == Family::FlatClamp || breaks_over(sheet.family) {
            let spread = &sheet.breakdown_v;
            if let (Some(low), Some(high)) = (spread.min.or(spread.typ), spread.max.or(spread.typ)) {
                let edge = |volts: f64| vec![(sign * volts, floor), (sign * volts, 6.0 * floor)];
                items.push(Item::Band(Band {
                    name: format!("{} triggers, 25 °C", shunt.name),
                    one: edge(low),
                    other: edge(high),
                    style: Style::stroke(style.tone, Dash::Dotted, 1.4),
                    naming: Naming::Legend,
                }));
                self.alt.push(format!(
                    "{} triggers at {} to {} (25 °C, slow).",
                    shunt.name,
                    quantity(low, "V", 3),
                    quantity(high, "V", 3)
                ));
            }
        }
        Ok(items)
    }

    /// Highest voltage of each stress with the largest current of the same run, for the lowest and the highest parts. A
    /// run with more current but less voltage is one in which that current charges the part's capacitance.
    fn simulated(&self, names: &[String]) -> Vec<Operating> {
        let wanted = if self.way.negative {
            Polarity::Negative
        } else {
            Polarity::Positive
        };
        let both = ways(self.study).iter().all(|way| !way.negative);
        let mut points: Vec<Operating> = Vec::new();
        for case in &self.study.stresses {
            for set in [PartSet::Low, PartSet::High] {
                let mut best: Option<Operating> = None;
                for run in &self.assessment.transients {
                    let corner_of = &run.corner;
                    let this_side = both || corner_of.polarity == Some(wanted);
                    if run.stress != case.id || corner_of.part != Some(set) || !this_side {
                        continue;
                    }
                    for element in run.elements.iter().filter(|one| names.contains(&one.name)) {
                        let more = best
                            .as_ref()
                            .is_none_or(|known| element.peak_v > known.volts.abs());
                        if more && element.peak_a > 0.0 && element.peak_v.is_finite() {
                            best = Some(Operating {
                                stress: case.id.clone(),
                                volts: self.way.sign() * element.peak_v,
                                amps: element.peak_a,
                                condition: corner(corner_of),
                            });
                        }
                    }
                }
                points.extend(best);
            }
        }
        points
    }

    /// Voltage at the instant of the largest current, from the recorded runs.
    fn recorded(&self, names: &[String]) -> Vec<Operating> {
        let mut points = Vec::new();
        for outcome in self.traces.iter().flat_map(|traces| &traces.outcomes) {
            let Some(recording) = &outcome.outcome.recording else {
                continue;
            };
            let Some(case) = self.study.stresses.get(outcome.case.stress) else {
                continue;
            };
            let mut best: Option<(f64, f64)> = None;
            for name in names {
                let Some(element) = outcome.element(name) else {
                    continue;
                };
                let samples = recording.elements_a[element]
                    .iter()
                    .zip(&recording.elements_v[element]);
                for (amps, volts) in samples {
                    if amps.is_finite() && best.is_none_or(|(most, _)| amps.abs() > most) {
                        best = Some((amps.abs(), volts.abs()));
                    }
                }
            }
            if let Some((amps, volts)) = best.filter(|(amps, _)| *amps > 0.0) {
                points.push(Operating {
                    stress: case.id.clone(),
                    volts: self.way.sign() * volts,
                    amps,
                    condition: corner(&outcome.case.corner()),
                });
            }
        }
        points
    }

    /// What the port's own source can feed into a part that stays on.
    fn load_line(&mut self, parts: &[(&ShuntStage, &Datasheet, Vec<String>)]) -> Option<Item> {
        let study = self.study;
        let holds = parts
            .iter()
            .any(|(_, sheet, _)| sheet.family == Family::FlatClamp || breaks_over(sheet.family));
        if !holds || study.port.kind != PortKind::Dc || self.way.negative {
            return None;
        }
        let ohm = source_ohm(study)?;
        let open = study.port.working_v.as_ref()?.value.high;
        let points = (0..=120).map(|k| {
            // Denser towards the open end, where the logarithm of the current falls steeply.
            let share = 1.0 - 10f64.powf(-f64::from(k) / 20.0);
            (share * open, (1.0 - share) * open / ohm)
        });
        self.alt.push(format!(
            "The port's own source feeds from {} behind {}.",
            quantity(open, "V", 3),
            quantity(ohm, "Ω", 3)
        ));
        Some(Item::Curve(Curve {
            name: format!(
                "own source, {} behind {}",
                quantity(open, "V", 3),
                quantity(ohm, "Ω", 3)
            ),
            points: points.collect(),
            style: Style::stroke(Tone::Mute, Dash::DashDot, 1.2),
            naming: Naming::Legend,
        }))
    }

    fn points(
        &mut self,
        parts: &[(&ShuntStage, &Datasheet, Vec<String>)],
        operating: &[Vec<Operating>],
    ) -> Vec<Item> {
        let mut items = Vec::new();
        for (number, case) in self.study.stresses.iter().enumerate() {
            let mut shown = Vec::new();
            let mut told = Vec::new();
            for ((shunt, _, _), points) in parts.iter().zip(operating) {
                for point in points.iter().filter(|point| point.stress == case.id) {
                    shown.push((point.volts, point.amps, String::new()));
                    told.push(format!(
                        "{} {} at {}",
                        shunt.name,
                        quantity(point.volts, "V", 3),
                        quantity(point.amps, "A", 3)
                    ));
                    self.table.row([
                        "operating point".into(),
                        self.way.words(self.study).into(),
                        shunt.name.clone().into(),
                        case.id.clone().into(),
                        point.volts.into(),
                        point.amps.into(),
                        point.condition.clone().into(),
                    ]);
                }
            }
            if !shown.is_empty() {
                self.alt.push(format!("{}: {}.", case.id, list(&told)));
                items.push(Item::Points(Points {
                    name: case.id.clone(),
                    points: shown,
                    style: Style::markers(Tone::Ink, Style::nth_marker(number)),
                    naming: Naming::Legend,
                }));
            }
        }
        items
    }
}
