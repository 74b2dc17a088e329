//! Everything the screen shows. Drawing reads it; only [`update`](super::update) changes it.

use std::cell::OnceCell;
use std::collections::{BTreeMap, HashMap};
use std::rc::Rc;

use chrono::{DateTime, FixedOffset};
use rust_decimal::Decimal;

use crate::checks::{Again, Finding, Judge, Standing, judge_all};
use crate::forms::Forms;
use crate::guide::{Gates, NoWay, Order, Plan, Step, Verdicts, wording};
use crate::job::value::{is_past_scale, past_scale};
use crate::job::{Answer, Change, ChangeError, Function, Job, Place, Reading, Test};

use super::bring::{self, Bring};
use super::choice::{Choice, Topic};
use super::field::Field;
use super::find::{self, Find};
use super::find_index::Index;
use super::keys::{When, places};
use super::learn::Learn;
use super::look::{Look, Palette};
use super::map::Map;
use super::past::Past;
use super::record::{Record, Row, rows};
use super::said::Said;
use super::sheet::{Cut, Sheet};
use super::tally::Tally;
use super::vouch::Detour;

/// Fewest columns that every function works in.
pub const COLUMNS: u16 = 80;
/// Fewest lines that every function works in.
pub const LINES: u16 = 24;

/// What fills the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum View {
    /// Step by step.
    Walk,
    /// All places of a board or array.
    Sheet,
    /// What is outside, open, queried or close.
    Left,
    /// The parts of the record.
    Record,
    /// The fields of a part.
    Form,
    /// What is found by typing.
    Find,
    /// The modules of an array.
    Map,
    /// The readings of a file that an instrument wrote.
    Bring,
    /// What the verdict at hand goes by.
    Why,
    /// What the test at hand is for.
    Learn,
    /// What opening the job found.
    Found,
    /// Everything that was done.
    History,
    /// Keys and cautions.
    Help,
}

impl View {
    /// Every view.
    pub const ALL: [View; 13] = [
        View::Walk,
        View::Sheet,
        View::Left,
        View::Record,
        View::Form,
        View::Find,
        View::Map,
        View::Bring,
        View::Why,
        View::Learn,
        View::Found,
        View::History,
        View::Help,
    ];
}

/// The line above the footer; it stays until the next thing is said, an error also until it can have been read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// What is said.
    pub text: String,
    /// Whether something went wrong.
    pub error: bool,
}

/// State of the screen on one job.
#[derive(Debug)]
pub struct State {
    /// The job as it is on disk.
    pub job: Job,
    /// Limits and wording.
    pub forms: Rc<Forms>,
    /// Order of work.
    pub plan: Plan,
    /// Findings of the whole job, in the order of the file: always those of [`judge_all`](crate::checks::judge_all).
    pub findings: Vec<Finding>,
    /// What they rest on.
    standing: Standing,
    /// What they hold up.
    gates: Gates,
    /// What is counted of them.
    pub tally: Tally,
    /// Where in `findings` a place is.
    pub by_place: HashMap<Place, usize>,
    /// Verdicts by place.
    pub verdicts: Verdicts,
    /// What fills the screen.
    pub view: View,
    /// The view to go back to from the help.
    pub before_help: View,
    /// The place that the page of reasons is about, and the view to go back to from it.
    pub why: Option<(Place, View)>,
    /// Finding by typing.
    pub find: Find,
    /// What it looks through.
    pub(super) find_index: Index,
    /// Lines of that page that are scrolled away.
    pub why_line: usize,
    /// The learn page.
    pub learn: Learn,
    /// The step of the walk.
    pub at: usize,
    /// Lines of the step's text that are scrolled away.
    pub scroll: usize,
    /// What is being typed.
    pub field: Field,
    /// The sheet's cursor.
    pub sheet: Sheet,
    /// The cursors of the record.
    pub record: Record,
    /// Its rows, made when somebody asks, until it is edited.
    rows: OnceCell<Vec<Row>>,
    /// The map of an array.
    pub map: Map,
    /// The file that readings are brought in from.
    pub bring: Bring,
    /// What was found on opening, and the history.
    pub past: Past,
    /// Selected line of the list of what is left.
    pub left_line: usize,
    /// Selected line of the help.
    pub help_line: usize,
    /// Going around what a step waits for.
    pub(super) detour: Detour,
    /// A step that waits for countersigns, and the one of them that somebody was led to from it.
    pub(super) led: Option<(Place, Place)>,
    /// A list of choices on top, if any.
    pub choice: Option<Choice>,
    /// Id of who is entering.
    pub who: String,
    /// Instruments chosen in this sitting, by function; else the job's usual one is taken.
    pub instruments: BTreeMap<Function, String>,
    /// Reasons given last in this sitting, offered first the next time.
    pub reasons: BTreeMap<Topic, String>,
    /// The way through a stage.
    pub order: Order,
    /// The message line.
    pub message: Message,
    /// What was said before.
    pub said: Said,
    /// The clock as of the last event.
    pub now: DateTime<FixedOffset>,
    /// Why nothing can be kept, where the job is open for reading only.
    pub read_only: Option<String>,
    /// Why part of the record could not be brought back, where it couldn't: nothing may be drafted from it.
    pub lost: Option<String>,
    /// Colours of the screen.
    pub colour: Palette,
    /// Whether only ASCII is drawn.
    pub ascii: bool,
    /// Columns and lines of the window.
    pub size: (u16, u16),
    /// How the test was answered that help was opened on, for the keys it lists.
    pub help_answer: Option<Answer>,
    /// Leaving was refused once, because something typed wasn't kept.
    pub warned: bool,
}

