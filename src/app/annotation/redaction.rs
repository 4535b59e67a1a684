//! Redaction: opaque boxes over text that was burned into an image, drawn, moved, suggested, refused.

use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::mode::{Mode, Tool};
use crate::app::session::notice::Weight;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::redaction::Cover;
use crate::case::image::burned_in::uncovered;
use crate::scene::format;

/// Begins or ends drawing redactions.
pub(crate) fn begin_or_end(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    match document.tool() {
        Tool::Redaction { .. } => document.back_to_marking(),
        Tool::Marks | Tool::Scale { .. } | Tool::Annotations | Tool::Straighten => {
            document.enter(Mode::Redacting { chosen: None })
        }
    }
}

/// Adds a redaction and selects it.
pub(crate) fn add(editor: &mut Editor, cover: Cover) {
    let Some(document) = &editor.document else { return };
    let mut covers = covers_of(document);
    covers.push(cover);
    let chosen = Some(covers.len() - 1);
    set_covers(editor, covers, chosen);
}

/// Puts a redaction elsewhere and selects it.
pub(crate) fn put(editor: &mut Editor, index: usize, cover: Cover) {
    let Some(document) = &editor.document else { return };
    let mut covers = covers_of(document);
    if let Some(place) = covers.get_mut(index) {
        *place = cover;
        set_covers(editor, covers, Some(index));
    }
}

/// Selects a redaction, or none.
pub(crate) fn select(editor: &mut Editor, chosen: Option<usize>) {
    if let Some(document) = &mut editor.document {
        document.enter(Mode::Redacting { chosen });
    }
}

/// Removes the selected redaction.
pub(crate) fn remove(editor: &mut Editor) {
    let Some(document) = &editor.document else { return };
    let mut covers = covers_of(document);
    if let Tool::Redaction { chosen: Some(index) } = document.tool()
        && index < covers.len()
    {
        covers.remove(index);
        set_covers(editor, covers, None);
    }
}

/// Redacts what looks like text in the shown shot, and says how much that was.
pub(crate) fn accept(editor: &mut Editor) {
    let more = proposed(editor);
    let Some(document) = &editor.document else { return };
    let mut covers = covers_of(document);
    let count = more.len();
    covers.extend(more);
    set_covers(editor, covers, None);
    let left = everywhere(editor).len();
    let further = match left {
        0 => String::new(),
        left => format!(" Text is also suggested in {}.", format::count(left, "other shot", "other shots")),
    };
    let words = format::count(count, "region", "regions");
    editor.say(Weight::Note, format!("{} redacted in this shot.{further}", capital(&words)));
}

/// The shots of the case in whose images text is suggested, with the suggested regions; of images that were not read yet
/// nothing is known.
#[must_use]
pub fn everywhere(editor: &Editor) -> Vec<(String, Vec<Cover>)> {
    let Some(document) = &editor.document else { return Vec::new() };
    let shots = document.case().shots.iter();
    shots
        .map(|shot| (shot.id.clone(), proposed_in(editor, shot)))
        .filter(|(_, all)| !all.is_empty())
        .collect()
}

/// Redacts what looks like text in all shots of the case, as one step back.
pub(crate) fn accept_everywhere(editor: &mut Editor) {
    let found = everywhere(editor);
    let Some(document) = &editor.document else { return };
    let (shots, regions) = (found.len(), found.iter().map(|(_, all)| all.len()).sum());
    let edit = |(id, more): (String, Vec<Cover>)| {
        let mut covers = document.case().shot(&id).map(|shot| shot.covers.clone()).unwrap_or_default();
        covers.extend(more);
        Edit::Describe { shot: id, what: Description::Covers(covers) }
    };
    let edits: Vec<Edit> = found.into_iter().map(edit).collect();
    apply(editor, &edits);
    let (regions, shots) =
        (format::count(regions, "region", "regions"), format::count(shots, "shot", "shots"));
    editor.say(Weight::Note, format!("{} redacted in {shots}.", capital(&regions)));
}

/// What looks like text in the shown shot is none.
pub(crate) fn refuse(editor: &mut Editor) {
    if let Some(document) = &mut editor.document {
        let shown = document.shown.clone();
        document.refused.extend(shown);
    }
}

/// Asks about burned-in text no more while the case is open.
pub(crate) fn later(editor: &mut Editor) {
    if let Some(document) = &mut editor.document {
        document.redact_later = true;
    }
}

/// Goes back to marking.
pub(crate) fn finish(editor: &mut Editor) {
    if let Some(document) = &mut editor.document {
        document.back_to_marking();
    }
}

/// What looks like words in the shown shot's picture and is neither covered nor refused.
#[must_use]
pub fn proposed(editor: &Editor) -> Vec<Cover> {
    editor.shot().map(|shot| proposed_in(editor, shot)).unwrap_or_default()
}

