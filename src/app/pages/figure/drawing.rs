//! Drawing a figure and writing files at the edge.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::app::pages::page_order::PageOrder;
use crate::app::work::cancel::Cancel;
use crate::case::document::Case;
use crate::case::document::figure_spec::{FigureGround, FigureSpec};
use crate::io::export::figure::Chosen;
use crate::io::export::png;
use crate::io::export::questions::{QuestionFault, QuestionSet};
use crate::io::export::raster::Pixels;
use crate::io::export::report::{self, OpenedCase};
use crate::io::export::{ExportError, PageFormat, only_pdf, page_bytes, write_result};
use crate::io::store::pictures::picture_paths;
use crate::io::store::written::Replacing;
use crate::scene::drawing::theme::Theme;
use crate::scene::figure::{Extent, FigureOptions};
use crate::scene::page::Page;
use crate::scene::page::paper::PaperSize;
use crate::scene::report::ReportPart;

/// The longest side of a figure in the window, in pixels.
const SEEN: f64 = 1800.0;

/// What a figure is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureOrder {
    /// The case.
    pub case: Box<Case>,
    /// The file its pictures are named from, if it has one.
    pub file: Option<PathBuf>,
    /// The shots, by their ids.
    pub shots: Vec<String>,
    /// How it is made.
    pub spec: FigureSpec,
    /// Although words may be readable in pictures.
    pub as_is: bool,
    /// Whether it is a question or its answer: both images lie in one place.
    pub asks: bool,
}

/// What a report is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportOrder {
    /// The case.
    pub case: Box<Case>,
    /// The file its pictures are named from, if it has one.
    pub file: Option<PathBuf>,
    /// What it is printed on.
    pub paper: PaperSize,
    /// What is put into it beside the bodies.
    pub parts: Vec<ReportPart>,
}

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum FigureWork {
    /// Draw the figure for the window.
    Draw(Box<FigureOrder>),
    /// Draw it at its own resolution for the clipboard.
    Copy(Box<FigureOrder>),
    /// Write it.
    Write(Box<FigureOrder>, PathBuf),
    /// Write questions and answers of the whole case.
    Questions(Box<FigureOrder>, PathBuf),
    /// Write the report.
    Report(Box<ReportOrder>, PathBuf),
    /// Draw a page of paper for the clipboard.
    CopyPage(Box<PageOrder>),
    /// Write it.
    WritePage(Box<PageOrder>, PathBuf),
}

/// A figure as pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrawnFigure {
    /// The pixels.
    pub pixels: Pixels,
    /// Width and height in points of paper.
    pub size_pt: (u32, u32),
    /// What is in it, for those who cannot see it: all words of the page.
    pub words: String,
    /// What has no room on it, a sentence each.
    pub left_out: Vec<String>,
}

/// Sentences of what is wrong, and whether it is only that words may be readable.
pub(in crate::app::pages) type Wrong = (Vec<String>, bool);

/// What came of that.
#[derive(Clone, Debug)]
pub enum FigureDone {
    /// The figure of this order, or why there is none.
    Drawn(Box<FigureOrder>, Result<Arc<DrawnFigure>, Wrong>),
    /// The figure for the clipboard.
    Copied(Result<Arc<DrawnFigure>, Vec<String>>),
    /// Of so many steps of a long document so many are done.
    Progress(usize, usize),
    /// The file that was written.
    Written(Result<PathBuf, Vec<String>>),
    /// The user has stopped it; nothing was written.
    Stopped,
}

impl FigureWork {
    /// Whether nothing is written: for the window or the clipboard.
    #[must_use]
    pub const fn is_drawing(&self) -> bool {
        matches!(self, Self::Draw(_) | Self::Copy(_) | Self::CopyPage(_))
    }

    /// Whether it takes long enough to be stopped.
    #[must_use]
    pub const fn can_stop(&self) -> bool {
        matches!(self, Self::Questions(..))
    }

    /// Whether it is for the page itself, which then shows what is wrong.
    #[must_use]
    pub const fn is_seen(&self) -> bool {
        matches!(self, Self::Draw(_))
    }
}

impl FigureDone {
    /// Whether it only says how far a document has come.
    #[must_use]
    pub const fn is_progress(&self) -> bool {
        matches!(self, Self::Progress(..))
    }
}

/// Work at the edge: files, long computations. A long document says how far it has come, and heeds `cancel`.
pub(in crate::app::pages) fn perform(
    work: FigureWork,
    cancel: &Cancel,
    say: &mut dyn FnMut(FigureDone),
) -> FigureDone {
    match work {
        FigureWork::Draw(order) => {
            let drawn = figure_page(&order)
                .and_then(|page| drawn(&order, &page, SEEN).map_err(|e| (said(&e), false)));
            FigureDone::Drawn(order, drawn)
        }
        FigureWork::Copy(order) => {
            let drawn = figure_page(&order)
                .and_then(|page| drawn(&order, &page, f64::INFINITY).map_err(|e| (said(&e), false)));
            FigureDone::Copied(drawn.map_err(|(sentences, _)| sentences))
        }
        FigureWork::CopyPage(order) => {
            let page = order.page().map_err(|why| vec![why]);
            FigureDone::Copied(
                page.and_then(|page| as_pixels(&page, &order.theme(), f64::INFINITY).map_err(|e| said(&e))),
            )
        }
        FigureWork::WritePage(order, path) => {
            let make = |format| {
                let page = order.page().map_err(|why| vec![why])?;
                page_bytes(&page, &order.theme(), format).map_err(|e| said(&e))
            };
            FigureDone::Written(written_beside(order.base(), &order.case, path, make))
        }
        FigureWork::Write(order, path) => FigureDone::Written(written(&order, path, |format| {
            let page = figure_page(&order).map_err(|(sentences, _)| sentences)?;
            page_bytes(&page, &theme(&order), format).map_err(|e| said(&e))
        })),
        FigureWork::Questions(order, path) => {
            let mut goes_on = |done, of| {
                say(FigureDone::Progress(done, of));
                !cancel.is_cancelled()
            };
            let written = written(&order, path.clone(), |format| {
                only_pdf(format, &path).map_err(|e| said(&e))?;
                questions(&order, &mut goes_on)
            });
            if cancel.is_cancelled() && written.is_err() {
                FigureDone::Stopped
            } else {
                FigureDone::Written(written)
            }
        }
        FigureWork::Report(order, path) => {
            let base = order.file.as_deref().unwrap_or_else(|| Path::new(""));
            FigureDone::Written(written_beside(base, &order.case, path.clone(), |format| {
                only_pdf(format, &path).map_err(|e| said(&e))?;
                let opened = OpenedCase::new(base, &order.case);
                report::bytes(&order.case, &opened, order.paper, &order.parts).map_err(|e| said(&e))
            }))
        }
    }
}

