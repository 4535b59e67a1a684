//! What a user can ask for: every action with its word, its explanation, its key, and when it is available.

pub mod entry;
pub mod key;

use std::path::PathBuf;

use crate::app::annotation::label;
use crate::app::annotation::redaction::{self, Aside};
use crate::app::command::entry::KEYED;
use crate::app::command::key::{Key, Shortcut};
use crate::app::display::viewport::Turn;
use crate::app::marking::copied_marks;
use crate::app::marking::guide::{self, Step};
use crate::app::marking::issue_actions;
use crate::app::pages::{self, Page};
use crate::app::session::state::{Answer, Column, Hand, State};
use crate::app::shots::frames;
use crate::app::shots::selection::{FreePlace, Pick, Scope};
use crate::case::document::duplicate::for_other_side;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::redaction::Cover;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Level, MarkKind, MarkRef, PatientRight, View};
use crate::scene::overlay::Layer;

/// How far a nudge goes, in pixels of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stride {
    /// A tenth of a pixel.
    Fine,
    /// One pixel.
    One,
    /// Ten pixels.
    Ten,
    /// Fifty pixels, for the crosshair's long ways.
    Fifty,
}

/// Which way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the left of the picture.
    Left,
    /// To the right.
    Right,
    /// Up.
    Up,
    /// Down.
    Down,
}

