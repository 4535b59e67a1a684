//! The page with a teaching figure of the chosen shots, and the case on paper.
//!
//! Reading order: this file (what the page remembers and does), [`command`] (what it can be asked for), [`suggest`] (which
//! shots a kind takes), [`drawing`] (drawing and writing at the edge).

use std::path::PathBuf;

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::marking::guide::capital;
use crate::app::pages::behavior::{Meaning, NO_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::page::{Page, PathKind, Wish};
use crate::app::pages::page_file::ask;
use crate::app::pages::page_keys::PageKey;
use crate::app::pages::page_order::PageOrder;
use crate::app::pages::undo;
use crate::app::pages::work::{PageDone, PageWork, WorkOfPage};
use crate::app::session::notice::Weight;
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::{Effect, Stoppable};
use crate::case::document::edit::Edit;
use crate::case::document::figure_spec::{FigureKind, FigureSpec};

pub mod command;
pub(crate) mod drawing;
pub mod memory;
mod suggest;

pub use command::record_of;
pub use command::{FigureChoice, FigureCommand, Noted, Switch};
pub use drawing::{DrawnFigure, FigureDone, FigureOrder, FigureWork, ReportOrder};

pub use memory::{Figure, InReport};

use memory::SpecStep;

const FIGURE: Wish = Wish {
    page: Page::Figure,
    what: PathKind::File(&["png", "svg", "pdf"]),
    title: "Save the figure",
    typed: "Type where to save the figure; the name ends in .png, .svg or .pdf.",
};
const QUESTIONS: Wish = Wish {
    page: Page::Figure,
    what: PathKind::File(&["pdf"]),
    title: "Save questions and answers",
    typed: "Type where to save questions and answers of the whole case; the name ends in .pdf.",
};
const REPORT: Wish = Wish {
    page: Page::Figure,
    what: PathKind::File(&["pdf"]),
    title: "Save the report",
    typed: "Type where to save the report; the name ends in .pdf.",
};

impl WorkOfPage for FigureWork {
    fn named(&self) -> &'static str {
        match self {
            Self::Draw(_) => "Drawing the figure",
            Self::Copy(_) => "Copying the figure",
            Self::Write(..) => "Saving the figure",
            Self::Questions(..) => "Making questions and answers",
            Self::Report(..) => "Making the report",
            Self::CopyPage(_) => "Copying the page",
            Self::WritePage(..) => "Saving the page",
        }
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        let sentences = vec![text.to_owned()];
        let done = match self {
            Self::Draw(order) => FigureDone::Drawn(order.clone(), Err((sentences, false))),
            Self::Copy(_) | Self::CopyPage(_) => FigureDone::Copied(Err(sentences)),
            Self::Write(..) | Self::Questions(..) | Self::Report(..) | Self::WritePage(..) => {
                FigureDone::Written(Err(sentences))
            }
        };
        (PageDone::Figure(done), !self.is_seen())
    }
}

/// The page.
pub(super) struct FigurePage;

