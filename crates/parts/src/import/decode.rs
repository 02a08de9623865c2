//! From the bytes of a text file to its characters, without loading it.

use std::io::{self, ErrorKind, Read};

use encoding_rs::{DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// Bytes looked at to find out delimiter and decimal mark.
const HEAD: usize = 256 << 10;

/// What a first look at all the bytes found.
pub(super) struct Survey {
    /// How the characters are written.
    pub encoding: &'static Encoding,
    /// Bytes of a byte-order mark at the beginning.
    pub mark: usize,
    /// Length in bytes.
    pub length: u64,
    /// The beginning as text.
    pub head: String,
    /// Whether the bytes end in a line end.
    pub ends_with_line: bool,
}

/// Why the bytes are no text.
#[derive(Debug)]
pub(super) enum NoText {
    /// The file cannot be read.
    Unreadable(io::Error),
    /// It is empty.
    Empty,
    /// It has zero bytes; the position of the first one.
    Binary(u64),
    /// It ends in the middle of a character.
    Cut,
}

impl From<io::Error> for NoText {
    fn from(error: io::Error) -> Self {
        NoText::Unreadable(error)
    }
}

/// Reads everything once. `wanted` overrides what would be found out.
pub(super) fn survey(mut bytes: impl Read, wanted: Option<&'static Encoding>) -> Result<Survey, NoText> {
    let mut head = Vec::new();
    let mut buffer = vec![0; 64 << 10];
    let mut length = 0u64;
    let mut last = Vec::new();
    let mut zero = None;
    let mut utf8 = Utf8::default();
    loop {
        let got = match bytes.read(&mut buffer) {
            Ok(0) => break,
            Ok(got) => got,
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(error) => return Err(error.into()),
        };
        let chunk = &buffer[..got];
        if head.len() < HEAD {
            head.extend_from_slice(&chunk[..got.min(HEAD - head.len())]);
        }
        zero = zero.or_else(|| {
            let at = chunk.iter().position(|byte| *byte == 0)?;
            Some(length + at as u64)
        });
        utf8.feed(chunk);
        length += got as u64;
        last.extend_from_slice(&chunk[got.saturating_sub(2)..]);
        let surplus = last.len().saturating_sub(2);
        last.drain(..surplus);
    }
    if length == 0 {
        return Err(NoText::Empty);
    }
    let marked = Encoding::for_bom(&head);
    let (encoding, mark) = match (wanted, marked) {
        (Some(encoding), Some((same, mark))) if same == encoding => (encoding, mark),
        (Some(encoding), _) => (encoding, 0),
        (None, Some((encoding, mark))) => (encoding, mark),
        (None, None) if utf8.valid() => (UTF_8, 0),
        // Cut within a character, after others that are complete: that is no other encoding.
        (None, None) if utf8.cut && utf8.wide => return Err(NoText::Cut),
        (None, None) => (WINDOWS_1252, 0),
    };
    let wide = encoding == UTF_16LE || encoding == UTF_16BE;
    if wide && (length - mark as u64) % 2 == 1 {
        return Err(NoText::Cut);
    }
    if !wide && let Some(at) = zero {
        return Err(NoText::Binary(at));
    }
    let (text, _) = encoding.decode_without_bom_handling(&head[mark..]);
    let end: &[u8] = match (encoding == UTF_16LE, encoding == UTF_16BE) {
        (true, _) => last.strip_suffix(&[0]).unwrap_or(&[]),
        (_, true) => last.strip_prefix(&[0]).unwrap_or(&[]),
        _ => &last,
    };
    Ok(Survey {
        encoding,
        mark,
        length,
        head: text.into_owned(),
        ends_with_line: matches!(end.last(), Some(b'\n' | b'\r')),
    })
}

/// Whether bytes are UTF-8, chunk by chunk.
#[derive(Default)]
struct Utf8 {
    carried: Vec<u8>,
    broken: bool,
    wide: bool,
    cut: bool,
}

impl Utf8 {
    fn feed(&mut self, chunk: &[u8]) {
        if self.broken {
            return;
        }
        let mut bytes = std::mem::take(&mut self.carried);
        bytes.extend_from_slice(chunk);
        self.cut = false;
        let valid = match std::str::from_utf8(&bytes) {
            Ok(_) => bytes.len(),
            Err(error) if error.error_len().is_some() => {
                self.broken = true;
                error.valid_up_to()
            }
            Err(error) => {
                self.cut = true;
                error.valid_up_to()
            }
        };
        self.wide |= !bytes[..valid].is_ascii();
        self.carried = if self.broken {
            Vec::new()
        } else {
            bytes.split_off(valid)
        };
    }

    fn valid(&self) -> bool {
        !self.broken && !self.cut
    }
}

/// A reader that gives UTF-8.
pub(super) struct Decoded<R> {
    bytes: R,
    decoder: encoding_rs::Decoder,
    raw: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    finished: bool,
    read: u64,
}

impl<R: Read> Decoded<R> {
    /// From bytes behind their byte-order mark.
    pub fn new(bytes: R, encoding: &'static Encoding) -> Decoded<R> {
        Decoded {
            bytes,
            decoder: encoding.new_decoder_without_bom_handling(),
            raw: vec![0; 16 << 10],
            from: 0,
            to: 0,
            ended: false,
            finished: false,
            read: 0,
        }
    }

    /// Bytes of the file that were read.
    pub fn read_bytes(&self) -> u64 {
        self.read
    }
}

impl<R: Read> Read for Decoded<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        // The decoder needs room for a whole character.
        if out.len() < 8 {
            return Err(io::Error::new(ErrorKind::InvalidInput, "the buffer is too small"));
        }
        // A decoder that has said its last must not be asked again.
        if self.finished {
            return Ok(0);
        }
        loop {
            if self.from == self.to && !self.ended {
                self.from = 0;
                self.to = self.bytes.read(&mut self.raw)?;
                self.read += self.to as u64;
                self.ended = self.to == 0;
            }
            let input = &self.raw[self.from..self.to];
            let (result, used, written) = self
                .decoder
                .decode_to_utf8_without_replacement(input, out, self.ended);
            self.from += used;
            if let DecoderResult::Malformed(..) = result {
                return Err(io::Error::new(
                    ErrorKind::InvalidData,
                    "holds bytes that are no character of its encoding",
                ));
            }
            self.finished = self.ended && result == DecoderResult::InputEmpty;
            if written > 0 || self.finished {
                return Ok(written);
            }
        }
    }
}
