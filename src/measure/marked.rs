//! From marks to a body map, and from image points to places of the body with their gradients.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyError, BodyMap, BodyPoint, Border, Outline};
use crate::measure::body_response::BodyResponse;
use crate::measure::gradient::Gradient;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::length::{BodyLengths, Length};
use crate::measure::mark::{MarkKind, MarkRef, Marks};
use crate::measure::placement::{Placement, Placing};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{BodySizes, Field, FrameExtent, Place};
pub use crate::measure::typical::TYPICAL_HEIGHT_MM;

/// The marks that make up a border: where its points come from.
#[derive(Clone, Debug)]
pub(crate) struct BorderMarks {
    kind: MarkKind,
    points: Vec<Point>,
    /// Whether `points` runs against the order of the marks.
    turned: bool,
}

impl BorderMarks {
    /// The contour as marked; without points where the mark is missing or incomplete.
    pub(crate) fn of(marks: &Marks, kind: MarkKind) -> Self {
        Self { kind, points: marks.complete(kind).unwrap_or_default(), turned: false }
    }

    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// The same contour the other way round.
    pub(crate) fn turn(&mut self) {
        self.points.reverse();
        self.turned = !self.turned;
    }

    fn mark(&self, index: usize) -> MarkRef {
        let index = if self.turned { self.points.len() - 1 - index } else { index };
        MarkRef { kind: self.kind, index }
    }
}

/// A body with the marks it was made from.
#[derive(Clone, Debug)]
pub(crate) struct MarkedBody {
    pub(crate) map: BodyMap,
    outline: Outline,
    /// Where the outline's points come from, in the order of [`BodyResponse`].
    points: Vec<MarkRef>,
    pub(crate) mm_per_px: f64,
    pub(crate) scale_assumed: bool,
    placement: Placement,
}

/// Whether uncertainties are wanted, or only values (inside a simulation).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Detail {
    Full,
    ValuesOnly,
}

/// An image point made of marks: a mark itself, or the middle of two.
#[derive(Clone, Debug)]
pub(crate) struct Sighting {
    pub(crate) at: Point,
    pub(crate) made_of: Vec<(MarkRef, f64)>,
}

/// A place of the body with the gradients of both fractions.
#[derive(Clone, Debug)]
pub(crate) struct Located {
    pub(crate) at: BodyPoint,
    pub(crate) along: Gradient,
    pub(crate) height: Gradient,
}

impl Sighting {
    /// A mark's own point.
    pub(crate) fn mark(mark: MarkRef, at: Point) -> Self {
        Self { at, made_of: vec![(mark, 1.0)] }
    }

    /// The middle of two marks.
    pub(crate) fn middle(a: (MarkRef, Point), b: (MarkRef, Point)) -> Self {
        Self { at: a.1.midpoint(b.1), made_of: vec![(a.0, 0.5), (b.0, 0.5)] }
    }
}

impl MarkedBody {
    /// The body of four borders (in the order of [`Border::ALL`]) and their second contours.
    ///
    /// Both end plates must have at least two points. A second contour that runs against its border is turned.
    ///
    /// # Errors
    /// The issue that stands in the way.
    pub(crate) fn new(
        first: [BorderMarks; 4],
        mut second: [BorderMarks; 4],
        mm_per_px: Option<f64>,
        placing: Placing<'_>,
    ) -> Result<Self, Issue> {
        let [s, i, p, a] = &first;
        let mut outline = Outline::new(s.points.clone(), i.points.clone(), &p.points, &a.points);
        let mut points = Vec::new();
        for border in Border::ALL {
            let b = border.index();
            points.extend((0..first[b].points.len()).map(|index| first[b].mark(index)));
            if second[b].points.len() >= 2 {
                if runs_against(&outline.first[b], &second[b].points) {
                    second[b].turn();
                }
                points.extend((0..second[b].points.len()).map(|index| second[b].mark(index)));
                outline.second[b] = Some(second[b].points.clone());
            }
        }
        let kind_of = |border: Border, is_second: bool| {
            if is_second { second[border.index()].kind } else { first[border.index()].kind }
        };
        let map = BodyMap::new(&outline).map_err(|error| body_issue(error, kind_of))?;
        let height = map.mean_height_px();
        let calibrated = mm_per_px.filter(|s| s.is_finite() && *s > 0.0);
        let mm_per_px = calibrated.unwrap_or(TYPICAL_HEIGHT_MM / height);
        let placement = placing.at(mm_per_px);
        Ok(Self { map, outline, points, mm_per_px, scale_assumed: calibrated.is_none(), placement })
    }

