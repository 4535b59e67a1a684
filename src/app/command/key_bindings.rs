//! Which key does what: every key that stands for one command, by subject, under the word that its button has.
//!
//! Beside these: arrows move a mark (`stride`); digits select a mark of the list or, while annotating, the kind of the next
//! annotation; while shots are labeled, keys say what they show (`app::shots::label_shots`); a page may give a key another
//! meaning (`app::pages::page_keys`). A test of `app::command` sees that no key stands twice.

use crate::app::command::entry::letter;
use crate::app::command::key::{Key, Shortcut};

/// The keys of one command; the first is the one that is shown.
type Keys = &'static [Shortcut];

/// Opening and saving.
pub(crate) mod file {
    use crate::app::command::key_bindings::*;

    /// “Open”.
    pub(crate) const OPEN: Keys = &[Shortcut::ctrl(letter('O'))];
    /// “Add images”.
    pub(crate) const ADD_IMAGES: Keys = &[Shortcut::ctrl_shift(letter('O'))];
    /// “Save”.
    pub(crate) const SAVE: Keys = &[Shortcut::ctrl(letter('S'))];
    /// “Save as”.
    pub(crate) const SAVE_AS: Keys = &[Shortcut::ctrl_shift(letter('S'))];
    /// “Close case”.
    pub(crate) const CLOSE: Keys = &[Shortcut::ctrl(letter('W'))];
    /// “Quit”.
    pub(crate) const QUIT: Keys = &[Shortcut::ctrl(letter('Q'))];
    /// “Export de-identified copy”.
    pub(crate) const EXPORT: Keys = &[Shortcut::ctrl(letter('E'))];
}

/// Shots.
pub(crate) mod shots {
    use crate::app::command::key_bindings::*;

    /// “Next shot”.
    pub(crate) const NEXT: Keys = &[Shortcut::plain(Key::PageDown)];
    /// “Previous shot”.
    pub(crate) const PREVIOUS: Keys = &[Shortcut::plain(Key::PageUp)];
    /// “First shot”.
    pub(crate) const FIRST: Keys = &[Shortcut::plain(Key::Home)];
    /// “Last shot”.
    pub(crate) const LAST: Keys = &[Shortcut::plain(Key::End)];
    /// “Next unmarked shot”.
    pub(crate) const NEXT_UNMARKED: Keys = &[Shortcut::plain(letter('U'))];
    /// “Extend selection forward”.
    pub(crate) const SELECT_NEXT: Keys = &[Shortcut::shift(Key::PageDown)];
    /// “Extend selection back”.
    pub(crate) const SELECT_PREVIOUS: Keys = &[Shortcut::shift(Key::PageUp)];
    /// “Select all”.
    pub(crate) const SELECT_ALL: Keys = &[Shortcut::ctrl(letter('A'))];
    /// “Label shots”.
    pub(crate) const LABEL: Keys = &[Shortcut::plain(letter('S'))];
    /// “Duplicate”.
    pub(crate) const DUPLICATE: Keys = &[Shortcut::ctrl(letter('D'))];
    /// “Duplicate for other side”.
    pub(crate) const DUPLICATE_OTHER_SIDE: Keys = &[Shortcut::ctrl_shift(letter('D'))];
    /// “Next frame”.
    pub(crate) const NEXT_FRAME: Keys = &[Shortcut::plain(Key::Period)];
    /// “Previous frame”.
    pub(crate) const PREVIOUS_FRAME: Keys = &[Shortcut::plain(Key::Comma)];
    /// “Play or stop”.
    pub(crate) const PLAY: Keys = &[Shortcut::plain(letter('J'))];
    /// “Remove”.
    pub(crate) const REMOVE: Keys = &[Shortcut::ctrl(Key::Delete)];
    /// “Move earlier”.
    pub(crate) const EARLIER: Keys = &[Shortcut::ctrl(Key::PageUp)];
    /// “Move later”.
    pub(crate) const LATER: Keys = &[Shortcut::ctrl(Key::PageDown)];
}

