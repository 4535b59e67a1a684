//! The journey to an outline with a third click: a border that was not found is asked for by its name, and a click on it is
//! enough.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use stillmark::case::document::{Case, Shot};
use stillmark::geom::point::{Point, Vec2};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::lateral::lateral_body_map;
use stillmark::measure::mark::{MarkKind, Marks};

use crate::journey::{Journey, alone, samples};
use crate::proposals::third_click::{superior, without_border};

const SHOT: &str = "l4-right-lateral-stylet";
/// Pixels on both sides of the endplate that are taken out: 4 mm at 0.22 mm a pixel.
const TAKEN_OUT: f64 = 18.0;

/// A case of one lateral without marks whose image does not show the superior endplate, and the true shot.
fn case_without_plate(folder: &Path) -> (PathBuf, Shot) {
    let truth =
        open_case(&samples().join("demonstration.case.json")).unwrap().case.shot(SHOT).unwrap().clone();
    let image = image::open(samples().join(&truth.image)).unwrap().to_luma16();
    let (width, height) = image.dimensions();
    let taken = without_border(image.as_raw(), width, &superior(&truth.marks), TAKEN_OUT);
    let file = folder.join(&truth.image);
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    let image: image::ImageBuffer<image::Luma<u16>, _> =
        image::ImageBuffer::from_raw(width, height, taken).unwrap();
    image.save(&file).unwrap();
    let shot = Shot { marks: Marks::new(), digest: None, ..truth.clone() };
    let case =
        Case { title: Some("Demonstration T".to_owned()), shots: vec![shot].into(), ..Case::default() };
    let file = folder.join("third.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    (file, truth)
}

#[test]
fn a_border_that_was_not_found_is_asked_for_and_one_click_proposes_the_outline() {
    let name = "a_border_that_was_not_found_is_asked_for_and_one_click_proposes_the_outline";
    alone("window_third_click", name, |folder| {
        let (file, truth) = case_without_plate(folder);
        let mut journey = Journey::begin(vec![file]);
        let map = lateral_body_map(&truth.marks).unwrap();
        let [posterior, anterior] = [0.0, 1.0].map(|along| map.to_image(BodyPoint::new(along, 0.5)));
        journey.click_picture(posterior + Vec2::new(2.0, -4.0));
        journey.click_picture(anterior + Vec2::new(-2.0, 3.0));
        assert!(journey.shows("uperior endplate"), "the border is named");
        assert!(!journey.shows("Check the outline"), "nothing is offered yet");
        let plate = truth.marks.complete(MarkKind::SuperiorEndPlate).unwrap();
        let middle: Point = plate[plate.len() / 2];
        journey.click_picture(middle);
        assert!(journey.shows("Check the outline"), "one click on it is enough");
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        let offered = document.seen_marks().unwrap().complete(MarkKind::SuperiorEndPlate).unwrap();
        assert!(offered[2].distance(middle) < 9.0, "it runs through the click: {:?}", offered[2]);
        assert!(journey.marks().is_empty(), "it is only shown");
    });
}
