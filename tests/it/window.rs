//! Journeys through the window, driven by accessible names, without a display.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::Path;

use eframe::egui::{self, Event, Key, Modifiers, ViewportCommand, vec2};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::command::Command;
use stillmark::app::files::questions::Purpose;
use stillmark::case::readings::{CaseReadings, Picture, ShotReading, read_case};
use stillmark::geom::point::Point;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::{Level, MarkKind, MarkRef, View};
use stillmark::scene::overlay::Layer;
use stillmark::scene::words::caution;

use crate::journey::{Journey, demonstration, one_picture};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window", name, journey);
}

fn readings(file: &Path) -> CaseReadings {
    read_case(&open_case(file).unwrap().case, |_| Picture::NotLookedAt, None)
}

fn fractions(reading: &ShotReading) -> (f64, f64) {
    let ShotReading::Lateral(reading) = reading else { panic!("not lateral") };
    let tip = reading.tip.as_ref().unwrap();
    (tip.along.value, tip.height.value)
}

#[test]
fn the_first_view_carries_the_caution_and_opens_the_demonstration() {
    alone("the_first_view_carries_the_caution_and_opens_the_demonstration", |_| {
        let mut journey = Journey::begin(Vec::new());
        for sentence in caution::FULL {
            assert!(journey.shows(sentence), "{sentence}");
        }
        journey.press("Open demonstration");
        assert!(journey.shows("l4-right-pedicle-docking"));
        assert!(journey.shows(caution::SHORT), "the caution stands beside the numbers");
        let state = &journey.window.state().state;
        assert_eq!(state.title(), "Stillmark – Demonstration A");
        assert!(!journey.unsaved());
    });
}

#[test]
fn a_picture_is_marked_read_saved_and_opened_again() {
    alone("a_picture_is_marked_read_saved_and_opened_again", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        assert!(!journey.shows("Click the posterior-superior corner."), "the view is asked first");
        assert!(journey.shows("View lateral"));
        journey.it_is_a_lateral();
        assert!(journey.shows("Click the posterior-superior corner."));
        journey.mark_all(&places);
        assert!(journey.shows("Does any border show twice?"), "asked once all marks are placed");
        assert_eq!(journey.marks().placed().count(), 9);
        for (at, p) in journey.marks().placed() {
            let nearest = places.iter().map(|q| q.distance(p)).fold(f64::MAX, f64::min);
            assert!(nearest < 1e-3, "{at:?} was clicked {nearest} px away");
        }
        assert!(journey.shows("Depth") && journey.shows("Height"));
        assert!(journey.window.state().state.title().ends_with('●'));

        // Back and forth.
        let all = journey.marks();
        for _ in 0..9 {
            journey.key(Modifiers::CTRL, Key::Z);
        }
        assert!(journey.marks().is_empty() && journey.unsaved(), "its view is set");
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(!journey.unsaved() && journey.shows("Which view is this?"));
        for _ in 0..10 {
            journey.key(Modifiers::CTRL | Modifiers::SHIFT, Key::Z);
        }
        assert_eq!(journey.marks(), all);

        // The tip is in hand after the last click; arrows move it.
        journey.press("Tip, placed");
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        let before = journey.marks().point(tip).unwrap();
        journey.key(Modifiers::NONE, Key::ArrowRight);
        journey.key(Modifiers::SHIFT, Key::ArrowDown);
        journey.key(Modifiers::ALT, Key::ArrowLeft);
        let after = journey.marks().point(tip).unwrap();
        assert!((after.x - before.x - 0.9).abs() < 1e-9 && (after.y - before.y - 10.0).abs() < 1e-9);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(journey.marks().point(tip), Some(before));

        let file = folder.join("saved.case.json");
        journey.answer(&file);
        journey.key(Modifiers::CTRL, Key::S);
        assert_eq!(*journey.dialogs.asked.borrow(), [Purpose::Save]);
        assert!(!journey.unsaved());
        let case = open_case(&file).unwrap().case;
        assert_eq!(case.shots[0].image, "still.png", "named from where the case lies");
        assert_eq!(case.shots[0].marks, journey.marks());

        let again = Journey::begin(vec![file.clone()]);
        assert_eq!(again.marks(), journey.marks());
        let (depth, height) = fractions(&readings(&file).shots[0]);
        assert!((-0.5..1.5).contains(&depth) && (0.0..1.0).contains(&height));
    });
}

