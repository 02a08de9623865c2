//! The levels that a standard lists, for saying which of them a design survives.

use super::levels::{self, Levels};
use super::{PortUse, StressRequest, normalised};

/// Levels in volts, lowest first, that `standard` (a name of [`super::STANDARDS`]) lists for the discharge, coupling and
/// port of a request.
///
/// Empty where the standard lists none, and where the request leaves open which of its lists holds. How well each list is
/// known stands beside it in [`levels`].
pub fn listed_levels(standard: &str, request: &StressRequest) -> Levels {
    let key = |value: &Option<String>| value.as_deref().map(normalised).unwrap_or_default();
    let between = key(&request.coupling).starts_with("lineline");
    match standard {
        "IEC 61000-4-2" => match key(&request.discharge).as_str() {
            "contact" => levels::DISCHARGE_CONTACT,
            "air" => levels::DISCHARGE_AIR,
            _ => &[],
        },
        "IEC 61000-4-4" => match request.port {
            Some(PortUse::Signal) => levels::BURST_SIGNAL,
            Some(_) => levels::BURST_SUPPLY,
            None => &[],
        },
        "IEC 61000-4-5" => match (between, key(&request.edition).as_str()) {
            (false, _) | (true, "2" | "2005") => levels::SURGE_EARTH,
            (true, "3" | "2014") => levels::SURGE_LINE_LINE_ED3,
            _ => &[],
        },
        "IEC 61000-4-12" if between => levels::RING_LINE_LINE,
        "IEC 61000-4-12" => levels::RING_LINE_EARTH,
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_follow_the_request() {
        let request =
            |coupling: Option<&str>, edition: Option<&str>, discharge: Option<&str>| StressRequest {
                coupling: coupling.map(str::to_owned),
                edition: edition.map(str::to_owned),
                discharge: discharge.map(str::to_owned),
                port: Some(PortUse::Signal),
                ..StressRequest::default()
            };
        let highest =
            |standard, request: &StressRequest| listed_levels(standard, request).last().map(|row| row.1);
        let surge = "IEC 61000-4-5";
        assert_eq!(
            highest(surge, &request(Some("line-earth"), None, None)),
            Some(4e3)
        );
        assert_eq!(
            highest(surge, &request(Some("line-line"), Some("3"), None)),
            Some(2e3)
        );
        assert_eq!(highest(surge, &request(Some("line-line"), None, None)), None);
        let discharge = "IEC 61000-4-2";
        assert_eq!(highest(discharge, &request(None, None, Some("air"))), Some(15e3));
        assert_eq!(highest(discharge, &request(None, None, None)), None);
        assert_eq!(highest("IEC 61000-4-4", &request(None, None, None)), Some(2e3));
        assert_eq!(highest("impulse", &request(None, None, None)), None);
    }
}
