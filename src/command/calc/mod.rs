//! `calc`: one formula, for a quick question on site.

mod circuit;
mod generation;
mod input;
mod result;
mod table;

use anyhow::{Result, bail};
use clap::Args;

use super::{Context, Reply};
use crate::forms::{Forms, Limit};
use crate::job::text::sound;
use input::Inputs;
use table::ALL;

/// Arguments of `calc`.
#[derive(Debug, Args)]
#[command(after_help = help())]
pub(super) struct CalcArgs {
    /// Which calculation; see the list below
    #[arg(value_name = "NAME")]
    name: String,
    /// Its values, such as length_m=22
    #[arg(value_name = "key=value")]
    values: Vec<String>,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

/// Works it out.
///
/// # Errors
/// An unknown name or key with those that are known; a value with its range and an example.
pub(super) fn run(args: &CalcArgs, context: &Context) -> Result<Reply> {
    let Some(calc) = ALL.iter().find(|c| c.name == args.name) else {
        let known: Vec<&str> = ALL.iter().map(|c| c.name).collect();
        bail!(
            "no calculation is called `{}`; known: {}",
            sound(&args.name),
            known.join(", ")
        );
    };
    let inputs = Inputs::read(calc, &args.values)?;
    let results = (calc.run)(&inputs, &context.forms()?).map_err(|e| inputs.explain(e))?;
    Ok(Reply::of(if args.json {
        format!(
            "{}\n",
            serde_json::to_string_pretty(&results.json(calc, &inputs))?
        )
    } else {
        results.text()
    }))
}

/// Every name with its keys.
fn help() -> String {
    let mut out = String::from("Calculations (keys in brackets may be left out):\n");
    for calc in ALL {
        out.push_str(&format!(
            "  {}: {}\n      {}\n",
            calc.name,
            calc.about,
            calc.usage()
        ));
    }
    out
}

/// The limit whose id is `prefix` and the value of `key`.
fn tabled<'a>(inputs: &Inputs, forms: &'a Forms, key: &str, prefix: &str) -> Result<&'a Limit> {
    let value = inputs.decimal(key)?;
    if let Ok(limit) = forms.limit(&format!("{prefix}{}", value.normalize())) {
        return Ok(limit);
    }
    let sizes = forms.sizes(prefix);
    let known: Vec<String> = sizes.iter().map(|s| s.normalize().to_string()).collect();
    bail!(
        "`{key}` is {value}; the table has {}, such as {key}={}",
        known.join(", "),
        known.first().map_or("", String::as_str)
    )
}