fn proposed_in(editor: &Editor, shot: &Shot) -> Vec<Cover> {
    if editor.document.as_ref().is_none_or(|document| document.refused.contains(&shot.id)) {
        return Vec::new();
    }
    let known = editor.key_of(shot).and_then(|key| editor.pictures.known.get(&key));
    known.map(|known| uncovered(&known.proposed, &shot.covers)).unwrap_or_default()
}

fn covers_of(document: &Document) -> Vec<Cover> {
    document.shot().map(|shot| shot.covers.clone()).unwrap_or_default()
}

fn set_covers(editor: &mut Editor, covers: Vec<Cover>, chosen: Option<usize>) {
    describe(editor, Description::Covers(covers));
    if let Some(document) = &mut editor.document
        && matches!(document.tool(), Tool::Redaction { .. })
    {
        document.enter(Mode::Redacting { chosen });
    }
}

pub(crate) fn describe(editor: &mut Editor, what: Description) {
    let Some(document) = &mut editor.document else { return };
    let Some(shot) = document.shown.clone() else { return };
    if let Err(error) = document.apply(&Edit::Describe { shot, what }) {
        editor.say(Weight::Trouble, capital(&format!("{error}.")));
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::annotations::AnnotationsCommand;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::marking::guide::{Step, StepPart};
    use crate::app::session::state::State;
    use crate::app::session::update::update as run;
    use crate::case::document::{Case, Shot};
    use crate::geom::point::Point;
    use crate::measure::calibration::ScaleFrom;
    use crate::measure::mark::{MarkKind, View};

    fn state() -> State {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State::of(document)
    }

    fn shot(state: &State) -> &Shot {
        state.editor.document.as_ref().unwrap().shot().unwrap()
    }

    fn a_box(x: f64) -> Cover {
        Cover::between(Point::new(x, 0.0), Point::new(x + 10.0, 5.0)).unwrap()
    }

    #[test]
    fn covers_are_drawn_moved_removed_and_each_is_one_step_back() {
        let mut state = state();
        run(&mut state, Command::Annotations(AnnotationsCommand::Redact));
        run(&mut state, Command::Annotations(AnnotationsCommand::AddRedaction(a_box(0.0))));
        run(&mut state, Command::Annotations(AnnotationsCommand::AddRedaction(a_box(20.0))));
        run(&mut state, Command::Annotations(AnnotationsCommand::MoveRedaction(0, a_box(3.0))));
        assert_eq!(shot(&state).covers, [a_box(3.0), a_box(20.0)]);
        run(&mut state, Command::Marks(MarksCommand::Remove));
        assert_eq!(shot(&state).covers, [a_box(20.0)], "the one that was moved is chosen");
        run(&mut state, Command::Case(CaseCommand::Undo));
        run(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(shot(&state).covers, [a_box(0.0), a_box(20.0)]);
        run(&mut state, Command::Marks(MarksCommand::PutDown));
        assert_eq!(state.editor.document.as_ref().unwrap().tool(), Tool::Marks);
    }

    #[test]
    fn a_known_width_becomes_the_scale_with_its_uncertainty() {
        let mut state = state();
        run(&mut state, Command::Annotations(AnnotationsCommand::Scale));
        run(
            &mut state,
            Command::Annotations(AnnotationsCommand::MarkLength(Point::new(0.0, 0.0), Point::new(10.0, 0.0))),
        );
        run(&mut state, Command::Annotations(AnnotationsCommand::SetLength { mm: 3.0, sd_mm: 0.0 }));
        let found = shot(&state);
        assert_eq!((found.mm_per_px, found.scale_from), (Some(0.3), Some(ScaleFrom::KnownLength)));
        // Two clicks of 0.25 mm across 3 mm, as in measure::calibration.
        assert!((found.mm_per_px_sd.unwrap() - 0.3 * 0.117_851_130_2).abs() < 1e-9);
        run(&mut state, Command::Annotations(AnnotationsCommand::SetLength { mm: -1.0, sd_mm: 0.0 }));
        assert_eq!(shot(&state).mm_per_px, Some(0.3));
        assert!(state.notices[0].text.contains("known length"));
    }

    #[test]
    fn taking_a_mark_in_hand_ends_drawing_covers() {
        let mut state = state();
        run(&mut state, Command::Annotations(AnnotationsCommand::Redact));
        let corner = Step { kind: MarkKind::SuperiorEndPlate, part: StepPart::First };
        run(&mut state, Command::Marks(MarksCommand::Take(corner)));
        assert_eq!(state.editor.document.as_ref().unwrap().tool(), Tool::Marks);
    }
}
