//! Every change of a case as a value; [`Case::apply`] is the only way in.

use crate::case::annotation::{self, Label};
use crate::case::document::figure_spec::FigureSpec;
use crate::case::document::proposed::ProposedMarks;
use crate::case::document::record::{BodyRecord, lesion_fault};
use crate::case::document::redaction::Cover;
use crate::case::document::rereading::Rereading;
use crate::case::document::{Case, Shot};
use crate::case::plan::pairing::refusal;
use crate::geom::point::Point;
use crate::measure::calibration::Calibration;
use crate::measure::mark::{
    Level, MAX_COORDINATE_PX, MarkKind, MarkRef, Marks, PatientRight, Side, Stage, View,
};
use crate::measure::settings::{Settings, scale_fault};
use crate::measure::true_view::known::{CannotTell, Tube};

/// A change of a shot or of the case. Shots are named by their id.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Puts a point into a slot of a mark, which may be empty or filled; the slots before it stay as they are.
    Place {
        /// The shot.
        shot: String,
        /// Which point.
        at: MarkRef,
        /// Where it goes.
        to: Point,
    },
    /// Puts a further point into a mark, before the slot `at.index`.
    Insert {
        /// The shot.
        shot: String,
        /// Before which slot.
        at: MarkRef,
        /// Where it goes.
        to: Point,
    },
    /// Takes a point out of a mark. A corner leaves an empty slot, an interior point leaves none.
    Remove {
        /// The shot.
        shot: String,
        /// Which point.
        at: MarkRef,
    },
    /// Takes a whole mark out.
    Clear {
        /// The shot.
        shot: String,
        /// Which mark.
        kind: MarkKind,
    },
    /// Replaces all marks of a shot.
    SetMarks {
        /// The shot.
        shot: String,
        /// The new marks.
        marks: Marks,
    },
    /// Replaces all marks of a shot by a draft of which some points were proposed by the program.
    SetDraft {
        /// The shot.
        shot: String,
        /// The new marks.
        marks: Marks,
        /// Which of them were proposed, and how sure the program was.
        proposed: Box<ProposedMarks>,
    },
    /// Says what a shot shows.
    Describe {
        /// The shot.
        shot: String,
        /// What is to be set.
        what: Description,
    },
    /// Adds a shot before the position, or at the end.
    AddShot {
        /// Position in the list.
        at: usize,
        /// The shot.
        shot: Box<Shot>,
    },
    /// Takes a shot out.
    RemoveShot {
        /// The shot.
        shot: String,
    },
    /// Moves a shot to another position.
    MoveShot {
        /// The shot.
        shot: String,
        /// Its new position.
        to: usize,
    },
    /// Keeps a round of blind readings, instead of what was kept of the same operator and round.
    SetRereading(Box<Rereading>),
    /// Takes a round of blind readings out.
    RemoveRereading {
        /// Who read.
        operator: String,
        /// Which round.
        round: u32,
    },
    /// Replaces the settings.
    SetSettings(Box<Settings>),
    /// Sets the title.
    SetTitle(Option<String>),
    /// Sets the operator.
    SetOperator(Option<String>),
    /// Sets the date.
    SetDate(Option<String>),
    /// Sets the user's own reference.
    SetReference(Option<String>),
    /// Writes down what is said of a body and side, instead of what was; nothing said takes it out.
    SetRecord(Box<BodyRecord>),
    /// Keeps a template of figures under its name, instead of the one before.
    SetFigure(Box<FigureSpec>),
    /// Takes the template of this name out.
    RemoveFigure(String),
    /// Sets the degenerated discs.
    SetDiscs(Vec<String>),
    /// Sets the patient's right for the case.
    SetPatientRight(Option<PatientRight>),
    /// Sets where the X-ray tube stood.
    SetTube(Tube),
}

/// One property of a shot.
#[derive(Clone, Debug, PartialEq)]
pub enum Description {
    /// Its id.
    Id(String),
    /// The vertebra.
    Level(Option<Level>),
    /// Entry side.
    Side(Option<Side>),
    /// View, which is set from then on; marks that do not belong to the new view stay in the file but are not read.
    View(View),
    /// Stage.
    Stage(Option<Stage>),
    /// Time taken.
    Taken(Option<String>),
    /// Scale in millimetres to a pixel, with its uncertainty and where it comes from.
    Scale(Option<Calibration>),
    /// The covers, instead of those before.
    Covers(Vec<Cover>),
    /// The labels, instead of those before.
    Labels(Vec<Label>),
    /// The patient's right in this picture.
    PatientRight(Option<PatientRight>),
    /// In which directions it cannot be told whether a border shows twice.
    CannotTell(Option<CannotTell>),
    /// The shot it is paired with.
    PairWith(Option<String>),
    /// The picture.
    Image(String),
    /// Which frame of the picture's file, from 0.
    Frame(u32),
    /// Digest of the picture.
    Digest(Option<String>),
    /// Whether the marks are a draft.
    Draft(bool),
}

