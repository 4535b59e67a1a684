//! True marks: what a reader without error would mark on a view.

use crate::geom::point::{Point, Vec2};
use crate::measure::ap::ap_body_map;
use crate::measure::body::{BodyMap, Border};
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks, Side};
use crate::phantom::beam::{Beam, sign};
use crate::phantom::body::{Body, Plate};
use crate::phantom::contour::{self, Contour};
use crate::phantom::instrument::PlacedInstrument;

/// Whether the second contour of a border is marked too, where it shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Showing {
    /// Only the chosen contour.
    One,
    /// The second one too where a reader sees it: where the two lie farther apart than those of a ray turned by
    /// 1.4° would, which the method takes for the least that shows.
    WhereSeen,
    /// Both, however near they are.
    Both,
}

/// The least turn that shows as a double contour, in degrees (method, section 4).
const SHOWS_DEG: f64 = 1.4;
/// How far the contours lie off the middle plane, in millimetres, as the method takes it: end plates in a lateral
/// and in an AP view, and the posterior wall.
const LATERAL_PLATE: f64 = 20.0;
const AP_PLATE: f64 = 15.0;
const POSTERIOR_WALL: f64 = 12.0;

/// What a reader marks: which contour of each border, and at which fractions the interior points.
#[derive(Clone, Debug, PartialEq)]
pub struct Reader {
    /// Contour of the superior end plate.
    pub superior: Contour,
    /// Contour of the inferior end plate.
    pub inferior: Contour,
    /// Contour of the posterior wall (lateral).
    pub posterior: Contour,
    /// One contour or both.
    pub showing: Showing,
    /// Where interior points of the superior end plate lie, along its length.
    pub superior_at: Vec<f64>,
    /// The same for the inferior end plate.
    pub inferior_at: Vec<f64>,
    /// Where interior points of the wall at the plates' start lie (lateral: posterior), along its height.
    pub start_at: Vec<f64>,
    /// The same for the other wall.
    pub end_at: Vec<f64>,
}

impl Reader {
    /// A reader who marks the near contours with three interior points on each end plate, two on the posterior
    /// and one on the anterior wall.
    #[must_use]
    pub fn careful() -> Self {
        Self {
            superior: Contour::Near,
            inferior: Contour::Near,
            posterior: Contour::Near,
            showing: Showing::One,
            superior_at: vec![0.25, 0.5, 0.75],
            inferior_at: vec![0.25, 0.5, 0.75],
            start_at: vec![0.35, 0.65],
            end_at: vec![0.5],
        }
    }

    fn plate(&self, plate: Plate) -> (Contour, &[f64]) {
        match plate {
            Plate::Superior => (self.superior, &self.superior_at),
            Plate::Inferior => (self.inferior, &self.inferior_at),
        }
    }
}

/// A border's contour as a function of its fraction.
type ContourLine<'a> = Box<dyn Fn(f64) -> Point + 'a>;

/// Contours of a view and the directions in which they are continued to their corners.
struct DrawnContours<'a> {
    superior: ContourLine<'a>,
    inferior: ContourLine<'a>,
    start: ContourLine<'a>,
    end: ContourLine<'a>,
    along_plates: [Vec2; 2],
    along_walls: [Vec2; 2],
}

impl DrawnContours<'_> {
    /// The four corners, superior start first, superior end, inferior start, inferior end.
    fn corners(&self) -> [Point; 4] {
        let corner = |wall: &ContourLine<'_>, plate: &ContourLine<'_>, v: usize, u: usize| {
            #[expect(clippy::cast_precision_loss, reason = "0 or 1")]
            let (on_wall, on_plate) = (wall(v as f64), plate(u as f64));
            contour::meeting(on_wall, on_plate, self.along_walls[u], self.along_plates[v])
        };
        [
            corner(&self.start, &self.superior, 0, 0),
            corner(&self.end, &self.superior, 0, 1),
            corner(&self.start, &self.inferior, 1, 0),
            corner(&self.end, &self.inferior, 1, 1),
        ]
    }
}

