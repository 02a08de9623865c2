//! Waveforms at the worst let-through of each stress.

use std::cell::OnceCell;
use std::sync::Arc;

use tidewall_assess::simulate::CaseOutcome;
use tidewall_assess::traces::Traces;
use tidewall_ladder::ProbeRole;
use tidewall_plot::number::quantity;
use tidewall_plot::{
    At, Axis, Chart, Curve, Dash, Figure, Item, Mark, Naming, Panel, Style, Table, Tone, WIDTH, Words,
};
use tidewall_study::{Study, Withstand};
use tidewall_transient::Recording;

use super::text::list;
use crate::words::number::corner_words;

/// Nodes between the stages that are drawn, and elements whose current is.
const MOST_NODES: usize = 3;
const MOST_CURRENTS: usize = 4;
/// Peaks that differ by less than this share are alike.
const LIKE: f64 = 0.03;
/// A front is shown on its own when the run is at least so many times longer.
const LONGER: f64 = 8.0;

/// One figure for each recorded stress.
pub fn waveforms(study: &Study, traces: &Traces) -> Vec<Figure> {
    let recorded = traces.outcomes.iter();
    recorded
        .filter_map(|outcome| waveforms_of(study, outcome))
        .collect()
}

/// Voltages at connector, between the stages and at the pin with its limits, the front on its own where it is much shorter
/// than the run, and the currents. `None` for an outcome without a recording.
pub fn waveforms_of(study: &Study, outcome: &CaseOutcome) -> Option<Figure> {
    let recording = outcome.outcome.recording.as_ref()?;
    let case = study.stresses.get(outcome.case.stress)?;
    let view = View::new(study, outcome, recording);
    let chart = view.chart();
    let at = corner_words(&outcome.case.corner());
    let front = match view.front {
        Some(until) => format!(
            " On the right the first {} of the same run.",
            quantity(until, "s", 2)
        ),
        None => String::new(),
    };
    let words = Words::new(
        format!("waveforms-{}", case.id),
        format!("Waveforms of {}", case.id),
        format!(
            "{}: the worst let-through, at {at}.{front}",
            case.disturbance.title
        ),
        view.alt(&case.id, &at),
    );
    Some(chart.figure(words, view.table()))
}

/// One line of the figure.
struct Series<'a> {
    /// As the legend has it.
    name: String,
    /// As the data have it.
    column: String,
    values: &'a [f64],
    style: Style,
    /// Largest size, with its sign, and when.
    peak: (f64, f64),
    /// Its points, which all panels share; made for those that are drawn.
    points: OnceCell<Arc<[(f64, f64)]>>,
}

impl Series<'_> {
    fn points(&self, times: &[f64]) -> Arc<[(f64, f64)]> {
        let made = || times.iter().copied().zip(self.values.iter().copied()).collect();
        Arc::clone(self.points.get_or_init(made))
    }
}

struct View<'a> {
    study: &'a Study,
    times: &'a [f64],
    outer: Vec<Series<'a>>,
    pin: Vec<Series<'a>>,
    currents: Vec<Series<'a>>,
    /// Nodes that are in the data only.
    hidden: Vec<Series<'a>>,
    /// Currents that are in the data only.
    hidden_currents: Vec<Series<'a>>,
    limits: Vec<(f64, String)>,
    front: Option<f64>,
}

fn peak(times: &[f64], values: &[f64]) -> (f64, f64) {
    let mut best = (0.0f64, 0.0);
    for (time, value) in times.iter().zip(values) {
        if value.is_finite() && value.abs() > best.0.abs() {
            best = (*value, *time);
        }
    }
    best
}

