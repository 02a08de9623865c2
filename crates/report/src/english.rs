//! Every word of a note that does not come out of the assessment, in English. Another language is another module with the
//! same names, and a choice between the two in [`crate::content`]; reasons of checks, titles of stresses and origins are
//! the assessment's own and come as they are.

use crate::document::Labels;

pub const LANG: &str = "en-GB";
pub const KIND: &str = "Port protection: recommendation";
pub const COMPARISON_KIND: &str = "Port protection: parts compared";

pub const LABELS: Labels = Labels {
    table: "Table",
    figure: "Figure",
    page: "page",
    of: "of",
    contents: "Contents",
    date: "Date",
};

// Sections.
pub const SUMMARY: &str = "Verdict and recommendation";
pub const REQUIREMENT: &str = "Port and requirement";
pub const PROTECTION: &str = "Protection";
pub const WINDOW: &str = "Design window";
pub const LET_THROUGH: &str = "Let-through";
pub const MARGINS: &str = "Margins";
pub const ALTERNATIVES: &str = "Alternatives";
pub const ENERGY: &str = "Energy and junction temperatures";
pub const DRAWS: &str = "Tolerances, drawn at random";
pub const LAYOUT: &str = "Layout";
pub const UNKNOWNS: &str = "Assumptions and what is not known";
pub const LAB: &str = "Laboratory test";
pub const SAFETY: &str = "Safety";
pub const PROVENANCE: &str = "Provenance";

// Facts.
pub const PORT: &str = "Port";
pub const PROTECTED: &str = "Protected circuit";
pub const PLACE: &str = "Place";
pub const STUDY: &str = "Study";

/// What the verdict says in a word.
pub mod verdict {
    pub const PASS: &str = "PASS";
    pub const MARGINAL: &str = "MARGINAL";
    pub const UNKNOWN: &str = "UNKNOWN";
    pub const FAIL: &str = "FAIL";

    pub const PASS_SAYS: &str = "The port is protected: every check holds at every corner, with its margin.";
    pub const MARGINAL_SAYS: &str = "The port is protected, with less margin than was asked for.";
    pub const UNKNOWN_SAYS: &str = "No judgement yet: data are missing.";
    pub const FAIL_SAYS: &str = "The port is not protected as it stands.";
}

pub const WORST_MARGIN: &str = "Closest to its limit";
pub const DECIDES: &str = "Decides";
pub const AT: &str = "At";
pub const CHECKED: &str = "Checked";

pub const RECOMMENDED: &str = "Recommendation";
pub const BUILD_AS_STUDIED: &str =
    "Build the port as described here. The paths of the protectors are part of the result: ";
pub const CHANGE: &str = "To change: ";
pub const MORE_MARGIN: &str = "To gain margin: ";
pub const ASK_FOR: &str = "To ask for: ";
/// Before the parts that hold where the chosen one does not.
pub fn would_hold(stage: &str, chosen: &str) -> String {
    format!("Take another part in {stage} in place of {chosen}. ")
}
pub const HOLD: &str = "By the same checks these hold, with the smallest margin under stress: ";

/// "checked at 192 corners of 4 stresses".
pub fn checked(checks: &str, corners: usize, stresses: usize) -> String {
    let stresses = match stresses {
        1 => "one stress".to_owned(),
        stresses => format!("{stresses} stresses"),
    };
    format!("{checks}; {corners} transients of {stresses}")
}

/// "D1 at most 2 nH".
pub fn lead(stage: &str, lead: &str) -> String {
    format!("{stage} no more than {lead}")
}

/// Checks that are not told one by one.
pub fn more(count: usize) -> String {
    match count {
        1 => "One more check is no better; it stands in the section on margins.".to_owned(),
        count => format!("{count} more checks are no better; they stand in the section on margins."),
    }
}

