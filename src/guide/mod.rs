//! The ordered steps for a job: what comes when, what it waits for, what comes next.
//!
//! The order and the wording are data (`forms/steps.ron`); this room only lays them over the job.

mod around;
mod gates;

pub use around::NoWay;
pub use gates::Gates;

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::ops::Range;

use crate::checks::{Finding, Verdict, needs_fresh};
use crate::forms::{Forms, Stage, StepText};
use crate::job::owner::Kind;
use crate::job::{Group, Job, Need, Place, Seat, Test};

/// One step of the walk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Where.
    pub place: Place,
    /// Kind of owner, for the wording.
    pub kind: Kind,
    /// Which stage it belongs to, an index into the forms' stages.
    pub stage: usize,
    /// Whether the record is complete without it.
    pub need: Need,
    /// Owner in words.
    pub title: String,
    /// Tests of the same place that come first.
    pub needs: Vec<Test>,
    /// The confirmation that it needs fresh, also where it is taken again: that it is dead, or without inverters.
    pub fresh: Option<Test>,
}

impl Step {
    /// Whether it comes after all that comes before it: a signature, and to energise.
    fn waits_for_everything(&self) -> bool {
        self.kind == Kind::Sign || self.place.test == Test::Energise
    }
}

/// Two ways through a stage. Neither comes before what the other waits for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Order {
    /// All tests of a place, then the next place.
    #[default]
    ByPlace,
    /// One test at all places, then the next test: the instrument stays as it is set.
    ByTest,
}

/// All steps of a job, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plan {
    steps: Vec<Step>,
    index: HashMap<Place, usize>,
    /// Positions of the confirmations that later steps wait for.
    confirmations: Vec<usize>,
    /// Positions of the steps of each stage.
    stages: Vec<Range<usize>>,
    /// For each stage, the stages that must be closed before it.
    after: Vec<BTreeSet<usize>>,
    /// First names of what gets power when the supply is switched on: origin, bonds, boards and their circuits.
    energised: BTreeSet<String>,
    /// For each stage, whether conductors are live.
    live: Vec<bool>,
    /// For each stage, whether its steps wait for nothing outside their place.
    anytime: Vec<bool>,
}

impl Plan {
    /// Lays the order of work over a job, place by place.
    pub fn new(job: &Job, forms: &Forms) -> Plan {
        Plan::in_order(job, forms, Order::ByPlace)
    }

    /// Lays the order of work over a job.
    pub fn in_order(job: &Job, forms: &Forms, order: Order) -> Plan {
        let seats = job.seats();
        let walk = &forms.walk().stages;
        let mut plan = Plan::default();
        for (stage, words) in walk.iter().enumerate() {
            let start = plan.steps.len();
            for round in &words.rounds {
                let visited: Vec<&Seat<'_>> = seats
                    .iter()
                    .filter(|s| round.visits.contains(&s.owner.kind()))
                    .collect();
                let runs: Vec<&[StepText]> = match order {
                    Order::ByPlace => vec![round.steps.as_slice()],
                    Order::ByTest => round.runs().collect(),
                };
                for run in runs {
                    for seat in &visited {
                        plan.take_in(job, seat, stage, run);
                    }
                }
            }
            plan.stages.push(start..plan.steps.len());
            // What a stage comes after, it comes after together with all that comes before that.
            let named = words
                .after
                .iter()
                .filter_map(|id| walk.iter().position(|s| s.id == *id));
            let mut before: BTreeSet<usize> = named.collect();
            for earlier in before.clone() {
                before.extend(plan.after.get(earlier).into_iter().flatten());
            }
            plan.after.push(before);
            plan.live.push(words.live);
            plan.anytime.push(words.anytime && !words.live);
        }
        let gets_power = [Kind::Supply, Kind::Bond, Kind::Board];
        plan.energised = seats
            .iter()
            .filter(|s| gets_power.contains(&s.owner.kind()))
            .map(|s| s.top.to_string())
            .collect();
        let steps = plan.steps.iter().enumerate();
        plan.index = steps.clone().map(|(i, s)| (s.place.clone(), i)).collect();
        plan.confirmations = steps
            .filter(|(_, s)| s.kind == Kind::Safe)
            .map(|(i, _)| i)
            .collect();
        plan
    }

