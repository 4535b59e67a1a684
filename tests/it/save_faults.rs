//! What happens around a save on a real disk: the file is locked by another program, its folder is removed, the clock is set back.
//! See `io::store::power_loss` for a disk that fails at every step.

use std::fs::File;
use std::time::{Duration, SystemTime};

use stillmark::io::error::ErrorKind;
use stillmark::io::store::autosave::{Autosave, leftovers_of};
use stillmark::io::store::save::{Over, open_case, save_case};

use crate::durability::with_own_home;
use crate::support::{assert_one_sentence, case_of, folder, names_in};

#[cfg(unix)]
#[test]
fn a_file_that_another_program_is_saving_is_left_alone_and_that_is_told() {
    let folder = folder();
    let path = folder.path().join("a.case.json");
    let seen = save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
    let held = File::open(&path).unwrap();
    held.lock().unwrap();
    let error = save_case(&path, &case_of("new", Vec::new()), &Over::Seen(seen.clone())).unwrap_err();
    assert_eq!(error.kind, ErrorKind::Busy);
    assert_one_sentence(&error.to_string(), &path);
    assert_eq!(open_case(&path).unwrap().case, case_of("old", Vec::new()), "it can be read meanwhile");
    drop(held);
    save_case(&path, &case_of("new", Vec::new()), &Over::Seen(seen)).unwrap();
    assert_eq!(names_in(folder.path()).unwrap(), ["a.case.json"]);
}

#[test]
fn when_the_folder_is_gone_that_is_told_and_the_work_is_kept_elsewhere() {
    let Some(work) =
        with_own_home("save_faults::when_the_folder_is_gone_that_is_told_and_the_work_is_kept_elsewhere")
    else {
        return;
    };
    let place = work.join("on a stick");
    std::fs::create_dir(&place).unwrap();
    let path = place.join("a.case.json");
    let seen = save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
    std::fs::remove_dir_all(&place).unwrap();
    for over in [Over::Seen(seen.clone()), Over::Nothing, Over::Anything] {
        let error = save_case(&path, &case_of("new", Vec::new()), &over).unwrap_err();
        assert_eq!(error.kind, ErrorKind::Missing);
        assert_one_sentence(&error.to_string(), &path);
    }
    // Unsaved work goes to the program's own folder, and is offered once the case's folder is back.
    let mut autosave = Autosave::new();
    autosave.write(&case_of("unsaved", Vec::new()), Some(&path), Some(&seen)).unwrap();
    assert!(!autosave.path().unwrap().starts_with(&place));
    drop(autosave);
    std::fs::create_dir(&place).unwrap();
    save_case(&path, &case_of("old", Vec::new()), &Over::Nothing).unwrap();
    let [leftover] = &leftovers_of(&path)[..] else { panic!("one leftover") };
    assert_eq!(leftover.case, case_of("unsaved", Vec::new()));
}

#[test]
fn a_clock_that_was_set_back_loses_nothing() {
    let Some(work) = with_own_home("save_faults::a_clock_that_was_set_back_loses_nothing") else { return };
    let path = work.join("a.case.json");
    let seen = save_case(&path, &case_of("one", Vec::new()), &Over::Nothing).unwrap();
    // The file is of next year, by the clock of now.
    let set = |path: &std::path::Path, time: SystemTime| {
        File::options().write(true).open(path).unwrap().set_modified(time).unwrap();
    };
    let ahead = SystemTime::now() + Duration::from_secs(365 * 86_400);
    set(&path, ahead);
    let mut autosave = Autosave::new();
    autosave.write(&case_of("two", Vec::new()), Some(&path), Some(&seen)).unwrap();
    drop(autosave);
    // What the file holds is told by its digest, whatever the clock says.
    let [leftover] = &leftovers_of(&path)[..] else { panic!("one leftover") };
    assert!(leftover.case_file_unchanged);
    assert_eq!(leftover.case, case_of("two", Vec::new()));
    let seen = save_case(&path, &leftover.case, &Over::Seen(seen)).unwrap();
    // And of long ago.
    set(&path, SystemTime::UNIX_EPOCH + Duration::from_secs(1));
    save_case(&path, &case_of("three", Vec::new()), &Over::Seen(seen)).unwrap();
    assert_eq!(open_case(&path).unwrap().case, case_of("three", Vec::new()));
    // A change by somebody else is seen although the file looks older than what was opened.
    let seen = open_case(&path).unwrap().seen;
    save_case(&path, &case_of("theirs", Vec::new()), &Over::Anything).unwrap();
    set(&path, SystemTime::UNIX_EPOCH + Duration::from_secs(2));
    let refused = save_case(&path, &case_of("mine", Vec::new()), &Over::Seen(seen)).unwrap_err();
    assert_eq!(refused.kind, ErrorKind::Conflict);
}
