//! Small things that panels share: buttons of commands, signs, lines of words.

use egui::accesskit::Role as Part;
use egui::{Button, Response, RichText, Sense, TextEdit, Ui, WidgetInfo, vec2};

use crate::app::annotation::last_scale;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::key::{Key, as_here};
use crate::app::command::marks::MarksCommand;
use crate::app::marking::next_mark::required_done;
use crate::app::pages::active;
use crate::app::session::route::refusal;
use crate::app::session::state::State;
use crate::app::shots::label_shots;
use crate::case::document::Shot;
use crate::case::document::edit::Edit;
use crate::geom::point::{Point, Vec2};
use crate::scene::body_map::Described;
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::{CORNER_RADIUS, Ground, Theme, space};
use crate::ui::icons::icon;
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;

/// Height in points that a list of shots to select from may take.
pub const PICKER: f32 = 480.0;
/// Size of a sign before a word, in points.
const SIGN: f32 = 12.0;

/// What the user asked for in this pass.
pub type Asked = Vec<Command>;

/// Text being typed, and the value it began from.
#[derive(Debug, Default)]
pub struct Typed {
    from: String,
    text: String,
}

impl Typed {
    /// The text for a field, beginning anew whenever the value it stands for has changed.
    pub fn following(&mut self, now: &str) -> &mut String {
        if self.from != now {
            now.clone_into(&mut self.from);
            now.clone_into(&mut self.text);
        }
        &mut self.text
    }

    /// The text as it stands in the field.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// A field that keeps what cannot be meant, and says why.
#[derive(Debug, Default)]
pub struct Checked {
    typed: Typed,
    fault: Option<String>,
}

impl Checked {
    /// The field of this name and hint: gives the change once it is left with something new in it. `change` makes
    /// the change of the text, or says in a sentence why there is none.
    pub fn field(
        &mut self,
        ui: &mut Ui,
        (name, hint): (&str, &str),
        now: &str,
        width: f32,
        change: impl FnOnce(&str) -> Result<Edit, String>,
    ) -> (Response, Option<Edit>) {
        if self.typed.from != now {
            self.fault = None;
        }
        let text = self.typed.following(now);
        let response =
            ui.add(TextEdit::singleline(text).desired_width(width).hint_text(hint)).accessible_name(name);
        if response.changed() {
            self.fault = None;
        }
        if !response.lost_focus() || self.typed.text == now {
            return (response, None);
        }
        let edit = match change(&self.typed.text) {
            Ok(edit) => Some(edit),
            Err(sentence) => {
                self.fault = Some(sentence);
                None
            }
        };
        (response, edit)
    }

    /// Why what stands in the field cannot be meant.
    #[must_use]
    pub fn fault(&self) -> Option<&str> {
        self.fault.as_deref()
    }
}

/// A sentence below a field that has no room beside it; it lies over what is there and moves nothing.
pub fn said_below(ui: &Ui, response: &Response, sentence: &str) {
    let area = egui::Area::new(response.id.with("said"))
        .order(egui::Order::Foreground)
        .fixed_pos(response.rect.left_bottom() + vec2(0.0, 4.0))
        .interactable(false);
    area.show(ui.ctx(), |ui| {
        egui::Frame::popup(ui.style()).show(ui, |ui| {
            ui.set_max_width(320.0);
            weak(ui, sentence);
        });
    });
}

/// A command's button: its word, its explanation and key on hovering, dead while it is not available.
pub fn command_button(ui: &mut Ui, state: &State, command: Command, asked: &mut Asked) -> Response {
    let label = command.entry().map_or("", |entry| entry.label);
    labelled_button(ui, state, command, label, asked)
}

/// A button with a command's word, and before it its sign where it has one.
pub fn face<'a>(command: &Command, label: &'a str) -> Button<'a> {
    match icon(command) {
        Some(sign) => Button::new((RichText::new(sign).size(SIGN), label)),
        None => Button::new(label),
    }
}

/// The same with another word on it.
pub fn labelled_button(
    ui: &mut Ui,
    state: &State,
    command: Command,
    label: &str,
    asked: &mut Asked,
) -> Response {
    let available = refusal(state, &command).is_none();
    let own = command.entry().is_some_and(|entry| entry.label == label);
    let face = if own { face(&command, label) } else { Button::new(label) };
    let response = ui.add_enabled(available, face);
    response.widget_info(|| WidgetInfo::labeled(Part::Button, available, label));
    let response = explained(response, &command);
    if response.clicked() {
        asked.push(command);
    }
    response
}

