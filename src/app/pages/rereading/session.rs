//! A session of blind reading: one shot after the other apart from the case, under a number instead of its name, without its
//! marks. After every change the marks go into the case's round, never into its first marks.

use crate::app::marking::guide::capital;
use crate::app::pages::rereading::memory::RereadingSession;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::notice::{Notice, Weight};
use crate::app::session::state::State;
use crate::case::document::edit::Edit;
use crate::case::document::extra::Extra;
use crate::case::document::rereading::{Progress, Rereading};
use crate::case::document::{Case, Shot};
use crate::measure::mark::Marks;

/// Begins or resumes a round at its first shot that is still to be read.
pub(super) fn begin(state: &mut State, round: Rereading) {
    state.pages.rereading.session = None;
    show_next(state, round);
}

/// Shows the next shot that is still to be read, or ends the session.
fn show_next(state: &mut State, round: Rereading) {
    let Some(document) = &mut state.editor.document else { return };
    document.history.end_gesture();
    let case = document.case();
    let open = |i: &usize| {
        let reading = &round.readings[*i];
        reading.progress == Progress::Open && case.shot(&reading.shot).is_some()
    };
    let Some(at) = (0..round.readings.len()).find(open) else {
        let done = round.done();
        state.pages.rereading.session = None;
        state.say(
            Weight::Note,
            format!("Session {} of {} is complete: {done} read.", round.round, round.operator),
        );
        return;
    };
    let reading = &round.readings[at];
    let Some(shot) = case.shot(&reading.shot) else { return };
    let aspect = document.aspects.get(&shot.id).copied();
    let copy = working_copy(case, shot, at, &reading.marks);
    let mut inner = Document::recovered(copy.clone(), copy, document.file.clone(), None);
    if let (Some(aspect), Some(id)) = (aspect, inner.shown.clone()) {
        inner.aspects.insert(id, aspect);
    }
    // All that is done to this shot is one step back.
    document.history.begin_gesture();
    let editor = Editor::blind(inner, &state.editor.pictures);
    state.pages.rereading.session = Some(RereadingSession { round, at, editor });
}

/// A case that holds nothing but this shot under a number, with the marks of this reading and without anything that
/// tells where the tip should be.
fn working_copy(case: &Case, shot: &Shot, at: usize, marks: &Marks) -> Case {
    let alone = Shot {
        id: (at + 1).to_string(),
        stage: None,
        taken: None,
        pair_with: None,
        draft: false,
        labels: Vec::new(),
        marks: marks.clone(),
        extra: Extra::default(),
        marks_extra: Extra::default(),
        ..shot.clone()
    };
    Case {
        patient_right: case.patient_right,
        settings: case.settings.clone(),
        shots: vec![alone].into(),
        ..Case::default()
    }
}

/// Puts the marks of the session's image into the case's round; with `progress`, says how far the reading has come.
pub(super) fn keep(state: &mut State, progress: Option<Progress>) {
    let State { editor, pages, .. } = state;
    let Some(document) = &mut editor.document else { return };
    let Some(session) = &mut pages.rereading.session else { return };
    if session.editor.is_dragging() {
        return;
    }
    let mut round = session.round.clone();
    let Some(reading) = round.readings.get_mut(session.at) else { return };
    reading.marks = session.editor.marks();
    reading.progress = progress.unwrap_or(reading.progress);
    if round != session.round {
        match document.apply(&Edit::SetRereading(Box::new(round.clone()))) {
            Ok(()) => session.round = round,
            Err(error) => {
                let text = capital(&format!("{error}."));
                editor.said.push(Notice { weight: Weight::Trouble, text });
            }
        }
    }
    // Asked once for the case, whoever reads.
    let told = session.editor.document.as_ref().and_then(|document| document.case().patient_right);
    if let (Some(right), None) = (told, document.case().patient_right) {
        let _ = document.apply(&Edit::SetPatientRight(Some(right)));
    }
}

/// The shot has been read: on to the next. Nothing happens while a mark is missing without which there is no reading.
pub(super) fn next(state: &mut State) {
    if state.pages.rereading.session.as_ref().is_some_and(|session| session.editor.is_done()) {
        go_on(state, Progress::Done);
    }
}

/// The shot is left out of this round.
pub(super) fn skip(state: &mut State) {
    go_on(state, Progress::Skipped);
}

fn go_on(state: &mut State, progress: Progress) {
    if let Some(session) = &mut state.pages.rereading.session {
        session.editor.release();
    }
    keep(state, Some(progress));
    if let Some(session) = state.pages.rereading.session.take() {
        show_next(state, session.round);
    }
}

/// Ends the session; what was read is kept, and the round can be resumed.
pub(super) fn stop(state: &mut State) {
    if let Some(session) = &mut state.pages.rereading.session {
        session.editor.release();
        keep(state, None);
    }
    state.pages.rereading.session = None;
    if let Some(document) = &mut state.editor.document {
        document.history.end_gesture();
    }
}

/// Takes a round out of the case, as a step that can be taken back.
pub(super) fn forget(state: &mut State, operator: String, round: u32) {
    apply(&mut state.editor, &[Edit::RemoveRereading { operator, round }]);
}

/// A session whose round is no longer what it was ends.
pub(super) fn tidy(state: &mut State) {
    let Some(session) = &state.pages.rereading.session else { return };
    let round = &session.round;
    let kept = state.editor.document.as_ref().and_then(|d| d.case().rereading(&round.operator, round.round));
    if kept != Some(round) {
        state.pages.rereading.session = None;
    }
}
