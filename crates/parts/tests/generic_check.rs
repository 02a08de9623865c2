//! A generic part in a ladder leaves no check unknown for want of its data.

use tidewall_assess::assess;
use tidewall_assess::result::Verdict;
use tidewall_parts::generic::all;
use tidewall_study::{NoFiles, read_text};
use tidewall_transient::Options;

/// A port with one shunt `D1`, which stands for the generic part.
const STUDY: &str = r#"
title = "A line for a generic part"
[port]
kind = "dc"
ambient = "-40 °C to 85 °C"
polarity = "bi"
working = "0 V to 5 V"
must_not_conduct = "±5 V"
abnormal = []
source_current = "10 mA"
source_resistance = "500 Ω"
capacitance_limit = "100 nF"
leakage_limit = "1 A"

[[stress]]
id = "surge"
standard = "impulse"
front = "1.2 µs"
tail = "50 µs"
level = "1.5 kV"
source_resistance = "50 Ω"
pulses = 5
interval = "60 s"

[[ladder]]
name = "D1"
shunt = "stand-in"
lead = "1 nH"

[[ladder]]
series = { resistance = "10 Ω" }

[pin]
withstand = "2 kV"
negative_withstand = "-2 kV"
capacitance = "10 pF"

[[part]]
name = "stand-in"
family = "avalanche"
kind = "invented"
source = "replaced by the generic part"
"#;

#[test]
fn no_check_is_unknown_for_want_of_a_generic_datum() {
    let mut study = read_text("study.toml", STUDY, &NoFiles).unwrap_or_else(|error| panic!("{error}"));
    for name in [
        "generic-avalanche-600w-12v-bi",
        "generic-flat-clamp-1500w-12v-bi",
        "generic-varistor-14mm-47v",
        "generic-gas-tube-5ka-90v",
        "generic-thyristor-50a-25v",
    ] {
        let record = all().into_iter().find(|record| record.name == name);
        let sheet = record.unwrap_or_else(|| panic!("no part {name}")).datasheet();
        study.parts.insert("stand-in".to_owned(), sheet);
        let assessment = assess(&study, &Options::default(), &|_, _| ());
        assert!(assessment.checks.len() > 8, "{name}");
        for check in &assessment.checks {
            assert!(
                check.verdict != Verdict::Unknown || check.element != "D1",
                "{name}: {} is unknown: {:?} ({})",
                check.check,
                check.missing,
                check.why
            );
            assert!(
                check.check != "simulation" || check.verdict == Verdict::Pass,
                "{name}: {}",
                check.why
            );
        }
    }
}
