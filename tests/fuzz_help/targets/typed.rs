//! What is typed for a reading or a place.

use wanderlead::job::{Answer, Place, Value};

use crate::fuzz_help::check;
use crate::fuzz_help::mutate::Mutator;
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::chance::Chance;

pub const TARGET: Target = Target {
    name: "typed_readings",
    corpus: || {
        let lines = [
            "0.42",
            "0,42",
            ">999",
            "<0.05",
            ">=999",
            "y",
            "no",
            "pass",
            "lim: no access",
            "n/a: none",
            "12",
            "-3.5",
            "1 2 3",
            "900 -2100 0",
            "> 200",
            "1.370",
            "G99",
            "0.42 Ω",
            "299 MΩ",
            "1,234.5",
            "R/1/zs",
            "supply/ze",
            "label/isolator:INV1/fitted",
            "bond/1/r2",
        ];
        lines.iter().map(|l| l.as_bytes().to_vec()).collect()
    },
    mutate,
    run,
    short: 3000,
    each: 1,
};

fn mutate(mutator: &Mutator, chance: &mut Chance) -> Vec<u8> {
    mutator.lines(chance)
}

const ANSWERS: [Answer; 7] = [
    Answer::Number,
    Answer::SignedNumber,
    Answer::PassFail,
    Answer::Text,
    Answer::Count,
    Answer::List,
    Answer::SignedList,
];

fn run(input: &[u8]) -> Result<Came, String> {
    let text = String::from_utf8_lossy(input);
    let mut came = Came::Refused;
    for answer in ANSWERS {
        match Value::parse(answer, &text) {
            Err(why) => check::readable(&why)?,
            Ok(value) => {
                came = Came::Taken;
                // Blanks around it mean nothing.
                if Value::parse(answer, text.trim()).as_ref() != Ok(&value) {
                    return Err(format!(
                        "{text:?} without blanks is something else for {answer:?}"
                    ));
                }
            }
        }
    }
    match text.parse::<Place>() {
        Err(why) => {
            if why.is_empty() {
                return Err("a place is refused without a word".into());
            }
        }
        Ok(place) => {
            came = Came::Taken;
            if place.to_string().parse::<Place>().as_ref() != Ok(&place) {
                return Err(format!(
                    "the place {place} is another when it is read again"
                ));
            }
        }
    }
    Ok(came)
}
