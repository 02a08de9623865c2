//! Lines of a text, one at a time, with bounded memory.

use std::io::{BufRead, ErrorKind};

use super::fault::ReadFault;

/// Longest line in bytes: no capture has thousands of columns.
const LONGEST: usize = 64 * 1024;

/// Reads lines without their ends and counts them.
pub(crate) struct Lines<R> {
    reader: R,
    /// Lines read so far.
    pub(crate) line: usize,
    /// Bytes read so far.
    pub(crate) bytes: u64,
}

impl<R: BufRead> Lines<R> {
    pub(crate) fn new(reader: R) -> Lines<R> {
        Lines {
            reader,
            line: 0,
            bytes: 0,
        }
    }

    /// Reads the next line into `line`; false at the end of the text.
    pub(crate) fn next_into(&mut self, line: &mut Vec<u8>) -> Result<bool, ReadFault> {
        line.clear();
        let mut any = false;
        loop {
            let here = self.line + 1;
            let available = match self.reader.fill_buf() {
                Ok(available) => available,
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => {
                    let message = format!("the text cannot be read on: {error}");
                    return Err(ReadFault::at(
                        here,
                        0,
                        message,
                        "a text that can be read to its end",
                        "",
                    ));
                }
            };
            if available.is_empty() {
                break;
            }
            any = true;
            let end = available.iter().position(|byte| *byte == b'\n');
            let taken = end.unwrap_or(available.len());
            if line.len() + taken > LONGEST {
                return Err(ReadFault::at(
                    here,
                    0,
                    format!("the line is longer than {LONGEST} bytes"),
                    "one sample a line",
                    "is this a text file?",
                ));
            }
            line.extend_from_slice(&available[..taken]);
            let used = end.map_or(taken, |end| end + 1);
            self.reader.consume(used);
            self.bytes += used as u64;
            if end.is_some() {
                break;
            }
        }
        if !any {
            return Ok(false);
        }
        self.line += 1;
        if line.last() == Some(&b'\r') {
            line.pop();
        }
        if self.line == 1 {
            if line.starts_with(&[0xef, 0xbb, 0xbf]) {
                line.drain(..3);
            } else if line.starts_with(&[0xff, 0xfe]) || line.starts_with(&[0xfe, 0xff]) {
                return Err(ReadFault::at(
                    1,
                    0,
                    "the text is UTF-16",
                    "UTF-8 or Windows-1252",
                    "save it as UTF-8",
                ));
            }
        }
        if line.contains(&0) {
            return Err(ReadFault::at(
                self.line,
                0,
                "the line holds a zero byte",
                "text",
                "a binary capture must be exported as CSV first",
            ));
        }
        Ok(true)
    }
}

/// Characters of Windows-1252 from 0x80 to 0x9f (Unicode Consortium's mapping table, from memory; unassigned ones stay
/// control characters).
const HIGH: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}',
    '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
];

/// A line as text: UTF-8, or Windows-1252 if it is not.
pub(crate) fn text(line: &[u8]) -> String {
    match std::str::from_utf8(line) {
        Ok(text) => text.to_owned(),
        Err(_) => line
            .iter()
            .map(|byte| match byte {
                0x80..=0x9f => HIGH[usize::from(byte - 0x80)],
                byte => char::from(*byte),
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &[u8]) -> Result<Vec<String>, ReadFault> {
        let mut lines = Lines::new(std::io::BufReader::with_capacity(3, bytes));
        let (mut line, mut found) = (Vec::new(), Vec::new());
        while lines.next_into(&mut line)? {
            found.push(text(&line));
        }
        Ok(found)
    }

    #[test]
    fn either_end_mark_and_code_page_are_taken() {
        assert_eq!(all(b"\xef\xbb\xbfa\r\nb\n\nc").unwrap(), ["a", "b", "", "c"]);
        assert_eq!(all(b"t (\xb5s)").unwrap(), ["t (µs)"]);
        assert_eq!(all("t (µs)".as_bytes()).unwrap(), ["t (µs)"]);
        assert_eq!(all(b"\x80\x9f").unwrap(), ["€Ÿ"]);
        assert_eq!(all(b"").unwrap(), Vec::<String>::new());
    }

    #[test]
    fn what_is_no_text_is_refused_with_its_line() {
        assert_eq!(all(b"a\nb\0c").unwrap_err().line, 2);
        assert!(all(b"\xff\xfea\0").unwrap_err().message.contains("UTF-16"));
        let long = vec![b'1'; LONGEST + 1];
        assert!(all(&long).unwrap_err().message.contains("longer"));
    }
}
