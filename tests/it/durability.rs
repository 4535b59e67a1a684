//! Nothing lost: whatever happens while saving, the case file is a whole earlier or later state, and the rest is
//! told or offered.

#![expect(clippy::print_stdout, reason = "what was seen or left out is part of a test's result")]

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rand::{Rng as _, SeedableRng as _};
use stillmark::app::files::questions::Purpose;
use stillmark::app::work::cancel::Cancel;
use stillmark::app::work::effect::{Effect, Outcome};
use stillmark::app::work::performer::{Perform as _, Performer};
use stillmark::app::work::picture_store::PictureKey;
use stillmark::case::document::Case;
use stillmark::geom::point::Point;
use stillmark::io::error::ErrorKind;
use stillmark::io::store::autosave::{Autosave, discard_leftover, leftovers_at_start, leftovers_of};
use stillmark::io::store::home::{forget_case, recent_cases, remember_case};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::MarkKind;

use crate::support::{assert_one_sentence, case_of, folder, in_own_process, lateral_shot, names_in, put};

/// Tells a test that it runs in a process of its own, and in which file it works.
const CASE_VARIABLE: &str = "STILLMARK_TEST_CASE";
/// How often the saving process is killed; `STILLMARK_KILLS` names another number.
const KILLS: usize = 500;

/// A case that says its number in every part, so that a mixture of two states shows.
fn numbered(n: u32) -> Case {
    let place = Point::new(f64::from(n), f64::from(n) + 0.5);
    let shots = (0..40).map(|i| {
        let mut shot = lateral_shot(&format!("s{i}"), "gone.png");
        shot.taken = Some(n.to_string());
        shot.marks.set(MarkKind::Tip, vec![Some(place)]);
        shot
    });
    case_of(&n.to_string(), shots.collect())
}

/// The number of a case, if it is whole.
fn number_of(case: &Case) -> Option<u32> {
    let n = case.title.as_deref()?.parse().ok()?;
    (*case == numbered(n)).then_some(n)
}

/// Saves ever later states until it is killed, with an autosave that is one ahead. Runs only when asked to.
#[test]
fn saving_without_end() {
    let Some(path) = std::env::var_os(CASE_VARIABLE) else { return };
    let path = Path::new(&path);
    let opened = open_case(path).unwrap();
    let mut n = number_of(&opened.case).expect("a whole case");
    let mut seen = opened.seen;
    let mut autosave = Autosave::new();
    println!("ready");
    loop {
        n += 1;
        autosave.write(&numbered(n), Some(path), Some(&seen)).unwrap();
        seen = save_case(path, &numbered(n), &Over::Seen(seen.clone())).unwrap();
        if n.is_multiple_of(4) {
            autosave.discard().unwrap();
        }
    }
}

/// How long an autosave and a save take on this disk, at most 50 ms: the median of nine.
fn one_round(path: &Path) -> Duration {
    let mut seen = save_case(path, &numbered(0), &Over::Nothing).expect("a save on this disk");
    let mut autosave = Autosave::new();
    let mut times: Vec<Duration> = (1..10)
        .map(|n| {
            let start = Instant::now();
            autosave.write(&numbered(n), Some(path), Some(&seen)).expect("a save on this disk");
            seen = save_case(path, &numbered(n), &Over::Seen(seen.clone())).expect("a save on this disk");
            start.elapsed()
        })
        .collect();
    autosave.discard().expect("a save on this disk");
    std::fs::remove_file(path).expect("a save on this disk");
    times.sort();
    times[4].clamp(Duration::from_micros(300), Duration::from_millis(50))
}

