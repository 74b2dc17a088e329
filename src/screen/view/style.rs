//! Colours and emphasis. Colour is never the only sign, and with colour off only modifiers are set.

use ratatui::style::{Color, Modifier, Style};

use crate::checks::Verdict;
use crate::screen::look::Palette;

/// Signs that a colour is for.
#[derive(Clone, Copy)]
enum Sign {
    Bad,
    Doubt,
    Good,
}

/// Puts the colour of a sign on a style. Named colours only: a terminal's own palette keeps them apart from its ground.
fn coloured(style: Style, sign: Sign, palette: Palette) -> Style {
    let colour = match (palette, sign) {
        (Palette::Off, _) => return style,
        (Palette::Any | Palette::Light, Sign::Bad) => Color::Red,
        (Palette::Any | Palette::Light, Sign::Doubt) => Color::Magenta,
        (Palette::Any, Sign::Good) => Color::Green,
        (Palette::Dark, Sign::Bad) => Color::LightRed,
        (Palette::Dark, Sign::Doubt) => Color::LightYellow,
        (Palette::Dark, Sign::Good) => Color::LightGreen,
        // Green on white is hard to read.
        (Palette::Light, Sign::Good) => Color::Blue,
    };
    style.fg(colour)
}

/// Style of a verdict's word and mark.
pub(super) fn verdict(v: Verdict, palette: Palette) -> Style {
    let plain = Style::new();
    match v {
        Verdict::Outside => {
            let loud = plain.add_modifier(Modifier::BOLD | Modifier::REVERSED);
            coloured(loud, Sign::Bad, palette)
        }
        Verdict::Query | Verdict::Close => coloured(strong(), Sign::Doubt, palette),
        Verdict::Within => coloured(plain, Sign::Good, palette),
        Verdict::Open | Verdict::Excused => plain,
    }
}

/// Headings.
pub(super) fn strong() -> Style {
    Style::new().add_modifier(Modifier::BOLD)
}

/// The header and the selected line.
pub(super) fn bar() -> Style {
    Style::new().add_modifier(Modifier::REVERSED)
}

/// Labels beside a text. Not dimmed: dim text can't be read on some terminals in the sun.
pub(super) fn label() -> Style {
    Style::new().add_modifier(Modifier::ITALIC)
}

/// A caution.
pub(super) fn caution(palette: Palette) -> Style {
    coloured(strong(), Sign::Bad, palette)
}
