//! How far a tip moved between two shots of one level and view (method, section 7).

use crate::measure::length::{BodyLengths, Length};
use crate::measure::quantity::{Budget, Quantity, Z95};
use crate::measure::reading::{ApReading, LateralReading, MidlineBy, PairReading};
use crate::measure::unknown_view::{LaidView, SeenView, UnknownView};

/// Whether two shots were taken from one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Position {
    /// Each from its own: the view's part of the uncertainty counts twice.
    Own,
    /// Both from one position of the C-arm, as the user says: the view errs alike in both and drops out.
    Shared,
}

/// Whether a tip moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Moved {
    /// The change is larger than its uncertainty.
    Yes,
    /// The whole interval lies within the smallest change that matters.
    No,
    /// Neither can be said.
    Undecided,
}

/// A change of a fraction.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The later value minus the earlier one, parts of the uncertainty in quadrature.
    pub quantity: Quantity,
    /// Whether it moved.
    pub moved: Moved,
    /// Whether one of the views may be off by more than 1.4° in this direction, for all that is marked; the view's part
    /// is then that of a view of which nothing is known.
    pub view_unknown: bool,
    /// The view's part if the earlier body were laid on the later one by the pictures: from both tips, and for each unit
    /// of the change from the later shot's borders. Nothing at one position of the C-arm.
    pub laid: LaidView,
}

/// The changes between two lateral or two AP shots.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShotChange {
    /// Depth (lateral) or across (AP).
    pub along: Option<Change>,
    /// Height.
    pub height: Option<Change>,
    /// AP: offset from the midline, where both shots have it by the same structure.
    pub midline: Option<(MidlineBy, Change)>,
    /// The first two in millimetres, where a shot is calibrated.
    pub mm: Option<LengthChange>,
}

/// Changes in millimetres at the plane of the body.
#[derive(Clone, Debug, PartialEq)]
pub struct LengthChange {
    /// Along the body's depth or width at mid height.
    pub along: Length,
    /// Along its height in the middle.
    pub height: Length,
}

/// The changes between two matched pairs: three body coordinates.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairChange {
    /// Depth.
    pub depth: Option<Change>,
    /// Across.
    pub across: Option<Change>,
    /// Height.
    pub height: Option<Change>,
    /// Offset from the midline, where both pairs have it by the same structure.
    pub midline: Option<(MidlineBy, Change)>,
}

impl Moved {
    /// Whether a change of a fraction is one; `matters` is the smallest change that matters.
    #[must_use]
    pub fn of(change: &Quantity, matters: f64) -> Self {
        if change.value.abs() > Z95 * change.sd() {
            Self::Yes
        } else if change.low() >= -matters && change.high() <= matters {
            Self::No
        } else {
            Self::Undecided
        }
    }

    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::Undecided => "undecided",
        }
    }
}

/// The change from one reading of a fraction to another; `matters` is the smallest change that matters.
#[must_use]
pub fn change(from: &Quantity, to: &Quantity, position: Position, matters: f64) -> Change {
    let both = from.budget.with(to.budget, f64::hypot);
    let view = match position {
        Position::Own => both.view,
        Position::Shared => 0.0,
    };
    let quantity = Quantity {
        value: to.value - from.value,
        budget: Budget { view, ..both },
        influences: Vec::new(),
        monte_carlo: None,
    };
    Change { moved: Moved::of(&quantity, matters), quantity, view_unknown: false, laid: LaidView::default() }
}

/// The same, where the view's part is larger if nothing is known of a view's turn or tilt, and where second contours tell by
/// what they leave open; at one position of the C-arm both views err alike, whatever is known of them.
fn change_seen(
    (from, from_view): (&Quantity, SeenView),
    (to, to_view): (&Quantity, SeenView),
    position: Position,
    matters: f64,
) -> Change {
    if position == Position::Shared {
        return change(from, to, position, matters);
    }
    let seen = |quantity: &Quantity, SeenView { unknown, rest, .. }: SeenView| {
        let view = unknown.unwrap_or(0.0).max(quantity.budget.view).hypot(rest);
        Quantity { budget: Budget { view, ..quantity.budget }, influences: Vec::new(), ..*quantity }
    };
    let wide = change(&seen(from, from_view), &seen(to, to_view), position, matters);
    let laid = LaidView { tip: from_view.laid.tip.hypot(to_view.laid.tip), borders: to_view.laid.borders };
    Change { view_unknown: from_view.unknown.is_some() || to_view.unknown.is_some(), laid, ..wide }
}

