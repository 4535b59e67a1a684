//! Changes between shots: do their intervals hold the three-dimensional truth, and what does the command line say.
//! `STILLMARK_UPDATE=1 cargo test change` writes the table to `docs/change.md`.

use std::fmt::Write as _;

use glam::DVec3;
use serde_json::Value;
use stillmark::io::case_file;
use stillmark::measure::ap::read_ap;
use stillmark::measure::compare::{self, Change, Position, ShotChange};
use stillmark::measure::lateral::read_lateral;
use stillmark::measure::mark::{MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;
use stillmark::phantom::beam::Pose;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::instrument::PlacedInstrument;
use stillmark::phantom::marks::{Reader, Showing};
use stillmark::phantom::scenario::{self, Subject};

use crate::support::{case_of, folder, lateral_shot, put, stillmark_cli};

/// Pairs of shots a row; 6,000 for each view from positions of their own.
const A_ROW: u64 = 2000;
/// Every interval must hold the truth this often.
const HOLDS: std::ops::RangeInclusive<f64> = 0.93..=0.98;

/// The rows that the page explains: where one contour leaves a view unknown beyond 1.4°, which here it is not.
const TOO_WIDE: std::ops::RangeInclusive<f64> = 0.95..=1.0;

/// Which quantities of a view are followed.
const LATERAL: [&str; 2] = ["depth", "height"];
const AP: [&str; 3] = ["across", "height", "midline"];

#[derive(Clone, Copy)]
struct Row {
    view: View,
    stages: [Stage; 2],
    position: Position,
}

/// Whether each interval held the truth, and the errors with the sds stated.
struct Trial {
    held: Vec<bool>,
    errors: Vec<(f64, f64)>,
}

/// Two shots of one body, the second with the instrument further on.
fn trial(row: Row, seed: u64) -> Option<Trial> {
    let mut draw = Draw::new(seed);
    let first = Subject::drawn(row.stages[0], &mut draw);
    let tip = scenario::drawn_tip(row.stages[1], first.side, &mut draw);
    let instrument = PlacedInstrument::placed(&first.body, row.stages[1], first.side, tip);
    let second = Subject { stage: row.stages[1], instrument, ..first.clone() };
    let view = |draw: &mut Draw| -> (Pose, Reader) {
        let ray = scenario::drawn_ray(1.4, draw);
        let pose = scenario::drawn_pose(row.view, first.side, ray, draw);
        // In AP a wedged body's plates often show twice; a careful reader then marks both, as coverage.md says.
        let showing = if row.view == View::Lateral { Showing::One } else { Showing::WhereSeen };
        (pose, scenario::drawn_reader(showing, draw))
    };
    let one = view(&mut draw);
    let other = match row.position {
        Position::Own => view(&mut draw),
        // One position of the C-arm, and the same contour marked in both.
        Position::Shared => one.clone(),
    };
    let settings = Settings::default();
    let mut placed = |subject: &Subject, (pose, reader): &(Pose, Reader)| {
        let beam = pose.beam(DVec3::NEG_X);
        let exact = match row.view {
            View::Lateral => subject.lateral_marks(&beam, reader),
            _ => subject.ap_marks(&beam, reader),
        };
        scenario::placed_with_error(
            &exact,
            settings.bone_sd_mm,
            settings.metal_sd_mm,
            pose.mm_per_px,
            &mut draw,
        )
    };
    let marks = [placed(&first, &one), placed(&second, &other)];
    let scales = [one.0.mm_per_px, other.0.mm_per_px];
    let input = |i: usize| ShotInput {
        view: row.view,
        marks: &marks[i],
        side: Some(first.side),
        stage: Some(row.stages[i]),
        patient_right: None,
        mm_per_px: Some(scales[i]),
        mm_per_px_sd: None,
        frame: None,
        settings: &settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    };
    let found: ShotChange = match row.view {
        View::Lateral => {
            compare::lateral(&read_lateral(&input(0)), &read_lateral(&input(1)), row.position, 0.08)
        }
        _ => compare::ap(&read_ap(&input(0)), &read_ap(&input(1)), row.position, 0.08),
    };
    let truth = [first.truth(), second.truth()];
    let place = |i: usize| match row.view {
        View::Lateral => truth[i].lateral.map(|place| place.curved),
        _ => truth[i].ap.map(|place| place.curved),
    };
    let (a, b) = (place(0)?, place(1)?);
    let mut changes: Vec<(Change, f64)> =
        vec![(found.along?, b.along - a.along), (found.height?, b.height - a.height)];
    if row.view == View::Ap {
        // The model's midline is its middle, so that the offset changes as the across fraction does.
        changes.push((found.midline?.1, b.along - a.along));
    }
    let held =
        |(change, truth): &(Change, f64)| change.quantity.low() <= *truth && *truth <= change.quantity.high();
    Some(Trial {
        held: changes.iter().map(held).collect(),
        errors: changes.iter().map(|(c, truth)| (c.quantity.value - truth, c.quantity.sd())).collect(),
    })
}

fn trials(row: Row, stream: u64) -> Vec<Trial> {
    let run = |from: u64, to: u64| -> Vec<Trial> {
        (from..to).filter_map(|i| trial(row, (stream << 32) | i)).collect()
    };
    std::thread::scope(|scope| {
        let second = scope.spawn(|| run(A_ROW / 2, A_ROW));
        let mut all = run(0, A_ROW / 2);
        all.extend(second.join().unwrap_or_default());
        all
    })
}

const INTRODUCTION: &str = "\
# Do the intervals of a change hold the truth?

Two shots of one simulated body, the second with the instrument further on, are read as a user would mark them. The
table counts how often the 95 % interval of the change holds the true one, which is known from the three-dimensional
model and never from a picture. Bodies, views and marks are drawn as in [coverage.md](coverage.md): each ray within
± 1.4°, one contour of each border marked and in AP the second where it shows, 0.5 mm on bone and 0.25 mm on metal. `STILLMARK_UPDATE=1 cargo test change`
makes the table again.

*Own position*: each shot from its own place. *One position*: both from the same place of the C-arm, the same contour
marked in both, and the comparison told so, so that the view's part is left out.

| view | from | to | C-arm | pairs | quantity | held | sd stated / error found |
| --- | --- | --- | --- | ---: | --- | ---: | ---: |
";

const CLOSING: &str = "
At one position every row holds the truth in 93–98 %. From positions of their own a change carries more than these views
ask for: one contour says nothing of a turn or tilt beyond 1.4°, and between two shots the C-arm may have moved by far more,
so that such a direction counts as off by 4° (one standard deviation), although every view here is within 1.4°. Where both
contours tell of a turn or tilt, what they leave open is added: 0.08 (depth), 0.25 (height in a lateral) or 0.22 (height in an
AP) of its sine in each view, this project's own figures.

Without that an interval that holds exactly, in 95 %, calls one unmoved tip in twenty moved. With the C-arm moved by up to 8° in any
direction between 2,000 pairs, a tip that did not move is called moved so often (in brackets by the readings alone):

| view | contours marked | depth or across | height | midline |
| --- | --- | ---: | ---: | ---: |
| lateral | one | 1.4 % (8.9 %) | 2.2 % (16.7 %) | |
| lateral | both | 2.2 % (3.8 %) | 2.5 % (4.8 %) | |
| AP | one | 2.3 % (5.3 %) | 2.0 % (19.6 %) | 0.1 % (23.0 %) |
| AP | both | 2.95 % (5.9 %) | 2.1 % (6.0 %) | 0.1 % (23.4 %) |

A tip that went on by a tenth of the depth is still found in most pairs in which it was found before. A test holds all of this to
3 %. Say that both shots share one position where they do, and a change is as sure as it can be.

How pictures are laid on each other by their own bone, and what a change by that is worth: [refinement.md](refinement.md).
";

#[test]
fn intervals_hold_the_truth_and_the_page_is_current() {
    let mut page = INTRODUCTION.to_owned();
    let mut wrong = Vec::new();
    let stages =
        [[Stage::PosteriorWall, Stage::Stylet], [Stage::Stylet, Stage::Final], [Stage::Final, Stage::Final]];
    let mut stream = 100;
    for view in [View::Lateral, View::Ap] {
        for position in [Position::Own, Position::Shared] {
            // What one position leaves out does not depend on the stage, so one row shows it.
            let rows = if position == Position::Own { &stages[..] } else { &stages[1..2] };
            for &stages in rows {
                let all = trials(Row { view, stages, position }, stream);
                stream += 1;
                let names: &[&str] = if view == View::Lateral { &LATERAL } else { &AP };
                for (q, name) in names.iter().enumerate() {
                    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
                    let (n, held) = (
                        all.len() as f64,
                        all.iter().filter(|t| t.held[q]).count() as f64 / all.len() as f64,
                    );
                    let rms = |of: fn(&(f64, f64)) -> f64| {
                        (all.iter().map(|t| of(&t.errors[q]).powi(2)).sum::<f64>() / n).sqrt()
                    };
                    let what = if position == Position::Own { "own" } else { "one" };
                    writeln!(
                        page,
                        "| {} | {} | {} | {what} | {} | {name} | {:.1} % | {:.4} / {:.4} |",
                        view.key(),
                        stages[0].key(),
                        stages[1].key(),
                        all.len(),
                        100.0 * held,
                        rms(|e| e.1),
                        rms(|e| e.0)
                    )
                    .unwrap();
                    let wide = position == Position::Own;
                    let holds = if wide { TOO_WIDE } else { HOLDS };
                    if n < 1950.0 || !holds.contains(&held) {
                        wrong.push(format!("{view:?} {stages:?} {name}: {held} of {n}"));
                    }
                }
            }
        }
    }
    page.push_str(CLOSING);
    assert!(wrong.is_empty(), "{}\n{page}", wrong.join("\n"));
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/change.md");
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        std::fs::write(file, &page).unwrap();
    }
    let committed = std::fs::read_to_string(file).unwrap_or_default();
    assert!(committed == page, "docs/change.md is not current; run with STILLMARK_UPDATE=1. Now:\n{page}");
}

