//! Layouts of captures, their faults, and long captures.

use std::io::{BufReader, Read};

use tidewall_extract::readers::capture::{Capture, CaptureOptions, Flaw, read};
use tidewall_extract::readers::{ReadFault, UnitKind};

fn try_read(text: impl AsRef<[u8]>, options: &CaptureOptions) -> Result<Capture, ReadFault> {
    read(text.as_ref(), options, &mut |_| {})
}

fn capture(text: impl AsRef<[u8]>) -> Capture {
    try_read(text, &CaptureOptions::default()).expect("a capture")
}

fn fault(text: impl AsRef<[u8]>) -> ReadFault {
    try_read(text, &CaptureOptions::default()).expect_err("a fault")
}

/// All layouts say: 0, 1, 2, 3 ns; 0, 5, 4, 3 V; 0, 20, 10, 5 A.
#[track_caller]
fn same(capture: &Capture, channels: usize) {
    assert_eq!(capture.samples, 4);
    for (k, t) in capture.times_s.iter().enumerate() {
        assert!((t - k as f64 * 1e-9).abs() < 1e-18, "{t}");
    }
    let near = |k: usize, wanted: &[f64]| {
        for (a, b) in capture.channels[k].values.iter().zip(wanted) {
            assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
    };
    assert_eq!(capture.channels.len(), channels);
    near(0, &[0.0, 5.0, 4.0, 3.0]);
    if channels > 1 {
        near(1, &[0.0, 20.0, 10.0, 5.0]);
    }
}

#[test]
fn common_layouts_say_the_same() {
    same(
        &capture("time_s,pin_v,d1_a\n0,0,0\n1e-9,5,20\n2e-9,4,10\n3e-9,3,5\n"),
        2,
    );
    same(
        &capture("Zeit [ns];CH1 [mV];CH2 [A]\r\n0,0;0;0\r\n1,0;5000;20\r\n2,0;4000,0;10\r\n3,0;3000;5\r\n"),
        2,
    );
    same(
        &capture(b"\xef\xbb\xbfTime (\xc2\xb5s)\tA\n0\t0\n0.001\t5\n0.002\t4\n0.003\t3".as_slice()),
        1,
    );
    same(
        &capture(b"Time (\xb5s)\tCH1 (V)\n0\t0\n0.001\t5\n0.002\t4\n0.003\t3".as_slice()),
        1,
    );
    same(
        &capture("Model,XY-1\nMemory,4\n\nTime,Ch A,Ch B\n(ns),(V),(A)\n\n0,0,0\n1,5,20\n2,4,10\n3,3,5\n"),
        2,
    );
    same(
        &capture("# made in the laboratory\n# t (ns) v (V)\n0 0\n1 5\n2 4\n3 3\n"),
        1,
    );
    same(
        &capture("Sample Interval,1,ns\nSample;\nindex,CH1 (V)\n0,0\n1,5\n2,4\n3,3\n"),
        1,
    );
    same(
        &capture("Sampling Rate: 1e9\nCH1 (V),CH2 (A)\n0,0\n5,20\n4,10\n3,5\n"),
        2,
    );
    same(
        &capture("Increment = 1 ns\nStart = 0 ns\nCH1 (V)\n0\n5\n4\n3\n"),
        1,
    );
    same(
        &capture(
            "X,CH1,CH2,Start,Increment\nSequence,Volt,Ampere,0,1e-9\n0,0,0,,\n1,5,20,,\n2,4,10,,\n3,3,5,,\n",
        ),
        2,
    );
    same(
        &capture("Increment,1e-9\nY Increment,0.5\nY Reference,10\nn,CH1 (V)\n0,10\n1,20\n2,18\n3,16\n"),
        1,
    );
    same(
        &capture("Record Length,4,Points,0,0\nInterval,1e-9,s,1e-9,5\nTrigger,1,,2e-9,4\n,,,3e-9,3\n"),
        1,
    );
}

#[test]
fn what_is_assumed_is_said() {
    let capture = capture("0,0\n1e-9,5\n2e-9,4\n");
    assert_eq!(capture.channels[0].kind, None);
    assert!(
        capture
            .notes
            .iter()
            .any(|note| note.contains("taken as the time in seconds"))
    );
    assert!(capture.notes.iter().any(|note| note.contains("no unit")));
    let options = CaptureOptions {
        increment_s: Some(2e-9),
        ..CaptureOptions::default()
    };
    let counted = try_read("t,v (V)\n0,0\n0,5\n0,4\n", &options).expect("a capture");
    assert_eq!(counted.times_s, [0.0, 2e-9, 4e-9]);
    assert_eq!(counted.channels[0].kind, Some(UnitKind::Voltage));
    assert!(counted.notes[0].contains("as given"), "{:?}", counted.notes);
}

#[test]
fn faults_name_line_and_cell() {
    let rows = |bad: &str| format!("time_s,v_v\n0,0\n1e-9,1\n{bad}\n3e-9,2\n");
    for (bad, cell, words) in [
        ("2e-9,abc", 2, "`abc` is not a number"),
        ("2e-9,inf", 2, "over its range"),
        ("2e-9,NaN", 2, "over its range"),
        ("2e-9", 0, "1 of 2 numbers"),
        ("2e-9,", 2, "not a number"),
        ("2e-9,1,7", 3, "more cells"),
        ("0.5e-9,1", 0, "time runs backwards"),
    ] {
        let fault = fault(rows(bad));
        assert_eq!((fault.line, fault.cell), (4, cell), "{bad}: {fault}");
        assert!(fault.message.contains(words), "{fault}");
    }
    assert!(fault("").message.contains("no rows"));
    assert!(fault("nothing here\nnor here\n").message.contains("no rows"));
    assert!(
        fault("index,CH1 (V)\n0,1\n1,2\n")
            .message
            .contains("there is no time")
    );
    assert!(
        fault("time_s,v_v\n0,001,1,5\n0,002,1,6\n")
            .message
            .contains("decimal commas")
    );
    let wide = "t,a,b,c,d,e,f,g,h,i\n0,1,2,3,4,5,6,7,8,9\n1,1,2,3,4,5,6,7,8,9\n";
    assert!(fault(wide).message.contains("9 channels"));
    assert!(
        fault(b"t,v\n0,1\n1,\0\n".as_slice())
            .message
            .contains("zero byte")
    );
}

fn flaws(text: String) -> Vec<(Flaw, usize, u64)> {
    let faults = capture(text).faults;
    faults.iter().map(|f| (f.flaw, f.line, f.count)).collect()
}

fn wave(value: impl Fn(f64) -> f64, time: impl Fn(usize) -> f64) -> String {
    let mut text = "time_s,v_v\n".to_owned();
    for k in 0..3000 {
        let t = time(k);
        text.push_str(&format!("{:e},{:.3}\n", t, value(k as f64)));
    }
    text
}

#[test]
fn clipped_waves_are_told_from_smooth_crests() {
    let even = |k: usize| k as f64 * 1e-9;
    // Steps of the converter are 0.001; the crest of a smooth wave is flat for several samples and is no fault.
    let crest = |k: f64| (k * 0.002).sin() * 5.0;
    assert_eq!(flaws(wave(crest, even)), []);
    let found = flaws(wave(|k| crest(k).min(4.0), even));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, Flaw::Clipped);
    let found = flaws(wave(|k| crest(k * 2.0).clamp(-4.5, 4.5), even));
    assert_eq!(
        found.iter().filter(|f| f.0 == Flaw::Clipped).count(),
        2,
        "{found:?}"
    );
    // A pulse that begins and ends at exactly zero is not clipped at zero.
    assert_eq!(
        flaws(wave(
            |k| (k * 0.01 - 10.0).clamp(0.0, 10.0) * (-k * 0.001).exp(),
            even
        )),
        []
    );
}

