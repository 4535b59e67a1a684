//! The page with the run of one body's shots, and the curve ahead on one of them.
//!
//! Reading order: this file (the run), [`command`] (what it can be asked for), [`curve`].

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::display::viewport::ZOOM_STEP;
use crate::app::pages::behavior::{Meaning, NO_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::figure;
use crate::app::pages::page::{Page, Wish};
use crate::app::pages::page_file::{self, wish};
use crate::app::pages::page_keys::PageKey;
use crate::app::pages::page_order::PageOf;
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;
use crate::case::document::Shot;
use crate::geom::point::Point;
use crate::scene::tip_path::{TipRun, bodies};
use std::path::PathBuf;

pub mod command;
pub mod curve;
pub mod memory;

pub use command::TipPathCommand;
pub use memory::{Tab, TipPathPage};

const TIP_PATH: Wish = wish(
    Page::TipPath,
    "Save the tip path",
    "Type where to save the tip path; the name ends in .png, .svg or .pdf.",
);

/// The page.
pub(super) struct TipPath;

impl PageBehavior for TipPath {
    fn entry(&self) -> Entry {
        Entry {
            label: "Tip path",
            tip: "Tip path at this level: all shots of this body in order.",
            group: Group::Pages,
            keys: key_bindings::pages::TIP_PATH,
        }
    }

    /// It comes up with the shown shot's body.
    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let Some(document) = &state.editor.document else { return };
        let own = document.shot().and_then(|shot| shot.level.zip(shot.side));
        let all = bodies(document.case());
        let page = &mut state.pages.tip_path;
        page.body = own.filter(|body| all.contains(body)).or(page.body).or(all.first().copied());
        page.tab = Tab::Way;
        curve::begin(state);
    }

    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        PageKey::of(&command).and_then(|key| meaning(state, key)).unwrap_or(Meaning::nothing(NO_IMAGE))
    }

    /// It shows all shots of the body.
    fn shows(&self, pages: &Pages, shot: &str) -> bool {
        pages.tip_path.shots.iter().any(|id| id == shot)
    }

    fn follow(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let State { editor, pages, .. } = &mut *state;
        let page = &mut pages.tip_path;
        page.way = editor.document.as_ref().and_then(|document| {
            let body = page.body.filter(|body| bodies(document.case()).contains(body))?;
            Some(TipRun::of(document.case(), &document.readings()?, body))
        });
        let own = |shot: &&Shot| shot.level.zip(shot.side) == page.body && page.body.is_some();
        let shots = editor.document.as_ref().map(|document| document.case().shots.iter().filter(own));
        page.shots = shots.into_iter().flatten().map(|shot| shot.id.clone()).collect();
        curve::follow(state);
    }

    fn chosen(&self, state: &mut State, _wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
        if let Some(path) = paths.into_iter().next() {
            to_file(state, Some(path), effects);
        }
    }

    /// The picture that the curve is drawn on.
    fn pictures(&self, state: &State) -> Vec<PictureKey> {
        let shown = state.pages.tip_path.tab == Tab::Curve;
        curve::shot(state).filter(|_| shown).and_then(|shot| state.editor.key_of(shot)).into_iter().collect()
    }
}

/// The first two numbers choose what is shown; zoom goes for the image that the projected stylet path is drawn on.
fn meaning(state: &State, key: PageKey) -> Option<Meaning> {
    let page = &state.pages.tip_path;
    let at = Point::new(0.5 * page.curve.canvas.width, 0.5 * page.curve.canvas.height);
    let on_curve = |command| (page.tab == Tab::Curve).then_some(command);
    let command = match key {
        PageKey::Undo => return Some(Meaning::Page(PageCommand::Undo)),
        PageKey::Redo => return Some(Meaning::Page(PageCommand::Redo)),
        PageKey::Number(1) => TipPathCommand::Tab(Tab::Way),
        PageKey::Number(2) => TipPathCommand::Tab(Tab::Curve),
        PageKey::ZoomIn => on_curve(TipPathCommand::Zoom { at, factor: ZOOM_STEP })?,
        PageKey::ZoomOut => on_curve(TipPathCommand::Zoom { at, factor: 1.0 / ZOOM_STEP })?,
        PageKey::ZoomToBody => on_curve(TipPathCommand::About)?,
        PageKey::Number(_) | PageKey::Arrow(..) | PageKey::Fit => return None,
    };
    Some(Meaning::Page(PageCommand::TipPath(command)))
}

/// Saves or copies the way.
fn to_file(state: &mut State, path: Option<PathBuf>, effects: &mut Vec<Effect>) {
    let body = state.pages.tip_path.body;
    let order = body.and_then(|(level, side)| page_file::order(state, PageOf::TipPath(level, side)));
    if let Some(order) = order {
        figure::page_file(state, order, path, effects);
    }
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: TipPathCommand, effects: &mut Vec<Effect>) {
    match ask {
        TipPathCommand::Save => page_file::ask(state, TIP_PATH, "tip-path.png", effects),
        TipPathCommand::Copy => to_file(state, None, effects),
        TipPathCommand::IntoReport => {
            if let Some((level, side)) = state.pages.tip_path.body {
                figure::put_into_report(state, figure::InReport::TipPath(level, side));
            }
        }
        TipPathCommand::Body(level, side) => {
            state.pages.tip_path.body = Some((level, side));
            curve::begin(state);
        }
        TipPathCommand::Tab(tab) => state.pages.tip_path.tab = tab,
        ask => curve::update(state, ask),
    }
}
