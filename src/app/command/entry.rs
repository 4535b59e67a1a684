//! How every command presents itself: its word, its explanation, its keys, and the list they stand in.

use crate::app::command::Command;
use crate::app::command::key::{Key, Shortcut};
use crate::app::pages::Page;
use crate::app::session::state::Column;
use crate::measure::mark::PatientRight;
use crate::scene::overlay::Layer;

/// What the list of keys is grouped by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Opening and saving.
    File,
    /// Going from shot to shot.
    Shots,
    /// Marking.
    Marks,
    /// Zoom, greys, what is drawn.
    Picture,
    /// Pages beside the picture.
    Pages,
    /// The window itself.
    Window,
}

/// How a command presents itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Its word, as on a button.
    pub label: &'static str,
    /// One sentence of explanation.
    pub tip: &'static str,
    /// Its group.
    pub group: Group,
    /// Its keys, the first the one that is shown.
    pub keys: &'static [Shortcut],
}

impl Group {
    /// All groups, in the order of the list of keys.
    pub const ALL: [Self; 6] =
        [Self::File, Self::Shots, Self::Marks, Self::Picture, Self::Pages, Self::Window];

    /// Its heading.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::File => "Case",
            Self::Shots => "Shots",
            Self::Marks => "Marks",
            Self::Picture => "Picture",
            Self::Pages => "Pages",
            Self::Window => "Window",
        }
    }

    /// What belongs to the group but has no single key: keys and what they do.
    #[must_use]
    pub const fn gestures(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::File | Self::Pages | Self::Window => &[],
            Self::Shots => &[
                ("Click a shot", "Show it"),
                ("Ctrl click a shot", "Choose it beside the shown one"),
                ("Shift click a shot", "Choose all up to it"),
                ("S, then 1 – 5, S", "Level L1 to L5, S1"),
                ("S, then R, L", "Side: the patient's right, left"),
                ("S, then T, A, P", "View: lateral, AP, down the pedicle"),
                (
                    "S, then D, I, W, Y, F",
                    "Stage: docking, in the pedicle, at the posterior wall, stylet, final",
                ),
                ("S, then arrows", "Shot before and next; with Shift choose them"),
            ],
            Self::Marks => &[
                ("Click", "Place the mark asked for"),
                ("Drag a mark", "Move it"),
                ("Ctrl click", "Place even upon another mark; on a border, add a point"),
                ("1 – 9, 0", "Take a mark of the list in hand"),
                ("Arrows", "Move the mark or the crosshair by 1 pixel"),
                ("Shift arrows", "By 10 pixels"),
                ("Alt arrows", "By 0.1 pixel"),
                ("Ctrl arrows", "By 50 pixels"),
            ],
            Self::Picture => &[
                ("Wheel, pinch", "Zoom at the pointer"),
                ("Middle drag, Shift drag", "Move the picture"),
                ("Right drag", "Grey levels: up and down the level, left and right the width"),
                ("Drag with Covers", "Draw a cover; drag one to move it"),
                ("Drag with Scale", "Draw a line across something whose width is known"),
                ("1 – 9, 0 with Own labels", "What the next click makes: words, arrow, line, …"),
            ],
        }
    }
}

impl Command {
    /// Word, explanation and key; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        file_entry(self)
            .or_else(|| shot_entry(self))
            .or_else(|| chosen_entry(self))
            .or_else(|| mark_entry(self))
            .or_else(|| picture_entry(self))
            .or_else(|| page_entry(self))
            .or_else(|| window_entry(self))
    }
}

const fn letter(c: char) -> Key {
    Key::Letter(c)
}

