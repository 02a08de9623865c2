//! `[[ladder]]` entries: from the connector inwards.

use std::collections::BTreeMap;

use tidewall_units::{Amps, Farads, Henries, Ohms};

use crate::error::StudyError;
use crate::model::{Between, CapacitorStage, InLine, SeriesElement, SeriesStage, ShuntStage, Stage};
use crate::parts::{PartEntry, is_series};
use tidewall_units::clip;

use crate::source::nearest;
use crate::table::{Item, Section};

pub(super) const KEYS: &[&str] = &["name", "series", "shunt", "line", "lead", "between", "reversed"];

const LINES: &[(&str, InLine)] = &[
    ("both", InLine::Both),
    ("first", InLine::First),
    ("second", InLine::Second),
];

const BETWEEN: &[(&str, Between)] = &[
    ("line-return", Between::LineReturn),
    ("line-line", Between::LineLine),
    ("each-line-earth", Between::EachLineEarth),
    ("first-earth", Between::FirstEarth),
    ("second-earth", Between::SecondEarth),
];

/// The parts a ladder may refer to, and the files they were looked for in.
pub(super) struct Library<'l> {
    pub(super) parts: &'l BTreeMap<String, PartEntry>,
    pub(super) files: &'l [String],
    /// What the parts library is called, if there is one.
    pub(super) library: Option<String>,
}

