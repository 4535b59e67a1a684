//! What is drawn on a picture beside its marks: covers over burned-in words, and a length that is known.

use crate::app::command::Command;
use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::state::{State, Weight};
use crate::case::document::edit::{Description, Edit};
use crate::case::document::redaction::Cover;
use crate::case::image::burned_in::uncovered;
use crate::case::image::offered_scale::Offer;
use crate::geom::point::Point;
use crate::measure::calibration::{Calibration, KnownLength};

/// What the pointer does on the picture instead of marking.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Aside {
    /// It marks.
    #[default]
    Nothing,
    /// It draws, moves and chooses covers.
    Covers {
        /// The cover that is chosen, by its place in the shot's list.
        chosen: Option<usize>,
    },
    /// It makes, moves and chooses labels; what is under way is with the document.
    Labels,
    /// It draws a line along something whose length is known.
    Length {
        /// The line, once there is one.
        ends: Option<[Point; 2]>,
    },
}

/// Carries commands on covers and scale out; gives others back.
pub(crate) fn update(state: &mut State, command: Command) -> Option<Command> {
    let Some(document) = state.document.as_mut() else { return Some(command) };
    match command {
        Command::Covers => {
            document.aside = match document.aside {
                Aside::Covers { .. } => Aside::Nothing,
                Aside::Nothing | Aside::Length { .. } | Aside::Labels => Aside::Covers { chosen: None },
            };
        }
        Command::Scale => {
            let ends = document.shot().and_then(|shot| shot.known_length).map(|known| known.ends);
            document.aside = match document.aside {
                Aside::Length { .. } => Aside::Nothing,
                Aside::Nothing | Aside::Covers { .. } | Aside::Labels => Aside::Length { ends },
            };
        }
        Command::AddCover(cover) => {
            let mut covers = covers_of(document);
            covers.push(cover);
            let chosen = Some(covers.len() - 1);
            set_covers(state, covers, chosen);
        }
        Command::MoveCover(index, cover) => {
            let mut covers = covers_of(document);
            if let Some(place) = covers.get_mut(index) {
                *place = cover;
                set_covers(state, covers, Some(index));
            }
        }
        Command::ChooseCover(chosen) => document.aside = Aside::Covers { chosen },
        Command::Remove if matches!(document.aside, Aside::Covers { .. }) => {
            let mut covers = covers_of(document);
            if let Aside::Covers { chosen: Some(index) } = document.aside
                && index < covers.len()
            {
                covers.remove(index);
                set_covers(state, covers, None);
            }
        }
        Command::AcceptCovers => {
            let more = proposed(state);
            if let Some(document) = &state.document {
                let mut covers = covers_of(document);
                covers.extend(more);
                set_covers(state, covers, None);
            }
        }
        Command::RefuseCovers => {
            let shown = document.shown.clone();
            document.refused.extend(shown);
        }
        Command::MarkLength(a, b) => document.aside = Aside::Length { ends: Some([a, b]) },
        Command::SetLength { mm, sd_mm } => {
            if let Aside::Length { ends: Some(ends) } = document.aside {
                let click = document.case().settings.metal_sd_mm;
                let scale = Calibration::of_known_length(KnownLength { ends, mm, sd_mm }, click);
                set_scale(state, scale);
            }
        }
        Command::UseFileScale => {
            let scale = offer(state).scale();
            if let Some(scale) = scale {
                set_scale(state, Ok(scale));
            }
        }
        Command::UseDetectorScale { magnification, sd } => {
            if let Offer::Detector { spacing_mm } | Offer::Magnified { spacing_mm, .. } = offer(state) {
                set_scale(state, Calibration::of_detector(spacing_mm, magnification, sd));
            }
        }
        Command::Millimetres => {
            document.mm = !document.mm;
            document.stale = true;
        }
        Command::PutDown if document.aside != Aside::Nothing => document.aside = Aside::Nothing,
        other => {
            // Whoever takes a mark in hand or goes to another shot has done with covers and lengths.
            let leaves = matches!(
                other,
                Command::Take(_)
                    | Command::TakeNumber(_)
                    | Command::TakeMark(_)
                    | Command::Grab(..)
                    | Command::AddPoints
                    | Command::AddPointsTo(_)
                    | Command::NextShot
                    | Command::PreviousShot
                    | Command::NextUnmarked
                    | Command::ShowShot(_)
            );
            match document.aside {
                Aside::Length { .. } if leaves => document.aside = Aside::Nothing,
                // Labels are looked through shot by shot, as covers are.
                Aside::Labels if leaves && !goes_on(&other) => document.aside = Aside::Nothing,
                // Covers are looked through shot by shot.
                Aside::Covers { .. } if leaves => {
                    document.aside =
                        if goes_on(&other) { Aside::Covers { chosen: None } } else { Aside::Nothing };
                }
                _ => {}
            }
            return Some(other);
        }
    }
    None
}