/// The changes from one lateral shot to another of the same level.
#[must_use]
pub fn lateral(from: &LateralReading, to: &LateralReading, position: Position, matters: f64) -> ShotChange {
    let Some((a, b)) = from.tip.as_ref().zip(to.tip.as_ref()) else { return ShotChange::default() };
    let (before, after) = (from.unknown_view, to.unknown_view);
    let along = change_seen((&a.along, before.of_along()), (&b.along, after.of_along()), position, matters);
    let height =
        change_seen((&a.height, before.of_height()), (&b.height, after.of_height()), position, matters);
    let mm = in_mm(&along, &height, from.lengths.as_ref(), to.lengths.as_ref());
    ShotChange { along: Some(along), height: Some(height), midline: None, mm }
}

/// The changes from one AP shot to another of the same level and entry side.
#[must_use]
pub fn ap(from: &ApReading, to: &ApReading, position: Position, matters: f64) -> ShotChange {
    let (before, after) = (from.unknown_view, to.unknown_view);
    let of = |a: Option<&Quantity>, b: Option<&Quantity>, view: [SeenView; 2]| {
        Some(change_seen((a?, view[0]), (b?, view[1]), position, matters))
    };
    let along = |reading: &'_ ApReading| reading.tip.as_ref().map(|tip| tip.along.clone());
    let along = of(along(from).as_ref(), along(to).as_ref(), [before.of_along(), after.of_along()]);
    let height = of(from.height.as_ref(), to.height.as_ref(), [before.of_height(), after.of_height()]);
    let midline =
        from.midline_by.best().zip(to.midline_by.best()).filter(|(a, b)| a.0 == b.0).map(|(a, b)| {
            let (a, b) = ((a.0, (a.1, before.of_midline())), (b.1, after.of_midline()));
            (a.0, change_seen(a.1, b, position, matters))
        });
    let mm = along
        .as_ref()
        .zip(height.as_ref())
        .and_then(|(along, height)| in_mm(along, height, from.lengths.as_ref(), to.lengths.as_ref()));
    ShotChange { along, height, midline, mm }
}

/// The changes from one matched pair to another of the same level and entry side.
#[must_use]
pub fn pairs(from: &PairReading, to: &PairReading, position: Position, matters: f64) -> PairChange {
    let (lateral, ap) = ([from.unknown_lateral, to.unknown_lateral], [from.unknown_ap, to.unknown_ap]);
    let of = |a: Option<&Quantity>, b: Option<&Quantity>, view: [SeenView; 2]| {
        Some(change_seen((a?, view[0]), (b?, view[1]), position, matters))
    };
    let midline = from.midline.as_ref().zip(to.midline.as_ref()).filter(|(a, b)| a.0 == b.0).map(|(a, b)| {
        let (a, b) = ((a.0, (&a.1, ap[0].of_midline())), (&b.1, ap[1].of_midline()));
        (a.0, change_seen(a.1, b, position, matters))
    });
    PairChange {
        depth: of(from.depth.as_ref(), to.depth.as_ref(), lateral.map(UnknownView::of_along)),
        across: of(from.across.as_ref(), to.across.as_ref(), ap.map(UnknownView::of_along)),
        height: of(from.height.as_ref(), to.height.as_ref(), lateral.map(UnknownView::of_height)),
        midline,
    }
}

