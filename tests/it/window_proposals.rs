//! Journeys with proposed marks: two clicks for the first lateral of a body, none for the next; what is dragged, dropped,
//! refused; that nothing counts before it is accepted; and how many seconds of actions a case takes.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::{Key, Modifiers};
use stillmark::app::session::document::Document;
use stillmark::case::document::proposed::Origin;
use stillmark::case::document::{Case, Shot};
use stillmark::case::readings::ShotReading;
use stillmark::geom::point::{Point, Vec2};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::lateral::lateral_body_map;
use stillmark::measure::mark::{MarkKind, MarkRef, Marks};

use crate::journey::{Journey, samples};

/// Seconds of a click and of a key, as in the other counts of actions.
const CLICK_S: f64 = 1.2;
const KEY_S: f64 = 0.3;

const CORNER: MarkRef = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_proposals", name, journey);
}

/// The demonstration's shot of this id with its marks.
fn truth(id: &str) -> Shot {
    open_case(&samples().join("demonstration.case.json")).unwrap().case.shot(id).unwrap().clone()
}

/// A window on a case of these shots of the demonstration, with the marks of the first `marked` of them only.
fn begin(folder: &Path, ids: &[&str], marked: usize) -> (Journey, PathBuf) {
    let mut shots: Vec<Shot> = ids.iter().map(|id| truth(id)).collect();
    std::fs::create_dir_all(folder.join("images")).unwrap();
    for shot in &shots {
        std::fs::copy(samples().join(&shot.image), folder.join(&shot.image)).unwrap();
    }
    for shot in shots.iter_mut().skip(marked) {
        shot.marks = Marks::new();
    }
    let case = Case { title: Some("Demonstration P".to_owned()), shots: shots.into(), ..Case::default() };
    let file = folder.join("proposals.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    (Journey::begin(vec![file.clone()]), file)
}

const FIRST: &str = "l4-right-lateral-stylet";
const SECOND: &str = "l4-right-lateral-final";

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

fn shot(journey: &Journey) -> Shot {
    document(journey).shot().unwrap().clone()
}

fn is_read(journey: &Journey) -> bool {
    let document = document(journey);
    document.looked(document.shown.as_deref().unwrap()).unwrap().reading.is_read()
}

/// The middles of the posterior and of the anterior wall of a marked lateral.
fn walls(marks: &Marks) -> [Point; 2] {
    let map = lateral_body_map(marks).unwrap();
    [0.0, 1.0].map(|along| map.to_image(BodyPoint::new(along, 0.5)))
}

/// The largest distance of the four corners from those of other marks, in pixels.
fn corners_apart(a: &Marks, b: &Marks) -> f64 {
    let corners = |marks: &Marks| {
        let map = lateral_body_map(marks).unwrap();
        [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)].map(|(u, v)| map.to_image(BodyPoint::new(u, v)))
    };
    corners(a).into_iter().zip(corners(b)).map(|(a, b)| a.distance(b)).fold(0.0, f64::max)
}

fn drag(journey: &mut Journey, from: Point, to: Point) {
    let (from, to) = (journey.screen(from), journey.screen(to));
    assert!(journey.canvas().contains(from) && journey.canvas().contains(to));
    journey.window.hover_at(from);
    journey.window.run();
    journey.button(from, true, Modifiers::NONE);
    journey.window.hover_at(to);
    journey.window.run();
    journey.button(to, false, Modifiers::NONE);
}

/// Two clicks as a hand makes them, a little off both walls.
fn click_walls(journey: &mut Journey, id: &str) {
    let [posterior, anterior] = walls(&truth(id).marks);
    journey.click_picture(posterior + Vec2::new(3.0, -6.0));
    journey.click_picture(anterior + Vec2::new(-2.0, 5.0));
}

