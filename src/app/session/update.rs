//! From a command to changes of the state and to file work.

use crate::app::annotation::label;
use crate::app::annotation::redaction;
use crate::app::command::Command;
use crate::app::display::appearance;
use crate::app::display::viewport::Showing;
use crate::app::files::file_commands;
use crate::app::files::saving;
use crate::app::marking::guide;
use crate::app::marking::marks;
use crate::app::pages;
use crate::app::session::state::{Display, Hand, MEMORIES_MIB, State, TEXT_SCALES, Weight};
use crate::app::shots::frames;
use crate::app::shots::selection;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::pictures;
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::theme::Mode;

/// One step of the zoom keys.
const ZOOM_STEP: f64 = 1.25;
/// How near the canvas's edge a point in hand may come, as a share of the canvas.
const EDGE: f64 = 0.08;

/// Carries a command out. What it cannot do at present is left undone.
pub fn update(state: &mut State, command: Command) -> Vec<Effect> {
    end_nudging(state, &command);
    end_dragging(state, &command);
    label::end_change(state, &command);
    let mut effects = Vec::new();
    let command = pages::update(state, command, &mut effects);
    let command = command.and_then(|command| frames::update(state, selection::for_all(state, command)));
    let command = command.and_then(|command| file_commands::update(state, command, &mut effects));
    let command = command.and_then(|command| label::update(state, command));
    let command = command.and_then(|command| redaction::update(state, command));
    if let Some(command) = command.and_then(|command| selection::update(state, command)) {
        show(state, &command);
        appearance::update(state, &command);
        let middle = state.transform().to_image(middle_of(state));
        if let Some(document) = &mut state.document {
            if let Err(error) = marks::mark(document, &command, middle) {
                let text = guide::capital(&format!("{error}."));
                state.say(Weight::Trouble, text);
            }
            if matches!(command, Command::Nudge(..) | Command::TakeMark(_) | Command::Take(_)) {
                keep_in_sight(state);
            }
        }
    }
    follow(state, &mut effects);
    effects
}

/// Takes in what came of an effect.
pub fn receive(state: &mut State, outcome: Outcome) -> Vec<Effect> {
    receive_all(state, vec![outcome])
}

/// Takes in what came of several effects. Many pictures arriving together are followed by one reading of the case,
/// not by one each.
pub fn receive_all(state: &mut State, outcomes: Vec<Outcome>) -> Vec<Effect> {
    let mut effects = Vec::new();
    let mut followed = true;
    for outcome in outcomes {
        match outcome {
            Outcome::Picture { key, result } => {
                pages::picture(state, &key, &result);
                pictures::receive(state, key, result);
                followed = false;
            }
            other => {
                file_commands::receive(state, other, &mut effects);
                follow(state, &mut effects);
                followed = true;
            }
        }
    }
    if !followed {
        follow(state, &mut effects);
    }
    effects
}

/// What follows every change: readings, unsaved work beside the file, pictures that are needed.
fn follow(state: &mut State, effects: &mut Vec<Effect>) {
    let State { document, known, pictures, .. } = state;
    if let Some(document) = document {
        let file = document.file.clone();
        if document.choice.sorting {
            document.hand = Hand::Nothing;
            document.crosshair = None;
        }
        document.look(|shot| pictures::about(known, pictures, file.as_deref(), shot));
    }
    frames::tidy(state);
    pages::tidy(state);
    pages::follow(state, effects);
    saving::keep(state, effects);
    pictures::want(state, effects);
}

/// Nudges of one mark in a row are one step back; anything else ends the row.
fn end_nudging(state: &mut State, command: &Command) {
    let Some(document) = &mut state.document else { return };
    let goes_on = matches!(command, Command::Nudge(..)) && document.hand.mark() == document.nudged;
    if document.nudged.is_some() && !goes_on {
        document.history.end_gesture();
        document.nudged = None;
    }
}

