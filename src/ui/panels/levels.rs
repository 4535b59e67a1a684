//! The ladder: the levels stacked as in the spine, each body in two halves, the discs between them. It says what a
//! case still needs, and choosing a half chooses the rows below the picture.

use egui::accesskit::Role as Part;
use egui::{Align2, Rect, RichText, ScrollArea, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::file::FileCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::shots::selection::Scope;
use crate::case::document::edit::Edit;
use crate::case::plan::standing::Standing;
use crate::case::plan::{BodyPlan, Expected, SidePlan};
use crate::geom::point::Point;
use crate::measure::mark::{Level, Side, Stage};
use crate::measure::verdict::State as Verdict;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::{Ground, Theme, space, state_sign};
use crate::scene::format;
use crate::scene::words::plan;
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::widgets::{Asked, Typed, command_button};

/// The levels that are always there; others appear once a shot or a disc names them.
const USUAL: [Level; 6] = [Level::L1, Level::L2, Level::L3, Level::L4, Level::L5, Level::S1];
/// Height of a body that has shots or is to be treated, and of any other, in points.
const BODY: (f32, f32) = (62.0, 26.0);
/// Height of the ladder in points from which on bodies are drawn higher.
const USUAL_HEIGHT: f32 = 620.0;
/// Height of a disc in points.
const DISC: f32 = 20.0;
/// Width of the level's name between the halves in points.
const NAME: f32 = 34.0;
/// Side of a stage's mark in points.
const MARK: f32 = 10.0;

/// Shows the column: title, ladder, what is to be sorted.
pub fn ladder_ui(ui: &mut Ui, state: &State, typed: &mut Typed, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let theme = Theme::of(state.display.mode);
    title(ui, document.case().title.as_deref().unwrap_or_default(), typed, asked);
    ui.add_space(pt(space::S1));
    summary(ui, document);
    let below = 40.0;
    let height = (ui.available_height() - below).max(60.0);
    ScrollArea::vertical().auto_shrink(false).max_height(height).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        sides(ui, &theme);
        let levels = levels_with_neighbors(document);
        let scale = (height / USUAL_HEIGHT).clamp(1.0, 1.5);
        for (i, &level) in levels.iter().enumerate() {
            body(ui, document, level, scale, &theme, asked);
            if i + 1 < levels.len() {
                disc(ui, document, level, &theme, asked);
            }
        }
        ui.add_space(pt(space::S2));
        for name in &document.plan().unreadable_discs {
            let words = format!("The case lists a disc “{name}”, which is not between two adjacent bodies.");
            ui.add(egui::Label::new(RichText::new(words).small().weak()).wrap());
        }
    });
    ui.add_space(pt(space::S1));
    command_button(ui, state, Command::File(FileCommand::AddImages), asked);
}

/// The case's title, to be typed.
fn title(ui: &mut Ui, now: &str, typed: &mut Typed, asked: &mut Asked) {
    let field =
        TextEdit::singleline(typed.following(now)).hint_text("Case title").desired_width(f32::INFINITY);
    let response = ui.add(field).accessible_name("Case title");
    if response.lost_focus() && typed.text() != now {
        let title = Some(typed.text().trim().to_owned()).filter(|title| !title.is_empty());
        asked.push(Command::Case(CaseCommand::Edit(Edit::SetTitle(title))));
    }
}

/// In a sentence, what the case still needs.
fn summary(ui: &mut Ui, document: &Document) {
    let plan = document.plan();
    let words = if plan.discs.is_empty() {
        "Click the disc whose endplates are affected (Modic type 1 or 2): both adjacent bodies are planned."
            .to_owned()
    } else {
        plan::summary(plan)
    };
    ui.add(egui::Label::new(RichText::new(words).small().weak()).wrap());
}