#[test]
fn two_clicks_propose_an_outline_that_counts_once_it_is_accepted() {
    alone("two_clicks_propose_an_outline_that_counts_once_it_is_accepted", |folder| {
        let (mut journey, file) = begin(folder, &[FIRST], 0);
        assert!(journey.shows("Click the middle of the posterior wall."));
        click_walls(&mut journey, FIRST);
        assert!(journey.shows("Check the outline"), "it is offered");
        assert!(journey.shows("Posterior-superior corner, placed, proposed"));
        // It is only shown: the case holds nothing of it, and nothing is read.
        assert!(journey.marks().is_empty() && !journey.unsaved() && !is_read(&journey));
        let offered = document(&journey).seen_marks().unwrap().clone();
        // 3 mm at 0.22 mm a pixel.
        assert!(corners_apart(&offered, &truth(FIRST).marks) < 14.0);

        journey.key(Modifiers::NONE, Key::Enter);
        assert_eq!(journey.marks(), offered);
        let now = shot(&journey);
        assert!(!now.draft && now.proposed.origin(CORNER) == Origin::Proposed && is_read(&journey));
        let ShotReading::Lateral(read) = document(&journey).looked(FIRST).unwrap().reading.clone() else {
            panic!("a lateral")
        };
        let tip = read.tip.unwrap();
        assert!(tip.along.budget.proposal > 0.0, "the budget says what comes of the proposal");

        journey.key(Modifiers::CTRL, Key::S);
        let saved = open_case(&file).unwrap().case.shots[0].clone();
        assert!(saved.proposed.holds(CORNER) && saved.proposed.holds(TIP));
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(journey.marks().is_empty(), "accepting is one step back");
    });
}

#[test]
fn a_further_lateral_is_there_on_arrival_and_paging_on_accepts_nothing() {
    alone("a_further_lateral_is_there_on_arrival_and_paging_on_accepts_nothing", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST, SECOND], 1);
        let sought = document(&journey).proposals.of(SECOND).is_some();
        assert!(sought, "the work is begun before the shot is shown");
        journey.key(Modifiers::NONE, Key::PageDown);
        assert!(journey.shows("Check the outline") && journey.shows("of L4"), "the level is named");
        let offered = document(&journey).seen_marks().unwrap().clone();
        assert!(corners_apart(&offered, &truth(SECOND).marks) < 14.0);
        assert!(journey.shows(&format!("Registered with “{FIRST}”.")));
        for key in [Key::PageUp, Key::PageDown] {
            journey.key(Modifiers::NONE, key);
        }
        assert!(journey.marks().is_empty() && !journey.unsaved() && !is_read(&journey));
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(is_read(&journey) && journey.unsaved());
        assert_eq!(journey.marks(), offered);
    });
}

#[test]
fn a_dragged_corner_is_a_persons_and_the_rest_follows_at_once() {
    alone("a_dragged_corner_is_a_persons_and_the_rest_follows_at_once", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST, SECOND], 1);
        journey.key(Modifiers::NONE, Key::PageDown);
        let before = document(&journey).seen_marks().unwrap().clone();
        let corner = before.point(CORNER).unwrap();
        let to = corner + Vec2::new(6.0, -9.0);
        drag(&mut journey, corner, to);
        let now = shot(&journey);
        assert!(now.draft, "what is taken hold of lies in the case as a draft");
        assert!(now.marks.point(CORNER).unwrap().distance(to) < 0.6);
        assert_eq!(now.proposed.origin(CORNER), Origin::Moved);
        let beside = MarkRef { index: 1, ..CORNER };
        assert_eq!(now.proposed.origin(beside), Origin::Proposed);
        let moved = now.marks.point(beside).unwrap().distance(before.point(beside).unwrap());
        assert!(moved > 0.05, "the border follows as far as the image lets it: {moved}");
        assert!(journey.shows("Posterior-superior corner, placed, proposed, moved"));

        // A second one: the first stays where it was put.
        let other = MarkRef { kind: MarkKind::InferiorEndPlate, index: 4 };
        let at = now.marks.point(other).unwrap();
        drag(&mut journey, at, at + Vec2::new(-5.0, 4.0));
        assert!(journey.marks().point(CORNER).unwrap().distance(to) < 0.6);
        assert!(!is_read(&journey), "a draft does not count");
        journey.key(Modifiers::NONE, Key::Escape);
        journey.key(Modifiers::CTRL, Key::Z);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(shot(&journey).marks.point(CORNER), Some(corner), "each drag is one step back");
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(is_read(&journey) && !shot(&journey).draft);
    });
}