#[test]
fn marks_are_placed_without_a_pointer() {
    alone("marks_are_placed_without_a_pointer", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        journey.it_is_a_lateral();
        journey.key(Modifiers::NONE, Key::ArrowRight);
        for place in &places {
            let document = journey.window.state().state.editor.document.as_ref().unwrap();
            let mut at = document.crosshair.unwrap();
            for (stride, modifiers) in [
                (50.0, Modifiers::CTRL),
                (10.0, Modifiers::SHIFT),
                (1.0, Modifiers::NONE),
                (0.1, Modifiers::ALT),
            ] {
                for (axis, less, more) in
                    [(0, Key::ArrowLeft, Key::ArrowRight), (1, Key::ArrowUp, Key::ArrowDown)]
                {
                    let missing = |at: Point| if axis == 0 { place.x - at.x } else { place.y - at.y };
                    while missing(at).abs() > 0.5 * stride + 1e-9 {
                        let key = if missing(at) < 0.0 { less } else { more };
                        journey.key(modifiers, key);
                        at =
                            journey.window.state().state.editor.document.as_ref().unwrap().crosshair.unwrap();
                    }
                }
            }
            journey.key(Modifiers::NONE, Key::Enter);
        }
        assert_eq!(journey.marks().placed().count(), 9);
        for (_, p) in journey.marks().placed() {
            assert!(places.iter().any(|q| (q.x - p.x).abs() < 0.051 && (q.y - p.y).abs() < 0.051));
        }
        // Skipping and going back by key.
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(journey.shows("press Enter"));
        journey.key(Modifiers::NONE, Key::B);
        assert!(journey.shows("Click where the posterior wall"));
    });
}

#[test]
fn closing_asks_about_unsaved_work() {
    alone("closing_asks_about_unsaved_work", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        journey.it_is_a_lateral();
        journey.click_picture(places[0]);
        let sent = journey.close();
        assert!(sent.contains(&ViewportCommand::CancelClose), "{sent:?}");
        assert!(journey.shows("before quitting?"));
        journey.press("Cancel");
        assert!(!journey.shows("before quitting?"));

        journey.close();
        let file = folder.join("kept.case.json");
        journey.answer(&file);
        // The one in the question; the other is in the line of commands behind it.
        journey.window.get_all_by_label("Save").last().unwrap().click();
        journey.window.run_steps(3);
        assert!(file.is_file(), "it is saved before the program ends");
        assert!(!journey.unsaved());

        let mut journey = Journey::begin(vec![file.clone()]);
        let bytes = std::fs::read(&file).unwrap();
        journey.click_picture(places[1]);
        journey.close();
        journey.press("Discard");
        assert_eq!(std::fs::read(&file).unwrap(), bytes);
        let left: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|name| name.contains("autosave"))
            .collect();
        assert!(left.is_empty(), "{left:?}");
    });
}

#[test]
fn a_case_changed_by_another_window_is_not_written_over_without_asking() {
    alone("a_case_changed_by_another_window_is_not_written_over_without_asking", |folder| {
        let case = demonstration(folder);
        let mut one = Journey::begin(vec![case.clone()]);
        let mut other = Journey::begin(vec![case.clone()]);
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        for (journey, key) in [(&mut one, Key::ArrowRight), (&mut other, Key::ArrowLeft)] {
            journey.press("Tip, placed");
            journey.key(Modifiers::NONE, key);
            assert!(journey.unsaved());
        }
        one.key(Modifiers::CTRL, Key::S);
        assert!(!one.unsaved());
        let first = std::fs::read(&case).unwrap();
        other.key(Modifiers::CTRL, Key::S);
        assert!(other.shows("has changed"));
        assert_eq!(std::fs::read(&case).unwrap(), first, "nothing is written before the answer");
        let beside = folder.join("other.case.json");
        other.answer(&beside);
        other.press("Save as");
        assert!(!other.unsaved() && beside.is_file());
        assert_eq!(std::fs::read(&case).unwrap(), first);
        let saved = |file: &Path| open_case(file).unwrap().case.shots[0].marks.point(tip).unwrap();
        assert!((saved(&case).x - saved(&beside).x - 2.0).abs() < 1e-6);
    });
}

#[test]
fn work_of_a_window_that_ended_without_saving_is_offered_again() {
    alone("work_of_a_window_that_ended_without_saving_is_offered_again", |folder| {
        let case = demonstration(folder);
        let bytes = std::fs::read(&case).unwrap();
        let mut journey = Journey::begin(vec![case.clone()]);
        journey.press("Tip, placed");
        journey.key(Modifiers::SHIFT, Key::ArrowRight);
        let marks = journey.marks();
        drop(journey);

        // At the start, and on opening the case.
        let mut journey = Journey::begin(Vec::new());
        assert!(journey.shows("Unsaved changes were found"));
        journey.press("Restore");
        assert_eq!(journey.marks(), marks);
        assert!(journey.unsaved());
        drop(journey);

        let mut journey = Journey::begin(vec![case.clone()]);
        assert!(journey.shows("Unsaved changes to this case were found"));
        journey.press("Restore");
        assert_eq!(journey.marks(), marks);
        journey.key(Modifiers::CTRL, Key::S);
        assert!(!journey.unsaved());
        drop(journey);
        assert_ne!(std::fs::read(&case).unwrap(), bytes);
        let journey = Journey::begin(vec![case]);
        assert!(!journey.shows("Unsaved work"));
    });
}

