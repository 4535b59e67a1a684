//! Presenting to a room: the shown shot, figure or comparison, or questions, full screen on dark ground in large type.
//!
//! Reading order: [`command`] and [`keys`] (what it can be asked for), `deck` (which slides), [`work`] (drawing them).

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::pages::behavior::{Meaning, NO_IMAGE, PageBehavior};
use crate::app::pages::figure::drawing::FigureOrder;
use crate::app::pages::page::Page;
use crate::app::pages::page_order::{PageOf, PageOrder};
use crate::app::pages::work::{PageDone, PageWork, WorkOfPage};
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::Effect;
use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use crate::scene::drawing::theme::Mode;
use crate::scene::figure::questions::sentence;
use crate::scene::figure::style::slide_pt;

pub mod command;
mod deck;
pub mod keys;
pub mod memory;
pub mod work;

pub use command::PresentCommand;
pub use memory::{PresentedSlide, Presenting};

use memory::PresentedSlide as Slide;
use work::{PresentDone, PresentWork, SlideOrder, SlideSource};

/// How many slides are kept drawn: the shown one, the one before and the one behind.
const KEPT: usize = 4;
/// The fewest pixels that the longer side of a slide is drawn with.
const LEAST: u32 = 320;

impl WorkOfPage for PresentWork {
    fn named(&self) -> &'static str {
        "Drawing a slide"
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        (PageDone::Present(Box::new(PresentDone(self.0.clone(), Err(vec![text.to_owned()])))), false)
    }
}

/// The page.
pub(super) struct PresentingPage;

impl PageBehavior for PresentingPage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Present",
            tip: "Show the image, figure or comparison full screen: dark, in large type, with a pointer.",
            group: Group::Pages,
            keys: key_bindings::presenting::BEGIN,
        }
    }

    fn can_open(&self, state: &State) -> bool {
        command::refusal(state).is_none()
    }

    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let from = state.pages.presenting.from;
        let slides = if state.pages.presenting.questions {
            state.editor.document.as_ref().map(|document| (deck::of_questions(document), 0))
        } else {
            deck::of_page(state, from)
        };
        if let Some((slides, at)) = slides {
            begin(state, slides, at);
        }
    }

    fn came_from(&self, pages: &Pages) -> Option<Page> {
        Some(pages.presenting.from)
    }

    fn meaning(&self, _state: &State, _command: EditorCommand) -> Meaning {
        Meaning::nothing(NO_IMAGE)
    }

    /// What takes much memory is let go.
    fn left(&self, state: &mut State) {
        let from = state.pages.presenting.from;
        state.pages.presenting = Presenting { from, ..Presenting::default() };
    }

    /// The shown slide is drawn, then the one that comes next, so that it is there when it is asked for.
    fn follow(&self, state: &mut State, effects: &mut Vec<Effect>) {
        let presenting = &state.pages.presenting;
        let shown = order(state, (presenting.at, presenting.revealed));
        let next = presenting.next().and_then(|step| order(state, step));
        let presenting = &mut state.pages.presenting;
        presenting.shown.clone_from(&shown);
        if presenting.drawing.is_some() {
            return;
        }
        let missing = |order: &SlideOrder| presenting.drawn.iter().all(|(drawn, _)| drawn != order);
        if let Some(order) = shown.into_iter().chain(next).find(missing) {
            presenting.drawing = Some(order.clone());
            effects.push(Effect::Page(PageWork::Present(Box::new(PresentWork(order)))));
        }
    }
}

/// Begins with these slides.
fn begin(state: &mut State, slides: Vec<Slide>, at: usize) {
    let as_is = state.pages.presenting.from == Page::Figure && state.pages.figure.as_is;
    let presenting = &mut state.pages.presenting;
    *presenting = Presenting { from: presenting.from, slides, at, as_is, ..Presenting::default() };
}

/// Does what was asked for; ending is the pages' own affair.
pub(super) fn update(state: &mut State, command: &PresentCommand) {
    let presenting = &mut state.pages.presenting;
    let step = match command {
        PresentCommand::Questions => {
            let Some(document) = &state.editor.document else { return };
            let slides = deck::of_questions(document);
            begin(state, slides, 0);
            return;
        }
        PresentCommand::Next => presenting.next(),
        PresentCommand::Back => presenting.back(),
        PresentCommand::Reveal => Some((presenting.at, !presenting.revealed)),
        PresentCommand::Room(width, height) => {
            presenting.room = Some((*width, *height));
            None
        }
        PresentCommand::End => None,
    };
    if let Some(step) = step {
        (presenting.at, presenting.revealed) = step;
    }
}

/// Takes in a slide that was drawn.
pub(super) fn receive(state: &mut State, done: PresentDone) {
    let presenting = &mut state.pages.presenting;
    let PresentDone(order, slide) = done;
    // What was asked for before a presentation ended is no longer wanted.
    if presenting.drawing.as_ref() != Some(&order) {
        return;
    }
    presenting.drawing = None;
    presenting.drawn.push((order, slide));
    let surplus = presenting.drawn.len().saturating_sub(KEPT);
    presenting.drawn.drain(..surplus);
}

/// What a slide is to be drawn of, once the room for it is known.
fn order(state: &State, (at, revealed): (usize, bool)) -> Option<SlideOrder> {
    let presenting = &state.pages.presenting;
    let document = state.editor.document.as_ref()?;
    let (case, file) = (document.case(), document.file.clone());
    let (wide, high) = presenting.room?;
    // A screen that is less wide than 3 : 2 gets slides of 4 : 3.
    let width = if 2 * wide < 3 * high { FigureWidth::SlideFourThree } else { FigureWidth::Slide };
    let ratio = slide_pt(width).map_or(1.0, |(wide, high)| wide / high);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "pixels of a screen")]
    let longest = f64::from(wide).min(f64::from(high) * ratio).round() as u32;
    let plain = deck::plain(case);
    let figure = |shots: &[String], spec: FigureSpec, asks: bool| {
        let title = spec.title.or_else(|| plain.title.clone());
        let spec = FigureSpec { title, width, ground: FigureGround::Dark, ..spec };
        SlideSource::Figure(Box::new(FigureOrder {
            case: Box::new(case.clone()),
            file: file.clone(),
            shots: shots.to_vec(),
            spec,
            as_is: presenting.as_is,
            asks,
        }))
    };
    let of = match presenting.slides.get(at)? {
        Slide::Figure(shots, spec) => figure(shots, (**spec).clone(), false),
        Slide::Question(id, number) => {
            let asked = sentence(case.shot(id)?.view);
            let title = number.map_or_else(|| asked.to_owned(), |number| format!("{number}. {asked}"));
            let spec =
                FigureSpec { kind: FigureKind::Shot, marked: revealed, title: Some(title), ..plain.clone() };
            figure(std::slice::from_ref(id), spec, true)
        }
        Slide::Comparison(ids, position, way) => {
            let place = |id: &String| case.shots.iter().position(|shot| shot.id == *id);
            let places = [place(&ids[0])?, place(&ids[1])?];
            SlideSource::Page(Box::new(PageOrder {
                case: Box::new(case.clone()),
                file: file.clone(),
                of: PageOf::ComparisonSlide(places, *position, *way, width),
                mode: Mode::Dark,
            }))
        }
    };
    Some(SlideOrder { of, longest: longest.max(LEAST) })
}
