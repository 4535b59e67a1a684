//! Listing and selecting shots, and what is done to all selected ones at once.

use crate::app::files::add_images;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::mode::Mode;
use crate::app::session::notice::Weight;
use crate::app::shots::selection::{Pick, Scope};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::image::taken;
use crate::case::plan::{is_to_sort, with_disc_switched};
use crate::measure::mark::{Level, View};

impl Document {
    /// What the rows list: as the user has said, else what the shown shot belongs to.
    #[must_use]
    pub fn scope(&self) -> Scope {
        if self.is_labeling() {
            return Scope::All;
        }
        let of_shown = || match self.shot() {
            None => Scope::All,
            Some(Shot { level: Some(level), side: Some(side), view_set: true, .. }) => {
                Scope::Body(*level, *side)
            }
            Some(_) => Scope::ToSort,
        };
        self.choice.scope.unwrap_or_else(of_shown)
    }

    /// The shots that the rows list, in the case's order, as places in its list.
    #[must_use]
    pub fn listed(&self) -> Vec<usize> {
        let scope = self.scope();
        let belongs = |shot: &Shot| match scope {
            Scope::All => true,
            Scope::ToSort => is_to_sort(shot),
            Scope::Body(level, side) => (shot.level, shot.side) == (Some(level), Some(side)) && shot.view_set,
        };
        let shots = self.case().shots.iter().enumerate();
        shots.filter(|(_, shot)| belongs(shot)).map(|(index, _)| index).collect()
    }

    /// The chosen shots in the case's order: the shown one and those beside it.
    #[must_use]
    pub fn chosen(&self) -> Vec<&Shot> {
        self.case().shots.iter().filter(|shot| self.is_chosen(&shot.id)).collect()
    }

    /// Whether a shot is chosen.
    #[must_use]
    pub fn is_chosen(&self, id: &str) -> bool {
        self.shown.as_deref() == Some(id) || self.choice.also.contains(id)
    }

    fn chosen_ids(&self) -> Vec<String> {
        self.chosen().into_iter().map(|shot| shot.id.clone()).collect()
    }
}

/// What is said of the shown shot above the picture goes for all chosen ones, if it can be the same for all.
///
/// # Errors
/// The edit as it was, where it goes for one shot or for the whole case.
pub(crate) fn for_all(editor: &Editor, edit: Edit) -> Result<Description, Edit> {
    let Some(document) = &editor.document else { return Err(edit) };
    match edit {
        Edit::Describe {
            shot,
            what:
                what @ (Description::Level(_)
                | Description::Side(_)
                | Description::View(_)
                | Description::Stage(_)),
        } if document.shown.as_ref() == Some(&shot) && goes_for_all(document, &what) => Ok(what),
        other => Err(other),
    }
}

/// Whether it goes for more than the shown shot, or answers the question for its view.
fn goes_for_all(document: &Document, what: &Description) -> bool {
    !document.choice.also.is_empty() || (matches!(what, Description::View(_)) && document.asks_for_view())
}

/// Selects every listed shot.
pub(crate) fn choose_all(editor: &mut Editor) {
    if let Some(document) = &mut editor.document {
        let all = document.listed().into_iter().map(|i| document.case().shots[i].id.clone());
        document.choice.also = all.collect();
    }
}

pub(crate) fn show_rows(editor: &mut Editor, scope: Scope) {
    let Some(document) = &mut editor.document else { return };
    document.choice.also.clear();
    if document.is_labeling() && scope != Scope::All {
        leave_sorting(document);
    }
    document.choice.scope = Some(scope);
    let listed = document.listed();
    if document.index().is_some_and(|shown| listed.contains(&shown)) {
        return;
    }
    if let Some(&first) = listed.first() {
        let id = document.case().shots[first].id.clone();
        document.show(&id);
        // What was asked for stays, whatever the shot belongs to.
        document.choice.scope = Some(scope);
    }
}

pub(crate) fn choose(editor: &mut Editor, id: &str, pick: Pick) {
    let Some(document) = &mut editor.document else { return };
    match pick {
        Pick::Toggle if document.shown.as_deref() == Some(id) => {}
        Pick::Toggle => {
            if !document.choice.also.remove(id) {
                document.choice.also.insert(id.to_owned());
            }
        }
        Pick::Through => choose_through(document, id),
    }
}