fn file_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::Open => ("Open", "Open a case file or pictures.", const { &[Shortcut::ctrl(letter('O'))] }),
        Command::OpenFolder => ("Open folder", "Open a folder of pictures, or the case in it.", &[]),
        Command::OpenDemonstration => {
            ("Open the demonstration", "A simulated case of L4 and L5, in all views through all stages.", &[])
        }
        Command::AddPictures => (
            "Add pictures",
            "Add pictures to this case; dropping them on the window does the same.",
            const { &[Shortcut::ctrl_shift(letter('O'))] },
        ),
        Command::Relink => {
            ("Choose the picture again", "Take another file for this shot; its marks stay.", &[])
        }
        Command::StopReading => {
            ("Stop", "Leave the rest unread; the pictures that have been read are taken in.", &[])
        }
        Command::Save => ("Save", "Save the case file.", const { &[Shortcut::ctrl(letter('S'))] }),
        Command::SaveAs => {
            ("Save as", "Save the case in a new file.", const { &[Shortcut::ctrl_shift(letter('S'))] })
        }
        Command::CloseCase => (
            "Close case",
            "Close this case and go back to the start.",
            const { &[Shortcut::ctrl(letter('W'))] },
        ),
        Command::Export => (
            "Export to give away",
            "Write this case into a new folder: covers in the pixels, neutral names, none of your own words.",
            const { &[Shortcut::ctrl(letter('E'))] },
        ),
        Command::Quit => ("Quit", "End the program.", const { &[Shortcut::ctrl(letter('Q'))] }),
        Command::Recover(_) => ("Take it back", "Open the case with the work that was not saved.", &[]),
        Command::Forget(_) => {
            ("Throw it away", "Delete the unsaved work; the case file stays as it is.", &[])
        }
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::File, keys })
}

fn shot_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::NextShot => {
            ("Next shot", "Show the next shot of the case.", const { &[Shortcut::plain(Key::PageDown)] })
        }
        Command::PreviousShot => {
            ("Shot before", "Show the shot before this one.", const { &[Shortcut::plain(Key::PageUp)] })
        }
        Command::NextUnmarked => (
            "Next unmarked shot",
            "Show the next shot on which marks are still missing.",
            const { &[Shortcut::plain(letter('U'))] },
        ),
        Command::ShotEarlier => (
            "Move earlier",
            "Put the chosen shots one place earlier in the case.",
            const { &[Shortcut::ctrl(Key::PageUp)] },
        ),
        Command::ShotLater => (
            "Move later",
            "Put the chosen shots one place later in the case.",
            const { &[Shortcut::ctrl(Key::PageDown)] },
        ),
        Command::Duplicate => (
            "Duplicate",
            "Put a copy of this shot, marks included, behind it.",
            const { &[Shortcut::ctrl(letter('D'))] },
        ),
        Command::DuplicateOtherSide => (
            "Duplicate for the other side",
            "Where both probes are in the picture: make a second shot of it for the other side. The marks on bone are kept, the other tip is to be marked. The side must be said first.",
            const { &[Shortcut::ctrl_shift(letter('D'))] },
        ),
        Command::NextFrame => (
            "Next frame",
            "Look at the next frame of this shot's file.",
            const { &[Shortcut::plain(Key::Period)] },
        ),
        Command::PreviousFrame => {
            ("Frame before", "Look at the frame before this one.", const { &[Shortcut::plain(Key::Comma)] })
        }
        Command::Play => (
            "Play or stop",
            "Show the frames of this shot's file one after the other, or stop.",
            const { &[Shortcut::plain(letter('J'))] },
        ),
        Command::UseFrame => (
            "Use this frame",
            "Make this frame the shot's own; marks that were placed on another frame come along.",
            &[],
        ),
        Command::FrameAsShot => {
            ("Shot of this frame", "Add a shot of this frame behind the shown one, without marks.", &[])
        }
        Command::RemoveShot => (
            "Take out",
            "Take the chosen shots out of the case; the pictures' files stay, and Undo brings the shots back.",
            const { &[Shortcut::ctrl(Key::Delete)] },
        ),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Shots, keys })
}

fn chosen_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::ChooseNext => (
            "Choose the next too",
            "Choose one more of the listed shots; what is said, moved or taken out then goes for all of them.",
            const { &[Shortcut::shift(Key::PageDown)] },
        ),
        Command::ChoosePrevious => (
            "Choose the one before too",
            "Choose one more of the listed shots, towards the first.",
            const { &[Shortcut::shift(Key::PageUp)] },
        ),
        Command::ChooseAll => (
            "Choose all",
            "Choose every shot that is listed below the picture.",
            const { &[Shortcut::ctrl(letter('A'))] },
        ),
        Command::Sort => (
            "Sort",
            "Say level, side, view and stage of the chosen shots, each with one key.",
            const { &[Shortcut::plain(letter('S'))] },
        ),
        Command::OrderByTime => (
            "Order by time",
            "Put all shots into the order of the time they were taken: the picture's own, else that of its file.",
            &[],
        ),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Shots, keys })
}

