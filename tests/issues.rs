//! Issues of the paper: numbered, remembered by the job, and told apart from what was changed afterwards.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::{Path, PathBuf};
use std::process::Output;

use common::{CLEAN, HALF_DONE, Screen, root, sample};
use ratatui::crossterm::event::KeyCode;
use wanderlead::job::{Change, Job};

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new(name: &str) -> Desk {
        let folder = tempfile::tempdir().unwrap();
        std::fs::copy(
            root().join("sample-jobs").join(name),
            folder.path().join("job.ron"),
        )
        .unwrap();
        Desk { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Output {
        common::program()
            .current_dir(self.folder.path())
            .args(args)
            .output()
            .unwrap()
    }

    /// Standard output and exit code of a command.
    fn says(&self, args: &[&str]) -> (String, i32) {
        let out = self.run(args);
        let text = [out.stdout, out.stderr].concat();
        let text = String::from_utf8(text).unwrap();
        (text, out.status.code().unwrap())
    }
}

/// Before readings are taken again on what was made live.
fn prove_dead(desk: &Desk) {
    let (said, code) = desk.says(&["keep", "job.ron", "safe/proved-dead", "pass", "--by", "mk"]);
    assert_eq!(code, 0, "{said}");
}

/// After them it is made live and put back as before.
fn make_live(desk: &Desk) {
    for at in ["safe/energise", "safe/connected", "close/restored"] {
        let (said, code) = desk.says(&["keep", "job.ron", at, "pass", "--by", "mk"]);
        assert_eq!(code, 0, "{said}");
    }
}

/// The text of a PDF by poppler, lines joined.
fn text_of(pdf: &Path) -> String {
    let out = std::process::Command::new("pdftotext")
        .arg("-layout")
        .arg(pdf)
        .arg("-")
        .output()
        .expect("poppler-utils");
    let text = String::from_utf8(out.stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_digest_is_of_the_content_alone() {
    let job = sample(CLEAN);
    let digest = job.content_digest().unwrap();
    assert_eq!(digest.len(), 32);
    let counted = Job {
        kept: 12,
        kept_digest: "ab".into(),
        ..job.clone()
    };
    assert_eq!(counted.content_digest().unwrap(), digest);
    let mut other = job.clone();
    other.boards[0].name.push('x');
    assert_ne!(other.content_digest().unwrap(), digest);
}

#[test]
fn a_draft_is_not_issued_and_an_apprentice_issues_nothing() {
    let desk = Desk::new(HALF_DONE);
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "a.pdf", "--issue"]);
    let why = "OC-2026-118 is still a draft: nothing may be outside, open or unsigned; F4 on the screen and";
    assert!(code == 2 && said.contains(why), "{said}");
    assert!(!desk.path("a.pdf").exists());
    let desk = Desk::new(CLEAN);
    let (said, code) = desk.says(&[
        "draft", "job.ron", "--out", "a.pdf", "--issue", "--by", "jt",
    ]);
    assert!(
        code == 2 && said.contains("a qualified person issues"),
        "{said}"
    );
    let (said, code) = desk.says(&[
        "draft", "job.ron", "--out", "a.pdf", "--issue", "--by", "zz",
    ]);
    assert!(code == 2 && said.contains("no person `zz`"), "{said}");
}

#[test]
fn an_issue_is_numbered_verified_and_replaced() {
    let desk = Desk::new(CLEAN);
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "first.pdf", "--issue"]);
    assert!(code == 0 && said.contains("issue 1"), "{said}");
    let first = text_of(&desk.path("first.pdf"));
    let digest = wanderlead::store::read_job(&desk.path("job.ron"))
        .unwrap()
        .job
        .content_digest()
        .unwrap();
    let fours = format!("{} {}", &digest[..4], &digest[4..8]);
    let pages = first.matches(&format!("Issue 1. Content {fours}")).count();
    let counted: usize = first.matches("Page 1 of").count();
    assert!(pages > 5 && counted <= 1, "on every page: {pages}");
    assert!(first.contains("This is issue 1 of"), "{first}");

    // The same content isn't issued twice; drafted again it is the same issue.
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "x.pdf", "--issue"]);
    assert!(code == 2 && said.contains("issue 1 already"), "{said}");
    let (said, code) = desk.says(&["verify", "job.ron", "first.pdf"]);
    assert!(code == 0 && said.contains("byte for byte"), "{said}");

    // A reading is corrected: the file is of issue 1, and what changed is named.
    prove_dead(&desk);
    let (said, code) = desk.says(&["keep", "job.ron", "M/3/r1r2", "0.29", "--by", "mk"]);
    assert!(code == 0, "{said}");
    let (said, code) = desk.says(&["verify", "job.ron", "first.pdf"]);
    assert_eq!(code, 1, "{said}");
    assert!(
        said.contains("is of issue 1")
            && said.contains("M/3: R1+R2 ")
            && said.contains("-> 0.29 Ω"),
        "{said}"
    );
    make_live(&desk);
    // A signature doesn't cover what was entered after it.
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "second.pdf", "--issue"]);
    assert!(code == 2 && said.contains("still a draft"), "{said}");
    for sign in ["design", "construction", "inspection"] {
        let place = format!("sign/{sign}");
        let (said, code) = desk.says(&["keep", "job.ron", &place, "Morwen Kettleby", "--by", "mk"]);
        assert!(code == 0, "{said}");
    }
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "draft.pdf"]);
    assert!(code == 0 && said.contains("not issued"), "{said}");
    assert!(text_of(&desk.path("draft.pdf")).contains("Once issued it replaces issue 1"));

    let (said, code) = desk.says(&["draft", "job.ron", "--out", "second.pdf", "--issue"]);
    assert!(code == 0 && said.contains("issue 2"), "{said}");
    let second = text_of(&desk.path("second.pdf"));
    assert!(second.contains("It replaces issue 1 of"), "{second}");
    assert!(
        second.contains("-> 0.29"),
        "what changed is on the first page"
    );
    let (said, code) = desk.says(&["verify", "job.ron", "second.pdf"]);
    assert!(code == 0, "{said}");
}

