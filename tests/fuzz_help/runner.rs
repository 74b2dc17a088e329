//! The parent: starts children that run the cases, sees that they go on, and makes what fails small.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::child;
use super::mutate::Mutator;
use super::shrink;
use crate::store_help::chance::Chance;

/// What became of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// It was taken, and what follows from it was done.
    Taken,
    /// It was refused, with a proper reason.
    Refused,
}

/// Something that takes input.
pub struct Target {
    /// Name of its test in `tests/fuzz.rs`.
    pub name: &'static str,
    /// Sound input to begin with.
    pub corpus: fn() -> Vec<Vec<u8>>,
    /// How it is spoilt.
    pub mutate: fn(&Mutator, &mut Chance) -> Vec<u8>,
    /// Does what the program would do with it. An error is a property that doesn't hold; a panic is one too.
    pub run: fn(&[u8]) -> Result<Came, String>,
    /// Cases of the short run.
    pub short: u64,
    /// How many of what is counted, such as keys, are in a case at least, on average.
    pub each: u64,
}

impl Target {
    /// The case of that number: the same for the same seed on every machine.
    pub fn case(&self, mutator: &Mutator, seed: u64, number: u64) -> Vec<u8> {
        // Any case can be made again without those before it.
        let mut chance = Chance(seed ^ number.wrapping_mul(0xd6e8_feb8_6659_fd93));
        chance.next();
        (self.mutate)(mutator, &mut chance)
    }
}

/// A case may have so much of a processor: far more than any needs, also in a debug build.
const HANGS: Duration = Duration::from_secs(20);
/// And so long by the clock, for one that waits for something; a busy machine must not look like it.
const WAITS: Duration = Duration::from_secs(300);
/// Most memory a child may have held at any time, corpus, forms and all, in kB.
pub const MOST_KB: u64 = 100 * 1024;
/// A long run says so often how far it is.
const TELLS: Duration = Duration::from_secs(60);
/// So many different failures are enough for one run.
const ENOUGH: usize = 12;

/// A failure: number of the case, and what went wrong.
#[derive(Debug, Clone)]
pub struct Failure {
    pub number: u64,
    pub what: String,
}

fn number_in(variable: &str) -> Option<u64> {
    let text = std::env::var(variable).ok()?;
    Some(
        text.parse()
            .unwrap_or_else(|_| panic!("{variable} is {text}: give a number")),
    )
}

/// Runs the cases of a target; in a child, those it was started for.
pub fn campaign(target: &Target) {
    if child::is_one() {
        child::work(target);
        return;
    }
    let wanted = number_in("WANDERLEAD_FUZZ").map(|n| n.div_ceil(target.each));
    let cases = wanted.unwrap_or(target.short);
    let seed = number_in("WANDERLEAD_FUZZ_SEED").unwrap_or(1);
    let folder = tempfile::tempdir().unwrap();
    let begun = Instant::now();
    // A run that the clock ends says how far it came.
    let until = number_in("WANDERLEAD_FUZZ_SECONDS").map(|s| begun + Duration::from_secs(s));
    let mut failures = Vec::new();
    let mut total = child::Tally::default();
    let (mut from, mut cut) = (0, false);
    while from < cases && failures.len() < ENOUGH && until.is_none_or(|end| Instant::now() < end) {
        let run = Run::start(target, folder.path(), seed, from, cases, until);
        let (ended, tally) = run.watch(Some(&format!("{}: seed {seed}", target.name)));
        failures.extend(tally.failures.iter().cloned());
        total.add(&tally);
        if tally.cut {
            cut = true;
            println!("{}: seed {seed}, the time is up", target.name);
        }
        let Some(what) = ended else { break };
        // The child is gone; the next one goes on after the case that ended it.
        failures.push(Failure {
            number: tally.at,
            what,
        });
        from = tally.at + 1;
    }
    println!(
        "{}: seed {seed}, {} cases of {} ({} taken, {} refused) in {:.0} s, slowest {:.0} ms (case {}), peak {} MB",
        target.name,
        total.taken + total.refused,
        target.each,
        total.taken,
        total.refused,
        begun.elapsed().as_secs_f64(),
        total.slowest_us as f64 / 1e3,
        total.slowest_at,
        total.peak_kb / 1024
    );
    if failures.is_empty() {
        assert!(
            (total.taken + total.refused == cases || cut) && total.taken > 0 && total.refused > 0,
            "a run in which nothing is taken or nothing refused tries nothing"
        );
        return;
    }
    let told: Vec<String> = failures
        .iter()
        .map(|f| report(target, folder.path(), seed, f))
        .collect();
    panic!("{}", told.join("\n"));
}

