//! A field of a part as data: how it is called, shown and set. The tables of the other files consist of these.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use crate::job::value::Value;
use crate::job::{
    Answer, CableForm, CircuitKind, Curve, DeviceStandard, Direction, Earthing, InsulationMethod,
    InverterKind, Job, Lines, Part, Phases, Premises, RcdType, Role, StoragePlace, Work,
};

/// What an optional group is called while it isn't there.
pub(super) const NONE: &str = "none";

/// Lines of a list of choices: what a choice sets, and what is shown.
pub type Choices = Vec<(String, String)>;

/// How a field is entered.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// Words on one line.
    Text,
    /// Words on several lines; a line end is shown as `¶`.
    Prose,
    /// A number.
    Number,
    /// A whole number.
    Whole,
    /// A day, as YYYY-MM-DD.
    Date,
    /// One of these.
    Pick(fn(&Job) -> Choices),
    /// One of these, or own words.
    Suggest(fn(&Job) -> Choices),
    /// Several texts: each has a row of its own.
    List {
        /// What each is called.
        one: &'static str,
        /// The texts.
        items: fn(&Part) -> Vec<String>,
        /// Sets them.
        put: fn(&mut Part, Vec<String>) -> Result<(), String>,
    },
}

/// One field of a kind of part.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// Its names in the job file, with a point behind each.
    pub path: &'static str,
    /// What it is called.
    pub heading: &'static str,
    /// Unit; empty for none.
    pub unit: &'static str,
    /// What is meant, and what is allowed.
    pub hint: &'static str,
    /// How it is entered.
    pub kind: Kind,
    /// As it is; empty for nothing.
    pub get: fn(&Part) -> String,
    /// Sets it from what was typed or chosen; an error says what is allowed.
    pub set: fn(&mut Part, &str) -> Result<(), String>,
}

/// A type that a field can have.
pub(super) trait Typed: Sized {
    /// How it is entered.
    const KIND: Kind;
    /// As it is shown.
    fn shown(&self) -> String;
    /// From what was typed.
    fn read(text: &str) -> Result<Self, String>;
}

/// The kind of the field that a function leads to.
pub(super) const fn kind_of<P, T: Typed>(_: fn(&P) -> &T) -> Kind {
    T::KIND
}

/// A type with a few values, each with a word.
pub(super) trait Words: Copy + 'static {
    /// Every value, in the order lists are shown.
    const ALL: &'static [Self];
    /// Its word.
    fn word(self) -> &'static str;
}

/// The words of a type as a list of choices.
pub(super) fn choices<T: Words>(_: &Job) -> Choices {
    T::ALL
        .iter()
        .map(|v| (v.word().to_string(), v.word().to_string()))
        .collect()
}

/// The same with nothing before them.
pub(super) fn choices_or_none<T: Words>(job: &Job) -> Choices {
    let mut out = vec![(NONE.to_string(), NONE.to_string())];
    out.extend(choices::<T>(job));
    out
}

fn read_word<T: Words>(text: &str) -> Result<T, String> {
    let typed = text.trim().to_lowercase();
    T::ALL
        .iter()
        .copied()
        .find(|v| v.word().to_lowercase() == typed)
        .ok_or_else(|| {
            let all: Vec<&str> = T::ALL.iter().map(|v| v.word()).collect();
            format!("`{typed}` isn't one of these: {}", all.join(", "))
        })
}

impl<T: Words> Typed for T {
    const KIND: Kind = Kind::Pick(choices::<T>);

    fn shown(&self) -> String {
        self.word().to_string()
    }

    fn read(text: &str) -> Result<Self, String> {
        read_word(text)
    }
}

macro_rules! words {
    ($type:ident: $($value:ident $word:literal),+) => {
        impl Words for $type {
            const ALL: &'static [Self] = &[$($type::$value),+];
            fn word(self) -> &'static str {
                match self { $($type::$value => $word),+ }
            }
        }
    };
}

words!(Work: New "new installation", Addition "addition", Alteration "alteration");
words!(Premises: Dwelling "dwelling", HigherRiskResidential "higher-risk residential building",
    Hmo "house in multiple occupation", StudentAccommodation "student accommodation", CareHome "care home",
    Other "other premises");
words!(Role: Qualified "qualified", Apprentice "apprentice");
words!(Earthing: TnS "TN-S", TnCS "TN-C-S", Tt "TT");
words!(Phases: Single "single-phase", Three "three-phase");
words!(Lines: L1 "L1", L2 "L2", L3 "L3", All "L1 L2 L3");
words!(CircuitKind: Sockets "socket-outlets", Lighting "lighting", Fixed "fixed equipment",
    Distribution "distribution", Source "source", Spare "spare");
words!(DeviceStandard: BsEn60898 "BS EN 60898", BsEn61009 "BS EN 61009", Bs88_2 "BS 88-2", Bs88_3 "BS 88-3",
    Bs3036 "BS 3036");