/// Marking.
pub(crate) mod marks {
    use crate::app::command::key_bindings::*;

    /// “Skip”.
    pub(crate) const SKIP: Keys = &[Shortcut::plain(letter('N'))];
    /// “Back”.
    pub(crate) const BACK: Keys = &[Shortcut::plain(letter('B')), Shortcut::plain(Key::Backspace)];
    /// “Cancel”.
    pub(crate) const PUT_DOWN: Keys = &[Shortcut::plain(Key::Escape)];
    /// “Mark the other line”.
    pub(crate) const SECOND_CONTOUR: Keys = &[Shortcut::plain(letter('D'))];
    /// “Add points”.
    pub(crate) const ADD_POINTS: Keys = &[Shortcut::plain(letter('A'))];
    /// “Place at crosshair”.
    pub(crate) const PLACE_AT_CROSSHAIR: Keys = &[Shortcut::plain(Key::Enter)];
    /// “Delete mark”.
    pub(crate) const REMOVE: Keys = &[Shortcut::plain(Key::Delete)];
    /// “Flip diagram”.
    pub(crate) const MIRROR_DIAGRAM: Keys = &[Shortcut::plain(letter('M'))];
    /// “Copy marks”.
    pub(crate) const COPY_MARKS: Keys = &[Shortcut::plain(letter('K'))];
    /// “Confirm marks”.
    pub(crate) const CONFIRM_MARKS: Keys = &[Shortcut::ctrl(Key::Enter)];
    /// “Propose outline”.
    pub(crate) const PROPOSE: Keys = &[Shortcut::shift(letter('K'))];
    /// “Mark by hand”.
    pub(crate) const BY_HAND: Keys = &[Shortcut::shift(letter('C'))];
}

/// The case as a whole.
pub(crate) mod case {
    use crate::app::command::key_bindings::*;

    /// “Undo”.
    pub(crate) const UNDO: Keys = &[Shortcut::ctrl(letter('Z'))];
    /// “Redo”.
    pub(crate) const REDO: Keys = &[Shortcut::ctrl_shift(letter('Z')), Shortcut::ctrl(letter('Y'))];
    /// “Patient's right is on image left”.
    pub(crate) const SET_PATIENT_RIGHT_IMAGE_LEFT: Keys = &[Shortcut::plain(letter('Q'))];
    /// “Patient's right is on image right”.
    pub(crate) const SET_PATIENT_RIGHT_IMAGE_RIGHT: Keys = &[Shortcut::plain(letter('P'))];
    /// “Shows once”.
    pub(crate) const SHOWS_ONCE: Keys = &[Shortcut::shift(letter('O'))];
    /// “Cannot tell”.
    pub(crate) const CANNOT_TELL: Keys = &[Shortcut::shift(letter('U'))];
}

/// How the image is seen.
pub(crate) mod view {
    use crate::app::command::key_bindings::*;

    /// “Zoom in”.
    pub(crate) const ZOOM_IN: Keys = &[Shortcut::plain(Key::Plus)];
    /// “Zoom out”.
    pub(crate) const ZOOM_OUT: Keys = &[Shortcut::plain(Key::Minus)];
    /// “Fit”.
    pub(crate) const FIT: Keys = &[Shortcut::plain(letter('F'))];
    /// “1:1”.
    pub(crate) const ONE_TO_ONE: Keys = &[Shortcut::plain(letter('O'))];
    /// “Zoom to body”.
    pub(crate) const ZOOM_TO_BODY: Keys = &[Shortcut::plain(letter('Z'))];
    /// “Auto window/level”.
    pub(crate) const AUTOMATIC_WINDOW: Keys = &[Shortcut::plain(letter('G'))];
    /// “Invert”.
    pub(crate) const INVERT: Keys = &[Shortcut::plain(letter('I'))];
    /// “Next preset”.
    pub(crate) const NEXT_PRESET: Keys = &[Shortcut::plain(letter('V'))];
    /// “Local contrast”.
    pub(crate) const LOCAL_CONTRAST: Keys = &[Shortcut::plain(letter('Y'))];
    /// “Rotate 90° clockwise”.
    pub(crate) const ROTATE_RIGHT: Keys = &[Shortcut::plain(letter('R'))];
    /// “Rotate 90° counterclockwise”.
    pub(crate) const ROTATE_LEFT: Keys = &[Shortcut::ctrl(letter('R'))];
    /// “Rotate 1° clockwise”.
    pub(crate) const ROTATE_RIGHT_FINE: Keys = &[Shortcut::plain(letter('T'))];
    /// “Rotate 1° counterclockwise”.
    pub(crate) const ROTATE_LEFT_FINE: Keys = &[Shortcut::ctrl(letter('T'))];
    /// “Flip horizontally”.
    pub(crate) const FLIP: Keys = &[Shortcut::plain(letter('X'))];
    /// “Reset orientation”.
    pub(crate) const RESET_ORIENTATION: Keys = &[Shortcut::shift(letter('X'))];
}

