//! The next line: one sentence that says what the next click does, the keys that go elsewhere, and which point
//! the small diagram shows.

use crate::app::annotation::label;
use crate::app::annotation::straighten;
use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::file::FileCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::marking::copied_marks;
use crate::app::marking::guide::{self, Need, Step, StepPart, capital};
use crate::app::marking::issue_actions::asks_for_right;
use crate::app::marking::next_mark::required_done;
use crate::app::marking::proposal::change::can_click_walls;
use crate::app::marking::proposal::words;
use crate::app::marking::view_questions::{self, ViewQuestion};
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::app::session::mode::Tool;
use crate::case::document::Shot;
use crate::case::document::edit::Description;
use crate::case::plan::standing::Standing;
use crate::measure::mark::{MarkKind, MarkRef, Marks, PatientRight, View};
use crate::scene::format;

/// What the next line says.
#[derive(Clone, Debug, PartialEq)]
pub struct Prompt {
    /// One sentence, in two parts: the point first, then where exactly it lies.
    pub sentence: String,
    /// More about the place; may be empty.
    pub advice: String,
    /// What else can be done, with its key.
    pub keys: Vec<Command>,
    /// The point the diagram shows, with the number of points its mark has or is to have.
    pub diagram: Option<(MarkRef, usize)>,
}

/// The next line for what is in hand.
#[must_use]
pub fn prompt(document: &Document) -> Prompt {
    let Some(shot) = document.shot() else {
        let sentence = "This case has no shots yet. Drop images on the window, or add them.".to_owned();
        return Prompt {
            sentence,
            advice: String::new(),
            keys: vec![Command::File(FileCommand::AddImages)],
            diagram: None,
        };
    };
    let view = shot.view;
    if let Some(sentence) = drawn_instead(document) {
        let keys = vec![Command::Marks(MarksCommand::PutDown)];
        return Prompt { sentence, advice: String::new(), keys, diagram: None };
    }
    if document.asks_for_view() {
        return which_view();
    }
    if asks_for_right(document) {
        return patients_right(document, shot);
    }
    if let Some(offered) = words::prompt(document, shot) {
        return offered;
    }
    if let Some(question) = view_questions::asked(document) {
        return of_view(document, question);
    }
    match document.hand() {
        Hand::Border(border) => words::border(document, border),
        Hand::Wall { second } => words::walls(document, second),
        Hand::Landmark { second } => landmark(document, shot, second),
        Hand::Next(step) => {
            let sentence = aimed(document, &step.named(view));
            let mut keys = vec![Command::Marks(MarksCommand::Skip), Command::Marks(MarksCommand::Back)];
            if shot.marks.is_empty() && !copied_marks::sources_of(document).is_empty() {
                keys.push(Command::Marks(MarksCommand::CopyMarks));
            }
            if can_click_walls(document) {
                keys.push(Command::Marks(MarksCommand::Propose));
            }
            if shot.draft {
                keys.insert(0, Command::Marks(MarksCommand::ConfirmMarks));
            }
            if document.posterior_is_left().is_none() && view == View::Lateral {
                keys.push(Command::Marks(MarksCommand::MirrorDiagram));
            }
            let draft = if shot.draft { DRAFT } else { "" };
            let advice = match (step.need(view), step.advice(view)) {
                (Need::Skippable, "") => "Optional.".to_owned(),
                (Need::Skippable, advice) => format!("{}; optional.", capital(advice)),
                (_, "") => String::new(),
                (_, advice) => format!("{}.", capital(advice)),
            };
            let refused = if document.proposals.is_sought(&shot.id) {
                "This body is being looked for in the image; its marks are proposed when it is found."
            } else {
                document.proposals.refused(&shot.id).unwrap_or_default()
            };
            let advice = format!("{refused} {advice} {draft}").trim().to_owned();
            Prompt { sentence, advice, keys, diagram: Some(meant(step, &shot.marks)) }
        }
        Hand::Again(at) => {
            let step = Step::of(&shot.marks, at);
            let mut keys = vec![
                Command::Marks(MarksCommand::Remove),
                Command::Marks(MarksCommand::Skip),
                Command::Marks(MarksCommand::PutDown),
            ];
            if shot.draft {
                keys.insert(0, Command::Marks(MarksCommand::ConfirmMarks));
            }
            Prompt {
                sentence: format!("Click where {} belongs, or use the arrow keys.", step.named(view)),
                advice: step.advice(view).to_owned(),
                keys,
                diagram: Some((at, shot.marks.slots(at.kind).len())),
            }
            .tidied()
        }
        Hand::Mark(at) => marked(document, at, view),
        Hand::Adding(kind) => Prompt {
            sentence: format!(
                "Click further points of the {}; each lands at its place along it.",
                format::mark(kind)
            ),
            advice: String::new(),
            keys: vec![Command::Marks(MarksCommand::PutDown), Command::Case(CaseCommand::Undo)],
            diagram: None,
        },
        Hand::Nothing => at_rest(document),
    }
}

