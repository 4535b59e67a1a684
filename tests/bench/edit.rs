//! What an edit costs the window: a step of a drag, a nudge and a release through the program's own update function, on
//! the demonstration and on it repeated to 200 shots; and the readings that are behind it. See docs/speed.md.
//!
//! `open` is a case that arrives with all its shots unread, and `all` a setting that concerns all of them with the step back
//! from it, both as the drawing thread sees them: what is read in a lane is not in them.
//!
//! The line `series` is the whole of 80,000 readings, as one thread makes them; all others are means of one step.
//!
//! Time is the thread's own processor time, so that other work on the machine hardly counts. The last lines are
//! `NAME shots=N cpu_us=X`, microseconds of one step.

#![expect(clippy::print_stdout, reason = "its lines are what it is for")]

mod marks;

use std::hint::black_box;
use std::path::PathBuf;
use std::time::Instant;

use stillmark::app::command::Command;
use stillmark::app::command::case::CaseCommand;
use stillmark::app::command::marks::MarksCommand;
use stillmark::app::command::stride::{Stride, Way};
use stillmark::app::session::state::State;
use stillmark::app::session::update::{receive, update};
use stillmark::app::work::effect::{Effect, Outcome};
use stillmark::case::document::edit::Edit;
use stillmark::case::document::{Case, Shot};
use stillmark::case::readings::{Picture, read_case};
use stillmark::geom::point::{Point, Vec2};
use stillmark::io::store::save::Seen;
use stillmark::measure::lateral::read_lateral;
use stillmark::measure::mark::{MarkKind, MarkRef, Marks, Side, Stage, View};
use stillmark::measure::pair::read_pair;
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::phantom::demonstration::demonstration;

use marks::{curved, straight};

/// Steps timed together: the kernel's account of a running thread is some milliseconds coarse.
const STEPS: u32 = 600;
/// Of what takes a large part of a frame, fewer are enough.
const LARGE_STEPS: u32 = 100;
/// Cases of a large series.
const SERIES_CASES: u32 = 10_000;

/// The thread's processor time in nanoseconds, where the kernel tells it; else the clock's.
fn thread_ns(begun: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let run = told.as_deref().and_then(|line| line.split_whitespace().next()?.parse().ok());
    run.unwrap_or_else(|| begun.elapsed().as_nanos() as f64)
}

/// Mean processor time of one call in microseconds.
fn mean_us(steps: u32, mut step: impl FnMut(u32)) -> f64 {
    let begun = Instant::now();
    for i in 0..steps / 10 {
        step(i);
    }
    let from = thread_ns(begun);
    for i in 0..steps {
        step(i);
    }
    (thread_ns(begun) - from) / 1e3 / f64::from(steps)
}

/// The demonstration repeated to this many shots, the repeated ones with ids of their own.
fn case_of(shots: usize) -> Case {
    let mut case = demonstration().case;
    let once = case.shots.clone();
    for (i, shot) in (0..).zip(once.iter().cycle()).skip(once.len()).take(shots.saturating_sub(once.len())) {
        case.shots.push(Shot { id: format!("{}-{i}", shot.id), ..shot.clone() });
    }
    case
}

/// The program with the case opened and this shot shown.
fn opened(case: Case, id: &str) -> State {
    let mut state = State::default();
    let file = PathBuf::from("/demonstration/a.case.json");
    let outcome = Outcome::Opened { case: Box::new(case), file, seen: Seen::of(b"a case"), leftover: None };
    let effects = receive(&mut state, outcome);
    read(&mut state, effects);
    if let Some(document) = &mut state.editor.document {
        document.show(id);
    }
    state
}

/// Makes the readings that were left to a lane, so that what follows finds all shots read.
fn read(state: &mut State, effects: Vec<Effect>) {
    for effect in effects {
        if let Effect::Read(due) = effect {
            receive(state, Outcome::Readings(Box::new(due.make(|| true))));
        }
    }
}

/// The drawing thread's part of a case that arrives, and of a setting that concerns all shots with the step back from it, in
/// microseconds.
fn all_at_once(case: &Case) -> [f64; 2] {
    let open = mean_us(LARGE_STEPS, |_| {
        let mut state = State::default();
        let file = PathBuf::from("/demonstration/a.case.json");
        let case = Box::new(case.clone());
        let outcome = Outcome::Opened { case, file, seen: Seen::of(b"a case"), leftover: None };
        black_box(receive(&mut state, outcome));
    });
    let mut state = opened(case.clone(), &case.shots[0].id);
    let mut settings = case.settings.clone();
    settings.bone_sd_mm += 0.1;
    let edit = Edit::SetSettings(Box::new(settings));
    let all = mean_us(LARGE_STEPS, |_| {
        let effects = update(&mut state, Command::Case(CaseCommand::Edit(edit.clone())));
        black_box(&effects);
        black_box(update(&mut state, Command::Case(CaseCommand::Undo)));
    });
    [open, all]
}

fn tip() -> MarkRef {
    MarkRef { kind: MarkKind::Tip, index: 0 }
}

fn place_of(state: &State) -> Point {
    let shot = state.editor.document.as_ref().and_then(|document| document.shot());
    shot.and_then(|shot| shot.marks.point(tip())).expect("a tip")
}

