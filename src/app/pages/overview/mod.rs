//! The page with all shots of the case, large, so that the final one is found: by view and in each by time, every image
//! about the same part of the body, and labeled with the keys that label shots elsewhere.
//!
//! Reading order: [`order`] (what stands where), [`listing`] (what is listed now), [`grid`] (how large), [`walk`] (from shot to shot), [`command`].

use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::stride::Way;
use crate::app::command::view::ViewCommand;
use crate::app::display::opening;
use crate::app::display::viewport::{Canvas, Showing, ShownFrame, Transform};
use crate::app::pages::behavior::{Meaning, NO_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::compare::viewport::Half;
use crate::app::pages::page::Page;
use crate::app::session::mode::Mode;
use crate::app::session::state::{Pages, State};
use crate::app::shots::navigation::go_to;
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;
use crate::geom::point::{Point, Vec2};

pub mod command;
pub mod grid;
pub mod listing;
pub mod memory;
pub mod order;
pub mod walk;

pub use command::OverviewCommand;
pub use memory::{Framing, Overview, OverviewLayout, ShotGroup};

/// Share of its room's height that a body fills.
const BODY: f64 = 0.4;
/// The least and the greatest zoom beyond the framing.
const ZOOM: (f64, f64) = (0.4, 8.0);
/// The farthest that images are moved, in heights of their room.
const FARTHEST: f64 = 4.0;
/// Most images that are kept at full resolution for the page.
const MOST: usize = 24;

/// The page.
pub(super) struct OverviewPage;

impl PageBehavior for OverviewPage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Shot overview",
            tip: "Show all shots large, by view and time, to find and label the final ones.",
            group: Group::Pages,
            keys: key_bindings::pages::OVERVIEW,
        }
    }

    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        begin(state);
    }

    /// Shots are labeled, removed and selected here; the keys of marks lead to the image, those of zoom go for all images.
    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        let page = |command| Meaning::Page(PageCommand::Overview(command));
        match command {
            EditorCommand::Case(CaseCommand::Undo | CaseCommand::Redo) => Meaning::Case(command),
            EditorCommand::Shots(ShotsCommand::Next) => page(OverviewCommand::Step(Way::Right)),
            EditorCommand::Shots(ShotsCommand::Previous) => page(OverviewCommand::Step(Way::Left)),
            EditorCommand::Shots(ShotsCommand::First) => page(OverviewCommand::End(false)),
            EditorCommand::Shots(ShotsCommand::Last) => page(OverviewCommand::End(true)),
            EditorCommand::Shots(ShotsCommand::SelectAll) => page(OverviewCommand::SelectAll),
            EditorCommand::Shots(
                ShotsCommand::Show(_)
                | ShotsCommand::Select(..)
                | ShotsCommand::Describe(_)
                | ShotsCommand::Final(_)
                | ShotsCommand::Remove,
            ) => Meaning::Case(command),
            EditorCommand::Marks(MarksCommand::Nudge(way, _)) => page(OverviewCommand::Step(way)),
            EditorCommand::Marks(MarksCommand::PlaceAtCrosshair) => page(OverviewCommand::Mark),
            EditorCommand::View(ViewCommand::ZoomIn) => page(OverviewCommand::ZOOM_IN),
            EditorCommand::View(ViewCommand::ZoomOut) => page(OverviewCommand::ZOOM_OUT),
            EditorCommand::View(ViewCommand::OneToOne) => page(OverviewCommand::OnlySelected),
            EditorCommand::View(ViewCommand::ZoomToBody) => {
                page(OverviewCommand::Frame(other_framing(state)))
            }
            EditorCommand::Case(_)
            | EditorCommand::Shots(_)
            | EditorCommand::Marks(_)
            | EditorCommand::View(_)
            | EditorCommand::Annotations(_) => Meaning::nothing(NO_IMAGE),
        }
    }

    fn shows(&self, _pages: &Pages, _shot: &str) -> bool {
        true
    }

    /// Shots that came or went are listed anew; what is shown of all follows the selection.
    fn follow(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let Some(document) = &state.editor.document else { return };
        listing::follow(&mut state.pages.overview, document);
    }

    /// The images in sight.
    fn pictures(&self, state: &State) -> Vec<PictureKey> {
        let Some(document) = &state.editor.document else { return Vec::new() };
        let (first, count) = state.pages.overview.grid.seen;
        let ids = state
            .pages
            .overview
            .listing
            .shown
            .iter()
            .flat_map(|section| &section.shots)
            .skip(first)
            .take(count.min(MOST));
        ids.filter_map(|id| state.editor.key_of(document.case().shot(id)?)).collect()
    }
}

