//! Figures of invented bodies with marks and annotations, the same ones every time.

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use stillmark::case::annotation::{Label, LabelKind};
use stillmark::case::document::figure_spec::{FigureKind, FigureSpec, FigureWidth};
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::case::readings::{Picture, read_case};
use stillmark::geom::point::Point;
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::scene::figure::{FigureOptions, FigureShot, figure, pairs_among};
use stillmark::scene::page::Page;

const SIDE: u32 = 512;

pub(crate) fn frame() -> Frame {
    let samples = (0..SIDE).flat_map(|y| (0..SIDE).map(move |x| u8::try_from((x + y) / 5).unwrap_or(255)));
    Frame::of_samples(SIDE, SIDE, Samples::Gray8(samples.collect()))
}

/// A body somewhere near the middle, turned a little, with a tip in or near it.
struct Body {
    middle: Point,
    size: (f64, f64),
    turn: f64,
}

impl Body {
    fn of(draw: &mut ChaCha8Rng) -> Self {
        let wide = draw.random_range(90.0..150.0);
        Self {
            middle: Point::new(draw.random_range(200.0..312.0), draw.random_range(200.0..312.0)),
            size: (wide, wide * draw.random_range(0.65..0.95)),
            turn: draw.random_range(-0.35..0.35),
        }
    }

    /// A place in the body, both coordinates from −0.5 to 0.5 inside.
    fn at(&self, x: f64, y: f64) -> (f64, f64) {
        let (sin, cos) = self.turn.sin_cos();
        let (x, y) = (x * self.size.0, y * self.size.1);
        (self.middle.x + cos * x - sin * y, self.middle.y + sin * x + cos * y)
    }

    fn points(&self, places: &[(f64, f64)]) -> Vec<(f64, f64)> {
        places.iter().map(|&(x, y)| self.at(x, y)).collect()
    }
}

fn marks(body: &Body, view: View, draw: &mut ChaCha8Rng) -> Marks {
    let mut marks = Marks::new();
    let mut put = |kind, places: &[(f64, f64)]| {
        let with = std::mem::take(&mut marks).with(kind, &body.points(places));
        marks = with;
    };
    let tip = (draw.random_range(-0.4..0.45), draw.random_range(-0.3..0.3));
    let sag = draw.random_range(0.0..0.06);
    let top = [(-0.5, -0.5), (0.0, -0.5 + sag), (0.5, -0.5)];
    let bottom = [(-0.5, 0.5), (0.0, 0.5 - sag), (0.5, 0.5)];
    put(MarkKind::SuperiorEndPlate, &top);
    put(MarkKind::InferiorEndPlate, &bottom);
    if view == View::Lateral {
        put(MarkKind::PosteriorWall, &[(-0.47, 0.0)]);
        put(MarkKind::AnteriorWall, &[(0.46, 0.0)]);
        if draw.random_bool(0.4) {
            put(MarkKind::PosteriorWallSecond, &[(-0.46, -0.5), (-0.42, 0.0), (-0.45, 0.5)]);
        }
    } else {
        put(MarkKind::RightPedicle, &[(-0.42, -0.2), (-0.27, -0.2)]);
        put(MarkKind::LeftPedicle, &[(0.42, -0.2), (0.27, -0.2)]);
        put(MarkKind::SpinousProcess, &[(-0.06, 0.2), (0.07, 0.2)]);
    }
    put(MarkKind::Cannula, &[(-1.1, tip.1 - 0.6), (-0.5, tip.1 - 0.15)]);
    if draw.random_bool(0.5) {
        put(MarkKind::Electrodes, &[(tip.0 - 0.2, tip.1 - 0.05), (tip.0 - 0.08, tip.1)]);
    }
    put(MarkKind::Tip, &[tip]);
    marks
}

fn labels(body: &Body, count: usize, draw: &mut ChaCha8Rng) -> Vec<Label> {
    let said =
        ["basivertebral entry", "posterior-superior corner", "double contour", "tip", "pedicle", "rim", "a"];
    let point = |draw: &mut ChaCha8Rng| {
        let (x, y) = body.at(draw.random_range(-0.6..0.6), draw.random_range(-0.6..0.6));
        Point::new(x, y)
    };
    let label = |i: usize, draw: &mut ChaCha8Rng| {
        let first = point(draw);
        let kind =
            [LabelKind::Text, LabelKind::Arrow, LabelKind::Number, LabelKind::Inset][draw.random_range(0..4)];
        match kind {
            LabelKind::Arrow => Label::new(kind, vec![point(draw), first]).saying(said[i]),
            LabelKind::Inset => {
                let other = Point::new(first.x + 30.0, first.y + 24.0);
                Label::new(kind, vec![first, other]).saying(said[i])
            }
            _ => Label::new(kind, vec![first]).saying(said[i]),
        }
    };
    (0..count).map(|i| label(i, draw)).collect()
}

