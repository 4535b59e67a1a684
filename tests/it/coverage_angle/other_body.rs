//! A second family of bodies, drawn from other shapes than the phantom's: sides of unequal width, a coronal wedge, a twisted
//! arch, rims that lie elsewhere, other sections, uneven floors, and outgrowths that a reader leaves out only in part. Sizes
//! are the phantom's typical ones; every departure is this project's own (no source) and meant to be larger than what the
//! method takes.

use glam::{DVec2, DVec3};
use stillmark::geom::point::Point;
use stillmark::measure::body::Outline;
use stillmark::measure::mark::{Level, MarkKind, Marks, Side};
use stillmark::phantom::beam::{Beam, sign};
use stillmark::phantom::contour::{Contour, meeting};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::Reader;
use stillmark::phantom::size::{LUMBAR, PosteriorWall, Sample, Size};

/// Points of a true outline's border, and of a section.
const OUTLINE: u32 = 12;
const SECTION: u32 = 40;

/// One body of the family, in millimetres about its own middle: x forward, y to the patient's left, z up.
#[derive(Clone, Debug)]
pub(super) struct OtherBody {
    pub(super) level: Level,
    /// Height in front and behind, depth and half width at the superior and the inferior plate.
    front_height: f64,
    back_height: f64,
    depth: [f64; 2],
    half_width: [f64; 2],
    /// How much wider the left side is than the right, as a fraction.
    uneven: f64,
    /// By how much each plate rises from the middle to the left side.
    coronal: [f64; 2],
    /// Depth of each plate's floor, and where along the depth it is deepest.
    floor: [f64; 2],
    deepest: [f64; 2],
    /// How far each wall draws in half way down: behind, in front, at the sides.
    waist: [f64; 3],
    /// Half the distance between the posterior margins, and how far the wall lies forward between them.
    margin: f64,
    hollow: f64,
    /// Exponents of the section's outline behind and in front.
    round: [f64; 2],
    /// Where along the section's outline the visible line of a plate runs.
    rim: f64,
    /// How far outgrowths carry the anterior corners forward after what a reader leaves out, superior and inferior.
    outgrowth: [f64; 2],
    pedicle_width: f64,
    pedicle_behind: f64,
    canal_width: f64,
    uneven_pedicles: f64,
    /// The arch's turn against the body, in radians.
    twist: f64,
    process_behind: f64,
    process_off: f64,
    process_half: f64,
}

impl OtherBody {
    pub(super) fn drawn(draw: &mut Draw) -> Self {
        let level = draw.one_of(&LUMBAR);
        let sample = if draw.coin() { Sample::Female } else { Sample::Male };
        let t = Size::typical(level, sample);
        let near = |draw: &mut Draw, sd: f64| draw.normal_within(0.0, sd, 2.5);
        let (larger, taller) = (1.0 + near(draw, 0.08), near(draw, 1.8));
        let wedge = near(draw, 1.0);
        let wider = larger * (1.0 + near(draw, 0.05));
        let hollow = match t.wall {
            PosteriorWall::Hollow(h) if h > 0.0 => draw.between(0.8, 3.2),
            _ => draw.between(0.0, 1.5),
        };
        Self {
            level,
            front_height: t.anterior_height + taller - wedge,
            back_height: t.posterior_height + taller + wedge,
            depth: [t.superior_depth * larger, t.inferior_depth * larger * (1.0 + near(draw, 0.02))],
            half_width: [0.5 * t.superior_width * wider, 0.5 * t.inferior_width * wider],
            uneven: near(draw, 0.03),
            coronal: [near(draw, 0.8), near(draw, 0.8)],
            floor: [0.7 + near(draw, 0.25), 1.7 + near(draw, 0.5)],
            deepest: [draw.between(0.36, 0.60), draw.between(0.36, 0.64)],
            waist: [draw.between(0.3, 2.6), draw.between(0.8, 3.2), draw.between(1.5, 4.5)],
            margin: 0.5 * t.canal_width * (1.0 + near(draw, 0.10)),
            hollow,
            round: [draw.between(2.6, 4.4), draw.between(1.8, 2.8)],
            rim: draw.between(0.76, 0.94),
            outgrowth: [near(draw, 0.6).abs(), near(draw, 0.6).abs()],
            pedicle_width: t.pedicle_width * (1.0 + near(draw, 0.14)),
            pedicle_behind: draw.between(2.5, 7.5),
            canal_width: t.canal_width * (1.0 + near(draw, 0.10)),
            uneven_pedicles: near(draw, 0.9),
            twist: near(draw, 1.8).to_radians(),
            process_behind: t.canal_depth + draw.between(22.0, 35.0),
            process_off: near(draw, 2.3),
            process_half: draw.between(2.8, 5.2),
        }
    }

