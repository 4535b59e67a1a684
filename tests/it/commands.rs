//! Every command on every page in every state: it changes something, asks for work, or says why it does neither.
//!
//! The commands are listed by their variants without a wildcard, so that a new one cannot be left out.

use std::path::PathBuf;
use std::sync::Arc;

use stillmark::app::annotation::label::LabelCommand;
use stillmark::app::annotation::label::grip::Grip;
use stillmark::app::annotation::screen_clicks::{ScreenPart, ScreenPoint};
use stillmark::app::annotation::straighten::StraightenCommand;
use stillmark::app::command::Command;
use stillmark::app::command::annotations::AnnotationsCommand;
use stillmark::app::command::case::CaseCommand;
use stillmark::app::command::file::FileCommand;
use stillmark::app::command::marks::MarksCommand;
use stillmark::app::command::shots::ShotsCommand;
use stillmark::app::command::stride::{Stride, Way};
use stillmark::app::command::view::ViewCommand;
use stillmark::app::command::window::WindowCommand;
use stillmark::app::display::preferences::SidePanel;
use stillmark::app::display::viewport::Canvas;
use stillmark::app::files::questions::Answer;
use stillmark::app::files::received_image::ReceivedImage;
use stillmark::app::marking::guide::{Step, StepPart};
use stillmark::app::marking::proposal::memory::FoundProposal;
use stillmark::app::marking::proposal::order::ProposeDone;
use stillmark::app::marking::view_questions::ViewAnswer;
use stillmark::app::pages::compare::{CompareCommand, CompareMode, Whose};
use stillmark::app::pages::figure::{FigureChoice, FigureCommand, InReport, Noted};
use stillmark::app::pages::overview::{Framing, OverviewCommand, OverviewLayout};
use stillmark::app::pages::practice::PracticeCommand;
use stillmark::app::pages::presenting::PresentCommand;
use stillmark::app::pages::rereading::RereadingCommand;
use stillmark::app::pages::series::{AuditTable, SeriesCommand, SeriesSection};
use stillmark::app::pages::tip_path::curve::StyletShape;
use stillmark::app::pages::tip_path::{Tab, TipPathCommand};
use stillmark::app::pages::{Page, PageCommand};
use stillmark::app::session::document::Document;
use stillmark::app::session::state::State;
use stillmark::app::session::update::{receive, update};
use stillmark::app::shots::selection::{FreePlace, Pick, Scope};
use stillmark::app::work::effect::{Effect, Outcome};
use stillmark::app::work::picture_store::{DecodedPicture, Loading};
use stillmark::case::annotation::list::PointedLine;
use stillmark::case::annotation::{Corner, LabelKind};
use stillmark::case::document::edit::{Description, Edit};
use stillmark::case::document::figure_spec::FigureKind;
use stillmark::case::document::redaction::Cover;
use stillmark::case::document::rereading::Which;
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::compare::Position;
use stillmark::measure::mark::{Level, MarkKind, MarkRef, Marks, PatientRight, Side, Stage, View};
use stillmark::phantom::exercise::Difficulty;
use stillmark::propose::further::{Copied, Further, Registered};
use stillmark::scene::overlay::Layer;
use stillmark::scene::page::paper::PaperSize;
use stillmark::scene::window_level::WindowLevel;
use stillmark::study::selection::{Filter, SeriesColumn as Sorted};

const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

/// One command of each variant; the match that is made of the same list has no wildcard.
macro_rules! every {
    ($of:ident, $wrap:expr, { $($pattern:pat => [$($sample:expr),+]),+ $(,)? }) => {{
        const fn covered(command: &$of) {
            match command { $($pattern => {}),+ }
        }
        let all: Vec<$of> = vec![$($($sample),+),+];
        all.iter().for_each(covered);
        all.into_iter().map($wrap).collect::<Vec<Command>>()
    }};
}

fn place() -> Point {
    Point::new(20.0, 30.0)
}

fn id(name: &str) -> String {
    name.to_owned()
}

fn cover() -> Cover {
    Cover::between(Point::new(1.0, 1.0), Point::new(9.0, 5.0)).expect("a box")
}

