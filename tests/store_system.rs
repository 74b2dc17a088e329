//! The real program on real disks that refuse: a limit on the length of files, a full disk, a folder and a disk that may only be
//! read, bytes that are no text. Where this system doesn't let a test set one of them up, the test says so and why.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use common::{HALF_DONE, no_settings, root};
use wanderlead::store::{Session, read_job};

const PROGRAM: &str = env!("CARGO_BIN_EXE_wanderlead");

fn sample_in(dir: &Path) -> PathBuf {
    let job = dir.join("a.ron");
    fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    job
}

fn beside(job: &Path, end: &str) -> PathBuf {
    PathBuf::from(format!("{}{end}", job.display()))
}

/// A shell with the program in `$P` and the job in `$J`.
fn shell(script: &str, job: &Path) -> Command {
    let mut command = Command::new("sh");
    command
        .args(["-c", script])
        .env("P", PROGRAM)
        .env("J", job)
        .env("WANDERLEAD_CONFIG", no_settings())
        .env_remove("WANDERLEAD_FORMS");
    command
}

fn said(out: &Output) -> String {
    String::from_utf8_lossy(&[out.stdout.clone(), out.stderr.clone()].concat()).into_owned()
}

/// What was called kept is there, and nothing else.
fn holds(job: &Path, kept: &[(&str, &str)]) {
    let opened = read_job(job).unwrap();
    assert_eq!(opened.lost, None);
    let session = Session::open(job).unwrap();
    for (place, typed) in kept {
        for job in [&opened.job, session.job()] {
            let entry = job.entry(&place.parse().unwrap()).unwrap();
            assert_eq!(entry.now.typed, *typed, "{place}");
        }
    }
}

/// The value of `C/4/r1r2` in the end.
fn stands(job: &Path) -> Option<String> {
    let job = read_job(job).unwrap().job;
    job.entry(&"C/4/r1r2".parse().unwrap())
        .map(|e| e.now.typed.clone())
}

const KEEP: &str = r#""$P" keep "$J" C/4/r1r2 0.31 --by mk"#;

/// Files may not grow: to no byte, to a part of the line, to the journal but not the job file.
#[test]
fn a_limit_on_the_length_of_files_is_reported_and_costs_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut seen = [0, 0, 0];
    for blocks in [0, 1, 2, 8, 40, 200] {
        let folder = dir.path().join(blocks.to_string());
        fs::create_dir(&folder).unwrap();
        let job = sample_in(&folder);
        // The shell itself would be ended by the signal.
        let script = format!("ulimit -f {blocks} || exit 77; {KEEP}");
        let out = shell(&script, &job).output().unwrap();
        if out.status.code() == Some(77) {
            println!("skipped: this shell sets no limit on the length of files");
            return;
        }
        let said = said(&out);
        match out.status.code() {
            Some(0 | 1) if !said.contains("not saved") => {
                seen[0] += 1;
                assert!(said.contains("kept as change 1"), "{blocks}: {said}");
                holds(&job, &[("C/4/r1r2", "0.31")]);
            }
            Some(_) if said.contains("kept as change 1") => {
                // Kept in the journal; the job file itself could not be written.
                seen[1] += 1;
                assert!(
                    said.contains("not saved") || said.contains("journal"),
                    "{said}"
                );
                holds(&job, &[("C/4/r1r2", "0.31")]);
            }
            Some(2) => {
                seen[2] += 1;
                let told = said.contains("NOT kept")
                    || said.contains("may not grow")
                    || said.contains("can't be written");
                assert!(told, "{blocks}: {said}");
                // Not even a journal can be begun: the job can be looked at, as on a full disk.
                let read_only =
                    said.contains("open for reading only") && said.contains("raise the limit");
                assert!(blocks > 0 || read_only, "{said}");
                assert_eq!(stands(&job), None, "{blocks}: {said}");
            }
            other => panic!("{blocks}: {other:?}: {said}"),
        }
        let again = shell(KEEP, &job).output().unwrap();
        assert!(again.status.code() < Some(2), "{}", self::said(&again));
        holds(&job, &[("C/4/r1r2", "0.31")]);
    }
    println!("kept and saved, only kept, refused: {seen:?}");
    assert!(seen[0] > 0 && seen[2] > 0, "{seen:?}");
}

