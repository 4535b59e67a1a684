//! A comparison as a slide: the two shots laid on each other as large as fits, beside it what changed, in type that can be
//! read from the back row.

use crate::align::registration::Registration;
use crate::case::document::Case;
use crate::case::document::figure_spec::FigureWidth;
use crate::scene::comparison::page::{Framed, ShownAs, laid};
use crate::scene::comparison::{Comparison, words};
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::width as width_of;
use crate::scene::figure::Extent;
use crate::scene::figure::bounds_of;
use crate::scene::figure::style::{SLIDE_MARGIN as MARGIN, SLIDE_PIXELS as PIXELS, slide_size, titled};
use crate::scene::format;
use crate::scene::page::Page;
use crate::scene::page::sheet::Sheet;
use crate::scene::words::caution;

/// Share of the slide's width that the image takes.
const IMAGE: f64 = 0.6;

/// The slide. What changed in one view stands on it, or where both shots belong to matched pairs, what these tell.
///
/// # Errors
/// One sentence, where the two show too little in common to be laid on each other, or the width is that of no slide.
pub fn slide(
    case: &Case,
    found: &Comparison,
    [from, to]: [Framed<'_>; 2],
    registration: &Registration,
    (way, width): (ShownAs, FigureWidth),
) -> Result<Page, String> {
    let (size, scale) = slide_size(width).ok_or_else(|| "This width is that of no slide.".to_owned())?;
    let inner = size.0 - 2.0 * MARGIN;
    let mut page = Sheet::new(MARGIN, MARGIN, inner, PIXELS / size.0);
    let (earlier, later) = (from.shot.shot, to.shot.shot);
    let title = case.title.as_deref().map(str::trim).filter(|title| !title.is_empty());
    let body = format::shot(later.level, later.side, later.known_view(), None);
    let long = title.map_or_else(|| body.clone(), |title| titled(title, &body));
    let message = if width_of(&long, TextSize::Body) <= inner { long } else { body };
    page.paragraph(&message, Role::Text, TextSize::Body);
    page.y += space::S1;
    let bottom = size.1 - MARGIN - page.height_of(caution::SHORT, TextSize::Fine);
    let top = page.y;
    let bounds = bounds_of(&to.shot, Extent::AroundBody);
    let room = bottom - space::S1 - top;
    let image = (IMAGE * inner).min(room * bounds.width() / bounds.height().max(1.0));
    laid(&mut page, (MARGIN, image), case, (found, [&from, &to]), registration, way)?;
    let x = MARGIN + image + space::S3;
    let beside = inner - image - space::S3;
    page.y = top;
    for (what, shot) in [("Earlier", earlier), ("Later", later)] {
        // Shots of one stage are told apart by their names.
        let stage = shot.stage.filter(|_| earlier.stage != later.stage);
        let named = stage.map_or_else(|| shot.id.clone(), |stage| format::stage(stage).to_owned());
        page.lines(x, beside, &format!("{what}: {named}"), Role::WeakText, TextSize::Small);
    }
    page.y += space::S2;
    let pairs = found.pair_lines();
    let lines = if pairs.is_empty() { found.lines(case) } else { pairs };
    for line in &lines {
        page.short_wrapped(x, beside, line);
        page.y += space::S1;
    }
    if lines.is_empty() {
        page.lines(x, beside, words::NO_CHANGE, Role::Text, TextSize::Small);
    }
    let cautions = found.issues.iter().map(Vec::len).sum();
    if cautions > 0 && page.y + Sheet::line_height(TextSize::Small) <= bottom {
        page.caution_count(x, beside, cautions);
    }
    if way == ShownAs::Difference {
        page.y += space::S2;
        page.lines(x, beside, words::DIFFERENCE, Role::WeakText, TextSize::Small);
    }
    page.y = bottom;
    page.paragraph(caution::SHORT, Role::WeakText, TextSize::Fine);
    Ok(page.finish(size, scale))
}
