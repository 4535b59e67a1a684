//! A desk: one picture that is marked with the usual means, apart from the open case. It knows nothing but this
//! picture, so that nothing of the case shows through.

use crate::app::command::Command;
use crate::app::command::window::WindowCommand;
use crate::app::session::document::{Document, required_done};
use crate::app::session::state::{Display, Loading, PictureKey, State};
use crate::app::session::update::update;
use crate::app::work::effect::{Decoded, Effect};
use crate::app::work::pictures;
use crate::case::document::Shot;
use crate::measure::mark::Marks;
use crate::scene::overlay::{Layer, LayerSet};

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

/// The desk.
#[derive(Debug, Default)]
pub struct Editor {
    /// A program of its own with one shot in it.
    pub state: Box<State>,
}

impl Editor {
    /// A desk that shows the only shot of this document.
    #[must_use]
    pub fn new(document: Document) -> Self {
        Self { state: Box::new(State { document: Some(document), ..State::default() }) }
    }

    /// Takes over the pictures that are there already, so that none is read twice.
    pub(crate) fn share(&mut self, from: &State) {
        self.state.known.clone_from(&from.known);
        let ready = |(_, loading): &(&PictureKey, &Loading)| matches!(loading, Loading::Ready(_));
        let ready = from.pictures.iter().filter(ready);
        self.state.pictures = ready.map(|(key, loading)| (key.clone(), loading.clone())).collect();
    }

    /// Carries a command out on the desk. Of what follows only reading the picture leaves it: nothing is kept or saved
    /// from here.
    pub(crate) fn run(&mut self, command: Command, effects: &mut Vec<Effect>) {
        let follows = update(&mut self.state, command);
        effects.extend(follows.into_iter().filter(|effect| matches!(effect, Effect::Decode { .. })));
    }

    /// Asks for what the desk needs at its beginning.
    pub(crate) fn begin(&mut self, effects: &mut Vec<Effect>) {
        // A command that changes nothing: readings and pictures follow from it all the same.
        self.run(Command::Window(WindowCommand::HideDrawing(false)), effects);
    }

    /// Takes in a picture, if it is one the desk has asked for.
    pub(crate) fn receive(&mut self, key: &PictureKey, result: &Result<Box<Decoded>, String>) {
        if matches!(self.state.pictures.get(key), Some(Loading::Busy)) {
            pictures::receive(&mut self.state, key.clone(), result.clone());
            // The picture may change what can be read.
            self.run(
                Command::Window(WindowCommand::HideDrawing(self.state.display.drawing_hidden)),
                &mut Vec::new(),
            );
        }
    }

    /// How the desk shows things: as the window does, but nothing that would help or lead.
    #[must_use]
    pub fn shown_as(display: &Display) -> Display {
        let layers: LayerSet = BARE.into_iter().filter(|layer| display.layers.has(*layer)).collect();
        Display { layers, budget: false, ..display.clone() }
    }

    /// The shot.
    #[must_use]
    pub fn shot(&self) -> Option<&Shot> {
        self.state.document.as_ref()?.shot()
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
        self.state.document.as_ref().is_some_and(|document| document.grabbed().is_some())
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::View;

    fn desk() -> Editor {
        let mut case = Case::default();
        case.shots.push(Shot::new("1", "a.png", View::Lateral));
        Editor::new(Document::recovered(case.clone(), case, Some(PathBuf::from("/x/a.case.json")), None))
    }

    #[test]
    fn marks_are_made_and_nothing_is_kept_from_here() {
        let mut desk = desk();
        let mut effects = Vec::new();
        desk.begin(&mut effects);
        assert!(effects.iter().all(|effect| matches!(effect, Effect::Decode { .. })) && !effects.is_empty());
        effects.clear();
        desk.run(Command::Marks(MarksCommand::Place(Point::new(4.0, 4.0))), &mut effects);
        assert_eq!(desk.marks().placed().count(), 1);
        assert!(effects.is_empty(), "{effects:?}");
        assert!(!desk.is_done());
        desk.run(Command::Case(CaseCommand::Undo), &mut effects);
        assert!(desk.marks().is_empty());
    }

    #[test]
    fn no_band_and_no_number_is_drawn() {
        let shown = Editor::shown_as(&Display::default());
        for layer in [Layer::DepthBand, Layer::HeightBand, Layer::Labels, Layer::Ruler, Layer::TipRegion] {
            assert!(!shown.layers.has(layer), "{layer:?}");
        }
        assert!(shown.layers.has(Layer::Borders));
    }
}
