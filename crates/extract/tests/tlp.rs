//! Tables of transmission-line-pulse tests, and what is computed from waves.

use tidewall_extract::readers::tlp::{Severity, TlpOptions, TlpTable, read};
use tidewall_extract::waves::{Skew, Treatment, Wave, front, front_lag, readings, rest, treat, window_mean};

fn table(text: &str) -> TlpTable {
    read(text.as_bytes(), &TlpOptions::default()).expect("a table")
}

#[test]
fn columns_units_and_header_are_read() {
    let comma = "Pulse width: 100 ns\nRise time: 10 ns\n\nV_DUT [V];I_DUT [mA];Leakage [nA]\n1,5;10;1,0\n2,0;1500;1,1\n2,5;3000,5;1,0\n";
    let units = "# pulse width = 100 ns\n# rise time = 10 ns\nI,V,I_leak\nA,V,A\n0.010,1.5,1e-9\n1.5,2.0,-1.1e-9\n3.0005,2.5,1e-9\n";
    for text in [comma, units] {
        let table = table(text);
        let near = |value: Option<f64>, wanted: f64| value.is_some_and(|v| (v / wanted - 1.0).abs() < 1e-12);
        assert!(near(table.width_s, 1e-7) && near(table.rise_s, 1e-8));
        let points: Vec<(f64, f64)> = table.points.iter().map(|p| (p.volts, p.amps)).collect();
        assert_eq!(points.len(), 3);
        for ((v, i), (w, j)) in points.iter().zip([(1.5, 0.01), (2.0, 1.5), (2.5, 3.0005)]) {
            assert!((v - w).abs() < 1e-12 && (i - j).abs() < 1e-12);
        }
        assert!((table.points[1].leakage_a.expect("a leakage") - 1.1e-9).abs() < 1e-20);
        assert_eq!((table.failure, table.excluded), (None, 0));
    }
    let bare = table("1 0.1\n2 0.2\n");
    assert_eq!(bare.width_s, None);
    for words in [
        "pulse width is unknown",
        "taken as voltage, current",
        "no leakage",
    ] {
        assert!(
            bare.notes.iter().any(|note| note.contains(words)),
            "{words}: {:?}",
            bare.notes
        );
    }
}

#[test]
fn a_jump_of_the_leakage_is_a_failure_and_ends_the_table() {
    let rows = |last: &str| {
        format!(
            "voltage (V),current (A),leakage (A)\n1,1,1e-9\n2,2,1.2e-9\n3,3,2e-9\n4,4,9e-9\n{last}\n6,6,1e-6\n"
        )
    };
    let soft = table(&rows("5,5,2e-8"));
    let failure = soft.failure.expect("a failure");
    assert_eq!(
        (
            failure.severity,
            failure.point.line,
            soft.points.len(),
            soft.excluded
        ),
        (Severity::Soft, 6, 4, 2)
    );
    assert!((failure.ratio - 2e-8 / 1.2e-9).abs() < 1e-9);
    assert!(
        soft.notes.iter().any(|note| note.contains("left out: 2 of 6")),
        "{:?}",
        soft.notes
    );
    assert_eq!(
        table(&rows("5,5,1e-3")).failure.map(|f| f.severity),
        Some(Severity::Hard)
    );
    assert_eq!(
        table(&rows("0.5,6,5e-8")).failure.map(|f| f.severity),
        Some(Severity::Hard)
    );
    // Up to ten times the baseline is none; the limit can be moved.
    let strict = TlpOptions {
        failure_factor: 5.0,
        ..TlpOptions::default()
    };
    let moved = read(rows("5,5,2e-8").as_bytes(), &strict).expect("a table");
    assert_eq!(moved.failure.map(|f| f.point.line), Some(5));
}

#[test]
fn tables_that_cannot_be_used_are_refused() {
    let fails = |text: &str| {
        read(text.as_bytes(), &TlpOptions::default())
            .expect_err("a fault")
            .to_string()
    };
    assert!(fails("a,b\n1,2\n3,4\n").contains("not among the columns a, b"));
    assert!(fails("voltage (A),current (A)\n1,2\n3,4\n").contains("is in amperes"));
    assert!(fails("v,voltage,i\n1,2,3\n3,4,5\n").contains("two columns"));
    assert!(fails("v,i,leakage\n1,2,3\n3,x,5\n5,6,7\n7,8,9\n").starts_with("line 3, cell 2"));
    assert!(fails("pulse width: 100 V\nrise time: 10\nv,i\n1,2\n3,4\n").contains("rise time is 1e1 s"));
}

fn grid(n: usize, step: f64, start: f64) -> Vec<f64> {
    (0..n).map(|k| start + step * k as f64).collect()
}

/// Noise without a source: a fixed low-discrepancy sequence, evenly between −1 and 1.
fn jitter(k: usize) -> f64 {
    2.0 * ((k as f64 * 0.618_033_988_749_895).fract()) - 1.0
}