    /// Adds the steps of a run that a place needs.
    fn take_in(&mut self, job: &Job, seat: &Seat<'_>, stage: usize, run: &[StepText]) {
        let wanted = job.wanted(seat.owner);
        for text in run {
            let Some((_, need)) = wanted.iter().find(|(t, _)| *t == text.test) else {
                continue;
            };
            self.steps.push(Step {
                place: seat.place(text.test),
                kind: seat.owner.kind(),
                stage,
                need: *need,
                title: seat.title(),
                needs: text.needs.clone(),
                fresh: needs_fresh(job, seat, text.test),
            });
        }
    }

    /// The steps.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Where a place comes in the order.
    pub fn position(&self, place: &Place) -> Option<usize> {
        self.index.get(place).copied()
    }

    /// The first step that can be taken now and is open, from `from` on, then from the beginning.
    /// Where every open step waits for something, the first of them.
    pub fn next_open(&self, from: usize, verdicts: &Verdicts) -> Option<usize> {
        self.next_to_do(from, verdicts, false)
    }

    /// As [`next_open`](Self::next_open); with `countersigns` also steps whose reading waits for a countersign, which go before
    /// what may be taken at any time.
    pub fn next_to_do(
        &self,
        from: usize,
        verdicts: &Verdicts,
        countersigns: bool,
    ) -> Option<usize> {
        self.next_through(from, verdicts, &Gates::of(self, verdicts), countersigns)
    }

    /// As [`next_to_do`](Self::next_to_do), where the gates are at hand.
    pub fn next_through(
        &self,
        from: usize,
        verdicts: &Verdicts,
        gates: &Gates,
        countersigns: bool,
    ) -> Option<usize> {
        let to_sign = countersigns
            .then(|| gates.next_to_countersign(from))
            .flatten();
        let mut at = Some(from);
        let mut free = None;
        // Once from there to the end, then from the beginning.
        let mut wrapped = false;
        let mut waiting: Option<usize> = None;
        loop {
            let next = at.and_then(|at| gates.next_open(at));
            let Some(i) = next.filter(|i| !wrapped || *i < from) else {
                if wrapped {
                    break;
                }
                (wrapped, at) = (true, Some(0));
                continue;
            };
            let stage = self.steps.get(i).map_or(0, |s| s.stage);
            if self.is_shut(stage, gates) {
                // All of its steps wait, so none of them is looked at.
                let end = self.stages.get(stage).map_or(i + 1, |s| s.end.max(i + 1));
                waiting = Some(waiting.map_or(i, |w| w.min(i)));
                at = Some(end);
                continue;
            }
            if self.in_the_way(i, gates, verdicts).is_none() {
                free = Some(i);
                break;
            }
            waiting = Some(waiting.map_or(i, |w| w.min(i)));
            at = Some(i + 1);
        }
        // What may be taken at any time gives way to a countersign, which others may be waiting for.
        let at_any_time = |i: usize| self.steps.get(i).is_some_and(|s| self.is_anytime(s.stage));
        if to_sign.is_some_and(|i| !at_any_time(i)) && free.is_some_and(at_any_time) {
            return to_sign;
        }
        // What comes first, going round from `from`.
        let round = |i: &usize| (*i < from, *i);
        to_sign
            .into_iter()
            .chain(free)
            .min_by_key(round)
            .or(waiting)
    }

    /// What step `i` waits for; `None` when it may be taken now.
    ///
    /// Every step waits for the confirmations before it (isolated, proved dead, ready to energise, inverters isolated),
    /// for the stages that the forms put before its stage, and for the tests of its own place that the forms name.
    /// To energise waits for everything before it, for devices that can't stand or isolate power from both sides, for
    /// protective conductors and main switches that are too small, and for figures of the supply, boards and circuits that
    /// nobody has compared with what is on site. What is read after that waits for the figures of its own part.
    /// What has to be dead waits for that to be confirmed again where it was made live since, also where it is taken again.
    /// A signature waits for everything. A step of a stage that may be taken at any time waits for its own place alone.
    ///
    /// A reading that waits for a countersign is in order for the tests of its own place and the steps of its own stage,
    /// and for nothing else; a confirmation that does is in order for nothing.
    pub fn waits_for(&self, i: usize, verdicts: &Verdicts) -> Option<Place> {
        self.waits_behind(i, verdicts, &Gates::of(self, verdicts))
    }

    /// As [`waits_for`](Self::waits_for), where the gates are at hand.
    pub fn waits_behind(&self, i: usize, verdicts: &Verdicts, gates: &Gates) -> Option<Place> {
        self.in_the_way(i, gates, verdicts)
    }

