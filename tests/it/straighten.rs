//! A photo of a screen is straightened by its corners or by its round field, at the command line and in the window: a
//! still with dots at known places is seen by a camera from aside, and the dots must be found again where they were.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};

use image::{GrayImage, Luma};
use stillmark::geom::point::{Point, Vec2};
use stillmark::geom::projective::Projective;

use crate::support::{folder, stillmark_cli};

/// Side of the still on the screen, in its own pixels.
const SIDE: f64 = 800.0;
/// Radius of the round field about its middle.
const RADIUS: f64 = 380.0;
/// Where its corners lie in the photo: seen from the left, from above, and a little rotated.
const CORNERS: [(f64, f64); 4] = [(150.0, 90.0), (930.0, 170.0), (900.0, 800.0), (110.0, 860.0)];

fn points(all: [(f64, f64); 4]) -> [Point; 4] {
    all.map(|(x, y)| Point::new(x, y))
}

fn still_corners() -> [Point; 4] {
    points([(0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE)])
}

/// From the still to the photo.
fn seen() -> Projective {
    Projective::of_four(still_corners(), points(CORNERS)).unwrap()
}

/// The dots of the still: a body's four corners, its walls, the tip, and others out to the edge of the field.
fn dots() -> Vec<Point> {
    let body =
        [(320.0, 340.0), (500.0, 330.0), (505.0, 470.0), (315.0, 480.0), (318.0, 410.0), (502.0, 400.0)];
    let others =
        [(410.0, 405.0), (120.0, 400.0), (690.0, 410.0), (400.0, 110.0), (395.0, 690.0), (220.0, 590.0)];
    body.into_iter().chain(others).map(|(x, y)| Point::new(x, y)).collect()
}

/// Writes the photo: dark dots on a gray round field on a dark screen.
fn photo(folder: &Path) -> PathBuf {
    let back = Projective::of_four(points(CORNERS), still_corners()).unwrap();
    let dots = dots();
    let gray = |at: Point| {
        let from = at - Point::new(0.5 * SIDE, 0.5 * SIDE);
        if from.dot(from).sqrt() > RADIUS {
            return 20.0;
        }
        let dark: f64 = dots.iter().map(|dot| (-(*dot - at).dot(*dot - at) / 50.0).exp()).sum();
        190.0 - 150.0 * dark.min(1.0)
    };
    let pixel = |x: u32, y: u32| {
        let at = back.of(Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5));
        let value = at.map_or(20.0, gray).round();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
        Luma([value as u8])
    };
    let path = folder.join("photo.png");
    GrayImage::from_fn(1040, 940, pixel).save(&path).unwrap();
    path
}

/// The dots as they lie in an image: each the center of its darkness, near where it is looked for.
fn found(image: &GrayImage, near: &[Point]) -> Vec<Point> {
    near.iter()
        .map(|near| {
            // A dot may lie some way off where perspective stays: the darkest pixel about the place is on it.
            let about = image.enumerate_pixels().filter_map(|(x, y, pixel)| {
                let place = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
                (place.distance(*near) < 30.0).then_some((place, pixel.0[0]))
            });
            let mut at = about.min_by_key(|(_, gray)| *gray).map_or(*near, |(place, _)| place);
            for _ in 0..8 {
                let (mut sum, mut weight) = (Vec2::default(), 0.0);
                for (x, y, pixel) in image.enumerate_pixels() {
                    let place = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
                    if place.distance(at) < 14.0 {
                        let dark = (180.0 - f64::from(pixel.0[0])).max(0.0);
                        sum += place.to_vec() * dark;
                        weight += dark;
                    }
                }
                assert!(weight > 0.0, "no dot near {near:?}");
                at = Point::default() + sum / weight;
            }
            at
        })
        .collect()
}

/// How far the dots lie from where they were in the still, in pixels of the image, after the shift, rotation and scale
/// that fit best: none of them changes a fraction.
fn off(image: &GrayImage, middle: Point, scale: f64) -> f64 {
    let expected: Vec<Point> =
        dots().iter().map(|dot| middle + (*dot - Point::new(0.5 * SIDE, 0.5 * SIDE)) * scale).collect();
    let found = found(image, &expected);
    let pairs: Vec<(Point, Point)> = dots().into_iter().zip(found).collect();
    // Least squares in the plane of complex numbers: found ≈ mean + m (from − mean).
    #[expect(clippy::cast_precision_loss, reason = "a dozen dots")]
    let n = pairs.len() as f64;
    let mean = |of: fn(&(Point, Point)) -> Point| {
        pairs.iter().fold(Vec2::default(), |sum, pair| sum + of(pair).to_vec()) / n
    };
    let (from, to) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let mut m = Vec2::default();
    let mut size = 0.0;
    for (p, q) in &pairs {
        let (d, e) = (p.to_vec() - from, q.to_vec() - to);
        m += Vec2::new(d.dot(e), d.cross(e));
        size += d.dot(d);
    }
    let m = m / size;
    let apart = |(p, q): &(Point, Point)| {
        let d = p.to_vec() - from;
        let fit = to + Vec2::new(m.x * d.x - m.y * d.y, m.y * d.x + m.x * d.y);
        (fit - q.to_vec()).length()
    };
    pairs.iter().map(apart).fold(0.0, f64::max)
}