/// What a figure is made of, by its number.
pub(crate) struct Made {
    pub(crate) case: Case,
    pub(crate) spec: FigureSpec,
}

/// A figure of any kind and width, with up to seven annotations an image.
pub(crate) fn made(seed: u64) -> Made {
    let mut draw = ChaCha8Rng::seed_from_u64(seed);
    let widths = FigureWidth::ALL;
    let kinds = FigureKind::ALL;
    let (width, kind) =
        (widths[draw.random_range(0..widths.len())], kinds[draw.random_range(0..kinds.len())]);
    let count = match kind {
        FigureKind::Shot => 1,
        FigureKind::BeforeAfter | FigureKind::Pair => 2,
        FigureKind::Sequence => draw.random_range(1..=8),
    };
    of_shots(&mut draw, (kind, width, count), |draw| draw.random_range(0..=7))
}

/// A figure in which room is short: slides of one to eight shots and an 85 mm column, with seven annotations an image.
pub(crate) fn crowded(seed: u64) -> Made {
    let mut draw = ChaCha8Rng::seed_from_u64(seed);
    let widths = [FigureWidth::SlideFourThree, FigureWidth::Slide, FigureWidth::Single];
    let width = widths[draw.random_range(0..widths.len())];
    let counts = [
        (FigureKind::Shot, 1),
        (FigureKind::BeforeAfter, 2),
        (FigureKind::Sequence, 5),
        (FigureKind::Sequence, 8),
    ];
    let (kind, count) = counts[draw.random_range(0..counts.len())];
    of_shots(&mut draw, (kind, width, count), |_| 7)
}

fn of_shots(
    draw: &mut ChaCha8Rng,
    (kind, width, count): (FigureKind, FigureWidth, usize),
    annotations: impl Fn(&mut ChaCha8Rng) -> usize,
) -> Made {
    let mut case = Case { title: Some("Demonstration".to_owned()), ..Case::default() };
    let one_body = draw.random_bool(0.7);
    for i in 0..count {
        let view = match kind {
            FigureKind::Pair => [View::Lateral, View::Ap][i],
            FigureKind::BeforeAfter | FigureKind::Shot | FigureKind::Sequence if draw.random_bool(0.7) => {
                View::Lateral
            }
            _ => View::Ap,
        };
        let mut shot = Shot::new(format!("shot-{i}"), "x.png", view);
        let stage = Stage::ALL[i % Stage::ALL.len()];
        let pair = kind == FigureKind::Pair;
        shot.level = Some(if one_body || pair || i % 2 == 0 { Level::L4 } else { Level::L5 });
        (shot.side, shot.stage) = (Some(Side::Right), Some(if pair { Stage::Final } else { stage }));
        shot.mm_per_px = draw.random_bool(0.7).then_some(0.3);
        let body = Body::of(draw);
        shot.marks = marks(&body, view, draw);
        let annotations = annotations(draw);
        shot.labels = labels(&body, annotations, draw);
        case.shots.push(shot);
    }
    let titles = [
        "Stylet to final",
        "Where the tip lies",
        "Radiofrequency probe in the posterior half of L4, right side",
    ];
    let spec = FigureSpec {
        kind,
        width,
        title: Some(titles[draw.random_range(0..titles.len())].to_owned()),
        letters: draw.random_bool(0.6),
        scale_bar: draw.random_bool(0.7),
        ..FigureSpec::default()
    };
    Made { case, spec }
}

pub(crate) fn page(made: &Made, frame: &Frame) -> Page {
    let Made { case, spec } = made;
    let read = read_case(case, |_| Picture::NotLookedAt, None);
    let shots: Vec<FigureShot<'_>> = case
        .shots
        .iter()
        .zip(&read.shots)
        .map(|(shot, reading)| FigureShot { shot, reading, frame: Some(frame), field: Field::Whole })
        .collect();
    let places: Vec<usize> = (0..shots.len()).collect();
    let options = FigureOptions::of_spec(spec, case.title.as_deref());
    assert_eq!(options.refusal(shots.len()), None);
    figure(case, &shots, &pairs_among(&read.pairs, &places), &options)
}
