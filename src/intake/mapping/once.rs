//! A map in a mapping.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};

/// A map that refuses a name that is given twice, where a plain one would take the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Once<V>(pub BTreeMap<String, V>);

impl<V> Default for Once<V> {
    fn default() -> Self {
        Once(BTreeMap::new())
    }
}

impl<'de, V: Deserialize<'de>> Deserialize<'de> for Once<V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Strict<V>(PhantomData<V>);
        impl<'de, V: Deserialize<'de>> Visitor<'de> for Strict<V> {
            type Value = Once<V>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map, such as {\"name\": …}")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Once<V>, A::Error> {
                let mut out = BTreeMap::new();
                while let Some(name) = map.next_key::<String>()? {
                    let value = map.next_value()?;
                    if out.contains_key(&name) {
                        return Err(serde::de::Error::custom(format!(
                            "`{name}` is given twice: keep one"
                        )));
                    }
                    out.insert(name, value);
                }
                Ok(Once(out))
            }
        }
        deserializer.deserialize_map(Strict(PhantomData))
    }
}