impl PageBehavior for FigurePage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Figures and report",
            tip: "Make a teaching figure of the selected shots, or a case report.",
            group: Group::Pages,
            keys: key_bindings::pages::FIGURE,
        }
    }

    /// It comes up with the shots that are shown and chosen if they are others than before.
    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
        let State { editor, pages, .. } = state;
        let Some(document) = &editor.document else { return };
        let figure = &mut pages.figure;
        (figure.past, figure.future) = (Vec::new(), Vec::new());
        let case = document.case();
        let chosen = |id: &str| document.shown.as_deref() == Some(id) || document.choice.also.contains(id);
        let shots = case.shots.iter().map(|shot| &shot.id);
        let now: Vec<String> = shots.filter(|id| chosen(id)).cloned().collect();
        let gone = figure.shots.iter().any(|id| case.shot(id).is_none());
        if gone || figure.shots.is_empty() || now != figure.from {
            figure.spec.kind = suggest::kind_of(case, &now);
            figure.shots.clone_from(&now);
            figure.as_is = false;
        }
        figure.from = now;
    }

    /// It has steps of its own.
    fn meaning(&self, _state: &State, command: EditorCommand) -> Meaning {
        match PageKey::of(&command) {
            Some(PageKey::Undo) => Meaning::Page(PageCommand::Figure(FigureCommand::Undo)),
            Some(PageKey::Redo) => Meaning::Page(PageCommand::Figure(FigureCommand::Redo)),
            Some(_) | None => Meaning::nothing(NO_IMAGE),
        }
    }

    fn shows(&self, pages: &Pages, shot: &str) -> bool {
        pages.figure.shots.iter().any(|id| id == shot)
    }

    /// The figure is drawn anew where it would come out differently.
    fn follow(&self, state: &mut State, effects: &mut Vec<Effect>) {
        let Some(order) = order(state) else { return };
        let figure = &mut state.pages.figure;
        if figure.made.as_ref() == Some(&order) {
            return;
        }
        if let Some(why) = order.spec.kind.fault(order.shots.len()) {
            (figure.trouble, figure.in_doubt) =
                (vec![capital(&format!("{why}; select them on the left."))], false);
            figure.drawn = None;
            figure.drawing = false;
            figure.made = Some(order);
            return;
        }
        figure.drawing = true;
        figure.made = Some(order.clone());
        work(effects, FigureWork::Draw(Box::new(order)));
    }

    fn chosen(&self, state: &mut State, wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
        let (Some(order), Some(path)) = (order(state), paths.into_iter().next()) else { return };
        let figure = &mut state.pages.figure;
        figure.writing = true;
        if wish == REPORT {
            let FigureOrder { case, file, .. } = order;
            let parts = figure.in_report.iter().filter_map(|part| part.part(&case)).collect();
            let report = ReportOrder { case, file, paper: state.display.paper, parts };
            return work(effects, FigureWork::Report(Box::new(report), path));
        }
        let order = Box::new(order);
        work(
            effects,
            if wish == QUESTIONS {
                FigureWork::Questions(order, path)
            } else {
                FigureWork::Write(order, path)
            },
        );
    }
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, command: FigureCommand, effects: &mut Vec<Effect>) {
    match command {
        FigureCommand::Undo => step(state, false),
        FigureCommand::Redo => step(state, true),
        FigureCommand::Choose(choice) => choose(state, choice),
        FigureCommand::Note(noted) => note(state, &noted),
        FigureCommand::Keep(name) => {
            let spec = FigureSpec { name: name.trim().to_owned(), ..state.pages.figure.spec.clone() };
            change(state, &Edit::SetFigure(Box::new(spec)));
        }
        FigureCommand::Forget(name) => change(state, &Edit::RemoveFigure(name)),
        FigureCommand::Save => ask(state, FIGURE, "figure.png", effects),
        FigureCommand::SaveQuestions => ask(state, QUESTIONS, "questions.pdf", effects),
        FigureCommand::SaveReport => ask(state, REPORT, "report.pdf", effects),
        FigureCommand::Copy => {
            if let Some(order) = order(state) {
                state.pages.figure.writing = true;
                work(effects, FigureWork::Copy(Box::new(order)));
            }
        }
        FigureCommand::Copied => {
            state.pages.figure.copying = None;
            state.say(Weight::Note, "The figure was copied to the clipboard.");
        }
        FigureCommand::AsIs => state.pages.figure.as_is = true,
        FigureCommand::Stop => effects.push(Effect::Stop(Stoppable::Questions)),
        FigureCommand::Paper(paper) => state.display.paper = paper,
        FigureCommand::LeaveOut(part) => state.pages.figure.in_report.retain(|one| *one != part),
    }
}

/// Puts something into the report, and says so.
pub(super) fn put_into_report(state: &mut State, part: InReport) {
    let words =
        format!("{} was added to the report; save the report under Figures and report.", part.words());
    state.pages.figure.in_report.push(part);
    state.say(Weight::Note, words);
}

/// One step back or forth: of this page, else of the case as far as the page shows it.
fn step(state: &mut State, forward: bool) {
    let State { editor, pages, refused, .. } = state;
    if pages.figure.step(forward).is_none() {
        let why = undo::step(editor, forward, |shot| FigurePage.shows(pages, shot));
        *refused = why.map(std::borrow::Cow::into_owned);
    }
}

