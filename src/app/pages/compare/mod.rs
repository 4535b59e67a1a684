//! The page with two shots of one body laid on each other.
//!
//! Reading order: [`command`] (what it can be asked for), [`viewport`] (which part is seen, and how two pictures hang
//! together), [`registration`] (one drawn in the other's frame), [`refine`] (how it lies, by the pictures themselves).

use crate::align::registration::Registration;
use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::command::stride::{Stride, Way};
use crate::app::display::viewport::{Showing, ZOOM_STEP};
use crate::app::pages::behavior::{Meaning, NO_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::figure;
use crate::app::pages::page::{Page, Wish};
use crate::app::pages::page_file::{self, wish};
use crate::app::pages::page_keys::PageKey;
use crate::app::pages::page_order::PageOf;
use crate::app::pages::work::{PageDone, WorkOfPage};
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;
use crate::geom::point::Point;
use crate::scene::comparison::{Comparison, first_pair, others};
use std::path::PathBuf;

pub mod command;
pub mod memory;
pub mod refine;
pub mod registration;
pub mod viewport;
pub mod work;

pub use command::{CompareCommand, Whose};
pub use memory::{Compare, CompareMode, Laid, Refining};
pub use work::{CompareDone, CompareWork};

/// The slowest and the fastest change from one picture to the other, in changes a second.
pub const RATES_HZ: std::ops::RangeInclusive<f64> = 0.25..=2.0;

const COMPARISON: Wish = wish(
    Page::Compare,
    "Save the comparison",
    "Type where to save the comparison; the name ends in .png, .svg or .pdf.",
);

/// One step of the arrow keys along the share or the line.
const STEP: f64 = 0.05;

impl WorkOfPage for CompareWork {
    fn named(&self) -> &'static str {
        match self {
            Self::Lay(_) => "Superimposing the two shots",
            Self::Refine(_) => "Refining the registration",
        }
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        let text = text.to_owned();
        let done = match self {
            Self::Lay(order) => CompareDone::Laid(Box::new(order.of.clone()), Err(text)),
            Self::Refine(order) => CompareDone::Refined(Box::new(order.from().clone()), Err(text)),
        };
        (PageDone::Compare(done), false)
    }
}

/// The page.
pub(super) struct ComparePage;

impl PageBehavior for ComparePage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Compare shots",
            tip: "Register two shots of one body and measure what changed.",
            group: Group::Pages,
            keys: key_bindings::pages::COMPARE,
        }
    }

    /// It comes up with the shown shot and the one before, unless the shown one is already compared.
    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let Some(document) = &state.editor.document else { return };
        let page = &mut state.pages.compare;
        let shown = document.shown.as_ref();
        let kept = page.places(document).is_some()
            && page.shots.as_ref().is_some_and(|shots| shown.is_some_and(|id| shots.contains(id)));
        if !kept {
            let pair = document.index().and_then(|index| first_pair(document.case(), index));
            choose(state, pair);
        }
    }

    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        PageKey::of(&command).and_then(|key| meaning(state, key)).unwrap_or(Meaning::nothing(NO_IMAGE))
    }

    fn shows(&self, pages: &Pages, shot: &str) -> bool {
        pages.compare.shots.iter().flatten().any(|id| id == shot)
    }

    /// While it is not shown, what takes much memory is let go, and nothing goes on by itself.
    fn tidy(&self, state: &mut State) {
        if state.pages.shown != Page::Compare {
            state.pages.compare.laid = Laid::Nothing;
            state.pages.compare.alternating = false;
        }
    }

    fn follow(&self, state: &mut State, effects: &mut Vec<Effect>) {
        found(state);
        refine::follow(state);
        registration::order(state, effects);
    }

    fn chosen(&self, state: &mut State, _wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
        if let Some(path) = paths.into_iter().next() {
            to_file(state, Some(path), effects);
        }
    }

    fn pictures(&self, state: &State) -> Vec<PictureKey> {
        let Some(document) = &state.editor.document else { return Vec::new() };
        let shots = state.pages.compare.shots.iter().flatten();
        shots.filter_map(|id| state.editor.key_of(document.case().shot(id)?)).collect()
    }
}