// Requirement.
pub const REQUIREMENT_TABLE: &str = "What the port carries, and where each value comes from";
pub const STRESS_TABLE: &str = "The stresses";
pub const PIN_TABLE: &str = "What the protected circuit withstands";
pub const PIN_UNKNOWN: &str = "The study says of no voltage that the protected circuit withstands it.";
pub const ANY_TIME: &str = "any time";
pub const BETWEEN_LINES: &str = "between the lines";
pub const TO_RETURN: &str = "to the return";
pub const TO_EARTH: &str = "each line to earth";

pub mod head {
    pub const WHAT: &str = "What";
    pub const VALUE: &str = "Value";
    pub const LIMIT: &str = "Limit";
    pub const ORIGIN: &str = "Origin";
    pub const STRESS: &str = "Stress";
    pub const TEST: &str = "Test";
    pub const OPEN: &str = "Open circuit";
    pub const SHORT: &str = "Short circuit";
    pub const SOURCE: &str = "Impedance";
    pub const POLARITY: &str = "Polarity";
    pub const COUNT: &str = "Each polarity";
    pub const VOLTAGE: &str = "Voltage";
    pub const LASTS: &str = "For";
    pub const WHERE: &str = "Where";
    pub const STAGE: &str = "Stage";
    pub const IS: &str = "Is";
    pub const PLACE: &str = "Place";
    pub const PATH: &str = "Own path";
    pub const DATA_FROM: &str = "Data from";
    pub const CHECK: &str = "Check";
    pub const ELEMENT: &str = "Element";
    pub const MARGIN: &str = "Margin";
    pub const VERDICT: &str = "Verdict";
    pub const CORNER: &str = "Corner";
    pub const CONNECTOR: &str = "Connector";
    pub const PIN: &str = "Pin";
    pub const INTO_PIN: &str = "Into pin";
    pub const INTO_PORT: &str = "Energy in";
    pub const PART: &str = "Part";
    pub const FAMILY: &str = "Family";
    pub const REASON: &str = "Why";
    pub const CURRENT: &str = "Current";
    pub const CLAMPS: &str = "Clamps at";
    pub const AMBIENT: &str = "Ambient";
    pub const ENERGY: &str = "Energy";
    pub const SHARE: &str = "Share";
    pub const JUNCTION: &str = "Junction";
    pub const FAILS: &str = "Fails";
    pub const PROBABILITY: &str = "Probability (95 %)";
    pub const WORST: &str = "Worst";
    pub const P05: &str = "5 %";
    pub const P50: &str = "50 %";
    pub const P95: &str = "95 %";
    pub const TOLERANCE: &str = "Tolerance";
    pub const OF: &str = "Of";
    pub const LOW_END: &str = "At low end";
    pub const HIGH_END: &str = "At high end";
    pub const SWING: &str = "Swing";
    pub const RANK: &str = "Rank correlation";
    pub const NOW: &str = "Peak now";
    pub const WITH_MORE: &str = "With 1 nH more";
    pub const COSTS: &str = "Costs";
    pub const NUMBER: &str = "No.";
    pub const LEVEL: &str = "Level";
    pub const POINT: &str = "Point";
    pub const STATE: &str = "Line";
    pub const SHOTS: &str = "Shots";
    pub const PEAK: &str = "Peak";
    pub const FROM: &str = "From";
    pub const TO: &str = "To";
    pub const QUANTITY: &str = "Quantity";
    pub const AT_LEAST: &str = "At least";
    pub const AT_MOST: &str = "At most";
    pub const LIMITS_FROM: &str = "Limits from";
    pub const SOURCE_OF_RULE: &str = "Source";
}

pub const POSITIVE: &str = "positive";
pub const NEGATIVE: &str = "negative";
pub const BOTH: &str = "both";
pub const UNPOWERED: &str = "unpowered";
pub const NOT_KNOWN: &str = "not known";

