//! Shows the page with all shots, large: images by view and time at the left, how to find the final shot and the labels of
//! the selected shots at the right.

use std::collections::BTreeMap;

use egui::accesskit::Role as Part;
use egui::{
    CentralPanel, Color32, Frame, Margin, Panel, Rect, RichText, ScrollArea, Sense, Ui, WidgetInfo, pos2,
    vec2,
};

use crate::app::command::Command;
use crate::app::command::shots::ShotsCommand;
use crate::app::display::first_numbers::{numbers_of, standing_shown};
use crate::app::pages::PageCommand;
use crate::app::pages::compare::viewport::Half;
use crate::app::pages::overview::grid::{GAP, HEAD, LINES, ShotCells, cells};
use crate::app::pages::overview::{Framing, OverviewCommand, OverviewLayout, transform};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::shots::selection::Pick;
use crate::app::shots::shot_summary::{label_words, short_words, standing_sign, standing_words};
use crate::case::document::Shot;
use crate::case::image::taken;
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::{Theme, space};
use crate::ui::look::{colour, font, pt};
use crate::ui::pages::compare::sides::{PaneHand, WheelUse, canvas_of, hands, picture};
use crate::ui::paint;
use crate::ui::panels::label_shots::groups_ui;
use crate::ui::textures::{Sight, Textures};
use crate::ui::widgets::{
    Asked, command_button, explained, keyed_button, sign_button, tab, toggle_button, weak,
};

/// Width of the column with the labels, in points.
const LABELS: f32 = 288.0;
/// How the final shots are told from the others, in the words of the trade.
/// Common practice, no source.
const HOW: &str = "The final shots are the last lateral and the last AP with the probe in place. A straight needle at the pedicle is docking; a curved, thin wire in the body is the stylet; the probe that replaces it is final.";

/// What the page keeps between frames: the images at the resolution of the screen.
#[derive(Debug, Default)]
pub struct OverviewMemory {
    sights: BTreeMap<String, Sight>,
    shown: Option<String>,
}

/// A command of this page.
const fn on(ask: OverviewCommand) -> Command {
    Command::Page(PageCommand::Overview(ask))
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut OverviewMemory,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let Some(document) = &state.editor.document else { return };
    let theme = Theme::of(state.display.mode);
    let panel = Frame::new().fill(colour(theme.panel));
    Panel::right("labels of shots")
        .resizable(false)
        .exact_size(LABELS)
        .frame(panel.inner_margin(Margin::same(12)))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| labels_ui(ui, state, document, asked));
        });
    Panel::top("overview").frame(panel.inner_margin(Margin::symmetric(8, 6))).show(ui, |ui| {
        head_ui(ui, state, &theme, asked);
    });
    CentralPanel::default().frame(Frame::new().inner_margin(Margin::symmetric(8, 0))).show(ui, |ui| {
        shots_ui(ui, state, document, memory, textures, asked);
    });
}

fn head_ui(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    let page = &state.pages.overview;
    ui.horizontal(|ui| {
        for framing in [Framing::Body, Framing::Whole] {
            let command = on(OverviewCommand::Frame(framing));
            let Some(entry) = command.entry() else { continue };
            let shown = page.framing == framing && page.is_as_framed();
            if explained(tab(ui, shown, entry.label, theme), &command).clicked() {
                asked.push(command);
            }
        }
        sign_button(ui, state, on(OverviewCommand::ZOOM_OUT), "−", asked);
        sign_button(ui, state, on(OverviewCommand::ZOOM_IN), "+", asked);
        ui.separator();
        toggle_button(ui, state, on(OverviewCommand::OnlySelected), page.only, asked);
        command_button(ui, state, on(OverviewCommand::Order), asked);
    });
}