/// Something the user asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Ask for a case file, pictures or a folder, and open it.
    Open,
    /// Ask for a folder of pictures and open it.
    OpenFolder,
    /// Open these files or folders.
    OpenPaths(Vec<PathBuf>),
    /// Open the demonstration.
    OpenDemonstration,
    /// Ask for pictures to add to the case.
    AddPictures,
    /// Ask for pictures for this place of the plan.
    AddHere(FreePlace),
    /// Add these pictures to the case.
    AddPaths(Vec<PathBuf>),
    /// Ask for another picture for the shown shot.
    Relink,
    /// Files were dropped on the window: a case file opens, pictures are added to the case.
    Drop(Vec<PathBuf>),
    /// Leave the rest of the pictures unread that are being opened.
    StopReading,
    /// Save the case.
    Save,
    /// Ask for a new place and save the case there.
    SaveAs,
    /// Close the case and go back to the start.
    CloseCase,
    /// End the program.
    Quit,
    /// Answer the question that is open.
    Answer(Answer),
    /// Take back unsaved work that was found at the start.
    Recover(usize),
    /// Throw unsaved work away that was found at the start.
    Forget(usize),

    /// Show the next shot.
    NextShot,
    /// Show the shot before.
    PreviousShot,
    /// Show the next shot that has not been marked completely.
    NextUnmarked,
    /// Show this shot.
    ShowShot(String),
    /// List these shots below the picture.
    ShowRows(Scope),
    /// Choose a shot beside the shown one.
    Choose(String, Pick),
    /// Choose one more of the listed shots, towards the last.
    ChooseNext,
    /// Choose one more of the listed shots, towards the first.
    ChoosePrevious,
    /// Choose every listed shot.
    ChooseAll,
    /// Begin or end to say by keys what the chosen shots show.
    Sort,
    /// Say this of every chosen shot.
    Say(Description),
    /// Say that the disc below this body is degenerated, or take it back.
    SwitchDisc(Level),
    /// Put all shots into the order of the time they were taken.
    OrderByTime,
    /// Put a copy of the shown shot, marks included, behind it.
    Duplicate,
    /// Make a second shot of the shown picture for the probe from the other side.
    DuplicateOtherSide,
    /// Look at the next frame of the shot's file.
    NextFrame,
    /// Look at the frame before.
    PreviousFrame,
    /// Look at this frame of the shot's file, counted from 0.
    ShowFrame(u32),
    /// Show one frame after the other, or stop that.
    Play,
    /// While playing: time for the next frame.
    Tick,
    /// Make the frame that is looked at the shot's own.
    UseFrame,
    /// Make a shot of the frame that is looked at.
    FrameAsShot,
    /// Take the chosen shots out of the case.
    RemoveShot,
    /// Move the chosen shots one place earlier in the case.
    ShotEarlier,
    /// Move the chosen shots one place later in the case.
    ShotLater,
    /// Change the case otherwise.
    Edit(Edit),

    /// Take this step in hand: its mark if it is placed, else placing it.
    Take(Step),
    /// Take the guide's n-th step in hand, counted from 1.
    TakeNumber(u8),
    /// Take this placed point in hand.
    TakeMark(MarkRef),
    /// Leave the step in hand and go on to the next.
    Skip,
    /// Go back to the step before.
    Back,
    /// Put down what is in hand.
    PutDown,
    /// Add further points to the border in hand.
    AddPoints,
    /// Add further points to this border.
    AddPointsTo(MarkKind),
    /// Put the point in hand at this place.
    Place(Point),
    /// Place the point in hand at the crosshair.
    PlaceAtCrosshair,
    /// Add a point to this border at this place.
    Insert(MarkKind, Point),
    /// Begin to drag a placed point; the pointer is at this place.
    Grab(MarkRef, Point),
    /// Drag the grabbed point to this place.
    Drag(Point),
    /// Let the dragged point go.
    Release,
    /// Move the mark in hand, or the crosshair.
    Nudge(Way, Stride),
    /// Take the mark in hand away.
    Remove,
    /// Take all marks of the shot away.
    ClearMarks,
    /// One step back.
    Undo,
    /// One step forth.
    Redo,
    /// Show the view's diagram the other way round.
    Mirror,
    /// Carry marks from the nearest shot of the same level and view.
    Carry,
    /// Carry marks from this shot.
    CarryFrom(String),
    /// From now on the draft's marks count.
    ConfirmMarks,
    /// Say which side of the AP pictures is the patient's right, while it is asked.
    SetPatientRight(PatientRight),
    /// Pair the shown shot with this one, or leave it to the order.
    PairWith(Option<String>),

    /// Zoom in at the middle of the picture or at the crosshair.
    ZoomIn,
    /// Zoom out.
    ZoomOut,
    /// Zoom by a factor at an image place.
    ZoomAt(Point, f64),
    /// Move the picture by canvas points.
    Pan(Vec2),
    /// Show the whole picture.
    ShowWhole,
    /// One pixel of the picture to one of the screen.
    OneToOne,
    /// Show the marked body as large as possible.
    ShowBody,
    /// Choose the grey levels by themselves.
    AutomaticGreys,
    /// Change black and white.
    InvertGreys,
    /// Change the grey levels by a drag: level and width, as shares.
    DragGreys(f64, f64),
    /// Take the next display that the file carries.
    NextPreset,
    /// Spread greys anew within each part of the picture, or stop that.
    LocalContrast,
    /// Turn the picture by a quarter, clockwise.
    TurnRight,
    /// Turn it by a quarter the other way.
    TurnLeft,
    /// Turn it by one degree, clockwise.
    TiltRight,
    /// Turn it by one degree the other way.
    TiltLeft,
    /// Change left and right of the picture.
    MirrorPicture,
    /// Show the picture as it is stored.
    Upright,
    /// Begin or end drawing covers over burned-in words.
    Covers,
    /// Add this cover to the shown shot.
    AddCover(Cover),
    /// Put this cover of the shown shot elsewhere.
    MoveCover(usize, Cover),
    /// Choose a cover, or none.
    ChooseCover(Option<usize>),
    /// Cover what looks like words.
    AcceptCovers,
    /// What looks like words is none.
    RefuseCovers,
    /// What is asked for on labels.
    Label(label::AnnotationCommand),
    /// Begin or end working on the scale.
    Scale,
    /// The line along a known length runs between these places.
    MarkLength(Point, Point),
    /// The line is this long.
    SetLength {
        /// In millimetres.
        mm: f64,
        /// Standard uncertainty of that.
        sd_mm: f64,
    },
    /// Take the scale that the file offers.
    UseFileScale,
    /// Take the file's spacing at the detector with a magnification of the user's own.
    UseDetectorScale {
        /// The magnification.
        magnification: f64,
        /// Its standard uncertainty.
        sd: f64,
    },
    /// Ask for millimetres, or for fractions only.
    Millimetres,
    /// Ask for a folder and export the case into it.
    Export,
    /// Show or hide a layer.
    Toggle(Layer),
    /// Hide everything drawn as long as this is true.
    HideDrawing(bool),

    /// Show this page in the middle, or the picture again where it is the one shown.
    Go(Page),
    /// What a page asks for.
    On(pages::PageCommand),

    /// Dark or light.
    SwitchMode,
    /// Take the next larger memory for pictures, or the smallest again.
    MoreMemory,
    /// Larger text.
    LargerText,
    /// Smaller text.
    SmallerText,
    /// Text as it was.
    NormalText,
    /// Fold a column away or bring it back.
    Fold(Column),
    /// Show what a number's certainty is made of, or hide it.
    ShowBudget,
    /// Show or hide the settings of the case.
    CaseSettings,
    /// Show or hide the list of keys.
    Help,
    /// Close what lies on top.
    Dismiss,
}