fn files() -> Vec<Command> {
    use FileCommand as C;
    let path = || PathBuf::from("/x/b.png");
    let free = FreePlace { level: Level::L4, side: Side::Right, view: View::Lateral, stage: Stage::Final };
    every!(FileCommand, Command::File, {
        C::Open => [C::Open],
        C::OpenFolder => [C::OpenFolder],
        C::OpenPaths(_) => [C::OpenPaths(vec![path()])],
        C::OpenDemonstration => [C::OpenDemonstration],
        C::AddImages => [C::AddImages],
        C::AddHere(_) => [C::AddHere(free)],
        C::AddPaths(_) => [C::AddPaths(vec![path()])],
        C::Relink => [C::Relink],
        C::Drop(_) => [C::Drop(vec![path()])],
        C::SaveStraightened(_) => [C::SaveStraightened(None), C::SaveStraightened(Some(1.25))],
        C::ChooseFrames => [C::ChooseFrames],
        C::StopReading => [C::StopReading],
        C::StopExporting => [C::StopExporting],
        C::Save => [C::Save],
        C::SaveAs => [C::SaveAs],
        C::Close => [C::Close],
        C::Quit => [C::Quit],
        C::Answer(_) => [C::Answer(Answer::Save)],
        C::Recover(_) => [C::Recover(0)],
        C::DiscardRecovery(_) => [C::DiscardRecovery(0)],
        C::Export => [C::Export],
        C::SaveAsDicom => [C::SaveAsDicom],
        C::TakeIn(_) => [C::TakeIn(ReceivedImage::Bytes { name: "a.png".to_owned(), bytes: Vec::new().into() })],
        C::ExportKeypoints => [C::ExportKeypoints],
        C::ImportKeypoints => [C::ImportKeypoints],
        C::ForgetKept => [C::ForgetKept],
    })
}

fn shots() -> Vec<Command> {
    use ShotsCommand as C;
    every!(ShotsCommand, Command::Shots, {
        C::Next => [C::Next],
        C::Previous => [C::Previous],
        C::First => [C::First],
        C::Last => [C::Last],
        C::NextUnmarked => [C::NextUnmarked],
        C::Show(_) => [C::Show(id("b")), C::Show(id("a")), C::Show(id("nobody"))],
        C::List(_) => [C::List(Scope::All), C::List(Scope::ToSort)],
        C::Select(..) => [C::Select(id("b"), Pick::Toggle), C::Select(id("a"), Pick::Toggle), C::Select(id("c"), Pick::Through)],
        C::SelectNext => [C::SelectNext],
        C::SelectPrevious => [C::SelectPrevious],
        C::SelectAll => [C::SelectAll],
        C::Label => [C::Label],
        C::Describe(_) => [C::Describe(Description::Stage(Some(Stage::Stylet)))],
        C::Final(_) => [C::Final(View::Lateral), C::Final(View::Ap)],
        C::OrderByTime => [C::OrderByTime],
        C::Duplicate => [C::Duplicate],
        C::DuplicateOtherSide => [C::DuplicateOtherSide],
        C::NextFrame => [C::NextFrame],
        C::PreviousFrame => [C::PreviousFrame],
        C::ShowFrame(_) => [C::ShowFrame(3)],
        C::Play => [C::Play],
        C::Tick => [C::Tick],
        C::UseFrame => [C::UseFrame],
        C::FrameAsShot => [C::FrameAsShot],
        C::Remove => [C::Remove],
        C::Earlier => [C::Earlier],
        C::Later => [C::Later],
        C::PairWith(_) => [C::PairWith(Some(id("c"))), C::PairWith(Some(id("b"))), C::PairWith(None)],
    })
}

fn marks() -> Vec<Command> {
    use MarksCommand as C;
    let step = |kind, part| Step { kind, part };
    every!(MarksCommand, Command::Marks, {
        C::Take(_) => [
            C::Take(step(MarkKind::Tip, StepPart::Nth(0))),
            C::Take(step(MarkKind::AnteriorWall, StepPart::Between)),
            C::Take(step(MarkKind::LeftPedicle, StepPart::Nth(0)))
        ],
        C::TakeNumber(_) => [C::TakeNumber(1), C::TakeNumber(4), C::TakeNumber(10)],
        C::TakeMark(_) => [C::TakeMark(TIP)],
        C::Skip => [C::Skip],
        C::Back => [C::Back],
        C::PutDown => [C::PutDown],
        C::AddPoints => [C::AddPoints],
        C::AddPointsTo(_) => [C::AddPointsTo(MarkKind::SuperiorEndPlate)],
        C::Place(_) => [C::Place(place())],
        C::PlaceAtCrosshair => [C::PlaceAtCrosshair],
        C::Insert(..) => [C::Insert(MarkKind::SuperiorEndPlate, place())],
        C::Grab(..) => [C::Grab(TIP, place())],
        C::Drag(_) => [C::Drag(place())],
        C::Release => [C::Release],
        C::Nudge(..) => [C::Nudge(Way::Left, Stride::One), C::Nudge(Way::Up, Stride::Fine)],
        C::Remove => [C::Remove],
        C::ClearMarks => [C::ClearMarks],
        C::MirrorDiagram => [C::MirrorDiagram],
        C::CopyMarks => [C::CopyMarks],
        C::CopyMarksFrom(_) => [C::CopyMarksFrom(id("b"))],
        C::SecondContour => [C::SecondContour],
        C::ConfirmMarks => [C::ConfirmMarks],
        C::Propose => [C::Propose],
        C::ByHand => [C::ByHand],
    })
}