fn written(at: Point) -> String {
    format!("{:.3},{:.3}", at.x, at.y)
}

/// Points on the edge of the field as they are seen in the photo.
fn edge(count: u8) -> Vec<Point> {
    let turn = |i: u8| std::f64::consts::TAU * f64::from(i) / f64::from(count);
    let on = |i: u8| Point::new(0.5 * SIDE + RADIUS * turn(i).cos(), 0.5 * SIDE + RADIUS * turn(i).sin());
    (0..count).map(|i| seen().of(on(i)).unwrap()).collect()
}

fn straightened(arguments: &[String], out: &Path) -> GrayImage {
    let run = stillmark_cli(arguments).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    image::open(out).unwrap().into_luma8()
}

fn middle_of(image: &GrayImage) -> Point {
    Point::new(0.5 * f64::from(image.width()), 0.5 * f64::from(image.height()))
}

#[test]
fn by_four_corners_every_place_is_found_again() {
    let folder = folder();
    let (photo, out) = (photo(folder.path()), folder.path().join("straight.png"));
    let mut arguments = vec!["straighten".to_owned(), photo.display().to_string()];
    arguments.extend(["--aspect", "1", "--out"].map(str::to_owned));
    arguments.extend([out.display().to_string(), "--corners".to_owned()]);
    arguments.extend(points(CORNERS).map(written));
    let image = straightened(&arguments, &out);
    let off = off(&image, middle_of(&image), f64::from(image.width()) / SIDE);
    assert!(off < 0.5, "{off} pixels");
}

/// The field with its center tells the perspective; without it, the field is only stretched. What is left then moves
/// places toward one side, but the fraction along a body hardly changes.
#[test]
fn by_the_round_field_every_place_is_found_again() {
    let folder = folder();
    let (photo, out) = (photo(folder.path()), folder.path().join("straight.png"));
    let mut arguments = vec!["straighten".to_owned(), photo.display().to_string(), "--out".to_owned()];
    arguments.extend([out.display().to_string(), "--field".to_owned()]);
    arguments.extend(edge(8).into_iter().map(written));
    let stretched = straightened(&arguments, &out);
    let center = seen().of(Point::new(0.5 * SIDE, 0.5 * SIDE)).unwrap();
    let exact_out = folder.path().join("exact.png");
    arguments[3] = exact_out.display().to_string();
    arguments.extend(["--center".to_owned(), written(center)]);
    let image = straightened(&arguments, &exact_out);
    assert_eq!(image.width(), image.height());
    // The field fills the image but for a margin of 4 %.
    let scale = f64::from(image.width()) / (2.0 * 1.04 * RADIUS);
    let exact = off(&image, middle_of(&image), scale);
    assert!(exact < 0.5, "{exact} pixels");
    let inexact = off(&stretched, middle_of(&stretched), scale);
    assert!(inexact > 1.0, "the perspective of this photo is not to be seen: {inexact} pixels");
    // Depth of the tip between the walls at mid-height, in the still and in both images.
    let depth = |at: &[Point]| (at[6] - at[4]).dot(at[5] - at[4]) / (at[5] - at[4]).dot(at[5] - at[4]);
    let expected = |image: &GrayImage| {
        dots()
            .iter()
            .map(|dot| middle_of(image) + (*dot - Point::new(400.0, 400.0)) * scale)
            .collect::<Vec<_>>()
    };
    let of = |image: &GrayImage| depth(&found(image, &expected(image)));
    assert!((of(&image) - depth(&dots())).abs() < 0.002, "{} for {}", of(&image), depth(&dots()));
    // 0.0115 by NumPy and OpenCV's `fitEllipseDirect` on the same eight points.
    assert!(
        ((of(&stretched) - depth(&dots())) - 0.0115).abs() < 0.003,
        "{} for {}",
        of(&stretched),
        depth(&dots())
    );
}

#[test]
fn what_is_no_screen_is_refused_in_a_sentence() {
    let folder = folder();
    let photo = photo(folder.path());
    let out = folder.path().join("straight.png");
    let run = |more: &[&str]| {
        let mut arguments = vec!["straighten", photo.to_str().unwrap(), "--out", out.to_str().unwrap()];
        arguments.extend(more);
        let run = stillmark_cli(&arguments).unwrap();
        assert_eq!((run.status, out.exists()), (Some(2), false), "{more:?}");
        run.err
    };
    assert!(run(&["--field", "1,1", "9,1", "9,9", "1,9"]).contains("at least 5 points"));
    assert!(run(&["--field", "1,1", "2,2", "3,3", "4,4", "5,5"]).contains("ellipse"));
    assert!(run(&["--field", "1,1", "--aspect", "1"]).contains("--aspect"));
    assert!(run(&["--center", "1,1"]).contains("--"));
    assert!(run(&[]).contains("--corners"));
}

