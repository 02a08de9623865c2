//! Units as instruments write them.

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitKind {
    /// Seconds.
    Time,
    /// Volts.
    Voltage,
    /// Amperes.
    Current,
    /// No dimension, such as a sample's number.
    Number,
}

impl UnitKind {
    /// Name of its SI unit.
    pub fn word(self) -> &'static str {
        match self {
            UnitKind::Time => "seconds",
            UnitKind::Voltage => "volts",
            UnitKind::Current => "amperes",
            UnitKind::Number => "numbers",
        }
    }
}

/// Kind of a unit and the factor to its SI unit: `mV`, `[µs]`, `(kA)`, `Volts`. `None` for what is no unit.
pub fn scale_of(text: &str) -> Option<(UnitKind, f64)> {
    let bare = text.trim().trim_matches(['(', ')', '[', ']', '"', '\'']).trim();
    let word = bare.to_lowercase();
    let known = match word.as_str() {
        "second" | "seconds" | "sec" | "secs" => Some((UnitKind::Time, 1.0)),
        "volt" | "volts" => Some((UnitKind::Voltage, 1.0)),
        "amp" | "amps" | "ampere" | "amperes" => Some((UnitKind::Current, 1.0)),
        "millisecond" | "milliseconds" => Some((UnitKind::Time, 1e-3)),
        "microsecond" | "microseconds" => Some((UnitKind::Time, 1e-6)),
        "nanosecond" | "nanoseconds" => Some((UnitKind::Time, 1e-9)),
        "millivolt" | "millivolts" => Some((UnitKind::Voltage, 1e-3)),
        "sequence" | "count" | "samples" | "#" => Some((UnitKind::Number, 1.0)),
        _ => None,
    };
    if known.is_some() {
        return known;
    }
    let unit = bare.chars().next_back()?;
    let kind = match unit {
        's' | 'S' => UnitKind::Time,
        'V' | 'v' => UnitKind::Voltage,
        'A' | 'a' => UnitKind::Current,
        _ => return None,
    };
    let factor = match &bare[..bare.len() - 1] {
        "" => 1.0,
        "M" => 1e6,
        "k" | "K" => 1e3,
        "m" => 1e-3,
        "u" | "µ" | "μ" => 1e-6,
        "n" => 1e-9,
        "p" => 1e-12,
        "f" => 1e-15,
        _ => return None,
    };
    Some((kind, factor))
}

/// A column's name with its unit taken off: `CH1 (mV)`, `CH1 [mV]`, `Time/s`, `pin_v`, `current_a`.
pub(crate) fn named(text: &str) -> (String, Option<(UnitKind, f64)>) {
    let text = text.trim().trim_matches('"').trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some(inside) = text.strip_suffix(close)
            && let Some(at) = inside.rfind(open)
            && let Some(unit) = scale_of(&inside[at + 1..])
        {
            return (inside[..at].trim().to_owned(), Some(unit));
        }
    }
    for mark in ['/', ',', '_', ' '] {
        if let Some((name, unit)) = text.rsplit_once(mark)
            && !name.trim().is_empty()
            && let Some(unit) = scale_of(unit)
        {
            return (name.trim().to_owned(), Some(unit));
        }
    }
    (text.to_owned(), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_instruments_are_known() {
        for (text, kind, factor) in [
            ("s", UnitKind::Time, 1.0),
            ("(mV)", UnitKind::Voltage, 1e-3),
            ("[µs]", UnitKind::Time, 1e-6),
            ("us", UnitKind::Time, 1e-6),
            ("kA", UnitKind::Current, 1e3),
            ("Volts", UnitKind::Voltage, 1.0),
            ("nA", UnitKind::Current, 1e-9),
        ] {
            assert_eq!(scale_of(text), Some((kind, factor)), "{text}");
        }
        for text in ["", "dB", "CHV", "Leakage", "1"] {
            assert_eq!(scale_of(text), None, "{text}");
        }
    }

    #[test]
    fn a_unit_is_taken_off_a_name() {
        let volts = Some((UnitKind::Voltage, 1.0));
        for text in ["CH1 (V)", "CH1 [V]", "CH1/V", "CH1_v", "\"CH1 V\""] {
            assert_eq!(named(text), ("CH1".to_owned(), volts), "{text}");
        }
        assert_eq!(named("CH1"), ("CH1".to_owned(), None));
        assert_eq!(named("V"), ("V".to_owned(), None));
    }
}
