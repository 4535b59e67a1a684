//! How long a proposal takes on a still of 1024²: from two clicks, from a marked shot, and fitted again while a mark is
//! dragged. With the folder of the prototype in `STILLMARK_BENCH_PROTOTYPE` the same is done by it in the same run, and the
//! ratios are printed. See README.md here.
#![expect(clippy::unwrap_used, reason = "a still that is not proposed ends the benchmark")]
#![expect(clippy::print_stdout, reason = "a benchmark says what it measured")]

use std::ffi::OsStr;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use criterion::Criterion;
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::lateral::lateral_body_map;
use stillmark::measure::mark::{MarkKind, MarkRef, Marks, Stage, View};
use stillmark::phantom::look::Look;
use stillmark::phantom::series::{WantedShots, drawn};
use stillmark::propose::further::{Further, Marked, Unmarked, further};
use stillmark::propose::lateral::{Clicks, propose};

const SIDE: u32 = 1024;
/// Runs beside the prototype, of which the least counts: the one that the machine disturbed least.
const RUNS: usize = 25;

/// A lateral still of the seed's body at a stage, with its marks.
fn still(seed: u64, stage: Stage) -> (stillmark::case::document::Shot, Frame) {
    let look = Look {
        side_px: SIDE,
        mm_per_px: Some(0.18),
        turn_deg: Some(0.5),
        tilt_deg: Some(-0.5),
        ..Look::default()
    };
    let wanted = WantedShots { view: Some(View::Lateral), stage: Some(stage), ..WantedShots::default() };
    let mut series = drawn(seed, wanted, &look);
    let (shot, simulated) = (series.case.shots.remove(0), series.shots.remove(0));
    let frame = Frame::of_samples(SIDE, SIDE, Samples::Gray16(simulated.picture().samples));
    (shot, frame)
}

/// The four corners of an outline: posterior and anterior of the superior plate, then of the inferior one.
fn corners(marks: &Marks) -> Vec<Point> {
    [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate]
        .iter()
        .flat_map(|kind| {
            let plate = marks.complete(*kind).unwrap();
            [plate[0], plate[plate.len() - 1]]
        })
        .collect()
}

/// Processor time of this process so far in seconds, where the system tells it (Linux); else the time that passed.
fn seconds(begun: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| begun.elapsed().as_secs_f64(), |ns| ns * 1e-9)
}

/// The least time of some runs in milliseconds, each of which is so many times the work: the system counts a process's time in
/// steps of some milliseconds.
fn least<T>(times: u32, work: impl Fn() -> T) -> f64 {
    let begun = Instant::now();
    let one = |_| {
        let start = seconds(begun);
        for _ in 0..times {
            black_box(work());
        }
        (seconds(begun) - start) * 1e3 / f64::from(times)
    };
    (0..RUNS).map(one).fold(f64::INFINITY, f64::min)
}

/// Writes the scene, has the prototype do the same, and prints both, the ratio, and how far its corners lie from ours.
fn beside_the_prototype(
    prototype: &OsStr,
    (frames, clicks, mm): ([&Frame; 2], Clicks, f64),
    ours: [(&str, f64, Vec<Point>); 3],
) {
    let folder = tempfile::tempdir().unwrap();
    for (frame, name) in frames.iter().zip(["first", "second"]) {
        let Samples::Gray16(samples) = &frame.samples else { return };
        let bytes: Vec<u8> = samples.iter().flat_map(|v| v.to_le_bytes()).collect();
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let place = |p: Point| [p.x, p.y];
    let scene = serde_json::json!({
        "side": SIDE, "mm_per_px": mm,
        "posterior": place(clicks.posterior), "anterior": place(clicks.anterior),
    });
    std::fs::write(folder.path().join("scene.json"), scene.to_string()).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/proposal.py");
    let run = Command::new("python3").arg(script).arg(prototype).arg(folder.path()).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let said: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    for (name, ms, places) in ours {
        let theirs = said["milliseconds"][name].as_f64().unwrap();
        let apart = (0..4).map(|i| {
            let at = |k: usize| said["corners"][name][i][k].as_f64().unwrap();
            Point::new(at(0), at(1)).distance(places[i]) * mm
        });
        println!(
            "{name}: {ms:.1} ms, the prototype {theirs:.1} ms, ratio {:.3}; corners at most {:.1} mm apart",
            ms / theirs,
            apart.fold(0.0, f64::max),
        );
    }
}

fn main() {
    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    let ((first, frame), (_, next)) = (still(11, Stage::Stylet), still(11, Stage::Final));
    let map = lateral_body_map(&first.marks).unwrap();
    let [posterior, anterior] = [0.0, 1.0].map(|along| map.to_image(BodyPoint::new(along, 0.5)));
    let clicks = Clicks { posterior, anterior };
    let proposed = propose(&frame, &[], clicks, first.mm_per_px).unwrap();
    criterion.bench_function("proposal: two clicks, 1024²", |b| {
        b.iter(|| propose(black_box(&frame), &[], clicks, first.mm_per_px));
    });
    let marked = || Marked {
        frame: &frame,
        covers: &[],
        marks: &first.marks,
        view: View::Lateral,
        mm_per_px: first.mm_per_px,
    };
    let unmarked = || Unmarked { frame: &next, covers: &[], mm_per_px: first.mm_per_px };
    assert!(further(marked(), unmarked()).is_ok(), "the further shot is proposed");
    criterion.bench_function("proposal: further shot, 1024²", |b| {
        b.iter(|| further(black_box(marked()), black_box(unmarked())));
    });
    let corner = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
    let at = proposed.marks.point(corner).unwrap() + Vec2::new(8.0, -6.0);
    criterion.bench_function("proposal: fitted again while a mark is dragged", |b| {
        b.iter(|| black_box(&proposed).refit(black_box(&[(corner.kind, corner.index, at)])));
    });
    criterion.final_summary();
    if let Some(prototype) = std::env::var_os("STILLMARK_BENCH_PROTOTYPE") {
        let mm = first.mm_per_px.unwrap();
        let Ok(Further::Outline(next_outline, _)) = further(marked(), unmarked()) else { return };
        let dragged = [(corner.kind, corner.index, at)];
        let ours = [
            (
                "proposal",
                least(1, || propose(&frame, &[], clicks, first.mm_per_px)),
                corners(&proposed.marks),
            ),
            ("further", least(1, || further(marked(), unmarked())), corners(&next_outline.marks)),
            (
                "again",
                least(40, || black_box(&proposed).refit(black_box(&dragged))),
                corners(&proposed.refit(&[]).marks),
            ),
        ];
        beside_the_prototype(&prototype, ([&frame, &next], clicks, mm), ours);
    }
}