#[test]
fn escape_drops_what_is_proposed_and_the_guide_goes_on() {
    alone("escape_drops_what_is_proposed_and_the_guide_goes_on", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST, SECOND], 1);
        journey.key(Modifiers::NONE, Key::PageDown);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(journey.shows("Click the posterior-superior corner."));
        assert!(journey.marks().is_empty() && !journey.unsaved());
        // It does not come again by itself, but on request.
        journey.key(Modifiers::NONE, Key::PageUp);
        journey.key(Modifiers::NONE, Key::PageDown);
        assert!(journey.shows("Click the posterior-superior corner."));
        journey.key(Modifiers::SHIFT, Key::K);
        assert!(journey.shows("Click the middle of the posterior wall."));
        assert!(!document(&journey).is_unconfirmed(), "nothing else is proposed meanwhile");
        journey.key(Modifiers::SHIFT, Key::C);
        assert!(journey.shows("Click the posterior-superior corner."));

        // A draft that came of a proposal goes as well.
        journey.key(Modifiers::SHIFT, Key::K);
        click_walls(&mut journey, SECOND);
        let corner = document(&journey).seen_marks().unwrap().point(CORNER).unwrap();
        drag(&mut journey, corner, corner + Vec2::new(5.0, 5.0));
        assert!(shot(&journey).draft);
        journey.key(Modifiers::SHIFT, Key::C);
        assert!(journey.marks().is_empty() && !shot(&journey).draft);
        assert!(journey.shows("Click the posterior-superior corner."));
    });
}

#[test]
fn clicks_on_nothing_are_refused_in_a_sentence() {
    alone("clicks_on_nothing_are_refused_in_a_sentence", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST], 0);
        journey.key(Modifiers::NONE, Key::F);
        // In front of the spine.
        for at in [Point::new(90.0, 90.0), Point::new(230.0, 90.0)] {
            journey.click_picture(at);
        }
        let why = document(&journey).proposals.refused(FIRST).unwrap().to_owned();
        assert!(why.ends_with('.') && journey.shows(&why), "{why}");
        // Where a border is named, a click on it is asked for; else the ordinary guide goes on at once.
        if document(&journey).pointing().is_some() {
            assert!(why.ends_with(": click it."), "{why}");
            journey.key(Modifiers::NONE, Key::Escape);
        }
        assert!(journey.shows("Click the posterior-superior corner."), "the ordinary guide goes on");
        // The ordinary way works as ever.
        journey.click_picture(Point::new(300.0, 300.0));
        assert_eq!(journey.marks().point(CORNER).map(|p| p.x.round()), Some(300.0));
    });
}

/// The walls are pointed at by keys alone.
#[test]
fn walls_are_clicked_by_keyboard_too() {
    alone("walls_are_clicked_by_keyboard_too", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST], 0);
        for _ in 0..2 {
            journey.key(Modifiers::NONE, Key::ArrowRight);
            journey.key(Modifiers::NONE, Key::Enter);
        }
        // Both at nearly one place: refused, with what to do.
        let why = document(&journey).proposals.refused(FIRST).unwrap();
        assert!(why.starts_with("The two clicks are not one vertebral body apart"), "{why}");
        journey.key(Modifiers::SHIFT, Key::K);
        journey.click_picture(walls(&truth(FIRST).marks)[0]);
        journey.key(Modifiers::NONE, Key::B);
        assert!(journey.shows("Click the middle of the posterior wall."), "one click back");
    });
}

