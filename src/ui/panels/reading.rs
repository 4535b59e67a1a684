//! The reading: drawing first, then large numbers, then words.

use egui::accesskit::Role as Part;
use egui::{Button, Frame, Label, Margin, Response, RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::document::Document;
use crate::app::glance::{Looked, Named, standing_sign, standing_words};
use crate::app::guide::capital;
use crate::app::state::State;
use crate::case::document::Shot;
use crate::case::edit::{Description, Edit};
use crate::case::readings::ShotReading;
use crate::case::standing::Standing;
use crate::geom::point::Vec2;
use crate::measure::issue::{Blocks, Issue, IssueCode};
use crate::measure::mark::View;
use crate::measure::quantity::Quantity;
use crate::measure::verdict::State as Verdicted;
use crate::scene::body_map::{BodyDrawing, Described, Posterior};
use crate::scene::format;
use crate::scene::shape::{Glyph, Role, TextSize};
use crate::scene::theme::{Ground, Theme, space, state_sign};
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::panels::budget;
use crate::ui::widgets::{Asked, sign, weak};

/// Height of the drawing in points.
const DRAWING: f32 = 180.0;

/// Shows the reading of the shown shot.
pub fn reading_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.document else { return };
    let Some(shot) = document.shot() else {
        ui.label("No shot is shown.");
        return;
    };
    let theme = Theme::of(state.display.mode);
    let looked = document.looked(&shot.id);
    let standing = looked.map_or(Standing::Unmarked, |looked| looked.standing);
    let doubted = looked.is_some_and(Looked::doubted);
    headline(ui, standing, shot, doubted, &theme);
    ui.add_space(pt(space::S1));
    drawing(ui, document, shot, looked, &theme);
    let Some(looked) = looked else { return };
    for (named, quantity) in looked.quantities() {
        number(ui, looked, named, quantity, &theme, asked);
    }
    if state.display.budget {
        budget::budget_ui(ui, state, shot, looked, asked);
    } else if !looked.quantities().is_empty() {
        let button =
            Button::new(RichText::new("What is this certainty made of?").small()).frame_when_inactive(false);
        if ui.add(button).on_hover_text("Key: C").clicked() {
            asked.push(Command::ShowBudget);
        }
    }
    issues(ui, state, shot, looked, &theme, asked);
    sizes(ui, looked);
}

fn headline(ui: &mut Ui, standing: Standing, shot: &Shot, doubted: bool, theme: &Theme) {
    let mut words = match standing {
        Standing::Unmarked => "Not marked yet".to_owned(),
        Standing::Judged(Verdicted::Inside) => "Inside the target".to_owned(),
        Standing::Judged(Verdicted::Outside) => "Outside the target".to_owned(),
        Standing::Judged(Verdicted::Undecided) => "Too close to call".to_owned(),
        Standing::Read if shot.stage.is_none() => "Read; without a stage there is no target".to_owned(),
        Standing::Read => "Read; this stage has no target".to_owned(),
        Standing::Incomplete => "Marks are missing".to_owned(),
        other => capital(standing_words(other)),
    };
    if doubted && matches!(standing, Standing::Judged(_) | Standing::Read) {
        words.push_str(", with a caution");
    }
    let (role, glyph) = standing_sign(standing);
    ui.horizontal(|ui| {
        sign(ui, theme, role, glyph);
        ui.add(Label::new(RichText::new(words).strong()).wrap());
    });
}

fn drawing(ui: &mut Ui, document: &Document, shot: &Shot, looked: Option<&Looked>, theme: &Theme) {
    if shot.view != View::Lateral {
        return;
    }
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, DRAWING), Sense::hover());
    let lateral = looked.and_then(|looked| match &looked.reading {
        ShotReading::Lateral(reading) => Some(reading),
        ShotReading::Ap(_) | ShotReading::Pedicle(_) => None,
    });
    let posterior = match document.posterior_is_left() {
        Some(false) => Posterior::Right,
        Some(true) | None => Posterior::Left,
    };
    let map = looked.and_then(|looked| looked.map.as_ref());
    let mut drawing = BodyDrawing::new(&document.case().settings, shot.stage);
    drawing.posterior = posterior;
    drawing.lateral = map;
    if let Some(reading) = lateral {
        drawing = drawing.with_lateral(reading, map);
    }
    let Described { scene, words: label } = drawing.side((f64::from(width), f64::from(DRAWING)));
    response.widget_info(|| WidgetInfo::labeled(Part::Image, true, label.clone()));
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 4.0, colour(theme.ground));
    let origin = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&painter, &scene, theme, Ground::Panel, |p| p + origin);
}

