//! Laws that hold for any input, with shrinking to the smallest that breaks them.

use proptest::prelude::*;
use stillmark::case::document::edit::{Description, Edit};
use stillmark::case::document::history::History;
use stillmark::case::document::{Case, Shot};
use stillmark::geom::point::Point;
use stillmark::measure::ap::read_ap;
use stillmark::measure::calibration::Calibration;
use stillmark::measure::lateral::{lateral_body_map, read_lateral};
use stillmark::measure::mark::{Level, MarkKind, MarkRef, Marks, PatientRight, Side, Stage, View};
use stillmark::measure::pair::read_pair;
use stillmark::measure::pedicle::read_pedicle;
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{Field, FrameExtent, Lent, MonteCarlo, Place, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;

fn input<'a>(marks: &'a Marks, settings: &'a Settings) -> ShotInput<'a> {
    ShotInput {
        view: View::Lateral,
        marks,
        side: None,
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(0.3),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    }
}

/// Interior points of a border from `p` to `q` that sags by up to a fourteenth of its length.
fn interior(p: (f64, f64), q: (f64, f64), sag: f64, count: usize) -> Vec<(f64, f64)> {
    let way = (q.0 - p.0, q.1 - p.1);
    (1..=count)
        .map(|i| {
            #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
            let t = i as f64 / (count + 1) as f64;
            let out = sag * 4.0 * t * (1.0 - t);
            (p.0 + way.0 * t - way.1 * out, p.1 + way.1 * t + way.0 * out)
        })
        .collect()
}

/// Marks of a lateral body of about 100 by 80 px whose corners lie anywhere near it, with curved borders, now
/// and then second contours, and a tip in or near it.
fn body() -> impl Strategy<Value = Marks> {
    let corners = prop::collection::vec((-9.0..9.0, -7.0..7.0), 4);
    let borders = prop::collection::vec((-0.07..0.07, 0_usize..4), 4);
    let second = prop::collection::vec(prop::option::of((-8.0..8.0, -8.0..8.0, 0_usize..3)), 4);
    let tip = (-20.0..120.0, -10.0..90.0);
    (corners, borders, second, tip).prop_map(|(corners, borders, second, tip)| {
        let base = [(0.0, 0.0), (100.0, 0.0), (0.0, 80.0), (100.0, 80.0)];
        let at = |i: usize| (base[i].0 + corners[i].0, base[i].1 + corners[i].1);
        let ends = [(at(0), at(1)), (at(2), at(3)), (at(0), at(2)), (at(1), at(3))];
        let between = |i: usize| interior(ends[i].0, ends[i].1, borders[i].0, borders[i].1);
        let whole = |i: usize| [vec![ends[i].0], between(i), vec![ends[i].1]].concat();
        let kinds = [
            MarkKind::SuperiorEndPlateSecond,
            MarkKind::InferiorEndPlateSecond,
            MarkKind::PosteriorWallSecond,
            MarkKind::AnteriorWallSecond,
        ];
        let mut marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &whole(0))
            .with(MarkKind::InferiorEndPlate, &whole(1))
            .with(MarkKind::PosteriorWall, &between(2))
            .with(MarkKind::AnteriorWall, &between(3))
            .with(MarkKind::Tip, &[tip]);
        for (i, kind) in kinds.into_iter().enumerate() {
            if let Some((x, y, count)) = second[i] {
                let moved = |p: (f64, f64)| (p.0 + x, p.1 + y);
                let (p, q) = (moved(ends[i].0), moved(ends[i].1));
                marks = marks.with(kind, &[vec![p], interior(p, q, 0.02, count), vec![q]].concat());
            }
        }
        marks
    })
}

/// Any number a mark could hold in memory, extremes included.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -50.0..150.0,
        3 => prop::sample::select(vec![0.0, 1.0, 40.0, 80.0, -0.0]),
        1 => prop::sample::select(vec![
            1e300, -1e300, 1e154, f64::MAX, f64::MIN_POSITIVE, 1e-300, f64::NAN, f64::INFINITY,
        ]),
    ]
}

