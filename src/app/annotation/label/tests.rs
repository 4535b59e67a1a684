//! Labels without a window: every way of working on them, and each one step back.

use crate::app::command::Command;
use std::path::PathBuf;

use super::*;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::stride::{Stride, Way};
use crate::app::session::state::State;
use crate::app::session::update::update as run;
use crate::case::annotation::Label;
use crate::case::document::{Case, Shot};
use crate::measure::mark::{MarkKind, Marks, View};

fn state() -> State {
    let mut case = Case::default();
    for (id, x) in [("a", 100.0), ("b", 300.0)] {
        let mut shot = Shot::new(id, format!("{id}.png"), View::Lateral);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(x, 100.0), (x + 90.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(x, 160.0), (x + 90.0, 160.0)])
            .with(MarkKind::Tip, &[(x + 40.0, 130.0)]);
        case.shots.push(shot);
    }
    let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
    let mut state = State::of(document);
    ask(&mut state, LabelCommand::Begin);
    state
}

fn ask(state: &mut State, ask: LabelCommand) {
    run(state, Command::Annotations(AnnotationsCommand::Label(ask)));
}

fn labels(state: &State) -> Vec<Label> {
    state.editor.document.as_ref().unwrap().shot().unwrap().labels.clone()
}

fn work(state: &State) -> &LabelDraft {
    &state.editor.document.as_ref().unwrap().labelling
}

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// Undo in the middle of an angle once took back the label before it.
#[test]
fn each_point_of_a_label_under_way_is_one_step_back() {
    let mut state = state();
    run(&mut state, Command::Marks(MarksCommand::TakeNumber(2)));
    ask(&mut state, LabelCommand::At(p(10.0, 10.0)));
    ask(&mut state, LabelCommand::At(p(50.0, 50.0)));
    ask(&mut state, LabelCommand::Choose(None));
    ask(&mut state, LabelCommand::Kind(LabelKind::Angle));
    ask(&mut state, LabelCommand::At(p(20.0, 20.0)));
    ask(&mut state, LabelCommand::At(p(90.0, 20.0)));
    for left in [1, 0] {
        run(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!((work(&state).placed.len(), labels(&state).len()), (left, 1));
    }
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert!(labels(&state).is_empty());
}

#[test]
fn a_label_is_made_said_moved_and_each_is_one_step_back() {
    let mut state = state();
    run(&mut state, Command::Marks(MarksCommand::TakeNumber(2)));
    ask(&mut state, LabelCommand::At(p(10.0, 10.0)));
    assert!(labels(&state).is_empty(), "an arrow has two points");
    ask(&mut state, LabelCommand::At(p(50.0, 50.0)));
    assert_eq!(labels(&state), [Label::new(LabelKind::Arrow, vec![p(10.0, 10.0), p(50.0, 50.0)])]);
    assert_eq!(work(&state).primary(), Some(0));
    for words in ["t", "ti", "tip"] {
        ask(&mut state, LabelCommand::Say(0, words.to_owned()));
    }
    ask(&mut state, LabelCommand::Done);
    for _ in 0..3 {
        ask(&mut state, LabelCommand::Drag(0, Grip::Point(1), Vec2::new(2.0, 0.0)));
    }
    ask(&mut state, LabelCommand::Done);
    assert_eq!(labels(&state)[0].points()[1], p(56.0, 50.0));
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert_eq!((labels(&state)[0].points()[1], labels(&state)[0].text.as_str()), (p(50.0, 50.0), "tip"));
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert_eq!(labels(&state)[0].text, "");
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert!(labels(&state).is_empty() && work(&state).placed.is_empty());
    assert!(!state.editor.document.as_ref().unwrap().history.can_undo());
}

#[test]
fn everything_can_be_done_by_keys() {
    let mut state = state();
    run(&mut state, Command::Marks(MarksCommand::TakeNumber(4)));
    for _ in 0..4 {
        run(&mut state, Command::Marks(MarksCommand::Nudge(Way::Right, Stride::Ten)));
        assert!(
            crate::app::session::route::refusal(&state, &Command::Marks(MarksCommand::PlaceAtCrosshair))
                .is_none()
        );
        run(&mut state, Command::Marks(MarksCommand::PlaceAtCrosshair));
    }
    run(&mut state, Command::Marks(MarksCommand::Back));
    run(&mut state, Command::Marks(MarksCommand::PutDown));
    assert!(work(&state).placed.is_empty(), "the label under way is given up first");
    run(&mut state, Command::Marks(MarksCommand::TakeNumber(9)));
    run(&mut state, Command::Marks(MarksCommand::Nudge(Way::Right, Stride::One)));
    run(&mut state, Command::Marks(MarksCommand::PlaceAtCrosshair));
    let at = labels(&state)[0].points()[0];
    run(&mut state, Command::Marks(MarksCommand::Nudge(Way::Down, Stride::Ten)));
    run(&mut state, Command::Marks(MarksCommand::Nudge(Way::Down, Stride::Fine)));
    assert!(labels(&state)[0].points()[0].distance(p(at.x, at.y + 10.1)) < 1e-9);
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert_eq!(labels(&state)[0].points()[0], at, "a run of arrows is one step");
    run(&mut state, Command::Marks(MarksCommand::Skip));
    ask(&mut state, LabelCommand::NextGrip);
    assert_eq!(work(&state).grip, Grip::Point(0));
    run(&mut state, Command::Marks(MarksCommand::Remove));
    assert!(labels(&state).is_empty());
    run(&mut state, Command::Marks(MarksCommand::PutDown));
    assert_eq!(state.editor.document.as_ref().unwrap().tool(), Tool::Marks);
}

#[test]
fn labels_are_ordered_and_their_words_brought_in_line() {
    let mut state = state();
    for (x, words) in [(100.0, "first"), (400.0, "the second one"), (250.0, "third")] {
        ask(&mut state, LabelCommand::At(p(x, x)));
        let index = labels(&state).len() - 1;
        ask(&mut state, LabelCommand::Say(index, words.to_owned()));
    }
    ask(&mut state, LabelCommand::Earlier);
    let order: Vec<String> = labels(&state).iter().map(|label| label.text.clone()).collect();
    assert_eq!(order, ["first", "third", "the second one"]);
    assert_eq!(work(&state).primary(), Some(1), "what was moved stays chosen");
    run(&mut state, Command::Shots(ShotsCommand::SelectAll));
    ask(&mut state, LabelCommand::Align(PointedLine::Left));
    let boxes = drawn(&state.editor, state.editor.drawn(&state.display)).unwrap().boxes;
    let left: Vec<f64> = boxes.iter().map(|(_, rect)| rect.min.x).collect();
    assert!(left.iter().all(|x| (x - left[0]).abs() < 1e-6), "{left:?}");
    ask(&mut state, LabelCommand::FreeWords);
    assert!(labels(&state).iter().all(|label| label.text_at.is_none()));
    run(&mut state, Command::Case(CaseCommand::Undo));
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert!(labels(&state).iter().all(|label| label.text_at.is_none()), "all in line is one step");
}

/// A third of the depth and half of the height of the one body, on the other: 300 + 90 / 3, 130.
#[test]
fn labels_are_carried_to_the_same_place_of_another_body() {
    let mut state = state();
    ask(&mut state, LabelCommand::At(p(130.0, 130.0)));
    ask(&mut state, LabelCommand::Say(0, "posterior third".to_owned()));
    ask(&mut state, LabelCommand::CarryTo("b".to_owned()));
    let other = |state: &State| state.editor.document.as_ref().unwrap().case().shots[1].labels.clone();
    assert!(other(&state)[0].points()[0].distance(p(330.0, 130.0)) < 1e-8);
    assert!(state.notices[0].text.contains("1 annotation is on “b”"), "{:?}", state.notices);
    run(&mut state, Command::Case(CaseCommand::Undo));
    assert!(other(&state).is_empty() && labels(&state).len() == 1);
}

#[test]
fn a_press_takes_hold_of_points_words_and_lines() {
    let mut state = state();
    ask(&mut state, LabelCommand::Kind(LabelKind::Arrow));
    ask(&mut state, LabelCommand::At(p(100.0, 300.0)));
    ask(&mut state, LabelCommand::At(p(300.0, 300.0)));
    ask(&mut state, LabelCommand::Say(0, "here".to_owned()));
    let drawn = drawn(&state.editor, state.editor.drawn(&state.display)).unwrap();
    let shot = state.editor.document.as_ref().unwrap().shot().unwrap();
    let with = (state.editor.transform(), 8.0);
    let words = with.0.to_image(drawn.boxes[0].1.centre());
    let at = |place| grip::hit(shot, &drawn, None, place, with);
    assert_eq!(at(p(101.0, 300.0)), Some((0, Grip::Point(0))));
    assert_eq!(at(p(200.0, 303.0)), Some((0, Grip::Whole)));
    assert_eq!(at(words), Some((0, Grip::Words)));
    assert_eq!(at(p(200.0, 450.0)), None);
}

#[test]
fn marks_are_safe_while_labels_are_worked_on() {
    let mut state = state();
    let marks = state.editor.document.as_ref().unwrap().shot().unwrap().marks.clone();
    for command in [
        Command::Marks(MarksCommand::Remove),
        Command::Marks(MarksCommand::Nudge(Way::Up, Stride::Ten)),
        Command::Marks(MarksCommand::Back),
        Command::Marks(MarksCommand::TakeNumber(3)),
    ] {
        run(&mut state, command);
    }
    assert_eq!(state.editor.document.as_ref().unwrap().shot().unwrap().marks, marks);
    run(&mut state, Command::Shots(ShotsCommand::Next));
    assert_eq!(
        state.editor.document.as_ref().unwrap().tool(),
        Tool::Annotations,
        "labels are looked through shot by shot"
    );
    run(&mut state, Command::Annotations(AnnotationsCommand::Label(LabelCommand::Begin)));
    assert_eq!(state.editor.document.as_ref().unwrap().tool(), Tool::Marks);
}
