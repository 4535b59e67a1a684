//! The marks of a shot in a further shot of the same body and view: the two pictures are registered, in lateral views the
//! outline is then fitted again; in others the marks are copied and those that a turn of the view moves are named.

use crate::align::coarse::Match;
use crate::align::region::BodyRegion;
use crate::align::registration::body_grid;
use crate::case::document::proposed::{MarkSd, ProposedMarks};
use crate::geom::affine::Affine;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks, Material, View};
use crate::propose::fit::{Fit, Observation, fit, fit_again, look, start};
use crate::propose::five::{MOVES, agreed, oddest, score, spread};
use crate::propose::lateral::{Proposal, Session, exact, finished, observed_marks, walls_upright};
use crate::propose::metal::Polarity;
use crate::propose::model::{Edge, Prior, Shape};
use crate::propose::pair::Pair;
pub use crate::propose::pair::{Marked, Registered, Unmarked};
use crate::propose::still::Still;
use crate::propose::tip::{TipRefusal, nearest_metal, rough_end, rough_end_in_front};
use crate::propose::treated::{axis, is_treated};
use crate::propose::trust::{Code, Refusal, parts, refusal};

/// How far a border may move against the registered outline, in millimetres.
const MOST_MOVED_MM: f64 = 2.0;
/// Standard deviation of a copied mark, in millimetres: the reader's own in the first picture, and the least of the registration's,
/// which the marks of a border share.
const READER_SD_MM: f64 = 0.5;
const REGISTERED_SD_MM: f64 = 0.5;
/// The usual height of a pedicle seen en face.
const PEDICLE_MM: f64 = 15.0;

/// Marks copied from another shot.
#[derive(Clone, Debug)]
pub struct Copied {
    /// The bone marks in the further picture.
    pub marks: Marks,
    /// Marks that lie far from the body's middle, so that a turn of the view moves them: to be looked at again.
    pub look_again: Vec<MarkKind>,
    /// How well the pictures were registered.
    pub registered: Registered,
}

/// What a further shot of a body gives.
#[derive(Clone, Debug)]
pub enum Further {
    /// A lateral outline, fitted again.
    Outline(Box<Proposal>, Registered),
    /// Copied marks of another view.
    Copied(Box<Copied>),
}

impl Further {
    /// How well the pictures were registered.
    #[must_use]
    pub const fn registered(&self) -> Registered {
        match self {
            Self::Outline(_, registered) => *registered,
            Self::Copied(copied) => copied.registered,
        }
    }

    /// The shot's marks with the proposed ones in their places, and which of them are proposed.
    #[must_use]
    pub fn draft_of(&self, before: &Marks) -> (Marks, ProposedMarks) {
        match self {
            Self::Outline(proposal, _) => proposal.draft_of(before),
            Self::Copied(copied) => copied.draft_of(before),
        }
    }
}

/// How far the registration puts a mark off, in millimetres over what the two pictures lack of being alike (1 − similarity): both grow
/// with the angle between the views, a mark's error the more the farther in front of or behind the body's middle it lies. Found in
/// 16 simulated bodies at similarities of 0.6 to 0.9: end plates 2.0–2.8, pedicles 1.7–2.0, spinous process 7–8, walls 4.1–4.6,
/// the outline of a pedicle seen en face 1.5–5.2.
const fn drift_mm(kind: MarkKind) -> f64 {
    match kind {
        MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate => 2.6,
        MarkKind::RightPedicle | MarkKind::LeftPedicle => 1.8,
        MarkKind::SpinousProcess => 7.6,
        // Walls, and the outline of a pedicle seen en face; any other bone is no surer.
        _ => 4.4,
    }
}

/// How sure the marks of a kind are that were copied by a registration of this similarity.
fn copied_sd(kind: MarkKind, similarity: f64) -> MarkSd {
    let common = (drift_mm(kind) * (1.0 - similarity)).max(REGISTERED_SD_MM);
    MarkSd { across: READER_SD_MM.hypot(common), common, along: None }
}

impl Copied {
    /// The shot's marks with the copied ones in their places, all as proposed.
    #[must_use]
    pub fn draft_of(&self, before: &Marks) -> (Marks, ProposedMarks) {
        let mut all = before.clone();
        for kind in self.marks.kinds() {
            all.set(kind, self.marks.slots(kind).to_vec());
        }
        let sds = self.marks.kinds().map(|kind| (kind, copied_sd(kind, self.registered.similarity)));
        (all, ProposedMarks::all(&self.marks, sds.collect()))
    }
}