/// The levels of the case, down the spine without a gap, with a neighbor on either side so that the discs between
/// can be set; the usual ones where the case has none.
fn levels_with_neighbors(document: &Document) -> Vec<Level> {
    let own = levels(document);
    let all: Vec<Level> = every_level().collect();
    let at = |level: &Level| all.iter().position(|one| one == level);
    match (own.first().and_then(at), own.last().and_then(at)) {
        (Some(first), Some(last)) => all[first.saturating_sub(1)..(last + 2).min(all.len())].to_vec(),
        _ => USUAL.to_vec(),
    }
}

/// The levels of the case, down the spine without a gap; the usual ones where the case has none.
pub(super) fn levels(document: &Document) -> Vec<Level> {
    let named: Vec<Level> = document.plan().bodies.iter().map(|body| body.level).collect();
    let (Some(first), Some(last)) = (named.iter().min(), named.iter().max()) else { return USUAL.to_vec() };
    every_level().filter(|level| first <= level && level <= last).collect()
}

/// Every level, down the spine.
fn every_level() -> impl Iterator<Item = Level> {
    std::iter::successors(Level::from_name("T1"), |level| level.below())
}

/// Which half is which.
fn sides(ui: &mut Ui, theme: &Theme) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), Sense::hover());
    let painter = ui.painter_at(rect);
    for (at, align, words) in [
        (rect.left_center(), Align2::LEFT_CENTER, "patient's right"),
        (rect.right_center(), Align2::RIGHT_CENTER, "left"),
    ] {
        painter.text(at, align, words, font(TextSize::Small), colour(theme.weak_text));
    }
    response.on_hover_text("Frontal view: the patient's right is on the left.");
}

fn body(ui: &mut Ui, document: &Document, level: Level, scale: f32, theme: &Theme, asked: &mut Asked) {
    let plan = document.plan().body(level);
    let height = scale * if plan.is_some() { BODY.0 } else { BODY.1 };
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    outline(ui, rect, level, plan.is_some_and(|plan| plan.wanted), theme);
    let half_width = (width - NAME) * 0.5;
    for side in [Side::Right, Side::Left] {
        let left = if side == Side::Right { rect.left() } else { rect.right() - half_width };
        let area = Rect::from_min_size(pos2(left, rect.top()), vec2(half_width, height));
        half(ui, document, plan, (level, side), area, theme, asked);
    }
    let ink = if plan.is_some() { theme.text } else { theme.weak_text };
    let name = level.name();
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, name, font(TextSize::Body), colour(ink));
}

/// The body's outline, a little waisted; a body to be treated has a stronger one.
fn outline(ui: &Ui, rect: Rect, level: Level, wanted: bool, theme: &Theme) {
    let (left, right) = (f64::from(rect.left()) + 1.0, f64::from(rect.right()) - 1.0);
    let (top, bottom) = (f64::from(rect.top()), f64::from(rect.bottom()));
    let waist = 0.08 * (bottom - top);
    // The sacrum narrows downward.
    let narrowing = if level == Level::S1 { 0.35 * (bottom - top) } else { 0.0 };
    let edge = |x: f64, inward: f64| -> Vec<Point> {
        (0..=8)
            .map(|i| {
                let t = f64::from(i) / 8.0;
                let inset = waist * (std::f64::consts::PI * t).sin() + narrowing * t;
                Point::new(x + inward * inset, top + (bottom - top) * t)
            })
            .collect()
    };
    let (a, b) = (edge(left, 1.0), edge(right, -1.0));
    let mut around = a.clone();
    around.extend(b.iter().rev());
    let stroke = theme.stroke(if wanted { Role::Outline } else { Role::Frame });
    paint::primitives(
        ui.painter(),
        &[
            Primitive::Strip { a, b, colour: theme.fill(Role::Bone, Ground::Panel) },
            Primitive::Stroke {
                points: around,
                closed: true,
                width: stroke.width,
                colour: stroke.colour,
                dash: Dash::default(),
            },
        ],
    );
}

