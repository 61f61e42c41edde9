//! Converts byte offsets to lines and columns and back, in the units of any encoding.

use super::TextChange;

/// The unit that columns are counted in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// 16-bit code units.
    Utf16,
    /// Unicode code points.
    Utf32,
}

/// A place in a text, both numbers from zero.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct LineColumn {
    /// Which line it is in.
    pub line: u32,
    /// How many units of the [`Encoding`] are before it in its line.
    pub column: u32,
}

/// Where each line starts, and by how much bytes outnumber code units.
///
/// Built once per text. Every look-up is a binary search, even on a very long line.
#[derive(Clone, PartialEq, Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
    /// Where each line's text ends, without its line ending.
    ends: Vec<u32>,
    wide: Vec<Wide>,
    length: u32,
}

/// A character of more than one byte.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Wide {
    offset: u32,
    bytes: u8,
    /// Bytes minus UTF-16 units, and bytes minus characters, counted up to the end of this character.
    surplus16: u32,
    surplus32: u32,
}

impl LineIndex {
    /// The index of a text. Lines end with `\n`, `\r\n` or `\r`, as LSP 3.17 says.
    pub fn new(text: &str) -> Self {
        let mut index = Self {
            starts: vec![0],
            ends: Vec::new(),
            wide: Vec::new(),
            length: text.len() as u32,
        };
        index.scan(text, 0, text.len());
        index.ends.push(text.len() as u32);
        index
    }

    /// The index of the text after a change. It equals a new one, but lines that the change does not touch are not
    /// read.
    #[must_use]
    pub fn changed(&self, change: TextChange, new: &str) -> Self {
        // The line before may end with the first half of a line ending.
        let first = self.line_of(change.old.start).saturating_sub(1) as usize;
        let beyond = self.line_of(change.old.end) as usize + 1;
        let from = self.starts[first];
        let old_to = self.starts.get(beyond).copied().unwrap_or(self.length);
        let moved = |offset: u32| offset - change.old.end + change.new_span().end;
        let first_wide = self.wide.partition_point(|wide| wide.offset < from);
        let beyond_wide = self.wide.partition_point(|wide| wide.offset < old_to);
        let mut index = Self {
            starts: self.starts[..=first].to_vec(),
            ends: self.ends[..first].to_vec(),
            wide: self.wide[..first_wide].to_vec(),
            length: moved(self.length),
        };
        index.scan(new, from as usize, moved(old_to) as usize);
        if beyond < self.starts.len() {
            // The scan has already found the start of the next line.
            let starts = self.starts.iter().skip(beyond + 1);
            index.starts.extend(starts.map(|start| moved(*start)));
            let ends = self.ends.iter().skip(beyond);
            index.ends.extend(ends.map(|end| moved(*end)));
        } else {
            index.ends.push(index.length);
        }
        let surplus = |wide: Option<&Wide>| wide.map_or((0, 0), |w| (w.surplus16, w.surplus32));
        let was = surplus(beyond_wide.checked_sub(1).and_then(|i| self.wide.get(i)));
        let is = surplus(index.wide.last());
        let wide = self.wide.iter().skip(beyond_wide);
        index.wide.extend(wide.map(|wide| Wide {
            offset: moved(wide.offset),
            bytes: wide.bytes,
            surplus16: wide.surplus16 - was.0 + is.0,
            surplus32: wide.surplus32 - was.1 + is.1,
        }));
        index
    }

    /// Adds the line endings and wide characters of a piece of text that begins at the start of a line.
    fn scan(&mut self, text: &str, from: usize, to: usize) {
        let Self {
            starts, ends, wide, ..
        } = self;
        let (mut surplus16, mut surplus32) =
            wide.last().map_or((0, 0), |w| (w.surplus16, w.surplus32));
        let bytes = &text.as_bytes()[..to];
        let mut at = from;
        // Most bytes are neither the end of a line nor wide.
        let marks = |byte: &u8| matches!(byte, b'\n' | b'\r') || !byte.is_ascii();
        while let Some(plain) = bytes[at..].iter().position(marks) {
            at += plain;
            match bytes[at] {
                b'\n' | b'\r' => {
                    ends.push(at as u32);
                    at += match bytes[at..] {
                        [b'\r', b'\n', ..] => 2,
                        _ => 1,
                    };
                    starts.push(at as u32);
                }
                _ => {
                    let Some(c) = text[at..].chars().next() else {
                        break;
                    };
                    let bytes = c.len_utf8();
                    surplus16 += (bytes - c.len_utf16()) as u32;
                    surplus32 += (bytes - 1) as u32;
                    wide.push(Wide {
                        offset: at as u32,
                        bytes: bytes as u8,
                        surplus16,
                        surplus32,
                    });
                    at += bytes;
                }
            }
        }
    }

    pub(crate) fn line_count(&self) -> usize {
        self.starts.len()
    }

    /// The bytes of a line without its ending; `None` past the last line.
    pub fn line(&self, line: u32) -> Option<std::ops::Range<usize>> {
        let line = line as usize;
        Some(*self.starts.get(line)? as usize..*self.ends.get(line)? as usize)
    }

    /// The line that contains an offset. A line's ending belongs to the line.
    pub fn line_of(&self, offset: u32) -> u32 {
        self.starts.partition_point(|start| *start <= offset) as u32 - 1
    }

