//! A part in one line.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_devices::datasheet::{Datasheet, Spread};
use tidewall_parts::{PartRecord, wire, words};
use tidewall_units::{Amps, Joules, Quantity, Volts, Watts};

/// A part in short. SI units; what is not known is null.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartLine {
    /// Name.
    pub name: String,
    /// Family.
    pub family: &'static str,
    /// How firm its values are as a whole.
    pub kind: Option<&'static str>,
    /// Stand-off voltage in volts.
    pub stand_off_v: Option<f64>,
    /// Least breakdown voltage in volts.
    pub breakdown_min_v: Option<f64>,
    /// Typical breakdown voltage in volts.
    pub breakdown_typ_v: Option<f64>,
    /// Highest breakdown voltage in volts.
    pub breakdown_max_v: Option<f64>,
    /// The first pulse rating in words.
    pub rating: Option<String>,
    /// Capacitance at the lowest bias stated, in farads: highest, else typical, else least.
    pub capacitance_f: Option<f64>,
    /// How many documents state something of it.
    pub sources: usize,
}

impl PartLine {
    /// A part in short.
    pub fn of(record: &PartRecord) -> PartLine {
        let sheet = record.datasheet();
        let mut documents: Vec<&str> = Vec::new();
        for datum in &record.data {
            if !documents.contains(&datum.source.document.as_str()) {
                documents.push(&datum.source.document);
            }
        }
        let lowest = sheet
            .capacitance
            .iter()
            .min_by(|one, two| one.bias_v.total_cmp(&two.bias_v));
        PartLine {
            name: record.name.clone(),
            family: wire::family_word(record.family),
            kind: sheet.firmness.map(wire::firmness_word),
            stand_off_v: sheet.stand_off_v,
            breakdown_min_v: sheet.breakdown_v.min,
            breakdown_typ_v: sheet.breakdown_v.typ,
            breakdown_max_v: sheet.breakdown_v.max,
            rating: rating(&sheet),
            capacitance_f: lowest.and_then(|point| {
                let farads = &point.capacitance_f;
                farads.max.or(farads.typ).or(farads.min)
            }),
            sources: documents.len(),
        }
    }

    /// Its breakdown voltage in words; empty if nothing is known.
    pub fn breakdown(&self) -> String {
        let spread = Spread {
            min: self.breakdown_min_v,
            typ: self.breakdown_typ_v,
            max: self.breakdown_max_v,
        };
        match (spread.min, spread.max, spread.typ) {
            (Some(min), Some(max), _) => format!("{} to {}", short(Volts(min)), short(Volts(max))),
            (_, _, Some(typ)) => format!("typ {}", short(Volts(typ))),
            (Some(min), None, None) => format!("≥ {}", short(Volts(min))),
            (None, Some(max), None) => format!("≤ {}", short(Volts(max))),
            (None, None, None) => String::new(),
        }
    }
}

/// A quantity in three digits.
pub fn short(quantity: impl Quantity) -> String {
    quantity.rounded(3)
}

fn rating(sheet: &Datasheet) -> Option<String> {
    let rating = sheet.ratings.first()?;
    let value = match (rating.power_w, rating.current_a, rating.energy_j) {
        (Some(watts), ..) => short(Watts(watts)),
        (_, Some(amps), _) => short(Amps(amps)),
        (_, _, Some(joules)) => short(Joules(joules)),
        _ => return None,
    };
    Some(format!("{value} {}", words::wave(rating.wave)))
}
