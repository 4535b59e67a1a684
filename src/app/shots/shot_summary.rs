//! A shot at a glance: how far it has come and what its reading says.

use std::sync::Arc;

use crate::app::marking::guide::capital;
use crate::case::document::{Case, Shot};
use crate::case::plan::standing::{Standing, standing};
use crate::case::readings::ShotReading;
use crate::case::readings::body_map::body_map;
use crate::measure::body::BodyMap;
use crate::measure::issue::IssueCode;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::measure::quantity::{Influence, Quantity};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::used;
use crate::measure::verdict::{Verdict, VerdictRule};
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme;
use crate::scene::format;

/// What follows from a shot's marks.
#[derive(Clone, Debug)]
pub struct ShotSummary {
    /// The reading.
    pub reading: ShotReading,
    /// The body map, which needs no tip.
    pub map: Option<Arc<BodyMap>>,
    /// How far the shot has come.
    pub standing: Standing,
}

impl ShotSummary {
    /// A shot with its reading.
    #[must_use]
    pub fn new(case: &Case, shot: &Shot, reading: ShotReading) -> Self {
        // A draft is drawn though it is not read.
        let map = reading.map().cloned().or_else(|| body_map(case, shot).map(Arc::new));
        let standing = standing(shot, &reading);
        Self { reading, map, standing }
    }

    /// The fractions that are read, with their names; AP offsets are signed.
    #[must_use]
    pub fn numbers(&self) -> Vec<Number<'_>> {
        let number = |named, direct, corrected| Number { named, direct, corrected };
        match &self.reading {
            ShotReading::Lateral(reading) => {
                let Some(tip) = &reading.tip else { return Vec::new() };
                let view = reading.true_view.as_ref();
                vec![
                    number(ShortName::Depth, &tip.along, view.map(|view| &view.depth)),
                    number(ShortName::Height, &tip.height, view.map(|view| &view.height)),
                ]
            }
            ShotReading::Ap(reading) => {
                let view = reading.true_view.as_ref();
                let across = reading.tip.as_ref().map(|tip| {
                    number(ShortName::Across, &tip.along, view.and_then(|view| view.across.as_ref()))
                });
                let offset = reading.midline_by.best().map(|(by, offset)| {
                    number(ShortName::Midline, offset, view.and_then(|view| view.midline_by.by(by)))
                });
                let height = reading.height.as_ref().map(|height| {
                    number(ShortName::Height, height, view.and_then(|view| view.height.as_ref()))
                });
                across.into_iter().chain(offset).chain(height).collect()
            }
            ShotReading::Pedicle(reading) => {
                reading.radius.iter().map(|radius| number(ShortName::Radius, radius, None)).collect()
            }
        }
    }

    /// Whether an issue puts the reading itself in doubt, so that a verdict must not stand without a word.
    #[must_use]
    pub fn doubted(&self) -> bool {
        self.reading.issues().iter().any(|issue| {
            matches!(
                issue.code,
                IssueCode::BodyCutOff
                    | IssueCode::WallsSwapped
                    | IssueCode::ImplausibleShape
                    | IssueCode::DeformedBody
                    | IssueCode::DoubleContour
                    | IssueCode::FrameChanged
            )
        })
    }

    /// The verdict on a quantity.
    #[must_use]
    pub fn verdict(&self, named: ShortName) -> Option<&Verdict> {
        let rule = match named {
            ShortName::Radius => VerdictRule::Docking,
            other => VerdictRule::Band(other.coordinate()?),
        };
        self.reading.verdicts().iter().find(|verdict| verdict.rule == rule)
    }
}

/// A fraction that is read, as the view shows it and as a true view would.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number<'a> {
    /// What it is.
    pub named: ShortName,
    /// The direct reading.
    pub direct: &'a Quantity,
    /// What a true view would show, where that is known.
    pub corrected: Option<&'a Quantity>,
}

impl<'a> Number<'a> {
    /// What is shown first, and what the verdict goes by.
    #[must_use]
    pub const fn used(&self) -> &'a Quantity {
        used(self.direct, self.corrected)
    }
}

/// A quantity of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortName {
    /// Depth fraction.
    Depth,
    /// Height fraction.
    Height,
    /// Fraction across the body.
    Across,
    /// Offset from the midline.
    Midline,
    /// Distance from the pedicle's centre, its border at 1.
    Radius,
}

