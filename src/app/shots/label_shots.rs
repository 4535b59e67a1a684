//! The keys that say what the chosen shots show, while sorting.

use crate::app::command::Command;
use crate::app::command::key::{Key, Shortcut};
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::case::document::edit::Description;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::scene::format;

/// Something that can be said of a shot with one key.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelKey {
    /// Its key.
    pub key: Shortcut,
    /// Its word, as on a button.
    pub word: String,
    /// What is said.
    pub what: ShotsCommand,
}

/// The name of the group that tells the view.
pub const VIEW_GROUP: &str = "View";

/// What can be said, in groups with their names.
#[must_use]
pub fn sayings() -> [(&'static str, Vec<LabelKey>); 5] {
    let saying = |key, word: String, what| LabelKey {
        key: Shortcut::plain(key),
        word,
        what: ShotsCommand::Describe(what),
    };
    let at_the_end = |key, word: &str, view| LabelKey {
        key: Shortcut::shift(key),
        word: word.to_owned(),
        what: ShotsCommand::Final(view),
    };
    // Up the spine from L1 the keys count on below 1.
    let thoracic = [(Key::Digit(9), "T11"), (Key::Digit(0), "T12")];
    let thoracic = thoracic.into_iter().filter_map(|(key, name)| Some((key, Level::from_name(name)?)));
    let levels = [Level::L1, Level::L2, Level::L3, Level::L4, Level::L5, Level::S1];
    let level_keys = [1, 2, 3, 4, 5].map(Key::Digit).into_iter().chain([Key::Letter('S')]);
    let levels = thoracic.chain(level_keys.zip(levels));
    let sides = [(Side::Right, 'R'), (Side::Left, 'L')];
    let views = [(View::Lateral, 'E'), (View::Ap, 'A'), (View::Pedicle, 'P')];
    let stages = [
        (Stage::Docking, 'D'),
        (Stage::Pedicle, 'I'),
        (Stage::PosteriorWall, 'W'),
        (Stage::Stylet, 'Y'),
        (Stage::Final, 'F'),
    ];
    let letter = Key::Letter;
    [
        (
            "Level",
            levels.map(|(key, level)| saying(key, level.name(), Description::Level(Some(level)))).collect(),
        ),
        (
            "Side",
            sides
                .map(|(side, c)| {
                    saying(letter(c), format::side(side).to_owned(), Description::Side(Some(side)))
                })
                .into(),
        ),
        (
            VIEW_GROUP,
            views
                .map(|(view, c)| saying(letter(c), format::view(view).to_owned(), Description::View(view)))
                .into(),
        ),
        (
            "Stage",
            stages
                .map(|(stage, c)| {
                    saying(letter(c), format::stage(stage).to_owned(), Description::Stage(Some(stage)))
                })
                .into(),
        ),
        // The two shots that a case is read from, view and stage with one key.
        (
            "View and stage",
            vec![
                at_the_end(letter('E'), "final lateral", View::Lateral),
                at_the_end(letter('A'), "final AP", View::Ap),
            ],
        ),
    ]
}

/// The key that says this while shots are labeled, or while a shot's view is asked for.
#[must_use]
pub fn key_of(what: &ShotsCommand) -> Option<Shortcut> {
    said(|saying| saying.what == *what).map(|saying| saying.key)
}

fn said(fits: impl FnMut(&LabelKey) -> bool) -> Option<LabelKey> {
    sayings().into_iter().flat_map(|(_, all)| all).find(fits)
}

/// The command of a key on a shot whose view nobody has set: what can be said of the shot comes first, for its marks wait
/// for the view.
#[must_use]
pub fn of_open_view(pressed: Shortcut) -> Option<Command> {
    match said(|saying| saying.key == pressed) {
        Some(saying) => Some(Command::Shots(saying.what)),
        None => Command::of(pressed),
    }
}

/// The keys that go from shot to shot while sorting, beside those that always do.
pub const WALK: [(Shortcut, Command); 6] = [
    (Shortcut::plain(Key::Right), Command::Shots(ShotsCommand::Next)),
    (Shortcut::plain(Key::Left), Command::Shots(ShotsCommand::Previous)),
    (Shortcut::shift(Key::Right), Command::Shots(ShotsCommand::SelectNext)),
    (Shortcut::shift(Key::Left), Command::Shots(ShotsCommand::SelectPrevious)),
    (Shortcut::plain(Key::Escape), Command::Shots(ShotsCommand::Label)),
    (Shortcut::plain(Key::Enter), Command::Shots(ShotsCommand::Label)),
];

/// The command of a key while sorting. Keys of marks do nothing, so that no mark moves unseen.
#[must_use]
pub fn of(pressed: Shortcut) -> Option<Command> {
    if let Some((_, command)) = WALK.iter().find(|(key, _)| *key == pressed) {
        return Some(command.clone());
    }
    if let Some(saying) = said(|saying| saying.key == pressed) {
        return Some(Command::Shots(saying.what));
    }
    if pressed == Shortcut::plain(pressed.key)
        && matches!(pressed.key, Key::Letter(_) | Key::Digit(_) | Key::Backspace | Key::Delete)
    {
        return None;
    }
    Command::of(pressed).filter(|command| !matches!(command, Command::Marks(MarksCommand::Nudge(..))))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::app::command::case::CaseCommand;

    #[test]
    fn every_saying_has_a_key_of_its_own() {
        let all: Vec<LabelKey> = sayings().into_iter().flat_map(|(_, all)| all).collect();
        let keys: BTreeSet<Shortcut> = all.iter().map(|saying| saying.key).collect();
        assert_eq!((all.len(), keys.len()), (20, 20));
        for saying in all {
            assert_eq!(key_of(&saying.what), Some(saying.key));
            let command = Some(Command::Shots(saying.what));
            assert_eq!((of(saying.key), of_open_view(saying.key)), (command.clone(), command));
        }
    }

    /// A adds points to a border, F fits the image, S begins labeling: not before the view is set.
    #[test]
    fn while_the_view_is_asked_the_label_keys_come_first_and_other_keys_go_on() {
        let view = Command::Shots(ShotsCommand::Describe(Description::View(View::Ap)));
        assert_eq!(of_open_view(Shortcut::plain(Key::Letter('A'))), Some(view));
        let next = Command::Shots(ShotsCommand::Next);
        assert_eq!(of_open_view(Shortcut::plain(Key::PageDown)), Some(next));
    }

    #[test]
    fn marks_are_left_alone_and_the_rest_goes_on() {
        for key in [Key::Digit(7), Key::Letter('N'), Key::Up, Key::Delete] {
            assert_eq!(of(Shortcut::plain(key)), None, "{key}");
        }
        assert_eq!(of(Shortcut::plain(Key::PageDown)), Some(Command::Shots(ShotsCommand::Next)));
        assert_eq!(of(Shortcut::ctrl(Key::Letter('Z'))), Some(Command::Case(CaseCommand::Undo)));
        assert_eq!(of(Shortcut::plain(Key::Escape)), Some(Command::Shots(ShotsCommand::Label)));
    }
}
