//! The page with the bodies of many cases: folders are read, bodies listed, filtered and sorted, and what they say is
//! worked out for those that are listed.
//!
//! Reading order: this file (what the page remembers and does), [`command`] (what it can be asked for), [`work`] (what is done for it at the
//! edge).

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::files::leaving::leave;
use crate::app::files::questions::{Leave, Purpose};
use crate::app::marking::guide::capital;
use crate::app::pages::behavior::PageBehavior;
use crate::app::pages::page::{Page, PathKind, Wish};
use crate::app::pages::work::PageWork;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::{Effect, Stoppable};
use crate::app::work::under_way::Activity;
use crate::io::series::FoundFiles;
use crate::measure::mark::{Stage, View};
use crate::study::audit::rates;
use crate::study::selection::{Filter, Sorting, choices};

pub mod command;
pub mod content;
pub mod memory;
pub(crate) mod work;

pub use crate::io::export::audit_tables::AuditTable;
pub use command::SeriesCommand;
pub use content::{SeriesClip, SeriesContent};
use memory::Opening;
pub use memory::{Choices, SeriesSection, SeriesState};
pub use work::{Saving, SeriesDone, SeriesWork};

/// The wish for a folder.
const FOLDER: Wish = Wish {
    page: Page::Series,
    what: PathKind::Folder,
    title: "Select a folder of case files",
    typed: "Type the path of a folder with case files; subfolders are included.",
};

/// The wish for a document.
const PAPER: Wish = Wish {
    page: Page::Series,
    what: PathKind::File(&["pdf"]),
    title: "Save the series as PDF",
    typed: "Type the path of a PDF to write.",
};

/// The wish for a table.
const TABLE: Wish = Wish {
    page: Page::Series,
    what: PathKind::File(&["csv"]),
    title: "Save the table of bodies",
    typed: "Type the path of a table (CSV) to write.",
};

/// The wish for a plot.
const PLOT: Wish = Wish {
    page: Page::Series,
    what: PathKind::File(&["png", "svg", "pdf"]),
    title: "Save the plot",
    typed: "Type where to save the plot; the name ends in .png, .svg or .pdf.",
};

/// The page.
pub(super) struct SeriesPage;

impl PageBehavior for SeriesPage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Case series",
            tip: "The treated bodies of many cases: table, proportions in the target, tip positions.",
            group: Group::Pages,
            keys: key_bindings::pages::SERIES,
        }
    }

    /// Folders can be chosen at any time.
    fn can_open(&self, _state: &State) -> bool {
        true
    }

    /// Once the case of a row is there, its picture is shown; where it did not come, nothing waits for it any more.
    fn tidy(&self, state: &mut State) {
        let Some(opening) = &state.pages.series.opening else { return };
        if is_open(state, &opening.file) {
            if let Some(document) = &mut state.editor.document {
                let own = |index: &&usize| {
                    let shot = &document.case().shots[**index];
                    shot.level == Some(opening.level) && shot.side == Some(opening.side)
                };
                let places: Vec<usize> = (0..document.case().shots.len()).collect();
                let last = |view: View| {
                    let of = |index: &&usize| {
                        let shot = &document.case().shots[**index];
                        shot.stage == Some(Stage::Final) && shot.shows(view)
                    };
                    places.iter().rev().filter(own).find(of)
                };
                let found =
                    last(View::Lateral).or_else(|| last(View::Ap)).or_else(|| places.iter().find(own));
                if let Some(id) = found.map(|&index| document.case().shots[index].id.clone()) {
                    document.show(&id);
                }
            }
            state.pages.series.opening = None;
            state.pages.shown = Page::Picture;
        } else if state.question.is_none()
            && !state.under_way.is(Activity::Opening)
            && state.leaving.is_none()
        {
            state.pages.series.opening = None;
        }
    }

    fn chosen(&self, state: &mut State, wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
        if wish == FOLDER {
            let series = &mut state.pages.series;
            for path in paths {
                if !series.folders.contains(&path) {
                    series.folders.push(path);
                }
            }
            read(series, effects);
        } else if let (Some(file), Some(found)) = (paths.into_iter().next(), state.pages.series.found.clone())
        {
            // A result never takes the place of a case file, whatever name was typed.
            let PathKind::File(endings) = wish.what else { return };
            let named = endings
                .iter()
                .any(|ending| file.extension().is_some_and(|said| said.eq_ignore_ascii_case(ending)));
            let ending = endings.first().copied().unwrap_or_default();
            let file = if named { file } else { PathBuf::from(format!("{}.{ending}", file.display())) };
            let saving = Box::new(saving(&state.pages.series, found, state.pages.series.wanted));
            state.under_way.begin(Activity::Writing, "Writing");
            effects.push(Effect::Page(PageWork::Series(SeriesWork::Save(saving, file))));
        }
    }
}

