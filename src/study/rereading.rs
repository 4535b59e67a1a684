//! What blind readings say: how repeatable depth, height and across are, and how far each mark scatters.

use std::collections::BTreeSet;

use crate::case::document::rereading::Progress;
use crate::case::document::{Case, Shot};
use crate::case::readings::{Picture as Seen, ShotReading, read_shot};
use crate::measure::mark::Marks;
use crate::measure::settings::Settings;
use crate::study::mark_spread::{MarkSpread, MarkedPicture, Marking, Scatter, SpreadEstimate, mark_spread};
use crate::study::own_error::OwnError;
use crate::study::repeatability::{Reading, Report, report};

/// What the first marks' reader is called where the case names no operator.
pub const FIRST_MARKS: &str = "first marks";

/// A case with the name its shots are told apart by; empty where there is one case only.
#[derive(Clone, Copy, Debug)]
pub struct Named<'a> {
    /// The name.
    pub name: &'a str,
    /// The case.
    pub case: &'a Case,
}

/// A quantity that is read again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measured {
    /// Depth fraction, of lateral shots.
    Depth,
    /// Height fraction, of lateral and AP shots.
    Height,
    /// Across fraction, of AP shots.
    Across,
}

/// One reading of one shot.
#[derive(Clone, Debug, PartialEq)]
pub struct Read<'a> {
    /// The shot, with its case's name in front where there are several.
    pub subject: String,
    /// Who read.
    pub rater: String,
    /// Which of this reader's readings, from 1; where the first marks count, they are the reader's first.
    pub round: u32,
    /// Whether these are the first marks.
    pub first: bool,
    /// The shot.
    pub shot: &'a Shot,
    /// The marks.
    pub marks: &'a Marks,
    /// Depth, height and across, as far as the view gives them and they could be read.
    pub values: [Option<f64>; 3],
    /// Scale in millimetres to a pixel, and whether it is the typical body's.
    pub scale: Option<(f64, bool)>,
}

/// Everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Study<'a> {
    /// The readings.
    pub reads: Vec<Read<'a>>,
    /// How repeatable each quantity is that was read.
    pub reports: Vec<(Measured, Report)>,
    /// How far the marks scatter.
    pub marks: MarkSpread,
    /// Readings that gave nothing, as subject, rater and round.
    pub unread: Vec<(String, String, u32)>,
    /// Shots whose scale is the typical body's.
    pub assumed_scale: usize,
    /// How many raters there are.
    pub raters: usize,
}

impl Measured {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Depth, Self::Height, Self::Across];

    /// The key in tables.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Height => "height",
            Self::Across => "across",
        }
    }

    const fn index(self) -> usize {
        match self {
            Self::Depth => 0,
            Self::Height => 1,
            Self::Across => 2,
        }
    }
}

impl Read<'_> {
    /// The value of a quantity.
    #[must_use]
    pub const fn value(&self, what: Measured) -> Option<f64> {
        self.values[what.index()]
    }
}

/// What the blind readings of these cases say. Only shots that were read again count; with `first` their first marks are
/// a reading by the case's operator too.
#[must_use]
pub fn study<'a>(cases: &[Named<'a>], first: bool) -> Study<'a> {
    let reads = reads(cases, first);
    let reports =
        Measured::ALL.into_iter().filter_map(|what| Some((what, report_of(&reads, what)?))).collect();
    let mut subjects: Vec<&str> = Vec::new();
    for read in &reads {
        if !subjects.contains(&read.subject.as_str()) {
            subjects.push(&read.subject);
        }
    }
    let found: Vec<(MarkedPicture<'_>, bool)> =
        subjects.iter().filter_map(|subject| picture_of(&reads, subject)).collect();
    let assumed_scale = found.iter().filter(|(_, assumed)| *assumed).count();
    let pictures: Vec<MarkedPicture<'_>> = found.into_iter().map(|(picture, _)| picture).collect();
    let marks = mark_spread(&pictures);
    let unread = reads
        .iter()
        .filter(|read| read.values.iter().all(Option::is_none))
        .map(|read| (read.subject.clone(), read.rater.clone(), read.round))
        .collect();
    let raters = reads.iter().map(|read| read.rater.as_str()).collect::<BTreeSet<_>>().len();
    Study { reports, marks, unread, assumed_scale, raters, reads }
}

/// All markings of one shot, and whether its scale is the typical body's.
fn picture_of<'a>(reads: &'a [Read<'_>], subject: &str) -> Option<(MarkedPicture<'a>, bool)> {
    let own = reads.iter().filter(|read| read.subject == subject);
    let view = own.clone().next()?.shot.view;
    // One scale for all readings of a picture: its own, else the mean of the typical bodies'.
    let scales: Vec<(f64, bool)> = own.clone().filter_map(|read| read.scale).collect();
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let mm_per_px = (!scales.is_empty())
        .then(|| scales.iter().map(|(scale, _)| scale).sum::<f64>() / scales.len() as f64);
    let markings = own.map(|read| Marking { rater: &read.rater, marks: read.marks }).collect();
    Some((MarkedPicture { view, mm_per_px, markings }, scales.iter().any(|(_, assumed)| *assumed)))
}

