//! The window itself: input becomes commands, commands change the state, the state is drawn.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use egui::{CentralPanel, Context, Frame, Margin, Panel, ScrollArea, Ui, ViewportCommand};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::key::{Key, Shortcut};
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::preferences::SidePanel;
use crate::app::files::questions::{Answer, WindowQuestion};
use crate::app::pages::PageCommand;
use crate::app::pages::presenting;
use crate::app::pages::{self, Page};
use crate::app::session::document::Document;
use crate::app::session::mode::Tool;
use crate::app::session::state::State;
use crate::app::session::update::{receive_all, update};
use crate::app::shots::frames;
use crate::app::shots::label_shots;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::jobs::Jobs;
use crate::measure::mark::MarkRef;
use crate::scene::drawing::theme::{Mode, Theme};
use crate::scene::words::caution;
use crate::ui::canvas::{CanvasMemory, Tools, canvas_ui};
use crate::ui::dialogs::{Dialogs, Reply, Request};
use crate::ui::handed_over::{bytes_of, hovering_ui, pasted};
use crate::ui::key_events::{self, Focus};
use crate::ui::look::{self, colour};
use crate::ui::pages as shown_pages;
use crate::ui::panels::about::about_ui;
use crate::ui::panels::frames::{HEIGHT as FRAMES_HEIGHT, frames_ui};
use crate::ui::panels::help::help_ui;
use crate::ui::panels::label_shots::{HEIGHT as LABELING_HEIGHT, sort_ui};
use crate::ui::panels::levels::ladder_ui;
use crate::ui::panels::levels_strip::{self, levels_strip_ui};
use crate::ui::panels::marks::marks_ui;
use crate::ui::panels::next::{self, next_ui};
use crate::ui::panels::notices::{hint_ui, notices_ui};
use crate::ui::panels::question::{TypedPath, question_ui};
use crate::ui::panels::reading::{details_ui, reading_ui};
use crate::ui::panels::redaction_and_scale::{AsideFields, aside_ui, tools_ui};
use crate::ui::panels::rows::{self, rows_ui};
use crate::ui::panels::settings::{SettingsFields, settings_ui};
use crate::ui::panels::shot_line::{Fields, shot_fields_ui};
use crate::ui::panels::start::start_ui;
use crate::ui::panels::toolbar::{self, page_bar_ui, toolbar_ui};
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, Typed, rule, weak};

/// Width of the ladder in points.
const LADDER_WIDTH: f32 = 204.0;
/// Windows at least this wide, in points, show the levels, at least as a strip.
const ROOM_FOR_LEVELS: f64 = 760.0;
/// Windows at least as high as this, in points, keep the line above the rows when these are folded away.
const ROOM_FOR_STRIP: f64 = 560.0;
/// Under which name the program remembers how it is shown.
pub const REMEMBERED: &str = "display";
/// Under which name the program remembers where cases were left.
pub const PLACES: &str = "places";
/// Under which name the program remembers the scales that were entered.
pub const SCALES: &str = "scales";
/// The environment variable that asks for the canvas's layout on standard error.
const TRACE_VARIABLE: &str = "STILLMARK_TRACE_LAYOUT";

/// The program in its window.
pub struct StillmarkApp {
    /// Everything it knows.
    pub state: State,
    jobs: Jobs,
    dialogs: Box<dyn Dialogs>,
    answers: (Sender<Outcome>, Receiver<Outcome>),
    textures: Textures,
    canvas: CanvasMemory,
    canvas_id: Option<egui::Id>,
    pages: shown_pages::PagesMemory,
    fields: Fields,
    settings: SettingsFields,
    aside: AsideFields,
    case_title: Typed,
    typed: TypedPath,
    pointed: Option<MarkRef>,
    /// Where the column with the reading stands above its caution, if it is there.
    beside: Option<egui::Rect>,
    /// Whether a list or a menu was open at the end of the pass before; at the beginning of a pass none is told of.
    popup_open: bool,
    /// The page that was shown last.
    on_page: Page,
    /// The shot that the column beside the image tells of, and whether its details are open.
    column_of: (Option<String>, bool),
    shown: Option<(Mode, u64)>,
    title: String,
    /// Whether the window was made to fill the screen for a presentation.
    full_screen: bool,
    quitting: bool,
    trace: bool,
    /// When the last frame was asked for while playing.
    ticked: f64,
}

