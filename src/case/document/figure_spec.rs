//! How a figure is made, kept with the case under a name so that the next one looks the same.

use crate::case::document::Case;
use crate::case::document::extra::Extra;

/// What a figure is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FigureKind {
    /// One shot.
    #[default]
    Shot,
    /// Two shots beside each other, and what changed.
    BeforeAfter,
    /// Shots in their order.
    Sequence,
    /// A lateral and an AP that belong together, with the drawings of the body.
    Pair,
}

/// How wide a figure is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FigureWidth {
    /// One column of a journal: 85 mm.
    Single,
    /// One column and a half: 120 mm.
    OneAndHalf,
    /// Two columns: 175 mm.
    #[default]
    Double,
    /// A slide of 16:9.
    Slide,
    /// A slide of 4:3.
    SlideFourThree,
    /// A poster's figure: 600 mm.
    Poster,
}

/// The ground of a figure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FigureGround {
    /// Dark on light, for paper.
    #[default]
    Light,
    /// Light on dark, for dim rooms.
    Dark,
}

/// How a figure is made.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureSpec {
    /// What it is called among the case's templates.
    pub name: String,
    /// What it is.
    pub kind: FigureKind,
    /// Whether overlay and readings are in it; without them the pictures are clean.
    pub marked: bool,
    /// Whether whole frames are shown, not only what is about the body.
    pub whole: bool,
    /// How wide it is.
    pub width: FigureWidth,
    /// Its ground.
    pub ground: FigureGround,
    /// Its heading: the case's title where none is given, nothing where it is empty.
    pub title: Option<String>,
    /// Whether the pictures have letters.
    pub letters: bool,
    /// Words below the pictures.
    pub caption: Option<String>,
    /// Whether calibrated pictures have a bar of known length.
    pub scale_bar: bool,
    /// Whether what the lines mean is said.
    pub legend: bool,
    /// Keys that this version does not know.
    pub extra: Extra,
}

impl Default for FigureSpec {
    fn default() -> Self {
        Self {
            name: String::new(),
            kind: FigureKind::default(),
            marked: true,
            whole: false,
            width: FigureWidth::default(),
            ground: FigureGround::default(),
            title: None,
            letters: true,
            caption: None,
            scale_bar: true,
            legend: true,
            extra: Extra::default(),
        }
    }
}

impl FigureKind {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Shot, Self::BeforeAfter, Self::Sequence, Self::Pair];

    /// The key in the case file and on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Shot => "shot",
            Self::BeforeAfter => "before_after",
            Self::Sequence => "sequence",
            Self::Pair => "pair",
        }
    }

    /// Why these many shots do not make such a figure, if they do not.
    #[must_use]
    pub const fn fault(self, shots: usize) -> Option<&'static str> {
        match self {
            Self::Shot if shots != 1 => Some("a figure of one shot has one shot"),
            Self::BeforeAfter if shots != 2 => Some("a before-and-after figure has two shots"),
            Self::Pair if shots != 2 => Some("a figure of a pair has a lateral and an AP"),
            Self::Sequence if shots == 0 => Some("a sequence has at least one shot"),
            _ => None,
        }
    }
}

impl FigureWidth {
    /// All widths.
    pub const ALL: [Self; 6] =
        [Self::Single, Self::OneAndHalf, Self::Double, Self::Slide, Self::SlideFourThree, Self::Poster];

    /// The key in the case file and on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::OneAndHalf => "one_and_half",
            Self::Double => "double",
            Self::Slide => "slide",
            Self::SlideFourThree => "slide_4_3",
            Self::Poster => "poster",
        }
    }
}

impl FigureGround {
    /// Both grounds.
    pub const ALL: [Self; 2] = [Self::Light, Self::Dark];

    /// The key in the case file and on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }
}

impl Case {
    /// The template of this name.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&FigureSpec> {
        self.figures.iter().find(|figure| figure.name == name)
    }

    /// Puts a template in the place of the one of its name, or at the end.
    pub(crate) fn set_figure(&mut self, figure: FigureSpec) {
        match self.figures.iter_mut().find(|one| one.name == figure.name) {
            Some(one) => *one = figure,
            None => self.figures.push(figure),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::edit::{Edit, EditError};

    #[test]
    fn a_template_is_kept_changed_and_taken_out_by_its_name() {
        let mut case = Case::default();
        let spec = FigureSpec { name: "talk".to_owned(), width: FigureWidth::Slide, ..FigureSpec::default() };
        case.apply(&Edit::SetFigure(Box::new(spec.clone()))).unwrap();
        let dark = FigureSpec { ground: FigureGround::Dark, ..spec };
        case.apply(&Edit::SetFigure(Box::new(dark.clone()))).unwrap();
        assert_eq!(case.figures, [dark]);
        case.apply(&Edit::RemoveFigure("talk".to_owned())).unwrap();
        assert!(case.figures.is_empty());
        let again = case.apply(&Edit::RemoveFigure("talk".to_owned()));
        assert!(matches!(again, Err(EditError::Implausible(_))));
        let nameless = case.apply(&Edit::SetFigure(Box::default()));
        assert!(matches!(nameless, Err(EditError::Implausible(_))));
    }

    #[test]
    fn a_kind_says_how_many_shots_it_needs() {
        assert_eq!(FigureKind::Shot.fault(1), None);
        assert!(FigureKind::Shot.fault(2).is_some() && FigureKind::Pair.fault(3).is_some());
        assert!(FigureKind::BeforeAfter.fault(1).is_some() && FigureKind::Sequence.fault(0).is_some());
        assert_eq!(FigureKind::Sequence.fault(9), None);
    }
}
