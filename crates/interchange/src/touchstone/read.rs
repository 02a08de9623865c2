//! From the text of a file to a [`Network`].

use super::data::Gatherer;
use super::keywords::{Options, count, keyword, options, positive};
use super::{MOST_PORTS, Network};
use tidewall_units::clip;

use crate::fault::{Line, TextFault, Word, fault, fault_at_end};

/// Numbers in a line of noise data.
const NOISE_COLUMNS: usize = 5;

/// Reads a Touchstone file. `ports` is the number of ports in its name ([`super::ports_of_name`]): version 1 needs
/// it, and version 2 must not contradict it.
///
/// # Errors
/// [`TextFault`], exactly one: the first fault found.
pub fn read(text: &str, ports: Option<usize>) -> Result<Network, TextFault> {
    let text_lines: Vec<Line<'_>> = Line::all(text)
        .map(|line| line.before('!'))
        .filter(|line| !line.is_blank())
        .collect();
    let Some(first) = text_lines.first() else {
        return Err(fault_at_end(
            text,
            "the file is empty",
            "an option line and data",
            "",
        ));
    };
    match keyword(text, *first)? {
        Some((name, _, words)) if name == "version" => version_2(text, ports, &words, &text_lines),
        Some((_, word, _)) => Err(fault(
            text,
            word,
            format!("{} stands before [Version]", clip(word.text)),
            "[Version] 2.0 as the first keyword, or no keywords (version 1)",
            "",
        )),
        None => version_1(text, ports, &text_lines),
    }
}

fn no_options(text: &str, word: Word<'_>) -> TextFault {
    fault(
        text,
        word,
        "data before the option line",
        "a line such as # MHz S RI R 50",
        "units and format are guesses without it",
    )
}

