//! Numbers in columns.

/// Stands between two columns.
const BETWEEN: &str = "  ";

/// Columns of numbers under their headings, set flush right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    heads: Vec<Vec<String>>,
    rows: Vec<Vec<String>>,
}

/// One line of a table.
pub(super) struct TableLine {
    /// Whether it is a heading.
    pub head: bool,
    pub text: String,
}

impl Table {
    /// A table with one heading for each column; a heading may have several lines, parted by `\n`.
    pub fn new(heads: impl IntoIterator<Item = String>) -> Self {
        let heads: Vec<Vec<String>> = heads
            .into_iter()
            .map(|head| head.split('\n').map(str::to_owned).collect())
            .collect();
        Self {
            heads,
            rows: Vec::new(),
        }
    }

    /// Adds a row, a cell for each column.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Characters from the left edge to the right edge.
    pub fn width(&self) -> usize {
        let widths = self.widths();
        widths.iter().sum::<usize>() + BETWEEN.len() * widths.len().saturating_sub(1)
    }

    fn widths(&self) -> Vec<usize> {
        let count = |text: &String| text.chars().count();
        self.heads
            .iter()
            .enumerate()
            .map(|(column, head)| {
                let cells = self.rows.iter().filter_map(|row| row.get(column));
                head.iter().chain(cells).map(count).max().unwrap_or(0)
            })
            .collect()
    }

    /// The lines, headings first; none if the table has no rows.
    pub(super) fn lines(&self) -> Vec<TableLine> {
        if self.rows.is_empty() {
            return Vec::new();
        }
        let widths = self.widths();
        let line = |cells: Vec<&str>, head: bool| {
            let text = cells
                .iter()
                .zip(&widths)
                .map(|(cell, width)| format!("{cell:>width$}"))
                .collect::<Vec<_>>()
                .join(BETWEEN);
            TableLine { head, text }
        };
        let head_lines = self.heads.iter().map(Vec::len).max().unwrap_or(0);
        let heads = (0..head_lines).map(|k| {
            let cells = self.heads.iter().map(|head| {
                // The last line of every heading stands right above the numbers.
                let skip = head_lines - head.len();
                k.checked_sub(skip).map_or("", |k| head[k].as_str())
            });
            line(cells.collect(), true)
        });
        let rows = self
            .rows
            .iter()
            .map(|row| line(row.iter().map(String::as_str).collect(), false));
        heads.chain(rows).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_as_wide_as_their_widest_cell() {
        let mut table = Table::new(["at\nmm".into(), "high".into()]);
        table.row(["150".into(), "0.031 F".into()]);
        table.row(["1150".into(), "0".into()]);
        assert_eq!(table.width(), 13);
        let lines: Vec<String> = table.lines().into_iter().map(|line| line.text).collect();
        assert_eq!(
            lines,
            [
                "  at         ",
                "  mm     high",
                " 150  0.031 F",
                "1150        0"
            ]
        );
    }
}