#[test]
fn a_further_ap_is_copied_and_what_a_turn_moves_is_named() {
    alone("a_further_ap_is_copied_and_what_a_turn_moves_is_named", |folder| {
        let ids = ["l4-right-ap-stylet", "l4-right-ap-final-1"];
        let (mut journey, _) = begin(folder, &ids, 1);
        journey.key(Modifiers::NONE, Key::PageDown);
        assert!(journey.shows("Mark again where the view has turned"));
        assert!(journey.shows("Click the tip."), "only the tip is asked for");
        journey.click_picture(truth(ids[1]).marks.point(TIP).unwrap());
        assert!(!is_read(&journey));
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(is_read(&journey));
        assert_eq!(shot(&journey).proposed.origin(TIP), Origin::ByHand);
    });
}

/// Where marks are made to be compared with others, nothing is proposed (for blinded re-reading see its own journey).
#[test]
fn nothing_is_proposed_in_practice() {
    alone("nothing_is_proposed_in_practice", |_| {
        let mut journey = Journey::begin(Vec::new());
        journey.press("Practice (ground truth known)");
        journey.window.state_mut().state.pages.practice.side_px = 128;
        journey.press("Show a shot");
        assert!(journey.shows("Click the posterior-superior corner."));
        journey.key(Modifiers::SHIFT, Key::K);
        assert!(journey.shows("Click the posterior-superior corner."));
    });
}

/// The first corner is asked for at once, not only in the next shot; switched on again, both walls are.
#[test]
fn proposals_that_are_switched_off_ask_for_no_wall() {
    alone("proposals_that_are_switched_off_ask_for_no_wall", |folder| {
        let (mut journey, _) = begin(folder, &[FIRST], 0);
        assert!(journey.shows("Click the middle of the posterior wall."));
        journey.key(Modifiers::SHIFT, Key::Q);
        assert!(journey.shows("Click the posterior-superior corner."));
        journey.click_picture(truth(FIRST).marks.point(CORNER).unwrap());
        assert_eq!(
            journey
                .marks()
                .point(CORNER)
                .map(|p| p.distance(truth(FIRST).marks.point(CORNER).unwrap()) < 2.0),
            Some(true)
        );
        journey.key(Modifiers::CTRL, Key::Z);
        journey.key(Modifiers::SHIFT, Key::Q);
        assert!(journey.shows("Click the middle of the posterior wall."));
    });
}

/// A person at the window, whose actions are counted.
struct Person {
    journey: Journey,
    seconds: f64,
}

impl Person {
    fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.seconds += KEY_S;
        self.journey.key(modifiers, key);
    }

    fn click(&mut self, at: Point) {
        let canvas = self.journey.canvas().shrink(12.0);
        // What is out of sight is brought into it with a key.
        let key = if canvas.contains(self.journey.screen(at)) { 0.0 } else { KEY_S };
        self.seconds += CLICK_S + key;
        self.journey.click_picture(at);
    }
}

/// The first lateral of a body: level, side, view and stage by keys, both walls, the tip where it is not proposed, Enter.
/// Then a further one: paged to, Enter. Issue limits: 7 s and 4 s.
#[test]
fn the_first_lateral_takes_seven_seconds_and_the_next_four() {
    alone("the_first_lateral_takes_seven_seconds_and_the_next_four", |folder| {
        let mut shots = Vec::new();
        for id in [FIRST, SECOND] {
            let image = folder.join(format!("{id}.png"));
            std::fs::copy(samples().join(&truth(id).image), &image).unwrap();
            shots.push(image);
        }
        let mut person = Person { journey: Journey::begin(vec![shots[0].clone()]), seconds: 0.0 };
        for key in [Key::Num4, Key::R, Key::E, Key::W] {
            person.key(Modifiers::NONE, key);
        }
        for at in walls(&truth(FIRST).marks) {
            person.click(at);
        }
        if document(&person.journey).seen_marks().unwrap().point(TIP).is_none() {
            person.click(truth(FIRST).marks.point(TIP).unwrap());
        }
        person.key(Modifiers::NONE, Key::Enter);
        assert!(is_read(&person.journey));
        assert!(person.seconds <= 7.0, "first lateral: {:.1} s", person.seconds);
        drop(person);

        let (journey, _) = begin(folder, &[FIRST, SECOND], 1);
        let mut person = Person { journey, seconds: 0.0 };
        person.key(Modifiers::NONE, Key::PageDown);
        if document(&person.journey).seen_marks().unwrap().point(TIP).is_none() {
            person.click(truth(SECOND).marks.point(TIP).unwrap());
        }
        person.key(Modifiers::NONE, Key::Enter);
        assert!(is_read(&person.journey));
        assert!(person.seconds <= 4.0, "further lateral: {:.1} s", person.seconds);
    });
}