fn lateral_lines<'a>(
    body: &'a Body,
    beam: &'a Beam,
    s: Contour,
    i: Contour,
    p: Contour,
) -> DrawnContours<'a> {
    let at = |u: f64, v: f64| beam.project(body.at(u, 0.0, v));
    DrawnContours {
        superior: Box::new(move |u| beam.project(contour::plate_lateral(body, beam, Plate::Superior, s, u))),
        inferior: Box::new(move |u| beam.project(contour::plate_lateral(body, beam, Plate::Inferior, i, u))),
        start: Box::new(move |v| beam.project(contour::posterior(body, beam, p, v))),
        end: Box::new(move |v| beam.project(contour::anterior(body, beam, v))),
        along_plates: [at(1.0, 0.0) - at(0.0, 0.0), at(1.0, 1.0) - at(0.0, 1.0)],
        along_walls: [at(0.0, 1.0) - at(0.0, 0.0), at(1.0, 1.0) - at(1.0, 0.0)],
    }
}

fn ap_lines<'a>(body: &'a Body, beam: &'a Beam, s: Contour, i: Contour) -> DrawnContours<'a> {
    // From the patient's right to the left.
    let plate = move |plate: Plate, contour: Contour| -> ContourLine<'a> {
        Box::new(move |w: f64| beam.project(contour::plate_ap(body, beam, plate, contour, 2.0 * w - 1.0)))
    };
    let at = |w: f64, v: f64| beam.project(body.at(0.5, 2.0 * w - 1.0, v));
    DrawnContours {
        superior: plate(Plate::Superior, s),
        inferior: plate(Plate::Inferior, i),
        start: Box::new(move |v| beam.project(contour::side_wall(body, beam, -1.0, v))),
        end: Box::new(move |v| beam.project(contour::side_wall(body, beam, 1.0, v))),
        along_plates: [at(1.0, 0.0) - at(0.0, 0.0), at(1.0, 1.0) - at(0.0, 1.0)],
        along_walls: [at(0.0, 1.0) - at(0.0, 0.0), at(1.0, 1.0) - at(1.0, 0.0)],
    }
}

/// Points from end to end: a corner, interior points of a line, a corner. An interior point that would fall
/// on a corner, as on a second contour far from the first, is left out.
fn polyline(from: Point, line: &ContourLine<'_>, at: &[f64], to: Point) -> Vec<Option<Point>> {
    let clear = 0.1 * from.distance(to);
    let between = at.iter().map(|&t| line(t)).filter(|p| p.distance(from).min(p.distance(to)) > clear);
    std::iter::once(from).chain(between).chain(std::iter::once(to)).map(Some).collect()
}

/// Interior points of a line.
fn interior(line: &ContourLine<'_>, at: &[f64]) -> Vec<Option<Point>> {
    at.iter().map(|&t| Some(line(t))).collect()
}

/// The marks half way between two markings of the same points.
#[must_use]
pub fn mean(a: &Marks, b: &Marks) -> Marks {
    let mut marks = Marks::new();
    for kind in a.kinds() {
        let between = a.slots(kind).iter().zip(b.slots(kind)).map(|(a, b)| Some(a.as_ref()?.midpoint((*b)?)));
        marks.set(kind, between.collect());
    }
    marks
}