impl Stride {
    /// Its length in pixels of the frame.
    #[must_use]
    pub const fn px(self) -> f64 {
        match self {
            Self::Fine => 0.1,
            Self::One => 1.0,
            Self::Ten => 10.0,
            Self::Fifty => 50.0,
        }
    }
}

impl Way {
    /// The displacement by one pixel.
    #[must_use]
    pub const fn unit(self) -> Vec2 {
        match self {
            Self::Left => Vec2::new(-1.0, 0.0),
            Self::Right => Vec2::new(1.0, 0.0),
            Self::Up => Vec2::new(0.0, -1.0),
            Self::Down => Vec2::new(0.0, 1.0),
        }
    }
}

/// The arrows with the modifier of each stride.
pub const NUDGES: [(Stride, &str); 4] =
    [(Stride::Fine, "Alt"), (Stride::One, ""), (Stride::Ten, "Shift"), (Stride::Fifty, "Ctrl")];

impl Command {
    /// Every command with a fixed key, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all = vec![
            Self::Open,
            Self::AddPictures,
            Self::Save,
            Self::SaveAs,
            Self::CloseCase,
            Self::Quit,
            Self::NextShot,
            Self::PreviousShot,
            Self::NextUnmarked,
            Self::ChooseNext,
            Self::ChoosePrevious,
            Self::ChooseAll,
            Self::Sort,
            Self::ShotEarlier,
            Self::ShotLater,
            Self::Duplicate,
            Self::DuplicateOtherSide,
            Self::RemoveShot,
            Self::NextFrame,
            Self::PreviousFrame,
            Self::Play,
            Self::PlaceAtCrosshair,
            Self::Skip,
            Self::Back,
            Self::AddPoints,
            Self::Remove,
            Self::PutDown,
            Self::Undo,
            Self::Redo,
            Self::Mirror,
            Self::Carry,
            Self::ConfirmMarks,
            Self::SetPatientRight(PatientRight::ImageLeft),
            Self::SetPatientRight(PatientRight::ImageRight),
            Self::ZoomIn,
            Self::ZoomOut,
            Self::ShowWhole,
            Self::OneToOne,
            Self::ShowBody,
            Self::AutomaticGreys,
            Self::InvertGreys,
            Self::NextPreset,
            Self::LocalContrast,
            Self::TurnRight,
            Self::TurnLeft,
            Self::TiltRight,
            Self::TiltLeft,
            Self::MirrorPicture,
            Self::Upright,
            Self::Covers,
            Self::AcceptCovers,
            Self::Scale,
            Self::Millimetres,
            Self::Export,
            Self::HideDrawing(true),
        ];
        all.extend(label::AnnotationCommand::listed().into_iter().map(Self::Label));
        all.extend(KEYED.map(Self::Toggle));
        all.extend(Page::OTHERS.map(Self::Go));
        all.extend(pages::PageCommand::listed().into_iter().map(Self::On));
        all.extend([
            Self::CaseSettings,
            Self::ShowBudget,
            Self::Fold(Column::Ladder),
            Self::Fold(Column::Reading),
            Self::Fold(Column::Rows),
            Self::SwitchMode,
            Self::LargerText,
            Self::SmallerText,
            Self::NormalText,
            Self::Help,
        ]);
        all
    }

    /// The command of a pressed key, if there is one. Arrows and digits included; holding Space is not a press.
    #[must_use]
    pub fn of(pressed: Shortcut) -> Option<Self> {
        if let Some(nudge) = nudge_of(pressed) {
            return Some(nudge);
        }
        if let Shortcut { key: Key::Digit(d), ctrl: false, shift: false, alt: false } = pressed {
            return Some(Self::TakeNumber(if d == 0 { 10 } else { d }));
        }
        Self::listed()
            .into_iter()
            .filter(|command| !matches!(command, Self::HideDrawing(_)))
            .find(|command| command.entry().is_some_and(|entry| entry.keys.contains(&pressed)))
    }

    /// The first key, as the user reads it.
    #[must_use]
    pub fn key_text(&self) -> Option<String> {
        self.entry()?.keys.first().map(ToString::to_string)
    }

    /// Whether it would do anything at present.
    #[must_use]
    pub fn available(&self, state: &State) -> bool {
        if let Some(answer) = label::available(state, self) {
            return answer;
        }
        match self {
            Self::Go(page) => return page.can_open(state),
            Self::On(ask) => return ask.available(state),
            _ => {}
        }
        let Some(document) = &state.document else {
            return matches!(
                self,
                Self::Open
                    | Self::OpenFolder
                    | Self::OpenPaths(_)
                    | Self::OpenDemonstration
                    | Self::Drop(_)
                    | Self::Quit
                    | Self::StopReading
                    | Self::Answer(_)
                    | Self::Recover(_)
                    | Self::Forget(_)
                    | Self::SwitchMode
                    | Self::LargerText
                    | Self::MoreMemory
                    | Self::SmallerText
                    | Self::NormalText
                    | Self::Help
                    | Self::Dismiss
            );
        };
        let shot = document.shot();
        match self {
            Self::Save => document.unsaved() || document.file.is_none(),
            Self::Undo => document.history.can_undo() || pages::figure::can_step(state, false),
            Self::Redo => document.history.can_redo() || pages::figure::can_step(state, true),
            Self::NextShot => document.neighbour(1).is_some(),
            Self::PreviousShot => document.neighbour(-1).is_some(),
            Self::ShotEarlier => document.index().is_some_and(|i| i > 0),
            Self::ShotLater => document.index().is_some_and(|i| i + 1 < document.case().shots.len()),
            Self::OrderByTime => document.case().shots.len() > 1,
            Self::ChooseNext | Self::ChoosePrevious => document.listed().len() > 1,
            Self::DuplicateOtherSide => {
                shot.is_some_and(|shot| for_other_side(document.case(), &shot.id).is_some())
            }
            Self::Sort | Self::Say(_) | Self::Duplicate | Self::ChooseAll => shot.is_some(),
            Self::NextFrame => frames::place(state).is_some_and(|place| place.shown + 1 < place.count),
            Self::PreviousFrame => frames::place(state).is_some_and(|place| place.shown > 0),
            Self::ShowFrame(_) | Self::Play => frames::place(state).is_some(),
            Self::UseFrame | Self::FrameAsShot => {
                frames::place(state).is_some_and(|place| place.shown != place.own)
            }
            Self::RemoveShot | Self::TakeNumber(_) | Self::Nudge(..) => shot.is_some(),
            Self::Remove => match document.aside {
                Aside::Covers { chosen } => chosen.is_some(),
                Aside::Nothing | Aside::Length { .. } | Aside::Labels => document.hand.mark().is_some(),
            },
            Self::AcceptCovers | Self::RefuseCovers => !redaction::proposed(state).is_empty(),
            Self::UseFileScale => redaction::offer(state).scale().is_some(),
            Self::NextPreset => {
                state.shown_frame().is_some_and(|picture| !picture.frame.facts.presets.is_empty())
            }
            Self::Export => !document.case().shots.is_empty(),
            Self::Covers
            | Self::Scale
            | Self::TurnRight
            | Self::TurnLeft
            | Self::TiltRight
            | Self::TiltLeft
            | Self::MirrorPicture
            | Self::LocalContrast => shot.is_some(),
            Self::Upright => document.aspect().turn != Turn::default(),
            Self::PlaceAtCrosshair => document.crosshair.is_some() && document.hand.places(),
            Self::Skip => document.hand != Hand::Nothing || document.next_step(None).is_some(),
            Self::Back => document.carrying.is_some() || shot.is_some_and(|shot| !shot.marks.is_empty()),
            Self::AddPoints => document.border_in_hand().is_some(),
            Self::PutDown if document.aside != Aside::Nothing => true,
            Self::PutDown => document.hand != Hand::Nothing || document.crosshair.is_some(),
            Self::Carry => !copied_marks::sources_of(document).is_empty(),
            Self::ConfirmMarks => shot.is_some_and(|shot| shot.draft),
            Self::SetPatientRight(_) => issue_actions::asks_for_right(document),
            Self::ClearMarks => shot.is_some_and(|shot| !shot.marks.is_empty()),
            Self::ShowBody => shot.is_some_and(|shot| shot.marks.placed().count() > 1),
            Self::AutomaticGreys | Self::InvertGreys | Self::OneToOne => state.shown_frame().is_some(),
            _ => true,
        }
    }
}

