//! A finished picture of a comparison: the two shots beside each other or as one, what changed, and the caution.

use std::sync::Arc;

use crate::align::registration::Registration;
use crate::case::document::Case;
use crate::case::image::frame::Frame;
use crate::geom::point::{Point, Vec2};
use crate::scene::comparison::arrow_and_marks::{self, ComparisonMarks, Whose};
use crate::scene::comparison::layers::{Blend, Layers};
use crate::scene::comparison::{Comparison, words};
use crate::scene::drawing::shape::{Greys, Picture, Rect, Role, Scene, Space, TextSize};
use crate::scene::drawing::theme::{Ground, space};
use crate::scene::figure::asked::FigureStyle;
use crate::scene::figure::{Extent, FigureOptions, FigureShot, bounds_of, pictured, region_of};
use crate::scene::format;
use crate::scene::overlay::LayerSet;
use crate::scene::page::sheet::Sheet;
use crate::scene::page::{Page, PagePart};
use crate::scene::window_level::WindowLevel;
use crate::scene::words::caution;

/// How the two are shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ShownAs {
    /// Beside each other.
    SideBySide,
    /// One over the other, the later with this share.
    Blend(f64),
    /// The earlier on the left of a line at this share of the picture's width, the later on the right.
    Divider(f64),
    /// What differs.
    Difference,
}

/// A shot of the comparison with its frame.
#[derive(Clone, Copy, Debug)]
pub struct Framed<'a> {
    /// The shot as a figure takes it.
    pub shot: FigureShot<'a>,
    /// Its frame.
    pub frame: &'a Arc<Frame>,
}

/// Width of the whole, and room about it, in points.
const WIDTH: f64 = 784.0;
const MARGIN: f64 = space::S6;

