//! Journeys through labels: made, said, moved, ordered, brought in line, carried to another shot, all by pointer or keys.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::Path;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::session::document::Document;
use stillmark::app::session::mode::Tool;
use stillmark::case::annotation::{Label, LabelKind};
use stillmark::geom::point::Point;
use stillmark::io::store::save::open_case;

use crate::journey::{Journey, demonstration};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_labels", name, journey);
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

fn labels(journey: &Journey) -> Vec<Label> {
    document(journey).shot().unwrap().labels.clone()
}

/// The demonstration's last lateral of L4 with labels worked on.
fn begin(folder: &Path) -> Journey {
    let mut journey = Journey::begin(vec![demonstration(folder)]);
    for _ in 0..4 {
        journey.key(Modifiers::NONE, Key::PageDown);
    }
    journey.key(Modifiers::NONE, Key::E);
    assert_eq!(document(&journey).tool(), Tool::Annotations);
    journey
}

fn types(journey: &mut Journey, field: &str, text: &str) {
    assert!(journey.window.get_by_role_and_label(Role::TextInput, field).is_focused(), "{field} has no keys");
    journey.window.get_by_role_and_label(Role::TextInput, field).type_text(text);
    journey.window.run();
}

fn drag(journey: &mut Journey, from: Point, to: Point) {
    journey.bring_into_sight(from);
    journey.bring_into_sight(to);
    let (from, to) = (journey.screen(from), journey.screen(to));
    journey.window.hover_at(from);
    journey.window.run();
    journey.button(from, true, Modifiers::NONE);
    for share in [0.3, 0.7, 1.0] {
        journey.window.hover_at(from + (to - from) * share);
        journey.window.run();
    }
    journey.button(to, false, Modifiers::NONE);
}

#[test]
fn words_are_put_on_a_picture_typed_at_once_moved_and_saved() {
    alone("words_are_put_on_a_picture_typed_at_once_moved_and_saved", |folder| {
        let mut journey = begin(folder);
        let marks = journey.marks();
        let tip = Point::new(300.0, 300.0);
        journey.click_picture(tip);
        assert_eq!(labels(&journey).len(), 1);
        types(&mut journey, "Annotation text", "no gas here");
        assert_eq!(labels(&journey)[0].text, "no gas here");
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(journey.shows("Text: no gas here"));
        drag(&mut journey, tip, Point::new(340.0, 320.0));
        assert!(labels(&journey)[0].points()[0].distance(Point::new(340.0, 320.0)) < 1.0);
        assert_eq!(journey.marks(), marks, "no mark has moved");
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(labels(&journey)[0].points()[0].distance(tip) < 1.0);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(labels(&journey)[0].text, "", "all that was typed is one step");
        journey.key(Modifiers::CTRL | Modifiers::SHIFT, Key::Z);
        journey.key(Modifiers::CTRL, Key::S);
        assert!(!journey.unsaved());
        let file = document(&journey).file.clone().unwrap();
        let saved = open_case(&file).unwrap().case;
        assert_eq!(saved.shot(&document(&journey).shot().unwrap().id).unwrap().labels, labels(&journey));
    });
}

#[test]
fn words_that_are_dragged_near_others_come_in_line_with_them() {
    alone("words_that_are_dragged_near_others_come_in_line_with_them", |folder| {
        let mut journey = begin(folder);
        for (x, y, words) in [(300.0, 250.0, "upper words"), (330.0, 420.0, "lower words")] {
            journey.click_picture(Point::new(x, y));
            types(&mut journey, "Annotation text", words);
            journey.key(Modifiers::NONE, Key::Enter);
        }
        // Both have words as wide as each other, so that edges and middles agree.
        let boxes = |journey: &Journey| -> Vec<Point> {
            let state = &journey.window.state().state;
            let layers = state.editor.drawn(&state.display);
            let drawn = stillmark::app::annotation::label::drawn(&state.editor, layers).unwrap();
            let to_image = state.editor.transform();
            drawn.boxes.iter().map(|(_, rect)| to_image.to_image(rect.centre())).collect()
        };
        let zoom = journey.window.state().state.editor.transform().zoom;
        let [upper, lower] = boxes(&journey).try_into().unwrap();
        // To a place that is 4 points of the screen beside the upper words' middle.
        drag(&mut journey, lower, Point::new(upper.x + 4.0 / zoom, lower.y + 12.0 / zoom));
        let [fixed, moved] = boxes(&journey).try_into().unwrap();
        assert!((moved.x - fixed.x).abs() * zoom < 3.0, "{moved:?} is in line with {fixed:?}");
        assert!(document(&journey).labelling.dragged.is_none(), "no guide stays behind");
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(boxes(&journey)[1].distance(lower) < 1.0, "the drag is one step");
        // Farther away nothing pulls.
        drag(&mut journey, lower, Point::new(upper.x + 40.0 / zoom, lower.y + 40.0 / zoom));
        assert!((boxes(&journey)[1].x - upper.x).abs() * zoom > 20.0);
    });
}