impl Study<'_> {
    /// How far the marks of one shot scatter over its readings.
    #[must_use]
    pub fn spread_of(&self, subject: &str) -> MarkSpread {
        picture_of(&self.reads, subject).map(|(picture, _)| mark_spread(&[picture])).unwrap_or_default()
    }

    /// The scatter that speaks for these readers: among all readings of a picture where several people read, else among
    /// one's own. In millimetres.
    #[must_use]
    pub fn placement(&self, scatter: &Scatter) -> Option<SpreadEstimate> {
        if self.raters > 1 { scatter.all_mm } else { scatter.own_mm }
    }

    /// Settings with the measured placement errors instead of those before; `None` where nothing was measured, or all
    /// marks fell on the same places, which no hand does.
    #[must_use]
    pub fn adopted(&self, settings: &Settings) -> Option<Settings> {
        let own =
            OwnError { bone: self.placement(&self.marks.bone), metal: self.placement(&self.marks.metal) };
        own.adopted(settings)
    }
}

fn reads<'a>(cases: &[Named<'a>], first: bool) -> Vec<Read<'a>> {
    let operator = |case: &Case| {
        let said = case.operator.as_deref().map(str::trim).filter(|operator| !operator.is_empty());
        said.unwrap_or(FIRST_MARKS).to_owned()
    };
    let again = |case: &Case, shot: &Shot| {
        let mut all = case.rereadings.iter().flat_map(|one| &one.readings);
        all.any(|reading| reading.shot == shot.id && reading.progress == Progress::Done)
    };
    let has_first =
        |case: &Case, shot: &Shot| first && shot.marks_count() && !shot.marks.is_empty() && again(case, shot);
    // Whose first marks count: their blind rounds are their second reading and so on, in every case.
    let first_readers: BTreeSet<String> = cases
        .iter()
        .filter(|named| named.case.shots.iter().any(|shot| has_first(named.case, shot)))
        .map(|named| operator(named.case))
        .collect();
    let mut list = Vec::new();
    for Named { name, case } in cases.iter().copied() {
        for shot in case.shots.iter().filter(|shot| again(case, shot)) {
            let subject = if name.is_empty() { shot.id.clone() } else { format!("{name}/{}", shot.id) };
            let mut put = |rater: String, round, first, marks| {
                let (values, scale) = values(case, shot, marks);
                list.push(Read { subject: subject.clone(), rater, round, first, shot, marks, values, scale });
            };
            if has_first(case, shot) {
                put(operator(case), 1, true, &shot.marks);
            }
            for one in &case.rereadings {
                let later = u32::from(first_readers.contains(&one.operator));
                let done = |r: &&crate::case::document::rereading::Reread| {
                    r.shot == shot.id && r.progress == Progress::Done
                };
                for reading in one.readings.iter().filter(done) {
                    put(one.operator.clone(), one.round.saturating_add(later), false, &reading.marks);
                }
            }
        }
    }
    list
}

/// Depth, height and across of these marks in this shot, as far as the view gives them and they can be read; and the
/// scale in millimetres to a pixel, with whether it is the typical body's.
#[must_use]
pub fn values(case: &Case, shot: &Shot, marks: &Marks) -> ([Option<f64>; 3], Option<(f64, bool)>) {
    // Alone, without its partner: what that lends bears on the certainty, not on the value.
    let alone = Shot { marks: marks.clone(), draft: false, pair_with: None, ..shot.clone() };
    let bare = Case {
        patient_right: case.patient_right,
        settings: case.settings.clone(),
        shots: vec![alone].into(),
        ..Case::default()
    };
    let scale = |body: &Option<crate::measure::reading::BodySizes>| {
        body.as_ref().map(|body| (body.mm_per_px, body.scale_assumed))
    };
    match read_shot(&bare, 0, |_| Seen::NotLookedAt) {
        ShotReading::Lateral(reading) => {
            let tip = reading.tip.as_ref();
            let value = [tip.map(|tip| tip.along.value), tip.map(|tip| tip.height.value), None];
            (value, scale(&reading.body))
        }
        ShotReading::Ap(reading) => {
            let across = reading.tip.as_ref().map(|tip| tip.along.value);
            ([None, reading.height.as_ref().map(|height| height.value), across], scale(&reading.body))
        }
        ShotReading::Pedicle(_) => ([None; 3], shot.mm_per_px.map(|scale| (scale, false))),
    }
}

