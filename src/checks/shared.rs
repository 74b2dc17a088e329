//! What checks of a whole job share: prepared when the first check asks for it, and kept until something changes that it was
//! made of.

use std::sync::OnceLock;

use chrono::{DateTime, FixedOffset};
use rust_decimal::Decimal;

use crate::job::watch::{self, Seen};
use crate::job::{Board, Job};

use super::rule::Rule;
use super::{Judge, balance, dates, impedance, leads, likely, order, pv, records, running, same};

/// When something was done last, and what.
pub(super) type LastWork = Option<(DateTime<FixedOffset>, &'static str)>;

/// Something shared, and what was looked at for it.
#[derive(Debug)]
struct Memo<T> {
    now: OnceLock<(T, Seen)>,
    /// What it was, while it is being found out whether that changed.
    before: Option<T>,
}

impl<T> Default for Memo<T> {
    fn default() -> Self {
        Memo {
            now: OnceLock::new(),
            before: None,
        }
    }
}

impl<T: PartialEq> Memo<T> {
    /// Makes it, where it wasn't yet. Whoever asks depends on it, and not on what it was made of.
    fn get(&self, number: u32, make: impl FnOnce() -> T) -> &T {
        watch::shared(number);
        &self.now.get_or_init(|| watch::watched(make)).0
    }

    /// Where it was made of something that changed: takes it away, and adds it to what changed.
    fn spoil(&mut self, number: u32, changed: &mut Seen) -> bool {
        // What was spoilt in this round already isn't there any more.
        let hit = self.now.get().is_some_and(|(_, seen)| seen.any_of(changed));
        if hit {
            self.before = self.now.take().map(|(made, _)| made);
            changed.add_shared(number);
        }
        hit
    }
}

/// All of it for one job.
#[derive(Debug, Default)]
pub(super) struct Shared {
    order: Memo<order::Order>,
    running: Memo<running::Running>,
    planes: Memo<balance::Planes>,
    shares: Memo<pv::Shares>,
    sub_mains: Memo<Vec<Option<Decimal>>>,
    without_rcd: Memo<Rule>,
    last_work: Memo<LastWork>,
    work: Memo<String>,
    days: Memo<dates::Days>,
    boards: Vec<OfBoard>,
}

/// What circuits of a board share.
#[derive(Debug, Default)]
struct OfBoard {
    leads: Memo<leads::Leads>,
    times: Memo<same::Times>,
    by_expectation: Memo<likely::ByExpectation>,
    days: Memo<dates::Days>,
}

const ORDER: u32 = 0;
const RUNNING: u32 = 1;
const PLANES: u32 = 2;
const SHARES: u32 = 3;
const SUB_MAINS: u32 = 4;
const WITHOUT_RCD: u32 = 5;
const LAST_WORK: u32 = 6;
const WORK: u32 = 7;
const DAYS: u32 = 8;
/// Numbers before those of the boards.
const WHOLE: u32 = 9;
const LEADS: u32 = 0;
const TIMES: u32 = 1;
const BY_EXPECTATION: u32 = 2;
const DAYS_OF_BOARD: u32 = 3;
/// Numbers for each board.
const EACH: u32 = 4;

fn number(board: usize, which: u32) -> u32 {
    // More boards than that would share a number, which only makes more depend on it.
    let board = u32::try_from(board).unwrap_or(u32::MAX);
    board
        .saturating_mul(EACH)
        .saturating_add(WHOLE)
        .saturating_add(which)
}

impl Shared {
    /// Of a job; nothing is made yet.
    pub(super) fn of(job: &Job) -> Shared {
        Shared {
            boards: job.boards.iter().map(|_| OfBoard::default()).collect(),
            ..Shared::default()
        }
    }

    /// Forgets what was compared last.
    fn settle(&mut self) {
        self.order.before = None;
        self.running.before = None;
        self.planes.before = None;
        self.shares.before = None;
        self.sub_mains.before = None;
        self.without_rcd.before = None;
        self.last_work.before = None;
        self.work.before = None;
        self.days.before = None;
        for of in &mut self.boards {
            of.leads.before = None;
            of.times.before = None;
            of.by_expectation.before = None;
            of.days.before = None;
        }
    }

    /// Takes away all that was made of something that changed, and what was made of that.
    pub(super) fn spoil(&mut self, changed: &mut Seen) {
        self.settle();
        loop {
            let mut hit = false;
            hit |= self.order.spoil(ORDER, changed);
            hit |= self.running.spoil(RUNNING, changed);
            hit |= self.planes.spoil(PLANES, changed);
            hit |= self.shares.spoil(SHARES, changed);
            hit |= self.sub_mains.spoil(SUB_MAINS, changed);
            hit |= self.without_rcd.spoil(WITHOUT_RCD, changed);
            hit |= self.last_work.spoil(LAST_WORK, changed);
            hit |= self.work.spoil(WORK, changed);
            hit |= self.days.spoil(DAYS, changed);
            for (i, of) in self.boards.iter_mut().enumerate() {
                hit |= of.leads.spoil(number(i, LEADS), changed);
                hit |= of.times.spoil(number(i, TIMES), changed);
                hit |= of.by_expectation.spoil(number(i, BY_EXPECTATION), changed);
                hit |= of.days.spoil(number(i, DAYS_OF_BOARD), changed);
            }
            if !hit {
                return;
            }
        }
    }
}

impl Judge<'_> {
    /// Makes again what was spoilt, and adds to what changed whatever is another one now.
    pub(super) fn compare_shared(&self, changed: &mut Seen) {
        let shared = &self.shared;
        let mut other = |differs: Option<bool>, number: u32| {
            if differs == Some(true) {
                changed.add_shared(number);
            }
        };
        other(
            shared.order.before.as_ref().map(|b| b != self.order()),
            ORDER,
        );
        other(
            shared.running.before.as_ref().map(|b| b != self.running()),
            RUNNING,
        );
        other(
            shared.planes.before.as_ref().map(|b| b != self.planes()),
            PLANES,
        );
        other(
            shared.shares.before.as_ref().map(|b| b != self.shares()),
            SHARES,
        );
        other(
            shared
                .sub_mains
                .before
                .as_ref()
                .map(|b| b != self.all_sub_mains()),
            SUB_MAINS,
        );
        other(
            shared
                .without_rcd
                .before
                .as_ref()
                .map(|b| b != self.without_rcd()),
            WITHOUT_RCD,
        );
        other(shared.days.before.as_ref().map(|b| b != self.days()), DAYS);
        // Long work for a few signatures: counts as changed, and is done when one of them asks.
        other(shared.last_work.before.as_ref().map(|_| true), LAST_WORK);
        other(shared.work.before.as_ref().map(|_| true), WORK);
        for (i, (of, board)) in shared.boards.iter().zip(&self.job.boards).enumerate() {
            let differs = of
                .leads
                .before
                .as_ref()
                .map(|b| Some(b) != self.leads_at(i, board));
            other(differs, number(i, LEADS));
            let differs = of
                .times
                .before
                .as_ref()
                .map(|b| Some(b) != self.times_at(i, board));
            other(differs, number(i, TIMES));
            let before = of.by_expectation.before.as_ref();
            let differs = before.map(|b| Some(b) != self.by_expectation_at(i, board));
            other(differs, number(i, BY_EXPECTATION));
            let before = of.days.before.as_ref();
            let differs = before.map(|b| Some(b) != self.days_at(i, board));
            other(differs, number(i, DAYS_OF_BOARD));
        }
    }

    pub(super) fn order(&self) -> &order::Order {
        self.shared.order.get(ORDER, || order::Order::of(self.job))
    }

    pub(super) fn running(&self) -> &running::Running {
        let make = || running::Running::of(self.job);
        self.shared.running.get(RUNNING, make)
    }

    pub(super) fn planes(&self) -> &balance::Planes {
        let make = || balance::Planes::of(self.job);
        self.shared.planes.get(PLANES, make)
    }

    pub(super) fn shares(&self) -> &pv::Shares {
        self.shared.shares.get(SHARES, || pv::Shares::of(self))
    }

    pub(super) fn days(&self) -> &dates::Days {
        self.shared.days.get(DAYS, || {
            let boards = self.job.boards.iter().enumerate();
            let of_boards = boards.filter_map(|(i, board)| self.days_at(i, board));
            of_boards.fold(dates::Days::of_the_rest(self.job), dates::Days::with)
        })
    }

    fn days_at(&self, i: usize, board: &Board) -> Option<&dates::Days> {
        let memo = &self.shared.boards.get(i)?.days;
        let make = || dates::Days::of(self.job, &board.id);
        Some(memo.get(number(i, DAYS_OF_BOARD), make))
    }

    fn all_sub_mains(&self) -> &Vec<Option<Decimal>> {
        let make = || self.tree.sub_mains(self);
        self.shared.sub_mains.get(SUB_MAINS, make)
    }

    /// R1+R2 by length of everything between a board and the origin, Ω; `None` where a length is missing.
    pub(super) fn sub_mains(&self, board: &Board) -> Option<Decimal> {
        let all = self.all_sub_mains();
        all.get(self.tree.index(board)?).copied().flatten()
    }

    pub(super) fn without_rcd(&self) -> &Rule {
        let make = || impedance::work_without_rcd(self);
        self.shared.without_rcd.get(WITHOUT_RCD, make)
    }

    /// When something other than a signature was done last, and what.
    pub(super) fn last_work(&self) -> &LastWork {
        self.shared.last_work.get(LAST_WORK, || {
            watch::everything();
            records::last_work(self.job)
        })
    }

    /// Digest of all that a signature covers; empty where it can't be made, which no signature matches.
    pub(super) fn work(&self) -> &str {
        self.shared.work.get(WORK, || {
            watch::everything();
            self.job.work_digest().unwrap_or_else(|_| "none".into())
        })
    }

    pub(super) fn leads(&self, board: &Board) -> Option<&leads::Leads> {
        self.leads_at(self.tree.index(board)?, board)
    }

    fn leads_at(&self, i: usize, board: &Board) -> Option<&leads::Leads> {
        let memo = &self.shared.boards.get(i)?.leads;
        Some(memo.get(number(i, LEADS), || leads::Leads::of(self, board)))
    }

    pub(super) fn times(&self, board: &Board) -> Option<&same::Times> {
        self.times_at(self.tree.index(board)?, board)
    }

    fn times_at(&self, i: usize, board: &Board) -> Option<&same::Times> {
        let memo = &self.shared.boards.get(i)?.times;
        Some(memo.get(number(i, TIMES), || same::Times::of(self, board)))
    }

    pub(super) fn by_expectation(&self, board: &Board) -> Option<&likely::ByExpectation> {
        self.by_expectation_at(self.tree.index(board)?, board)
    }

    fn by_expectation_at(&self, i: usize, board: &Board) -> Option<&likely::ByExpectation> {
        let memo = &self.shared.boards.get(i)?.by_expectation;
        let make = || likely::ByExpectation::of(self, board);
        Some(memo.get(number(i, BY_EXPECTATION), make))
    }
}