/// Any marks at all: incomplete, repeated, on one line, folded, of the wrong view, beyond all numbers.
fn any_marks() -> impl Strategy<Value = Marks> {
    let slot = prop::option::weighted(0.95, (any_number(), any_number()).prop_map(|(x, y)| Point::new(x, y)));
    let mark = (prop::sample::select(MarkKind::ALL.to_vec()), prop::collection::vec(slot, 0..6));
    prop::collection::vec(mark, 0..14).prop_map(|list| {
        let mut marks = Marks::new();
        for (kind, slots) in list {
            marks.set(kind, slots);
        }
        marks
    })
}

fn edit() -> impl Strategy<Value = Edit> {
    let id = || prop::sample::select(vec!["a", "b", "c"]).prop_map(str::to_owned);
    let kind = || prop::sample::select(MarkKind::ALL.to_vec());
    let at = (kind(), 0_usize..5).prop_map(|(kind, index)| MarkRef { kind, index });
    let place = || (any_number(), any_number()).prop_map(|(x, y)| Point::new(x, y));
    let text = || prop::option::of("[a-z]{0,3}");
    let what = prop_oneof![
        id().prop_map(Description::Id),
        prop::option::of(prop::sample::select(vec![Level::L4, Level::L5])).prop_map(Description::Level),
        prop::option::of(prop::sample::select(Side::ALL.to_vec())).prop_map(Description::Side),
        prop::sample::select(View::ALL.to_vec()).prop_map(Description::View),
        prop::option::of(prop::sample::select(Stage::ALL.to_vec())).prop_map(Description::Stage),
        text().prop_map(Description::Taken),
        prop::option::of((any_number(), prop::option::of(any_number()))).prop_map(
            |scale| Description::Scale(scale.map(|(mm_per_px, sd)| Calibration::typed(mm_per_px, sd)))
        ),
        prop::option::of(prop::sample::select(PatientRight::ALL.to_vec()))
            .prop_map(Description::PatientRight),
        prop::option::of(id()).prop_map(Description::PairWith),
        id().prop_map(Description::Image),
        text().prop_map(Description::Digest),
    ];
    prop_oneof![
        4 => (id(), at.clone(), place()).prop_map(|(shot, at, to)| Edit::Place { shot, at, to }),
        2 => (id(), at.clone(), place()).prop_map(|(shot, at, to)| Edit::Insert { shot, at, to }),
        2 => (id(), at).prop_map(|(shot, at)| Edit::Remove { shot, at }),
        1 => (id(), kind()).prop_map(|(shot, kind)| Edit::Clear { shot, kind }),
        1 => (id(), any_marks()).prop_map(|(shot, marks)| Edit::SetMarks { shot, marks }),
        3 => (id(), what).prop_map(|(shot, what)| Edit::Describe { shot, what }),
        2 => (0_usize..4, id()).prop_map(|(at, id)| {
            Edit::AddShot { at, shot: Box::new(Shot::new(id, "picture.png", View::Lateral)) }
        }),
        1 => id().prop_map(|shot| Edit::RemoveShot { shot }),
        1 => (id(), 0_usize..5).prop_map(|(shot, to)| Edit::MoveShot { shot, to }),
        1 => (0.1..2.0).prop_map(|bone_sd_mm| {
            Edit::SetSettings(Box::new(Settings { bone_sd_mm, ..Settings::default() }))
        }),
        1 => text().prop_map(Edit::SetTitle),
        1 => text().prop_map(Edit::SetDate),
        1 => prop::collection::vec("L[1-4]-L[2-5]", 0..3).prop_map(Edit::SetDiscs),
    ]
}

