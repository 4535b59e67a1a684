//! One body of either family with a tip in it, as a reader marks it.

use glam::DVec3;
use stillmark::geom::point::Point;
use stillmark::measure::body::BodyMap;
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage};
use stillmark::phantom::beam::{Beam, sign};
use stillmark::phantom::contour::{Contour, posterior_shows_twice};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::{Reader, Showing};
use stillmark::phantom::scenario::{self, Subject};

use super::other_body::OtherBody;

/// The families.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Family {
    /// The phantom's.
    Phantom,
    /// The other one.
    Other,
}

/// What is read, in the order of [`QUANTITIES`].
pub(super) type Values = [f64; 8];

/// The quantities of a pair.
pub(super) const QUANTITIES: [&str; 8] = [
    "depth",
    "height",
    "across",
    "AP height",
    "from the pedicles",
    "from the spinous process",
    "from the body",
    "medial border",
];

pub(super) enum Drawn {
    Phantom(Box<Subject>),
    Other { body: Box<OtherBody>, side: Side, tip: DVec3 },
}

impl Drawn {
    pub(super) fn new(family: Family, stage: Stage, draw: &mut Draw) -> Self {
        match family {
            Family::Phantom => Self::Phantom(Box::new(Subject::drawn(stage, draw))),
            Family::Other => {
                let side = draw.one_of(&Side::ALL);
                let body = OtherBody::drawn(draw);
                let at = scenario::drawn_tip(stage, side, draw);
                let middle = body.place(at.depth, 0.0, at.height);
                let tip = DVec3::new(middle.x, at.off_middle, middle.z);
                Self::Other { body: Box::new(body), side, tip }
            }
        }
    }

    pub(super) fn side(&self) -> Side {
        match self {
            Self::Phantom(subject) => subject.side,
            Self::Other { side, .. } => *side,
        }
    }

    pub(super) fn level(&self) -> Level {
        match self {
            Self::Phantom(subject) => subject.level,
            Self::Other { body, .. } => body.level,
        }
    }

    /// What a true, parallel view shows; `None` where the tip lies too far outside.
    pub(super) fn truth(&self) -> Option<Values> {
        match self {
            Self::Phantom(subject) => {
                let truth = subject.truth();
                let (side, front, beside) = (truth.lateral?.curved, truth.ap?.curved, truth.beside?);
                Some([
                    side.along,
                    side.height,
                    front.along,
                    front.height,
                    beside.pedicles,
                    beside.spinous_process,
                    front.along - 0.5,
                    beside.medial_border,
                ])
            }
            Self::Other { body, side, tip } => {
                let place = BodyMap::new(&body.true_lateral()).ok()?.to_body(Point::new(tip.x, -tip.z))?;
                let map = BodyMap::new(&body.true_ap(*side)).ok()?;
                let way = -sign(*side);
                let at = |p: DVec3| map.to_body(Point::new(way * p.y, -p.z));
                let front = at(*tip)?;
                let medial = |side: Side| Some(at(body.pedicle(side)[1])?.along);
                let [a, b] = body.process();
                let near = medial(*side)?;
                Some([
                    place.along,
                    place.height,
                    front.along,
                    front.height,
                    front.along - 0.5 * (near + medial(side.other())?),
                    front.along - 0.5 * (at(a)?.along + at(b)?.along),
                    front.along - 0.5,
                    near - front.along,
                ])
            }
        }
    }

    /// The lateral's marks; with the second contours traced from their own corners, if asked for.
    pub(super) fn lateral(&self, beam: &Beam, reader: &Reader, both: bool) -> Marks {
        let mut marks = self.lateral_once(beam, reader);
        if both {
            let other = self.lateral_once(beam, &opposite(reader));
            copy(&mut marks, &other, MarkKind::SuperiorEndPlate, MarkKind::SuperiorEndPlateSecond);
            copy(&mut marks, &other, MarkKind::InferiorEndPlate, MarkKind::InferiorEndPlateSecond);
            let twice = match self {
                Self::Phantom(subject) => posterior_shows_twice(&subject.body),
                Self::Other { .. } => true,
            };
            if twice {
                let start = |kind: MarkKind| other.slots(kind).first().copied().flatten();
                let ends = [start(MarkKind::SuperiorEndPlate), start(MarkKind::InferiorEndPlate)];
                let mut wall = vec![ends[0]];
                wall.extend(other.slots(MarkKind::PosteriorWall).iter().copied());
                wall.push(ends[1]);
                marks.set(MarkKind::PosteriorWallSecond, wall);
            }
        }
        marks
    }

    fn lateral_once(&self, beam: &Beam, reader: &Reader) -> Marks {
        match self {
            Self::Phantom(subject) => {
                let mut marks = subject.lateral_marks(beam, reader);
                leave_tip_alone(&mut marks);
                marks
            }
            Self::Other { body, tip, .. } => {
                body.lateral(beam, reader).with(MarkKind::Tip, &[coordinates(beam.project(*tip))])
            }
        }
    }

    /// The AP's marks, likewise.
    pub(super) fn ap(&self, beam: &Beam, reader: &Reader, both: bool) -> Marks {
        let once = |reader: &Reader| match self {
            Self::Phantom(subject) => {
                let mut marks = subject.ap_marks(beam, reader);
                leave_tip_alone(&mut marks);
                marks
            }
            Self::Other { body, tip, .. } => {
                body.ap(beam, reader).with(MarkKind::Tip, &[coordinates(beam.project(*tip))])
            }
        };
        let mut marks = once(reader);
        if both {
            let other = once(&opposite(reader));
            copy(&mut marks, &other, MarkKind::SuperiorEndPlate, MarkKind::SuperiorEndPlateSecond);
            copy(&mut marks, &other, MarkKind::InferiorEndPlate, MarkKind::InferiorEndPlateSecond);
        }
        marks
    }
}

fn coordinates(p: Point) -> (f64, f64) {
    (p.x, p.y)
}

fn leave_tip_alone(marks: &mut Marks) {
    for kind in [MarkKind::Cannula, MarkKind::Electrodes] {
        marks.set(kind, Vec::new());
    }
}

fn copy(into: &mut Marks, from: &Marks, kind: MarkKind, as_kind: MarkKind) {
    into.set(as_kind, from.slots(kind).to_vec());
}

/// The reader who follows the other contour of every border.
fn opposite(reader: &Reader) -> Reader {
    let other = |contour: Contour| contour.other();
    Reader {
        superior: other(reader.superior),
        inferior: other(reader.inferior),
        posterior: other(reader.posterior),
        showing: Showing::One,
        ..reader.clone()
    }
}