/// Issue 2 by hand taken out of the file: the number was handed out, and is not given to another paper.
/// Other limits on the same record: the paper says so, and doesn't begin a list of nothing.
#[test]
fn a_job_that_is_unchanged_but_for_its_limits_says_so() {
    let desk = Desk::new(CLEAN);
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "one.pdf", "--issue"]);
    assert_eq!(code, 0, "{said}");
    std::fs::create_dir(desk.path("forms")).unwrap();
    let (_, own) = wanderlead::forms::EXAMPLES[0];
    let own = own.replace("        // ", "        ");
    std::fs::write(desk.path("forms/own-limits.ron"), own).unwrap();
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "two.pdf", "--forms", "forms"]);
    assert_eq!(code, 0, "{said}");
    let text = text_of(&desk.path("two.pdf"));
    assert!(!text.contains("Changed since: ."), "{text}");
    assert!(
        text.contains("Record and readings are the same since: the limits, the wording or the program are others."),
        "{text}"
    );
}

#[test]
fn no_two_papers_have_one_number() {
    let desk = Desk::new(CLEAN);
    let issue = |out: &str| desk.says(&["draft", "job.ron", "--out", out, "--issue"]);
    let change = |value: &str| {
        prove_dead(&desk);
        desk.says(&["keep", "job.ron", "M/3/r1r2", value, "--by", "mk"]);
        make_live(&desk);
        for sign in ["design", "construction", "inspection"] {
            let place = format!("sign/{sign}");
            desk.says(&["keep", "job.ron", &place, "Morwen Kettleby", "--by", "mk"]);
        }
    };
    assert_eq!(issue("1.pdf").1, 0);
    change("0.29");
    let (said, code) = issue("2.pdf");
    assert!(code == 0 && said.contains("issue 2"), "{said}");
    let job = desk.path("job.ron");
    let text = std::fs::read_to_string(&job).unwrap();
    let from = text.find("\n      number: 2,").unwrap();
    let from = text[..from].rfind("\n    (").unwrap();
    let to = from + text[from..].find("\n    ),").unwrap() + "\n    ),".len();
    std::fs::write(&job, [&text[..from], &text[to..]].concat()).unwrap();

    let opened = wanderlead::store::read_job(&job).unwrap();
    assert_eq!(opened.job.issues.len(), 1);
    let gone = opened.found.iter().find(|f| f.what.contains("issue 2"));
    assert!(gone.is_some_and(|f| f.decide), "{:?}", opened.found);
    let before = std::fs::read(&job).unwrap();
    let (said, code) = issue("again.pdf");
    assert!(
        code == 2 && said.contains("decide about it first"),
        "{said}"
    );
    assert_eq!(std::fs::read(&job).unwrap(), before);

    // A qualified person goes on: that is asked once, and the next is issue 3.
    let at = chrono::Local::now().fixed_offset();
    let mut session = wanderlead::store::Session::open(&job).unwrap();
    let learner = session.go_on("jt", at).unwrap_err().to_string();
    assert!(learner.contains("a qualified person decides"), "{learner}");
    session.go_on("mk", at).unwrap();
    session.close().unwrap();
    let opened = wanderlead::store::read_job(&job).unwrap();
    assert!(opened.found.is_empty(), "{:?}", opened.found);
    change("0.30");
    let (said, code) = issue("3.pdf");
    assert!(code == 0 && said.contains("issue 3"), "{said}");
    assert!(text_of(&desk.path("3.pdf")).contains("This is issue 3 of"));
    let opened = wanderlead::store::read_job(&job).unwrap();
    assert!(opened.found.is_empty(), "{:?}", opened.found);
}

