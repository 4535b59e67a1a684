//! The window: `stillmark [CASE | PICTURE | FOLDER]…`

// Without a console window beside it; what it says at the start is then seen only where it was started from one.
#![cfg_attr(all(windows, not(debug_assertions)), windows_subsystem = "windows")]

use std::path::PathBuf;
use std::process::ExitCode;

use stillmark::app::files::own_folder::window_file;
use stillmark::app::work::jobs::Jobs;
use stillmark::ui::dialogs::SystemDialogs;
use stillmark::ui::needs::{found_in, library_folders, missing};
use stillmark::ui::window::{PLACES, REMEMBERED, SCALES, StillmarkApp};

const USAGE: &str = "\
Reads where a probe's tip sits inside a vertebral body on saved fluoroscopy stills.

Usage: stillmark [CASE | PICTURE | FOLDER]…

Opens a case file, or pictures and folders of pictures as a new case. Without arguments the first view is shown.
The command line is stillmark-cli.";

fn main() -> ExitCode {
    if let Some(status) = stillmark::io::import::apart::serve(std::env::args_os()) {
        return ExitCode::from(status);
    }
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    if let Some(option) = arguments.iter().find(|path| path.to_string_lossy().starts_with('-')) {
        return answer_option(&option.to_string_lossy());
    }
    let viewport = egui::ViewportBuilder::default()
        .with_app_id("stillmark")
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([640.0, 480.0])
        .with_drag_and_drop(true);
    let viewport = match eframe::icon_data::from_png_bytes(include_bytes!("ui/icon.png")) {
        Ok(icon) => viewport.with_icon(icon),
        Err(_) => viewport,
    };
    let options = eframe::NativeOptions {
        viewport,
        renderer: eframe::Renderer::Glow,
        persist_window: true,
        persistence_path: window_file(),
        ..eframe::NativeOptions::default()
    };
    let run = eframe::run_native(
        "Stillmark",
        options,
        Box::new(move |cc| {
            let ctx = cc.egui_ctx.clone();
            let jobs = Jobs::threaded(move || ctx.request_repaint());
            let mut app = StillmarkApp::new(&cc.egui_ctx, jobs, Box::new(SystemDialogs), arguments);
            if let Some(remembered) = cc.storage.and_then(|storage| storage.get_string(REMEMBERED)) {
                app.state.display.recall(&remembered);
            }
            if let Some(places) = cc.storage.and_then(|storage| storage.get_string(PLACES)) {
                app.state.recall_places(&places);
            }
            if let Some(scales) = cc.storage.and_then(|storage| storage.get_string(SCALES)) {
                app.state.editor.last_scales.recall(&scales);
            }
            Ok(Box::new(app))
        }),
    );
    match run {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            let lacking = if cfg!(target_os = "linux") {
                missing(|file| found_in(&library_folders(), file))
            } else {
                None
            };
            let what = lacking.unwrap_or_else(|| error.to_string());
            complain(&format!("stillmark: the window cannot be opened: {what}"))
        }
    }
}

#[expect(clippy::print_stdout, reason = "the answer to --help and --version")]
fn answer_option(option: &str) -> ExitCode {
    match option {
        "-h" | "--help" => println!("{USAGE}"),
        "-V" | "--version" => println!("stillmark {}", stillmark::scene::words::version::version()),
        other => return complain(&format!("stillmark: there is no option {other}\n\n{USAGE}")),
    }
    ExitCode::SUCCESS
}

#[expect(clippy::print_stderr, reason = "the window has not been opened")]
fn complain(sentence: &str) -> ExitCode {
    eprintln!("{sentence}");
    ExitCode::from(2)
}
