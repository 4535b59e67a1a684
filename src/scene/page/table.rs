//! A table on a sheet: headings, a thin line, and rows of wrapped cells.

use crate::scene::drawing::shape::{AlignX, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::wrap;
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
        let total: f64 = columns.iter().map(|column| column.share).sum();
        let mut places = Vec::new();
        let mut x = left;
        for column in columns {
            let width = inner * column.share / total.max(f64::MIN_POSITIVE);
            places.push((x, width - space::S3, column.at_right));
            x += width;
        }
        let names: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
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
