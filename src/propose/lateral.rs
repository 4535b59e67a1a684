//! The outline of a body in a lateral view from two clicks, and the tip in it.

use std::collections::BTreeMap;

use crate::case::document::proposed::{MarkSd, ProposedMarks};
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::mark::{MarkKind, Marks};
use crate::propose::edge::Found;
use crate::propose::fit::{Fit, Observation, fit_again, moved};
use crate::propose::five::{Agreed, five, score};
use crate::propose::level::{Second, correction, outermost};
use crate::propose::metal::Polarity;
pub use crate::propose::model::UsualForm;
use crate::propose::model::{Edge, Prior, Shape, Target, corners, locate};
use crate::propose::outline::{BorderSd, far_from, marks, sds, target_of};
use crate::propose::patch::Patch;
use crate::propose::still::Still;
use crate::propose::tip::{Tip, TipRefusal, tip};
use crate::propose::trust::{Code, Parts, Refusal, doubt, parts, refusal};

/// Wall to wall at mid height in a body of usual size; the scale where there is no calibration.
pub const WALL_TO_WALL_MM: f64 = 32.0;
/// How sure a click in the middle of a wall is, across and along it, and a mark that was dragged.
const CLICK_SD_MM: Vec2 = Vec2::new(1.2, 3.0);
const DRAGGED_SD_MM: f64 = 0.3;
/// How sure a click on a border that was not found is, across and along it.
const HELPED_SD_MM: [f64; 2] = [0.4, 8.0];
/// A point dragged along its own border says little.
const DRAGGED_ALONG_MM: f64 = 3.0;
/// Beyond this rotation the superior end is not known.
const MOST_ROTATION_DEG: f64 = 50.0;
/// The fewest pixels between the clicks.
const LEAST_PX: f64 = 24.0;
/// A calibrated body's depth between the walls, in millimetres: far beyond what bodies have.
const DEPTHS_MM: (f64, f64) = (18.0, 56.0);

/// What a person points at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clicks {
    /// Middle of the posterior wall, in pixels of the frame.
    pub posterior: Point,
    /// Middle of the anterior wall.
    pub anterior: Point,
}

/// A proposed outline, with what is needed to fit it again.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// The four borders' marks, in pixels of the frame.
    pub marks: Marks,
    /// How sure each border is, in the order of [`Edge::ALL`].
    pub sds: [BorderSd; 4],
    /// What speaks for and against it.
    pub parts: Parts,
    /// The sum of doubts, at most 2.
    pub score: f64,
    /// The tip, or why none is proposed.
    pub tip: Result<Tip, TipRefusal>,
    /// Borders that seem to show twice.
    pub shows_twice: Vec<Edge>,
    /// Each border's response over a clear one's, in the order of [`Edge::ALL`]: thin lines where the picture says little.
    pub responses: [f64; 4],
    /// Whether bone is dark in the picture.
    pub polarity: Polarity,
    /// Millimetres of the body to a pixel, by the clicks where there is no calibration.
    pub mm_per_px: f64,
    pub(crate) session: Session,
}

/// A shape in its patch, ready to be fitted again.
#[derive(Clone, Debug)]
pub(crate) struct Session {
    pub(crate) patch: Patch,
    pub(crate) prior: Prior,
    pub(crate) clicks: Vec<Observation>,
    pub(crate) shape: Shape,
}

/// Proposes the outline and the tip of a lateral shot from two clicks. `mm_per_px` is the shot's calibration, if it has one.
///
/// # Errors
/// Why nothing is proposed.
pub fn propose(
    frame: &Frame,
    covers: &[Cover],
    clicks: Clicks,
    mm_per_px: Option<f64>,
) -> Result<Proposal, Refusal> {
    propose_with(frame, covers, (clicks, &[]), mm_per_px, &Prior::BODY)
}

