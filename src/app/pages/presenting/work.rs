//! Drawing a slide at the edge.

use std::sync::Arc;

use crate::app::pages::figure::drawing::{DrawnFigure, FigureOrder, as_pixels, figure_page};
use crate::app::pages::page_order::PageOrder;
use crate::scene::drawing::theme::Theme;

/// A slide to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct SlideOrder {
    /// What is on it.
    pub of: SlideSource,
    /// How many pixels its longer side has.
    pub longest: u32,
}

/// What a slide is made of.
#[derive(Clone, Debug, PartialEq)]
pub enum SlideSource {
    /// A figure.
    Figure(Box<FigureOrder>),
    /// A page that another page of the window shows.
    Page(Box<PageOrder>),
}

/// A slide as pixels, or sentences of why there is none.
pub type DrawnSlide = Result<Arc<DrawnFigure>, Vec<String>>;

/// What is done for presenting at the edge.
#[derive(Clone, Debug, PartialEq)]
pub struct PresentWork(pub SlideOrder);

/// What came of that.
#[derive(Clone, Debug)]
pub struct PresentDone(pub SlideOrder, pub DrawnSlide);

/// Work at the edge: opens the images and draws the slide, as many pixels long as the screen has room for.
pub(in crate::app::pages) fn perform(work: PresentWork) -> PresentDone {
    let order = work.0;
    let slide = drawn(&order);
    PresentDone(order, slide)
}

fn drawn(order: &SlideOrder) -> DrawnSlide {
    let mut page = match &order.of {
        SlideSource::Figure(order) => figure_page(order).map_err(|(mut sentences, in_doubt)| {
            if in_doubt {
                sentences.push("Redact the text first; until then the image is not presented.".to_owned());
            }
            sentences
        })?,
        SlideSource::Page(order) => order.page().map_err(|why| vec![why])?,
    };
    let longest = f64::from(order.longest);
    page.raster = longest / page.size.0.max(page.size.1).max(1.0);
    as_pixels(&page, &Theme::dark(), longest)
        .map_err(|e| vec![crate::app::marking::guide::capital(&format!("{e}."))])
}