    /// [`waits_for`](Self::waits_for) of many places; those without a step wait for nothing here.
    pub fn each_waits_for<'a>(
        &self,
        places: impl Iterator<Item = &'a Place>,
        verdicts: &Verdicts,
    ) -> Vec<Option<Place>> {
        let gates = Gates::of(self, verdicts);
        places
            .map(|place| self.in_the_way(self.position(place)?, &gates, verdicts))
            .collect()
    }

    /// Whether a stage comes after one that isn't closed.
    fn is_shut(&self, stage: usize, gates: &Gates) -> bool {
        let before = self.after.get(stage).into_iter().flatten();
        before.copied().any(|s| gates.first_of(s).is_some())
    }

    fn in_the_way(&self, i: usize, gates: &Gates, verdicts: &Verdicts) -> Option<Place> {
        let step = self.steps.get(i)?;
        let confirmation = self.unconfirmed(i, step, verdicts).next();
        let before = self.after.get(step.stage)?;
        let stage = before.iter().filter_map(|s| gates.first_of(*s));
        let everything = step.waits_for_everything();
        let earlier = everything.then(|| gates.first_before(i)).flatten();
        let own = step
            .needs
            .iter()
            .filter_map(|t| self.position(&step.place.with(*t)))
            .find(|n| self.blocks(*n, verdicts));
        let first = confirmation
            .into_iter()
            .chain(stage)
            .chain(earlier)
            .chain(own)
            .min_by_key(|at| self.rank(*at, verdicts));
        match first.and_then(|f| self.steps.get(f)) {
            Some(first) => Some(first.place.clone()),
            None => verdicts
                .worked_out_against(step, &self.energised)
                .or_else(|| self.unfit_under_power(i, step, verdicts))
                .or_else(|| self.unfit_to_run(i, step, verdicts))
                .or_else(|| self.rests_on(i, step, verdicts)),
        }
    }

    /// The confirmations before step `i` that aren't in order; none of them matters to a step that may be taken at any time.
    /// A proof that it was dead before it was made live is none for what has to be dead now.
    fn unconfirmed<'a>(
        &'a self,
        i: usize,
        step: &Step,
        verdicts: &'a Verdicts,
    ) -> impl Iterator<Item = usize> + 'a {
        let anytime = self.is_anytime(step.stage);
        let fresh = step.fresh;
        let before = self.confirmations.iter().copied();
        before.filter(move |c| {
            (*c < i && !anytime && self.holds_up(*c, verdicts))
                || self
                    .steps
                    .get(*c)
                    .is_some_and(|s| fresh == Some(s.place.test) && verdicts.is_stale(&s.place))
        })
    }

    /// Whether conductors are live in a stage; one that nobody knows counts so.
    fn is_live(&self, stage: usize) -> bool {
        self.live.get(stage).copied().unwrap_or(true)
    }

    /// Whether the steps of a stage wait for nothing outside their place.
    fn is_anytime(&self, stage: usize) -> bool {
        self.anytime.get(stage).copied().unwrap_or(false)
    }

    /// What was found unfit for power after power was put on: nothing live goes on over it, save that a reading which it was
    /// worked out from may be taken again.
    fn unfit_under_power(&self, i: usize, step: &Step, verdicts: &Verdicts) -> Option<Place> {
        let energise = Place::of(Group::Safe.key(), Test::Energise);
        let live = self.is_live(step.stage);
        let after = self.position(&energise).is_some_and(|at| i > at);
        (live && after && verdicts.of(&energise) == Verdict::Within)
            .then(|| {
                // Figures that nobody compared hold up their own part alone.
                verdicts.first_worked_out(&|place, verdict| {
                    place.test != Test::Compared
                        && unfit(place, verdict, &self.energised)
                        && !(verdicts.has_figure(&step.place) && looks_at(place, &step.place))
                })
            })
            .flatten()
    }

    /// What was found outside or open after the inverters were confirmed to be ready: nothing that they run for goes on over it.
    /// What is told or dated holds nothing back.
    fn unfit_to_run(&self, i: usize, step: &Step, verdicts: &Verdicts) -> Option<Place> {
        let connected = Place::of(Group::Safe.key(), Test::Connected);
        let after = self.position(&connected).is_some_and(|at| i > at);
        (after && self.is_live(step.stage) && verdicts.of(&connected) == Verdict::Within)
            .then(|| {
                verdicts.first_worked_out(&|place, verdict| {
                    let told = matches!(
                        place.test,
                        Test::Compared | Test::Notification | Test::Dates | Test::SerialNumbers
                    );
                    verdict.blocks() && !told
                })
            })
            .flatten()
    }

    /// The part of a live step, where nobody has compared its figures with what is on site: what is read there would be judged
    /// by them. Matters for what is added once the rest has power.
    fn rests_on(&self, i: usize, step: &Step, verdicts: &Verdicts) -> Option<Place> {
        let energise = self.position(&Place::of(Group::Safe.key(), Test::Energise))?;
        if i <= energise || self.is_anytime(step.stage) {
            return None;
        }
        let own = step.place.with(Test::Compared);
        let whole = Place::of(&step.place.top, Test::Compared);
        [own, whole]
            .into_iter()
            .find(|place| verdicts.verdicts.get(place).is_some_and(|v| v.blocks()))
    }

    /// Whether a step keeps the record from being complete. An optional one does where it was taken and is outside, or where an
    /// apprentice took it.
    fn is_holding_up(&self, i: usize, verdicts: &Verdicts) -> bool {
        self.steps.get(i).is_some_and(|s| {
            let verdict = verdicts.of(&s.place);
            (s.need == Need::Required && verdict.blocks())
                || verdict == Verdict::Outside
                || verdicts.waits_for_countersign(&s.place)
        })
    }

    /// Whether a step is still to be taken.
    fn is_open(&self, i: usize, verdicts: &Verdicts) -> bool {
        self.steps
            .get(i)
            .is_some_and(|s| s.need == Need::Required && verdicts.of(&s.place) == Verdict::Open)
    }

    /// What is named first: a confirmation, or what is open or outside. Countersigning comes when that is done.
    fn rank(&self, i: usize, verdicts: &Verdicts) -> (bool, usize) {
        let safe = self.steps.get(i).is_some_and(|s| s.kind == Kind::Safe);
        (!safe && !self.blocks(i, verdicts), i)
    }

    /// Whether a step is not in order for what depends on it.
    fn holds_up(&self, i: usize, verdicts: &Verdicts) -> bool {
        let waits = |s: &Step| verdicts.waits_for_countersign(&s.place);
        self.blocks(i, verdicts) || self.steps.get(i).is_some_and(waits)
    }

    fn blocks(&self, i: usize, verdicts: &Verdicts) -> bool {
        self.steps
            .get(i)
            .is_some_and(|s| verdicts.of(&s.place).blocks())
    }
}

