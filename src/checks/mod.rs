//! Every reading against the forms: a verdict, the limit, the margin, and why.
//!
//! Pure: no clock, file or environment. One file per subject; [`Judge`] picks the file by test.

mod balance;
mod board;
mod branch;
mod capacity;
mod compared;
mod connection;
mod continuity;
mod cpc;
mod dates;
mod dc_input;
mod doubt;
mod earthing;
mod explain;
mod extremes;
mod fault_current;
mod finding;
mod fuse;
mod impedance;
mod instrument;
mod insulation;
mod insulation_board;
mod leads;
mod likely;
mod made_with;
mod network;
mod notice;
mod order;
mod pv;
mod pv_insulation;
mod rcd;
mod records;
mod ring;
mod rule;
mod running;
mod same;
mod selectivity;
mod serials;
mod settings;
mod shared;
mod siting;
mod source_circuit;
mod standing;
mod transformers;
mod tree;
mod voltage;
mod zs;
mod zs_carried;

pub use crate::calc::Procedure;
pub use balance::{Balance, Gave};
pub use connection::{Connection, connection, units_by_line};
pub use explain::{Told, explain};
pub use finding::{Finding, Uncertainty, Verdict};
pub use order::needs_fresh;
pub use rule::{Bound, Rule};
pub use settings::{ProtectionStage, chosen_profile, profiles, protection_stages};
pub use standing::{Again, Standing};
pub use transformers::{MeterBalance, order as transformer_order};
pub use zs::longest_time;

use doubt::Doubt;
use rule::Figure;
use shared::Shared;

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use rust_decimal::Decimal;

use crate::forms::{Forms, Limit, MissingLimit};
use crate::job::vouch::takes_no_reason;
use crate::job::{Board, Circuit, Function, Job, Need, Owner, Place, Reading, Seat, Test, Value};

/// Result of looking a rule up: a limit may be missing from the files.
type Ruled = Result<Rule, MissingLimit>;

/// Judges the readings of one job by one set of forms.
#[derive(Debug)]
pub struct Judge<'a> {
    job: &'a Job,
    forms: &'a Forms,
    laid: Arc<Laid>,
    /// What feeds into each circuit.
    network: network::Network<'a>,
    /// Boards as a tree.
    tree: tree::Tree<'a>,
    /// What follows is prepared when the first check asks for it.
    shared: Arc<Shared>,
}

/// What checks of a whole job go by, prepared once until the record itself is edited. Nothing that was read goes into it.
#[derive(Debug)]
struct Laid {
    /// Board and circuit of each `BOARD/CIRCUIT`.
    circuits: HashMap<String, (usize, usize)>,
    network: Arc<network::Laid>,
    tree: Arc<tree::Laid>,
    /// Strings by the input they share.
    inputs: dc_input::Inputs,
    /// Serial numbers by where they stand.
    serials: serials::Serials,
}

impl Laid {
    fn of(job: &Job, forms: &Forms) -> Laid {
        let circuits = || {
            let boards = job.boards.iter().enumerate();
            boards.flat_map(|(b, board)| {
                let all = board.circuits.iter().enumerate();
                all.map(move |(c, circuit)| (board.path(circuit), (b, c), (board, circuit)))
            })
        };
        let by_path = circuits().map(|(path, _, both)| (path, both)).collect();
        Laid {
            circuits: circuits().map(|(path, at, _)| (path, at)).collect(),
            network: Arc::new(network::Laid::of(job, &by_path)),
            tree: Arc::new(tree::Laid::of(job, rcd::most_for_additional(forms))),
            inputs: dc_input::Inputs::of(job),
            serials: serials::Serials::of(job),
        }
    }
}

/// Judges every place of a job, in the order of the file: readings taken, readings open, and what is worked
/// out from them. Tests that are optional and not taken are left out.
pub fn judge_all(job: &Job, forms: &Forms) -> Vec<Finding> {
    Judge::new(job, forms).all()
}