/// What is listed just now, to be written or copied.
fn saving(series: &SeriesState, found: Arc<FoundFiles>, content: SeriesContent) -> Saving {
    let SeriesState { filter, sorting, rates, .. } = series;
    Saving { content, found, filter: filter.clone(), sorting: *sorting, rates: *rates }
}

/// Asks for a file for this content.
fn ask_file(state: &mut State, content: SeriesContent, effects: &mut Vec<Effect>) {
    let (wish, name) = match content {
        SeriesContent::Paper => (PAPER, "series.pdf".to_owned()),
        SeriesContent::Table(AuditTable::Bodies) => (TABLE, "series.csv".to_owned()),
        SeriesContent::Table(table) => (TABLE, format!("series-{}.csv", table.key())),
        SeriesContent::Plot(plot, _) => (PLOT, format!("series-{}.png", plot.key())),
    };
    let series = &mut state.pages.series;
    series.wanted = content;
    let suggestion = series.folders.last().map(|folder| folder.join(name));
    effects.push(Effect::Ask { purpose: Purpose::Page(wish), suggestion, leave: Leave::Stay });
}

/// Makes this content for the clipboard.
fn copy(state: &mut State, content: SeriesContent, effects: &mut Vec<Effect>) {
    let Some(found) = state.pages.series.found.clone() else { return };
    let saving = Box::new(saving(&state.pages.series, found, content));
    state.under_way.begin(Activity::Writing, "Copying");
    effects.push(Effect::Page(PageWork::Series(SeriesWork::Copy(saving))));
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: SeriesCommand, effects: &mut Vec<Effect>) {
    let mode = state.display.mode;
    let plot = SeriesContent::Plot(state.pages.series.part.plot(), mode);
    let series = &mut state.pages.series;
    match ask {
        SeriesCommand::AddFolder => {
            let suggestion = series.folders.last().cloned();
            effects.push(Effect::Ask { purpose: Purpose::Page(FOLDER), suggestion, leave: Leave::Stay });
        }
        SeriesCommand::SavePaper => ask_file(state, SeriesContent::Paper, effects),
        SeriesCommand::SaveData(table) => ask_file(state, SeriesContent::Table(table), effects),
        SeriesCommand::CopyData(table) => copy(state, SeriesContent::Table(table), effects),
        SeriesCommand::SavePlot => ask_file(state, plot, effects),
        SeriesCommand::CopyPlot => copy(state, plot, effects),
        SeriesCommand::Copied => {
            series.copying = None;
            state.say(Weight::Note, "Copied to the clipboard.");
        }
        SeriesCommand::ReadAgain => read(series, effects),
        SeriesCommand::StopReading => effects.push(Effect::Stop(Stoppable::Series)),
        SeriesCommand::StartOver => {
            *series =
                SeriesState { rates: series.rates, version: series.version + 1, ..SeriesState::default() };
        }
        SeriesCommand::Show(part) => series.part = part,
        SeriesCommand::ShowSkipped => series.skipped = !series.skipped,
        SeriesCommand::SortBy(column) => {
            let falling = series.sorting.by == column && !series.sorting.falling;
            series.sorting = Sorting { by: column, falling };
            series.sort();
        }
        SeriesCommand::Filter(filter) => {
            series.filter = filter;
            series.look();
        }
        SeriesCommand::ShowAll => {
            series.filter = Filter::default();
            series.look();
        }
        SeriesCommand::Rates(acceptable, unacceptable) => {
            let typed = percent(&acceptable).zip(percent(&unacceptable));
            let (acceptable, unacceptable) = typed.unwrap_or((f64::NAN, f64::NAN));
            match rates(acceptable, unacceptable) {
                Ok(_) => {
                    series.rates = (acceptable, unacceptable);
                    series.look();
                    series.explain();
                }
                Err(why) => {
                    let why = capital(&format!("{why}; type them in percent, such as 10 and 20."));
                    state.say(Weight::Trouble, why);
                }
            }
        }
        SeriesCommand::Open(place) => open(state, place, effects),
    }
}