    fn back(&self, v: f64) -> f64 {
        -0.5 * mix(self.depth, v) + self.waist[0] * arch(v)
    }

    fn front(&self, v: f64) -> f64 {
        0.5 * mix(self.depth, v) - self.waist[1] * arch(v)
    }

    /// Half the width on one side (+1 is the left).
    fn reach(&self, side: f64, v: f64) -> f64 {
        (mix(self.half_width, v) - self.waist[2] * arch(v)) * (1.0 + side * self.uneven)
    }

    /// Half the height between the planes of the rims at depth fraction `u`.
    fn half_height(&self, u: f64) -> f64 {
        0.5 * (self.back_height + (self.front_height - self.back_height) * u)
    }

    /// A place by depth fraction, millimetres to the left, height fraction.
    pub(super) fn place(&self, u: f64, y: f64, v: f64) -> DVec3 {
        let lift = mix(self.coronal, v) * y / self.reach(y.signum(), v);
        let x = self.back(v) + (self.front(v) - self.back(v)) * u;
        DVec3::new(x, y, self.half_height(u) * (1.0 - 2.0 * v) + lift)
    }

    /// The section at height `v` on one side: depth fraction and millimetres to that side, from the middle behind to the
    /// middle in front.
    fn section(&self, side: f64, v: f64, t: f64) -> (f64, f64) {
        let reach = self.reach(side, v);
        let margin = self.margin.min(0.8 * reach);
        if t < 0.25 {
            let y = margin * t / 0.25;
            let inward = 1.0 - (y / margin).powi(2);
            return (self.hollow / (self.front(v) - self.back(v)) * inward * inward, y);
        }
        // From the margin round the side to the front: a quarter of a rounded square, then one of another.
        let s = (t - 0.25) / 0.75;
        if s < 0.5 {
            let (sin, cos) = (std::f64::consts::PI * s).sin_cos();
            let p = 2.0 / self.round[0];
            (0.46 * (1.0 - cos.max(0.0).powf(p)), margin + (reach - margin) * sin.max(0.0).powf(p))
        } else {
            let (sin, cos) = (std::f64::consts::PI * (s - 0.5)).sin_cos();
            let p = 2.0 / self.round[1];
            (0.46 + 0.54 * sin.max(0.0).powf(p), reach * cos.max(0.0).powf(p))
        }
    }

    fn on_section(&self, side: f64, v: f64, t: f64) -> DVec3 {
        let (u, y) = self.section(side, v, t);
        self.place(u, side * y, v)
    }

    /// The point of the section between two parameters that reaches farthest in a direction of the picture.
    fn farthest(&self, beam: &Beam, (side, v): (f64, f64), (low, high): (f64, f64), way: DVec2) -> DVec3 {
        let reach = |t: f64| {
            let p = beam.project(self.on_section(side, v, t));
            p.x * way.x + p.y * way.y
        };
        let at = |i: u32| low + (high - low) * f64::from(i) / f64::from(SECTION);
        let best = (0..=SECTION).max_by(|&a, &b| reach(at(a)).total_cmp(&reach(at(b)))).unwrap_or(0);
        let (mut a, mut b) = (at(best.saturating_sub(1)), at((best + 1).min(SECTION)));
        for _ in 0..40 {
            let (c, d) = (a + (b - a) / 3.0, b - (b - a) / 3.0);
            if reach(c) < reach(d) { a = c } else { b = d }
        }
        self.on_section(side, v, 0.5 * (a + b))
    }

    /// How far to a side the section reaches at a depth fraction, in millimetres.
    fn side_at(&self, side: f64, u: f64, v: f64) -> f64 {
        let (mut low, mut high) = (0.25, 1.0);
        for _ in 0..40 {
            let t = 0.5 * (low + high);
            if self.section(side, v, t).0 < u { low = t } else { high = t }
        }
        self.section(side, v, 0.5 * (low + high)).1
    }

    /// The visible line of a plate at depth fraction `u`, on one side (0 is the middle plane).
    fn plate(&self, plate: usize, side: f64, u: f64) -> DVec3 {
        let v = [0.0, 1.0][plate];
        let inner = u.clamp(0.05, 0.95);
        let y = if side == 0.0 { 0.0 } else { side * self.rim * self.side_at(side, inner, v) };
        let down = [-1.0, 1.0][plate] * self.floor[plate] * dip(u, self.deepest[plate]);
        self.place(u, y, v) + DVec3::new(0.0, 0.0, down)
    }

