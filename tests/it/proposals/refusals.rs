//! What must not be proposed: clicks where there is no body, bodies that are none to measure, instruments that tell no tip.

use glam::DVec3;
use stillmark::case::document::redaction::Cover;
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::mark::{Level, MarkKind, Stage, View};
use stillmark::phantom::anatomy::{self, girdle};
use stillmark::phantom::body::Body;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::imaging::grain::Grain;
use stillmark::phantom::instrument::PlacedInstrument;
use stillmark::phantom::look::Look;
use stillmark::phantom::picture::picture;
use stillmark::phantom::scenario::drawn_tip;
use stillmark::phantom::size::Sample;
use stillmark::phantom::spine::{Kind, PlacedVertebra, column};
use stillmark::propose::lateral::{Clicks, propose};
use stillmark::propose::tip::TipRefusal;

use super::WAYS;
use super::drafts::is_covered_refused;
use super::stills::{SIDE, Still, Turned, frame_of, simulated, still, stills_of_body};
use super::trial::{ORDINARY_MM, again, stage_of};

/// Something that must be refused.
pub(super) struct Refused {
    pub(super) what: &'static str,
    /// Whether it was, for a seed.
    pub(super) of: fn(u64) -> bool,
    /// The least share of a hundred, in percent.
    pub(super) least: usize,
}

/// Of outlines.
pub(super) const OUTLINES: [Refused; 11] = [
    Refused { what: "a disc space", of: disc, least: 95 },
    Refused { what: "the joints", of: joints, least: 95 },
    Refused { what: "in front of the spine", of: in_front, least: 95 },
    Refused { what: "a rib (L1)", of: rib, least: 95 },
    Refused { what: "the first sacral body (L5)", of: sacral, least: 90 },
    Refused { what: "a body crushed to 60 % in front", of: crushed, least: 80 },
    Refused { what: "nothing: noise alone", of: noise, least: 95 },
    Refused { what: "a spine on its side", of: on_its_side, least: 100 },
    Refused { what: "a further shot, the body itself covered", of: covered, least: 95 },
    Refused { what: "a further AP, the body itself covered", of: is_covered_refused, least: 40 },
    Refused { what: "a further shot of another patient", of: stranger, least: 90 },
];

/// Of tips, whatever becomes of the outline.
pub(super) const TIPS: [Refused; 3] = [
    Refused { what: "no instrument", of: no_instrument, least: 95 },
    Refused { what: "a second instrument", of: second_instrument, least: 90 },
    Refused { what: "clicks on the body above, the instrument in the one below", of: body_above, least: 95 },
];

fn inside(p: Point) -> bool {
    let side = f64::from(SIDE);
    p.x > 0.0 && p.y > 0.0 && p.x < side && p.y < side
}

fn is_refused(still: &Still, clicks: Clicks) -> bool {
    !inside(clicks.posterior)
        || !inside(clicks.anterior)
        || propose(&still.frame, &[], clicks, Some(still.mm())).is_err()
}

/// Clicks 30 mm apart about a place given in millimetres toward the front and downward.
fn beside(seed: u64, front_mm: f64, down_mm: impl Fn(f64) -> f64) -> bool {
    let still = still(seed, stage_of(seed), Turned::Within(1.4));
    let (middle, front, down) = still.axes();
    let size = &still.simulated.subject.body.size;
    let half = 0.25 * (size.anterior_height + size.posterior_height);
    let at = middle + front * front_mm + down * down_mm(half);
    is_refused(&still, Clicks { posterior: at - front * 15.0, anterior: at + front * 15.0 })
}

fn disc(seed: u64) -> bool {
    beside(seed, 0.0, |half| half + 5.0)
}

fn joints(seed: u64) -> bool {
    beside(seed, -42.0, |_| 4.0)
}

fn in_front(seed: u64) -> bool {
    beside(seed, 44.0, |_| 6.0)
}

/// How a still of these rows is taken.
fn look(seed: u64) -> Look {
    let mut draw = Draw::new(seed ^ 0x7265_6675);
    Look {
        side_px: SIDE,
        turn_deg: Some(draw.between(-1.4, 1.4)),
        tilt_deg: Some(draw.between(-1.4, 1.4)),
        dose: Some(draw.between(0.3, 2.0)),
        mirrored: draw.coin(),
        words: draw.coin(),
        mm_per_px: Some(draw.between(0.28, 0.36)),
        ..Look::default()
    }
}