fn mark_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::PlaceAtCrosshair => (
            "Place at the crosshair",
            "Place the mark where the crosshair stands; the arrow keys bring the crosshair up and move it.",
            const { &[Shortcut::plain(Key::Enter)] },
        ),
        Command::Skip => {
            ("Skip", "Leave this mark out and go on to the next.", const { &[Shortcut::plain(letter('N'))] })
        }
        Command::Back => (
            "Back",
            "Go back to the mark before, to correct it.",
            const { &[Shortcut::plain(letter('B')), Shortcut::plain(Key::Backspace)] },
        ),
        Command::AddPoints => (
            "Add points",
            "Add further points to the border in hand; each lands at its place along the border.",
            const { &[Shortcut::plain(letter('A'))] },
        ),
        Command::Remove => {
            ("Remove mark", "Take the mark in hand away.", const { &[Shortcut::plain(Key::Delete)] })
        }
        Command::PutDown => (
            "Let go",
            "Leave the mark in hand as it is, and close what lies on top.",
            const { &[Shortcut::plain(Key::Escape)] },
        ),
        Command::ClearMarks => {
            ("Remove all marks", "Take all marks of this shot away; Undo brings them back.", &[])
        }
        Command::Undo => (
            "Undo",
            "Take the last change back; a run of arrow presses is one change.",
            const { &[Shortcut::ctrl(letter('Z'))] },
        ),
        Command::Redo => (
            "Redo",
            "Make the change again that was taken back.",
            const { &[Shortcut::ctrl_shift(letter('Z')), Shortcut::ctrl(letter('Y'))] },
        ),
        Command::Mirror => (
            "Mirror the diagram",
            "Show the small diagram with the back of the spine on the other side.",
            const { &[Shortcut::plain(letter('M'))] },
        ),
        Command::Carry => (
            "Carry marks",
            "Take the bone marks of the nearest shot of this level and view: two clicks place all of them, as a draft to be confirmed.",
            const { &[Shortcut::plain(letter('K'))] },
        ),
        Command::ConfirmMarks => (
            "Confirm the marks",
            "From now on the draft's marks count as your own and are read.",
            const { &[Shortcut::ctrl(Key::Enter)] },
        ),
        Command::SetPatientRight(PatientRight::ImageLeft) => (
            "Right is on the left",
            "While it is asked: the patient's right is on the left of the AP pictures of this case.",
            const { &[Shortcut::plain(letter('Q'))] },
        ),
        Command::SetPatientRight(PatientRight::ImageRight) => (
            "Right is on the right",
            "While it is asked: the patient's right is on the right of the AP pictures of this case.",
            const { &[Shortcut::plain(letter('P'))] },
        ),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Marks, keys })
}

