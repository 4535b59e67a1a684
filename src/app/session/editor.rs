//! An editor: images with their marks, how the shown one is seen, and what pointer and keys are about. The window has one
//! for the open case; blinded re-reading and practice have one each for the single image that is marked there, which
//! knows nothing but that image, so that nothing of the case shows through.

use std::sync::Arc;

use crate::app::annotation::last_scales::LastScales;
use crate::app::display::preferences::Display;
use crate::app::display::viewport::{Canvas, Showing, ShownFrame, Transform};
use crate::app::marking::next_mark::{all_required, required_done};
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::app::session::notice::{Notice, Weight};
use crate::app::shots::frame_preview::FramePreview;
use crate::app::work::picture_store::{DecodedPicture, Loading, PictureKey, PictureStore};
use crate::case::document::Shot;
use crate::measure::mark::{MarkKind, Marks};
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::window_level::WindowLevel;

/// What may be drawn while marks are to be made without help: the marks themselves, no band, no number.
const BARE: [Layer; 8] = [
    Layer::Borders,
    Layer::Contours,
    Layer::Pedicles,
    Layer::SpinousProcess,
    Layer::Cannula,
    Layer::Electrodes,
    Layer::Tip,
    Layer::Quadrants,
];

/// What shows where the tip is to be.
const TARGETS: [Layer; 4] = [Layer::DepthBand, Layer::HeightBand, Layer::MidlineBand, Layer::DockingTarget];

/// Images with their marks, and how the shown one is seen.
#[derive(Debug, Default)]
pub struct Editor {
    /// What is marked: a case, with the mode that pointer and keys are in.
    pub document: Option<Document>,
    /// The images. There is one store of them; every editor looks into the same one.
    pub pictures: Arc<PictureStore>,
    /// The frame that is looked at, if it need not be the shot's own.
    pub peek: Option<FramePreview>,
    /// The room that the image has on the screen.
    pub canvas: Canvas,
    /// Whether marks are made without help: nothing is drawn that would lead.
    pub blind: bool,
    /// The scale that was entered last for images of each size.
    pub last_scales: LastScales,
    /// Whether shots were being labeled when the canvas was laid out last.
    pub labeled: bool,
    /// What is to be told, until the window takes it over.
    pub said: Vec<Notice>,
}

impl Editor {
    /// An editor of this case.
    #[must_use]
    pub fn new(document: Document) -> Self {
        Self { document: Some(document), ..Self::default() }
    }

    /// An editor of the only shot of this document, marked without help, with the images of a store.
    #[must_use]
    pub fn blind(mut document: Document, pictures: &Arc<PictureStore>) -> Self {
        // What is said of the view belongs to the case, not to one reading of its marks.
        document.asks_about_view = false;
        document.proposals.switch_off();
        Self { blind: true, pictures: Arc::clone(pictures), ..Self::new(document) }
    }

    /// Adds a sentence to be told.
    pub fn say(&mut self, weight: Weight, text: impl Into<String>) {
        self.said.push(Notice { weight, text: text.into() });
    }

    /// Lets a point go that is held by the pointer, and ends whatever else is under way.
    pub(crate) fn release(&mut self) {
        if let Some(document) = &mut self.document {
            document.end_change();
        }
    }

    /// The key of a shot's picture.
    #[must_use]
    pub fn key_of(&self, shot: &Shot) -> Option<PictureKey> {
        let document = self.document.as_ref()?;
        Some(PictureKey { path: document.image_path(shot).ok()?, frame: shot.frame })
    }

    /// The key of the shown shot's picture.
    #[must_use]
    pub fn shown_key(&self) -> Option<PictureKey> {
        let shot = self.document.as_ref()?.shot()?;
        Some(PictureKey { frame: FramePreview::shown(self.peek.as_ref(), shot), ..self.key_of(shot)? })
    }

    /// How far the shown shot's picture has come.
    #[must_use]
    pub fn shown_loading(&self) -> Option<&Loading> {
        self.pictures.loading.get(&self.shown_key()?)
    }

