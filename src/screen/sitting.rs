//! A job on the screen: the state and the open file together. What the state asks for is done here, and nowhere else.

use std::path::{Path, PathBuf};
use std::rc::Rc;

use anyhow::{Context, Result, anyhow, bail};
use chrono::{DateTime, FixedOffset};
use ratatui::crossterm::event::{Event, KeyEventKind};

use crate::forms::Forms;
use crate::intake;
use crate::job::{Change, Job};
use crate::paper::{self, Drafted};
use crate::store::{self, Session, StoreError};

use super::bring;
use super::keeping::{self, Effect};
use super::look::Look;
use super::past;
use super::record;
use super::state::{State, View};
use super::update;

/// A job that somebody works on.
pub struct Sitting {
    /// What the screen shows.
    pub state: State,
    session: Session,
    /// The PDF that is asked for, and said to be on its way.
    wanted: Option<Wanted>,
    /// Leaving was refused once, because what was kept is in no file any more.
    loss_said: bool,
}

/// What a PDF is asked for.
#[derive(Debug, Clone, Copy)]
enum Wanted {
    Draft,
    Issue,
}

impl Sitting {
    /// Puts an open job on the screen. What was found on opening is said on the message line.
    pub fn new(
        session: Session,
        forms: impl Into<Rc<Forms>>,
        now: DateTime<FixedOffset>,
        look: Look,
    ) -> Sitting {
        let mut state = State::new(session.job().clone(), forms.into(), now, look);
        past::take_in(&mut state, &session);
        if !state.past.found.is_empty() {
            past::open(&mut state, View::Found);
        }
        if state.past.waits {
            state.complain(
                "nothing was touched, and nothing is kept before you have decided: Enter",
            );
        } else if let Some(why) = &state.read_only {
            let text = format!("open for reading only: {why}");
            state.complain(text);
        } else if !session.notes().is_empty() {
            let text = session.notes().join("; ");
            state.say(text);
        } else if state.job.edits.is_empty()
            && state.job.seats().iter().all(|s| s.readings.is_empty())
        {
            // Made of a starter, and nobody has said yet what it is.
            record::act::describe_first(&mut state);
        }
        Sitting {
            state,
            session,
            wanted: None,
            loss_said: false,
        }
    }

    /// Handles an event at the time `now`. Returns whether to leave.
    pub fn event(&mut self, event: &Event, now: DateTime<FixedOffset>) -> bool {
        self.state.now = now;
        let effect = match event {
            // Windows sends a release for every press; only presses and repeats count.
            Event::Key(key) if key.kind != KeyEventKind::Release => {
                self.state.said.key();
                update::key(&mut self.state, key)
            }
            Event::Paste(text) => {
                update::paste(&mut self.state, text);
                None
            }
            Event::Resize(columns, lines) => {
                self.state.size = (*columns, *lines);
                None
            }
            _ => None,
        };
        if effect != Some(Effect::Leave) {
            self.loss_said = false;
        }
        effect.is_some_and(|effect| self.do_effect(&effect))
    }

    /// Makes a little of what somebody may ask for next, while nobody asks for anything: what finding looks through. Returns
    /// whether there may be more of it. A key that comes meanwhile waits for a fraction of a millisecond.
    pub fn prepare(&self) -> bool {
        self.state.find_index.prepare(&self.state)
    }

    /// Whether there is work that takes long, and is said to be on its way.
    pub fn waits_to_work(&self) -> bool {
        self.wanted.is_some()
    }

    /// Does that work, and says how it went.
    pub fn work(&mut self) {
        let done = match self.wanted.take() {
            None => return,
            Some(Wanted::Draft) => self.draft().context("no PDF"),
            Some(Wanted::Issue) => self.issue(),
        };
        match done {
            Ok(text) => self.state.say(text),
            Err(e) => self.state.complain(format!("{e:#}")),
        }
    }

    /// What to say below the report of a fault of the program.
    pub fn notice(&self) -> String {
        let job = self.session.path().display();
        format!(
            "wanderlead ended by a fault of its own. Every reading that it called kept is on the disk, in {job} and {job}.journal: keep both files together, and open the job again to go on."
        )
    }

    /// Saves the job file and frees the job.
    ///
    /// # Errors
    /// The job file can't be saved; every kept reading is in the journal all the same.
    pub fn close(self) -> Result<()> {
        self.session
            .close()
            .context("every kept reading is in the journal, but the job file could not be saved")
    }

    /// Does the file work of an effect and tells the state how it went. Returns whether to leave.
    fn do_effect(&mut self, effect: &Effect) -> bool {
        let state = &mut self.state;
        let session = &mut self.session;
        match effect {
            Effect::Keep(change) => match session.keep(change, state.now) {
                Ok(()) => keeping::kept(state, change),
                Err(e) => state.complain(format!("NOT kept: {e}")),
            },
            Effect::Undo | Effect::Redo => {
                let redone = *effect == Effect::Redo;
                let who = state.who.clone();
                let done = if redone {
                    session.redo(&who, state.now)
                } else {
                    session.undo(&who, state.now)
                };
                match done {
                    Ok(Some(change)) => {
                        keeping::turned_back(state, session.job().clone(), &change, redone);
                    }
                    Ok(None) if redone => state.say("nothing to make again"),
                    Ok(None) => state.say("nothing to take back in this sitting"),
                    Err(e) => state.complain(format!("NOT done: {e}")),
                }
            }
            Effect::Look => match store::list_downloads(folder_of(session.path())) {
                Ok(found) => bring::offer(state, found),
                Err(e) => state.complain(e.to_string()),
            },
            Effect::Read { file, mapping } => {
                match read_download(session.path(), file, mapping, &state.job) {
                    Ok(read) => bring::opened(state, read, mapping),
                    Err(e) => state.complain(format!("nothing brought in: {e:#}")),
                }
            }
            Effect::Draft | Effect::Issue => {
                // That of a large job takes a while: this is on the screen first.
                state.say("drafting the PDF…");
                self.wanted = Some(if *effect == Effect::Issue {
                    Wanted::Issue
                } else {
                    Wanted::Draft
                });
            }
            Effect::GoOn => match session.go_on(&state.who, state.now) {
                Ok(()) => past::gone_on(state, session),
                Err(e) => {
                    past::take_in(state, session);
                    state.complain(format!("NOT opened for writing: {e}"));
                }
            },
            Effect::Leave => return self.may_leave(),
        }
        false
    }