/// Stage and wording of a step.
pub fn wording<'a>(forms: &'a Forms, step: &Step) -> Option<(&'a Stage, &'a StepText)> {
    let stage = forms.walk().stages.get(step.stage)?;
    let text = forms.walk().step(step.kind, step.place.test)?;
    Some((stage, text))
}

/// Verdicts by place, and the places that wait for a countersign.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdicts {
    verdicts: HashMap<Place, Verdict>,
    to_countersign: HashSet<Place>,
    /// Confirmations that are in order for what was read before, and for nothing that is read now.
    stale: HashSet<Place>,
    /// What is worked out and not in order, by place.
    worked_out: BTreeMap<Place, Verdict>,
}

impl Verdicts {
    /// Of a whole job.
    pub fn new(findings: &[Finding]) -> Verdicts {
        let mut out = Verdicts {
            verdicts: HashMap::with_capacity(findings.len()),
            ..Verdicts::default()
        };
        for finding in findings {
            out.take(finding);
        }
        out
    }

    /// Puts a finding in the place of the one before.
    pub fn take(&mut self, finding: &Finding) {
        let place = &finding.place;
        self.set(place, finding.verdict);
        if finding.waits_for_countersign {
            self.to_countersign.insert(place.clone());
        } else {
            self.to_countersign.remove(place);
        }
        if finding.stale {
            self.stale.insert(place.clone());
        } else {
            self.stale.remove(place);
        }
    }

    /// Returns what it was.
    fn set(&mut self, place: &Place, verdict: Verdict) -> Option<Verdict> {
        if place.test.is_derived() {
            if verdict.blocks() || verdict == Verdict::Query {
                self.worked_out.insert(place.clone(), verdict);
            } else {
                self.worked_out.remove(place);
            }
        }
        match self.verdicts.get_mut(place) {
            Some(before) => Some(std::mem::replace(before, verdict)),
            None => self.verdicts.insert(place.clone(), verdict),
        }
    }

    /// Whether the reading of a place waits for a countersign.
    pub fn waits_for_countersign(&self, place: &Place) -> bool {
        self.to_countersign.contains(place)
    }