#[test]
fn killed_while_saving_the_file_is_always_whole() {
    use std::io::{BufRead as _, BufReader};
    let (folder, home) = (folder(), folder());
    let path = folder.path().join("a.case.json");
    save_case(&path, &numbered(0), &Over::Nothing).unwrap();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    // Moments are spread over a few rounds of the saver on this disk, as it is busy now: the spread follows how
    // often the saver got through a round before it was killed.
    let round = one_round(&folder.path().join("measured.case.json"));
    println!("one round takes {round:?}");
    let mut spread = round.mul_f64(3.0);
    let (mut last, mut moved_on, mut left_under_way, mut offered) = (0, 0, 0, 0);
    let kills = std::env::var("STILLMARK_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(KILLS);
    for kill in 0..kills {
        let variables: [(&str, &OsStr); 2] =
            [(CASE_VARIABLE, path.as_os_str()), ("STILLMARK_DATA_DIR", home.path().as_os_str())];
        let mut child = in_own_process("durability::saving_without_end", &variables)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let out = child.stdout.take().unwrap();
        let ready = BufReader::new(out).lines().map_while(Result::ok).any(|line| line.contains("ready"));
        assert!(ready, "kill {kill}: the saver could not start");
        std::thread::sleep(spread.mul_f64(random.random_range(0.0..1.0)));
        child.kill().unwrap();
        child.wait().unwrap();

        let case = open_case(&path).unwrap_or_else(|error| panic!("kill {kill}: {error}")).case;
        let now = number_of(&case).unwrap_or_else(|| panic!("kill {kill}: a mixture of two states"));
        assert!(now >= last, "kill {kill}: state {now} after {last}");
        moved_on += usize::from(now > last);
        let follow = if now > last { 0.95 } else { 1.08 };
        spread = spread.mul_f64(follow).clamp(round, Duration::from_millis(400));
        last = now;
        let names = names_in(folder.path()).unwrap();
        let under_way = names.iter().filter(|name| name.ends_with(".part")).count();
        left_under_way += usize::from(under_way > 0);
        // What an autosave says beyond the file is one state ahead, whole, and offered.
        for leftover in leftovers_of(&path) {
            assert_eq!(number_of(&leftover.case), Some(now + 1), "kill {kill}");
            assert!(leftover.case_file_unchanged && leftover.newer_than_case_file);
            offered += 1;
            discard_leftover(&leftover).unwrap();
        }
        for name in names.iter().filter(|name| name.ends_with(".part")) {
            std::fs::remove_file(folder.path().join(name)).unwrap();
        }
    }
    println!(
        "{kills} kills, {last} saves; the file had moved on {moved_on} times; {left_under_way} kills fell into \
         a write; {offered} times unsaved work was offered"
    );
    // The kills must have fallen where it matters, else this shows nothing.
    assert!(moved_on > kills / 20 && left_under_way > kills / 20 && offered > kills / 20);
}

#[test]
fn savers_on_one_case_take_turns_and_lose_no_change() {
    let folder = folder();
    let path = folder.path().join("a.case.json");
    save_case(&path, &case_of("0", Vec::new()), &Over::Nothing).unwrap();
    let path = path.as_path();
    let add_ones = |saver: u32| {
        let mut conflicts = 0_u32;
        for round in 0..25 {
            loop {
                let opened = open_case(path).unwrap();
                let n: u32 = opened.case.title.as_deref().unwrap().parse().unwrap();
                // Two savers never write the same, so that one saver's work cannot pass for another's.
                let operator = Some(format!("{saver}, {round}"));
                let next = Case { operator, ..case_of(&(n + 1).to_string(), Vec::new()) };
                match save_case(path, &next, &Over::Seen(opened.seen.clone())) {
                    Ok(_) => break,
                    Err(error) => {
                        assert!(matches!(error.kind, ErrorKind::Conflict | ErrorKind::Busy), "{error}");
                        assert_one_sentence(&error.to_string(), path);
                        conflicts += 1;
                    }
                }
            }
        }
        conflicts
    };
    let conflicts: u32 = std::thread::scope(|scope| {
        let savers: Vec<_> = (0..4).map(|saver| scope.spawn(move || add_ones(saver))).collect();
        savers.into_iter().map(|saver| saver.join().unwrap()).sum()
    });
    assert_eq!(open_case(path).unwrap().case.title.as_deref(), Some("100"));
    println!("100 saves by 4 savers, {conflicts} conflicts told");
    assert_eq!(names_in(folder.path()).unwrap(), ["a.case.json"]);
}

/// A small file system of its own, which goes with the value.
struct Mount<'a>(&'a Path);

impl<'a> Mount<'a> {
    fn new(folder: &'a Path) -> Option<Self> {
        let done = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"])
            .arg(folder)
            .stderr(Stdio::null())
            .status();
        done.is_ok_and(|status| status.success()).then_some(Self(folder))
    }

