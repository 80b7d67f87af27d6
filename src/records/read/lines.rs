//! Where a byte stands: line and column, found without walking the line.

use super::super::Place;

/// Bytes between two remembered character counts; a whole colony may stand on one line of JSON.
const STRIDE: usize = 256;

/// The line starts of a text, and character counts at regular distances.
pub(super) struct LineIndex<'t> {
    text: &'t [u8],
    starts: Vec<usize>,
    characters: Vec<usize>,
}

impl<'t> LineIndex<'t> {
    /// Indexes a text whose first character (after a byte order mark) is at `first`.
    pub fn new(text: &'t [u8], first: usize) -> Self {
        let newlines = text.iter().enumerate().filter(|(_, byte)| **byte == b'\n');
        let starts = std::iter::once(first).chain(newlines.map(|(at, _)| at + 1)).collect();
        let mut characters = Vec::with_capacity(text.len() / STRIDE + 1);
        let mut sum = 0;
        for block in text.chunks(STRIDE) {
            characters.push(sum);
            sum += count(block);
        }
        LineIndex { text, starts, characters }
    }

    /// The place of the bytes from `start` to `end`.
    pub fn place(&self, start: usize, end: usize) -> Place {
        let start = start.min(self.text.len());
        let end = end.clamp(start, self.text.len());
        let line = self.starts.partition_point(|first| *first <= start).max(1);
        let first = self.starts[line - 1].min(start);
        let column = self.before(start) - self.before(first) + 1;
        Place { start, end, line, column }
    }

    fn before(&self, offset: usize) -> usize {
        let block = (offset / STRIDE).min(self.characters.len().saturating_sub(1));
        let known = self.characters.get(block).copied().unwrap_or(0);
        known + count(&self.text[(block * STRIDE).min(offset)..offset])
    }
}

/// Characters that begin in these bytes of UTF-8.
fn count(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| (**byte & 0xC0) != 0x80).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_lines_count_from_one() {
        let text = "ab\nçé x\n";
        let index = LineIndex::new(text.as_bytes(), 0);
        let x = text.find('x').unwrap();
        let place = index.place(x, x + 1);
        assert_eq!((place.line, place.column), (2, 4));
        assert_eq!(index.place(0, 1).column, 1);
        assert_eq!(index.place(text.len(), text.len()).line, 3);
        assert_eq!(index.place(900, 901).line, 3);
    }

    #[test]
    fn columns_on_a_long_line_agree_with_walking_it() {
        let text = "é1".repeat(2000);
        let index = LineIndex::new(text.as_bytes(), 0);
        for (walked, (offset, _)) in text.char_indices().enumerate() {
            assert_eq!(index.place(offset, offset).column, walked + 1);
        }
    }

    #[test]
    fn an_empty_text_has_one_place() {
        assert_eq!(LineIndex::new(b"", 0).place(0, 0).line, 1);
    }
}