/// Whether a command only goes to another shot.
const fn goes_on(command: &Command) -> bool {
    matches!(command, Command::NextShot | Command::PreviousShot | Command::ShowShot(_))
}

/// What looks like words in the shown shot's picture and is neither covered nor refused.
#[must_use]
pub fn proposed(state: &State) -> Vec<Cover> {
    let Some(document) = &state.document else { return Vec::new() };
    let Some(shot) = document.shot().filter(|shot| !document.refused.contains(&shot.id)) else {
        return Vec::new();
    };
    let known = state.key_of(shot).and_then(|key| state.known.get(&key));
    known.map(|known| uncovered(&known.proposed, &shot.covers)).unwrap_or_default()
}

/// What the shown shot's file says of the scale.
#[must_use]
pub fn offer(state: &State) -> Offer {
    let known = state.shown_key().and_then(|key| state.known.get(&key));
    known.map_or(Offer::Nothing, |known| known.offer.clone())
}

fn covers_of(document: &Document) -> Vec<Cover> {
    document.shot().map(|shot| shot.covers.clone()).unwrap_or_default()
}

fn set_covers(state: &mut State, covers: Vec<Cover>, chosen: Option<usize>) {
    describe(state, Description::Covers(covers));
    if let Some(document) = &mut state.document
        && matches!(document.aside, Aside::Covers { .. })
    {
        document.aside = Aside::Covers { chosen };
    }
}

fn set_scale(state: &mut State, scale: Result<Calibration, &'static str>) {
    match scale {
        Ok(scale) => describe(state, Description::Scale(Some(scale))),
        Err(why) => state.say(Weight::Trouble, capital(&format!("{why}."))),
    }
}

fn describe(state: &mut State, what: Description) {
    let Some(document) = &mut state.document else { return };
    let Some(shot) = document.shown.clone() else { return };
    if let Err(error) = document.apply(&Edit::Describe { shot, what }) {
        state.say(Weight::Trouble, capital(&format!("{error}.")));
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::session::update::update as run;
    use crate::case::document::{Case, Shot};
    use crate::measure::calibration::ScaleFrom;
    use crate::measure::mark::View;

    fn state() -> State {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State { document: Some(document), ..State::default() }
    }

    fn shot(state: &State) -> &Shot {
        state.document.as_ref().unwrap().shot().unwrap()
    }

    fn a_box(x: f64) -> Cover {
        Cover::between(Point::new(x, 0.0), Point::new(x + 10.0, 5.0)).unwrap()
    }

    #[test]
    fn covers_are_drawn_moved_removed_and_each_is_one_step_back() {
        let mut state = state();
        run(&mut state, Command::Covers);
        run(&mut state, Command::AddCover(a_box(0.0)));
        run(&mut state, Command::AddCover(a_box(20.0)));
        run(&mut state, Command::MoveCover(0, a_box(3.0)));
        assert_eq!(shot(&state).covers, [a_box(3.0), a_box(20.0)]);
        run(&mut state, Command::Remove);
        assert_eq!(shot(&state).covers, [a_box(20.0)], "the one that was moved is chosen");
        run(&mut state, Command::Undo);
        run(&mut state, Command::Undo);
        assert_eq!(shot(&state).covers, [a_box(0.0), a_box(20.0)]);
        run(&mut state, Command::PutDown);
        assert_eq!(state.document.as_ref().unwrap().aside, Aside::Nothing);
    }

    #[test]
    fn a_known_width_becomes_the_scale_with_its_uncertainty() {
        let mut state = state();
        run(&mut state, Command::Scale);
        run(&mut state, Command::MarkLength(Point::new(0.0, 0.0), Point::new(10.0, 0.0)));
        run(&mut state, Command::SetLength { mm: 3.0, sd_mm: 0.0 });
        let found = shot(&state);
        assert_eq!((found.mm_per_px, found.scale_from), (Some(0.3), Some(ScaleFrom::KnownLength)));
        // Two clicks of 0.25 mm across 3 mm, as in measure::calibration.
        assert!((found.mm_per_px_sd.unwrap() - 0.3 * 0.117_851_130_2).abs() < 1e-9);
        run(&mut state, Command::SetLength { mm: -1.0, sd_mm: 0.0 });
        assert_eq!(shot(&state).mm_per_px, Some(0.3));
        assert!(state.notices[0].text.contains("known length"));
    }

    #[test]
    fn taking_a_mark_in_hand_ends_drawing_covers() {
        let mut state = state();
        run(&mut state, Command::Covers);
        run(&mut state, Command::TakeNumber(1));
        assert_eq!(state.document.as_ref().unwrap().aside, Aside::Nothing);
    }
}
