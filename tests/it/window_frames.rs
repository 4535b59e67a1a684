//! Journeys about the picture itself: covers and giving away, which way up, greys, and the scale.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::cell::RefCell;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use eframe::egui::{self, Event, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use stillmark::app::session::document::Document;
use stillmark::app::session::state::State;
use stillmark::app::work::jobs::Jobs;
use stillmark::case::document::Shot;
use stillmark::geom::point::Point;
use stillmark::io::store::home::DATA_DIR_VARIABLE;
use stillmark::io::store::save::open_case;
use stillmark::measure::calibration::ScaleFrom;
use stillmark::scene::window_level::look::Base;
use stillmark::ui::dialogs::{Dialogs, Reply, Request};
use stillmark::ui::window::StillmarkApp;

/// Answers for the user; without an answer it is a system without dialogs.
#[derive(Clone, Default)]
struct Scripted(Rc<RefCell<VecDeque<PathBuf>>>);

impl Dialogs for Scripted {
    fn ask(&mut self, request: Request, reply: Reply) {
        let answer = self.0.borrow_mut().pop_front();
        reply.send(match answer {
            Some(path) => request.chosen(Some(vec![path])),
            None => request.no_dialog(),
        });
    }
}

struct Journey {
    window: Harness<'static, StillmarkApp>,
    answers: Scripted,
}

/// Runs a journey in a process of its own whose program folder is a fresh one.
fn alone(name: &str, journey: impl FnOnce(&Path)) {
    if let Some(folder) = std::env::var_os(DATA_DIR_VARIABLE) {
        journey(PathBuf::from(folder).parent().unwrap());
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let status = std::process::Command::new(std::env::current_exe().unwrap())
        .args([&format!("window_frames::{name}"), "--exact", "--nocapture"])
        .env(DATA_DIR_VARIABLE, folder.path().join("program"))
        .status()
        .unwrap();
    assert!(status.success(), "the journey {name} failed in its own process");
}

impl Journey {
    fn begin(path: &Path) -> Self {
        let answers = Scripted::default();
        let (own, paths) = (answers.clone(), vec![path.to_path_buf()]);
        let mut window = Harness::builder()
            .with_size(vec2(1280.0, 800.0))
            .build_eframe(move |cc| StillmarkApp::new(&cc.egui_ctx, Jobs::inline(), Box::new(own), paths));
        window.run();
        Self { window, answers }
    }

    fn state(&self) -> &State {
        &self.window.state().state
    }

    fn document(&self) -> &Document {
        self.state().editor.document.as_ref().unwrap()
    }

    fn shot(&self) -> &Shot {
        self.document().shot().unwrap()
    }

    fn press(&mut self, label: &str) {
        self.window.get_by_label(label).scroll_to_me();
        self.window.run();
        self.window.get_by_label(label).click();
        self.window.run();
    }

    /// Opens one of the menus at the top and presses what stands in it.
    fn menu(&mut self, menu: &str, label: &str) {
        self.press(menu);
        self.press(label);
    }

    fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.window.key_press_modifiers(modifiers, key);
        self.window.run();
    }

    fn shows(&self, words: &str) -> bool {
        self.window.query_all_by_label_contains(words).next().is_some()
    }

    fn write(&mut self, field: &str, text: &str) {
        self.window.get_by_role_and_label(egui::accesskit::Role::TextInput, field).focus();
        self.window.run();
        self.window.get_by_role_and_label(egui::accesskit::Role::TextInput, field).type_text(text);
        self.window.run();
    }

    fn screen(&self, at: Point) -> Pos2 {
        let p = self.state().editor.transform().to_canvas(at);
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let shift = vec2(p.x as f32, p.y as f32);
        self.window.get_by_role(egui::accesskit::Role::Canvas).rect().min + shift
    }

    fn button(&mut self, pos: Pos2, button: PointerButton, pressed: bool) {
        let modifiers = Modifiers::NONE;
        self.window.event(Event::PointerButton { pos, button, pressed, modifiers });
        self.window.run();
    }

    fn drag(&mut self, button: PointerButton, from: Pos2, to: Pos2) {
        self.window.hover_at(from);
        self.window.run();
        self.button(from, button, true);
        for share in [0.3, 0.7, 1.0] {
            self.window.hover_at(from + (to - from) * share);
            self.window.run();
        }
        self.button(to, button, false);
    }

    fn drag_picture(&mut self, from: Point, to: Point) {
        self.key(Modifiers::NONE, Key::F);
        let (from, to) = (self.screen(from), self.screen(to));
        self.drag(PointerButton::Primary, from, to);
    }
}

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images")
}

