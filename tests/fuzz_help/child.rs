//! The child: runs cases, and writes down before each which one it is.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{Seek, SeekFrom, Write};
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook};
use std::path::Path;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use super::mutate::Mutator;
use super::runner::{Came, Failure, MOST_KB, Target};

/// Variables that tell a child what to do begin with this.
pub const PREFIX: &str = "WANDERLEAD_FUZZ_CHILD_";
pub const PROGRESS: &str = "WANDERLEAD_FUZZ_CHILD_PROGRESS";
/// The peak of memory is looked at after so many cases.
pub const LOOK: u64 = 32;

pub const TOO_MUCH: &str = "it takes too much memory";

thread_local! {
    /// What the last panic said, and where.
    static PANIC: RefCell<String> = const { RefCell::new(String::new()) };
}

pub fn is_one() -> bool {
    std::env::var_os(PROGRESS).is_some()
}

fn given(name: &str) -> Option<String> {
    std::env::var(format!("{PREFIX}{name}")).ok()
}

/// How far it got.
#[derive(Debug, Default, Clone)]
pub struct Tally {
    /// Number of the case that is being run.
    pub at: u64,
    pub taken: u64,
    pub refused: u64,
    /// Of a processor.
    pub slowest_us: u128,
    pub slowest_at: u64,
    pub peak_kb: u64,
    pub done: bool,
    /// The time was up before the last case.
    pub cut: bool,
    pub failures: Vec<Failure>,
}

impl Tally {
    pub fn add(&mut self, other: &Tally) {
        self.taken += other.taken;
        self.refused += other.refused;
        if other.slowest_us > self.slowest_us {
            (self.slowest_us, self.slowest_at) = (other.slowest_us, other.slowest_at);
        }
        self.peak_kb = self.peak_kb.max(other.peak_kb);
    }

    /// One line of numbers of one length, so that it can be written in place; failures follow in a file beside.
    fn write(&self, file: &mut File) {
        let line = format!(
            "{:20} {:20} {:20} {:20} {:20} {:20} {}\n",
            self.at,
            self.taken,
            self.refused,
            self.slowest_us,
            self.slowest_at,
            self.peak_kb,
            u8::from(self.done) + u8::from(self.cut)
        );
        file.seek(SeekFrom::Start(0)).unwrap();
        file.write_all(line.as_bytes()).unwrap();
    }

    pub fn read(path: &Path) -> Option<Tally> {
        let text = fs::read_to_string(path).ok()?;
        let numbers: Vec<u64> = text
            .split_whitespace()
            .map(|n| n.parse().ok())
            .collect::<Option<_>>()?;
        let [at, taken, refused, slowest, slowest_at, peak_kb, done] = numbers[..] else {
            return None;
        };
        let failures = fs::read_to_string(path.with_extension("failures")).unwrap_or_default();
        let failures = failures.lines().filter_map(|line| {
            let (number, what) = line.split_once('\t')?;
            Some(Failure {
                number: number.parse().ok()?,
                what: what.into(),
            })
        });
        Some(Tally {
            at,
            taken,
            refused,
            slowest_us: u128::from(slowest),
            slowest_at,
            peak_kb,
            done: done > 0,
            cut: done == 2,
            failures: failures.collect(),
        })
    }
}

/// What makes two failures the same: their words without numbers and quoted input.
pub fn signature(what: &str) -> String {
    let plain = what.split('`').step_by(2).collect::<String>();
    let letters = plain.chars().filter(|c| !c.is_ascii_digit());
    letters.take(70).collect()
}

/// The most memory this process ever held, in kB; 0 where the system doesn't say.
fn peak_kb() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.trim().trim_end_matches("kB").trim().parse().ok())
        .unwrap_or(0)
}

/// What this thread has had of a processor, so that a busy machine doesn't count; elsewhere the time that went by.
fn spent() -> Duration {
    static BEGUN: OnceLock<Instant> = OnceLock::new();
    let counted = fs::read_to_string("/proc/thread-self/schedstat").ok();
    let counted = counted.and_then(|text| text.split_whitespace().next()?.parse().ok());
    counted.map_or_else(
        || BEGUN.get_or_init(Instant::now).elapsed(),
        Duration::from_nanos,
    )
}

/// Runs one case; what is wrong with it, where something is.
fn one(target: &Target, input: &[u8]) -> Result<Came, String> {
    match catch_unwind(AssertUnwindSafe(|| (target.run)(input))) {
        Ok(came) => came,
        Err(_) => Err(format!("panic: {}", PANIC.with_borrow(String::clone))),
    }
}

pub fn work(target: &Target) {
    set_hook(Box::new(|info| {
        PANIC.with_borrow_mut(|said| *said = info.to_string().replace('\n', " "));
    }));
    let path = std::env::var(PROGRESS).unwrap();
    let path = Path::new(&path);
    let mut file = File::create(path).unwrap();
    let beside = path.with_extension("failures");
    let mut failures = File::create(&beside).unwrap();
    let mut seen = BTreeSet::new();
    let mut tally = Tally::default();
    let mut failed = |number: u64, what: &str| {
        if seen.insert(signature(what)) {
            let line: String = what.replace('\n', " / ").chars().take(2000).collect();
            writeln!(failures, "{number}\t{line}").unwrap();
        }
        seen.len()
    };
    if let Some(file_of_one) = given("ONE") {
        let input = fs::read(file_of_one).unwrap();
        tally.write(&mut file);
        if let Err(what) = one(target, &input) {
            failed(0, &what);
        }
        if peak_kb() > MOST_KB {
            failed(0, TOO_MUCH);
        }
        tally.done = true;
        tally.write(&mut file);
        return;
    }
    let [seed, from, to] =
        ["SEED", "FROM", "TO"].map(|n| given(n).unwrap().parse::<u64>().unwrap());
    let mutator = Mutator::new((target.corpus)());
    let begun = Instant::now();
    let most = given("SECONDS").map(|s| Duration::from_secs(s.parse().unwrap()));
    for number in from..to {
        if most.is_some_and(|most| begun.elapsed() >= most) {
            tally.cut = true;
            tally.peak_kb = peak_kb();
            break;
        }
        tally.at = number;
        tally.write(&mut file);
        let input = target.case(&mutator, seed, number);
        let begun = spent();
        let came = one(target, &input);
        let took = spent().saturating_sub(begun).as_micros();
        if took > tally.slowest_us {
            (tally.slowest_us, tally.slowest_at) = (took, number);
        }
        match came {
            Ok(Came::Taken) => tally.taken += 1,
            Ok(Came::Refused) => tally.refused += 1,
            Err(what) => {
                tally.refused += 1;
                if failed(number, &what) > 8 {
                    break;
                }
            }
        }
        if number % LOOK == 0 || number + 1 == to {
            tally.peak_kb = peak_kb();
            if tally.peak_kb > MOST_KB {
                failed(number, TOO_MUCH);
                break;
            }
        }
    }
    tally.done = true;
    tally.write(&mut file);
}