/// What is said of a draft beside what is asked for.
const DRAFT: &str = "The dashed marks are a draft; confirm them to get a reading.";

/// What the next click does where it is not about marks.
fn drawn_instead(document: &Document) -> Option<String> {
    match document.tool() {
        Tool::Annotations => Some(label::entry::sentence(document)),
        Tool::Straighten => Some(straighten::sentence(document)),
        Tool::Marks | Tool::Redaction { .. } | Tool::Scale { .. } => None,
    }
}

/// What a click on this place does, or Enter where there is a crosshair.
pub(super) fn aimed(document: &Document, place: &str) -> String {
    match &document.crosshair {
        None => format!("Click {place}."),
        Some(_) => format!("Move the crosshair to {place} and press Enter."),
    }
}

/// Which marks are asked for hangs on the view, so nothing else is asked before it.
fn which_view() -> Prompt {
    let answer = |view| Command::Shots(ShotsCommand::Describe(Description::View(view)));
    Prompt {
        sentence: "Which view is this?".to_owned(),
        advice: "The marks that are asked for depend on it.".to_owned(),
        keys: [View::Lateral, View::Ap, View::Pedicle].map(answer).to_vec(),
        diagram: None,
    }
}

fn patients_right(document: &Document, shot: &Shot) -> Prompt {
    let asked = "Where is the patient’s right in the AP images?";
    let sentence = match document.hand() {
        Hand::Next(step) => format!("{asked} If unknown, click {}.", step.named(shot.view)),
        _ => asked.to_owned(),
    };
    Prompt {
        sentence,
        advice: "Until it is set or a pedicle is marked, only the height is read. Set it once for this case; you can change it in Case settings."
            .to_owned(),
        keys: PatientRight::ALL.map(|right| Command::Case(CaseCommand::SetPatientRight(right))).to_vec(),
        diagram: None,
    }
}

/// What is asked of the view once the marks are placed.
fn of_view(document: &Document, question: ViewQuestion) -> Prompt {
    let (sentence, advice) = match question {
        ViewQuestion::Side => (
            "Which side did the probe enter from?",
            "The patient’s right or left. The offset from the midline is measured from that side.",
        ),
        ViewQuestion::Contours => (
            "Does any border show twice?",
            "Two lines of one border mean that the view is rotated or tilted. Mark the other line of a border that has one; Skip goes to the next border. Hold Space to see the image without overlays.",
        ),
        ViewQuestion::Tube(View::Lateral) => (
            "Where was the X-ray tube?",
            "Optional, asked once per case for its laterals. Structures closer to the tube appear larger.",
        ),
        ViewQuestion::Tube(_) => (
            "Where was the X-ray tube?",
            "Optional, asked once per case for its AP images. Structures closer to the tube appear larger.",
        ),
    };
    let mut keys: Vec<Command> = Vec::new();
    if question == ViewQuestion::Contours {
        keys.push(Command::Marks(MarksCommand::SecondContour));
    }
    keys.extend(question.answers().into_iter().map(|answer| Command::Case(CaseCommand::AnswerView(answer))));
    if document.neighbour(1).is_some() {
        keys.push(Command::Shots(ShotsCommand::Next));
    }
    let diagram = document.hand().mark().and_then(|at| {
        let shot = document.shot()?;
        Some((at, shot.marks.slots(at.kind).len()))
    });
    Prompt { sentence: sentence.to_owned(), advice: advice.to_owned(), keys, diagram }
}