/// Chooses everything listed from the shown shot to this one.
fn choose_through(document: &mut Document, id: &str) {
    let listed = document.listed();
    let place = |id: &str| listed.iter().position(|&i| document.case().shots[i].id == id);
    let (Some(a), Some(b)) = (document.shown.as_deref().and_then(place), place(id)) else { return };
    let range = &listed[a.min(b)..=a.max(b)];
    let also = range.iter().map(|&i| document.case().shots[i].id.clone()).collect();
    document.choice.also = also;
    document.choice.end = Some(id.to_owned());
}

/// Takes one more shot in, or one less, at the far end of the chosen ones.
pub(crate) fn reach(editor: &mut Editor, by: isize) {
    let Some(document) = &mut editor.document else { return };
    if let Some(id) = reached(document, by) {
        choose_through(document, &id);
    }
}

/// The listed shot next to the far end of the chosen ones.
#[must_use]
pub fn reached(document: &Document, by: isize) -> Option<String> {
    let listed = document.listed();
    let end = document.choice.end.as_deref().or(document.shown.as_deref());
    let place = listed.iter().position(|&i| Some(document.case().shots[i].id.as_str()) == end)?;
    let next = listed.get(place.checked_add_signed(by)?)?;
    Some(document.case().shots[*next].id.clone())
}

pub(crate) fn sort(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    if document.is_labeling() {
        leave_sorting(document);
    } else {
        document.enter(Mode::Labeling);
        document.crosshair = None;
    }
}

/// The list stays as it is, so that nothing moves under the pointer; another shot or a click on a list changes it.
fn leave_sorting(document: &mut Document) {
    document.choice.also.clear();
    document.choice.scope = Some(Scope::All);
    document.back_to_marking();
}

/// Ends labeling by itself once a case of one shot has all that is set by keys: there is nothing more to label.
fn end_of_labeling(document: &mut Document) {
    let all_set = document.shot().is_some_and(|shot| {
        shot.level.is_some() && shot.side.is_some() && shot.stage.is_some() && shot.view_set
    });
    if document.is_labeling() && all_set && document.case().shots.len() == 1 {
        leave_sorting(document);
        document.choice.scope = None;
    }
}

/// Says things of every chosen shot, as one step back.
pub(crate) fn say(editor: &mut Editor, what: &[Description]) {
    let Some(document) = &editor.document else { return };
    let ids = document.chosen_ids();
    let of = |shot: &String| what.iter().map(|what| (shot.clone(), what.clone())).collect::<Vec<_>>();
    let edits: Vec<Edit> =
        ids.iter().flat_map(of).map(|(shot, what)| Edit::Describe { shot, what }).collect();
    let views: Vec<Option<View>> = ids.iter().map(|id| view_of(document, id)).collect();
    apply(editor, &edits);
    let Some(document) = &mut editor.document else { return };
    // Another view asks for other marks, and shows its body elsewhere.
    if what.iter().any(|what| matches!(what, Description::View(_))) {
        for (id, before) in ids.iter().zip(views) {
            if view_of(document, id) != before {
                document.showing.remove(id);
            }
        }
        document.resume(None);
    }
    end_of_labeling(document);
}

fn view_of(document: &Document, id: &str) -> Option<View> {
    document.case().shot(id).map(|shot| shot.view)
}

pub(crate) fn switch_disc(editor: &mut Editor, above: Level) {
    let Some(document) = &editor.document else { return };
    if let Some(discs) = with_disc_switched(&document.case().discs, above) {
        apply(editor, &[Edit::SetDiscs(discs)]);
    }
}

pub(crate) fn order_by_time(editor: &mut Editor) {
    let Some(document) = &editor.document else { return };
    let shots = &document.case().shots;
    let times: Vec<Option<&str>> = shots.iter().map(|shot| shot.taken.as_deref()).collect();
    let order = taken::order(&times);
    let edits: Vec<Edit> =
        order.iter().enumerate().map(|(to, &i)| Edit::MoveShot { shot: shots[i].id.clone(), to }).collect();
    let moved = order.iter().enumerate().any(|(to, &i)| to != i);
    let words = add_images::times_words(&times);
    apply(editor, &edits);
    let what = if moved { "The shots are now" } else { "The shots are already" };
    editor.say(Weight::Note, format!("{what} in chronological order. {words}").trim().to_owned());
}

pub(crate) fn copy(editor: &mut Editor, made: fn(&crate::case::document::Case, &str) -> Option<Edit>) {
    let Some(document) = &editor.document else { return };
    let Some(edit) = document.shown.as_deref().and_then(|id| made(document.case(), id)) else { return };
    apply(editor, std::slice::from_ref(&edit));
    if let (Edit::AddShot { shot, .. }, Some(document)) = (edit, &mut editor.document) {
        document.show(&shot.id);
    }
}