impl<'a> View<'a> {
    fn new(study: &'a Study, outcome: &'a CaseOutcome, recording: &'a Recording) -> View<'a> {
        let times = recording.times_s.as_slice();
        let series = |name: &str, values: &'a [f64], style: Style| Series {
            name: name.to_owned(),
            column: name.to_owned(),
            values,
            style,
            peak: peak(times, values),
            points: OnceCell::new(),
        };
        let (mut outer, mut between, mut pin) = (Vec::new(), Vec::new(), Vec::new());
        for (probe, values) in outcome.assembly.probes.iter().zip(&recording.probes_v) {
            match probe.role {
                ProbeRole::Connector(line) => {
                    let dash = if line == 0 { Dash::Dashed } else { Dash::Short };
                    outer.push(series(&probe.name, values, Style::stroke(Tone::Ink, dash, 1.3)));
                }
                ProbeRole::Between => between.push(series(&probe.name, values, Style::nth(0))),
                ProbeRole::Pin(0) => pin.push(series(&probe.name, values, Style::nth(0))),
                ProbeRole::Pin(_) => pin.push(series(&probe.name, values, Style::nth(4))),
                ProbeRole::PinPair => pin.push(series(
                    &probe.name,
                    values,
                    Style::stroke(Tone::Ink, Dash::Solid, 1.2),
                )),
            }
        }
        // The highest nodes between: those that a stage still has to bring down.
        between.sort_by(|a, b| b.peak.0.abs().total_cmp(&a.peak.0.abs()));
        // A node whose peak is that of one drawn already would only thicken its line.
        let (mut drawn, mut hidden): (Vec<Series<'a>>, Vec<Series<'a>>) = (Vec::new(), Vec::new());
        for node in between {
            let like = |other: &Series<'_>| (node.peak.0 - other.peak.0).abs() < LIKE * other.peak.0.abs();
            let known = outer.iter().chain(&pin).chain(&drawn).any(like);
            if known || drawn.len() == MOST_NODES {
                hidden.push(node);
            } else {
                drawn.push(node);
            }
        }
        // The pin alone is unbroken: grey on paper, tone would not tell.
        let strokes = [(Dash::DashDot, 1.5), (Dash::Dotted, 1.9), (Dash::Short, 1.3)];
        for (line, (dash, width)) in drawn.iter_mut().zip(strokes) {
            line.style = Style::stroke(Tone::Mute, dash, width);
        }
        outer.extend(drawn);
        let mut view = View {
            study,
            times,
            outer,
            pin,
            currents: currents(outcome, recording, &series),
            hidden,
            hidden_currents: Vec::new(),
            limits: Vec::new(),
            front: None,
        };
        view.hidden.extend(merge(&mut view.outer));
        view.hidden.extend(merge(&mut view.pin));
        view.hidden_currents = merge(&mut view.currents);
        view.limits = view.limits();
        view.front = view.front(outcome.duration_s);
        view
    }

    /// Limits of the pin that its voltage comes anywhere near, with their words.
    fn limits(&self) -> Vec<(f64, String)> {
        let pin = &self.study.pin;
        let pair = self.study.port.lines == 2;
        let lowest = self.extreme(f64::min);
        let highest = self.extreme(f64::max);
        let mut limits: Vec<(f64, String)> = Vec::new();
        let mut add = |level: &Withstand, sign: f64, of: &str| {
            let volts = sign * level.voltage_v;
            let near = if volts < 0.0 { lowest } else { highest };
            let lasts = if level.lasts_s.is_finite() {
                format!("up to {}", quantity(level.lasts_s, "s", 3))
            } else {
                "for any time".to_owned()
            };
            let level = quantity(volts, "V", 3);
            if near / volts <= 0.2 {
                return;
            }
            match limits.iter_mut().find(|(known, _)| *known == volts) {
                Some((_, text)) => *text = format!("withstand {level} {lasts}"),
                None => limits.push((volts, format!("{of} withstands {level} {lasts}"))),
            }
        };
        let signs: &[f64] = if pair { &[1.0, -1.0] } else { &[1.0] };
        for &sign in signs {
            let between = if pair { "pair" } else { "pin" };
            for level in &pin.withstand {
                add(level, sign, between);
            }
            for level in &pin.withstand_common {
                add(level, sign, "line to earth");
            }
        }
        for level in &pin.negative_withstand {
            add(level, 1.0, "pin");
        }
        limits
    }

    fn extreme(&self, of: fn(f64, f64) -> f64) -> f64 {
        let values = self.pin.iter().flat_map(|series| series.values.iter().copied());
        values.filter(|value| value.is_finite()).fold(0.0, of)
    }

