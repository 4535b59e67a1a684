//! The pages, and the paths that they want from the user.

/// What fills the window's middle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Page {
    /// One picture with its marks.
    #[default]
    Picture,
    /// All shots, large.
    Overview,
    /// Two shots of one body laid on each other.
    Compare,
    /// The run of one body's shots.
    TipPath,
    /// A figure being made.
    Figure,
    /// Many cases.
    Series,
    /// Shots read again blind.
    Rereading,
    /// Simulated shots with known truth.
    Practice,
    /// What one of these shows, to a room.
    Presenting,
}

/// A path that a page wants from the user.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wish {
    /// For which page.
    pub page: Page,
    /// What kind of path.
    pub what: PathKind,
    /// The dialog's title, as "Save the figure".
    pub title: &'static str,
    /// The sentence over the field where a path is typed when the system has no dialog.
    pub typed: &'static str,
}

/// A kind of path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathKind {
    /// A file to write, with the endings it may have.
    File(&'static [&'static str]),
    /// A folder that is there.
    Folder,
}

impl Page {
    /// All but the picture itself, in the order of the menu.
    pub const OTHERS: [Self; 8] = [
        Self::Overview,
        Self::Compare,
        Self::TipPath,
        Self::Figure,
        Self::Series,
        Self::Rereading,
        Self::Practice,
        Self::Presenting,
    ];
}