fn cases() -> Vec<Command> {
    use CaseCommand as C;
    every!(CaseCommand, Command::Case, {
        C::Undo => [C::Undo],
        C::Redo => [C::Redo],
        C::Edit(_) => [C::Edit(Edit::SetTitle(Some(id("A title"))))],
        C::SwitchDisc(_) => [C::SwitchDisc(Level::L4)],
        C::SetPatientRight(_) => [C::SetPatientRight(PatientRight::ImageLeft)],
        C::AnswerView(_) => [
            C::AnswerView(ViewAnswer::ShowsOnce), C::AnswerView(ViewAnswer::CannotTell),
            C::AnswerView(ViewAnswer::TubeLeft), C::AnswerView(ViewAnswer::TubeNotKnown)
        ],
    })
}

fn views() -> Vec<Command> {
    use ViewCommand as C;
    every!(ViewCommand, Command::View, {
        C::ZoomIn => [C::ZoomIn],
        C::ZoomOut => [C::ZoomOut],
        C::ZoomAt(..) => [C::ZoomAt(place(), 1.5)],
        C::Pan(_) => [C::Pan(Vec2::new(3.0, 4.0))],
        C::Fit => [C::Fit],
        C::OneToOne => [C::OneToOne],
        C::ZoomToBody => [C::ZoomToBody],
        C::AutomaticWindow => [C::AutomaticWindow],
        C::Invert => [C::Invert],
        C::DragWindow(..) => [C::DragWindow(0.1, 0.1)],
        C::NextPreset => [C::NextPreset],
        C::LocalContrast => [C::LocalContrast],
        C::RotateRight => [C::RotateRight],
        C::RotateLeft => [C::RotateLeft],
        C::RotateRightFine => [C::RotateRightFine],
        C::RotateLeftFine => [C::RotateLeftFine],
        C::Flip => [C::Flip],
        C::ResetOrientation => [C::ResetOrientation],
    })
}

fn annotations() -> Vec<Command> {
    use AnnotationsCommand as C;
    every!(AnnotationsCommand, Command::Annotations, {
        C::Redact => [C::Redact],
        C::AddRedaction(_) => [C::AddRedaction(cover())],
        C::MoveRedaction(..) => [C::MoveRedaction(0, cover())],
        C::SelectRedaction(_) => [C::SelectRedaction(None), C::SelectRedaction(Some(0))],
        C::RemoveRedaction => [C::RemoveRedaction],
        C::RedactSuggested => [C::RedactSuggested],
        C::RefuseSuggested => [C::RefuseSuggested],
        C::RedactEverywhere => [C::RedactEverywhere],
        C::RedactLater => [C::RedactLater],
        C::Finish => [C::Finish],
        C::Label(_) => [C::Label(LabelCommand::Begin)],
        C::Straighten(_) => [C::Straighten(StraightenCommand::Begin)],
        C::Scale => [C::Scale],
        C::MarkLength(..) => [C::MarkLength(place(), Point::new(50.0, 30.0))],
        C::SetLength { .. } => [C::SetLength { mm: 3.0, sd_mm: 0.0 }],
        C::UseLastScale => [C::UseLastScale],
        C::UseFileScale => [C::UseFileScale],
        C::UseDetectorScale { .. } => [C::UseDetectorScale { magnification: 1.2, sd: 0.02 }],
        C::ScaleForAlike => [C::ScaleForAlike],
        C::Millimeters => [C::Millimeters],
    })
}

fn straightening() -> Vec<Command> {
    use StraightenCommand as C;
    every!(StraightenCommand, |command| Command::Annotations(AnnotationsCommand::Straighten(command)), {
        C::Begin => [C::Begin],
        C::By(_) => [C::By(ScreenPart::Corners), C::By(ScreenPart::Field)],
        C::At(_) => [C::At(place())],
        C::Put(..) => [C::Put(ScreenPoint::Edge(0), place()), C::Put(ScreenPoint::Centre, place())],
        C::CentreNext => [C::CentreNext],
        C::Back => [C::Back],
        C::Nudge(..) => [C::Nudge(Way::Left, Stride::One)],
        C::PlaceAtCrosshair => [C::PlaceAtCrosshair],
    })
}

