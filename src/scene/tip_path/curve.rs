//! The curve ahead, for teaching: drawn on a lateral shot, with where it ends, and what the next shot shows.

use crate::align::registration::Registration;
use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::geom::circle::Circle;
use crate::geom::point::{Point, Vec2};
use crate::measure::ahead::Ahead;
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::measure::settings::Rule;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text};
use crate::scene::format;

/// What is always said beside a curve.
pub const SHAPE_ONLY: &str =
    "It shows a shape, for teaching; it does not predict where an instrument will go.";

/// The next lateral shot of the same body, by its place in the case.
#[must_use]
pub fn next_lateral(case: &Case, shot: usize) -> Option<usize> {
    let own = case.shots.get(shot)?;
    let like = |other: &Shot| {
        other.shows(View::Lateral) && (other.level, other.side) == (own.level, own.side) && !other.draft
    };
    (shot + 1..case.shots.len()).find(|&i| like(&case.shots[i]))
}

/// The next shot's tip laid on this shot's picture.
#[must_use]
pub fn next_tip(case: &Case, shot: &Shot, next: &Shot) -> Option<Point> {
    let tip = next.marks.point(MarkRef { kind: MarkKind::Tip, index: 0 })?;
    Some(Registration::of_shots(case, [next, shot]).ok()?.there(tip))
}

/// The drawn course, the clicks along a visible curve with their circle, and the next shot's tip.
#[must_use]
pub fn scene(
    course: Option<&Ahead>,
    (clicks, circle): (&[Point], Option<Circle>),
    next: Option<Point>,
    bounds: Rect,
) -> Scene {
    let mut scene = Scene::new(Space::Image, bounds);
    if let Some(circle) = circle {
        let at = |i: u32| {
            let (sin, cos) = (f64::from(i) / 96.0 * std::f64::consts::TAU).sin_cos();
            circle.centre + Vec2::new(cos, sin) * circle.radius
        };
        scene.outline((0..96).map(at).collect(), Role::Preview);
    }
    for click in clicks {
        scene.marker(*click, Glyph::Plus, Role::Accent);
    }
    if let Some(course) = course {
        scene.line(course.course.clone(), Role::Accent);
        if let Some(end) = course.course.last() {
            scene.marker(*end, Glyph::Ring, Role::Accent);
            let text = Text::new(*end, "as drawn", Role::Accent).aligned(AlignX::Middle, AlignY::Middle);
            scene.text(text.shifted(0.0, 18.0).on_plate());
        }
    }
    if let Some(tip) = next {
        scene.marker(tip, Glyph::Disc, Role::Tip);
        let text = Text::new(tip, "next shot", Role::Tip).aligned(AlignX::Middle, AlignY::Middle);
        scene.text(text.shifted(0.0, -18.0).on_plate());
    }
    scene
}

/// Where the course ends, what the next shot shows, and what is assumed; a sentence each.
#[must_use]
pub fn lines(course: &Ahead, next: Option<(&str, &ShotReading)>) -> Vec<String> {
    let mut lines = vec![match course.end {
        Some(end) => format!(
            "as drawn it ends at a depth of {}, a height of {}",
            format::percent(end.along),
            format::percent(end.height)
        ),
        None => "as drawn it ends too far from the body to be located".to_owned(),
    }];
    if let (Some(end), Some((id, ShotReading::Lateral(reading)))) = (course.end, next)
        && let Some(tip) = &reading.tip
    {
        let (depth, height) = (tip.along.value - end.along, tip.height.value - end.height);
        lines.push(format!(
            "the next shot, {id}, shows the tip at a depth of {}, a height of {}: {} {} and {} {} to where the drawing ends",
            format::coordinate(Rule::Depth, &tip.along),
            format::coordinate(Rule::Height, &tip.height),
            format::percent(depth.abs()),
            if depth < 0.0 { "posterior" } else { "anterior" },
            format::percent(height.abs()),
            if height < 0.0 { "superior" } else { "inferior" },
        ));
    }
    if course.scale_assumed {
        let scale = format::scale(course.mm_per_px);
        lines.push(format!("note: not calibrated; {scale} is assumed from a body of typical size."));
    }
    lines.push(SHAPE_ONLY.to_owned());
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::ahead::{Stylet, ahead};
    use crate::measure::mark::Level;

    /// By hand: a radius of 30 mm at 0.3 mm a pixel is 100 px; 60° from (300, 130) end 86.6 px ahead and 50 px aside: 62 %
    /// of a depth of 140 px and (30 + 50) / 90 = 89 % of the height. The next tip lies at 40 % and 50 %.
    #[test]
    fn the_end_is_set_against_the_next_shot() {
        let mut case = Case::default();
        for (id, tip) in [("a", None), ("b", Some((356.0, 145.0)))] {
            let mut shot = Shot::new(id, "a.png", View::Lateral);
            shot.level = Some(Level::L4);
            shot.mm_per_px = Some(0.3);
            shot.marks = shot
                .marks
                .with(MarkKind::SuperiorEndPlate, &[(300.0, 100.0), (440.0, 100.0)])
                .with(MarkKind::InferiorEndPlate, &[(300.0, 190.0), (440.0, 190.0)])
                .with(MarkKind::Cannula, &[(200.0, 130.0), (300.0, 130.0)]);
            if let Some(tip) = tip {
                shot.marks = shot.marks.with(MarkKind::Tip, &[tip]);
            }
            case.shots.push(shot);
        }
        let stylet = Stylet { radius_mm: 30.0, bend_deg: 60.0, turn_deg: 0.0, lean_deg: 0.0 };
        let course = ahead(&case.shots[0].marks, Some(0.3), &stylet).unwrap();
        assert_eq!(next_lateral(&case, 0), Some(1));
        let reading = read_shot(&case, 1, |_| Picture::NotLookedAt);
        let said = lines(&course, Some(("b", &reading)));
        assert_eq!(said[0], "as drawn it ends at a depth of 62 %, a height of 89 %");
        assert!(said[1].contains("22 % posterior and 39 % superior to where"), "{said:?}");
        assert_eq!(said[2], SHAPE_ONLY);
        let tip = next_tip(&case, &case.shots[0], &case.shots[1]).unwrap();
        assert!(tip.distance(Point::new(356.0, 145.0)) < 1e-6);
        let drawn = scene(Some(&course), (&[], None), Some(tip), Rect::new(0.0, 0.0, 512.0, 512.0));
        assert_eq!(drawn.shapes.len(), 5);
    }
}