/// A command's button with a sign on it; its word is its name and stands in the explanation.
pub fn sign_button(ui: &mut Ui, state: &State, command: Command, shown: &str, asked: &mut Asked) {
    let Some(entry) = command.entry() else { return };
    let available = command.available(state);
    let response = ui.add_enabled(available, Button::new(shown).min_size(vec2(28.0, 28.0)));
    response.widget_info(|| WidgetInfo::labeled(Part::Button, available, entry.label));
    let told = as_here(entry.tip);
    let tip = match command.key_text() {
        Some(key) => format!("{}: {told}\nKey: {key}", entry.label),
        None => format!("{}: {told}", entry.label),
    };
    if response.on_hover_text(tip.clone()).on_disabled_hover_text(tip).clicked() {
        asked.push(command);
    }
}

/// A tab: its word over a line, which is strong for the one that is shown.
pub fn tab(ui: &mut Ui, shown: bool, words: &str, theme: &Theme) -> Response {
    let ink = if shown { theme.text } else { theme.weak_text };
    let galley = ui.painter().layout_no_wrap(words.to_owned(), font(TextSize::Body), colour(ink));
    let size = vec2(galley.size().x + 2.0 * pt(space::S2), 26.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::selected(Part::Tab, true, shown, words));
    let painter = ui.painter();
    if response.hovered() {
        painter.rect_filled(rect, pt(CORNER_RADIUS), colour(theme.hovered));
    }
    if response.has_focus() {
        paint::frame(painter, rect, theme.accent);
    }
    let (line, width) = if shown { (theme.accent, 2.5) } else { (theme.separator, 1.0) };
    let stroke = egui::Stroke::new(width, colour(line));
    painter.hline(rect.x_range(), rect.bottom() - 1.0, stroke);
    painter.galley(rect.center() - galley.size() * 0.5, galley, colour(ink));
    response
}

/// A command that is on or off: pressed in while it is on.
pub fn toggle_button(ui: &mut Ui, state: &State, command: Command, on: bool, asked: &mut Asked) {
    let Some(entry) = command.entry() else { return };
    let available = command.available(state);
    let response = ui.add_enabled(available, face(&command, entry.label).selected(on));
    response.widget_info(|| WidgetInfo::selected(Part::Button, available, on, entry.label));
    if explained(response, &command).clicked() {
        asked.push(command);
    }
}

/// A command's button with its key in front, for the next line.
pub fn keyed_button(ui: &mut Ui, state: &State, command: Command, asked: &mut Asked) {
    next_button(ui, state, command, true, asked);
}

/// The same; without its key where there is no room for that, which is then told upon hovering only.
pub fn next_button(ui: &mut Ui, state: &State, command: Command, keyed: bool, asked: &mut Asked) {
    let Some(entry) = command.entry() else { return };
    let theme = Theme::of(state.display.mode);
    let available = refusal(state, &command).is_none();
    let key = key_now(state, &command).filter(|_| keyed).unwrap_or_default();
    let label = label_now(state, &command).unwrap_or_else(|| entry.label.to_owned());
    let mut button = Button::new(&label);
    if !key.is_empty() {
        button = button.left_text(RichText::new(key).small().color(colour(theme.weak_text)));
    }
    let response = ui.add_enabled(available, button);
    response.widget_info(|| WidgetInfo::labeled(Part::Button, available, label.clone()));
    let response = told(response, &command, key_now(state, &command));
    if response.clicked() {
        asked.push(command);
    }
}

/// About how wide such a button is with its key, in points, with the room beside it.
pub fn keyed_width(ui: &Ui, state: &State, command: &Command) -> f32 {
    let wide = |words: &str, size| {
        ui.painter().layout_no_wrap(words.to_owned(), font(size), egui::Color32::WHITE).size().x
    };
    let label = label_now(state, command)
        .or_else(|| command.entry().map(|entry| entry.label.to_owned()))
        .unwrap_or_default();
    let key = key_now(state, command).unwrap_or_default();
    let space = ui.spacing();
    wide(&label, TextSize::Body)
        + wide(&key, TextSize::Small)
        + 2.0 * space.button_padding.x
        + space.icon_spacing
        + space.item_spacing.x
}

/// The key that asks for a command at present, as the user reads it: Enter confirms where no crosshair takes it, and the
/// keys of labels hold while the view is asked for.
fn key_now(state: &State, command: &Command) -> Option<String> {
    match command {
        Command::Marks(MarksCommand::ConfirmMarks) => {
            let document = active(state).document.as_ref();
            let free = document.is_some_and(|document| document.crosshair.is_none());
            if free { Some(Key::Enter.to_string()) } else { command.key_text() }
        }
        Command::Shots(what) => {
            label_shots::key_of(what).map(|key| key.to_string()).or_else(|| command.key_text())
        }
        other => other.key_text(),
    }
}

/// What a button says where it names a value of the moment.
fn label_now(state: &State, command: &Command) -> Option<String> {
    match command {
        Command::Annotations(AnnotationsCommand::UseLastScale) => {
            last_scale::offered(active(state)).map(|scale| last_scale::words(&scale))
        }
        _ => None,
    }
}