impl StillmarkApp {
    /// The program, about to open these paths.
    #[must_use]
    pub fn new(ctx: &Context, jobs: Jobs, dialogs: Box<dyn Dialogs>, paths: Vec<PathBuf>) -> Self {
        look::set_fonts(ctx);
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        let mut app = Self {
            state: State::default(),
            jobs,
            dialogs,
            answers: channel(),
            textures: Textures::default(),
            canvas: CanvasMemory::default(),
            canvas_id: None,
            pages: shown_pages::PagesMemory::default(),
            fields: Fields::default(),
            settings: SettingsFields::default(),
            aside: AsideFields::default(),
            case_title: Typed::default(),
            typed: TypedPath::default(),
            pointed: None,
            beside: None,
            popup_open: false,
            on_page: Page::Picture,
            column_of: (None, false),
            shown: None,
            title: String::new(),
            full_screen: false,
            quitting: false,
            ticked: 0.0,
            trace: std::env::var_os(TRACE_VARIABLE).is_some(),
        };
        app.jobs.push(Effect::LookAround);
        if !paths.is_empty() {
            app.run(ctx, Command::File(FileCommand::OpenPaths(paths)));
        }
        app
    }

    fn run(&mut self, ctx: &Context, command: Command) {
        let effects = update(&mut self.state, command);
        self.perform(ctx, effects);
    }