impl<'l> Library<'l> {
    fn find(&self, item: &Item<'_>) -> Result<&'l PartEntry, StudyError> {
        let name = item.name()?;
        if let Some(entry) = self.parts.get(name) {
            return Ok(entry);
        }
        let files = match self.files {
            [] => "the study names no parts file, and there is no parts.toml beside it".to_owned(),
            files => format!("looked in {}", files.join(", ")),
        };
        let place = match &self.library {
            None => files,
            Some(library) => format!("{files}; looked in {library}"),
        };
        let hint = nearest(name, self.parts.keys().map(String::as_str));
        Err(item.error(
            format!("there is no part `{}`", clip(name)),
            format!("the name of a part ({place})"),
            if hint.is_empty() {
                "describe the part in a [[part]] table; `parts = [\"FILE\"]` names the file".to_owned()
            } else {
                hint
            },
        ))
    }
}

pub(super) fn read(
    entries: &[Item<'_>],
    lines: usize,
    library: &Library<'_>,
) -> Result<Vec<Stage>, StudyError> {
    let mut stages: Vec<Stage> = Vec::with_capacity(entries.len());
    let mut counts = (0, 0, 0);
    for item in entries {
        let section = item.table(KEYS)?;
        let stage = match (section.get("series"), section.get("shunt")) {
            (Some(_), Some(shunt)) => {
                return Err(shunt.error(
                    "a stage is either in the line or across it",
                    "`series` or `shunt`",
                    "write two [[ladder]] entries, the one nearer the connector first",
                ));
            }
            (None, None) => {
                return Err(section.error(
                    "the stage has neither `series` nor `shunt`",
                    "`series = …` or `shunt = \"PART\"`",
                    "",
                ));
            }
            (Some(element), None) => {
                counts.0 += 1;
                Stage::Series(series(
                    &section,
                    &element,
                    lines,
                    format!("S{}", counts.0),
                    library,
                )?)
            }
            (None, Some(table)) if table.is_table() => {
                counts.2 += 1;
                Stage::Capacitor(capacitor(&section, &table, lines, format!("C{}", counts.2))?)
            }
            (None, Some(part)) => {
                counts.1 += 1;
                Stage::Shunt(shunt(&section, &part, lines, format!("D{}", counts.1), library)?)
            }
        };
        if let Some(other) = stages.iter().find(|other| other.name() == stage.name()) {
            let line = other.line();
            let place = section.get("name").unwrap_or_else(|| item.clone());
            return Err(place.error(
                format!(
                    "the name `{}` is taken by the stage in line {line}",
                    clip(stage.name())
                ),
                "a name of its own for each stage",
                "",
            ));
        }
        stages.push(stage);
    }
    Ok(stages)
}

fn unused(section: &Section<'_>, keys: &[&'static str], where_: &str) -> Result<(), StudyError> {
    match keys.iter().find_map(|key| section.get(key)) {
        None => Ok(()),
        Some(item) => Err(item.error(
            format!("`{}` means nothing on a {where_} stage", item.key),
            "a key of such a stage",
            "remove it",
        )),
    }
}

/// Endings and names that the result gives to what a stage becomes; a stage of its own must not look like one.
const RESERVED_ENDINGS: &[&str] = &[
    "(line 1)",
    "(line 2)",
    "(to rail)",
    "(from return)",
    "(rail clamp)",
    "(core loss)",
    "(laminate loss)",
];
const RESERVED_NAMES: &[&str] = &[
    "pin",
    "pin 1",
    "pin 2",
    "pin capacitor",
    "pin 1 capacitor",
    "pin 2 capacitor",
    "port",
    "pin pair",
    "port pair",
];

fn name(section: &Section<'_>, fallback: String) -> Result<String, StudyError> {
    let given = section.optional("name", |item| {
        let name = item.name()?;
        if RESERVED_NAMES.contains(&name) || RESERVED_ENDINGS.iter().any(|ending| name.ends_with(ending)) {
            return Err(item.error(
                format!("the name `{}` belongs to the result", clip(name)),
                "another name, such as \"D1\"",
                "the result names the pin, and what stands on each line or behind steering diodes, itself",
            ));
        }
        Ok(name.to_owned())
    })?;
    Ok(given.unwrap_or(fallback))
}

fn series(
    section: &Section<'_>,
    element: &Item<'_>,
    lines: usize,
    fallback: String,
    library: &Library<'_>,
) -> Result<SeriesStage, StudyError> {
    unused(section, &["lead", "between", "reversed"], "series")?;
    let in_line = section.optional("line", |item| {
        let line = item.choice(LINES)?;
        if lines == 1 && line != InLine::Both {
            return Err(item.error(
                "a port of one line has no first or second",
                "no `line` here",
                "or set lines = 2",
            ));
        }
        Ok(line)
    })?;
    let element = if element.is_table() {
        passive(element)?
    } else {
        part(element, library)?
    };
    Ok(SeriesStage {
        name: name(section, fallback)?,
        element,
        in_line: in_line.unwrap_or(InLine::Both),
        line: section.line(),
    })
}

fn passive(item: &Item<'_>) -> Result<SeriesElement, StudyError> {
    let section = item.table(&["resistance", "inductance", "saturation"])?;
    let resistance_ohm = section
        .optional("resistance", Item::not_negative::<Ohms>)?
        .unwrap_or(0.0);
    let inductance_h = section
        .optional("inductance", Item::not_negative::<Henries>)?
        .unwrap_or(0.0);
    let saturation_a = section.optional("saturation", Item::positive::<Amps>)?;
    if resistance_ohm <= 0.0 && inductance_h <= 0.0 {
        return Err(section.error(
            "a series element of 0 Ω and 0 H closes a loop without impedance",
            "a resistance or an inductance above zero",
            "even a bare track has about 0.7 nH to 1 nH for each mm",
        ));
    }
    if let Some(item) = section.get("saturation")
        && inductance_h <= 0.0
    {
        return Err(item.error("`saturation` without an inductance", "`inductance` beside it", ""));
    }
    Ok(SeriesElement::Passive {
        resistance_ohm,
        inductance_h,
        saturation_a,
    })
}

fn part(item: &Item<'_>, library: &Library<'_>) -> Result<SeriesElement, StudyError> {
    let entry = library.find(item)?;
    if !is_series(entry.datasheet.family) {
        return Err(item.error(
            format!("`{}` is a part that goes across the line", entry.datasheet.name),
            "a resistor, inductor, bead, fuse, PTC or current limiter",
            "write shunt = instead of series =",
        ));
    }
    Ok(SeriesElement::Part(entry.datasheet.name.to_string()))
}

fn shunt(
    section: &Section<'_>,
    item: &Item<'_>,
    lines: usize,
    fallback: String,
    library: &Library<'_>,
) -> Result<ShuntStage, StudyError> {
    unused(section, &["line"], "shunt")?;
    let entry = library.find(item)?;
    let sheet = &entry.datasheet;
    if is_series(sheet.family) {
        return Err(item.error(
            format!("`{}` is a part that goes in the line", sheet.name),
            "a protector that goes across the line",
            "write series = instead of shunt =",
        ));
    }
    let lead = section.optional("lead", Item::positive::<Henries>)?;
    if lead.is_none() && sheet.package_h.is_none() {
        return Err(section.error(
            format!("the inductance of the path through `{}` is not known", sheet.name),
            "`lead`, such as \"2 nH\"",
            "about 0.7 nH to 1 nH for each mm of track and via from line to return; or give the part's package_inductance",
        ));
    }
    let between = between(section, lines)?;
    let reversed = section.optional("reversed", Item::flag)?.unwrap_or(false);
    Ok(ShuntStage {
        name: name(section, fallback)?,
        part: sheet.name.to_string(),
        lead_h: lead.unwrap_or(0.0) + sheet.package_h.unwrap_or(0.0),
        between,
        reversed,
        line: section.line(),
    })
}

fn capacitor(
    section: &Section<'_>,
    item: &Item<'_>,
    lines: usize,
    fallback: String,
) -> Result<CapacitorStage, StudyError> {
    unused(section, &["line", "reversed"], "capacitor")?;
    let table = item.table(&["capacitance", "esr"])?;
    let capacitance = table.require("capacitance", "such as \"10 µF\"")?;
    let lead = section.get("lead").ok_or_else(|| {
        section.error(
            "the inductance of the path through the capacitor is not known",
            "`lead`, such as \"2 nH\"",
            "about 0.7 nH to 1 nH for each mm of track and via from line to return",
        )
    })?;
    Ok(CapacitorStage {
        name: name(section, fallback)?,
        capacitance_f: capacitance.positive::<Farads>()?,
        esr_ohm: table.optional("esr", Item::not_negative::<Ohms>)?.unwrap_or(0.0),
        lead_h: lead.positive::<Henries>()?,
        between: between(section, lines)?,
        line: section.line(),
    })
}

fn between(section: &Section<'_>, lines: usize) -> Result<Between, StudyError> {
    let Some(item) = section.get("between") else {
        if lines == 1 {
            return Ok(Between::LineReturn);
        }
        return Err(section.error(
            "on a pair the stage must say what it stands between",
            "`between`: \"line-line\", \"each-line-earth\", \"first-earth\" or \"second-earth\"",
            "each-line-earth places one part from each line to earth",
        ));
    };
    let between = item.choice(BETWEEN)?;
    match (lines, between) {
        (1, Between::LineReturn) => Ok(between),
        (1, _) => Err(item.error(
            "a port of one line has no such place",
            "\"line-return\"",
            "or set lines = 2",
        )),
        (_, Between::LineReturn) => Err(item.error(
            "on a pair \"line-return\" is ambiguous",
            "\"line-line\", \"each-line-earth\", \"first-earth\" or \"second-earth\"",
            "",
        )),
        _ => Ok(between),
    }
}