/// The marks of one shot in a further one of the same body and view.
///
/// # Errors
/// Why nothing is proposed.
pub fn further(from: Marked<'_>, to: Unmarked<'_>) -> Result<Further, Refusal> {
    match from.view {
        View::Lateral => {
            outline(from, to).map(|(proposal, registered)| Further::Outline(Box::new(proposal), registered))
        }
        View::Ap | View::Pedicle => {
            let copied = copied(from, to).map_err(Refusal::in_front_view)?;
            Ok(Further::Copied(Box::new(copied)))
        }
    }
}

/// A further lateral's outline.
fn outline(from: Marked<'_>, to: Unmarked<'_>) -> Result<(Proposal, Registered), Refusal> {
    let map = lateral_body_map(from.marks).map_err(|_issue| Refusal::plain(Code::NoMarks))?;
    let upright = walls_upright(&map).ok_or_else(|| Refusal::plain(Code::NoMarks))?;
    let shape = shape_of(&map, upright).ok_or_else(|| Refusal::plain(Code::NoMarks))?;
    let mm = 1.0 / upright.across.length();
    let pair = Pair::new(&from, &to, mm);
    let polarity = polarity_of(&pair.first, upright, &shape);
    let places = pair.coarse(View::Lateral, map.to_image(BodyPoint::new(0.5, 0.5)), polarity);
    the_one(places, |place, alone| refitted(&pair, &map, (upright, &shape), place, alone))
}

/// What is found at the one place, of those where the first body may lie in the second picture, that is not refused. `at` is told
/// whether its place is the only likely one.
fn the_one<T>(
    places: Vec<PossibleMatch>,
    at: impl Fn(&PossibleMatch, bool) -> Result<T, Refusal>,
) -> Result<T, Refusal> {
    let (near, rest): (Vec<_>, Vec<_>) = places.into_iter().partition(|(found, _)| found.likely);
    let alone = near.len() == 1;
    let (mut good, mut refused) = (Vec::new(), Vec::new());
    for place in &near {
        match at(place, alone) {
            Ok(found) => good.push(found),
            Err(refusal) => refused.push(refusal),
        }
    }
    if good.is_empty() {
        // The neighbors of a tilted body may look more like it than it does itself.
        good = rest.iter().filter_map(|place| at(place, false).ok()).collect();
    }
    match (good.pop(), good.is_empty()) {
        (Some(found), true) => Ok(found),
        // Two places that fit: the level is not known.
        (Some(_), false) => Err(Refusal::plain(Code::OtherLevel)),
        (None, _) => Err(refused.into_iter().next().unwrap_or_else(|| Refusal::plain(Code::Unlike))),
    }
}

/// Whether what lies at a place is believed, given what the instrument says of the level: the only likely place unless the instrument
/// ends in another body, any other only where it ends in this one.
fn is_believed(alone: bool, level: Option<bool>) -> bool {
    level.unwrap_or(alone)
}

/// A place where the body may lie in the second picture, and the picture's polarity there.
type PossibleMatch = (Match, Polarity);