/// Why an edit could not be applied; the case is unchanged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditError {
    /// There is no shot with this id.
    NoSuchShot(String),
    /// There is already a shot with this id.
    IdTaken(String),
    /// A coordinate is not a finite number, or lies outside any picture.
    NotFinite,
    /// A setting or a scale cannot be meant; the sentence says why.
    Implausible(&'static str),
    /// A label cannot be meant; the end of a sentence says why.
    Label(String),
    /// The mark has no such point.
    NoSuchPoint,
    /// There is no such round of blind readings.
    NoSuchRound,
    /// The two shots are no pair; the sentence says why, without its full stop.
    NoPair(String),
    /// Nobody has set the view of this shot, so that nothing says what a mark on it would be.
    ViewNotSet(String),
}

impl std::fmt::Display for EditError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSuchShot(id) => write!(f, "there is no shot “{id}” in this case"),
            Self::IdTaken(id) => write!(f, "there is already a shot “{id}” in this case"),
            Self::NotFinite => f.write_str("the position lies outside any image"),
            Self::Implausible(why) => f.write_str(why),
            Self::NoSuchPoint => f.write_str("the mark has no such point"),
            Self::NoSuchRound => f.write_str("there is no such session of blinded re-reading in this case"),
            Self::NoPair(why) | Self::Label(why) => f.write_str(why),
            Self::ViewNotSet(id) => write!(f, "the view of “{id}” is not set; set it before its marks"),
        }
    }
}

impl std::error::Error for EditError {}