#[cfg(feature = "window")]
mod window {
    use eframe::egui::{self, Key, Modifiers};
    use egui_kittest::kittest::Queryable as _;

    use super::{CORNERS, SIDE, edge, middle_of, off, photo, points, seen};
    use crate::journey::Journey;
    use stillmark::geom::point::Point;

    fn shots(journey: &Journey) -> Vec<String> {
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        document.case().shots.iter().map(|shot| shot.image.clone()).collect()
    }

    /// The menu, both parts of the screen, a point that is moved and one that is taken back, and the image that joins the
    /// case beside the photo.
    #[test]
    fn a_photo_is_straightened_in_the_window_as_at_the_command_line() {
        let name = "a_photo_is_straightened_in_the_window_as_at_the_command_line";
        crate::journey::alone("straighten::window", name, |folder| {
            let photo = photo(folder);
            let before = std::fs::read(&photo).unwrap();
            let mut journey = Journey::begin(vec![photo.clone()]);
            journey.press("Image");
            journey.press("Straighten screen photo");
            assert!(journey.shows("Click the four corners of the screen"));
            // In any order, one of them wrong, taken back with Ctrl Z.
            let [a, b, c, d] = points(CORNERS);
            for at in [c, a, Point::new(500.0, 500.0)] {
                journey.click_picture(at);
            }
            journey.key(Modifiers::COMMAND, Key::Z);
            [b, d].iter().for_each(|at| journey.click_picture(*at));
            assert!(journey.shows("Check the outline"));
            journey.window.get_by_label("Screen width over height").click();
            journey.window.run();
            journey.window.get_by_label("Screen width over height").type_text("1");
            journey.window.run();
            journey.press("Save straightened image");
            assert_eq!(shots(&journey).len(), 2);
            let image = image::open(folder.join("photo-straightened.png")).unwrap().into_luma8();
            let off_by = off(&image, middle_of(&image), f64::from(image.width()) / SIDE);
            // Clicked on the screen of the window, whose points are coarser than the photo's pixels.
            assert!(off_by < 1.0, "{off_by} pixels");
            assert!(journey.shows("The image was saved as"));

            // By the round field of the same photo.
            let first =
                journey.window.state().state.editor.document.as_ref().unwrap().case().shots[0].id.clone();
            let show = stillmark::app::command::shots::ShotsCommand::Show(first);
            let state = &mut journey.window.state_mut().state;
            stillmark::app::session::update::update(state, stillmark::app::command::Command::Shots(show));
            journey.window.run();
            journey.press("Image");
            journey.press("Straighten screen photo");
            journey.press("Round field");
            edge(7).iter().for_each(|at| journey.click_picture(*at));
            journey.press("Mark center");
            assert!(journey.shows("Click the center of the round field"));
            journey.click_picture(seen().of(Point::new(0.5 * SIDE, 0.5 * SIDE)).unwrap());
            journey.press("Save straightened image");
            assert_eq!(shots(&journey).len(), 3);
            let round = image::open(folder.join("photo-straightened-2.png")).unwrap().into_luma8();
            assert_eq!(round.width(), round.height());
            let scale = f64::from(round.width()) / (2.0 * 1.04 * super::RADIUS);
            let off_by = off(&round, middle_of(&round), scale);
            assert!(off_by < 1.0, "{off_by} pixels");
            assert_eq!(std::fs::read(&photo).unwrap(), before, "the photo stays as it was");
        });
    }

    #[test]
    fn the_screen_is_clicked_without_a_pointer_and_left_with_escape() {
        let name = "the_screen_is_clicked_without_a_pointer_and_left_with_escape";
        crate::journey::alone("straighten::window", name, |folder| {
            let mut journey = Journey::begin(vec![photo(folder)]);
            journey.press("Image");
            journey.press("Straighten screen photo");
            let edge = |journey: &Journey| {
                let document = journey.window.state().state.editor.document.as_ref().unwrap();
                document.straightening().map(|clicks| clicks.edge.len())
            };
            journey.window.get_by_role(egui::accesskit::Role::Canvas).focus();
            journey.window.run();
            journey.key(Modifiers::NONE, Key::ArrowLeft);
            journey.key(Modifiers::NONE, Key::Enter);
            assert_eq!(edge(&journey), Some(1));
            journey.key(Modifiers::NONE, Key::Delete);
            assert_eq!(edge(&journey), Some(0));
            journey.key(Modifiers::NONE, Key::Escape);
            assert_eq!(edge(&journey), None);
        });
    }
}
