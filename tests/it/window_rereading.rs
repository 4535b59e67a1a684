//! A blind re-reading in the window: the round is set up, shots come under numbers, the first marks show nowhere, what is
//! marked lies in the case file beside them.

use std::path::Path;

use eframe::egui::{Key, Modifiers};
use stillmark::app::pages;
use stillmark::case::document::Case;
use stillmark::case::document::rereading::Progress;
use stillmark::geom::point::{Point, Vec2};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::{MarkKind, Marks};
use stillmark::scene::words::caution;

use crate::journey::{Journey, demonstration, walk};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_rereading", name, journey);
}

fn case(journey: &Journey) -> Case {
    let document = journey.window.state().state.editor.document.as_ref();
    document.map(|document| document.case().clone()).unwrap_or_default()
}

/// The shot that is read now, by the name it has in the case.
fn read_now(journey: &Journey) -> Option<String> {
    let session = journey.window.state().state.pages.rereading.session.as_ref()?;
    Some(session.round.readings.get(session.at)?.shot.clone())
}

/// Marks the shown shot as its first marks are, every point this far away.
fn mark_again(journey: &mut Journey, by: Vec2) {
    let shot = read_now(journey).expect("a shot to read");
    let first = case(journey).shot(&shot).expect("it is in the case").marks.clone();
    let places: Vec<Point> = walk(&first).into_iter().map(|p| p + by).collect();
    journey.mark_all(&places);
}

fn begin(folder: &Path) -> (std::path::PathBuf, Journey) {
    let file = demonstration(folder);
    let mut four = open_case(&file).expect("the demonstration").case;
    four.shots.retain(|shot| !shot.id.ends_with("cropped") && !shot.id.ends_with("-1"));
    save_case(&file, &four, &Over::Anything).expect("a case");
    let mut journey = Journey::begin(vec![file.clone()]);
    journey.key(Modifiers::NONE, Key::F10);
    assert!(journey.shows("Mark shots again without seeing the first marks."));
    assert!(journey.shows(caution::SHORT));
    journey.press("All lateral and AP shots (4)");
    (file, journey)
}

