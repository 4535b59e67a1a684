//! A user at the window: finds controls by their accessible names, clicks at places of the picture, types.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::cell::RefCell;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use eframe::egui::{
    self, Event, Key, Modifiers, PointerButton, Pos2, Rect, ViewportCommand, ViewportEvent, vec2,
};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use stillmark::app::files::questions::Purpose;
use stillmark::app::pages;
use stillmark::app::work::jobs::Jobs;
use stillmark::geom::point::Point;
use stillmark::io::store::home::DATA_DIR_VARIABLE;
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::{Level, MarkKind, Marks, View};
use stillmark::ui::dialogs::{Dialogs, Reply, Request};
use stillmark::ui::window::StillmarkApp;

use crate::raster::Raster;

pub(crate) type Answers = Rc<RefCell<VecDeque<Vec<PathBuf>>>>;

/// A file that is dropped on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        Err("the window reads by path".to_owned())
    }
}

/// Answers for the user; without an answer it is a system without dialogs.
#[derive(Clone, Default)]
pub(crate) struct Scripted {
    pub(crate) answers: Answers,
    pub(crate) asked: Rc<RefCell<Vec<Purpose>>>,
}

impl Dialogs for Scripted {
    fn ask(&mut self, request: Request, reply: Reply) {
        self.asked.borrow_mut().push(request.purpose.clone());
        let answer = self.answers.borrow_mut().pop_front();
        reply.send(match answer {
            Some(paths) => request.chosen(Some(paths)),
            None => request.no_dialog(),
        });
    }
}

pub(crate) struct Journey {
    pub(crate) window: Harness<'static, StillmarkApp>,
    pub(crate) dialogs: Scripted,
    pub(crate) raster: Raster,
}

/// Runs a journey in a process of its own whose program folder is a fresh one, so that nothing of the machine's
/// user is read or changed.
pub(crate) fn alone(module: &str, name: &str, journey: impl FnOnce(&Path)) {
    if let Some(folder) = std::env::var_os(DATA_DIR_VARIABLE) {
        let folder = PathBuf::from(folder);
        journey(folder.parent().unwrap());
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let status = std::process::Command::new(std::env::current_exe().unwrap())
        .args([&format!("{module}::{name}"), "--exact", "--nocapture"])
        .env(DATA_DIR_VARIABLE, folder.path().join("program"))
        .status()
        .unwrap();
    assert!(status.success(), "the journey {name} failed in its own process");
}

pub(crate) fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images")
}

/// The lateral shots of L4 of the demonstration, as a case with their pictures in the folder.
pub(crate) fn demonstration(folder: &Path) -> PathBuf {
    let mut case = open_case(&samples().join("demonstration.case.json")).unwrap().case;
    case.shots.retain(|shot| shot.level == Some(Level::L4) && shot.view == View::Lateral);
    std::fs::create_dir_all(folder.join("images")).unwrap();
    for shot in &case.shots {
        std::fs::copy(samples().join(&shot.image), folder.join(&shot.image)).unwrap();
    }
    let file = folder.join("demonstration.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    file
}

/// One picture of the demonstration in the folder, and the places to mark on it in the guide's order.
pub(crate) fn one_picture(folder: &Path) -> (PathBuf, Vec<Point>) {
    let case = open_case(&samples().join("demonstration.case.json")).unwrap().case;
    let shot = case.shot("l4-right-lateral-final").unwrap();
    let picture = folder.join("still.png");
    std::fs::copy(samples().join(&shot.image), &picture).unwrap();
    (picture, walk(&shot.marks))
}

/// The places of the guide's nine marks.
pub(crate) fn walk(marks: &Marks) -> Vec<Point> {
    let at = |kind: MarkKind, share: f64| {
        let slots: Vec<Point> = marks.slots(kind).iter().copied().flatten().collect();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share of few points"
        )]
        let index = (share * (slots.len() - 1) as f64).round() as usize;
        slots[index]
    };
    vec![
        at(MarkKind::SuperiorEndPlate, 0.0),
        at(MarkKind::SuperiorEndPlate, 0.5),
        at(MarkKind::SuperiorEndPlate, 1.0),
        at(MarkKind::AnteriorWall, 0.5),
        at(MarkKind::InferiorEndPlate, 1.0),
        at(MarkKind::InferiorEndPlate, 0.5),
        at(MarkKind::InferiorEndPlate, 0.0),
        at(MarkKind::PosteriorWall, 0.5),
        at(MarkKind::Tip, 0.0),
    ]
}

impl Journey {
    pub(crate) fn begin(paths: Vec<PathBuf>) -> Self {
        Self::sized(paths, vec2(1280.0, 800.0))
    }

