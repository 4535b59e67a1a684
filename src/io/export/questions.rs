//! Questions and answers of many shots as one document, image by image, so that no more than one of them is held at a time,
//! and whoever asked can see how far it has come and stop it.

use std::cell::RefCell;
use std::path::Path;

use crate::align::softness::soft_marks;
use crate::case::document::{Case, Shot};
use crate::case::readings::{CaseReadings, Picture, read_case};
use crate::io::export::case_folder::doubt;
use crate::io::export::fault::ExportError;
use crate::io::export::figure::frame;
use crate::io::export::pdf::PdfDocument;
use crate::scene::drawing::theme::Theme;
use crate::scene::figure::questions::question;
use crate::scene::figure::{Extent, FigureOptions, FigureShot, shows_whole};

/// The most shots that are asked about in one document.
pub const MOST_QUESTIONS: usize = 500;

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct QuestionSet<'a> {
    /// The file that images are named from.
    pub case_file: &'a Path,
    /// The case.
    pub case: &'a Case,
    /// Places of the shots in it; those without a reading are passed over.
    pub places: &'a [usize],
    /// How the pages are made.
    pub options: &'a FigureOptions,
    /// Although words may be readable in images.
    pub as_is: bool,
}

/// Why there is no document.
#[derive(Clone, Debug, PartialEq)]
pub enum QuestionFault {
    /// Whoever asked has stopped it.
    Stopped,
    /// Words may be readable in images that are shown whole: a sentence for each.
    Doubts(Vec<String>),
    /// No shot has a reading to ask about.
    NothingToAsk,
    /// Something else: sentences.
    Wrong(Vec<String>),
}

impl QuestionSet<'_> {
    /// The document: each question on a page, its answer on the next. `goes_on` is told of how many steps how many are done,
    /// two for each shot, and says whether to go on.
    ///
    /// # Errors
    /// Why there is none.
    pub fn document(
        &self,
        theme: &Theme,
        goes_on: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Result<Vec<u8>, QuestionFault> {
        let steps = 2 * self.places.len();
        if self.places.len() > MOST_QUESTIONS {
            let many = self.places.len();
            return Err(QuestionFault::Wrong(vec![format!(
                "One document holds questions about up to {MOST_QUESTIONS} shots, not {many}; select fewer."
            )]));
        }
        let readings = self.read(steps, goes_on)?;
        let read = |at: &&usize| readings.shots.get(**at).is_some_and(|reading| reading.is_read());
        let read: Vec<usize> = self.places.iter().filter(read).copied().collect();
        if read.is_empty() {
            return Err(QuestionFault::NothingToAsk);
        }
        let mut document = PdfDocument::default();
        let wrong = |error: ExportError| QuestionFault::Wrong(vec![error.to_string()]);
        for (i, &at) in read.iter().enumerate() {
            if !goes_on(self.places.len() + i, steps) {
                return Err(QuestionFault::Stopped);
            }
            let (Some(shot), Some(reading)) = (self.case.shots.get(at), readings.shots.get(at)) else {
                continue;
            };
            let frame = frame(self.case_file, shot).map_err(|why| QuestionFault::Wrong(vec![why]))?;
            let shown = FigureShot { shot, reading, frame: Some(&frame), field: frame.extent().field };
            let number = (read.len() > 1).then_some(i + 1);
            let pages = question(self.case, &shown, number, self.options);
            for page in [&pages.asked, &pages.answered] {
                document.add(page, theme).map_err(wrong)?;
            }
        }
        document.finish().map_err(wrong)
    }

    /// The readings of the case with what the images of these shots tell, and whether these can be shown.
    fn read(
        &self,
        steps: usize,
        goes_on: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Result<CaseReadings, QuestionFault> {
        let under_way = RefCell::new(OpenedInTurn {
            goes_on,
            done: 0,
            stopped: false,
            wrong: Vec::new(),
            doubts: Vec::new(),
        });
        let picture = |shot: &Shot| {
            let wanted =
                self.places.iter().any(|&at| self.case.shots.get(at).is_some_and(|one| one.id == shot.id));
            if wanted { under_way.borrow_mut().picture(self, shot, steps) } else { Picture::NotLookedAt }
        };
        let readings = read_case(self.case, picture, None);
        let OpenedInTurn { stopped, wrong, doubts, .. } = under_way.into_inner();
        if stopped {
            return Err(QuestionFault::Stopped);
        }
        if !wrong.is_empty() {
            return Err(QuestionFault::Wrong(wrong));
        }
        if !doubts.is_empty() && !self.as_is {
            return Err(QuestionFault::Doubts(doubts));
        }
        Ok(readings)
    }
}

/// Images that are opened in turn: how far that has come, and what was found.
struct OpenedInTurn<'a> {
    goes_on: &'a mut dyn FnMut(usize, usize) -> bool,
    done: usize,
    stopped: bool,
    wrong: Vec<String>,
    doubts: Vec<String>,
}

impl OpenedInTurn<'_> {
    /// What the image of a shot tells; it is let go again.
    fn picture(&mut self, set: &QuestionSet<'_>, shot: &Shot, steps: usize) -> Picture {
        self.stopped |= !(self.goes_on)(self.done, steps);
        self.done += 1;
        if self.stopped {
            return Picture::NotLookedAt;
        }
        match frame(set.case_file, shot) {
            Ok(frame) => {
                if set.options.extent == Extent::Whole || shows_whole(shot) {
                    self.doubts.extend(doubt(shot, &frame));
                }
                Picture::of(&frame, soft_marks(&frame, shot))
            }
            Err(why) => {
                self.wrong.push(why);
                Picture::Missing
            }
        }
    }
}
