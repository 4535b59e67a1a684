//! Journeys to the archive and to open tables: a case as DICOM, with and without identity, its keypoints out and in.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use stillmark::io::export::report_back::read_back;
use stillmark::measure::mark::Marks;

use crate::dicom_out::{IDENTITY, two_views};
use crate::journey::{Journey, demonstration};
use crate::support::{names_in, stillmark_cli};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_archive", name, journey);
}

fn menu(journey: &mut Journey, entry: &str) {
    journey.press("Case");
    journey.press(entry);
}

fn bytes_in(folder: &Path) -> Vec<Vec<u8>> {
    let names = names_in(folder).unwrap();
    names.iter().map(|name| std::fs::read(folder.join(name)).unwrap()).collect()
}

fn has(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

#[test]
fn a_case_is_saved_as_dicom_without_identity_and_as_the_command_line_does() {
    alone("a_case_is_saved_as_dicom_without_identity_and_as_the_command_line_does", |folder| {
        let case = two_views(folder, |_| {});
        let mut journey = Journey::begin(vec![case.clone()]);
        menu(&mut journey, "Save as DICOM");
        assert!(journey.shows("No name, ID, date or identifier of the source images is in the files."));
        assert!(journey.shows("are copied into every file"), "both choices say what they do");
        let out = folder.join("archive");
        journey.answer(&out);
        journey.press("Select folder");
        assert!(journey.shows("The case was exported to"), "{:?}", names_in(folder));
        let names = names_in(&out).unwrap();
        let by_command = folder.join("by-command");
        let arguments: [&Path; 4] = [Path::new("dicom"), &case, Path::new("--out"), &by_command];
        assert_eq!(stillmark_cli(arguments).unwrap().status, Some(0));
        assert_eq!(names, names_in(&by_command).unwrap());
        for bytes in bytes_in(&out) {
            for (_, _, value) in IDENTITY.iter().filter(|(.., value)| value.len() > 4) {
                assert!(!has(&bytes, value.as_bytes()), "{value}");
            }
        }
        let back = read_back(&out.join("report.dcm"), &folder.join("back.case.json")).unwrap();
        assert!(back.compared > 0 && back.largest < 1e-6);
    });
}

#[test]
fn identity_is_copied_only_by_explicit_choice() {
    alone("identity_is_copied_only_by_explicit_choice", |folder| {
        let mut journey = Journey::begin(vec![two_views(folder, |_| {})]);
        menu(&mut journey, "Save as DICOM");
        journey.press("Beside the source images");
        let out = folder.join("archive");
        journey.answer(&out);
        journey.press("Select folder");
        let report = std::fs::read(out.join("report.dcm")).unwrap();
        let (_, _, name) = IDENTITY.iter().find(|(tag, ..)| *tag == (0x10, 0x10)).unwrap();
        assert!(has(&report, name.as_bytes()));
        // The next time nobody is named again until it is chosen again.
        menu(&mut journey, "Save as DICOM");
        let second = folder.join("second");
        journey.answer(&second);
        journey.press("Select folder");
        let report = std::fs::read(second.join("report.dcm")).unwrap();
        assert!(!has(&report, name.as_bytes()));
    });
}

#[test]
fn images_that_are_not_dicom_are_refused_beside_the_source() {
    alone("images_that_are_not_dicom_are_refused_beside_the_source", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        menu(&mut journey, "Save as DICOM");
        journey.press("Beside the source images");
        let out = folder.join("archive");
        journey.answer(&out);
        journey.press("Select folder");
        assert!(journey.shows("is not a DICOM file"));
        assert!(!out.exists());
        // Nothing to write, or no code: the reason stands there and the folder cannot be chosen.
        menu(&mut journey, "Save as DICOM");
        for part in [
            "Figures (secondary captures)",
            "All readings (structured report)",
            "Overlays (presentation states)",
        ] {
            journey.press(part);
        }
        assert!(journey.shows("select figures, report or overlays"));
        journey.press("Cancel");
        assert!(journey.window.state().state.question.is_none());
    });
}

fn marks_of(journey: &Journey) -> Vec<Marks> {
    let document = journey.window.state().state.editor.document.as_ref().unwrap();
    document.case().shots.iter().map(|shot| shot.marks.clone()).collect()
}

