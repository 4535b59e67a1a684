//! Non-interference: two cases that differ only in whose images they are give the same bytes in every output. What differs is
//! forty elements of each DICOM file that name a person, a place, a study or a device, the digests that follow from them, and the
//! names of folders, case files and image files. What may differ is listed: [`MAY_DIFFER`], and the name of the case file,
//! which `read --json` carries.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use stillmark::case::document::Case;
use stillmark::case::image::frame::Samples;
use stillmark::io::import::import_frame;
use stillmark::io::store::save::{Over, open_case, save_case};

use crate::dicom_bytes::{File, Pixels};
use crate::support::folder;

/// Outputs that may say more: what `frame` prints is about one file, its digest with it; DICOM objects have identifiers of their
/// own, drawn anew each time, and name the objects that they were made of.
const MAY_DIFFER: [&str; 2] = ["frame", "dicom"];

/// Elements that name somebody or something (DICOM PS3.15, table E.1-1).
const NAMING: [((u16, u16), &[u8; 2]); 40] = [
    ((0x08, 0x12), b"DA"),
    ((0x08, 0x13), b"TM"),
    ((0x08, 0x14), b"UI"),
    ((0x08, 0x18), b"UI"),
    ((0x08, 0x20), b"DA"),
    ((0x08, 0x21), b"DA"),
    ((0x08, 0x30), b"TM"),
    ((0x08, 0x31), b"TM"),
    ((0x08, 0x50), b"SH"),
    ((0x08, 0x70), b"LO"),
    ((0x08, 0x80), b"LO"),
    ((0x08, 0x81), b"ST"),
    ((0x08, 0x90), b"PN"),
    ((0x08, 0x92), b"ST"),
    ((0x08, 0x94), b"SH"),
    ((0x08, 0x1010), b"SH"),
    ((0x08, 0x1030), b"LO"),
    ((0x08, 0x103e), b"LO"),
    ((0x08, 0x1040), b"LO"),
    ((0x08, 0x1048), b"PN"),
    ((0x08, 0x1050), b"PN"),
    ((0x08, 0x1060), b"PN"),
    ((0x08, 0x1070), b"PN"),
    ((0x08, 0x1090), b"LO"),
    ((0x10, 0x10), b"PN"),
    ((0x10, 0x20), b"LO"),
    ((0x10, 0x30), b"DA"),
    ((0x10, 0x40), b"CS"),
    ((0x10, 0x1000), b"LO"),
    ((0x10, 0x1001), b"PN"),
    ((0x10, 0x1010), b"AS"),
    ((0x10, 0x1040), b"LO"),
    ((0x10, 0x2154), b"SH"),
    ((0x10, 0x4000), b"LT"),
    ((0x18, 0x1000), b"LO"),
    ((0x18, 0x1030), b"LO"),
    ((0x20, 0x0d), b"UI"),
    ((0x20, 0x0e), b"UI"),
    ((0x20, 0x10), b"SH"),
    ((0x20, 0x4000), b"LT"),
];

/// One of the two whose images they are.
#[derive(Clone, Copy, Debug)]
struct Person {
    word: &'static str,
    number: u32,
}

const PERSONS: [Person; 2] =
    [Person { word: "ADABERT^ZENIA", number: 1_903_117 }, Person { word: "QUORNWICK^IGOR^B", number: 22 }];

impl Person {
    /// What an element says of this person; values of one type have the same form and often another length.
    fn value(self, tag: (u16, u16), vr: &[u8; 2]) -> String {
        let n = self.number + u32::from(tag.1);
        match vr {
            b"DA" => format!("19{:02}{:02}{:02}", n % 90 + 10, n % 12 + 1, n % 28 + 1),
            b"TM" => format!("{:02}{:02}{:02}", n % 24, n % 60, n % 59),
            b"UI" => format!("1.2.826.0.1.{}.{}", self.number, tag.1),
            b"AS" => format!("{:03}Y", n % 90),
            b"CS" => if n.is_multiple_of(2) { "F" } else { "M" }.to_owned(),
            _ => format!("{} {:x}", self.word, tag.1),
        }
    }

    /// The case in a folder of this person's name.
    fn case(self, place: &Path) -> PathBuf {
        let home = place.join(self.word);
        std::fs::create_dir_all(home.join(format!("study {}", self.number))).unwrap();
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images");
        let mut case = open_case(&samples.join("demonstration.case.json")).unwrap().case;
        let kept = ["l4-right-lateral-stylet", "l4-right-lateral-final", "l4-right-ap-final"];
        case.shots.retain(|shot| kept.contains(&shot.id.as_str()));
        let images: Vec<String> = case.shots.iter().map(|shot| shot.image.clone()).collect();
        let renamed = images.iter().enumerate().map(|(n, image)| {
            let frame = import_frame(&samples.join(image)).unwrap();
            let size = (u16::try_from(frame.width).unwrap(), u16::try_from(frame.height).unwrap());
            let (bits, pixels) = match frame.samples {
                Samples::Gray8(samples) => (8, Pixels::Bytes(samples)),
                Samples::Gray16(samples) => (16, Pixels::Words(samples)),
            };
            let mut file = File::grey(size.0, size.1, bits, false).with_pixels(pixels);
            file.text((0x08, 0x16), b"UI", "1.2.840.10008.5.1.4.1.1.12.1");
            for (tag, vr) in NAMING {
                file.text(tag, vr, &self.value(tag, vr));
            }
            let name = format!("study {}/{} {n}.dcm", self.number, self.word);
            std::fs::write(home.join(&name), file.bytes()).unwrap();
            name
        });
        let names: Vec<String> = renamed.collect();
        let shots: Vec<_> = case
            .shots
            .iter()
            .zip(names)
            .map(|(shot, image)| {
                let mut shot = shot.clone();
                let digest = stillmark::io::import::source::Source::open(&home.join(&image))
                    .unwrap()
                    .digest()
                    .to_owned();
                (shot.image, shot.digest) = (image, Some(digest));
                shot
            })
            .collect();
        let case = Case { shots: shots.into(), ..case };
        let file = home.join(format!("{}.case.json", self.word));
        save_case(&file, &case, &Over::Nothing).unwrap();
        file
    }