    /// The shown shot's picture, if it is there.
    #[must_use]
    pub fn shown_frame(&self) -> Option<&DecodedPicture> {
        match self.shown_loading()? {
            Loading::Ready(picture) => Some(picture),
            Loading::Busy | Loading::Aside | Loading::Failed(_) => None,
        }
    }

    /// Size of the shown shot's picture in pixels; without a picture that of the marks, so that they can be
    /// shown all the same.
    #[must_use]
    pub fn frame_size(&self) -> (f64, f64) {
        if let Some(known) = self.shown_key().and_then(|key| self.pictures.known.get(&key)) {
            return (f64::from(known.extent.width), f64::from(known.extent.height));
        }
        let placed = self.document.as_ref().and_then(Document::shot).map(|shot| shot.marks.placed());
        let (x, y) =
            placed.into_iter().flatten().fold((0.0_f64, 0.0_f64), |(x, y), (_, p)| (x.max(p.x), y.max(p.y)));
        ((x * 1.2).max(512.0), (y * 1.2).max(512.0))
    }

    /// The shown shot's picture: its size, and which way up it is shown.
    #[must_use]
    pub fn sheet(&self) -> ShownFrame {
        let turn = self.document.as_ref().map(|document| document.aspect().turn).unwrap_or_default();
        ShownFrame { size: self.frame_size(), turn }
    }

    /// What part of the shown shot is seen.
    #[must_use]
    pub fn showing(&self) -> Showing {
        let document = self.document.as_ref();
        document.and_then(|d| d.showing.get(d.shown.as_deref()?)).copied().unwrap_or_default()
    }

    /// The map from image coordinates to points of the canvas.
    #[must_use]
    pub fn transform(&self) -> Transform {
        self.showing().transform(self.canvas, self.sheet())
    }

    /// The window that shows the shown shot's greys, or the one most like them.
    #[must_use]
    pub fn greys(&self) -> Option<WindowLevel> {
        let look = self.document.as_ref()?.aspect().look;
        self.shown_frame().map(|picture| look.window(&picture.frame, picture.greys))
    }

    /// The layers that are drawn just now, of those that the window shows: none upon a frame that the marks do not belong
    /// to, and nothing that leads where marks are made without help.
    #[must_use]
    pub fn drawn(&self, display: &Display) -> LayerSet {
        if self.is_elsewhere() {
            return LayerSet::NONE;
        }
        let mut layers = display.drawn();
        // A target that lies over the borders and the tip hides them, and leads, while they are still marked.
        let missing = |document: &Document| {
            let (Some(shot), Some(marks)) = (document.shot(), document.seen_marks()) else { return false };
            !marks.is_empty() && !all_required(shot.view, marks)
        };
        // Neither can a line that shows twice be marked beneath it.
        let looks_for_lines = |document: &Document| marks_the_other_line(document.hand());
        if self.document.as_ref().is_some_and(|document| missing(document) || looks_for_lines(document)) {
            layers = TARGETS.into_iter().fold(layers, LayerSet::without);
        }
        if self.blind { BARE.into_iter().filter(|layer| layers.has(*layer)).collect() } else { layers }
    }

    /// Whether a frame is looked at that the marks of its shot do not belong to.
    #[must_use]
    pub fn is_elsewhere(&self) -> bool {
        let shot = self.document.as_ref().and_then(Document::shot);
        let other = |shot: &Shot| FramePreview::shown(self.peek.as_ref(), shot) != shot.frame;
        shot.is_some_and(|shot| !shot.marks.is_empty() && other(shot))
    }

    /// The shown shot.
    #[must_use]
    pub fn shot(&self) -> Option<&Shot> {
        self.document.as_ref()?.shot()
    }

    /// Its marks.
    #[must_use]
    pub fn marks(&self) -> Marks {
        self.shot().map(|shot| shot.marks.clone()).unwrap_or_default()
    }

    /// Whether every mark without which there is no reading is placed.
    #[must_use]
    pub fn is_done(&self) -> bool {
        self.shot().is_some_and(required_done)
    }

