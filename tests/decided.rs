//! What opening found is decided by a person, and never by a command on the way: nothing is kept, brought in, drafted or issued before,
//! and whoever decides is named in the history.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use common::root;
use wanderlead::job::Done;
use wanderlead::store::read_job;

const HALF: &str = "orchard-cottage.ron";

struct Desk(tempfile::TempDir);

impl Desk {
    /// A sample on which a qualified person kept something, saved.
    fn new() -> Desk {
        let desk = Desk(tempfile::tempdir().unwrap());
        fs::copy(root().join("sample-jobs").join(HALF), desk.job()).unwrap();
        desk.keeps(&["inspect/enclosures", "pass", "--by", "mk"]);
        desk
    }

    fn job(&self) -> PathBuf {
        self.0.path().join("job.ron")
    }

    fn journal(&self) -> PathBuf {
        self.0.path().join("job.ron.journal")
    }

    /// What a command says, and its exit code.
    fn says(&self, args: &[&str]) -> (String, i32) {
        let out = common::program()
            .current_dir(self.0.path())
            .args(args)
            .output();
        let out = out.unwrap();
        let text = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
        (text, out.status.code().unwrap())
    }

    fn keeps(&self, args: &[&str]) -> String {
        let (said, code) = self.says(&[&["keep", "job.ron"], args].concat());
        assert_eq!(code, 0, "{said}");
        said
    }

    fn text(&self) -> String {
        fs::read_to_string(self.job()).unwrap()
    }

    fn settled(&self) -> Vec<(String, String)> {
        let job = read_job(&self.job()).unwrap().job;
        let settled = job.history.iter().filter(|d| d.done == Done::Settled);
        settled.map(|d| (d.by.clone(), d.new.clone())).collect()
    }
}

