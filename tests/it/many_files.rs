//! Many files at once, good and bad: the good ones are there, the bad ones are listed with their reasons, the window can be used.

use std::path::PathBuf;

use egui_kittest::kittest::Queryable as _;
use stillmark::app::command::Command;
use stillmark::app::command::file::FileCommand;
use stillmark::app::session::notice::Weight;
use stillmark::app::session::state::State;
use stillmark::app::session::update::{receive, update};
use stillmark::app::work::jobs::Jobs;

use crate::journey::{Journey, alone};
use crate::support::{put, write_picture};

#[test]
fn three_hundred_mixed_files_are_opened_or_listed_with_reasons() {
    alone("many_files", "three_hundred_mixed_files_are_opened_or_listed_with_reasons", |folder| {
        let place = folder.join("mixed");
        std::fs::create_dir(&place).unwrap();
        let mut paths: Vec<PathBuf> = Vec::new();
        for i in 0..50_u32 {
            let good = place.join(format!("good-{i:03}.png"));
            write_picture(&good, 40 + i, 30).unwrap();
            paths.push(good);
            let bad: [(&str, &[u8]); 5] = [
                ("letter.txt", b"This is a letter and no picture."),
                ("report.png", b"%PDF-1.7 and so on"),
                ("packed.jpg", b"PK\x03\x04 and so on"),
                ("nothing.png", b""),
                ("noise.dcm", b"\x01\x02\x03\x04 noise"),
            ];
            for (name, bytes) in bad {
                paths.push(put(&place, &format!("{i:03}-{name}"), bytes));
            }
        }
        assert_eq!(paths.len(), 300);
        let mut journey = Journey::begin(Vec::new());
        let effects = update(&mut journey.window.state_mut().state, Command::File(FileCommand::Drop(paths)));
        let mut jobs = Jobs::inline();
        effects.into_iter().for_each(|effect| jobs.push(effect));
        let state = &mut journey.window.state_mut().state;
        carry(state, &mut jobs);
        let shots = state.editor.document.as_ref().unwrap().case().shots.len();
        assert_eq!(shots, 50);
        let told: Vec<&str> =
            state.notices.iter().filter(|n| n.weight == Weight::Trouble).map(|n| n.text.as_str()).collect();
        assert_eq!(told.len(), 250);
        for (name, why) in [
            ("007-letter.txt", "not a supported image"),
            ("007-report.png", "a PDF document"),
            ("007-packed.jpg", "a ZIP archive"),
            ("007-nothing.png", "the file is empty"),
        ] {
            assert!(told.iter().any(|text| text.contains(name) && text.contains(why)), "{name}");
        }
        journey.window.run_steps(4);
        // The button that takes the list away is in the window, and the first image is there.
        let button = journey.window.get_by_label("Dismiss").rect();
        assert!(journey.window.ctx.content_rect().contains_rect(button), "{button:?}");
        assert!(journey.window.state().state.editor.shown_frame().is_some());
        journey.press("Dismiss");
        assert!(journey.window.state().state.notices.is_empty());
    });
}

/// Carries out what is to be done until nothing is left.
fn carry(state: &mut State, jobs: &mut Jobs) {
    loop {
        let outcomes = jobs.outcomes();
        if outcomes.is_empty() {
            return;
        }
        for outcome in outcomes {
            receive(state, outcome).into_iter().for_each(|effect| jobs.push(effect));
        }
    }
}
