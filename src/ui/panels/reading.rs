//! The reading: drawing first, then large numbers, then words.

use egui::accesskit::Role as Part;
use egui::{Button, Frame, Label, Margin, Response, RichText, Sense, Ui, WidgetInfo};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::reading_details::{midline_used, of_shot};
use crate::app::marking::guide::capital;
use crate::app::marking::issue_actions::remedies;
use crate::app::session::mode::Hand;
use crate::app::session::state::State;
use crate::app::shots::shot_summary::{ShortName, ShotSummary, standing_sign, standing_words};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::plan::standing::Standing;
use crate::case::readings::ShotReading;
use crate::measure::issue::{Blocks, Issue, IssueCode};
use crate::measure::length::Length;
use crate::measure::quantity::Quantity;
use crate::measure::verdict::{State as Verdicted, Verdict, VerdictRule};
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::{Theme, space, state_sign};
use crate::scene::format;
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::panels::budget;
use crate::ui::panels::detail::{detail_ui, said};
use crate::ui::panels::drawings::drawings_ui;
use crate::ui::panels::pair::pair_ui;
use crate::ui::widgets::{Asked, sign, weak};

/// What stands behind a number.
const PLUS_MINUS: &str = "± : half of the 95 % interval, in percent points";

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
    let doubted = looked.is_some_and(ShotSummary::doubted);
    headline(ui, standing, shot, doubted, &theme);
    ui.add_space(pt(space::S1));
    drawings_ui(ui, document, shot, looked, &theme);
    let Some(looked) = looked else { return };
    let quantities = looked.quantities();
    for (named, quantity) in &quantities {
        number(ui, looked, *named, quantity, &theme, asked);
    }
    for line in of_shot(&looked.reading) {
        detail_ui(ui, &line, &theme);
    }
    if !quantities.is_empty() {
        weak(ui, PLUS_MINUS);
    }
    if state.display.budget {
        budget::budget_ui(ui, state, shot, looked, asked);
    } else if !quantities.is_empty() {
        let button =
            Button::new(RichText::new("What is this certainty made of?").small()).frame_when_inactive(false);
        if ui.add(button).on_hover_text("Key: C").clicked() {
            asked.push(Command::Window(WindowCommand::ShowBudget));
        }
    }
    issues(ui, state, shot, looked, &theme, asked);
    pair_ui(ui, document, shot, &theme, asked);
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
        Standing::Draft => "A draft: confirm its marks to have them read".to_owned(),
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

fn number(
    ui: &mut Ui,
    looked: &ShotSummary,
    named: ShortName,
    quantity: &Quantity,
    theme: &Theme,
    asked: &mut Asked,
) {
    let text = match named {
        ShortName::Midline => format::signed_percent_of(quantity),
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
                ui.add(Label::new(RichText::new(verdict_words(verdict)).small()).wrap());
            });
        }
        if let (ShortName::Midline, Some(words)) = (named, midline_used(&looked.reading)) {
            weak(ui, words);
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
        asked.push(Command::Window(WindowCommand::ShowBudget));
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

/// A verdict as a sentence; docking has no band to look at, so its probability stands with it.
fn verdict_words(verdict: &Verdict) -> String {
    let words = capital(&format::verdict(verdict));
    match verdict.rule {
        VerdictRule::Docking => {
            format!("{words}; probability that it is within: {}", format::probability(verdict.p_inside))
        }
        VerdictRule::Band(_) | VerdictRule::SafePassage => words,
    }
}

fn issues(ui: &mut Ui, state: &State, shot: &Shot, looked: &ShotSummary, theme: &Theme, asked: &mut Asked) {
    let all = looked.reading.issues();
    // What is missing stands in the list of marks and in the next line; a mark that is being made is half made.
    let marking = state.document.as_ref().is_some_and(|document| matches!(document.hand(), Hand::Next(_)));
    let told = |issue: &&Issue| match issue.code {
        IssueCode::MissingMarks => false,
        IssueCode::HalfMarked => !marking,
        _ => true,
    };
    let shown: Vec<&Issue> = all.iter().filter(told).collect();
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
            said(ui, theme, (role, glyph), &issue.text);
            let ways = state.document.as_ref().map(|document| remedies(document, issue.code));
            for way in ways.unwrap_or_default() {
                if ui.small_button(way.words).clicked() {
                    asked.push(Command::Case(CaseCommand::Edit(way.edit)));
                }
            }
            if issue.code == IssueCode::FrameChanged
                && ui.small_button("The marks fit this picture").clicked()
            {
                let digest =
                    state.key_of(shot).and_then(|key| state.known.get(&key)).map(|k| k.digest.clone());
                let what = Description::Digest(digest);
                asked.push(Command::Case(CaseCommand::Edit(Edit::Describe { shot: shot.id.clone(), what })));
            }
        }
        for warning in warnings {
            said(ui, theme, (Role::Undecided, Glyph::Triangle), &warning);
        }
    });
}

fn sizes(ui: &mut Ui, looked: &ShotSummary) {
    let (body, lengths, across) = match &looked.reading {
        ShotReading::Lateral(reading) => (reading.body, reading.lengths.as_ref(), false),
        ShotReading::Ap(reading) => (reading.body, reading.lengths.as_ref(), true),
        ShotReading::Pedicle(_) => return,
    };
    let Some(body) = body else { return };
    let length = |px: f64, mm: Option<&Length>| mm.map_or_else(|| format::px(px), format::mm_of);
    let first = if across { "Width" } else { "Depth" };
    let heights = [
        length(body.posterior_height_px, lengths.map(|l| &l.posterior_height)),
        length(body.middle_height_px, lengths.map(|l| &l.middle_height)),
        length(body.anterior_height_px, lengths.map(|l| &l.anterior_height)),
    ];
    ui.add_space(pt(space::S2));
    let extent = length(body.depth_px, lengths.map(|l| &l.depth));
    weak(ui, format!("{first} of the body at mid height {extent}"));
    let order = if across { "entry side, middle, far side" } else { "posterior, middle, anterior" };
    weak(ui, format!("Heights {} ({order})", heights.join(", ")));
    weak(ui, format!("Angle between the end plates {}", format::degrees(body.end_plate_angle_deg)));
    if body.scale_assumed {
        weak(ui, "No scale: lengths are in pixels, and the certainty assumes a body of typical size.");
    }
}
