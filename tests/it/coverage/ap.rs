//! AP shots: across, height, the three offsets and the medial border; and what the height owes to how the C-arm is
//! tilted and which contours are marked.

use std::fmt::Write as _;

use glam::DVec3;
use stillmark::measure::ap::read_ap;
use stillmark::measure::mark::{Level, MarkKind, Marks, Stage, View};
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{ApReading, Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::Showing;
use stillmark::phantom::scenario::{self, Subject};
use stillmark::phantom::size::LUMBAR;

use super::{A_STAGE, Known, Outcome, current, mean, rms, share, trials, wrong};

/// The quantities, in the order of [`quantities`].
const QUANTITIES: [&str; 6] = ["across", "height", "pedicles", "spinous process", "body", "medial border"];
const HEIGHT: usize = 1;

/// Rows outside 93–98 %, with the share that was found. They are explained on the page.
const KNOWN: &[Known] = &[
    (Stage::Docking, "height", 0.9898),
    (Stage::Pedicle, "height", 0.990),
    (Stage::PosteriorWall, "height", 0.985),
];

/// How the C-arm is tilted and what is marked.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Habit {
    /// To the mean of both plates; one contour of each.
    OneContour,
    /// To the mean of both plates; the second contour too where it is seen.
    WhereSeen,
    /// Along the superior plate, as is often taught; the second contour where it is seen.
    SuperiorEdgeOn,
}

const HABITS: [(Habit, &str); 3] = [
    (Habit::OneContour, "one contour"),
    (Habit::WhereSeen, "second contour where it shows"),
    (Habit::SuperiorEdgeOn, "superior plate edge-on, second contour where it shows"),
];

/// Geometries a stage that are also taken and marked in the other habits, and read without placement error.
const IN_FULL: u64 = 1000;

struct Trial {
    level: Level,
    /// Every quantity, the second contour marked where it is seen.
    outcome: [Outcome; 6],
    /// The height by habit.
    height: Option<[Outcome; 3]>,
    /// Of the two plates, how many show twice.
    twice: f64,
}

fn read(subject: &Subject, marks: &Marks, mm_per_px: f64) -> ApReading {
    read_ap(&ShotInput {
        view: View::Ap,
        marks,
        side: Some(subject.side),
        stage: Some(subject.stage),
        patient_right: None,
        mm_per_px: Some(mm_per_px),
        mm_per_px_sd: None,
        frame: None,
        settings: &Settings::default(),
        known: stillmark::measure::true_view::known::Known::NOTHING,
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    })
}

/// The values of a reading in the order of [`QUANTITIES`].
fn quantities(reading: &ApReading) -> Option<[Quantity; 6]> {
    let by = &reading.midline_by;
    Some([
        reading.tip.as_ref()?.along.clone(),
        reading.height.clone()?,
        by.pedicles.clone()?,
        by.spinous_process.clone()?,
        by.body.clone()?,
        reading.medial_border.clone()?,
    ])
}

fn truths(subject: &Subject) -> Option<[f64; 6]> {
    let truth = subject.truth();
    let (at, beside) = (truth.ap?.curved, truth.beside?);
    let offsets = [beside.pedicles, beside.spinous_process, at.along - 0.5];
    Some([at.along, at.height, offsets[0], offsets[1], offsets[2], beside.medial_border])
}

fn trial(stage: Stage, seed: u64) -> Option<Trial> {
    let mut draw = Draw::new(seed);
    let subject = Subject::drawn(stage, &mut draw);
    let ray = scenario::drawn_ray(1.4, &mut draw);
    let pose = scenario::drawn_pose(View::Ap, subject.side, ray, &mut draw);
    let reader = scenario::drawn_reader(Showing::WhereSeen, &mut draw);
    let truths = truths(&subject)?;
    let settings = Settings::default();
    let in_full = seed & 0xffff_ffff < IN_FULL;
    // The same errors for every habit, as far as the same points are marked.
    let by_habit = |habit: Habit, in_full: bool| {
        let mut pose = pose.clone();
        if habit == Habit::SuperiorEdgeOn {
            let rise = subject.body.half_height(1.0) - subject.body.half_height(0.0);
            let slope = (rise / (subject.body.front(0.0) - subject.body.back(0.0))).atan().to_degrees();
            pose.tilt_deg += if pose.source_in_front { -slope } else { slope };
        }
        let mut reader = reader.clone();
        if habit == Habit::OneContour {
            reader.showing = Showing::One;
        }
        let exact = subject.ap_marks(&pose.beam(DVec3::NEG_X), &reader);
        let (bone, metal) = (settings.bone_sd_mm, settings.metal_sd_mm);
        let placed = scenario::placed_with_error(&exact, bone, metal, pose.mm_per_px, &mut draw.clone());
        let found = quantities(&read(&subject, &placed, pose.mm_per_px))?;
        let without = match in_full {
            true => quantities(&read(&subject, &exact, pose.mm_per_px))?.map(|q| q.value),
            false => [f64::NAN; 6],
        };
        let twice = [MarkKind::SuperiorEndPlateSecond, MarkKind::InferiorEndPlateSecond]
            .map(|kind| f64::from(u8::from(!exact.slots(kind).is_empty())));
        let outcome: [Outcome; 6] = std::array::from_fn(|i| Outcome::of(&found[i], without[i], truths[i]));
        Some((outcome, twice[0] + twice[1]))
    };
    let seen = by_habit(Habit::WhereSeen, in_full)?;
    let height = match in_full {
        true => {
            let other = |habit| Some(by_habit(habit, false)?.0[HEIGHT]);
            Some([other(Habit::OneContour)?, seen.0[HEIGHT], other(Habit::SuperiorEdgeOn)?])
        }
        false => None,
    };
    Some(Trial { level: subject.level, outcome: seen.0, height, twice: seen.1 })
}

