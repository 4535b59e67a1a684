//! All tips of a series in a typical body, from the side, from the front and from above, with the target, where they
//! crowd, and their mean.
//!
//! Offsets are drawn from the body's middle, toward the side that each body was entered from on the left, so that bodies
//! entered from either side lie on each other.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::mark::{PatientRight, Side, Stage};
use crate::measure::settings::{Rule, Settings};

use crate::scene::body_map::parts::{names_y, two_names, within};
use crate::scene::body_map::{BodyDrawing, Coordinate, Described, Position, Sides};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Role, Scene, Text};
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::plot::thinned;
use crate::scene::words::audit::error_way;
use crate::scene::words::series_table::standing_sign;
use crate::stats::density::density;
use crate::study::audit::{Audit, TipError, common_band};
use crate::study::selection::BodyStanding;
use crate::study::series::Treated;

/// The shares of tips that the two lines of the density enclose, and how each is drawn.
const SHARES: [(f64, Role); 2] = [(0.5, Role::SecondCurve), (0.9, Role::ThirdCurve)];

/// What the drawings' signs mean.
pub const KEY: &str = "Each symbol is one body: a disc is inside the target, a cross outside, a half disc too close to call, a bar has no outcome. The square is the mean tip with its 95 % interval. By a smoothed density, half of the tips lie within the dashed line and nine of ten within the dotted line. Shaded areas are the target. In all drawings of a series posterior is on the left and superior at the top of the lateral one, and the entry side is on the left of the AP and axial ones, whichever way the stills lie.";

/// What one of the drawings shows, level and upright.
const VIEWS: [(&str, [Rule; 2], [&str; 2]); 3] = [
    ("lateral", [Rule::Depth, Rule::Height], ["posterior", "anterior"]),
    ("AP", [Rule::Midline, Rule::Height], ["entry side", "far side"]),
    ("axial", [Rule::Midline, Rule::Depth], ["entry side", "far side"]),
];

/// The three drawings.
#[must_use]
pub fn drawn(bodies: &[&Treated], audit: &Audit, size: (f64, f64)) -> [Described; 3] {
    let (settings, alike) = target(bodies);
    let layers =
        [Layer::Thirds, Layer::Ruler, Layer::Labels, Layer::Tip, Layer::TipRegion, Layer::Electrodes]
            .into_iter()
            .fold(LayerSet::all(), LayerSet::without);
    let deepest =
        bodies.iter().filter_map(|body| body.used(Rule::Depth)).map(|v| v.value).fold(0.0, f64::min);
    // The drawing from the side reaches back as far as the tip that lies farthest behind.
    let position = Position { depth: Some(Coordinate { value: deepest, sd: 0.0 }), ..Position::default() };
    let sides = Sides { patient_right: Some(PatientRight::ImageLeft), entry: Some(Side::Right) };
    let drawing = BodyDrawing { position, sides, layers, ..BodyDrawing::new(&settings, Some(Stage::Final)) };
    let mut views = VIEWS.into_iter();
    drawing.boards(size).map(|(mut drawn, map)| {
        let Some((view, rules, names)) = views.next() else { return drawn };
        let n = map.map_or(0, |map| tips(&mut drawn.scene, &map, bodies, audit, rules));
        let y = if view == "axial" { space::S3 } else { names_y(size) };
        two_names(&mut drawn.scene, y, names[0], names[1]);
        let title = Text::new(
            Point::new(0.5 * size.0, if view == "axial" { names_y(size) } else { space::S3 }),
            view,
            Role::Text,
        );
        drawn.scene.text(title.aligned(AlignX::Middle, AlignY::Middle));
        drawn.words = words(view, rules, n, audit, alike);
        drawn
    })
}