/// Annotations, redaction, scale.
pub(crate) mod annotations {
    use crate::app::command::key_bindings::*;

    /// “Redact text”.
    pub(crate) const REDACT: Keys = &[Shortcut::plain(letter('W'))];
    /// “Redact suggested”.
    pub(crate) const REDACT_SUGGESTED: Keys = &[Shortcut::shift(letter('W'))];
    /// “Scale”.
    pub(crate) const SCALE: Keys = &[Shortcut::plain(letter('H'))];
    /// “Use for all alike”.
    pub(crate) const SCALE_FOR_ALIKE: Keys = &[Shortcut::shift(letter('S'))];
    /// “Use last scale”.
    pub(crate) const USE_LAST_SCALE: Keys = &[Shortcut::alt(letter('H'))];
    /// “Millimeters”.
    pub(crate) const MILLIMETERS: Keys = &[Shortcut::shift(letter('M'))];
    /// “Annotations”.
    pub(crate) const BEGIN: Keys = &[Shortcut::plain(letter('E'))];
    /// “Next part”.
    pub(crate) const NEXT_GRIP: Keys = &[Shortcut::shift(letter('N'))];
}

/// What is drawn over the image.
pub(crate) mod overlays {
    use crate::app::command::key_bindings::*;

    /// “Borders”.
    pub(crate) const BORDERS: Keys = &[Shortcut::shift(letter('B'))];
    /// “Depth target”.
    pub(crate) const DEPTH_BAND: Keys = &[Shortcut::shift(letter('D'))];
    /// “Height target”.
    pub(crate) const HEIGHT_BAND: Keys = &[Shortcut::shift(letter('H'))];
    /// “Thirds”.
    pub(crate) const THIRDS: Keys = &[Shortcut::shift(letter('T'))];
    /// “Tip region”.
    pub(crate) const TIP_REGION: Keys = &[Shortcut::shift(letter('G'))];
    /// “Tip”.
    pub(crate) const TIP: Keys = &[Shortcut::shift(letter('P'))];
    /// “10 % ruler”.
    pub(crate) const RULER: Keys = &[Shortcut::shift(letter('R'))];
    /// “Labels”.
    pub(crate) const LABELS: Keys = &[Shortcut::shift(letter('L'))];
    /// “Annotations”.
    pub(crate) const TEACHING: Keys = &[Shortcut::shift(letter('E'))];
}

/// Pages in place of the image.
pub(crate) mod pages {
    use crate::app::command::key_bindings::*;

