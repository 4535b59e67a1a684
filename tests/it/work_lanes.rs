//! Work off the drawing thread, from outside: saving waits for nothing, each work is stopped by itself, and a picture is decoded once however often it is asked for.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use stillmark::app::files::questions::Purpose;
use stillmark::app::pages::{self, figure, practice, series};
use stillmark::app::session::state::State;
use stillmark::app::session::update::receive_all;
use stillmark::app::work::cancel::Cancel;
use stillmark::app::work::effect::{Effect, Outcome, Stoppable};
use stillmark::app::work::jobs::Jobs;
use stillmark::app::work::performer::{Perform, Performer};
use stillmark::app::work::picture_store::PictureKey;
use stillmark::case::document::figure_spec::FigureSpec;
use stillmark::case::document::{Case, Shot};
use stillmark::io::case_file::to_text;
use stillmark::io::store::save::Over;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::{Level, View};
use stillmark::phantom::exercise::Difficulty;
use stillmark::scene::page::paper::PaperSize;

use crate::durability::with_own_home;
use crate::support::{case_of, folder, lateral_shot, put, write_picture};

/// Nothing here takes nearly as long; a test that waits longer has found a lane that stands still.
pub(crate) const PATIENCE: Duration = Duration::from_secs(120);

/// The title of the case whose saving never fails.
pub(crate) const LATER: &str = "Saved later";

/// Takes outcomes in until `done` says so.
pub(crate) fn wait(jobs: &mut Jobs, state: &mut State, mut done: impl FnMut(&State, &[Outcome]) -> bool) {
    let start = Instant::now();
    loop {
        let outcomes = jobs.outcomes();
        let seen = outcomes.clone();
        receive_all(state, outcomes).into_iter().for_each(|effect| jobs.push(effect));
        if done(state, &seen) {
            return;
        }
        assert!(start.elapsed() < PATIENCE, "nothing more came; notices: {:?}", state.notices);
        std::thread::sleep(Duration::from_millis(2));
    }
}

pub(crate) fn demonstration() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json")
}

pub(crate) fn order(case: &Case) -> Box<figure::FigureOrder> {
    Box::new(figure::FigureOrder {
        case: Box::new(case.clone()),
        file: Some(demonstration()),
        shots: case.shots.iter().take(1).map(|shot| shot.id.clone()).collect(),
        spec: FigureSpec::default(),
        as_is: true,
        asks: false,
    })
}

pub(crate) fn report_order(case: &Case) -> Box<figure::ReportOrder> {
    Box::new(figure::ReportOrder {
        case: Box::new(case.clone()),
        file: Some(demonstration()),
        paper: PaperSize::A4,
        parts: Vec::new(),
    })
}

/// A save that is asked for after something failed.
pub(crate) fn later(folder: &Path, n: usize) -> (Effect, PathBuf) {
    let file = folder.join(format!("later-{n}.case.json"));
    let case = Box::new(case_of(LATER, vec![lateral_shot("a", "a.png")]));
    (Effect::Save { case, file: file.clone(), over: Over::Nothing }, file)
}

