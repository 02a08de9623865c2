//! What is wrong with samples though they can be read: flat tops, and a time base with holes.

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flaw {
    /// A time stands twice.
    DuplicateTime,
    /// A step more than three times as long as the others.
    Gap,
    /// Steps that differ by more than 1 %.
    IrregularTime,
    /// A flat top or bottom: the instrument was probably at the end of its range.
    Clipped,
}

/// A flaw, told once however often it occurs.
#[derive(Clone, Debug, PartialEq)]
pub struct CaptureFault {
    /// What.
    pub flaw: Flaw,
    /// Line where it occurs first.
    pub line: usize,
    /// How often.
    pub count: u64,
    /// What was found, in words.
    pub reason: String,
}

/// Steps that are looked at before the usual one is known.
const FIRST: usize = 1024;

/// Follows the times.
pub(super) struct TimeWatch {
    first: Vec<(usize, f64)>,
    step_s: Option<f64>,
    /// The steps vary by nature, as those of an integrator do.
    pub(super) varies: bool,
    last_s: f64,
    found: [Option<(usize, u64, f64)>; 3],
    shortest_s: f64,
    longest_s: f64,
}

impl TimeWatch {
    pub(super) fn new() -> TimeWatch {
        TimeWatch {
            first: Vec::new(),
            step_s: None,
            varies: false,
            last_s: f64::NEG_INFINITY,
            found: [None; 3],
            shortest_s: f64::INFINITY,
            longest_s: 0.0,
        }
    }

    /// Takes the next time; the one before if time runs backwards.
    pub(super) fn push(&mut self, line: usize, time_s: f64) -> Result<(), f64> {
        let step = time_s - self.last_s;
        if step < 0.0 {
            return Err(self.last_s);
        }
        self.last_s = time_s;
        if self.step_s.is_some() {
            self.judge(line, step);
        } else {
            self.first.push((line, time_s));
            if self.first.len() > FIRST {
                self.settle();
            }
        }
        Ok(())
    }

    fn settle(&mut self) {
        let steps: Vec<(usize, f64)> = self
            .first
            .windows(2)
            .map(|pair| (pair[1].0, pair[1].1 - pair[0].1))
            .collect();
        self.first = Vec::new();
        let median = |mut values: Vec<f64>| {
            values.sort_by(f64::total_cmp);
            values.get(values.len() / 2).copied()
        };
        let Some(step) = median(steps.iter().map(|s| s.1).filter(|s| *s > 0.0).collect()) else {
            return;
        };
        self.step_s = Some(step);
        let off = median(steps.iter().map(|s| (s.1 - step).abs()).collect());
        self.varies = off.is_some_and(|off| off > 0.1 * step);
        for (line, step) in steps {
            self.judge(line, step);
        }
    }

    fn judge(&mut self, line: usize, step: f64) {
        let usual = self.step_s.unwrap_or(step);
        self.shortest_s = self.shortest_s.min(step);
        self.longest_s = self.longest_s.max(step);
        let which = if step == 0.0 {
            0
        } else if step > 3.0 * usual && !self.varies {
            1
        } else if (step - usual).abs() > 0.01 * usual {
            2
        } else {
            return;
        };
        let found = self.found[which].get_or_insert((line, 0, step));
        found.1 += 1;
        found.2 = found.2.max(step);
    }

    /// Usual step in seconds, and the flaws.
    pub(super) fn finish(mut self) -> (Option<f64>, Vec<CaptureFault>) {
        if self.step_s.is_none() {
            self.settle();
        }
        let usual = self.step_s.unwrap_or(0.0);
        let mut faults = Vec::new();
        let mut add = |which: usize, flaw, reason: String| {
            if let Some((line, count, _)) = self.found[which] {
                faults.push(CaptureFault {
                    flaw,
                    line,
                    count,
                    reason,
                });
            }
        };
        let longest_gap = self.found[1].map_or(0.0, |found| found.2);
        add(
            0,
            Flaw::DuplicateTime,
            "a time stands twice; both samples are kept, as a step. If the column has too few digits, give the \
             increment"
                .to_owned(),
        );
        add(
            1,
            Flaw::Gap,
            format!("a step of {longest_gap:.3e} s among steps of {usual:.3e} s: samples are missing there"),
        );
        add(
            2,
            Flaw::IrregularTime,
            format!(
                "steps lie between {:.3e} s and {:.3e} s; the usual one is {usual:.3e} s",
                self.shortest_s, self.longest_s
            ),
        );
        (self.step_s, faults)
    }
}

/// A clipped wave stays at its end much longer than one step of the converter below it; the crest of a smooth wave stays
/// there about `1 / (√2 − 1) = 2.4` times as long (parabola).
const LONGER: u64 = 8;

/// Follows one extreme of a channel; for the lowest value the samples come with their sign turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Top {
    value: f64,
    count: u64,
    run: u64,
    longest: u64,
    line: usize,
    next: f64,
    next_count: u64,
    last: f64,
}

impl Top {
    pub(super) fn new() -> Top {
        Top {
            value: f64::NEG_INFINITY,
            count: 0,
            run: 0,
            longest: 0,
            line: 0,
            next: f64::NEG_INFINITY,
            next_count: 0,
            last: f64::NAN,
        }
    }

    pub(super) fn push(&mut self, line: usize, value: f64) {
        if value > self.value {
            (self.next, self.next_count) = (self.value, self.count);
            (self.value, self.count, self.run, self.longest, self.line) = (value, 1, 1, 1, line);
        } else if value == self.value {
            self.count += 1;
            self.run = if self.last == value { self.run + 1 } else { 1 };
            self.longest = self.longest.max(self.run);
        } else if value > self.next {
            (self.next, self.next_count) = (value, 1);
        } else if value == self.next {
            self.next_count += 1;
        }
        self.last = value;
    }

    /// True if the wave is flat there. `rest` is the value before the event: a wave may well be flat at rest.
    pub(super) fn is_flat(&self, rest: f64) -> bool {
        self.value != rest && self.longest >= LONGER * self.next_count.max(1)
    }

    pub(super) fn fault(&self, name: &str, sign: f64) -> CaptureFault {
        CaptureFault {
            flaw: Flaw::Clipped,
            line: self.line,
            count: self.count,
            reason: format!(
                "`{name}` stays at exactly {:.4e} for {} samples in a row, its {} value: probably clipped by the \
                 instrument's range, so that peak and energy are at least what is found",
                sign * self.value,
                self.longest,
                if sign > 0.0 { "highest" } else { "lowest" },
            ),
        }
    }
}