/// The same with further clicks on borders that were not found by themselves.
///
/// # Errors
/// Why nothing is proposed.
pub fn propose_helped(
    frame: &Frame,
    covers: &[Cover],
    (clicks, helped): (Clicks, &[(Edge, Point)]),
    mm_per_px: Option<f64>,
) -> Result<Proposal, Refusal> {
    propose_with(frame, covers, (clicks, helped), mm_per_px, &Prior::BODY)
}

/// The same with bodies of another usual form than human ones, for animals. Without calibration.
///
/// # Errors
/// Why nothing is proposed.
pub fn propose_shaped(
    frame: &Frame,
    covers: &[Cover],
    clicks: Clicks,
    usual: UsualForm,
) -> Result<Proposal, Refusal> {
    propose_with(frame, covers, (clicks, &[]), None, &Prior::of_form(usual))
}

fn propose_with(
    frame: &Frame,
    covers: &[Cover],
    (clicks, helped): (Clicks, &[(Edge, Point)]),
    mm_per_px: Option<f64>,
    prior: &Prior,
) -> Result<Proposal, Refusal> {
    let to_image = upright(frame, clicks, mm_per_px, prior)?;
    let mm = 1.0 / to_image.across.length();
    let still = Still::new(frame, covers, mm);
    let observed = observations(to_image, clicks, helped)?;
    let tried: Vec<(Polarity, Patch, Agreed)> = still
        .polarities()
        .into_iter()
        .filter_map(|polarity| {
            let patch = still.patch(to_image, polarity)?;
            let agreed = five(&patch, prior, &observed)?;
            Some((polarity, patch, agreed))
        })
        .collect();
    let best = tried.into_iter().max_by(|a, b| score(&a.2.found).total_cmp(&score(&b.2.found)));
    let (polarity, patch, agreed) = best.ok_or_else(|| Refusal::plain(Code::OutsideImage))?;
    if let Some(refused) = refusal(&patch, prior, &agreed) {
        return Err(refused);
    }
    let session = Session { patch, prior: prior.clone(), clicks: observed, shape: agreed.shape };
    let exact = exact(&session, &agreed.shape, &agreed.found);
    Ok(finished(&still, session, &agreed, exact, polarity))
}

/// The proposal of an agreed outline that is not refused, with its exact shape and its other lines.
pub(crate) fn finished(
    still: &Still<'_>,
    session: Session,
    agreed: &Agreed,
    (shape, twice): (Shape, [Option<Second>; 4]),
    polarity: Polarity,
) -> Proposal {
    let to_image = session.patch.to_image;
    let middle = middle_of(&session.shape);
    let parts = parts(agreed);
    let mut instrument = still.instrument.clone();
    if instrument.polarity != polarity {
        instrument.score = 0.0;
    }
    let marks = marks(&shape, to_image);
    let tip = tip(still.frame, &still.scene, &instrument, to_image.apply(middle));
    let tip = match tip {
        Ok(found) if far_from(&marks, found.point) => Err(TipRefusal::Elsewhere),
        found => found,
    };
    Proposal {
        marks,
        sds: sds(&agreed.spread, &twice),
        score: doubt(&parts),
        parts,
        tip,
        shows_twice: doubled(&twice),
        responses: agreed.found.each_ref().map(|found| found.mean_response()),
        polarity,
        mm_per_px: 1.0 / to_image.across.length(),
        session,
    }
}

/// The shape with each border at its exact place, and the other lines of borders that seem to show twice.
pub(crate) fn exact(session: &Session, shape: &Shape, found: &[Found; 4]) -> (Shape, [Option<Second>; 4]) {
    let looked = Edge::ALL.map(|edge| outermost(&session.patch, &found[edge.index()], edge));
    let twice = looked.each_ref().map(|(_, second)| *second);
    let corrections = Edge::ALL.map(|edge| {
        let (found, second) = &looked[edge.index()];
        correction(&session.patch, found, edge, *second)
    });
    let outer = looked.map(|(found, _)| found);
    let exact = moved(&session.prior, shape, &session.clicks, &outer, &corrections).unwrap_or(*shape);
    (exact, twice)
}

