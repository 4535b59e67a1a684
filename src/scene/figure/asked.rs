//! What a figure is asked to be: its shots, what stands in it, and what is too much for it.

use crate::case::document::Shot;
use crate::case::document::figure_spec::{FigureKind, FigureSpec, FigureWidth};
use crate::case::image::frame::Frame;
use crate::case::readings::{ReadPairOf, ShotReading};
use crate::measure::reading::{Field, PairReading};
use crate::scene::overlay::LayerSet;
use crate::scene::window_level::WindowLevel;

/// How a figure is to be made.
#[derive(Clone, Debug)]
pub struct FigureOptions {
    /// The heading; none where empty.
    pub title: Option<String>,
    /// The overlay's layers; none leaves the pictures clean, without readings.
    pub layers: Option<LayerSet>,
    /// Grey levels; those that suit the part shown where not given.
    pub window: Option<WindowLevel>,
    /// How much of each frame is shown.
    pub extent: Extent,
    /// What it has beside that.
    pub style: FigureStyle,
}

/// How much of a frame a figure shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// The body and what is about it; the whole frame where nothing of the body is marked. Nothing else of the
    /// frame goes into the file, so that what was burned into its margins stays out of it.
    AroundBody,
    /// The whole frame.
    Whole,
}

/// What a figure has beside its pictures and readings.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureStyle {
    /// What it is; where not said, shots stand as they come.
    pub kind: Option<FigureKind>,
    /// How wide it is; where not said, as wide as suits a screen.
    pub width: Option<FigureWidth>,
    /// Whether the pictures have letters.
    pub letters: bool,
    /// Words below the pictures.
    pub caption: Option<String>,
    /// Whether calibrated pictures have a bar of known length.
    pub scale_bar: bool,
    /// Whether what the lines mean is said.
    pub legend: bool,
    /// Whether room is kept for an answer, so that a question's image lies where its answer's does.
    pub asks: bool,
}

impl Default for FigureStyle {
    fn default() -> Self {
        Self {
            kind: None,
            width: None,
            letters: false,
            caption: None,
            scale_bar: false,
            legend: true,
            asks: false,
        }
    }
}

impl FigureOptions {
    /// What a template asks for; `title` is the case's.
    #[must_use]
    pub fn of_spec(spec: &FigureSpec, title: Option<&str>) -> Self {
        Self {
            title: spec.title.clone().or_else(|| title.map(str::to_owned)),
            layers: spec.marked.then(LayerSet::default),
            window: None,
            extent: if spec.whole { Extent::Whole } else { Extent::AroundBody },
            style: FigureStyle {
                kind: Some(spec.kind),
                width: Some(spec.width),
                letters: spec.letters,
                caption: spec.caption.clone(),
                scale_bar: spec.scale_bar,
                legend: spec.legend,
                asks: false,
            },
        }
    }

    /// Why a figure of so many shots cannot be laid out as asked, as a sentence that says what to do.
    #[must_use]
    pub fn refusal(&self, shots: usize) -> Option<String> {
        let width = self.style.width;
        let slide = width.is_some_and(is_slide);
        let (words, most_shots) =
            if slide { (MOST_WORDS_ON_SLIDE, MOST_ON_SLIDE) } else { (ON_PAPER, MOST_SHOTS) };
        if shots > most_shots {
            let place = if slide { "A slide" } else { "A figure" };
            return Some(format!("{place} holds up to {most_shots} shots, not {shots}; select fewer."));
        }
        let said = [("title", &self.title, words.0), ("caption", &self.style.caption, words.1)];
        said.into_iter().find_map(|(name, text, most)| {
            let signs = text.as_deref().unwrap_or_default().chars().count();
            let place = if slide { " on a slide" } else { "" };
            (signs > most).then(|| {
                format!("The {name} has {signs} characters; up to {most} have room{place}. Shorten it.")
            })
        })
    }
}

/// Whether a page of this width is a slide, with a height of its own.
#[must_use]
pub const fn is_slide(width: FigureWidth) -> bool {
    matches!(width, FigureWidth::Slide | FigureWidth::SlideFourThree)
}

/// The most characters of title and caption on a slide.
pub const MOST_WORDS_ON_SLIDE: (usize, usize) = (120, 160);
/// The same elsewhere.
const ON_PAPER: (usize, usize) = (300, 3_000);
/// The most shots on a slide, and elsewhere: as many as there are letters.
pub const MOST_ON_SLIDE: usize = 8;
const MOST_SHOTS: usize = 26;

/// A shot in a figure.
#[derive(Clone, Copy, Debug)]
pub struct FigureShot<'a> {
    /// The shot.
    pub shot: &'a Shot,
    /// Its reading.
    pub reading: &'a ShotReading,
    /// Its frame, if it can be opened.
    pub frame: Option<&'a Frame>,
    /// The part of the frame in which there is a picture.
    pub field: Field,
}

/// A lateral and an AP shot of the figure that belong together.
#[derive(Clone, Copy, Debug)]
pub struct FigurePair<'a> {
    /// Place of the lateral among the figure's shots.
    pub lateral: usize,
    /// Place of the AP.
    pub ap: usize,
    /// What the two tell together.
    pub reading: &'a PairReading,
}

/// The matched pairs of which both shots are in a figure of these shots, given by their places in the case.
#[must_use]
pub fn pairs_among<'a>(pairs: &'a [ReadPairOf], places: &[usize]) -> Vec<FigurePair<'a>> {
    let place = |of: usize| places.iter().position(|&at| at == of);
    pairs
        .iter()
        .filter_map(|pair| {
            Some(FigurePair { lateral: place(pair.lateral)?, ap: place(pair.ap)?, reading: &pair.reading })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_much_is_refused_with_what_to_do() {
        let spec = |width| FigureSpec { width, ..FigureSpec::default() };
        let options = |width, title: &str| FigureOptions::of_spec(&spec(width), Some(title));
        assert_eq!(options(FigureWidth::Double, "A title").refusal(26), None);
        let long = options(FigureWidth::Double, &"x".repeat(100_000)).refusal(1).unwrap();
        assert_eq!(long, "The title has 100000 characters; up to 300 have room. Shorten it.");
        let sixty = options(FigureWidth::Double, "A title").refusal(60).unwrap();
        assert_eq!(sixty, "A figure holds up to 26 shots, not 60; select fewer.");
        let nine = options(FigureWidth::Slide, "A title").refusal(9).unwrap();
        assert!(nine.starts_with("A slide holds up to 8 shots"), "{nine}");
        let mut captioned = options(FigureWidth::SlideFourThree, "A title");
        captioned.style.caption = Some("word ".repeat(10_000));
        assert!(captioned.refusal(1).unwrap().contains("caption has 50000 characters"));
    }
}
