//! A small correction of the registration that the marks give, found from the pictures themselves, and whether to trust it.
//!
//! Marks are placed with half a millimetre of error, so that the bone of two pictures laid on each other by their marks
//! stands doubled. Here the bone itself is laid on itself: a shift, a turn and a zoom from the pictures over the body and a little around
//! it, instruments left out. It is found from the first picture to the second and the other way round, and refused
//! where there is reason to doubt it. In doubt the marks stand.
//!
//! Lateral shots only: in an AP view pedicles and spinous process lie up to 5 cm behind the middle of the body, are as
//! plain as the body itself, and move against it when the C-arm turns.

use crate::align::estimate::{SeenShot, WarpEstimate, estimate};
use crate::align::metal::Metal;
use crate::align::region::BodyRegion;
use crate::align::registration::Registration;
use crate::case::document::Shot;
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::geom::point::Point;
use crate::measure::mark::View;
use crate::measure::marked::TYPICAL_HEIGHT_MM;

/// Standard uncertainty of a refined place, in each direction, in millimetres at the plane of the body: what was found
/// on simulated pairs up to 5° apart, rounded up (docs/change.md).
pub const REFINED_SD_MM: f64 = 0.15;

/// How much of the body both pictures must show.
const LEAST_SHARE: f64 = 0.6;
/// How alike both must be at the end. Different bodies reached 0.55–0.87, a body and its neighbour 0.81 at most.
const LEAST_SIMILARITY: f64 = 0.85;
/// The most that the unknowns may be told unequally; 1.1–1.5 is usual.
const MOST_IMBALANCE: f64 = 10.0;
/// How far the two ways round may differ, as a median over the body in millimetres; 0.02 is usual.
const APART_MM: f64 = 0.1;
/// How far places of the body may be moved: median and farthest, over the standard deviation of a bone mark.
const FARTHEST_SD: (f64, f64) = (3.0, 7.0);
/// A smaller move than this, median in millimetres, is within what pictures can tell.
const LEAST_MM: f64 = 0.2;

/// Why a refinement is not to be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RefineRefusal {
    /// Not a lateral view.
    View,
    /// Too little of the body shows in both pictures.
    TooLittle,
    /// The pictures do not fix the correction.
    Undecided,
    /// The pictures stay unlike.
    Unlike,
    /// The two ways round differ.
    TwoWays,
    /// The body would move further than the marks' error allows.
    TooFar,
    /// The marks are as good as the pictures.
    NothingToGain,
}

/// How far a refinement moves places of the body in the second picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Median over the body in pixels.
    pub median_px: f64,
    /// The farthest in pixels.
    pub farthest_px: f64,
    /// Median in millimetres at the plane of the body.
    pub median_mm: f64,
    /// The farthest in millimetres.
    pub farthest_mm: f64,
}

/// What the pictures say.
#[derive(Clone, Debug)]
pub struct Refinement {
    /// The refined registration, an affine map alone; also where it is refused, for looking at, if there is one at all.
    pub registration: Option<Registration>,
    /// How far it moves the body.
    pub moved: Option<Move>,
    /// Correlation of local contrast over the body, by the marks and refined; 1 where both pictures are the same.
    pub similarity: Option<[f64; 2]>,
    /// Why it is not to be trusted; `None` where it is.
    pub refusal: Option<RefineRefusal>,
}

impl RefineRefusal {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::View => "view",
            Self::TooLittle => "too_little",
            Self::Undecided => "undecided",
            Self::Unlike => "unlike",
            Self::TwoWays => "two_ways",
            Self::TooFar => "too_far",
            Self::NothingToGain => "nothing_to_gain",
        }
    }

    /// One sentence that says why, and what can be done.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::View => {
                "Only lateral shots can be refined from the images; in an AP view the pedicles and spinous process lie posterior to the body and shift against it."
            }
            Self::TooLittle => {
                "Too little of the body is visible in both images beside the instruments; the registration by marks is kept."
            }
            Self::Undecided => {
                "The images show too few edges to locate the body; the registration by marks is kept."
            }
            Self::Unlike => {
                "The images do not match over the body; check that both show the same body from nearly the same direction."
            }
            Self::TwoWays => {
                "Registering in the two directions gives different results; the registration by marks is kept."
            }
            Self::TooFar => {
                "The images would shift the body by more than the stated marking error allows; check the corners in both."
            }
            Self::NothingToGain => {
                "The marks agree with the images as well as the images can tell; there is nothing to refine."
            }
        }
    }
}

impl Refinement {
    /// The refined registration if it can be trusted.
    #[must_use]
    pub const fn trusted(&self) -> Option<&Registration> {
        match self.refusal {
            None => self.registration.as_ref(),
            Some(_) => None,
        }
    }

    const fn refused(why: RefineRefusal) -> Self {
        Self { registration: None, moved: None, similarity: None, refusal: Some(why) }
    }
}