/// Makes a failing case small and writes it down.
fn report(target: &Target, folder: &Path, seed: u64, failure: &Failure) -> String {
    let mutator = Mutator::new((target.corpus)());
    let mut whole = target.case(&mutator, seed, failure.number);
    let kind = child::signature(&failure.what);
    if kind == child::signature(child::TOO_MUCH) {
        // It is looked at from time to time: one of the last cases took it.
        for number in failure.number.saturating_sub(child::LOOK)..failure.number {
            let case = target.case(&mutator, seed, number);
            if alone(target, folder, &case).is_some() {
                whole = case;
            }
        }
    }
    let fails = |input: &[u8]| {
        let said = alone(target, folder, input);
        said.filter(|what| child::signature(what) == kind).is_some()
    };
    let small = shrink::smallest(&whole, &fails);
    let out = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join(format!("fuzz-{}-{seed}-{}", target.name, failure.number));
    fs::write(&out, &small).unwrap();
    format!(
        "{} case {} of seed {seed}: {}\n  smallest found: {} bytes in {}: {:?}",
        target.name,
        failure.number,
        failure.what,
        small.len(),
        out.display(),
        String::from_utf8_lossy(&small[..small.len().min(400)])
    )
}

/// What one input does, in a child of its own; `None` where nothing is wrong.
fn alone(target: &Target, folder: &Path, input: &[u8]) -> Option<String> {
    let file = folder.join("one");
    fs::write(&file, input).unwrap();
    let run = Run::of(target, folder, &[("ONE", file.display().to_string())]);
    let (ended, tally) = run.watch(None);
    ended.or_else(|| tally.failures.first().map(|f| f.what.clone()))
}

/// A child at work.
struct Run {
    child: Child,
    /// Where it says how far it is.
    progress: PathBuf,
    said: PathBuf,
}

impl Run {
    fn start(
        target: &Target,
        folder: &Path,
        seed: u64,
        from: u64,
        to: u64,
        until: Option<Instant>,
    ) -> Run {
        let mut numbers = vec![
            ("SEED", seed.to_string()),
            ("FROM", from.to_string()),
            ("TO", to.to_string()),
        ];
        if let Some(end) = until {
            let left = end.saturating_duration_since(Instant::now());
            numbers.push(("SECONDS", left.as_secs().to_string()));
        }
        Run::of(target, folder, &numbers)
    }

    fn of(target: &Target, folder: &Path, what: &[(&str, String)]) -> Run {
        let progress = folder.join("progress");
        let said = folder.join("said");
        let _ = fs::remove_file(&progress);
        // A limit on addresses keeps a case that runs away from taking the machine with it. Stacks and reserves of the
        // allocator count in it, so it is no measure of what was used: that is the peak that the child reads of itself.
        let mut command = Command::new("sh");
        command
            .args([
                "-c",
                "ulimit -v 2000000; exec \"$0\" --exact \"$1\" --nocapture",
            ])
            .arg(std::env::current_exe().unwrap())
            .arg(target.name)
            .env(child::PROGRESS, &progress)
            .env_remove("WANDERLEAD_FORMS")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(fs::File::create(&said).unwrap());
        for (name, value) in what {
            command.env(format!("{}{name}", child::PREFIX), value);
        }
        Run {
            child: command.spawn().unwrap(),
            progress,
            said,
        }
    }

    /// What the child has had of a processor; nothing where the system doesn't say, and then the clock alone counts.
    fn spent(&self) -> Duration {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.child.id()));
        let stat = stat.unwrap_or_default();
        // The name of the program stands in brackets; the time in it and for it are 12th and 13th behind.
        let Some((_, behind)) = stat.rsplit_once(')') else {
            return Duration::ZERO;
        };
        let ticks = behind.split_whitespace().skip(11).take(2);
        let ticks: u64 = ticks.filter_map(|n| n.parse::<u64>().ok()).sum();
        Duration::from_millis(ticks * 10)
    }

    /// Waits for the end. What ended it, where that wasn't the last case. A run with a name says now and then how far it is.
    fn watch(mut self, name: Option<&str>) -> (Option<String>, child::Tally) {
        let mut last = (child::Tally::default(), Instant::now());
        let mut spent = Duration::ZERO;
        let mut pause = Duration::from_millis(2);
        let mut told = Instant::now();
        loop {
            if let Some(name) = name
                && told.elapsed() > TELLS
            {
                told = Instant::now();
                println!(
                    "{name}, at case {}, peak {} MB",
                    last.0.at,
                    last.0.peak_kb / 1024
                );
            }
            let status = self.child.try_wait().unwrap();
            if let Some(tally) = child::Tally::read(&self.progress)
                && (tally.at, tally.done) != (last.0.at, last.0.done)
            {
                last = (tally, Instant::now());
                spent = self.spent();
            }
            if let Some(status) = status {
                let tally = child::Tally::read(&self.progress).unwrap_or_default();
                if status.success() && tally.done {
                    return (None, tally);
                }
                let said = fs::read(&self.said).unwrap_or_default();
                let said = String::from_utf8_lossy(&said);
                let end: Vec<&str> = said.lines().filter(|l| !l.is_empty()).collect();
                let end = end[end.len().saturating_sub(4)..].join(" / ");
                return (
                    Some(format!("the program was ended: {status}: {end}")),
                    tally,
                );
            }
            let went = last.1.elapsed();
            if went > WAITS || (went > HANGS && self.spent().saturating_sub(spent) > HANGS) {
                self.child.kill().unwrap();
                self.child.wait().unwrap();
                return (Some("it hangs".into()), last.0);
            }
            sleep(pause);
            pause = (pause * 2).min(Duration::from_millis(100));
        }
    }
}