fn ap_marks(tip: (f64, f64)) -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (250.0, 100.0)])
        .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (250.0, 190.0)])
        .with(MarkKind::RightPedicle, &[(115.0, 120.0), (140.0, 120.0)])
        .with(MarkKind::LeftPedicle, &[(235.0, 120.0), (210.0, 120.0)])
        .with(MarkKind::Tip, &[tip])
}

/// A case with two matched pairs of one level. Bodies are rectangles of 144 × 90 and 150 × 90 px, so that the numbers
/// can be followed by hand.
fn two_pairs() -> String {
    let mut shots = Vec::new();
    for (i, (stage, lateral, ap)) in
        [(Stage::Stylet, (136.0, 145.0), (145.0, 145.0)), (Stage::Final, (172.0, 154.0), (160.0, 154.0))]
            .into_iter()
            .enumerate()
    {
        let mut side = lateral_shot(&format!("lateral-{i}"), "x.png");
        side.stage = Some(stage);
        side.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (244.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (244.0, 190.0)])
            .with(MarkKind::Tip, &[lateral]);
        let mut front = side.clone();
        front.id = format!("ap-{i}");
        front.view = View::Ap;
        front.marks = ap_marks(ap);
        shots.extend([side, front]);
    }
    let mut other = lateral_shot("l5", "x.png");
    other.level = stillmark::measure::mark::Level::from_name("L5");
    let mut left = shots[1].clone();
    left.id = "left".to_owned();
    left.side = Some(Side::Left);
    let mut blank = lateral_shot("blank", "x.png");
    blank.marks = Marks::new();
    shots.extend([other, left, blank]);
    case_file::to_text("a.case.json".as_ref(), &case_of("A", shots)).expect("a case that can be written")
}

