//! A table on a sheet: headings, a thin line, and rows of wrapped cells.

use crate::scene::drawing::shape::{AlignX, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::{widest_word, wrap};
use crate::scene::page::sheet::Sheet;

/// A column of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its heading.
    pub name: String,
    /// Its share of the width; shares need not add up to anything.
    pub share: f64,
    /// Whether what is in it stands at its right edge, as numbers do.
    pub at_right: bool,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub fn words(name: &str, share: f64) -> Self {
        Self { name: name.to_owned(), share, at_right: false }
    }

    /// A column of numbers.
    #[must_use]
    pub fn numbers(name: &str, share: f64) -> Self {
        Self { at_right: true, ..Self::words(name, share) }
    }
}

/// Left edge and width of a column, and whether its words stand at the right.
type ColumnPlace = (f64, f64, bool);
/// The lines of a row's cells, and the row's height.
type Cells = (Vec<Vec<String>>, f64);

/// A table whose columns have their places and whose cells are wrapped.
#[derive(Clone, Debug)]
pub struct LaidTable {
    places: Vec<ColumnPlace>,
    head: Cells,
    rows: Vec<Cells>,
}

impl LaidTable {
    /// A table from this left edge on and so wide. Cells of a row without a column are left out.
    #[must_use]
    pub fn of((left, inner): (f64, f64), columns: &[Column], rows: &[Vec<String>]) -> Self {
        let names: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
        let widest = |i: usize| {
            let cells = std::iter::once(&names).chain(rows).filter_map(move |row| row.get(i));
            // A hair more, for a word that fits exactly must not be broken by how its width is rounded.
            cells.map(|cell| widest_word(cell, TextSize::Small)).fold(0.0, f64::max) + space::S3 + 0.01
        };
        let least: Vec<f64> = (0..columns.len()).map(widest).collect();
        let shares: Vec<f64> = columns.iter().map(|column| column.share).collect();
        let mut places = Vec::new();
        let mut x = left;
        for (column, width) in columns.iter().zip(widths(&shares, &least, inner)) {
            places.push((x, width - space::S3, column.at_right));
            x += width;
        }
        let (head, rows) = (cells(&places, &names), rows.iter().map(|row| cells(&places, row)).collect());
        Self { places, head, rows }
    }

    /// Height of the headings.
    #[must_use]
    pub const fn head_height(&self) -> f64 {
        self.head.1
    }

    /// Height of a row; 0 where there is none.
    #[must_use]
    pub fn height(&self, row: usize) -> f64 {
        self.rows.get(row).map_or(0.0, |(_, height)| *height)
    }

    /// Writes the headings with the line below them.
    pub fn head(&self, sheet: &mut Sheet) {
        self.written(sheet, &self.head, Role::WeakText);
        sheet.rule();
        sheet.y -= space::S3 - space::S1;
    }

    /// Writes a row.
    pub fn row(&self, sheet: &mut Sheet, row: usize) {
        if let Some(cells) = self.rows.get(row) {
            self.written(sheet, cells, Role::Text);
        }
    }

    fn written(&self, sheet: &mut Sheet, (cells, height): &Cells, role: Role) {
        let top = sheet.y;
        for (&(x, width, at_right), lines) in self.places.iter().zip(cells) {
            let place = if at_right { (x + width, AlignX::Right) } else { (x, AlignX::Left) };
            for line in lines {
                sheet.word(place, line, role, TextSize::Small);
                sheet.y += Sheet::line_height(TextSize::Small);
            }
            sheet.y = top;
        }
        sheet.y = top + height;
    }
}

/// Widths of columns by their shares, but none narrower than its widest word as long as there is room for that: what such a
/// column needs more is taken from the others.
fn widths(shares: &[f64], least: &[f64], inner: f64) -> Vec<f64> {
    let by_shares = |free: &[bool], room: f64| {
        let total: f64 = shares.iter().zip(free).filter(|(_, free)| **free).map(|(share, _)| share).sum();
        room / total.max(f64::MIN_POSITIVE)
    };
    let mut free = vec![true; shares.len()];
    if least.iter().sum::<f64>() > inner {
        let one = by_shares(&free, inner);
        return shares.iter().map(|share| one * share).collect();
    }
    loop {
        let taken: f64 = least.iter().zip(&free).filter(|(_, free)| !**free).map(|(least, _)| least).sum();
        let one = by_shares(&free, inner - taken);
        let narrow = (0..shares.len()).find(|&i| free[i] && one * shares[i] < least[i]);
        match narrow {
            Some(i) => free[i] = false,
            None => {
                return (0..shares.len()).map(|i| if free[i] { one * shares[i] } else { least[i] }).collect();
            }
        }
    }
}

fn cells(places: &[ColumnPlace], row: &[String]) -> Cells {
    let cells: Vec<_> =
        places.iter().zip(row).map(|(&(_, width, _), cell)| wrap(cell, TextSize::Small, width)).collect();
    let mut height = Sheet::line_height(TextSize::Small);
    for lines in &cells {
        let of_lines = lines.iter().map(|_| Sheet::line_height(TextSize::Small)).sum();
        height = f64::max(height, of_lines);
    }
    (cells, height + space::S1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: of 100 points the second column's share is 10; its word needs 30, and the others part the 70 that are left as
    /// 5 to 4.
    #[test]
    fn a_column_is_as_wide_as_its_widest_word() {
        let close = |found: Vec<f64>, expected: [f64; 3]| {
            assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?}");
        };
        close(widths(&[50.0, 10.0, 40.0], &[5.0, 5.0, 5.0], 100.0), [50.0, 10.0, 40.0]);
        close(
            widths(&[50.0, 10.0, 40.0], &[5.0, 30.0, 5.0], 100.0),
            [70.0 * 5.0 / 9.0, 30.0, 70.0 * 4.0 / 9.0],
        );
        close(widths(&[50.0, 10.0, 40.0], &[60.0, 30.0, 20.0], 100.0), [50.0, 10.0, 40.0]);
    }

    /// A table once had “SD of differenc” and “es” below it.
    #[test]
    fn no_heading_is_broken_within_a_word() {
        let heads = ["compared", "n", "bias (95 %)", "SD of differences", "SD, mm", "own sessions, mm"];
        let columns: Vec<Column> = heads.iter().map(|head| Column::numbers(head, 1.0)).collect();
        let rows = vec![heads.map(|_| "−0.793".to_owned()).to_vec()];
        let table = LaidTable::of((0.0, 400.0), &columns, &rows);
        for (lines, head) in table.head.0.iter().zip(heads) {
            assert_eq!(lines.join(" "), head, "{lines:?}");
        }
        assert!(table.rows.iter().flat_map(|(cells, _)| cells).all(|lines| lines.len() == 1));
    }
}
