//! An image that is marked on a page, apart from the open case: with its marks, and the next line below it, as in the window
//! itself.

use egui::{CentralPanel, Frame, Margin, Panel, Ui};

use crate::app::pages;
use crate::app::session::state::State;
use crate::geom::point::Vec2;
use crate::scene::drawing::shape::Scene;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::canvas::{CanvasMemory, Tools, canvas_ui};
use crate::ui::look::colour;
use crate::ui::paint;
use crate::ui::panels::next::{self, next_with_diagram_ui};
use crate::ui::textures::Textures;
use crate::ui::widgets::Asked;

/// What it keeps between frames.
#[derive(Default)]
pub struct EditorMemory {
    canvas: CanvasMemory,
    textures: Textures,
    /// The canvas, which takes the keys.
    pub canvas_id: Option<egui::Id>,
}

impl std::fmt::Debug for EditorMemory {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("EditorMemory").field("canvas_id", &self.canvas_id).finish_non_exhaustive()
    }
}

/// Shows the image that is marked on the shown page in all the room there is; with `over`, a drawing on top in its
/// coordinates.
pub fn editor_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut EditorMemory,
    over: Option<&Scene>,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    if pages::editor(&state.pages).is_none() {
        memory.canvas_id = None;
        return;
    }
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(8, 4));
    Panel::bottom("next on page").frame(frame).exact_size(next::WITH_DIAGRAM).show(ui, |ui| {
        next_with_diagram_ui(ui, state, asked);
    });
    CentralPanel::default().frame(Frame::new().fill(colour(theme.ground))).show(ui, |ui| {
        let mut tools = Tools { textures: &mut memory.textures, pointed: None, trace: false };
        let response = canvas_ui(ui, state, &mut memory.canvas, &mut tools, asked);
        memory.canvas_id = Some(response.id);
        if let Some(scene) = over {
            let origin = Vec2::new(f64::from(response.rect.left()), f64::from(response.rect.top()));
            let transform = pages::active(state).transform();
            let painter = ui.painter_at(response.rect);
            paint::scene(&painter, scene, &theme, Ground::Picture, |p| transform.to_canvas(p) + origin);
        }
    });
}
