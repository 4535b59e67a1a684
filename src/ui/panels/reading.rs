//! The reading: the verdict, then depth, height and midline, each once, then cautions and the matched shot. The rest
//! is folded under one heading.

use egui::accesskit::Role as Part;
use egui::{Frame, Label, Margin, Response, RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::final_shot::{StageNote, stage_note};
use crate::app::display::first_numbers::{FirstNumber, first_numbers, leaves_open, shown_standing};
use crate::app::display::reading_details::of_shot;
use crate::app::marking::guide::capital;
use crate::app::marking::issue_actions::remedies;
use crate::app::marking::prompt::prompt;
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::app::session::state::State;
use crate::app::shots::shot_summary::{ShotSummary, standing_sign, standing_words};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::plan::standing::{Standing, standing_so_far};
use crate::case::readings::{ShotReading, says_already};
use crate::measure::issue::{Blocks, Issue, IssueCode};
use crate::measure::length::Length;
use crate::measure::verdict::{State as Verdicted, Verdict, VerdictRule};
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::{Theme, space, state_sign};
use crate::scene::format;
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::panels::budget;
use crate::ui::panels::detail::{detail_ui, said};
use crate::ui::panels::drawings::{other_drawings_ui, own_drawing_ui};
use crate::ui::panels::next::diagram_ui;
use crate::ui::panels::pair::{pair_details_ui, pair_ui};
use crate::ui::panels::true_view::{questions_ui, true_view_line, true_view_ui};
use crate::ui::widgets::{Asked, sign, weak};

/// Room for the advice below the diagram, in points.
const ADVICE: f32 = 32.0;
/// Height in points that is kept for the diagram, the advice or the drawing between the numbers and the marks.
const SLOT: f32 = 152.0;
/// What stands behind a number.
const PLUS_MINUS: &str = "±: 95 % interval, in percentage points. A border that is marked only at its ends is taken as straight; how much it curves is not in the ±.";
/// With less room than this, in points, the drawing of the body is folded away with the rest.
const ROOM_FOR_DRAWING: f32 = 640.0;

/// Shows what is read first: verdict, numbers, cautions, the matched shot, and the drawing of the shot's own view, or
/// while a mark is asked for the diagram of where it belongs. `room` is the height of the whole column in points.
pub fn reading_ui(ui: &mut Ui, state: &State, room: f32, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let Some(shot) = document.shot() else {
        ui.label("No shot is shown.");
        return;
    };
    let theme = Theme::of(state.display.mode);
    let looked = document.looked(&shot.id);
    let numbers = looked.map(|looked| first_numbers(document, shot, looked)).unwrap_or_default();
    let own = looked.map_or_else(|| standing_so_far(shot, None), |looked| looked.standing);
    let doubted = looked.is_some_and(ShotSummary::doubted);
    headline(ui, shown_standing(own, &numbers), shot, doubted, &theme);
    if let Some(looked) = looked {
        stage_ui(ui, document, shot, &theme);
        for number in &numbers {
            number_ui(ui, number, &theme, asked);
        }
        true_view_line(ui, shot, &looked.reading, &theme);
        issues(ui, state, shot, (looked, leaves_open(&numbers)), &theme, asked);
    }
    pair_ui(ui, document, shot, &theme, asked);
    // The list below stays where it is, whatever stands here.
    let least = if room >= ROOM_FOR_DRAWING { SLOT } else { 0.0 };
    let slot = ui.scope(|ui| {
        if document.hand().places() {
            where_ui(ui, state, document, &theme, asked);
        } else if document.proposals.present(shot).is_some() {
            advice_ui(ui, &prompt(document).advice, &theme);
        } else if room >= ROOM_FOR_DRAWING && shot.view_set {
            own_drawing_ui(ui, document, shot, looked, &theme);
        }
    });
    ui.add_space((least - slot.response.rect.height()).max(0.0));
}

/// Where the mark that is asked for belongs.
fn where_ui(ui: &mut Ui, state: &State, document: &Document, theme: &Theme, asked: &mut Asked) {
    let prompt = prompt(document);
    ui.add_space(pt(space::S2));
    diagram_ui(ui, state, theme, asked);
    // The room for two lines is kept, so that the list below stays where it is from mark to mark.
    let room = vec2(ui.available_width(), ADVICE);
    ui.allocate_ui(room, |ui| {
        ui.set_min_height(ADVICE);
        advice_ui(ui, &prompt.advice, theme);
    });
}

/// What is to be looked at, in small words.
fn advice_ui(ui: &mut Ui, advice: &str, theme: &Theme) {
    if !advice.is_empty() {
        ui.add(Label::new(RichText::new(advice).small().color(colour(theme.text))).wrap());
    }
}

/// The open questions about the view, then everything beyond the first numbers: folded, and there on one key.
pub fn details_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let Some(shot) = document.shot() else { return };
    let Some(looked) = document.looked(&shot.id) else { return };
    let theme = Theme::of(state.display.mode);
    let open = state.display.budget;
    questions_ui(ui, shot, &looked.reading, asked);
    ui.add_space(pt(space::S1));
    let label = if open { "▼ Details" } else { "▶ Details" };
    let response = ui
        .button(label)
        .on_hover_text("Other numbers, sources of uncertainty, sizes of the body and drawings.\nKey: C");
    if opened_now(ui, open) {
        response.scroll_to_me(Some(egui::Align::TOP));
    }
    let spoken = if open { "Hide details" } else { "Show details" };
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, spoken));
    if response.clicked() {
        asked.push(Command::Window(WindowCommand::ShowBudget));
    }
    if !open {
        return;
    }
    weak(ui, PLUS_MINUS);
    for line in of_shot(&looked.reading) {
        detail_ui(ui, &line, &theme);
    }
    true_view_ui(ui, &looked.reading, &theme);
    pair_details_ui(ui, document, &theme);
    budget::budget_ui(ui, state, shot, looked, asked);
    sizes(ui, looked);
    own_drawing_ui(ui, document, shot, Some(looked), &theme);
    other_drawings_ui(ui, document, shot, Some(looked), &theme);
}