fn landmark(document: &Document, shot: &Shot, second: bool) -> Prompt {
    let from = document.copying().map(|carrying| carrying.source.as_str()).unwrap_or_default();
    let kind = if shot.view == View::Pedicle { MarkKind::Pedicle } else { MarkKind::SuperiorEndPlate };
    let (least, _) = kind.count();
    Prompt {
        sentence: aimed(document, copied_marks::landmark(shot.view, second)),
        advice: if second {
            "This click places all marks here as a draft.".to_owned()
        } else {
            format!("Two clicks copy the marks of “{from}” here.")
        },
        keys: if second {
            vec![Command::Marks(MarksCommand::Back), Command::Marks(MarksCommand::PutDown)]
        } else {
            vec![Command::Marks(MarksCommand::PutDown)]
        },
        diagram: Some((MarkRef { kind, index: usize::from(second) }, least)),
    }
}

impl Prompt {
    fn tidied(mut self) -> Self {
        if !self.advice.is_empty() {
            self.advice = format!("{}.", capital(&self.advice));
        }
        self
    }
}

fn marked(document: &Document, at: MarkRef, view: View) -> Prompt {
    let Some(shot) = document.shot() else { return at_rest(document) };
    let step = Step::of(&shot.marks, at);
    let done = required_done(shot);
    let sentence = if required_done(shot) && !shot.draft {
        format!("{} Drag {} or use the arrow keys.", marked_words(shot), step.named(view))
    } else {
        format!("{} is selected: drag it or use the arrow keys.", capital(&step.named(view)))
    };
    let advice = if shot.draft { DRAFT.to_owned() } else { String::new() };
    let mut keys = vec![Command::Marks(MarksCommand::Remove)];
    if shot.draft {
        keys.insert(0, Command::Marks(MarksCommand::ConfirmMarks));
        let diagram = Some((at, shot.marks.slots(at.kind).len()));
        return Prompt { sentence, advice, keys, diagram };
    }
    match (done, document.neighbour(1)) {
        (true, Some(_)) => keys.insert(0, Command::Shots(ShotsCommand::Next)),
        (true, None) if document.unsaved() => keys.insert(0, Command::File(FileCommand::Save)),
        (true, None) => {}
        (false, _) => keys.push(Command::Marks(MarksCommand::PutDown)),
    }
    let diagram = Some((at, shot.marks.slots(at.kind).len()));
    Prompt { sentence, advice, keys, diagram }
}

fn at_rest(document: &Document) -> Prompt {
    let shot = document.shot();
    if let Some(shot) = shot.filter(|shot| shot.draft) {
        let done = required_done(shot);
        let sentence =
            "These marks were copied from another shot. Drag each to its position here, then confirm.";
        let mut keys = vec![Command::Marks(MarksCommand::ConfirmMarks)];
        if !done {
            keys.push(Command::Marks(MarksCommand::Skip));
        }
        return Prompt { sentence: sentence.to_owned(), advice: DRAFT.to_owned(), keys, diagram: None };
    }
    let blocked = shot
        .and_then(|shot| document.looked(&shot.id))
        .is_some_and(|looked| looked.standing == Standing::Blocked);
    let sentence = if blocked {
        "No reading from these marks. See the caution on the right and drag the mark that is wrong."
    } else if shot.is_some_and(|shot| !required_done(shot)) {
        "No mark selected. Select one in the list, or press N for the next missing mark."
    } else {
        ""
    };
    let sentence = match shot {
        Some(shot) if sentence.is_empty() => {
            format!("{} Drag a mark to correct it.", marked_words(shot))
        }
        _ => sentence.to_owned(),
    };
    let mut keys = Vec::new();
    if shot.is_some_and(|shot| !required_done(shot)) {
        keys.push(Command::Marks(MarksCommand::Skip));
    } else if document.neighbour(1).is_some() {
        keys.push(Command::Shots(ShotsCommand::Next));
    }
    Prompt { sentence, advice: String::new(), keys, diagram: None }
}

/// That nothing more is asked for, and whether something was left out.
fn marked_words(shot: &Shot) -> &'static str {
    let (placed, all) = progress(&shot.marks, shot.view);
    if placed == all { "All marks placed." } else { "All required marks placed." }
}