    /// Whether a place is a confirmation that something has made void since: that it is dead, by making it live, or that the
    /// inverters are isolated, by running them. Its verdict stands for what was read before.
    pub fn is_stale(&self, place: &Place) -> bool {
        self.stale.contains(place)
    }

    /// Why such a one is to be confirmed again and what comes first, in words; `None` for any other.
    pub fn again_words(&self, place: &Place) -> Option<&'static str> {
        self.is_stale(place).then_some(match place.test {
            Test::ProvedDead => {
                "it was made live since that was confirmed. Isolate, lock off, prove it dead"
            }
            _ => "the inverters ran since that was confirmed. Isolate them, then confirm it",
        })
    }

    /// The first finding worked out from the record that forbids a step: nothing is energised through a device that
    /// can't stand or isolate power from both sides or can't break the fault current, nor over conductors or a main switch
    /// that are too small, nor while those judgements rest on figures that nobody has compared with what is on site;
    /// nothing is connected to run while any is outside or open, and nobody signs over one. `energised`: first names of
    /// what gets power with the supply.
    fn worked_out_against(&self, step: &Step, energised: &BTreeSet<String>) -> Option<Place> {
        let unfit = |place: &Place, verdict| unfit(place, verdict, energised);
        let forbids: &dyn Fn(&Place, Verdict) -> bool = match (step.place.test, step.kind) {
            (Test::Energise, _) => &unfit,
            // Dates hold up nobody but who signs.
            (Test::Connected, _) => &|place, verdict| {
                unfit(place, verdict) || (verdict.blocks() && place.test != Test::Dates)
            },
            (_, Kind::Sign) => &|_, verdict| verdict.blocks(),
            _ => return None,
        };
        self.first_worked_out(forbids)
    }

    /// The first device or conductor of the record that nothing may be energised through.
    fn unfit_for_power(&self, energised: &BTreeSet<String>) -> Option<Place> {
        self.first_worked_out(&|place, verdict| unfit(place, verdict, energised))
    }

    fn first_worked_out(&self, forbids: &dyn Fn(&Place, Verdict) -> bool) -> Option<Place> {
        // Nothing that is in order forbids a step.
        let mut worked_out = self.worked_out.iter();
        worked_out
            .find(|(place, verdict)| forbids(place, **verdict))
            .map(|(place, _)| place.clone())
    }

    /// Whether a place has a reading that something may be worked out from.
    fn has_figure(&self, place: &Place) -> bool {
        !matches!(self.of(place), Verdict::Open | Verdict::Excused)
    }

    /// The verdict of a place; open where nothing is known of it.
    pub fn of(&self, place: &Place) -> Verdict {
        self.verdicts.get(place).copied().unwrap_or(Verdict::Open)
    }
}

/// Whether what is worked out at a place goes by a reading that is taken live: the loop or the fault current of its board or its
/// own. What is read at the origin comes before power.
fn looks_at(worked_out: &Place, reading: &Place) -> bool {
    let own = worked_out.top == reading.top && worked_out.part == reading.part;
    let of_board = worked_out.top == reading.top && reading.part.is_none();
    match (worked_out.test, reading.test) {
        (Test::BreakingCapacity, Test::Pfc) | (Test::Cpc, Test::Zdb | Test::Pfc) => of_board,
        (Test::Cpc, Test::Zs) => own,
        _ => false,
    }
}

/// Whether what is worked out from the record forbids to energise.
fn unfit(place: &Place, verdict: Verdict, energised: &BTreeSet<String>) -> bool {
    match place.test {
        Test::Compared => verdict.blocks() && energised.contains(&place.top),
        Test::BothWays => matches!(verdict, Verdict::Outside | Verdict::Query),
        Test::PolesOpen
        | Test::BreakingCapacity
        | Test::Cpc
        | Test::EarthingSize
        | Test::BondSize
        | Test::MainSwitch => verdict == Verdict::Outside,
        _ => false,
    }
}

/// Whether a record may be signed off: nothing outside, nothing open, nothing to countersign.
pub fn is_complete(findings: &[Finding]) -> bool {
    !findings.iter().any(Finding::holds_up)
}

/// Whether all signatures stand and are in order.
pub fn is_signed(findings: &[Finding]) -> bool {
    let mut signatures = findings
        .iter()
        .filter(|f| f.place.test.is_signature())
        .peekable();
    signatures.peek().is_some() && signatures.all(|f| f.verdict == Verdict::Within)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used)]
mod tests;
