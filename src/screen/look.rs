//! Colours and characters of the screen, chosen from the settings and the environment.

use crate::store::{Colours, Glyphs, Settings};

/// Colours of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Palette {
    /// None at all: bold, italic and reversed only.
    Off,
    /// Readable on dark and on light ground.
    Any,
    /// For a dark ground.
    Dark,
    /// For a light ground.
    Light,
}

/// How the screen looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Its colours.
    pub palette: Palette,
    /// Whether only ASCII is drawn.
    pub ascii: bool,
}

impl Look {
    /// Colour and every sign.
    pub const FULL: Look = Look {
        palette: Palette::Any,
        ascii: false,
    };

    /// What settings and environment make of it. `variable`: the value of an environment variable; one that is empty counts as not
    /// set. `NO_COLOR` counts before the settings.
    pub fn chosen(settings: &Settings, variable: impl Fn(&str) -> Option<String>) -> Look {
        let set = |name: &str| variable(name).filter(|v| !v.is_empty());
        let palette = match settings.colours.unwrap_or_default() {
            _ if set("NO_COLOR").is_some() => Palette::Off,
            Colours::None => Palette::Off,
            Colours::Auto => Palette::Any,
            Colours::Dark => Palette::Dark,
            Colours::Light => Palette::Light,
        };
        let ascii = match settings.glyphs.unwrap_or_default() {
            Glyphs::Unicode => false,
            Glyphs::Ascii => true,
            // Windows has no such variables, and its terminals take Unicode.
            Glyphs::Auto if cfg!(windows) => false,
            Glyphs::Auto => {
                let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set);
                let locale = locale.unwrap_or_default().to_lowercase().replace('-', "");
                !locale.contains("utf8")
            }
        };
        Look { palette, ascii }
    }

    /// As [`chosen`](Look::chosen) in the environment of the program.
    pub fn here(settings: &Settings) -> Look {
        Look::chosen(settings, |name| {
            std::env::var_os(name).map(|v| v.to_string_lossy().into_owned())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(settings: &Settings, variables: &[(&str, &str)]) -> Look {
        Look::chosen(settings, |name| {
            let found = variables.iter().find(|(n, _)| *n == name);
            found.map(|(_, v)| (*v).to_string())
        })
    }

    #[test]
    #[cfg(unix)]
    fn the_first_locale_that_is_set_decides() {
        let auto = Settings::default();
        for (variables, ascii) in [
            (&[("LANG", "en_GB.UTF-8")][..], false),
            (&[("LANG", "cy_GB.utf8")], false),
            (&[("LANG", "C")], true),
            (&[], true),
            (&[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")], true),
            (
                &[("LC_ALL", ""), ("LC_CTYPE", "C.UTF-8"), ("LANG", "C")],
                false,
            ),
            (
                &[("LC_CTYPE", "en_GB.ISO-8859-1"), ("LANG", "en_GB.UTF-8")],
                true,
            ),
        ] {
            assert_eq!(look(&auto, variables).ascii, ascii, "{variables:?}");
        }
        let unicode = Settings {
            glyphs: Some(Glyphs::Unicode),
            ..auto
        };
        assert!(!look(&unicode, &[("LC_ALL", "C")]).ascii);
    }

    #[test]
    fn no_color_counts_before_the_settings() {
        let dark = Settings {
            colours: Some(Colours::Dark),
            ..Settings::default()
        };
        assert_eq!(look(&dark, &[]).palette, Palette::Dark);
        assert_eq!(look(&dark, &[("NO_COLOR", "")]).palette, Palette::Dark);
        assert_eq!(look(&dark, &[("NO_COLOR", "1")]).palette, Palette::Off);
        assert_eq!(look(&Settings::default(), &[]).palette, Palette::Any);
    }
}