    fn perform(&mut self, ctx: &Context, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Ask { purpose, suggestion, leave } => {
                    self.state.choosing = true;
                    let ctx = ctx.clone();
                    let reply = Reply::new(self.answers.0.clone(), move || ctx.request_repaint());
                    self.dialogs.ask(Request { purpose, suggestion, leave }, reply);
                }
                Effect::Quit => {
                    self.quitting = true;
                    ctx.send_viewport_cmd(ViewportCommand::Close);
                }
                other => self.jobs.push(other),
            }
        }
    }

    /// Takes in what has been done meanwhile.
    fn take_in(&mut self, ctx: &Context) {
        loop {
            let mut outcomes = self.jobs.outcomes();
            outcomes.extend(self.answers.1.try_iter());
            if outcomes.is_empty() {
                return;
            }
            let effects = receive_all(&mut self.state, outcomes);
            self.perform(ctx, effects);
        }
    }

    /// What the window's frame, the file manager and the keyboard ask for.
    fn listen(&mut self, ctx: &Context, asked: &mut Asked) {
        let mut received = Vec::new();
        let (closing, dropped, space) = ctx.input(|input| {
            let (files, bare): (Vec<_>, Vec<_>) =
                input.raw.dropped_files.iter().partition(|file| file.path().is_absolute());
            let dropped: Vec<PathBuf> = files.iter().map(|file| file.path().to_path_buf()).collect();
            received.extend(bare.iter().filter_map(|file| bytes_of(file.as_ref())));
            received.extend(input.events.iter().filter_map(pasted));
            (input.viewport().close_requested(), dropped, input.key_down(egui::Key::Space))
        });
        if closing && !self.quitting {
            let unsaved = self.state.editor.document.as_ref().is_some_and(|document| document.unsaved());
            if unsaved {
                ctx.send_viewport_cmd(ViewportCommand::CancelClose);
                asked.push(Command::File(FileCommand::Quit));
            }
        }
        if !dropped.is_empty() {
            match &self.state.question {
                Some(WindowQuestion::Path { .. }) => {
                    asked.extend(
                        dropped
                            .into_iter()
                            .take(1)
                            .map(|path| Command::File(FileCommand::Answer(Answer::Path(path)))),
                    );
                }
                _ => asked.push(Command::File(FileCommand::Drop(dropped))),
            }
        }
        if self.state.question.is_none() && !self.state.choosing {
            asked.extend(received.into_iter().map(|image| Command::File(FileCommand::TakeIn(image))));
        }
        let focus = self.focus(ctx);
        let presenting = self.state.pages.shown == Page::Presenting;
        let held =
            space && !presenting && focus == Focus::Picture && !self.state.covered() && !self.state.choosing;
        if held != self.state.display.drawing_hidden {
            asked.push(Command::Window(WindowCommand::HideDrawing(held)));
        }
        self.pressed(ctx, focus, asked);
    }

    /// Asks for the next frame when its time has come, and to be woken for it.
    fn play(&mut self, ctx: &Context, asked: &mut Asked) {
        let now = ctx.input(|input| input.time);
        let Some(pace) = frames::pace(&self.state.editor) else {
            self.ticked = now;
            return;
        };
        let left = self.ticked + pace.as_secs_f64() - now;
        if left <= 0.0 {
            self.ticked = now;
            asked.push(Command::Shots(ShotsCommand::Tick));
            ctx.request_repaint_after(pace);
        } else {
            ctx.request_repaint_after(std::time::Duration::from_secs_f64(left));
        }
    }

    fn pressed(&self, ctx: &Context, focus: Focus, asked: &mut Asked) {
        // A question and an open menu take the keys themselves.
        if self.state.question.is_some() || self.state.choosing || self.popup_open {
            return;
        }
        for shortcut in key_events::pressed(ctx, focus) {
            if self.state.display.settings {
                if shortcut.key == Key::Function(4) {
                    asked.push(Command::Window(WindowCommand::CaseSettings));
                }
                continue;
            }
            if self.state.display.about {
                if shortcut == Shortcut::shift(Key::Function(1)) {
                    asked.push(Command::Window(WindowCommand::About));
                }
                continue;
            }
            if self.state.display.help {
                if matches!(shortcut.key, Key::QuestionMark | Key::Function(1)) {
                    asked.push(Command::Window(WindowCommand::Help));
                }
                continue;
            }
            let sorting = self.state.editor.document.as_ref().is_some_and(|document| document.is_labeling());
            if self.state.pages.shown == Page::Presenting {
                asked.extend(presenting::keys::of(shortcut));
                continue;
            }
            if self.state.pages.shown != Page::Picture && shortcut == Shortcut::plain(Key::Escape) {
                asked.push(Command::Page(PageCommand::Go(Page::Picture)));
                continue;
            }
            let open = self.state.pages.shown == Page::Picture
                && self.state.editor.document.as_ref().is_some_and(Document::asks_for_view);
            let command = if self.state.pages.shown == Page::Overview {
                label_shots::of_open_view(shortcut)
            } else if sorting {
                label_shots::of(shortcut)
            } else if open {
                label_shots::of_open_view(shortcut)
            } else {
                Command::of(shortcut)
            };
            asked.extend(command);
        }
    }

    fn focus(&self, ctx: &Context) -> Focus {
        if ctx.text_edit_focused() {
            return Focus::Typing;
        }
        match ctx.memory(|memory| memory.focused()) {
            Some(id) if Some(id) != self.canvas_id => Focus::Control,
            _ => Focus::Picture,
        }
    }

    /// After a click on a control, and after a mark was taken in hand, the keys are the picture's again.
    fn give_focus_back(&self, ctx: &Context, asked: &Asked) {
        let taken = asked.iter().any(|command| {
            matches!(
                command,
                Command::Marks(MarksCommand::Take(_))
                    | Command::Marks(MarksCommand::AddPointsTo(_))
                    | Command::Shots(ShotsCommand::Label)
            )
        });
        let clicked = ctx.input(|input| input.pointer.any_released());
        let busy = ctx.text_edit_focused() || ctx.any_popup_open() || self.state.covered();
        if let Some(id) = self.canvas_id
            && (taken || (clicked && !busy))
            && (self.state.editor.document.is_some() || pages::editor(&self.state.pages).is_some())
        {
            ctx.memory_mut(|memory| memory.request_focus(id));
        }
    }

    fn prepare(&mut self, ctx: &Context) {
        let mode = self.state.display.mode;
        let scale = self.state.display.text_scale;
        if self.shown != Some((mode, scale.to_bits())) {
            look::set_style(ctx, mode);
            ctx.set_zoom_factor(look::pt(scale));
            self.shown = Some((mode, scale.to_bits()));
        }
        self.state.display.width = f64::from(ctx.content_rect().width());
        self.state.display.height = f64::from(ctx.content_rect().height());
        self.fill_screen(ctx);
        // What has the keyboard on one page is not there on another, where a control at its place would have it.
        if self.on_page != self.state.pages.shown {
            self.on_page = self.state.pages.shown;
            ctx.memory_mut(|memory| {
                if let Some(id) = memory.focused() {
                    memory.surrender_focus(id);
                }
            });
        }
        let title = self.state.title();
        if title != self.title {
            ctx.send_viewport_cmd(ViewportCommand::Title(title.clone()));
            self.title = title;
        }
        self.textures.sweep(&self.state.editor);
    }

    /// While something is presented, the window fills the screen.
    fn fill_screen(&mut self, ctx: &Context) {
        let wanted = self.state.pages.shown == Page::Presenting;
        if wanted != self.full_screen {
            ctx.send_viewport_cmd(ViewportCommand::Fullscreen(wanted));
            self.full_screen = wanted;
        }
    }

    fn case_ui(&mut self, ui: &mut Ui, asked: &mut Asked) {
        let theme = Theme::of(self.state.display.mode);
        let panel = |margin: Margin| Frame::new().fill(colour(theme.panel)).inner_margin(margin);
        let width = ui.ctx().content_rect().width();
        let bar = panel(Margin::symmetric(8, 6));
        Panel::top("toolbar")
            .exact_size(toolbar::height(self.state.display.width))
            .frame(bar)
            .show(ui, |ui| toolbar_ui(ui, &self.state, asked));
        self.levels_ui(ui, asked);
        self.pointed = None;
        self.beside = None;
        if self.state.display.has(SidePanel::Reading) {
            let frame = panel(Margin::symmetric(10, 8));
            let size = reading_width(width);
            Panel::right("reading").resizable(false).exact_size(size).frame(frame).show(ui, |ui| {
                self.right_ui(ui, asked);
            });
        }
        self.below_ui(ui, &panel, asked);
        CentralPanel::default().frame(Frame::new().fill(colour(theme.ground))).show(ui, |ui| {
            let mut tools = Tools { textures: &mut self.textures, pointed: self.pointed, trace: self.trace };
            let response = canvas_ui(ui, &mut self.state, &mut self.canvas, &mut tools, asked);
            self.canvas_id = Some(response.id);
        });
        self.floating_ui(ui.ctx(), asked);
    }

    /// The levels at the left: in full, or as a strip.
    fn levels_ui(&mut self, ui: &mut Ui, asked: &mut Asked) {
        let theme = Theme::of(self.state.display.mode);
        let frame = Frame::new().fill(colour(theme.panel));
        if self.state.display.has(SidePanel::Ladder) {
            let frame = frame.inner_margin(Margin::same(8));
            Panel::left("ladder").resizable(false).exact_size(LADDER_WIDTH).frame(frame).show(ui, |ui| {
                ladder_ui(ui, &self.state, &mut self.case_title, asked);
            });
        } else if self.state.display.width >= ROOM_FOR_LEVELS {
            let frame = frame.inner_margin(Margin::symmetric(5, 8));
            Panel::left("levels").resizable(false).exact_size(levels_strip::WIDTH).frame(frame).show(
                ui,
                |ui| {
                    levels_strip_ui(ui, &self.state, asked);
                },
            );
        }
    }

    /// What stands below the image: the next line, the frames of its file, the shots.
    fn below_ui(&mut self, ui: &mut Ui, panel: &dyn Fn(Margin) -> Frame, asked: &mut Asked) {
        let sorting = self.state.editor.document.as_ref().is_some_and(|document| document.is_labeling());
        if sorting || self.state.display.has(SidePanel::Rows) || self.state.display.height >= ROOM_FOR_STRIP {
            let height = rows::height(&self.state);
            let frame = panel(Margin::symmetric(8, 2));
            Panel::bottom("rows").frame(frame).exact_size(height).show(ui, |ui| {
                rows_ui(ui, &self.state, &mut self.textures, asked);
            });
        }
        // While the pointer draws something else, no mark is asked for.
        let marking =
            self.state.editor.document.as_ref().is_none_or(|document| document.tool() == Tool::Marks);
        if sorting {
            let frame = panel(Margin::symmetric(8, 4));
            Panel::bottom("sort").frame(frame).exact_size(LABELING_HEIGHT).show(ui, |ui| {
                sort_ui(ui, &self.state, asked);
            });
        } else {
            let frame = panel(Margin::symmetric(8, 5));
            Panel::bottom("next").frame(frame).exact_size(next::height(&self.state)).show(ui, |ui| {
                if marking {
                    next_ui(ui, &self.state, asked);
                }
            });
        }
        if frames::place(&self.state.editor).is_some() {
            Panel::bottom("frames")
                .exact_size(FRAMES_HEIGHT)
                .frame(panel(Margin::symmetric(8, 2)))
                .show(ui, |ui| frames_ui(ui, &self.state, asked));
        }
    }

    /// What floats over the image: it covers a part of it and moves nothing.
    fn floating_ui(&mut self, ctx: &Context, asked: &mut Asked) {
        let over = self.canvas.rect();
        let mut floats = Vec::new();
        let strip = aside_ui(ctx, (over, self.beside), &self.state, &mut self.aside, asked);
        floats.extend(strip);
        // Notices stand below a strip that is at the top, and above one at the foot of the column.
        let (mut below, mut beside) = (over, self.beside);
        if let Some(strip) = strip {
            match &mut beside {
                Some(column) if strip.left() >= over.right() => column.max.y = strip.top() - 4.0,
                _ if strip.top() < over.top() + 0.25 * over.height() => below.min.y = strip.bottom(),
                _ => {}
            }
        }
        floats.extend(notices_ui(ctx, below, beside, &self.state, asked));
        self.canvas.covered_by(floats, &self.state, ctx.content_rect());
    }

    /// Whether the window was told to fill the screen.
    #[must_use]
    pub const fn fills_screen(&self) -> bool {
        self.full_screen
    }

    /// Share of the window's area in which the image is seen, with nothing over it but marks and overlays.
    #[must_use]
    pub const fn image_share(&self) -> f64 {
        self.canvas.image_share()
    }

    /// A page in place of the picture and everything about it.
    fn page_ui(&mut self, ui: &mut Ui, asked: &mut Asked) {
        if self.state.pages.shown == Page::Presenting {
            let all = ui.available_rect_before_wrap();
            CentralPanel::default().frame(Frame::new()).show(ui, |ui| {
                shown_pages::page_ui(ui, &mut self.state, &mut self.pages, &mut self.textures, asked);
            });
            notices_ui(ui.ctx(), all, None, &self.state, asked);
            return;
        }
        let theme = Theme::of(self.state.display.mode);
        let panel = |margin: Margin| Frame::new().fill(colour(theme.panel)).inner_margin(margin);
        Panel::top("toolbar").exact_size(42.0).frame(panel(Margin::symmetric(8, 6))).show(ui, |ui| {
            page_bar_ui(ui, &self.state, asked);
        });
        let top = ui.available_rect_before_wrap();
        Panel::bottom("caution").frame(panel(Margin::symmetric(12, 4))).show(ui, |ui| {
            weak(ui, caution::SHORT);
        });
        CentralPanel::default().frame(Frame::new().fill(colour(theme.ground))).show(ui, |ui| {
            shown_pages::page_ui(ui, &mut self.state, &mut self.pages, &mut self.textures, asked);
            self.canvas_id = shown_pages::canvas(&self.state, &self.pages);
        });
        notices_ui(ui.ctx(), top, None, &self.state, asked);
    }

    fn right_ui(&mut self, ui: &mut Ui, asked: &mut Asked) {
        let room = ui.available_height();
        let below = if ui.available_width() < 300.0 { 64.0 } else { 50.0 };
        let mut beside = ui.max_rect();
        beside.max.y -= below;
        self.beside = Some(beside);
        let mut column = ScrollArea::vertical().auto_shrink(false).max_height((room - below).max(80.0));
        // Another shot's numbers are read from the top, however far the one before was scrolled; so are they once the details
        // are folded.
        let shown = self.state.editor.document.as_ref().and_then(|document| document.shown.clone());
        let details = self.state.display.budget;
        if self.column_of.0 != shown || (self.column_of.1 && !details) {
            column = column.vertical_scroll_offset(0.0);
        }
        self.column_of = (shown, details);
        column.show(ui, |ui| {
            ui.set_width(ui.available_width() - 4.0);
            ui.spacing_mut().item_spacing.y = 2.0;
            tools_ui(ui, &self.state, &mut self.aside, asked);
            reading_ui(ui, &self.state, room, asked);
            rule(ui);
            self.pointed = marks_ui(ui, &self.state, asked);
            details_ui(ui, &self.state, asked);
            rule(ui);
            shot_fields_ui(ui, &self.state, &mut self.fields, asked);
        });
        ui.separator();
        weak(ui, caution::SHORT);
    }
}