impl ShortName {
    /// The coordinate that it is; `None` where it has no sign to be put in words.
    #[must_use]
    pub const fn coordinate(self) -> Option<Rule> {
        match self {
            Self::Depth => Some(Rule::Depth),
            Self::Height => Some(Rule::Height),
            Self::Midline => Some(Rule::Midline),
            Self::Across | Self::Radius => None,
        }
    }

    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Depth => "Depth",
            Self::Height => "Height",
            Self::Across => "Mediolateral",
            Self::Midline => "From the midline",
            Self::Radius => "From center",
        }
    }

    /// As it continues a sentence, without an article.
    #[must_use]
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Height => "height",
            Self::Across => "mediolateral position",
            Self::Midline => "offset from the midline",
            Self::Radius => "distance from the pedicle center",
        }
    }

    /// As short as it can be said before its number.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Height => "height",
            Self::Across => "mediolateral",
            Self::Midline => "midline",
            Self::Radius => "from center",
        }
    }

    /// From where to where it is counted.
    #[must_use]
    pub const fn scale(self) -> &'static str {
        match self {
            Self::Depth => "from the posterior wall (0 %) to the anterior wall (100 %)",
            Self::Height => "from the superior (0 %) to the inferior endplate (100 %)",
            Self::Across => "from the entry-side wall (0 %) to the opposite wall (100 %)",
            Self::Midline => "as a fraction of the body width",
            Self::Radius => "0 % at the center, 100 % on the outline",
        }
    }
}

/// How far a shot has come, in a word or two.
#[must_use]
pub const fn standing_words(standing: Standing) -> &'static str {
    format::standing(standing)
}

/// A shot's view and stage as short as they can be said.
#[must_use]
pub fn short_words(shot: &Shot) -> String {
    let view = capital(shot.known_view().map_or(format::VIEW_NOT_SET, format::view));
    let stage = match shot.stage {
        None => return view,
        Some(Stage::Docking) => "docking",
        Some(Stage::Pedicle) => "pedicle",
        Some(Stage::PosteriorWall) => "posterior wall",
        Some(Stage::Stylet) => "stylet",
        Some(Stage::Final) => "final",
    };
    format!("{view}, {stage}")
}

/// What is said of a shot as short as it can be; nothing stands for what is not.
#[must_use]
pub fn label_words(shot: &Shot) -> String {
    let side = shot.side.map(|side| match side {
        Side::Left => "L",
        Side::Right => "R",
    });
    let view = shot.known_view().map(|view| match view {
        View::Lateral => "lat",
        View::Ap => "AP",
        View::Pedicle => "ped",
    });
    let stage = shot.stage.map(|stage| match stage {
        Stage::Pedicle => "pedicle",
        Stage::PosteriorWall => "wall",
        other => format::stage(other),
    });
    let level = shot.level.map(Level::name);
    [level.as_deref(), side, view, stage].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// The sign of how far a shot has come, and what it stands for.
#[must_use]
pub const fn standing_sign(standing: Standing) -> (Role, Glyph) {
    match standing {
        Standing::Unmarked | Standing::Awaited => (Role::Nothing, Glyph::Ring),
        Standing::Incomplete => (Role::Text, Glyph::Ring),
        Standing::Draft => (Role::Text, Glyph::Target),
        Standing::Blocked | Standing::HeightOnly => (Role::Undecided, Glyph::Bar),
        Standing::Read => (Role::Text, Glyph::Plus),
        Standing::Judged(state) => theme::state_sign(state),
    }
}

/// The share of a quantity's variance that one mark costs.
#[must_use]
pub fn share(quantity: &Quantity, influence: &Influence) -> f64 {
    let variance = quantity.sd() * quantity.sd();
    if variance > 0.0 { influence.sd * influence.sd / variance } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::issue::Issue;
    use crate::measure::mark::MarkKind;

    #[test]
    fn a_quantity_comes_with_its_verdict_and_its_shares_add_up() {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        shot.marks = shot
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(351.0, 358.0)]);
        let case = Case { shots: vec![shot.clone()].into(), ..Case::default() };
        let looked = ShotSummary::new(&case, &shot, read_shot(&case, 0, |_| Picture::NotLookedAt));
        assert!(matches!(looked.standing, Standing::Judged(_)) && looked.map.is_some());
        assert!(!looked.doubted());
        let numbers = looked.numbers();
        assert_eq!(numbers.len(), 2);
        for number in numbers {
            let (named, quantity) = (number.named, number.used());
            let verdict = looked.verdict(named).unwrap();
            let band = verdict.band.unwrap();
            let again = Verdict::on_band(Rule::Depth, band, quantity.value, quantity.sd());
            assert_eq!((verdict.state, verdict.p_inside), (again.state, again.p_inside), "{named:?}");
            let view = quantity.budget.of_view().powi(2) / quantity.sd().powi(2);
            let marks: f64 = quantity.influences.iter().map(|influence| share(quantity, influence)).sum();
            assert!((view + marks - 1.0).abs() < 1e-9, "{named:?} {view} {marks}");
        }
    }

    #[test]
    fn a_body_cut_off_puts_its_verdict_in_doubt() {
        let mut reading = ShotReading::Lateral(Box::default());
        let case = Case::default();
        let shot = Shot::new("a", "a.png", View::Lateral);
        assert!(!ShotSummary::new(&case, &shot, reading.clone()).doubted());
        if let ShotReading::Lateral(lateral) = &mut reading {
            lateral
                .issues
                .push(Issue::new(IssueCode::BodyCutOff, "A corner lies at the edge of the picture."));
        }
        assert!(ShotSummary::new(&case, &shot, reading).doubted());
    }
}
