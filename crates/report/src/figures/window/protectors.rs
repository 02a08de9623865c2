//! What the protectors do in the window: their characteristics, where they stood, what the source feeds them.

use tidewall_assess::corners::source_ohm;
use tidewall_assess::result::PartSet;
use tidewall_devices::datasheet::{Datasheet, Family, PartCorner};
use tidewall_plot::number::quantity;
use tidewall_plot::{Band, Cell, Curve, Dash, Item, Naming, Points, Style, Tone};
use tidewall_study::{PortKind, ShuntStage};

use super::super::text::list;
use super::{Window, breaks_over, symmetrical, ways};
use crate::words::number::corner_words;

/// Points of a band per decade of current.
const PER_DECADE: i32 = 16;
/// Where a part stood at its largest current.
pub(super) struct Operating {
    pub stress: String,
    pub volts: f64,
    pub amps: f64,
    pub parts: Option<PartSet>,
    pub ambient_c: f64,
    pub condition: String,
}

impl Window<'_> {
    /// Band of a part from the lowest to the highest of its tolerance over the ambient range, and where it triggers.
    pub(super) fn band(
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
        let triggers = sheet.family == Family::FlatClamp || breaks_over(sheet.family);
        if triggers && (through > 0.0 || symmetrical(sheet)) {
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

    /// Operating points on this way, those of both lines of a pair as one.
    pub(super) fn operating(&self, names: &[String]) -> Vec<Operating> {
        let study = self.study;
        let sign = self.way.sign();
        // Where one panel stands for both sides, both sides' points belong into it.
        let both = ways(study).iter().all(|way| !way.negative);
        let mut points: Vec<Operating> = Vec::new();
        for point in self.traces.iter().flat_map(|traces| &traces.points) {
            let known = names.contains(&point.element) && (both || point.amps * sign > 0.0);
            let (Some(case), true) = (study.stresses.get(point.stress), known) else {
                continue;
            };
            let found = Operating {
                stress: case.id.clone(),
                volts: sign * point.volts.abs(),
                amps: point.amps.abs(),
                parts: point.corner.part,
                ambient_c: point.corner.ambient_c,
                condition: corner_words(&point.corner),
            };
            let same = |other: &Operating| {
                other.stress == found.stress
                    && other.parts == found.parts
                    && other.ambient_c == found.ambient_c
            };
            match points.iter_mut().find(|other| same(other)) {
                Some(other) if other.amps >= found.amps => {}
                Some(other) => *other = found,
                None => points.push(found),
            }
        }
        points
    }

    /// What the port's own source can feed into a part that stays on.
    pub(super) fn load_line(&mut self, parts: &[(&ShuntStage, &Datasheet, Vec<String>)]) -> Option<Item> {
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

    pub(super) fn points(
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
            if shown.is_empty() && self.traces.is_some() {
                self.alt.push(format!("{}: no protector conducts here.", case.id));
            } else if !shown.is_empty() {
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