fn labels() -> Vec<Command> {
    use LabelCommand as C;
    every!(LabelCommand, |command| Command::Annotations(AnnotationsCommand::Label(command)), {
        C::Begin => [C::Begin],
        C::Kind(_) => [C::Kind(LabelKind::Arrow)],
        C::Round => [C::Round],
        C::At(_) => [C::At(place())],
        C::Finish => [C::Finish],
        C::Choose(_) => [C::Choose(Some(0))],
        C::ChooseToo(_) => [C::ChooseToo(0)],
        C::Next => [C::Next],
        C::NextGrip => [C::NextGrip],
        C::Grab(..) => [C::Grab(0, Grip::Whole)],
        C::Drag(..) => [C::Drag(0, Grip::Whole, Vec2::new(1.0, 0.0))],
        C::Done => [C::Done],
        C::Say(..) => [C::Say(0, id("words"))],
        C::FreeWords => [C::FreeWords],
        C::Earlier => [C::Earlier],
        C::Later => [C::Later],
        C::Align(_) => [C::Align(PointedLine::Left)],
        C::Corner(_) => [C::Corner(Corner::TopLeft)],
        C::Times(_) => [C::Times(3.0)],
        C::Remove => [C::Remove],
        C::CarryTo(_) => [C::CarryTo(id("b"))],
        C::Nudge(..) => [C::Nudge(Way::Left, Stride::One)],
        C::PlaceAtCrosshair => [C::PlaceAtCrosshair],
        C::Back => [C::Back],
        C::SelectAll => [C::SelectAll],
        C::PutDown => [C::PutDown],
    })
}

fn windows() -> Vec<Command> {
    use WindowCommand as C;
    every!(WindowCommand, Command::Window, {
        C::Toggle(_) => [C::Toggle(Layer::Tip)],
        C::HideDrawing(_) => [C::HideDrawing(true)],
        C::SwitchMode => [C::SwitchMode],
        C::LocalContrastByDefault => [C::LocalContrastByDefault],
        C::ProposeMarks => [C::ProposeMarks],
        C::MoreMemory => [C::MoreMemory],
        C::LargerText => [C::LargerText],
        C::SmallerText => [C::SmallerText],
        C::NormalText => [C::NormalText],
        C::Fold(_) => [C::Fold(SidePanel::Ladder)],
        C::ShowBudget => [C::ShowBudget],
        C::CaseSettings => [C::CaseSettings],
        C::Help => [C::Help],
        C::About => [C::About],
        C::Dismiss => [C::Dismiss],
    })
}