fn half(
    ui: &Ui,
    document: &Document,
    body: Option<&BodyPlan>,
    (level, side): (Level, Side),
    rect: Rect,
    theme: &Theme,
    asked: &mut Asked,
) {
    let scope = Scope::Body(level, side);
    let chosen = document.scope() == scope;
    let plan = body.and_then(|body| body.side(side));
    let id = ui.scope_id().with(("half", level.name(), side.key()));
    let response = ui.interact(rect, id, Sense::click());
    let name = plan::side(level, side, plan);
    response.widget_info(|| WidgetInfo::selected(Part::ListBoxOption, true, chosen, name.clone()));
    if response.clicked() {
        asked.push(Command::Shots(ShotsCommand::List(scope)));
    }
    let painter = ui.painter_at(rect);
    let area = rect.shrink(3.0);
    if chosen {
        painter.rect_filled(area, 4.0, colour(theme.selection));
    } else if response.hovered() {
        painter.rect_filled(area, 4.0, colour(theme.hovered));
    }
    if response.has_focus() {
        paint::frame(&painter, area, theme.accent);
    }
    if let Some(plan) = plan {
        progress(ui, plan, rect, theme);
    }
    response.on_hover_text(half_tip(level, side, plan));
}

/// The stages as marks that fill, and the final verdict above them.
fn progress(ui: &Ui, plan: &SidePlan, rect: Rect, theme: &Theme) {
    let painter = ui.painter_at(rect);
    let stages = Stage::ALL.len();
    #[expect(clippy::cast_precision_loss, reason = "five stages")]
    let step = (rect.width() - 18.0 - MARK) / (stages - 1) as f32;
    let y = rect.bottom() - 17.0;
    let mut x = rect.left() + 9.0;
    for stage in Stage::ALL {
        let mark = Rect::from_min_size(pos2(x, y - MARK * 0.5), vec2(MARK, MARK));
        stage_mark(&painter, plan, stage, mark, theme);
        x += step;
    }
    let y = rect.top() + 20.0;
    let (role, glyph) = plan.verdict.map_or((Role::Nothing, Glyph::Ring), state_sign);
    let at = Point::new(f64::from(rect.left() + 15.0), f64::from(y));
    paint::primitives(&painter, &Primitive::sign(at, glyph, role, theme));
    let words = plan.verdict.map_or("not yet", short_state);
    let at = pos2(rect.left() + 26.0, y);
    painter.text(at, Align2::LEFT_CENTER, words, font(TextSize::Small), colour(theme.text));
}

/// A verdict in a word that fits into a half.
const fn short_state(state: Verdict) -> &'static str {
    match state {
        Verdict::Undecided => "too close",
        other => format::state(other),
    }
}

/// One stage: an empty square where nothing is there, a dot for what is there and not read, filled as far as it is
/// read, crossed where it lies outside its target.
fn stage_mark(painter: &egui::Painter, plan: &SidePlan, stage: Stage, rect: Rect, theme: &Theme) {
    let views: Vec<&Expected> = plan.expected.iter().filter(|e| e.stage == stage).collect();
    let read = views.iter().filter(|e| e.is_read()).count();
    let there = views.iter().filter(|e| !e.shots.is_empty()).count();
    let outside = views.iter().any(|e| e.standing == Some(Standing::Judged(Verdict::Outside)))
        || plan.passages.iter().any(|of| of.stage == Some(stage) && of.state == Verdict::Outside);
    if read > 0 {
        #[expect(clippy::cast_precision_loss, reason = "one or two views")]
        let share = read as f32 / views.len().max(1) as f32;
        let filled = Rect::from_min_max(pos2(rect.left(), rect.bottom() - rect.height() * share), rect.max);
        painter.rect_filled(filled, 2.0, colour(theme.accent));
    } else if there > 0 {
        painter.circle_filled(rect.center(), 2.0, colour(theme.text));
    }
    let line = if there > 0 { theme.text } else { theme.edge };
    let stroke = egui::Stroke::new(1.0, colour(line));
    painter.rect_stroke(rect, 2.0, stroke, egui::StrokeKind::Inside);
    if outside {
        let at = Point::new(f64::from(rect.center().x), f64::from(rect.center().y) - 11.0);
        paint::primitives(painter, &small(Primitive::sign(at, Glyph::Cross, Role::Outside, theme), at));
    }
}