words!(Curve: B "B", C "C", D "D");
words!(Direction: Unknown "not looked at yet", Bidirectional "both ways", Unidirectional "one way only");
words!(RcdType: AC "AC", A "A", F "F", B "B");
words!(CableForm: FlatTwinEarth70 "flat twin and earth, 70 °C", Singles70 "singles, 70 °C",
    Armoured90 "steel-wire armoured, 90 °C", Flexible "flexible");
words!(InsulationMethod: EachPole "each pole to earth", PolesJoined "both poles joined, to earth");
words!(InverterKind: Micro "micro-inverter", String "string inverter", Hybrid "hybrid inverter",
    Storage "storage inverter");
words!(StoragePlace: Outdoors "outdoors", Garage "garage", Utility "utility room", PlantRoom "plant room",
    OtherIndoors "another room", Bedroom "bedroom", EscapeRoute "escape route",
    CupboardOffBedroom "cupboard off a bedroom", LoftOrVoid "loft or void");

/// Yes or no, as a type with words.
#[derive(Clone, Copy)]
enum YesNo {
    No,
    Yes,
}

words!(YesNo: No "no", Yes "yes");

/// Yes or no as a list of choices.
pub(super) fn choices_yes_no(job: &Job) -> Choices {
    choices::<YesNo>(job)
}

impl Typed for bool {
    const KIND: Kind = Kind::Pick(choices_yes_no);

    fn shown(&self) -> String {
        if *self { YesNo::Yes } else { YesNo::No }.shown()
    }

    fn read(text: &str) -> Result<Self, String> {
        Ok(matches!(read_word::<YesNo>(text)?, YesNo::Yes))
    }
}

impl Typed for String {
    const KIND: Kind = Kind::Text;

    fn shown(&self) -> String {
        self.clone()
    }

    fn read(text: &str) -> Result<Self, String> {
        Ok(text.trim().to_string())
    }
}

impl Typed for Decimal {
    const KIND: Kind = Kind::Number;

    fn shown(&self) -> String {
        self.to_string()
    }

    fn read(text: &str) -> Result<Self, String> {
        let text = text.trim();
        if text.is_empty() {
            return Err("this one can't be empty: type a number, such as 2.5".into());
        }
        match Value::parse(Answer::SignedNumber, text)? {
            Value::Number(n) => Ok(n),
            _ => Err(format!(
                "`{text}` is not a plain number: type digits with one decimal point or comma, such as 2.5"
            )),
        }
    }
}

/// `24.6.2026` or `24/6/2026`: day, month, year, as it is written where this is used. `None` where it isn't written so, and a day
/// that there isn't inside.
fn day_month_year(text: &str) -> Option<Option<NaiveDate>> {
    let sign = text.chars().find(|c| !c.is_ascii_digit())?;
    let parts: Vec<&str> = text.split(sign).map(str::trim).collect();
    let [day, month, year] = parts.as_slice() else {
        return None;
    };
    let digits = |p: &str, most: usize| {
        (1..=most).contains(&p.len()) && p.chars().all(|c| c.is_ascii_digit())
    };
    if !matches!(sign, '.' | '/') || !digits(day, 2) || !digits(month, 2) || !digits(year, 4) {
        return None;
    }
    let number = |p: &str| p.parse::<u32>().ok();
    let day = (year.len() == 4)
        .then(|| {
            let year = i32::try_from(number(year)?).ok()?;
            NaiveDate::from_ymd_opt(year, number(month)?, number(day)?)
        })
        .flatten();
    Some(day)
}

impl Typed for NaiveDate {
    const KIND: Kind = Kind::Date;

    fn shown(&self) -> String {
        self.format("%Y-%m-%d").to_string()
    }

    fn read(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let wrong = || {
            format!(
                "`{text}` is not a day: type year, month and day as YYYY-MM-DD, such as 2026-06-24, or day, month and year as 24.6.2026"
            )
        };
        if let Some(day) = day_month_year(text) {
            return day.ok_or_else(wrong);
        }
        let mut parts = text.split('-');
        let whole = [4, 2, 2].iter().all(|n| {
            parts
                .next()
                .is_some_and(|p| p.len() == *n && p.chars().all(|c| c.is_ascii_digit()))
        });
        if !whole || parts.next().is_some() {
            return Err(wrong());
        }
        NaiveDate::parse_from_str(text, "%Y-%m-%d").map_err(|_| wrong())
    }
}

macro_rules! whole {
    ($($type:ty),+) => {$(
        impl Typed for $type {
            const KIND: Kind = Kind::Whole;

            fn shown(&self) -> String {
                self.to_string()
            }

            fn read(text: &str) -> Result<Self, String> {
                let text = text.trim();
                Some(text)
                    .filter(|t| t.chars().all(|c| c.is_ascii_digit()))
                    .and_then(|t| t.parse().ok())
                    .ok_or_else(|| format!("`{text}` is not a whole number from 0 to {}", <$type>::MAX))
            }
        }
    )+};
}

whole!(u8, u16);

