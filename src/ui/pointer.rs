//! The pointer over the picture: what a press, a drag, a release and the wheel ask for.

use egui::{CursorIcon, Event, MouseWheelUnit, PointerButton, Pos2, Response, Ui};

use crate::app::annotation::being_drawn::moved_by;
use crate::app::annotation::label::LabelCommand;
use crate::app::annotation::label::grip::{Grip, hit};
use crate::app::annotation::screen_clicks::ScreenPoint;
use crate::app::annotation::straighten::StraightenCommand;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::view::ViewCommand;
use crate::app::display::viewport::Transform;
use crate::app::marking::placement;
use crate::app::pages::active;
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::app::session::mode::Tool;
use crate::app::session::route::refusal;
use crate::app::session::state::State;
use crate::case::document::redaction::Cover;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{MarkRef, Marks};
use crate::scene::drawing::theme::GRASP_RADIUS;
use crate::ui::canvas::{CanvasMemory, hovering, local};
use crate::ui::look::pt;
use crate::ui::widgets::Asked;

/// While a mark is to be placed, another one is grasped only this near, in points, so that marks can stand close.
const NARROW: f64 = 6.0;
/// A press within this distance of a mark was meant for it, in points: the ground is not clearly empty.
const MISSED: f64 = 30.0;
/// A press that has moved less is a click, in points.
const STILL: f64 = 4.0;
/// Zoom by one line of the wheel.
const WHEEL_STEP: f64 = 1.15;
/// Points of drag that change grey levels by their own width.
const GREY_TRAVEL: f64 = 400.0;

/// What a pressed button does until it is let go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Press {
    /// Drags a mark, once it has moved so far that it is no click.
    Mark { from: Pos2, still: bool },
    /// Places a point where it is let go.
    Place,
    /// Places or adds a point where it is let go, whatever else is there.
    Force,
    /// Moves the picture; one that does not move puts down what is in hand.
    Pan { from: Pos2 },
    /// Does nothing: a drag that just missed a mark was meant for it, and is not to move the image instead.
    Missed { from: Pos2 },
    /// Changes the grey levels.
    Grey,
    /// Draws a cover, or a line along a known length, from this image place.
    Draw { from: Point },
    /// Places a point of a label where it is let go.
    Label,
    /// Moves a part of a label, once it has moved so far that it is no click.
    Grip { index: usize, grip: Grip, from: Pos2, last: Point, still: bool },
    /// Places a point of the screen in a photo where it is let go, or moves one that was clicked.
    Screen(Option<ScreenPoint>),
    /// Moves a cover that was grasped at this image place.
    Cover { index: usize, from: Point, cover: Cover },
}

/// Takes in what pointer and wheel do over the picture.
pub(super) fn input(
    ui: &Ui,
    state: &State,
    response: &Response,
    transform: Transform,
    memory: &mut CanvasMemory,
    asked: &mut Asked,
) {
    if active(state).document.as_ref().and_then(Document::shot).is_none() {
        return;
    }
    let rect = response.rect;
    let over = response.contains_pointer();
    let image = |p: Pos2| transform.to_image(local(rect, p));
    let events = ui.input(|input| input.events.clone());
    for event in &events {
        match event {
            Event::PointerButton { pos, button, pressed: true, modifiers } if over && rect.contains(*pos) => {
                response.request_focus();
                memory.last = *pos;
                memory.at = image(*pos);
                memory.press =
                    press(state, image(*pos), *pos, (*button, *modifiers), (transform, memory), asked);
            }
            Event::PointerMoved(pos) if memory.press.is_some() => {
                moved(state, *pos, image(*pos), memory, asked);
            }
            Event::PointerButton { pos, pressed: false, .. } => {
                if let Some(press) = memory.press.take() {
                    released(state, press, *pos, image(*pos), transform, asked);
                }
            }
            Event::MouseWheel { unit, delta, modifiers, .. } if over && !modifiers.command => {
                wheel(*unit, *delta, ui.ctx().pointer_latest_pos().map(image), asked);
            }
            _ => {}
        }
    }
    let pinch = f64::from(ui.input(egui::InputState::zoom_delta));
    if over
        && (pinch - 1.0).abs() > 1e-6
        && let Some(p) = ui.ctx().pointer_latest_pos()
    {
        asked.push(Command::View(ViewCommand::ZoomAt(image(p), pinch)));
    }
    cursor(ui, state, response, transform, memory);
    // The arrow keys and Space are the picture's as long as it has the focus.
    if response.has_focus() {
        let filter =
            egui::EventFilter { tab: false, horizontal_arrows: true, vertical_arrows: true, escape: true };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    }
}

