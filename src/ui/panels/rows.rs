//! The rows below the picture: the shots of the chosen body and side, a row for each view, matched pairs above each
//! other, places for what is missing; or all shots, or those still to be sorted, as a plain list.

use egui::accesskit::Role as Part;
use egui::{Align2, Rect, Response, RichText, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::key::as_here;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::first_numbers::standing_shown;
use crate::app::display::preferences::SidePanel;
use crate::app::pages::{Page, PageCommand};
use crate::app::session::document::Document;
use crate::app::session::state::State as App;
use crate::app::shots::selection::{FreePlace, Pick, Scope};
use crate::app::shots::shot_summary::{label_words, short_words, standing_sign, standing_words};
use crate::case::document::Shot;
use crate::case::image::taken;
use crate::case::plan::rows::{MomentColumn, ROWS, RowPlace, rows};
use crate::geom::point::Point;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::measure::verdict::State;
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::{Mode, Theme, state_sign};
use crate::scene::format;
use crate::ui::canvas_floats::{ALL_OF_ZOOM, zoom_ui};
use crate::ui::icons::icon;
use crate::ui::look::{colour, font};
use crate::ui::paint;
use crate::ui::panels::toolbar::{is_one_line, item};
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, command_button, sign_button, tab};

/// Height of the line above the rows in points.
const HEAD: f32 = 32.0;
/// Height of the stages' names in points.
const STAGES: f32 = 15.0;
/// Height of a row in points: in a high window, in a usual one, and in a low one.
const ROW: [f32; 3] = [52.0, 36.0, 28.0];
/// Width of the rows' names in points.
const NAMES: f32 = 58.0;
/// Least width of a column in points, for the stage's name above it.
const COLUMN: f32 = 92.0;
/// Room for the sign beside a small picture in points.
const SIGN: f32 = 30.0;
/// Height of the two lines below an image in the plain list, in points.
const LINES: f32 = 32.0;
/// Width to height of an image in the plain list.
const WIDE: f32 = 1.4;
/// Side of the image that a pointer over a shot brings up, in points.
const LARGE: f32 = 240.0;
/// Windows at least as high as this, in points, have high rows, and those lower than the other low ones.
const HIGH_AND_LOW: (f64, f64) = (1200.0, 1000.0);

/// Height of the bar that moves the columns, and of the panel's margins, in points.
const BAR: f32 = 10.0;
const MARGINS: f32 = 4.0;
/// Room for the word of the button that leads to the overview, with what stands around it, in points.
const OVERVIEW: f32 = 160.0;

/// Height of the panel in points, its margins included.
#[must_use]
pub fn height(state: &App) -> f32 {
    if open(state) { HEAD + STAGES + 3.0 * row_height(state) + BAR + MARGINS } else { HEAD + MARGINS }
}

/// Whether more than the line above the rows is seen: while sorting always, for that needs the list.
fn open(state: &App) -> bool {
    let sorting = state.editor.document.as_ref().is_some_and(|document| document.is_labeling());
    sorting || state.display.has(SidePanel::Rows)
}

fn row_height(state: &App) -> f32 {
    let height = state.display.height;
    if height >= HIGH_AND_LOW.0 {
        ROW[0]
    } else if height >= HIGH_AND_LOW.1 {
        ROW[1]
    } else {
        ROW[2]
    }
}

/// Width of a column for rows of this height.
fn column_width(row: f32) -> f32 {
    (picture_size(row).x + SIGN).max(COLUMN)
}

/// Shows the rows.
pub fn rows_ui(ui: &mut Ui, state: &App, textures: &mut Textures, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    // The panel never grows with what is in it, or the picture would move.
    let room = ui.max_rect();
    let mut ui = ui.new_child(egui::UiBuilder::new().max_rect(room));
    ui.set_clip_rect(room.intersect(ui.clip_rect()));
    head(&mut ui, state, document, asked);
    let follow = newly_shown(&ui, document);
    if !open(state) {
        return;
    }
    match document.scope() {
        Scope::Body(level, side) => {
            body_rows(&mut ui, state, document, (level, side), follow, textures, asked);
        }
        Scope::All | Scope::ToSort => plain_list(&mut ui, state, document, follow, textures, asked),
    }
}