/// Ten thousand case files are read and a report of the demonstration is made; a save that is asked for while both are
/// under way arrives before either is over. By the order of what arrives, so that no clock of a busy machine decides.
#[test]
fn a_save_waits_for_neither_a_large_folder_nor_a_report() {
    const TEST: &str = "work_lanes::a_save_waits_for_neither_a_large_folder_nor_a_report";
    let Some(folder) = with_own_home(TEST) else { return };
    let many = folder.join("many");
    std::fs::create_dir(&many).unwrap();
    let unmarked = Shot::new("a", "a.png", View::Lateral);
    let text = to_text(Path::new("x"), &case_of("One of many", vec![unmarked])).unwrap();
    for n in 0..10_000 {
        std::fs::write(many.join(format!("{n}.case.json")), &text).unwrap();
    }
    let mut case = open_case(&demonstration()).unwrap().case;
    case.shots.retain(|shot| shot.level == Some(Level::L4));
    let report = folder.join("report.pdf");
    let mut jobs = Jobs::threaded(|| {});
    let mut state = State::default();
    jobs.push(Effect::Page(pages::PageWork::Series(series::SeriesWork::Read(vec![many]))));
    jobs.push(Effect::Page(pages::PageWork::Figure(figure::FigureWork::Report(
        report_order(&case),
        report.clone(),
    ))));
    wait(&mut jobs, &mut state, |state, _| state.pages.series.reading.is_some_and(|(done, _)| done > 0));
    let (save, file) = later(&folder, 0);
    jobs.push(save);
    let mut arrived = Vec::new();
    wait(&mut jobs, &mut state, |_, outcomes| {
        arrived.extend(outcomes.iter().filter_map(|outcome| match outcome {
            Outcome::Saved { .. } => Some("saved"),
            Outcome::Page(pages::PageDone::Series(series::SeriesDone::Read(Ok(found)))) => {
                assert_eq!((found.files.len(), found.skipped.len()), (10_000, 0));
                Some("read")
            }
            Outcome::Page(pages::PageDone::Figure(figure::FigureDone::Written(written))) => {
                assert_eq!(written.as_ref(), Ok(&report));
                Some("reported")
            }
            _ => None,
        }));
        arrived.len() == 3
    });
    assert_eq!(arrived[0], "saved", "{arrived:?}");
    assert!(open_case(&file).is_ok());
}

/// Opens until it is told to stop or let go, and decodes as slowly; everything is counted.
#[derive(Debug, Default)]
struct Gate {
    open: Mutex<bool>,
    opened: Condvar,
    decodings: AtomicUsize,
    begun: AtomicBool,
}

impl Gate {
    fn release(&self) {
        *self.open.lock().expect("nobody fails at a gate") = true;
        self.opened.notify_all();
    }

    /// Waits until it is let go; false if it was told to stop before.
    fn pass(&self, cancel: &Cancel) -> bool {
        self.begun.store(true, Ordering::SeqCst);
        let mut open = self.open.lock().expect("nobody fails at a gate");
        while !*open {
            if cancel.is_cancelled() {
                return false;
            }
            open =
                self.opened.wait_timeout(open, Duration::from_millis(2)).expect("nobody fails at a gate").0;
        }
        true
    }
}

#[derive(Debug)]
struct Slow {
    gate: Arc<Gate>,
    real: Performer,
}

impl Perform for Slow {
    fn perform(
        &mut self,
        effect: Effect,
        cancel: &Cancel,
        say: &mut (dyn FnMut(Outcome) + Send),
    ) -> Vec<Outcome> {
        match &effect {
            Effect::Open { .. } => {
                vec![Outcome::Told(
                    if self.gate.pass(cancel) { "Opened." } else { "Opening stopped." }.to_owned(),
                )]
            }
            Effect::Page(pages::PageWork::Series(_)) => {
                vec![Outcome::Told(
                    if self.gate.pass(cancel) { "Read." } else { "Reading stopped." }.to_owned(),
                )]
            }
            Effect::Decode { .. } => {
                self.gate.decodings.fetch_add(1, Ordering::SeqCst);
                self.gate.pass(cancel);
                self.real.perform(effect, cancel, say)
            }
            _ => self.real.perform(effect, cancel, say),
        }
    }
}

fn slow() -> (Jobs, Arc<Gate>) {
    let gate = Arc::new(Gate::default());
    let own = Arc::clone(&gate);
    let performer =
        move || -> Box<dyn Perform> { Box::new(Slow { gate: Arc::clone(&own), real: Performer::default() }) };
    (Jobs::threaded_with(|| {}, performer), gate)
}