    /// Saves the job file before leaving. Where what was kept would be in no file then, the first time nobody leaves.
    fn may_leave(&mut self) -> bool {
        let Err(e) = self.session.save() else {
            return true;
        };
        if self.session.is_on_disk() || std::mem::replace(&mut self.loss_said, true) {
            // Leaving says it once more, where it stays to be read.
            return true;
        }
        self.state.complain(format!(
            "NOT left: {e}. The same key again leaves all the same"
        ));
        false
    }

    /// Drafts the PDF beside the job file. An issue has its number in the name, so that none replaces another.
    fn draft(&self) -> Result<String> {
        if let Some(lost) = &self.state.lost {
            // A paper without readings that were kept would look complete.
            bail!("{lost}");
        }
        if let Some(found) = self.session.found().iter().find(|f| f.holds_up_papers())
            && self.session.waits()
        {
            bail!(
                "{}: decide about it first (h, then Tab)",
                found.in_a_sentence()
            );
        }
        let drafted = paper::draft(&self.state.job, &self.state.forms, self.state.now)?;
        self.write(&drafted)
    }

    /// Records an issue in the job, and writes its PDF beside the job file.
    fn issue(&mut self) -> Result<String> {
        let state = &mut self.state;
        let (issue, drafted) =
            paper::issue(&state.job, &state.forms, &state.who, state.now).context("not issued")?;
        let number = issue.number;
        let change = Change::Issue(Box::new(issue));
        self.session
            .keep(&change, state.now)
            .context("NOT issued")?;
        state.job = self.session.job().clone();
        state.judge_after(&change);
        let written = self.write(&drafted).with_context(|| {
            format!(
                "issue {number} is recorded in the job, but its PDF isn't written; F5 writes it"
            )
        })?;
        Ok(format!("issued and recorded: {written}"))
    }

    /// Writes a paper beside the job file, under the first name that it may have: nothing is written over but a draft of this job.
    fn write(&self, drafted: &Drafted) -> Result<String> {
        let job = self.session.path();
        let reference = &self.state.job.reference;
        let mut taken = None;
        for out in names_of_paper(job, drafted.issue) {
            if let Some(n) = drafted.issue
                && self.is_issue(&out, n)
            {
                return Ok(format!("{}: issue {n} is there already", out.display()));
            }
            match store::write_out(&out, &drafted.bytes, job, &|old| {
                paper::may_replace(old, reference)
            }) {
                Err(e @ StoreError::Taken { .. }) => taken = Some(e),
                done => return done.map(|()| drafted.describe(&out)).map_err(Into::into),
            }
        }
        Err(taken.map_or_else(|| anyhow!("no name is left for the PDF"), Into::into))
    }

    /// Whether a file is an issue of the job as it is, byte for byte.
    fn is_issue(&self, file: &Path, number: u32) -> bool {
        let Ok(bytes) = store::read_pdf(file) else {
            return false;
        };
        let Ok(identity) = paper::identity(&bytes) else {
            return false;
        };
        let (job, forms) = (&self.state.job, &self.state.forms);
        identity.issue == Some(number)
            && paper::draft(job, forms, identity.created).is_ok_and(|again| again.bytes == bytes)
    }
}

/// Names that a paper of a job may have, in the order in which they are tried.
fn names_of_paper(job: &Path, issue: Option<u32>) -> impl Iterator<Item = PathBuf> {
    /// As many as somebody could want.
    const MOST: u32 = 99;
    let (stem, more) = match issue {
        Some(n) => (format!("-issue-{n}"), format!("-issue-{n}-copy")),
        None => (String::new(), "-draft".to_string()),
    };
    let named = move |end: &str| {
        let mut name = job.file_stem().unwrap_or_default().to_os_string();
        name.push(format!("{end}.pdf"));
        job.with_file_name(name)
    };
    let first = named(&stem);
    let rest = (1..=MOST).map(move |n| match n {
        1 => named(&more),
        n => named(&format!("{more}-{n}")),
    });
    std::iter::once(first).chain(rest)
}

/// The folder that a job is in.
fn folder_of(job: &Path) -> &Path {
    job.parent()
        .filter(|dir| !dir.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// What a file says by a mapping; both are named from the folder of the job.
fn read_download(job: &Path, file: &str, mapping: &str, on: &Job) -> Result<intake::Read> {
    let folder = folder_of(job);
    let text = store::read_mapping(&folder.join(mapping))?;
    let bytes = store::read_download(&folder.join(file), intake::LONGEST_FILE)?;
    Ok(intake::read((mapping, &text), (file, &bytes), on)?)
}