fn said(error: &ExportError) -> Vec<String> {
    vec![crate::app::marking::guide::capital(&format!("{error}."))]
}

fn base(order: &FigureOrder) -> &Path {
    order.file.as_deref().unwrap_or_else(|| Path::new(""))
}

fn theme(order: &FigureOrder) -> Theme {
    match order.spec.ground {
        FigureGround::Light => Theme::light(),
        FigureGround::Dark => Theme::dark(),
    }
}

/// The shots at these places with their pictures; refused where words may be readable and nobody has looked.
fn opened(order: &FigureOrder, places: &[usize], extent: Extent) -> Result<Chosen, Wrong> {
    let chosen = Chosen::open(base(order), &order.case, places).map_err(|sentences| (sentences, false))?;
    let doubts = if order.as_is { Vec::new() } else { chosen.doubts(&order.case, extent) };
    if doubts.is_empty() { Ok(chosen) } else { Err((doubts, true)) }
}

/// The figure as a page; refused where words may be readable and nobody has looked.
pub(in crate::app::pages) fn figure_page(order: &FigureOrder) -> Result<Page, Wrong> {
    let mut options = FigureOptions::of_spec(&order.spec, order.case.title.as_deref());
    options.style.asks = order.asks;
    let place = |id: &String| order.case.shots.iter().position(|shot| shot.id == *id);
    let places: Vec<usize> = order.shots.iter().filter_map(place).collect();
    if let Some(why) = options.refusal(places.len()) {
        return Err((vec![why], false));
    }
    Ok(opened(order, &places, options.extent)?.page(&order.case, &options))
}

fn drawn(order: &FigureOrder, page: &Page, longest: f64) -> Result<Arc<DrawnFigure>, ExportError> {
    as_pixels(page, &theme(order), longest)
}

/// A page as pixels, no side longer than this.
pub(in crate::app::pages) fn as_pixels(
    page: &Page,
    theme: &Theme,
    longest: f64,
) -> Result<Arc<DrawnFigure>, ExportError> {
    let pixels = png::colours(page, theme, longest)?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "points of a page")]
    let points = |length: f64| (length * page.scale).round().max(0.0) as u32;
    let size_pt = (points(page.size.0), points(page.size.1));
    let (words, left_out) = (page.words().collect::<Vec<_>>().join(" "), page.left_out.clone());
    Ok(Arc::new(DrawnFigure { pixels, size_pt, words, left_out }))
}

/// Questions and answers of every shot that has a reading, image by image.
fn questions(
    order: &FigureOrder,
    goes_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Vec<u8>, Vec<String>> {
    let options = FigureOptions::of_spec(&order.spec, order.case.title.as_deref());
    if let Some(why) = options.refusal(1) {
        return Err(vec![why]);
    }
    let places: Vec<usize> = (0..order.case.shots.len()).collect();
    let set = QuestionSet {
        case_file: base(order),
        case: &order.case,
        places: &places,
        options: &options,
        as_is: order.as_is,
    };
    set.document(&theme(order), goes_on).map_err(|fault| match fault {
        QuestionFault::Doubts(mut sentences) => {
            sentences.push("Nothing was written; redact the text first.".to_owned());
            sentences
        }
        QuestionFault::Wrong(sentences) => sentences,
        QuestionFault::NothingToAsk => vec!["No shot of the case has a reading to ask about.".to_owned()],
        QuestionFault::Stopped => vec!["Stopped; nothing was written.".to_owned()],
    })
}

fn written(
    order: &FigureOrder,
    path: PathBuf,
    bytes: impl FnOnce(PageFormat) -> Result<Vec<u8>, Vec<String>>,
) -> Result<PathBuf, Vec<String>> {
    written_beside(base(order), &order.case, path, bytes)
}

/// Writes a file, but never over the case or one of its pictures.
fn written_beside(
    case_file: &Path,
    case: &Case,
    path: PathBuf,
    bytes: impl FnOnce(PageFormat) -> Result<Vec<u8>, Vec<String>>,
) -> Result<PathBuf, Vec<String>> {
    let format = PageFormat::of_name(&path).map_err(|e| said(&e))?;
    let mut inputs = picture_paths(case_file, case);
    inputs.push(case_file.to_path_buf());
    let inputs: Vec<&Path> = inputs.iter().map(PathBuf::as_path).collect();
    write_result(&path, &bytes(format)?, &inputs, Replacing::Anything).map_err(|e| vec![e.to_string()])?;
    Ok(path)
}
