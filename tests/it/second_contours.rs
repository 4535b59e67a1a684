//! A border that shows twice may be traced to the first contour's wall or to the corner of its own side: both read the
//! same (method, section 2).

use stillmark::geom::curve::Curve;
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::lateral::{lateral_body_map, read_lateral};
use stillmark::measure::mark::{MarkKind, Marks, Stage, View};
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;

/// The borders in the order of the corners, in millimetres: superior, inferior, posterior, anterior.
type Borders = [Vec<Point>; 4];

const KINDS: [[MarkKind; 2]; 4] = [
    [MarkKind::SuperiorEndPlate, MarkKind::SuperiorEndPlateSecond],
    [MarkKind::InferiorEndPlate, MarkKind::InferiorEndPlateSecond],
    [MarkKind::PosteriorWall, MarkKind::PosteriorWallSecond],
    [MarkKind::AnteriorWall, MarkKind::AnteriorWallSecond],
];

fn points(list: &[(f64, f64)]) -> Vec<Point> {
    list.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

/// A body of 35 × 27 mm, wedged by `wedge` mm, its end plates hollow by 1.5 mm, its front by 2 and its posterior wall by
/// `hollow` mm.
fn body(wedge: f64, hollow: f64) -> Borders {
    let bow = |t: f64| 4.0 * t * (1.0 - t);
    let along = |n: u32| (0..=n).map(move |i| f64::from(i) / f64::from(n));
    let line = |list: Vec<(f64, f64)>| points(&list);
    [
        line(along(4).map(|t| (35.0 * t, 1.5 * bow(t) - wedge * t)).collect()),
        line(along(4).map(|t| (35.0 * t, 27.0 - 1.5 * bow(t) + wedge * t)).collect()),
        line(along(3).map(|t| (hollow * bow(t), 27.0 * t)).collect()),
        line(along(2).map(|t| (35.0 - 2.0 * bow(t), (27.0 + 2.0 * wedge) * t - wedge)).collect()),
    ]
}

fn shifted(border: &[Point], by: Vec2) -> Vec<Point> {
    border.iter().map(|&p| p + by).collect()
}

/// Where a border meets another, both continued straight beyond their ends, near their ends `t` and `k`.
fn meets(border: &Curve, other: &Curve, mut t: f64, mut k: f64) -> Point {
    for _ in 0..20 {
        let ((p, dp), (q, dq)) = (border.at_with_derivative(t), other.at_with_derivative(k));
        let gap = q - p;
        t += gap.cross(dq) / dp.cross(dq);
        k += gap.cross(dp) / dp.cross(dq);
    }
    border.at(t)
}

/// The second contours of both end plates and the posterior wall of a body whose other side lies aside by `plates` and
/// `wall`, ended at the corners of their own side or where they meet the first contours.
fn read(first: &Borders, plates: Vec2, wall: Vec2, own_corners: bool, tip: Point) -> [f64; 4] {
    let far: Borders = [
        shifted(&first[0], plates + wall),
        shifted(&first[1], plates + wall),
        shifted(&first[2], plates + wall),
        first[3].clone(),
    ];
    let curve = |border: &[Point]| Curve::through(border).expect("a curve");
    let mut marks = Marks::new();
    for (b, [kind, second]) in KINDS.into_iter().enumerate() {
        let inner = if b < 2 { &first[b][..] } else { &first[b][1..first[b].len() - 1] };
        marks.set(kind, inner.iter().map(|&p| Some(p)).collect());
        if b == 3 {
            continue;
        }
        let mut contour = far[b].clone();
        let last = contour.len() - 1;
        if !own_corners {
            // At a body's corner an end plate meets the start or the end of a wall, and a wall those of an end plate.
            let ([before, after], [from, to]) =
                if b < 2 { ([2, 3], [b as f64; 2]) } else { ([0, 1], [0.0, 0.0]) };
            contour[0] = meets(&curve(&far[b]), &curve(&first[before]), 0.0, from);
            contour[last] = meets(&curve(&far[b]), &curve(&first[after]), 1.0, to);
        }
        marks.set(second, contour.into_iter().map(Some).collect());
    }
    marks.set(MarkKind::Tip, vec![Some(tip)]);
    let settings = Settings::default();
    let reading = read_lateral(&ShotInput {
        view: View::Lateral,
        marks: &marks,
        side: None,
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(1.0),
        mm_per_px_sd: None,
        frame: None,
        settings: &settings,
        known: stillmark::measure::true_view::known::Known::NOTHING,
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    });
    assert!(lateral_body_map(&marks).is_ok());
    let tip = reading.tip.expect("a reading");
    [tip.along.value, tip.height.value, tip.along.budget.view, tip.height.budget.view]
}

/// The largest difference between both ways of tracing, of depth, height and their view parts.
fn most(hollow: f64, turn: f64, tilt: f64) -> [f64; 4] {
    let mut most = [0.0_f64; 4];
    for wedge in [0.0, 1.0, -1.0] {
        let first = body(wedge, hollow);
        for (turn, tilt) in [(turn, tilt), (-turn, tilt), (turn, -tilt), (-turn, -tilt)] {
            for tip in [Point::new(10.0, 13.5), Point::new(14.0, 13.5), Point::new(17.0, 16.0)] {
                let of = |own| read(&first, Vec2::new(0.0, tilt), Vec2::new(turn, 0.0), own, tip);
                let (own, first_walls) = (of(true), of(false));
                for (most, (a, b)) in most.iter_mut().zip(own.into_iter().zip(first_walls)) {
                    *most = most.max((a - b).abs());
                }
            }
        }
    }
    most
}

/// A turn of 3° parts the posterior wall's contours by 2 · 12 · sin 3° = 1.3 mm, a tilt of 3° those of the end plates by
/// 2 · 20 · sin 3° = 2.1 mm.
#[test]
fn both_ways_of_tracing_a_second_contour_read_the_same() {
    for hollow in [0.0, 0.5] {
        let most = most(hollow, 1.3, 2.1);
        assert!(most.iter().all(|&most| most <= 0.001), "{hollow}: {most:?}");
    }
    // One direction alone, at 5°.
    for (turn, tilt) in [(2.1, 0.0), (0.0, 3.5)] {
        let most = most(0.0, turn, tilt);
        assert!(most.iter().all(|&most| most <= 0.001), "{turn} {tilt}: {most:?}");
    }
}

/// What is left: a second contour of a hollow wall, tilted by 5° and traced to the end plates as marked, is carried along
/// its border by half the tilt, hollow and all. An independent computation in Python finds the same: 0.0026 at a
/// hollow of 1 mm.
#[test]
fn a_hollow_wall_leaves_a_quarter_of_a_hundredth() {
    let most = most(1.0, 2.1, 3.5);
    assert!((most[0] - 0.0026).abs() < 0.0003 && most[1] < 0.0012, "{most:?}");
}

/// By hand: a rectangle of 40 × 30 with straight borders; the far side lies 2 to the right and 4 below. Ended at the
/// corners of their own side, the second contours of all four borders are the rectangle moved as a whole, and the
/// border used must be the rectangle moved by half of it: (1, 2). A tip at (21, 17) is in its middle.
#[test]
fn a_far_side_traced_from_its_own_corners_is_met_half_way() {
    let first: Borders = [
        points(&[(0.0, 0.0), (40.0, 0.0)]),
        points(&[(0.0, 30.0), (40.0, 30.0)]),
        points(&[(0.0, 0.0), (0.0, 30.0)]),
        points(&[(40.0, 0.0), (40.0, 30.0)]),
    ];
    let mut marks = Marks::new();
    for (b, [kind, second]) in KINDS.into_iter().enumerate() {
        if b < 2 {
            marks.set(kind, first[b].iter().map(|&p| Some(p)).collect());
        }
        let far = shifted(&first[b], Vec2::new(2.0, 4.0));
        marks.set(second, far.into_iter().map(Some).collect());
    }
    let map = lateral_body_map(&marks).unwrap();
    let at = map.to_body(Point::new(21.0, 17.0)).unwrap();
    assert!((at.along - 0.5).abs() < 1e-12 && (at.height - 0.5).abs() < 1e-12, "{at:?}");
    // Across the borders the sides lie 4 (end plates) and 2 (walls) apart, whatever they are shifted along.
    let apart: Vec<f64> = stillmark::measure::body::Border::ALL
        .into_iter()
        .map(|border| map.separation(border).unwrap())
        .collect();
    assert!(apart.iter().zip([4.0, 4.0, 2.0, 2.0]).all(|(a, b)| (a - b).abs() < 1e-12), "{apart:?}");
}
