//! Two pictures of one body, registered: coarsely over the whole second picture, then exactly over the body.

use crate::align::coarse::{Evened, Match, locate};
use crate::align::estimate::{SeenShot, estimate};
use crate::align::region::BodyRegion;
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Marks, View};
use crate::propose::metal::Polarity;
use crate::propose::still::Still;
use crate::propose::trust::{Code, Refusal};

/// Correlations below which pictures are not registered: coarse and over the body.
const LEAST_PEAK: f64 = 0.45;
const LEAST_SIMILARITY: f64 = 0.6;
/// Below this the registration is offered as uncertain.
const SURE_SIMILARITY: f64 = 0.75;
/// Where nothing is as good as this, the picture may show the other side.
const MIRRORED_BELOW: f64 = 0.6;
/// In AP and en face views a spine looks nearly the same the other way round, and the marks of both sides would change places: there
/// the mirrored picture must be better by this.
const MIRRORED_BETTER: f64 = 0.1;

/// A shot whose marks are to be used.
#[derive(Clone, Copy, Debug)]
pub struct Marked<'a> {
    /// Its picture.
    pub frame: &'a Frame,
    /// Its redacted boxes.
    pub covers: &'a [Cover],
    /// Its marks.
    pub marks: &'a Marks,
    /// Its view.
    pub view: View,
    /// Its calibration.
    pub mm_per_px: Option<f64>,
}

/// A shot for which marks are wanted.
#[derive(Clone, Copy, Debug)]
pub struct Unmarked<'a> {
    /// Its picture.
    pub frame: &'a Frame,
    /// Its redacted boxes.
    pub covers: &'a [Cover],
    /// Its calibration.
    pub mm_per_px: Option<f64>,
}

/// How well two pictures were registered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Registered {
    /// Correlation of the body's surroundings.
    pub peak: f64,
    /// Correlation over the body.
    pub similarity: f64,
    /// Whether the similarity is so low that the registration is uncertain.
    pub uncertain: bool,
}

/// The two stills, each with the size of its pixels, and bone's polarity in the first.
pub(crate) struct Pair<'a> {
    pub(crate) first: Still<'a>,
    pub(crate) second: Still<'a>,
    mm: [f64; 2],
}

impl<'a> Pair<'a> {
    /// The first picture's pixels are `mm` large; the second one's follow from both calibrations.
    pub(crate) fn new(from: &Marked<'a>, to: &Unmarked<'a>, mm: f64) -> Self {
        let good = |scale: Option<f64>| scale.filter(|s| s.is_finite() && *s > 0.0);
        let ratio =
            good(to.mm_per_px).zip(good(from.mm_per_px)).map_or(1.0, |(b, a)| (b / a).clamp(0.2, 5.0));
        let sizes = [mm, mm * ratio];
        Self {
            first: Still::new(from.frame, from.covers, sizes[0]),
            second: Still::new(to.frame, to.covers, sizes[1]),
            mm: sizes,
        }
    }

    /// The maps from the first picture into the second, coarsely, the best first, for the first's polarity; and the
    /// second's polarity with each.
    pub(crate) fn coarse(&self, view: View, middle: Point, polarity: Polarity) -> Vec<(Match, Polarity)> {
        let first = evened(&self.first, polarity);
        let at = scaled(middle, self.first.scene.scale);
        let peak = |found: &[(Match, Polarity)]| found.first().map_or(0.0, |(found, _)| found.peak);
        let mut best: Vec<(Match, Polarity)> = Vec::new();
        for other in self.second.polarities() {
            let second = evened(&self.second, other);
            for mirrored in [false, true] {
                if mirrored && peak(&best) >= MIRRORED_BELOW {
                    continue;
                }
                let least = match view {
                    View::Ap | View::Pedicle if mirrored => peak(&best) + MIRRORED_BETTER,
                    View::Lateral | View::Ap | View::Pedicle => peak(&best),
                };
                let found = locate(&first, &second, at, mirrored).unwrap_or_default();
                let found: Vec<(Match, Polarity)> = found.into_iter().map(|found| (found, other)).collect();
                if peak(&found) > least {
                    best = found;
                }
            }
        }
        for (found, _) in &mut best {
            found.map = in_frames(found.map, self.first.scene.scale, self.second.scene.scale);
        }
        best
    }

    /// The coarse map made exact over a region of the first picture.
    pub(crate) fn exact(
        &self,
        region: &BodyRegion<'_>,
        found: &Match,
    ) -> Result<(Affine, Registered), Refusal> {
        let unlike = || Refusal::plain(Code::Unlike);
        if is_below(found.peak, LEAST_PEAK) {
            return Err(unlike());
        }
        let closures = [&self.first, &self.second].map(|still| move |p: Point| is_hidden(still, p));
        let seen = |i: usize, frame| SeenShot { frame, covered: &closures[i], mm_per_px: self.mm[i] };
        let (fixed, moving) = (seen(0, self.first.frame), seen(1, self.second.frame));
        let estimate = estimate(region, [&moving, &fixed], found.map).ok_or_else(unlike)?;
        let similarity = estimate.similarity[1];
        if is_below(similarity, LEAST_SIMILARITY) {
            return Err(unlike());
        }
        let uncertain = similarity < SURE_SIMILARITY;
        Ok((estimate.map, Registered { peak: found.peak, similarity, uncertain }))
    }
}

/// A still evened out for registration, metal and what was not recorded left out.
fn evened(still: &Still<'_>, polarity: Polarity) -> Evened {
    let scene = &still.scene;
    let counts: Vec<bool> =
        scene.inside.iter().zip(&still.metal).map(|(&inside, &metal)| inside && !metal).collect();
    Evened::new(&scene.grey.map(|v| v * polarity.sign()), &counts, scene.mm)
}

/// Whether a place of a frame is hidden: metal, or not recorded.
fn is_hidden(still: &Still<'_>, p: Point) -> bool {
    let scene = &still.scene;
    let q = scene.of_frame(p);
    if !(q.x >= -0.5 && q.y >= -0.5) {
        return true;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative")]
    let (x, y) = (q.x.round().max(0.0) as usize, q.y.round().max(0.0) as usize);
    if x >= scene.grey.columns || y >= scene.grey.rows {
        return true;
    }
    let index = y * scene.grey.columns + x;
    !scene.inside[index] || still.metal[index]
}

fn scaled(p: Point, by: [f64; 2]) -> Point {
    Point::new(p.x * by[0], p.y * by[1])
}

/// A map between two scenes as a map between their frames.
fn in_frames(map: Affine, first: [f64; 2], second: [f64; 2]) -> Affine {
    let back = |v: Vec2| Vec2::new(v.x / second[0], v.y / second[1]);
    Affine {
        origin: back(map.origin.to_vec()).to_point(),
        across: back(map.across) * first[0],
        down: back(map.down) * first[1],
    }
}

/// Whether a correlation is below a limit; what is no number is.
fn is_below(value: f64, limit: f64) -> bool {
    value.is_nan() || value < limit
}