#[test]
fn keypoints_go_out_and_come_in_as_one_step() {
    alone("keypoints_go_out_and_come_in_as_one_step", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case.clone()]);
        let before = marks_of(&journey);
        let out: PathBuf = folder.join("keypoints");
        journey.answer(&out);
        menu(&mut journey, "Export keypoints");
        assert_eq!(names_in(&out).unwrap(), ["keypoints.csv", "keypoints.json"]);
        // Somebody moved every point by two pixels.
        let table = std::fs::read_to_string(out.join("keypoints.csv")).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let heads = reader.headers().unwrap().clone();
        let x = heads.iter().position(|head| head == "x").unwrap();
        let moved = folder.join("moved.csv");
        let mut writer = csv::Writer::from_path(&moved).unwrap();
        writer.write_record(&heads).unwrap();
        for record in reader.records() {
            let record = record.unwrap();
            let cells = record.iter().enumerate().map(|(at, cell)| {
                if at == x { (cell.parse::<f64>().unwrap() + 2.0).to_string() } else { cell.to_owned() }
            });
            writer.write_record(cells.collect::<Vec<String>>()).unwrap();
        }
        writer.flush().unwrap();
        journey.answer(&moved);
        menu(&mut journey, "Import keypoints");
        assert!(journey.shows("taken in for"));
        let after = marks_of(&journey);
        for (a, b) in before.iter().zip(&after) {
            for ((_, p), (_, q)) in a.placed().zip(b.placed()) {
                assert!((q.x - p.x - 2.0).abs() < 1e-9 && (q.y - p.y).abs() < 1e-9);
            }
        }
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(marks_of(&journey), before, "one step back");
        // A table that is about other images says so.
        let other = folder.join("other.csv");
        std::fs::write(&other, "image,view,point,x,y\nz.png,lateral,tip.1,1,2\n").unwrap();
        journey.answer(&other);
        menu(&mut journey, "Import keypoints");
        assert!(journey.shows("none of the images of this case"));
        assert!(journey.window.query_by_label("Import").is_none());
    });
}

/// Told step by step; once it is stopped nothing is left, neither the folder nor what was made for it.
#[test]
fn saving_as_dicom_says_how_far_it_has_come_and_leaves_nothing_when_stopped() {
    use stillmark::app::command::Command;
    use stillmark::app::command::file::FileCommand;
    use stillmark::app::files::export_form::{DicomChoice, ExportForm};
    use stillmark::app::session::state::State;
    use stillmark::app::session::update::{receive, update};
    use stillmark::app::work::cancel::Cancel;
    use stillmark::app::work::effect::{Effect, Outcome, Stoppable};
    use stillmark::app::work::performer::{Perform as _, Performer};
    use stillmark::io::store::save::open_case;

    let place = crate::support::folder();
    let file = two_views(place.path(), |_| ());
    let folder = place.path().join("archive");
    let before = names_in(place.path()).unwrap();
    let effect = Effect::Export {
        case: Box::new(open_case(&file).unwrap().case),
        file: Some(file.clone()),
        folder: folder.clone(),
        form: ExportForm::Dicom(DicomChoice::default()),
        as_is: true,
    };
    assert_eq!(Stoppable::of(&effect), Some(Stoppable::Exporting));
    let run = |stop_at: usize| {
        let (cancel, mut told) = (Cancel::default(), Vec::new());
        let outcomes = Performer::default().perform(effect.clone(), &cancel, &mut |outcome| {
            if let Outcome::Exporting { done, of } = outcome {
                told.push((done, of));
                if done == stop_at {
                    cancel.cancel();
                }
            }
        });
        (outcomes, told)
    };
    let (_, told) = run(usize::MAX);
    // Two images are opened, two stills, two overlays and two figures are made.
    assert_eq!(told, (0..8).map(|done| (done, 8)).collect::<Vec<_>>());
    std::fs::remove_dir_all(&folder).unwrap();
    for stop_at in [0, 3, 7] {
        let (outcomes, told) = run(stop_at);
        assert_eq!(told.len(), stop_at + 1);
        assert!(matches!(&outcomes[..], [Outcome::NotExported(why)] if why.contains("nothing was exported")));
        assert_eq!(names_in(place.path()).unwrap(), before);
    }
    // The window says so, and stops it once.
    let mut state = State::default();
    receive(&mut state, Outcome::Exporting { done: 3, of: 8 });
    assert_eq!(state.under_way.line().as_deref(), Some("Writing DICOM, step 4 of 8…"));
    let stop = || Command::File(FileCommand::StopExporting);
    assert_eq!(update(&mut state, stop()), [Effect::Stop(Stoppable::Exporting)]);
    receive(&mut state, Outcome::Exporting { done: 4, of: 8 });
    assert_eq!(state.under_way.line().as_deref(), Some("Stopping…"));
    assert!(update(&mut state, stop()).is_empty() && state.refused.is_some());
    receive(&mut state, Outcome::NotExported("Stopped: nothing was exported.".to_owned()));
    assert_eq!(state.under_way.line(), None);
}