/// Whether another shot is shown, or something else is listed, than in the pass before: only then the list moves to
/// the shown shot, so that it can be scrolled away from it.
fn newly_shown(ui: &Ui, document: &Document) -> bool {
    let now = (document.shown.clone(), Some(document.scope()));
    let key = egui::Id::unique("shown in the rows");
    ui.data_mut(|data| {
        let before = data.get_temp_mut_or_default::<(Option<String>, Option<Scope>)>(key);
        let fresh = *before != now;
        *before = now;
        fresh
    })
}

/// What is listed, what else can be, and what can be done with it.
fn head(ui: &mut Ui, state: &App, document: &Document, asked: &mut Asked) {
    ui.horizontal(|ui| {
        ui.set_height(HEAD - 6.0);
        let scope = document.scope();
        let mode = state.display.mode;
        let body = match scope {
            Scope::Body(level, side) => Some((level, side)),
            _ => document.shot().and_then(|shot| shot.level.zip(shot.side)),
        };
        if let Some((level, side)) = body {
            let words = format!("{} {}", level.name(), format::side(side));
            scope_tab(ui, mode, words, (Scope::Body(level, side), scope), asked);
        }
        let all = format!("All shots: {}", document.case().shots.len());
        scope_tab(ui, mode, all, (Scope::All, scope), asked);
        let to_sort = document.plan().to_sort.len();
        if to_sort > 0 {
            scope_tab(ui, mode, format!("Labels missing: {to_sort}"), (Scope::ToSort, scope), asked);
        }
        let chosen = document.chosen().len();
        if chosen > 1 {
            ui.label(RichText::new(format!("{chosen} selected")).small());
        }
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            fold(ui, state, asked);
            shot_menu(ui, state, asked);
            command_button(ui, state, Command::Shots(ShotsCommand::Label), asked);
            overview_button(ui, state, asked);
            if is_one_line(state.display.width) {
                ui.add_space(4.0);
                zoom_ui(ui, state, asked);
            }
        });
    });
}

/// Folds the rows away or brings them back; the line above them stays.
fn fold(ui: &mut Ui, state: &App, asked: &mut Asked) {
    let command = Command::Window(WindowCommand::Fold(SidePanel::Rows));
    let there = state.display.has(SidePanel::Rows);
    let (label, words) = if there { ("▼", "Hide the shots") } else { ("▲", "Show the shots") };
    let response = ui.button(label);
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, words));
    let key = command.key_text().unwrap_or_default();
    if response.on_hover_text(format!("{words}.\nKey: {key}")).clicked() {
        asked.push(command);
    }
}

/// To all shots, large: in a word where there is room for it beside the buttons of zoom.
fn overview_button(ui: &mut Ui, state: &App, asked: &mut Asked) {
    let command = Command::Page(PageCommand::Go(Page::Overview));
    let zoom = if is_one_line(state.display.width) { ALL_OF_ZOOM } else { 0.0 };
    match icon(&command) {
        Some(sign) if ui.available_width() < zoom + OVERVIEW => sign_button(ui, state, command, sign, asked),
        _ => {
            command_button(ui, state, command, asked);
        }
    }
}

fn scope_tab(ui: &mut Ui, mode: Mode, words: String, (scope, now): (Scope, Scope), asked: &mut Asked) {
    let theme = Theme::of(mode);
    if tab(ui, scope == now, &words, &theme).clicked() {
        asked.push(Command::Shots(ShotsCommand::List(scope)));
    }
}

fn shot_menu(ui: &mut Ui, state: &App, asked: &mut Asked) {
    ui.menu_button("Shot", |ui| {
        ui.set_width(272.0);
        for group in [
            &[Command::Page(PageCommand::Go(Page::Overview))][..],
            &[Command::Shots(ShotsCommand::SelectAll), Command::Shots(ShotsCommand::OrderByTime)],
            &[Command::Shots(ShotsCommand::Earlier), Command::Shots(ShotsCommand::Later)],
            &[Command::Shots(ShotsCommand::Duplicate), Command::Shots(ShotsCommand::DuplicateOtherSide)],
            &[Command::File(FileCommand::Relink), Command::Shots(ShotsCommand::Remove)],
        ] {
            for command in group {
                item(ui, state, command.clone(), asked);
            }
            ui.separator();
        }
        ui.label(
            RichText::new(as_here("Ctrl click selects several shots, Shift click a range.")).small().weak(),
        );
    });
}

