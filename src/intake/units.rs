//! Numbers as a file writes them, and their units: SI prefixes move the decimal point, so nothing is ever rounded.

use std::str::FromStr;

use rust_decimal::Decimal;
use serde::Deserialize;

use crate::job::Unit;

/// Most digits before the decimal point of a reading; the same as where one is typed.
const WHOLE: usize = 9;
/// Most digits behind it.
const FRACTION: u32 = 6;

/// The decimal sign of a file. No other sign between digits is accepted: it could be taken for one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Sign {
    /// `0.82`
    Point,
    /// `0,82`
    Comma,
}

impl Sign {
    /// As it stands in a number.
    pub(super) fn char(self) -> char {
        match self {
            Sign::Point => '.',
            Sign::Comma => ',',
        }
    }

    fn word(self) -> &'static str {
        match self {
            Sign::Point => "point",
            Sign::Comma => "comma",
        }
    }
}

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quantity {
    Resistance,
    Voltage,
    Current,
    Time,
    Power,
    Irradiance,
    Temperature,
}

/// Symbols of units without prefix.
const SYMBOLS: &[(&str, Quantity)] = &[
    ("\u{3a9}", Quantity::Resistance),
    // The sign of its own that Unicode also has for the ohm.
    ("\u{2126}", Quantity::Resistance),
    ("ohm", Quantity::Resistance),
    ("V", Quantity::Voltage),
    ("A", Quantity::Current),
    ("s", Quantity::Time),
    ("W", Quantity::Power),
    ("W/m\u{b2}", Quantity::Irradiance),
    ("W/m2", Quantity::Irradiance),
];

/// Prefixes and their powers of ten: SI Brochure, 9th edition, Table 7. Case counts: `m` is milli, `M` is mega.
const PREFIXES: &[(&str, i32)] = &[
    ("n", -9),
    ("\u{b5}", -6),
    ("\u{3bc}", -6),
    ("m", -3),
    ("k", 3),
    ("M", 6),
    ("G", 9),
    ("T", 12),
];

/// Quantity and power of ten of a symbol such as `kΩ`.
fn scale(symbol: &str) -> Option<(Quantity, i32)> {
    let plain = |s: &str| SYMBOLS.iter().find(|(name, _)| *name == s).map(|(_, q)| *q);
    if let Some(quantity) = plain(symbol) {
        return Some((quantity, 0));
    }
    // No prefix goes with it.
    if matches!(symbol, "\u{b0}C" | "degC") {
        return Some((Quantity::Temperature, 0));
    }
    PREFIXES.iter().find_map(|(prefix, power)| {
        let rest = symbol.strip_prefix(prefix)?;
        Some((plain(rest)?, *power))
    })
}

/// By how many powers of ten a number in `symbol` has to be raised to be in `unit`.
///
/// # Errors
/// The symbol isn't known, or measures something else.
pub(super) fn powers(symbol: &str, unit: Unit) -> Result<i32, String> {
    let (quantity, from) = scale(symbol).ok_or_else(|| {
        let symbol = brief(symbol);
        format!("no unit is called `{symbol}`; write it as the SI does, such as m\u{3a9}, \u{3a9}, k\u{3a9}, M\u{3a9}, V, mA, A, kA, ms or s")
    })?;
    let (wanted, to) = scale(unit.symbol())
        .ok_or_else(|| format!("this test has no unit, and `{symbol}` is one"))?;
    if quantity == wanted {
        Ok(from - to)
    } else {
        Err(format!("`{symbol}` can't be made into {unit}"))
    }
}

