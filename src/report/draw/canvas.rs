//! A screen of characters with dots finer than a character: eight of them in every cell.

use crate::report::text::{Prose, Tone};

/// Dots in a cell from left to right.
pub const DOTS_ACROSS: usize = 2;
/// Dots in a cell from top to bottom.
pub const DOTS_DOWN: usize = 4;

/// The first of the 256 characters of braille; the eight lowest bits say which dots are raised (Unicode, block
/// U+2800).
const BRAILLE: u32 = 0x2800;
/// The bit of each dot, by row and column.
const BITS: [[u8; DOTS_ACROSS]; DOTS_DOWN] =
    [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// One character of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Cell {
    character: char,
    tone: Tone,
    dots: u8,
}

/// Characters in rows.
#[derive(Debug, Clone)]
pub struct Canvas {
    width: usize,
    cells: Vec<Cell>,
}

impl Canvas {
    /// An empty screen.
    pub fn new(width: usize, height: usize) -> Self {
        let empty = Cell {
            character: ' ',
            tone: Tone::Plain,
            dots: 0,
        };
        Self {
            width,
            cells: vec![empty; width * height],
        }
    }

    /// Puts a character into a cell; beyond the edge nothing happens. Dots in the cell go.
    pub fn put(&mut self, column: usize, row: usize, character: char, tone: Tone) {
        if let Some(cell) = self.cell(column, row) {
            *cell = Cell {
                character,
                tone,
                dots: 0,
            };
        }
    }

    /// Writes words from a cell to the right.
    pub fn write(&mut self, column: usize, row: usize, words: &str, tone: Tone) {
        for (k, character) in words.chars().enumerate() {
            self.put(column + k, row, character, tone);
        }
    }

    /// Raises a dot, counted from the top left one of the screen.
    pub fn dot(&mut self, across: usize, down: usize, tone: Tone) {
        let bit = BITS[down % DOTS_DOWN][across % DOTS_ACROSS];
        if let Some(cell) = self.cell(across / DOTS_ACROSS, down / DOTS_DOWN) {
            cell.dots |= bit;
            cell.tone = tone;
            cell.character = char::from_u32(BRAILLE + u32::from(cell.dots)).unwrap_or('*');
        }
    }

    /// The rows from the top.
    pub fn lines(&self) -> Vec<Prose> {
        self.cells
            .chunks(self.width.max(1))
            .map(|row| {
                row.chunk_by(|a, b| a.tone == b.tone)
                    .fold(Prose::new(), |prose, run| {
                        let words: String = run.iter().map(|cell| cell.character).collect();
                        prose.toned(run[0].tone, words)
                    })
            })
            .collect()
    }

    fn cell(&mut self, column: usize, row: usize) -> Option<&mut Cell> {
        if column >= self.width {
            return None;
        }
        self.cells.get_mut(row * self.width + column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Unicode, block U+2800: dots 1 to 8 are the bits from the lowest up, numbered down the left
    /// column, down the right one, then the bottom row.
    #[test]
    fn dots_of_a_cell_gather_in_one_character() {
        let mut canvas = Canvas::new(2, 1);
        canvas.dot(0, 0, Tone::Plain);
        canvas.dot(1, 3, Tone::Plain);
        canvas.dot(2, 1, Tone::Plain);
        canvas.dot(9, 0, Tone::Plain);
        assert_eq!(canvas.lines(), [Prose::new().plain("\u{2881}\u{2802}")]);
    }
}