    /// The same across, `w` from the patient's right to the left, in front or behind.
    fn plate_across(&self, plate: usize, in_front: bool, w: f64) -> DVec3 {
        let v = [0.0, 1.0][plate];
        let y = self.across(w.clamp(0.05, 0.95), v);
        let side = if y < 0.0 { -1.0 } else { 1.0 };
        let (mut low, mut high) = if in_front { (0.6, 1.0) } else { (0.0, 0.6) };
        for _ in 0..40 {
            let t = 0.5 * (low + high);
            let farther = self.section(side, v, t).1 < y.abs();
            if farther == in_front { high = t } else { low = t }
        }
        let u = 0.5 + self.rim * (self.section(side, v, 0.5 * (low + high)).0 - 0.5);
        let down = [-1.0, 1.0][plate] * self.floor[plate] * arch(w);
        self.place(u, self.across(w, v), v) + DVec3::new(0.0, 0.0, down)
    }

    /// Millimetres to the left of a fraction across.
    fn across(&self, w: f64, v: f64) -> f64 {
        -self.reach(-1.0, v) + w * (self.reach(-1.0, v) + self.reach(1.0, v))
    }

    /// A place of the arch, which is turned against the body about the middle of the posterior wall.
    fn of_arch(&self, x: f64, y: f64, z: f64) -> DVec3 {
        let (about, (sin, cos)) = (self.back(0.5), self.twist.sin_cos());
        DVec3::new(about + (x - about) * cos + y * sin, y * cos - (x - about) * sin, z)
    }

    /// Lateral and medial border of a pedicle.
    pub(super) fn pedicle(&self, side: Side) -> [DVec3; 2] {
        let s = sign(side);
        let off = 0.5 * (self.canal_width + self.pedicle_width) + 0.5 * s * self.uneven_pedicles;
        let z = 0.18 * self.back_height;
        [0.5, -0.5].map(|half| {
            let y = off + half * self.pedicle_width * 0.978;
            self.of_arch(self.back(0.3) - self.pedicle_behind + half * self.pedicle_width * 0.208, s * y, z)
        })
    }

    /// Both borders of the spinous process.
    pub(super) fn process(&self) -> [DVec3; 2] {
        let z = -0.22 * (self.front_height + self.back_height);
        [-1.0, 1.0].map(|half| {
            self.of_arch(self.back(0.5) - self.process_behind, self.process_off + half * self.process_half, z)
        })
    }

    fn has_margins(&self) -> bool {
        self.hollow > 0.3
    }

    /// The marks of a lateral view without second contours.
    pub(super) fn lateral(&self, beam: &Beam, reader: &Reader) -> Marks {
        let near = |contour: Contour| {
            let left = beam.left_is_near() == (contour == Contour::Near);
            if left { 1.0 } else { -1.0 }
        };
        let at = |u: f64, v: f64| self.place(u, 0.0, v);
        let (back, front) = (outward(beam, &at, 0.0), outward(beam, &at, 1.0));
        let plate =
            |plate: usize, contour: Contour| move |u: f64| beam.project(self.plate(plate, near(contour), u));
        let wall = |v: f64| {
            if self.has_margins() {
                let side = near(reader.posterior);
                return beam.project(self.farthest(beam, (side, v), (0.18, 0.5), back));
            }
            let both = [-1.0, 1.0].map(|side| beam.project(self.farthest(beam, (side, v), (0.0, 0.5), back)));
            farther(both, back)
        };
        let front_wall = |v: f64| {
            let both =
                [-1.0, 1.0].map(|side| beam.project(self.farthest(beam, (side, v), (0.6, 1.0), front)));
            let p = farther(both, front);
            let grown =
                front.normalize() * (mix(self.outgrowth, v) * (2.0 * v - 1.0).powi(2) / beam.mm_per_px());
            Point::new(p.x + grown.x, p.y + grown.y)
        };
        let plates = [plate(0, reader.superior), plate(1, reader.inferior)];
        let mut marks = framed(
            &plates,
            &[&wall, &front_wall],
            &|u, v| beam.project(at(u, v)),
            reader,
            [MarkKind::PosteriorWall, MarkKind::AnteriorWall],
        );
        marks.set(MarkKind::Tip, Vec::new());
        marks
    }

    /// The marks of an AP view without second contours; end plates from the patient's right to the left.
    pub(super) fn ap(&self, beam: &Beam, reader: &Reader) -> Marks {
        let in_front = |contour: Contour| beam.front_is_near() == (contour == Contour::Near);
        let plate = |plate: usize, contour: Contour| {
            move |w: f64| beam.project(self.plate_across(plate, in_front(contour), w))
        };
        let at = |w: f64, v: f64| self.place(0.5, self.across(w, v), v);
        let (right, left) = (outward(beam, &at, 0.0), outward(beam, &at, 1.0));
        let wall = |v: f64| beam.project(self.farthest(beam, (-1.0, v), (0.3, 0.95), right));
        let other = |v: f64| beam.project(self.farthest(beam, (1.0, v), (0.3, 0.95), left));
        let plates = [plate(0, reader.superior), plate(1, reader.inferior)];
        let mut marks = framed(
            &plates,
            &[&wall, &other],
            &|w, v| beam.project(at(w, v)),
            reader,
            [MarkKind::RightWall, MarkKind::LeftWall],
        );
        for (side, kind) in [(Side::Right, MarkKind::RightPedicle), (Side::Left, MarkKind::LeftPedicle)] {
            marks.set(kind, self.pedicle(side).map(|p| Some(beam.project(p))).to_vec());
        }
        marks.set(MarkKind::SpinousProcess, self.process().map(|p| Some(beam.project(p))).to_vec());
        marks
    }