    fn remount(&self, how: &str) -> bool {
        let option = format!("remount,{how}");
        Command::new("mount").args(["-o", &option]).arg(self.0).status().is_ok_and(|status| status.success())
    }
}

impl Drop for Mount<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0).status();
    }
}

#[test]
fn on_a_full_disk_the_old_file_stays_and_the_user_is_told() {
    let folder = folder();
    let Some(_disk) = Mount::new(folder.path()) else {
        println!("left out: a small disk can only be made by root");
        return;
    };
    let path = folder.path().join("a.case.json");
    let seen = save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
    put(folder.path(), "filler", vec![7; 50_000]);
    let error = save_case(&path, &numbered(1), &Over::Seen(seen.clone())).unwrap_err();
    println!("{error}");
    assert_eq!(error.kind, ErrorKind::Full);
    assert_one_sentence(&error.to_string(), &path);
    assert_eq!(open_case(&path).unwrap().case, case_of("old", Vec::new()));
    assert_eq!(names_in(folder.path()).unwrap(), ["a.case.json", "filler"]);
    std::fs::remove_file(folder.path().join("filler")).unwrap();
    save_case(&path, &numbered(1), &Over::Seen(seen.clone())).unwrap();
    assert_eq!(number_of(&open_case(&path).unwrap().case), Some(1));
}

#[test]
fn in_a_read_only_folder_the_old_file_stays_and_the_user_is_told() {
    let folder = folder();
    let check = |path: &Path| {
        let error = save_case(path, &numbered(1), &Over::Anything).unwrap_err();
        println!("{error}");
        assert_eq!(error.kind, ErrorKind::NotAllowed);
        assert_one_sentence(&error.to_string(), path);
        assert_eq!(open_case(path).unwrap().case, case_of("old", Vec::new()));
    };
    let path = folder.path().join("a.case.json");
    if let Some(disk) = Mount::new(folder.path()) {
        save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
        assert!(disk.remount("ro"));
        check(&path);
        return;
    }
    save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let set =
            |mode| std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(mode)).unwrap();
        set(0o555);
        check(&path);
        set(0o755);
    }
}

/// Runs the body in a process of its own whose application folder is a fresh one; `None` in the parent.
pub(crate) fn with_own_home(test: &str) -> Option<PathBuf> {
    const VARIABLE: &str = "STILLMARK_TEST_FOLDER";
    if let Some(folder) = std::env::var_os(VARIABLE) {
        return Some(folder.into());
    }
    let (work, home) = (folder(), folder());
    let variables: [(&str, &OsStr); 2] =
        [(VARIABLE, work.path().as_os_str()), ("STILLMARK_DATA_DIR", home.path().as_os_str())];
    let done = in_own_process(test, &variables).output().expect("a process of its own");
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(
        done.status.success() && said.contains("1 passed"),
        "{said}{}",
        String::from_utf8_lossy(&done.stderr)
    );
    None
}

/// Writes an autosave and dies without a word. Runs only when asked to.
#[test]
fn crash_with_unsaved_marks() {
    let Some(path) = std::env::var_os(CASE_VARIABLE) else { return };
    let path = Path::new(&path);
    let opened = open_case(path).ok();
    let (file, seen) = opened.as_ref().map(|opened| (path, &opened.seen)).unzip();
    Autosave::new().write(&numbered(9), file, seen).unwrap();
    std::process::abort();
}

fn crash(case: &Path) {
    let variables: [(&str, &OsStr); 1] = [(CASE_VARIABLE, case.as_os_str())];
    let done =
        in_own_process("durability::crash_with_unsaved_marks", &variables).output().expect("a process");
    assert!(!done.status.success(), "it was meant to die");
}

