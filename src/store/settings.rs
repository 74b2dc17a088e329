//! The settings of a person: where they are, and reading them as strictly as any other file.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use serde::{Deserialize, Deserializer, Serialize};

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::load::utf8;
use super::write::create;
use crate::job::text::{Sort, parse_as};

/// What a settings file sets. What it doesn't mention is `None`, and follows the terminal.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Which colours.
    #[serde(deserialize_with = "given")]
    pub colours: Option<Colours>,
    /// Which characters.
    #[serde(deserialize_with = "given")]
    pub glyphs: Option<Glyphs>,
    /// Folder with a person's own form files; a relative one starts at the folder of the settings file.
    #[serde(deserialize_with = "given")]
    pub forms: Option<PathBuf>,
}

/// Colours of the screen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize)]
pub enum Colours {
    /// Those that can be read on dark and on light ground.
    #[default]
    Auto,
    /// For a dark ground.
    Dark,
    /// For a light ground.
    Light,
    /// Bold, italic and reversed only.
    None,
}

/// Characters of the screen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize)]
pub enum Glyphs {
    /// Unicode where the locale says UTF-8, else ASCII.
    #[default]
    Auto,
    /// With signs such as Ω and ≤.
    Unicode,
    /// With words in place of signs, such as ohm and <=.
    Ascii,
}

/// Read as it stands: through an option, `None` would be nothing given, and not the value of that name.
fn given<'de, T: Deserialize<'de>, D: Deserializer<'de>>(from: D) -> Result<Option<T>, D::Error> {
    T::deserialize(from).map(Some)
}

/// How a file that this program wrote begins.
pub(super) const TITLE: &str = "// wanderlead settings.";

/// A file that sets nothing, with every setting explained.
const EXPLAINED: &str = "\
// wanderlead settings. Take the two slashes away in front of what you want to set.
(
  // Colours: Auto (readable on dark and light ground), Dark, Light, None. The variable NO_COLOR means None.
  // colours: Auto,

  // Characters: Auto (ASCII where the locale isn't UTF-8), Unicode, Ascii.
  // glyphs: Auto,

  // Folder with your own form files; a relative one starts at the folder of this file.
  // forms: \"own-forms\",
)
";

/// Where the settings are unless another file is named: `wanderlead/settings.ron` in the platform's folder for
/// configuration. `None` where the platform names no such folder.
pub fn settings_path() -> Option<PathBuf> {
    let base = etcetera::choose_base_strategy().ok()?;
    Some(base.config_dir().join("wanderlead").join("settings.ron"))
}

/// Reads a settings file; `None` where there is none.
///
/// # Errors
/// [`StoreError::Disk`] where it can't be read, [`StoreError::Unusable`] with the first thing that is wrong in it.
pub fn read_settings(path: &Path) -> Result<Option<Settings>, StoreError> {
    let bytes = match RealDisk.read(path, LONGEST_FILE) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(StoreError::disk(path, &e)),
    };
    let name = path.display().to_string();
    let text = utf8(&name, &bytes)?;
    let mut settings: Settings = parse_as(Sort::Settings, &name, text).map_err(StoreError::text)?;
    if let (Some(forms), Some(folder)) = (&mut settings.forms, path.parent()) {
        *forms = folder.join(&*forms);
    }
    Ok(Some(settings))
}

/// Writes a settings file that explains every setting and sets none, with the folders it is in.
///
/// # Errors
/// [`StoreError::Exists`], or [`StoreError::Disk`].
pub fn write_settings(path: &Path) -> Result<(), StoreError> {
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        RealDisk
            .make_folder(folder)
            .map_err(|e| StoreError::disk(folder, &e))?;
    }
    create(&RealDisk, path, EXPLAINED.as_bytes()).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => StoreError::Exists {
            file: path.display().to_string(),
        },
        _ => StoreError::disk(path, &e),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn the_explained_file_sets_nothing_and_every_line_of_it_works() {
        let read = |text: &str| parse_as::<Settings>(Sort::Settings, "settings.ron", text).unwrap();
        assert_eq!(read(EXPLAINED), Settings::default());
        assert!(EXPLAINED.starts_with(TITLE));
        let all = EXPLAINED
            .replace("// colours: Auto", "colours: None")
            .replace("// glyphs: Auto", "glyphs: Ascii")
            .replace("// forms", "forms");
        let set = Settings {
            colours: Some(Colours::None),
            glyphs: Some(Glyphs::Ascii),
            forms: Some("own-forms".into()),
        };
        assert_eq!(read(&all), set);
    }
}