fn compared(arguments: &[&str]) -> (Option<i32>, String, String) {
    let folder = folder();
    let path = put(folder.path(), "a.case.json", two_pairs());
    let mut all = vec!["compare".into(), path.into_os_string()];
    all.extend(arguments.iter().map(Into::into));
    let run = stillmark_cli(all).expect("the command line runs");
    (run.status, run.out, run.err)
}

fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.push("--json");
    let (status, out, err) = compared(&all);
    assert_eq!((status, err.as_str()), (Some(0), ""));
    serde_json::from_str(&out).expect("JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// By hand: 36 px of 144 are a quarter of the depth, 9 of 90 a tenth of the height; at 0.31 mm a pixel 11.16 mm and
/// 2.79 mm. Across 15 px of 150 are a tenth.
#[test]
fn a_change_by_hand() {
    let found = json(&["lateral-0", "lateral-1"]);
    assert!((number(&found["depth_change"]["value"]) - 0.25).abs() < 1e-9, "{found}");
    assert_eq!(found["depth_change"]["moved"], "yes");
    assert!((number(&found["height_change"]["value"]) - 0.1).abs() < 1e-9);
    assert!((number(&found["mm"]["depth"]["value"]) - 11.16).abs() < 1e-6);
    assert!((number(&found["mm"]["height"]["value"]) - 2.79).abs() < 1e-6);
    let pairs = &found["pairs"];
    assert!((number(&pairs["across_change"]["value"]) - 0.1).abs() < 1e-9, "{pairs}");
    assert_eq!(pairs["midline_change"]["by"], "pedicles");
    // Both bodies lie alike, so the arrow runs from one tip to the other.
    assert!((number(&found["arrow"]["from"][0]) - 136.0).abs() < 1e-6);
    let shared = json(&["lateral-0", "lateral-1", "--one-position"]);
    assert!(number(&shared["depth_change"]["budget"]["view"]).abs() < 1e-15);
    assert!(number(&shared["depth_change"]["sd"]) < number(&found["depth_change"]["sd"]));
    let ap = json(&["ap-0", "ap-1"]);
    assert!((number(&ap["across_change"]["value"]) - 0.1).abs() < 1e-9 && ap["depth_change"].is_null());
}

#[test]
fn what_cannot_be_compared_is_said_in_a_sentence() {
    for (from, to, words) in [
        ("lateral-0", "ap-1", "the views differ"),
        ("lateral-0", "l5", "the levels differ"),
        ("ap-0", "left", "the entry sides differ"),
        ("lateral-0", "lateral-0", "the same shot"),
        ("lateral-0", "nobody", "this case has no shot “nobody”"),
    ] {
        let (status, out, err) = compared(&[from, to]);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{from} {to}");
        assert!(err.contains(words) && err.lines().count() == 1, "{err}");
    }
    let (status, out, err) = compared(&["lateral-0", "blank"]);
    assert_eq!((status, err.as_str()), (Some(1), ""));
    assert!(out.contains("no change can be measured") && out.contains("Not a medical device"), "{out}");
}

/// By hand, with the numbers of `two_pairs`: 0.25 of 144 px is 36 px or 0.4 heights forward, 15 px or 1/6 height across:
/// 0.4167 across for every 1 forward. Pedicles: medial borders at 140 and 210, midline 175. At depth 0 (one step back,
/// 36 px) the tip was at 130 in AP: 10 px or 1/15 of the width lateral to the border at 140. One step on, at depth
/// 0.75, it would be at 175: the midline.
#[test]
fn the_run_of_a_level_by_hand() {
    let folder = folder();
    let path = put(folder.path(), "a.case.json", two_pairs());
    let run = stillmark_cli(["read".as_ref(), "--json".as_ref(), path.as_os_str()]).unwrap();
    let all: Value = serde_json::from_str(&run.out).unwrap();
    let found = &all[0]["runs"][0];
    let step = &found["steps"][0];
    assert!((number(&step["toward_front"]["value"]) - 0.4).abs() < 1e-9, "{found}");
    assert!((number(&step["toward_midline"]["value"]) - 1.0 / 6.0).abs() < 1e-9);
    assert!((number(&step["ratio"]["value"]) - 5.0 / 12.0).abs() < 1e-9);
    assert!(step["text"].as_str().unwrap().contains("0.4 % toward the midline for every 1 % anteriorly"));
    assert!((number(&found["posterior_wall"]["to_medial_border"]["value"]) - 1.0 / 15.0).abs() < 1e-9);
    assert!((number(&found["midline"]["depth"]["value"]) - 0.75).abs() < 1e-9);
    assert!(found["midline"]["text"].as_str().unwrap().contains("anterior third"));
    let words = stillmark_cli(["read".as_ref(), path.as_os_str()]).unwrap().out;
    assert!(words.contains("tip path as seen in the saved frames"), "{words}");
}

/// The same numbers as by hand in `measure::ahead`: 60° of a radius of 30 mm at 0.3 mm a pixel.
#[test]
fn the_curve_ahead_through_the_command_line() {
    let folder = folder();
    let mut shot = lateral_shot("a", "x.png");
    shot.mm_per_px = Some(0.3);
    shot.marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(300.0, 100.0), (440.0, 100.0)])
        .with(MarkKind::InferiorEndPlate, &[(300.0, 190.0), (440.0, 190.0)])
        .with(MarkKind::Cannula, &[(200.0, 130.0), (300.0, 130.0)]);
    let text = case_file::to_text("a.case.json".as_ref(), &case_of("A", vec![shot])).unwrap();
    let path = put(folder.path(), "a.case.json", text);
    let run = |more: &[&str]| {
        let mut all = vec!["curve".into(), path.clone().into_os_string(), "a".into(), "--bend-deg=60".into()];
        all.extend(more.iter().map(std::ffi::OsString::from));
        stillmark_cli(all).unwrap()
    };
    let found: Value = serde_json::from_str(&run(&["--json", "--radius-mm=30"]).out).unwrap();
    assert!((number(&found["end"]["depth"]) - 86.602_54 / 140.0).abs() < 1e-6, "{found}");
    // A circle of 100 px about (300, 230), seen in three places.
    let seen = ["--json", "--through", "300,130", "386.602540,180", "350,143.397460"];
    let found: Value = serde_json::from_str(&run(&seen).out).unwrap();
    assert!((number(&found["radius_mm"]) - 30.0).abs() < 1e-4, "{found}");
    assert!(run(&["--radius-mm=30"]).out.contains("does not predict where an instrument will go"));
    for (bad, words) in [
        (&["--radius-mm=0"][..], "the radius must lie"),
        (&["--through", "0,0", "1,1", "2,2"], "on a straight line"),
    ] {
        let run = run(bad);
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
        assert!(run.err.contains(words) && run.err.lines().count() == 1, "{}", run.err);
    }
}

