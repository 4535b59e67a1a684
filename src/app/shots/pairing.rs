//! The partner of a shot in its matched pair: by order, or as the user says.

use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::plan::pairing::{pairs, refusal};
use crate::measure::mark::View;

/// How a shot came by its partner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paired {
    /// By level, side, stage and order.
    ByOrder,
    /// By hand.
    ByHand,
}

/// The shown shot's partner and how it came by it.
#[must_use]
pub fn partner(document: &Document) -> Option<(&Shot, Paired)> {
    let (index, shot) = (document.index()?, document.shot()?);
    let shots = &document.case().shots;
    let other = pairs(document.case()).into_iter().find_map(|(lateral, ap)| match index {
        i if i == lateral => Some(&shots[ap]),
        i if i == ap => Some(&shots[lateral]),
        _ => None,
    })?;
    let named = |a: &Shot, b: &Shot| a.pair_with.as_ref() == Some(&b.id);
    let how = if named(shot, other) || named(other, shot) { Paired::ByHand } else { Paired::ByOrder };
    Some((other, how))
}

/// The shots that a partner can be chosen from: those of the other view, the fitting ones first.
#[must_use]
pub fn candidates(document: &Document) -> Vec<(&Shot, bool)> {
    let Some(shot) = document.shot() else { return Vec::new() };
    let wanted = match shot.known_view() {
        Some(View::Lateral) => View::Ap,
        Some(View::Ap) => View::Lateral,
        Some(View::Pedicle) | None => return Vec::new(),
    };
    let others = document.case().shots.iter().filter(|other| other.shows(wanted));
    let mut all: Vec<(&Shot, bool)> =
        others.map(|other| (other, refusal(document.case(), shot, &other.id).is_none())).collect();
    all.sort_by_key(|(_, fits)| !fits);
    all
}

/// Pairs the shown shot with another one, or leaves it to the order. Earlier wishes of either shot end.
pub(crate) fn pair_with(editor: &mut Editor, wanted: Option<&str>) {
    let Some(document) = &editor.document else { return };
    let Some(shot) = document.shot() else { return };
    if let Some(sentence) = wanted.and_then(|id| refusal(document.case(), shot, id)) {
        editor.say(Weight::Trouble, capital(&sentence));
        return;
    }
    let set = |id: &str, to: Option<String>| Edit::Describe {
        shot: id.to_owned(),
        what: Description::PairWith(to),
    };
    let ends = |other: &Shot| {
        let with = other.pair_with.as_deref();
        other.id != shot.id
            && with.is_some()
            && (with == Some(shot.id.as_str()) || with == wanted || Some(other.id.as_str()) == wanted)
    };
    let mut edits: Vec<Edit> =
        document.case().shots.iter().filter(|other| ends(other)).map(|other| set(&other.id, None)).collect();
    edits.push(set(&shot.id, wanted.map(str::to_owned)));
    apply(editor, &edits);
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::session::state::State;
    use crate::app::session::update::update;
    use crate::case::document::Case;
    use crate::measure::mark::{Level, Side, Stage};

    fn state() -> State {
        let mut case = Case::default();
        for (id, view) in [("l1", View::Lateral), ("l2", View::Lateral), ("a1", View::Ap), ("a2", View::Ap)] {
            let mut shot = Shot::new(id, "x.png", view);
            shot.level = Some(Level::L4);
            shot.side = Some(Side::Right);
            shot.stage = Some(Stage::Final);
            case.shots.push(shot);
        }
        let mut far = Shot::new("a5", "x.png", View::Ap);
        far.level = Some(Level::L5);
        case.shots.push(far);
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State::of(document)
    }

    fn partner_of(state: &State) -> Option<(String, Paired)> {
        partner(state.editor.document.as_ref().unwrap()).map(|(shot, how)| (shot.id.clone(), how))
    }

    fn wish(state: &mut State, id: Option<&str>) {
        update(state, Command::Shots(ShotsCommand::PairWith(id.map(str::to_owned))));
    }

    #[test]
    fn a_partner_is_chosen_by_hand_and_given_back_to_the_order() {
        let mut state = state();
        assert_eq!(partner_of(&state), Some(("a1".to_owned(), Paired::ByOrder)));
        wish(&mut state, Some("a2"));
        assert_eq!(partner_of(&state), Some(("a2".to_owned(), Paired::ByHand)));
        // The other lateral wishes the same AP: the later wish stands.
        update(&mut state, Command::Shots(ShotsCommand::Show("l2".to_owned())));
        wish(&mut state, Some("a2"));
        assert_eq!(partner_of(&state), Some(("a2".to_owned(), Paired::ByHand)));
        // From the AP's side, too.
        update(&mut state, Command::Shots(ShotsCommand::Show("a2".to_owned())));
        assert_eq!(partner_of(&state), Some(("l2".to_owned(), Paired::ByHand)));
        wish(&mut state, None);
        assert_eq!(partner_of(&state), Some(("l2".to_owned(), Paired::ByOrder)));
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(partner_of(&state), Some(("l2".to_owned(), Paired::ByHand)));
    }

    #[test]
    fn a_pair_across_levels_is_refused_with_a_sentence() {
        let mut state = state();
        let all = candidates(state.editor.document.as_ref().unwrap());
        assert_eq!(
            all.iter().map(|(shot, fits)| (shot.id.as_str(), *fits)).collect::<Vec<_>>(),
            [("a1", true), ("a2", true), ("a5", false)]
        );
        wish(&mut state, Some("a5"));
        assert!(state.notices[0].text.contains("L4 and L5"), "{:?}", state.notices);
        assert_eq!(partner_of(&state), Some(("a1".to_owned(), Paired::ByOrder)));
        assert!(!state.editor.document.as_ref().unwrap().unsaved());
    }
}
