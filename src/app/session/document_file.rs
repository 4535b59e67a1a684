//! An open case and its file: where it lies, what of the case it does not hold yet, where the images lie from there.

use std::path::{Path, PathBuf};

use crate::app::session::document::Document;
use crate::case::document::edit::Edit;
use crate::case::document::{Case, Shot};
use crate::io::store::pictures;
use crate::io::store::save::Seen;

impl Document {
    /// Whether there is something that its file does not hold.
    #[must_use]
    pub const fn unsaved(&self) -> bool {
        self.differs
    }

    /// What its window is called.
    #[must_use]
    pub fn name(&self) -> String {
        let titled = self.case().title.as_deref().map(str::trim).filter(|title| !title.is_empty());
        if let Some(title) = titled {
            return title.to_owned();
        }
        self.file
            .as_deref()
            .and_then(Path::file_name)
            .map_or_else(|| "New case".to_owned(), |name| name.to_string_lossy().into_owned())
    }

    /// Where the picture of a shot lies.
    ///
    /// # Errors
    /// A sentence, if the shot names none that can be followed.
    pub fn image_path(&self, shot: &Shot) -> Result<PathBuf, String> {
        pictures::picture_path(self.file.as_deref().unwrap_or_else(|| Path::new("")), &shot.image)
    }

    /// The folders of images that can be opened and will lie outside the folder of this file, where that is another one than
    /// the case's own.
    #[must_use]
    pub fn outside_of(&self, file: &Path) -> Vec<PathBuf> {
        if self.file.as_deref() == Some(file) {
            return Vec::new();
        }
        pictures::taken_along(self.case(), self.file.as_deref(), file)
    }

    /// The case as it is written into a file: its pictures are named from there.
    #[must_use]
    pub fn case_for(&self, file: &Path) -> Case {
        let mut case = self.case().clone();
        for edit in self.renamed(file) {
            // Each names a shot of this very case.
            let _ = case.apply(&edit);
        }
        case
    }

    fn renamed(&self, file: &Path) -> Vec<Edit> {
        if self.file.as_deref() == Some(file) {
            return Vec::new();
        }
        pictures::renamed_pictures(self.case(), self.file.as_deref(), file)
    }

    /// Notes that this state of the case lies in the file.
    pub fn saved_as(&mut self, case: Case, file: PathBuf, seen: Seen) {
        for edit in self.renamed(&file) {
            self.history.apply_throughout(&edit);
        }
        self.file = Some(file);
        self.seen = Some(seen);
        self.saved = case;
        self.differs = *self.case() != self.saved;
        self.stale = true;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;

    fn document() -> Document {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "pictures/a.png", View::Lateral));
        Document::opened(case, PathBuf::from("/tmp/x/demo.case.json"), None)
    }

    #[test]
    fn pictures_lie_beside_the_case() {
        let document = document();
        let mut shot = document.case().shots[0].clone();
        assert_eq!(document.image_path(&shot), Ok(PathBuf::from("/tmp/x/pictures/a.png")));
        shot.image = "/tmp/x/b/a.png".to_owned();
        assert_eq!(document.image_path(&shot), Ok(PathBuf::from("/tmp/x/b/a.png")));
        for outside in ["/elsewhere/a.png", "../a.png"] {
            shot.image = outside.to_owned();
            assert!(document.image_path(&shot).is_err(), "{outside} was not allowed");
        }
    }

    #[test]
    fn saving_elsewhere_keeps_the_pictures_and_the_way_back() {
        let mut document = document();
        document.apply(&Edit::SetTitle(Some("A".to_owned()))).unwrap();
        let up = document.case_for(Path::new("/tmp/a.case.json"));
        assert_eq!(up.shots[0].image, "x/pictures/a.png");
        let away = document.case_for(Path::new("/home/a.case.json"));
        assert_eq!(away.shots[0].image, "/tmp/x/pictures/a.png");
        assert_eq!(document.outside_of(Path::new("/home/a.case.json")), [PathBuf::from("/tmp/x/pictures")]);
        assert!(document.outside_of(Path::new("/tmp/a.case.json")).is_empty());
        document.saved_as(up, PathBuf::from("/tmp/a.case.json"), Seen::of(b""));
        assert!(!document.unsaved());
        assert!(document.history.undo());
        document.changed();
        let shot = document.case().shots[0].clone();
        assert_eq!(document.image_path(&shot), Ok(PathBuf::from("/tmp/x/pictures/a.png")));
    }
}