/// A sign at two thirds of its size.
fn small(primitives: Vec<Primitive>, about: Point) -> Vec<Primitive> {
    let nearer = |p: Point| about + (p - about) * 0.66;
    primitives
        .into_iter()
        .map(|primitive| match primitive {
            Primitive::Stroke { points, closed, width, colour, dash } => {
                let points = points.into_iter().map(nearer).collect();
                Primitive::Stroke { points, closed, width, colour, dash }
            }
            other => other,
        })
        .collect()
}

/// Stage by stage, what is there and what is not.
pub(super) fn half_tip(level: Level, side: Side, plan: Option<&SidePlan>) -> String {
    let Some(plan) = plan else {
        return format!(
            "{}, patient's {}: no shots yet. Select it and add images, or label shots for it.",
            level.name(),
            format::side(side)
        );
    };
    let mut lines = vec![format!("{}, patient's {}", level.name(), format::side(side))];
    lines.extend(plan::stages(plan).iter().map(|line| capital(line)));
    lines.push(match plan.verdict {
        Some(state) => format!("Final verdict of the matched pair: {}", format::state(state)),
        None => "Final verdict: needs a matched lateral and AP of the final stage, both read".to_owned(),
    });
    lines.join("\n")
}

/// A disc; one that is degenerated is drawn narrow and dark.
fn disc(ui: &mut Ui, document: &Document, above: Level, theme: &Theme, asked: &mut Asked) {
    let Some(below) = above.below() else { return };
    let said = document.plan().discs.contains(&(above, below));
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), DISC), Sense::click());
    let label = disc_label(above, below, said);
    response.widget_info(|| WidgetInfo::selected(Part::CheckBox, true, said, label.clone()));
    if response.clicked() {
        asked.push(Command::Case(CaseCommand::SwitchDisc(above)));
    }
    let painter = ui.painter_at(rect);
    let shape = rect.shrink2(vec2(14.0, if said { 6.0 } else { 4.0 }));
    let (fill, ink) = if said {
        (theme.accent, theme.text)
    } else {
        (if response.hovered() { theme.hovered } else { theme.raised }, theme.weak_text)
    };
    if said {
        let word = format!("{}-{} affected", above.name(), below.name());
        let galley = painter.layout_no_wrap(word, font(TextSize::Small), colour(ink));
        let at = Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size());
        for part in [
            Rect::from_min_max(shape.min, pos2(at.left() - 6.0, shape.bottom())),
            Rect::from_min_max(pos2(at.right() + 6.0, shape.top()), shape.max),
        ] {
            painter.rect_filled(part, 4.0, colour(fill));
        }
        painter.galley(at.min, galley, colour(ink));
    } else {
        painter.rect_filled(shape, 6.0, colour(fill));
    }
    if response.has_focus() {
        paint::frame(&painter, rect.shrink2(vec2(8.0, 0.0)), theme.accent);
    }
    response.on_hover_text(disc_tip(above, below, said));
}

/// What a disc is called, with what is said of it.
pub(super) fn disc_label(above: Level, below: Level, said: bool) -> String {
    let words = if said { "affected" } else { "not marked as affected" };
    format!("Disc {}-{}: {words}", above.name(), below.name())
}

/// What a click on a disc does.
pub(super) fn disc_tip(above: Level, below: Level, said: bool) -> String {
    let (above, below) = (above.name(), below.name());
    if said {
        format!(
            "The endplates at {above}-{below} are affected: {above} and {below} are planned. Click to clear it."
        )
    } else {
        format!(
            "Click if the endplates at {above}-{below} are affected (Modic type 1 or 2): {above} and {below} are then planned."
        )
    }
}