/// A small disk in memory, filled to its last byte.
#[test]
fn a_full_disk_is_reported_and_costs_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let disk = dir.path().join("disk");
    fs::create_dir(&disk).unwrap();
    let sample = root().join("sample-jobs").join(HALF_DONE);
    // In a name space of its own: nothing outside sees the disk, and it ends with the shell.
    let script = format!(
        r#"mount -t tmpfs -o size=128k none "$D" || exit 77
        J="$D/a.ron"
        cp "$S" "$J"
        {KEEP} || [ $? = 1 ] || exit 3
        dd if=/dev/zero of="$D/filler" bs=1024 count=1000 2>/dev/null
        dd if=/dev/zero of="$D/filler2" bs=1 count=5000 2>/dev/null
        n=0
        while [ $n -lt 40 ]; do
            "$P" keep "$J" C/4/r1r2 0.4$n --by mk >"$O/$n" 2>&1
            echo $? >"$O/$n.code"
            n=$((n+1))
        done
        cp "$J" "$J.journal" "$O"
        rm "$D/filler" "$D/filler2"
        "$P" keep "$J" C/4/r1r2 0.99 --by mk || [ $? = 1 ] || exit 4
        "$P" check "$J" >/dev/null; [ $? -lt 2 ]"#
    );
    let out = dir.path().join("out");
    fs::create_dir(&out).unwrap();
    let mut command = Command::new("unshare");
    command
        .args(["-rm", "sh", "-c", &script])
        .env("P", PROGRAM)
        .env("S", &sample)
        .env("D", &disk)
        .env("O", &out)
        .env("WANDERLEAD_CONFIG", no_settings());
    let result = match command.output() {
        Ok(result) => result,
        Err(e) => return println!("skipped: no disk can be mounted here: {e}"),
    };
    let wrote = said(&result);
    if result.status.code() == Some(77) || wrote.contains("unshare:") {
        return println!("skipped: no disk can be mounted here: {wrote}");
    }
    assert_eq!(result.status.code(), Some(0), "{wrote}");
    let mut last = "0.31".to_string();
    let mut refused = 0;
    for n in 0..40 {
        let said = fs::read_to_string(out.join(n.to_string())).unwrap();
        if said.contains("kept as change") {
            last = format!("0.4{n}");
        } else {
            refused += 1;
            assert!(said.contains("the disk is full"), "{said}");
        }
    }
    assert!(refused > 0, "the disk never filled");
    // What the full disk held: a job file that is whole, and the last reading that was called kept.
    holds(&out.join("a.ron"), &[("C/4/r1r2", &last)]);
    println!("{refused} of 40 refused, the last kept {last}");
}

/// The program under an account that may not write, which root has to give up for it.
fn without_rights(dir: &Path) -> Option<impl Fn(&[&str]) -> Output + use<>> {
    let is_root = fs::metadata("/proc/self").is_ok_and(|m| {
        use std::os::unix::fs::MetadataExt;
        m.uid() == 0
    });
    let program = dir.join("program");
    fs::copy(PROGRAM, &program).unwrap();
    let settings = dir.join("settings.ron");
    fs::copy(no_settings(), &settings).unwrap();
    let mut reach = Some(dir);
    while let Some(at) = reach {
        let open = fs::metadata(at).is_ok_and(|m| m.permissions().mode() & 0o005 == 0o005);
        if is_root && !open && at != dir {
            println!("skipped: nobody but root reaches {}", at.display());
            return None;
        }
        reach = at.parent();
    }
    fs::set_permissions(dir, fs::Permissions::from_mode(0o755)).unwrap();
    Some(move |args: &[&str]| {
        let mut command = Command::new(&program);
        command.args(args).env("WANDERLEAD_CONFIG", &settings);
        if is_root {
            command.uid(65534).gid(65534);
        }
        command.output().unwrap()
    })
}

