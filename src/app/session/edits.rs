//! Changes of the open case: several as one step back, and what follows a change that names the shown shot.

use crate::app::marking::guide::capital;
use crate::app::session::editor::Editor;
use crate::app::session::notice::Weight;
use crate::case::document::edit::{Description, Edit};
use crate::measure::mark::View;

/// Edits made together are one step back. Whether all of them could be made; one that cannot is told.
pub(crate) fn apply(editor: &mut Editor, edits: &[Edit]) -> bool {
    let Some(document) = &mut editor.document else { return false };
    // Pictures may arrive in the middle of a drag; what follows is not part of it.
    document.end_change();
    document.history.begin_gesture();
    let mut trouble = None;
    for edit in edits {
        if let Err(error) = document.apply(edit) {
            trouble = Some(error);
        }
    }
    document.history.end_gesture();
    let all = trouble.is_none();
    if let Some(error) = trouble {
        editor.say(Weight::Trouble, capital(&format!("{error}.")));
    }
    all
}

/// One edit; a shot that gets another name stays shown, and one that gets another view is asked for other marks.
pub(crate) fn describe(editor: &mut Editor, edit: Edit) {
    let renamed = match &edit {
        Edit::Describe { shot, what: Description::Id(id) } if shown(editor).as_ref() == Some(shot) => {
            Some(id.clone())
        }
        _ => None,
    };
    let viewed = matches!(&edit, Edit::Describe { what: Description::View(_), .. });
    let view_before = shown_view(editor);
    let Some(document) = &mut editor.document else { return };
    let before = document.shown.clone();
    // The shown shot keeps being shown under its new name.
    if let Some(id) = &renamed {
        document.shown = Some(id.clone());
        if let Some(old) = &before {
            document.choice.rename(old, id);
        }
        if let (Some(showing), Some(old)) =
            (before.as_ref().and_then(|old| document.showing.remove(old)), &before)
        {
            document.showing.insert(id.clone(), showing);
            if let Some(aspect) = document.aspects.remove(old) {
                document.aspects.insert(id.clone(), aspect);
            }
        }
    }
    if let Err(error) = document.apply(&edit) {
        document.shown = before;
        editor.say(Weight::Trouble, capital(&format!("{error}.")));
    } else if viewed {
        document.resume(None);
        // Another view shows its body elsewhere.
        if shown_view(editor) != view_before
            && let (Edit::Describe { shot, .. }, Some(document)) = (&edit, &mut editor.document)
        {
            document.showing.remove(shot);
        }
    }
}

fn shown_view(editor: &Editor) -> Option<View> {
    Some(editor.document.as_ref()?.shot()?.view)
}

fn shown(editor: &Editor) -> Option<String> {
    editor.document.as_ref()?.shown.clone()
}
