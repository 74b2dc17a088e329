//! That the real disk does what its name says.
#![allow(clippy::unwrap_used)]

use super::*;

/// A device that can be written but not synced, so that a sync left out is noticed.
#[cfg(target_os = "linux")]
fn unsyncable() -> File {
    OpenOptions::new().write(true).open("/dev/null").unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn every_sync_reaches_the_system() {
    let refused = |r: io::Result<()>| assert_eq!(r.unwrap_err().kind(), ErrorKind::InvalidInput);
    refused(
        RealTape {
            file: unsyncable(),
            path: PathBuf::new(),
        }
        .sync(),
    );
    refused(RealFresh { file: unsyncable() }.sync());
    let dir = tempfile::tempdir().unwrap();
    let (_, name) = tempfile::NamedTempFile::new_in(dir.path())
        .unwrap()
        .into_parts();
    refused(
        RealStaged {
            temp: tempfile::NamedTempFile::from_parts(unsyncable(), name),
            target: PathBuf::new(),
        }
        .sync(),
    );
    refused(sync_path(Path::new("/dev/null")));
}

#[cfg(unix)]
#[test]
fn syncing_a_folder_that_is_not_there_fails() {
    let dir = tempfile::tempdir().unwrap();
    let error = RealDisk.sync_folder(&dir.path().join("none/a.ron"));
    assert_eq!(error.unwrap_err().kind(), ErrorKind::NotFound);
}

#[test]
fn a_journal_knows_whether_its_name_leads_to_it() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("j");
    let tape = RealDisk.tape(&path).unwrap();
    assert_eq!(tape.whereabouts().unwrap(), Whereabouts::Here);
    fs::rename(&path, dir.path().join("k")).unwrap();
    assert_eq!(tape.whereabouts().unwrap(), Whereabouts::Gone);
    #[cfg(unix)]
    {
        fs::write(&path, "").unwrap();
        assert_eq!(tape.whereabouts().unwrap(), Whereabouts::Replaced);
    }
}