/// A picture of the demonstration with light strokes burned into its upper left corner.
pub(crate) fn written_on(folder: &Path) -> PathBuf {
    let case = open_case(&samples().join("demonstration.case.json")).unwrap().case;
    let mut picture = image::open(samples().join(&case.shots[0].image)).unwrap().into_luma8();
    for (x, y) in (0..60).flat_map(|x| (0..10).map(move |y| (x, y))).filter(|(x, _)| x % 5 < 2) {
        picture.put_pixel(x + 4, y + 4, image::Luma([240]));
    }
    let path = folder.join("still.png");
    picture.save(&path).unwrap();
    path
}

fn demonstration(folder: &Path) -> PathBuf {
    let images = folder.join("images");
    std::fs::create_dir_all(&images).unwrap();
    for entry in std::fs::read_dir(samples().join("images")).unwrap() {
        let from = entry.unwrap().path();
        std::fs::copy(&from, images.join(from.file_name().unwrap())).unwrap();
    }
    let case = folder.join("demonstration.case.json");
    std::fs::copy(samples().join("demonstration.case.json"), &case).unwrap();
    case
}

#[test]
fn words_are_covered_and_the_case_is_given_away() {
    alone("words_are_covered_and_the_case_is_given_away", |folder| {
        let mut journey = Journey::begin(&written_on(folder));
        let asks = "1 region outside the field looks like burned-in text";
        assert!(!journey.shows(asks), "first the image is labeled");
        journey.key(Modifiers::NONE, Key::E);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(journey.shows(asks));
        // Without covers the export asks.
        let given = folder.join("given");
        journey.answers.0.borrow_mut().push_back(given.clone());
        journey.key(Modifiers::CTRL, Key::E);
        assert!(journey.shows("The shared copy may contain readable text"));
        journey.press("Check the images first");
        assert!(!given.exists());
        // What is proposed is accepted by the user, one more is drawn, moved and taken away.
        journey.press("Redact suggested");
        assert_eq!(journey.shot().covers.len(), 1);
        assert!(!journey.shows("looks like words"));
        journey.menu("Image", "Redact text");
        let places =
            [(300.0, 300.0), (360.0, 340.0), (330.0, 320.0), (350.0, 330.0)].map(|(x, y)| Point::new(x, y));
        journey.drag_picture(places[0], places[1]);
        assert_eq!(journey.shot().covers.len(), 2);
        assert!(journey.shows("2 covers"));
        let drawn = journey.shot().covers[1];
        assert!(drawn.min.distance(places[0]) < 1.0 && drawn.max.distance(places[1]) < 1.0, "{drawn:?}");
        journey.drag_picture(places[2], places[3]);
        let moved = journey.shot().covers[1];
        assert!((moved.min - drawn.min - (places[3] - places[2])).length() < 1.0, "{moved:?}");
        journey.press("Delete box");
        assert_eq!(journey.shot().covers.len(), 1);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(journey.shot().covers[1], moved);
        journey.press("Done");
        // Now it is given away.
        journey.answers.0.borrow_mut().push_back(given.clone());
        journey.key(Modifiers::CTRL, Key::E);
        assert!(journey.shows("The case was exported to"));
        let case = open_case(&given.join("exported.case.json")).unwrap().case;
        let picture = image::open(given.join(&case.shots[0].image)).unwrap().into_luma8();
        assert_eq!([(6, 6), (340, 325)].map(|(x, y)| picture.get_pixel(x, y).0[0]), [0, 0]);
    });
}