fn pages() -> Vec<Command> {
    use PageCommand as C;
    let canvas = Canvas { width: 300.0, height: 200.0, pixels_per_point: 1.0 };
    let mut all = every!(PageCommand, Command::Page, {
        C::Go(_) => [C::Go(Page::Overview), C::Go(Page::Compare), C::Go(Page::TipPath), C::Go(Page::Figure), C::Go(Page::Series),
            C::Go(Page::Rereading), C::Go(Page::Practice), C::Go(Page::Presenting), C::Go(Page::Picture)],
        C::Undo => [C::Undo],
        C::Redo => [C::Redo],
        C::Overview(_) => [C::Overview(OverviewCommand::Order)],
        C::Compare(_) => [C::Compare(CompareCommand::Swap)],
        C::TipPath(_) => [C::TipPath(TipPathCommand::Tab(Tab::Curve))],
        C::Figure(_) => [C::Figure(FigureCommand::Save)],
        C::Series(_) => [C::Series(SeriesCommand::AddFolder)],
        C::Rereading(_) => [C::Rereading(RereadingCommand::Begin)],
        C::Practice(_) => [C::Practice(PracticeCommand::Begin)],
        C::Present(_) => [C::Present(PresentCommand::Questions)],
    });
    use PresentCommand as Presented;
    all.extend(every!(PresentCommand, |command| Command::Page(C::Present(command)), {
        Presented::Questions => [Presented::Questions],
        Presented::Next => [Presented::Next],
        Presented::Back => [Presented::Back],
        Presented::Reveal => [Presented::Reveal],
        Presented::End => [Presented::End],
        Presented::Room(..) => [Presented::Room(1280, 760)],
    }));
    use OverviewCommand as O;
    let grid = OverviewLayout { columns: 3, canvas, seen: (0, 2) };
    all.extend(every!(OverviewCommand, |command| Command::Page(C::Overview(command)), {
        O::Mark => [O::Mark],
        O::Step(_) => [O::Step(Way::Right), O::Step(Way::Up)],
        O::End(_) => [O::End(true), O::End(false)],
        O::Through(_) => [O::Through(id("c")), O::Through(id("nobody"))],
        O::SelectAll => [O::SelectAll],
        O::OnlySelected => [O::OnlySelected],
        O::Frame(_) => [O::Frame(Framing::Body), O::Frame(Framing::Whole)],
        O::Zoom { .. } => [O::Zoom { at: Point::new(0.1, 0.2), factor: 1.3 }],
        O::Pan(_) => [O::Pan(Vec2::new(0.1, 0.1))],
        O::Order => [O::Order],
        O::Laid(_) => [O::Laid(grid)],
    }));
    use CompareCommand as P;
    all.extend(every!(CompareCommand, |command| Command::Page(C::Compare(command)), {
        P::From(_) => [P::From(id("b")), P::From(id("nobody"))],
        P::To(_) => [P::To(id("a")), P::To(id("c"))],
        P::Swap => [P::Swap],
        P::As(_) => [P::As(CompareMode::Blend)],
        P::Share(_) => [P::Share(0.3)],
        P::Line(_) => [P::Line(0.3)],
        P::Rate(_) => [P::Rate(2.0)],
        P::Alternate(_) => [P::Alternate(true)],
        P::Change => [P::Change],
        P::Marks(_) => [P::Marks(Whose::Later)],
        P::Position(_) => [P::Position(Position::Shared)],
        P::Refine => [P::Refine],
        P::TakeRefinement(_) => [P::TakeRefinement(true), P::TakeRefinement(false)],
        P::Room(_) => [P::Room(canvas)],
        P::Zoom { .. } => [P::Zoom { at: place(), factor: 1.3 }],
        P::Pan(_) => [P::Pan(Vec2::new(4.0, 3.0))],
        P::Whole => [P::Whole],
        P::Body => [P::Body],
        P::Save => [P::Save],
        P::Copy => [P::Copy],
        P::IntoReport => [P::IntoReport],
    }));
    use TipPathCommand as T;
    all.extend(every!(TipPathCommand, |command| Command::Page(C::TipPath(command)), {
        T::Body(..) => [T::Body(Level::L3, Side::Left)],
        T::Tab(_) => [T::Tab(Tab::Curve)],
        T::Shot(_) => [T::Shot(id("a")), T::Shot(id("nobody"))],
        T::Shape(_) => [T::Shape(StyletShape { radius_mm: 30.0, bend_deg: 40.0, turn_deg: 0.0, lean_deg: 0.0 })],
        T::Click(_) => [T::Click(place())],
        T::Forget => [T::Forget],
        T::TakeRadius => [T::TakeRadius],
        T::Room(_) => [T::Room(canvas)],
        T::Zoom { .. } => [T::Zoom { at: place(), factor: 1.3 }],
        T::Pan(_) => [T::Pan(Vec2::new(4.0, 3.0))],
        T::About => [T::About],
        T::Save => [T::Save],
        T::Copy => [T::Copy],
        T::IntoReport => [T::IntoReport],
    }));
    use FigureCommand as F;
    all.extend(every!(FigureCommand, |command| Command::Page(C::Figure(command)), {
        F::Undo => [F::Undo],
        F::Redo => [F::Redo],
        F::Choose(_) => [F::Choose(FigureChoice::Kind(FigureKind::Pair)), F::Choose(FigureChoice::Title(id("T")))],
        F::Note(_) => [F::Note(Noted::Reference(id("R")))],
        F::Keep(_) => [F::Keep(id("mine")), F::Keep(String::new())],
        F::Forget(_) => [F::Forget(id("mine"))],
        F::Save => [F::Save],
        F::SaveQuestions => [F::SaveQuestions],
        F::SaveReport => [F::SaveReport],
        F::Copy => [F::Copy],
        F::Copied => [F::Copied],
        F::AsIs => [F::AsIs],
        F::Stop => [F::Stop],
        F::Paper(_) => [F::Paper(PaperSize::Letter), F::Paper(PaperSize::A4)],
        F::LeaveOut(_) => [F::LeaveOut(InReport::TipPath(Level::L4, Side::Right))],
    }));
    use SeriesCommand as S;
    all.extend(every!(SeriesCommand, |command| Command::Page(C::Series(command)), {
        S::AddFolder => [S::AddFolder],
        S::ReadAgain => [S::ReadAgain],
        S::StartOver => [S::StartOver],
        S::StopReading => [S::StopReading],
        S::Show(_) => [S::Show(SeriesSection::Tips)],
        S::ShowSkipped => [S::ShowSkipped],
        S::SortBy(_) => [S::SortBy(Sorted::Level)],
        S::Filter(_) => [S::Filter(Filter::default())],
        S::ShowAll => [S::ShowAll],
        S::Rates(..) => [S::Rates(id("10"), id("20"))],
        S::SavePaper => [S::SavePaper],
        S::SavePlot => [S::SavePlot],
        S::CopyPlot => [S::CopyPlot],
        S::SaveData(_) => [S::SaveData(AuditTable::Sums)],
        S::CopyData(_) => [S::CopyData(AuditTable::Bodies)],
        S::Copied => [S::Copied],
        S::Open(_) => [S::Open(0)],
    }));
    use RereadingCommand as B;
    all.extend(every!(RereadingCommand, |command| Command::Page(C::Rereading(command)), {
        B::SetOperator(_) => [B::SetOperator(id("R"))],
        B::SetWhich(_) => [B::SetWhich(Which::All)],
        B::SetSeed(_) => [B::SetSeed(id("7"))],
        B::Begin => [B::Begin],
        B::Resume(..) => [B::Resume(id("R"), 1)],
        B::Forget(..) => [B::Forget(id("R"), 1)],
        B::Next => [B::Next],
        B::SkipPicture => [B::SkipPicture],
        B::Stop => [B::Stop],
        B::BlindOnly(_) => [B::BlindOnly(true)],
        B::Adopt => [B::Adopt],
    }));
    use PracticeCommand as E;
    all.extend(every!(PracticeCommand, |command| Command::Page(C::Practice(command)), {
        E::SetView(_) => [E::SetView(View::Ap)],
        E::SetDifficulty(_) => [E::SetDifficulty(Difficulty::Clear)],
        E::GuessFirst(_) => [E::GuessFirst(true)],
        E::SetSeed(_) => [E::SetSeed(id("7"))],
        E::Begin => [E::Begin],
        E::Guess(_) => [E::Guess(id("40"))],
        E::See => [E::See],
        E::Leave => [E::Leave],
        E::Clear => [E::Clear],
        E::ReallyClear => [E::ReallyClear],
        E::KeepThem => [E::KeepThem],
        E::Adopt => [E::Adopt],
    }));
    all
}

