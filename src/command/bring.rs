//! `bring`: brings in readings from a file that an instrument wrote, by the same rules as the screen.

use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;

use anyhow::{Result, anyhow, bail};
use clap::Args;
use serde_json::{Value as Json, json};

use super::patience::patiently;
use super::{Context, Reply, now, open_to_keep, wrapped};
use crate::checks::{Verdict, judge_all};
use crate::forms::Forms;
use crate::guide::{Plan, Verdicts};
use crate::intake::{EXAMPLE, LONGEST_FILE, MOST_AT_ONCE, On, Preview, Row, Standing};
use crate::job::{Job, Place};
use crate::store;

/// Arguments of `bring`.
#[derive(Debug, Args)]
#[command(
    after_help = "Readings at places that have none are kept, all of them as one change; what stands at a place stays unless \
                  --replace names it. Exit codes: 0 everything is kept or was there, 1 something isn't, or is outside, 2 \
                  job, file or mapping can't be used."
)]
pub(super) struct BringArgs {
    /// Job file
    #[arg(required_unless_present = "write_mapping")]
    job: Option<PathBuf>,
    /// File of readings, comma-separated or with another sign between its cells
    #[arg(required_unless_present = "write_mapping")]
    file: Option<PathBuf>,
    /// What the columns of the file are
    #[arg(
        long,
        value_name = "MAP.ron",
        required_unless_present = "write_mapping"
    )]
    mapping: Option<PathBuf>,
    /// Id of who brings them in and answers for them; may be left out where one person alone is on the job
    #[arg(long, value_name = "ID")]
    by: Option<String>,
    /// Only show what would be kept
    #[arg(long)]
    dry: bool,
    /// Decides to go on with what was found on opening: it is copied beside and noted in the history, in the name of --by
    #[arg(long, requires = "by")]
    go_on: bool,
    /// A place where the file's reading strikes out the one that stands there
    #[arg(long, value_name = "PLACE")]
    replace: Vec<String>,
    /// Keep also what the instrument's clock speaks against
    #[arg(long)]
    against_clock: bool,
    /// Print it as JSON
    #[arg(long)]
    json: bool,
    /// Write a mapping with explanations to a new file, to start from
    #[arg(long, value_name = "FILE", exclusive = true)]
    write_mapping: Option<PathBuf>,
}

/// Shows what the file says, and keeps it.
///
/// # Errors
/// A job, file or mapping that can't be used, a place to replace that isn't in conflict, or readings that could not be put on
/// the disk.
pub(super) fn run(args: &BringArgs, context: &Context) -> Result<Reply> {
    if let Some(path) = &args.write_mapping {
        store::write_mapping(path, EXAMPLE)?;
        return Ok(Reply {
            messages: vec![format!(
                "{}: written; say in it what your file has",
                path.display()
            )],
            ..Reply::default()
        });
    }
    let (Some(job), Some(file), Some(mapping)) = (&args.job, &args.file, &args.mapping) else {
        bail!("give job, file and --mapping");
    };
    let forms = context.forms()?;
    let text = store::read_mapping(mapping)?;
    let bytes = store::read_download(file, LONGEST_FILE)?;
    let read = |job: &Job| {
        let mapping = mapping.display().to_string();
        let file = file.display().to_string();
        crate::intake::read((&mapping, &text), (&file, &bytes), job)
    };
    if args.dry {
        let opened = store::read_job(job)?;
        if let Some(lost) = opened.lost {
            bail!("{lost}");
        }
        let preview = laid_out(args, &opened.job, &forms, read(&opened.job)?)?;
        return Ok(Reply {
            data: told(args, &preview, None)?,
            messages: opened.notes,
            code: code(&preview),
        });
    }
    let decided_by = args.by.as_deref().filter(|_| args.go_on);
    let mut session = open_to_keep(job, decided_by)?;
    let mut messages = session.notes().to_vec();
    let preview = laid_out(args, session.job(), &forms, read(session.job())?)?;
    let mut kept = None;
    if let Some(change) = preview.change() {
        let at = change.keeps().first().map(|(_, r)| r.at);
        session.keep(&change, at.unwrap_or_else(now))?;
        kept = Some(session.job().kept);
    }
    let data = told(args, &preview, kept)?;
    // The readings are on the disk either way; the next opening brings them into the job file.
    if let Err(error) = session.close() {
        messages.push(error.to_string());
    }
    Ok(Reply {
        data,
        messages,
        code: code(&preview),
    })
}

/// The file on the job, with the marks that the arguments ask for.
fn laid_out(
    args: &BringArgs,
    job: &Job,
    forms: &Forms,
    read: crate::intake::Read,
) -> Result<Preview> {
    let what = format!("laying {} readings over the job", read.taken.len());
    patiently(&what, || laid(args, job, forms, read))
}