    pub(crate) fn sized(paths: Vec<PathBuf>, size: egui::Vec2) -> Self {
        let dialogs = Scripted::default();
        let own = dialogs.clone();
        let raster = Raster::default();
        let mut window = Harness::builder()
            .with_size(size)
            .renderer(raster.clone())
            .build_eframe(move |cc| StillmarkApp::new(&cc.egui_ctx, Jobs::inline(), Box::new(own), paths));
        window.run();
        Self { window, dialogs, raster }
    }

    pub(crate) fn answer(&self, path: &Path) {
        self.dialogs.answers.borrow_mut().push_back(vec![path.to_path_buf()]);
    }

    pub(crate) fn press(&mut self, label: &str) {
        self.window.get_by_label(label).scroll_to_me();
        self.window.run();
        self.window.get_by_label(label).click();
        self.window.run();
    }

    pub(crate) fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.window.key_press_modifiers(modifiers, key);
        self.window.run();
    }

    pub(crate) fn shows(&self, words: &str) -> bool {
        self.window.query_all_by_label_contains(words).next().is_some()
    }

    /// Drops files and folders on the window, all at once.
    pub(crate) fn drop_files(&mut self, paths: &[PathBuf]) {
        for path in paths {
            self.window.input_mut().dropped_files.push(std::sync::Arc::new(Dropped(path.clone())));
        }
        self.window.run();
    }

    /// Replaces what stands in a field, and leaves it.
    pub(crate) fn type_into(&mut self, field: &str, text: &str) {
        self.window.get_by_role_and_label(eframe::egui::accesskit::Role::TextInput, field).scroll_to_me();
        self.window.run();
        self.window.get_by_role_and_label(eframe::egui::accesskit::Role::TextInput, field).click();
        self.window.run();
        self.key(Modifiers::CTRL | Modifiers::COMMAND, Key::A);
        self.window.get_by_role_and_label(eframe::egui::accesskit::Role::TextInput, field).type_text(text);
        self.window.run();
        self.key(Modifiers::NONE, Key::Enter);
    }

    pub(crate) fn canvas(&self) -> Rect {
        self.window.get_by_role(egui::accesskit::Role::Canvas).rect()
    }

    pub(crate) fn screen(&self, at: Point) -> Pos2 {
        let state = &self.window.state().state;
        let p = pages::active(state).transform().to_canvas(at);
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let shift = vec2(p.x as f32, p.y as f32);
        self.canvas().min + shift
    }

    pub(crate) fn button(&mut self, pos: Pos2, pressed: bool, modifiers: Modifiers) {
        let button = PointerButton::Primary;
        self.window.event_modifiers(Event::PointerButton { pos, button, pressed, modifiers }, modifiers);
        self.window.run();
    }

    /// Says that the shown still is a lateral, which is asked before any mark, and goes on to its marks.
    pub(crate) fn it_is_a_lateral(&mut self) {
        self.key(Modifiers::NONE, Key::E);
        self.key(Modifiers::NONE, Key::Escape);
        self.by_hand();
    }

    /// Marks corner by corner where an outline would be proposed.
    pub(crate) fn by_hand(&mut self) {
        if self.window.state().state.editor.document.as_ref().unwrap().pointing().is_some() {
            self.key(Modifiers::SHIFT, Key::C);
        }
    }

    /// Fits the image into the canvas if a place is not in sight.
    pub(crate) fn bring_into_sight(&mut self, at: Point) {
        if !self.canvas().shrink(12.0).contains(self.screen(at)) {
            self.key(Modifiers::NONE, Key::F);
        }
    }

    pub(crate) fn click_picture(&mut self, at: Point) {
        self.bring_into_sight(at);
        let pos = self.screen(at);
        self.window.hover_at(pos);
        self.window.run();
        self.button(pos, true, Modifiers::NONE);
        self.button(pos, false, Modifiers::NONE);
    }

    pub(crate) fn marks(&self) -> Marks {
        self.window.state().state.editor.document.as_ref().unwrap().shot().unwrap().marks.clone()
    }

    pub(crate) fn unsaved(&self) -> bool {
        self.window.state().state.editor.document.as_ref().unwrap().unsaved()
    }

    pub(crate) fn mark_all(&mut self, places: &[Point]) {
        for at in places {
            self.click_picture(*at);
        }
    }

    pub(crate) fn close(&mut self) -> Vec<ViewportCommand> {
        let info = self.window.input_mut().viewports.get_mut(&egui::ViewportId::ROOT).unwrap();
        info.events.push(ViewportEvent::Close);
        self.window.step();
        let sent = self.commands();
        let info = self.window.input_mut().viewports.get_mut(&egui::ViewportId::ROOT).unwrap();
        info.events.clear();
        self.window.run();
        sent
    }

    pub(crate) fn commands(&self) -> Vec<ViewportCommand> {
        let output = &self.window.output().viewport_output;
        output.get(&egui::ViewportId::ROOT).map(|output| output.commands.clone()).unwrap_or_default()
    }
}