    /// The position of an offset. An offset past the end counts as the end, one inside a character as the character's
    /// start.
    pub fn position(&self, offset: u32, encoding: Encoding) -> LineColumn {
        let offset = self.floor(offset.min(self.length));
        let line = self.line_of(offset);
        let start = self.starts[line as usize];
        LineColumn {
            line,
            column: offset
                - start
                - (self.surplus(offset, encoding) - self.surplus(start, encoding)),
        }
    }

    /// The offset of a position. A line past the last counts as the end of the text. A column past the line's end
    /// counts as that end, and one inside a character as the character's start (LSP 3.17, position).
    pub fn offset(&self, position: LineColumn, encoding: Encoding) -> u32 {
        let line = position.line as usize;
        let (Some(&start), Some(&end)) = (self.starts.get(line), self.ends.get(line)) else {
            return self.length;
        };
        let before = self.surplus(start, encoding);
        let target = u64::from(start) + u64::from(position.column);
        // An offset minus its surplus rises with the offset: search the wide characters for
        // the last one that ends at or before the target.
        let first = self.wide.partition_point(|w| w.offset < start);
        let behind = self.wide[first..].partition_point(|w| {
            w.offset < end && u64::from(w.end()) - u64::from(w.surplus(encoding) - before) <= target
        });
        let surplus = match behind {
            0 => 0,
            n => self.wide[first + n - 1].surplus(encoding) - before,
        };
        let offset = (target + u64::from(surplus)).min(u64::from(end)) as u32;
        self.floor(offset)
    }

    /// The start of the character that contains an offset.
    fn floor(&self, offset: u32) -> u32 {
        let next = self.wide.partition_point(|w| w.offset < offset);
        match next.checked_sub(1).map(|i| self.wide[i]) {
            Some(wide) if offset < wide.end() => wide.offset,
            _ => offset,
        }
    }

    /// How many bytes before an offset are not units of their own.
    fn surplus(&self, offset: u32, encoding: Encoding) -> u32 {
        let behind = self.wide.partition_point(|w| w.offset < offset);
        match behind {
            0 => 0,
            n => self.wide[n - 1].surplus(encoding),
        }
    }
}

impl Wide {
    fn end(self) -> u32 {
        self.offset + u32::from(self.bytes)
    }

    fn surplus(self, encoding: Encoding) -> u32 {
        match encoding {
            Encoding::Utf8 => 0,
            Encoding::Utf16 => self.surplus16,
            Encoding::Utf32 => self.surplus32,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::TextRange;

    const TEXT: &str = "bore ± 2 µm\r\n# 🚗 ok\rlast";

    fn at(needle: &str) -> u32 {
        TEXT.find(needle).unwrap() as u32
    }

    #[test]
    fn columns_count_in_the_encodings_units() {
        let index = LineIndex::new(TEXT);
        for (encoding, column) in [
            (Encoding::Utf8, 7),
            (Encoding::Utf16, 5),
            (Encoding::Utf32, 4),
        ] {
            let position = index.position(at(" ok"), encoding);
            assert_eq!(position.line, 1);
            // "# " and the car, in each encoding's units, less the space before "ok"
            assert_eq!(position.column, column - 1, "{encoding:?}");
        }
    }

    #[test]
    fn every_offset_comes_back() {
        let index = LineIndex::new(TEXT);
        for (offset, _) in TEXT.char_indices().filter(|(_, c)| *c != '\n') {
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let position = index.position(offset as u32, encoding);
                assert_eq!(index.offset(position, encoding), offset as u32);
            }
        }
    }

    #[test]
    fn a_changed_index_is_that_of_the_changed_text() {
        let pieces = ["", "\n", "\r", "\r\n", "🚗", "é", "ab", "x\ny", "\n\r"];
        let texts = [TEXT, "", "\r\n", "a\r\nb\r\n\r\nµ\n", "\r\r\n\n🚗"];
        for text in texts {
            let places: Vec<usize> = (0..=text.len())
                .filter(|at| text.is_char_boundary(*at))
                .collect();
            for (i, &start) in places.iter().enumerate() {
                for &end in &places[i..] {
                    for piece in pieces {
                        let change = TextChange {
                            old: TextRange::new(start, end),
                            new_length: piece.len() as u32,
                        };
                        let new = [&text[..start], piece, &text[end..]].concat();
                        let index = LineIndex::new(text).changed(change, &new);
                        assert_eq!(index, LineIndex::new(&new), "{text:?} {change:?} {piece:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn positions_outside_are_clamped() {
        let index = LineIndex::new(TEXT);
        let end_of_first = LineColumn {
            line: 0,
            column: 999,
        };
        assert_eq!(index.offset(end_of_first, Encoding::Utf16), at("\r\n"));
        let past = LineColumn {
            line: 99,
            column: 0,
        };
        assert_eq!(index.offset(past, Encoding::Utf16), TEXT.len() as u32);
    }

    #[test]
    fn a_column_inside_a_surrogate_pair_counts_as_the_characters_start() {
        let index = LineIndex::new(TEXT);
        let half = LineColumn { line: 1, column: 3 };
        assert_eq!(index.offset(half, Encoding::Utf16), at("🚗"));
    }
}
