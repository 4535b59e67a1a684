//! What stands beside results on standard error: sentences, and how far long work has come where a person looks on; and
//! where colors are wanted.

use std::io::{IsTerminal as _, Write};
use std::time::{Duration, Instant};

/// Work that is done by then says nothing.
const PATIENCE: Duration = Duration::from_millis(500);
/// How often it is told at most.
const EVERY: Duration = Duration::from_millis(100);

/// Which of the two outputs go to a terminal, and what may be shown there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Terminals {
    /// Help on standard output may be in color.
    pub color_out: bool,
    /// Complaints on standard error may be in color.
    pub color_err: bool,
    /// How far long work has come may be told on standard error, on a line that is written over.
    pub progress: bool,
}

impl Terminals {
    /// Those of this process, by its environment: no color where `NO_COLOR` is set (no-color.org), nothing but plain lines
    /// on a terminal that calls itself `dumb`.
    #[must_use]
    pub fn of_process() -> Self {
        let variable = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        // The older console of Windows shows the codes of colors as letters.
        let knows_color = !cfg!(windows) || variable("WT_SESSION") || variable("TERM");
        let color = knows_color && !dumb && !variable("NO_COLOR");
        let (out, err) = (std::io::stdout().is_terminal(), std::io::stderr().is_terminal());
        Self { color_out: out && color, color_err: err && color, progress: err && !dumb }
    }
}

/// Standard error.
pub struct Aside<'a> {
    err: &'a mut dyn Write,
    progress: bool,
    patience: Duration,
}

impl<'a> Aside<'a> {
    /// Writes to `err`; how far work has come only where `progress` is set.
    pub fn new(err: &'a mut dyn Write, progress: bool) -> Self {
        Self { err, progress, patience: PATIENCE }
    }

    /// Writes one line. If not even this can be written, the exit status still tells.
    pub fn say(&mut self, sentence: &str) {
        let _ = writeln!(self.err, "{sentence}");
    }

    /// Begins to tell how far a work has come.
    pub fn progress(&mut self, what: &'static str) -> ProgressLine<'_> {
        let (start, patience) = (Instant::now(), self.patience);
        let err: Option<&mut dyn Write> = if self.progress { Some(&mut *self.err) } else { None };
        ProgressLine { err, what, start, patience, told: None, width: 0 }
    }
}

/// How far a work has come, on one line that is written over and taken away at the end.
pub struct ProgressLine<'a> {
    err: Option<&'a mut dyn Write>,
    what: &'static str,
    start: Instant,
    patience: Duration,
    told: Option<Instant>,
    width: usize,
}

impl ProgressLine<'_> {
    /// So many of so many are done.
    pub fn at(&mut self, done: usize, of: usize) {
        let now = Instant::now();
        let soon = now.duration_since(self.start) < self.patience
            || self.told.is_some_and(|told| now.duration_since(told) < EVERY);
        if self.err.is_none() || soon {
            return;
        }
        self.told = Some(now);
        self.show(&format!("{}: {done} of {of}", self.what));
    }

    /// The next part of the work, which is not counted.
    pub fn then(&mut self, what: &'static str) {
        self.what = what;
        if self.start.elapsed() >= self.patience {
            self.show(&format!("{what}…"));
        }
    }

    /// Writes over what is there; spaces instead of a code, which not every console knows.
    fn show(&mut self, text: &str) {
        let Some(err) = &mut self.err else { return };
        let width = text.chars().count();
        let rest = " ".repeat(self.width.saturating_sub(width));
        // Progress that cannot be shown is no reason to end the work.
        let _ = write!(err, "\r{text}{rest}").and_then(|()| err.flush());
        self.width = width;
    }
}

impl Drop for ProgressLine<'_> {
    fn drop(&mut self) {
        if self.width > 0 {
            self.show("");
            if let Some(err) = &mut self.err {
                let _ = write!(err, "\r").and_then(|()| err.flush());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(progress: bool, patience: Duration) -> String {
        let mut err = Vec::new();
        let mut aside = Aside { patience, ..Aside::new(&mut err, progress) };
        {
            let mut progress = aside.progress("Opening images");
            progress.at(1, 12);
            // Too soon after the last.
            progress.at(2, 12);
            progress.then("Drawing");
        }
        aside.say("Skipped: a.json");
        String::from_utf8(err).unwrap()
    }

    #[test]
    fn long_work_is_told_on_one_line_that_is_taken_away() {
        let said = told(true, Duration::ZERO);
        let first = "Opening images: 1 of 12";
        let spaces = |n: usize| " ".repeat(n);
        let expected =
            format!("\r{first}\rDrawing…{}\r{}\rSkipped: a.json\n", spaces(first.len() - 8), spaces(8));
        assert_eq!(said, expected);
    }

    #[test]
    fn short_work_and_work_that_nobody_looks_at_say_nothing() {
        assert_eq!(told(true, Duration::from_secs(3600)), "Skipped: a.json\n");
        assert_eq!(told(false, Duration::ZERO), "Skipped: a.json\n");
    }
}