/// The borders that seem to show twice.
fn doubled(twice: &[Option<Second>; 4]) -> Vec<Edge> {
    Edge::ALL.into_iter().filter(|edge| twice[edge.index()].is_some()).collect()
}

/// The middle of the four corners, in patch millimetres.
pub(crate) fn middle_of(shape: &Shape) -> Point {
    corners(shape).iter().fold(Point::default(), |sum, c| sum + c.to_vec() / 4.0)
}

/// The map from a patch onto the frame that brings the usual walls to the clicks.
fn upright(frame: &Frame, clicks: Clicks, mm_per_px: Option<f64>, prior: &Prior) -> Result<Affine, Refusal> {
    let Clicks { posterior, anterior } = clicks;
    let (wide, high) = (f64::from(frame.width), f64::from(frame.height));
    let inside = |p: Point| p.x >= 0.0 && p.y >= 0.0 && p.x <= wide && p.y <= high;
    if !inside(posterior) || !inside(anterior) {
        return Err(Refusal::plain(Code::OutsideImage));
    }
    let across = anterior - posterior;
    // What is no number is not far enough.
    let far_enough = across.length() >= LEAST_PX;
    let calibrated = mm_per_px.filter(|s| s.is_finite() && *s > 0.0).map(|s| s * across.length());
    if !far_enough || calibrated.is_some_and(|mm| !(DEPTHS_MM.0..=DEPTHS_MM.1).contains(&mm)) {
        return Err(Refusal::plain(Code::Clicks));
    }
    let rotation = across.y.atan2(across.x.abs()).to_degrees();
    if rotation.abs() > MOST_ROTATION_DEG {
        return Err(Refusal::plain(Code::Rotated));
    }
    let usual = [Edge::Posterior, Edge::Anterior].map(|edge| locate(&prior.mean, Target::On(edge, 0.5)));
    let pairs = [(usual[0], posterior), (usual[1], anterior)];
    Affine::fit_similar(&pairs, across.x < 0.0).ok_or_else(|| Refusal::plain(Code::Clicks))
}

/// The map from a patch onto a frame that brings the usual walls to those of a marked body.
pub(crate) fn walls_upright(map: &BodyMap) -> Option<Affine> {
    let walls = [0.0, 1.0].map(|u| map.to_image(BodyPoint::new(u, 0.5)));
    let usual =
        [Edge::Posterior, Edge::Anterior].map(|edge| locate(&Prior::BODY.mean, Target::On(edge, 0.5)));
    let pairs = [(usual[0], walls[0]), (usual[1], walls[1])];
    // The patch has posterior on the left and superior at the top, which fixes its handedness.
    Affine::fit_similar(&pairs, map.orientation() < 0.0)
}

/// A marked body as a fit sees it.
pub(crate) fn observed_marks(map: &BodyMap, to_image: Affine) -> Option<Vec<Observation>> {
    let back = to_image.inverse()?;
    let sd = Vec2::new(DRAGGED_SD_MM, DRAGGED_SD_MM);
    let seen = |target, u: f64, v: f64| Observation {
        target,
        at: back.apply(map.to_image(BodyPoint::new(u, v))),
        sd,
    };
    let corner = |i: usize, u, v| seen(Target::Corner(i), u, v);
    let mut all = vec![corner(0, 0.0, 0.0), corner(1, 1.0, 0.0), corner(2, 0.0, 1.0), corner(3, 1.0, 1.0)];
    for t in [0.25, 0.5, 0.75] {
        all.push(seen(Target::On(Edge::Superior, t), t, 0.0));
        all.push(seen(Target::On(Edge::Inferior, t), t, 1.0));
        all.push(seen(Target::On(Edge::Posterior, t), 0.0, t));
        all.push(seen(Target::On(Edge::Anterior, t), 1.0, t));
    }
    Some(all)
}