// Protection.
pub const STAGES_TABLE: &str = "The ladder, from the connector inwards";
pub const SERIES: &str = "in the line";
pub const SERIES_BOTH: &str = "in each line";
pub const SERIES_FIRST: &str = "in the first line";
pub const SERIES_SECOND: &str = "in the second line";
pub const LINE_RETURN: &str = "line to return";
pub const LINE_LINE: &str = "between the lines";
pub const EACH_LINE_EARTH: &str = "each line to earth";
pub const FIRST_EARTH: &str = "first line to earth";
pub const SECOND_EARTH: &str = "second line to earth";
pub const REVERSED: &str = ", turned round";
pub const CAPACITOR: &str = "capacitor";
pub const TRACK: &str = "track or cable";
pub const STUDY_FILE: &str = "study";

// Window.
pub const WINDOW_TEXT: &str = "Left wall: the highest voltage at which the protector must not conduct. Right wall: what the \
     protected circuit withstands for any time. The clamp curve, as a band over tolerance and temperature, must climb \
     between the two up to the current of each stress.";

// Let-through.
pub const LET_THROUGH_TABLE: &str = "Each stress at its worst let-through";
pub const LET_THROUGH_TEXT: &str = "Of each stress the corner of the worst let-through: that with the smallest margin, or, \
     where the pin has no limit, that with the highest voltage.";
pub const NO_TRANSIENT: &str = "No transient could be computed; the missing data are named above.";

// Margins.
pub const MARGINS_TABLE: &str = "Every check at its worst corner, worst first";
pub const MARGINS_TEXT: &str = "A margin is the distance to the limit as a share of the limit. Pass: inside by at least the \
     margin asked for; marginal: inside by less; unknown: a datum is missing.";
pub const ASKED_FOR: &str = "Margin asked for:";
pub const LIMIT_FROM: &str = "Limit from";
pub const CORNERS: &str = "Corners";
pub const REASONS: &str = "Reasons of all that does not simply pass";

// Alternatives.
pub const NO_ALTERNATIVES: &str = "No other part was considered: the study's parts files hold none that could stand in a \
     shunt stage, and none was named.";

/// Heading of the alternatives of a stage.
pub fn in_stage(stage: &str, chosen: &str) -> String {
    format!("{stage}, in place of {chosen}")
}

/// Caption of the list of those that lost.
pub fn others_table(stage: &str) -> String {
    format!("Other parts in {stage}, best first, by all checks of this study")
}

/// Caption of the parts side by side.
pub fn beside_table(stage: &str) -> String {
    format!("Parts side by side in {stage}")
}

/// What was tried.
pub fn tried(all: usize, hold: usize, unknown: usize, fail: usize) -> String {
    format!(
        "{all} other parts were judged by the same checks: {hold} hold, {unknown} lack a datum, {fail} fail."
    )
}

/// How many are not listed.
pub fn not_listed(count: usize) -> String {
    format!("{count} more fail; `tidewall rank` lists them all.")
}

// Energy.
/// Caption of the energies of a stress.
pub fn energy_table(stress: &str) -> String {
    format!("{stress}: who absorbs what, in the corner of its worst let-through")
}
pub const HOTTEST_TABLE: &str = "The hottest junction of each protector over all corners";

// Draws.
pub const DRAWN_TABLE: &str = "Checks that fail or come closest in the draws; margins in percent";
pub const WORST_SPECIMEN: &str = "Worst specimen";
/// What was drawn.
pub fn drawn(done: u64, asked: u64, seed: u64, distribution: &str) -> String {
    let of = if done == asked {
        String::new()
    } else {
        format!(" of {asked} asked for (incomplete)")
    };
    format!("{done} specimens{of} were drawn within all tolerances, {distribution}, seed {seed}. ")
}
/// Caption of what the tolerances do to a check.
pub fn sensitivity_table(place: &str, margin: &str, draw: u64) -> String {
    format!(
        "{place}: margin with one tolerance at its ends, the others where draw {draw} (margin {margin} %) has them"
    )
}