    /// Whether a point is held by the pointer just now.
    #[must_use]
    pub fn is_dragging(&self) -> bool {
        self.document.as_ref().is_some_and(|document| document.grabbed().is_some())
    }
}

/// Whether a point of a border's other line is in hand.
fn marks_the_other_line(hand: Hand) -> bool {
    let kind = match hand {
        Hand::Next(step) => step.kind,
        Hand::Again(at) | Hand::Mark(at) => at.kind,
        Hand::Adding(kind) => kind,
        Hand::Nothing | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => return false,
    };
    MarkKind::ALL.into_iter().any(|border| border.second() == Some(kind))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_band_and_no_number_is_drawn_where_marks_are_made_without_help() {
        let display = Display::default();
        let editor = Editor { blind: true, ..Editor::default() };
        let drawn = editor.drawn(&display);
        for layer in [Layer::DepthBand, Layer::HeightBand, Layer::Labels, Layer::Ruler, Layer::TipRegion] {
            assert!(!drawn.has(layer) && Editor::default().drawn(&display).has(layer), "{layer:?}");
        }
        assert!(drawn.has(Layer::Borders));
    }

    #[test]
    fn no_target_is_drawn_while_required_marks_are_missing() {
        use crate::case::document::Case;
        use crate::measure::mark::{MarkKind, View};

        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 0.0)]);
        let editor = Editor::new(Document::fresh(Case { shots: vec![shot].into(), ..Case::default() }));
        let drawn = editor.drawn(&Display::default());
        assert!(TARGETS.iter().all(|layer| !drawn.has(*layer)));
        assert!(drawn.has(Layer::Borders) && drawn.has(Layer::Labels));
    }

    /// The target is there as soon as there is a reading, also while it is asked whether a border shows twice, and makes way
    /// for the other line.
    #[test]
    fn no_target_is_drawn_while_the_other_line_of_a_border_is_marked() {
        use crate::app::command::marks::MarksCommand;
        use crate::app::marking::view_questions::{self, ViewQuestion};
        use crate::app::session::mode::Hand;
        use crate::case::document::Case;
        use crate::case::document::edit::Edit;
        use crate::case::readings::Picture;
        use crate::measure::mark::{Stage, View};

        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(351.0, 358.0)]);
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        let editor = |marked: bool| {
            let shot = Shot { marks: if marked { marks.clone() } else { Marks::new() }, ..shot.clone() };
            let mut document = Document::fresh(Case { shots: vec![shot].into(), ..Case::default() });
            if !marked {
                let edit = Edit::SetMarks { shot: "a".to_owned(), marks: marks.clone() };
                document.apply(&edit).unwrap();
                document.take(Hand::Nothing);
            }
            document.look(|_| Picture::NotLookedAt);
            assert_eq!(view_questions::asked(&document), Some(ViewQuestion::Contours));
            Editor::new(document)
        };
        let bands = |editor: &Editor| TARGETS.map(|layer| editor.drawn(&Display::default()).has(layer));
        assert!(bands(&editor(true)).contains(&true), "marked before the case was opened");
        let mut fresh = editor(false);
        assert!(bands(&fresh).contains(&true), "marked just now");
        let document = fresh.document.as_mut().unwrap();
        MarksCommand::SecondContour.apply(document, crate::geom::point::Point::new(0.0, 0.0)).unwrap();
        assert_eq!(bands(&fresh), [false; 4]);
        let document = fresh.document.as_mut().unwrap();
        document.take(Hand::Nothing);
        let shot = document.shot().unwrap().clone();
        let once = view_questions::ViewAnswer::ShowsOnce.edit(document.case(), &shot).unwrap();
        document.apply(&once).unwrap();
        assert!(bands(&fresh).contains(&true), "answered");
    }

    #[test]
    fn every_editor_looks_into_the_same_store() {
        let window = Editor::default();
        let apart = Editor::blind(Document::fresh(crate::case::document::Case::default()), &window.pictures);
        assert!(Arc::ptr_eq(&window.pictures, &apart.pictures));
    }
}
