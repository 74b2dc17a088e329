//! The list of jobs in a folder, and a new job from a starter: what `wanderlead` alone shows.

use std::path::{Path, PathBuf};
use std::sync::mpsc::Receiver;

use anyhow::{Context, Result};
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use crate::store::{self, JobEntry};

use super::field::Field;
use super::keys::{Action, When, look_up};
use super::look::Look;
use super::run::{self, Heard};
use super::terminal::Stage;
use super::view;

/// State of the list.
#[derive(Debug)]
pub struct Begin {
    /// Jobs of the folder, then starters.
    pub lines: Vec<Line>,
    /// Selected line.
    pub selected: usize,
    /// Name of the new file, while it is asked for, and the starter.
    pub naming: Option<(Field, &'static str)>,
    /// Name of the folder.
    pub folder: PathBuf,
    /// The message line.
    pub message: String,
    /// Whether only ASCII is drawn.
    pub ascii: bool,
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// Opens a job.
    Job(JobEntry),
    /// Makes a job from the starter of that name.
    New {
        /// Name of the starter.
        name: &'static str,
        /// What it is for.
        about: &'static str,
    },
}

/// What the list asks for.
#[derive(Debug, PartialEq, Eq)]
pub enum Asked {
    /// Open this job.
    Open(PathBuf),
    /// Make this file from that starter, then open it.
    Make(PathBuf, &'static str),
    /// Leave.
    Leave,
}

/// The job to open.
#[derive(Debug, PartialEq, Eq)]
pub struct Chosen {
    /// Its file.
    pub path: PathBuf,
    /// What to say first on its screen; empty for nothing special.
    pub greeting: String,
}

impl Begin {
    /// The list of a folder.
    ///
    /// # Errors
    /// The folder can't be listed.
    pub fn new(folder: &Path) -> Result<Begin> {
        let jobs = store::list_jobs(folder)?;
        let message = if jobs.is_empty() {
            "No job in this folder yet: choose a starter for a new one.".into()
        } else {
            String::new()
        };
        let mut lines: Vec<Line> = jobs.into_iter().map(Line::Job).collect();
        lines.extend(store::starters().iter().map(|s| Line::New {
            name: s.name,
            about: s.about(),
        }));
        Ok(Begin {
            lines,
            selected: 0,
            naming: None,
            folder: folder.to_path_buf(),
            message,
            ascii: false,
        })
    }

    /// Handles a key press.
    pub fn key(&mut self, key: &KeyEvent) -> Option<Asked> {
        if self.naming.is_some() {
            return self.key_in_name(key);
        }
        let last = self.lines.len().saturating_sub(1);
        match look_up(key, &[When::Begin])? {
            Action::Leave => return Some(Asked::Leave),
            Action::Previous => self.selected = self.selected.saturating_sub(1),
            Action::Next => self.selected = (self.selected + 1).min(last),
            Action::PageUp => self.selected = self.selected.saturating_sub(10),
            Action::PageDown => self.selected = (self.selected + 10).min(last),
            Action::Help => {
                self.message = "Jobs of this folder, then starters for a new one. Up and Down choose, Enter opens. \
                     The program drafts; a competent person tests, decides and signs."
                    .into();
            }
            Action::Take => match self.lines.get(self.selected)? {
                Line::Job(entry) => return Some(Asked::Open(entry.path.clone())),
                Line::New { name, .. } => {
                    self.naming = Some((Field::default(), name));
                    self.message =
                        "Name of the new job's file? It is the job's reference until you change that. Enter makes it, Esc goes back."
                            .into();
                }
            },
            _ => {}
        }
        None
    }

    /// While the name of a new file is typed.
    fn key_in_name(&mut self, key: &KeyEvent) -> Option<Asked> {
        let (field, starter) = self.naming.as_mut()?;
        match look_up(key, &[When::Choice, When::Always]) {
            Some(Action::Leave) => return Some(Asked::Leave),
            Some(Action::Back) => {
                self.naming = None;
                self.message.clear();
            }
            Some(Action::Backspace) => field.backspace(),
            Some(Action::Delete) => field.delete(),
            Some(Action::Left) => field.left(),
            Some(Action::Right) => field.right(),
            Some(Action::Take) => {
                let typed = field.text().trim().to_string();
                if typed.is_empty() {
                    self.message = "Type a name for the file, such as mill-lane.".into();
                    return None;
                }
                let name = if typed.ends_with(".ron") {
                    typed
                } else {
                    format!("{typed}.ron")
                };
                return Some(Asked::Make(self.folder.join(name), starter));
            }
            Some(_) => {}
            None => {
                if let KeyCode::Char(c) = key.code
                    && !key
                        .modifiers
                        .intersects(KeyModifiers::CONTROL | KeyModifiers::ALT)
                {
                    field.insert(c);
                }
            }
        }
        None
    }
}

/// Shows the list, with what was wrong with the job chosen before, and returns the job to open; `None` where the person
/// leaves or the system ends the program.
///
/// # Errors
/// The folder can't be listed or the terminal fails.
pub fn choose(
    folder: &Path,
    trouble: &str,
    look: Look,
    heard: &Receiver<Heard>,
) -> Result<Option<Chosen>> {
    let mut begin = Begin::new(folder)?;
    begin.ascii = look.ascii;
    if !trouble.is_empty() {
        begin.message = trouble.to_string();
    }
    let mut stage =
        Stage::set_up("wanderlead ended by a fault of its own. No job was open; none is changed.")?;
    let chosen = choose_on(&mut stage, &mut begin, heard);
    stage.leave();
    chosen
}

fn choose_on(
    stage: &mut Stage,
    begin: &mut Begin,
    heard: &Receiver<Heard>,
) -> Result<Option<Chosen>> {
    loop {
        stage.draw(|frame| view::draw_begin(frame, begin))?;
        let key = match heard.recv() {
            Ok(Heard::Event(Event::Key(key))) if key.kind != KeyEventKind::Release => key,
            Ok(Heard::Event(_)) => continue,
            Ok(Heard::Stop) => {
                run::stop();
                stage.again()?;
                continue;
            }
            Ok(Heard::On) => {
                stage.again()?;
                continue;
            }
            Ok(Heard::Deaf(e)) => return Err(e).context("the terminal can't be read"),
            Ok(Heard::End) | Err(_) => return Ok(None),
        };
        match begin.key(&key) {
            Some(Asked::Open(path)) => {
                return Ok(Some(Chosen {
                    path,
                    greeting: String::new(),
                }));
            }
            Some(Asked::Make(path, starter)) => match store::start(&path, starter) {
                Ok(()) => {
                    let greeting = format!(
                        "{} made: describe the job first. Enter keeps a field on disk, Esc goes to all parts",
                        path.file_name().unwrap_or_default().display()
                    );
                    return Ok(Some(Chosen { path, greeting }));
                }
                Err(e) => begin.message = e.to_string(),
            },
            Some(Asked::Leave) => return Ok(None),
            None => {}
        }
    }
}