pub(crate) fn remove(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    let gone = document.chosen_ids();
    // The shot behind those that go is shown next, else the one before them.
    let stays = |i: &usize| !gone.contains(&document.case().shots[*i].id);
    let here = document.index().unwrap_or(0);
    let next = (here..document.case().shots.len()).find(stays).or_else(|| (0..here).rev().find(stays));
    let next = next.map(|i| document.case().shots[i].id.clone());
    let edits: Vec<Edit> = gone.into_iter().map(|shot| Edit::RemoveShot { shot }).collect();
    if let Some(next) = next {
        document.show(&next);
    }
    apply(editor, &edits);
}

/// Moves the chosen shots one place earlier or later; those that stand at the end stay.
pub(crate) fn move_chosen(editor: &mut Editor, later: bool) {
    let Some(document) = &editor.document else { return };
    let shots = &document.case().shots;
    let mut order: Vec<usize> = (0..shots.len()).collect();
    let chosen: Vec<bool> = shots.iter().map(|shot| document.is_chosen(&shot.id)).collect();
    if later {
        for at in (1..order.len()).rev() {
            if chosen[order[at - 1]] && !chosen[order[at]] {
                order.swap(at - 1, at);
            }
        }
    } else {
        for at in 1..order.len() {
            if chosen[order[at]] && !chosen[order[at - 1]] {
                order.swap(at - 1, at);
            }
        }
    }
    let edits: Vec<Edit> =
        order.iter().enumerate().map(|(to, &i)| Edit::MoveShot { shot: shots[i].id.clone(), to }).collect();
    apply(editor, &edits);
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::command::view::ViewCommand;
    use crate::app::marking::prompt::prompt;
    use crate::app::session::mode::Hand;
    use crate::app::session::state::State;
    use crate::app::session::update::update;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::{MarkKind, Marks};
    use crate::measure::mark::{Side, Stage, View};

    fn state(names: &[&str]) -> State {
        let mut case = Case::default();
        for name in names {
            case.shots.push(Shot::new(*name, format!("{name}.png"), View::Lateral));
        }
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State::of(document)
    }

    fn document(state: &State) -> &Document {
        state.editor.document.as_ref().unwrap()
    }

    fn ids(state: &State) -> Vec<&str> {
        document(state).case().shots.iter().map(|shot| shot.id.as_str()).collect()
    }

    fn chosen(state: &State) -> Vec<&str> {
        document(state).chosen().into_iter().map(|shot| shot.id.as_str()).collect()
    }

    #[test]
    fn what_is_said_of_many_shots_is_one_step_back() {
        let mut state = state(&["a", "b", "c", "d"]);
        for command in [
            Command::Shots(ShotsCommand::Label),
            Command::Shots(ShotsCommand::SelectNext),
            Command::Shots(ShotsCommand::SelectNext),
        ] {
            update(&mut state, command);
        }
        assert_eq!(chosen(&state), ["a", "b", "c"]);
        update(&mut state, Command::Shots(ShotsCommand::Select("d".to_owned(), Pick::Toggle)));
        update(&mut state, Command::Shots(ShotsCommand::Select("b".to_owned(), Pick::Toggle)));
        assert_eq!(chosen(&state), ["a", "c", "d"]);
        update(&mut state, Command::Shots(ShotsCommand::Describe(Description::Level(Some(Level::L4)))));
        let levels = |state: &State| document(state).case().shots.iter().map(|s| s.level).collect::<Vec<_>>();
        let l4 = Some(Level::L4);
        assert_eq!(levels(&state), [l4, None, l4, l4]);
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(levels(&state), [None; 4]);
        assert!(!document(&state).unsaved());
    }

    #[test]
    fn what_is_said_above_the_picture_goes_for_all_chosen_shots() {
        let mut state = state(&["a", "b", "c"]);
        update(&mut state, Command::Shots(ShotsCommand::Select("c".to_owned(), Pick::Toggle)));
        let edit = |what| Command::Case(CaseCommand::Edit(Edit::Describe { shot: "a".to_owned(), what }));
        update(&mut state, edit(Description::View(View::Pedicle)));
        update(&mut state, edit(Description::Taken(Some("10:42".to_owned()))));
        let said: Vec<_> =
            document(&state).case().shots.iter().map(|s| (s.view, s.taken.is_some())).collect();
        let (lateral, pedicle) = (View::Lateral, View::Pedicle);
        assert_eq!(said, [(pedicle, true), (lateral, false), (pedicle, false)], "a time is each shot's own");
        let Hand::Next(step) = document(&state).hand() else { panic!("nothing is asked for") };
        assert_eq!(step.kind, MarkKind::Pedicle);
    }

    /// Nobody has said what the shots show: neither a click nor a key of marks does anything before that.
    #[test]
    fn before_the_view_is_set_no_mark_is_asked_for_and_the_question_is_named() {
        let mut state = state(&["a", "b"]);
        let document_of = |state: &mut State| state.editor.document.take().unwrap();
        let mut case = document_of(&mut state).case().clone();
        case.shots = case.shots.iter().cloned().map(Shot::with_view_open).collect::<Vec<_>>().into();
        state = State::of(Document::fresh(case));
        update(&mut state, Command::Shots(ShotsCommand::Next));
        assert_eq!(document(&state).hand(), Hand::Nothing);
        assert_eq!(prompt(document(&state)).sentence, "Which view is this?");
        for command in
            [MarksCommand::Place(Point::new(4.0, 4.0)), MarksCommand::AddPoints, MarksCommand::Skip]
        {
            update(&mut state, Command::Marks(command));
            assert!(state.refused.take().unwrap().starts_with("First set the view"));
        }
        assert!(document(&state).case().shots.iter().all(|shot| shot.marks.is_empty()));
        update(&mut state, Command::Shots(ShotsCommand::Describe(Description::View(View::Ap))));
        assert!(document(&state).hand().places());
    }

    #[test]
    fn a_final_lateral_is_said_with_one_key_and_taken_back_in_one_step() {
        let mut state = state(&["a", "b"]);
        update(&mut state, Command::Shots(ShotsCommand::SelectAll));
        update(&mut state, Command::Shots(ShotsCommand::Final(View::Ap)));
        let said = |state: &State| -> Vec<_> {
            document(state).case().shots.iter().map(|shot| (shot.view, shot.stage)).collect()
        };
        assert_eq!(said(&state), [(View::Ap, Some(Stage::Final)); 2]);
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(said(&state), [(View::Lateral, None); 2]);
    }

    /// What was seen of a lateral may lie off the body of an AP.
    #[test]
    fn another_view_is_shown_anew_and_the_same_one_stays() {
        let mut state = state(&["a"]);
        let zoomed = |state: &State| document(state).showing.contains_key("a");
        update(&mut state, Command::View(ViewCommand::ZoomIn));
        update(&mut state, Command::Shots(ShotsCommand::Describe(Description::View(View::Lateral))));
        assert!(zoomed(&state));
        update(&mut state, Command::Shots(ShotsCommand::Describe(Description::View(View::Ap))));
        assert!(!zoomed(&state));
        update(&mut state, Command::View(ViewCommand::ZoomIn));
        let what = Description::View(View::Lateral);
        update(&mut state, Command::Case(CaseCommand::Edit(Edit::Describe { shot: "a".to_owned(), what })));
        assert!(!zoomed(&state), "above the image, too");
    }

    #[test]
    fn home_and_end_show_the_ends_of_the_list() {
        let mut state = state(&["a", "b", "c"]);
        update(&mut state, Command::Shots(ShotsCommand::Last));
        assert_eq!(document(&state).shown.as_deref(), Some("c"));
        update(&mut state, Command::Shots(ShotsCommand::Last));
        assert_eq!(state.refused.as_deref(), Some("This is the last shot."));
        update(&mut state, Command::Shots(ShotsCommand::First));
        assert_eq!(document(&state).shown.as_deref(), Some("a"));
    }

    #[test]
    fn sorting_takes_no_mark_in_hand_until_it_ends() {
        let mut state = state(&["a", "b"]);
        assert!(document(&state).hand().places());
        for command in [
            Command::Shots(ShotsCommand::Label),
            Command::Shots(ShotsCommand::Next),
            Command::Shots(ShotsCommand::Describe(Description::View(View::Ap))),
        ] {
            update(&mut state, command);
            assert_eq!(document(&state).hand(), Hand::Nothing);
        }
        update(&mut state, Command::Shots(ShotsCommand::Label));
        assert!(document(&state).hand().places());
    }

    #[test]
    fn the_rows_follow_the_shown_shot_and_stay_where_they_are_told_to() {
        let mut state = state(&["a", "b"]);
        assert_eq!(document(&state).scope(), Scope::ToSort);
        for what in [
            Description::Level(Some(Level::L4)),
            Description::Side(Some(Side::Right)),
            Description::Stage(Some(Stage::Final)),
        ] {
            update(&mut state, Command::Shots(ShotsCommand::Describe(what)));
        }
        let l4 = Scope::Body(Level::L4, Side::Right);
        assert_eq!(document(&state).scope(), l4);
        update(&mut state, Command::Shots(ShotsCommand::List(Scope::ToSort)));
        assert_eq!(document(&state).shown.as_deref(), Some("b"));
        update(&mut state, Command::Shots(ShotsCommand::List(Scope::Body(Level::L5, Side::Left))));
        assert_eq!(document(&state).shown.as_deref(), Some("b"), "an empty body shows no other picture");
        assert!(document(&state).listed().is_empty());
        update(&mut state, Command::Shots(ShotsCommand::List(l4)));
        assert_eq!(document(&state).shown.as_deref(), Some("a"));
        update(&mut state, Command::Shots(ShotsCommand::List(Scope::All)));
        update(&mut state, Command::Shots(ShotsCommand::Next));
        assert_eq!(document(&state).scope(), Scope::All);
    }

    #[test]
    fn chosen_shots_move_and_go_together() {
        let mut state = state(&["a", "b", "c", "d"]);
        update(&mut state, Command::Shots(ShotsCommand::List(Scope::All)));
        update(&mut state, Command::Shots(ShotsCommand::SelectNext));
        update(&mut state, Command::Shots(ShotsCommand::Later));
        assert_eq!(ids(&state), ["c", "a", "b", "d"]);
        update(&mut state, Command::Shots(ShotsCommand::Earlier));
        update(&mut state, Command::Shots(ShotsCommand::Earlier));
        assert_eq!(ids(&state), ["a", "b", "c", "d"], "at the start they stay");
        update(&mut state, Command::Shots(ShotsCommand::Remove));
        assert_eq!((ids(&state), document(&state).shown.as_deref()), (vec!["c", "d"], Some("c")));
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(ids(&state), ["a", "b", "c", "d"]);
    }

    #[test]
    fn shots_are_ordered_by_time_in_one_step() {
        let mut state = state(&["a", "b", "c"]);
        for (id, time) in [("a", "10:03"), ("b", "10:01"), ("c", "10:02")] {
            let what = Description::Taken(Some(time.to_owned()));
            update(
                &mut state,
                Command::Case(CaseCommand::Edit(Edit::Describe { shot: id.to_owned(), what })),
            );
        }
        update(&mut state, Command::Shots(ShotsCommand::OrderByTime));
        assert_eq!(ids(&state), ["b", "c", "a"]);
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(ids(&state), ["a", "b", "c"]);
    }

    #[test]
    fn a_copy_is_shown_and_the_other_side_needs_a_side() {
        let mut state = state(&["a"]);
        let marks = Marks::new().with(MarkKind::Tip, &[(1.0, 1.0)]);
        update(&mut state, Command::Case(CaseCommand::Edit(Edit::SetMarks { shot: "a".to_owned(), marks })));
        update(&mut state, Command::Shots(ShotsCommand::Duplicate));
        assert_eq!(document(&state).shown.as_deref(), Some("a-copy"));
        assert_eq!(document(&state).shot().unwrap().marks.placed().count(), 1);
        assert!(!Command::Shots(ShotsCommand::DuplicateOtherSide).available(&state));
        update(&mut state, Command::Shots(ShotsCommand::Describe(Description::Side(Some(Side::Right)))));
        assert!(Command::Shots(ShotsCommand::DuplicateOtherSide).available(&state));
        update(&mut state, Command::Shots(ShotsCommand::DuplicateOtherSide));
        let shot = document(&state).shot().unwrap();
        assert_eq!((shot.id.as_str(), shot.side), ("a-copy-left", Some(Side::Left)));
    }

    #[test]
    fn a_disc_asks_for_its_bodies_and_can_be_taken_back() {
        let mut state = state(&[]);
        update(&mut state, Command::Case(CaseCommand::SwitchDisc(Level::L4)));
        assert_eq!(document(&state).case().discs, ["L4-L5"]);
        assert_eq!(document(&state).plan().bodies.len(), 2);
        update(&mut state, Command::Case(CaseCommand::SwitchDisc(Level::L4)));
        assert!(document(&state).case().discs.is_empty());
    }
}