/// Whether the details are open that were folded in the pass before: only then the column moves to them.
fn opened_now(ui: &Ui, open: bool) -> bool {
    let key = egui::Id::unique("details are open");
    ui.data_mut(|data| {
        std::mem::replace(data.get_temp_mut_or_insert_with(key, || open), open) != open && open
    })
}

fn headline(ui: &mut Ui, standing: Standing, shot: &Shot, doubted: bool, theme: &Theme) {
    let mut words = match standing {
        Standing::Unmarked => "Not marked yet".to_owned(),
        Standing::Judged(Verdicted::Inside) => "Inside the target".to_owned(),
        Standing::Judged(Verdicted::Outside) => "Outside the target".to_owned(),
        Standing::Judged(Verdicted::Undecided) => "Too close to call".to_owned(),
        Standing::Read if shot.stage.is_none() => "Measured; set the stage to judge it".to_owned(),
        Standing::Read => "Measured; this stage has no target".to_owned(),
        Standing::Incomplete => "Not all required marks are placed".to_owned(),
        Standing::Draft => "Draft: confirm the marks to get a reading".to_owned(),
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

/// Which instrument was measured, and whether another shot may be the final one. It stands above the numbers, for it says
/// what they are of.
fn stage_ui(ui: &mut Ui, document: &Document, shot: &Shot, theme: &Theme) {
    match stage_note(document.case(), shot) {
        Some(StageNote { words, warns: true }) => said(ui, theme, (Role::Undecided, Glyph::Triangle), &words),
        Some(StageNote { words, warns: false }) => {
            weak(ui, words);
        }
        None => {}
    }
}

fn number_ui(ui: &mut Ui, number: &FirstNumber<'_>, theme: &Theme, asked: &mut Asked) {
    let FirstNumber { named, verdict, source, .. } = number;
    let (name, text) = (number.name(), number.size());
    let inner = ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.horizontal(|ui| {
            ui.label(RichText::new(name).color(colour(theme.weak_text)));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let large = font(TextSize::Large);
                ui.label(RichText::new(&text).font(large).color(colour(theme.text)));
            });
        });
        if let Some(verdict) = verdict {
            ui.horizontal(|ui| {
                let (role, glyph) = state_sign(verdict.state);
                sign(ui, theme, role, glyph);
                let words = match source.as_str() {
                    "" => verdict_words(verdict),
                    source => format!("{}; {source}", verdict_words(verdict)),
                };
                // A number and its unit stay on one line.
                let words = words.replace(" %", "\u{a0}%");
                ui.add(Label::new(RichText::new(words).small()).wrap());
            });
        } else if !source.is_empty() {
            weak(ui, capital(source));
        }
        if let Some(direct) = number.direct_reading() {
            weak(ui, format!("Direct reading {direct}"));
        }
    });
    let id = ui.scope_id().with(("number", named.word()));
    let response: Response = ui.interact(inner.response.rect, id, Sense::click());
    let label = format!("{name} {text}: show sources of uncertainty");
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, label.clone()));
    if response.has_focus() {
        paint::frame(ui.painter(), response.rect, theme.accent);
    }
    if response.clicked() {
        asked.push(Command::Window(WindowCommand::ShowBudget));
    }
    response.on_hover_text(format!("{}\n95 % interval: {}.", capital(named.scale()), number.interval()));
}