/// What a command does and its key, for a pointer that rests on what asks for it.
pub fn explained(response: Response, command: &Command) -> Response {
    told(response, command, command.key_text())
}

/// The same with the key that asks for it at present.
fn told(response: Response, command: &Command, key: Option<String>) -> Response {
    let Some(entry) = command.entry() else { return response };
    let told = as_here(entry.tip);
    let tip = match key {
        Some(key) => format!("{told}\nKey: {key}"),
        None => told.into_owned(),
    };
    response.on_hover_text(tip.clone()).on_disabled_hover_text(tip)
}

/// A sign as large as a letter.
pub fn sign(ui: &mut Ui, theme: &Theme, role: Role, glyph: Glyph) {
    let side = pt(space::S4);
    let (rect, _) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    let at = Point::new(f64::from(rect.center().x), f64::from(rect.center().y));
    paint::primitives(ui.painter(), &Primitive::sign(at, glyph, role, theme));
}

/// A drawing with its sentence, for those who cannot see it and upon hovering.
pub fn drawing(ui: &mut Ui, drawn: &Described, theme: &Theme) -> Response {
    let bounds = drawn.scene.bounds;
    let size = vec2(pt(bounds.width()), pt(bounds.height()));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Part::Image, true, drawn.words.clone()));
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 4.0, colour(theme.ground));
    let origin = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&painter, &drawn.scene, theme, Ground::Panel, |p| p + origin);
    response
}

/// What an empty page shows: a small picture, what the page is for, its first action with the words on its button, and an
/// example.
pub fn empty_page_ui(
    ui: &mut Ui,
    state: &State,
    emblem: &Described,
    (purpose, example): (&str, &str),
    first: (Command, &str),
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    ui.vertical_centered(|ui| {
        ui.set_max_width(460.0);
        ui.add_space((ui.available_height() * 0.12).clamp(8.0, 96.0));
        drawing(ui, emblem, &theme);
        ui.add_space(pt(space::S4));
        ui.add(egui::Label::new(RichText::new(purpose).strong()).wrap());
        ui.add_space(pt(space::S2));
        let (command, words) = first;
        labelled_button(ui, state, command, words, asked);
        ui.add_space(pt(space::S2));
        weak(ui, example);
    });
}

/// A shot's words in a list to select from: a disc before those whose required marks are placed, a ring before others.
#[must_use]
pub fn with_progress(shot: &Shot, words: String) -> String {
    let (sign, more) = if required_done(shot) { ("●", "") } else { ("○", ", not marked") };
    format!("{sign} {words}{more}")
}

/// Words of less weight.
pub fn weak(ui: &mut Ui, words: impl Into<String>) -> Response {
    ui.add(egui::Label::new(RichText::new(words).small().weak()).wrap())
}

/// A page over everything else, of this width, with a heading and a button that closes it, as a click beside it does;
/// `close` is asked for then.
pub fn sheet(
    ctx: &egui::Context,
    theme: &Theme,
    (name, heading): (&'static str, &str),
    size: egui::Vec2,
    close: Command,
    asked: &mut Asked,
    content: impl FnOnce(&mut Ui, &mut Asked),
) {
    let area = egui::Modal::default_area(egui::Id::unique(name)).default_size(size);
    let modal = egui::Modal::new(egui::Id::unique(name))
        .area(area)
        .frame(dialog_frame(ctx))
        .backdrop_color(colour(theme.veil));
    let mut closed = false;
    let shown = modal.show(ctx, |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new(heading).strong());
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                closed = ui.button("Close").clicked();
            });
        });
        ui.separator();
        content(ui, asked);
    });
    if closed || shown.should_close() {
        asked.push(close);
    }
}

/// The frame of a question or list that lies over everything.
pub fn dialog_frame(ctx: &egui::Context) -> egui::Frame {
    egui::Frame::popup(&ctx.global_style()).inner_margin(egui::Margin::same(16))
}

/// A heading of a part of a panel.
pub fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(pt(space::S2));
    ui.label(RichText::new(words).small().weak());
}

/// A thin line between parts of a panel.
pub fn rule(ui: &mut Ui) {
    ui.add_space(pt(space::S1));
    ui.separator();
}

/// A table of words, headings first, under a name of its own.
pub fn table_ui(ui: &mut Ui, name: &str, (heads, rows): &(Vec<String>, Vec<Vec<String>>)) {
    egui::Grid::new(name).striped(true).min_row_height(18.0).spacing(vec2(16.0, 3.0)).show(ui, |ui| {
        for head in heads {
            ui.label(RichText::new(head).small().weak());
        }
        ui.end_row();
        for row in rows {
            for cell in row {
                ui.label(RichText::new(cell).small());
            }
            ui.end_row();
        }
    });
}