fn picture_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::ZoomIn => ("Zoom in", "Show the picture larger.", const { &[Shortcut::plain(Key::Plus)] }),
        Command::ZoomOut => {
            ("Zoom out", "Show the picture smaller.", const { &[Shortcut::plain(Key::Minus)] })
        }
        Command::ShowWhole => ("Whole", "Show the whole picture.", const { &[Shortcut::plain(letter('F'))] }),
        Command::OneToOne => (
            "1:1",
            "Show one pixel of the picture as one pixel of the screen.",
            const { &[Shortcut::plain(letter('O'))] },
        ),
        Command::ShowBody => {
            ("Body", "Show what is marked as large as possible.", const { &[Shortcut::plain(letter('Z'))] })
        }
        Command::AutomaticGreys => (
            "Automatic greys",
            "Choose black and white from the picture. Dragging with the right button changes them by hand.",
            const { &[Shortcut::plain(letter('G'))] },
        ),
        Command::InvertGreys => (
            "Invert greys",
            "Change black and white; nothing stored changes.",
            const { &[Shortcut::plain(letter('I'))] },
        ),
        Command::NextPreset => (
            "Next preset",
            "Show the greys as the file itself asks for, one of its presets after the other, then automatic again.",
            const { &[Shortcut::plain(letter('V'))] },
        ),
        Command::LocalContrast => (
            "Local contrast",
            "Spread the greys anew within each part of the picture, so that dark end plates show.",
            const { &[Shortcut::plain(letter('Y'))] },
        ),
        Command::TurnRight => (
            "Turn right",
            "Turn the picture a quarter clockwise; marks stay where they are on the bone.",
            const { &[Shortcut::plain(letter('R'))] },
        ),
        Command::TurnLeft => (
            "Turn left",
            "Turn the picture a quarter the other way.",
            const { &[Shortcut::ctrl(letter('R'))] },
        ),
        Command::TiltRight => (
            "Tilt right",
            "Turn the picture by one degree clockwise.",
            const { &[Shortcut::plain(letter('T'))] },
        ),
        Command::TiltLeft => (
            "Tilt left",
            "Turn the picture by one degree the other way.",
            const { &[Shortcut::ctrl(letter('T'))] },
        ),
        Command::MirrorPicture => (
            "Mirror the picture",
            "Change left and right of the picture; nothing stored changes.",
            const { &[Shortcut::plain(letter('X'))] },
        ),
        Command::Upright => (
            "As stored",
            "Show the picture the way it is stored, neither turned nor mirrored.",
            const { &[Shortcut::shift(letter('X'))] },
        ),
        Command::Covers => (
            "Covers",
            "Draw opaque boxes over words that were burned into the picture; every export has them in its pixels.",
            const { &[Shortcut::plain(letter('W'))] },
        ),
        Command::AcceptCovers => (
            "Cover what is proposed",
            "Cover the places that look like words.",
            const { &[Shortcut::shift(letter('W'))] },
        ),
        Command::RefuseCovers => ("These are no words", "Leave the places as they are.", &[]),
        Command::Scale => (
            "Scale",
            "Say how large a pixel is: from the file, from a known width, or typed.",
            const { &[Shortcut::plain(letter('H'))] },
        ),
        Command::UseFileScale => ("Use the file's scale", "Take the scale that the file offers.", &[]),
        Command::Millimetres => (
            "Millimetres",
            "Show lengths in millimetres where the shot has a scale, and say where it has none.",
            const { &[Shortcut::shift(letter('M'))] },
        ),
        Command::HideDrawing(_) => (
            "Hide the drawing",
            "As long as the key is held, only the picture is seen.",
            const { &[Shortcut::plain(Key::Space)] },
        ),
        Command::Toggle(layer) => return Some(layer_entry(*layer)),
        Command::Label(ask) => return ask.entry(),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Picture, keys })
}

/// The layers with a key of their own.
pub(crate) const KEYED: [Layer; 9] = [
    Layer::Borders,
    Layer::DepthBand,
    Layer::HeightBand,
    Layer::Thirds,
    Layer::TipRegion,
    Layer::Tip,
    Layer::Ruler,
    Layer::Labels,
    Layer::Teaching,
];

fn layer_entry(layer: Layer) -> Entry {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match layer {
        Layer::Borders => (
            "Borders",
            "The borders of the body as they are used.",
            const { &[Shortcut::shift(letter('B'))] },
        ),
        Layer::DepthBand => (
            "Depth band",
            "The lines of the target's depth and the band between them.",
            const { &[Shortcut::shift(letter('D'))] },
        ),
        Layer::HeightBand => (
            "Height band",
            "Mid height and the allowed band about it.",
            const { &[Shortcut::shift(letter('H'))] },
        ),
        Layer::Thirds => (
            "Thirds",
            "The lines at one third and two thirds of the depth.",
            const { &[Shortcut::shift(letter('T'))] },
        ),
        Layer::TipRegion => (
            "Tip region",
            "The region that holds the tip with 95 % probability.",
            const { &[Shortcut::shift(letter('G'))] },
        ),
        Layer::Tip => ("Tip", "The tip.", const { &[Shortcut::shift(letter('P'))] }),
        Layer::Ruler => (
            "10 % ruler",
            "A ruler in steps of 10 % along depth and height.",
            const { &[Shortcut::shift(letter('R'))] },
        ),
        Layer::Labels => {
            ("Labels", "The words and numbers on the picture.", const { &[Shortcut::shift(letter('L'))] })
        }
        Layer::Teaching => (
            "Labels of your own",
            "What you have written and drawn on the shots for teaching.",
            const { &[Shortcut::shift(letter('E'))] },
        ),
        Layer::Contours => ("Contours as marked", "Contours that are not the border used.", &[]),
        Layer::MidlineBand => ("Midline band", "The target band about the midline.", &[]),
        Layer::Midlines => (
            "Midlines",
            "The midline by the pedicles, the spinous process and the body; the one the verdict uses is the stronger.",
            &[],
        ),
        Layer::Pedicles => ("Pedicles", "The borders of the pedicles, or a pedicle's outline.", &[]),
        Layer::SpinousProcess => ("Spinous process", "The borders of the spinous process.", &[]),
        Layer::Quadrants => {
            ("Quarters and clock", "The quarters of the pedicle and the clock about it.", &[])
        }
        Layer::DockingTarget => ("Docking target", "The quarter of the pedicle where docking aims.", &[]),
        Layer::Cannula => ("Cannula", "The cannula's line.", &[]),
        Layer::Electrodes => ("Electrodes", "The electrodes.", &[]),
    };
    Entry { label, tip, group: Group::Picture, keys }
}