/// How many findings there are of each verdict.
pub fn counts(findings: &[Finding]) -> BTreeMap<Verdict, usize> {
    let mut out: BTreeMap<Verdict, usize> = Verdict::ALL.into_iter().map(|v| (v, 0)).collect();
    for f in findings {
        *out.entry(f.verdict).or_default() += 1;
    }
    out
}

impl<'a> Judge<'a> {
    /// Prepares what the checks of a whole job share.
    pub fn new(job: &'a Job, forms: &'a Forms) -> Self {
        let laid = Arc::new(Laid::of(job, forms));
        Judge::on(job, forms, laid, Arc::new(Shared::of(job)))
    }

    /// On what was prepared before, for a job whose record is the same.
    fn on(job: &'a Job, forms: &'a Forms, laid: Arc<Laid>, shared: Arc<Shared>) -> Self {
        Judge {
            job,
            forms,
            network: network::Network::of(job, Arc::clone(&laid.network)),
            tree: tree::Tree::of(job, Arc::clone(&laid.tree)),
            laid,
            shared,
        }
    }

    /// The job.
    pub fn job(&self) -> &'a Job {
        self.job
    }

    /// The board and circuit named `BOARD/CIRCUIT`, at once also in a large job.
    fn circuit(&self, path: &str) -> Option<(&'a Board, &'a Circuit)> {
        let (board, circuit) = self.laid.circuits.get(path)?;
        let board = self.job.boards.get(*board)?;
        Some((board, board.circuits.get(*circuit)?))
    }

    /// See [`judge_all`].
    pub fn all(&self) -> Vec<Finding> {
        let mut out = Vec::new();
        for seat in self.job.seats() {
            self.of_seat(&seat, &mut out);
        }
        for seat in self.job.bare_seats() {
            self.of_seat(&seat, &mut out);
        }
        out
    }

    /// Findings of one owner of readings, or of a part that has none.
    fn of_seat(&self, seat: &Seat<'_>, out: &mut Vec<Finding>) {
        if !seat.is_bare() {
            for (test, need) in self.job.wanted(seat.owner) {
                let reading = seat.readings.get(test).map(|e| &e.now);
                if reading.is_some() || need == Need::Required {
                    out.push(self.reading(seat, test, reading));
                }
            }
        }
        out.extend(self.worked_out(seat));
    }

    /// The finding of one place; `None` where the job has no such place.
    pub fn place(&self, place: &Place) -> Option<Finding> {
        let seat = self.job.seat(place)?;
        if place.test.is_derived() {
            return self
                .worked_out(&seat)
                .into_iter()
                .find(|f| f.place == *place);
        }
        Some(self.reading(
            &seat,
            place.test,
            seat.readings.get(place.test).map(|e| &e.now),
        ))
    }

    /// What the finding would be if `reading` were kept. The job is not changed.
    pub fn preview(&self, seat: &Seat<'_>, test: Test, reading: &Reading) -> Finding {
        self.reading(seat, test, Some(reading))
    }

    /// What the time of a reading contradicts, each by itself and whatever its value is: the order of the work, inverters that
    /// ran, the calibration of its instrument.
    pub fn by_time(&self, seat: &Seat<'_>, test: Test, reading: &Reading) -> Vec<String> {
        [
            self.order().too_early(seat, test, reading),
            running::spoilt(self, seat, test, reading),
            instrument::unfit(self, test, reading),
        ]
        .into_iter()
        .flatten()
        .map(|doubt| doubt.why)
        .collect()
    }

    /// What a reading has to satisfy, before it is taken.
    ///
    /// # Errors
    /// [`MissingLimit`] where the forms don't have the limit, such as a fuse rating that no table lists.
    pub fn rule(&self, seat: &Seat<'_>, test: Test) -> Ruled {
        use Test as T;
        match test {
            T::Continuity => continuity::conductor(self, seat),
            T::R1 | T::Rn | T::R2 | T::RingLn => ring::rule(self, seat, test),
            T::R1r2 => continuity::r1r2(self, seat),
            T::IrLl | T::IrLe => insulation::rule(self, seat, test),
            T::Ra => impedance::electrode_of(self, seat),
            T::Ze => impedance::external(self),
            T::Zdb => impedance::board(self, seat),
            T::Zs => zs::rule(self, seat),
            T::PfcLn | T::PfcLe | T::PfcLl => fault_current::origin(self, test),
            T::Pfc => fault_current::board(self, seat),
            T::RcdTime | T::RcdHalf | T::RcdFive => rcd::rule(self, seat, test),
            T::Count => branch::count(self, seat),
            T::Irradiance => pv::irradiance(self),
            T::CellTemp => Ok(Rule::free(
                "temperature of the cells, from the back of a module in the sun",
            )),
            T::Voc => pv::voc(self, seat),
            T::Isc => pv::isc(self, seat),
            T::IrPos | T::IrNeg | T::IrJoined => pv::insulation(self, seat, test),
            T::DcVoltage => Ok(records::storage_voltage(seat)),
            T::Modules => Ok(records::storage_modules(seat)),
            T::Reconnect => records::reconnect(self),
            T::Profile => Ok(Rule::free("name of the profile to be set, as accepted")),
            T::Balance => balance::rule(self, seat),
            T::CtIdle | T::CtSurplus | T::CtCharging => transformers::rule(self, test),
            T::ExportPeak => Ok(records::export_peak(self)),
            T::FailSafe => records::fail_safe(self),
            T::Fitted => Ok(records::label(self, seat)),
            setting if setting.is_setting() => settings::rule(self, setting),
            T::SignDesign | T::SignConstruction | T::SignInspection => {
                Ok(Rule::free("signed by the person named"))
            }
            _ => Ok(Rule {
                bound: Bound::Yes,
                ..Rule::free("answered by looking or trying")
            }),
        }
    }

    /// A second look at a reading that meets its limit: what it contradicts, if anything.
    fn cross(
        &self,
        seat: &Seat<'_>,
        test: Test,
        value: &Value,
        reading: &Reading,
    ) -> Option<Doubt> {
        if let Some(query) = extremes::nothing(self, test, value) {
            return Some(query);
        }
        let subject = match test {
            Test::R1r2 => zs::used_up_by_r1r2(self, seat, value)
                .filter(|doubt| doubt.verdict == Verdict::Outside)
                .or_else(|| leads::not_nulled(self, seat, value, reading))
                .or_else(|| continuity::against_length(self, seat, value))
                .or_else(|| zs::used_up_by_r1r2(self, seat, value)),
            Test::R1 | Test::Rn | Test::R2 | Test::RingLn => {
                ring::against_expected(self, seat, test, value)
            }
            Test::IrLl | Test::IrLe => insulation::second_look(self, seat, test, value),
            Test::Ra => impedance::electrode_below_loop(self, seat, value)
                .or_else(|| impedance::low_on_tt(self, value)),
            Test::Ze => impedance::below_electrode(self, value)
                .or_else(|| impedance::low_on_tt(self, value)),
            Test::Zdb => impedance::against_upstream(self, seat, value)
                .or_else(|| impedance::before_its_rcds(self, seat, value)),
            Test::RcdTime | Test::RcdFive => same::rcd_times(self, seat, test, value)
                .or_else(|| rcd::slower_at_five(self, seat, test, value)),
            Test::PfcLn | Test::PfcLl => fault_current::against_other_loops(self, test, value),
            Test::PfcLe | Test::Pfc => fault_current::second_look(self, seat, test, value),
            Test::Irradiance => pv::irradiance_slip(self, value),
            Test::Voc | Test::Isc => pv::against_other_strings(self, seat, test, value),
            Test::IrPos | Test::IrNeg | Test::IrJoined => pv_insulation::low(self, seat, value),
            Test::Profile => settings::unfit_profile(self, value),
            Test::SignDesign | Test::SignConstruction | Test::SignInspection => {
                records::signature(self, test, value, reading)
            }
            Test::InvertersOff => running::to_be_confirmed_again(self, test, reading),
            Test::ProvedDead => order::to_be_proved_again(self, reading),
            Test::Energise => order::to_be_confirmed_after(self, test, reading),
            Test::FlowDirection => records::other_device(self, reading),
            Test::Connected | Test::Restored => order::to_be_confirmed_after(self, test, reading)
                .or_else(|| (test == Test::Connected).then(|| records::not_accepted(self))?)
                .or_else(|| running::isolated_since(self, reading)),
            _ => None,
        };
        subject
            .or_else(|| self.order().too_early(seat, test, reading))
            .or_else(|| running::spoilt(self, seat, test, reading))
            .or_else(|| same::in_a_row(self, seat, test, value))
            .or_else(|| instrument::unfit(self, test, reading))
    }

    /// A reason in place of a reading that leaves something unproved. Files of former versions have reasons where none is
    /// taken any more.
    fn excused(&self, seat: &Seat<'_>, test: Test, value: &Value) -> Option<Doubt> {
        if takes_no_reason(&seat.place(test)) {
            return Some(Doubt::open(format!(
                "safety hangs on this one, and no reason takes its place ({value}): it is still to be done"
            )));
        }
        match test {
            Test::Zs => zs::excused(self, seat, value),
            Test::IrLe => insulation::nothing_shows_it(seat, value),
            Test::RcdTime => rcd::untried(self, seat, value),
            Test::Zdb => impedance::before_its_rcds(self, seat, value),
            _ => None,
        }
    }

    /// The last that was measured at a place, where it is outside or queried by what counts today: a reason that is kept over it
    /// takes a fault out of the paper and not out of the installation, and answers no question.
    fn failed(&self, seat: &Seat<'_>, test: Test) -> Option<Finding> {
        let entry = seat.readings.get(test)?;
        let read = entry.struck.iter().chain([&entry.now]).rev();
        let mut measured = read.filter(|r| r.value(test).is_ok_and(|v| !v.is_excused()));
        let found = self.judged(seat, test, Some(measured.next()?));
        let counts = match found.verdict {
            Verdict::Outside => true,
            // What was read of the equipment is no reading of the cable, and a reason is what is asked for instead.
            Verdict::Query => !insulation::lives_are_joined(seat, test),
            _ => false,
        };
        counts.then_some(found)
    }

    fn reading(&self, seat: &Seat<'_>, test: Test, reading: Option<&Reading>) -> Finding {
        let mut finding = self.judged(seat, test, reading);
        if let Some(reading) = reading {
            finding.entered(self.job, reading);
            finding.stale = match test {
                Test::ProvedDead => self.order().live_since(reading.at),
                Test::InvertersOff => self.running().after(reading.at).is_some(),
                _ => false,
            };
        }
        finding
    }

    fn judged(&self, seat: &Seat<'_>, test: Test, reading: Option<&Reading>) -> Finding {
        let mut finding = Finding::open(seat.place(test));
        finding.value = reading.map(|r| r.typed.trim().to_string());
        let rule = match self.rule(seat, test) {
            Ok(rule) => rule,
            Err(missing) => {
                let known = reading
                    .and_then(|r| r.value(test).ok())
                    .and_then(|value| extremes::outright(self, test, &value, None));
                let unjudged = format!("can't be judged: {missing}");
                finding.doubted(known.unwrap_or_else(|| match reading {
                    Some(_) => Doubt::query(unjudged),
                    None => Doubt::open(unjudged),
                }));
                return finding;
            }
        };
        finding.judged_by(&rule);
        let Some(reading) = reading else {
            finding.why = format!("not yet taken; {}", rule.how);
            return finding;
        };
        let value = match reading.value(test) {
            Ok(value) => value,
            Err(why) => {
                finding.verdict = Verdict::Query;
                finding.why = match likely::unreadable(test, &reading.typed) {
                    Some(cause) => format!("can't be read: {why}; {cause}"),
                    None => format!("can't be read: {why}"),
                };
                return finding;
            }
        };
        if matches!(value, Value::Pass | Value::Fail) {
            finding.value = Some(value.to_string());
        }
        if let Some(doubt) = extremes::outright(self, test, &value, Some(&rule)) {
            finding.doubted(doubt);
            return finding;
        }
        let limited = !matches!(rule.bound, Bound::Free | Bound::Yes | Bound::Exactly(_));
        finding.uncertainty = self
            .uncertainty(test, reading)
            .filter(|_| limited && value.number().is_some())
            .filter(|_| !pv::is_indicative(self, seat, test));
        finding.basis.extend(self.usual_uncertainty(&finding));
        let outcome = match value.numbers() {
            Some(numbers) => self.several(seat, test, numbers),
            None => rule::compare(
                &rule,
                &value,
                test.unit(),
                finding.uncertainty.as_ref().map(|u| u.percent),
            ),
        };
        finding.verdict = outcome.verdict;
        finding.margin = outcome.margin.map(|m| m.to_string());
        finding.why = outcome.why;
        if value.is_excused() {
            let untaken = self.excused(seat, test, &value);
            let most = untaken.as_ref().map(|doubt| doubt.verdict);
            let failed = self.failed(seat, test).filter(|failed| match most {
                Some(Verdict::Open) => false,
                Some(Verdict::Outside) => failed.verdict == Verdict::Outside,
                _ => true,
            });
            if let Some(failed) = failed {
                finding.failed_before(&failed, &value, untaken);
            } else if let Some(doubt) = untaken {
                finding.doubted(doubt);
            }
            return finding;
        }
        if let Some(advice) = impedance::stability(self, test, &value) {
            finding.why = format!("{}; {advice}", finding.why);
            finding.basis.extend(self.entries(&["rcd/ra-stable"]));
        }
        if test == Test::Zs
            && let Some(doubt) = zs::second_look(self, seat, &value)
        {
            finding.doubted(doubt);
        } else if matches!(finding.verdict, Verdict::Within | Verdict::Close)
            && let Some(doubt) = self.cross(seat, test, &value, reading)
        {
            finding.doubted(doubt);
        }
        if matches!(finding.verdict, Verdict::Outside | Verdict::Query)
            && let Some(cause) = likely::cause(self, seat, test, &value, &rule)
        {
            finding.why = format!("{}; {cause}", finding.why);
        }
        if test == Test::Zdb
            && let Some(why) = impedance::with_before_rcds(self, seat, &finding.why)
        {
            finding.why = why;
        }
        finding
    }

    /// On TT: what a board takes that no RCD is ahead of, in words.
    pub fn before_rcds(&self, board: &Board) -> Option<String> {
        impedance::before_rcds(self, board)
    }

    /// The outcome of a reading of several numbers, which its own check compares.
    fn several(&self, seat: &Seat<'_>, test: Test, numbers: &[Decimal]) -> rule::Outcome {
        match test {
            Test::Balance => balance::verdict(self, seat, numbers),
            state if state.is_transformer_state() => transformers::verdict(self, test, numbers),
            _ => settings::verdict(self, test, numbers),
        }
    }

    fn worked_out(&self, seat: &Seat<'_>) -> Vec<Finding> {
        let mut out: Vec<Finding> = compared::of(self, seat).into_iter().collect();
        out.extend(serials::of(self, seat));
        match seat.owner {
            Owner::Circuit(board, circuit) => {
                out.extend(fault_current::breaking_capacity(self, seat, board, circuit));
                out.extend(source_circuit::both_ways(self, seat, board, circuit));
                out.extend(source_circuit::poles_open(self, seat, board, circuit));
                out.extend(rcd::kind(self, seat));
                out.extend(rcd::additional(self, seat, board, circuit));
                out.extend(branch::circuit_load(self, seat, board, circuit));
                out.extend(capacity::of_circuit(self, seat, board, circuit));
                out.extend(voltage::of_circuit(self, seat, board, circuit));
                out.extend(cpc::size(self, seat, board, circuit));
                out.extend(board::afdd(self, seat, board, circuit));
                out.extend(selectivity::rcds(self, seat));
            }
            Owner::Board(board) => {
                out.extend(rcd::kind(self, seat));
                out.extend(selectivity::rcds(self, seat));
                out.extend(board::main_switch(self, seat, board));
                out.extend(board::surge(self, seat, board));
                out.extend(board::spd_leads(self, seat, board));
            }
            Owner::Supply(supply) => out.push(earthing::conductor(self, seat, supply)),
            Owner::Bond(bond) => out.push(earthing::bond(self, seat, bond)),
            Owner::Branch(array, branch) => {
                out.extend(branch::load(self, seat, array, branch));
                out.extend(dc_input::of_branch(self, seat, array));
            }
            Owner::PvString(array, string) => {
                out.extend(dc_input::of_string(self, seat, array, string));
                out.extend(dc_input::fuse(self, seat, array, string));
            }
            Owner::Storage(storage) => out.push(siting::rules(self, seat, storage)),
            Owner::Grid(_) => {
                out.extend(notice::connection_of(self, seat));
                out.extend(notice::notification(self, seat));
            }
            Owner::Close => out.extend(dates::of(self, seat)),
            _ => {}
        }
        out
    }

    /// The operating uncertainty of the instrument a reading was taken with: its own where it is recorded, else the limit
    /// files' value for that function.
    pub fn uncertainty(&self, test: Test, reading: &Reading) -> Option<Uncertainty> {
        let function = Function::of(test)?;
        let tool = reading
            .instrument
            .as_deref()
            .and_then(|id| self.job.instrument(id));
        if let Some(tool) = tool
            && let Some(percent) = tool.uncertainty_pct.get(&function)
        {
            return Some(Uncertainty {
                percent: *percent,
                from: format!("instrument {}", tool.id),
            });
        }
        let usual = self
            .forms
            .limit(&format!("uncertainty/{}", function.key()))
            .ok()?;
        Some(Uncertainty {
            percent: usual.value,
            from: usual.id.clone(),
        })
    }

    /// The entry that a finding's uncertainty comes from, where it isn't the instrument's own.
    fn usual_uncertainty(&self, finding: &Finding) -> Option<Arc<Limit>> {
        let used = finding.uncertainty.as_ref()?;
        self.forms.limit(&used.from).ok().cloned()
    }

    /// Entries of the limit files by their ids, those that are there.
    fn entries(&self, ids: &[&str]) -> Vec<Arc<Limit>> {
        ids.iter()
            .filter_map(|id| self.forms.limit(id).ok().cloned())
            .collect()
    }

    /// A finding that the program works out, without a reading of its own.
    fn derived(
        &self,
        seat: &Seat<'_>,
        test: Test,
        value: String,
        rule: &Rule,
        outcome: rule::Outcome,
    ) -> Finding {
        let mut finding = Finding::open(seat.place(test));
        finding.judged_by(rule);
        finding.value = Some(value);
        finding.verdict = outcome.verdict;
        finding.margin = outcome.margin.map(|m| m.to_string());
        finding.why = outcome.why;
        finding
    }
}

/// `x` rounded to `dp` places for showing; `None` where it is not a finite number.
fn rounded(x: f64, dp: u32) -> Option<Decimal> {
    Decimal::from_f64_retain(x).map(|d| d.round_dp(dp))
}

/// A decimal for reckoning.
fn f64_of(d: Decimal) -> f64 {
    use rust_decimal::prelude::ToPrimitive;
    d.to_f64().unwrap_or(f64::INFINITY)
}

/// What a reading of several numbers begins with while some of them are missing.
fn incomplete(given: usize, wanted: usize) -> &'static str {
    if given < wanted { "incomplete, " } else { "" }
}