/// A table of one quantity; shots whose view does not give it are no subjects.
#[must_use]
pub fn table(reads: &[Read<'_>], what: Measured) -> Vec<Reading> {
    use crate::measure::mark::View;
    let gives = |read: &&Read<'_>| match what {
        Measured::Depth => read.shot.view == View::Lateral,
        Measured::Height => matches!(read.shot.view, View::Lateral | View::Ap),
        Measured::Across => read.shot.view == View::Ap,
    };
    let reading = |read: &Read<'_>| Reading {
        subject: read.subject.clone(),
        rater: read.rater.clone(),
        round: read.round.to_string(),
        value: read.value(what),
    };
    reads.iter().filter(gives).map(reading).collect()
}

fn report_of(reads: &[Read<'_>], what: Measured) -> Option<Report> {
    let table = table(reads, what);
    (!table.is_empty()).then(|| report(&table))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::rereading::Rereading;
    use crate::measure::mark::{MarkKind, Stage, View};

    /// A body of 100 × 70 px at 0.35 mm to a pixel with its tip at this depth in pixels.
    fn marks(depth: f64) -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (100.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 70.0), (100.0, 70.0)])
            .with(MarkKind::Tip, &[(depth, 35.0)])
    }

    fn case(operator: Option<&str>) -> Case {
        let mut case = Case { operator: operator.map(str::to_owned), ..Case::default() };
        for (id, depth) in [("a", 30.0), ("b", 40.0), ("c", 50.0)] {
            let mut shot = Shot::new(id, "x.png", View::Lateral);
            (shot.stage, shot.mm_per_px, shot.marks) = (Some(Stage::Final), Some(0.35), marks(depth));
            case.shots.push(shot);
        }
        case
    }

    fn read_again(case: &mut Case, operator: &str, round: u32, depths: [f64; 3]) {
        let mut one = Rereading::new(operator, round, 1, vec!["a".into(), "b".into(), "c".into()]);
        for reading in &mut one.readings {
            let at = ["a", "b", "c"].iter().position(|id| *id == reading.shot).unwrap();
            (reading.marks, reading.progress) = (marks(depths[at]), Progress::Done);
        }
        case.rereadings.push(one);
    }

    #[test]
    fn first_marks_are_the_operators_first_round_and_blind_rounds_follow() {
        let mut case = case(Some("R1"));
        read_again(&mut case, "R1", 1, [31.0, 39.0, 50.0]);
        read_again(&mut case, "R2", 1, [29.0, 41.0, 52.0]);
        let named = [Named { name: "", case: &case }];
        let found = study(&named, true);
        let rounds: Vec<(&str, u32)> =
            found.reads.iter().filter(|r| r.subject == "a").map(|r| (r.rater.as_str(), r.round)).collect();
        assert_eq!(rounds, [("R1", 1), ("R1", 2), ("R2", 1)]);
        let (what, depth) = &found.reports[0];
        assert_eq!(*what, Measured::Depth);
        // R1's first reading against R2's: differences 0.01, −0.01, −0.02, mean −1/150.
        let main = &depth.comparisons[0].pairs[0];
        assert!((main.agreement.unwrap().bias.value + 0.02 / 3.0).abs() < 1e-12);
        // Without the first marks only the blind rounds count.
        let blind = study(&named, false);
        assert_eq!(blind.reads.len(), 6);
        assert!(blind.reads.iter().all(|read| read.round == 1 && !read.first));
    }

    /// By hand: tips 1 px apart in two of three shots and 0 in one, in x only. Squares 0.5 + 0.5, two directions times three
    /// degrees of freedom: √(1/6) px of 0.35 mm.
    #[test]
    fn measured_spread_becomes_the_placement_settings() {
        let mut case = case(None);
        read_again(&mut case, "R1", 1, [30.0, 40.0, 50.0]);
        read_again(&mut case, "R1", 2, [31.0, 39.0, 50.0]);
        let found = study(&[Named { name: "", case: &case }], false);
        let expected = 0.35 * (1.0_f64 / 6.0).sqrt();
        assert!((found.placement(&found.marks.metal).unwrap().sd - expected).abs() < 1e-12);
        let adopted = found.adopted(&case.settings).unwrap();
        assert!((adopted.metal_sd_mm - expected).abs() < 1e-3);
        // The corners fell on the same places in both rounds: nothing that could be adopted.
        assert!((adopted.bone_sd_mm - 0.5).abs() < 1e-12);
        assert_eq!(study(&[Named { name: "", case: &Case::default() }], true).adopted(&case.settings), None);
    }

    #[test]
    fn what_is_open_or_skipped_is_no_reading_and_a_missing_tip_is_told() {
        let mut case = case(Some("R1"));
        read_again(&mut case, "R2", 1, [30.0, 40.0, 50.0]);
        case.rereadings[0].readings[0].progress = Progress::Skipped;
        case.rereadings[0].readings[1].marks.set(MarkKind::Tip, Vec::new());
        let found = study(&[Named { name: "A", case: &case }], true);
        assert_eq!(found.reads.len(), 4);
        assert!(found.reads.iter().all(|read| read.subject.starts_with("A/")));
        assert_eq!(found.unread.len(), 1);
        assert_eq!(found.reports[0].1.comparisons[0].left_out.len(), 1);
    }
}