/// The outline fitted again at one of the places where the first body may lie in the second picture.
fn refitted(
    pair: &Pair<'_>,
    map: &BodyMap,
    (upright, shape): (Affine, &Shape),
    &(ref found, polarity): &PossibleMatch,
    alone: bool,
) -> Result<(Proposal, Registered), Refusal> {
    let unlike = || Refusal::plain(Code::Unlike);
    let roughly = rough(map).ok_or_else(unlike)?;
    let outside = |p: Point| outside_of(roughly, p);
    let region = BodyRegion { places: places_of(map), outside: &outside };
    let (to_second, registered) = pair.exact(&region, found)?;
    let to_image = upright.then(to_second);
    let patch = pair.second.patch(to_image, polarity).ok_or_else(unlike)?;
    let prior = Prior::again(shape);
    let fits: Vec<Fit> = MOVES
        .iter()
        .filter_map(|(x, y)| {
            let mut moved = *shape;
            moved[0] += x;
            moved[1] += y;
            fit(&patch, &prior, moved, &[])
        })
        .collect();
    let mut agreed = agreed(&patch, &prior, &[], &fits).ok_or_else(unlike)?;
    let session = Session { patch, prior, clicks: Vec::new(), shape: agreed.shape };
    // The marks lie between the two lines of a border that shows twice, and so does what is compared with them.
    let exact = exact(&session, &agreed.shape, &agreed.found);
    let middle = exact.0;
    let usual = agreed.oddest <= session.prior.most_odd
        && spread(shape, &[agreed.shape]).iter().all(|moved| *moved <= MOST_MOVED_MM);
    agreed.oddest = agreed.oddest.min(oddest(&middle, &session.prior));
    if let Some(refused) = refusal(&session.patch, &session.prior, &agreed) {
        return Err(refused);
    }
    let moved = spread(shape, &[middle]);
    if let Some(edge) = Edge::ALL.into_iter().find(|edge| moved[edge.index()] > MOST_MOVED_MM) {
        return Err(Refusal::of(Code::Ambiguous, Some(edge), parts(&agreed)));
    }
    let mut proposal = finished(&pair.second, session, &agreed, exact, polarity);
    // A place that is not the only likely one, and what looks unusual before its two lines are told apart, is believed only where the
    // instrument ends in the body that is found there.
    let level = level_of(&pair.second, &proposal);
    if is_elsewhere(&proposal) || !is_believed(alone && usual, level) {
        return Err(Refusal::of(Code::OtherLevel, None, proposal.parts));
    }
    if registered.uncertain {
        proposal.score += 0.5;
    }
    Ok((proposal, registered))
}

/// Whether the instrument, as far as it is seen, ends in the proposed body or in another one.
fn level_of(still: &Still<'_>, proposal: &Proposal) -> Option<bool> {
    let middle = lateral_body_map(&proposal.marks).ok()?.to_image(BodyPoint::new(0.5, 0.5));
    is_treated(View::Lateral, &proposal.marks, rough_end(still, middle)?)
}

/// Whether the instrument ends far from the proposed body.
fn is_elsewhere(proposal: &Proposal) -> bool {
    matches!(proposal.tip, Err(TipRefusal::Elsewhere))
}

/// The shape that a body's marks have, in the patch of `upright`.
fn shape_of(map: &BodyMap, upright: Affine) -> Option<Shape> {
    let observed: Vec<Observation> = observed_marks(map, upright)?;
    let wide = Prior { sd: Prior::BODY.sd.map(|sd| 3.0 * sd), ..Prior::BODY };
    start(&wide, &observed)
}

/// Bone's polarity in a marked picture.
fn polarity_of(still: &Still<'_>, upright: Affine, shape: &Shape) -> Polarity {
    let possible = still.polarities();
    if let [only] = possible.as_slice() {
        return *only;
    }
    let told = possible.into_iter().filter_map(|polarity| {
        let patch = still.patch(upright, polarity)?;
        let fitted = fit_again(&patch, &Prior::again(shape), *shape, &[])?;
        Some((score(&look(&patch, &fitted.shape)), polarity))
    });
    told.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(still.instrument.polarity, |(_, polarity)| polarity)
}

/// Places over a body.
fn places_of(map: &BodyMap) -> Vec<Point> {
    body_grid(9).map(|at| map.to_image(at)).collect()
}

/// From the picture to body coordinates, by the affine map that comes nearest over the body.
fn rough(map: &BodyMap) -> Option<Affine> {
    let pair = |at: BodyPoint| (map.to_image(at), Point::new(at.along, at.height));
    Affine::fit(&body_grid(9).map(pair).collect::<Vec<_>>())
}

/// How far a place lies outside a body, in fractions of it; by its affine map, since only where pictures are compared
/// hangs on it, and the exact inverse would take longer than the comparison.
fn outside_of(rough: Affine, p: Point) -> f64 {
    let at = rough.apply(p);
    let over = |x: f64| (x - x.clamp(0.0, 1.0)).abs();
    over(at.x).max(over(at.y))
}

