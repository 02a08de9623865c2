//! What normal operation asks of a part: bounds that need no transient.

use tidewall_ladder::Across;
use tidewall_study::{ShuntStage, Stage, Study};

use super::result::Demand;
use crate::build::shunt_places;
use crate::checks::standing::{as_seen, largest_capacitance, must_not_conduct, share};
use crate::checks::{NEXT_TO_NOTHING_V, abnormal};
use crate::corners::{source_ohm, supply_voltages};
use crate::result::Bound;
use crate::text::{amps, celsius, farads, ohms, seconds, volts};

/// Temperature coefficients in 1/K for which the cold breakdown is said at 25 °C too: none, and an avalanche part's.
const USUAL_PER_K: f64 = 1e-3;

/// The walls as the part sees them: voltages it must block in its main and its other direction, in volts.
pub struct Walls {
    /// Main direction.
    pub main_v: f64,
    /// Other direction.
    pub other_v: f64,
    /// Lowest voltage that a clamp may hold, in volts: the main direction, and every abnormal level at which no part may
    /// conduct.
    pub lowest_clamp_v: f64,
}

impl Walls {
    /// Those of a shunt; `None` if the port's normal voltage is not known.
    pub fn of(study: &Study, shunt: &ShuntStage) -> Option<Walls> {
        let across = across(study, shunt)?;
        let levels = must_not_conduct(study, across)?.value;
        let (a, b) = as_seen(levels, false);
        // A part is turned to the side on which the line works.
        let (main_v, other_v) = (a.max(b), a.min(b));
        let other_side = if a >= b { f64::NEG_INFINITY } else { f64::INFINITY };
        let both_ways = other_v > NEXT_TO_NOTHING_V;
        let blocked = study
            .port
            .abnormal
            .iter()
            .map(|level| &level.value)
            .filter(|level| {
                !level.may_conduct
                    && abnormal::meets(level.across, across)
                    && (both_ways || level.level_v.signum() != other_side.signum())
            });
        Some(Walls {
            main_v,
            other_v,
            lowest_clamp_v: blocked.map(|level| level.level_v.abs()).fold(main_v, f64::max),
        })
    }

    /// Whether the part must block both ways.
    pub fn both_ways(&self) -> bool {
        self.other_v > NEXT_TO_NOTHING_V
    }
}

/// The conductors of the first of the shunt's places; all of one shunt are alike.
fn across(study: &Study, shunt: &ShuntStage) -> Option<Across> {
    shunt_places(study, shunt).first().map(|(_, across)| *across)
}

struct List(Vec<Demand>);

impl List {
    fn at_least(&mut self, datum: &str, value: f64, unit: &'static str, why: String, origin: Option<String>) {
        self.add(datum, Some(value), unit, Bound::AtLeast, why, origin);
    }

    fn at_most(&mut self, datum: &str, value: f64, unit: &'static str, why: String, origin: Option<String>) {
        self.add(datum, Some(value), unit, Bound::AtMost, why, origin);
    }

    fn missing(&mut self, datum: &str, unit: &'static str, bound: Bound, why: &str, missing: &str) {
        self.add(datum, None, unit, bound, why.to_owned(), None);
        if let Some(last) = self.0.last_mut() {
            last.missing = Some(missing.to_owned());
        }
    }

    fn add(
        &mut self,
        datum: &str,
        value: Option<f64>,
        unit: &'static str,
        bound: Bound,
        why: String,
        origin: Option<String>,
    ) {
        self.0.push(Demand {
            datum: datum.to_owned(),
            value,
            unit,
            bound,
            why,
            origin,
            missing: None,
        });
    }
}

/// Bounds on stand-off, breakdown, polarity, leakage, capacitance and hold.
pub fn demands(study: &Study, shunt: &ShuntStage) -> Vec<Demand> {
    let mut list = List(Vec::new());
    blocking(study, shunt, &mut list);
    leakage(study, shunt, &mut list);
    capacitance(study, shunt, &mut list);
    hold(study, &mut list);
    list.0
}