fn body_rows(
    ui: &mut Ui,
    state: &App,
    document: &Document,
    (level, side): (Level, Side),
    follow: bool,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let moments = rows(document.case(), level, side);
    let row = row_height(state);
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    ui.horizontal_top(|ui| {
        names(ui, row, &theme);
        ScrollArea::horizontal().auto_shrink([false, true]).show(ui, |ui| {
            ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
            ui.horizontal_top(|ui| {
                let mut before = None;
                for moment in &moments {
                    ui.vertical(|ui| {
                        ui.set_width(column_width(row));
                        column_head(ui, moment, before, column_width(row), &theme);
                        let top = ui.cursor().top();
                        for view in ROWS {
                            place(ui, state, document, moment, view, row, follow, textures, asked);
                        }
                        passage(ui, document, (level, side), moment, top + row, &theme);
                    });
                    before = Some(moment.stage);
                }
            });
        });
    });
}

fn names(ui: &mut Ui, row: f32, theme: &Theme) {
    ui.vertical(|ui| {
        ui.set_width(NAMES);
        let (rect, _) = ui.allocate_exact_size(vec2(NAMES, STAGES + 3.0 * row), Sense::hover());
        let mut y = rect.top() + STAGES + row * 0.5;
        for view in ROWS {
            let words = match view {
                View::Pedicle => "pedicle",
                other => format::view(other),
            };
            let at = pos2(rect.left(), y);
            ui.painter().text(at, Align2::LEFT_CENTER, words, font(TextSize::Small), colour(theme.weak_text));
            y += row;
        }
    });
}

/// The stage's name above its first column.
fn column_head(ui: &mut Ui, moment: &MomentColumn, before: Option<Option<Stage>>, width: f32, theme: &Theme) {
    let (rect, _) = ui.allocate_exact_size(vec2(width, STAGES), Sense::hover());
    if before == Some(moment.stage) {
        return;
    }
    let words = moment.stage.map_or("stage not set", short_stage);
    let at = rect.left_center() + vec2(4.0, 0.0);
    ui.painter().text(at, Align2::LEFT_CENTER, words, font(TextSize::Small), colour(theme.weak_text));
}

const fn short_stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Pedicle => "transpedicular",
        Stage::PosteriorWall => "posterior wall",
        other => format::stage(other),
    }
}

#[expect(clippy::too_many_arguments, reason = "one place, and each is a thing of its own")]
fn place(
    ui: &mut Ui,
    state: &App,
    document: &Document,
    moment: &MomentColumn,
    view: View,
    row: f32,
    follow: bool,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let (rect, _) = ui.allocate_exact_size(vec2(column_width(row), row), Sense::hover());
    match moment.of(view) {
        RowPlace::Nothing => {}
        RowPlace::Missing => {
            let stage = moment.stage.map_or("", format::stage);
            let words = format!("missing: {}, {stage}", format::view(view));
            let response =
                ui.interact(rect, ui.scope_id().with(("missing", view.key(), stage)), Sense::click());
            response.widget_info(|| WidgetInfo::labeled(Part::Button, true, words.clone()));
            if response.clicked()
                && let (Scope::Body(level, side), Some(stage)) = (document.scope(), moment.stage)
            {
                asked.push(Command::File(FileCommand::AddHere(FreePlace { level, side, view, stage })));
            }
            if response.hovered() || response.has_focus() {
                ui.painter().rect_filled(rect.shrink(1.0), 4.0, colour(theme.hovered));
            }
            let area = picture_area(rect);
            let points = [area.left_top(), area.right_top(), area.right_bottom(), area.left_bottom()];
            let line = egui::Stroke::new(1.0, colour(theme.edge));
            let closed: Vec<_> = points.into_iter().chain([area.left_top()]).collect();
            ui.painter().extend(egui::Shape::dashed_line(&closed, line, 4.0, 4.0));
            let at = pos2(area.right() + 5.0, rect.center().y);
            ui.painter().text(at, Align2::LEFT_CENTER, "–", font(TextSize::Small), colour(theme.weak_text));
            response.on_hover_text(format!(
                "{} at this stage ({stage}) is expected but missing. Click to add its image.",
                shot_words(view)
            ));
        }
        RowPlace::Shot(index) => {
            let Some(shot) = document.case().shots.get(index) else { return };
            let areas = (rect, picture_area(rect));
            let response = shot_ui(ui, state, document, shot, areas, follow, textures, asked);
            response.on_hover_ui(|ui| tip_ui(ui, state, document, shot, textures, &theme));
        }
    }
}