/// A share as it is typed in percent: `10`, `12,5 %`.
fn percent(typed: &str) -> Option<f64> {
    let number = typed.trim().trim_end_matches('%').trim_end().replace(',', ".");
    number.parse::<f64>().ok().map(|percent| percent / 100.0)
}

fn read(series: &mut SeriesState, effects: &mut Vec<Effect>) {
    if !series.folders.is_empty() {
        series.reading = Some((0, 0));
        effects.push(Effect::Page(PageWork::Series(SeriesWork::Read(series.folders.clone()))));
    }
}

/// Opens the case of a row, after asking about unsaved work; one that is open already is only shown.
fn open(state: &mut State, place: usize, effects: &mut Vec<Effect>) {
    let series = &mut state.pages.series;
    let (Some(file), Some(body)) = (series.file_of(place), series.bodies().get(place)) else { return };
    let file = std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf());
    series.opening = Some(Opening { file: file.clone(), level: body.level, side: body.side });
    if !is_open(state, &file) {
        leave(state, Leave::Open(vec![file]), effects);
    }
}

fn is_open(state: &State, file: &Path) -> bool {
    state.editor.document.as_ref().is_some_and(|document| document.file.as_deref() == Some(file))
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: SeriesDone) {
    let series = &mut state.pages.series;
    match done {
        SeriesDone::Progress(done, of) => series.reading = Some((done, of)),
        SeriesDone::Read(Ok(found)) => {
            series.reading = None;
            let (levels, operators, half_years) = choices(&found.bodies);
            series.choices = Choices { levels, operators, half_years };
            series.found = Some(found);
            series.look();
            series.explain();
        }
        SeriesDone::Read(Err(sentence)) => {
            series.reading = None;
            // The folder that cannot be read is the one that was added last.
            series.folders.pop();
            state.say(Weight::Trouble, sentence);
        }
        SeriesDone::Copied(copied) => {
            state.under_way.end(Activity::Writing);
            match copied {
                Ok(clip) => state.pages.series.copying = Some(clip),
                Err(sentence) => state.say(Weight::Trouble, sentence),
            }
        }
        SeriesDone::Saved(saved) => {
            state.under_way.end(Activity::Writing);
            match saved {
                Ok(file) => {
                    state.say(Weight::Note, format!("The series was written to “{}”.", file.display()));
                }
                Err(sentence) => state.say(Weight::Trouble, sentence),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::Command;
    use crate::app::command::file::FileCommand;
    use crate::app::files::questions::{Answer, WindowQuestion};
    use crate::app::pages::PageCommand;
    use crate::app::pages::command_of_page::CommandOfPage;
    use crate::app::pages::work::PageDone;
    use crate::app::session::outcome::tests::{marked, opened, seen};
    use crate::app::session::update::{receive, update};
    use crate::app::work::effect::Outcome;
    use crate::case::document::{Case, Shot};
    use crate::io::series::SkippedFile;
    use crate::measure::mark::Level;
    use crate::measure::mark::Side;
    use crate::measure::verdict::State as Verdict;
    use crate::scene::report::series::Plot;
    use crate::study::audit::USUAL_RATES;
    use crate::study::selection::{BodyStanding, SeriesColumn};
    use crate::study::series::Treated;
    use crate::study::series::{BodyOutcome as Result_, NoOutcome};

    fn body(file: &str, operator: &str, state: Option<Verdict>) -> Treated {
        Treated {
            lesion_s: None,
            remarks: String::new(),
            file: file.to_owned(),
            title: String::new(),
            operator: operator.to_owned(),
            date: "2026-02-03".to_owned(),
            level: Level::L4,
            side: Side::Right,
            shots: 2,
            origins: [0; 3],
            depth: None,
            height: None,
            midline: None,
            true_view: [None; 3],
            against: Vec::new(),
            outcome: state
                .map(|state| Result_ { nominal_inside: true, state, p_inside: 0.5 })
                .ok_or(NoOutcome::OneView),
            issues: Vec::new(),
        }
    }

    /// Two bodies in the first file, one in the second.
    fn found() -> Outcome {
        let found = FoundFiles {
            bodies: vec![
                body("a", "R2", Some(Verdict::Inside)),
                body("a", "R1", Some(Verdict::Outside)),
                body("b", "R1", None),
            ],
            origins: vec![0, 0, 1],
            files: vec![PathBuf::from("/x/a.case.json"), PathBuf::from("/x/b.case.json")],
            skipped: vec![SkippedFile {
                file: Some(PathBuf::from("/x/c.json")),
                why: "it is no case file".to_owned(),
            }],
        };
        Outcome::Page(PageDone::Series(SeriesDone::Read(Ok(Arc::new(found)))))
    }

    fn ask(state: &mut State, ask: SeriesCommand) -> Vec<Effect> {
        update(state, Command::Page(PageCommand::Series(ask)))
    }

    fn listing(mut state: State) -> State {
        update(&mut state, Command::Page(PageCommand::Go(Page::Series)));
        receive(&mut state, found());
        state
    }

    #[test]
    fn a_folder_is_asked_for_and_read_and_read_again() {
        let mut state = State::default();
        update(&mut state, Command::Page(PageCommand::Go(Page::Series)));
        assert_eq!(state.pages.shown, Page::Series);
        let effects = ask(&mut state, SeriesCommand::AddFolder);
        let Some(Effect::Ask { purpose, leave, .. }) = effects.first().cloned() else {
            panic!("{effects:?}")
        };
        let paths = Some(vec![PathBuf::from("/x")]);
        let effects = receive(&mut state, Outcome::Chosen { purpose, paths, leave });
        let read = Effect::Page(PageWork::Series(SeriesWork::Read(vec![PathBuf::from("/x")])));
        assert!(effects.contains(&read));
        assert!(SeriesCommand::AddFolder.refusal(&state).is_some(), "one reading after the other");
        receive(&mut state, found());
        assert!(ask(&mut state, SeriesCommand::ReadAgain).contains(&read));
        let sentence = "/x: it is not there".to_owned();
        receive(&mut state, Outcome::Page(PageDone::Series(SeriesDone::Read(Err(sentence)))));
        assert!(state.pages.series.folders.is_empty() && state.notices.len() == 1);
    }

    #[test]
    fn what_is_listed_is_written_under_a_fitting_name() {
        let mut state = listing(State::default());
        ask(
            &mut state,
            SeriesCommand::Filter(Filter { operator: Some("R1".to_owned()), ..Filter::default() }),
        );
        let file = |state: &mut State, wanted: SeriesCommand, typed: &str| {
            let effects = ask(state, wanted);
            let Some(Effect::Ask { purpose, leave, .. }) = effects.first().cloned() else {
                panic!("{effects:?}")
            };
            let paths = Some(vec![PathBuf::from(typed)]);
            match receive(state, Outcome::Chosen { purpose, paths, leave }).first() {
                Some(Effect::Page(PageWork::Series(SeriesWork::Save(saving, file)))) => {
                    assert_eq!(saving.filter.operator.as_deref(), Some("R1"));
                    file.clone()
                }
                other => panic!("{other:?}"),
            }
        };
        assert_eq!(file(&mut state, SeriesCommand::SavePaper, "/y/a.PDF"), PathBuf::from("/y/a.PDF"));
        assert_eq!(
            file(&mut state, SeriesCommand::SavePaper, "/x/a.case.json"),
            PathBuf::from("/x/a.case.json.pdf")
        );
        let bodies = SeriesCommand::SaveData(AuditTable::Bodies);
        assert_eq!(file(&mut state, bodies, "/y/a"), PathBuf::from("/y/a.csv"));
        let sums = SeriesCommand::SaveData(AuditTable::Sums);
        assert_eq!(file(&mut state, sums, "/y/sums"), PathBuf::from("/y/sums.csv"));
        assert_eq!(state.pages.series.wanted, SeriesContent::Table(AuditTable::Sums));
        assert_eq!(file(&mut state, SeriesCommand::SavePlot, "/y/t"), PathBuf::from("/y/t.png"));
        assert!(
            matches!(state.pages.series.wanted, SeriesContent::Plot(Plot::Bodies, _)),
            "the table is an image too"
        );
        ask(&mut state, SeriesCommand::Show(SeriesSection::Errors));
        assert_eq!(file(&mut state, SeriesCommand::SavePlot, "/y/e.svg"), PathBuf::from("/y/e.svg"));
        assert_eq!(file(&mut state, SeriesCommand::SavePlot, "/y/e"), PathBuf::from("/y/e.png"));
        let saved = SeriesDone::Saved(Ok(PathBuf::from("/y/a.csv")));
        receive(&mut state, Outcome::Page(PageDone::Series(saved)));
        assert!(state.under_way.line().is_none() && state.notices.len() == 1);
        ask(&mut state, SeriesCommand::Filter(Filter { text: "nothing".to_owned(), ..Filter::default() }));
        assert!(SeriesCommand::SavePaper.refusal(&state).is_some(), "there is nothing to write");
    }

    #[test]
    fn what_the_bodies_say_follows_the_filter() {
        let mut state = listing(State::default());
        let n = |state: &State| state.pages.series.audit.as_ref().unwrap().shares[0].n;
        assert_eq!((state.pages.series.listed.len(), n(&state)), (3, 2));
        ask(
            &mut state,
            SeriesCommand::Filter(Filter { operator: Some("R1".to_owned()), ..Filter::default() }),
        );
        assert_eq!((state.pages.series.listed.clone(), n(&state)), (vec![1, 2], 1));
        ask(
            &mut state,
            SeriesCommand::Filter(Filter { standing: Some(BodyStanding::Without), ..Filter::default() }),
        );
        assert!(state.pages.series.audit.as_ref().unwrap().shares.is_empty());
        ask(&mut state, SeriesCommand::ShowAll);
        ask(&mut state, SeriesCommand::SortBy(SeriesColumn::Operator));
        assert_eq!(state.pages.series.listed, [1, 2, 0]);
        ask(&mut state, SeriesCommand::SortBy(SeriesColumn::Operator));
        assert_eq!(state.pages.series.listed, [0, 1, 2]);
        let typed = |a: &str, b: &str| SeriesCommand::Rates(a.to_owned(), b.to_owned());
        ask(&mut state, typed("30", "20"));
        ask(&mut state, typed("ten", "20"));
        assert_eq!((state.pages.series.rates, state.notices.len()), (USUAL_RATES, 1));
        ask(&mut state, typed(" 5 %", "12,5"));
        assert_eq!(state.pages.series.rates, (0.05, 0.125));
        assert!(state.pages.series.limits[0].contains("rather than 5 %"), "{:?}", state.pages.series.limits);
    }

    fn case() -> Outcome {
        let shot = |id: &str, view, stage| {
            let mut shot = Shot::new(id, format!("{id}.png"), view);
            (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), stage);
            shot
        };
        let shots = vec![
            shot("first", View::Lateral, Some(Stage::Stylet)),
            shot("front", View::Ap, Some(Stage::Final)),
            shot("side", View::Lateral, Some(Stage::Final)),
        ];
        let case = Box::new(Case { shots: shots.into(), ..Case::default() });
        Outcome::Opened { case, file: PathBuf::from("/x/b.case.json"), seen: seen("b"), leftover: None }
    }

    #[test]
    fn a_row_opens_its_case_and_asks_about_unsaved_work() {
        let mut state = listing(opened());
        let effects = ask(&mut state, SeriesCommand::Open(2));
        let paths = vec![PathBuf::from("/x/b.case.json")];
        assert!(effects.contains(&Effect::Open { paths, purpose: Purpose::Open }));
        assert_eq!(state.pages.shown, Page::Series, "until it is there");
        receive(&mut state, case());
        assert_eq!(state.pages.shown, Page::Picture);
        assert_eq!(state.editor.document.as_ref().unwrap().shown.as_deref(), Some("side"));

        let mut state = listing(marked());
        assert!(ask(&mut state, SeriesCommand::Open(2)).is_empty());
        assert!(matches!(state.question, Some(WindowQuestion::Unsaved(Leave::Open(_)))));
        update(&mut state, Command::File(FileCommand::Answer(Answer::KeepEditing)));
        assert!(state.editor.document.as_ref().unwrap().unsaved() && state.pages.series.opening.is_none());
        assert_eq!(state.pages.shown, Page::Series);

        // The case that is open already is shown as it is.
        ask(&mut state, SeriesCommand::Open(0));
        assert_eq!((state.pages.shown, state.question.is_none()), (Page::Picture, true));
        assert!(state.editor.document.as_ref().unwrap().unsaved());
    }
}