/// A number with the one decimal sign of the file; nothing between its digits, no exponent.
///
/// # Errors
/// Why it isn't one.
pub(super) fn number(text: &str, sign: Sign) -> Result<Decimal, String> {
    let not = |why: &str| -> Result<Decimal, String> {
        Err(format!("`{}` is no number{why}", brief(text)))
    };
    let body = text.strip_prefix(['-', '\u{2212}']).unwrap_or(text);
    let negative = body.len() != text.len();
    let (whole, fraction) = match body.split_once(sign.char()) {
        Some((whole, fraction)) => (whole, fraction),
        None => (body, ""),
    };
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || (fraction.is_empty() && body.ends_with(sign.char())) {
        return not("");
    }
    if !digits(whole) || !digits(fraction) {
        let other = |c: char| matches!(c, ',' | '.' | '\'' | ' ' | '\u{a0}' | '\u{202f}');
        let apart = body.chars().all(|c| c.is_ascii_digit() || other(c));
        return not(&if apart {
            format!(
                ": the mapping says that the decimal sign is a {}, and signs between thousands aren't accepted",
                sign.word()
            )
        } else {
            String::new()
        });
    }
    // No instrument has so many, and no step below can overflow.
    if whole.len() + fraction.len() > 18 {
        return not(": it has too many digits");
    }
    let minus = if negative { "-" } else { "" };
    let point = if fraction.is_empty() { "" } else { "." };
    Decimal::from_str(&format!("{minus}{whole}{point}{fraction}")).or_else(|_| not(""))
}

/// A number with its decimal point moved, in the digits that a reading may have. No digit is lost or made up, but for zeros
/// that a larger unit needs.
///
/// # Errors
/// It would have more digits than a reading may.
pub(super) fn raised(number: Decimal, powers: i32) -> Result<String, String> {
    let too_many = || {
        format!(
            "in the unit of the test it would have more than {WHOLE} digits before the point or {FRACTION} behind it"
        )
    };
    let scale = i64::from(number.scale()) - i64::from(powers);
    let (mantissa, scale) = match u32::try_from(scale) {
        Ok(scale) => (number.mantissa(), scale),
        Err(_) => {
            let zeros = u32::try_from(-scale).map_err(|_| too_many())?;
            let tens = 10_i128.checked_pow(zeros).ok_or_else(too_many)?;
            let mantissa = number.mantissa().checked_mul(tens);
            (mantissa.ok_or_else(too_many)?, 0)
        }
    };
    let mut moved = Decimal::try_from_i128_with_scale(mantissa, scale).map_err(|_| too_many())?;
    // Zeros at the end of a file's number say nothing that six places don't.
    while moved.scale() > FRACTION && moved.mantissa() % 10 == 0 {
        moved = Decimal::try_from_i128_with_scale(moved.mantissa() / 10, moved.scale() - 1)
            .map_err(|_| too_many())?;
    }
    let whole = moved.trunc().abs().to_string();
    if moved.scale() > FRACTION || whole.len() > WHOLE {
        return Err(too_many());
    }
    Ok(moved.to_string())
}

/// A text for a message: cut, and without what could do something to the terminal.
pub(super) fn brief(text: &str) -> String {
    const LONGEST: usize = 40;
    let short: String = text.chars().take(LONGEST).collect();
    let more = if short.len() < text.len() { "…" } else { "" };
    format!("{}{more}", crate::job::validate::words::shown(&short))
}

/// A text that is kept with a reading, as it stands there. Only one that no file system or instrument writes is cut.
pub(super) fn whole(text: &str) -> String {
    both_ends(&crate::job::validate::words::shown(text), 260)
}