impl Case {
    /// Applies one change.
    ///
    /// # Errors
    /// Says why the change is impossible; the case is then as it was.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        match edit {
            Edit::Place { shot, at, to } => {
                finite(*to)?;
                let shot = self.marked_mut(shot)?;
                let mut slots = shot.marks.slots(at.kind).to_vec();
                if at.index >= at.kind.count().1 {
                    return Err(EditError::NoSuchPoint);
                }
                while slots.len() <= at.index.max(at.kind.count().0.saturating_sub(1)) {
                    slots.push(None);
                }
                slots[at.index] = Some(*to);
                shot.marks.set(at.kind, slots);
                shot.proposed.moved(*at);
            }
            Edit::Insert { shot, at, to } => {
                finite(*to)?;
                let shot = self.marked_mut(shot)?;
                let mut slots = shot.marks.slots(at.kind).to_vec();
                if at.index > slots.len() || slots.len() >= at.kind.count().1 {
                    return Err(EditError::NoSuchPoint);
                }
                slots.insert(at.index, Some(*to));
                shot.marks.set(at.kind, slots);
                shot.proposed.inserted(*at);
            }
            Edit::Remove { shot, at } => {
                let shot = self.shot_mut(shot)?;
                let mut slots = shot.marks.slots(at.kind).to_vec();
                if slots.get(at.index).copied().flatten().is_none() {
                    return Err(EditError::NoSuchPoint);
                }
                if is_interior(at.kind, at.index, slots.len()) {
                    slots.remove(at.index);
                    shot.proposed.taken_out(*at);
                } else {
                    slots[at.index] = None;
                    shot.proposed.moved(*at);
                }
                shot.marks.set(at.kind, slots);
            }
            Edit::Clear { shot, kind } => {
                let shot = self.shot_mut(shot)?;
                shot.marks.set(*kind, Vec::new());
                shot.proposed.cleared(*kind);
            }
            Edit::SetMarks { shot, marks } => {
                marks.placed().try_for_each(|(_, p)| finite(p))?;
                let shot = if marks.is_empty() { self.shot_mut(shot)? } else { self.marked_mut(shot)? };
                shot.proposed.replaced(&shot.marks, marks);
                shot.marks = marks.clone();
            }
            Edit::SetDraft { shot, marks, proposed } => {
                marks.placed().try_for_each(|(_, p)| finite(p))?;
                let shot = self.marked_mut(shot)?;
                shot.marks = marks.clone();
                shot.proposed = (**proposed).clone();
                shot.draft = true;
            }
            Edit::Describe { shot, what } => self.describe(shot, what)?,
            Edit::AddShot { at, shot } => {
                if self.shot(&shot.id).is_some() {
                    return Err(EditError::IdTaken(shot.id.clone()));
                }
                shot.marks.placed().try_for_each(|(_, p)| finite(p))?;
                annotation::fault(&shot.labels).map_or(Ok(()), |why| Err(EditError::Label(why)))?;
                shot.mm_per_px.map_or(Ok(()), plausible_scale)?;
                self.shots.insert((*at).min(self.shots.len()), (**shot).clone());
            }
            Edit::RemoveShot { shot } => {
                let index = self.index_of(shot)?;
                self.shots.remove(index);
                // A pairing by hand ends with the shot it names.
                for other in &mut self.shots {
                    if other.pair_with.as_ref() == Some(shot) {
                        other.pair_with = None;
                    }
                }
                // What was read of it again goes with it; a later shot of that name is another one.
                for rereading in &mut self.rereadings {
                    rereading.readings.retain(|reading| reading.shot != *shot);
                }
            }
            Edit::MoveShot { shot, to } => {
                let index = self.index_of(shot)?;
                let moved = self.shots.remove(index);
                self.shots.insert((*to).min(self.shots.len()), moved);
            }
            Edit::SetRereading(rereading) => self.set_rereading(rereading)?,
            Edit::RemoveRereading { operator, round } => {
                let is_it = |one: &Rereading| one.operator == *operator && one.round == *round;
                let at = self.rereadings.iter().position(is_it).ok_or(EditError::NoSuchRound)?;
                self.rereadings.remove(at);
            }
            Edit::SetSettings(settings) => {
                if let Some(why) = settings.fault() {
                    return Err(EditError::Implausible(why));
                }
                self.settings = (**settings).clone();
            }
            Edit::SetTitle(title) => self.title.clone_from(title),
            Edit::SetOperator(operator) => self.operator.clone_from(operator),
            Edit::SetDate(date) => self.date.clone_from(date),
            Edit::SetReference(reference) => self.reference.clone_from(reference),
            Edit::SetRecord(record) => {
                if let Some(why) = record.lesion_s.and_then(lesion_fault) {
                    return Err(EditError::Implausible(why));
                }
                self.set_record((**record).clone());
            }
            Edit::SetFigure(figure) => {
                if figure.name.trim().is_empty() {
                    return Err(EditError::Implausible("a figure template needs a name"));
                }
                self.set_figure((**figure).clone());
            }
            Edit::RemoveFigure(name) => {
                if self.figure(name).is_none() {
                    return Err(EditError::Implausible("there is no figure template with this name"));
                }
                self.figures.retain(|figure| figure.name != *name);
            }
            Edit::SetDiscs(discs) => self.discs.clone_from(discs),
            Edit::SetPatientRight(right) => self.patient_right = *right,
            Edit::SetTube(tube) => self.tube = *tube,
        }
        Ok(())
    }

    fn set_rereading(&mut self, new: &Rereading) -> Result<(), EditError> {
        if let Some(why) = new.fault() {
            return Err(EditError::Implausible(why));
        }
        new.readings.iter().flat_map(|reading| reading.marks.placed()).try_for_each(|(_, p)| finite(p))?;
        let same = |one: &&mut Rereading| one.operator == new.operator && one.round == new.round;
        match self.rereadings.iter_mut().find(same) {
            Some(old) => *old = new.clone(),
            None => self.rereadings.push(new.clone()),
        }
        Ok(())
    }

    fn describe(&mut self, id: &str, what: &Description) -> Result<(), EditError> {
        if let Description::Id(new) = what
            && new != id
            && self.shot(new).is_some()
        {
            return Err(EditError::IdTaken(new.clone()));
        }
        if let (Description::PairWith(Some(other)), Some(shot)) = (what, self.shot(id))
            && let Some(why) = refusal(self, shot, other)
        {
            return Err(EditError::NoPair(why.trim_end_matches('.').to_owned()));
        }
        let shot = self.shot_mut(id)?;
        match what {
            Description::Id(new) => {
                let new = new.clone();
                shot.id.clone_from(&new);
                for other in &mut self.shots {
                    if other.pair_with.as_deref() == Some(id) {
                        other.pair_with = Some(new.clone());
                    }
                }
                let again = self.rereadings.iter_mut().flat_map(|one| &mut one.readings);
                again.filter(|reading| reading.shot == id).for_each(|reading| reading.shot.clone_from(&new));
            }
            Description::Level(level) => shot.level = *level,
            Description::Side(side) => shot.side = *side,
            Description::View(view) => (shot.view, shot.view_set) = (*view, true),
            Description::Stage(stage) => shot.stage = *stage,
            Description::Taken(taken) => shot.taken.clone_from(taken),
            Description::Scale(scale) => {
                if let Some(why) = scale.and_then(|scale| scale.fault()) {
                    return Err(EditError::Implausible(why));
                }
                shot.mm_per_px = scale.map(|scale| scale.mm_per_px);
                shot.mm_per_px_sd = scale.and_then(|scale| scale.sd);
                shot.scale_from = scale.map(|scale| scale.from);
                shot.known_length = scale.and_then(|scale| scale.known);
            }
            Description::Covers(covers) => {
                let good = |cover: &Cover| Cover::between(cover.min, cover.max) == Some(*cover);
                if !covers.iter().all(good) {
                    return Err(EditError::NotFinite);
                }
                shot.covers.clone_from(covers);
            }
            Description::Labels(labels) => {
                if let Some(why) = annotation::fault(labels) {
                    return Err(EditError::Label(why));
                }
                shot.labels.clone_from(labels);
            }
            Description::PatientRight(right) => shot.patient_right = *right,
            Description::CannotTell(untold) => shot.cannot_tell = *untold,
            Description::PairWith(other) => shot.pair_with.clone_from(other),
            Description::Image(image) => shot.image.clone_from(image),
            Description::Digest(digest) => shot.digest.clone_from(digest),
            Description::Frame(frame) => shot.frame = *frame,
            Description::Draft(draft) => shot.draft = *draft,
        }
        Ok(())
    }

    fn index_of(&self, id: &str) -> Result<usize, EditError> {
        let missing = || EditError::NoSuchShot(id.to_owned());
        self.shots.iter().position(|shot| shot.id == id).ok_or_else(missing)
    }

    fn shot_mut(&mut self, id: &str) -> Result<&mut Shot, EditError> {
        let index = self.index_of(id)?;
        Ok(&mut self.shots[index])
    }

    /// A shot whose marks can be placed: its view is set.
    fn marked_mut(&mut self, id: &str) -> Result<&mut Shot, EditError> {
        let shot = self.shot_mut(id)?;
        if shot.view_set { Ok(shot) } else { Err(EditError::ViewNotSet(id.to_owned())) }
    }
}

