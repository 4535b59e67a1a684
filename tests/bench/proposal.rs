//! How long a proposal takes on a still of 1024²: from two clicks, from a marked shot, and fitted again while a mark is
//! dragged. See README.md here.
#![expect(clippy::unwrap_used, reason = "a still that is not proposed ends the benchmark")]

use std::hint::black_box;

use criterion::Criterion;
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::Vec2;
use stillmark::measure::body::BodyPoint;
use stillmark::measure::lateral::lateral_body_map;
use stillmark::measure::mark::{MarkKind, MarkRef, Stage, View};
use stillmark::phantom::look::Look;
use stillmark::phantom::series::{WantedShots, drawn};
use stillmark::propose::further::{Marked, Unmarked, further};
use stillmark::propose::lateral::{Clicks, propose};

const SIDE: u32 = 1024;

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
}