/// A verdict as a sentence, with the probability that it goes by: an interval whose end lies on a limit of the target says
/// less.
fn verdict_words(verdict: &Verdict) -> String {
    if verdict.rule == VerdictRule::SafePassage {
        return capital(&format::verdict(verdict));
    }
    let words = match verdict.state {
        Verdicted::Undecided => format!("{}, too close to call", format::against_target(verdict)),
        _ => format::against_target(verdict),
    };
    format!("{}; probability of being inside {}", capital(&words), format::probability(verdict.p_inside))
}

/// What is to be said of the reading; that an uncertainty is too large only where it leaves a shown verdict open.
fn issues(
    ui: &mut Ui,
    state: &State,
    shot: &Shot,
    (looked, open): (&ShotSummary, bool),
    theme: &Theme,
    asked: &mut Asked,
) {
    let all = looked.reading.issues();
    // What is missing stands in the list of marks and in the next line; a mark that is being made is half made.
    let marking =
        state.editor.document.as_ref().is_some_and(|document| matches!(document.hand(), Hand::Next(_)));
    let told = |issue: &&Issue| match issue.code {
        IssueCode::TooUncertain => open,
        IssueCode::MissingMarks | IssueCode::ViewNotSet => false,
        IssueCode::HalfMarked => !marking,
        _ => true,
    };
    let shown: Vec<&Issue> = all.iter().filter(told).collect();
    let known = state.editor.key_of(shot).and_then(|key| state.editor.pictures.known.get(&key));
    let mut warnings = known.map(|known| known.warnings.clone()).unwrap_or_default();
    warnings.retain(|warning| !says_already(all, warning));
    if known.is_some_and(|known| known.unchecked) {
        ui.add_space(pt(space::S1));
        ui.label(
            RichText::new("Compressed without a checksum: not every damaged bit can be noticed.")
                .small()
                .weak(),
        );
    }
    if shown.is_empty() && warnings.is_empty() {
        return;
    }
    ui.add_space(pt(space::S1));
    let frame = Frame::new().fill(colour(theme.raised)).inner_margin(Margin::same(6)).corner_radius(4);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        for issue in shown {
            issue_ui(ui, state, shot, issue, theme, asked);
        }
        for warning in warnings {
            said(ui, theme, (Role::Undecided, Glyph::Triangle), &warning);
        }
    });
}

fn issue_ui(ui: &mut Ui, state: &State, shot: &Shot, issue: &Issue, theme: &Theme, asked: &mut Asked) {
    let (glyph, role) = match issue.blocks {
        Blocks::Nothing => (Glyph::Triangle, Role::Undecided),
        Blocks::AllButHeights | Blocks::Everything => (Glyph::Bar, Role::Outside),
    };
    said(ui, theme, (role, glyph), &issue.text);
    let ways = state.editor.document.as_ref().map(|document| remedies(document, issue.code));
    for way in ways.unwrap_or_default() {
        if ui.small_button(way.words).clicked() {
            asked.push(Command::Case(CaseCommand::Edit(way.edit)));
        }
    }
    if issue.code == IssueCode::FrameChanged && ui.small_button("The marks fit this image").clicked() {
        let digest = state
            .editor
            .key_of(shot)
            .and_then(|key| state.editor.pictures.known.get(&key))
            .map(|k| k.digest.clone());
        let what = Description::Digest(digest);
        asked.push(Command::Case(CaseCommand::Edit(Edit::Describe { shot: shot.id.clone(), what })));
    }
}

fn sizes(ui: &mut Ui, looked: &ShotSummary) {
    let (body, lengths, across) = match &looked.reading {
        ShotReading::Lateral(reading) => (reading.body, reading.lengths.as_ref(), false),
        ShotReading::Ap(reading) => (reading.body, reading.lengths.as_ref(), true),
        ShotReading::Pedicle(_) => return,
    };
    let Some(body) = body else { return };
    let length = |px: f64, mm: Option<&Length>| mm.map_or_else(|| format::px(px), format::mm_of);
    let first = if across { "width" } else { "depth" };
    let heights = [
        length(body.posterior_height_px, lengths.map(|l| &l.posterior_height)),
        length(body.middle_height_px, lengths.map(|l| &l.middle_height)),
        length(body.anterior_height_px, lengths.map(|l| &l.anterior_height)),
    ];
    ui.add_space(pt(space::S2));
    let extent = length(body.depth_px, lengths.map(|l| &l.depth));
    weak(ui, format!("Body {first} at mid-height {extent}"));
    let order = if across { "entry side, middle, far side" } else { "posterior, middle, anterior" };
    weak(ui, format!("Heights {} ({order})", heights.join(", ")));
    weak(ui, format!("Endplate angle {}", format::degrees(body.end_plate_angle_deg)));
    if body.scale_assumed {
        weak(
            ui,
            "Not calibrated: lengths are in pixels, and the uncertainty assumes a body of typical size.",
        );
    }
}