/// The target that most bodies have, and whether all have the same.
fn target(bodies: &[&Treated]) -> (Settings, bool) {
    let mut settings = Settings::default();
    let mut alike = true;
    let bands = settings.targets.stages.entry(Stage::Final).or_default();
    if bodies.iter().any(|body| !body.against.is_empty()) {
        bands.clear();
    }
    for rule in Rule::ALL {
        if let Some((band, same)) = common_band(bodies, rule) {
            bands.insert(rule, band);
            alike &= same;
        }
    }
    (settings, alike)
}

/// A body's tip in a drawing of these two coordinates.
fn place(body: &Treated, [along, height]: [Rule; 2]) -> Option<BodyPoint> {
    Some(BodyPoint::new(across(along, body.used(along)?.value), body.used(height)?.value))
}

/// Offsets are drawn from the middle of the width.
fn across(rule: Rule, value: f64) -> f64 {
    if rule == Rule::Midline { 0.5 + value } else { value }
}

/// Draws the tips and returns how many there are.
fn tips(scene: &mut Scene, map: &BodyMap, bodies: &[&Treated], audit: &Audit, rules: [Rule; 2]) -> usize {
    let on = |scene: &Scene, at: BodyPoint| within(scene, map.to_image(at));
    for standing in BodyStanding::ALL {
        let own = bodies.iter().filter(|body| BodyStanding::of(body) == standing);
        let places: Vec<Point> = own.filter_map(|body| place(body, rules)).map(|at| on(scene, at)).collect();
        let (_, glyph) = standing_sign(standing);
        for at in thinned(places.into_iter()) {
            scene.marker(at, glyph, Role::Dot);
        }
    }
    let points: Vec<(f64, f64)> =
        bodies.iter().filter_map(|body| place(body, rules)).map(|at| (at.along, at.height)).collect();
    if let Some(density) = density(&points) {
        for (share, role) in SHARES {
            for line in density.lines(density.level(share)) {
                let line: Vec<Point> =
                    line.into_iter().map(|(x, y)| on(scene, BodyPoint::new(x, y))).collect();
                scene.line(line, role);
            }
        }
    }
    mean(scene, map, bodies, audit, rules);
    points.len()
}

fn all(audit: &Audit, rule: Rule) -> Option<&TipError> {
    audit.errors.iter().find(|one| one.rule == rule && one.group == "all")
}

/// The mean tip with the interval of each of its coordinates.
fn mean(scene: &mut Scene, map: &BodyMap, bodies: &[&Treated], audit: &Audit, rules: [Rule; 2]) {
    let of = |rule: Rule| {
        let error = all(audit, rule)?;
        let middle = across(rule, common_band(bodies, rule)?.0.middle());
        Some((middle + error.mean, error.interval.map(|(low, high)| (middle + low, middle + high))))
    };
    let [Some((x, wide)), Some((y, high))] = rules.map(of) else { return };
    let on = |scene: &Scene, x: f64, y: f64| within(scene, map.to_image(BodyPoint::new(x, y)));
    if let Some((low, top)) = wide {
        let line = vec![on(scene, low, y), on(scene, top, y)];
        scene.line(line, Role::FirstCurve);
    }
    if let Some((low, top)) = high {
        let line = vec![on(scene, x, low), on(scene, x, top)];
        scene.line(line, Role::FirstCurve);
    }
    let at = on(scene, x, y);
    scene.marker(at, Glyph::Square, Role::Electrode);
}