/// A number chooses how the shots are shown; arrows to either side move the share or the line; zoom goes for both images.
fn meaning(state: &State, key: PageKey) -> Option<Meaning> {
    let page = &state.pages.compare;
    let at = Point::new(0.5 * page.canvas.width, 0.5 * page.canvas.height);
    let command = match key {
        PageKey::Undo => return Some(Meaning::Page(PageCommand::Undo)),
        PageKey::Redo => return Some(Meaning::Page(PageCommand::Redo)),
        PageKey::Number(number) => {
            CompareCommand::As(*CompareMode::ALL.get(usize::from(number).checked_sub(1)?)?)
        }
        PageKey::Arrow(Way::Left, stride) => step(page, stride, -1.0)?,
        PageKey::Arrow(Way::Right, stride) => step(page, stride, 1.0)?,
        PageKey::Arrow(Way::Up | Way::Down, _) => return None,
        PageKey::ZoomIn => CompareCommand::Zoom { at, factor: ZOOM_STEP },
        PageKey::ZoomOut => CompareCommand::Zoom { at, factor: 1.0 / ZOOM_STEP },
        PageKey::Fit => CompareCommand::Whole,
        PageKey::ZoomToBody => CompareCommand::Body,
    };
    Some(Meaning::Page(PageCommand::Compare(command)))
}

/// What an arrow key to either side means: less or more of the later one, the line to the left or the right, the other
/// picture.
fn step(page: &Compare, stride: Stride, way: f64) -> Option<CompareCommand> {
    let by = way * if stride == Stride::One { STEP } else { 0.2 * STEP };
    match page.mode {
        CompareMode::Blend => Some(CompareCommand::Share(page.share + by)),
        CompareMode::Divider => Some(CompareCommand::Line(page.line + by)),
        CompareMode::Alternate => Some(CompareCommand::Change),
        CompareMode::SideBySide | CompareMode::Difference => None,
    }
}

/// Compares these two, the places of shots in the case.
fn choose(state: &mut State, pair: Option<[usize; 2]>) {
    let Some(document) = &state.editor.document else { return };
    let ids = pair.and_then(|[from, to]| {
        let id = |at: usize| document.case().shots.get(at).map(|shot| shot.id.clone());
        Some([id(from)?, id(to)?])
    });
    if state.pages.compare.shots != ids {
        state.pages.compare.shots = ids;
        state.pages.compare.showing = None;
    }
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: CompareCommand, effects: &mut Vec<Effect>) {
    match ask {
        CompareCommand::Refine => refine::begin(state, effects),
        CompareCommand::TakeRefinement(taken) => refine::take(state, taken),
        CompareCommand::From(id) => take(state, &id, 0),
        CompareCommand::To(id) => take(state, &id, 1),
        CompareCommand::Swap => {
            if let Some(shots) = &mut state.pages.compare.shots {
                shots.swap(0, 1);
                state.pages.compare.showing = None;
            }
        }
        CompareCommand::As(mode) => {
            state.pages.compare.mode = mode;
            state.pages.compare.alternating = false;
        }
        CompareCommand::Share(share) => state.pages.compare.share = share.clamp(0.0, 1.0),
        CompareCommand::Line(line) => state.pages.compare.line = line.clamp(0.0, 1.0),
        CompareCommand::Rate(rate) => {
            state.pages.compare.rate_hz = rate.clamp(*RATES_HZ.start(), *RATES_HZ.end())
        }
        CompareCommand::Alternate(on) => state.pages.compare.alternating = on,
        CompareCommand::Change => state.pages.compare.later_shown = !state.pages.compare.later_shown,
        CompareCommand::Marks(whose) => state.pages.compare.whose = whose,
        CompareCommand::Position(position) => state.pages.compare.position = position,
        CompareCommand::Room(canvas) => state.pages.compare.canvas = canvas,
        CompareCommand::Zoom { at, factor } => viewport::zoom(state, at, factor),
        CompareCommand::Pan(by) => viewport::pan(state, by),
        CompareCommand::Whole => state.pages.compare.showing = Some(Showing::Whole),
        CompareCommand::Body => state.pages.compare.showing = None,
        CompareCommand::Save => page_file::ask(state, COMPARISON, "comparison.png", effects),
        CompareCommand::Copy => to_file(state, None, effects),
        CompareCommand::IntoReport => {
            if let Some(part) = state.pages.compare.in_report() {
                figure::put_into_report(state, part);
            }
        }
    }
}

