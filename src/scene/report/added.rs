//! What is put into a report beside the bodies: compared shots and tip paths, a page for each.

use crate::align::registration::Registration;
use crate::case::readings::ReadPairOf;
use crate::measure::compare::Position;
use crate::measure::mark::{Level, Side};
use crate::scene::comparison::Comparison;
use crate::scene::comparison::page::{Framed, ShownAs, on_sheet};
use crate::scene::drawing::theme::space;
use crate::scene::figure::FigureShot;
use crate::scene::format;
use crate::scene::page::paper::Paper;
use crate::scene::report::told::CaseReport;
use crate::scene::tip_path::{self, TipRun};

/// Something that is put into a report beside the bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ReportPart {
    /// Two compared shots, by their places in the case.
    Comparison([usize; 2], Position, ShownAs),
    /// The tip path of a body.
    TipPath(Level, Side),
}

/// Writes a part on a page of its own. What cannot be compared is said in its place.
pub(super) fn write(paper: &mut Paper, told: &CaseReport<'_>, part: ReportPart) {
    paper.new_page();
    match part {
        ReportPart::TipPath(level, side) => {
            let way = TipRun::of(told.case, told.readings, (level, side));
            paper.title(&format!("Tip path: {}", format::body(level, side)));
            tip_path::page::on_sheet(&mut paper.sheet, told.case, &way);
        }
        ReportPart::Comparison(shots, position, way) => {
            let body = told.case.shots.get(shots[1]).and_then(|shot| Some((shot.level?, shot.side?)));
            let of = body.map(|(level, side)| format!(": {}", format::body(level, side)));
            paper.title(&format!("Comparison{}", of.unwrap_or_default()));
            if let Err(why) = comparison(paper, told, shots, (position, way)) {
                paper.paragraph(&why);
            }
        }
    }
    paper.gap(space::S2);
}

fn comparison(
    paper: &mut Paper,
    told: &CaseReport<'_>,
    shots: [usize; 2],
    (position, way): (Position, ShownAs),
) -> Result<(), String> {
    let gone = || "One of the shots is not in the case.".to_owned();
    // With everything covered that may be words.
    let [Some(from), Some(to)] = shots.map(|at| told.shown.get(at)) else { return Err(gone()) };
    let [Some(first), Some(second)] = shots.map(|at| told.readings.shots.get(at)) else { return Err(gone()) };
    let pair = |at: usize| -> Option<&ReadPairOf> {
        told.readings.pairs.iter().find(|pair| pair.lateral == at || pair.ap == at)
    };
    let read = [(first, pair(shots[0])), (second, pair(shots[1]))];
    let found = Comparison::of(told.case, shots, read, position)
        .map_err(|why| format!("These two cannot be compared: {why}."))?;
    let registration = Registration::of_shots(told.case, [from, to])?;
    let frame = |at: usize| {
        let frame = told.frames.get(at).and_then(Option::as_ref);
        frame.ok_or_else(|| "An image of this comparison cannot be opened.".to_owned())
    };
    let framed = |at: usize, shot, reading| {
        let frame = frame(at)?;
        let shot = FigureShot { shot, reading, frame: Some(&**frame), field: frame.extent().field };
        Ok::<_, String>(Framed { shot, frame })
    };
    let both = [framed(shots[0], from, first)?, framed(shots[1], to, second)?];
    on_sheet(&mut paper.sheet, told.case, &found, both, (&registration, way))
}