/// The page. Only what is about the body is shown, with every cover in its pixels.
///
/// # Errors
/// One sentence, where the two show too little in common to be laid on each other.
pub fn page(
    case: &Case,
    found: &Comparison,
    [from, to]: [Framed<'_>; 2],
    registration: &Registration,
    way: ShownAs,
) -> Result<Page, String> {
    let column = if way == ShownAs::SideBySide { 0.5 * (WIDTH - MARGIN) } else { WIDTH };
    let mut page = Sheet::new(MARGIN, MARGIN, WIDTH, raster(&to.shot, column));
    if let Some(title) = case.title.as_deref().filter(|title| !title.trim().is_empty()) {
        page.paragraph(title, Role::Text, TextSize::Large);
        page.y += space::S2;
    }
    on_sheet(&mut page, case, found, [from, to], (registration, way))?;
    page.rule();
    page.paragraph(caution::SHORT, Role::WeakText, TextSize::Small);
    let size = (page.inner + 2.0 * MARGIN, page.y + MARGIN - space::S1);
    Ok(page.finish(size, 1.0))
}

/// The two shots and what changed, over the whole width of a sheet.
///
/// # Errors
/// One sentence, where the two show too little in common to be laid on each other.
pub(crate) fn on_sheet(
    page: &mut Sheet,
    case: &Case,
    found: &Comparison,
    [from, to]: [Framed<'_>; 2],
    (registration, way): (&Registration, ShownAs),
) -> Result<(), String> {
    let options = FigureOptions {
        title: case.title.clone(),
        layers: Some(LayerSet::default()),
        window: None,
        extent: Extent::AroundBody,
        style: FigureStyle::default(),
    };
    let column = if way == ShownAs::SideBySide { 0.5 * (page.inner - MARGIN) } else { page.inner };
    let left = page.left;
    let name = |what: &str, one: &Framed<'_>| {
        let shot = one.shot.shot;
        format!(
            "{what}: {} ({})",
            shot.id,
            format::shot(shot.level, shot.side, shot.known_view(), shot.stage)
        )
    };
    if way == ShownAs::SideBySide {
        let top = page.y;
        let mut bottom = top;
        for (i, one) in [("earlier", &from), ("later", &to)].into_iter().enumerate() {
            let x = if i == 0 { left } else { left + column + MARGIN };
            page.y = top;
            page.lines(x, column, &name(one.0, one.1), Role::Text, TextSize::Small);
            page.y += space::S1;
            pictured(page, (x, column), case, &one.1.shot, &options);
            bottom = bottom.max(page.y);
        }
        page.y = bottom + space::S3;
    } else {
        for (what, one) in [("earlier", &from), ("later", &to)] {
            page.paragraph(&name(what, one), Role::Text, TextSize::Small);
        }
        page.y += space::S1;
        let across = (page.left, page.inner);
        laid(page, across, case, (found, [&from, &to]), registration, way)?;
        let words = if way == ShownAs::Difference { words::DIFFERENCE } else { words::MATCHED };
        page.paragraph(words, Role::WeakText, TextSize::Small);
        page.y += space::S2;
    }
    changed(page, case, found);
    Ok(())
}

/// Pixels to a point with which the picture's pixels become whole squares, at least two pixels to a point.
fn raster(shot: &FigureShot<'_>, column: f64) -> f64 {
    let to_points = column / bounds_of(shot, Extent::AroundBody).width().max(1.0);
    (2.0 * to_points).ceil().max(1.0) / to_points
}

/// The two as one picture, from `x` on and `wide` points wide; the sheet goes on below it.
pub(super) fn laid(
    page: &mut Sheet,
    (x, wide): (f64, f64),
    case: &Case,
    (found, [from, to]): (&Comparison, [&Framed<'_>; 2]),
    registration: &Registration,
    way: ShownAs,
) -> Result<(), String> {
    let covers = [from, to].map(|one| one.shot.shot.covers.as_slice());
    let layers = Layers::of(registration, [from.frame, to.frame], covers)?;
    let bounds = bounds_of(&to.shot, Extent::AroundBody);
    let region = region_of(bounds);
    let blend = match way {
        ShownAs::SideBySide => Blend::Share(1.0),
        ShownAs::Blend(share) => Blend::Share(share),
        ShownAs::Divider(share) => Blend::Divided {
            at: Point::new(bounds.min.x + share * bounds.width(), 0.0),
            toward: Vec2::new(1.0, 0.0),
        },
        ShownAs::Difference => Blend::Difference,
    };
    let window = WindowLevel::automatic_in(layers.later(), to.shot.field, region);
    let tile = layers.seen(region, 1).greys(blend, &window.table(layers.later().max_value()));
    page.y = page.snapped(page.y);
    let left = page.snapped(x);
    let high = wide * bounds.height() / bounds.width();
    let room = Rect::new(left, page.y, left + wide, page.y + high);
    let mut picture = Scene::new(Space::Image, bounds);
    let greys = Greys::Eight(tile.greys);
    picture.picture(bounds, Arc::new(Picture { width: tile.width, height: tile.height, greys }));
    if let ShownAs::Divider(share) = way {
        let x = bounds.min.x + share * bounds.width();
        picture.line(vec![Point::new(x, bounds.min.y), Point::new(x, bounds.max.y)], Role::Accent);
    }
    let maps = [registration.from(), registration.to()];
    let both = [from, to].map(|one| (one.shot.shot, one.shot.reading));
    let of = |i: usize| ComparisonMarks { shot: both[i].0, map: Some(maps[i]), reading: both[i].1 };
    let style = arrow_and_marks::Style {
        whose: Whose::Both,
        layers: LayerSet::default(),
        zoom: wide / bounds.width(),
        bounds,
    };
    let scenes = arrow_and_marks::laid(case, [of(0), of(1)], registration, found.arrow, &style);
    for scene in std::iter::once(picture).chain(scenes) {
        page.parts.push(PagePart { room, scene, ground: Ground::Picture });
    }
    page.y += high + space::S2;
    Ok(())
}

/// The changes, those of the shots on the left and those of the pairs on the right.
fn changed(page: &mut Sheet, case: &Case, found: &Comparison) {
    let (lines, pairs) = (found.lines(case), found.pair_lines());
    if lines.is_empty() {
        page.paragraph(words::NO_CHANGE, Role::Text, TextSize::Body);
    }
    let top = page.y;
    let width = 0.5 * (page.inner - MARGIN);
    let mut bottom = top;
    for (x, heading, lines) in [
        (page.left, if pairs.is_empty() { words::FROM_TO } else { words::ONE_VIEW }, lines),
        (page.left + width + MARGIN, words::PAIRS, pairs),
    ] {
        page.y = top;
        if !lines.is_empty() {
            page.lines(x, width, heading, Role::WeakText, TextSize::Small);
            page.y += space::S1;
        }
        for line in &lines {
            page.reading_line(x, width, line);
        }
        bottom = bottom.max(page.y);
    }
    page.y = bottom;
    for sentence in found.millimetres(case).into_iter().chain(found.remarks(case)) {
        page.paragraph(&sentence, Role::WeakText, TextSize::Small);
    }
    page.y += space::S2;
}