fn press(
    state: &State,
    at: Point,
    pos: Pos2,
    (button, held): (PointerButton, egui::Modifiers),
    (transform, memory): (Transform, &CanvasMemory),
    asked: &mut Asked,
) -> Option<Press> {
    let document = active(state).document.as_ref()?;
    let pan = Press::Pan { from: pos };
    match button {
        PointerButton::Secondary => return Some(Press::Grey),
        PointerButton::Primary if !held.shift => {}
        PointerButton::Primary | PointerButton::Middle => return Some(pan),
        PointerButton::Extra1 | PointerButton::Extra2 => return None,
    }
    match document.tool() {
        Tool::Marks => {}
        Tool::Redaction { .. } => {
            let covers = document.shot().map_or(&[][..], |shot| &shot.covers);
            let hit = covers.iter().enumerate().rev().find(|(_, cover)| cover.contains(at));
            return Some(match hit {
                Some((index, cover)) => Press::Cover { index, from: at, cover: *cover },
                None => Press::Draw { from: at },
            });
        }
        Tool::Scale { .. } => return Some(Press::Draw { from: at }),
        Tool::Straighten => {
            let clicks = document.straightening();
            return Some(Press::Screen(
                clicks.and_then(|clicks| clicks.held(at, GRASP_RADIUS / transform.zoom)),
            ));
        }
        Tool::Annotations => return Some(label_press(document, (at, pos), held, (transform, memory), asked)),
    }
    if held.command || held.ctrl {
        return Some(Press::Force);
    }
    if let Some(mark) = grasped(document, at, transform) {
        asked.push(Command::Marks(MarksCommand::Grab(mark, at)));
        return Some(Press::Mark { from: pos, still: true });
    }
    Some(if document.hand().places() {
        Press::Place
    } else if misses(document, at, transform) {
        Press::Missed { from: pos }
    } else {
        pan
    })
}

/// A press while labels are worked on: takes hold of one, or places a point; Ctrl places whatever is there.
fn label_press(
    document: &Document,
    (at, pos): (Point, Pos2),
    held: egui::Modifiers,
    (transform, memory): (Transform, &CanvasMemory),
    asked: &mut Asked,
) -> Press {
    let labelling = &document.labelling;
    // While none is chosen the next click makes one, so that others are grasped only from near.
    let radius = if labelling.chosen.is_empty() { NARROW } else { GRASP_RADIUS };
    if labelling.placed.is_empty()
        && !(held.command || held.ctrl)
        && let (Some(shot), Some(drawn)) = (document.shot(), memory.labels.drawn())
        && let Some((index, grip)) = hit(shot, drawn, labelling.primary(), at, (transform, radius))
    {
        asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Grab(index, grip))));
        return Press::Grip { index, grip, from: pos, last: at, still: true };
    }
    Press::Label
}

/// The mark that a press at this place grasps.
fn grasped(document: &Document, at: Point, transform: Transform) -> Option<MarkRef> {
    let shot = document.shot()?;
    let radius = match document.hand() {
        Hand::Next(_) | Hand::Adding(_) | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => {
            NARROW
        }
        Hand::Nothing | Hand::Mark(_) | Hand::Again(_) => GRASP_RADIUS,
    };
    placement::hit(document.seen_marks()?, shot.view, at, radius / transform.zoom, document.hand().mark())
}

/// Whether a press at this place just misses a mark.
fn misses(document: &Document, at: Point, transform: Transform) -> bool {
    let (Some(shot), Some(marks)) = (document.shot(), document.seen_marks()) else { return false };
    let own = marks.placed().filter(|(mark, _)| mark.kind.belongs_to(shot.view));
    own.map(|(_, p)| p.distance(at) * transform.zoom).any(|distance| distance < MISSED)
}