#[test]
fn shots_are_read_again_blind_and_lie_beside_the_first_marks() {
    alone("shots_are_read_again_blind_and_lie_beside_the_first_marks", |folder| {
        let (file, mut journey) = begin(folder);
        // From the last shot of the case, behind which no other comes.
        journey.key(Modifiers::NONE, Key::Escape);
        for _ in 0..3 {
            journey.key(Modifiers::NONE, Key::PageDown);
        }
        journey.key(Modifiers::NONE, Key::F10);
        let before = case(&journey);
        journey.press("Start session");
        let order: Vec<String> =
            case(&journey).rereadings[0].readings.iter().map(|reading| reading.shot.clone()).collect();
        let own: Vec<String> = before.shots.iter().map(|shot| shot.id.clone()).collect();
        assert_ne!(order, own, "shuffled");
        for (i, id) in order.iter().enumerate() {
            assert_eq!(read_now(&journey).as_ref(), Some(id));
            assert!(journey.shows(&format!("Image {} of 4", i + 1)));
            let editor = pages::editor(&journey.window.state().state.pages).expect("an image to mark");
            assert!(editor.document.as_ref().is_some_and(|document| document.proposals.is_off()));
            assert!(!journey.shows("Click the middle of the posterior wall."));
            // Nothing of the first marks: no name, no reading, no stage, no mark.
            for word in own.iter().map(String::as_str).chain(["Depth", "Height", "final", "In target", "±"])
            {
                assert!(!journey.shows(word), "{word} shows through");
            }
            let editor = pages::editor(&journey.window.state().state.pages).expect("an editor");
            assert!(editor.marks().is_empty());
            assert_eq!(
                editor.shot().map(|shot| (shot.id.clone(), shot.stage)),
                Some(((i + 1).to_string(), None))
            );
            mark_again(&mut journey, Vec2::new(1.0, 0.5));
            // A step back takes back a mark of this reading and nothing of the case.
            journey.key(Modifiers::CTRL, Key::Z);
            journey.key(Modifiers::CTRL | Modifiers::SHIFT, Key::Z);
            if i == 0 { journey.press("Next image") } else { journey.key(Modifiers::NONE, Key::PageDown) }
        }
        assert!(journey.shows("is complete: 4 read"));
        let after = case(&journey);
        assert_eq!(after.shots, before.shots, "the first marks are untouched");
        for reading in &after.rereadings[0].readings {
            assert_eq!(reading.progress, Progress::Done);
            let first = walk(&after.shot(&reading.shot).expect("a shot").marks);
            let again = walk(&reading.marks);
            for (a, b) in first.iter().zip(&again) {
                let off = *b - *a - Vec2::new(1.0, 0.5);
                assert!(off.length() < 1e-3, "clicked {off:?} away");
            }
        }
        // What follows: every mark lies (1, 0.5) px from the first, so each direction's SD over two readings is
        // √((1² + 0.5²)/2/2) px, by hand; the shots' own scale turns it into millimetres.
        // The first marks were not made blind and count only when asked for.
        assert!(journey.shows("4 readings by 1 reader (R1)"));
        journey.press("Blinded readings only, without the first marks");
        assert!(journey.shows("8 readings by 1 reader (R1)"));
        assert!(journey.shows("Depth, % of the body depth"));
        assert!(journey.shows("lateral, tip") && journey.shows("0.559"));
        let before = case(&journey).settings;
        journey.press("Use as marking error");
        let adopted = case(&journey).settings;
        assert!(adopted.metal_sd_mm < before.metal_sd_mm && adopted.bone_sd_mm < before.bone_sd_mm);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(case(&journey).settings, before);
        let after = case(&journey);
        // It is in the file, and the whole of one shot is one step back.
        journey.key(Modifiers::CTRL, Key::S);
        assert_eq!(open_case(&file).expect("the saved case").case, after);
        journey.key(Modifiers::CTRL, Key::Z);
        let stepped = case(&journey);
        assert_eq!(stepped.rereadings[0].done(), 3);
        assert_eq!(stepped.rereadings[0].open(), 1);
    });
}

#[test]
fn a_round_is_left_resumed_skipped_and_taken_out() {
    alone("a_round_is_left_resumed_skipped_and_taken_out", |folder| {
        let (_, mut journey) = begin(folder);
        let before = case(&journey);
        journey.press("Start session");
        journey.press("Skip image");
        mark_again(&mut journey, Vec2::new(0.0, 0.0));
        journey.press("Next image");
        // Half of the third, then away to the picture: nothing of it is lost.
        let third = read_now(&journey).expect("a shot");
        let first = case(&journey).shot(&third).expect("a shot").marks.clone();
        journey.mark_all(&walk(&first)[..4]);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(pages::editor(&journey.window.state().state.pages).is_none());
        let kept = case(&journey).rereadings[0].clone();
        assert_eq!((kept.done(), kept.open()), (1, 2));
        assert_eq!(kept.readings[2].marks.placed().count(), 4);
        journey.key(Modifiers::NONE, Key::F10);
        assert!(journey.shows("session 1: 1 of 4 read, 1 skipped"));
        let operator = kept.operator.clone();
        journey.press(&format!("Resume session 1 of {operator}"));
        assert_eq!(read_now(&journey).as_ref(), Some(&third));
        assert!(journey.shows("Click the anterior-inferior corner"), "where it stopped");
        journey.mark_all(&walk(&first)[4..]);
        journey.press("Next image");
        journey.press("Stop for now");
        assert_eq!(case(&journey).rereadings[0].done(), 2);
        journey.press(&format!("Remove session 1 of {operator}"));
        assert_eq!(case(&journey).rereadings, []);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(case(&journey).rereadings[0].done(), 2, "Undo restores it");
        assert_eq!(case(&journey).shots, before.shots);
        let tip: Marks = case(&journey).rereadings[0].readings[1].marks.clone();
        assert!(tip.complete(MarkKind::Tip).is_some());
    });
}