fn nudge_of(pressed: Shortcut) -> Option<Command> {
    let way = match pressed.key {
        Key::Left => Way::Left,
        Key::Right => Way::Right,
        Key::Up => Way::Up,
        Key::Down => Way::Down,
        _ => return None,
    };
    let stride = match (pressed.ctrl, pressed.shift, pressed.alt) {
        (false, false, false) => Stride::One,
        (false, true, false) => Stride::Ten,
        (false, false, true) => Stride::Fine,
        (true, false, false) => Stride::Fifty,
        _ => return None,
    };
    Some(Command::Nudge(way, stride))
}

/// The guide's steps with their number keys.
#[must_use]
pub fn numbered(view: View) -> Vec<(Option<u8>, Step)> {
    let numbers = (1..=10).map(Some).chain(std::iter::repeat(None));
    guide::steps(view).iter().copied().zip(numbers).map(|(step, n)| (n, step)).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_key_belongs_to_one_command() {
        let mut seen = BTreeSet::new();
        for command in Command::listed() {
            let entry = command.entry().unwrap();
            assert!(!entry.keys.is_empty(), "{command:?} is listed without a key");
            for key in entry.keys {
                assert!(seen.insert(*key), "{key} twice");
                assert!(nudge_of(*key).is_none());
            }
        }
    }

    #[test]
    fn pressed_keys_find_their_command() {
        for command in Command::listed() {
            if matches!(command, Command::HideDrawing(_)) {
                continue;
            }
            for key in command.entry().unwrap().keys {
                assert_eq!(Command::of(*key).as_ref(), Some(&command));
            }
        }
        let fine = Shortcut { alt: true, ..Shortcut::plain(Key::Up) };
        assert_eq!(Command::of(fine), Some(Command::Nudge(Way::Up, Stride::Fine)));
        assert_eq!(Command::of(Shortcut::plain(Key::Digit(3))), Some(Command::TakeNumber(3)));
        assert_eq!(Command::of(Shortcut::plain(Key::Space)), None);
    }

    #[test]
    fn tips_are_sentences_without_shouting() {
        for command in Command::listed() {
            let entry = command.entry().unwrap();
            assert!(entry.tip.ends_with('.') && !entry.tip.contains('!'), "{}", entry.tip);
        }
    }

    #[test]
    fn without_a_case_only_opening_and_the_window_are_available() {
        let state = State::default();
        assert!(Command::Open.available(&state) && Command::Help.available(&state));
        assert!(!Command::Save.available(&state) && !Command::NextShot.available(&state));
    }
}
