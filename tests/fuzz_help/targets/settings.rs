//! The settings file.

use wanderlead::job::text::parse;
use wanderlead::store::Settings;

use crate::fuzz_help::check;
use crate::fuzz_help::runner::{Came, Target};

pub const TARGET: Target = Target {
    name: "settings_files",
    corpus: || {
        [
            "()",
            "(colours: None)",
            "(glyphs: Ascii)",
            "(forms: \"own-forms\")",
        ]
        .iter()
        .map(|t| t.as_bytes().to_vec())
        .chain([
            b"// mine\n(\n  colours: Dark,\n  glyphs: Unicode,\n  forms: \"/a/b\",\n)\n".to_vec(),
        ])
        .collect()
    },
    mutate: |mutator, chance| mutator.ron(chance),
    run,
    short: 1500,
    each: 1,
};

fn run(input: &[u8]) -> Result<Came, String> {
    let Ok(text) = std::str::from_utf8(input) else {
        return Ok(Came::Refused);
    };
    match parse::<Settings>("settings.ron", text) {
        Err(e) => {
            check::located(&e, "settings.ron", text)?;
            Ok(Came::Refused)
        }
        Ok(_) => Ok(Came::Taken),
    }
}
