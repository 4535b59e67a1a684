//! The run of a body as a page: the way in three drawings, the lines over the shots, and the words.

use crate::case::document::Case;
use crate::measure::mark::{PatientRight, Stage};
use crate::scene::body_map::lie::Lie;
use crate::scene::body_map::{BodyDrawing, Described, Sides};
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::page::Page;
use crate::scene::page::sheet::Sheet;
use crate::scene::tip_path::TipRun;
use crate::scene::tip_path::chart::chart;
use crate::scene::words::caution;
use crate::scene::words::tip_path;

const WIDTH: f64 = 784.0;
const MARGIN: f64 = space::S6;
const DRAWING: f64 = 208.0;
const CHART: f64 = 190.0;

/// How the stills of the way lie.
#[must_use]
pub fn lie(case: &Case, way: &TipRun) -> Lie {
    let places = way.moments.iter().flat_map(|moment| [moment.lateral, moment.ap]).flatten();
    Lie::of(places.filter_map(|at| case.shots.get(at)), case.patient_right)
}

/// The drawing of a typical body with the way and the final target, as the stills lie.
#[must_use]
pub fn drawing<'a>(case: &'a Case, way: &TipRun) -> BodyDrawing<'a> {
    let mut drawing = BodyDrawing::new(&case.settings, Some(Stage::Final));
    let lie = lie(case, way);
    drawing.posterior = lie.posterior.unwrap_or_default();
    let right = lie.patient_right.unwrap_or(PatientRight::ImageLeft);
    drawing.sides = Sides { patient_right: Some(right), entry: Some(way.side) };
    drawing.way = way.moments.iter().map(|moment| moment.stop).collect();
    drawing
}

/// The three drawings of the way in this size each: from the side, from the front, from above.
#[must_use]
pub fn drawings(case: &Case, way: &TipRun, size: (f64, f64)) -> [Described; 3] {
    let drawing = drawing(case, way);
    [drawing.side(size), drawing.front(size), drawing.above(size)]
}

/// The page.
#[must_use]
pub fn page(case: &Case, way: &TipRun) -> Page {
    let mut page = Sheet::new(MARGIN, MARGIN, WIDTH, 2.0);
    let title = case.title.as_deref().map(str::trim).filter(|title| !title.is_empty());
    let heading = title.map_or_else(|| way.name(), |title| format!("{title}, {}", way.name()));
    page.paragraph(&heading, Role::Text, TextSize::Large);
    on_sheet(&mut page, case, way);
    page.rule();
    page.paragraph(caution::SHORT, Role::WeakText, TextSize::Small);
    let size = (page.inner + 2.0 * MARGIN, page.y + MARGIN - space::S1);
    page.finish(size, 1.0)
}

/// The drawings, the lines over the shots and the words, over the whole width of a sheet.
pub(crate) fn on_sheet(page: &mut Sheet, case: &Case, way: &TipRun) {
    page.paragraph(tip_path::HEADING, Role::WeakText, TextSize::Small);
    page.y += space::S3;
    let size = ((page.inner - 2.0 * space::S3) / 3.0, DRAWING);
    let mut x = page.left;
    for drawn in drawings(case, way, size) {
        page.drawing(x, drawn.scene);
        x += size.0 + space::S3;
    }
    page.y += DRAWING + space::S3;
    for sentence in lie(case, way).sentences() {
        page.paragraph(&sentence, Role::WeakText, TextSize::Small);
    }
    let (scene, _) = chart(way, &case.settings, (page.inner, CHART));
    page.drawing(page.left, scene);
    page.y += CHART + space::S3;
    for line in way.moment_lines(case) {
        page.paragraph(&line, Role::Text, TextSize::Small);
    }
    page.y += space::S2;
    for line in way.step_lines().iter().chain(&way.line_ahead()) {
        page.paragraph(line, Role::Text, TextSize::Small);
    }
    if let Some(why) = way.without_steps() {
        page.paragraph(why, Role::WeakText, TextSize::Small);
    }
    page.y += space::S2;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Shot;
    use crate::case::readings::{Picture, read_case};
    use crate::measure::mark::{Level, MarkKind, Side, View};
    use crate::scene::drawing::shape::Shape;
    use crate::scene::tip_path::bodies;

    /// Two laterals without partners and one of another side.
    fn case() -> Case {
        let mut case = Case::default();
        for (id, side, depth) in [("a", Side::Right, 0.1), ("x", Side::Left, 0.9), ("b", Side::Right, 0.4)] {
            let mut shot = Shot::new(id, "a.png", View::Lateral);
            (shot.level, shot.side) = (Some(Level::L4), Some(side));
            shot.marks = shot
                .marks
                .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (240.0, 100.0)])
                .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (240.0, 190.0)])
                .with(MarkKind::Tip, &[(100.0 + 140.0 * depth, 145.0)]);
            case.shots.push(shot);
        }
        case
    }

    #[test]
    fn shots_of_the_body_alone_are_its_way() {
        let case = case();
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        assert_eq!(bodies(&case), [(Level::L4, Side::Right), (Level::L4, Side::Left)]);
        let way = TipRun::of(&case, &readings, (Level::L4, Side::Right));
        let lines = way.moment_lines(&case);
        assert!(
            lines[0].starts_with("1: stage not set: depth 10 %") && lines[0].ends_with("(a)"),
            "{lines:?}"
        );
        assert!(lines[1].starts_with("2: ") && lines.len() == 2);
        assert!(way.step_lines().is_empty() && way.without_steps().is_some());
        let [side, front, _] = drawings(&case, &way, (240.0, 200.0));
        assert!(side.words.contains("Tip path: 1 at 10 % and 50 %, 2 at 40 % and 50 %."));
        assert!(!front.words.contains("The way"));
    }

    /// By hand: 0 to 100 % over 150 points below a heading of 20; 10 % lies at 155, 40 % at 110.
    #[test]
    fn the_lines_stand_where_the_values_are() {
        let case = case();
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        let way = TipRun::of(&case, &readings, (Level::L4, Side::Right));
        let (scene, words) = chart(&way, &case.settings, (600.0, 190.0));
        let dots: Vec<f64> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Marker { at, role: Role::Tip, .. } => Some(at.y),
                _ => None,
            })
            .collect();
        assert!((dots[0] - 155.0).abs() < 1e-6 && (dots[1] - 110.0).abs() < 1e-6, "{dots:?}");
        assert!(words.contains("Depth by shot: 1: 10 %, 2: 40 %."), "{words}");
        assert!(words.contains("Mediolateral by shot: not known."));
    }
}
