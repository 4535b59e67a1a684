//! When unsaved work is kept beside the case, in case the program ends before it is saved.

use crate::app::session::state::State;
use crate::app::work::effect::Effect;

/// Keeps unsaved work beside the case after each change, or lets it go once it is saved.
pub(crate) fn keep(state: &mut State, effects: &mut Vec<Effect>) {
    let Some(document) = &mut state.editor.document else { return };
    // A drag is kept once it has ended.
    if document.grabbed().is_some() {
        return;
    }
    if !document.unsaved() {
        if document.kept.take().is_some() {
            effects.push(Effect::Drop);
        }
        return;
    }
    if document.kept.as_ref() != Some(document.case()) {
        let case = document.case().clone();
        document.kept = Some(case.clone());
        let (file, seen) = (document.file.clone(), document.seen.clone());
        effects.push(Effect::Keep { case: Box::new(case), file, seen });
    }
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::file::FileCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::view::ViewCommand;
    use crate::app::session::outcome::tests::{case_of, opened, saves, seen};
    use crate::app::session::update::{receive, update};
    use crate::app::work::effect::Outcome;
    use crate::geom::point::Point;
    use crate::io::store::save::Over;

    #[test]
    fn unsaved_work_is_kept_after_every_change_and_dropped_once_saved() {
        let mut state = opened();
        let effects = update(&mut state, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
        assert!(effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })));
        let effects = update(&mut state, Command::View(ViewCommand::ZoomIn));
        assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })), "nothing changed");
        let effects = update(&mut state, Command::File(FileCommand::Save));
        assert_eq!(saves(&effects), [(Path::new("/x/a.case.json"), &Over::Seen(seen("1")))]);
        let case = case_of(&effects);
        let effects = receive(
            &mut state,
            Outcome::Saved {
                case,
                file: PathBuf::from("/x/a.case.json"),
                seen: seen("2"),
                at: "10:42".to_owned(),
            },
        );
        assert!(effects.contains(&Effect::Drop));
        assert!(!state.editor.document.as_ref().unwrap().unsaved());
    }
}