/// The borders of a body in a lateral view.
#[must_use]
pub fn lateral(body: &Body, beam: &Beam, reader: &Reader) -> Marks {
    let (s, i, p) = (reader.superior, reader.inferior, reader.posterior);
    let mut marks = Marks::new();
    let drawn = lateral_lines(body, beam, s, i, p);
    let c = drawn.corners();
    marks.set(MarkKind::SuperiorEndPlate, polyline(c[0], &drawn.superior, &reader.superior_at, c[1]));
    marks.set(MarkKind::InferiorEndPlate, polyline(c[2], &drawn.inferior, &reader.inferior_at, c[3]));
    marks.set(MarkKind::PosteriorWall, interior(&drawn.start, &reader.start_at));
    marks.set(MarkKind::AnteriorWall, interior(&drawn.end, &reader.end_at));
    if reader.showing != Showing::One {
        let other = lateral_lines(body, beam, s.other(), i, p);
        let d = other.corners();
        let line = polyline(d[0], &other.superior, &reader.superior_at, d[1]);
        marks.set(MarkKind::SuperiorEndPlateSecond, line);
        let other = lateral_lines(body, beam, s, i.other(), p);
        let d = other.corners();
        let line = polyline(d[2], &other.inferior, &reader.inferior_at, d[3]);
        marks.set(MarkKind::InferiorEndPlateSecond, line);
        if contour::posterior_shows_twice(body) {
            let other = lateral_lines(body, beam, s, i, p.other());
            let d = other.corners();
            marks.set(MarkKind::PosteriorWallSecond, polyline(d[0], &other.start, &reader.start_at, d[2]));
        }
    }
    if reader.showing == Showing::WhereSeen {
        let map = lateral_body_map(&marks).ok();
        leave_out_unseen(
            &mut marks,
            map.as_ref(),
            beam,
            &[
                (Border::Superior, MarkKind::SuperiorEndPlateSecond, LATERAL_PLATE),
                (Border::Inferior, MarkKind::InferiorEndPlateSecond, LATERAL_PLATE),
                (Border::Start, MarkKind::PosteriorWallSecond, POSTERIOR_WALL),
            ],
        );
    }
    marks
}

/// Takes back the second contours a reader would not have seen: those of borders, `a` millimetres off the middle
/// plane on either side, that lie no farther apart than 2 a sin 1.4°.
fn leave_out_unseen(
    marks: &mut Marks,
    map: Option<&BodyMap>,
    beam: &Beam,
    borders: &[(Border, MarkKind, f64)],
) {
    for &(border, kind, a) in borders {
        let shows = 2.0 * a * libm::sin(SHOWS_DEG.to_radians());
        let apart = map.and_then(|map| map.separation(border)).map(|px| px * beam.mm_per_px());
        if apart.is_some_and(|apart| apart <= shows) {
            marks.set(kind, Vec::new());
        }
    }
}

/// The borders of a body and the structures behind it in an AP view; end plates run from the patient's right
/// to the left.
#[must_use]
pub fn ap(body: &Body, beam: &Beam, reader: &Reader) -> Marks {
    let mut marks = Marks::new();
    let (s, i) = (reader.superior, reader.inferior);
    let drawn = ap_lines(body, beam, s, i);
    let c = drawn.corners();
    marks.set(MarkKind::SuperiorEndPlate, polyline(c[0], &drawn.superior, &reader.superior_at, c[1]));
    marks.set(MarkKind::InferiorEndPlate, polyline(c[2], &drawn.inferior, &reader.inferior_at, c[3]));
    marks.set(MarkKind::RightWall, interior(&drawn.start, &reader.start_at));
    marks.set(MarkKind::LeftWall, interior(&drawn.end, &reader.end_at));
    if reader.showing != Showing::One {
        for (plate, kind) in [
            (Plate::Superior, MarkKind::SuperiorEndPlateSecond),
            (Plate::Inferior, MarkKind::InferiorEndPlateSecond),
        ] {
            let (contour, at) = reader.plate(plate);
            let (other, ends) = match plate {
                Plate::Superior => (ap_lines(body, beam, contour.other(), i), [0, 1]),
                Plate::Inferior => (ap_lines(body, beam, s, contour.other()), [2, 3]),
            };
            let d = other.corners();
            let line = if plate == Plate::Superior { &other.superior } else { &other.inferior };
            marks.set(kind, polyline(d[ends[0]], line, at, d[ends[1]]));
        }
    }
    if reader.showing == Showing::WhereSeen {
        let map = ap_body_map(&marks, None, None).ok();
        leave_out_unseen(
            &mut marks,
            map.as_ref(),
            beam,
            &[
                (Border::Superior, MarkKind::SuperiorEndPlateSecond, AP_PLATE),
                (Border::Inferior, MarkKind::InferiorEndPlateSecond, AP_PLATE),
            ],
        );
    }
    for (side, kind) in [(Side::Right, MarkKind::RightPedicle), (Side::Left, MarkKind::LeftPedicle)] {
        let pedicle = body.pedicle(sign(side));
        let borders = [pedicle.centre + pedicle.lateral, pedicle.centre - pedicle.lateral];
        marks.set(kind, borders.map(|p| Some(beam.project(p))).to_vec());
    }
    let spinous = body.spinous();
    let half = glam::DVec3::new(0.0, spinous.half_thickness, 0.0);
    let borders = [spinous.tip - half, spinous.tip + half];
    marks.set(MarkKind::SpinousProcess, borders.map(|p| Some(beam.project(p))).to_vec());
    marks
}

