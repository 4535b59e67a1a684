//! Shots made of further frames of a shot's file.

use crate::case::document::edit::Edit;
use crate::case::document::extra::Extra;
use crate::case::document::proposed::ProposedMarks;
use crate::case::document::{Case, Shot};
use crate::measure::mark::Marks;

/// The edits that put a shot of each of these frames of a shot's file into the case, each behind the frame before it; a
/// frame that a shot of the case shows already is left out. The new shots say what that one says of body, view and scale,
/// and have no marks.
#[must_use]
pub fn frame_shots(case: &Case, id: &str, frames: &[u32]) -> Vec<Edit> {
    let Some(shot) = case.shot(id) else { return Vec::new() };
    let mut so_far = case.clone();
    let mut edits = Vec::new();
    for &frame in frames {
        let of_file = || so_far.shots.iter().enumerate().filter(|(_, other)| other.image == shot.image);
        if of_file().any(|(_, other)| other.frame == frame) {
            continue;
        }
        let before = of_file().filter(|(_, other)| other.frame < frame).max_by_key(|(_, other)| other.frame);
        let behind = of_file().filter(|(_, other)| other.frame > frame).min_by_key(|(_, other)| other.frame);
        let at = before.map(|(i, _)| i + 1).or(behind.map(|(i, _)| i)).unwrap_or(so_far.shots.len());
        let new = Shot {
            id: so_far.free_id(&format!("{}-frame-{}", shot.id, frame + 1)),
            frame,
            marks: Marks::new(),
            marks_extra: Extra::default(),
            labels: Vec::new(),
            draft: false,
            pair_with: None,
            cannot_tell: None,
            proposed: ProposedMarks::default(),
            ..shot.clone()
        };
        let edit = Edit::AddShot { at, shot: Box::new(new) };
        // The copy only keeps the ids apart.
        let _ = so_far.apply(&edit);
        edits.push(edit);
    }
    edits
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, View};

    fn frames(case: &Case) -> Vec<(String, u32)> {
        case.shots.iter().map(|shot| (shot.id.clone(), shot.frame)).collect()
    }

    #[test]
    fn frames_stand_in_their_order_around_the_shot_and_none_twice() {
        let mut shot = Shot::new("film", "film.gif", View::Lateral);
        (shot.frame, shot.level) = (4, Some(Level::L3));
        shot.marks_extra = Extra([("later_mark".to_owned(), "[[1.0, 2.0]]".to_owned())].into());
        shot.marks = Marks::new().with(crate::measure::mark::MarkKind::Tip, &[(1.0, 1.0)]);
        let other = Shot::new("other", "other.png", View::Ap);
        let mut case = Case { shots: vec![shot, other].into(), ..Case::default() };
        for edit in frame_shots(&case, "film", &[0, 2, 4, 6]) {
            case.apply(&edit).unwrap();
        }
        let named = |id: &str, frame| (id.to_owned(), frame);
        let expected = [
            named("film-frame-1", 0),
            named("film-frame-3", 2),
            named("film", 4),
            named("film-frame-7", 6),
            named("other", 0),
        ];
        assert_eq!(frames(&case), expected);
        assert!(case.shots.iter().all(|shot| shot.id == "film" || shot.marks_extra.0.is_empty()));
        assert!(case.shots[0].marks.is_empty() && case.shots[0].level == Some(Level::L3));
        assert_eq!(frame_shots(&case, "film", &[0, 2, 4, 6]), []);
        // More of them later stand between those that are there.
        for edit in frame_shots(&case, "film", &[1, 5, 9]) {
            case.apply(&edit).unwrap();
        }
        let order: Vec<u32> = case.shots.iter().map(|shot| shot.frame).collect();
        assert_eq!(order, [0, 1, 2, 4, 5, 6, 9, 0]);
        assert_eq!(frame_shots(&case, "nobody", &[0]), []);
    }
}
