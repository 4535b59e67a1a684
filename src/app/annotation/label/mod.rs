//! Labels on the picture: making, choosing, moving, saying, ordering, bringing in line, carrying to another shot.
//!
//! Reading order: this file for what is under way and what can be asked for, [`entry`] for how that presents itself,
//! [`grip`] for what the pointer and the arrows take hold of, [`change`] for the changes themselves.

use crate::app::annotation::redaction::Aside;
use crate::app::command::Command;
use crate::app::session::document::{Document, Hand};
use crate::app::session::state::State;
use crate::case::annotation::list::Edge;
use crate::case::annotation::{Corner, LabelKind};
use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::{self, PlacedAnnotations};
use crate::scene::drawing::shape::Rect;
use crate::scene::overlay::{Layer, Overlay};

mod change;
pub mod entry;
pub mod grip;

pub use grip::Grip;

/// What is under way while labels are worked on.
#[derive(Clone, Debug, PartialEq)]
pub struct AnnotationDraft {
    /// What the next click makes.
    pub kind: LabelKind,
    /// Whether an outline or a region is to be round.
    pub round: bool,
    /// The points of the label under way.
    pub placed: Vec<Point>,
    /// The labels that are chosen, by their places in the list; the last is the one that is worked on.
    pub chosen: Vec<usize>,
    /// What of it the arrows move.
    pub grip: Grip,
    /// How many labels have been made, so that whoever shows their words can tell a new one.
    pub made: u32,
    /// The change that is going on, so that a drag or a text is one step back.
    going_on: Option<GoingOn>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum GoingOn {
    Words(usize),
    Moving(usize, Grip),
}

/// What can be asked for on labels.
#[derive(Clone, Debug, PartialEq)]
pub enum AnnotationCommand {
    /// Begin or end working on labels.
    Begin,
    /// The next click makes a label of this kind.
    Kind(LabelKind),
    /// Make outlines and regions round, or of corners; of the chosen one too.
    Round,
    /// A point of the label under way is here.
    At(Point),
    /// The label under way has all its points.
    Finish,
    /// Choose this label, or none.
    Choose(Option<usize>),
    /// Choose this label beside the others, or leave it out again.
    ChooseToo(usize),
    /// Choose the next label of the list.
    Next,
    /// The arrows move the next part of the chosen label.
    NextGrip,
    /// Take hold of a part of a label.
    Grab(usize, Grip),
    /// Move a part of a label by pixels of the picture.
    Drag(usize, Grip, Vec2),
    /// What was moved has arrived, or the words are written.
    Done,
    /// The words of a label.
    Say(usize, String),
    /// The words of the chosen labels find their own places again.
    FreeWords,
    /// Draw the chosen label before the one it is drawn after; a numbered one counts earlier.
    Earlier,
    /// The other way.
    Later,
    /// Bring the words of the chosen labels in line.
    Align(Edge),
    /// The chosen inset stands in this corner.
    Corner(Corner),
    /// The chosen inset is this many times larger than its region.
    Times(f64),
    /// Take the chosen labels away.
    Remove,
    /// Put the chosen labels on this shot too.
    CarryTo(String),
}

impl Default for AnnotationDraft {
    fn default() -> Self {
        Self {
            kind: LabelKind::Text,
            round: false,
            placed: Vec::new(),
            chosen: Vec::new(),
            grip: Grip::Whole,
            made: 0,
            going_on: None,
        }
    }
}

impl AnnotationDraft {
    /// The label that is worked on, by its place in the list.
    #[must_use]
    pub fn primary(&self) -> Option<usize> {
        self.chosen.last().copied()
    }
}

/// Whether labels are worked on.
#[must_use]
pub fn is_on(state: &State) -> bool {
    state.document.as_ref().is_some_and(|document| document.aside == Aside::Labels)
}

/// Whether the shown shot's labels are drawn just now.
#[must_use]
pub fn is_drawn(state: &State) -> bool {
    let elsewhere = crate::app::shots::frames::is_elsewhere(state);
    !elsewhere && (state.drawn().has(Layer::Teaching) || is_on(state) && !state.display.drawing_hidden)
}

/// The shown shot's labels laid out on the canvas, in its points.
#[must_use]
pub fn drawn(state: &State) -> Option<PlacedAnnotations> {
    let document = state.document.as_ref()?;
    let shot = document.shot().filter(|shot| !shot.labels.is_empty())?;
    let (width, height) = state.frame_size();
    let bounds = Rect::new(0.0, 0.0, width, height);
    let transform = state.transform();
    let place = |p: Point| transform.to_canvas(p);
    let corners = [bounds.min, Point::new(width, 0.0), bounds.max, Point::new(0.0, height)];
    let room = Rect::around(corners.map(place))?;
    let looked = document.looked(&shot.id);
    let map = looked.and_then(|looked| looked.map.as_ref());
    let overlay = Overlay {
        view: shot.view,
        marks: &shot.marks,
        map,
        reading: looked.map(|looked| &looked.reading),
        stage: shot.stage,
        settings: &document.case().settings,
        layers: state.drawn(),
        zoom: transform.zoom,
    }
    .scene(bounds);
    let overlay = Some(&overlay);
    Some(
        annotation::AnnotatedView {
            case: document.case(),
            shot,
            map,
            overlay,
            kept: &[],
            bounds,
            room,
            place: &place,
        }
        .drawn(),
    )
}

/// Ends a change of several steps before anything else is done to the case.
pub(crate) fn end_change(state: &mut State, command: &Command) {
    let Some(document) = &mut state.document else { return };
    let goes_on = match (document.labelling.going_on, command) {
        (Some(GoingOn::Words(index)), Command::Label(AnnotationCommand::Say(of, _))) => *of == index,
        (Some(GoingOn::Moving(index, grip)), Command::Label(AnnotationCommand::Drag(of, part, _))) => {
            (*of, *part) == (index, grip)
        }
        (Some(GoingOn::Moving(..)), Command::Nudge(..)) => document.aside == Aside::Labels,
        _ => false,
    };
    if document.labelling.going_on.is_some() && !goes_on {
        document.labelling.going_on = None;
        document.history.end_gesture();
    }
}

/// Carries what concerns labels out; gives every other command back.
pub(crate) fn update(state: &mut State, command: Command) -> Option<Command> {
    let on = is_on(state);
    let Some(document) = state.document.as_mut().filter(|document| document.shot().is_some()) else {
        return Some(command);
    };
    tidy(document);
    match command {
        Command::Label(ask) => change::act(state, ask),
        command if !on => return Some(command),
        // The numbers of the kinds.
        Command::TakeNumber(n) => {
            if let Some(kind) = LabelKind::ALL.get(usize::from(n).saturating_sub(1)) {
                change::act(state, AnnotationCommand::Kind(*kind));
            }
        }
        Command::Nudge(way, stride) => {
            let by = document.aspect().turn.unseen(way.unit()) * stride.px();
            change::nudge(state, by);
        }
        Command::PlaceAtCrosshair => match document.crosshair {
            Some(at) => change::act(state, AnnotationCommand::At(at)),
            None => change::act(state, AnnotationCommand::Finish),
        },
        Command::Skip => change::act(state, AnnotationCommand::Next),
        Command::Back => {
            document.labelling.placed.pop();
        }
        Command::Remove => change::act(state, AnnotationCommand::Remove),
        Command::ChooseAll => {
            let count = document.shot().map_or(0, |shot| shot.labels.len());
            document.labelling.chosen = (0..count).collect();
        }
        Command::PutDown => put_down(document),
        // Labels are looked through shot by shot.
        command @ (Command::NextShot | Command::PreviousShot | Command::ShowShot(_)) => {
            forget(document);
            return Some(command);
        }
        command => return Some(command),
    }
    None
}

/// One thing goes back at a time: the label under way, the crosshair, what is chosen, and then the work itself.
fn put_down(document: &mut Document) {
    let labelling = &mut document.labelling;
    if !labelling.placed.is_empty() {
        labelling.placed.clear();
    } else if document.crosshair.is_some() {
        document.crosshair = None;
    } else if labelling.chosen.is_empty() {
        document.aside = Aside::Nothing;
    } else {
        labelling.chosen.clear();
    }
}

fn forget(document: &mut Document) {
    let AnnotationDraft { kind, round, made, .. } = document.labelling;
    document.labelling = AnnotationDraft { kind, round, made, ..AnnotationDraft::default() };
    document.crosshair = None;
}

/// What is chosen must still be there.
fn tidy(document: &mut Document) {
    let Some(shot) = document.history.case().shot(document.shown.as_deref().unwrap_or_default()) else {
        return;
    };
    let count = shot.labels.len();
    document.labelling.chosen.retain(|&index| index < count);
    if let (Grip::Point(slot), Some(index)) = (document.labelling.grip, document.labelling.primary())
        && shot.labels.get(index).is_none_or(|label| slot >= label.points().len())
    {
        document.labelling.grip = Grip::Whole;
    }
}

/// Begins or ends working on labels; no mark is in hand meanwhile.
fn begin(document: &mut Document) {
    let on = document.aside == Aside::Labels;
    forget(document);
    document.aside = if on { Aside::Nothing } else { Aside::Labels };
    document.hand = Hand::Nothing;
    if on && document.shot().is_some_and(|shot| !crate::app::session::document::required_done(shot)) {
        document.resume(None);
    }
}

/// Whether a command would do anything while labels are worked on; `None` where that makes no difference.
#[must_use]
pub fn available(state: &State, command: &Command) -> Option<bool> {
    let document = state.document.as_ref()?;
    let labelling = &document.labelling;
    if let Command::Label(ask) = command {
        return Some(ask_available(document, ask));
    }
    if document.aside != Aside::Labels {
        return None;
    }
    let labels = document.shot().map_or(0, |shot| shot.labels.len());
    match command {
        Command::Remove => Some(!labelling.chosen.is_empty()),
        Command::PlaceAtCrosshair => Some(document.crosshair.is_some() || is_whole(labelling)),
        Command::Skip | Command::ChooseAll => Some(labels > 0),
        Command::Back => Some(!labelling.placed.is_empty()),
        Command::PutDown | Command::TakeNumber(_) | Command::Nudge(..) => Some(true),
        Command::AddPoints => Some(false),
        _ => None,
    }
}

fn ask_available(document: &Document, ask: &AnnotationCommand) -> bool {
    let Some(shot) = document.shot() else { return false };
    if *ask == AnnotationCommand::Begin {
        return true;
    }
    if document.aside != Aside::Labels {
        return false;
    }
    let labelling = &document.labelling;
    let one = labelling.primary();
    match ask {
        AnnotationCommand::Finish => is_whole(labelling),
        AnnotationCommand::NextGrip | AnnotationCommand::Remove | AnnotationCommand::CarryTo(_) => {
            one.is_some()
        }
        AnnotationCommand::FreeWords => {
            labelling.chosen.iter().any(|&i| shot.labels.get(i).is_some_and(|label| label.text_at.is_some()))
        }
        AnnotationCommand::Earlier => one.is_some_and(|i| i > 0),
        AnnotationCommand::Later => one.is_some_and(|i| i + 1 < shot.labels.len()),
        AnnotationCommand::Align(_) => labelling.chosen.len() > 1,
        AnnotationCommand::Next => !shot.labels.is_empty(),
        AnnotationCommand::Corner(_) | AnnotationCommand::Times(_) => {
            one.and_then(|i| shot.labels.get(i)).and_then(|label| label.kind()) == Some(LabelKind::Inset)
        }
        _ => true,
    }
}

/// Whether the label under way has as many points as it needs.
fn is_whole(labelling: &AnnotationDraft) -> bool {
    let (least, _) = labelling.kind.count(labelling.round && labelling.kind.can_be_round());
    !labelling.placed.is_empty() && labelling.placed.len() >= least
}

#[cfg(test)]
mod tests;
