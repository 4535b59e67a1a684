//! A program that fails at a work, from outside: for each kind of effect the failure is named, ends what waited for it,
//! and stops nothing else.

use std::path::Path;
use std::sync::Arc;

use stillmark::app::command::Command;
use stillmark::app::command::file::FileCommand;
use stillmark::app::files::export_form::ExportForm;
use stillmark::app::files::questions::Purpose;
use stillmark::app::marking::proposal::order::{ProposalSource, ProposeOrder};
use stillmark::app::pages::PageCommand;
use stillmark::app::pages::{self, Page, compare, figure, practice, series};
use stillmark::app::session::notice::Weight;
use stillmark::app::session::state::State;
use stillmark::app::session::update::update;
use stillmark::app::work::cancel::Cancel;
use stillmark::app::work::effect::{Effect, Outcome};
use stillmark::app::work::failure::named;
use stillmark::app::work::jobs::Jobs;
use stillmark::app::work::performer::{Perform, Performer};
use stillmark::app::work::picture_store::PictureKey;
use stillmark::app::work::under_way::Activity;
use stillmark::case::document::Case;
use stillmark::geom::point::Point;
use stillmark::io::store::autosave::Leftover;
use stillmark::io::store::save::Over;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::View;
use stillmark::phantom::exercise::Difficulty;
use stillmark::propose::lateral::Clicks;
use stillmark::study::practice::Score;

use crate::commands::blank;
use crate::durability::with_own_home;
use crate::support::{case_of, lateral_shot};

use crate::work_lanes::{LATER, demonstration, later, order, report_order, wait};

/// Carries effects out as the program does, but fails at everything else than saving a case under [`LATER`]. The panic is a real one; only
/// its report on standard error is left out.
#[derive(Debug, Default)]
struct Failing {
    real: Performer,
}

impl Perform for Failing {
    fn perform(
        &mut self,
        effect: Effect,
        cancel: &Cancel,
        say: &mut (dyn FnMut(Outcome) + Send),
    ) -> Vec<Outcome> {
        let later = |case: &Case| case.title.as_deref() == Some(LATER);
        match &effect {
            Effect::Save { case, .. } if later(case) => self.real.perform(effect, cancel, say),
            _ => std::panic::resume_unwind(Box::new("this work fails")),
        }
    }
}

/// Every kind of effect that a lane carries out, but those of the page that compares, which need pictures.
fn effects(folder: &Path) -> Vec<Effect> {
    let case = case_of("Fails", vec![lateral_shot("a", "a.png")]);
    let leftover = || {
        Box::new(Leftover {
            path: folder.join("a.autosave-1.json"),
            case_file: None,
            seen: None,
            case: case.clone(),
            written: None,
            case_file_unchanged: true,
            newer_than_case_file: true,
        })
    };
    let boxed = || Box::new(case.clone());
    let at = |name: &str| folder.join(name);
    let figure = |work: figure::FigureWork| Effect::Page(pages::PageWork::Figure(work));
    let of_series = |work: series::SeriesWork| Effect::Page(pages::PageWork::Series(work));
    let of_practice = |work: practice::PracticeWork| Effect::Page(pages::PageWork::Practice(work));
    let saving = series::Saving {
        found: Arc::default(),
        filter: Default::default(),
        sorting: Default::default(),
        rates: (0.1, 0.2),
        content: series::SeriesContent::Paper,
    };
    let score = Score { view: View::Lateral, guess: None, readings: Vec::new(), places: Vec::new() };
    let key = PictureKey { path: at("a.png"), frame: 0 };
    vec![
        Effect::Open { paths: vec![at("a.png")], purpose: Purpose::Open },
        Effect::OpenDemonstration,
        Effect::LookAround,
        Effect::Save { case: boxed(), file: at("fails.case.json"), over: Over::Anything },
        Effect::Export {
            case: boxed(),
            file: None,
            folder: at("exported"),
            form: ExportForm::Copy,
            as_is: true,
        },
        Effect::Keep { case: boxed(), file: None, seen: None },
        Effect::Drop,
        Effect::Adopt(leftover()),
        Effect::ForgetKept,
        Effect::Forget(leftover()),
        Effect::Decode { key, first: true, samples: true },
        figure(figure::FigureWork::Draw(order(&case))),
        figure(figure::FigureWork::Copy(order(&case))),
        figure(figure::FigureWork::Write(order(&case), at("figure.png"))),
        figure(figure::FigureWork::Questions(order(&case), at("questions.pdf"))),
        figure(figure::FigureWork::Report(report_order(&case), at("report.pdf"))),
        Effect::Propose(Box::new(ProposeOrder {
            number: 1,
            shot: "a".to_owned(),
            first: true,
            frame: Arc::new(blank()),
            covers: Vec::new(),
            mm_per_px: None,
            from: ProposalSource::Walls(
                Clicks { posterior: Point::new(0.0, 0.0), anterior: Point::new(1.0, 0.0) },
                Vec::new(),
            ),
        })),
        of_series(series::SeriesWork::Read(vec![folder.to_path_buf()])),
        of_series(series::SeriesWork::Save(Box::new(saving.clone()), at("series.csv"))),
        of_series(series::SeriesWork::Copy(Box::new(saving))),
        of_practice(practice::PracticeWork::Make {
            seed: 1,
            view: View::Lateral,
            difficulty: Difficulty::Clear,
            side_px: 64,
        }),
        of_practice(practice::PracticeWork::Load),
        of_practice(practice::PracticeWork::Keep(Box::new(score))),
        of_practice(practice::PracticeWork::Clear),
    ]
}