    /// End of the front in seconds: what happens before connector and pin have reached their peaks, if that is much
    /// shorter than the run.
    fn front(&self, duration_s: f64) -> Option<f64> {
        let peak = |series: &[Series<'_>]| {
            let largest = series
                .iter()
                .max_by(|a, b| a.peak.0.abs().total_cmp(&b.peak.0.abs()));
            largest.map(|series| series.peak.1).filter(|time| *time > 0.0)
        };
        let first = peak(&self.outer)?;
        let second = peak(&self.pin).unwrap_or(first);
        let most = duration_s / LONGER;
        [first.max(second), first.min(second)]
            .into_iter()
            .map(|time| round_up(2.5 * time))
            .find(|until| *until <= most)
    }

    fn chart(&self) -> Chart {
        let mut whole = vec![self.outer_panel(None)];
        let mut fronts = vec![self.outer_panel(self.front)];
        whole.push(self.pin_panel(None));
        fronts.push(self.pin_panel(self.front));
        if !self.currents.is_empty() {
            whole.push(self.current_panel(None));
            fronts.push(self.current_panel(self.front));
        }
        // All share one time axis; the lowest panels name it.
        for column in [&mut whole, &mut fronts] {
            let last = column.len() - 1;
            column
                .iter_mut()
                .take(last)
                .for_each(|panel| panel.shares_x = true);
        }
        if self.front.is_none() {
            return Chart::of(whole);
        }
        Chart {
            width: WIDTH,
            columns: 2,
            panels: whole
                .into_iter()
                .zip(fronts)
                .flat_map(|(whole, front)| [whole, front])
                .collect(),
        }
    }

    fn panel(&self, head: &str, y: Axis, all: &[&Series<'_>], until: Option<f64>) -> Panel {
        let end = until.or(self.times.last().copied()).unwrap_or(1.0);
        let head = match until {
            Some(until) => format!("The first {}", quantity(until, "s", 2)),
            None => head.to_owned(),
        };
        let mut panel = Panel::new(Axis::linear("Time", "s").range(0.0, end), y).head(head);
        for series in all {
            panel.items.push(Item::Curve(Curve {
                name: series.name.clone(),
                points: series.points(self.times),
                style: series.style,
                naming: if until.is_some() {
                    Naming::None
                } else {
                    Naming::Legend
                },
            }));
        }
        panel
    }

    fn outer_panel(&self, until: Option<f64>) -> Panel {
        let all: Vec<&Series<'_>> = self.outer.iter().chain(&self.pin).collect();
        let axis = Axis::linear("Voltage", "V").from_zero();
        self.panel("Through the ladder", axis, &all, until).height(98.0)
    }

    fn pin_panel(&self, until: Option<f64>) -> Panel {
        let all: Vec<&Series<'_>> = self.pin.iter().collect();
        let axis = Axis::linear("Voltage", "V").from_zero();
        let mut panel = self.panel("At the pin", axis, &all, until).height(98.0);
        for (volts, text) in &self.limits {
            panel.items.push(Item::Mark(Mark {
                label: if until.is_none() {
                    text.clone()
                } else {
                    String::new()
                },
                at: At::Y(*volts),
                span: None,
                style: Style::stroke(Tone::Ink, Dash::Short, 1.1),
            }));
        }
        let pin = &self.study.pin;
        if pin.withstand.is_empty() && pin.withstand_common.is_empty() && until.is_none() {
            panel.note("What the pin withstands is not known: `withstand` of [pin].");
        }
        panel
    }

    fn current_panel(&self, until: Option<f64>) -> Panel {
        let all: Vec<&Series<'_>> = self.currents.iter().collect();
        let axis = Axis::linear("Current", "A").from_zero();
        self.panel("Currents", axis, &all, until).height(90.0)
    }

    fn alt(&self, stress: &str, at: &str) -> String {
        let told = |series: &Series<'_>, unit: &str| {
            format!(
                "{} {} after {}",
                series.name,
                quantity(series.peak.0, unit, 3),
                quantity(series.peak.1, "s", 2)
            )
        };
        let volts: Vec<String> = self
            .outer
            .iter()
            .chain(&self.pin)
            .map(|series| told(series, "V"))
            .collect();
        let amps: Vec<String> = self.currents.iter().map(|series| told(series, "A")).collect();
        let mut text = format!(
            "Voltages and currents over time for {stress} at {at}. Peaks: {}.",
            list(&volts)
        );
        if !amps.is_empty() {
            text.push_str(&format!(" Currents: {}.", list(&amps)));
        }
        if self.limits.is_empty() {
            if self.study.pin.withstand.is_empty() {
                text.push_str(" What the pin withstands is not known.");
            } else {
                text.push_str(" The pin stays far below what it withstands.");
            }
        } else {
            let limits: Vec<String> = self.limits.iter().map(|(_, text)| text.clone()).collect();
            text.push_str(&format!(" Limits: {}.", list(&limits)));
        }
        text
    }