    /// What a true, parallel lateral view shows: forward to the right, down.
    pub(super) fn true_lateral(&self) -> Outline {
        let flat = |p: DVec3| Point::new(p.x, -p.z);
        let plate = |plate: usize| line(|u| flat(self.plate(plate, 0.0, u)));
        let wall = |u: f64| line(|v| flat(self.place(u, 0.0, v)));
        Outline { first: [plate(0), plate(1), wall(0.0), wall(1.0)], second: [None, None, None, None] }
    }

    /// The same from the front: from the entry side across, down.
    pub(super) fn true_ap(&self, entry: Side) -> Outline {
        let way = -sign(entry);
        let flat = |p: DVec3| Point::new(way * p.y, -p.z);
        let w = |f: f64| if way > 0.0 { f } else { 1.0 - f };
        let plate = |plate: usize| {
            line(|f| {
                let v = [0.0, 1.0][plate];
                let y = self.across(w(f), v);
                let down = [-1.0, 1.0][plate] * self.floor[plate] * arch(w(f));
                flat(self.place(0.5, y, v) + DVec3::new(0.0, 0.0, down))
            })
        };
        let wall = |f: f64| line(|v| flat(self.place(0.5, self.across(w(f), v), v)));
        Outline { first: [plate(0), plate(1), wall(0.0), wall(1.0)], second: [None, None, None, None] }
    }
}

/// Both plates and walls as marks, with the corners where they meet.
fn framed(
    plates: &[impl Fn(f64) -> Point; 2],
    walls: &[&dyn Fn(f64) -> Point; 2],
    at: &dyn Fn(f64, f64) -> Point,
    reader: &Reader,
    kinds: [MarkKind; 2],
) -> Marks {
    let along_plate = [0.0, 1.0].map(|v| at(1.0, v) - at(0.0, v));
    let along_wall = [0.0, 1.0].map(|u| at(u, 1.0) - at(u, 0.0));
    let corner = |plate: usize, wall: usize| {
        let (u, v) = ([0.0, 1.0][wall], [0.0, 1.0][plate]);
        meeting(walls[wall](v), plates[plate](u), along_wall[wall], along_plate[plate])
    };
    let mut marks = Marks::new();
    let inner = [&reader.superior_at, &reader.inferior_at];
    for (plate, kind) in [(0, MarkKind::SuperiorEndPlate), (1, MarkKind::InferiorEndPlate)] {
        let mut points = vec![Some(corner(plate, 0))];
        points.extend(inner[plate].iter().map(|&t| Some(plates[plate](t))));
        points.push(Some(corner(plate, 1)));
        marks.set(kind, points);
    }
    let inner = [&reader.start_at, &reader.end_at];
    for wall in [0, 1] {
        marks.set(kinds[wall], inner[wall].iter().map(|&t| Some(walls[wall](t))).collect());
    }
    marks
}

/// The picture's direction out of the body across the wall at `along` (0 or 1).
fn outward(beam: &Beam, at: &dyn Fn(f64, f64) -> DVec3, along: f64) -> DVec2 {
    let p = |u: f64, v: f64| {
        let q = beam.project(at(u, v));
        DVec2::new(q.x, q.y)
    };
    let normal = (p(along, 1.0) - p(along, 0.0)).perp();
    if normal.dot(p(along, 0.5) - p(1.0 - along, 0.5)) < 0.0 { -normal } else { normal }
}

fn farther([a, b]: [Point; 2], way: DVec2) -> Point {
    let reach = |p: Point| p.x * way.x + p.y * way.y;
    if reach(a) > reach(b) { a } else { b }
}

fn line(at: impl Fn(f64) -> Point) -> Vec<Point> {
    (0..=OUTLINE).map(|i| at(f64::from(i) / f64::from(OUTLINE))).collect()
}

fn mix([a, b]: [f64; 2], v: f64) -> f64 {
    a + (b - a) * v
}

/// A smooth arch from 0 over 1 in the middle to 0, flat at both ends.
fn arch(t: f64) -> f64 {
    let s = (std::f64::consts::PI * t.clamp(0.0, 1.0)).sin();
    s * s
}

/// The same with its summit elsewhere.
fn dip(t: f64, deepest: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    arch(if t < deepest { 0.5 * t / deepest } else { 0.5 + 0.5 * (t - deepest) / (1.0 - deepest) })
}