/// A point that is held by the pointer is let go before anything else is done to the case, so that neither the
/// drag nor the command reaches a shot or a point that it was not meant for. Looking closer is no change.
fn end_dragging(state: &mut State, command: &Command) {
    let goes_on = matches!(
        command,
        Command::Drag(_)
            | Command::Release
            | Command::Pan(_)
            | Command::ZoomAt(..)
            | Command::ZoomIn
            | Command::ZoomOut
            | Command::Toggle(_)
            | Command::HideDrawing(_)
    );
    if let Some(document) = &mut state.document
        && !goes_on
    {
        marks::release(document);
    }
}

fn middle_of(state: &State) -> Point {
    Point::new(0.5 * state.canvas.width, 0.5 * state.canvas.height)
}

fn show(state: &mut State, command: &Command) {
    match command {
        Command::NextShot => go(state, |d| d.neighbour(1).map(str::to_owned)),
        Command::PreviousShot => go(state, |d| d.neighbour(-1).map(str::to_owned)),
        Command::NextUnmarked => go(state, next_unmarked),
        Command::ShowShot(id) => go(state, |_| Some(id.clone())),
        Command::ZoomIn => zoom(state, ZOOM_STEP),
        Command::ZoomOut => zoom(state, 1.0 / ZOOM_STEP),
        Command::ZoomAt(at, factor) => {
            let (canvas, frame, at, factor) = (state.canvas, state.sheet(), *at, *factor);
            see(state, |showing| showing.zoomed(canvas, frame, at, factor));
        }
        Command::Pan(by) => pan(state, *by),
        Command::ShowWhole => see(state, |_| Showing::Whole),
        Command::OneToOne => {
            let (canvas, frame) = (state.canvas, state.sheet());
            see(state, |showing| showing.one_to_one(canvas, frame));
        }
        Command::ShowBody => show_body(state),
        other => display(&mut state.display, other),
    }
    if matches!(command, Command::PutDown | Command::Dismiss) {
        dismiss(state);
    }
}

fn display(display: &mut Display, command: &Command) {
    match command {
        Command::Toggle(layer) => display.layers = display.layers.toggled(*layer),
        Command::HideDrawing(hidden) => display.drawing_hidden = *hidden,
        Command::SwitchMode => {
            display.mode = match display.mode {
                Mode::Dark => Mode::Light,
                Mode::Light => Mode::Dark,
            };
        }
        Command::MoreMemory => {
            let at = MEMORIES_MIB.iter().position(|memory| *memory == display.memory_mib).unwrap_or(0);
            display.memory_mib = MEMORIES_MIB[(at + 1) % MEMORIES_MIB.len()];
        }
        Command::LargerText => display.text_scale = next_scale(display.text_scale, true),
        Command::SmallerText => display.text_scale = next_scale(display.text_scale, false),
        Command::NormalText => display.text_scale = 1.0,
        Command::Fold(column) => {
            let there = display.has(*column);
            display.columns.insert(*column, !there);
        }
        Command::ShowBudget => display.budget = !display.budget,
        Command::CaseSettings => display.settings = !display.settings,
        Command::Help => display.help = !display.help,
        _ => {}
    }
}

/// Takes away what lies on top of everything else.
fn dismiss(state: &mut State) {
    if state.display.help {
        state.display.help = false;
    } else if state.display.settings {
        state.display.settings = false;
    } else {
        state.notices.clear();
    }
}

fn next_scale(now: f64, larger: bool) -> f64 {
    let found = if larger {
        TEXT_SCALES.into_iter().find(|scale| *scale > now + 1e-6)
    } else {
        TEXT_SCALES.into_iter().rev().find(|scale| *scale < now - 1e-6)
    };
    found.unwrap_or(now)
}

fn go(state: &mut State, to: impl FnOnce(&crate::app::session::document::Document) -> Option<String>) {
    let Some(document) = &mut state.document else { return };
    if let Some(id) = to(document) {
        document.show(&id);
    }
}

/// The next shot on which something needed is missing, round the whole case.
fn next_unmarked(document: &crate::app::session::document::Document) -> Option<String> {
    let shots = &document.case().shots;
    let here = document.index()?;
    let round = (here + 1..shots.len()).chain(0..here);
    round
        .map(|i| &shots[i])
        .find(|shot| shot.draft || !crate::app::session::document::required_done(shot))
        .map(|shot| shot.id.clone())
}

