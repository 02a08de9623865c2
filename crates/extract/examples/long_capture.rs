//! Reads an invented capture of many samples that is made as it is read, and says how long it took and how much memory
//! the process had at most. `scripts/long-capture` runs it.
//!
//! The first argument is the number of samples (50 million unless given). With `--write` the capture goes to standard
//! output instead, for `tidewall extract read -`.

use std::io::{BufReader, Read, Write};
use std::time::Instant;

use tidewall_extract::readers::capture::{CaptureOptions, read};

/// Rows of a surge with one sample that sticks out, made as they are read.
struct Made {
    row: u64,
    rows: u64,
    buffer: Vec<u8>,
    at: usize,
}

impl Read for Made {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.buffer.len() {
            self.buffer.clear();
            self.at = 0;
            while self.row < self.rows && self.buffer.len() < 1 << 18 {
                let k = self.row;
                let event = (k as f64 / self.rows as f64 - 0.2).max(0.0);
                let volts = if k == self.rows / 3 {
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

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let rows = match arguments.iter().find(|word| !word.starts_with("--")) {
        Some(number) => number.parse()?,
        None => 50_000_000,
    };
    let mut made = Made {
        row: 0,
        rows,
        buffer: b"Time (s),CH1 (V),CH2 (A)\n".to_vec(),
        at: 0,
    };
    if arguments.iter().any(|word| word == "--write") {
        std::io::copy(&mut made, &mut std::io::stdout().lock())?;
        return Ok(());
    }
    let start = Instant::now();
    let mut shown = 0;
    let capture = read(
        BufReader::with_capacity(1 << 18, made),
        &CaptureOptions::default(),
        &mut |bytes| {
            if bytes >> 28 > shown {
                shown = bytes >> 28;
                eprintln!("{} MB read", bytes / 1_000_000);
            }
        },
    )?;
    let seconds = start.elapsed().as_secs_f64();
    println!("samples {}", capture.samples);
    println!("bytes   {}", capture.bytes);
    println!("kept    {}", capture.times_s.len());
    println!(
        "highest {} V at {:e} s",
        capture.channels[0].highest.0, capture.channels[0].highest.1
    );
    println!("time    {seconds:.1} s with the making of the text");
    // Where the system does not tell, nothing is said.
    if let Ok(status) = std::fs::read_to_string("/proc/self/status")
        && let Some(line) = status.lines().find(|line| line.starts_with("VmHWM"))
    {
        println!("memory  {} at most", line["VmHWM:".len()..].trim());
    }
    Ok(())
}
