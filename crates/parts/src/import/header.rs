//! A column's header taken apart: term, unit, role, wave, conditions.

use tidewall_devices::datasheet::RatingWave;

use super::mapping::{Numbered, Role};
use super::number::Measure;
use super::wave;
use crate::keys::Unit;

/// Every quantity a header may state a unit of.
const MEASURES: &[Measure] = &[
    Measure::Of(Unit::Volt),
    Measure::Of(Unit::Ampere),
    Measure::Of(Unit::Watt),
    Measure::Of(Unit::Joule),
    Measure::Of(Unit::Ohm),
    Measure::Of(Unit::Farad),
    Measure::Of(Unit::Henry),
    Measure::Of(Unit::Second),
    Measure::Of(Unit::Celsius),
    Measure::Of(Unit::Kelvin),
    Measure::Of(Unit::KelvinPerWatt),
    Measure::Of(Unit::PerKelvin),
    Measure::Of(Unit::AmpereSquaredSecond),
    Measure::Of(Unit::SquareMetre),
    Measure::VoltPerSecond,
    Measure::Hertz,
];

/// A header taken apart.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Header {
    /// What is left of it: lower case, letters and digits only.
    pub term: String,
    /// The unit in brackets.
    pub unit: Option<String>,
    /// What stands in brackets and is no unit known here.
    pub strange_unit: Option<String>,
    pub role: Option<Role>,
    pub wave: Option<RatingWave>,
    /// The wave as it is written in a mapping.
    pub wave_text: Option<String>,
    /// Conditions with their value as text.
    pub conditions: Vec<(Numbered, String)>,
    /// Terms behind `@` that are no value: other columns.
    pub refers: Vec<String>,
}

impl Header {
    pub fn of(text: &str) -> Header {
        let mut header = Header::default();
        let mut text = header.take_brackets(text);
        if let Some((wave, bytes)) = wave::within(&text) {
            header.wave = Some(wave);
            let written = text[bytes.clone()]
                .trim_end_matches("us")
                .trim_end_matches("µs")
                .trim_end_matches("μs");
            header.wave_text = Some(written.trim().replace(['x', '×'], "/"));
            text.replace_range(bytes, " ");
        }
        let text = text.replace('@', " @ ");
        let mut tokens: Vec<&str> = text.split_whitespace().collect();
        // `VBR min, V`: a unit behind a comma.
        if let [.., before, last] = tokens.as_slice()
            && before.ends_with(',')
            && header.unit.is_none()
            && unit(last)
        {
            header.unit = Some((*last).to_owned());
            tokens.pop();
        }
        header.take_tokens(&tokens);
        header
    }

    /// Takes out what stands in brackets: a unit, or a word such as `max`.
    fn take_brackets(&mut self, text: &str) -> String {
        let mut rest = String::new();
        let mut inside: Option<String> = None;
        for c in text.chars() {
            match (c, &mut inside) {
                ('(' | '[', None) => inside = Some(String::new()),
                (')' | ']', Some(_)) => {
                    let content = inside.take().unwrap_or_default();
                    let content = content.trim();
                    if unit(content) {
                        self.unit = Some(content.to_owned());
                    } else if role(content).is_some() || content.contains(['@', '/']) || content.contains(' ')
                    {
                        rest.push(' ');
                        rest.push_str(content);
                        rest.push(' ');
                    } else if self.strange_unit.is_none() && !content.is_empty() {
                        self.strange_unit = Some(content.to_owned());
                    }
                }
                (c, Some(held)) => held.push(c),
                (c, None) => rest.push(c),
            }
        }
        if let Some(held) = inside {
            rest.push_str(&held);
        }
        rest
    }

    fn take_tokens(&mut self, tokens: &[&str]) {
        let mut behind_at = false;
        let mut left = tokens;
        while let [token, after @ ..] = left {
            left = after;
            let bare = token.trim_matches(|c: char| matches!(c, ',' | ';' | ':' | '='));
            if *token == "@" || bare.eq_ignore_ascii_case("at") && !self.term.is_empty() && !after.is_empty()
            {
                behind_at = true;
                continue;
            }
            if let Some(role) = role(bare) {
                self.role = self.role.or(Some(role));
                continue;
            }
            // `25 °C` and `25°C`.
            let joined = after
                .first()
                .map(|next| format!("{bare} {}", next.trim_end_matches([',', ';'])));
            if let Some(condition) = joined.as_deref().and_then(condition) {
                self.conditions.push(condition);
                left = &after[1..];
                continue;
            }
            if let Some(condition) = condition(bare) {
                self.conditions.push(condition);
                continue;
            }
            let plain: String = bare
                .chars()
                .filter(|c| c.is_alphanumeric())
                .flat_map(char::to_lowercase)
                .collect();
            if behind_at {
                self.refers.push(plain);
            } else {
                self.term.push_str(&plain);
            }
        }
    }
}

/// Whether a text is a unit and nothing else.
fn unit(text: &str) -> bool {
    !text.is_empty() && MEASURES.iter().any(|measure| measure.takes(text))
}

fn role(word: &str) -> Option<Role> {
    match word.trim_end_matches('.').to_lowercase().as_str() {
        "min" | "minimum" => Some(Role::Min),
        "typ" | "typical" | "nom" | "nominal" => Some(Role::Typ),
        "max" | "maximum" => Some(Role::Max),
        "range" => Some(Role::Range),
        _ => None,
    }
}

/// A value that begins with a digit and has a unit: the condition it can only be.
fn condition(text: &str) -> Option<(Numbered, String)> {
    if !text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+')) {
        return None;
    }
    [
        Numbered::Temperature,
        Numbered::Slope,
        Numbered::Voltage,
        Numbered::Current,
        Numbered::Frequency,
        Numbered::Width,
    ]
    .into_iter()
    .find(|numbered| numbered.measure().read(text).is_ok())
    .map(|numbered| (numbered, text.to_owned()))
}