fn every() -> Vec<Command> {
    [
        files(),
        shots(),
        marks(),
        cases(),
        views(),
        annotations(),
        straightening(),
        labels(),
        windows(),
        pages(),
    ]
    .concat()
}

/// Three shots of one body: two laterals and an AP.
fn marked_case() -> Case {
    let mut case = Case::default();
    for (name, view, stage) in [
        ("a", View::Lateral, Stage::Docking),
        ("b", View::Lateral, Stage::Final),
        ("c", View::Ap, Stage::Final),
    ] {
        let mut shot = Shot::new(name, format!("{name}.png"), view);
        (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), Some(stage));
        if view == View::Lateral {
            shot.marks = Marks::new()
                .with(MarkKind::SuperiorEndPlate, &[(10.0, 10.0), (100.0, 12.0)])
                .with(MarkKind::InferiorEndPlate, &[(10.0, 80.0), (100.0, 82.0)])
                .with(MarkKind::PosteriorWall, &[(12.0, 45.0)])
                .with(MarkKind::AnteriorWall, &[(98.0, 45.0)])
                .with(MarkKind::Tip, &[(50.0, 45.0)]);
        }
        case.shots.push(shot);
    }
    case
}

fn with(case: Case) -> State {
    let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
    let mut state = State::of(document);
    state.editor.canvas = Canvas { width: 400.0, height: 300.0, pixels_per_point: 1.0 };
    state
}

fn marked() -> State {
    with(marked_case())
}