/// Width of the column with the reading in a window of this width, in points.
const fn reading_width(window: f32) -> f32 {
    if window < 1200.0 {
        276.0
    } else if window < 2200.0 {
        304.0
    } else {
        380.0
    }
}

impl eframe::App for StillmarkApp {
    fn save(&mut self, storage: &mut dyn eframe::Storage) {
        storage.set_string(REMEMBERED, self.state.display.remembered());
        storage.set_string(PLACES, self.state.places());
        storage.set_string(SCALES, self.state.editor.last_scales.remembered());
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        self.take_in(&ctx);
        let mut asked = Asked::new();
        self.listen(&ctx, &mut asked);
        self.play(&ctx, &mut asked);
        self.prepare(&ctx);
        if self.state.pages.shown != Page::Picture {
            self.page_ui(ui, &mut asked);
        } else if self.state.editor.document.is_some() {
            self.case_ui(ui, &mut asked);
        } else {
            let theme = Theme::of(self.state.display.mode);
            let ground = Frame::new().fill(colour(theme.ground)).inner_margin(Margin::same(16));
            let all = ui.available_rect_before_wrap();
            CentralPanel::default().frame(ground).show(ui, |ui| start_ui(ui, &self.state, &mut asked));
            notices_ui(&ctx, all, None, &self.state, &mut asked);
        }
        hovering_ui(&ctx, &self.state);
        question_ui(&ctx, &self.state, &mut self.typed, &mut asked);
        settings_ui(&ctx, &self.state, &mut self.settings, &mut asked);
        help_ui(&ctx, &self.state, &mut asked);
        about_ui(&ctx, &self.state, &mut asked);
        hint_ui(&ctx, &self.state);
        self.popup_open = ctx.any_popup_open();
        self.give_focus_back(&ctx, &asked);
        if asked.is_empty() {
            return;
        }
        for command in asked {
            self.run(&ctx, command);
        }
        self.take_in(&ctx);
        // The change is seen in the next pass; there is none after it unless something asks for it.
        ctx.request_repaint();
    }
}