/// The bone marks of an AP or en face view in a further one.
fn copied(from: Marked<'_>, to: Unmarked<'_>) -> Result<Copied, Refusal> {
    let bone: Vec<Point> =
        from.marks.placed().filter(|(at, _)| at.kind.material() == Material::Bone).map(|(_, p)| p).collect();
    let mm = scale_of(&from).ok_or_else(|| Refusal::plain(Code::NoMarks))?;
    #[expect(clippy::cast_precision_loss, reason = "some dozen marks")]
    let n = bone.len().max(1) as f64;
    let middle = bone.iter().fold(Point::default(), |sum, p| sum + p.to_vec() / n);
    let reach = bone.iter().map(|p| (*p - middle).length()).fold(8.0 / mm, f64::max);
    let pair = Pair::new(&from, &to, mm);
    let polarities = pair.first.polarities().into_iter();
    let tried =
        polarities.map(|polarity| pair.coarse(from.view, middle, polarity)).filter(|found| !found.is_empty());
    let best = tried
        .max_by(|a, b| a[0].0.peak.total_cmp(&b[0].0.peak))
        .ok_or_else(|| Refusal::plain(Code::Unlike))?;
    // A square about the marks, 0 at its edge and 1 a whole half side further out.
    let outside = |p: Point| {
        let d = p - middle;
        (d.x.abs().max(d.y.abs()) / reach - 1.0).max(0.0)
    };
    let places: Vec<Point> = (0..9)
        .flat_map(|j| (0..9).map(move |i| Vec2::new(f64::from(i) / 4.0 - 1.0, f64::from(j) / 4.0 - 1.0)))
        .map(|d| middle + d * reach)
        .collect();
    let region = BodyRegion { places, outside: &outside };
    the_one(best, |(found, _), alone| {
        let (map, registered) = pair.exact(&region, found)?;
        let marks = carried(from.marks, map);
        let at = axis(from.view, &marks).and_then(|(superior, down)| {
            let middle = superior + down * 0.5;
            match from.view {
                View::Ap => rough_end_in_front(&pair.second, middle, down),
                View::Lateral | View::Pedicle => nearest_metal(&pair.second, middle),
            }
        });
        // Where the instrument does not say, the pictures must be surely alike, too.
        let level = at.and_then(|p| is_treated(from.view, &marks, p));
        if !is_believed(alone && !registered.uncertain, level) {
            return Err(Refusal::plain(Code::OtherLevel));
        }
        let look_again = marks.kinds().filter(|kind| is_moved(from.view, *kind)).collect();
        Ok(Copied { marks, look_again, registered })
    })
}

/// The bone marks as a map takes them along.
fn carried(marks: &Marks, map: Affine) -> Marks {
    let mut marks = marks.map(|p| map.apply(p));
    for kind in MarkKind::ALL {
        if kind.material() == Material::Metal {
            marks.set(kind, Vec::new());
        }
    }
    marks
}

/// Whether a turn of the view moves a mark, since it lies far in front of or behind the body's middle.
fn is_moved(view: View, kind: MarkKind) -> bool {
    match view {
        View::Ap => {
            matches!(kind, MarkKind::RightPedicle | MarkKind::LeftPedicle | MarkKind::SpinousProcess)
        }
        View::Lateral | View::Pedicle => true,
    }
}

/// Millimetres to a pixel of a marked AP or en face view: its calibration, else by a body of usual height.
fn scale_of(from: &Marked<'_>) -> Option<f64> {
    if let Some(scale) = from.mm_per_px.filter(|s| s.is_finite() && *s > 0.0) {
        return Some(scale);
    }
    if let Some(points) = from.marks.complete(MarkKind::Pedicle) {
        return points.first().zip(points.get(1)).map(|(a, b)| PEDICLE_MM / a.distance(*b).max(1.0));
    }
    let plates =
        [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate].map(|kind| from.marks.complete(kind));
    let [Some(s), Some(i)] = plates else { return None };
    let middle = |p: &[Point]| p.first().zip(p.last()).map(|(a, b)| a.midpoint(*b));
    let height = middle(&s)?.distance(middle(&i)?);
    Some(crate::measure::marked::TYPICAL_HEIGHT_MM / height.max(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a wall by pictures alike to 0.75 is off by 4.4 · 0.25 = 1.1 mm, with the reader's half millimetre 1.208 mm; pedicles and
    /// pictures that are hardly to be told apart have the least, √½ mm.
    #[test]
    fn the_less_two_pictures_are_alike_the_less_sure_a_copied_mark_is() {
        let wall = copied_sd(MarkKind::LeftWall, 0.75);
        assert!((wall.common - 1.1).abs() < 1e-12 && (wall.across - 1.2083).abs() < 1e-4);
        for (kind, similarity) in [(MarkKind::LeftPedicle, 0.75), (MarkKind::SpinousProcess, 0.95)] {
            assert!((copied_sd(kind, similarity).across - 0.5_f64.sqrt()).abs() < 1e-12, "{kind:?}");
        }
    }
}
