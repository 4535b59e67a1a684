//! What stands beside a reading of the shot it is of: which instrument its stage says, and whether another shot may be the
//! final one. Three out of three people who were given stills without names measured a stylet first, taken for the probe.

use crate::app::marking::next_mark::required_done;
use crate::case::document::{Case, Shot};
use crate::case::image::taken;
use crate::measure::mark::{Stage, View};
use crate::scene::format;

/// What is said of a shot that is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StageNote {
    /// One or two sentences.
    pub words: String,
    /// Whether it is a warning: another shot may be the one that is looked for.
    pub warns: bool,
}

/// What is said of a shot; `None` before its required marks are placed, and of an en face pedicle view, which is never
/// final.
#[must_use]
pub fn stage_note(case: &Case, shot: &Shot) -> Option<StageNote> {
    if !required_done(shot) || shot.draft || shot.view == View::Pedicle {
        return None;
    }
    let warning = |words: String| Some(StageNote { words, warns: true });
    let view = format::view(shot.view);
    match shot.stage {
        Some(Stage::Final) => {
            if let Some(later) = later(case, shot) {
                return warning(later);
            }
            let open = unlabeled(case, shot);
            if open > 0 && !is_last(case, shot) {
                let shots = format::count(open, "shot is", "shots are");
                return warning(format!(
                    "Final shot: measured at the probe’s tip. {shots} not fully labeled; one of them may be a later {view}."
                ));
            }
            Some(StageNote { words: "Final shot: measured at the probe’s tip.".to_owned(), warns: false })
        }
        Some(stage) => warning(format!("{}, not the probe’s. The final shot may differ.", instrument(stage))),
        None if case.shots.len() == 1 => None,
        None => warning(format!("This may not be the final {view}: no stage is set.")),
    }
}

/// The shot and its instrument, as its stage says.
const fn instrument(stage: Stage) -> &'static str {
    match stage {
        Stage::Docking => "Docking shot: measured at the needle’s tip",
        Stage::Pedicle => "Transpedicular shot: measured at the needle’s tip",
        Stage::PosteriorWall => "Posterior wall shot: measured at the needle’s tip",
        Stage::Stylet => "Stylet shot: measured at the stylet’s tip",
        Stage::Final => "Final shot: measured at the probe’s tip",
    }
}

/// Other shots that may show the same body in the same view; what nobody has set may be anything.
fn rivals<'a>(case: &'a Case, shot: &'a Shot) -> impl Iterator<Item = &'a Shot> {
    let may_be = |a: bool, b: bool| a || b;
    case.shots.iter().filter(move |other| {
        other.id != shot.id
            && may_be(!other.view_set, other.view == shot.view)
            && may_be(other.level.is_none() || shot.level.is_none(), other.level == shot.level)
            && may_be(other.side.is_none() || shot.side.is_none(), other.side == shot.side)
    })
}

/// How many of them nobody has labeled far enough to rule them out.
fn unlabeled(case: &Case, shot: &Shot) -> usize {
    rivals(case, shot).filter(|other| !other.view_set || other.stage.is_none()).count()
}

/// A sentence on a shot of the same view that was taken later than this final one.
fn later(case: &Case, shot: &Shot) -> Option<String> {
    let own = shot.taken.as_deref()?;
    let of_view = rivals(case, shot).filter(|other| other.view_set);
    let after: Vec<&Shot> = of_view.filter(|other| is_after(other, own)).collect();
    let times: Vec<Option<&str>> = after.iter().map(|other| other.taken.as_deref()).collect();
    let last = after.get(*taken::order(&times).last()?)?;
    let time = last.taken.as_deref().unwrap_or_default();
    let file = taken::is_file_time(own) || taken::is_file_time(time);
    let word = if file { "saved" } else { "taken" };
    let view = format::view(shot.view);
    Some(format!(
        "Final shot, but the {view} “{}” was {word} later. Check which of the two is final.",
        last.id
    ))
}

/// Whether the shot's time is after this one; times that were only copied together tell nothing.
fn is_after(shot: &Shot, time: &str) -> bool {
    let Some(other) = shot.taken.as_deref().filter(|words| taken::when(words).is_some()) else {
        return false;
    };
    !taken::tell_nothing(&[Some(time), Some(other)]) && taken::order(&[Some(other), Some(time)]) == [1, 0]
}