/// The point a step is about, as a place in a mark of the size it will have.
fn meant(step: Step, marks: &Marks) -> (MarkRef, usize) {
    let len = marks.slots(step.kind).len();
    let (least, _) = step.kind.count();
    let (index, slots) = match step.part {
        StepPart::First => (0, len.max(2)),
        StepPart::Last => (len.max(2) - 1, len.max(2)),
        StepPart::Between if least == 0 => (len / 2, len + 1),
        StepPart::Between => (1, len.max(2) + 1),
        StepPart::Nth(i) => (i, len.max(least)),
    };
    (MarkRef { kind: step.kind, index }, slots)
}

/// How far the marks have come, in words: first those without which there is no reading, then all.
#[must_use]
pub fn progress_words(marks: &Marks, view: View) -> String {
    let steps = guide::steps(view).iter();
    let required: Vec<&Step> = steps.filter(|step| step.need(view) == Need::Required).collect();
    let done = required.iter().filter(|step| step.placed(marks).is_some()).count();
    let (placed, all) = progress(marks, view);
    if done < required.len() {
        let (need, further) = (required.len(), all - required.len());
        format!("{done} of {need} required marks, {} of {further} optional", placed - done)
    } else {
        format!("{placed} of {all} marks")
    }
}

/// How many of the guide's marks are placed, and how many there are.
#[must_use]
pub fn progress(marks: &Marks, view: View) -> (usize, usize) {
    let steps = guide::steps(view);
    (steps.iter().filter(|step| step.placed(marks).is_some()).count(), steps.len())
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::marking::marks::tests::mark;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::MarkKind;

    fn document() -> Document {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        Document::opened(case, PathBuf::from("/x/a.case.json"), None)
    }

    #[test]
    fn the_line_always_says_what_the_next_click_does() {
        let mut document = document();
        assert_eq!(prompt(&document).sentence, "Click the posterior-superior corner.");
        let (at, slots) = prompt(&document).diagram.unwrap();
        assert_eq!((at, slots), (MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 }, 2));
        mark(&mut document, &Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))), Point::default())
            .unwrap();
        assert_eq!(prompt(&document).sentence, "Click the mid superior endplate.");
        assert!(prompt(&document).advice.ends_with("optional."));
        mark(&mut document, &Command::Marks(MarksCommand::Skip), Point::default()).unwrap();
        let (at, slots) = prompt(&document).diagram.unwrap();
        assert_eq!((at.index, slots), (1, 2), "the anterior-superior corner");
    }

    /// By hand: of a lateral's nine marks the four corners and the tip are required.
    #[test]
    fn what_is_required_is_counted_before_what_is_optional() {
        let mut marks = Marks::new();
        assert_eq!(progress_words(&marks, View::Lateral), "0 of 5 required marks, 0 of 4 optional");
        marks = marks
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (10.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 8.0), (10.0, 8.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)]);
        assert_eq!(progress_words(&marks, View::Lateral), "5 of 9 marks");
    }

    /// Optional marks that are placed count, too, so that no click seems lost.
    #[test]
    fn optional_marks_are_counted_while_required_ones_are_missing() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (5.0, 1.0), (10.0, 0.0)])
            .with(MarkKind::AnteriorWall, &[(10.0, 4.0)]);
        assert_eq!(progress_words(&marks, View::Lateral), "2 of 5 required marks, 2 of 4 optional");
    }

    #[test]
    fn no_line_shouts_and_every_one_is_a_sentence() {
        for view in View::ALL {
            let mut document = document();
            for step in guide::steps(view).iter().chain(guide::extras(view)) {
                document.take(Hand::Next(*step));
                let prompt = prompt(&document);
                assert!(prompt.sentence.ends_with('.') && !prompt.sentence.contains('!'));
                assert!(prompt.advice.is_empty() || prompt.advice.ends_with('.'));
            }
        }
    }

    #[test]
    fn ends_of_an_ap_plate_are_asked_for_in_plain_words() {
        let mut case = Case { patient_right: Some(PatientRight::ImageLeft), ..Case::default() };
        case.shots.push(Shot::new("a", "a.png", View::Ap));
        let mut document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        assert_eq!(prompt(&document).sentence, "Click the left end of the superior endplate (as displayed).");
        document.skip();
        document.skip();
        assert_eq!(
            prompt(&document).sentence,
            "Click the right end of the superior endplate (as displayed)."
        );
    }

    #[test]
    fn an_empty_case_says_how_to_fill_it() {
        let document = Document::fresh(Case::default());
        assert!(prompt(&document).sentence.contains("Drop images"));
    }
}