/// How the final shot is found, and what is said of the selected ones.
fn labels_ui(ui: &mut Ui, state: &State, document: &Document, asked: &mut Asked) {
    ui.set_width(ui.available_width() - 4.0);
    ui.label(RichText::new("Which shots are final?").strong());
    ui.add(egui::Label::new(RichText::new(HOW).small()).wrap());
    weak(ui, "Select a shot and press Shift E for the final lateral, Shift A for the final AP.");
    ui.separator();
    let chosen = document.chosen();
    let words = match chosen.as_slice() {
        [shot] => format!("“{}”", shot.id),
        many => crate::scene::format::count(many.len(), "selected shot", "selected shots"),
    };
    ui.label(RichText::new(words).strong());
    groups_ui(ui, state, asked);
    ui.add_space(pt(space::S3));
    keyed_button(ui, state, on(OverviewCommand::Mark), asked);
}

/// All shots that are shown, by section.
fn shots_ui(
    ui: &mut Ui,
    state: &State,
    document: &Document,
    memory: &mut OverviewMemory,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    let sections = &state.pages.overview.listing.shown;
    let room = ui.available_rect_before_wrap();
    let counts: Vec<usize> = sections.iter().map(|section| section.shots.len()).collect();
    let laid = cells((f64::from(room.width()) - 10.0, f64::from(room.height()) - 4.0), &counts);
    let follow = memory.shown != document.shown;
    memory.shown.clone_from(&document.shown);
    memory.sights.retain(|id, _| document.case().shot(id).is_some());
    let scrolls = laid.high(&counts) > f64::from(room.height());
    let (mut at, mut seen) = (0, (usize::MAX, 0));
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
        for section in sections {
            let shots: Vec<&Shot> = section.shots.iter().filter_map(|id| document.case().shot(id)).collect();
            heading_ui(ui, &section.heading);
            for row in shots.chunks(laid.columns.max(1)) {
                let high = pt(laid.image.1 + LINES + GAP);
                let (line, _) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::hover());
                for (column, shot) in row.iter().enumerate() {
                    let rect = cell_rect(line, column, &laid);
                    let badge = section.last.as_ref().filter(|(id, _)| *id == shot.id).map(|(_, word)| *word);
                    if ui.is_rect_visible(rect) {
                        seen = (seen.0.min(at), at);
                    }
                    let said = (document, *shot, badge);
                    shot_ui(ui, state, said, rect, (follow, scrolls), (memory, textures), asked);
                    at += 1;
                }
            }
        }
    });
    tell(ui, state, &laid, if seen.0 == usize::MAX { (0, 0) } else { (seen.0, seen.1 + 1 - seen.0) }, asked);
}

/// Tells the page how the shots are laid out, where that is another way than before.
fn tell(ui: &Ui, state: &State, laid: &ShotCells, seen: (usize, usize), asked: &mut Asked) {
    let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(pt(laid.image.0), pt(laid.image.1)));
    let grid = OverviewLayout { columns: laid.columns, canvas: canvas_of(ui, rect), seen };
    if state.pages.overview.grid != grid {
        asked.push(on(OverviewCommand::Laid(grid)));
    }
}

fn heading_ui(ui: &mut Ui, words: &str) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), pt(HEAD)), Sense::hover());
    let mut ui = ui.new_child(
        egui::UiBuilder::new().max_rect(rect).layout(egui::Layout::left_to_right(egui::Align::Center)),
    );
    ui.label(RichText::new(words).small().strong());
}

fn cell_rect(line: Rect, column: usize, laid: &ShotCells) -> Rect {
    #[expect(clippy::cast_precision_loss, reason = "a column")]
    let left = line.left() + pt(laid.image.0 + GAP) * column as f32;
    Rect::from_min_size(pos2(left, line.top()), vec2(pt(laid.image.0), pt(laid.image.1 + LINES)))
}

