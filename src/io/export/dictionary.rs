//! The columns of every table that is written: their names, units and meanings, as docs/columns.md shows them.

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableColumn {
    /// Its heading.
    pub name: &'static str,
    /// Its unit; empty for words, counts and fractions.
    pub unit: &'static str,
    /// What it says.
    pub meaning: &'static str,
}

impl TableColumn {
    /// A column.
    #[must_use]
    pub const fn new(name: &'static str, unit: &'static str, meaning: &'static str) -> Self {
        Self { name, unit, meaning }
    }
}
