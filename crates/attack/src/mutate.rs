//! Bad files from good ones: the same for the same seed.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Numbers where readers go wrong.
const NUMBERS: [&str; 16] = [
    "0",
    "-0",
    "-1",
    "1e308",
    "1e309",
    "-1e309",
    "5e-324",
    "1e-400",
    "nan",
    "inf",
    "4294967296",
    "18446744073709551616",
    "9007199254740993",
    "0.1",
    "1e16",
    "999999999999999999999999",
];
/// Bytes where readers go wrong.
const BYTES: [u8; 12] = [0, 9, 10, 13, 34, 39, 44, 92, 127, 128, 0xc3, 0xff];
/// The longest file made, in bytes.
const LONGEST: usize = 48 * 1024;

/// Makes bad files.
pub struct Mutator<'c> {
    random: ChaCha8Rng,
    corpus: &'c [(String, Vec<u8>)],
    words: &'static [&'static str],
}

impl<'c> Mutator<'c> {
    /// From a corpus that is not empty, with the words of its language.
    pub fn new(seed: u64, corpus: &'c [(String, Vec<u8>)], words: &'static [&'static str]) -> Mutator<'c> {
        Mutator {
            random: ChaCha8Rng::seed_from_u64(seed),
            corpus,
            words,
        }
    }

    /// The next bad file.
    pub fn next_file(&mut self) -> Vec<u8> {
        let which = self.below(self.corpus.len());
        self.of(which)
    }

    /// A bad file made from one of the corpus.
    pub fn of(&mut self, which: usize) -> Vec<u8> {
        let whole = &self.corpus[which].1;
        if let Some(book) = self.book(whole) {
            return book;
        }
        self.damaged(whole.clone())
    }

    /// A workbook whose inner files are damaged, rather than their packing.
    #[cfg(feature = "tables")]
    fn book(&mut self, whole: &[u8]) -> Option<Vec<u8>> {
        use std::io::{Cursor, Read, Write};
        use zip::write::SimpleFileOptions;
        if !whole.starts_with(b"PK") || self.below(4) == 0 {
            return None;
        }
        let mut from = zip::ZipArchive::new(Cursor::new(whole)).ok()?;
        let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
        let bad = self.below(from.len().max(1));
        for k in 0..from.len() {
            let mut file = from.by_index(k).ok()?;
            let name = file.name().ok()?.into_owned();
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).ok()?;
            if k == bad || self.below(8) == 0 {
                bytes = self.damaged(bytes);
            }
            to.start_file(name, SimpleFileOptions::default()).ok()?;
            to.write_all(&bytes).ok()?;
        }
        Some(to.finish().ok()?.into_inner())
    }

    #[cfg(not(feature = "tables"))]
    fn book(&mut self, _whole: &[u8]) -> Option<Vec<u8>> {
        None
    }

    fn damaged(&mut self, mut bytes: Vec<u8>) -> Vec<u8> {
        for _ in 0..1 + self.below(6) {
            self.damage(&mut bytes);
            bytes.truncate(LONGEST);
        }
        bytes
    }

    fn damage(&mut self, bytes: &mut Vec<u8>) {
        let at = self.below(bytes.len() + 1);
        match self.below(14) {
            0 if at < bytes.len() => bytes[at] ^= 1 << self.below(8),
            1 if at < bytes.len() => bytes[at] = BYTES[self.below(BYTES.len())],
            2 => bytes.insert(at, BYTES[self.below(BYTES.len())]),
            3 | 4 => {
                let word = self.words[self.below(self.words.len())];
                let over = if self.below(2) == 0 {
                    0
                } else {
                    self.below(word.len() + 8)
                };
                let end = (at + over).min(bytes.len());
                bytes.splice(at..end, word.bytes());
            }
            5 => {
                let end = (at + 1 + self.below(40)).min(bytes.len());
                bytes.drain(at..end);
            }
            6 => {
                let end = (at + 1 + self.below(60)).min(bytes.len());
                let piece = bytes[at..end].to_vec();
                let most = if self.below(10) == 0 { 400 } else { 3 };
                let times = 1 + self.below(most);
                for _ in 0..times {
                    bytes.splice(at..at, piece.iter().copied());
                }
            }
            7 => bytes.truncate(at),
            8 | 9 => self.number(bytes, at),
            10 | 11 => self.lines(bytes),
            12 => {
                let other = &self.corpus[self.below(self.corpus.len())].1;
                let from = self.below(other.len() + 1);
                let end = (from + self.below(400)).min(other.len());
                let piece = other[from..end].to_vec();
                bytes.splice(at..at, piece);
            }
            _ => self.swap(bytes),
        }
    }

    /// Puts a nasty number in place of the next one.
    fn number(&mut self, bytes: &mut Vec<u8>, at: usize) {
        let digit = |byte: &u8| byte.is_ascii_digit();
        let Some(start) = bytes[at..].iter().position(digit).map(|k| at + k) else {
            return;
        };
        let length = bytes[start..]
            .iter()
            .position(|byte| !digit(byte) && *byte != b'.');
        let end = length.map_or(bytes.len(), |length| start + length);
        let number = NUMBERS[self.below(NUMBERS.len())];
        bytes.splice(start..end, number.bytes());
    }

    /// Takes out, doubles or moves a line.
    fn lines(&mut self, bytes: &mut Vec<u8>) {
        let mut lines: Vec<Vec<u8>> = bytes
            .split_inclusive(|byte| *byte == b'\n')
            .map(<[u8]>::to_vec)
            .collect();
        if lines.is_empty() {
            return;
        }
        let (from, to) = (self.below(lines.len()), self.below(lines.len()));
        match self.below(3) {
            0 => drop(lines.remove(from)),
            1 => lines.insert(to, lines[from].clone()),
            _ => lines.swap(from, to),
        }
        *bytes = lines.concat();
    }

    /// Two words change places.
    fn swap(&mut self, bytes: &mut Vec<u8>) {
        let parts: Vec<Vec<u8>> = bytes
            .split_inclusive(|byte| *byte == b' ')
            .map(<[u8]>::to_vec)
            .collect();
        if parts.len() < 2 {
            return;
        }
        let mut parts = parts;
        let (a, b) = (self.below(parts.len()), self.below(parts.len()));
        parts.swap(a, b);
        *bytes = parts.concat();
    }

    fn below(&mut self, count: usize) -> usize {
        self.random.random_range(0..count)
    }
}
