//! `settings`: which file counts, what it sets, and where each setting comes from.

use std::path::PathBuf;

use anyhow::{Result, anyhow, bail};
use clap::Args;
use serde::Serialize;

use super::{Context, Reply};
use crate::screen::look::{Look, Palette};
use crate::store::{self, Settings};

/// Environment variable with another settings file.
const CONFIG_VARIABLE: &str = "WANDERLEAD_CONFIG";

/// Arguments of `settings`.
#[derive(Debug, Args)]
pub(super) struct SettingsArgs {
    /// Print one JSON object
    #[arg(long)]
    json: bool,
    /// Write a file that explains every setting, where there is none yet
    #[arg(long, conflicts_with = "json")]
    write: bool,
}

/// The file that counts.
pub(super) struct Named {
    /// Its path; `None` where the platform names no folder for it.
    path: Option<PathBuf>,
    /// What names it.
    by: &'static str,
}

/// The settings and their file.
pub(super) struct Counting {
    /// The file.
    file: Named,
    /// Whether it is there.
    found: bool,
    /// What it sets.
    pub(super) settings: Settings,
}

/// The value of an environment variable that is set to something.
pub(super) fn variable(name: &str) -> Option<PathBuf> {
    let value = std::env::var_os(name)?;
    (!value.is_empty()).then(|| PathBuf::from(value))
}

/// Which file counts: the option, else the variable, else the platform's.
pub(super) fn named(option: Option<&PathBuf>) -> Named {
    let (path, by) = match (option, variable(CONFIG_VARIABLE)) {
        (Some(path), _) => (Some(path.clone()), "--config"),
        (None, Some(path)) => (Some(path), CONFIG_VARIABLE),
        (None, None) => (store::settings_path(), "the platform's folder"),
    };
    Named { path, by }
}

/// Reads the file that counts.
///
/// # Errors
/// A file that can't be used, or one that was named and isn't there.
pub(super) fn read(option: Option<&PathBuf>) -> Result<Counting> {
    let file = named(option);
    let found = match &file.path {
        Some(path) => store::read_settings(path)?,
        None => None,
    };
    if let (None, Some(path)) = (&found, &file.path)
        && (option.is_some() || variable(CONFIG_VARIABLE).is_some())
    {
        bail!(
            "{}: there is no such settings file, named by {}; `wanderlead settings --write` makes one there",
            path.display(),
            file.by
        );
    }
    Ok(Counting {
        found: found.is_some(),
        settings: found.unwrap_or_default(),
        file,
    })
}

/// The JSON object. Fields are only ever added within schema 1.
#[derive(Serialize)]
struct Report {
    schema: u32,
    /// The settings file that counts.
    file: Option<String>,
    /// What names it.
    named_by: &'static str,
    /// Whether it is there.
    found: bool,
    settings: Vec<Row>,
}

/// One setting.
#[derive(Serialize)]
struct Row {
    name: &'static str,
    /// What counts.
    value: String,
    /// Where that comes from.
    from: &'static str,
}

/// Prints or writes.
///
/// # Errors
/// A file that can't be used, or that is there and would be written over.
pub(super) fn run(args: &SettingsArgs, context: &Context) -> Result<Reply> {
    if args.write {
        let path = named(context.config.as_ref()).path.ok_or_else(|| {
            anyhow!("this platform names no folder for settings; say where with --config FILE")
        })?;
        store::write_settings(&path)?;
        return Ok(Reply {
            messages: vec![format!(
                "made {}: it explains every setting and sets none yet",
                path.display()
            )],
            ..Reply::default()
        });
    }
    let counting = read(context.config.as_ref())?;
    let report = Report {
        schema: 1,
        file: counting.file.path.as_ref().map(|p| p.display().to_string()),
        named_by: counting.file.by,
        found: counting.found,
        settings: rows(context, &counting.settings),
    };
    if args.json {
        return Ok(Reply::of(format!(
            "{}\n",
            serde_json::to_string_pretty(&report)?
        )));
    }
    let there = if report.found {
        ""
    } else {
        ", isn't there: `wanderlead settings --write` makes it"
    };
    let file = report.file.as_deref().unwrap_or("none");
    let mut out = format!("file     {file} ({}{there})\n", report.named_by);
    for row in &report.settings {
        out.push_str(&format!("{:<8} {} ({})\n", row.name, row.value, row.from));
    }
    Ok(Reply::of(out))
}

fn rows(context: &Context, settings: &Settings) -> Vec<Row> {
    const FILE: &str = "settings file";
    const DEFAULT: &str = "default";
    let look = Look::here(settings);
    let colours = settings.colours.unwrap_or_default();
    let from = match (look.palette, settings.colours) {
        (Palette::Off, c) if c != Some(store::Colours::None) => "NO_COLOR",
        (_, Some(_)) => FILE,
        (_, None) => DEFAULT,
    };
    let shown = if from == "NO_COLOR" {
        store::Colours::None
    } else {
        colours
    };
    let glyphs = settings.glyphs.unwrap_or_default();
    let meant = match (glyphs, look.ascii) {
        (store::Glyphs::Auto, true) => "Auto: Ascii, by the locale".to_string(),
        (store::Glyphs::Auto, false) => "Auto: Unicode, by the locale".to_string(),
        (glyphs, _) => format!("{glyphs:?}"),
    };
    let (forms, forms_from) = context.forms_folder(settings);
    vec![
        Row {
            name: "colours",
            value: format!("{shown:?}"),
            from,
        },
        Row {
            name: "glyphs",
            value: meant,
            from: settings.glyphs.map_or(DEFAULT, |_| FILE),
        },
        Row {
            name: "forms",
            value: forms.map_or("the shipped ones".into(), |f| f.display().to_string()),
            from: forms_from,
        },
    ]
}
