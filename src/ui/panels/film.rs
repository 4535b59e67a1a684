//! Which frames of a film become shots: all, a range, every nth.

use egui::Ui;

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::files::questions::Answer;
use crate::case::image::frame_choice::FrameChoice;
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::ui::look::pt;
use crate::ui::panels::redaction_and_scale::number;
use crate::ui::widgets::{Asked, weak};

/// What is being typed, counted from 1.
#[derive(Debug)]
pub(crate) struct FilmFields {
    first: String,
    last: String,
    every: String,
}

impl FilmFields {
    fn of(frames: u32) -> Self {
        Self { first: "1".to_owned(), last: frames.to_string(), every: "1".to_owned() }
    }

    /// What is chosen by it, if its numbers are some.
    fn choice(&self) -> Option<FrameChoice> {
        let number = |text: &str| text.trim().parse::<u32>().ok().filter(|n| *n > 0);
        Some(FrameChoice {
            first: number(&self.first)? - 1,
            last: Some(number(&self.last)? - 1),
            every: number(&self.every)?,
        })
    }
}

/// Shows the choices for a file of so many frames.
pub(crate) fn film_ui(ui: &mut Ui, frames: u32, typed: &mut Option<FilmFields>, asked: &mut Asked) {
    let fields = typed.get_or_insert_with(|| FilmFields::of(frames));
    ui.horizontal(|ui| {
        for (name, text) in [
            ("First frame", &mut fields.first),
            ("Last frame", &mut fields.last),
            ("Every nth", &mut fields.every),
        ] {
            number(ui, name, text, 48.0);
        }
    });
    if ui.button("All frames").clicked() {
        *fields = FilmFields::of(frames);
    }
    ui.add_space(pt(space::S2));
    let choice = fields.choice();
    let chosen = choice.ok_or_else(|| "enter whole numbers from 1".to_owned()).and_then(|one| one.of(frames));
    let count = match &chosen {
        Ok(chosen) => chosen.len(),
        Err(why) => {
            weak(ui, format!("To continue, {why}."));
            0
        }
    };
    ui.horizontal(|ui| {
        let words = format!("Add {}", format::count(count, "frame", "frames"));
        let ready = count > 0;
        if ui.add_enabled(ready, egui::Button::new(words)).clicked()
            && let Some(choice) = choice
        {
            asked.push(Command::File(FileCommand::Answer(Answer::Frames(choice))));
        }
        if ui.button("Cancel").clicked() {
            asked.push(Command::File(FileCommand::Answer(Answer::KeepEditing)));
        }
    });
}
