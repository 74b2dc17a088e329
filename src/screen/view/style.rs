//! Colours and emphasis. Colour is never the only sign, and with colour off only modifiers are set.

use ratatui::style::{Color, Modifier, Style};

use crate::checks::Verdict;

/// Style of a verdict's word and mark.
pub(super) fn verdict(v: Verdict, colour: bool) -> Style {
    let style = match v {
        Verdict::Outside => Style::new().add_modifier(Modifier::BOLD | Modifier::REVERSED),
        Verdict::Query | Verdict::Close => Style::new().add_modifier(Modifier::BOLD),
        _ => Style::new(),
    };
    if !colour {
        return style;
    }
    match v {
        Verdict::Outside => style.fg(Color::Red),
        Verdict::Query | Verdict::Close => style.fg(Color::Magenta),
        Verdict::Within => style.fg(Color::Green),
        Verdict::Open | Verdict::Excused => style,
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
pub(super) fn caution(colour: bool) -> Style {
    let style = strong();
    if colour { style.fg(Color::Red) } else { style }
}
