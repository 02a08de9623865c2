//! The order of candidates.

use std::cmp::Ordering;

use super::result::{Candidate, Standing};
use crate::result::Verdict;

/// What to prefer among those of the same verdict.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Order {
    /// Worst margin, then area, cost, capacitance, let-through margin, name.
    #[default]
    InTurn,
    /// The smallest weighted sum. Each quantity counts from 0 (best of all ranked candidates of that verdict) to 1
    /// (worst of them); one that is unknown counts as the worst.
    Weighted {
        /// Weight of the worst margin.
        margin: f64,
        /// Weight of the let-through margin.
        let_through: f64,
        /// Weight of the board area.
        area: f64,
        /// Weight of the cost.
        cost: f64,
        /// Weight of the capacitance.
        capacitance: f64,
    },
}

impl Order {
    /// The order as a sentence.
    pub fn in_words(&self) -> String {
        match self {
            Order::InTurn => "verdict, then worst margin, area, cost and capacitance in turn".to_owned(),
            Order::Weighted {
                margin,
                let_through,
                area,
                cost,
                capacitance,
            } => format!(
                "verdict, then margin × {margin} + let-through margin × {let_through} + area × {area} + cost × {cost} + capacitance × {capacitance}, \
                 each from 0 (best of its verdict) to 1 (worst, or unknown)"
            ),
        }
    }
}

fn verdict(candidate: &Candidate) -> Option<Verdict> {
    match &candidate.standing {
        Standing::Ranked { verdict, .. } => Some(*verdict),
        Standing::Rejected { .. } => None,
    }
}

/// Small is good in every one of these; unknown is `None`.
fn burdens(candidate: &Candidate) -> [Option<f64>; 5] {
    let (worst, let_through) = match &candidate.standing {
        Standing::Ranked {
            worst_margin,
            let_through_margin,
            ..
        } => (*worst_margin, *let_through_margin),
        Standing::Rejected { .. } => (None, None),
    };
    [
        worst.map(|margin| -margin),
        candidate.area_m2,
        candidate.cost,
        candidate.capacitance_f,
        let_through.map(|margin| -margin),
    ]
}

/// Unknown after all that is known.
fn known_first(a: Option<f64>, b: Option<f64>) -> Ordering {
    a.unwrap_or(f64::INFINITY).total_cmp(&b.unwrap_or(f64::INFINITY))
}

fn by_name(a: &Candidate, b: &Candidate) -> Ordering {
    let key = |candidate: &Candidate| -> Vec<(String, String, u64)> {
        let placed = candidate.placed.iter();
        placed
            .map(|placed| {
                let part = placed.part.clone().unwrap_or_default();
                let ohms = placed.resistance_ohm.map_or(0, f64::to_bits);
                (placed.stage.clone(), part, ohms)
            })
            .collect()
    };
    key(a).cmp(&key(b))
}

/// Splits into ranked (best first) and rejected (nearest miss first).
pub(super) fn sort(judged: Vec<Candidate>, order: &Order) -> (Vec<Candidate>, Vec<Candidate>) {
    let (mut good, mut bad): (Vec<Candidate>, Vec<Candidate>) = judged
        .into_iter()
        .partition(|candidate| verdict(candidate).is_some());
    bad.sort_by(|a, b| {
        let key = |candidate: &Candidate| match &candidate.standing {
            Standing::Rejected { step, reason } => (*step, reason.margin.unwrap_or(f64::NEG_INFINITY)),
            Standing::Ranked { .. } => (usize::MAX, f64::INFINITY),
        };
        let ((step_a, margin_a), (step_b, margin_b)) = (key(a), key(b));
        step_b
            .cmp(&step_a)
            .then(margin_b.total_cmp(&margin_a))
            .then_with(|| by_name(a, b))
    });
    let scores = scores(&good, order);
    let mut numbered: Vec<(f64, Candidate)> = scores.into_iter().zip(good.drain(..)).collect();
    numbered.sort_by(|(score_a, a), (score_b, b)| {
        let mut order = verdict(a).cmp(&verdict(b)).then(score_a.total_cmp(score_b));
        for (x, y) in burdens(a).into_iter().zip(burdens(b)) {
            order = order.then(known_first(x, y));
        }
        order.then_with(|| by_name(a, b))
    });
    (
        numbered.into_iter().map(|(_, candidate)| candidate).collect(),
        bad,
    )
}

/// Weighted sums; zero for all when the order goes by one quantity after another.
fn scores(good: &[Candidate], order: &Order) -> Vec<f64> {
    let Order::Weighted {
        margin,
        let_through,
        area,
        cost,
        capacitance,
    } = order
    else {
        return vec![0.0; good.len()];
    };
    let weights = [*margin, *area, *cost, *capacitance, *let_through];
    let range = |k: usize, of: &Candidate| {
        let alike = good.iter().filter(|other| verdict(other) == verdict(of));
        alike
            .filter_map(|other| burdens(other)[k])
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            })
    };
    good.iter()
        .map(|candidate| {
            let shares = burdens(candidate).into_iter().enumerate().map(|(k, value)| {
                let (low, high) = range(k, candidate);
                match value {
                    Some(value) if high > low => (value - low) / (high - low),
                    Some(_) => 0.0,
                    None => 1.0,
                }
            });
            shares.zip(weights).map(|(share, weight)| share * weight).sum()
        })
        .collect()
}
