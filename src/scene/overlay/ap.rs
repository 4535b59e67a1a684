//! What an AP view shows beside its body: midlines, the target band about the one that is used, pedicles and the
//! spinous process. All of it is in body coordinates, so it curves and leans with the body.

use crate::case::readings::ShotReading;
use crate::geom::point::Point;
use crate::measure::ap::midlines;
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, PatientRight, Side};
use crate::measure::reading::MidlineBy;
use crate::measure::settings::{Band, Rule};
use crate::scene::drawing::shape::{Role, Scene};
use crate::scene::format;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{Layer, Overlay, edge, label, midline_band, shown_band};

/// How far from its middle a pedicle's border is drawn, in radians of its outline: only the borders were marked,
/// not what lies above and below.
const ARC: f64 = 1.05;
/// How far above and below its marks a border of the spinous process is drawn, as a fraction of the height.
const SPINOUS_REACH: f64 = 0.25;
/// Narrowest body, in points of the screen, that has room for the names of its two sides.
const ROOM_FOR_SIDES: f64 = 150.0;

impl Overlay<'_> {
    /// Which side of the picture is the patient's right, where an AP reading knows it and the entry side.
    pub(super) fn sides(&self) -> Option<PatientRight> {
        match self.reading {
            Some(ShotReading::Ap(reading)) => reading.patient_right,
            Some(ShotReading::Lateral(_) | ShotReading::Pedicle(_)) | None => None,
        }
    }

    /// The target about the midline that the verdict uses, the spinous process, and every midline.
    pub(super) fn across(&self, scene: &mut Scene, map: &BodyMap) {
        let lines = midlines(map, self.marks);
        let (used, middle) = lines.used();
        // Short of and past the midline have a side of the picture only once the entry side has.
        let band = shown_band(self.settings, self.stage, Rule::Midline)
            .filter(|band| self.sides().is_some() || (band.low + band.high).abs() < 1e-12);
        if let Some(band) = band
            && self.layers.has(Layer::MidlineBand)
        {
            midline_band(scene, map, Band::new(middle + band.low, middle + band.high));
            if self.layers.has(Layer::Labels) {
                let (at, away) = edge(map, BodyPoint::new(middle, 0.0), Border::Superior);
                scene.text(label(at, away * 16.0, format::offset_band(band), Role::MidlineBand));
            }
        }
        if self.layers.has(Layer::SpinousProcess)
            && let Some([a, b]) = self.two(map, MarkKind::SpinousProcess)
        {
            // Over it or not is a matter of across alone, so its band runs the whole height; its borders are drawn
            // where they were marked.
            let sides = [a.along, b.along].map(|along| body_lines::upright(map, along));
            let [left, right] = sides;
            scene.strip(left, right, Role::SpinousProcess);
            for border in [a, b] {
                let line = (0..=8).map(|i| {
                    let height = border.height + SPINOUS_REACH * (f64::from(i) / 4.0 - 1.0);
                    map.to_image(BodyPoint::new(border.along, height))
                });
                scene.line(line.collect(), Role::SpinousProcess);
            }
        }
        if self.layers.has(Layer::Midlines) {
            let all = [
                (MidlineBy::Body, Some(lines.body)),
                (MidlineBy::SpinousProcess, lines.spinous_process),
                (MidlineBy::Pedicles, lines.pedicles),
            ];
            for (by, along) in all.into_iter().filter_map(|(by, along)| Some((by, along?))) {
                let role = if by == used { Role::Midline } else { Role::OtherMidline };
                scene.line(body_lines::upright(map, along), role);
            }
        }
    }

    /// The borders of the pedicles, and the names of the sides.
    pub(super) fn structures(&self, scene: &mut Scene, map: &BodyMap) {
        if self.layers.has(Layer::Pedicles) {
            for kind in [MarkKind::RightPedicle, MarkKind::LeftPedicle] {
                let Some([lateral, medial]) = self.two(map, kind) else { continue };
                let height = 0.5 * (lateral.height + medial.height);
                for turned in [0.0, std::f64::consts::PI] {
                    let arc = (0..=16).map(|i| {
                        let angle = turned + ARC * (f64::from(i) / 8.0 - 1.0);
                        body_lines::pedicle_at(map, (lateral.along, medial.along), height, angle)
                    });
                    scene.line(arc.collect(), Role::Pedicle);
                }
            }
        }
        if self.layers.has(Layer::Labels)
            && let Some(right) = self.sides()
            && map.depth_px() * self.zoom >= ROOM_FOR_SIDES
        {
            self.side_names(scene, map, right);
        }
    }

    fn side_names(&self, scene: &mut Scene, map: &BodyMap, right: PatientRight) {
        // A little inward, beside the ruler's number at the corner.
        let ends = [0.1, 0.9].map(|along| edge(map, BodyPoint::new(along, 0.0), Border::Superior));
        let start_is_left = ends[0].0.x < ends[1].0.x;
        let entry =
            if (right == PatientRight::ImageLeft) == start_is_left { Side::Right } else { Side::Left };
        for ((at, away), words) in ends
            .into_iter()
            .zip([format!("{}, entry", format::side(entry)), format::side(entry.other()).to_owned()])
        {
            scene.text(label(at, away * 16.0, words, Role::Text));
        }
    }

    /// The two points of a mark in the body.
    fn two(&self, map: &BodyMap, kind: MarkKind) -> Option<[BodyPoint; 2]> {
        let points: [Point; 2] = self.marks.complete(kind)?.try_into().ok()?;
        Some([map.to_body(points[0])?, map.to_body(points[1])?])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::ap::ap_body_map;
    use crate::measure::mark::{Marks, Stage, View};
    use crate::scene::drawing::shape::{Rect, Shape};
    use crate::scene::overlay::LayerSet;

    /// A body 100 wide and 60 high; medial borders at 0.28 and 0.70, so the midline by the pedicles is at 0.49; the
    /// spinous process from 0.44 to 0.60, its middle at 0.52.
    fn shot() -> Shot {
        let mut shot = Shot::new("a", "a.png", View::Ap);
        shot.side = Some(Side::Right);
        shot.stage = Some(Stage::Final);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (200.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 160.0), (200.0, 160.0)])
            .with(MarkKind::RightPedicle, &[(112.0, 118.0), (128.0, 118.0)])
            .with(MarkKind::LeftPedicle, &[(188.0, 118.0), (170.0, 118.0)])
            .with(MarkKind::SpinousProcess, &[(144.0, 140.0), (160.0, 140.0)])
            .with(MarkKind::Tip, &[(145.0, 130.0)]);
        shot
    }

    fn drawn(shot: &Shot, layers: LayerSet, zoom: f64) -> Scene {
        let case = Case { shots: vec![shot.clone()].into(), ..Case::default() };
        let reading = read_shot(&case, 0, |_| Picture::NotLookedAt);
        let map = ap_body_map(&shot.marks, shot.side, None).ok();
        let overlay = Overlay {
            view: View::Ap,
            marks: &shot.marks,
            map: map.as_ref(),
            reading: Some(&reading),
            stage: shot.stage,
            settings: &case.settings,
            layers,
            zoom,
        };
        overlay.scene(Rect::new(0.0, 0.0, 300.0, 300.0))
    }

    fn lines(scene: &Scene, wanted: Role) -> Vec<f64> {
        let mut found: Vec<_> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Line { points, role, .. } if *role == wanted => Some(points[0].x),
                _ => None,
            })
            .collect();
        found.sort_by(f64::total_cmp);
        found
    }

    fn near(found: &[f64], expected: &[f64]) -> bool {
        found.len() == expected.len() && found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-6)
    }

    /// By hand, on a body from x = 100 to 200: the band 0.49 ± 0.10 runs from 139 to 159.
    #[test]
    fn the_band_lies_about_the_pedicles_midline() {
        let scene = drawn(&shot(), LayerSet::all(), 2.0);
        assert!(near(&lines(&scene, Role::MidlineBand), &[139.0, 159.0]));
        assert!(near(&lines(&scene, Role::Midline), &[149.0]));
        assert!(near(&lines(&scene, Role::OtherMidline), &[150.0, 152.0]));
        assert!(near(&lines(&scene, Role::SpinousProcess), &[144.0, 160.0]));
    }

    #[test]
    fn without_both_pedicles_the_next_midline_is_the_strong_one() {
        let mut shot = shot();
        shot.marks.set(MarkKind::LeftPedicle, Vec::new());
        let scene = drawn(&shot, LayerSet::all(), 2.0);
        assert!(near(&lines(&scene, Role::Midline), &[152.0]));
        shot.marks.set(MarkKind::SpinousProcess, Vec::new());
        let scene = drawn(&shot, LayerSet::all(), 2.0);
        assert!(
            near(&lines(&scene, Role::Midline), &[150.0]) && lines(&scene, Role::OtherMidline).is_empty()
        );
    }

    #[test]
    fn sides_are_named_only_where_they_are_known() {
        let names = |shot: &Shot| {
            let scene = drawn(shot, LayerSet::all(), 2.0);
            let word = |shape: &Shape| match shape {
                Shape::Text(text) if text.role == Role::Text => Some((text.at.x, text.words.clone())),
                _ => None,
            };
            scene.shapes.iter().filter_map(word).collect::<Vec<_>>()
        };
        let mut shot = shot();
        assert_eq!(names(&shot), [(110.0, "right, entry".to_owned()), (190.0, "left".to_owned())]);
        shot.side = Some(Side::Left);
        assert_eq!(names(&shot), [(190.0, "left, entry".to_owned()), (110.0, "right".to_owned())]);
        shot.side = None;
        assert!(names(&shot).is_empty());
    }

    #[test]
    fn a_lopsided_band_waits_for_the_entry_side() {
        let mut shot = shot();
        let settings = |case: &mut Case| {
            let bands = case.settings.targets.stages.get_mut(&Stage::Final).unwrap();
            bands.insert(Rule::Midline, Band::new(-0.2, 0.1));
        };
        let band = |shot: &Shot| {
            let mut case = Case { shots: vec![shot.clone()].into(), ..Case::default() };
            settings(&mut case);
            let reading = read_shot(&case, 0, |_| Picture::NotLookedAt);
            let map = ap_body_map(&shot.marks, shot.side, None).unwrap();
            let overlay = Overlay {
                view: View::Ap,
                marks: &shot.marks,
                map: Some(&map),
                reading: Some(&reading),
                stage: shot.stage,
                settings: &case.settings,
                layers: LayerSet::all(),
                zoom: 1.0,
            };
            lines(&overlay.scene(Rect::new(0.0, 0.0, 300.0, 300.0)), Role::MidlineBand)
        };
        // From the right, which is on the left of this picture: 0.2 before and 0.1 past 149.
        assert!(near(&band(&shot), &[129.0, 159.0]));
        shot.side = Some(Side::Left);
        assert!(near(&band(&shot), &[139.0, 169.0]));
        shot.side = None;
        assert!(band(&shot).is_empty());
    }
}