fn number(ui: &mut Ui, looked: &Looked, named: Named, quantity: &Quantity, theme: &Theme, asked: &mut Asked) {
    let text = match named {
        Named::Midline => format::signed_percent_of(quantity),
        _ => format::percent_of(quantity),
    };
    ui.add_space(pt(space::S2));
    let inner = ui.vertical(|ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new(named.word()).color(colour(theme.weak_text)));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let large = font(TextSize::Large);
                ui.label(RichText::new(&text).font(large).color(colour(theme.text)));
            });
        });
        if let Some(verdict) = looked.verdict(named) {
            ui.horizontal(|ui| {
                let (role, glyph) = state_sign(verdict.state);
                sign(ui, theme, role, glyph);
                ui.add(Label::new(RichText::new(capital(&format::verdict(verdict))).small()).wrap());
            });
        }
    });
    let id = ui.scope_id().with(("number", named.word()));
    let response: Response = ui.interact(inner.response.rect, id, Sense::click());
    let label = format!("{} {text}: show what its certainty is made of", named.word());
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, label.clone()));
    if response.has_focus() {
        paint::frame(ui.painter(), response.rect, theme.accent);
    }
    if response.clicked() {
        asked.push(Command::ShowBudget);
    }
    let chance = looked.verdict(named).map(|verdict| {
        format!(
            "\nProbability that the true value lies in the band: {}.",
            format::probability(verdict.p_inside)
        )
    });
    response.on_hover_text(format!(
        "{}\nValue and half-width of its 95 % interval, {}.{}",
        capital(named.scale()),
        format::interval(quantity),
        chance.unwrap_or_default()
    ));
}

fn issues(ui: &mut Ui, state: &State, shot: &Shot, looked: &Looked, theme: &Theme, asked: &mut Asked) {
    let all = looked.reading.issues();
    // What is missing stands in the list of marks and in the next line.
    let shown: Vec<&Issue> = all.iter().filter(|issue| issue.code != IssueCode::MissingMarks).collect();
    let warnings = state
        .key_of(shot)
        .and_then(|key| state.known.get(&key))
        .map(|known| known.warnings.clone())
        .unwrap_or_default();
    if shown.is_empty() && warnings.is_empty() {
        return;
    }
    ui.add_space(pt(space::S2));
    let frame = Frame::new().fill(colour(theme.raised)).inner_margin(Margin::same(8)).corner_radius(4);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        for issue in shown {
            let (glyph, role) = match issue.blocks {
                Blocks::Nothing => (Glyph::Triangle, Role::Undecided),
                Blocks::AllButHeights | Blocks::Everything => (Glyph::Bar, Role::Outside),
            };
            ui.horizontal_top(|ui| {
                sign(ui, theme, role, glyph);
                ui.add(Label::new(RichText::new(&issue.text).small()).wrap());
            });
            if issue.code == IssueCode::FrameChanged
                && ui.small_button("The marks fit this picture").clicked()
            {
                let digest =
                    state.key_of(shot).and_then(|key| state.known.get(&key)).map(|k| k.digest.clone());
                let what = Description::Digest(digest);
                asked.push(Command::Edit(Edit::Describe { shot: shot.id.clone(), what }));
            }
        }
        for warning in warnings {
            ui.horizontal_top(|ui| {
                sign(ui, theme, Role::Undecided, Glyph::Triangle);
                ui.add(Label::new(RichText::new(warning).small()).wrap());
            });
        }
    });
}

fn sizes(ui: &mut Ui, looked: &Looked) {
    let (body, across) = match &looked.reading {
        ShotReading::Lateral(reading) => (reading.body, false),
        ShotReading::Ap(reading) => (reading.body, true),
        ShotReading::Pedicle(_) => return,
    };
    let Some(body) = body else { return };
    let length = |px: f64| {
        if body.scale_assumed { format::px(px) } else { format::mm(px * body.mm_per_px) }
    };
    let first = if across { "Width" } else { "Depth" };
    let heights = [body.posterior_height_px, body.middle_height_px, body.anterior_height_px].map(length);
    ui.add_space(pt(space::S2));
    weak(ui, format!("{first} of the body at mid height {}", length(body.depth_px)));
    let order = if across { "entry side, middle, far side" } else { "posterior, middle, anterior" };
    weak(ui, format!("Heights {} ({order})", heights.join(", ")));
    weak(ui, format!("Angle between the end plates {}", format::degrees(body.end_plate_angle_deg)));
    if body.scale_assumed {
        weak(ui, "Not calibrated: the certainty assumes a body of typical size.");
    }
}