/// An unmarked shot behind a marked one of the view, shown with an image: its walls are asked for, or marks are offered.
#[expect(clippy::unwrap_used, reason = "a state that is not as said ends the test")]
fn with_two(view: View, offered: bool) -> State {
    let mut case = marked_case();
    let mut marked = case.shots[0].clone();
    (marked.id, marked.view) = (id("d"), view);
    let mut shot = Shot::new("e", "e.png", view);
    (shot.level, shot.side) = (Some(Level::L4), Some(Side::Right));
    case.shots.extend([marked.clone(), shot]);
    // A draft is no source of marks: without one, both walls are asked for.
    case.shots.iter_mut().for_each(|shot| shot.draft = !offered);
    case.shots[4].draft = false;
    let mut state = with(case);
    for name in ["d", "e"] {
        let shot = state.editor.document.as_ref().unwrap().case().shot(name).unwrap().clone();
        let key = state.editor.key_of(&shot).unwrap();
        let picture = DecodedPicture { frame: Arc::new(blank()), greys: WindowLevel::whole(&blank()) };
        Arc::make_mut(&mut state.editor.pictures).loading.insert(key, Loading::Ready(picture));
    }
    let effects = update(&mut state, Command::Shots(ShotsCommand::Show(id("e"))));
    let number = effects.iter().find_map(|effect| match effect {
        Effect::Propose(order) => Some(order.number),
        _ => None,
    });
    if let Some(number) = number {
        let registered = Registered { peak: 0.9, similarity: 0.9, uncertain: false };
        let copied = Copied { marks: marked.marks, look_again: Vec::new(), registered };
        let found = FoundProposal::Further(Further::Copied(Box::new(copied)));
        let done = ProposeDone { number, shot: id("e"), result: Some(Ok(found)) };
        receive(&mut state, Outcome::Proposed(Box::new(done)));
    }
    let document = state.editor.document.as_ref().unwrap();
    assert_eq!((document.pointing().is_some(), document.is_unconfirmed()), (!offered, offered));
    state
}

/// An image without anything on it.
pub(crate) fn blank() -> Frame {
    Frame {
        width: 4,
        height: 4,
        samples: Samples::Gray8(vec![0; 16]),
        was_colour: false,
        digest: "sha256:0".into(),
        warnings: Vec::new(),
        taken: None,
        facts: Default::default(),
    }
}

