//! Which slides are presented, from where the presentation begins.

use crate::app::pages::compare::memory::Compare;
use crate::app::pages::figure::memory::Figure;
use crate::app::pages::page::Page;
use crate::app::pages::presenting::memory::PresentedSlide;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use crate::case::document::{Case, Shot};
use crate::scene::comparison::page::ShownAs;
use crate::scene::figure::asked::{MOST_ON_SLIDE, MOST_WORDS_ON_SLIDE};
use crate::scene::format::shortened;

/// The slides of what this page shows, and which of them comes first.
pub(super) fn of_page(state: &State, page: Page) -> Option<(Vec<PresentedSlide>, usize)> {
    let document = state.editor.document.as_ref()?;
    match page {
        Page::Picture => {
            let slides: Vec<_> = document.case().shots.iter().map(|shot| alone(&shot.id)).collect();
            Some((slides, document.index()?))
        }
        Page::Figure => Some((of_figure(&state.pages.figure), 0)),
        Page::Compare => Some((of_comparison(&state.pages.compare)?, 0)),
        Page::Overview
        | Page::TipPath
        | Page::Series
        | Page::Rereading
        | Page::Practice
        | Page::Presenting => None,
    }
}

/// A question about each shot that has a reading.
pub(super) fn of_questions(document: &Document) -> Vec<PresentedSlide> {
    let shots = document.case().shots.iter().enumerate();
    let read = shots.filter(|(at, _)| document.read(*at).is_some_and(|(reading, _)| reading.is_read()));
    let read: Vec<&Shot> = read.map(|(_, shot)| shot).collect();
    let number = |i: usize| (read.len() > 1).then_some(i + 1);
    read.iter().enumerate().map(|(i, shot)| PresentedSlide::Question(shot.id.clone(), number(i))).collect()
}

/// How slides are made where nobody has chosen otherwise.
pub(super) fn plain(case: &Case) -> FigureSpec {
    let title = case.title.as_deref().map(|title| shortened(title, MOST_WORDS_ON_SLIDE.0));
    FigureSpec {
        title,
        letters: false,
        ground: FigureGround::Dark,
        width: FigureWidth::Slide,
        ..FigureSpec::default()
    }
}

fn alone(shot: &str) -> PresentedSlide {
    let spec = FigureSpec { letters: false, ..FigureSpec::default() };
    PresentedSlide::Figure(vec![shot.to_owned()], Box::new(spec))
}

/// The figure, on as many slides as hold its shots, then each of its shots alone.
fn of_figure(figure: &Figure) -> Vec<PresentedSlide> {
    let spec = FigureSpec {
        caption: figure.spec.caption.as_deref().map(|words| shortened(words, MOST_WORDS_ON_SLIDE.1)),
        title: figure.spec.title.as_deref().map(|words| shortened(words, MOST_WORDS_ON_SLIDE.0)),
        ..figure.spec.clone()
    };
    let together = figure.shots.chunks(MOST_ON_SLIDE);
    let mut slides: Vec<_> =
        together.map(|shots| PresentedSlide::Figure(shots.to_vec(), Box::new(spec.clone()))).collect();
    if figure.shots.len() > 1 {
        let one = FigureSpec { kind: FigureKind::Shot, letters: false, ..spec };
        let singly = figure.shots.iter();
        slides.extend(singly.map(|id| PresentedSlide::Figure(vec![id.clone()], Box::new(one.clone()))));
    }
    slides
}

/// The two shots as the page shows them, then the earlier and the later one alone.
fn of_comparison(page: &Compare) -> Option<Vec<PresentedSlide>> {
    let shots = page.shots.clone()?;
    let both = match page.shown_as() {
        ShownAs::SideBySide => {
            let spec = FigureSpec { kind: FigureKind::BeforeAfter, letters: false, ..FigureSpec::default() };
            PresentedSlide::Figure(shots.to_vec(), Box::new(spec))
        }
        way => PresentedSlide::Comparison(shots.clone(), page.position, way),
    };
    Some(std::iter::once(both).chain(shots.iter().map(|id| alone(id))).collect())
}