    /// How places answer to the marks; one for all that is read in this body, `None` where only values are wanted.
    pub(crate) fn response(&self, detail: Detail) -> Option<BodyResponse<'_>> {
        (detail == Detail::Full).then(|| BodyResponse::of(&self.map, &self.outline))
    }

    /// Where image points lie in the body; `None` where it cannot be read. With a response each comes with its gradients.
    pub(crate) fn locate(
        &self,
        sightings: &[Sighting],
        response: Option<&BodyResponse<'_>>,
    ) -> Vec<Option<Located>> {
        let located = |sighting: &Sighting| {
            let at = self.map.to_body(sighting.at)?;
            let (along, height) = response.map_or_else(Default::default, |r| self.gradients(r, at, sighting));
            Some(Located { at, along, height })
        };
        sightings.iter().map(located).collect()
    }

    /// Gradients of both fractions of a place that an image point shows.
    fn gradients(&self, response: &BodyResponse<'_>, at: BodyPoint, of: &Sighting) -> (Gradient, Gradient) {
        let (_, du, dv) = self.map.to_image_with_derivatives(at);
        let det = du.cross(dv);
        // These turn a displacement of the image point into one of the body place.
        let (along, height) = (Vec2::new(dv.y, -dv.x) / det, Vec2::new(-du.y, du.x) / det);
        let room = self.points.len() + of.made_of.len();
        let mut gradients = (Gradient::with_room(room), Gradient::with_room(room));
        for (&mark, [by_x, by_y]) in self.points.iter().zip(response.place(at)) {
            gradients.0.push_new(mark, -Vec2::new(along.dot(by_x), along.dot(by_y)));
            gradients.1.push_new(mark, -Vec2::new(height.dot(by_x), height.dot(by_y)));
        }
        for &(mark, weight) in &of.made_of {
            gradients.0.push(mark, along * weight);
            gradients.1.push(mark, height * weight);
        }
        gradients
    }

    /// Gradient of the body's depth (or width) at mid height, in pixels.
    pub(crate) fn depth_gradient(&self, response: &BodyResponse<'_>) -> Gradient {
        self.length_gradient(response, [BodyPoint::new(0.0, 0.5), BodyPoint::new(1.0, 0.5)])
    }

    /// Gradient of the distance between two places of the body, in pixels.
    fn length_gradient(&self, response: &BodyResponse<'_>, ends: [BodyPoint; 2]) -> Gradient {
        let across = self.map.to_image(ends[1]) - self.map.to_image(ends[0]);
        let across = across / across.length();
        let [from, to] = ends.map(|end| response.place(end));
        let mut gradient = Gradient::with_room(self.points.len());
        for ((&mark, from), to) in self.points.iter().zip(from).zip(to) {
            let [by_x, by_y] = [0, 1].map(|axis| across.dot(to[axis] - from[axis]));
            gradient.push_new(mark, Vec2::new(by_x, by_y));
        }
        gradient
    }

    /// A place with the view's variances.
    pub(crate) fn place(&self, located: &Located, view_along: f64, view_height: f64) -> Place {
        Place {
            along: self.quantity(&located.along, located.at.along, view_along),
            height: self.quantity(&located.height, located.at.height, view_height),
            covariance: located.along.covariance(&located.height, &self.placement),
        }
    }

    /// A value with its gradient and the view's variance.
    pub(crate) fn quantity(&self, gradient: &Gradient, value: f64, view: f64) -> Quantity {
        gradient.quantity(value, &self.placement, view)
    }

    /// The body's sizes in millimetres, where calibrated; `scale_sd` is the scale's standard uncertainty.
    pub(crate) fn lengths(
        &self,
        scale_sd: Option<f64>,
        response: Option<&BodyResponse<'_>>,
    ) -> Option<BodyLengths> {
        let length = |px: f64, ends: [(f64, f64); 2]| {
            let ends = ends.map(|(u, v)| BodyPoint::new(u, v));
            let gradient = response.map_or_else(Gradient::default, |r| self.length_gradient(r, ends));
            let mm = px * self.mm_per_px;
            let quantity = self.quantity(&gradient.scaled(self.mm_per_px), mm, 0.0);
            Length { quantity, scale: mm * self.relative(scale_sd) }
        };
        (!self.scale_assumed).then(|| BodyLengths {
            depth: length(self.map.depth_px(), [(0.0, 0.5), (1.0, 0.5)]),
            posterior_height: length(self.map.height_px(0.0), [(0.0, 0.0), (0.0, 1.0)]),
            middle_height: length(self.map.height_px(0.5), [(0.5, 0.0), (0.5, 1.0)]),
            anterior_height: length(self.map.height_px(1.0), [(1.0, 0.0), (1.0, 1.0)]),
        })
    }

    /// The body's sizes.
    pub(crate) fn sizes(&self) -> BodySizes {
        BodySizes {
            depth_px: self.map.depth_px(),
            posterior_height_px: self.map.height_px(0.0),
            middle_height_px: self.map.height_px(0.5),
            anterior_height_px: self.map.height_px(1.0),
            end_plate_angle_deg: self.map.end_plate_angle_deg(),
            mm_per_px: self.mm_per_px,
            scale_assumed: self.scale_assumed,
        }
    }

    /// The relative standard uncertainty of the scale.
    pub(crate) fn relative(&self, scale_sd: Option<f64>) -> f64 {
        scale_sd.filter(|sd| sd.is_finite() && *sd > 0.0).map_or(0.0, |sd| sd / self.mm_per_px)
    }

    /// The issue of a corner of the marked outline at the edge of the picture: within 1 % of the frame's longer
    /// side.
    pub(crate) fn cut_off(&self, frame: FrameExtent) -> Option<Issue> {
        let (w, h) = (f64::from(frame.width), f64::from(frame.height));
        let margin = 0.01 * w.max(h);
        let ends = |points: &[Point]| [points[0], points[points.len() - 1]];
        let corners = [ends(&self.outline.first[0]), ends(&self.outline.first[1])].concat();
        let cut_off = corners.into_iter().any(|c| {
            let to_edge = c.x.min(c.y).min(w - c.x).min(h - c.y);
            let to_field = match frame.field {
                Field::Whole => f64::INFINITY,
                Field::Round { centre, radius } => radius - centre.distance(c),
            };
            to_edge.min(to_field) <= margin
        });
        cut_off.then(|| {
            Issue::new(
                IssueCode::BodyCutOff,
                "A corner lies at the edge of the image, so the border may extend beyond it and the fractions may be wrong; use a frame that shows the whole body.",
            )
        })
    }
}

