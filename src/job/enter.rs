//! What may be entered anew. Records of before may hold less: they open, and are judged, as they are.

use super::change::ChangeError;
use super::place::Place;
use super::reading::Reading;
use super::validate::words::has_words;
use super::value::{LIMITATION, NOT_APPLICABLE, Value};
use super::vouch::reason_stands;
use super::{Job, Person};

/// Whether a reason may be given anew: as [`reason_stands`], and in words.
///
/// # Errors
/// What is wrong with it, in words.
pub fn reason_in_words(reason: &str) -> Result<(), String> {
    reason_stands(reason)?;
    if has_words(reason) {
        Ok(())
    } else {
        Err(format!("`{reason}` is no reason: say why, in words"))
    }
}

impl Job {
    /// Whether somebody may enter `reading` at `place` now: as [`would_keep`](Self::would_keep), with a reason in words where no
    /// reading is taken, and with one's own name as a signature.
    ///
    /// # Errors
    /// What is wrong with it; nothing is ever changed.
    pub fn may_enter(&self, place: &Place, reading: &Reading) -> Result<Value, ChangeError> {
        let value = self.would_keep(place, reading)?;
        let fault = match &value {
            Value::Limitation(reason) if !has_words(reason) => Some(no_reason(reason, LIMITATION)),
            Value::NotApplicable(reason) if !has_words(reason) => {
                Some(no_reason(reason, NOT_APPLICABLE))
            }
            Value::Text(name) if place.test.is_signature() => {
                self.person(&reading.by).and_then(|p| not_signed(p, name))
            }
            _ => None,
        };
        match fault {
            None => Ok(value),
            Some(why) => Err(ChangeError::Unreadable {
                place: place.clone(),
                why,
            }),
        }
    }
}

fn no_reason(reason: &str, prefix: &str) -> String {
    format!(
        "`{reason}` is no reason why no reading is taken: say it in words, such as `{prefix} room locked`; a reading is typed without `{prefix}`"
    )
}

/// Why a text isn't the signature of a person.
fn not_signed(person: &Person, typed: &str) -> Option<String> {
    let name = person.name.trim();
    if name.is_empty() {
        return Some(format!(
            "the name of {} isn't recorded: enter it in the record first, then sign with it",
            person.id
        ));
    }
    let plain = |text: &str| {
        let words: Vec<&str> = text.split_whitespace().collect();
        words.join(" ").to_lowercase()
    };
    (plain(name) != plain(typed)).then(|| {
        format!("`{typed}` is no signature of {name}, who is entering: type {name}, or change who is entering first")
    })
}