/// Whether times of the shots themselves say that none of the others came later.
fn is_last(case: &Case, shot: &Shot) -> bool {
    let Some(own) = shot.taken.as_deref().filter(|words| !taken::is_file_time(words)) else { return false };
    rivals(case, shot).all(|other| {
        let time = other.taken.as_deref().filter(|words| !taken::is_file_time(words));
        time.is_some_and(|time| taken::when(time).is_some() && !is_after(other, own))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, MarkKind, Side};

    /// Words that tell no time are not later, and of several later shots there is always a last one, also where some
    /// have a date and some have none.
    #[test]
    fn only_what_tells_a_time_is_later() {
        let of = |times: &[&str]| {
            let shots =
                times.iter().enumerate().map(|(i, time)| shot(&format!("s{i}"), Some(Stage::Final), time));
            let case = Case { shots: shots.collect::<Vec<_>>().into(), ..Case::default() };
            later(&case, case.shots.first().expect("a shot"))
        };
        assert_eq!(of(&["10:42", "second pass"]), None);
        assert!(of(&["10:42", "10:43", "10:45", "10:44"]).is_some_and(|words| words.contains("“s2”")));
        assert!(of(&["00:30", "2026-02-03 23:00", "2026-02-04 01:00", "12:00"]).is_some());
    }

    fn shot(id: &str, stage: Option<Stage>, time: &str) -> Shot {
        let mut shot = Shot::new(id, "a.png", View::Lateral);
        (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), stage);
        shot.taken = (!time.is_empty()).then(|| time.to_owned());
        shot.marks = shot
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(351.0, 358.0)]);
        shot
    }

    fn note(shots: &[Shot]) -> Option<StageNote> {
        let case = Case { shots: shots.to_vec().into(), ..Case::default() };
        stage_note(&case, &shots[0])
    }

    fn words(shots: &[Shot]) -> (String, bool) {
        note(shots).map(|note| (note.words, note.warns)).unwrap()
    }

    #[test]
    fn a_stylet_shot_is_called_one_and_warns_of_the_final_shot() {
        let (said, warns) = words(&[shot("a", Some(Stage::Stylet), "")]);
        assert_eq!(
            said,
            "Stylet shot: measured at the stylet’s tip, not the probe’s. The final shot may differ."
        );
        assert!(warns);
        let (said, warns) = words(&[shot("a", None, ""), shot("b", None, "")]);
        assert!(warns && said.contains("no stage is set"), "{said}");
        assert_eq!(note(&[shot("a", None, "")]), None, "a single still is the only one there is");
    }

    #[test]
    fn a_final_shot_says_so_and_a_later_one_of_the_body_is_named() {
        let last = Some(Stage::Final);
        let stylet = |time: &str| shot("b", Some(Stage::Stylet), time);
        assert_eq!(
            words(&[shot("a", last, ""), stylet("")]),
            ("Final shot: measured at the probe’s tip.".to_owned(), false)
        );
        assert!(!words(&[shot("a", last, "10:42"), stylet("10:40")]).1);
        let (said, warns) = words(&[shot("a", last, "10:42"), stylet("10:45")]);
        assert!(warns && said.contains("“b” was taken later"), "{said}");
        let file = |minute| format!("file time 2026-02-03 10:{minute}:00 UTC");
        let (said, _) = words(&[shot("a", last, &file(42)), stylet(&file(45))]);
        assert!(said.contains("“b” was saved later"), "{said}");
        let mut other = stylet("10:45");
        other.level = Some(Level::L5);
        assert!(!words(&[shot("a", last, "10:42"), other]).1, "another body");
        let mut ap = stylet("10:45");
        ap.view = View::Ap;
        assert!(!words(&[shot("a", last, "10:42"), ap]).1, "another view");
    }

    #[test]
    fn shots_that_nobody_has_labeled_may_be_later_unless_their_times_say_otherwise() {
        let open = |time: &str| {
            let mut shot = shot("b", None, time).with_view_open();
            (shot.level, shot.side) = (None, None);
            shot
        };
        let last = Some(Stage::Final);
        let (said, warns) = words(&[shot("a", last, ""), open("")]);
        assert!(warns && said.contains("1 shot is not fully labeled"), "{said}");
        assert!(!words(&[shot("a", last, "10:42"), open("10:40")]).1);
        let file = "file time 2026-02-03 10:40:00 UTC";
        assert!(words(&[shot("a", last, "10:42"), open(file)]).1, "a file's time is no proof");
    }

    #[test]
    fn nothing_is_said_before_a_shot_is_read() {
        let mut draft = shot("a", None, "");
        draft.draft = true;
        assert_eq!(note(&[draft, shot("b", None, "")]), None);
        let bare = Shot::new("a", "a.png", View::Lateral);
        assert_eq!(note(&[bare, shot("b", None, "")]), None);
    }
}
