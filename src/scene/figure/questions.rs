//! Questions for teaching: the same frame without and with the answer.

use crate::case::document::Case;
use crate::case::document::figure_spec::FigureKind;
use crate::measure::mark::View;
use crate::scene::figure::asked::{FigureOptions, FigureShot, FigureStyle};
use crate::scene::figure::figure;
use crate::scene::overlay::LayerSet;
use crate::scene::page::Page;

/// A question and its answer, the same frame on both.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The picture without anything drawn on it.
    pub asked: Page,
    /// The same with overlay and readings.
    pub answered: Page,
}

/// What is asked of a view.
#[must_use]
pub const fn sentence(view: View) -> &'static str {
    match view {
        View::Lateral => "How deep does the tip lie in the body, and at what height?",
        View::Ap => "How far from the midline does the tip lie, and at what height?",
        View::Pedicle => "Where on the pedicle does the tip dock?",
    }
}

/// A question for each of the shots that has a reading, in their order, numbered where there are several. The question
/// takes the place of a title.
#[must_use]
pub fn questions(case: &Case, shots: &[FigureShot<'_>], options: &FigureOptions) -> Vec<Question> {
    let read: Vec<&FigureShot<'_>> = shots.iter().filter(|shot| shot.reading.is_read()).collect();
    let number = |i: usize| (read.len() > 1).then_some(i + 1);
    read.iter().enumerate().map(|(i, shot)| question(case, shot, number(i), options)).collect()
}

/// A question about one shot, with its number where there are several.
#[must_use]
pub fn question(
    case: &Case,
    shot: &FigureShot<'_>,
    number: Option<usize>,
    options: &FigureOptions,
) -> Question {
    let asked = sentence(shot.shot.view);
    let title = number.map_or_else(|| asked.to_owned(), |number| format!("{number}. {asked}"));
    let style = FigureStyle { kind: Some(FigureKind::Shot), asks: true, ..options.style.clone() };
    let with = |layers: Option<LayerSet>| {
        let options =
            FigureOptions { title: Some(title.clone()), layers, style: style.clone(), ..options.clone() };
        figure(case, std::slice::from_ref(shot), &[], &options)
    };
    Question { asked: with(None), answered: with(Some(options.layers.unwrap_or_default())) }
}
