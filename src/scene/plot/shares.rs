//! Shares in the target with their intervals, a row for each group and a line for each way of counting undecided bodies.

use crate::geom::point::Point;
use crate::scene::body_map::Described;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::drawing::type_metrics::width;
use crate::scene::format;
use crate::scene::plot::audit::way;
use crate::scene::words::audit::{group, share};
use crate::stats::agreement::Estimate;
use crate::study::audit::{Audit, Share, Undecided};

/// Height of a group's row in points.
const ROW: f64 = 32.0;
/// Between the lines of one row.
const APART: f64 = 9.0;

/// The plot as wide as this, in points, and as high as it needs.
#[must_use]
pub fn drawn(audit: &Audit, wide: f64) -> Described {
    rows(&audit.shares, wide)
}

/// The same for some of the groups, for pages that do not hold all of them.
#[must_use]
pub fn rows(shares: &[Share], wide: f64) -> Described {
    let line = Theme::points(TextSize::Small) + space::S1;
    // What the numbers beside the groups are stands behind the key, or below it where the key needs the whole width.
    let below = key_width() + space::S2 + width(COUNTS, TextSize::Small) > wide;
    let top = (if below { 3.0 } else { 2.0 }) * line + space::S2;
    #[expect(clippy::cast_precision_loss, reason = "a few groups")]
    let high = top + ROW * shares.len() as f64 + line + space::S2;
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, wide, high));
    let names = shares.iter().map(|one| width(&name(one), TextSize::Small)).fold(60.0, f64::max);
    let numbers = shares.iter().map(|one| width(&share(&one.share[2]), TextSize::Small)).fold(60.0, f64::max);
    let room = Rect::new(
        2.0 * space::S2 + names,
        top,
        (wide - numbers - 2.0 * space::S3).max(names + 60.0),
        high - line - space::S2,
    );
    let title = "Proportion of bodies with the final tip in the target, with Wilson 95 % interval";
    scene.text(Text::new(Point::new(space::S2, 0.5 * line), title, Role::Text));
    key(&mut scene, Point::new(space::S2, 1.5 * line + 2.0), if below { line } else { 0.0 });
    axis(&mut scene, room, line);
    let mut y = room.min.y;
    let mut before = None;
    for one in shares {
        if before.is_some_and(|by| by != one.by) {
            let edge = [space::S2, wide - space::S2].map(|x| Point::new(x, y)).to_vec();
            scene.line(edge, Role::Grid);
        }
        before = Some(one.by);
        row(&mut scene, room, y + 0.5 * ROW, one);
        y += ROW;
    }
    let words = shares
        .iter()
        .map(|one| format!("{} {} by probability", name(one), share(&one.share[2])))
        .collect::<Vec<_>>();
    Described { scene, words: format!("Proportions in the target: {}.", words.join("; ")) }
}

fn name(one: &Share) -> String {
    format!("{}, {}", group(one.by, &one.group), one.n)
}

const fn glyph(undecided: Undecided) -> Glyph {
    match undecided {
        Undecided::AsIn => Glyph::Ring,
        Undecided::AsOut => Glyph::Cross,
        Undecided::ByProbability => Glyph::Disc,
    }
}

/// What stands beside the groups.
const COUNTS: &str = "group, number of bodies";

/// Width of the three entries of the key.
fn key_width() -> f64 {
    let of = |undecided| 34.0 + width(way(undecided).1, TextSize::Small) + space::S4;
    Undecided::ALL.into_iter().map(of).sum()
}

fn key(scene: &mut Scene, mut at: Point, below: f64) {
    let left = at.x;
    for undecided in Undecided::ALL {
        let (role, words) = way(undecided);
        scene.line(vec![at, Point::new(at.x + 26.0, at.y)], role);
        scene.marker(Point::new(at.x + 13.0, at.y), glyph(undecided), Role::Dot);
        scene.text(Text::new(Point::new(at.x + 34.0, at.y), words, Role::Text));
        at.x += 34.0 + width(words, TextSize::Small) + space::S4;
    }
    let counts = if below > 0.0 { Point::new(left, at.y + below) } else { at };
    scene.text(Text::new(counts, COUNTS, Role::WeakText));
}

fn axis(scene: &mut Scene, room: Rect, line: f64) {
    for step in 0..=5 {
        let share = 0.2 * f64::from(step);
        let x = room.min.x + share * room.width();
        scene.line(vec![Point::new(x, room.min.y), Point::new(x, room.max.y)], Role::Grid);
        let words = Text::new(Point::new(x, room.max.y + 0.5 * line), format::percent(share), Role::WeakText);
        scene.text(words.aligned(AlignX::Middle, AlignY::Middle));
    }
}

fn row(scene: &mut Scene, room: Rect, y: f64, one: &Share) {
    let left = Text::new(Point::new(room.min.x - space::S2, y), name(one), Role::Text);
    scene.text(left.aligned(AlignX::Right, AlignY::Middle));
    let by_probability = share(&one.share[2]);
    let right = Text::new(Point::new(scene.bounds.max.x - space::S2, y), by_probability, Role::Text);
    scene.text(right.aligned(AlignX::Right, AlignY::Middle));
    // As in above, as out below, by probability between the two.
    for (undecided, estimate) in Undecided::ALL.into_iter().zip(&one.share) {
        let dy = match undecided {
            Undecided::AsIn => -APART,
            Undecided::AsOut => APART,
            Undecided::ByProbability => 0.0,
        };
        interval(scene, room, y + dy, undecided, estimate);
    }
}

fn interval(scene: &mut Scene, room: Rect, y: f64, undecided: Undecided, estimate: &Estimate) {
    let x = |share: f64| room.min.x + share.clamp(0.0, 1.0) * room.width();
    let (role, _) = way(undecided);
    let ends = [x(estimate.low), x(estimate.high)];
    scene.line(ends.map(|x| Point::new(x, y)).to_vec(), role);
    for end in ends {
        scene.line(vec![Point::new(end, y - 3.0), Point::new(end, y + 3.0)], Role::Frame);
    }
    scene.marker(Point::new(x(estimate.value), y), glyph(undecided), Role::Dot);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::body_map::tests::{points, words};
    use crate::scene::drawing::shape::Shape;
    use crate::scene::words::series_table::tests::body;
    use crate::study::audit::{audit, rates};

    #[test]
    fn a_row_for_each_group_with_three_intervals() {
        let (first, mut second) = (body(), body());
        second.operator = "R2".to_owned();
        let audit = audit(&[&first, &second], &rates(0.1, 0.2).unwrap());
        let drawn = drawn(&audit, 640.0);
        assert!(points(&drawn.scene).iter().all(|p| drawn.scene.bounds.contains(*p)));
        let said = words(&drawn.scene);
        assert!(said.contains(&"operator R2, 1") && said.contains(&"all, 2"), "{said:?}");
        // Three in the key, three in each row.
        let signs = drawn.scene.shapes.iter().filter(|s| matches!(s, Shape::Marker { .. })).count();
        assert_eq!(signs, 3 + 3 * audit.shares.len());
        assert!(drawn.words.contains("all, 2 100 % (34 % to 100 %) by probability"), "{}", drawn.words);
    }
}