fn version_1(text: &str, ports: Option<usize>, lines: &[Line<'_>]) -> Result<Network, TextFault> {
    let Some(ports) = ports.filter(|ports| (1..=MOST_PORTS).contains(ports)) else {
        return Err(fault(
            text,
            lines[0].whole(),
            "the number of ports is not known",
            format!("a name that ends in .s1p to .s{MOST_PORTS}p, or a file of version 2"),
            "version 1 says it in the ending of the name only",
        ));
    };
    let mut given: Option<Options> = None;
    let mut gatherer: Option<Gatherer> = None;
    let mut noise = Noise::default();
    for line in lines {
        let words = line.words();
        if words[0].text.starts_with('#') {
            // Only the first option line counts (specification, version 1.1).
            if given.is_none() {
                let read = options(text, *line)?;
                gatherer = Some(Gatherer::new(ports, read.unit_hz, read.format, true));
                given = Some(read);
            }
            continue;
        }
        if words[0].text.starts_with('[') {
            return Err(fault(
                text,
                words[0],
                "a keyword in a file of version 1",
                "[Version] 2.0 as the first line, or no keywords",
                "",
            ));
        }
        let Some(gatherer) = &mut gatherer else {
            return Err(no_options(text, words[0]));
        };
        // Noise data begin where the frequency of a two-port falls back (specification, version 1.1).
        let falls_back = ports == 2
            && words.len() == NOISE_COLUMNS
            && !gatherer.is_open()
            && gatherer.points.last().is_some_and(|last| {
                words[0]
                    .text
                    .parse::<f64>()
                    .is_ok_and(|value| value * gatherer.unit_hz <= last.frequency_hz)
            });
        if noise.count > 0 || falls_back {
            noise.line(text, &words)?;
            continue;
        }
        gatherer.line(text, &words)?;
        if gatherer.ports <= 2 && gatherer.is_open() {
            return Err(fault(
                text,
                words[0],
                format!("the line has {} numbers", words.len()),
                format!("a frequency and {} pairs on one line", ports * ports),
                "does the number of ports fit the file?",
            ));
        }
    }
    let (Some(given), Some(gatherer)) = (given, gatherer) else {
        return Err(fault_at_end(
            text,
            "the file has no option line",
            "a line such as # MHz S RI R 50",
            "",
        ));
    };
    finish(
        text,
        1,
        given,
        vec![given.reference_ohm; ports],
        gatherer,
        noise.count,
    )
}

/// Noise data: five numbers a line, rising frequency. They are looked at and passed over.
#[derive(Default)]
struct Noise {
    count: usize,
    last: f64,
}

impl Noise {
    fn line(&mut self, text: &str, words: &[Word<'_>]) -> Result<(), TextFault> {
        for &word in words {
            super::keywords::number(text, word)?;
        }
        let frequency = words[0].text.parse::<f64>().unwrap_or(f64::NAN);
        if words.len() != NOISE_COLUMNS || (self.count > 0 && frequency <= self.last) {
            return Err(fault(
                text,
                words[0],
                "the line is no noise data",
                "five numbers, the frequency first and rising",
                "",
            ));
        }
        self.last = frequency;
        self.count += 1;
        Ok(())
    }
}

fn finish(
    text: &str,
    version: u32,
    options: Options,
    reference_ohm: Vec<f64>,
    gatherer: Gatherer,
    noise_points: usize,
) -> Result<Network, TextFault> {
    if gatherer.is_open() {
        return Err(fault_at_end(
            text,
            "the last point is not whole",
            format!("a frequency and {} pairs", gatherer.ports * gatherer.ports),
            "the file may have been cut off; or the number of ports does not fit",
        ));
    }
    if gatherer.points.is_empty() {
        return Err(fault_at_end(
            text,
            "the file has no data",
            "a frequency and its parameters",
            "",
        ));
    }
    Ok(Network {
        version,
        ports: gatherer.ports,
        parameter: options.parameter,
        reference_ohm,
        points: gatherer.points,
        noise_points,
    })
}

/// What the head of a file of version 2 says.
#[derive(Default)]
struct Head {
    options: Option<Options>,
    ports: Option<usize>,
    swapped: Option<bool>,
    frequencies: Option<usize>,
    noise_frequencies: Option<usize>,
    reference_ohm: Vec<f64>,
}

/// Where a line of numbers belongs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Head,
    Reference,
    Information,
    Network,
    Noise,
    End,
}

fn version_2(
    text: &str,
    name_ports: Option<usize>,
    version: &[Word<'_>],
    lines: &[Line<'_>],
) -> Result<Network, TextFault> {
    if !matches!(version, [word] if matches!(word.text, "2.0" | "2.1")) {
        let word = version.first().copied().unwrap_or(lines[0].whole());
        return Err(fault(
            text,
            word,
            "this version of the format is not known",
            "[Version] 2.0",
            "",
        ));
    }
    let mut head = Head::default();
    let mut part = Part::Head;
    let mut gatherer: Option<Gatherer> = None;
    let mut noise = Noise::default();
    for line in &lines[1..] {
        let words = line.words();
        if part == Part::End {
            return Err(fault(
                text,
                line.whole(),
                "text after [End]",
                "nothing but comments there",
                "",
            ));
        }
        if let Some((name, word, arguments)) = keyword(text, *line)? {
            if part == Part::Information && name != "end information" {
                continue;
            }
            part = head.keyword(text, part, &name, word, &arguments, name_ports)?;
            if name == "network data" {
                gatherer = Some(head.gatherer(text, word, gatherer.is_some())?);
            }
            if name == "noise data" && gatherer.as_ref().is_none_or(|gatherer| gatherer.ports != 2) {
                return Err(fault(
                    text,
                    word,
                    "noise data without a two-port before it",
                    "[Network Data] of two ports",
                    "",
                ));
            }
            continue;
        }
        match part {
            Part::Information => {}
            Part::Head if words[0].text.starts_with('#') && head.options.is_none() => {
                head.options = Some(options(text, *line)?);
            }
            Part::Reference => head.references(text, &words)?,
            Part::Network => {
                if let Some(gatherer) = &mut gatherer {
                    gatherer.line(text, &words)?;
                }
            }
            Part::Noise => noise.line(text, &words)?,
            Part::Head | Part::End => {
                return Err(fault(
                    text,
                    line.whole(),
                    "a line that belongs to nothing",
                    "one option line, keywords, and data below [Network Data]",
                    "",
                ));
            }
        }
    }
    if part != Part::End {
        return Err(fault_at_end(
            text,
            "the file ends without [End]",
            "the keyword [End] on the last line",
            "the file may have been cut off",
        ));
    }
    let (Some(given), Some(gatherer)) = (head.options, gatherer) else {
        return Err(fault_at_end(
            text,
            "the file has no [Network Data]",
            "[Network Data] and data below it",
            "",
        ));
    };
    let ports = gatherer.ports;
    let promised = [
        (head.frequencies, gatherer.points.len()),
        (head.noise_frequencies, noise.count),
    ];
    for (said, found) in promised {
        if said.is_some_and(|said| said != found) {
            return Err(fault_at_end(
                text,
                format!(
                    "the file promises {} frequencies and has {found}",
                    said.unwrap_or_default()
                ),
                "as many points as the head says",
                "the file may have been cut off",
            ));
        }
    }
    let reference = if head.reference_ohm.is_empty() {
        vec![given.reference_ohm; ports]
    } else {
        head.reference_ohm
    };
    finish(text, 2, given, reference, gatherer, noise.count)
}

impl Head {
    /// Takes a keyword; gives the part that begins with it.
    fn keyword(
        &mut self,
        text: &str,
        part: Part,
        name: &str,
        word: Word<'_>,
        words: &[Word<'_>],
        name_ports: Option<usize>,
    ) -> Result<Part, TextFault> {
        let refuse = |message: String, expected: &str, hint: &str| {
            let place = words.first().copied().unwrap_or(word);
            Err(fault(text, place, message, expected, hint))
        };
        let single = |words: &[Word<'_>]| match words {
            [word] => word.text.to_ascii_lowercase(),
            _ => String::new(),
        };
        match name {
            "number of ports" => {
                let ports = count(text, word, words, 1..=MOST_PORTS)?;
                if name_ports.is_some_and(|named| named != ports) {
                    return refuse(
                        format!("the file has {ports} ports, its name says otherwise"),
                        "the number of ports of the name",
                        "rename the file",
                    );
                }
                self.ports = Some(ports);
            }
            "two-port data order" | "two-port order" => {
                self.swapped = Some(match single(words).as_str() {
                    "21_12" => true,
                    "12_21" => false,
                    _ => return refuse(format!("{} is not clear", word.text), "21_12 or 12_21", ""),
                });
            }
            "number of frequencies" => self.frequencies = Some(count(text, word, words, 1..=usize::MAX)?),
            "number of noise frequencies" => {
                self.noise_frequencies = Some(count(text, word, words, 1..=usize::MAX)?);
            }
            "reference" => {
                if self.ports.is_none() {
                    return refuse(
                        "[Reference] before [Number of Ports]".to_owned(),
                        "[Number of Ports] first",
                        "",
                    );
                }
                self.references(text, words)?;
                return Ok(Part::Reference);
            }
            "matrix format" => {
                if single(words) != "full" {
                    return refuse(
                        "only whole matrices are read".to_owned(),
                        "[Matrix Format] Full",
                        "export the file with whole matrices",
                    );
                }
            }
            "mixed-mode order" => {
                return refuse(
                    "mixed-mode parameters are not read".to_owned(),
                    "single-ended parameters",
                    "export the file without mixed mode",
                );
            }
            "begin information" => return Ok(Part::Information),
            "end information" if part == Part::Information => {}
            "network data" => return Ok(Part::Network),
            "noise data" => return Ok(Part::Noise),
            "end" => return Ok(Part::End),
            _ => {
                return Err(fault(
                    text,
                    word,
                    format!("{} is no keyword of the format here", clip(word.text)),
                    "a keyword of Touchstone 2.0",
                    "",
                ));
            }
        }
        Ok(Part::Head)
    }

    fn references(&mut self, text: &str, words: &[Word<'_>]) -> Result<(), TextFault> {
        for &word in words {
            let value = positive(text, word, "a resistance above zero in ohms")?;
            if self.ports.is_some_and(|ports| self.reference_ohm.len() >= ports) {
                return Err(fault(
                    text,
                    word,
                    "more references than ports",
                    "one for each port",
                    "",
                ));
            }
            self.reference_ohm.push(value);
        }
        Ok(())
    }

    /// Checks that the head is whole, and begins the data.
    fn gatherer(&self, text: &str, word: Word<'_>, again: bool) -> Result<Gatherer, TextFault> {
        let missing = |what: &str| {
            Err(fault(
                text,
                word,
                format!("[Network Data] without {what}"),
                format!("{what} before it"),
                "",
            ))
        };
        if again {
            return Err(fault(
                text,
                word,
                "[Network Data] stands twice",
                "one block of data",
                "",
            ));
        }
        let Some(options) = self.options else {
            return missing("the option line");
        };
        let Some(ports) = self.ports else {
            return missing("[Number of Ports]");
        };
        if self.frequencies.is_none() {
            return missing("[Number of Frequencies]");
        }
        if ports == 2 && self.swapped.is_none() {
            return missing("[Two-Port Data Order]");
        }
        if !self.reference_ohm.is_empty() && self.reference_ohm.len() != ports {
            return missing("a [Reference] for each port");
        }
        let swapped = self.swapped.unwrap_or(false);
        Ok(Gatherer::new(ports, options.unit_hz, options.format, swapped))
    }
}
