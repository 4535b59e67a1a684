//! Short films: all of their frames, a range or every nth become images or shots at once, at the command line and in the
//! window.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};

use stillmark::io::import::source::Source;
use stillmark::io::store::save::open_case;

use crate::dicom_bytes::{self, EXPLICIT, Pixels};
use crate::odd_inputs::{animated, avi, jpeg};
use crate::support::{folder, names_in, put, stillmark_cli};

/// A film of six frames of each kind; frame n is of one gray, 40 n.
fn films(folder: &Path) -> Vec<PathBuf> {
    let grays: Vec<u8> = (0..6).map(|n| 40 * n).collect();
    let mut dicom = dicom_bytes::File::grey(4, 2, 8, false);
    dicom.text((0x28, 8), b"IS", "6");
    let native: Vec<u8> = grays.iter().flat_map(|gray| [*gray; 8]).collect();
    let dicom = dicom.written(EXPLICIT).with_pixels(Pixels::Bytes(native));
    let jpegs: Vec<Vec<u8>> = grays.iter().map(|gray| jpeg(*gray)).collect();
    vec![
        put(folder, "film.gif", animated(6)),
        put(folder, "film.avi", avi(b"MJPG", &jpegs)),
        put(folder, "film.dcm", dicom.bytes()),
    ]
}

fn run(arguments: &[&str]) -> crate::support::Run {
    stillmark_cli(arguments).unwrap()
}

#[test]
fn the_chosen_frames_of_each_kind_of_film_are_written_and_become_a_case() {
    let folder = folder();
    for film in films(folder.path()) {
        let kind = film.extension().unwrap().to_string_lossy().into_owned();
        let (out, case) = (folder.path().join(&kind), folder.path().join(format!("{kind}.case.json")));
        let (film, to, file) = (film.to_str().unwrap(), out.to_str().unwrap(), case.to_str().unwrap());
        let done = run(&["frame", film, "--frames", "1-5/2", "--out", to, "--case", file]);
        assert_eq!((done.status, done.err.as_str()), (Some(0), ""), "{kind}");
        let names = names_in(&out).unwrap();
        assert_eq!(names, ["film-frame-2.png", "film-frame-4.png", "film-frame-6.png"], "{kind}");
        for (name, gray) in names.iter().zip([40_u8, 120, 200]) {
            let image = image::open(out.join(name)).unwrap().into_luma8();
            assert!(image.get_pixel(1, 1).0[0].abs_diff(gray) <= 2, "{kind} {name}");
        }
        let made = open_case(&case).unwrap().case;
        let frames: Vec<(String, u32, bool)> = made
            .shots
            .iter()
            .map(|shot| (shot.image.clone(), shot.frame, shot.known_view().is_none()))
            .collect();
        let expected = [1, 3, 5].map(|frame| (format!("film.{kind}"), frame, true));
        assert_eq!(frames, expected, "{kind}");
        // All of them; each is read again as it was.
        let all = run(&[
            "frame",
            film,
            "--frames",
            "all",
            "--out",
            folder.path().join("all").to_str().unwrap(),
            "--force",
        ]);
        assert_eq!(all.status, Some(0), "{}", all.err);
    }
}

/// Frames of a film that is gone through once are those that are asked for one by one.
#[test]
fn frames_in_a_row_are_the_frames_one_by_one() {
    let folder = folder();
    for film in films(folder.path()) {
        let source = Source::open(&film).unwrap();
        for frames in [&[0, 1, 2, 3, 4, 5][..], &[2, 5], &[5], &[4, 1], &[3, 3], &[]] {
            let mut seen = Vec::new();
            source.each_frame(frames, &mut |index, frame| seen.push((index, frame))).unwrap();
            assert_eq!(seen.iter().map(|(index, _)| *index).collect::<Vec<_>>(), frames);
            for (index, frame) in seen {
                let alone = source.frame(index).unwrap();
                assert!(frame.samples == alone.samples && frame.facts == alone.facts, "{}", film.display());
                assert_eq!((frame.warnings, frame.digest), (alone.warnings, alone.digest));
            }
        }
        assert!(source.each_frame(&[1, 6], &mut |_, _| panic!("none is handed on")).is_err());
    }
}

/// A case that was saved by somebody is not replaced, and then no image is written either.
#[test]
fn a_case_that_stands_in_the_way_leaves_no_images() {
    let folder = folder();
    let film = films(folder.path()).remove(0);
    let case = put(folder.path(), "mine.case.json", b"somebody's");
    let images = folder.path().join("images");
    let [film, file, out] = [&film, &case, &images].map(|path| path.to_str().unwrap());
    let done = run(&["frame", film, "--frames", "all", "--out", out, "--case", file]);
    assert_eq!(done.status, Some(2));
    assert!(done.err.contains("mine.case.json"), "{}", done.err);
    assert!(!images.exists() && std::fs::read(&case).unwrap() == b"somebody's");
}

#[test]
fn frames_that_are_not_there_are_refused_and_nothing_is_written() {
    let folder = folder();
    let film = films(folder.path()).remove(0);
    let out = folder.path().join("frames");
    for (choice, words) in
        [("0-9", "the file has 6"), ("4-2", "the file has 6"), ("some", "write all"), ("all/0", "write all")]
    {
        let run = run(&["frame", film.to_str().unwrap(), "--frames", choice, "--out", out.to_str().unwrap()]);
        assert_eq!((run.status, out.exists()), (Some(2), false), "{choice}");
        assert!(run.err.contains(words), "{choice}: {}", run.err);
    }
    let nowhere = run(&["frame", film.to_str().unwrap(), "--frames", "all"]);
    assert!(nowhere.status == Some(2) && nowhere.err.contains("--out"), "{}", nowhere.err);
}

#[cfg(feature = "window")]
mod window {
    use std::path::PathBuf;

    use egui_kittest::kittest::Queryable as _;

    use super::films;
    use crate::journey::Journey;

    fn frames(journey: &Journey) -> Vec<u32> {
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        document.case().shots.iter().map(|shot| shot.frame).collect()
    }

    /// What stands in a field is replaced.
    fn enter(journey: &mut Journey, name: &str, text: &str) {
        use eframe::egui::{Key, Modifiers};
        journey.window.get_by_label(name).click();
        journey.window.run();
        journey.key(Modifiers::COMMAND, Key::A);
        journey.window.get_by_label(name).type_text(text);
        journey.window.run();
    }

    #[test]
    fn a_film_that_is_opened_gives_all_of_its_frames_a_range_or_every_nth() {
        let name = "a_film_that_is_opened_gives_all_of_its_frames_a_range_or_every_nth";
        crate::journey::alone("films::window", name, |folder| {
            let all: Vec<PathBuf> = films(folder);
            for film in &all {
                let mut journey = Journey::begin(vec![film.clone()]);
                assert!(journey.shows("has 6 frames; the first is shown"), "{}", film.display());
                journey.press("Add frames");
                enter(&mut journey, "First frame", "2");
                enter(&mut journey, "Every nth", "2");
                journey.press("Add 3 frames");
                assert_eq!(frames(&journey), [0, 1, 3, 5], "{}", film.display());
                assert!(journey.shows("3 frames were added as shots"));
                // The rest: those that are there stay as they are.
                journey.press("Add frames");
                enter(&mut journey, "Last frame", "99");
                assert!(journey.shows("the file has 6"));
                journey.press("All frames");
                journey.press("Add 6 frames");
                assert_eq!(frames(&journey), [0, 1, 2, 3, 4, 5], "{}", film.display());
                assert!(journey.shows("4 were shots already"));
            }
        });
    }
}