/// An arc in the model's space beside the middle of a body, seen through the model's cone of rays from 700 mm: the drawn
/// arc is its parallel projection, so the two agree but for the cone, which shows what lies 15 mm nearer by 2 % larger.
#[test]
fn a_drawn_arc_is_what_the_models_rays_show_of_it() {
    use stillmark::geom::arc::Arc;
    let pose = Pose::true_view(View::Lateral, 0.3, 1024.0);
    let beam = pose.beam(DVec3::NEG_X);
    let mouth = DVec3::new(-12.0, 0.0, 4.0);
    let away = (mouth - beam.source()).normalize();
    let forward = DVec3::new(1.0, 0.0, -0.2).normalize();
    let seen = |p: DVec3| beam.project(p);
    let axis = seen(mouth + forward) - seen(mouth);
    let up = DVec3::Y.cross(forward).normalize();
    let aside = if (seen(mouth + up) - seen(mouth)).dot(axis.perpendicular()) > 0.0 { up } else { -up };
    for (turn_deg, lean_deg) in [(0.0_f64, 0.0_f64), (40.0, 20.0), (150.0, -25.0), (90.0, 15.0)] {
        let (turn_rad, lean_rad) = (turn_deg.to_radians(), lean_deg.to_radians());
        let along = forward * lean_rad.cos() + away * lean_rad.sin();
        let third = away * lean_rad.cos() - forward * lean_rad.sin();
        let arc = Arc { radius: 30.0 / pose.mm_per_px, bend_rad: 1.0, turn_rad, lean_rad };
        for t in [0.25, 0.6, 1.0] {
            let (sin, cos) = f64::sin_cos(t * arc.bend_rad);
            let bent = aside * turn_rad.cos() + third * turn_rad.sin();
            let place = mouth + along * (30.0 * sin) + bent * (30.0 * (1.0 - cos));
            let drawn = arc.at(seen(mouth), axis, t).unwrap();
            let off_mm = drawn.distance(seen(place)) * pose.mm_per_px;
            assert!(off_mm < 0.6, "{turn_deg} {lean_deg} {t}: {off_mm} mm");
        }
    }
}
