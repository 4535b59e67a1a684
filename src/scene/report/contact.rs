//! The run of shots as small pictures beside each other.

use crate::case::document::Shot;
use crate::case::image::burned_in::{proposed_covers, uncovered};
use crate::case::image::field::field_of;
use crate::case::image::frame::Frame;
use crate::case::plan::rows::{ROWS, RowPlace, rows};
use crate::measure::mark::{Level, Side};
use crate::measure::reading::Field;
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::wrap;
use crate::scene::figure::asked::FigureStyle;
use crate::scene::figure::{Extent, FigureOptions, FigureShot, pictured, shows_whole};
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::paper::Paper;
use crate::scene::page::sheet::Sheet;
use crate::scene::report::told::CaseReport;
use crate::scene::words::reading::{self, ReadingLine};

/// Pictures beside each other.
const ACROSS: usize = 6;
/// Pictures at least this wide, in points, have numbers, annotations and a scale bar.
const LARGE: f64 = 240.0;

/// The shot with every place covered in its frame that may hold words.
pub(super) fn guarded(shot: &Shot, frame: Option<&Frame>) -> Shot {
    let mut shot = shot.clone();
    if let Some(frame) = frame {
        let left = uncovered(&proposed_covers(frame, field_of(frame)), &shot.covers);
        shot.covers.extend(left);
    }
    shot
}

/// The shots of a body and side in the order in which they were made.
pub(super) fn shots_of(told: &CaseReport<'_>, level: Level, side: Side) -> Vec<usize> {
    let moments = rows(told.case, level, side);
    let places = moments.iter().flat_map(|moment| ROWS.map(|view| moment.of(view)));
    let shot = |place: RowPlace| match place {
        RowPlace::Shot(index) => Some(index),
        RowPlace::Nothing | RowPlace::Missing => None,
    };
    places.filter_map(shot).collect()
}

/// The shots, as many beside each other as fit, each with what it shows and what is read.
pub(super) fn write(paper: &mut Paper, told: &CaseReport<'_>, shots: &[usize]) {
    #[expect(clippy::cast_precision_loss, reason = "a few")]
    let width = (paper.inner() + space::S3) / ACROSS as f64 - space::S3;
    for row in shots.chunks(ACROSS) {
        // What a row needs is seen once it is laid out; it is laid out again where it did not fit.
        let before = paper.sheet.clone();
        put_row(paper, told, row, width);
        if paper.room() < 0.0 && before.y > 2.0 * width {
            paper.sheet = before;
            paper.new_page();
            put_row(paper, told, row, width);
        }
    }
}

fn put_row(paper: &mut Paper, told: &CaseReport<'_>, row: &[usize], width: f64) {
    let top = paper.sheet.y;
    let mut bottom = top;
    let mut x = paper.sheet.left;
    let heading = |&index: &usize| {
        let shot = told.shown.get(index);
        let words =
            shot.map(|shot| format::shot(None, None, shot.known_view(), shot.stage)).unwrap_or_default();
        wrap(&words, TextSize::Small, width)
    };
    let headings: Vec<_> = row.iter().map(heading).collect();
    let most = headings.iter().map(Vec::len).max().unwrap_or(0);
    for (&index, lines) in row.iter().zip(headings) {
        // The pictures of a row begin at one height, each right below its heading.
        paper.sheet.y = top;
        (lines.len()..most).for_each(|_| paper.sheet.y += Sheet::line_height(TextSize::Small));
        for line in lines {
            paper.sheet.lines(x, f64::INFINITY, &line, Role::Text, TextSize::Small);
        }
        put(&mut paper.sheet, told, index, (x, width));
        bottom = bottom.max(paper.sheet.y);
        x += width + space::S3;
    }
    paper.sheet.y = bottom + space::S3;
}

fn put(sheet: &mut Sheet, told: &CaseReport<'_>, index: usize, (x, width): (f64, f64)) {
    let (Some(shot), Some(reading)) = (told.shown.get(index), told.readings.shots.get(index)) else { return };
    let mut said: Vec<String> =
        still(sheet, told, index, (x, width)).map(str::to_owned).into_iter().collect();
    sheet.y += space::S1;
    if shot.draft {
        said.push("The marks are a draft.".to_owned());
    }
    let lines = reading::lines(reading);
    if lines.is_empty() {
        said.push("No reading.".to_owned());
    }
    said.extend(reading::chief(&lines).map(ReadingLine::phrase));
    for words in said {
        sheet.lines(x, width, &words, Role::WeakText, TextSize::Small);
    }
}

/// Draws a shot of the case this wide, with everything that may hold words covered; what is not shown is said in its
/// place. Gives what is said.
pub(super) fn still(
    sheet: &mut Sheet,
    told: &CaseReport<'_>,
    index: usize,
    (x, width): (f64, f64),
) -> Option<&'static str> {
    let (Some(shot), Some(reading)) = (told.shown.get(index), told.readings.shots.get(index)) else {
        return None;
    };
    let frame = told.frames.get(index).and_then(Option::as_deref);
    let told_to_be_written = frame.is_some_and(|frame| frame.facts.burned_in == Some(true));
    let in_doubt = told_to_be_written && shot.covers.is_empty() && shows_whole(shot);
    let layers = LayerSet::default().without(Layer::Ruler);
    let layers = if width < LARGE { layers.without(Layer::Labels).without(Layer::Teaching) } else { layers };
    let style = FigureStyle { scale_bar: width >= LARGE, ..FigureStyle::default() };
    let options =
        FigureOptions { title: None, layers: Some(layers), window: None, extent: Extent::AroundBody, style };
    let missing = frame.is_none();
    let frame = frame.filter(|_| !in_doubt);
    let field = frame.map_or(Field::Whole, field_of);
    let figure_shot = FigureShot { shot, reading, frame, field };
    pictured(sheet, (x, width), told.case, &figure_shot, &options);
    match (in_doubt, missing) {
        (true, _) => {
            Some("Not shown: the file states that it contains burned-in text, and nothing is redacted.")
        }
        (false, true) => Some("The image cannot be opened."),
        (false, false) => None,
    }
}