    /// Every output of the command line for this person's case, by name.
    fn outputs(self, place: &Path) -> BTreeMap<String, Vec<u8>> {
        let case = self.case(place).to_string_lossy().into_owned();
        let folder = Path::new(&case).parent().unwrap().to_string_lossy().into_owned();
        let image = {
            let opened = open_case(Path::new(&case)).unwrap().case;
            Path::new(&folder).join(&opened.shots[0].image).to_string_lossy().into_owned()
        };
        let (stylet, last, ap) = ("l4-right-lateral-stylet", "l4-right-lateral-final", "l4-right-ap-final");
        let case = case.as_str();
        let runs: Vec<(&str, Vec<&str>)> = vec![
            ("read", vec!["read", case]),
            ("read.json", vec!["read", case, "--json", "--monte-carlo", "100", "--seed", "3"]),
            ("read.csv", vec!["read", case, "--csv"]),
            ("compare", vec!["compare", case, stylet, last]),
            ("compare.json", vec!["compare", case, stylet, last, "--json"]),
            ("run", vec!["run", case, "L4-right"]),
            ("run.pdf", vec!["run", case, "L4-right", "--picture", "OUT.pdf"]),
            ("propose.json", vec!["propose", case, stylet, "--from", last, "--json"]),
            ("figure.png", vec!["figure", case, last, "--out", "OUT.png"]),
            ("figure.svg", vec!["figure", case, last, ap, "--out", "OUT.svg"]),
            ("figure.pdf", vec!["figure", case, last, "--out", "OUT.pdf"]),
            ("report.pdf", vec!["report", case, "--out", "OUT.pdf"]),
            ("series", vec!["series", &folder]),
            ("series.json", vec!["series", &folder, "--json"]),
            ("series.csv", vec!["series", &folder, "--csv"]),
            ("series.sums", vec!["series", &folder, "--csv=sums"]),
            ("series.pdf", vec!["series", &folder, "--out", "OUT.pdf"]),
            ("frame", vec!["frame", &image]),
            ("frame.png", vec!["frame", &image, "--out", "OUT.png"]),
            ("export", vec!["export", case, "--out", "OUT", "--as-is"]),
            ("dicom", vec!["dicom", case, "--out", "OUT", "--figure", last, "--report"]),
        ];
        let mut outputs = BTreeMap::new();
        for (name, arguments) in runs {
            // Results lie in a place that is called alike for both, each run in one of its own.
            let out = place.join("results").join(self.number.to_string()).join(name);
            std::fs::create_dir_all(&out).unwrap();
            let arguments = arguments.iter().map(|word| match *word {
                "OUT" => out.join("given").to_string_lossy().into_owned(),
                word if word.starts_with("OUT.") => out.join(word).to_string_lossy().into_owned(),
                word => word.to_owned(),
            });
            let run = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
                .args(arguments)
                .env("STILLMARK_DATA_DIR", place.join("program"))
                .stdin(Stdio::null())
                .output()
                .unwrap();
            assert!(
                matches!(run.status.code(), Some(0 | 1)),
                "{name}: {}",
                String::from_utf8_lossy(&run.stderr)
            );
            let mut said = String::from_utf8_lossy(&run.stdout).replace(&*out.to_string_lossy(), "OUT");
            // `read --json` carries the name of the case's file; the rest of what it says may not differ.
            if name == "read.json" {
                said = said.replace(&*Path::new(case).file_name().unwrap().to_string_lossy(), "CASE");
            }
            outputs.insert(format!("{name}: said"), said.into_bytes());
            outputs.insert(format!("{name}: complained"), run.stderr);
            for file in files_in(&out) {
                let inside = file.strip_prefix(&out).unwrap().to_string_lossy().into_owned();
                outputs.insert(format!("{name}: {inside}"), std::fs::read(&file).unwrap());
            }
        }
        outputs
    }
}

/// All files in a folder and below.
fn files_in(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            if path.is_dir() { open.push(path) } else { found.push(path) }
        }
    }
    found.sort();
    found
}

#[test]
fn whose_images_they_are_changes_no_byte_of_any_output_but_those_listed() {
    let place = folder();
    let [one, other] = PERSONS.map(|person| person.outputs(place.path()));
    let listed = |name: &str| {
        MAY_DIFFER.iter().any(|may| name.strip_prefix(may).is_some_and(|rest| rest.starts_with(':')))
    };
    let names = |outputs: &BTreeMap<String, Vec<u8>>| -> Vec<String> {
        outputs.keys().filter(|name| !listed(name)).cloned().collect()
    };
    assert_eq!(names(&one), names(&other), "the same files");
    assert!(names(&one).len() >= 40, "{:?}", names(&one));
    let differing: Vec<String> =
        names(&one).into_iter().filter(|name| one.get(name) != other.get(name)).collect();
    assert!(differing.is_empty(), "these tell the two apart: {differing:?}");
    // Nor does what may differ say a name, unless it refers to the object that it was made of.
    for (outputs, person) in [(&one, PERSONS[0]), (&other, PERSONS[1])] {
        let word = person.word.split('^').next().unwrap().as_bytes();
        for (name, bytes) in outputs {
            assert!(!bytes.windows(word.len()).any(|part| part == word), "{name} names a person");
        }
    }
}
