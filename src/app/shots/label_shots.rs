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
    pub key: Key,
    /// Its word, as on a button.
    pub word: String,
    /// What is said.
    pub what: Description,
}

/// The name of the group that tells the view.
pub const VIEW_GROUP: &str = "View";

/// What can be said, in groups with their names.
#[must_use]
pub fn sayings() -> [(&'static str, Vec<LabelKey>); 4] {
    let saying = |key, word: String, what| LabelKey { key, word, what };
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
    ]
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
    if !pressed.ctrl && !pressed.shift && !pressed.alt {
        let said = sayings().into_iter().flat_map(|(_, all)| all).find(|saying| saying.key == pressed.key);
        if let Some(saying) = said {
            return Some(Command::Shots(ShotsCommand::Describe(saying.what)));
        }
        if matches!(pressed.key, Key::Letter(_) | Key::Digit(_) | Key::Backspace | Key::Delete) {
            return None;
        }
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
        let keys: BTreeSet<Key> = all.iter().map(|saying| saying.key).collect();
        assert_eq!((all.len(), keys.len()), (18, 18));
        for saying in all {
            assert_eq!(
                of(Shortcut::plain(saying.key)),
                Some(Command::Shots(ShotsCommand::Describe(saying.what)))
            );
        }
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