/// The only notice, if it names the work and says that the program failed at it.
fn assert_named(state: &State, name: &str) {
    let said: Vec<&str> = state.notices.iter().map(|notice| notice.text.as_str()).collect();
    let [text] = said.as_slice() else { panic!("{name}: one sentence, not {said:?}") };
    assert!(text.starts_with(&format!("{name} failed because of a fault in the program.")), "{text}");
    assert_eq!(state.notices[0].weight, Weight::Trouble, "{text}");
}

#[test]
fn whatever_fails_is_named_and_saving_goes_on() {
    const TEST: &str = "work_failures::whatever_fails_is_named_and_saving_goes_on";
    let Some(folder) = with_own_home(TEST) else { return };
    let all = effects(&folder);
    for threaded in [true, false] {
        let mut jobs = if threaded {
            Jobs::threaded_with(|| {}, || Box::new(Failing::default()))
        } else {
            Jobs::inline_with(Box::new(Failing::default()))
        };
        for (n, effect) in all.iter().enumerate() {
            let mut state = State::default();
            for activity in [Activity::Opening, Activity::Saving, Activity::Exporting, Activity::Writing] {
                state.under_way.begin(activity, "At work");
            }
            state.pages.series.reading = Some((1, 2));
            state.pages.figure.writing = true;
            state.pages.practice.waiting = Some(1);
            let (save, file) = later(&folder, 2 * n + usize::from(threaded));
            jobs.push(effect.clone());
            jobs.push(save);
            let mut saved = false;
            wait(&mut jobs, &mut state, |state, outcomes| {
                saved |= outcomes.iter().any(|outcome| matches!(outcome, Outcome::Saved { .. }));
                saved && !state.notices.is_empty()
            });
            assert_named(&state, &named(effect));
            assert!(open_case(&file).is_ok(), "{} stands in the way of saving", named(effect));
            // The save that follows ends its own; everything else but what failed is said to go on.
            let ended = |activity| !state.under_way.is(activity);
            let opening = matches!(effect, Effect::Open { .. } | Effect::OpenDemonstration);
            assert_eq!(ended(Activity::Opening), opening, "{}", named(effect));
            assert_eq!(
                ended(Activity::Exporting),
                matches!(effect, Effect::Export { .. }),
                "{}",
                named(effect)
            );
            assert!(ended(Activity::Saving));
            match effect {
                Effect::Page(pages::PageWork::Series(
                    series::SeriesWork::Save(..) | series::SeriesWork::Copy(_),
                )) => {
                    assert!(ended(Activity::Writing));
                }
                Effect::Decode { key, .. } => {
                    assert!(state.editor.pictures.loading.contains_key(key), "it says so in its place")
                }
                Effect::Page(pages::PageWork::Series(series::SeriesWork::Read(_))) => {
                    assert_eq!(state.pages.series.reading, None);
                }
                Effect::Page(pages::PageWork::Figure(figure::FigureWork::Draw(_))) => {}
                Effect::Page(pages::PageWork::Figure(_)) => assert!(!state.pages.figure.writing),
                Effect::Page(pages::PageWork::Practice(practice::PracticeWork::Make { .. })) => {
                    assert_eq!(state.pages.practice.waiting, None);
                }
                _ => {}
            }
        }
    }
}

/// Reads pictures, and fails at whatever is done for a page.
#[derive(Debug, Default)]
struct FailingPages {
    real: Performer,
}

impl Perform for FailingPages {
    fn perform(
        &mut self,
        effect: Effect,
        cancel: &Cancel,
        say: &mut (dyn FnMut(Outcome) + Send),
    ) -> Vec<Outcome> {
        match &effect {
            Effect::Page(_) => std::panic::resume_unwind(Box::new("this work fails")),
            _ => self.real.perform(effect, cancel, say),
        }
    }
}

/// The page that compares asks for its work only once two pictures are there, so it is reached as a user reaches it.
#[test]
fn comparing_that_fails_is_named_and_the_page_stands() {
    const TEST: &str = "work_failures::comparing_that_fails_is_named_and_the_page_stands";
    if with_own_home(TEST).is_none() {
        return;
    }
    let mut jobs = Jobs::threaded_with(|| {}, || Box::new(FailingPages::default()));
    let mut state = State::default();
    let ask = |jobs: &mut Jobs, state: &mut State, command: Command| {
        update(state, command).into_iter().for_each(|effect| jobs.push(effect));
    };
    ask(&mut jobs, &mut state, Command::File(FileCommand::OpenPaths(vec![demonstration()])));
    wait(&mut jobs, &mut state, |state, _| state.editor.document.is_some());
    ask(&mut jobs, &mut state, Command::Page(PageCommand::Go(Page::Compare)));
    let on = |asked| Command::Page(PageCommand::Compare(asked));
    for asked in [
        compare::CompareCommand::From("l4-right-lateral-stylet".to_owned()),
        compare::CompareCommand::To("l4-right-lateral-final".to_owned()),
        compare::CompareCommand::As(compare::CompareMode::Blend),
    ] {
        ask(&mut jobs, &mut state, on(asked));
    }
    wait(&mut jobs, &mut state, |state, _| !state.notices.is_empty());
    assert_named(&state, "Superimposing the two shots");
    state.notices.clear();
    ask(&mut jobs, &mut state, on(compare::CompareCommand::Refine));
    wait(&mut jobs, &mut state, |state, _| !state.notices.is_empty());
    assert_named(&state, "Refining the registration");
}