    fn table(&self) -> Table {
        let nodes = self.outer.iter().chain(&self.hidden).chain(&self.pin);
        let currents = self.currents.iter().chain(&self.hidden_currents);
        let volts = nodes.map(|series| (series, "V"));
        let all: Vec<(&Series<'_>, &str)> = volts.chain(currents.map(|series| (series, "A"))).collect();
        let mut table = Table::default();
        table.numbers("time", "s", self.times);
        for (series, unit) in all {
            table.numbers(&series.column, unit, series.values);
        }
        table
    }
}

/// Takes out what runs with another of its kind: the second line of a pair that does as the first does. The one that stays
/// says so.
fn merge<'a>(all: &mut Vec<Series<'a>>) -> Vec<Series<'a>> {
    let mut merged = Vec::new();
    let mut k = 0;
    while k < all.len() {
        let twin = first_line(&all[k].name);
        let like = twin.and_then(|(first, both)| {
            let place = all.iter().position(|other| other.name == first)?;
            let apart = all[place].values.iter().zip(all[k].values);
            let apart = apart.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            (apart <= LIKE * all[place].peak.0.abs()).then_some((place, both))
        });
        match like {
            Some((place, both)) => {
                all[place].name = both;
                merged.push(all.remove(k));
                k = k.min(all.len());
            }
            None => k += 1,
        }
    }
    merged
}

/// For the name of something in the second line of a pair: that of its fellow in the first, and that of both.
fn first_line(name: &str) -> Option<(String, String)> {
    if let Some(stem) = name.strip_suffix(" (line 2)") {
        return Some((format!("{stem} (line 1)"), format!("{stem}, each line")));
    }
    let stem = name.strip_suffix(" 2")?;
    let is_node = stem == "connector" || stem == "pin" || stem.starts_with("after ");
    is_node.then(|| (format!("{stem} 1"), format!("{stem}, each line")))
}

/// Currents worth showing: what flows into the port, then the protectors by their share.
fn currents<'a>(
    outcome: &CaseOutcome,
    recording: &'a Recording,
    series: &dyn Fn(&str, &'a [f64], Style) -> Series<'a>,
) -> Vec<Series<'a>> {
    let all: Vec<(bool, Series<'a>)> = outcome
        .assembly
        .elements
        .iter()
        .filter_map(|&element| {
            let name = outcome.names.get(element)?;
            let values = recording.elements_a.get(element)?;
            Some((
                outcome.protector(name).is_some(),
                series(name, values, Style::nth(0)),
            ))
        })
        .collect();
    let (mut shunts, others): (Vec<_>, Vec<_>) = all.into_iter().partition(|(is_shunt, _)| *is_shunt);
    shunts.sort_by(|a, b| b.1.peak.0.abs().total_cmp(&a.1.peak.0.abs()));
    let mut chosen: Vec<Series<'a>> = shunts.into_iter().map(|(_, series)| series).collect();
    chosen.truncate(MOST_CURRENTS);
    let largest = others
        .into_iter()
        .map(|(_, series)| series)
        .fold(None, |best: Option<Series<'a>>, one| match best {
            Some(best) if best.peak.0.abs() >= one.peak.0.abs() => Some(best),
            _ => Some(one),
        });
    let strokes = [
        Style::nth(0),
        Style::stroke(Tone::Ink, Dash::Short, 1.3),
        Style::nth(3),
        Style::nth(4),
    ];
    for (series, style) in chosen.iter_mut().zip(strokes) {
        series.style = style;
    }
    if let Some(mut entering) = largest {
        entering.style = Style::stroke(Tone::Ink, Dash::Dashed, 1.2);
        chosen.push(entering);
    }
    chosen
}

/// The next number of the form 1, 2 or 5 times a power of ten.
fn round_up(value: f64) -> f64 {
    let decade = 10f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * decade)
        .find(|round| *round >= value * (1.0 - 1e-9))
        .unwrap_or(value)
}
