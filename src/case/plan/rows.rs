//! The shots of one body and side whose view is set, as rows: one for each view, in the case's order, with matched pairs above each
//! other and a place for what is expected but not there.

use crate::case::document::Case;
use crate::case::plan::EXPECTED;
use crate::case::plan::pairing::pairs;
use crate::measure::mark::{Level, Side, Stage, View};

/// The rows from top to bottom.
pub const ROWS: [View; 3] = [View::Lateral, View::Ap, View::Pedicle];

/// One place of a row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RowPlace {
    /// Nothing belongs here.
    #[default]
    Nothing,
    /// A shot is expected here at the column's stage and is not there.
    Missing,
    /// A shot, by its place in the case's list.
    Shot(usize),
}

/// What was seen at one moment: a place of each row. Shots in one column are a matched pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MomentColumn {
    /// The stage; `None` where it is not said.
    pub stage: Option<Stage>,
    /// The places, in the order of [`ROWS`].
    pub places: [RowPlace; 3],
}

impl MomentColumn {
    /// The place in a view's row.
    #[must_use]
    pub const fn of(&self, view: View) -> RowPlace {
        self.places[row_of(view)]
    }
}

const fn row_of(view: View) -> usize {
    match view {
        View::Lateral => 0,
        View::Ap => 1,
        View::Pedicle => 2,
    }
}

/// The columns of the rows of a body and side, from the first moment to the last.
#[must_use]
pub fn rows(case: &Case, level: Level, side: Side) -> Vec<MomentColumn> {
    let pairs = pairs(case);
    let mut moments: Vec<MomentColumn> = Vec::new();
    let own = |index: &usize| {
        let shot = &case.shots[*index];
        (shot.level, shot.side) == (Some(level), Some(side)) && shot.view_set
    };
    let mut placed = vec![false; case.shots.len()];
    for index in (0..case.shots.len()).filter(own) {
        if placed[index] {
            continue;
        }
        let mut moment = MomentColumn { stage: case.shots[index].stage, places: [RowPlace::Nothing; 3] };
        let pair = pairs.iter().find(|&&(lateral, ap)| lateral == index || ap == index);
        let partner = pair.map(|&(lateral, ap)| if lateral == index { ap } else { lateral }).filter(own);
        for shot in partner.into_iter().chain([index]) {
            moment.places[row_of(case.shots[shot].view)] = RowPlace::Shot(shot);
            placed[shot] = true;
        }
        moments.push(moment);
    }
    for (stage, views) in EXPECTED {
        for &view in views {
            expect(&mut moments, stage, view);
        }
    }
    moments
}

/// Leaves a place free for a view at a stage, unless there is a shot of it: beside a shot of the same stage that
/// has no partner, else after the last moment of an earlier stage.
fn expect(moments: &mut Vec<MomentColumn>, stage: Stage, view: View) {
    let row = row_of(view);
    let at_stage = |moment: &&MomentColumn| moment.stage == Some(stage);
    if moments.iter().filter(at_stage).any(|moment| moment.places[row] != RowPlace::Nothing) {
        return;
    }
    if let Some(moment) = moments
        .iter_mut()
        .find(|moment| moment.stage == Some(stage) && moment.places[row] == RowPlace::Nothing)
    {
        moment.places[row] = RowPlace::Missing;
        return;
    }
    let before = moments.iter().rposition(|moment| moment.stage.is_some_and(|other| other < stage));
    let mut moment = MomentColumn { stage: Some(stage), places: [RowPlace::Nothing; 3] };
    moment.places[row] = RowPlace::Missing;
    moments.insert(before.map_or(0, |i| i + 1), moment);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Shot;

    const LEVEL: Level = Level::L4;

    fn case(shots: &[(View, Option<Stage>)]) -> Case {
        let mut case = Case::default();
        for (i, &(view, stage)) in shots.iter().enumerate() {
            let mut shot = Shot::new(format!("{i}"), "x.png", view);
            (shot.level, shot.side, shot.stage) = (Some(LEVEL), Some(Side::Right), stage);
            case.shots.push(shot);
        }
        case
    }

    fn of(shots: &[(View, Option<Stage>)]) -> Vec<(Option<Stage>, [RowPlace; 3])> {
        rows(&case(shots), LEVEL, Side::Right).into_iter().map(|m| (m.stage, m.places)).collect()
    }

    #[test]
    fn without_shots_everything_expected_is_missing() {
        use RowPlace::{Missing as M, Nothing as N};
        let expected = [[N, N, M], [M, M, N], [M, M, N], [M, M, N], [M, M, N]];
        let stages = Stage::ALL.map(Some);
        assert_eq!(of(&[]), stages.into_iter().zip(expected).collect::<Vec<_>>());
    }

    #[test]
    fn pairs_stand_above_each_other_and_missing_partners_beside_their_shot() {
        use RowPlace::{Missing as M, Nothing as N, Shot as S};
        let (lateral, ap) = (View::Lateral, View::Ap);
        let (early, last) = (Some(Stage::Pedicle), Some(Stage::Final));
        let found = of(&[(lateral, early), (lateral, early), (ap, early), (ap, last), (lateral, None)]);
        let expected = [
            (Some(Stage::Docking), [N, N, M]),
            (early, [S(0), S(2), N]),
            (early, [S(1), N, N]),
            (Some(Stage::PosteriorWall), [M, M, N]),
            (Some(Stage::Stylet), [M, M, N]),
            (last, [M, S(3), N]),
            (None, [S(4), N, N]),
        ];
        assert_eq!(found, expected);
    }

    #[test]
    fn other_bodies_have_rows_of_their_own() {
        let case = case(&[(View::Lateral, Some(Stage::Final))]);
        let shots = |level, side| {
            let of = |moment: &MomentColumn| matches!(moment.of(View::Lateral), RowPlace::Shot(_));
            rows(&case, level, side).iter().filter(|moment| of(moment)).count()
        };
        assert_eq!(
            (shots(LEVEL, Side::Right), shots(LEVEL, Side::Left), shots(Level::L5, Side::Right)),
            (1, 0, 0)
        );
    }
}
