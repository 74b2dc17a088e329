//! The first page: what was done, how it stands, what is to be seen to and where everything is.

use crate::checks::Verdict;
use crate::guide::is_complete;
use crate::job::{Circuit, Group, Issue, Job, Layout, Place};
use crate::paper::flow::{Block, Flow, Orientation, PaperInfo, Styled};

use super::certificate::SIGNED;
use super::sheet::Sheet;
use super::words;
use super::{Issued, State, pressing, sources, tally};

/// Title of the page.
pub(super) const TITLE: &str = "Summary";
/// Most changes since the issue before that are named.
const CHANGES: usize = 8;
/// Most characters of one text of the record.
const SHORT: usize = 230;

/// The page; what there is no room for is counted and stands under Findings.
pub(super) fn blocks(
    sheet: &Sheet<'_>,
    state: State,
    issued: &Issued<'_>,
    info: &PaperInfo,
) -> Vec<Block> {
    let mut top = vec![
        Block::heading(1, "Summary for whoever inspects this"),
        work(sheet.job),
        standing(sheet, state, issued),
    ];
    top.extend(tally::blocks(sheet));
    let items = pressing::items(sheet);
    let with = |shown: usize| {
        let mut page = top.clone();
        page.extend(pressing::blocks(&items, shown));
        page
    };
    let fits = |shown: usize| {
        let flow = Flow::new(info.clone());
        let laid = flow
            .section(Orientation::Portrait, TITLE, with(shown))
            .lay_out();
        laid.document.pages.len() <= 1
    };
    // A page holds far fewer lines than this.
    let (mut low, mut high) = (0, items.len().min(80));
    if fits(high) {
        return with(high);
    }
    while low + 1 < high {
        let middle = low.midpoint(high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    with(low)
}

/// A text of the record, cut where it is long.
fn cut(text: &str, most: usize, rest: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= most {
        return text.to_string();
    }
    let start: String = text.chars().take(most).collect();
    format!("{}… ({rest})", start.trim_end())
}

/// The installation in three lines.
fn work(job: &Job) -> Block {
    let whole = "in full under Installation";
    let lines = [
        format!(
            "Work: {}, {}. Place: {}",
            job.work.name(),
            job.premises.name(),
            cut(&words::or_dash(&job.address), SHORT, whole)
        ),
        fitted(job),
        format!(
            "Extent: {}",
            cut(&words::or_dash(&job.extent), SHORT, whole)
        ),
    ];
    Block::Callout {
        title: "What was done".into(),
        lines: lines.into_iter().map(Styled::new).collect(),
    }
}

/// What the record has, counted.
fn fitted(job: &Job) -> String {
    let used = |c: &&Circuit| c.device.is_some();
    let circuits: usize = job
        .boards
        .iter()
        .map(|b| b.circuits.iter().filter(used).count())
        .sum();
    let mut parts = vec![format!(
        "{} with {}",
        words::counted(job.boards.len(), "board"),
        words::counted(circuits, "circuit")
    )];
    let (mut modules, mut micro) = (0, 0);
    for array in &job.arrays {
        match &array.layout {
            Layout::Strings(strings) => {
                modules += strings.iter().map(|s| s.modules.len()).sum::<usize>()
            }
            Layout::Branches(branches) => {
                let units: usize = branches.iter().map(|b| b.units.len()).sum();
                modules += units;
                micro += units;
            }
        }
    }
    if modules > 0 {
        parts.push(format!(
            "{} in {}",
            words::counted(modules, "PV module"),
            words::counted(job.arrays.len(), "array")
        ));
    }
    if micro > 0 {
        parts.push(words::counted(micro, "micro-inverter"));
    }
    let mut each = job
        .inverters
        .iter()
        .filter(|i| i.kind != crate::job::InverterKind::Micro)
        .map(|i| i.kind.name());
    parts.extend(each.by_ref().take(4).map(String::from));
    match each.count() {
        0 => {}
        more => parts.push(format!("{more} more inverters")),
    }
    if !job.storage.is_empty() {
        let backup = if job.storage.iter().any(|s| s.backup) {
            " with backup output"
        } else {
            ""
        };
        parts.push(format!(
            "storage: {}{backup}",
            words::counted(job.storage.len(), "unit")
        ));
    }
    format!("{}.", parts.join(", "))
}

/// In one box: may it be relied on, if not why, and which issue it is.
fn standing(sheet: &Sheet<'_>, state: State, issued: &Issued<'_>) -> Block {
    let count = |v| sheet.of(v).count();
    let (outside, open) = (count(Verdict::Outside), count(Verdict::Open));
    let waiting = sheet.findings.iter().filter(|f| f.waits_for_countersign);
    let waiting = match waiting.count() {
        0 => String::new(),
        n => format!(", {n} to be countersigned by a qualified person"),
    };
    let left = format!("{outside} outside, {open} open{waiting}.");
    let in_order = "Nothing is outside its limit and nothing is open.";
    let (title, text) = match state {
        State::Complete => (
            "Complete: names entered, to be signed by hand",
            format!(
                "{in_order} A name is entered for design, for construction and for inspection; each signs under Declarations."
            ),
        ),
        State::SignedTooEarly if is_complete(&sheet.findings) => (
            "Draft: not every signature is in order",
            format!("{in_order} This is no certificate."),
        ),
        State::SignedTooEarly => (
            "Draft: a name entered for testing, but not in order",
            format!(
                "A name was entered for inspection and testing, yet {left} This is no certificate."
            ),
        ),
        State::Unsigned if is_complete(&sheet.findings) => (
            "Draft: complete, not signed",
            format!("{in_order} A competent person has to judge the results and sign."),
        ),
        State::Unsigned => ("Draft: not complete, not signed", left),
    };
    let mut lines = vec![Styled::new(text)];
    lines.extend(unsigned(sheet, state));
    lines.extend(queried(sheet));
    lines.extend(excused(sheet));
    lines.extend(issues(sheet, issued));
    lines.push(Styled::new(sources::compared(sheet)));
    Block::Callout {
        title: title.into(),
        lines,
    }
}

/// The signatures that are not in order, where a name was entered for testing.
fn unsigned(sheet: &Sheet<'_>, state: State) -> Option<Styled> {
    let not_in_order: Vec<String> = SIGNED
        .iter()
        .filter_map(|(test, words)| {
            let finding = sheet.finding(&Place::of(Group::Sign.key(), *test))?;
            let is_wrong = finding.verdict != Verdict::Within;
            is_wrong.then(|| format!("{} ({})", words.to_lowercase(), finding.verdict))
        })
        .collect();
    (state == State::SignedTooEarly && !not_in_order.is_empty()).then(|| {
        Styled::new(format!(
            "Signatures not in order: {}.",
            words::listed(&not_in_order)
        ))
        .bold()
    })
}

/// How many places are queried.
fn queried(sheet: &Sheet<'_>) -> Option<Styled> {
    let (count, is) = match sheet.of(Verdict::Query).count() {
        0 => return None,
        1 => ("1 result is".to_string(), "it"),
        n => (format!("{n} results are"), "each"),
    };
    Some(
        Styled::new(format!(
            "{count} queried, and {is} has to be settled, or accepted by those who sign."
        ))
        .bold(),
    )
}

/// How many tests are excused.
fn excused(sheet: &Sheet<'_>) -> Option<Styled> {
    let count = match sheet.of(Verdict::Excused).count() {
        0 => return None,
        1 => "1 test is".to_string(),
        n => format!("{n} tests are"),
    };
    Some(Styled::new(format!(
        "{count} excused with a reason: see Findings and limitations."
    )))
}

/// Which issue this is, what it replaces and what changed since then.
fn issues(sheet: &Sheet<'_>, issued: &Issued<'_>) -> Vec<Styled> {
    let named = |issue: &Issue| {
        format!(
            "issue {} of {} by {} (content {})",
            issue.number,
            words::minute(issue.at),
            sheet.person(&issue.by),
            words::in_fours(&issue.content)
        )
    };
    let mut lines = Vec::new();
    if let Some(this) = issued.this {
        lines.push(format!("This is {}.", named(this)));
    }
    if let Some(before) = issued.before {
        let verb = if issued.this.is_some() {
            "It replaces"
        } else {
            "Not issued. Once issued it replaces"
        };
        lines.push(format!("{verb} {}.", named(before)));
        let changes = sheet.job.changed_since(before);
        if changes.is_empty() {
            lines.push(
                "Record and readings are the same since: the limits, the wording or the program are others."
                    .into(),
            );
            return lines.into_iter().map(Styled::new).collect();
        }
        let shown = changes.iter().take(CHANGES);
        let shown: Vec<String> = shown.map(|c| cut(c, 160, "cut")).collect();
        let more = match changes.len() - shown.len() {
            0 => String::new(),
            n => format!("; and {n} more, named by `wanderlead verify`"),
        };
        lines.push(format!("Changed since: {}{more}.", shown.join("; ")));
    }
    lines.into_iter().map(Styled::new).collect()
}
