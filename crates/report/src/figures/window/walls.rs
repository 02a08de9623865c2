//! The walls of the window.

use tidewall_plot::number::quantity;
use tidewall_plot::{At, Cell, Dash, Item, Mark, Style, Tone, Zone};
use tidewall_study::{Study, Withstand};

use super::{Way, Window};

/// Number and unit stay on one line.
fn tight(text: &str) -> String {
    let mut tight = String::new();
    let mut after_digit = false;
    for char in text.chars() {
        tight.push(if char == ' ' && after_digit {
            '\u{a0}'
        } else {
            char
        });
        after_digit = char.is_ascii_digit();
    }
    tight
}

/// Left wall, then level and duration of each right one.
type Walls = (Option<f64>, Vec<(f64, f64)>);

/// Whether walls of both signs are the same but for a few percent.
pub(super) fn alike(one: &Walls, other: &Walls) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 0.05 * a.abs().max(b.abs());
    let left = match (one.0, other.0) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let mut pairs = one.1.iter().zip(&other.1);
    left && one.1.len() == other.1.len() && pairs.all(|(a, b)| near(a.0, b.0) && a.1 == b.1)
}

/// Level in volts up to which nothing may conduct.
pub(super) fn left_wall(study: &Study, way: Way) -> Option<f64> {
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
pub(super) fn withstand(study: &Study, way: Way) -> Option<Vec<Withstand>> {
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

impl Window<'_> {
    /// Both walls; returns the voltage up to which the panel must reach.
    pub(super) fn walls(&mut self, items: &mut Vec<Item>, notes: &mut Vec<String>) -> f64 {
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
                    label: tight(&text),
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
                    "{} withstands {}",
                    study.pin.name,
                    tight(&format!("{} {}", quantity(level.voltage_v, "V", 3), lasts(level)))
                ),
                x: (level.voltage_v, sign * f64::INFINITY),
                y: everywhere,
                hatched: true,
            }));
        }
        reach
    }
}