fn moved(state: &State, pos: Pos2, at: Point, memory: &mut CanvasMemory, asked: &mut Asked) {
    let by = pos - memory.last;
    let (x, y) = (f64::from(by.x), f64::from(by.y));
    match memory.press {
        Some(Press::Mark { from, still }) => {
            // A click that trembles leaves the mark where it was placed.
            if still && (pos - from).length() < pt(STILL) {
                return;
            }
            memory.press = Some(Press::Mark { from, still: false });
            asked.push(Command::Marks(MarksCommand::Drag(at)));
        }
        Some(Press::Grip { index, grip, from, last, still }) => {
            if still && (pos - from).length() < pt(STILL) {
                return;
            }
            memory.press = Some(Press::Grip { index, grip, from, last: at, still: false });
            asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Drag(
                index,
                grip,
                at - last,
            ))));
        }
        Some(Press::Pan { from }) => {
            // A hand that trembles is not a drag.
            if (pos - from).length() < pt(STILL) {
                return;
            }
            asked.push(Command::View(ViewCommand::Pan(Vec2::new(x, y))));
        }
        Some(Press::Screen(Some(point))) => asked.push(screen(StraightenCommand::Put(point, at))),
        Some(Press::Grey) if active(state).greys().is_some() => {
            asked.push(Command::View(ViewCommand::DragWindow(-y / GREY_TRAVEL, x / GREY_TRAVEL)));
        }
        Some(
            Press::Grey
            | Press::Missed { .. }
            | Press::Place
            | Press::Force
            | Press::Label
            | Press::Draw { .. }
            | Press::Screen(None)
            | Press::Cover { .. },
        )
        | None => {}
    }
    memory.at = at;
    memory.last = pos;
}

fn released(state: &State, press: Press, pos: Pos2, at: Point, transform: Transform, asked: &mut Asked) {
    match press {
        Press::Mark { .. } => asked.push(Command::Marks(MarksCommand::Release)),
        Press::Place => asked.push(Command::Marks(MarksCommand::Place(at))),
        Press::Label => asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::At(at)))),
        Press::Grip { .. } => {
            asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Done)));
        }
        Press::Force => {
            let Some(document) = &active(state).document else { return };
            let near = document.shot().and_then(|shot| {
                placement::border_near(&shot.marks, shot.view, at, GRASP_RADIUS / transform.zoom)
            });
            match near {
                _ if document.hand().places() => asked.push(Command::Marks(MarksCommand::Place(at))),
                Some(kind) => asked.push(Command::Marks(MarksCommand::Insert(kind, at))),
                None => {}
            }
        }
        Press::Pan { from } | Press::Missed { from } => {
            let waits = |document: &&Document| document.is_labeling() || document.asks_for_view();
            if let Some(document) = active(state).document.as_ref().filter(waits) {
                // A click on the image while it is labeled means its marks: the open question is named, or labeling ends
                // and the click counts.
                if (pos - from).length() < pt(STILL) {
                    if !document.asks_for_view() {
                        asked.push(Command::Shots(ShotsCommand::Label));
                    }
                    if is_open(document) {
                        asked.push(Command::Marks(MarksCommand::Place(at)));
                    }
                }
                return;
            }
            // A click beside everything puts down what is in hand, if there is something.
            let put_down = Command::Marks(MarksCommand::PutDown);
            if (pos - from).length() < pt(STILL) && refusal(state, &put_down).is_none() {
                asked.push(put_down);
            }
        }
        Press::Grey | Press::Screen(Some(_)) => {}
        Press::Screen(None) => asked.push(screen(StraightenCommand::At(at))),
        Press::Draw { from } => drawn(state, from, at, transform, asked),
        Press::Cover { index, from, cover } => {
            let by = at - from;
            asked.push(match moved_by(cover, by) {
                Some(moved) if by.length() * transform.zoom >= STILL => {
                    Command::Annotations(AnnotationsCommand::MoveRedaction(index, moved))
                }
                Some(_) | None => Command::Annotations(AnnotationsCommand::SelectRedaction(Some(index))),
            });
        }
    }
}

