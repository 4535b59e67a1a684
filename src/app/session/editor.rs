//! A desk: one picture that is marked with the usual means, apart from the open case. It knows nothing but this
//! picture, so that nothing of the case shows through.

use crate::app::session::document::{Document, required_done};
use crate::app::session::state::{Display, Loading, PictureKey, State};
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

    /// Lets a point go that is held by the pointer, and ends whatever else is under way.
    pub(crate) fn release(&mut self) {
        if let Some(document) = &mut self.state.document {
            document.end_change();
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
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::session::update::update;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::View;

    #[test]
    fn marks_are_made_on_it_and_taken_back() {
        let mut case = Case::default();
        case.shots.push(Shot::new("1", "a.png", View::Lateral));
        let file = Some(PathBuf::from("/x/a.case.json"));
        let mut editor = Editor::new(Document::recovered(case.clone(), case, file, None));
        update(&mut editor.state, Command::Marks(MarksCommand::Place(Point::new(4.0, 4.0))));
        assert_eq!(editor.marks().placed().count(), 1);
        assert!(!editor.is_done() && !editor.is_dragging());
        update(&mut editor.state, Command::Case(CaseCommand::Undo));
        assert!(editor.marks().is_empty());
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