/// The clicks as a fit sees them.
fn observations(
    to_image: Affine,
    clicks: Clicks,
    helped: &[(Edge, Point)],
) -> Result<Vec<Observation>, Refusal> {
    let back = to_image.inverse().ok_or_else(|| Refusal::plain(Code::Clicks))?;
    let click =
        |edge, at: Point| Observation { target: Target::On(edge, 0.5), at: back.apply(at), sd: CLICK_SD_MM };
    let mut all = vec![click(Edge::Posterior, clicks.posterior), click(Edge::Anterior, clicks.anterior)];
    all.extend(helped.iter().map(|&(edge, at)| {
        let [across, along] = HELPED_SD_MM;
        let sd = match edge {
            Edge::Superior | Edge::Inferior => Vec2::new(along, across),
            Edge::Posterior | Edge::Anterior => Vec2::new(across, along),
        };
        Observation { target: Target::On(edge, 0.5), at: back.apply(at), sd }
    }));
    Ok(all)
}

impl Proposal {
    /// The shot's marks with the proposed ones in their places, and which of them are proposed; `before` are the marks the
    /// shot has, of which instruments and second contours stay.
    #[must_use]
    pub fn draft_of(&self, before: &Marks) -> (Marks, ProposedMarks) {
        let mut proposed = self.marks.clone();
        let mut sds: BTreeMap<MarkKind, MarkSd> = Edge::ALL
            .into_iter()
            .map(|edge| {
                let BorderSd { across, along, common } = self.sds[edge.index()];
                (edge.mark_kind(), MarkSd { across, common, along: Some(along) })
            })
            .collect();
        if let Ok(tip) = &self.tip {
            proposed.set(MarkKind::Tip, vec![Some(tip.point)]);
            let [along, across] = tip.sd_mm;
            sds.insert(MarkKind::Tip, MarkSd { across, common: 0.0, along: Some(along) });
        }
        let mut all = before.clone();
        for kind in proposed.kinds() {
            all.set(kind, proposed.slots(kind).to_vec());
        }
        (all, ProposedMarks::all(&proposed, sds))
    }

    /// Fits the rest again to marks that a person has dragged: kind, index and where each lies now, in pixels of the frame.
    /// The dragged marks stay where they are.
    #[must_use]
    pub fn refit(&self, dragged: &[(MarkKind, usize, Point)]) -> Self {
        let session = &self.session;
        let Some(back) = session.patch.to_image.inverse() else { return self.clone() };
        let seen = dragged.iter().filter_map(|&(kind, index, at)| {
            let target = target_of(kind, index)?;
            let sd = match target {
                Target::Corner(_) => Vec2::new(DRAGGED_SD_MM, DRAGGED_SD_MM),
                Target::On(Edge::Superior | Edge::Inferior, _) => Vec2::new(DRAGGED_ALONG_MM, DRAGGED_SD_MM),
                Target::On(Edge::Posterior | Edge::Anterior, _) => Vec2::new(DRAGGED_SD_MM, DRAGGED_ALONG_MM),
            };
            Some(Observation { target, at: back.apply(at), sd })
        });
        let clicks: Vec<Observation> = session.clicks.iter().copied().chain(seen).collect();
        let Some(Fit { shape, found }) = fit_again(&session.patch, &session.prior, session.shape, &clicks)
        else {
            return self.clone();
        };
        let (exact, twice) = exact(session, &shape, &found);
        let mut marks = marks(&exact, session.patch.to_image);
        for &(kind, index, at) in dragged {
            let mut slots = marks.slots(kind).to_vec();
            if let Some(slot) = slots.get_mut(index) {
                *slot = Some(at);
            }
            marks.set(kind, slots);
        }
        Self {
            marks,
            shows_twice: doubled(&twice),
            responses: found.each_ref().map(|found| found.mean_response()),
            session: Session { shape, ..session.clone() },
            ..self.clone()
        }
    }
}