#[test]
fn without_a_file_dialog_a_path_can_be_typed() {
    alone("without_a_file_dialog_a_path_can_be_typed", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(Vec::new());
        journey.press("Open case or images");
        assert!(journey.shows("No system file dialog is available. Type the path."));
        journey.window.get_by_label("Path").type_text(&case.to_string_lossy());
        journey.window.run();
        journey.press("Open");
        assert!(journey.shows("l4-right-lateral-pedicle"));
        drop(journey);

        let mut journey = Journey::begin(vec![folder.join("missing.png")]);
        assert!(journey.shows("there is no such file"), "one sentence, and the first view stays");
        journey.press("Dismiss");
        assert!(!journey.shows("there is no such file"));
    });
}

#[test]
fn the_list_of_keys_names_every_action() {
    alone("the_list_of_keys_names_every_action", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case]);
        journey.key(Modifiers::SHIFT, Key::Questionmark);
        for command in Command::listed() {
            let entry = command.entry().unwrap();
            assert!(journey.shows(entry.label), "{}", entry.label);
            assert!(journey.shows(&entry.keys[0].to_string()), "{}", entry.keys[0]);
        }
        let before = journey.marks();
        journey.key(Modifiers::NONE, Key::Delete);
        assert_eq!(journey.marks(), before, "keys do nothing beneath the list");
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.window.state().state.display.help);
    });
}

#[test]
fn shots_layers_and_properties_answer_to_keys_and_names() {
    alone("shots_layers_and_properties_answer_to_keys_and_names", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case]);
        journey.key(Modifiers::NONE, Key::PageDown);
        let shown =
            |journey: &Journey| journey.window.state().state.editor.document.as_ref().unwrap().shown.clone();
        assert_eq!(shown(&journey).as_deref(), Some("l4-right-lateral-posterior_wall"));
        journey.key(Modifiers::SHIFT, Key::R);
        assert!(!journey.window.state().state.display.layers.has(Layer::Ruler));
        journey.window.key_down(Key::Space);
        journey.window.run();
        assert!(journey.window.state().state.display.drawing_hidden);
        journey.window.key_up(Key::Space);
        journey.window.run();
        assert!(!journey.window.state().state.display.drawing_hidden);
        journey.press("Stage: at the posterior wall");
        journey.press("final");
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        assert_eq!(document.shot().unwrap().stage, Some(stillmark::measure::mark::Stage::Final));
        journey.key(Modifiers::NONE, Key::C);
        assert!(journey.shows("of the uncertainty comes from it"));
    });
}

#[test]
fn dropped_files_are_added_or_opened() {
    alone("dropped_files_are_added_or_opened", |folder| {
        let (picture, _) = one_picture(folder);
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case.clone()]);
        journey.drop_files(std::slice::from_ref(&picture));
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        assert_eq!(document.case().shots.len(), 7);
        let added = document.shot().unwrap();
        assert_eq!((added.id.as_str(), added.image.as_str()), ("still", "still.png"));
        assert_eq!((added.level, added.view), (Some(Level::L4), View::Lateral));
        // The view is not taken over from the shot that was shown: it is asked.
        assert!(journey.shows("Which view is this?") && !journey.shows("Check the outline"));
        journey.key(Modifiers::NONE, Key::E);
        let shown = journey.window.state().state.editor.document.as_ref().unwrap().shot().unwrap();
        assert!(shown.view_set && shown.view == View::Lateral);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.shows("Which view is this?"));
        assert!(journey.shows("Check the outline"), "it is one of a body that is marked already");
        // A case opens, after the question about the added picture.
        journey.drop_files(std::slice::from_ref(&case));
        assert!(journey.shows("before opening another case?"));
        journey.press("Discard");
        assert_eq!(journey.window.state().state.editor.document.as_ref().unwrap().case().shots.len(), 6);
    });
}