/// Refines the registration of two shots by their pictures; `bone_sd_mm` is the standard deviation of a bone mark.
#[must_use]
pub fn refine(
    registration: &Registration,
    shots: [&Shot; 2],
    frames: [&Frame; 2],
    bone_sd_mm: f64,
) -> Refinement {
    if shots.iter().any(|shot| !shot.shows(View::Lateral)) {
        return Refinement::refused(RefineRefusal::View);
    }
    let scale = |shot: &Shot, height_px: f64| {
        shot.mm_per_px.filter(|s| s.is_finite() && *s > 0.0).unwrap_or(TYPICAL_HEIGHT_MM / height_px)
    };
    let scales = [
        scale(shots[0], registration.from().mean_height_px()),
        scale(shots[1], registration.to().mean_height_px()),
    ];
    let metal: [Metal; 2] = std::array::from_fn(|i| Metal::of(&shots[i].marks, scales[i]));
    let covered = metal.each_ref().map(|metal| move |p: Point| metal.covers(p));
    let seen: [SeenShot<'_>; 2] =
        std::array::from_fn(|i| SeenShot { frame: frames[i], covered: &covered[i], mm_per_px: scales[i] });
    let Some([there, back]) = both_ways(registration, &seen) else {
        return Refinement::refused(RefineRefusal::Undecided);
    };
    judged(registration, [there, back], scales[1], bone_sd_mm)
        .unwrap_or(Refinement::refused(RefineRefusal::Undecided))
}

/// From the first picture into the second and from the second into the first.
fn both_ways(registration: &Registration, [first, second]: &[SeenShot<'_>; 2]) -> Option<[WarpEstimate; 2]> {
    let mirrored = registration.from().orientation() * registration.to().orientation() < 0.0;
    let start = Affine::fit_similar(&registration.pairs(), mirrored)?;
    let turned = Registration::new(registration.to().clone(), registration.from().clone())?;
    let over = |registration: &Registration| registration.pairs().into_iter().map(|pair| pair.1).collect();
    let outside = [&turned, registration].map(|registration| move |q: Point| registration.roughly_outside(q));
    let regions = [
        BodyRegion { places: over(&turned), outside: &outside[0] },
        BodyRegion { places: over(registration), outside: &outside[1] },
    ];
    let (there, back) = rayon::join(
        || estimate(&regions[0], [second, first], start),
        || estimate(&regions[1], [first, second], start.inverse()?),
    );
    Some([there?, back?])
}

/// The refinement that two estimates make, and whether to trust it.
fn judged(
    registration: &Registration,
    [there, back]: [WarpEstimate; 2],
    mm_per_px: f64,
    bone_sd_mm: f64,
) -> Option<Refinement> {
    let undone = back.map.inverse()?;
    let mean = Affine {
        origin: there.map.origin.midpoint(undone.origin),
        across: (there.map.across + undone.across) / 2.0,
        down: (there.map.down + undone.down) / 2.0,
    };
    let places = registration.pairs();
    let apart = spread(&places, |p, _| there.map.apply(p).distance(undone.apply(p)))?;
    let moved = spread(&places, |p, q| mean.apply(p).distance(q))?;
    let moved = Move {
        median_px: moved.0,
        farthest_px: moved.1,
        median_mm: moved.0 * mm_per_px,
        farthest_mm: moved.1 * mm_per_px,
    };
    let similarity: [f64; 2] = std::array::from_fn(|i| there.similarity[i].min(back.similarity[i]));
    // What is no number is never within a limit.
    let at_most = |value: f64, limit: f64| value <= limit;
    let refusal = if there.share.min(back.share) < LEAST_SHARE {
        Some(RefineRefusal::TooLittle)
    } else if !at_most(there.imbalance.max(back.imbalance), MOST_IMBALANCE) {
        Some(RefineRefusal::Undecided)
    } else if !at_most(LEAST_SIMILARITY, similarity[1]) {
        Some(RefineRefusal::Unlike)
    } else if !at_most(apart.0 * mm_per_px, APART_MM) {
        Some(RefineRefusal::TwoWays)
    } else if moved.median_mm > FARTHEST_SD.0 * bone_sd_mm || moved.farthest_mm > FARTHEST_SD.1 * bone_sd_mm {
        Some(RefineRefusal::TooFar)
    } else if moved.median_mm < LEAST_MM || similarity[1] <= similarity[0] {
        Some(RefineRefusal::NothingToGain)
    } else {
        None
    };
    let refined = registration.straight(mean)?;
    Some(Refinement {
        registration: Some(refined),
        moved: Some(moved),
        similarity: Some(similarity),
        refusal,
    })
}

/// Median and largest of a distance over places of the body.
fn spread(places: &[(Point, Point)], distance: impl Fn(Point, Point) -> f64) -> Option<(f64, f64)> {
    let mut list: Vec<f64> = places.iter().map(|&(p, q)| distance(p, q)).collect();
    list.sort_by(f64::total_cmp);
    let (median, farthest) = (*list.get(list.len() / 2)?, *list.last()?);
    farthest.is_finite().then_some((median, farthest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::align::registration::tests::map;
    use crate::align::warp::tests::frame;
    use crate::geom::point::Vec2;

    /// A body with bright rims and a texture, in units of 0.1 mm.
    fn scene(x: f64, y: f64) -> f64 {
        let rim = |d: f64| (-d * d / 200.0).exp();
        let plates = rim(y - 8.0 * (x / 112.0).sin()) + rim(y - 265.0 + 16.0 * (x / 112.0).sin());
        let walls = rim(x - 8.0) + rim(x - 345.0);
        let grain = 0.3 * (x / 17.0).sin() * (y / 23.0).cos() + 0.2 * (x / 41.0 + y / 29.0).sin();
        20_000.0 + 9_000.0 * (plates + walls) + 6_000.0 * grain
    }

    fn shot() -> Shot {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.mm_per_px = Some(0.25);
        shot
    }

    /// The first picture shows the scene at 0.25 mm a pixel; the second one mirrored, turned, and with a falling curve of
    /// greys. Marks of the second are off by 2 px to the right and 1.5 px up: the refinement must find the truth
    /// within 0.05 px.
    #[test]
    fn an_offset_of_the_marks_is_found() {
        let first_place = |x: f64, y: f64| Point::new(60.0 + x * 0.4, 70.0 + y * 0.4);
        let (sin, cos) = 0.1_f64.sin_cos();
        let second_place =
            |x: f64, y: f64| Point::new(250.0 - 0.4 * (cos * x - sin * y), 60.0 + 0.4 * (sin * x + cos * y));
        let back = |p: Point| {
            let (a, b) = ((250.0 - p.x) / 0.4, (p.y - 60.0) / 0.4);
            (cos * a + sin * b, cos * b - sin * a)
        };
        let first = frame(280, 260, |x, y| scene((x - 60.0) / 0.4, (y - 70.0) / 0.4));
        let second = frame(280, 260, |x, y| {
            let (a, b) = back(Point::new(x, y));
            60_000.0 - 0.8 * scene(a, b)
        });
        let off = Vec2::new(2.0, -1.5);
        let registration = Registration::new(map(first_place), map(|x, y| second_place(x, y) + off)).unwrap();
        let found = refine(&registration, [&shot(), &shot()], [&first, &second], 0.5);
        assert_eq!(found.refusal, None, "{found:?}");
        let refined = found.trusted().unwrap();
        for (x, y) in [(30.0, 40.0), (170.0, 130.0), (320.0, 240.0)] {
            let miss = refined.there(first_place(x, y)).distance(second_place(x, y));
            assert!(miss < 0.05, "{x} {y}: {miss}");
        }
        let moved = found.moved.unwrap();
        assert!((moved.median_px - 2.5).abs() < 0.1 && (moved.median_mm - 0.625).abs() < 0.025, "{moved:?}");
        let [before, after] = found.similarity.unwrap();
        assert!(before < after && after > 0.95, "{before} {after}");

        // The same, with marks said to be better than they are.
        let doubted = refine(&registration, [&shot(), &shot()], [&first, &second], 0.1);
        assert_eq!(doubted.refusal, Some(RefineRefusal::TooFar));
        assert!(doubted.trusted().is_none() && doubted.registration.is_some());
        // Marks without error leave nothing to refine.
        let exact = Registration::new(map(first_place), map(second_place)).unwrap();
        let found = refine(&exact, [&shot(), &shot()], [&first, &second], 0.5);
        assert_eq!(found.refusal, Some(RefineRefusal::NothingToGain), "{found:?}");
    }

    #[test]
    fn what_cannot_be_refined_is_refused() {
        let place = |x: f64, y: f64| Point::new(60.0 + x * 0.4, 70.0 + y * 0.4);
        let registration = Registration::new(map(place), map(place)).unwrap();
        let good = frame(280, 260, |x, y| scene((x - 60.0) / 0.4, (y - 70.0) / 0.4));
        let grey = frame(280, 260, |_, _| 9000.0);
        let other =
            frame(280, 260, |x, y| 20_000.0 + 9_000.0 * ((x / 9.0).sin() + (y / 5.0 + x / 31.0).cos()));
        let refusal = |first: &Frame, second: &Frame| {
            refine(&registration, [&shot(), &shot()], [first, second], 0.5).refusal
        };
        assert!(matches!(refusal(&good, &grey), Some(RefineRefusal::Unlike | RefineRefusal::Undecided)));
        assert!(refusal(&good, &other).is_some_and(|why| why != RefineRefusal::NothingToGain));
        assert_eq!(refusal(&good, &frame(1, 1, |_, _| 0.0)), Some(RefineRefusal::Undecided));
        // Half of the body lies outside the second picture.
        let cut = frame(130, 260, |x, y| scene((x - 60.0) / 0.4, (y - 70.0) / 0.4));
        assert_eq!(refusal(&good, &cut), Some(RefineRefusal::TooLittle));
        let ap = Shot::new("b", "b.png", View::Ap);
        assert_eq!(
            refine(&registration, [&ap, &shot()], [&good, &good], 0.5).refusal,
            Some(RefineRefusal::View)
        );
        for why in [
            RefineRefusal::View,
            RefineRefusal::TooLittle,
            RefineRefusal::Undecided,
            RefineRefusal::Unlike,
            RefineRefusal::TwoWays,
        ] {
            assert!(why.text().ends_with('.') && !why.key().is_empty());
        }
    }
}
