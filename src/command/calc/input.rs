//! `key=value` from the command line, taken apart and looked up.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::str::FromStr;

use anyhow::{Result, anyhow, bail};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::{Value, json};

use super::result::{Ordered, json_number};
use super::table::{Calc, Key, Need};
use crate::calc::CalcError;
use crate::job::text::sound;

/// The values of one calculation: those typed, and the defaults of the others.
pub(super) struct Inputs {
    calc: &'static Calc,
    typed: BTreeMap<&'static str, String>,
    /// What was typed for a number and isn't one.
    bad: RefCell<BTreeMap<&'static str, String>>,
}

impl Inputs {
    /// Takes `key=value` words.
    ///
    /// # Errors
    /// A word without `=`, a key that is unknown, given twice, empty or missing.
    pub(super) fn read(calc: &'static Calc, words: &[String]) -> Result<Inputs> {
        let mut typed = BTreeMap::new();
        for word in words {
            let Some((name, value)) = word.split_once('=') else {
                bail!(
                    "`{}` is not key=value; `{}` takes {}",
                    sound(word),
                    calc.name,
                    calc.usage()
                );
            };
            let Some(key) = calc.key(name.trim()) else {
                bail!(
                    "`{}` has no key `{}`; it takes {}",
                    calc.name,
                    sound(name.trim()),
                    calc.usage()
                );
            };
            if value.trim().is_empty() {
                bail!(
                    "`{}` has no value; it is {}, such as {}",
                    key.name,
                    key.about,
                    key.example()
                );
            }
            if typed.insert(key.name, value.trim().to_string()).is_some() {
                bail!("`{}` is given twice; give it once", key.name);
            }
        }
        let missing: Vec<String> = calc
            .keys
            .iter()
            .filter(|k| matches!(k.need, Need::Required) && !typed.contains_key(k.name))
            .map(|k| {
                format!(
                    "`{}` is missing: {}, such as {}",
                    k.name,
                    k.about,
                    k.example()
                )
            })
            .collect();
        if !missing.is_empty() {
            bail!("{}", missing.join("\n"));
        }
        for key in calc.keys {
            if let Need::Default(value) = key.need {
                typed.entry(key.name).or_insert_with(|| value.to_string());
            }
        }
        Ok(Inputs {
            calc,
            typed,
            bad: RefCell::default(),
        })
    }

    /// Whether a key has a value.
    pub(super) fn has(&self, name: &str) -> bool {
        self.typed.contains_key(name)
    }

    /// What was typed, or the default; empty where there is neither.
    pub(super) fn text(&self, name: &str) -> &str {
        self.typed.get(name).map_or("", String::as_str)
    }

    fn key(&self, name: &str) -> Result<&'static Key> {
        self.calc
            .key(name)
            .ok_or_else(|| anyhow!("`{}` has no key `{name}`", self.calc.name))
    }

    /// A number. What isn't one becomes "not a number" and is refused by the formula, which knows the range;
    /// [`explain`](Self::explain) then says what was typed.
    pub(super) fn number(&self, name: &str) -> Result<f64> {
        let key = self.key(name)?;
        Ok(self.one(key, self.text(name)))
    }

    fn one(&self, key: &'static Key, text: &str) -> f64 {
        let number = plain_number(text).and_then(|d| d.to_f64());
        number.unwrap_or_else(|| {
            self.bad.borrow_mut().insert(key.name, text.to_string());
            f64::NAN
        })
    }

    /// A number for a table, as typed.
    pub(super) fn decimal(&self, name: &str) -> Result<Decimal> {
        let key = self.key(name)?;
        let text = self.text(name);
        plain_number(text).ok_or_else(|| {
            anyhow!(
                "`{name}` is `{}`, which is not a number; it is {}, such as {}",
                sound(text),
                key.about,
                key.example()
            )
        })
    }

    /// A whole number of things.
    pub(super) fn count(&self, name: &str) -> Result<u32> {
        let n = self.decimal(name)?;
        if n.fract().is_zero()
            && let Some(n) = n.to_u32()
        {
            return Ok(n);
        }
        bail!(
            "`{name}` is {}; it can be a whole number from 1 to 1000, such as {}",
            self.text(name),
            self.key(name)?.example()
        )
    }

    /// Numbers with commas between them.
    pub(super) fn list(&self, name: &str) -> Result<Vec<f64>> {
        let key = self.key(name)?;
        let text = self.text(name);
        Ok(text.split(',').map(|t| self.one(key, t.trim())).collect())
    }

    /// One of some words, in lower case.
    pub(super) fn word<'a>(&self, name: &str, allowed: &[&'a str]) -> Result<&'a str> {
        let typed = self.text(name).to_lowercase();
        allowed
            .iter()
            .find(|a| **a == typed)
            .copied()
            .ok_or_else(|| {
                anyhow!(
                    "`{name}` is `{}`; it can be {}, such as {name}={}",
                    sound(self.text(name)),
                    allowed.join(", "),
                    allowed.first().copied().unwrap_or_default()
                )
            })
    }

    /// Words for a refused formula, with what was typed.
    pub(super) fn explain(&self, error: anyhow::Error) -> anyhow::Error {
        let Some(refused) = error.downcast_ref::<CalcError>() else {
            return error;
        };
        if let CalcError::OutOfRange {
            key,
            low,
            high,
            example,
            ..
        } = refused
            && let Some(text) = self.bad.borrow().get(key)
        {
            return anyhow!(
                "`{key}` is `{}`, which is not a number; it can be from {low} to {high}, such as {key}={example}",
                sound(text)
            );
        }
        anyhow!("{refused}")
    }

    /// The values as numbers, lists and words.
    pub(super) fn json(&self) -> Ordered {
        let mut out = Ordered::default();
        for key in self.calc.keys {
            let Some(text) = self.typed.get(key.name) else {
                continue;
            };
            let value = if key.list {
                text.split(',').map(|t| number_or_text(t.trim())).collect()
            } else {
                number_or_text(text)
            };
            out.add(key.name, value);
        }
        out
    }
}

fn number_or_text(text: &str) -> Value {
    plain_number(text).map_or_else(|| json!(text), json_number)
}

/// Digits with one decimal point or comma; no exponent, no infinity.
fn plain_number(text: &str) -> Option<Decimal> {
    let plain = text.replacen(',', ".", 1);
    let digits = plain.strip_prefix('-').unwrap_or(&plain);
    let allowed = |c: char| c.is_ascii_digit() || c == '.';
    if digits.is_empty() || digits.len() > 16 || !digits.chars().all(allowed) {
        return None;
    }
    Decimal::from_str(&plain).ok()
}
