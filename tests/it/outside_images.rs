//! Images outside the folder of a case that came from somebody else: nothing of them is opened before somebody here has said
//! so, neither by the window nor by the command line.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use stillmark::io::store::save::{Over, save_case};

use crate::support::{case_of, folder, lateral_shot, write_picture};

/// A case in a folder of its own with three images: inside, beside its folder by `..`, and by an absolute path.
fn case_in(place: &Path) -> PathBuf {
    for name in ["case", "beside", "far"] {
        std::fs::create_dir(place.join(name)).unwrap();
    }
    for name in ["case/in.png", "beside/up.png", "far/off.png"] {
        write_picture(&place.join(name), 800, 600).unwrap();
    }
    let far = place.join("far/off.png").to_string_lossy().into_owned();
    let shots = [("in", "in.png"), ("up", "../beside/up.png"), ("far", far.as_str())];
    let case = case_of("Theirs", shots.iter().map(|(id, image)| lateral_shot(id, image)).collect());
    let file = place.join("case/theirs.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    file
}

/// Runs the command line with a program folder of its own, and returns its status and standard output.
fn run(home: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .args(arguments)
        .env("STILLMARK_DATA_DIR", home)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

/// What is said of each shot's picture.
fn said(out: &str) -> Vec<String> {
    let all: Value = serde_json::from_str(out).unwrap();
    let of = |reading: &Value| {
        reading["picture"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .collect::<Vec<_>>()
            .join(" ")
    };
    all[0]["readings"].as_array().unwrap().iter().map(of).collect()
}

#[test]
fn the_command_line_opens_images_outside_the_case_folder_only_when_told_to() {
    let (place, home) = (folder(), folder());
    let file = case_in(place.path());
    let file = file.to_string_lossy();
    let (status, out, _) = run(home.path(), &["read", &file, "--json"]);
    assert_eq!(status, Some(0), "marks are read without the images");
    let without = said(&out);
    assert_eq!(without[0], "");
    for outside in &without[1..] {
        assert!(outside.contains("outside the case folder"), "{outside}");
        assert!(!outside.contains("beside") && !outside.contains("/far/"), "no folder is told: {outside}");
    }
    let (status, out, _) = run(home.path(), &["read", &file, "--json", "--outside-images"]);
    assert_eq!((status, said(&out)), (Some(0), vec![String::new(); 3]));

    // A figure of such a shot is refused in a sentence, and made when told to; the next run asks anew.
    let figure = place.path().join("far.png").to_string_lossy().into_owned();
    let refused = run(home.path(), &["figure", &file, "far", "--out", &figure]);
    assert_eq!(refused.0, Some(2), "{refused:?}");
    assert!(refused.2.contains("--outside-images") && !Path::new(&figure).exists(), "{refused:?}");
    let made = run(home.path(), &["--outside-images", "figure", &file, "far", "--out", &figure]);
    assert_eq!(made.0, Some(0), "{made:?}");
    assert_eq!(run(home.path(), &["figure", &file, "up", "--out", &figure]).0, Some(2));
}

#[cfg(feature = "window")]
mod window {
    use egui_kittest::kittest::Queryable as _;
    use stillmark::io::store::home::DATA_DIR_VARIABLE;

    use super::{case_in, run, said};
    use crate::journey::{Journey, alone};

    /// Whether the shown shot has an image.
    fn shown(journey: &Journey) -> bool {
        journey.window.state().state.editor.shown_frame().is_some()
    }

    #[test]
    fn the_window_asks_once_names_the_folders_and_remembers_the_answer() {
        alone(
            "outside_images::window",
            "the_window_asks_once_names_the_folders_and_remembers_the_answer",
            |folder| {
                let place = folder.join("theirs");
                std::fs::create_dir(&place).unwrap();
                let file = case_in(&place);
                let question = "Open images from outside the case folder?";
                let mut journey = Journey::begin(vec![file.clone()]);
                assert!(journey.shows(question));
                for named in ["beside", "far"] {
                    assert!(journey.shows(&place.join(named).display().to_string()), "{named} is named");
                }
                journey.press("Leave them closed");
                let shots = |journey: &Journey| {
                    let document = journey.window.state().state.editor.document.as_ref().unwrap();
                    document
                        .case()
                        .shots
                        .iter()
                        .map(|shot| document.image_path(shot).is_ok())
                        .collect::<Vec<_>>()
                };
                assert_eq!(shots(&journey), [true, false, false]);
                assert!(journey.window.query_by_label(question).is_none());
                drop(journey);

                // It is asked again at the next opening, and never again once it is allowed.
                let mut journey = Journey::begin(vec![file.clone()]);
                journey.press("Open them");
                assert_eq!(shots(&journey), [true; 3]);
                journey.window.run();
                assert!(shown(&journey));
                drop(journey);
                let journey = Journey::begin(vec![file.clone()]);
                assert!(!journey.shows(question));
                assert_eq!(shots(&journey), [true; 3]);
                drop(journey);

                // The command line goes by the same answer, and nothing that is kept names a folder.
                let home = std::env::var_os(DATA_DIR_VARIABLE).unwrap();
                let (_, out, _) = run(home.as_ref(), &["read", &file.to_string_lossy(), "--json"]);
                assert_eq!(said(&out), vec![String::new(); 3]);
                let kept = std::fs::read_to_string(std::path::Path::new(&home).join("allowed.txt")).unwrap();
                assert!(
                    kept.lines().count() == 2 && kept.lines().all(|line| line.starts_with("sha256:")),
                    "{kept}"
                );
            },
        );
    }
}
