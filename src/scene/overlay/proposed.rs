//! Borders that the program proposes: in a line style of their own, each with the band that holds it with 95 % probability,
//! thin where the image says little.

use crate::case::document::Shot;
use crate::case::document::proposed::ProposedMarks;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, Border};
use crate::measure::border_line::scale_of;
use crate::measure::mark::{MarkKind, View};
use crate::scene::drawing::shape::{Role, Scene, Shape};
use crate::scene::overlay::{body_lines, preview};

/// Half the width of a 95 % interval in standard deviations.
const HALF_WIDTH: f64 = 1.96;

/// The drawing of a shot as it is, or of its draft: dashed, and what is proposed in a style of its own.
#[must_use]
pub fn of_draft(scene: Scene, shot: &Shot, map: Option<&BodyMap>) -> Scene {
    if !shot.draft {
        return scene;
    }
    let scene = preview::of_draft(scene);
    let scale = scale_of(shot.view, &shot.marks, shot.mm_per_px);
    let (Some(map), Some(mm_per_px)) = (map, scale) else { return scene };
    ProposedBorders { view: shot.view, map, proposed: &shot.proposed, faint: &[], mm_per_px }.over(scene)
}

/// Proposed marks of a body.
#[derive(Clone, Copy, Debug)]
pub struct ProposedBorders<'a> {
    /// Where it looks from.
    pub view: View,
    /// The body they make.
    pub map: &'a BodyMap,
    /// Which points are as proposed, and how sure.
    pub proposed: &'a ProposedMarks,
    /// Borders of which the image says little.
    pub faint: &'a [MarkKind],
    /// Millimeters to a pixel of the image.
    pub mm_per_px: f64,
}

/// The mark of a border.
const fn kind_of(view: View, border: Border) -> Option<MarkKind> {
    match (view, border) {
        (View::Lateral | View::Ap, Border::Superior) => Some(MarkKind::SuperiorEndPlate),
        (View::Lateral | View::Ap, Border::Inferior) => Some(MarkKind::InferiorEndPlate),
        (View::Lateral, Border::Start) => Some(MarkKind::PosteriorWall),
        (View::Lateral, Border::End) => Some(MarkKind::AnteriorWall),
        (View::Ap, Border::Start | Border::End) | (View::Pedicle, _) => None,
    }
}

impl ProposedBorders<'_> {
    /// The scene with the borders drawn as proposed, below everything else that is drawn.
    #[must_use]
    pub fn over(&self, mut scene: Scene) -> Scene {
        let proposed: Vec<(Border, MarkKind)> = Border::ALL
            .into_iter()
            .filter_map(|border| Some((border, kind_of(self.view, border)?)))
            .filter(|(_, kind)| self.proposed.sd(*kind).is_some())
            .collect();
        if proposed.is_empty() {
            return scene;
        }
        let mut own = Scene::new(scene.space, scene.bounds);
        for (border, kind) in &proposed {
            self.border(&mut own, *border, *kind);
        }
        // The borders' usual lines give way to these; a border that is a person's keeps its own.
        let lines: Vec<Vec<Point>> =
            proposed.iter().map(|(border, _)| body_lines::border(self.map, *border)).collect();
        scene.shapes.retain(|shape| !is_one_of(shape, &lines));
        own.shapes.append(&mut scene.shapes);
        own
    }

    fn border(&self, scene: &mut Scene, border: Border, kind: MarkKind) {
        let line = body_lines::border(self.map, border);
        if let Some(sd) = self.proposed.sd(kind) {
            let half = HALF_WIDTH * sd.across / self.mm_per_px;
            let out = normals(&line);
            let side = |by: f64| line.iter().zip(&out).map(|(p, n)| *p + *n * by).collect();
            scene.strip(side(-half), side(half), Role::ProposedBand);
        }
        let faint = self.faint.contains(&kind);
        scene.line(line, if faint { Role::ProposedFaint } else { Role::Proposed });
    }
}

/// The direction of length one across a line at each of its points.
fn normals(line: &[Point]) -> Vec<Vec2> {
    let last = line.len().saturating_sub(1);
    (0..line.len())
        .map(|i| {
            let along = line[(i + 1).min(last)] - line[i.saturating_sub(1)];
            along.normalized().unwrap_or(Vec2::new(1.0, 0.0)).perpendicular()
        })
        .collect()
}

/// Whether a shape is one of these lines as a border.
fn is_one_of(shape: &Shape, lines: &[Vec<Point>]) -> bool {
    match shape {
        Shape::Line { points, role: Role::Border | Role::Draft | Role::MeanBorder, .. } => {
            lines.contains(points)
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::case::document::proposed::MarkSd;
    use crate::measure::lateral::lateral_body_map;
    use crate::measure::mark::{MarkRef, Marks, Stage};
    use crate::measure::settings::Settings;
    use crate::scene::drawing::shape::Rect;
    use crate::scene::overlay::{LayerSet, Overlay};

    fn marks() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (200.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 180.0), (200.0, 180.0)])
    }

    fn drawn(proposed: &ProposedMarks, faint: &[MarkKind]) -> Vec<Shape> {
        let (marks, settings) = (marks(), Settings::default());
        let map = lateral_body_map(&marks).unwrap();
        let scene = Overlay {
            view: View::Lateral,
            marks: &marks,
            map: Some(&map),
            reading: None,
            stage: Some(Stage::Final),
            settings: &settings,
            layers: LayerSet::all(),
            zoom: 1.0,
        }
        .scene(Rect::new(0.0, 0.0, 300.0, 300.0));
        ProposedBorders { view: View::Lateral, map: &map, proposed, faint, mm_per_px: 0.5 }.over(scene).shapes
    }

    fn count(shapes: &[Shape], wanted: Role) -> usize {
        let is = |shape: &&Shape| matches!(shape, Shape::Line { role, .. } | Shape::Strip { role, .. } if *role == wanted);
        shapes.iter().filter(is).count()
    }

    /// By hand: SD 0.5 mm at 0.5 mm a pixel is 1 pixel, so the band reaches 1.96 pixels to both sides of y = 100.
    #[test]
    fn a_border_is_drawn_with_its_band() {
        let sd = MarkSd { across: 0.5, common: 0.3, along: None };
        let plates = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate];
        let proposed = ProposedMarks::all(&marks(), plates.map(|kind| (kind, sd)).into());
        let shapes = drawn(&proposed, &[MarkKind::InferiorEndPlate]);
        let found = [Role::Proposed, Role::ProposedFaint, Role::ProposedBand, Role::Border]
            .map(|role| count(&shapes, role));
        assert_eq!(found, [1, 1, 2, 2], "the walls are a person's");
        let Some(Shape::Strip { a, b, .. }) = shapes.first() else { panic!("the band lies below") };
        assert!(((a[3].y - b[3].y).abs() - 3.92).abs() < 1e-9 && (a[3].y + b[3].y - 200.0).abs() < 1e-9);
    }

    #[test]
    fn what_a_person_has_moved_is_no_proposal() {
        let mut proposed = ProposedMarks::all(&marks(), BTreeMap::new());
        proposed.moved(MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 });
        assert_eq!(count(&drawn(&proposed, &[]), Role::ProposedBand), 0);
    }
}