impl State {
    /// Opens on the next reading to take.
    pub fn new(mut job: Job, forms: Rc<Forms>, now: DateTime<FixedOffset>, look: Look) -> State {
        let who = job.usual_person().map(|p| p.id.clone()).unwrap_or_default();
        let caution = forms.walk().cautions.first().cloned().unwrap_or_default();
        let plan = Plan::new(&job, &forms);
        let (standing, findings) = Standing::of(&mut job, &forms);
        let mut state = State {
            plan,
            findings,
            standing,
            gates: Gates::default(),
            tally: Tally::default(),
            by_place: HashMap::new(),
            verdicts: Verdicts::default(),
            view: View::Walk,
            before_help: View::Walk,
            why: None,
            find: Find::default(),
            find_index: Index::default(),
            why_line: 0,
            learn: Learn::default(),
            at: 0,
            scroll: 0,
            field: Field::default(),
            sheet: Sheet::default(),
            record: Record::default(),
            rows: OnceCell::new(),
            map: Map::default(),
            bring: Bring::default(),
            past: Past::default(),
            left_line: 0,
            help_line: 0,
            detour: Detour::default(),
            led: None,
            choice: None,
            who,
            instruments: BTreeMap::new(),
            reasons: BTreeMap::new(),
            order: Order::default(),
            message: Message {
                text: caution,
                error: false,
            },
            said: Said::default(),
            now,
            read_only: None,
            lost: None,
            colour: look.palette,
            ascii: look.ascii,
            size: (COLUMNS, LINES),
            help_answer: None,
            warned: false,
            forms,
            job,
        };
        state.lay_out();
        state.go_to_next_open(0);
        state
    }

    /// Judges the whole job again.
    pub fn judge(&mut self) {
        (self.standing, self.findings) = Standing::of(&mut self.job, &self.forms);
        self.lay_out();
    }

    /// Judges again what a change may have altered, which was made in the job.
    pub(super) fn judge_after(&mut self, change: &Change) {
        let findings = &mut self.findings;
        let again = self
            .standing
            .again(&mut self.job, &self.forms, findings, change);
        let Again::Some(replaced) = again else {
            self.lay_out();
            return;
        };
        for (at, before) in replaced {
            let Some(now) = self.findings.get(at) else {
                continue;
            };
            self.verdicts.take(now);
            self.gates.again(&now.place, &self.plan, &self.verdicts);
            self.tally.replace(at, &before, now, &self.plan);
        }
    }