/// Changes times the body's size, which is the mean of both shots where both are calibrated. The size's own error is
/// left out: it changes a change of some millimetres by a few hundredths of it.
pub(crate) fn in_mm(
    along: &Change,
    height: &Change,
    from: Option<&BodyLengths>,
    to: Option<&BodyLengths>,
) -> Option<LengthChange> {
    let mean = |of: fn(&BodyLengths) -> &Length| -> Option<(f64, f64)> {
        let sizes: Vec<&Length> = [from, to].into_iter().flatten().map(of).collect();
        #[expect(clippy::cast_precision_loss, reason = "one or two")]
        let n = sizes.len() as f64;
        let mm = sizes.iter().map(|size| size.mm()).sum::<f64>() / n;
        // The relative part of a scale that both shots may share.
        let relative = sizes.iter().map(|size| size.scale / size.mm()).sum::<f64>() / n;
        (!sizes.is_empty()).then_some((mm, relative))
    };
    let length = |change: &Change, (mm, relative): (f64, f64)| Length {
        quantity: change.quantity.scaled(mm),
        scale: (change.quantity.value * mm * relative).abs(),
    };
    Some(LengthChange {
        along: length(along, mean(|lengths| &lengths.depth)?),
        height: length(height, mean(|lengths| &lengths.middle_height)?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantity(value: f64, placed: f64, view: f64) -> Quantity {
        let budget = Budget { bone: placed, view, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    /// By hand: two readings of sd 0.03 (placement) and 0.04 (view) each: 0.05·√2 = 0.070711 apart, 0.03·√2 = 0.042426
    /// from one position. 1.96 · 0.042426 = 0.083154.
    #[test]
    fn the_view_drops_out_at_one_position() {
        let (a, b) = (quantity(0.30, 0.03, 0.04), quantity(0.40, 0.03, 0.04));
        let own = change(&a, &b, Position::Own, 0.08);
        assert!((own.quantity.sd() - 0.070_711).abs() < 1e-6 && (own.quantity.value - 0.1).abs() < 1e-12);
        assert_eq!(own.moved, Moved::Undecided);
        let shared = change(&a, &b, Position::Shared, 0.08);
        assert!((shared.quantity.sd() - 0.042_426).abs() < 1e-6);
        assert_eq!(shared.moved, Moved::Yes);
    }

    /// By hand: the same readings, the later one of a view of which nothing is known, with a view part of 0.07: √(0.03² +
    /// 0.03² + 0.04² + 0.07²) = 0.091104, and 0.1 is no longer a change. At one position nothing changes.
    #[test]
    fn a_view_of_which_nothing_is_known_widens_a_change() {
        let (a, b) = (quantity(0.30, 0.03, 0.04), quantity(0.45, 0.03, 0.04));
        let known = change(&a, &b, Position::Own, 0.08);
        let (told, untold) = (SeenView::default(), SeenView { unknown: Some(0.07), ..SeenView::default() });
        let wide = change_seen((&a, told), (&b, untold), Position::Own, 0.08);
        assert!((wide.quantity.sd() - 0.091_104).abs() < 1e-6 && wide.view_unknown && !known.view_unknown);
        assert_eq!((known.moved, wide.moved), (Moved::Yes, Moved::Undecided));
        let shared = change_seen((&a, told), (&b, untold), Position::Shared, 0.08);
        assert_eq!(shared, change(&a, &b, Position::Shared, 0.08));
    }

    /// By hand: what both contours leave open, 0.02 in each view, adds to 0.05·√2: √(0.005 + 0.0008) = 0.076158.
    #[test]
    fn what_contours_leave_open_adds_up() {
        let (a, b) = (quantity(0.30, 0.03, 0.04), quantity(0.45, 0.03, 0.04));
        let seen = SeenView { rest: 0.02, ..SeenView::default() };
        let wide = change_seen((&a, seen), (&b, seen), Position::Own, 0.08);
        assert!((wide.quantity.sd() - 0.076_158).abs() < 1e-6 && !wide.view_unknown);
        let shared = change_seen((&a, seen), (&b, seen), Position::Shared, 0.08);
        assert_eq!(shared, change(&a, &b, Position::Shared, 0.08));
    }

    /// No change is stated only where the whole interval is small: 0.01 ± 1.96·0.02·√2 = 0.01 ± 0.0554.
    #[test]
    fn not_moved_needs_a_narrow_interval() {
        let (a, b) = (quantity(0.30, 0.02, 0.0), quantity(0.31, 0.02, 0.0));
        assert_eq!(change(&a, &b, Position::Own, 0.08).moved, Moved::No);
        assert_eq!(change(&a, &b, Position::Own, 0.06).moved, Moved::Undecided);
    }
}