#[test]
fn stopping_one_work_stops_no_other() {
    let open = || Effect::Open { paths: Vec::new(), purpose: Purpose::Open };
    let read = || Effect::Page(pages::PageWork::Series(series::SeriesWork::Read(Vec::new())));
    for (what, first, second) in [
        (Stoppable::Opening, "Opening stopped.", "Read."),
        (Stoppable::Series, "Reading stopped.", "Opened."),
    ] {
        let (mut jobs, gate) = slow();
        let mut state = State::default();
        jobs.push(open());
        jobs.push(read());
        jobs.push(Effect::Stop(what));
        // Work that begins afterwards does not take the sign back.
        jobs.push(Effect::Page(pages::PageWork::Practice(practice::PracticeWork::Make {
            seed: 1,
            view: View::Lateral,
            difficulty: Difficulty::Clear,
            side_px: 64,
        })));
        let said = |state: &State| state.notices.iter().map(|one| one.text.clone()).collect::<Vec<_>>();
        wait(&mut jobs, &mut state, |state, _| said(state).contains(&first.to_owned()));
        assert!(!said(&state).contains(&second.to_owned()));
        gate.release();
        wait(&mut jobs, &mut state, |state, _| said(state).contains(&second.to_owned()));
        // One that is asked for later is not stopped by what was said before.
        jobs.push(if what == Stoppable::Opening { open() } else { read() });
        let now = if what == Stoppable::Opening { "Opened." } else { "Read." };
        wait(&mut jobs, &mut state, |state, _| said(state).contains(&now.to_owned()));
    }
}

#[test]
fn a_picture_asked_for_many_times_is_decoded_once() {
    let folder = folder();
    let path = folder.path().join("a.png");
    write_picture(&path, 64, 48).unwrap();
    let (mut jobs, gate) = slow();
    let key = PictureKey { path, frame: 0 };
    let ask =
        |jobs: &mut Jobs, samples| jobs.push(Effect::Decode { key: key.clone(), first: false, samples });
    ask(&mut jobs, false);
    while !gate.begun.load(Ordering::SeqCst) {
        std::thread::sleep(Duration::from_millis(1));
    }
    for n in 0..20 {
        ask(&mut jobs, n == 10);
    }
    gate.release();
    let mut pictures = Vec::new();
    wait(&mut jobs, &mut State::default(), |_, outcomes| {
        pictures.extend(outcomes.iter().filter_map(|outcome| match outcome {
            Outcome::Picture { result, .. } => Some(result.clone()),
            _ => None,
        }));
        !pictures.is_empty()
    });
    // Whatever were queued beside it would be done by the time the lanes are closed.
    drop(jobs);
    assert_eq!(gate.decodings.load(Ordering::SeqCst), 1);
    assert_eq!(pictures.len(), 1);
    let decoded = pictures[0].as_ref().unwrap();
    assert!(decoded.frame.is_some(), "one of those who asked meanwhile wants the samples");
}

/// What was opened is not decoded again when it is shown. The file's content is destroyed between the two, its size and
/// time left as they were, so that whoever reads it again finds no picture.
#[test]
fn an_opened_picture_is_not_read_again_to_be_shown() {
    let folder = folder();
    let path = folder.path().join("a.png");
    write_picture(&path, 64, 48).unwrap();
    let mut jobs = Jobs::threaded(|| {});
    let mut state = State::default();
    jobs.push(Effect::Open { paths: vec![path.clone()], purpose: Purpose::Open });
    let start = Instant::now();
    let mut held = 0;
    while held == 0 && start.elapsed() < PATIENCE {
        for outcome in jobs.outcomes() {
            if let Outcome::HeldOpen(bytes) = outcome {
                held = bytes;
            }
        }
    }
    assert!(held >= 64 * 48, "what waits to be shown counts: {held} bytes");
    let (bytes, time) =
        (std::fs::read(&path).unwrap(), std::fs::metadata(&path).unwrap().modified().unwrap());
    put(folder.path(), "a.png", vec![0; bytes.len()]);
    std::fs::File::options().write(true).open(&path).unwrap().set_modified(time).unwrap();
    let key = PictureKey { path, frame: 0 };
    jobs.push(Effect::Decode { key: key.clone(), first: true, samples: true });
    let mut held = None;
    wait(&mut jobs, &mut state, |state, outcomes| {
        let news = |one: &Outcome| if let Outcome::HeldOpen(bytes) = one { Some(*bytes) } else { None };
        held = outcomes.iter().find_map(news).or(held);
        state.editor.pictures.loading.contains_key(&key) && held.is_some()
    });
    assert!(state.editor.pictures.known.contains_key(&key), "{:?}", state.editor.pictures.loading.get(&key));
    assert_eq!((held, state.editor.pictures.held_open), (Some(0), 0), "a still is let go once it is decoded");
}

