//! A comparison of two shots, and the way of a tip, as finished pages: pictures opened, readings made.

use std::path::Path;
use std::sync::Arc;

use crate::align::registration::Registration;
use crate::align::softness::soft_marks;
use crate::case::document::figure_spec::FigureWidth;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::{Picture, ReadPairOf, ShotReading, read_with_partner};
use crate::io::store::pictures::{open_picture, picture_of, read_with_pictures};
use crate::measure::compare::Position;
use crate::measure::mark::{Level, Side};
use crate::scene::comparison::Comparison;
use crate::scene::comparison::page::{Framed, ShownAs, page};
use crate::scene::comparison::slide::slide;
use crate::scene::figure::FigureShot;
use crate::scene::page::Page;
use crate::scene::tip_path::{self, TipRun};

/// The page of a comparison whose readings and pictures are there, laid as given or else by the marks; a slide where a
/// width is given.
///
/// # Errors
/// One sentence, where the two cannot be laid on each other.
pub fn compared_page(
    case: &Case,
    compared: &Comparison,
    (readings, frames): ([&ShotReading; 2], &[Arc<Frame>; 2]),
    registration: Option<&Registration>,
    (way, width): (ShownAs, Option<FigureWidth>),
) -> Result<Page, String> {
    let [Some(from), Some(to)] = compared.shots.map(|at| case.shots.get(at)) else {
        return Err("One of the shots is not in the case.".to_owned());
    };
    let registration = match registration {
        Some(refined) => refined.clone(),
        None => Registration::of_shots(case, [from, to])?,
    };
    let framed = |i: usize, shot| {
        let frame = &frames[i];
        let figure_shot =
            FigureShot { shot, reading: readings[i], frame: Some(frame), field: frame.extent().field };
        Framed { shot: figure_shot, frame }
    };
    let both = [framed(0, from), framed(1, to)];
    match width {
        Some(width) => slide(case, compared, both, &registration, (way, width)),
        None => page(case, compared, both, &registration, way),
    }
}

/// The page of a comparison of two shots, given by their places in the case; pictures are named from `case_file`.
///
/// # Errors
/// One sentence, where a picture cannot be opened or the two cannot be compared.
pub fn comparison_page(
    case_file: &Path,
    case: &Case,
    shots: [usize; 2],
    position: Position,
    way: ShownAs,
) -> Result<Page, String> {
    opened(case_file, case, shots, position, (way, None))
}

/// The same as a slide of this width, for the two laid on each other.
///
/// # Errors
/// The same.
pub fn comparison_slide(
    case_file: &Path,
    case: &Case,
    shots: [usize; 2],
    (position, way, width): (Position, ShownAs, FigureWidth),
) -> Result<Page, String> {
    opened(case_file, case, shots, position, (way, Some(width)))
}

fn opened(
    case_file: &Path,
    case: &Case,
    shots: [usize; 2],
    position: Position,
    shown: (ShownAs, Option<FigureWidth>),
) -> Result<Page, String> {
    let frame = |at: usize| {
        let shot = case.shots.get(at).ok_or_else(|| "One of the shots is not in the case.".to_owned())?;
        open_picture(case_file, shot).map(Arc::new).map_err(|why| format!("{}: {why}", shot.id))
    };
    let frames = [frame(shots[0])?, frame(shots[1])?];
    let picture = |shot: &Shot| {
        let at = shots.iter().position(|&at| case.shots.get(at).is_some_and(|one| one.id == shot.id));
        match at.and_then(|at| frames.get(at)) {
            Some(frame) => Picture::of(frame, soft_marks(frame, shot)),
            None => picture_of(case_file, shot).picture,
        }
    };
    let read: [(ShotReading, Option<ReadPairOf>); 2] = shots.map(|at| read_with_partner(case, at, picture));
    let both = read.each_ref().map(|(reading, pair)| (reading, pair.as_ref()));
    let compared = Comparison::of(case, shots, both, position)
        .map_err(|why| format!("These two cannot be compared: {why}."))?;
    compared_page(case, &compared, ([&read[0].0, &read[1].0], &frames), None, shown)
}

/// The page of the way of a tip through a body.
#[must_use]
pub fn way_page(case_file: &Path, case: &Case, body: (Level, Side)) -> Page {
    let (readings, _said) = read_with_pictures(case_file, case, None);
    tip_path::page::page(case, &TipRun::of(case, &readings, body))
}