#[test]
fn a_turned_and_mirrored_picture_is_marked_where_it_is_seen() {
    alone("a_turned_and_mirrored_picture_is_marked_where_it_is_seen", |folder| {
        let mut journey = Journey::begin(&written_on(folder));
        for key in [Key::E, Key::Escape] {
            journey.key(Modifiers::NONE, key);
        }
        // Corner by corner.
        journey.key(Modifiers::SHIFT, Key::C);
        journey.menu("Image", "Rotate 90° clockwise");
        journey.key(Modifiers::NONE, Key::X);
        journey.key(Modifiers::NONE, Key::T);
        let turn = journey.document().aspect().turn;
        assert!(turn.mirrored && (turn.degrees - 271.0).abs() < 1e-9, "{turn:?}");
        let place = Point::new(250.0, 180.0);
        journey.key(Modifiers::NONE, Key::F);
        let pos = journey.screen(place);
        journey.window.hover_at(pos);
        journey.window.run();
        journey.button(pos, PointerButton::Primary, true);
        journey.button(pos, PointerButton::Primary, false);
        let (_, marked) = journey.shot().marks.placed().next().unwrap();
        assert!(marked.distance(place) < 1e-3, "{marked:?}");
        // Showing it as stored moves no mark.
        journey.key(Modifiers::SHIFT, Key::X);
        assert_eq!(journey.shot().marks.placed().next().unwrap().1, marked);
        assert!(!journey.document().aspect().turn.mirrored);
    });
}

#[test]
fn greys_are_changed_by_key_menu_and_drag_and_nothing_is_stored() {
    alone("greys_are_changed_by_key_menu_and_drag_and_nothing_is_stored", |folder| {
        let mut journey = Journey::begin(&demonstration(folder));
        let before = journey.state().editor.greys().unwrap();
        journey.key(Modifiers::NONE, Key::Y);
        assert!(journey.document().aspect().look.local);
        let middle = journey.window.get_by_role(egui::accesskit::Role::Canvas).rect().center();
        journey.drag(PointerButton::Secondary, middle, middle + vec2(80.0, -40.0));
        let dragged = journey.state().editor.greys().unwrap();
        assert!(dragged.high - dragged.low > before.high - before.low, "{dragged:?}");
        assert!(matches!(journey.document().aspect().look.base, Base::Window(_)));
        journey.menu("Image", "Auto window/level");
        assert_eq!(journey.state().editor.greys(), Some(before));
        journey.menu("Image", "Invert");
        assert!(journey.document().aspect().look.inverted);
        assert!(!journey.document().unsaved());
    });
}

#[test]
fn a_known_width_gives_millimetres_with_their_uncertainty() {
    alone("a_known_width_gives_millimetres_with_their_uncertainty", |folder| {
        let mut journey = Journey::begin(&demonstration(folder));
        // A complete case opens with the last lateral of the final stage.
        assert_eq!(journey.shot().id, "l4-right-lateral-final");
        assert!(journey.shot().mm_per_px.is_some());
        journey.key(Modifiers::NONE, Key::H);
        journey.press("Clear scale");
        assert_eq!(journey.shot().mm_per_px, None);
        assert!(journey.shows("Not calibrated: fractions only."));
        journey.key(Modifiers::SHIFT, Key::M);
        assert!(journey.shows("This shot is not calibrated, so only fractions are read"));
        journey.drag_picture(Point::new(200.0, 200.0), Point::new(300.0, 200.0));
        journey.write("Known length in mm", "30");
        journey.press("Use this line");
        let shot = journey.shot();
        assert_eq!(shot.scale_from, Some(ScaleFrom::KnownLength));
        // 30 mm over 100 px; two clicks of 0.25 mm: √2 · 0.25 / 30 of it.
        assert!((shot.mm_per_px.unwrap() - 0.3).abs() < 2e-3, "{:?}", shot.mm_per_px);
        let relative = shot.mm_per_px_sd.unwrap() / shot.mm_per_px.unwrap();
        assert!((relative - 0.011_785).abs() < 1e-5, "{relative}");
        assert!(!journey.shows("This shot is not calibrated"));
        journey.key(Modifiers::NONE, Key::C);
        assert!(journey.shows("Body depth at mid-height") && journey.shows("mm ±"));
        assert!(journey.shows("from a known length"));
        journey.write("Scale, mm/pixel", "0,25");
        journey.write("Scale ± (1 SD)", "0.01");
        journey.press("Apply");
        assert_eq!((journey.shot().mm_per_px, journey.shot().mm_per_px_sd), (Some(0.25), Some(0.01)));
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(journey.shot().scale_from, Some(ScaleFrom::KnownLength));
    });
}