fn page_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::On(ask) => return ask.entry(),
        Command::Go(Page::Picture) => ("Back to the picture", "Close this page and show the picture.", &[]),
        Command::Go(Page::Compare) => (
            "Compare shots",
            "Lay two shots of one body on each other and say what has changed.",
            const { &[Shortcut::plain(Key::Function(6))] },
        ),
        Command::Go(Page::TipPath) => (
            "Run of the level",
            "All shots of this body in order, as a path in the drawings and as lines.",
            const { &[Shortcut::plain(Key::Function(7))] },
        ),
        Command::Go(Page::Figure) => (
            "Figures and report",
            "Make a teaching figure of the chosen shots, or put the case on paper.",
            const { &[Shortcut::plain(Key::Function(8))] },
        ),
        Command::Go(Page::Series) => (
            "Series of cases",
            "The treated bodies of many cases: table, shares in target, scatter.",
            const { &[Shortcut::plain(Key::Function(9))] },
        ),
        Command::Go(Page::Rereading) => (
            "Read again blind",
            "Mark shots again without seeing the first marks, and learn how repeatable the marks are.",
            const { &[Shortcut::plain(Key::Function(10))] },
        ),
        Command::Go(Page::Practice) => (
            "Practise with known truth",
            "Mark simulated shots and see the error against the truth.",
            const { &[Shortcut::plain(Key::Function(12))] },
        ),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Pages, keys })
}

fn window_entry(command: &Command) -> Option<Entry> {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match command {
        Command::ShowBudget => (
            "Certainty",
            "Show what the certainty is made of and which marks cost the most of it.",
            const { &[Shortcut::plain(letter('C'))] },
        ),
        Command::Fold(Column::Rows) => (
            "Rows",
            "Fold the rows of shots below the picture away or bring them back.",
            const { &[Shortcut::plain(Key::Function(5))] },
        ),
        Command::Fold(Column::Ladder) => (
            "Ladder",
            "Fold the ladder of levels away or bring it back.",
            const { &[Shortcut::plain(Key::Function(2))] },
        ),
        Command::Fold(Column::Reading) => (
            "Reading",
            "Fold the column with the reading away or bring it back.",
            const { &[Shortcut::plain(Key::Function(3))] },
        ),
        Command::SwitchMode => (
            "Light or dark",
            "Change between the dark and the light window.",
            const { &[Shortcut::plain(letter('L'))] },
        ),
        Command::MoreMemory => (
            "Memory for pictures",
            "Take the next choice: more keeps more pictures at hand, less spares the machine.",
            &[],
        ),
        Command::LargerText => {
            ("Larger text", "Make everything written larger.", const { &[Shortcut::ctrl(Key::Plus)] })
        }
        Command::SmallerText => {
            ("Smaller text", "Make everything written smaller.", const { &[Shortcut::ctrl(Key::Minus)] })
        }
        Command::NormalText => (
            "Normal text",
            "Bring everything written back to its usual size.",
            const { &[Shortcut::ctrl(Key::Digit(0))] },
        ),
        Command::CaseSettings => (
            "Case settings",
            "Title, operator, date, the patient's right, and the values the readings are judged with.",
            const { &[Shortcut::plain(Key::Function(4))] },
        ),
        Command::Help => (
            "Keys",
            "List every action with its key.",
            const { &[Shortcut::plain(Key::QuestionMark), Shortcut::plain(Key::Function(1))] },
        ),
        _ => return None,
    };
    Some(Entry { label, tip, group: Group::Window, keys })
}
