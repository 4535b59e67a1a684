//! The case on paper: its pictures opened, its readings, and the pages as PDF.

use std::path::Path;
use std::sync::Arc;

use crate::align::softness::soft_marks;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::{CaseReadings, Picture, ShotReading, read_case};
use crate::io::export::{ExportError, pdf};
use crate::io::store::pictures::open_picture;
use crate::scene::drawing::theme::Theme;
use crate::scene::page::paper::PaperSize;
use crate::scene::report::{ReportPart, report};

/// A case's pictures and what is read of it.
#[derive(Clone, Debug)]
pub struct OpenedCase {
    /// The shots' frames in the case's order; none where one cannot be opened.
    pub frames: Vec<Option<Arc<Frame>>>,
    /// The readings, with what the pictures tell.
    pub readings: CaseReadings,
}

impl OpenedCase {
    /// Opens the pictures, which are named from `case_file`, and reads the case.
    #[must_use]
    pub fn new(case_file: &Path, case: &Case) -> Self {
        Self::watched(case_file, case, &mut |_, _| ())
    }

    /// The same; `watch` hears before each picture how many of how many are open.
    #[must_use]
    pub fn watched(case_file: &Path, case: &Case, watch: &mut dyn FnMut(usize, usize)) -> Self {
        let of = case.shots.len();
        let open = |(done, shot): (usize, &Shot)| {
            watch(done, of);
            open_picture(case_file, shot).ok().map(Arc::new)
        };
        let frames: Vec<Option<Arc<Frame>>> = case.shots.iter().enumerate().map(open).collect();
        let picture = |shot: &Shot| {
            let at = case.shots.iter().position(|one| one.id == shot.id);
            let frame = at.and_then(|at| frames.get(at)).and_then(Option::as_ref);
            frame.map_or(Picture::Missing, |frame| Picture::of(frame, soft_marks(frame, shot)))
        };
        let readings = read_case(case, picture, None);
        Self { frames, readings }
    }

    /// Whether every shot has a reading.
    #[must_use]
    pub fn is_read(&self) -> bool {
        self.readings.shots.iter().all(ShotReading::is_read)
    }
}

/// The report of a case as PDF; `parts` are put into it beside the bodies.
///
/// # Errors
/// A page that cannot be drawn.
pub fn bytes(
    case: &Case,
    opened: &OpenedCase,
    paper: PaperSize,
    parts: &[ReportPart],
) -> Result<Vec<u8>, ExportError> {
    pdf::document(&report(case, &opened.readings, &opened.frames, (paper, parts)), &Theme::light())
}
