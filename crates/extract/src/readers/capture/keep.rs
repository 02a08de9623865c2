//! Which samples of a long capture are kept: those of every bucket's lowest and highest value, and all around the event.
//!
//! A row is `[number, time, values…]`, flat in one vector. As long as there are few samples all are kept.

/// Share of the kept rows that one window of unthinned rows may take.
const WINDOW_SHARE: usize = 16;

/// Keeps rows within a bound, whatever their number.
pub(super) struct Keeper {
    channels: usize,
    most: usize,
    all: Vec<f64>,
    buckets: Option<Buckets>,
    windows: Windows,
}

impl Keeper {
    /// For so many channels, keeping about `most` rows and at most twice as many.
    pub(super) fn new(channels: usize, most: usize) -> Keeper {
        let most = most.max(64 * channels.max(1));
        Keeper {
            channels,
            most,
            all: Vec::new(),
            buckets: None,
            windows: Windows::new(channels, (most / WINDOW_SHARE).max(16)),
        }
    }

    pub(super) fn push(&mut self, row: &[f64]) {
        self.windows.push(row);
        if let Some(buckets) = &mut self.buckets {
            buckets.push(row);
            return;
        }
        self.all.extend_from_slice(row);
        if self.all.len() > self.most * row.len() {
            let mut buckets = Buckets::new(self.channels, self.most);
            self.all.chunks_exact(row.len()).for_each(|row| buckets.push(row));
            self.all = Vec::new();
            self.buckets = Some(buckets);
        }
    }

    /// The kept rows in order, and whether some were left out.
    pub(super) fn finish(self) -> (Vec<f64>, bool) {
        let stride = self.channels + 2;
        let Some(buckets) = self.buckets else {
            return (self.all, false);
        };
        let mut flat = buckets.finish();
        flat.extend(self.windows.finish());
        let mut rows: Vec<&[f64]> = flat.chunks_exact(stride).collect();
        rows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        rows.dedup_by(|a, b| a[0] == b[0]);
        (rows.concat(), true)
    }
}

/// Rows of the lowest and highest value of each channel in runs of equal length; two runs become one when there are too
/// many.
struct Buckets {
    channels: usize,
    most: usize,
    /// Rows of a bucket: lowest, highest of the first channel, of the second, …
    done: Vec<f64>,
    current: Vec<f64>,
    in_current: u64,
    width: u64,
    first: Vec<f64>,
    last: Vec<f64>,
}

impl Buckets {
    fn new(channels: usize, rows: usize) -> Buckets {
        Buckets {
            channels,
            most: (rows / (2 * channels.max(1))).max(2),
            done: Vec::new(),
            current: Vec::new(),
            in_current: 0,
            width: 1,
            first: Vec::new(),
            last: Vec::new(),
        }
    }

    fn stride(&self) -> usize {
        self.channels + 2
    }

    fn per_bucket(&self) -> usize {
        2 * self.channels * self.stride()
    }

    fn push(&mut self, row: &[f64]) {
        let stride = self.stride();
        if self.first.is_empty() {
            self.first = row.to_vec();
        }
        self.last.clear();
        self.last.extend_from_slice(row);
        if self.in_current == 0 {
            self.current.clear();
            for _ in 0..2 * self.channels {
                self.current.extend_from_slice(row);
            }
        } else {
            for channel in 0..self.channels {
                let value = row[2 + channel];
                let low = 2 * channel * stride;
                if value < self.current[low + 2 + channel] {
                    self.current[low..low + stride].copy_from_slice(row);
                }
                let high = low + stride;
                if value > self.current[high + 2 + channel] {
                    self.current[high..high + stride].copy_from_slice(row);
                }
            }
        }
        self.in_current += 1;
        if self.in_current == self.width {
            self.done.extend_from_slice(&self.current);
            self.in_current = 0;
            if self.done.len() >= self.most * self.per_bucket() {
                self.halve();
            }
        }
    }