/// Comes up: the shots in order, every one of them shown.
fn begin(state: &mut State) {
    state.pages.overview = state.pages.overview.begun();
}

/// The framing that the key for it leads to.
fn other_framing(state: &State) -> Framing {
    let page = &state.pages.overview;
    match page.framing {
        Framing::Body if page.is_as_framed() => Framing::Whole,
        Framing::Whole | Framing::Body => Framing::Body,
    }
}

/// The map from a shot's image to its room: the framing, then the zoom and the place that all images share.
#[must_use]
pub fn transform(state: &State, half: &Half<'_>, canvas: Canvas) -> Transform {
    let page = &state.pages.overview;
    let sheet = ShownFrame { size: half.size, turn: half.aspect.turn };
    let showing = match page.framing {
        Framing::Whole => Showing::Whole,
        Framing::Body => {
            let body = opening::expected_in(&state.editor, half.shot, half.size);
            Showing::about_body(canvas, sheet.turn, body, BODY)
        }
    };
    let framed = showing.transform(canvas, sheet);
    let middle = Vec2::new(0.5 * canvas.width, 0.5 * canvas.height);
    let zoom = page.zoom.unwrap_or(1.0);
    let origin = (framed.origin - middle) * zoom + middle + page.moved * canvas.height;
    Transform { zoom: framed.zoom * zoom, origin, turn: framed.turn }
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: OverviewCommand, effects: &mut Vec<Effect>) {
    match ask {
        OverviewCommand::Mark => mark(state, effects),
        OverviewCommand::Step(way) => {
            if let Some(id) = walk::next(state, way) {
                select_alone(state, &id);
            }
        }
        OverviewCommand::End(last) => {
            if let Some(id) = walk::end(state, last) {
                select_alone(state, &id);
            }
        }
        OverviewCommand::Through(id) => through(state, &id),
        OverviewCommand::SelectAll => {
            let all = walk::listed(state);
            if let Some(document) = &mut state.editor.document {
                document.choice.also = all.into_iter().collect();
            }
        }
        OverviewCommand::OnlySelected => state.pages.overview.only = !state.pages.overview.only,
        OverviewCommand::Frame(framing) => {
            let page = &mut state.pages.overview;
            (page.framing, page.zoom, page.moved) = (framing, None, Vec2::default());
        }
        OverviewCommand::Zoom { at, factor } => zoom(&mut state.pages.overview, at, factor),
        OverviewCommand::Pan(by) => {
            let page = &mut state.pages.overview;
            page.moved = near(page.moved + by);
        }
        OverviewCommand::Order => begin(state),
        OverviewCommand::Laid(grid) => state.pages.overview.grid = grid,
    }
}

/// Shows the selected shot by itself. Its view, where nobody has set it, is asked there.
fn mark(state: &mut State, effects: &mut Vec<Effect>) {
    super::apply(state, PageCommand::Go(Page::Picture), effects);
    let Some(document) = &mut state.editor.document else { return };
    document.choice.also.clear();
    if document.is_labeling() && !document.asks_for_view() {
        document.back_to_marking();
    } else if document.asks_for_view() {
        document.enter(Mode::Labeling);
    }
}

/// One selected shot in place of another; where only the selected ones are shown, they stay.
fn select_alone(state: &mut State, id: &str) {
    let Some(also) =
        state.editor.document.as_ref().map(|document| (document.shown.clone(), &document.choice.also))
    else {
        return;
    };
    let kept = state.pages.overview.only.then(|| also.0.into_iter().chain(also.1.iter().cloned()).collect());
    go_to(&mut state.editor, id);
    if let (Some(kept), Some(document)) = (kept, &mut state.editor.document) {
        document.choice.also = kept;
    }
}

/// Selects everything between the shown shot and this one, in the order of the page.
fn through(state: &mut State, id: &str) {
    let listed = walk::listed(state);
    let Some(document) = &mut state.editor.document else { return };
    let place = |id: &str| listed.iter().position(|other| other == id);
    let (Some(a), Some(b)) = (document.shown.as_deref().and_then(place), place(id)) else { return };
    document.choice.also = listed[a.min(b)..=a.max(b)].iter().cloned().collect();
}

fn zoom(page: &mut Overview, at: Point, factor: f64) {
    let before = page.zoom.unwrap_or(1.0);
    let after = (before * factor).clamp(ZOOM.0, ZOOM.1);
    // What lies at the point stays there.
    let held = at.to_vec();
    page.moved = near(held - (held - page.moved) * (after / before));
    page.zoom = Some(after);
}

fn near(moved: Vec2) -> Vec2 {
    Vec2::new(moved.x.clamp(-FARTHEST, FARTHEST), moved.y.clamp(-FARTHEST, FARTHEST))
}