/// Whether a contour runs from the end of the border to its start.
fn runs_against(border: &[Point], contour: &[Point]) -> bool {
    let (start, end) = (border[0], border[border.len() - 1]);
    let (from, to) = (contour[0], contour[contour.len() - 1]);
    from.distance(end) + to.distance(start) < from.distance(start) + to.distance(end)
}

fn body_issue(error: BodyError, kind_of: impl Fn(Border, bool) -> MarkKind) -> Issue {
    match error {
        BodyError::TooClose(border, second) => Issue::new(
            IssueCode::MarksTooClose,
            format!(
                "Two adjacent points of the {} are too close together to define a border; remove one or move it along the border.",
                kind_of(border, second).name()
            ),
        ),
        BodyError::Folded => Issue::new(
            IssueCode::FoldedBody,
            "The borders cross or fold over each other, so the tip cannot be located; check that each corner and border point is where its name says.",
        ),
    }
}

/// The issue of marks that are missing, or `None` when nothing is.
pub(crate) fn missing(marks: &Marks, needed: &[MarkKind]) -> Option<Issue> {
    let lacking: Vec<&str> = needed
        .iter()
        .filter(|&&kind| marks.complete(kind).is_none_or(|points| points.len() < kind.count().0))
        .map(|kind| kind.name())
        .collect();
    let (last, others) = lacking.split_last()?;
    let list = if others.is_empty() {
        format!("the {last}")
    } else {
        format!("the {} and the {last}", others.join(", the "))
    };
    Some(Issue::new(IssueCode::MissingMarks, format!("Still to be marked: {list}.")))
}