fn blocking(study: &Study, shunt: &ShuntStage, list: &mut List) {
    let across = across(study, shunt);
    let levels = across.and_then(|across| must_not_conduct(study, across));
    let (Some(walls), Some(levels)) = (Walls::of(study, shunt), levels) else {
        let key = match across {
            Some(Across::LineToLine) => "`must_not_conduct_between` of the port",
            _ => "`must_not_conduct` of the port",
        };
        let why = "the highest normal voltage is not known";
        list.missing("stand-off voltage", "V", Bound::AtLeast, why, key);
        return;
    };
    let origin = Some(levels.origin.to_string());
    let range = study.port.ambient_c.value;
    let needed = walls.main_v;
    let side = if walls.both_ways() {
        format!(
            "the line reaches {} one way and {} the other: the part must block both ways",
            volts(walls.main_v),
            volts(walls.other_v)
        )
    } else {
        format!(
            "the line reaches {}, and less than a forward diode drop the other way: unidirectional parts may do",
            volts(needed)
        )
    };
    list.at_least("stand-off voltage", needed, "V", side, origin.clone());
    let at_25 = needed / (1.0 - USUAL_PER_K * (25.0 - range.low)).max(0.1);
    list.at_least(
        &format!("lowest breakdown at {}", celsius(range.low)),
        needed,
        "V",
        format!(
            "by spread and temperature; a part of +0.1 %/K needs a minimum of {} at 25 °C, one that does not drift {}",
            volts(at_25),
            volts(needed)
        ),
        origin,
    );
    for level in &study.port.abnormal {
        if !across.is_some_and(|across| abnormal::meets(level.value.across, across)) {
            continue;
        }
        let size = level.value.level_v.abs();
        // A level on the other side finds a unidirectional part forward: nothing to block, much to carry.
        let words = format!(
            "{} for {} stands on the line",
            volts(level.value.level_v),
            seconds(level.value.lasts_s)
        );
        let why = if level.value.may_conduct {
            format!(
                "unless the part survives it: {words}, and a lower part must carry the source's current as long"
            )
        } else {
            format!("{words}, at which no part may conduct")
        };
        let datum = format!("lowest breakdown against {}", volts(level.value.level_v));
        list.at_least(&datum, size, "V", why, Some(level.origin.to_string()));
    }
}

fn leakage(study: &Study, shunt: &ShuntStage, list: &mut List) {
    let hot = study.port.ambient_c.value.high;
    let datum = format!("leakage at {}", celsius(hot));
    match (&study.port.leakage_limit_a, Walls::of(study, shunt)) {
        (Some(limit), Some(walls)) => list.at_most(
            &datum,
            limit.value,
            "A",
            format!("at {}, guaranteed and hot", volts(walls.main_v)),
            Some(limit.origin.to_string()),
        ),
        (None, _) => {
            let why = "how much leakage the port bears is not known";
            list.missing(&datum, "A", Bound::AtMost, why, "`leakage_limit` of the port");
        }
        (Some(_), None) => {}
    }
}

fn capacitance(study: &Study, shunt: &ShuntStage, list: &mut List) {
    let Some(limit) = &study.port.capacitance_limit_f else {
        return;
    };
    let mut others = 0.0;
    for stage in &study.ladder {
        match stage {
            Stage::Capacitor(stage) => {
                others += share(study, &stage.name, stage.between) * stage.capacitance_f;
            }
            Stage::Shunt(stage) if stage.name != shunt.name => {
                let Some(size) = largest_capacitance(&study.parts[&stage.part]) else {
                    let missing = format!("capacitance of part `{}` (key `capacitance`)", stage.part);
                    let why = "what the other stages take of the line's budget is not known";
                    list.missing("capacitance", "F", Bound::AtMost, why, &missing);
                    return;
                };
                others += share(study, &stage.name, stage.between) * size;
            }
            _ => {}
        }
    }
    let left = (limit.value - others) / share(study, &shunt.name, shunt.between);
    list.at_most(
        "capacitance",
        left.max(0.0),
        "F",
        format!(
            "the line bears {}, other stages take {}",
            farads(limit.value),
            farads(others)
        ),
        Some(limit.origin.to_string()),
    );
}

fn hold(study: &Study, list: &mut List) {
    let highest = supply_voltages(study)
        .into_iter()
        .map(f64::abs)
        .reduce(f64::max)
        .filter(|volts| *volts > 0.0);
    let Some(highest) = highest else { return };
    match source_ohm(study) {
        Some(ohm) => list.at_least(
            "holding voltage, if the part breaks over",
            highest,
            "V",
            format!(
                "or a holding current above {}: the line feeds {} behind {}",
                amps(highest / ohm),
                volts(highest),
                ohms(ohm)
            ),
            None,
        ),
        None => list.at_least(
            "holding voltage, if the part breaks over",
            highest,
            "V",
            "what current the line could keep feeding is not known, so only the voltage helps".to_owned(),
            None,
        ),
    }
}
