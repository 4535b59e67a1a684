//! Shows the page with a teaching figure of the chosen shots, and the case on paper: choices on the left, the figure as
//! it will be saved in the middle.

use std::sync::Arc;

use egui::accesskit::Role;
use egui::{
    CentralPanel, ColorImage, Frame, Margin, Panel, Sense, TextureHandle, TextureOptions, Ui, WidgetInfo,
    vec2,
};

use crate::app::command::Command;
use crate::app::pages;
use crate::app::pages::Page;
use crate::app::pages::figure::{DrawnFigure, Figure, FigureCommand};
use crate::app::pages::presenting::PresentCommand;
use crate::app::session::state::State;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::theme::{Theme, space};
use crate::ui::look::{colour, pt};
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, command_button, empty_page_ui, weak};

mod choices;
mod notes;

/// What the page keeps between frames: text being typed, what is dragged.
#[derive(Default)]
pub struct FigureMemory {
    choices: choices::FigureChoicesMemory,
    notes: notes::FigureNotesMemory,
    /// The figure on the graphics card, and what it was made of.
    picture: Option<(Arc<DrawnFigure>, TextureHandle)>,
}

impl std::fmt::Debug for FigureMemory {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Memory").field("choices", &self.choices).finish_non_exhaustive()
    }
}

/// A command of this page.
const fn on(ask: FigureCommand) -> Command {
    Command::Page(pages::PageCommand::Figure(ask))
}

/// Puts what is on its way to the clipboard there, whichever page it comes from.
pub(super) fn copy_ui(ui: &Ui, state: &State, asked: &mut Asked) {
    if let Some(drawn) = &state.pages.figure.copying {
        ui.ctx().copy_image(image(drawn));
        asked.push(on(FigureCommand::Copied));
    }
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut FigureMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let figure = &state.pages.figure;
    let bar = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(12, 6));
    Panel::top("figure bar").frame(bar).show(ui, |ui| bar_ui(ui, state, figure, asked));
    let side = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(12, 8));
    let width = pt(324.0);
    Panel::left("figure choices").exact_size(width).resizable(false).frame(side).show(ui, |ui| {
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.set_width(width - 36.0);
            choices::choices_ui(ui, state, &mut memory.choices, asked);
            notes::notes_ui(ui, state, &mut memory.notes, asked);
        });
    });
    let middle = Frame::new().fill(colour(theme.ground)).inner_margin(Margin::same(12));
    CentralPanel::default().frame(middle).show(ui, |ui| figure_ui(ui, state, memory, asked));
}

fn bar_ui(ui: &mut Ui, state: &State, figure: &Figure, asked: &mut Asked) {
    ui.horizontal_wrapped(|ui| {
        for ask in [
            FigureCommand::Save,
            FigureCommand::Copy,
            FigureCommand::SaveQuestions,
            FigureCommand::SaveReport,
        ] {
            command_button(ui, state, on(ask), asked);
        }
        for command in
            [pages::PageCommand::Go(Page::Presenting), pages::PageCommand::Present(PresentCommand::Questions)]
        {
            command_button(ui, state, Command::Page(command), asked);
        }
        if figure.progress.is_some() {
            command_button(ui, state, on(FigureCommand::Stop), asked);
        }
        let words = if let Some((done, of)) = figure.progress {
            format!("Writing questions: step {} of {of}…", (done + 1).min(of))
        } else if figure.writing {
            "Writing…".to_owned()
        } else if figure.drawing {
            "Drawing…".to_owned()
        } else if let Some(drawn) = &figure.drawn {
            let (width, height) = drawn.size_pt;
            format!("{width} × {height} points")
        } else {
            String::new()
        };
        weak(ui, words);
    });
}

fn figure_ui(ui: &mut Ui, state: &State, memory: &mut FigureMemory, asked: &mut Asked) {
    let figure = &state.pages.figure;
    for sentence in &figure.trouble {
        ui.label(sentence);
    }
    if figure.in_doubt {
        ui.add_space(pt(space::S2));
        command_button(ui, state, on(FigureCommand::AsIs), asked);
    }
    let Some(drawn) = &figure.drawn else {
        memory.picture = None;
        if !figure.drawing && !figure.in_doubt {
            empty_page_ui(
                ui,
                state,
                &emblem(Emblem::Figure),
                (
                    "Make a figure of one or more shots with their readings, or the report of the whole case.",
                    "Example: a lateral and an AP side by side, 18 cm wide, lettered A and B, with a legend and the caution. It needs a shot whose image can be read.",
                ),
                (Command::Page(pages::PageCommand::Go(Page::Picture)), "Go to the shots"),
                asked,
            );
        }
        return;
    };
    for sentence in &drawn.left_out {
        weak(ui, sentence.as_str());
    }
    let fresh = memory.picture.as_ref().is_some_and(|(of, _)| Arc::ptr_eq(of, drawn));
    if !fresh {
        let texture = ui.ctx().load_texture("figure", image(drawn), TextureOptions::LINEAR);
        memory.picture = Some((Arc::clone(drawn), texture));
    }
    let Some((_, texture)) = &memory.picture else { return };
    let room = ui.available_size();
    let size = texture.size_vec2();
    // Never larger than its own points on paper ask for twice, so that a small figure is not blown up.
    let most = vec2(drawn.size_pt.0 as f32, drawn.size_pt.1 as f32) * 2.0;
    let shown = size * (room.x.min(most.x) / size.x).min(room.y.min(most.y) / size.y);
    let (rect, response) = ui.allocate_exact_size(room, Sense::hover());
    let place = egui::Rect::from_center_size(rect.center(), shown);
    let whole = egui::Rect::from_min_max(egui::pos2(0.0, 0.0), egui::pos2(1.0, 1.0));
    ui.painter().image(texture.id(), place, whole, egui::Color32::WHITE);
    let words = format!("The figure: {}", drawn.words);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, words.clone()));
}

/// Pixels for the graphics card.
pub(super) fn image(drawn: &DrawnFigure) -> ColorImage {
    let pixels = &drawn.pixels;
    ColorImage::from_rgba_premultiplied([pixels.width, pixels.height], &pixels.rgba)
}