fn work(effects: &mut Vec<Effect>, work: FigureWork) {
    effects.push(Effect::Page(PageWork::Figure(work)));
}

/// Begins to save or copy a page of paper that another page shows.
pub(super) fn page_file(state: &mut State, order: PageOrder, to: Option<PathBuf>, effects: &mut Vec<Effect>) {
    state.pages.figure.writing = true;
    let order = Box::new(order);
    work(effects, to.map_or(FigureWork::CopyPage(order.clone()), |path| FigureWork::WritePage(order, path)));
}

fn choose(state: &mut State, choice: FigureChoice) {
    let State { editor, pages, .. } = state;
    let Some(document) = &editor.document else { return };
    let figure = &mut pages.figure;
    let case = document.case();
    let (mut spec, mut shots) = (figure.spec.clone(), figure.shots.clone());
    match choice {
        FigureChoice::Kind(kind) => {
            spec.kind = kind;
            shots = suggest::shots_for(case, kind, &shots);
        }
        FigureChoice::Shot(id) => {
            shots = suggest::switched(case, spec.kind, &shots, &id);
            if spec.kind == FigureKind::Shot && shots.len() > 1 {
                spec.kind = suggest::kind_of(case, &shots);
            }
        }
        FigureChoice::Width(width) => spec.width = width,
        FigureChoice::Ground(ground) => spec.ground = ground,
        FigureChoice::Switch(switch) => {
            let switch = switch.of(&mut spec);
            *switch = !*switch;
        }
        FigureChoice::Title(text) => spec.title = Some(text),
        FigureChoice::Caption(text) => spec.caption = Some(text).filter(|text| !text.trim().is_empty()),
        FigureChoice::Template(name) => {
            if let Some(template) = case.figure(&name) {
                let kind = template.kind;
                spec = template.clone();
                shots = suggest::shots_for(case, kind, &shots);
            }
        }
    }
    figure.choose(spec, shots);
}

/// Writes down what is said of a body or of the case.
fn note(state: &mut State, noted: &Noted) {
    let Some(document) = &state.editor.document else { return };
    match noted.edit(document.case()) {
        Ok(edit) => change(state, &edit),
        Err(sentence) => state.say(Weight::Trouble, sentence),
    }
}

/// Changes the case, as a step of this page.
fn change(state: &mut State, edit: &Edit) {
    let Some(document) = &mut state.editor.document else { return };
    match document.apply(edit) {
        Ok(()) => {
            state.pages.figure.past.push(SpecStep::Case);
            state.pages.figure.future.clear();
        }
        Err(error) => state.say(Weight::Trouble, capital(&format!("{error}."))),
    }
}