fn laid(args: &BringArgs, job: &Job, forms: &Forms, read: crate::intake::Read) -> Result<Preview> {
    let by = match &args.by {
        Some(id) => job.person(id).ok_or_else(|| {
            let known: Vec<&str> = job.people.iter().map(|p| p.id.as_str()).collect();
            anyhow!("no person `{id}` on this job; known: {}", known.join(", "))
        })?,
        // Of several nobody is guessed: it would put readings in the name of somebody who never saw them.
        None => match job.people.as_slice() {
            [alone] => alone,
            people => {
                let known: Vec<&str> = people.iter().map(|p| p.id.as_str()).collect();
                bail!(
                    "say who brings them in and answers for them, with --by: {}",
                    match known.is_empty() {
                        true => "nobody is on the job yet".to_string(),
                        false => known.join(", "),
                    }
                )
            }
        },
    };
    let plan = Plan::new(job, forms);
    let verdicts = Verdicts::new(&judge_all(job, forms));
    let tools = BTreeMap::new();
    let on = On {
        job,
        forms,
        plan: &plan,
        verdicts: &verdicts,
        by: &by.id,
        at: now(),
        tools: &tools,
    };
    let mut preview = Preview::unweighed(read, &on);
    let mut wanted: HashMap<Place, bool> = HashMap::new();
    for place in &args.replace {
        wanted.insert(place.parse().map_err(|e: String| anyhow!(e))?, false);
    }
    for row in &mut preview.rows {
        let named = row.taken.place.as_ref().and_then(|p| wanted.get_mut(p));
        let doubt = row.doubt.is_none() || args.against_clock;
        if let (Some(done), Standing::Conflict(_)) = (named, &row.standing) {
            *done = true;
            row.marked = doubt;
        }
        row.marked |= args.against_clock && row.standing == Standing::New && row.reading.is_some();
    }
    if let Some((place, _)) = wanted.iter().find(|(_, done)| !**done) {
        bail!(
            "nothing kept: at {place} no single reading of this file is in conflict with one that stands: leave --replace {place} out"
        );
    }
    // Before every one of them is judged, and for --dry too: it tells what would be kept.
    if preview.marked() > MOST_AT_ONCE {
        bail!(
            "{}: {} of its readings would be kept, and at most {MOST_AT_ONCE} are at once; nothing is kept: take a part of the file",
            args.file
                .as_ref()
                .map_or(String::new(), |f| f.display().to_string()),
            preview.marked()
        );
    }
    preview.weigh(&on);
    Ok(preview)
}

/// 1 where something of the file isn't kept and isn't there already, or is outside.
fn code(preview: &Preview) -> u8 {
    let settled =
        |r: &Row| r.marked || matches!(r.standing, Standing::Same | Standing::Repeated(_));
    let outside = |r: &Row| {
        r.marked
            && r.verdict
                .as_ref()
                .is_some_and(|(v, _)| *v == Verdict::Outside)
    };
    u8::from(!preview.rows.iter().all(settled) || preview.rows.iter().any(outside))
}

fn told(args: &BringArgs, preview: &Preview, kept: Option<u64>) -> Result<String> {
    if !args.json {
        return Ok(lines(args, preview, kept));
    }
    let rows: Vec<Json> = preview.rows.iter().map(object).collect();
    let all = json!({
        "schema": 1,
        "file": preview.file,
        "not_named": preview.unused,
        "kept": kept,
        "rows": rows,
    });
    Ok(format!("{}\n", serde_json::to_string_pretty(&all)?))
}

fn lines(args: &BringArgs, preview: &Preview, kept: Option<u64>) -> String {
    let mut out = String::new();
    for row in &preview.rows {
        let reading = row.reading.as_ref();
        let value = reading.map_or("–".to_string(), |r| r.unit.with_typed(&r.typed));
        let verdict = row.verdict.as_ref();
        let verdict = verdict.map_or(String::new(), |(v, _)| format!("{} {v}", v.mark()));
        let mark = if row.marked { "keep" } else { "–" };
        out.push_str(&format!(
            "{mark:<5}{:<16} {value:<12} {verdict}\n",
            row.where_to()
        ));
        let from = format!(
            "line {}, {}: {}",
            row.taken.line, row.taken.column, row.taken.cell
        );
        out.push_str(&wrapped("     ", &format!("{from}; {}", row.words())));
        if let Some((verdict, why)) = &row.verdict
            && row.marked
            && !matches!(verdict, Verdict::Within)
        {
            out.push_str(&wrapped("     ", &format!("{verdict}: {why}")));
        }
    }
    if !preview.unused.is_empty() {
        let unused = format!(
            "columns that the mapping doesn't name: {}",
            preview.unused.join(", ")
        );
        out.push_str(&wrapped("", &unused));
    }
    out.push_str(&wrapped("", &preview.counts()));
    let marked = preview.marked();
    let by = preview
        .rows
        .iter()
        .find_map(|r| r.reading.as_ref().map(|r| r.by.as_str()));
    out.push_str(&match (kept, args.dry) {
        (Some(number), _) => format!(
            "kept {marked} as change {number} by {}\n",
            by.unwrap_or("–")
        ),
        (None, true) => format!("nothing kept (--dry): {marked} would be\n"),
        (None, false) => "nothing kept\n".to_string(),
    });
    out
}

fn object(row: &Row) -> Json {
    let reading = row.reading.as_ref();
    let standing = match &row.standing {
        Standing::New => "new",
        Standing::Same => "same",
        Standing::Repeated(_) => "repeated",
        Standing::Conflict(_) => "conflict",
        Standing::Twice(..) => "twice",
        Standing::Waits(_) => "waits",
        Standing::Never(_) => "never",
    };
    json!({
        "line": row.taken.line,
        "column": row.taken.column,
        "cell": row.taken.cell,
        "called": row.taken.called,
        "place": row.taken.place.as_ref().map(ToString::to_string),
        "value": reading.map(|r| r.typed.as_str()),
        "unit": reading.map(|r| r.unit.to_string()),
        "instrument": reading.and_then(|r| r.instrument.as_deref()),
        "noted": row.taken.noted.map(|at| at.to_rfc3339()),
        "result": row.taken.result,
        "standing": standing,
        "words": row.words(),
        "doubt": row.doubt,
        "keep": row.marked,
        "verdict": row.verdict.as_ref().map(|(v, _)| v.word()),
        "why": row.verdict.as_ref().map(|(_, why)| why.as_str()),
    })
}