macro_rules! optional {
    ($($type:ty),+) => {$(
        impl Typed for Option<$type> {
            const KIND: Kind = <$type as Typed>::KIND;

            fn shown(&self) -> String {
                self.as_ref().map_or_else(String::new, Typed::shown)
            }

            fn read(text: &str) -> Result<Self, String> {
                match text.trim() {
                    "" => Ok(None),
                    text => <$type>::read(text).map(Some),
                }
            }
        }
    )+};
}

optional!(u8, u16, Decimal, NaiveDate);

macro_rules! optional_word {
    ($($type:ty, $words:ty);+) => {$(
        impl Typed for Option<$type> {
            const KIND: Kind = Kind::Pick(choices_or_none::<$words>);

            fn shown(&self) -> String {
                self.as_ref().map_or_else(|| NONE.to_string(), Typed::shown)
            }

            fn read(text: &str) -> Result<Self, String> {
                match text.trim() {
                    "" | NONE => Ok(None),
                    text => <$type>::read(text).map(Some),
                }
            }
        }
    )+};
}

optional_word!(bool, YesNo; Curve, Curve; StoragePlace, StoragePlace);

/// A field of a part: `field!(Bond.mm2, "size", "mm²", "hint")`, with `as KIND` where it is entered in another way than its
/// type says.
macro_rules! field {
    ($part:ident.$($f:ident).+, $heading:literal, $unit:literal, $hint:literal) => {
        field!($part.$($f).+, $heading, $unit, $hint,
            $crate::screen::record::entry::kind_of::<$crate::job::$part, _>(|x| &x.$($f).+))
    };
    ($part:ident.$($f:ident).+, $heading:literal, $unit:literal, $hint:literal, $kind:expr) => {
        $crate::screen::record::entry::Entry {
            path: concat!($(stringify!($f), "."),+),
            heading: $heading,
            unit: $unit,
            hint: $hint,
            kind: $kind,
            get: |p| match p {
                $crate::job::Part::$part(x) => {
                    $crate::screen::record::entry::Typed::shown(&x.$($f).+)
                }
                _ => String::new(),
            },
            set: |p, text| {
                if let $crate::job::Part::$part(x) = p {
                    x.$($f).+ = $crate::screen::record::entry::Typed::read(text)?;
                }
                Ok(())
            },
        }
    };
}

/// The field that an optional group hangs on: entering it makes the group, emptying it or choosing `none` takes it away.
macro_rules! gate {
    ($part:ident.$group:ident.$f:ident, $start:expr, $heading:literal, $unit:literal, $hint:literal, $kind:expr, $none:expr) => {
        $crate::screen::record::entry::Entry {
            path: concat!(stringify!($group), ".", stringify!($f), "."),
            heading: $heading,
            unit: $unit,
            hint: $hint,
            kind: $kind,
            get: |p| match p {
                $crate::job::Part::$part(x) => x.$group.as_ref().map_or_else(
                    || $none.to_string(),
                    |g| $crate::screen::record::entry::Typed::shown(&g.$f),
                ),
                _ => String::new(),
            },
            set: |p, text| {
                let $crate::job::Part::$part(x) = p else {
                    return Ok(());
                };
                if ["", $crate::screen::record::entry::NONE].contains(&text.trim()) {
                    x.$group = None;
                    return Ok(());
                }
                let value = $crate::screen::record::entry::Typed::read(text)?;
                x.$group.get_or_insert_with($start).$f = value;
                Ok(())
            },
        }
    };
}

/// Another field of an optional group.
macro_rules! member {
    ($part:ident.$group:ident.$f:ident: $inner:ty, $heading:literal, $unit:literal, $hint:literal, $first:literal) => {
        member!($part.$group.$f: $inner, $heading, $unit, $hint, $first,
            $crate::screen::record::entry::kind_of::<$inner, _>(|x| &x.$f))
    };
    ($part:ident.$group:ident.$f:ident: $inner:ty, $heading:literal, $unit:literal, $hint:literal, $first:literal, $kind:expr) => {
        $crate::screen::record::entry::Entry {
            path: concat!(stringify!($group), ".", stringify!($f), "."),
            heading: $heading,
            unit: $unit,
            hint: $hint,
            kind: $kind,
            get: |p| match p {
                $crate::job::Part::$part(x) => x
                    .$group
                    .as_ref()
                    .map_or_else(String::new, |g| {
                        $crate::screen::record::entry::Typed::shown(&g.$f)
                    }),
                _ => String::new(),
            },
            set: |p, text| {
                let $crate::job::Part::$part(x) = p else {
                    return Ok(());
                };
                match &mut x.$group {
                    Some(g) => {
                        g.$f = $crate::screen::record::entry::Typed::read(text)?;
                        Ok(())
                    }
                    None if text.trim().is_empty() => Ok(()),
                    None => Err(concat!("there is none yet: enter ", $first, " first").into()),
                }
            },
        }
    };
}

pub(super) use {field, gate, member};