/// What is to be drawn as things are.
fn order(state: &State) -> Option<FigureOrder> {
    let document = state.editor.document.as_ref()?;
    let figure = &state.pages.figure;
    Some(FigureOrder {
        case: Box::new(document.case().clone()),
        file: document.file.clone(),
        shots: figure.shots.clone(),
        spec: figure.spec.clone(),
        as_is: figure.as_is,
        asks: false,
    })
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: FigureDone) {
    let figure = &mut state.pages.figure;
    match done {
        FigureDone::Drawn(order, result) => {
            // What was asked for later counts.
            if figure.made.as_ref() != Some(&*order) {
                return;
            }
            figure.drawing = false;
            match result {
                Ok(drawn) => {
                    figure.drawn = Some(drawn);
                    (figure.trouble, figure.in_doubt) = (Vec::new(), false);
                }
                Err((sentences, in_doubt)) => {
                    figure.drawn = None;
                    (figure.trouble, figure.in_doubt) = (sentences, in_doubt);
                }
            }
        }
        FigureDone::Copied(result) => {
            figure.writing = false;
            match result {
                Ok(drawn) => figure.copying = Some(drawn),
                Err(sentences) => state.say(Weight::Trouble, sentences.join(" ")),
            }
        }
        FigureDone::Progress(done, of) => figure.progress = Some((done, of)),
        FigureDone::Stopped => {
            (figure.writing, figure.progress) = (false, None);
            state.say(Weight::Note, "Stopped. Nothing was written.");
        }
        FigureDone::Written(result) => {
            (figure.writing, figure.progress) = (false, None);
            match result {
                Ok(path) => {
                    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
                    state.say(Weight::Note, format!("Saved {name}."));
                }
                Err(sentences) => state.say(Weight::Trouble, sentences.join(" ")),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::window::WindowCommand;
    use crate::app::pages::PageCommand;
    use crate::app::session::update::update as run;
    use crate::case::document::{Case, Shot};
    use crate::measure::mark::{Level, Side, Stage, View};

    fn state() -> State {
        let mut case = Case { title: Some("A".to_owned()), ..Case::default() };
        for (id, view, stage) in [
            ("a", View::Lateral, Stage::Stylet),
            ("b", View::Ap, Stage::Final),
            ("c", View::Lateral, Stage::Final),
        ] {
            let mut shot = Shot::new(id, "x.png", view);
            (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), Some(stage));
            case.shots.push(shot);
        }
        let mut state = State::default();
        let mut document = crate::app::session::document::Document::fresh(case);
        document.show("c");
        state.editor.document = Some(document);
        state
    }

    fn ask(state: &mut State, ask: FigureCommand) -> Vec<Effect> {
        run(state, Command::Page(PageCommand::Figure(ask)))
    }

    #[test]
    fn the_page_begins_with_the_shown_shot_and_draws_it() {
        let mut state = state();
        let effects = run(&mut state, Command::Page(PageCommand::Go(Page::Figure)));
        assert_eq!(state.pages.figure.shots, ["c"]);
        let draws = |effects: &[Effect]| {
            effects
                .iter()
                .filter(|e| matches!(e, Effect::Page(PageWork::Figure(FigureWork::Draw(_)))))
                .count()
        };
        assert_eq!(draws(&effects), 1);
        // Nothing is drawn again for a command that changes nothing.
        assert_eq!(draws(&run(&mut state, Command::Window(WindowCommand::Dismiss))), 0);
        let effects = ask(&mut state, FigureCommand::Choose(FigureChoice::Kind(FigureKind::BeforeAfter)));
        assert_eq!((state.pages.figure.shots.join(" ").as_str(), draws(&effects)), ("a c", 1));
    }

    #[test]
    fn choices_and_notes_are_taken_back_in_their_order() {
        let mut state = state();
        run(&mut state, Command::Page(PageCommand::Go(Page::Figure)));
        assert!(crate::app::session::route::refusal(&state, &Command::Case(CaseCommand::Undo)).is_some());
        ask(&mut state, FigureCommand::Choose(FigureChoice::Kind(FigureKind::Pair)));
        assert_eq!(state.pages.figure.shots, ["c", "b"]);
        let lesion = Noted::Lesion(Level::L4, Side::Right, "900".to_owned());
        ask(&mut state, FigureCommand::Note(lesion));
        ask(&mut state, FigureCommand::Choose(FigureChoice::Switch(Switch::Letters)));
        let seconds = |state: &State| {
            let case = state.editor.document.as_ref().unwrap().case();
            case.record(Level::L4, Side::Right).and_then(|record| record.lesion_s)
        };
        assert_eq!((seconds(&state), state.pages.figure.spec.letters), (Some(900.0), false));
        run(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!((seconds(&state), state.pages.figure.spec.letters), (Some(900.0), true));
        run(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!((seconds(&state), state.pages.figure.spec.kind), (None, FigureKind::Pair));
        run(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!((state.pages.figure.spec.kind, state.pages.figure.shots.len()), (FigureKind::Shot, 1));
        for _ in 0..3 {
            run(&mut state, Command::Case(CaseCommand::Redo));
        }
        assert_eq!((seconds(&state), state.pages.figure.spec.letters), (Some(900.0), false));
    }

    #[test]
    fn what_cannot_be_meant_is_said_and_changes_nothing() {
        let mut state = state();
        run(&mut state, Command::Page(PageCommand::Go(Page::Figure)));
        ask(&mut state, FigureCommand::Note(Noted::Lesion(Level::L4, Side::Right, "long".to_owned())));
        assert!(state.editor.document.as_ref().unwrap().case().bodies.is_empty());
        assert!(state.notices.iter().any(|message| message.text.contains("seconds")));
    }
}
