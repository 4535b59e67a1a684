//! What the program is: version, caution, what it keeps on this computer, and the works of others in it.

use std::sync::LazyLock;

use egui::{Context, RichText, ScrollArea, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::window::WindowCommand;
use crate::app::files::own_folder::own_folder;
use crate::app::session::state::State;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::words::caution;
use crate::scene::words::version::version;
use crate::ui::look::pt;
use crate::ui::widgets::{Asked, command_button, sheet, weak};

/// Width of the page in points.
const WIDTH: f32 = 620.0;

/// Licenses of everything that is linked, as `.ci/supply.py` collects them.
const LICENSES: &str = include_str!("../../../docs/licenses.txt");

/// Their lines, split once; only those in sight are laid out.
static LINES: LazyLock<Vec<&str>> = LazyLock::new(|| LICENSES.lines().collect());

/// Shows the page while it is wanted.
pub fn about_ui(ctx: &Context, state: &State, asked: &mut Asked) {
    if !state.display.about {
        return;
    }
    let theme = Theme::of(state.display.mode);
    let room = ctx.content_rect().size();
    let heading = format!("Stillmark {}", version());
    let size = vec2(WIDTH, room.y - 60.0);
    let close = Command::Window(WindowCommand::About);
    sheet(ctx, &theme, ("about", &heading), size, close, asked, |ui, asked| {
        ui.set_width(WIDTH.min(room.x - 64.0));
        for sentence in caution::FULL {
            ui.add(egui::Label::new(sentence).wrap());
        }
        ui.add_space(pt(space::S4));
        kept(ui, state, asked);
        ui.add_space(pt(space::S4));
        ui.label(RichText::new("License").strong());
        licenses(ui, (room.y - 420.0).max(120.0));
    });
}

fn kept(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.label(RichText::new("Kept on this computer").strong());
    match own_folder() {
        Some(folder) => weak(ui, format!("In {}, readable by you only:", folder.display())),
        None => weak(ui, "This system has no place for the program's own files; nothing is kept."),
    };
    weak(
        ui,
        "Names of recent cases, how the window was left, practice exercises, a cache of case series, and digests of \
         results written. Unsaved changes are kept apart until you restore or discard them. Your cases and images stay \
         where you put them. Nothing is sent anywhere.",
    );
    command_button(ui, state, Command::File(FileCommand::ForgetKept), asked);
}

fn licenses(ui: &mut Ui, height: f32) {
    let line = ui.text_style_height(&egui::TextStyle::Small);
    let scroll = ScrollArea::vertical().id_salt("licenses").max_height(height).auto_shrink([false, false]);
    scroll.show_rows(ui, line, LINES.len(), |ui, rows| {
        for text in LINES.get(rows).unwrap_or_default() {
            ui.add(egui::Label::new(RichText::new(*text).small()).truncate());
        }
    });
}
