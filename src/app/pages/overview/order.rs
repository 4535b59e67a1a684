//! In which order shots are listed to find the final one: by view, in each by time, and what tells that time.

use crate::app::marking::guide::capital;
use crate::app::pages::overview::memory::ShotGroup;
use crate::case::document::{Case, Shot};
use crate::case::image::taken;
use crate::measure::mark::View;
use crate::scene::format;

/// What the order within a view goes by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OrderedBy {
    /// Every time is that of the shot itself.
    Acquisition,
    /// Some are only the times of files.
    FileTime,
    /// Nothing tells a time: the order of the case, for a folder that of the names.
    Names,
}

/// The shots by view, in each by time; those whose view nobody has set come last.
#[must_use]
pub fn sections(case: &Case) -> Vec<ShotGroup> {
    let views = View::ALL.map(Some).into_iter().chain([None]);
    let of = |view: Option<View>| {
        let shots: Vec<&Shot> = case.shots.iter().filter(|shot| shot.known_view() == view).collect();
        let order = taken::order(&times(&shots));
        ShotGroup { view, shots: order.into_iter().map(|i| shots[i].id.clone()).collect() }
    };
    views.map(of).filter(|section| !section.shots.is_empty()).collect()
}

fn times<'a>(shots: &[&'a Shot]) -> Vec<Option<&'a str>> {
    shots.iter().map(|shot| shot.taken.as_deref()).collect()
}

/// What tells the order of these shots.
#[must_use]
pub fn ordered_by(shots: &[&Shot]) -> OrderedBy {
    let times = times(shots);
    if taken::tell_nothing(&times) {
        OrderedBy::Names
    } else if times.iter().flatten().any(|words| taken::is_file_time(words)) {
        OrderedBy::FileTime
    } else {
        OrderedBy::Acquisition
    }
}

/// The heading of a section: its view, how many shots, and what their order goes by.
#[must_use]
pub fn heading(view: Option<View>, shots: &[&Shot]) -> String {
    let view = view.map_or_else(|| "View not set".to_owned(), |view| capital(format::view(view)));
    let order = match (shots.len(), ordered_by(shots)) {
        (0 | 1, _) => return format!("{view}: {}", shots.len()),
        (_, OrderedBy::Acquisition) => "in order of acquisition time",
        (_, OrderedBy::FileTime) => "in order of file time; copying can change it",
        (_, OrderedBy::Names) => "sorted by name; no time tells which came last",
    };
    format!("{view}: {}, {order}", shots.len())
}

/// Which of these shots came last, with the word for it; `None` where no time tells.
#[must_use]
pub fn last(shots: &[&Shot]) -> Option<(String, &'static str)> {
    let word = match ordered_by(shots) {
        OrderedBy::Acquisition => "last taken",
        OrderedBy::FileTime => "last saved",
        OrderedBy::Names => return None,
    };
    // One alone is no last one, and of two at the same time neither is.
    let timed: Vec<(&Shot, taken::When)> =
        shots.iter().filter_map(|shot| Some((*shot, taken::when(shot.taken.as_deref()?)?))).collect();
    let dated = timed.iter().all(|(_, when)| when.day.is_some());
    let key = |when: taken::When| (if dated { when.day } else { None }, when.ms);
    let latest = timed.iter().map(|(_, when)| key(*when)).max()?;
    let mut at_last = timed.iter().filter(|(_, when)| key(*when) == latest);
    let (shot, _) = at_last.next()?;
    (timed.len() > 1 && at_last.next().is_none()).then(|| (shot.id.clone(), word))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shot(id: &str, view: Option<View>, taken: &str) -> Shot {
        let mut shot = Shot::new(id, "a.png", view.unwrap_or(View::Lateral));
        shot.view_set = view.is_some();
        shot.taken = (!taken.is_empty()).then(|| taken.to_owned());
        shot
    }

    fn case(shots: Vec<Shot>) -> Case {
        Case { shots: shots.into(), ..Case::default() }
    }

    #[test]
    fn shots_stand_by_view_and_in_each_by_time() {
        let (lateral, ap) = (Some(View::Lateral), Some(View::Ap));
        let case = case(vec![
            shot("x", None, "10:00"),
            shot("late", lateral, "10:42:07"),
            shot("ap", ap, "10:41"),
            shot("early", lateral, "10:42:05"),
        ]);
        let of = |section: &ShotGroup| (section.view, section.shots.join(" "));
        let listed: Vec<_> = sections(&case).iter().map(of).collect();
        let said = |view, ids: &str| (view, ids.to_owned());
        assert_eq!(listed, [said(lateral, "early late"), said(ap, "ap"), said(None, "x")]);
    }

    /// Which shot came last is said only where a time tells, and file times are called what they are.
    #[test]
    fn the_last_shot_is_named_only_where_a_time_tells() {
        let lateral = Some(View::Lateral);
        let of = |times: [&str; 3]| {
            let shots: Vec<Shot> =
                ["a", "b", "c"].into_iter().zip(times).map(|(id, time)| shot(id, lateral, time)).collect();
            let shots: Vec<&Shot> = shots.iter().collect();
            (last(&shots), heading(lateral, &shots))
        };
        let (none, words) = of(["", "", ""]);
        assert_eq!(
            (none, words.as_str()),
            (None, "Lateral: 3, sorted by name; no time tells which came last")
        );
        let (found, words) = of(["10:42:05", "10:51", "10:43"]);
        assert_eq!(found, Some(("b".to_owned(), "last taken")));
        assert!(words.ends_with("acquisition time"), "{words}");
        let file = |second| format!("file time 2026-02-03 10:42:{second:02} UTC");
        let (found, words) = of([&file(1), &file(30), &file(9)]);
        assert_eq!(found, Some(("b".to_owned(), "last saved")));
        assert!(words.contains("copying can change it"), "{words}");
        assert_eq!(of([&file(1), &file(2), &file(2)]).0, None, "copied together");
        assert_eq!(of(["10:42", "10:42", "10:41"]).0, None, "two at the same time");
        // A shot after midnight comes after one before it where both have dates.
        let (found, _) = of(["2026-02-03 23:59", "2026-02-04 00:03", "2026-02-03 23:50"]);
        assert_eq!(found, Some(("b".to_owned(), "last taken")));
    }
}