#[test]
fn ap_intervals_hold_at_every_stage() {
    let mut page = String::new();
    let mut amiss = Vec::new();
    let stages: Vec<(Stage, Vec<Trial>)> = (20..)
        .zip(Stage::ALL)
        .map(|(stream, stage)| (stage, trials(A_STAGE, stream, |seed| trial(stage, seed))))
        .collect();
    page.push_str(
        "## AP views within ± 1.4°\n\n\
         How often the 95 % interval holds the truth; the second contour of an endplate is marked where it shows. The \
         three offsets are from the midline by the pedicles, by the spinous process and by the body.\n\n\
         | stage | shots | across | height | offset: pedicles | offset: spinous process | offset: body | medial border |\n\
         | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for (stage, all) in &stages {
        write!(page, "| {} | {} |", stage.key(), all.len()).unwrap_or_default();
        if all.len() < 4000 {
            amiss.push(format!("{}: only {} shots could be read", stage.key(), all.len()));
        }
        for (i, what) in QUANTITIES.into_iter().enumerate() {
            let held = share(all.iter().map(|t| &t.outcome[i]));
            write!(page, " {:.1} % |", 100.0 * held).unwrap_or_default();
            amiss.extend(wrong(*stage, what, held, all.len(), KNOWN));
        }
        page.push('\n');
    }
    page.push_str(
        "\nStandard uncertainty stated / error found (root mean square of reading minus truth):\n\n\
         | stage | across | height | offset: pedicles | offset: spinous process | medial border |\n\
         | --- | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for (stage, all) in &stages {
        write!(page, "| {} |", stage.key()).unwrap_or_default();
        for i in [0, 1, 2, 3, 5] {
            let of = |f: fn(&Outcome) -> f64| rms(all.iter().map(|t| f(&t.outcome[i])));
            write!(page, " {:.4} / {:.4} |", of(|o| o.sd), of(|o| o.error)).unwrap_or_default();
        }
        page.push('\n');
    }
    page.push_str(
        "\nThe same of the view part alone (the first 1,000 of each stage, marks placed without error):\n\n\
         | stage | across | height | offset: pedicles | offset: spinous process | medial border |\n\
         | --- | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for (stage, all) in &stages {
        write!(page, "| {} |", stage.key()).unwrap_or_default();
        for i in [0, 1, 2, 3, 5] {
            let of = |f: fn(&Outcome) -> f64| {
                rms(all.iter().filter(|t| t.height.is_some()).map(|t| f(&t.outcome[i])))
            };
            write!(page, " {:.4} / {:.4} |", of(|o| o.view), of(|o| o.without_placement)).unwrap_or_default();
        }
        page.push('\n');
    }
    page.push_str("\nThe height by how the C-arm is tilted and what is marked (the first 1,000 of each stage):\n\n| stage |");
    for (_, name) in HABITS {
        write!(page, " {name} |").unwrap_or_default();
    }
    page.push_str(" plates that show twice |\n| --- | ---: | ---: | ---: | ---: |\n");
    for (stage, all) in &stages {
        write!(page, "| {} |", stage.key()).unwrap_or_default();
        for i in 0..3 {
            let held = share(all.iter().filter_map(|t| Some(&t.height.as_ref()?[i])));
            write!(page, " {:.1} % |", 100.0 * held).unwrap_or_default();
        }
        writeln!(page, " {:.0} % |", 50.0 * mean(all.iter().map(|t| t.twice))).unwrap_or_default();
    }
    page.push_str("\nBy level, all stages together:\n\n| level | across | height | height, one contour | offset: pedicles | offset: spinous process | medial border | plates that show twice |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n");
    for level in LUMBAR {
        let of = || stages.iter().flat_map(|(_, all)| all).filter(|t| t.level == level);
        let held = |i: usize| 100.0 * share(of().map(|t| &t.outcome[i]));
        let one = 100.0 * share(of().filter_map(|t| Some(&t.height.as_ref()?[0])));
        writeln!(
            page,
            "| {} | {:.1} % | {:.1} % | {one:.1} % | {:.1} % | {:.1} % | {:.1} % | {:.0} % |",
            level.name(),
            held(0),
            held(1),
            held(2),
            held(3),
            held(5),
            50.0 * mean(of().map(|t| t.twice))
        )
        .unwrap_or_default();
    }
    assert!(amiss.is_empty(), "{}\n{page}", amiss.join("\n"));
    current("ap", &page);
}