/// A state: its name, whether it makes a difference on the image only, and how it is made.
type Tried = (&'static str, bool, fn() -> State);

/// The states that commands are tried in, each made anew.
fn states() -> [Tried; 11] {
    [
        ("no case", false, State::default),
        ("empty case", false, || with(Case::default())),
        ("marked case", false, marked),
        ("drag under way", false, || {
            let mut state = marked();
            update(&mut state, Command::Marks(MarksCommand::Grab(TIP, Point::new(50.0, 45.0))));
            update(&mut state, Command::Marks(MarksCommand::Drag(Point::new(60.0, 45.0))));
            state
        }),
        ("labels drawn", true, || {
            let mut state = marked();
            update(&mut state, Command::Annotations(AnnotationsCommand::Label(LabelCommand::Begin)));
            update(&mut state, Command::Annotations(AnnotationsCommand::Label(LabelCommand::At(place()))));
            state
        }),
        ("redacting", true, || {
            let mut state = marked();
            update(&mut state, Command::Annotations(AnnotationsCommand::Redact));
            update(&mut state, Command::Annotations(AnnotationsCommand::AddRedaction(cover())));
            state
        }),
        ("straightening a photo", true, || {
            let mut state = marked();
            let straighten = |command| Command::Annotations(AnnotationsCommand::Straighten(command));
            update(&mut state, straighten(StraightenCommand::Begin));
            for (x, y) in [(5.0, 5.0), (90.0, 8.0), (85.0, 70.0), (8.0, 80.0)] {
                update(&mut state, straighten(StraightenCommand::At(Point::new(x, y))));
            }
            state
        }),
        ("labeling shots", true, || {
            let mut state = marked();
            update(&mut state, Command::Shots(ShotsCommand::Label));
            state
        }),
        ("walls pointed at", true, || with_two(View::Lateral, false)),
        ("marks offered", true, || with_two(View::Ap, true)),
        ("something undone", true, || {
            let mut state = marked();
            update(&mut state, Command::Marks(MarksCommand::ClearMarks));
            update(&mut state, Command::Case(CaseCommand::Undo));
            state
        }),
    ]
}

/// Everything the window knows but why the last command did nothing.
fn known(state: &mut State) -> String {
    let why = state.refused.take();
    let text = format!("{state:?}");
    state.refused = why;
    text
}

fn go_to(state: &mut State, page: Page) -> bool {
    if page != Page::Picture {
        update(state, Command::Page(PageCommand::Go(page)));
    }
    state.pages.shown == page
}

/// What a command did, in one word for each; nothing at all is what must not be.
fn silent(state: &mut State, command: Command) -> bool {
    let before = known(state);
    let effects = update(state, command);
    let said = state.refused.as_ref().is_some_and(|why| why.ends_with('.') && !why.contains('!'));
    effects.is_empty() && !said && known(state) == before
}

#[test]
fn every_command_does_something_or_says_why_not() {
    let mut silent_ones = Vec::new();
    let mut tried = 0;
    for (name, tools, made) in states() {
        // What is drawn instead of marks makes a difference on the image only.
        let others: &[Page] = if tools { &[] } else { &Page::OTHERS };
        for page in [Page::Picture].into_iter().chain(others.iter().copied()) {
            for command in every() {
                let mut state = made();
                if !go_to(&mut state, page) {
                    break;
                }
                tried += 1;
                if silent(&mut state, command.clone()) {
                    silent_ones.push(format!("{name}, {page:?}: {command:?}"));
                }
            }
        }
    }
    assert!(tried > 4000, "only {tried} were tried");
    assert!(silent_ones.is_empty(), "{} of {tried}:\n{}", silent_ones.len(), silent_ones.join("\n"));
}

#[test]
fn a_session_of_blinded_reading_takes_marks_and_views_and_refuses_the_rest_in_words() {
    let begun = || {
        let mut state = with(marked_case());
        update(&mut state, Command::Page(PageCommand::Go(Page::Rereading)));
        update(&mut state, Command::Page(PageCommand::Rereading(RereadingCommand::SetOperator(id("R")))));
        update(&mut state, Command::Page(PageCommand::Rereading(RereadingCommand::SetWhich(Which::All))));
        update(&mut state, Command::Page(PageCommand::Rereading(RereadingCommand::Begin)));
        assert!(state.pages.rereading.session.is_some());
        state
    };
    let mut silent_ones = Vec::new();
    for command in every() {
        let mut state = begun();
        if silent(&mut state, command.clone()) {
            silent_ones.push(format!("{command:?}"));
        }
    }
    assert!(silent_ones.is_empty(), "{}", silent_ones.join("\n"));
}

#[test]
fn a_step_back_is_refused_where_the_case_is_not_shown() {
    for page in [Page::Series, Page::Practice, Page::Rereading] {
        let mut state = with(marked_case());
        update(&mut state, Command::Marks(MarksCommand::ClearMarks));
        assert!(go_to(&mut state, page));
        update(&mut state, Command::Case(CaseCommand::Undo));
        let document = state.editor.document.as_ref().expect("a case");
        assert!(document.case().shots[0].marks.is_empty(), "{page:?}: marks came back unseen");
        let why = state.refused.clone().unwrap_or_default();
        assert!(why.contains("this page does not show"), "{page:?}: {why}");
    }
}

/// The marked case, and a lateral shot of another body behind it.
fn two_bodies() -> Case {
    let mut case = marked_case();
    let mut other = case.shots[0].clone();
    (other.id, other.level) = (id("z"), Some(Level::L2));
    case.shots.push(other);
    case
}

#[test]
fn a_step_is_taken_where_its_shot_is_shown_and_refused_where_it_is_not() {
    for page in [Page::Compare, Page::TipPath, Page::Figure] {
        for (shot, shown) in [("b", true), ("z", false)] {
            let mut state = with(two_bodies());
            let marks = |state: &State| {
                let document = state.editor.document.as_ref().expect("a case");
                document.case().shot(shot).map(|shot| shot.marks.placed().count())
            };
            update(&mut state, Command::Shots(ShotsCommand::Show(id(shot))));
            update(&mut state, Command::Marks(MarksCommand::ClearMarks));
            update(&mut state, Command::Shots(ShotsCommand::Show(id("b"))));
            assert!(go_to(&mut state, page));
            update(&mut state, Command::Case(CaseCommand::Undo));
            let why = state.refused.clone().unwrap_or_default();
            if shown {
                assert!(marks(&state) > Some(0) && why.is_empty(), "{page:?}: {why}");
                update(&mut state, Command::Case(CaseCommand::Redo));
                assert_eq!(marks(&state), Some(0), "{page:?}");
            } else {
                assert_eq!(marks(&state), Some(0), "{page:?}: marks came back unseen");
                assert!(why.contains("this page does not show"), "{page:?}: {why}");
                update(&mut state, Command::Page(PageCommand::Go(Page::Picture)));
                update(&mut state, Command::Case(CaseCommand::Undo));
                assert!(marks(&state) > Some(0), "{page:?}: the step is still there");
            }
        }
    }
}