/// A shot: its image, below it its name and what is said of it. A click selects it, a double-click goes to it.
fn shot_ui(
    ui: &mut Ui,
    state: &State,
    (document, shot, badge): (&Document, &Shot, Option<&str>),
    rect: Rect,
    (follow, scrolls): (bool, bool),
    (memory, textures): (&mut OverviewMemory, &mut Textures),
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let (shown, selected) = (document.shown.as_ref() == Some(&shot.id), document.is_chosen(&shot.id));
    let response = ui.interact(rect, ui.scope_id().with(("overview", &shot.id)), Sense::click_and_drag());
    response.widget_info(|| {
        let standing = standing_words(standing_shown(document, shot).0);
        let badged = badge.map(|badge| format!(", {badge}")).unwrap_or_default();
        let label = format!("{}, {}: {standing}{badged}", shot.id, short_words(shot));
        WidgetInfo::selected(Part::ListBoxOption, true, selected, label)
    });
    clicks(ui, &response, shot, asked);
    // Where the page scrolls, the wheel scrolls it; held with Ctrl it zooms.
    let wheel = if scrolls { WheelUse::Scrolls } else { WheelUse::Zooms };
    for hand in hands(ui, &response, wheel) {
        let high = f64::from(rect.height()) - LINES;
        asked.push(on(match hand {
            PaneHand::Pan(by) => OverviewCommand::Pan(by / high.max(1.0)),
            PaneHand::Zoom(at, factor) => {
                let middle = Vec2::new(0.5 * f64::from(rect.width()), 0.5 * high);
                OverviewCommand::Zoom { at: ((at.to_vec() - middle) / high.max(1.0)).to_point(), factor }
            }
        }));
    }
    if shown && follow {
        response.scroll_to_me(None);
    }
    if !ui.is_rect_visible(rect) {
        memory.sights.remove(&shot.id);
        return;
    }
    if selected {
        ui.painter().rect_filled(rect.expand(2.0), 4.0, colour(theme.selection));
    }
    let image = Rect::from_min_max(rect.min, pos2(rect.right(), rect.bottom() - pt(LINES)));
    image_ui(ui, state, shot, image, (memory, textures), &theme);
    if let Some(badge) = badge {
        badge_ui(ui, image, badge, &theme);
    }
    let (role, glyph) = standing_sign(standing_shown(document, shot).0);
    let corner = image.right_bottom() - vec2(12.0, 12.0);
    ui.painter().circle_filled(corner, 10.0, colour(theme.panel));
    let at = Point::new(f64::from(corner.x), f64::from(corner.y));
    paint::primitives(ui.painter(), &Primitive::sign(at, glyph, role, &theme));
    // What is said whole below the image is not said again over the next one.
    let response = if lines_ui(ui, document, shot, rect, &theme) {
        response
    } else {
        response.on_hover_ui(|ui| {
            ui.label(spoken_lines(document, shot));
        })
    };
    if shown || response.has_focus() {
        paint::frame(ui.painter(), rect.expand(2.0), theme.accent);
    }
}

/// What clicks on a shot ask for.
fn clicks(ui: &Ui, response: &egui::Response, shot: &Shot, asked: &mut Asked) {
    let held = ui.input(|input| input.modifiers);
    if response.double_clicked() {
        asked.push(on(OverviewCommand::Mark));
    } else if response.clicked() {
        asked.push(if held.command || held.ctrl {
            Command::Shots(ShotsCommand::Select(shot.id.clone(), Pick::Toggle))
        } else if held.shift {
            on(OverviewCommand::Through(shot.id.clone()))
        } else {
            Command::Shots(ShotsCommand::Show(shot.id.clone()))
        });
    }
}

/// The image about the part that is looked at: at the screen's resolution, or until it is there the small one.
fn image_ui(
    ui: &Ui,
    state: &State,
    shot: &Shot,
    room: Rect,
    (memory, textures): (&mut OverviewMemory, &mut Textures),
    theme: &Theme,
) {
    let Some(half) = Half::on(state, shot) else { return };
    let transform = transform(state, &half, canvas_of(ui, room));
    let small = half.key.as_ref().filter(|_| half.picture(state).is_none());
    let small = small.and_then(|key| textures.small(ui.ctx(), &state.editor, key));
    let Some(texture) = small else {
        let sight = memory.sights.entry(shot.id.clone()).or_default();
        picture(ui, state, room, &half, transform, sight, theme);
        return;
    };
    let painter = ui.painter_at(room);
    painter.rect_filled(room, 0.0, colour(theme.ground));
    let origin = Vec2::new(f64::from(room.left()), f64::from(room.top()));
    let mut mesh = egui::Mesh::with_texture(texture.id());
    for (u, v) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        let at = transform.to_canvas(Point::new(u * half.size.0, v * half.size.1)) + origin;
        let uv = pos2(pt(u), pt(v));
        mesh.vertices.push(egui::epaint::Vertex { pos: paint::pos(at), uv, color: Color32::WHITE });
    }
    mesh.add_triangle(0, 1, 2);
    mesh.add_triangle(1, 2, 3);
    painter.add(egui::Shape::mesh(mesh));
    let screen = |p: Point| transform.to_canvas(p) + origin;
    crate::ui::redaction::opaque(&painter, &shot.covers, theme, screen);
}

