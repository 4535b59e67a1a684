//! A desk on a page: its picture with the marks, and the next line below it, as on the page of the picture.

use egui::{CentralPanel, Frame, Margin, Panel, Ui};

use crate::app::pages;
use crate::app::session::editor::Editor;
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

/// What a desk keeps between frames.
#[derive(Default)]
pub struct DeskMemory {
    canvas: CanvasMemory,
    textures: Textures,
    /// The canvas, which takes the keys.
    pub canvas_id: Option<egui::Id>,
}

impl std::fmt::Debug for DeskMemory {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("DeskMemory").field("canvas_id", &self.canvas_id).finish_non_exhaustive()
    }
}

/// Shows the desk of the shown page in all the room there is; with `over`, a drawing on top in the picture's
/// coordinates.
pub fn desk_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut DeskMemory,
    over: Option<&Scene>,
    asked: &mut Asked,
) {
    let display = Editor::shown_as(&state.display);
    let theme = Theme::of(display.mode);
    let Some(desk) = pages::editor_mut(state) else {
        memory.canvas_id = None;
        return;
    };
    desk.state.display = display;
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(8, 4));
    Panel::bottom("desk next").frame(frame).exact_size(next::WITH_DIAGRAM).show(ui, |ui| {
        next_with_diagram_ui(ui, &desk.state, asked);
    });
    CentralPanel::default().frame(Frame::new().fill(colour(theme.ground))).show(ui, |ui| {
        let mut tools = Tools { textures: &mut memory.textures, pointed: None, trace: false };
        let response = canvas_ui(ui, &mut desk.state, &mut memory.canvas, &mut tools, asked);
        memory.canvas_id = Some(response.id);
        if let Some(scene) = over {
            let origin = Vec2::new(f64::from(response.rect.left()), f64::from(response.rect.top()));
            let transform = desk.state.transform();
            let painter = ui.painter_at(response.rect);
            paint::scene(&painter, scene, &theme, Ground::Picture, |p| transform.to_canvas(p) + origin);
        }
    });
}