/// Two hundred pages of questions say how far they have come, and are stopped without a file.
#[test]
fn a_long_document_of_questions_is_stopped_and_leaves_nothing() {
    let folder = folder();
    let mut case = open_case(&demonstration()).unwrap().case;
    let shot = case.shot("l4-right-lateral-final").unwrap().clone();
    case.shots.retain(|_| false);
    for n in 0..100 {
        let mut again = shot.clone();
        again.id = format!("shot-{n}");
        case.shots.push(again);
    }
    let file = folder.path().join("questions.pdf");
    let mut jobs = Jobs::threaded(|| {});
    let mut state = State::default();
    state.pages.figure.writing = true;
    jobs.push(Effect::Page(pages::PageWork::Figure(figure::FigureWork::Questions(
        order(&case),
        file.clone(),
    ))));
    let mut far = 0;
    wait(&mut jobs, &mut state, |state, _| {
        let Some((done, of)) = state.pages.figure.progress else { return false };
        assert!(of == 200 && done >= far, "{done} of {of} after {far}");
        far = done;
        done >= 2
    });
    jobs.push(Effect::Stop(Stoppable::Questions));
    wait(&mut jobs, &mut state, |state, _| !state.pages.figure.writing);
    assert!(state.pages.figure.progress.is_none() && !file.exists());
    let said: Vec<&str> = state.notices.iter().map(|notice| notice.text.as_str()).collect();
    assert_eq!(said, ["Stopped. Nothing was written."]);
}

/// Keeps every core busy that it can get, until it is let go.
#[derive(Debug)]
struct Greedy(Arc<Gate>);

impl Perform for Greedy {
    fn perform(&mut self, _: Effect, cancel: &Cancel, _: &mut (dyn FnMut(Outcome) + Send)) -> Vec<Outcome> {
        rayon::broadcast(|_| self.0.pass(cancel));
        Vec::new()
    }
}

/// Greys of a large frame are drawn on all cores. While long work has all of its own, the drawing thread still gets its
/// share and does not stand still until that work is over.
#[test]
fn long_work_does_not_keep_the_drawing_thread_waiting() {
    let of_series = || Effect::Page(pages::PageWork::Series(series::SeriesWork::Read(Vec::new())));
    let of_practice = || {
        Effect::Page(pages::PageWork::Practice(practice::PracticeWork::Make {
            seed: 1,
            view: View::Lateral,
            difficulty: Difficulty::Clear,
            side_px: 64,
        }))
    };
    let gate = Arc::new(Gate::default());
    let own = Arc::clone(&gate);
    let mut jobs = Jobs::threaded_with(|| {}, move || Box::new(Greedy(Arc::clone(&own))));
    jobs.push(of_series());
    jobs.push(of_practice());
    while !gate.begun.load(Ordering::SeqCst) {
        std::thread::sleep(Duration::from_millis(1));
    }
    let (sender, drawn) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        // As the grey levels of a frame are: a call from a thread that belongs to no pool.
        let (a, b) = rayon::join(|| 1, || 2);
        let _ = sender.send(a + b);
    });
    let drawn = drawn.recv_timeout(Duration::from_secs(30));
    gate.release();
    assert_eq!(drawn, Ok(3), "the drawing thread waits for a series that is being read");
}
