//! Matched pairs: depth, across and height, each view lending the other its depth and offset.

use std::fmt::Write as _;

use glam::DVec3;
use stillmark::measure::issue::IssueCode;
use stillmark::measure::mark::{Marks, Stage, View};
use stillmark::measure::pair::read_pair;
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::Showing;
use stillmark::phantom::scenario::{self, Subject};

use super::{A_STAGE, Known, Outcome, current, mean, rms, share, trials, wrong};

const QUANTITIES: [&str; 3] = ["depth", "across", "height"];

/// Rows outside 93–98 %, with the share that was found. They are explained on the page.
const KNOWN: &[Known] = &[(Stage::Docking, "height", 0.9840), (Stage::Pedicle, "height", 0.9817)];

struct Trial {
    outcome: [Outcome; 3],
    /// The height against the lateral view's own truth.
    against_lateral: Outcome,
    /// How far the two views' true heights lie apart.
    apart: f64,
    /// Whether the heights were said to disagree, though both are of one moment.
    disagree: f64,
}

fn shot(subject: &Subject, view: View, showing: Showing, draw: &mut Draw) -> (Marks, f64) {
    let ray = scenario::drawn_ray(1.4, draw);
    let pose = scenario::drawn_pose(view, subject.side, ray, draw);
    let reader = scenario::drawn_reader(showing, draw);
    let exact = subject.marks(view, &pose.beam(DVec3::NEG_X), &reader);
    let settings = Settings::default();
    let (bone, metal) = (settings.bone_sd_mm, settings.metal_sd_mm);
    (scenario::placed_with_error(&exact, bone, metal, pose.mm_per_px, draw), pose.mm_per_px)
}

fn input<'a>(
    subject: &Subject,
    view: View,
    (marks, mm_per_px): &'a (Marks, f64),
    settings: &'a Settings,
) -> ShotInput<'a> {
    ShotInput {
        view,
        marks,
        side: Some(subject.side),
        stage: Some(subject.stage),
        patient_right: None,
        mm_per_px: Some(*mm_per_px),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: stillmark::measure::true_view::known::Known::NOTHING,
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    }
}

fn trial(stage: Stage, seed: u64) -> Option<Trial> {
    let mut draw = Draw::new(seed);
    let subject = Subject::drawn(stage, &mut draw);
    let lateral = shot(&subject, View::Lateral, Showing::One, &mut draw);
    let ap = shot(&subject, View::Ap, Showing::WhereSeen, &mut draw);
    let settings = Settings::default();
    let read = read_pair(
        &input(&subject, View::Lateral, &lateral, &settings),
        &input(&subject, View::Ap, &ap, &settings),
    );
    let (depth, across, height) = (read.pair.depth?, read.pair.across?, read.pair.height?);
    let truth = subject.truth();
    let (side, front) = (truth.lateral?.curved, truth.ap?.curved);
    // Each view's height refers to its own outline; the mean's truth is their mean with the mean's weights.
    let weight = |q: &Quantity| 1.0 / q.sd().powi(2);
    let (a, b) = (weight(&read.lateral.tip?.height), weight(&read.ap.height?));
    let weighted = (a * side.height + b * front.height) / (a + b);
    let of = |q, truth| Outcome::of(q, f64::NAN, truth);
    Some(Trial {
        outcome: [of(&depth, side.along), of(&across, front.along), of(&height, weighted)],
        against_lateral: of(&height, side.height),
        apart: side.height - front.height,
        disagree: f64::from(u8::from(
            read.pair.issues.iter().any(|issue| issue.code == IssueCode::HeightsDisagree),
        )),
    })
}

#[test]
fn intervals_of_pairs_hold_at_every_stage() {
    let mut page = String::from(
        "## Matched pairs\n\n\
         One contour is marked in the lateral view, the second too where it shows in the AP view. A height is a fraction \
         between the plates as one view shows them, and the two views' true heights differ where the tip is still outside \
         the body: they lie *apart* by this much (root mean square). The truth of the weighted mean is their mean with the \
         same weights. *Disagree* is how often the program says so though both shots are of one moment; 5 % is what its \
         rule means. All of these are the direct readings, within the ± 1.4° that show as one contour; what the pair says as \
         true views would show it, and farther off, is in coverage-angle.md.\n\n\
         | stage | pairs | depth | across | height | height, against the lateral truth | apart | disagree |\n\
         | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
    );
    let mut amiss = Vec::new();
    for (stream, stage) in (40..).zip(Stage::ALL) {
        let all = trials(A_STAGE, stream, |seed| trial(stage, seed));
        write!(page, "| {} | {} |", stage.key(), all.len()).unwrap_or_default();
        if all.len() < 4000 {
            amiss.push(format!("{}: only {} pairs could be read", stage.key(), all.len()));
        }
        for (i, what) in QUANTITIES.into_iter().enumerate() {
            let held = share(all.iter().map(|t| &t.outcome[i]));
            write!(page, " {:.1} % |", 100.0 * held).unwrap_or_default();
            amiss.extend(wrong(stage, what, held, all.len(), KNOWN));
        }
        writeln!(
            page,
            " {:.1} % | {:.3} | {:.1} % |",
            100.0 * share(all.iter().map(|t| &t.against_lateral)),
            rms(all.iter().map(|t| t.apart)),
            100.0 * mean(all.iter().map(|t| t.disagree))
        )
        .unwrap_or_default();
    }
    assert!(amiss.is_empty(), "{}\n{page}", amiss.join("\n"));
    current("pair", &page);
}
