//! Undo and redo on a page: only what the page shows is changed, everything else is refused with a sentence.

use crate::app::command::refusal::Refusal;
use crate::app::marking::marks::step_in_time;
use crate::app::session::editor::Editor;
use crate::case::document::Shot;
use crate::case::document::shot_list::ShotList;

const UNSEEN: &str =
    "The last change concerns shots, which this page does not show. Go back to the image with Esc first.";

/// One step back or forth through the changes of the case; none, but the reason, where it would change a shot for which
/// `shows` does not hold.
pub(crate) fn step(editor: &mut Editor, forward: bool, shows: impl Fn(&str) -> bool) -> Option<Refusal> {
    let document = editor.document.as_mut()?;
    let before = document.case().shots.clone();
    step_in_time(document, forward);
    if !seen(&before, &document.case().shots, shows) {
        step_in_time(document, !forward);
        return Some(UNSEEN.into());
    }
    None
}

/// Whether all that changed is shown. Another order of the shots is shown nowhere but beside the image.
fn seen(before: &ShotList, after: &ShotList, shows: impl Fn(&str) -> bool) -> bool {
    let of = |shots: &ShotList, id: &str| shots.iter().position(|shot| shot.id == id);
    let changed = |from: &ShotList, to: &ShotList| {
        let other = |shot: &&Shot| of(to, &shot.id).is_none_or(|at| to[at] != **shot);
        from.iter().filter(other).all(|shot| shows(&shot.id))
    };
    let kept = |from: &ShotList, to: &ShotList| -> Vec<String> {
        from.iter().filter(|shot| of(to, &shot.id).is_some()).map(|shot| shot.id.clone()).collect()
    };
    changed(before, after) && changed(after, before) && kept(before, after) == kept(after, before)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{MarkKind, View};

    fn shot(id: &str, tip: bool) -> Shot {
        let mut shot = Shot::new(id, "a.png", View::Lateral);
        if tip {
            shot.marks = shot.marks.with(MarkKind::Tip, &[(1.0, 2.0)]);
        }
        shot
    }

    #[test]
    fn a_change_is_seen_where_every_changed_shot_is_shown() {
        let list = |shots: &[Shot]| ShotList::from(shots.to_vec());
        let before = list(&[shot("a", false), shot("b", false)]);
        let moved = list(&[shot("a", true), shot("b", false)]);
        let fewer = list(&[shot("a", false)]);
        assert!(seen(&before, &moved, |id| id == "a"));
        assert!(!seen(&before, &moved, |id| id == "b"));
        assert!(!seen(&before, &fewer, |id| id == "a") && seen(&before, &fewer, |id| id == "b"));
        let turned = list(&[shot("b", false), shot("a", false)]);
        assert!(!seen(&before, &turned, |_| true), "another order");
        assert!(seen(&before, &before, |_| false), "nothing changed");
    }
}