fn see(state: &mut State, change: impl FnOnce(Showing) -> Showing) {
    let showing = change(state.showing());
    if let Some(document) = &mut state.document
        && let Some(id) = &document.shown
    {
        document.showing.insert(id.clone(), showing);
    }
}

fn zoom(state: &mut State, factor: f64) {
    let at = in_hand(state).unwrap_or_else(|| state.transform().to_image(middle_of(state)));
    let (canvas, frame) = (state.canvas, state.sheet());
    see(state, |showing| showing.zoomed(canvas, frame, at, factor));
}

fn pan(state: &mut State, by: Vec2) {
    let (canvas, frame) = (state.canvas, state.sheet());
    see(state, |showing| showing.panned(canvas, frame, by));
}

fn show_body(state: &mut State) {
    let (canvas, turn) = (state.canvas, state.sheet().turn);
    let Some(shot) = state.document.as_ref().and_then(|d| d.shot()) else { return };
    let bone = shot.marks.placed().filter(|(at, _)| {
        at.kind.belongs_to(shot.view) && at.kind.material() == crate::measure::mark::Material::Bone
    });
    let points: Vec<Point> = bone.map(|(_, p)| p).collect();
    let all = shot.marks.placed().map(|(_, p)| p);
    let showing = Showing::around(canvas, turn, points).or_else(|| Showing::around(canvas, turn, all));
    if let Some(showing) = showing {
        see(state, |_| showing);
    }
}

/// The image place of what is in hand: the mark, else the crosshair.
fn in_hand(state: &State) -> Option<Point> {
    let document = state.document.as_ref()?;
    let mark = document.hand.mark().and_then(|at| document.shot()?.marks.point(at));
    mark.or(document.crosshair)
}

/// Moves the picture so far that what is in hand does not leave the canvas.
fn keep_in_sight(state: &mut State) {
    let Some(at) = in_hand(state) else { return };
    let seen = state.transform().to_canvas(at);
    let (width, height) = (state.canvas.width, state.canvas.height);
    let over = |x: f64, side: f64| x.clamp(EDGE * side, (1.0 - EDGE) * side) - x;
    let by = Vec2::new(over(seen.x, width), over(seen.y, height));
    // A fitted frame shows all there is; its own edge may lie near the canvas's.
    if by.length() > 0.0 && state.showing() != Showing::Whole {
        pan(state, by);
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::session::document::Document;
    use crate::case::document::{Case, Shot};
    use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

    fn grabbing() -> State {
        let mut case = Case::default();
        for id in ["a", "b"] {
            let mut shot = Shot::new(id, format!("{id}.png"), View::Lateral);
            shot.marks = Marks::new().with(MarkKind::Tip, &[(4.0, 4.0)]);
            case.shots.push(shot);
        }
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        let mut state = State { document: Some(document), ..State::default() };
        update(&mut state, Command::Grab(TIP, Point::new(4.0, 4.0)));
        update(&mut state, Command::Drag(Point::new(7.0, 4.0)));
        state
    }

    const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

    fn tips(state: &State) -> Vec<Option<Point>> {
        state.document.as_ref().unwrap().case().shots.iter().map(|shot| shot.marks.point(TIP)).collect()
    }

    #[test]
    fn another_shot_or_step_ends_a_drag_and_nothing_wrong_is_moved() {
        for command in [Command::NextShot, Command::ShowShot("b".to_owned()), Command::Remove, Command::Undo]
        {
            let mut state = grabbing();
            update(&mut state, command);
            let before = tips(&state);
            update(&mut state, Command::Drag(Point::new(90.0, 90.0)));
            update(&mut state, Command::Release);
            assert_eq!(tips(&state), before);
        }
    }

    #[test]
    fn looking_closer_goes_on_with_a_drag() {
        let mut state = grabbing();
        update(&mut state, Command::ZoomIn);
        update(&mut state, Command::Drag(Point::new(90.0, 90.0)));
        assert_eq!(tips(&state), [Some(Point::new(90.0, 90.0)), Some(Point::new(4.0, 4.0))]);
    }
}