#[test]
fn in_a_folder_that_may_only_be_read_the_job_is_shown_and_nothing_is_called_kept() {
    let dir = tempfile::tempdir().unwrap();
    let Some(run) = without_rights(dir.path()) else {
        return;
    };
    let folder = dir.path().join("locked");
    fs::create_dir(&folder).unwrap();
    let job = sample_in(&folder);
    let bytes = fs::read(&job).unwrap();
    fs::set_permissions(&job, fs::Permissions::from_mode(0o666)).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let name = job.to_str().unwrap();
    let out = run(&["keep", name, "C/4/r1r2", "0.31", "--by", "mk"]);
    let told = said(&out);
    assert!(
        out.status.code() == Some(2) && !told.contains("kept as"),
        "{told}"
    );
    assert!(told.contains("you may not read or write here"), "{told}");
    let out = run(&["check", name]);
    assert_eq!(out.status.code(), Some(1), "{}", said(&out));
    assert_eq!(fs::read(&job).unwrap(), bytes);
    assert!(!beside(&job, ".journal").exists());
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
}

/// A folder that may only be read once the journal is there: readings can be kept, and the job file can't be replaced.
#[test]
fn where_only_the_journal_can_be_written_it_is_kept_and_said() {
    let dir = tempfile::tempdir().unwrap();
    let Some(run) = without_rights(dir.path()) else {
        return;
    };
    let folder = dir.path().join("locked");
    fs::create_dir(&folder).unwrap();
    let job = sample_in(&folder);
    fs::write(beside(&job, ".journal"), "").unwrap();
    for file in [job.clone(), beside(&job, ".journal")] {
        fs::set_permissions(file, fs::Permissions::from_mode(0o666)).unwrap();
    }
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let out = run(&[
        "keep",
        job.to_str().unwrap(),
        "C/4/r1r2",
        "0.31",
        "--by",
        "mk",
    ]);
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    let told = said(&out);
    assert!(
        told.contains("kept as change 1") && told.contains("not saved"),
        "{told}"
    );
    assert!(
        told.contains("What was kept is in the journal beside it"),
        "{told}"
    );
    holds(&job, &[("C/4/r1r2", "0.31")]);
}

/// A byte that belongs to no text at every fifth place of job and journal: an error at its place, or what is missing is said.
#[test]
fn bytes_that_are_no_text_are_never_passed_over() {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::write(&job, include_str!("store_fixture.ron")).unwrap();
    let out = shell(
        r#""$P" keep "$J" safe/sources pass --by JE; "$P" keep "$J" safe/locked-off pass --by JE"#,
        &job,
    );
    let mut out = out;
    assert!(said(&out.output().unwrap()).contains("kept as change 2"));
    // The journal as it would be if the program had ended before saving.
    let saved = fs::read(&job).unwrap();
    let journal = fs::read(beside(&job, ".journal")).unwrap();
    let mut cases = 0;
    for (file, bytes, other) in [
        (
            beside(&job, ".journal"),
            journal.clone(),
            include_str!("store_fixture.ron").as_bytes().to_vec(),
        ),
        (job.clone(), saved, journal.clone()),
    ] {
        for at in (0..bytes.len()).step_by(5) {
            let mut hurt = bytes.clone();
            hurt[at] = 0xff;
            fs::write(&file, &hurt).unwrap();
            fs::write(
                if file == job {
                    beside(&job, ".journal")
                } else {
                    job.clone()
                },
                &other,
            )
            .unwrap();
            let whole = |o: &wanderlead::store::Opened| {
                o.job.entry(&"safe/locked-off".parse().unwrap()).is_some()
            };
            match read_job(&job) {
                Err(e) => {
                    let e = e.to_string();
                    assert!(
                        file == job
                            && e.contains("this is not UTF-8 text")
                            && e.contains(", line "),
                        "{e}"
                    );
                }
                Ok(opened) => assert!(
                    whole(&opened) || opened.lost.is_some() || !opened.notes.is_empty(),
                    "byte {at} of {}",
                    file.display()
                ),
            }
            cases += 1;
        }
    }
    println!("{cases} bytes");
    assert!(cases > 300);
}