#[test]
fn after_a_crash_unsaved_marks_are_offered() {
    let Some(folder) = with_own_home("durability::after_a_crash_unsaved_marks_are_offered") else { return };
    let path = folder.join("a.case.json");
    let seen = save_case(&path, &numbered(1), &Over::Nothing).unwrap();
    crash(&path);
    assert_eq!(number_of(&open_case(&path).unwrap().case), Some(1), "the file itself is as it was");

    let [leftover] = &leftovers_of(&path)[..] else { panic!("one leftover") };
    assert_eq!(number_of(&leftover.case), Some(9));
    assert_eq!((leftover.case_file.as_deref(), leftover.seen.as_ref()), (Some(path.as_path()), Some(&seen)));
    assert!(leftover.case_file_unchanged && leftover.newer_than_case_file);
    assert!(leftovers_at_start().is_empty(), "beside a case that is not among the recent ones");
    remember_case(&path).unwrap();
    assert_eq!(leftovers_at_start(), std::slice::from_ref(leftover));

    // Taking it over keeps it on disk, and keeps others from being offered it.
    let mut mine = Autosave::adopt(leftover);
    assert!(leftovers_of(&path).is_empty());
    mine.write(&numbered(10), Some(&path), Some(&seen)).unwrap();
    assert_eq!(mine.path(), Some(leftover.path.as_path()));
    save_case(&path, &numbered(10), &Over::Seen(seen.clone())).unwrap();
    mine.discard().unwrap();
    assert_eq!(names_in(&folder).unwrap(), ["a.case.json"]);

    // If someone has saved since, that is told, so that the user can choose.
    crash(&path);
    save_case(&path, &numbered(11), &Over::Anything).unwrap();
    let [leftover] = &leftovers_of(&path)[..] else { panic!("one leftover") };
    assert!(!leftover.case_file_unchanged);
    let refused = save_case(&path, &leftover.case, &Over::Seen(leftover.seen.clone().unwrap())).unwrap_err();
    assert_eq!(refused.kind, ErrorKind::Conflict);
    discard_leftover(leftover).unwrap();
}

#[test]
fn a_case_that_was_never_saved_is_offered_too() {
    let Some(folder) = with_own_home("durability::a_case_that_was_never_saved_is_offered_too") else {
        return;
    };
    crash(&folder.join("none.case.json"));
    let [leftover] = &leftovers_at_start()[..] else { panic!("one leftover") };
    assert_eq!((leftover.case_file.as_deref(), number_of(&leftover.case)), (None, Some(9)));
    discard_leftover(leftover).unwrap();
    assert!(leftovers_at_start().is_empty());
    assert!(names_in(&folder).unwrap().is_empty());
}

#[test]
fn two_windows_on_one_case_keep_their_own_autosaves() {
    let Some(folder) = with_own_home("durability::two_windows_on_one_case_keep_their_own_autosaves") else {
        return;
    };
    let path = folder.join("a.case.json");
    let seen = save_case(&path, &numbered(1), &Over::Nothing).unwrap();
    let (mut one, mut two) = (Autosave::new(), Autosave::new());
    one.write(&numbered(2), Some(&path), Some(&seen)).unwrap();
    two.write(&numbered(3), Some(&path), Some(&seen)).unwrap();
    one.write(&numbered(4), Some(&path), Some(&seen)).unwrap();
    assert_ne!(one.path(), two.path());
    assert!(leftovers_of(&path).is_empty(), "open windows are not crashes");
    // The first window crashes; only its work is offered.
    drop(one);
    let found = leftovers_of(&path);
    assert_eq!(found.iter().map(|l| number_of(&l.case)).collect::<Vec<_>>(), [Some(4)]);
    // The second saves under another name: its autosave moves along.
    let other = folder.join("b.case.json");
    let before = two.path().unwrap().to_path_buf();
    two.write(&numbered(5), Some(&other), None).unwrap();
    assert!(!before.exists() && two.path().unwrap().exists());
    two.discard().unwrap();
    discard_leftover(&found[0]).unwrap();
    assert_eq!(names_in(&folder).unwrap(), ["a.case.json"]);
}

#[test]
fn an_autosave_that_says_nothing_new_is_cleared_away() {
    let Some(folder) = with_own_home("durability::an_autosave_that_says_nothing_new_is_cleared_away") else {
        return;
    };
    let path = folder.join("a.case.json");
    save_case(&path, &numbered(9), &Over::Nothing).unwrap();
    crash(&path);
    assert_eq!(names_in(&folder).unwrap().len(), 2);
    assert!(leftovers_of(&path).is_empty());
    assert_eq!(names_in(&folder).unwrap(), ["a.case.json"]);
}