fn at_level(seed: u64, level: Level) -> Still {
    let (shot, simulated) = simulated(seed, stage_of(seed), &look(seed), Some(level));
    let samples = simulated.picture().samples;
    Still::of(shot, simulated, samples)
}

/// A vertebra beside the one a still is about.
fn neighbour(still: &Still, wanted: impl Fn(&PlacedVertebra) -> bool) -> PlacedVertebra {
    let subject = &still.simulated.subject;
    column(subject.level, &subject.body, Sample::All).into_iter().find(wanted).expect("it is in the column")
}

/// Clicks on the walls of a vertebra.
fn walls(still: &Still, placed: &PlacedVertebra) -> Clicks {
    let beam = still.simulated.beam();
    let at = |u: f64| beam.project(placed.place.transform_point3(placed.body.at(u, 0.0, 0.5)));
    Clicks { posterior: at(0.0), anterior: at(1.0) }
}

fn rib(seed: u64) -> bool {
    let still = at_level(seed, Level::L1);
    let (middle, front, _) = still.axes();
    let beam = still.simulated.beam();
    let thoracic = neighbour(&still, |placed| placed.kind == Kind::Thoracic);
    let away = |p: &Point| p.distance(middle) * still.mm();
    let places = girdle::rib(&thoracic.place, 1.0, 0.62).points.into_iter().map(|p: DVec3| beam.project(p));
    let clear = places.filter(|p| inside(*p) && away(p) > 45.0);
    let Some(at) = clear.min_by(|a, b| away(a).total_cmp(&away(b))) else { return true };
    is_refused(&still, Clicks { posterior: at - front * 15.0, anterior: at + front * 15.0 })
}

fn sacral(seed: u64) -> bool {
    let still = at_level(seed, Level::L5);
    let clicks = walls(&still, &neighbour(&still, |placed| placed.kind == Kind::Sacral(0)));
    is_refused(&still, clicks)
}

fn crushed(seed: u64) -> bool {
    let (shot, mut simulated) = simulated(seed, stage_of(seed), &look(seed), None);
    let subject = &mut simulated.subject;
    let mut size = subject.body.size.clone();
    size.anterior_height *= 0.6;
    subject.body = Body::new(size);
    let tip = drawn_tip(subject.stage, subject.side, &mut Draw::new(seed));
    subject.instrument = PlacedInstrument::placed(&subject.body, subject.stage, subject.side, tip);
    let samples = simulated.picture().samples;
    let still = Still::of(shot, simulated, samples);
    let clicks = still.clicks(ORDINARY_MM, &mut Draw::new(seed.wrapping_mul(7) + 1));
    is_refused(&still, clicks)
}