    /// What of all that is kept up to date isn't what it would be if it were made afresh; `None` where everything is. For tests.
    pub fn stale(&self) -> Option<&'static str> {
        let findings = judge_all(&self.job, &self.forms);
        let verdicts = Verdicts::new(&findings);
        let places = || findings.iter().enumerate();
        [
            (self.findings == findings, "findings"),
            (self.verdicts == verdicts, "verdicts"),
            (
                self.by_place.len() == findings.len()
                    && places().all(|(i, f)| self.by_place.get(&f.place) == Some(&i)),
                "positions",
            ),
            (self.gates == Gates::of(&self.plan, &verdicts), "gates"),
            (self.tally.same(&Tally::of(&findings, &self.plan)), "tally"),
            (*self.sheet.cut(&self.job) == Cut::of(&self.job), "sections"),
            (find::is_up_to_date(self), "what find looks through"),
            (self.record_rows() == rows(&self.job), "rows of the record"),
        ]
        .into_iter()
        .find_map(|(same, what)| (!same).then_some(what))
    }

    /// To look at single places as they are now.
    pub(super) fn checks(&self) -> Judge<'_> {
        self.standing.judge(&self.job, &self.forms)
    }

    /// Lays out anew what follows from findings and plan.
    fn lay_out(&mut self) {
        self.by_place = self
            .findings
            .iter()
            .enumerate()
            .map(|(i, f)| (f.place.clone(), i))
            .collect();
        self.verdicts = Verdicts::new(&self.findings);
        self.sheet.cut_anew(&self.job);
        self.rows = OnceCell::new();
        self.follow_plan();
    }

    /// Lays out anew what follows from the plan.
    pub(super) fn follow_plan(&mut self) {
        self.find_index = Index::default();
        self.gates = Gates::of(&self.plan, &self.verdicts);
        self.tally = Tally::of(&self.findings, &self.plan);
    }

    /// The finding of a place, if it has one.
    pub fn finding(&self, place: &Place) -> Option<&Finding> {
        self.by_place.get(place).and_then(|i| self.findings.get(*i))
    }

    /// Every row of the record, in order.
    pub(super) fn record_rows(&self) -> &[Row] {
        self.rows.get_or_init(|| rows(&self.job))
    }

    /// The step of the walk.
    pub fn step(&self) -> Option<&Step> {
        self.plan.steps().get(self.at)
    }

    /// Moves the walk to the next open step from `from` on; with none left, shows what remains to be seen to.
    pub fn go_to_next_open(&mut self, from: usize) {
        self.scroll = 0;
        self.field.clear();
        let next = self
            .plan
            .next_through(from, &self.verdicts, &self.gates, self.is_qualified());
        match next {
            Some(at) => self.at = at,
            None => {
                self.view = View::Left;
                self.left_line = 0;
            }
        }
    }

    /// Puts the walk at the step of a place. Returns whether it has one.
    pub(super) fn walk_to(&mut self, place: &Place) -> bool {
        let Some(at) = self.plan.position(place) else {
            return false;
        };
        self.at = at;
        self.scroll = 0;
        true
    }

    /// Takes the other way through the stages, and stays where it is.
    pub(super) fn turn_order(&mut self) {
        self.order = match self.order {
            Order::ByPlace => Order::ByTest,
            Order::ByTest => Order::ByPlace,
        };
        let place = self.step().map(|s| s.place.clone());
        self.plan = Plan::in_order(&self.job, &self.forms, self.order);
        self.follow_plan();
        if let Some(place) = place {
            self.walk_to(&place);
        }
        self.say(match self.order {
            Order::ByPlace => "place by place from now on: all tests of a circuit, then the next",
            Order::ByTest => "test by test from now on: one test at all circuits, then the next",
        });
    }

    /// The place that typing would go to.
    pub fn focus(&self) -> Option<Place> {
        match self.view {
            View::Walk => self.step().map(|s| s.place.clone()),
            View::Sheet => self.sheet.place(&self.job),
            View::Left
            | View::Record
            | View::Form
            | View::Map
            | View::Bring
            | View::Find
            | View::Why
            | View::Learn
            | View::Found
            | View::History
            | View::Help => None,
        }
    }

    /// How the focused test is answered, where nothing is typed yet, so that letters are free for keys.
    pub fn empty_answer(&self) -> Option<Answer> {
        let place = self.focus().filter(|_| self.field.is_empty())?;
        Some(place.test.answer())
    }

    /// Where keys count now, the most particular first.
    pub fn places(&self) -> Vec<When> {
        let mut now = places(self.view, self.choice.is_some(), self.empty_answer());
        // What is inspected or signed is looked at one by one: nothing is marked there.
        if self.view == View::Sheet && self.sheet.is_list(&self.job) {
            now.retain(|when| *when != When::EmptyCell);
        }
        now
    }

    /// The instrument a reading of `test` would be taken with.
    pub fn instrument_for(&self, test: Test) -> Option<String> {
        let chosen = Function::of(test).and_then(|f| self.instruments.get(&f));
        chosen
            .or_else(|| self.job.usual_instrument(test).map(|i| &i.id))
            .cloned()
    }

    /// The reading that keeping `typed` at `place` would record.
    pub fn reading(&self, place: &Place, typed: &str) -> Reading {
        Reading {
            typed: typed.trim().to_string(),
            unit: place.test.unit(),
            by: self.who.clone(),
            at: self.now,
            instrument: self.instrument_for(place.test),
            countersigned: None,
            around: None,
            brought: None,
        }
    }

    /// Whether a reading could be kept; if not, why, with the key that helps where one does.
    pub(super) fn would_keep(&self, place: &Place, reading: &Reading) -> Result<(), String> {
        self.job
            .may_enter(place, reading)
            .map(|_| ())
            .map_err(|e| match e {
                ChangeError::NotAllowed(why) => format!("{why} (F6)"),
                ChangeError::Unreadable { .. } if is_past_scale(&reading.typed) => {
                    let end = self.scale_end(place);
                    past_scale(&reading.typed, end.as_deref())
                }
                ChangeError::Unreadable { why, .. } => why,
                e => e.to_string(),
            })
    }

    /// The end of the scale to offer at a place: the one the forms name, or the limit where that is higher (an S type trips
    /// later).
    pub(super) fn scale_end(&self, place: &Place) -> Option<String> {
        let seat = self.job.seat(place)?;
        let words = self.forms.walk().step(seat.owner.kind(), place.test);
        let end = words?.over.as_ref()?;
        let rule = self.checks().rule(&seat, place.test);
        let highest = rule.ok().and_then(|r| r.bound.highest());
        Some(match (highest, end.parse::<Decimal>()) {
            (Some(limit), Ok(scale)) if limit > scale => limit.to_string(),
            _ => end.clone(),
        })
    }

    /// What the step or cell at hand waits for, in words; `None` when it may be taken now.
    pub fn waits_for(&self) -> Option<String> {
        let at = self.plan.position(&self.focus()?)?;
        let first = self.obstacle(at)?;
        Some(self.waiting_words(at, &first))
    }

    /// Whether the step or cell at hand has to be dead and isn't shown to be so any more: that is said also where it has a reading.
    pub(super) fn waits_for_proof(&self) -> bool {
        let at = self.focus().and_then(|place| self.plan.position(&place));
        let first = at.and_then(|at| self.obstacle(at));
        first.is_some_and(|first| self.verdicts.is_stale(&first))
    }

    /// Every step that a step waits for; see [`Plan::held_up_by`].
    pub(super) fn held_up_by(&self, at: usize) -> Vec<usize> {
        self.plan.held_up_by(at, &self.verdicts, &self.gates)
    }

    /// The next step to countersign from `from` on, then from the beginning.
    pub(super) fn next_to_countersign(&self, from: usize) -> Option<usize> {
        self.gates.next_to_countersign(from)
    }

    /// What a step waits for; see [`Plan::waits_for`].
    pub(super) fn obstacle(&self, at: usize) -> Option<Place> {
        self.plan.waits_behind(at, &self.verdicts, &self.gates)
    }

    /// What a step waits for and a qualified person may go around; see [`Plan::way_around`].
    pub(super) fn way_around(&self, at: usize) -> Result<Place, NoWay> {
        self.plan.way_behind(at, &self.verdicts, &self.gates)
    }

    /// A place that the step `at` waits for, the first of them, in words, with the way to it.
    pub(super) fn waiting_words(&self, at: usize, first: &Place) -> String {
        let verdict = self.verdicts.of(first);
        if let Some(again) = self.verdicts.again_words(first) {
            // A slip is put right without the house being isolated for it; nothing is measured then.
            let slip = match self.way_around(at) {
                Ok(_) => {
                    "; what was only typed wrong is put right with Ctrl-U, by a qualified person"
                }
                Err(_) => "",
            };
            return format!("{first} again: {again} (Ctrl-F finds the step){slip}");
        }
        if !verdict.blocks() && self.verdicts.waits_for_countersign(first) {
            return self.countersigns_before(at, first);
        }
        let step = self
            .plan
            .position(first)
            .and_then(|i| self.plan.steps().get(i));
        match step.and_then(|s| wording(&self.forms, s)) {
            Some((_, words)) => {
                format!(
                    "{first} ({}, {verdict}); Ctrl-O goes to what can be taken now",
                    words.name
                )
            }
            // Worked out from the record: no reading changes it.
            None => {
                let why = self.finding(first).map_or("", |f| f.why.as_str());
                format!(
                    "{first} ({verdict}): {why}. F9 goes to {}, to put the record right",
                    self.job.spot_of(first)
                )
            }
        }
    }

    /// What the finding would be if what is typed were kept; an error says what is wrong with it.
    /// `None` with nothing typed.
    pub fn preview(&self) -> Option<Result<Finding, String>> {
        self.preview_at(&self.focus()?)
    }

    fn preview_at(&self, place: &Place) -> Option<Result<Finding, String>> {
        if self.field.is_empty() {
            return None;
        }
        let reading = self.reading(place, self.field.text());
        if let Err(why) = self.would_keep(place, &reading) {
            return Some(Err(why));
        }
        let seat = self.job.seat(place)?;
        Some(Ok(self.checks().preview(&seat, place.test, &reading)))
    }

    /// What the page of reasons is about, and whether it is only typed so far. A place that is not yet taken has its limit all
    /// the same.
    pub fn reasons(&self) -> Option<(Finding, bool)> {
        let (place, from) = self.why.as_ref()?;
        self.explained(place, *from)
    }

    /// The finding of a place that a page opened from a view is about, and whether it is only typed so far.
    pub fn explained(&self, place: &Place, from: View) -> Option<(Finding, bool)> {
        let behind = match from {
            View::Why => self.why.as_ref().map(|(_, from)| *from),
            View::Learn => self.learn.of.as_ref().map(|(_, from)| *from),
            from => Some(from),
        };
        if behind == Some(View::Bring)
            && let Some(seen) = bring::finding(self, place)
        {
            return Some((seen, true));
        }
        // What is typed elsewhere is no reading of this place.
        if matches!(behind, Some(View::Walk | View::Sheet))
            && let Some(Ok(typed)) = self.preview_at(place)
        {
            return Some((typed, true));
        }
        let kept = self.finding(place).cloned();
        let judged = || self.checks().place(place);
        Some((kept.or_else(judged)?, false))
    }

    /// Whether the window is large enough to show what a key would do.
    pub fn fits(&self) -> bool {
        self.size.0 >= COLUMNS && self.size.1 >= LINES
    }

    /// Says something on the message line.
    pub fn say(&mut self, text: impl Into<String>) {
        self.tell(text.into(), false);
    }

    /// Says what holds for what is on the screen now: the next key takes it off again.
    pub(super) fn say_for_now(&mut self, text: impl Into<String>) {
        let text = text.into();
        self.tell(text.clone(), false);
        if self.message.text == text {
            self.said.pass();
        }
    }

    /// Says what went wrong on the message line, where it stays until a key was pressed after it was shown.
    pub fn complain(&mut self, text: impl Into<String>) {
        self.tell(text.into(), true);
    }

    fn tell(&mut self, text: String, error: bool) {
        let new = Message { text, error };
        self.message = self.said.say(&self.message, new, self.now);
    }

    /// Places that need somebody's eye before leaving, the most pressing first: what blocks the certificate, then what only
    /// weakens it, with the tests that could not be done.
    pub fn left(&self) -> Vec<&Finding> {
        let all = self.tally.left();
        all.filter_map(|i| self.findings.get(i)).collect()
    }

    /// The selected line of them.
    pub(super) fn left_at(&self, line: usize) -> Option<&Finding> {
        self.findings.get(self.tally.left().nth(line)?)
    }

    /// The lines from `from` on, with their numbers.
    pub(super) fn left_from(&self, from: usize) -> impl Iterator<Item = (usize, &Finding)> {
        let all = self.tally.left().enumerate().skip(from);
        all.filter_map(|(line, i)| Some((line, self.findings.get(i)?)))
    }

    /// How many they are.
    pub(super) fn left_count(&self) -> usize {
        self.tally.left().len()
    }

    /// Required readings taken or excused, and required readings in all.
    pub fn progress(&self) -> (usize, usize) {
        (self.tally.readings - self.tally.open, self.tally.readings)
    }
}