fn names(dir: &Path) -> Vec<String> {
    let all = fs::read_dir(dir).unwrap();
    let mut names: Vec<String> = all
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The people of a sample by role: a qualified one and an apprentice.
fn people(desk: &Desk) -> (String, String) {
    use wanderlead::job::Role;
    let job = read_job(&desk.job()).unwrap().job;
    let of = |role: Role| {
        job.people
            .iter()
            .find(|p| p.role == role)
            .unwrap()
            .id
            .clone()
    };
    (of(Role::Qualified), of(Role::Apprentice))
}

/// A role, a size and a lost check line, put in by hand, don't become right by the next reading that an apprentice keeps.
#[test]
fn no_reading_covers_up_a_file_that_was_changed_by_hand() {
    let desk = Desk::new();
    let (qualified, apprentice) = people(&desk);
    let sound = desk.text();
    let role = sound.replacen("role: Apprentice", "role: Qualified", 1);
    let size = sound.replacen("tails_mm2: \"25\"", "tails_mm2: \"16\"", 1);
    // As a program leaves it that reads and writes the file and drops comments.
    let lines = sound.lines().filter(|l| !l.starts_with("//"));
    let indented: Vec<String> = lines.map(|l| l.replace("  ", "    ")).collect();
    for (what, text) in [
        ("role", role),
        ("size", size),
        ("written anew", indented.join("\n")),
    ] {
        assert_ne!(text, sound, "{what}");
        fs::write(desk.job(), &text).unwrap();
        let before = names(desk.0.path());
        for by in [&apprentice, &qualified] {
            let keep = ["keep", "job.ron", "inspect/cables", "pass", "--by", by];
            let (said, code) = desk.says(&keep);
            assert!(code == 2 && said.contains("--go-on"), "{what}: {said}");
            assert!(
                said.contains("the job file isn't as this program saved it"),
                "{said}"
            );
        }
        let (said, code) = desk.says(&["draft", "job.ron", "--out", "a.pdf"]);
        assert!(
            code == 2 && said.contains("decide about it first"),
            "{said}"
        );
        assert_eq!(names(desk.0.path()), before, "{what}");
        assert_eq!(desk.text(), text, "{what}");
        let (said, code) = desk.says(&["check", "job.ron", "--json"]);
        assert!(
            code == 1 && said.contains("\"in_question\": true"),
            "{what}: {said}"
        );
    }

    // The apprentice may not decide, the other one does; nobody decides without a name.
    let keep = ["keep", "job.ron", "inspect/cables", "pass", "--go-on"];
    let (said, code) = desk.says(&keep);
    assert!(code == 2 && said.contains("--by"), "{said}");
    let (said, code) = desk.says(&[&keep[..], &["--by", &apprentice]].concat());
    assert!(
        code == 2 && said.contains("a qualified person decides"),
        "{said}"
    );
    let (said, code) = desk.says(&[&keep[..], &["--by", &qualified]].concat());
    assert_eq!(code, 0, "{said}");
    let settled = desk.settled();
    assert!(!settled.is_empty() && settled.iter().all(|(by, _)| *by == qualified));
    assert!(desk.0.path().join("job.ron.found-1").exists());
    let (said, _) = desk.says(&["check", "job.ron", "--json"]);
    assert!(said.contains("\"in_question\": false"), "{said}");
}

/// A line that ends early, and the journal of another copy: readings may be missing, which nobody passes over.
#[test]
fn no_reading_covers_up_what_a_journal_may_have_held() {
    let desk = Desk::new();
    let (qualified, apprentice) = people(&desk);
    let saved = desk.text();
    desk.keeps(&["inspect/cables", "pass", "--by", &qualified]);
    let journal = fs::read(desk.journal()).unwrap();
    let torn = journal.get(..journal.len() - 20).unwrap();
    // The job file as it was before that reading.
    fs::write(desk.job(), saved).unwrap();
    fs::write(desk.journal(), torn).unwrap();
    let keep = [
        "keep",
        "job.ron",
        "inspect/switching",
        "pass",
        "--by",
        &apprentice,
    ];
    let (said, code) = desk.says(&keep);
    assert!(code == 2 && said.contains("its last line"), "{said}");
    assert_eq!(fs::read(desk.journal()).unwrap(), torn);
    for command in ["check", "gather", "history"] {
        let of = if command == "gather" { "." } else { "job.ron" };
        let (said, code) = desk.says(&[command, of]);
        assert_eq!(code, 1, "{command}: {said}");
    }
    // Nothing of the record itself is in question, so an apprentice may go on; it is noted, with the copy.
    desk.keeps(&["inspect/cables", "pass", "--go-on", "--by", &apprentice]);
    let settled = desk.settled();
    assert_eq!(settled.len(), 1);
    let (by, how) = settled.first().unwrap();
    assert!(*by == apprentice && how.contains("torn-1"), "{how}");
}

/// Where the paper can't be written, nothing is issued.
#[test]
fn what_cannot_be_written_is_not_issued() {
    let desk = Desk(tempfile::tempdir().unwrap());
    fs::copy(root().join("sample-jobs").join(common::CLEAN), desk.job()).unwrap();
    let dead = desk.0.path().join("dead.pdf");
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere.ron", &dead).unwrap();
    #[cfg(not(unix))]
    fs::create_dir(&dead).unwrap();
    for out in ["no-folder/a.pdf", "dead.pdf"] {
        let (said, code) = desk.says(&["draft", "job.ron", "--issue", "--out", out]);
        assert!(code == 2 && said.contains("not issued"), "{out}: {said}");
    }
    assert_eq!(read_job(&desk.job()).unwrap().job.issues, []);
    let (said, code) = desk.says(&["draft", "job.ron", "--issue", "--out", "a.pdf"]);
    assert_eq!(code, 0, "{said}");
    assert!(names(desk.0.path()).iter().all(|n| !n.contains(".tmp")));

    // What the list says of an issue is what the history says of it.
    wanderlead::store::Session::open(&desk.job())
        .unwrap()
        .close()
        .unwrap();
    let text = desk.text();
    let content = read_job(&desk.job()).unwrap().job.issues[0].content.clone();
    let other = content.replace(|c: char| c.is_ascii_digit(), "7");
    let altered = text.replacen(
        &format!("content: \"{content}\""),
        &format!("content: \"{other}\""),
        1,
    );
    assert_ne!(altered, text);
    let (body, _) = altered.rsplit_once("// check ").unwrap();
    let check = wanderlead::job::digest::digest(&[body.as_bytes()]);
    fs::write(desk.job(), format!("{body}// check {check}\n")).unwrap();
    let opened = read_job(&desk.job()).unwrap();
    let said = opened.notes.join("\n");
    assert!(
        said.contains("issue 1 of") && said.contains("isn't as the history has it"),
        "{said}"
    );
    assert!(opened.is_in_question());
}

/// A count of changes that leaves no numbers for the next ones is no count.
#[test]
fn a_count_of_changes_beyond_all_counting_is_refused() {
    let desk = Desk::new();
    let text = desk.text();
    let kept = text
        .lines()
        .find(|l| l.trim_start().starts_with("kept: "))
        .unwrap();
    for count in [u64::MAX, u64::MAX - 1] {
        fs::write(
            desk.job(),
            text.replacen(kept, &format!("  kept: {count},"), 1),
        )
        .unwrap();
        let (said, code) = desk.says(&["check", "job.ron"]);
        assert!(
            code == 2 && said.contains("are more than anybody ever makes"),
            "{said}"
        );
    }
}