/// Ctrl Z in the middle of an inset once took the annotation before it back.
#[test]
fn undo_in_the_middle_of_an_inset_takes_its_point_back_and_nothing_else() {
    alone("undo_in_the_middle_of_an_inset_takes_its_point_back_and_nothing_else", |folder| {
        let mut journey = begin(folder);
        journey.click_picture(Point::new(300.0, 250.0));
        types(&mut journey, "Annotation text", "kept");
        journey.key(Modifiers::NONE, Key::Enter);
        journey.key(Modifiers::NONE, Key::Escape);
        journey.press("Inset");
        journey.click_picture(Point::new(300.0, 330.0));
        assert_eq!((labels(&journey).len(), document(&journey).labelling.placed.len()), (1, 1));
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(document(&journey).labelling.placed.len(), 0, "its point is taken back");
        assert_eq!(labels(&journey)[0].text, "kept");
        journey.click_picture(Point::new(300.0, 330.0));
        journey.click_picture(Point::new(360.0, 380.0));
        assert_eq!(labels(&journey)[1].kind(), Some(LabelKind::Inset));
    });
}

#[test]
fn an_angle_is_drawn_with_keys_alone() {
    alone("an_angle_is_drawn_with_keys_alone", |folder| {
        let mut journey = begin(folder);
        journey.key(Modifiers::NONE, Key::Num5);
        assert!(journey.shows("Click a point on one side of the angle."));
        for key in [Key::ArrowLeft, Key::ArrowUp, Key::ArrowRight] {
            journey.key(Modifiers::NONE, key);
            for _ in 0..6 {
                journey.key(Modifiers::SHIFT, key);
            }
            journey.key(Modifiers::NONE, Key::Enter);
        }
        assert_eq!(labels(&journey)[0].kind(), Some(LabelKind::Angle));
        journey.key(Modifiers::NONE, Key::Enter);
        journey.key(Modifiers::NONE, Key::Escape);
        journey.key(Modifiers::NONE, Key::N);
        journey.key(Modifiers::SHIFT, Key::N);
        let before = labels(&journey)[0].points().to_vec();
        journey.key(Modifiers::SHIFT, Key::ArrowDown);
        let after = labels(&journey)[0].points().to_vec();
        assert!((after[0].y - before[0].y - 10.0).abs() < 1e-9 && after[1..] == before[1..]);
        journey.key(Modifiers::NONE, Key::Delete);
        assert!(labels(&journey).is_empty());
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(labels(&journey)[0].points(), after);
    });
}

#[test]
fn numbers_are_ordered_brought_in_line_and_carried_to_another_shot() {
    alone("numbers_are_ordered_brought_in_line_and_carried_to_another_shot", |folder| {
        let mut journey = begin(folder);
        journey.press("Number");
        for (x, words) in [(300.0, "wall"), (350.0, "plate")] {
            journey.click_picture(Point::new(x, 340.0));
            types(&mut journey, "What the number stands for", words);
            journey.key(Modifiers::NONE, Key::Enter);
        }
        assert!(journey.shows("No. 1: wall") && journey.shows("No. 2: plate"));
        journey.press("Earlier");
        assert!(journey.shows("No. 1: plate") && journey.shows("No. 2: wall"));
        journey.key(Modifiers::CTRL, Key::A);
        journey.press("Tops");
        assert!(labels(&journey).iter().all(|label| label.text_at.is_some()));
        journey.press("To another shot");
        journey.press("l4-right-lateral-stylet");
        let other = document(&journey).case().shot("l4-right-lateral-stylet").unwrap();
        assert_eq!(other.labels.len(), 2);
        assert!(journey.shows("2 annotations are on “l4-right-lateral-stylet” now"));
        journey.press("Delete annotation");
        assert!(labels(&journey).is_empty());
        for _ in 0..2 {
            journey.key(Modifiers::CTRL, Key::Z);
        }
        assert_eq!(labels(&journey).len(), 2);
        assert!(document(&journey).case().shot("l4-right-lateral-stylet").unwrap().labels.is_empty());
    });
}

#[test]
fn labels_are_hidden_with_their_layer_and_seen_in_every_size() {
    alone("labels_are_hidden_with_their_layer_and_seen_in_every_size", |folder| {
        for (name, size) in
            [("a", vec2(1280.0, 800.0)), ("b", vec2(2560.0, 1440.0)), ("c", vec2(800.0, 600.0))]
        {
            let mut journey = Journey::sized(vec![demonstration(&folder.join(name))], size);
            journey.key(Modifiers::NONE, Key::E);
            journey.key(Modifiers::NONE, Key::Num7);
            let middle = journey.canvas().center();
            for (dx, dy) in [(-40.0, -20.0), (40.0, -20.0), (0.0, 30.0)] {
                let at = middle + vec2(dx, dy);
                journey.window.hover_at(at);
                journey.window.run();
                journey.button(at, true, Modifiers::NONE);
                journey.button(at, false, Modifiers::NONE);
            }
            let placed = document(&journey).labelling.placed.len();
            assert_eq!(placed, 3, "{size:?}: {:?}", journey.canvas());
            journey.press("Finish");
            assert_eq!(labels(&journey)[0].kind(), Some(LabelKind::Outline), "{size:?}");
            journey.press("Done");
            journey.press("Done");
            journey.key(Modifiers::SHIFT, Key::E);
            journey.key(Modifiers::SHIFT, Key::E);
        }
    });
}