/// Saves or copies what is shown.
fn to_file(state: &mut State, path: Option<PathBuf>, effects: &mut Vec<Effect>) {
    let page = &state.pages.compare;
    let way = page.shown_as();
    let position = page.position;
    let places = state.editor.document.as_ref().and_then(|document| page.places(document));
    let order = places.and_then(|places| page_file::order(state, PageOf::Comparison(places, position, way)));
    if let Some(order) = order {
        figure::page_file(state, order, path, effects);
    }
}

/// Takes a shot as the earlier (0) or the later one (1); the other stays as it was chosen, and the page says where the two
/// cannot be compared. The other one itself changes places with it.
fn take(state: &mut State, id: &str, side: usize) {
    let Some(document) = &state.editor.document else { return };
    let case = document.case();
    let Some(at) = case.shots.iter().position(|shot| shot.id == id) else { return };
    let pair = match state.pages.compare.places(document) {
        Some([from, to]) if [from, to][1 - side] == at => [to, from],
        Some(mut pair) => {
            pair[side] = at;
            pair
        }
        None => {
            let possible = others(case, at);
            let nearest = match side {
                0 => possible.iter().copied().find(|&i| i > at).or(possible.last().copied()),
                _ => possible.iter().copied().rfind(|&i| i < at).or(possible.first().copied()),
            };
            let other = nearest.unwrap_or(at);
            if side == 0 { [at, other] } else { [other, at] }
        }
    };
    choose(state, Some(pair));
}

fn found(state: &mut State) {
    let State { editor, pages, .. } = state;
    let page = &mut pages.compare;
    let Some(document) = &editor.document else { return };
    let Some(places) = page.places(document) else {
        let pair = document.index().and_then(|index| first_pair(document.case(), index));
        page.found = None;
        page.registered = None;
        if page.shots.take().is_some() && pair.is_some() {
            choose(state, pair);
        }
        return;
    };
    let case = document.case();
    let read = places.map(|at| document.read(at));
    page.found = match read {
        [Some(from), Some(to)] => Some(Comparison::of(case, places, [from, to], page.position)),
        _ => None,
    };
    let [from, to] = places.map(|at| &case.shots[at]);
    page.registered = Some(match &page.found {
        Some(Err(why)) => Err(format!("These two cannot be compared: {why}.")),
        Some(Ok(_)) | None => Registration::of_shots(case, [from, to]),
    });
}