/// The tip's place, so that a step that changed nothing is not timed.
fn moved(state: &State, from: Point) {
    assert!(place_of(state).distance(from) > 1e-6, "the mark has moved");
}

fn marks(state: &mut State, command: MarksCommand) -> Vec<Effect> {
    update(state, Command::Marks(command))
}

/// A drag's step, a nudge, and letting go after a drag, in microseconds.
fn edits(case: &Case, id: &str) -> [f64; 3] {
    let offset = |i: u32| Vec2::new(0.01 * f64::from(i % 37), -0.013 * f64::from(i % 29) + 0.001);
    let mut state = opened(case.clone(), id);
    let from = place_of(&state);
    marks(&mut state, MarksCommand::Grab(tip(), from));
    let drag = mean_us(STEPS, |i| {
        black_box(marks(&mut state, MarksCommand::Drag(from + offset(i))));
    });
    moved(&state, from);
    marks(&mut state, MarksCommand::Release);

    let mut state = opened(case.clone(), id);
    marks(&mut state, MarksCommand::TakeMark(tip()));
    let from = place_of(&state);
    let nudge = mean_us(STEPS, |i| {
        let way = if i % 3 == 2 { Way::Left } else { Way::Right };
        black_box(marks(&mut state, MarksCommand::Nudge(way, Stride::Fine)));
    });
    moved(&state, from);

    // A release cannot be repeated by itself: a whole gesture less its other steps.
    let mut state = opened(case.clone(), id);
    let gesture = mean_us(STEPS, |i| {
        let at = place_of(&state);
        marks(&mut state, MarksCommand::Grab(tip(), at));
        marks(&mut state, MarksCommand::Drag(from + offset(i + 1)));
        black_box(marks(&mut state, MarksCommand::Release));
    });
    let grab = mean_us(STEPS, |_| {
        let at = place_of(&state);
        marks(&mut state, MarksCommand::Grab(tip(), at));
    });
    [drag, nudge, (gesture - grab - drag).max(0.0)]
}

fn input<'a>(shot: &'a Shot, settings: &'a Settings) -> ShotInput<'a> {
    ShotInput {
        side: shot.side,
        stage: shot.stage,
        mm_per_px: shot.mm_per_px,
        ..of(shot.view, &shot.marks, settings)
    }
}

fn of<'a>(view: View, marks: &'a Marks, settings: &'a Settings) -> ShotInput<'a> {
    ShotInput {
        view,
        marks,
        side: Some(Side::Right),
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(0.31),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: stillmark::measure::true_view::known::Known::NOTHING,
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    }
}

fn main() {
    let settings = Settings::default();
    let mut lines = Vec::new();
    let mut dearest =
        |name: &str, shots: usize, us: f64| lines.push(format!("{name} shots={shots} cpu_us={us:.1}"));
    let ids = ["l4-right-lateral-final", "l4-right-ap-final", "l4-right-pedicle-docking"];
    for shots in [21, 200] {
        let case = case_of(shots);
        let mut most = [0.0_f64; 3];
        for id in ids.into_iter().filter(|id| case.shot(id).is_some()) {
            let found = edits(&case, id);
            println!(
                "{id} of {} shots: drag {:.0}, nudge {:.0}, release {:.0} µs",
                case.shots.len(),
                found[0],
                found[1],
                found[2]
            );
            most = [0, 1, 2].map(|i| most[i].max(found[i]));
        }
        for (name, us) in ["drag", "nudge", "release"].into_iter().zip(most) {
            dearest(name, shots, us);
        }
        for (name, us) in ["open", "all"].into_iter().zip(all_at_once(&case)) {
            dearest(name, shots, us);
        }
    }
    let case = demonstration().case;
    let find = |id: &str| case.shot(id).expect("a shot of the demonstration");
    let (lateral, ap) = (input(find(ids[0]), &settings), input(find(ids[1]), &settings));
    dearest(
        "pair",
        1,
        mean_us(20 * STEPS, |_| {
            black_box(read_pair(black_box(&lateral), black_box(&ap)));
        }),
    );
    for (name, marks) in [("lateral14", curved()), ("lateral5", straight())] {
        let shot = of(View::Lateral, &marks, &settings);
        dearest(
            name,
            1,
            mean_us(100 * STEPS, |_| {
                black_box(read_lateral(black_box(&shot)));
            }),
        );
    }
    // Not a mean but the whole: as many readings as 10,000 cases of eight marked shots have.
    let eight = eight_marked(&case);
    dearest(
        "series",
        SERIES_CASES as usize * eight.shots.len(),
        f64::from(SERIES_CASES)
            * mean_us(SERIES_CASES, |_| {
                black_box(read_case(black_box(&eight), |_| Picture::NotLookedAt, None));
            }),
    );
    for line in &lines {
        println!("{line}");
    }
}

/// A case of eight shots with marks, from the demonstration.
fn eight_marked(case: &Case) -> Case {
    let mut eight = case.clone();
    eight.shots.retain(|shot| !shot.marks.is_empty());
    eight.shots.truncate(8);
    assert_eq!(eight.shots.len(), 8, "the demonstration has eight marked shots");
    eight
}