/// The outline of the pedicle of one side, seen on face.
#[must_use]
pub fn pedicle(body: &Body, beam: &Beam, side: Side) -> Marks {
    let p = body.pedicle(sign(side));
    let extremes = [p.centre + p.superior, p.centre - p.superior, p.centre - p.lateral, p.centre + p.lateral];
    let mut marks = Marks::new();
    marks.set(MarkKind::Pedicle, extremes.map(|p| Some(beam.project(p))).to_vec());
    marks
}

/// Adds the marks of an instrument: its tip, the cannula from where it is seen first to its mouth, and the
/// electrodes.
pub fn add_instrument(marks: &mut Marks, beam: &Beam, instrument: &PlacedInstrument) {
    let at = |p| Some(beam.project(p));
    marks.set(MarkKind::Tip, vec![at(instrument.tip())]);
    let seen_from = instrument.mouth + (instrument.outside - instrument.mouth) * 0.21;
    marks.set(MarkKind::Cannula, vec![at(seen_from), at(instrument.mouth)]);
    if let Some(electrodes) = instrument.electrodes {
        marks.set(MarkKind::Electrodes, electrodes.map(at).to_vec());
    }
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;
    use crate::measure::mark::{Level, View};
    use crate::phantom::beam::Pose;
    use crate::phantom::size::{Sample, Size};

    fn typical(level: Level) -> Body {
        Body::new(Size::typical(level, Sample::All))
    }

    #[test]
    fn every_view_has_its_marks_and_no_others() {
        let body = typical(Level::L3);
        let reader = Reader { showing: Showing::Both, ..Reader::careful() };
        let beam = |view| Pose::true_view(view, 0.3, 768.0).beam(-body.pedicle(-1.0).axis);
        for (view, marks) in [
            (View::Lateral, lateral(&body, &beam(View::Lateral), &reader)),
            (View::Ap, ap(&body, &beam(View::Ap), &reader)),
            (View::Pedicle, pedicle(&body, &beam(View::Pedicle), Side::Right)),
        ] {
            assert!(marks.kinds().all(|kind| kind.belongs_to(view)), "{view:?}");
            assert!(marks.kinds().all(|kind| marks.complete(kind).is_some()));
        }
        let lateral = lateral(&body, &beam(View::Lateral), &reader);
        assert!(lateral.kinds().any(|kind| kind == MarkKind::PosteriorWallSecond));
        assert_eq!(lateral.slots(MarkKind::SuperiorEndPlate).len(), 5);
    }

    /// A convex wall has no margins, hence no second contour.
    #[test]
    fn l5_has_one_posterior_contour() {
        let body = typical(Level::L5);
        let reader = Reader { showing: Showing::Both, ..Reader::careful() };
        let marks = lateral(&body, &Pose::true_view(View::Lateral, 0.3, 768.0).beam(DVec3::NEG_X), &reader);
        assert!(marks.slots(MarkKind::PosteriorWallSecond).is_empty());
        assert!(!marks.slots(MarkKind::SuperiorEndPlateSecond).is_empty());
    }

    /// A corner takes its depth from the wall and its height from the plate.
    #[test]
    fn a_corner_follows_its_two_contours() {
        let body = typical(Level::L2);
        let mut pose = Pose::true_view(View::Lateral, 0.3, 768.0);
        (pose.turn_deg, pose.tilt_deg) = (5.0, 0.0);
        let beam = pose.beam(DVec3::NEG_X);
        let corner = |superior, posterior| {
            let marks = lateral(&body, &beam, &Reader { superior, posterior, ..Reader::careful() });
            marks.complete(MarkKind::SuperiorEndPlate).unwrap()[0]
        };
        let (near, far) = (corner(Contour::Near, Contour::Near), corner(Contour::Near, Contour::Far));
        // Margins 22 mm apart, turned by 5°: 1.9 mm of depth, no height but the cone's.
        assert!((near.x - far.x).abs() * 0.3 > 1.5 && (near.y - far.y).abs() * 0.3 < 0.2);
    }

    /// Contours 2·20·sin θ apart show from 1.4° on; a wedged body's plates cannot both be seen edge-on, so one with
    /// 8° of wedging shows its plates twice in a true AP view, 15·2·sin 4° apart at most.
    #[test]
    fn second_contours_are_marked_where_they_are_seen() {
        let reader = Reader { showing: Showing::WhereSeen, ..Reader::careful() };
        let mut size = typical(Level::L4).size;
        let mut seen = |wedge: f64, tilt_deg: f64, view: View| {
            let half = 0.5 * 35.0 * wedge.to_radians().tan();
            (size.posterior_height, size.anterior_height) = (27.0 - half, 27.0 + half);
            let body = Body::new(size.clone());
            // From very far away, so that the cone parts nothing.
            let mut pose = Pose::true_view(view, 0.3, 768.0);
            (pose.source_to_body, pose.source_to_detector, pose.tilt_deg) = (1e6, 1e6, tilt_deg);
            let beam = pose.beam(DVec3::NEG_X);
            let marks = if view == View::Lateral {
                lateral(&body, &beam, &reader)
            } else {
                ap(&body, &beam, &reader)
            };
            [MarkKind::SuperiorEndPlateSecond, MarkKind::InferiorEndPlateSecond]
                .map(|kind| !marks.slots(kind).is_empty())
        };
        assert_eq!(seen(0.0, 0.5, View::Lateral), [false, false]);
        assert_eq!(seen(0.0, 2.5, View::Lateral), [true, true]);
        assert_eq!(seen(0.0, 0.5, View::Ap), [false, false]);
        assert_eq!(seen(8.0, 0.0, View::Ap), [true, true]);
        // Tilted along one plate, only the other one shows twice.
        let once = seen(8.0, 4.0, View::Ap);
        assert!(once[0] != once[1], "{once:?}");
    }

    /// In a tilted view the rims part by 2·0.85·half width·sin θ at their widest.
    #[test]
    fn a_tilt_parts_the_rims() {
        let body = typical(Level::L4);
        let mut pose = Pose::true_view(View::Lateral, 0.3, 768.0);
        pose.tilt_deg = 5.0;
        let reader = Reader { showing: Showing::Both, ..Reader::careful() };
        let marks = lateral(&body, &pose.beam(DVec3::NEG_X), &reader);
        let middle = |kind| marks.complete(kind).unwrap()[2];
        let apart =
            (middle(MarkKind::SuperiorEndPlate).y - middle(MarkKind::SuperiorEndPlateSecond).y).abs() * 0.3;
        let expected = 0.85 * body.size.superior_width * 5.0_f64.to_radians().sin();
        // The cone lifts the near rim of a plate 14 mm above the axis by a further 14·40/700 mm or lowers it.
        assert!((apart - expected).abs() < 14.0 * 41.0 / 700.0 + 0.1, "{apart} for {expected}");
    }
}