/// Work at the edge: files, long computations.
pub(super) fn perform(work: CompareWork) -> CompareDone {
    match work {
        CompareWork::Lay(order) => registration::make(*order),
        CompareWork::Refine(order) => refine::make(&order),
    }
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: CompareDone) {
    match done {
        CompareDone::Laid(of, layers) => registration::take_in(state, *of, layers),
        CompareDone::Refined(from, refined) => refine::take_in(state, &from, refined),
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::pages::Page;
    use crate::app::pages::PageCommand;
    use crate::app::session::document::Document;
    use crate::app::session::update::update as run;
    use crate::case::document::{Case, Shot};
    use crate::measure::compare::Position;
    use crate::measure::mark::{Level, MarkKind, Marks, View};

    /// A lateral body of 140 × 90 px, its corner at `(x, y)`, the tip at this share of its depth.
    fn marks(x: f64, y: f64, depth: f64) -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(x, y), (x + 140.0, y)])
            .with(MarkKind::InferiorEndPlate, &[(x, y + 90.0), (x + 140.0, y + 90.0)])
            .with(MarkKind::Tip, &[(x + 140.0 * depth, y + 45.0)])
    }

    fn state() -> State {
        let mut case = Case::default();
        for (id, view, x, depth) in [
            ("a", View::Lateral, 100.0, 0.1),
            ("p", View::Pedicle, 0.0, 0.0),
            ("b", View::Lateral, 130.0, 0.4),
            ("c", View::Lateral, 100.0, 0.4),
        ] {
            let mut shot = Shot::new(id, "a.png", view);
            shot.level = Some(Level::L4);
            shot.marks = marks(x, 100.0, depth);
            case.shots.push(shot);
        }
        let mut document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        document.show("b");
        let mut state = State::of(document);
        run(&mut state, Command::Page(PageCommand::Go(Page::Compare)));
        state
    }

    fn ask(state: &mut State, ask: CompareCommand) {
        run(state, Command::Page(PageCommand::Compare(ask)));
    }

    fn compared(state: &State) -> [&str; 2] {
        state.pages.compare.shots.as_ref().unwrap().each_ref().map(String::as_str)
    }

    #[test]
    fn the_page_begins_with_the_shot_before_and_says_what_changed() {
        let mut state = state();
        assert_eq!(compared(&state), ["a", "b"]);
        let found = state.pages.compare.found.clone().unwrap().unwrap();
        // By hand: from 10 % to 40 % of the depth.
        assert!((found.change.along.unwrap().quantity.value - 0.3).abs() < 1e-9);
        // The first tip lies at 114, 145; the second body 30 px further right.
        let [from, _] = found.arrow.unwrap();
        assert!((from.x - 144.0).abs() < 1e-6 && (from.y - 145.0).abs() < 1e-6);
        ask(&mut state, CompareCommand::Swap);
        assert_eq!(compared(&state), ["b", "a"]);
        let found = state.pages.compare.found.clone().unwrap().unwrap();
        assert!((found.change.along.unwrap().quantity.value + 0.3).abs() < 1e-9);
    }

    #[test]
    fn one_position_drops_the_views_part() {
        let mut state = state();
        let view = |state: &State| {
            let found = state.pages.compare.found.clone().unwrap().unwrap();
            found.change.along.unwrap().quantity.budget.view
        };
        assert!(view(&state) > 0.0);
        ask(&mut state, CompareCommand::Position(Position::Shared));
        assert!(view(&state).abs() < 1e-12);
    }

    #[test]
    fn a_shot_that_cannot_be_compared_is_told_and_a_deleted_one_gives_way() {
        let mut state = state();
        ask(&mut state, CompareCommand::From("c".to_owned()));
        assert_eq!(compared(&state), ["c", "b"]);
        ask(&mut state, CompareCommand::To("p".to_owned()));
        assert_eq!(compared(&state), ["c", "p"]);
        let why = state.pages.compare.registered.clone().unwrap().unwrap_err();
        assert!(why.contains("views differ"), "{why}");
        ask(&mut state, CompareCommand::To("b".to_owned()));
        let edit = crate::case::document::edit::Edit::RemoveShot { shot: "c".to_owned() };
        state.editor.document.as_mut().unwrap().apply(&edit).unwrap();
        run(&mut state, Command::Case(CaseCommand::Undo));
        run(&mut state, Command::Case(CaseCommand::Redo));
        assert_eq!(compared(&state), ["a", "b"]);
    }

    #[test]
    fn a_chosen_shot_is_never_changed_but_for_the_same_one_twice() {
        let mut state = state();
        ask(&mut state, CompareCommand::To("a".to_owned()));
        assert_eq!(compared(&state), ["b", "a"], "they change places");
        ask(&mut state, CompareCommand::To("c".to_owned()));
        assert_eq!(compared(&state), ["b", "c"]);
        ask(&mut state, CompareCommand::From("a".to_owned()));
        assert_eq!(compared(&state), ["a", "c"]);
    }

    #[test]
    fn an_unmarked_shot_says_which_it_is() {
        let mut state = state();
        let edit = crate::case::document::edit::Edit::Remove {
            shot: "a".to_owned(),
            at: crate::measure::mark::MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 },
        };
        state.editor.document.as_mut().unwrap().apply(&edit).unwrap();
        ask(&mut state, CompareCommand::As(CompareMode::SideBySide));
        let why = state.pages.compare.registered.clone().unwrap().unwrap_err();
        assert!(why.contains("“a”"), "{why}");
    }
}