/// Whether a point can be taken out of a mark without leaving a gap.
fn is_interior(kind: MarkKind, index: usize, len: usize) -> bool {
    let (least, most) = kind.count();
    least == 0 || (most == usize::MAX && index > 0 && index + 1 < len)
}

fn finite(p: Point) -> Result<(), EditError> {
    let good = p.x.abs() <= MAX_COORDINATE_PX && p.y.abs() <= MAX_COORDINATE_PX;
    if good { Ok(()) } else { Err(EditError::NotFinite) }
}

fn plausible_scale(mm_per_px: f64) -> Result<(), EditError> {
    scale_fault(mm_per_px).map_or(Ok(()), |why| Err(EditError::Implausible(why)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn case() -> Case {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        case
    }

    fn place(kind: MarkKind, index: usize, x: f64) -> Edit {
        Edit::Place { shot: "a".to_owned(), at: MarkRef { kind, index }, to: Point::new(x, 0.0) }
    }

    #[test]
    fn corners_can_be_placed_out_of_order() {
        let mut case = case();
        case.apply(&place(MarkKind::SuperiorEndPlate, 1, 9.0)).unwrap();
        assert_eq!(case.shots[0].marks.complete(MarkKind::SuperiorEndPlate), None);
        case.apply(&place(MarkKind::SuperiorEndPlate, 0, 1.0)).unwrap();
        let plate = case.shots[0].marks.complete(MarkKind::SuperiorEndPlate).unwrap();
        assert_eq!(plate, vec![Point::new(1.0, 0.0), Point::new(9.0, 0.0)]);
    }

    /// A level says nothing of the view; until that is set, nothing says what a mark would be.
    #[test]
    fn a_view_that_nobody_set_stays_open_and_takes_no_mark() {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Ap).with_view_open());
        let say = |what| Edit::Describe { shot: "a".to_owned(), what };
        case.apply(&say(Description::Level(Some(Level::L5)))).unwrap();
        case.apply(&say(Description::Stage(Some(Stage::Final)))).unwrap();
        assert_eq!(case.shots[0].known_view(), None);
        let tip = place(MarkKind::Tip, 0, 4.0);
        let why = case.apply(&tip).unwrap_err();
        assert_eq!(why.to_string(), "the view of “a” is not set; set it before its marks");
        let marks = Marks::new().with(MarkKind::Tip, &[(4.0, 0.0)]);
        assert_eq!(case.apply(&Edit::SetMarks { shot: "a".to_owned(), marks }), Err(why));
        assert_eq!(case.apply(&Edit::SetMarks { shot: "a".to_owned(), marks: Marks::new() }), Ok(()));
        case.apply(&say(Description::View(View::Lateral))).unwrap();
        assert_eq!(case.shots[0].known_view(), Some(View::Lateral));
        assert_eq!(case.apply(&tip), Ok(()));
    }

    #[test]
    fn removing_a_corner_leaves_its_place_and_an_interior_point_none() {
        let mut case = case();
        for (index, x) in [(0, 1.0), (1, 9.0)] {
            case.apply(&place(MarkKind::SuperiorEndPlate, index, x)).unwrap();
        }
        let at = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 1 };
        case.apply(&Edit::Insert { shot: "a".to_owned(), at, to: Point::new(5.0, 0.0) }).unwrap();
        case.apply(&Edit::Remove { shot: "a".to_owned(), at }).unwrap();
        assert_eq!(case.shots[0].marks.slots(MarkKind::SuperiorEndPlate).len(), 2);
        case.apply(&Edit::Remove { shot: "a".to_owned(), at: MarkRef { index: 0, ..at } }).unwrap();
        assert_eq!(
            case.shots[0].marks.slots(MarkKind::SuperiorEndPlate),
            &[None, Some(Point::new(9.0, 0.0))]
        );
    }

    #[test]
    fn impossible_edits_change_nothing() {
        let mut case = case();
        let before = case.clone();
        assert!(case.apply(&place(MarkKind::Tip, 1, 1.0)).is_err());
        assert!(case.apply(&place(MarkKind::Tip, 0, f64::NAN)).is_err());
        assert!(case.apply(&Edit::RemoveShot { shot: "b".to_owned() }).is_err());
        assert_eq!(case, before);
    }

    #[test]
    fn blind_readings_stand_beside_the_first_marks_and_go_with_their_shot() {
        let mut case = case();
        case.apply(&place(MarkKind::Tip, 0, 1.0)).unwrap();
        let mut round = Rereading::new("A", 1, 7, vec!["a".to_owned()]);
        round.readings[0].marks = Marks::new().with(MarkKind::Tip, &[(2.0, 0.0)]);
        case.apply(&Edit::SetRereading(Box::new(round.clone()))).unwrap();
        round.readings[0].marks = Marks::new().with(MarkKind::Tip, &[(3.0, 0.0)]);
        case.apply(&Edit::SetRereading(Box::new(round.clone()))).unwrap();
        assert_eq!(case.rereadings, [round.clone()], "kept instead of what was kept before");
        assert_eq!(case.shots[0].marks, Marks::new().with(MarkKind::Tip, &[(1.0, 0.0)]));
        let what = Description::Id("c".to_owned());
        case.apply(&Edit::Describe { shot: "a".to_owned(), what }).unwrap();
        assert_eq!(case.rereadings[0].readings[0].shot, "c");
        case.apply(&Edit::RemoveShot { shot: "c".to_owned() }).unwrap();
        assert!(case.rereadings[0].readings.is_empty());
        let gone = Edit::RemoveRereading { operator: "A".to_owned(), round: 1 };
        case.apply(&gone).unwrap();
        assert_eq!(case.apply(&gone), Err(EditError::NoSuchRound));
        round.operator.clear();
        assert!(case.apply(&Edit::SetRereading(Box::new(round))).is_err());
    }

    #[test]
    fn renaming_a_shot_carries_its_pairing() {
        let mut case = case();
        let mut other = Shot::new("b", "b.png", View::Ap);
        other.pair_with = Some("a".to_owned());
        case.shots.push(other);
        let what = Description::Id("c".to_owned());
        case.apply(&Edit::Describe { shot: "a".to_owned(), what }).unwrap();
        assert_eq!(case.shots[1].pair_with.as_deref(), Some("c"));
    }
}