fn words(view: &str, rules: [Rule; 2], n: usize, audit: &Audit, alike: bool) -> String {
    let errors: Vec<String> = rules
        .into_iter()
        .filter_map(|rule| Some((rule, all(audit, rule)?)))
        .map(|(rule, one)| {
            format!("{} {} {}", rule.key(), format::percent(one.mean.abs()), error_way(rule, one.mean))
        })
        .collect();
    let mean = if errors.is_empty() {
        String::new()
    } else {
        format!("; mean error from the center of the target: {}", errors.join(", "))
    };
    let target = if alike { "" } else { "; cases have different targets, the most common one is drawn" };
    format!("{} in a typical body, {view} drawing{mean}{target}.", format::count(n, "tip", "tips"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Band;
    use crate::measure::verdict::State;
    use crate::scene::body_map::tests::{points, words as said};
    use crate::scene::drawing::shape::Shape;
    use crate::scene::words::series_table::tests::body;
    use crate::study::audit::{audit, rates};
    use crate::study::series::{Against, ValueSd};

    fn bodies(n: u32) -> Vec<Treated> {
        (0..n)
            .map(|i| {
                let mut one = body();
                let turn = 2.4 * f64::from(i);
                let far = 0.1 * (f64::from(i) / f64::from(n)).sqrt();
                let value = |value| Some(ValueSd { value, sd: 0.01 });
                one.depth = value(0.35 + far * turn.cos());
                one.height = value(0.5 + far * turn.sin());
                one.midline = value(-0.2 + far * (turn + 0.8).cos());
                let against = |rule, low, high| Against {
                    rule,
                    band: Band::new(low, high),
                    nominal_inside: true,
                    state: State::Inside,
                    p_inside: 0.97,
                    basis: crate::measure::true_view::choice::Basis::Direct,
                };
                one.against = vec![
                    against(Rule::Depth, 0.3, 0.5),
                    against(Rule::Height, 0.4, 0.6),
                    against(Rule::Midline, -0.1, 0.1),
                ];
                one
            })
            .collect()
    }

    fn draw(bodies: &[Treated]) -> [Described; 3] {
        let bodies: Vec<&Treated> = bodies.iter().collect();
        drawn(&bodies, &audit(&bodies, &rates(0.1, 0.2).unwrap()), (300.0, 240.0))
    }

    #[test]
    fn every_tip_is_a_sign_and_everything_stays_in_the_drawing() {
        for drawn in draw(&bodies(40)) {
            let signs =
                drawn.scene.shapes.iter().filter(|s| matches!(s, Shape::Marker { role: Role::Dot, .. }));
            assert!((38..=40).contains(&signs.count()), "one that covers another may be left out");
            assert!(points(&drawn.scene).iter().all(|p| drawn.scene.bounds.contains(*p)), "{}", drawn.words);
            for role in [Role::SecondCurve, Role::ThirdCurve] {
                let line = |s: &Shape| matches!(s, Shape::Line { role: r, .. } if *r == role);
                assert!(drawn.scene.shapes.iter().any(line), "{role:?}");
            }
        }
    }

    /// By hand: the mean depth is about 0.35, 5 % short of 0.40; the mean offset −20 %.
    #[test]
    fn the_mean_lies_where_the_tips_do() {
        let [side, front, _] = draw(&bodies(40));
        assert!(
            side.words.starts_with("40 tips in a typical body, lateral drawing; mean error"),
            "{}",
            side.words
        );
        assert!(side.words.contains("depth 5 % too far posterior"), "{}", side.words);
        assert!(front.words.contains("midline 20 % short of the midline"), "{}", front.words);
        let square = |scene: &Scene| {
            scene.shapes.iter().find_map(|s| match s {
                Shape::Marker { at, glyph: Glyph::Square, .. } => Some(*at),
                _ => None,
            })
        };
        // Short of the midline is on the side of entry, which is on the left.
        assert!(square(&front.scene).unwrap().x < 150.0);
        assert!(said(&front.scene).contains(&"entry side"));
    }

    #[test]
    fn few_tips_have_no_density_and_none_is_an_empty_body() {
        let [side, ..] = draw(&bodies(3));
        assert!(!side.scene.shapes.iter().any(|s| matches!(s, Shape::Line { role: Role::SecondCurve, .. })));
        let [side, ..] = draw(&[]);
        assert_eq!(side.words, "0 tips in a typical body, lateral drawing.");
    }

    #[test]
    fn different_targets_are_said() {
        let mut bodies = bodies(12);
        bodies[0].against[0].band = Band::new(0.2, 0.5);
        assert!(draw(&bodies)[0].words.contains("different targets"));
    }
}
