//! A comparison in words.

use crate::case::document::Case;
use crate::measure::compare::{Change, Moved, Position};
use crate::measure::mark::View;
use crate::measure::true_view::known::CannotTell;
use crate::scene::comparison::Comparison;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::words::reading::{ReadingLine, midline_by};
use crate::scene::words::tip_path::{MovedAlong, mm_way, moved, size, way};

/// What is said where a shot has no reading.
pub const NO_CHANGE: &str = "no change can be measured: one shot has no reading";
/// What is said where the user says that both shots share one position.
pub const ONE_POSITION: &str =
    "both shots are set as sharing one C-arm position; the rotation component is left out";
/// What is said where a view may be off by more than its marks tell.
pub const VIEW_UNKNOWN: &str = "one contour is marked where a border may show twice, so the change is as uncertain as if the C-arm stood 4° off (one standard deviation): mark the second contours, set both shots as sharing one C-arm position, or refine by the images";
/// The same where the user has said of both shots that every border shows once.
pub const SHOWS_ONCE: &str = "you said that every border shows once; between two shots that still leaves a small rotation open, so the change is as uncertain as if the C-arm stood 4° off (one standard deviation): set both shots as sharing one C-arm position, or refine by the images";
/// What stands over the three coordinates of two matched pairs.
pub const PAIRS: &str = "the matched pairs, in three coordinates (use these: both views tell them)";
/// What stands over the change where one view alone tells it.
pub const FROM_TO: &str = "from the earlier to the later shot";
/// What stands over the change that one view tells, where the pairs tell it, too.
pub const ONE_VIEW: &str = "this view alone, from the earlier to the later shot";

/// What is said of two pictures laid on each other.
pub const MATCHED: &str =
    "The earlier shot is registered to the later one, with gray levels matched near the body.";
/// What is said of their difference.
pub const DIFFERENCE: &str =
    "Mid-gray: no difference. Dark: darker in the earlier shot. Bright: darker in the later shot.";

/// The sign of a change. Moving is neither good nor bad, so none of a verdict's signs of colour is used; and none that could
/// be read as plus or minus.
#[must_use]
pub const fn sign(moved: Moved) -> (Role, Glyph) {
    match moved {
        Moved::Yes => (Role::Text, Glyph::Square),
        Moved::No => (Role::Text, Glyph::Ring),
        Moved::Undecided => (Role::Undecided, Glyph::HalfDisc),
    }
}

/// Whether the user has said that every border of a shot shows once.
fn shows_once(case: &Case, at: usize) -> bool {
    case.shots.get(at).is_some_and(|shot| shot.cannot_tell == Some(CannotTell::default()))
}

pub(super) fn line(along: MovedAlong, change: &Change) -> ReadingLine {
    // Depth, across and the midline answer to a rotation of the view, height to a tilt.
    let off = if along == MovedAlong::Height { "tilted" } else { "rotated" };
    // Where nothing changed, that is what is to be read, and the number stands beside it.
    let (number, mut words) = match change.moved {
        Moved::No => (moved(Moved::No).to_owned(), size(change)),
        Moved::Yes | Moved::Undecided => (way(along, change), moved(change.moved).to_owned()),
    };
    if change.view_unknown {
        words = format!("{words}; a view may be {off} by more than 1.4°");
    }
    ReadingLine { sign: Some(sign(change.moved)), name: along.name().to_owned(), number, words }
}

impl Comparison {
    /// The name of the coordinate along the view's own direction.
    #[must_use]
    pub fn along_name(&self, case: &Case) -> &'static str {
        self.along(case).name()
    }

    pub(super) fn along(&self, case: &Case) -> MovedAlong {
        match case.shots.get(self.shots[0]).map(|shot| shot.view) {
            Some(View::Ap) => MovedAlong::Across,
            _ => MovedAlong::Depth,
        }
    }

    /// The changes between the two shots; none where a shot has no reading.
    #[must_use]
    pub fn lines(&self, case: &Case) -> Vec<ReadingLine> {
        let found = &self.change;
        let mut lines = Vec::new();
        lines.extend(found.along.as_ref().map(|change| line(self.along(case), change)));
        lines.extend(found.height.as_ref().map(|change| line(MovedAlong::Height, change)));
        lines.extend(found.midline.as_ref().map(|(by, change)| {
            let mut one = line(MovedAlong::Midline, change);
            one.words = format!("{}; measured {}", one.words, midline_by(*by));
            one
        }));
        lines
    }

    /// The changes in millimetres, in one sentence.
    #[must_use]
    pub fn millimetres(&self, case: &Case) -> Option<String> {
        let mm = self.change.mm.as_ref()?;
        let along = mm_way(self.along(case), &mm.along);
        let height = mm_way(MovedAlong::Height, &mm.height);
        Some(format!("in millimeters: {} {along}, height {height}", self.along_name(case)))
    }

    /// The changes between the two matched pairs in three coordinates; none where not both shots have a pair.
    #[must_use]
    pub fn pair_lines(&self) -> Vec<ReadingLine> {
        let Some((_, change)) = &self.pairs else { return Vec::new() };
        let three = [
            (MovedAlong::Depth, &change.depth),
            (MovedAlong::Across, &change.across),
            (MovedAlong::Height, &change.height),
        ];
        let midline = change.midline.as_ref().map(|(_, change)| line(MovedAlong::Midline, change));
        three
            .into_iter()
            .filter_map(|(name, change)| Some(line(name, change.as_ref()?)))
            .chain(midline)
            .collect()
    }

    /// What else is to be said: the switch, what was found with each shot, the comparison's own notes.
    #[must_use]
    pub fn remarks(&self, case: &Case) -> Vec<String> {
        let mut lines = Vec::new();
        if self.position == Position::Shared {
            lines.push(ONE_POSITION.to_owned());
        }
        let unknown = [self.change.along.as_ref(), self.change.height.as_ref()];
        if unknown.into_iter().flatten().any(|change| change.view_unknown) {
            let once = self.shots.iter().all(|at| shows_once(case, *at));
            lines.push(if once { SHOWS_ONCE } else { VIEW_UNKNOWN }.to_owned());
        }
        for (at, issues) in self.shots.iter().zip(&self.issues) {
            let id = case.shots.get(*at).map_or("", |shot| shot.id.as_str());
            lines.extend(issues.iter().map(|issue| format!("note on {id}: {}", issue.text)));
        }
        lines.extend(self.notes.iter().map(|note| format!("note: {note}")));
        lines
    }
}