/// Whether a click on the image that ends labeling places a mark: none is there yet, so it is the first.
fn is_open(document: &Document) -> bool {
    document.seen_marks().is_some_and(Marks::is_empty)
}

/// What was drawn becomes a cover or a line; what is too small for either chooses nothing.
fn drawn(state: &State, from: Point, to: Point, transform: Transform, asked: &mut Asked) {
    let Some(document) = &active(state).document else { return };
    let large = from.distance(to) * transform.zoom >= STILL;
    match document.tool() {
        Tool::Redaction { .. } => match Cover::between(from, to).filter(|_| large) {
            Some(cover) => asked.push(Command::Annotations(AnnotationsCommand::AddRedaction(cover))),
            None => asked.push(Command::Annotations(AnnotationsCommand::SelectRedaction(None))),
        },
        Tool::Scale { .. } if large => {
            asked.push(Command::Annotations(AnnotationsCommand::MarkLength(from, to)))
        }
        Tool::Scale { .. } | Tool::Marks | Tool::Annotations | Tool::Straighten => {}
    }
}

fn screen(command: StraightenCommand) -> Command {
    Command::Annotations(AnnotationsCommand::Straighten(command))
}

fn wheel(unit: MouseWheelUnit, delta: egui::Vec2, at: Option<Point>, asked: &mut Asked) {
    let Some(at) = at else { return };
    match unit {
        // Fingers on a touch pad move the picture; a wheel zooms.
        MouseWheelUnit::Point => {
            asked.push(Command::View(ViewCommand::Pan(Vec2::new(f64::from(delta.x), f64::from(delta.y)))))
        }
        MouseWheelUnit::Line | MouseWheelUnit::Page => {
            asked.push(Command::View(ViewCommand::ZoomAt(at, WHEEL_STEP.powf(f64::from(delta.y)))));
        }
    }
}

fn cursor(ui: &Ui, state: &State, response: &Response, transform: Transform, memory: &CanvasMemory) {
    let Some(pos) = hovering(ui, response) else { return };
    let Some(document) = &active(state).document else { return };
    let at = transform.to_image(local(response.rect, pos));
    let icon = match memory.press {
        Some(Press::Mark { .. }) => CursorIcon::None,
        Some(Press::Pan { .. }) => CursorIcon::Grabbing,
        Some(Press::Grey) => CursorIcon::Move,
        Some(Press::Place | Press::Force | Press::Label | Press::Draw { .. } | Press::Screen(None)) => {
            CursorIcon::Crosshair
        }
        Some(Press::Cover { .. } | Press::Grip { .. } | Press::Screen(Some(_))) => CursorIcon::Grabbing,
        Some(Press::Missed { .. }) => CursorIcon::Default,
        None if document.tool() != Tool::Marks => CursorIcon::Crosshair,
        None if grasped(document, at, transform).is_some() => CursorIcon::Grab,
        None if document.hand().places() => CursorIcon::Crosshair,
        None => CursorIcon::Default,
    };
    ui.ctx().set_cursor_icon(icon);
}

#[cfg(test)]
mod tests {
    use egui::vec2;

    use super::*;

    #[test]
    fn a_click_that_trembles_moves_no_mark_and_a_drag_may_come_back() {
        let state = State::default();
        let start = Pos2::new(100.0, 100.0);
        let mut memory =
            CanvasMemory { press: Some(Press::Mark { from: start, still: true }), ..Default::default() };
        let mut asked = Asked::new();
        let mut go = |x: f32, asked: &mut Asked| {
            moved(&state, start + vec2(x, 0.0), Point::new(f64::from(x), 0.0), &mut memory, asked);
        };
        go(1.0, &mut asked);
        go(-2.0, &mut asked);
        assert!(asked.is_empty());
        go(5.0, &mut asked);
        go(1.0, &mut asked);
        assert_eq!(
            asked,
            [
                Command::Marks(MarksCommand::Drag(Point::new(5.0, 0.0))),
                Command::Marks(MarksCommand::Drag(Point::new(1.0, 0.0)))
            ]
        );
    }
}