/// Between the two shots of a pair that shows the way through the pedicle: the sign of what it says, unless all is
/// well.
fn passage(
    ui: &Ui,
    document: &Document,
    (level, side): (Level, Side),
    moment: &MomentColumn,
    y: f32,
    theme: &Theme,
) {
    let plan = document.plan().body(level).and_then(|body| body.side(side));
    let RowPlace::Shot(lateral) = moment.of(View::Lateral) else { return };
    let Some(passage) = plan.and_then(|plan| plan.passages.iter().find(|of| of.lateral == lateral)) else {
        return;
    };
    if !matches!(passage.state, State::Outside | State::Undecided) {
        return;
    }
    let at = pos2(ui.min_rect().right() - 9.0, y);
    let rect = Rect::from_center_size(at, vec2(16.0, 16.0));
    let words = format!("medial breach check: {}", format::state(passage.state));
    let response = ui.interact(rect, ui.scope_id().with(("passage", lateral)), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Part::Label, true, words.clone()));
    let (role, glyph) = state_sign(passage.state);
    let at = Point::new(f64::from(at.x), f64::from(at.y));
    paint::primitives(ui.painter(), &Primitive::sign(at, glyph, role, theme));
    response.on_hover_text(
        "In this pair the tip is posterior to the body. Together, the two views show whether it had crossed the medial pedicle border there.",
    );
}

/// A view as the kind of a shot, as a sentence begins.
const fn shot_words(view: View) -> &'static str {
    match view {
        View::Lateral => "A lateral shot",
        View::Ap => "An AP shot",
        View::Pedicle => "An en face pedicle shot",
    }
}

fn picture_size(row: f32) -> egui::Vec2 {
    let height = row - 6.0;
    vec2(height * 1.3, height)
}

fn picture_area(rect: Rect) -> Rect {
    Rect::from_min_size(rect.min + vec2(4.0, 3.0), picture_size(rect.height()))
}

fn tip(document: &Document, shot: &Shot) -> String {
    let (standing, doubted) = standing_shown(document, shot);
    let caution = if doubted { ", see the caution beside it" } else { "" };
    let said = format::shot(shot.level, shot.side, shot.known_view(), shot.stage);
    let mut lines = vec![shot.id.clone(), said, format!("{}{caution}", standing_words(standing))];
    lines.extend(shot.taken.clone());
    lines.join("\n")
}

/// What a pointer over a shot brings up: its image, larger, and what is known of it.
fn tip_ui(
    ui: &mut Ui,
    state: &App,
    document: &Document,
    shot: &Shot,
    textures: &mut Textures,
    theme: &Theme,
) {
    let (area, _) = ui.allocate_exact_size(vec2(LARGE, LARGE), Sense::hover());
    small_picture(ui, state, shot, area, textures, theme);
    ui.label(tip(document, shot));
}

/// A shot: its small picture and the sign of how far it has come.
#[expect(clippy::too_many_arguments, reason = "one shot, and each is a thing of its own")]
fn shot_ui(
    ui: &Ui,
    state: &App,
    document: &Document,
    shot: &Shot,
    (rect, small): (Rect, Rect),
    follow: bool,
    textures: &mut Textures,
    asked: &mut Asked,
) -> Response {
    let theme = Theme::of(state.display.mode);
    let (standing, doubted) = standing_shown(document, shot);
    let shown = document.shown.as_deref() == Some(shot.id.as_str());
    let chosen = document.is_chosen(&shot.id);
    let response = ui.interact(rect, ui.scope_id().with(("shot", &shot.id)), Sense::click());
    let caution = if doubted { ", see caution" } else { "" };
    let label = format!("{}, {}: {}{caution}", shot.id, short_words(shot), standing_words(standing));
    response.widget_info(|| WidgetInfo::selected(Part::ListBoxOption, true, chosen, label.clone()));
    if response.clicked() {
        let held = ui.input(|input| input.modifiers);
        asked.push(if held.command || held.ctrl {
            Command::Shots(ShotsCommand::Select(shot.id.clone(), Pick::Toggle))
        } else if held.shift {
            Command::Shots(ShotsCommand::Select(shot.id.clone(), Pick::Through))
        } else {
            Command::Shots(ShotsCommand::Show(shot.id.clone()))
        });
    }
    if shown && follow {
        response.scroll_to_me(None);
    }
    let painter = ui.painter_at(rect);
    let area = rect.shrink(1.0);
    let fill = match (chosen, response.hovered()) {
        (true, _) => Some(theme.selection),
        (false, true) => Some(theme.hovered),
        (false, false) => None,
    };
    if let Some(fill) = fill {
        painter.rect_filled(area, 4.0, colour(fill));
    }
    if response.has_focus() || (shown && document.choice.also.len() > 1) {
        paint::frame(&painter, area, theme.accent);
    }
    small_picture(ui, state, shot, small, textures, &theme);
    let (role, glyph) = standing_sign(standing);
    // Beside the image, or where there is no room for that, upon its corner.
    let beside = small.right() + 24.0 < rect.right();
    let at = if beside {
        pos2(small.right() + 14.0, rect.center().y)
    } else {
        let corner = small.right_bottom() - vec2(11.0, 11.0);
        painter.circle_filled(corner, 10.0, colour(theme.panel));
        corner
    };
    let at = Point::new(f64::from(at.x), f64::from(at.y));
    paint::primitives(&painter, &Primitive::sign(at, glyph, role, &theme));
    response
}

