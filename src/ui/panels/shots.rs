//! The shots of the case in their order, with their state at a glance.

use egui::accesskit::Role as Part;
use egui::{Align2, Rect, RichText, ScrollArea, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};

use crate::app::command::Command;
use crate::app::document::{Document, required_done};
use crate::app::glance::{Looked, short_words, standing_sign, standing_words};
use crate::app::state::State;
use crate::case::document::Shot;
use crate::case::edit::Edit;
use crate::case::standing::Standing;
use crate::geom::point::Point;
use crate::scene::format;
use crate::scene::primitive::Primitive;
use crate::scene::shape::TextSize;
use crate::scene::theme::{Theme, space};
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, Typed, command_button};

/// Size of a shot's small picture in points.
const SMALL: egui::Vec2 = vec2(64.0, 56.0);

/// Shows the list of shots.
pub fn shots_ui(ui: &mut Ui, state: &State, textures: &mut Textures, typed: &mut Typed, asked: &mut Asked) {
    let Some(document) = &state.document else { return };
    let shots = &document.case().shots;
    let unmarked = shots.iter().filter(|shot| !required_done(shot)).count();
    title(ui, document.case().title.as_deref().unwrap_or_default(), typed, asked);
    ui.horizontal(|ui| {
        ui.label(RichText::new(format::count(shots.len(), "shot", "shots")).strong());
        if unmarked > 0 {
            ui.label(RichText::new(format!("{unmarked} to mark")).small().weak());
        }
    });
    let below = 44.0;
    let height = (ui.available_height() - below).max(60.0);
    ScrollArea::vertical().auto_shrink(false).max_height(height).show(ui, |ui| {
        let mut group = None;
        for shot in shots {
            let body = (shot.level, shot.side);
            if group != Some(body) {
                group = Some(body);
                ui.add_space(pt(space::S2));
                ui.label(RichText::new(body_words(shot)).small().weak());
            }
            row(ui, state, document, shot, textures, asked);
        }
    });
    ui.add_space(pt(space::S1));
    command_button(ui, state, Command::AddPictures, asked);
}

/// The case's title, to be typed.
fn title(ui: &mut Ui, now: &str, typed: &mut Typed, asked: &mut Asked) {
    let field = TextEdit::singleline(typed.following(now))
        .hint_text("Title of the case")
        .desired_width(f32::INFINITY);
    let response = ui.add(field).accessible_name("Title of the case");
    if response.lost_focus() && typed.text() != now {
        let title = Some(typed.text().trim().to_owned()).filter(|title| !title.is_empty());
        asked.push(Command::Edit(Edit::SetTitle(title)));
    }
}

fn body_words(shot: &Shot) -> String {
    match (shot.level, shot.side) {
        (Some(level), Some(side)) => format!("{} {}", level.name(), format::side(side)),
        (Some(level), None) => level.name(),
        (None, Some(side)) => format!("Level not said, {}", format::side(side)),
        (None, None) => "Level not said".to_owned(),
    }
}

fn row(
    ui: &mut Ui,
    state: &State,
    document: &Document,
    shot: &Shot,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let standing = document.looked(&shot.id).map_or(Standing::Unmarked, |looked| looked.standing);
    let shown = document.shown.as_deref() == Some(shot.id.as_str());
    let size = vec2(ui.available_width(), SMALL.y + 8.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let what = short_words(shot);
    let doubted = document.looked(&shot.id).is_some_and(Looked::doubted);
    let caution = if doubted && matches!(standing, Standing::Judged(_)) { ", see caution" } else { "" };
    let words = format!("{}{caution}", standing_words(standing));
    let label = format!("{}, {what}: {words}", shot.id);
    response.widget_info(|| WidgetInfo::selected(Part::ListBoxOption, true, shown, label.clone()));
    if response.clicked() {
        asked.push(Command::ShowShot(shot.id.clone()));
    }
    if shown && !ui.is_rect_visible(rect) && document.grabbed.is_none() {
        response.scroll_to_me(None);
    }
    let painter = ui.painter_at(rect);
    let fill = match (shown, response.hovered() || response.has_focus()) {
        (true, _) => Some(theme.selection),
        (false, true) => Some(theme.hovered),
        (false, false) => None,
    };
    if let Some(fill) = fill {
        painter.rect_filled(rect, 4.0, colour(fill));
    }
    if response.has_focus() {
        paint::frame(&painter, rect, theme.accent);
    }
    let small = Rect::from_min_size(rect.min + vec2(4.0, 4.0), SMALL);
    painter.rect_filled(small, 2.0, colour(theme.ground));
    if let Some(texture) = state.key_of(shot).and_then(|key| textures.small(ui.ctx(), state, &key)) {
        let image = texture.size_vec2();
        let scale = (small.width() / image.x).max(small.height() / image.y);
        let seen = small.size() / (image * scale);
        let uv = Rect::from_center_size(pos2(0.5, 0.5), seen);
        painter.image(texture.id(), small, uv, egui::Color32::WHITE);
    }
    let left = small.right() + 8.0;
    let room = rect.right() - left - 4.0;
    let write = |y: f32, text: &str, size, ink| {
        let mut job = egui::text::LayoutJob::single_section(
            text.to_owned(),
            egui::TextFormat::simple(font(size), colour(ink)),
        );
        job.wrap = egui::text::TextWrapping::truncate_at_width(room);
        let galley = painter.layout_job(job);
        let at = Align2::LEFT_CENTER.anchor_size(pos2(left, y), galley.size());
        painter.galley(at.min, galley, colour(ink));
    };
    let line = rect.height() / 3.0 - 1.0;
    let first = rect.top() + line * 0.5 + 2.0;
    write(first, &shot.id, TextSize::Body, theme.text);
    write(first + line, &what, TextSize::Small, theme.weak_text);
    let (role, glyph) = standing_sign(standing);
    let at = Point::new(f64::from(left + 6.0), f64::from(first + 2.0 * line));
    paint::primitives(&painter, &Primitive::sign(at, glyph, role, &theme));
    let galley = painter.layout_no_wrap(words, font(TextSize::Small), colour(theme.text));
    let at = Align2::LEFT_CENTER.anchor_size(pos2(left + 18.0, first + 2.0 * line), galley.size());
    painter.galley(at.min, galley, colour(theme.text));
}