/// Two issues of one content, as where the forms changed in between: the paper names its own.
#[test]
fn of_two_issues_with_the_same_content_the_right_one_is_named() {
    let desk = Desk::new(CLEAN);
    desk.says(&["draft", "job.ron", "--out", "1.pdf", "--issue"]);
    let forms = desk.path("forms");
    let (said, code) = desk.says(&["forms", "copy", forms.to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
    let file = forms.join("handover.ron");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, format!("{text}\n")).unwrap();
    let other = [
        "draft", "job.ron", "--out", "2.pdf", "--issue", "--forms", "forms",
    ];
    let (said, code) = desk.says(&other);
    assert!(code == 0 && said.contains("issue 2"), "{said}");
    prove_dead(&desk);
    desk.says(&["keep", "job.ron", "M/3/r1r2", "0.29", "--by", "mk"]);
    for n in ["1", "2"] {
        let (said, code) = desk.says(&["verify", "job.ron", &format!("{n}.pdf")]);
        assert_eq!(code, 1);
        assert!(
            said.contains(&format!("the file is of issue {n}")),
            "{said}"
        );
    }
}

#[test]
fn a_file_that_was_altered_or_is_of_another_job_is_found_out() {
    let desk = Desk::new(CLEAN);
    desk.says(&["draft", "job.ron", "--out", "a.pdf"]);
    assert_eq!(desk.says(&["verify", "job.ron", "a.pdf"]).1, 0);
    // One byte of the last page's stream or of anything else: content and date are as they were, the file isn't.
    let mut bytes = std::fs::read(desk.path("a.pdf")).unwrap();
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    std::fs::write(desk.path("b.pdf"), &bytes).unwrap();
    let (said, code) = desk.says(&["verify", "job.ron", "b.pdf"]);
    assert_ne!(code, 0, "{said}");
    let other = Desk::new(HALF_DONE);
    other.says(&["draft", "job.ron", "--out", "o.pdf"]);
    std::fs::copy(other.path("o.pdf"), desk.path("o.pdf")).unwrap();
    let (said, code) = desk.says(&["verify", "job.ron", "o.pdf"]);
    assert!(
        code == 1 && said.contains("don't belong together"),
        "{said}"
    );
    for (name, bytes, why) in [
        ("no.pdf", b"hello".as_slice(), "no PDF"),
        (
            "half.pdf",
            b"%PDF-1.7 and no more".as_slice(),
            "can't be read as a PDF",
        ),
    ] {
        std::fs::write(desk.path(name), bytes).unwrap();
        let (said, code) = desk.says(&["verify", "job.ron", name]);
        assert!(code == 2 && said.contains(why), "{said}");
    }
    let (said, code) = desk.says(&["verify", "job.ron", "absent.pdf"]);
    assert!(code == 2 && said.contains("absent.pdf"), "{said}");
}

#[test]
fn an_issue_is_not_taken_back() {
    let mut job = sample(CLEAN);
    let at = common::later();
    let issue = job.next_issue("mk", at, "f", "p").unwrap();
    let change = Change::Issue(Box::new(issue.clone()));
    let back = job.apply(&change).unwrap();
    assert!(back.is_nothing());
    assert_eq!(job.issues.len(), 1);
    assert_eq!(job.changed_since(&issue), Vec::<String>::new());
    // Nor is one recorded that isn't of this content, or out of number.
    assert!(job.apply(&change).is_err());
    let mut forged = job.next_issue("mk", at, "f", "p").unwrap();
    forged.number = 7;
    assert!(job.apply(&Change::Issue(Box::new(forged))).is_err());
    job.issues[0].number = 3;
    assert!(!job.problems().is_empty());
}

#[test]
fn on_the_screen_a_complete_record_is_drafted_or_issued() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.code(KeyCode::F(5));
    assert!(
        screen.picture().contains("issue the paper?"),
        "{}",
        screen.picture()
    );
    screen.code(KeyCode::Enter);
    assert!(
        screen.message().contains("not issued"),
        "{}",
        screen.message()
    );
    assert!(screen.path.with_extension("pdf").exists());
    screen.code(KeyCode::F(5));
    screen.enter("2");
    assert!(
        screen.message().contains("issued and recorded"),
        "{}",
        screen.message()
    );
    let issued = screen.path.with_file_name("harbour-row-issue-1.pdf");
    assert!(issued.exists());
    assert_eq!(screen.job_on_disk().issues.len(), 1);
    // Asked for once more it is there, as it was.
    let bytes = std::fs::read(&issued).unwrap();
    screen.code(KeyCode::F(5));
    assert!(
        screen.message().contains("issue 1 is there already"),
        "{}",
        screen.message()
    );
    assert_eq!(std::fs::read(&issued).unwrap(), bytes);
    // Undo goes to what was before it, and never to the issue.
    screen.ctrl('z');
    assert_eq!(screen.job_on_disk().issues.len(), 1);
    // The half-done one is drafted without asking.
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.code(KeyCode::F(5));
    assert!(screen.sitting.state.choice.is_none());
    assert!(
        screen.message().contains("a draft, not signed"),
        "{}",
        screen.message()
    );
}