    fn halve(&mut self) {
        let (stride, size, channels) = (self.stride(), self.per_bucket(), self.channels);
        let pairs = self.done.len() / size / 2;
        for pair in 0..pairs {
            let (a, b) = (2 * pair * size, (2 * pair + 1) * size);
            for channel in 0..channels {
                for (offset, above) in [(2 * channel * stride, false), ((2 * channel + 1) * stride, true)] {
                    let (x, y) = (
                        self.done[a + offset + 2 + channel],
                        self.done[b + offset + 2 + channel],
                    );
                    let from = if (above && y > x) || (!above && y < x) {
                        b
                    } else {
                        a
                    };
                    let to = pair * size + offset;
                    self.done.copy_within(from + offset..from + offset + stride, to);
                }
            }
        }
        let odd = self.done.len() / size % 2 == 1;
        if odd {
            // The bucket without a partner begins the next one of double width.
            let from = 2 * pairs * size;
            self.current.clear();
            self.current.extend_from_slice(&self.done[from..from + size]);
            self.in_current = self.width;
        }
        self.done.truncate(pairs * size);
        self.width *= 2;
    }

    fn finish(mut self) -> Vec<f64> {
        if self.in_current > 0 {
            self.done.extend_from_slice(&self.current);
        }
        self.done.extend_from_slice(&self.first);
        self.done.extend_from_slice(&self.last);
        self.done
    }
}

/// Unthinned rows around the steepest step and around the largest value of each channel.
struct Windows {
    stride: usize,
    length: usize,
    /// The last `length` rows; the oldest is overwritten.
    ring: Vec<f64>,
    at: usize,
    before: Vec<f64>,
    events: Vec<Event>,
}

/// One thing to keep the surroundings of.
#[derive(Clone, Default)]
struct Event {
    largest: f64,
    /// Rows until its surroundings are complete.
    due: Option<usize>,
    rows: Vec<f64>,
}

impl Windows {
    fn new(channels: usize, length: usize) -> Windows {
        Windows {
            stride: channels + 2,
            length,
            ring: Vec::new(),
            at: 0,
            before: Vec::new(),
            events: vec![Event::default(); 2 * channels],
        }
    }

    fn push(&mut self, row: &[f64]) {
        if self.ring.len() < self.length * self.stride {
            self.ring.extend_from_slice(row);
        } else {
            self.ring[self.at..self.at + self.stride].copy_from_slice(row);
        }
        self.at = (self.at + self.stride) % (self.length * self.stride);
        if self.before.is_empty() {
            self.before = row.to_vec();
        }
        for (k, event) in self.events.iter_mut().enumerate() {
            let place = 2 + k / 2;
            let size = if k % 2 == 0 {
                (row[place] - self.before[place]).abs()
            } else {
                row[place].abs()
            };
            if size > event.largest {
                event.largest = size;
                event.due = Some(self.length / 2);
            } else if let Some(due) = &mut event.due {
                *due -= 1;
                if *due == 0 {
                    event.due = None;
                    event.rows.clear();
                    event.rows.extend_from_slice(&self.ring);
                }
            }
        }
        self.before.copy_from_slice(row);
    }

    fn finish(mut self) -> Vec<f64> {
        let mut rows = Vec::new();
        for event in &mut self.events {
            rows.append(&mut event.rows);
            if event.due.is_some() {
                rows.extend_from_slice(&self.ring);
            }
        }
        rows
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_peak_survives_and_the_bound_holds() {
        let most = 1000;
        let mut keeper = Keeper::new(2, most);
        let n = 300_000;
        for k in 0..n {
            let t = k as f64;
            let needle = if k == 123_457 { 50.0 } else { 0.0 };
            keeper.push(&[t, 1e-9 * t, (t * 0.001).sin() + needle, -(t * 0.0003).cos()]);
        }
        let (rows, thinned) = keeper.finish();
        assert!(thinned);
        let rows: Vec<&[f64]> = rows.chunks_exact(4).collect();
        assert!(rows.len() < 2 * most, "{}", rows.len());
        assert_eq!((rows[0][0], rows[rows.len() - 1][0]), (0.0, (n - 1) as f64));
        assert!(rows.windows(2).all(|pair| pair[0][0] < pair[1][0]));
        // The needle, and all rows around it.
        for k in 123_430..123_480 {
            assert!(rows.iter().any(|row| row[0] == f64::from(k)), "{k}");
        }
        let lowest = rows.iter().map(|row| row[3]).fold(f64::MAX, f64::min);
        let exact = (0..n)
            .map(|k| -(k as f64 * 0.0003).cos())
            .fold(f64::MAX, f64::min);
        assert_eq!(lowest, exact);
    }

    #[test]
    fn few_rows_are_all_kept() {
        let mut keeper = Keeper::new(1, 1000);
        (0..1000).for_each(|k| keeper.push(&[f64::from(k), f64::from(k), 1.0]));
        let (rows, thinned) = keeper.finish();
        assert_eq!((rows.len(), thinned), (3000, false));
    }
}