/// Of 300 dropped files one case that could not be read kept all the images out.
#[test]
fn a_file_that_cannot_be_read_keeps_no_other_out() {
    alone("a_file_that_cannot_be_read_keeps_no_other_out", |folder| {
        let (picture, _) = one_picture(folder);
        let (broken, words) = (folder.join("broken.case.json"), folder.join("notes.txt"));
        std::fs::write(&broken, "{").unwrap();
        std::fs::write(&words, "no image").unwrap();
        let mut journey = Journey::begin(Vec::new());
        let shots = |journey: &Journey| {
            journey.window.state().state.editor.document.as_ref().map_or(0, |d| d.case().shots.len())
        };
        journey.drop_files(&[broken, words, picture.clone()]);
        assert_eq!(shots(&journey), 1);
        assert!(journey.shows("broken.case.json: the file ends early") && journey.shows("notes.txt"));
        // A case among images is only named; what is open stays.
        journey.drop_files(&[demonstration(folder), picture]);
        assert_eq!(shots(&journey), 2);
        assert!(journey.shows("is a case, not an image; open it by itself"));
    });
}

#[test]
fn marks_are_dragged_and_the_picture_is_zoomed_at_the_pointer() {
    alone("marks_are_dragged_and_the_picture_is_zoomed_at_the_pointer", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case]);
        let at = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
        let before = journey.marks().point(at).unwrap();
        let pointer = journey.screen(Point::new(before.x + 1.0, before.y));
        let zoom = journey.window.state().state.editor.transform().zoom;
        journey.window.hover_at(pointer);
        journey.window.run();
        let wheel = Event::MouseWheel {
            unit: egui::MouseWheelUnit::Line,
            delta: vec2(0.0, 3.0),
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Unknown,
            modifiers: Modifiers::NONE,
        };
        journey.window.event(wheel);
        journey.window.run();
        assert!(journey.window.state().state.editor.transform().zoom > 1.4 * zoom);
        let held = journey.screen(Point::new(before.x + 1.0, before.y));
        assert!((held - pointer).length() < 0.01, "the place under the pointer stays there");

        journey.button(pointer, true, Modifiers::NONE);
        for step in 1..=5_u8 {
            journey.window.hover_at(pointer + vec2(4.0, -2.0) * f32::from(step));
            journey.window.run();
        }
        let numbers = |journey: &Journey| {
            let document = journey.window.state().state.editor.document.as_ref().unwrap();
            let looked = document.looked("l4-right-lateral-pedicle").unwrap();
            fractions(&looked.reading)
        };
        let during = numbers(&journey);
        journey.button(pointer + vec2(20.0, -10.0), false, Modifiers::NONE);
        let zoom = journey.window.state().state.editor.transform().zoom;
        let after = journey.marks().point(at).unwrap();
        let moved = (zoom * (after.x - before.x), zoom * (after.y - before.y));
        assert!((moved.0 - 20.0).abs() < 0.01 && (moved.1 + 10.0).abs() < 0.01, "{moved:?}");
        assert_eq!(during, numbers(&journey), "the numbers follow the drag");
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(journey.marks().point(at), Some(before), "a drag is one step");
        assert_ne!(during, numbers(&journey));
    });
}

#[test]
fn names_titles_and_scales_can_be_typed() {
    alone("names_titles_and_scales_can_be_typed", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case]);
        journey.key(Modifiers::NONE, Key::F2);
        for (field, text) in [("name", "first"), ("Case title", "Mine"), ("mm/pixel", "0,25")] {
            journey.type_into(field, text);
        }
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        let shot = document.shot().unwrap();
        assert_eq!((shot.id.as_str(), shot.mm_per_px), ("first", Some(0.25)));
        assert_eq!(journey.window.state().state.title(), "Stillmark – Mine ●");
    });
}

#[test]
fn every_size_scale_and_mode_can_be_drawn_and_then_rests() {
    alone("every_size_scale_and_mode_can_be_drawn_and_then_rests", |folder| {
        let case = demonstration(folder);
        for size in [vec2(1024.0, 700.0), vec2(640.0, 480.0), vec2(2560.0, 1440.0)] {
            for paths in [Vec::new(), vec![case.clone()]] {
                let mut journey = Journey::sized(paths, size);
                for _ in 0..2 {
                    for _ in 0..4 {
                        journey.key(Modifiers::CTRL, Key::Plus);
                    }
                    journey.key(Modifiers::NONE, Key::L);
                    journey.key(Modifiers::SHIFT, Key::Questionmark);
                    journey.key(Modifiers::NONE, Key::Escape);
                    journey.key(Modifiers::CTRL, Key::Num0);
                }
                // Nothing changes, so nothing is drawn again.
                journey.window.step();
                let output = &journey.window.output().viewport_output[&egui::ViewportId::ROOT];
                assert!(output.repaint_delay.as_secs() > 60, "{:?}", output.repaint_delay);
            }
        }
    });
}