#[test]
fn zero_and_noise_come_from_before_the_event() {
    let times = grid(1000, 1e-9, -2e-7);
    let values: Vec<f64> = times
        .iter()
        .enumerate()
        .map(|(k, t)| 0.3 + 0.01 * jitter(k) + if *t > 0.0 { 5.0 } else { 0.0 })
        .collect();
    let rest = rest(&times, &values).expect("a rest");
    assert!((rest.mean - 0.3).abs() < 1e-3 && rest.until_s < 0.0 && rest.samples > 150);
    // Evenly between ±a: a / √3.
    assert!(
        (rest.noise / (0.01 / 3f64.sqrt()) - 1.0).abs() < 0.1,
        "{}",
        rest.noise
    );
    // A ramp from the first sample on has no rest.
    let ramp: Vec<f64> = times.iter().map(|t| t + 2e-7).collect();
    assert_eq!(tidewall_extract::waves::rest(&times, &ramp), None);
}

#[test]
fn skew_is_found_and_taken_out() {
    let times = grid(2000, 1e-10, -2e-8);
    let step = |late: f64| Wave {
        times_s: times.clone(),
        values: times
            .iter()
            .map(|t| 10.0 / (1.0 + (-(t - late) / 1e-9).exp()))
            .collect(),
    };
    let (volts, amps) = (step(0.0), step(3.3e-9));
    let lag = front_lag(&volts, &amps).expect("fronts");
    assert!((lag.seconds - 3.3e-9).abs() < 3e-11, "{lag:?}");
    assert!(lag.correlation > 0.999);
    // Noise of a tenth of the peak before the front does not move it.
    let mut noisy = amps.clone();
    for (k, value) in noisy.values.iter_mut().enumerate() {
        *value += 1.2 * jitter(k);
    }
    let (from, to) = front(&noisy).expect("a front");
    assert!(
        (from - 1.1e-9).abs() < 1.5e-9 && (to - 5.5e-9).abs() < 1.5e-9,
        "{from} {to}"
    );
    let treatment = Treatment {
        skew: Skew::Estimated,
        current_factor: -2.0,
        ..Treatment::default()
    };
    let treated = treat(&volts, Some(&amps), &treatment);
    let current = treated.current.expect("a current");
    for (v, i) in treated.voltage.values.iter().zip(&current.values) {
        assert!((i + 2.0 * v).abs() < 0.2, "{v} {i}");
    }
    assert!(
        treated
            .notes
            .iter()
            .any(|note| note.contains("cross-correlation"))
    );
}

#[test]
fn readings_of_known_waves() {
    // An inductive spike on the front: the peak of the voltage is not the voltage at the peak of the current.
    let times = grid(40_001, 1e-9, 0.0);
    let amps: Vec<f64> = times
        .iter()
        .map(|t| 100.0 * (t / 8e-6) * (1.0 - t / 8e-6).exp())
        .collect();
    let current = Wave {
        times_s: times.clone(),
        values: amps.clone(),
    };
    let l = 1e-6;
    let volts: Vec<f64> = times
        .iter()
        .zip(&amps)
        .map(|(t, i)| 40.0 + 0.01 * i + l * 100.0 / 8e-6 * (1.0 - t / 8e-6) * (1.0 - t / 8e-6).exp())
        .collect();
    let voltage = Wave {
        times_s: times,
        values: volts,
    };
    let found = readings(&voltage, Some(&current)).expect("readings");
    assert!((found.peak_a.expect("a peak").1 - 8e-6).abs() < 2e-9);
    assert!((found.clamp_v.expect("a clamp") - 41.0).abs() < 1e-3);
    assert!((found.peak_v.0 - (40.0 + 12.5 * 1f64.exp())).abs() < 1e-6);
    assert!((found.overshoot.expect("an overshoot") - (found.peak_v.0 / 41.0 - 1.0)).abs() < 1e-4);
    // Charge: ∫ x e^(1−x) from 0 to 5 is e (1 − 6 e^−5).
    let charge = 100.0 * 8e-6 * 1f64.exp() * (1.0 - 6.0 * (-5f64).exp());
    assert!((found.charge_c.expect("a charge") / charge - 1.0).abs() < 1e-6);
    // Energy: 40 Q + 0.01 ∫ i² + ½ L i² at the end.
    let square: f64 = current.product_integral(&current);
    let last = current.values[40_000];
    let energy = 40.0 * charge + 0.01 * square + 0.5 * l * last * last;
    assert!((found.energy_j.expect("an energy") / energy - 1.0).abs() < 1e-6);
}

#[test]
fn the_window_of_a_pulse_is_averaged() {
    let times = grid(2000, 1e-10, -2e-8);
    let pulse = |t: f64| if (0.0..1e-7).contains(&t) { 1.0 } else { 0.0 };
    let current = Wave {
        times_s: times.clone(),
        values: times.iter().map(|t| 2.0 * pulse(*t)).collect(),
    };
    let sag = Wave {
        times_s: times.clone(),
        values: times.iter().map(|t| pulse(*t) * (10.0 - t * 1e7)).collect(),
    };
    let mean = window_mean(&sag, &current, (0.7, 0.9)).expect("a mean");
    assert!((mean - 9.2).abs() < 0.01, "{mean}");
}