fn small_picture(ui: &Ui, state: &App, shot: &Shot, area: Rect, textures: &mut Textures, theme: &Theme) {
    let painter = ui.painter_at(area);
    painter.rect_filled(area, 2.0, colour(theme.ground));
    if let Some(texture) =
        state.editor.key_of(shot).and_then(|key| textures.small(ui.ctx(), &state.editor, &key))
    {
        let image = texture.size_vec2();
        let scale = (area.width() / image.x).max(area.height() / image.y);
        let seen = area.size() / (image * scale);
        let uv = Rect::from_center_size(pos2(0.5, 0.5), seen);
        painter.image(texture.id(), area, uv, egui::Color32::WHITE);
    }
}

fn plain_list(
    ui: &mut Ui,
    state: &App,
    document: &Document,
    follow: bool,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let listed = document.listed();
    if listed.is_empty() {
        let words = match document.scope() {
            Scope::ToSort => "Every shot is labeled with level, side, view and stage.",
            _ => "This case has no shots yet. Drop images on the window, or add them.",
        };
        ui.label(RichText::new(words).weak());
        return;
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 2.0);
            let cell = cell_size(row_height(state));
            for index in listed {
                let Some(shot) = document.case().shots.get(index) else { continue };
                let (rect, _) = ui.allocate_exact_size(cell, Sense::hover());
                let small = Rect::from_min_max(rect.min + vec2(3.0, 3.0), rect.max - vec2(3.0, LINES));
                let response = shot_ui(ui, state, document, shot, (rect, small), follow, textures, asked);
                lines(ui, shot, rect, &theme);
                response.on_hover_ui(|ui| tip_ui(ui, state, document, shot, textures, &theme));
            }
        });
    });
}

/// Size of a shot in the plain list beside rows of this height: as high as the panel, with the image as large as that
/// allows.
fn cell_size(row: f32) -> egui::Vec2 {
    let height = STAGES + 3.0 * row + BAR - 4.0;
    vec2((height - LINES - 3.0) * WIDE + 6.0, height)
}

/// Name, and what is said and when it was taken, below the small image.
fn lines(ui: &Ui, shot: &Shot, rect: Rect, theme: &Theme) {
    let left = rect.left() + 4.0;
    let painter = ui.painter_at(rect);
    let room = rect.right() - left - 2.0;
    // When a file was written says nothing of the shot.
    let taken = shot.taken.as_deref().filter(|words| !taken::is_file_time(words));
    let taken = taken.map(taken::short).unwrap_or_default();
    let said = [label_words(shot), taken];
    let said = said.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
    for (i, (words, ink)) in
        [(shot.id.as_str(), theme.text), (&said, theme.weak_text)].into_iter().enumerate()
    {
        let mut job = egui::text::LayoutJob::single_section(
            words.to_owned(),
            egui::TextFormat::simple(font(TextSize::Small), colour(ink)),
        );
        job.wrap = egui::text::TextWrapping::truncate_at_width(room);
        let galley = painter.layout_job(job);
        #[expect(clippy::cast_precision_loss, reason = "two lines")]
        let y = rect.bottom() - LINES + 1.0 + 15.0 * i as f32;
        painter.galley(pos2(left, y), galley, colour(ink));
    }
}
