//! The committed demonstration is what the code makes. `STILLMARK_UPDATE=1 cargo test samples` makes it again.

use std::fs;
use std::path::Path;

use stillmark::io::files::digest;
use stillmark::io::import::import_frame;
use stillmark::io::simulated::series_files;
use stillmark::phantom::demonstration::demonstration;

const STEM: &str = "demonstration";

#[test]
fn the_demonstration_is_what_the_code_makes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images");
    let series = demonstration();
    let made = series_files(&series, STEM, &mut |_, _| ()).unwrap();
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        fs::create_dir_all(folder.join("images")).unwrap();
        for file in &made {
            fs::write(folder.join(&file.name), &file.bytes).unwrap();
        }
    }
    let scratch = tempfile::tempdir().unwrap();
    for file in &made {
        let committed = fs::read(folder.join(&file.name)).unwrap();
        if file.name.ends_with(".png") {
            // Samples, not bytes: a newer encoder may pack the same picture differently.
            let fresh = scratch.path().join("fresh.png");
            fs::write(&fresh, &file.bytes).unwrap();
            let samples = |path: &Path| import_frame(path).unwrap().samples;
            assert!(samples(&folder.join(&file.name)) == samples(&fresh), "{} differs", file.name);
        } else {
            // The digests are those of the committed pictures.
            let mut text = String::from_utf8(file.bytes.clone()).unwrap();
            for picture in made.iter().filter(|f| f.name.ends_with(".png")) {
                let there = digest(&fs::read(folder.join(&picture.name)).unwrap());
                text = text.replace(&digest(&picture.bytes), &there);
            }
            assert_eq!(text, String::from_utf8(committed).unwrap(), "{} differs", file.name);
        }
    }
}