/// A text of at most that many characters, cut in its middle: what tells two texts apart is mostly at one of their ends.
pub(super) fn both_ends(text: &str, longest: usize) -> String {
    let length = text.chars().count();
    if length <= longest {
        return text.to_string();
    }
    let begin = longest / 2;
    let end = longest.saturating_sub(begin + 1);
    let begin: String = text.chars().take(begin).collect();
    let end: String = text.chars().skip(length - end).collect();
    format!("{begin}…{end}")
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Against the SI Brochure (BIPM, 9th edition, Table 7): milli 10⁻³, kilo 10³, mega 10⁶, giga 10⁹, micro 10⁻⁶.
    #[test]
    fn prefixes_are_those_of_the_si() {
        for (text, from, unit, want) in [
            ("820", "mΩ", Unit::Ohm, "0.820"),
            ("0.82", "Ω", Unit::Ohm, "0.82"),
            ("0.00082", "kΩ", Unit::Ohm, "0.82"),
            ("535", "kΩ", Unit::Megohm, "0.535"),
            ("1.2", "GΩ", Unit::Megohm, "1200"),
            ("1.20", "\u{2126}", Unit::Ohm, "1.20"),
            ("299", "Mohm", Unit::Megohm, "299"),
            ("1050", "A", Unit::KiloAmp, "1.050"),
            ("1.05", "kA", Unit::KiloAmp, "1.05"),
            ("0.0213", "s", Unit::Millisecond, "21.3"),
            ("21.3", "ms", Unit::Millisecond, "21.3"),
            ("0.386", "kV", Unit::Volt, "386"),
            ("38600", "mV", Unit::Volt, "38.600"),
            ("950000", "µA", Unit::Amp, "0.95"),
            ("0.812", "kW/m²", Unit::WattPerM2, "812"),
            ("-4.5", "°C", Unit::Celsius, "-4.5"),
        ] {
            let raised = raised(
                number(text, Sign::Point).unwrap(),
                powers(from, unit).unwrap(),
            );
            let raised = raised.unwrap();
            let same =
                |a: &str, b: &str| a.parse::<Decimal>().unwrap() == b.parse::<Decimal>().unwrap();
            assert!(same(&raised, want), "{text} {from}: {raised}, not {want}");
        }
        assert_eq!(raised(Decimal::from(820), -3).unwrap(), "0.820");
    }

    #[test]
    fn what_is_no_unit_of_the_test_is_refused() {
        for (from, unit) in [
            ("KΩ", Unit::Ohm),
            ("mS", Unit::Millisecond),
            ("Ohm", Unit::Ohm),
            ("V", Unit::Ohm),
            ("", Unit::Ohm),
            ("k", Unit::Ohm),
            ("m°C", Unit::Celsius),
            ("°F", Unit::Celsius),
            ("Ω", Unit::Unitless),
        ] {
            assert!(powers(from, unit).is_err(), "{from}");
        }
    }

    #[test]
    fn only_the_decimal_sign_of_the_file_stands_between_digits() {
        for (text, sign) in [
            ("1,234", Sign::Point),
            ("1.234", Sign::Comma),
            ("1 234", Sign::Point),
            ("1'234.5", Sign::Point),
            ("1.234,5", Sign::Comma),
            ("1.2.3", Sign::Point),
        ] {
            let error = number(text, sign).unwrap_err();
            assert!(error.contains("decimal sign"), "{text}: {error}");
        }
        for text in [
            "",
            "-",
            ".",
            ".5",
            "5.",
            "1e3",
            "+1",
            "0x1",
            "NaN",
            "--1",
            "١",
            "1234567890123456789",
        ] {
            assert!(number(text, Sign::Point).is_err(), "{text}");
        }
        assert_eq!(number("0,820", Sign::Comma).unwrap().to_string(), "0.820");
        assert_eq!(number("\u{2212}4", Sign::Point).unwrap().to_string(), "-4");
    }

    #[test]
    fn too_many_digits_are_a_fault_and_never_rounded() {
        let n = |t: &str| number(t, Sign::Point).unwrap();
        assert!(raised(n("0.0001"), -3).is_err());
        assert!(raised(n("1234567"), 3).is_err());
        assert!(raised(n("999999999999999999"), 21).is_err());
        assert_eq!(raised(n("0.00010"), -2).unwrap(), "0.000001");
        assert_eq!(raised(n("0.000"), 6).unwrap(), "0");
        assert_eq!(raised(n("-0.5"), 3).unwrap(), "-500");
    }
}