/// A step of a session: a change, or the beginning or end of a gesture.
#[derive(Clone, Debug)]
enum Step {
    Change(Box<Edit>),
    Begin,
    End,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        8 => edit().prop_map(|edit| Step::Change(Box::new(edit))),
        1 => Just(Step::Begin),
        1 => Just(Step::End),
    ]
}

fn start() -> Case {
    let mut case = Case::default();
    for id in ["a", "b"] {
        case.shots.push(Shot::new(id, "picture.png", View::Lateral));
    }
    case
}

/// Within the range in which a place can be read.
fn readable(quantity: &Quantity) -> bool {
    quantity.value.is_finite() && (-1.0..=2.0).contains(&quantity.value)
}

fn places_are_readable<'a>(places: impl IntoIterator<Item = Option<&'a Place>>) -> bool {
    places.into_iter().flatten().all(|place| readable(&place.along) && readable(&place.height))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever image point is read, its place in the body shows at that point.
    #[test]
    fn image_to_body_to_image(marks in body(), x in -60.0..160.0, y in -50.0..130.0) {
        let Ok(map) = lateral_body_map(&marks) else { return Ok(()) };
        let p = Point::new(x, y);
        if let Some(at) = map.to_body(p) {
            let back = map.to_image(at);
            prop_assert!(back.distance(p) < 1e-9, "{p:?} came back as {back:?}");
        }
    }

    /// Every place in the body and around it (a tip still in the pedicle, or in front of the body) is read where
    /// it shows.
    #[test]
    fn body_to_image_to_body(marks in body(), along in -0.6..1.3, height in -0.3..1.3) {
        let Ok(map) = lateral_body_map(&marks) else { return Ok(()) };
        let at = stillmark::measure::body::BodyPoint { along, height };
        let back = map.to_body(map.to_image(at));
        prop_assert!(back.is_some_and(|b| (b.along - along).abs() < 1e-8 && (b.height - height).abs() < 1e-8),
            "{at:?} came back as {back:?}");
    }

    /// Fractions and their uncertainties do not change when the picture is shifted, turned, enlarged (with the
    /// scale following) or mirrored.
    #[test]
    fn readings_do_not_depend_on_the_picture(
        marks in body(),
        turn in 0.0..std::f64::consts::TAU,
        enlarged in 0.2..8.0,
        (right, down) in (-2000.0..2000.0, -2000.0..2000.0),
        mirrored: bool,
        calibrated: bool,
    ) {
        let settings = Settings::default();
        let flip = if mirrored { -1.0 } else { 1.0 };
        let (sin, cos) = turn.sin_cos();
        let moved = marks.map(|p| {
            let (x, y) = (flip * p.x * enlarged, p.y * enlarged);
            Point::new(x * cos - y * sin + right, x * sin + y * cos + down)
        });
        let scale = |s: f64| calibrated.then_some(s);
        let here = read_lateral(&ShotInput { mm_per_px: scale(0.3), ..input(&marks, &settings) });
        let there = read_lateral(&ShotInput { mm_per_px: scale(0.3 / enlarged), ..input(&moved, &settings) });
        prop_assert_eq!(here.tip.is_some(), there.tip.is_some());
        let codes = |r: &stillmark::measure::reading::LateralReading| {
            r.issues.iter().map(|issue| issue.code).collect::<Vec<_>>()
        };
        prop_assert_eq!(codes(&here), codes(&there));
        if let (Some(here), Some(there)) = (here.tip, there.tip) {
            for (a, b) in [(here.along, there.along), (here.height, there.height)] {
                prop_assert!((a.value - b.value).abs() < 1e-8, "{} and {}", a.value, b.value);
                for (a, b) in [(a.budget.bone, b.budget.bone), (a.budget.metal, b.budget.metal),
                    (a.budget.view, b.budget.view)] {
                    prop_assert!((a - b).abs() <= 1e-6 * a, "{a} and {b}");
                }
            }
        }
    }

    /// No marks, scale or frame make a reading panic, and no reading holds a place that cannot be.
    #[test]
    fn no_marks_make_a_reading_panic(
        marks in any_marks(),
        other in any_marks(),
        side in prop::option::of(prop::sample::select(Side::ALL.to_vec())),
        stage in prop::option::of(prop::sample::select(Stage::ALL.to_vec())),
        patient_right in prop::option::of(prop::sample::select(PatientRight::ALL.to_vec())),
        mm_per_px in prop::option::of(any_number()),
        (width, height, radius) in (0_u32..2000, 0_u32..2000, any_number()),
        draws in prop::option::weighted(0.1, 1_usize..20),
    ) {
        let settings = Settings::default();
        let field = Field::Round { centre: Point::new(radius, radius), radius };
        let shot = ShotInput {
            side,
            stage,
            patient_right,
            mm_per_px,
            mm_per_px_sd: None,
            frame: Some(FrameExtent { width, height, field }),
            monte_carlo: draws.map(|draws| MonteCarlo { draws, seed: 7 }),
            ..input(&marks, &settings)
        };
        let lateral = read_lateral(&shot);
        let electrodes = lateral.electrodes.as_ref();
        prop_assert!(places_are_readable([
            lateral.tip.as_ref(),
            lateral.cannula_mouth.as_ref(),
            electrodes.map(|e| &e.proximal),
            electrodes.map(|e| &e.distal),
            electrodes.map(|e| &e.centre),
        ]));
        let ap = read_ap(&ShotInput { view: View::Ap, ..shot });
        prop_assert!(places_are_readable([ap.tip.as_ref(), ap.cannula_mouth.as_ref()]));
        let _ = read_pedicle(&ShotInput { view: View::Pedicle, ..shot });
        let _ = read_pair(&shot, &ShotInput { view: View::Ap, marks: &other, ..shot });
    }

    /// The same, from marks of a whole body of which a few points were moved anywhere or taken away.
    #[test]
    fn no_damaged_body_makes_a_reading_panic(
        marks in body(),
        damage in prop::collection::vec(
            (prop::sample::select(MarkKind::ALL.to_vec()), 0_usize..6, prop::option::of((any_number(), any_number()))),
            1..4,
        ),
    ) {
        let mut marks = marks;
        for (kind, index, to) in damage {
            let mut slots = marks.slots(kind).to_vec();
            if let Some(slot) = slots.get_mut(index) {
                *slot = to.map(|(x, y)| Point::new(x, y));
                marks.set(kind, slots);
            }
        }
        let settings = Settings::default();
        let reading = read_lateral(&input(&marks, &settings));
        prop_assert!(places_are_readable([reading.tip.as_ref()]));
        prop_assert!(reading.tip.is_some() || !reading.issues.is_empty(), "no reading and no word why");
    }

    /// Undoing every step returns the first case, redoing every step the last; single changes also return
    /// every case in between.
    #[test]
    fn undo_returns_the_case(steps in prop::collection::vec(step(), 0..40)) {
        let mut history = History::new(start());
        let (mut in_gesture, mut gestures) = (false, false);
        let mut seen = vec![start()];
        for step in steps {
            match step {
                Step::Begin => {
                    history.begin_gesture();
                    (in_gesture, gestures) = (true, true);
                }
                Step::End => {
                    history.end_gesture();
                    in_gesture = false;
                }
                Step::Change(edit) => {
                    let before = history.case().clone();
                    if history.apply(&edit).is_err() {
                        prop_assert_eq!(history.case(), &before);
                    }
                    if !in_gesture && history.case() != &before {
                        seen.push(history.case().clone());
                    }
                }
            }
        }
        let last = history.case().clone();
        if !gestures {
            for case in seen.iter().rev().skip(1) {
                prop_assert!(history.undo());
                prop_assert_eq!(history.case(), case);
            }
        }
        while history.undo() {}
        prop_assert_eq!(history.case(), &start());
        prop_assert!(!history.can_undo());
        while history.redo() {}
        prop_assert_eq!(history.case(), &last);
    }
}