/// That a shot came last of its view, upon its image's corner.
fn badge_ui(ui: &Ui, image: Rect, words: &str, theme: &Theme) {
    let galley = ui.painter().layout_no_wrap(words.to_owned(), font(TextSize::Small), colour(theme.text));
    let rect = Rect::from_min_size(image.min + vec2(4.0, 4.0), galley.size() + vec2(10.0, 4.0));
    ui.painter().rect_filled(rect, 4.0, colour(theme.panel));
    ui.painter().galley(rect.min + vec2(5.0, 2.0), galley, colour(theme.text));
}

/// Its name and when it was taken; then what is said of it, and what was read: as much of each as the width takes whole.
/// Returns whether the width took all of it.
fn lines_ui(ui: &Ui, document: &Document, shot: &Shot, rect: Rect, theme: &Theme) -> bool {
    let painter = ui.painter_at(rect);
    let laid = |words: &str, ink| {
        let format = egui::TextFormat::simple(font(TextSize::Small), colour(ink));
        let mut job = egui::text::LayoutJob::single_section(words.to_owned(), format);
        job.wrap = egui::text::TextWrapping::truncate_at_width(rect.width() - 6.0);
        painter.layout_job(job)
    };
    let top = rect.bottom() - pt(LINES) + 2.0;
    let mut all = true;
    for ((lines, ink), y) in
        lines_of(document, shot).into_iter().zip([theme.text, theme.weak_text]).zip([top, top + 16.0])
    {
        let wordings = lines.iter().map(|words| laid(words, ink));
        // The first that fits, else the shortest, cut.
        let mut found = None;
        for (n, galley) in wordings.enumerate() {
            let whole = !galley.elided;
            all &= whole && n == 0;
            found = Some(galley);
            if whole {
                break;
            }
        }
        if let Some(galley) = found {
            painter.galley(pos2(rect.left() + 4.0, y), galley, colour(ink));
        }
    }
    all
}

/// The two lines below an image, each in wordings that become shorter: without the time, without what is read last, without
/// any number.
fn lines_of(document: &Document, shot: &Shot) -> [Vec<String>; 2] {
    let shorter = |parts: Vec<String>| {
        let parts: Vec<String> = parts.into_iter().filter(|words| !words.is_empty()).collect();
        (1..=parts.len()).rev().map(|n| parts[..n].join(", ")).collect::<Vec<_>>()
    };
    let time = shot.taken.as_deref().map(taken::to_the_second).unwrap_or_default();
    let numbers = numbers_of(document, shot);
    let said = |brief: bool| {
        let words = numbers.iter().map(|of| of[usize::from(brief)].clone());
        shorter([label_words(shot)].into_iter().chain(words).collect())
    };
    // A number in fewest words is better than none.
    let mut wordings = said(false);
    let label = if wordings.len() > 1 { wordings.pop() } else { None };
    wordings.extend(said(true).into_iter().filter(|words| Some(words) != label.as_ref()));
    wordings.extend(label);
    wordings.dedup();
    [shorter(vec![shot.id.clone(), time]), wordings]
}

/// The two lines whole, for a pointer that rests on the shot.
fn spoken_lines(document: &Document, shot: &Shot) -> String {
    let lines = lines_of(document, shot).map(|lines| lines.into_iter().next().unwrap_or_default());
    lines.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("\n")
}
