//! A border that cannot be seen is named, and a click on it is enough.

use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::mark::{MarkKind, Marks, Stage};
use stillmark::phantom::draw::Draw;
use stillmark::propose::Edge;
use stillmark::propose::lateral::{Clicks, propose, propose_helped};
use stillmark::propose::trust::Code;

use super::stills::{Turned, frame_of, still};

/// How far on both sides of its line a border is taken out, in millimetres.
const TAKEN_OUT_MM: f64 = 4.0;

/// Samples of a picture with what lies within some pixels of a line replaced by a straight way from one side to the other.
pub(crate) fn without_border(samples: &[u16], width: u32, line: &[Point], half: f64) -> Vec<u16> {
    let height = u32::try_from(samples.len()).unwrap_or(0) / width.max(1);
    let value = |p: Point| {
        let inside = |v: f64, side: u32| v.clamp(0.0, f64::from(side) - 1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the picture")]
        let (x, y) = (inside(p.x, width) as usize, inside(p.y, height) as usize);
        f64::from(samples[y * width as usize + x])
    };
    // A side's value is the mean of some pixels beside it, so that no streaks are drawn.
    let mean = |p: Point, along: Vec2| (-6..=6).map(|i| value(p + along * f64::from(i))).sum::<f64>() / 13.0;
    let mut out = samples.to_vec();
    for (i, v) in (0_u32..).zip(out.iter_mut()) {
        let p = Point::new(f64::from(i % width) + 0.5, f64::from(i / width) + 0.5);
        for pair in line.windows(2) {
            let Some(along) = (pair[1] - pair[0]).normalized() else { continue };
            let (on, off) = ((p - pair[0]).dot(along), along.cross(p - pair[0]));
            if (0.0..=(pair[1] - pair[0]).length()).contains(&on) && off.abs() < half {
                let foot = pair[0] + along * on;
                let side = along.perpendicular() * half;
                let share = 0.5 * (1.0 + off / half);
                let (there, here) = (mean(foot + side, along), mean(foot - side, along));
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "between samples"
                )]
                let blended = (here + share * (there - here)) as u16;
                *v = blended;
            }
        }
    }
    out
}

/// The line of the superior end plate, a little beyond its corners.
pub(crate) fn superior(marks: &Marks) -> Vec<Point> {
    let mut line = marks.complete(MarkKind::SuperiorEndPlate).unwrap_or_default();
    let last = line.len() - 1;
    let beyond = 0.06 * line[0].distance(line[last]);
    let (first, end) = ((line[0] - line[1]).normalized(), (line[last] - line[last - 1]).normalized());
    line[0] += first.unwrap_or_default() * beyond;
    line[last] += end.unwrap_or_default() * beyond;
    line
}

#[test]
fn a_border_that_cannot_be_seen_is_named_and_a_click_on_it_is_enough() {
    for seed in [51_u64 << 20, (51 << 20) + 1, (51 << 20) + 2] {
        let mut still = still(seed, Stage::Stylet, Turned::Within(1.0));
        let stillmark::case::image::frame::Samples::Gray16(samples) = &still.frame.samples else { continue };
        let taken =
            without_border(samples, still.frame.width, &superior(&still.middle), TAKEN_OUT_MM / still.mm());
        still.frame = frame_of(still.frame.width, taken);
        let clicks: Clicks = still.clicks((0.5, 1.0), &mut Draw::new(seed));
        let scale = Some(still.mm());
        let refused = propose(&still.frame, &[], clicks, scale).expect_err("a plate is not there");
        assert_eq!(refused.border, Some(Edge::Superior), "{seed}: {refused:?}");
        assert!(matches!(refused.code, Code::BorderNotFound | Code::Ambiguous), "{refused:?}");
        assert!(refused.text.ends_with(": click it."), "{refused:?}");
        let plate = still.middle.complete(MarkKind::SuperiorEndPlate).expect("the true plate");
        let helped = [(Edge::Superior, plate[2])];
        let found = propose_helped(&still.frame, &[], (clicks, &helped), scale).expect("it is told now");
        let off = still.off_nearer(&found.marks);
        let worst = |edge: Edge| off[edge.index()].iter().map(|v| v.abs()).fold(0.0, f64::max);
        assert!(Edge::ALL.into_iter().all(|edge| worst(edge) < 3.0), "{seed}: {off:?}");
        // What was not seen is drawn thin.
        assert!(found.responses[0] < 0.6 && found.responses[1] > 0.9, "{:?}", found.responses);
    }
}