#[test]
fn holes_and_repeats_of_time_are_found() {
    let slow = |k: f64| k * 0.01;
    let gap = |k: usize| k as f64 * 1e-9 + if k > 2000 { 5e-9 } else { 0.0 };
    assert_eq!(flaws(wave(slow, gap)), [(Flaw::Gap, 2003, 1)]);
    let twice = |k: usize| if k == 10 { 9.0 * 1e-9 } else { k as f64 * 1e-9 };
    assert_eq!(
        flaws(wave(slow, twice)),
        [(Flaw::DuplicateTime, 12, 1), (Flaw::IrregularTime, 13, 1)]
    );
    // Steps that vary by nature have no gaps.
    let varying = |k: usize| (k as f64 * 0.01).exp() * 1e-9;
    let found = flaws(wave(slow, varying));
    assert!(found.iter().all(|f| f.0 == Flaw::IrregularTime), "{found:?}");
}

/// Rows of a surge, made as they are read.
struct Endless {
    row: u64,
    rows: u64,
    buffer: Vec<u8>,
    at: usize,
}

impl Endless {
    fn new(rows: u64) -> Endless {
        Endless {
            row: 0,
            rows,
            buffer: b"Time (s),CH1 (V),CH2 (A)\n".to_vec(),
            at: 0,
        }
    }
}