    /// “Shot overview”.
    pub(crate) const OVERVIEW: Keys = &[Shortcut::shift(Key::Function(5))];
    /// “Compare shots”.
    pub(crate) const COMPARE: Keys = &[Shortcut::plain(Key::Function(6))];
    /// “Tip path”.
    pub(crate) const TIP_PATH: Keys = &[Shortcut::plain(Key::Function(7))];
    /// “Figures and report”.
    pub(crate) const FIGURE: Keys = &[Shortcut::plain(Key::Function(8))];
    /// “Case series”.
    pub(crate) const SERIES: Keys = &[Shortcut::plain(Key::Function(9))];
    /// “Blinded re-reading”.
    pub(crate) const REREADING: Keys = &[Shortcut::plain(Key::Function(10))];
    /// “Practice (ground truth known)”.
    pub(crate) const PRACTICE: Keys = &[Shortcut::plain(Key::Function(12))];
    /// “Next image”.
    pub(crate) const NEXT_REREADING: Keys = &[Shortcut::plain(Key::PageDown)];
}

/// Slides for a room. The keys of a presenter's remote control are those of the pages (common practice, no source).
pub(crate) mod presenting {
    use crate::app::command::key_bindings::*;

    /// “Present”.
    pub(crate) const BEGIN: Keys = &[Shortcut::plain(Key::Function(11))];
    /// “Present questions”.
    pub(crate) const QUESTIONS: Keys = &[Shortcut::shift(Key::Function(11))];
    /// “Next slide”.
    pub(crate) const NEXT: Keys = &[
        Shortcut::plain(Key::PageDown),
        Shortcut::plain(Key::Right),
        Shortcut::plain(Key::Down),
        Shortcut::plain(Key::Space),
    ];
    /// “Previous slide”.
    pub(crate) const BACK: Keys = &[
        Shortcut::plain(Key::PageUp),
        Shortcut::plain(Key::Left),
        Shortcut::plain(Key::Up),
        Shortcut::plain(Key::Backspace),
    ];
    /// “Answer”.
    pub(crate) const REVEAL: Keys = &[Shortcut::plain(letter('A')), Shortcut::plain(Key::Enter)];
    /// “End presentation”.
    pub(crate) const END: Keys = &[Shortcut::plain(Key::Escape), Shortcut::plain(Key::Function(11))];
}

/// The window itself.
pub(crate) mod window {
    use crate::app::command::key_bindings::*;

    /// “Hide overlays”.
    pub(crate) const HIDE_DRAWING: Keys = &[Shortcut::plain(Key::Space)];
    /// “Dark or light mode”.
    pub(crate) const SWITCH_MODE: Keys = &[Shortcut::plain(letter('L'))];
    /// “Local contrast by default”.
    pub(crate) const LOCAL_CONTRAST_BY_DEFAULT: Keys = &[Shortcut::shift(letter('Y'))];
    /// “Propose marks automatically”.
    pub(crate) const PROPOSE_MARKS: Keys = &[Shortcut::shift(letter('Q'))];
    /// “Larger text”.
    pub(crate) const LARGER_TEXT: Keys = &[Shortcut::ctrl(Key::Plus)];
    /// “Smaller text”.
    pub(crate) const SMALLER_TEXT: Keys = &[Shortcut::ctrl(Key::Minus)];
    /// “Normal text”.
    pub(crate) const NORMAL_TEXT: Keys = &[Shortcut::ctrl(Key::Digit(0))];
    /// “Shots”.
    pub(crate) const FOLD_ROWS: Keys = &[Shortcut::plain(Key::Function(5))];
    /// “Levels”.
    pub(crate) const FOLD_LADDER: Keys = &[Shortcut::plain(Key::Function(2))];
    /// “Reading”.
    pub(crate) const FOLD_READING: Keys = &[Shortcut::plain(Key::Function(3))];
    /// “Uncertainty”.
    pub(crate) const SHOW_BUDGET: Keys = &[Shortcut::plain(letter('C'))];
    /// “Case settings”.
    pub(crate) const CASE_SETTINGS: Keys = &[Shortcut::plain(Key::Function(4))];
    /// “Keyboard shortcuts”.
    pub(crate) const HELP: Keys = &[Shortcut::plain(Key::QuestionMark), Shortcut::plain(Key::Function(1))];
    /// “About Stillmark”.
    pub(crate) const ABOUT: Keys = &[Shortcut::shift(Key::Function(1))];
}