// Layout.
pub const LAYOUT_TEXT: &str = "What one nanohenry more in the path of a shunt costs at the pin. Computed, not estimated: \
     each stress was run again in the corner of its worst let-through with that path longer by 1 nH and all else the \
     same. One nanohenry is roughly a millimetre of track (common practice, no source).";
pub const LAYOUT_TABLE: &str = "Cost of a longer path at the pin";
pub const NO_LEADS: &str = "No transient could be computed, so nothing can be said of the paths.";
/// Advice from the dearest path.
pub fn dearest(stage: &str, stress: &str, costs: &str, lead: &str) -> String {
    format!(
        "The path of {stage} counts most: in {stress} each nanohenry adds {costs} at the pin. Keep it at or below the {lead} \
         of this study, put its pads straight on the way of the current, and its way back to the plane beside them."
    )
}
pub const NO_PATH_COUNTS: &str = "No path counts here: a nanohenry more changes the pin by less than a hundredth of its peak in every stress.";
pub const MEASURE_PATHS: &str = "The inductances are those of the study. Lay out to them, or put the real ones in and run \
     the note again.";

// Unknowns.
pub const ASSUMED: &str = "Assumed";
pub const TO_PROVIDE: &str = "Not known, with the datum to ask for";
pub const TO_AGREE: &str = "To be agreed with the laboratory";
pub const NOTHING_MISSING: &str = "No datum that a check asks for is missing.";
pub const NOT_MODELLED: &str = "The protection is looked at by itself: not in the model are coupling past the ladder, the \
     enclosure, and upset of the circuit's function.";
/// "pin withstand (for let-through, esd, pin)".
pub fn wanted_for(places: &str) -> String {
    format!(" (for {places})")
}

// Lab.
pub const LAB_TEXT: &str = "Predicted with typical parts at the laboratory's temperature and the generator's nominal level; \
     from and to are the span of parts low to high. The full plan, shot by shot, with verification of the equipment and \
     settings of the oscilloscope: `tidewall plan`.";
pub const LAB_TABLE: &str = "Shots at the required level, and the peak to expect at the pin";
pub const HEALTH_TABLE: &str = "Protectors: measure before the first shot, after each group and at the end";
pub const LEVELS: &str = "Levels";
pub const STATES: &str = "State";
pub const COUNT: &str = "Shots";
pub const ACCEPTED: &str = "Accepted";
pub const PROBE: &str = "Probe";
pub const STOP: &str = "Stop when";
/// Rating of a probe at the connector.
pub fn probe(volts: &str) -> String {
    format!("at the connector for at least {volts}: a protector may fail open")
}
/// All shots.
pub fn all_shots(shots: &str, lasts: &str) -> String {
    format!(
        "All levels together: {shots} shots, {lasts} at the stated intervals, without setting up and measuring."
    )
}

// Provenance.
pub const EXPLAIN: &str = "Formulas: `tidewall explain CHECK`.";
pub const PROVENANCE_TABLE: &str = "Sources of the stresses";
pub const SOURCES_TABLE: &str = "Sources of the rules that were applied";
pub const PROGRAM: &str = "Program";
pub const DIGEST: &str = "Digest of the study and its files (SHA-256)";
pub const COMPUTED: &str = "Computed";
pub const REPRODUCE: &str = "The same note from the same files:";
pub const SAME_BYTES: &str = "The same files, arguments and version of the program give the same bytes.";

// Template.
pub const LOGO: &str = "Logo";
pub const CLOSING: &str = "Terms";

// Parts compared.
pub const VERDICTS: &str = "Verdicts and what decides them";
pub const DATA: &str = "Data";
pub const UNDER_STRESS: &str = "At the currents that really flow";
pub const UNDER_STRESS_TABLE: &str = "The largest over tolerances, polarities and supply";
pub const CALCULATED: &str = "A calculated pass is not a certified pass: the laboratory test decides.";