/// Every shot that is offered is accepted with what it still lacks; what is not offered is marked by hand, mark by mark.
fn mark_shown(person: &mut Person, id: &str, helped: bool) {
    let marks = truth(id).marks;
    if !helped && document(&person.journey).pointing().is_some() {
        person.key(Modifiers::SHIFT, Key::C);
    }
    if helped && document(&person.journey).pointing().is_some() {
        for at in walls(&marks) {
            person.click(at);
        }
    }
    for _ in 0..20 {
        let Some(step) = document(&person.journey).next_step(None) else { break };
        match placed(&marks, step) {
            Some(at) => person.click(at),
            None => person.key(Modifiers::NONE, Key::N),
        }
    }
    if document(&person.journey).is_unconfirmed() {
        person.key(Modifiers::NONE, Key::Enter);
    }
}

/// Where a step of the guide is marked in the demonstration.
fn placed(marks: &Marks, step: stillmark::app::marking::guide::Step) -> Option<Point> {
    step.placed(marks).and_then(|at| marks.point(at))
}

/// A case of ten laterals and ten APs of one body, all labeled: seconds by count of actions until every shot is read, with
/// proposals (47 s) and without (294 s). (The demonstration's five laterals and four APs of L4, some of them several times.)
#[test]
fn a_case_of_twenty_shots_takes_a_sixth_of_the_actions() {
    alone("a_case_of_twenty_shots_takes_a_sixth_of_the_actions", |folder| {
        let laterals = [
            "l4-right-lateral-pedicle",
            "l4-right-lateral-posterior_wall",
            FIRST,
            "l4-right-lateral-final-1",
            SECOND,
        ];
        let aps =
            ["l4-right-ap-pedicle", "l4-right-ap-posterior_wall", "l4-right-ap-stylet", "l4-right-ap-final"];
        let ids: Vec<&str> =
            laterals.into_iter().cycle().take(10).chain(aps.into_iter().cycle().take(10)).collect();
        let mut seconds = [0.0; 2];
        for (helped, seconds) in [true, false].into_iter().zip(&mut seconds) {
            let folder = folder.join(if helped { "helped" } else { "by-hand" });
            std::fs::create_dir_all(folder.join("images")).unwrap();
            let shots: Vec<Shot> = ids
                .iter()
                .enumerate()
                .map(|(n, id)| {
                    let known = truth(id);
                    let mut shot = Shot::new(format!("{n:02}"), format!("images/{n:02}.png"), known.view);
                    std::fs::copy(samples().join(&known.image), folder.join(&shot.image)).unwrap();
                    (shot.level, shot.side, shot.stage) = (known.level, known.side, known.stage);
                    shot
                })
                .collect();
            let case = Case { shots: shots.into(), ..Case::default() };
            let file = folder.join("twenty.case.json");
            save_case(&file, &case, &Over::Nothing).unwrap();
            let mut person = Person { journey: Journey::begin(vec![file]), seconds: 0.0 };
            if !helped {
                person
                    .journey
                    .window
                    .state_mut()
                    .state
                    .editor
                    .document
                    .as_mut()
                    .unwrap()
                    .proposals
                    .switch_off();
                person.key(Modifiers::NONE, Key::Escape);
            }
            for (n, id) in ids.iter().enumerate() {
                if n > 0 {
                    person.key(Modifiers::NONE, Key::PageDown);
                }
                mark_shown(&mut person, id, helped);
                assert!(is_read(&person.journey), "{id} ({n}), helped: {helped}");
            }
            *seconds = person.seconds;
        }
        assert!(seconds[0] <= 48.0 && seconds[1] >= 290.0, "{seconds:?}");
    });
}