fn noise(seed: u64) -> bool {
    let mut draw = Draw::new(seed);
    let samples = (0..SIDE * SIDE).map(|_| {
        let v = draw.normal(30_000.0, 3_000.0).clamp(0.0, 65_535.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
        let v = v as u16;
        v
    });
    let frame = frame_of(SIDE, samples.collect());
    let clicks = Clicks { posterior: Point::new(200.0, 250.0), anterior: Point::new(310.0, 260.0) };
    propose(&frame, &[], clicks, Some(0.3)).is_err()
}

fn on_its_side(seed: u64) -> bool {
    let look = Look { roll_deg: Some(if seed.is_multiple_of(2) { 90.0 } else { -80.0 }), ..look(seed) };
    let (shot, simulated) = simulated(seed, stage_of(seed), &look, None);
    let samples = simulated.picture().samples;
    let still = Still::of(shot, simulated, samples);
    let clicks = still.clicks(ORDINARY_MM, &mut Draw::new(seed));
    is_refused(&still, clicks)
}

/// Only the neighbours are left in the further shot.
fn covered(seed: u64) -> bool {
    let still = at_level(seed, Level::L3);
    let all: Vec<Point> =
        still.middle.placed().filter(|(at, _)| at.kind != MarkKind::Cannula).map(|(_, p)| p).collect();
    again(&still, &still, &[box_of(&all)]).is_err()
}

/// The smallest box over some places of an image.
pub(super) fn box_of(all: &[Point]) -> Cover {
    let low = all.iter().fold(Point::new(f64::MAX, f64::MAX), |l, p| Point::new(l.x.min(p.x), l.y.min(p.y)));
    let high = all.iter().fold(Point::new(0.0, 0.0), |h, p| Point::new(h.x.max(p.x), h.y.max(p.y)));
    Cover { min: low, max: high }
}

fn stranger(seed: u64) -> bool {
    again(&at_level(seed, Level::L1), &at_level(seed + 1, Level::L5), &[]).is_err()
}

/// Whether no tip is proposed on a still with ordinary clicks.
fn has_no_tip(still: &Still, clicks: Clicks) -> bool {
    propose(&still.frame, &[], clicks, Some(still.mm())).is_ok_and(|found| found.tip.is_err())
        || is_refused(still, clicks)
}

fn no_instrument(seed: u64) -> bool {
    let (shot, simulated) = simulated(seed, stage_of(seed), &look(seed), None);
    let subject = &simulated.subject;
    let patient = anatomy::patient(subject.level, &subject.body, View::Lateral, simulated.patient);
    let bare =
        picture(&patient, &Grain::new(simulated.patient), None, &simulated.beam(), &simulated.technique);
    let still = Still::of(shot, simulated, bare.samples);
    let clicks = still.clicks(ORDINARY_MM, &mut Draw::new(seed));
    has_no_tip(&still, clicks)
}

/// A second rod, as dark as the first, comes to the body below.
fn second_instrument(seed: u64) -> bool {
    let (shot, simulated) = simulated(seed, Stage::Stylet, &look(seed), None);
    let mut samples = simulated.picture().samples;
    let dark = *samples.iter().min().unwrap_or(&0);
    let first = Still::of(shot.clone(), simulated.clone(), samples.clone());
    let (middle, front, down) = first.axes();
    let end = middle + down * 36.0 - front * 4.0;
    let along = (front * 1.0 - down * 0.2).normalized().unwrap_or(Vec2::new(1.0, 0.0));
    for (i, v) in (0_u32..).zip(samples.iter_mut()) {
        let p = Point::new(f64::from(i % SIDE) + 0.5, f64::from(i / SIDE) + 0.5);
        let d = p - end;
        let (back, aside) = (-d.dot(along) * first.mm(), d.cross(along).abs() * first.mm());
        let in_field = p.distance(Point::new(256.0, 256.0)) < 248.0;
        if in_field && back > 0.0 && aside < 1.7 {
            *v = dark.max(*v / 6);
        }
    }
    let still = Still::of(shot, simulated, samples);
    let clicks = still.clicks(ORDINARY_MM, &mut Draw::new(seed));
    has_no_tip(&still, clicks)
}

fn body_above(seed: u64) -> bool {
    let still = at_level(seed, Level::L3);
    let clicks = walls(&still, &neighbour(&still, |placed| placed.kind == Kind::Lumbar(1)));
    has_no_tip(&still, clicks)
}

/// In these a border of a bone, or a shadow, was taken for an instrument, and a tip was proposed at its end.
#[test]
fn what_is_no_instrument_has_no_tip() {
    for seed in [35, 52, 78] {
        assert!(no_instrument((138 << 20) + seed), "a tip was proposed in still {seed}");
    }
}

/// Nearly all the wire that is seen lies folded over itself in front of the cannula's tip: its own tip was proposed 3.6 mm too far along.
#[test]
fn a_wire_folded_in_front_of_its_cannula_has_no_tip() {
    let seed = (31 << 20) + 3;
    let stills = stills_of_body(seed, stage_of(seed), &WAYS[..2]);
    let still = stills.last().expect("two ways");
    let clicks = still.clicks(ORDINARY_MM, &mut Draw::new(seed));
    let found = propose(&still.frame, &[], clicks, Some(still.mm())).expect("an outline");
    assert_eq!(found.tip, Err(TipRefusal::TwoEnds));
}