#[test]
fn in_a_folder_that_cannot_be_written_to_the_autosave_goes_home() {
    let Some(folder) =
        with_own_home("durability::in_a_folder_that_cannot_be_written_to_the_autosave_goes_home")
    else {
        return;
    };
    let Some(disk) = Mount::new(&folder) else {
        println!("left out: a read-only disk can only be made by root");
        return;
    };
    let path = folder.join("a.case.json");
    let seen = save_case(&path, &numbered(1), &Over::Nothing).unwrap();
    assert!(disk.remount("ro"));
    let mut autosave = Autosave::new();
    autosave.write(&numbered(2), Some(&path), Some(&seen)).unwrap();
    assert!(!autosave.path().unwrap().starts_with(&folder));
    drop(autosave);
    let [leftover] = &leftovers_of(&path)[..] else { panic!("one leftover") };
    assert_eq!((number_of(&leftover.case), leftover.case_file.as_deref()), (Some(2), Some(path.as_path())));
    assert_eq!(leftovers_at_start().len(), 1);
}

#[test]
fn recent_cases_are_remembered_latest_first() {
    let Some(folder) = with_own_home("durability::recent_cases_are_remembered_latest_first") else { return };
    assert!(recent_cases().is_empty());
    let [a, b] = ["a", "b"].map(|name| put(&folder, name, ""));
    for path in [&a, &b, &a] {
        remember_case(path).unwrap();
    }
    assert_eq!(recent_cases(), [a.clone(), b.clone()]);
    std::fs::remove_file(&b).unwrap();
    assert_eq!(recent_cases(), std::slice::from_ref(&a));
    forget_case(&a).unwrap();
    assert!(recent_cases().is_empty());
}

fn opened_by_the_window(paths: &[PathBuf]) -> Vec<Outcome> {
    let effect = Effect::Open { paths: paths.to_vec(), purpose: Purpose::Open };
    Performer::default().perform(effect, &Cancel::default(), &mut |_| {})
}

#[test]
fn a_later_frame_of_a_picture_is_not_shown_as_its_first() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.png");
    image::GrayImage::new(64, 64).save(&path).unwrap();
    let shown = |frame| {
        let key = PictureKey { path: path.clone(), frame };
        match Performer::default()
            .perform(Effect::Decode { key, first: true, samples: true }, &Cancel::default(), &mut |_| {})
            .pop()
        {
            Some(Outcome::Picture { result, .. }) => result,
            other => panic!("{other:?}"),
        }
    };
    assert!(shown(0).is_ok());
    let said = shown(2).unwrap_err();
    assert!(said.contains("it has no frame 2; frame 0 is its only one"), "{said}");
}

#[test]
fn of_several_cases_one_is_opened_and_that_is_said() {
    let Some(folder) = with_own_home("durability::of_several_cases_one_is_opened_and_that_is_said") else {
        return;
    };
    let paths = ["a.case.json", "b.case.json"].map(|name| folder.join(name));
    for path in &paths {
        save_case(path, &numbered(1), &Over::Nothing).unwrap();
    }
    let outcomes = opened_by_the_window(&paths);
    let [Outcome::Opened { .. }, Outcome::Told(text)] = &outcomes[..] else { panic!("{outcomes:?}") };
    assert!(text.contains("“a.case.json”"), "{text}");
    assert_eq!(opened_by_the_window(&paths[..1]).len(), 1);
}

#[test]
fn unsaved_work_that_cannot_be_read_is_named_with_its_place() {
    let Some(folder) = with_own_home("durability::unsaved_work_that_cannot_be_read_is_named_with_its_place")
    else {
        return;
    };
    let path = folder.join("a.case.json");
    save_case(&path, &numbered(1), &Over::Nothing).unwrap();
    let damaged = folder.join("a.case.autosave-1-1.json");
    std::fs::write(&damaged, "{ \"shots\": [").unwrap();
    let outcomes = opened_by_the_window(std::slice::from_ref(&path));
    let [Outcome::Opened { leftover: None, .. }, Outcome::Told(text)] = &outcomes[..] else {
        panic!("{outcomes:?}")
    };
    assert!(text.contains(&*damaged.to_string_lossy()), "{text}");
    assert!(damaged.exists());
}