/// A PDF that was handed out, or that is somebody else's, stays what it is.
#[test]
fn no_paper_is_written_over_an_issue_or_over_what_is_not_of_the_job() {
    let desk = Desk::new(CLEAN);
    let (said, code) = desk.says(&["draft", "job.ron", "--out", "one.pdf", "--issue"]);
    assert_eq!(code, 0, "{said}");
    let (said, code) = desk.says(&[
        "keep",
        "job.ron",
        "inspect/enclosures",
        "pass",
        "--by",
        "mk",
    ]);
    assert!(code < 2, "{said}");
    std::fs::write(desk.path("letter.pdf"), "%PDF-1.4 of somebody else").unwrap();
    std::fs::copy(
        root().join("sample-jobs").join(HALF_DONE),
        desk.path("other.ron"),
    )
    .unwrap();
    desk.says(&["draft", "other.ron", "--out", "other.pdf"]);
    for (name, why) in [
        ("one.pdf", "issue 1 of a paper has that name"),
        ("letter.pdf", "that this program didn't draft"),
        ("other.pdf", "the draft of another job"),
    ] {
        let before = std::fs::read(desk.path(name)).unwrap();
        for issue in [&["--issue"][..], &[]] {
            let args = [&["draft", "job.ron", "--out", name], issue].concat();
            let (said, code) = desk.says(&args);
            // Unfit to be issued it isn't looked at where to.
            let held_up = !issue.is_empty() && said.contains("still a draft");
            assert!(
                code == 2 && (held_up || said.contains(why)),
                "{name}: {said}"
            );
            assert_eq!(std::fs::read(desk.path(name)).unwrap(), before, "{name}");
        }
    }
    let job = wanderlead::store::read_job(&desk.path("job.ron"))
        .unwrap()
        .job;
    assert_eq!(job.issues.len(), 1);
    // Its own draft it replaces.
    for value in ["0.71", "0.72"] {
        desk.says(&["keep", "job.ron", "M/3/zs", value, "--by", "mk"]);
        let (said, code) = desk.says(&["draft", "job.ron", "--out", "mine.pdf"]);
        assert_eq!(code, 0, "{said}");
    }

    // On the screen another name is found.
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let usual = screen.path.with_extension("pdf");
    std::fs::copy(desk.path("one.pdf"), &usual).unwrap();
    for _ in 0..2 {
        screen.code(KeyCode::F(5));
        let said = screen.message();
        assert!(said.contains("-draft.pdf"), "{said}");
    }
    let one = std::fs::read(desk.path("one.pdf")).unwrap();
    assert_eq!(std::fs::read(&usual).unwrap(), one);
}