impl Read for Endless {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        use std::io::Write;
        if self.at == self.buffer.len() {
            self.buffer.clear();
            self.at = 0;
            while self.row < self.rows && self.buffer.len() < 1 << 16 {
                let k = self.row as f64;
                let x = k / self.rows as f64;
                let event = (x - 0.2).max(0.0);
                let volts = if self.row == self.rows / 3 {
                    777.25
                } else {
                    40.0 * (1.0 - (-event * 400.0).exp())
                };
                let amps = 3000.0 * event * (-event * 20.0).exp();
                writeln!(self.buffer, "{k}e-10,{volts:.2},{amps:.3}")?;
                self.row += 1;
            }
        }
        let n = out.len().min(self.buffer.len() - self.at);
        out[..n].copy_from_slice(&self.buffer[self.at..self.at + n]);
        self.at += n;
        Ok(n)
    }
}

#[test]
fn a_long_capture_keeps_peaks_and_integrals_in_bounded_room() {
    let rows = 1_000_000;
    let options = CaptureOptions {
        keep: 20_000,
        ..CaptureOptions::default()
    };
    let mut reports = Vec::new();
    let capture = read(BufReader::new(Endless::new(rows)), &options, &mut |bytes| {
        reports.push(bytes);
    })
    .expect("a capture");
    assert_eq!((capture.samples, capture.thinned), (rows, true));
    assert!(
        capture.times_s.len() <= 2 * options.keep,
        "{}",
        capture.times_s.len()
    );
    assert!(capture.times_s.windows(2).all(|pair| pair[0] <= pair[1]));
    assert_eq!(reports.last(), Some(&capture.bytes));
    assert!(reports.len() > 50 && reports.windows(2).all(|pair| pair[0] <= pair[1]));
    // The single sample that sticks out, and its neighbours.
    let spike = (rows / 3) as f64 * 1e-10;
    assert_eq!(capture.channels[0].highest, (777.25, spike));
    let at = capture
        .times_s
        .iter()
        .position(|t| *t == spike)
        .expect("the spike is kept");
    assert!((capture.times_s[at + 1] - capture.times_s[at - 1] - 2e-10).abs() < 1e-14);
    // The kept waveform gives nearly the integral of all samples (without the spike's own area).
    let exact = capture.channels[1].integral;
    let span = rows as f64 * 1e-10;
    // ∫ 3000 x e^(−20 x) from 0 to 0.8 is 3000 / 400 to 2 parts in a million.
    assert!((exact / (7.5 * span) - 1.0).abs() < 1e-3, "{exact}");
    let energy = capture.product_integral(0, 0.0, 1, 0.0);
    let shifted = capture.product_integral(0, 1.0, 1, 0.0);
    assert!((energy - shifted - exact).abs() < 1e-9 * energy.abs());
}

proptest::proptest! {
    /// Whatever the text, there is a capture or a fault, and what a capture says fits together.
    #[test]
    fn no_text_breaks_the_readers(
        lines in proptest::collection::vec("[-0-9.,;e \tVAsµ()\"#:=a-c]{0,24}", 0..12),
        end in "\n|\r\n",
    ) {
        let text = lines.join(&end);
        if let Ok(capture) = try_read(&text, &CaptureOptions::default()) {
            assert!(capture.samples >= 2);
            assert!(capture.channels.iter().all(|channel| channel.values.len() == capture.times_s.len()));
            assert!(capture.times_s.windows(2).all(|pair| pair[0] <= pair[1]));
        }
        let options = tidewall_extract::readers::tlp::TlpOptions::default();
        if let Ok(table) = tidewall_extract::readers::tlp::read(text.as_bytes(), &options) {
            assert!(table.points.len() >= 2);
        }
    }
}
