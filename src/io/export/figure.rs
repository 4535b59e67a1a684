//! Figures of shots of a case: their pictures opened, their readings, and the pages.

use std::path::Path;

use crate::align::softness::soft_marks;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::{CaseReadings, Picture, read_case};
use crate::io::export::case_folder::doubt;
use crate::io::import::source::Source;
use crate::io::store::pictures::picture_path;
use crate::scene::figure::questions::{Question, questions};
use crate::scene::figure::{Extent, FigureOptions, FigureShot, figure, pairs_among, shows_whole};
use crate::scene::page::Page;

/// Shots of a case with their pictures and readings.
#[derive(Clone, Debug)]
pub struct Chosen {
    places: Vec<usize>,
    frames: Vec<Frame>,
    readings: CaseReadings,
}

impl Chosen {
    /// Opens the pictures of the shots at these places of the case, which are named from `case_file`, and reads the case.
    ///
    /// # Errors
    /// A sentence for each picture that cannot be opened; a figure without one would show nothing.
    pub fn open(case_file: &Path, case: &Case, places: &[usize]) -> Result<Self, Vec<String>> {
        let mut chosen = Self {
            places: Vec::new(),
            frames: Vec::new(),
            readings: CaseReadings { shots: Vec::new(), pairs: Vec::new() },
        };
        let mut wrong = Vec::new();
        for &place in places {
            let Some(shot) = case.shots.get(place) else { continue };
            match frame(case_file, shot) {
                Ok(frame) => {
                    chosen.places.push(place);
                    chosen.frames.push(frame);
                }
                Err(sentence) => wrong.push(sentence),
            }
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let picture = |shot: &Shot| {
            let mut opened = chosen.places.iter().zip(&chosen.frames);
            let opened =
                opened.find(|(place, _)| case.shots.get(**place).is_some_and(|one| one.id == shot.id));
            opened.map_or(Picture::NotLookedAt, |(_, frame)| Picture::of(frame, soft_marks(frame, shot)))
        };
        chosen.readings = read_case(case, picture, None);
        Ok(chosen)
    }

    /// The same of one shot whose image is open already, with the readings of its case.
    #[must_use]
    pub fn of_opened(place: usize, frame: Frame, readings: CaseReadings) -> Self {
        Self { places: vec![place], frames: vec![frame], readings }
    }

    /// A sentence for each shot whose whole frame is shown and in which words may be readable.
    #[must_use]
    pub fn doubts(&self, case: &Case, extent: Extent) -> Vec<String> {
        let shots = self.shots(case).into_iter();
        let whole = shots.filter(|shot| extent == Extent::Whole || shows_whole(shot.shot));
        whole.filter_map(|shot| doubt(shot.shot, shot.frame?)).collect()
    }

    /// The figure.
    #[must_use]
    pub fn page(&self, case: &Case, options: &FigureOptions) -> Page {
        figure(case, &self.shots(case), &pairs_among(&self.readings.pairs, &self.places), options)
    }

    /// A question and its answer for each of the shots that has a reading.
    #[must_use]
    pub fn questions(&self, case: &Case, options: &FigureOptions) -> Vec<Question> {
        questions(case, &self.shots(case), options)
    }

    fn shots<'a>(&'a self, case: &'a Case) -> Vec<FigureShot<'a>> {
        let shot = |(&place, frame): (&usize, &'a Frame)| {
            let (shot, reading) = (case.shots.get(place)?, self.readings.shots.get(place)?);
            Some(FigureShot { shot, reading, frame: Some(frame), field: frame.extent().field })
        };
        self.places.iter().zip(&self.frames).filter_map(shot).collect()
    }
}

/// The frame of a shot.
///
/// # Errors
/// One sentence, where it cannot be opened.
pub(super) fn frame(case_file: &Path, shot: &Shot) -> Result<Frame, String> {
    let file = case_file.display();
    let path = picture_path(case_file, &shot.image).map_err(|text| format!("{file}: {}: {text}", shot.id))?;
    let opened = Source::open(&path).and_then(|source| source.frame(shot.frame));
    opened.map_err(|e| format!("{file}: {}: {e}", shot.id))
}

/// The pages of questions in the order in which they are paged through: each question, then its answer.
#[must_use]
pub fn paged(questions: Vec<Question>) -> Vec<Page> {
    questions.into_iter().flat_map(|one| [one.asked, one.answered]).collect()
}
