//! A piece of a job file, read without knowing what it is a piece of: `40`, `"L2"`, `Unidirectional`, `Copper("4")`,
//! `(standard: BsEn61009, curve: B)` or a list. The result has the shape that serde gives the whole job as JSON.

use std::iter::Peekable;
use std::str::Chars;

use serde_json::{Map, Value};

/// Reads all of `text`.
pub(crate) fn read(text: &str) -> Result<Value, String> {
    let mut reader = Reader {
        rest: text.chars().peekable(),
    };
    let value = reader.value()?;
    match reader.next_sign() {
        None => Ok(value),
        Some(c) => Err(format!("`{c}` is too much in `{text}`")),
    }
}

struct Reader<'a> {
    rest: Peekable<Chars<'a>>,
}

impl Reader<'_> {
    fn next_sign(&mut self) -> Option<char> {
        while self.rest.peek().is_some_and(|c| c.is_whitespace()) {
            self.rest.next();
        }
        self.rest.peek().copied()
    }

    fn takes(&mut self, sign: char) -> bool {
        let found = self.next_sign() == Some(sign);
        if found {
            self.rest.next();
        }
        found
    }

    fn value(&mut self) -> Result<Value, String> {
        match self.next_sign() {
            Some('"') => self.string().map(Value::String),
            Some('[') => self.list('[', ']').map(Value::Array),
            Some('(') => self.brackets(),
            Some(c) if c.is_ascii_digit() || c == '-' => self.number(),
            Some(c) if c.is_alphabetic() => self.named(),
            Some(c) => Err(format!("`{c}` begins no value")),
            None => Err("a value is missing".into()),
        }
    }

    fn string(&mut self) -> Result<String, String> {
        self.rest.next();
        let mut out = String::new();
        for c in self.rest.by_ref() {
            match c {
                '"' => return Ok(out),
                c => out.push(c),
            }
        }
        Err("a text isn't closed".into())
    }

    /// With a point it stays text: decimals keep their digits.
    fn number(&mut self) -> Result<Value, String> {
        let mut out = String::new();
        while let Some(c) = self
            .rest
            .next_if(|c| c.is_ascii_digit() || "-.".contains(*c))
        {
            out.push(c);
        }
        match out.parse::<i64>() {
            Ok(n) => Ok(n.into()),
            Err(_) => Ok(Value::String(out)),
        }
    }

    fn word(&mut self) -> String {
        let mut out = String::new();
        while let Some(c) = self.rest.next_if(|c| c.is_alphanumeric() || *c == '_') {
            out.push(c);
        }
        out
    }

    fn named(&mut self) -> Result<Value, String> {
        let name = self.word();
        if self.next_sign() == Some('(') {
            let inner = match self.brackets()? {
                Value::Array(mut one) if one.len() == 1 => one.remove(0),
                other => other,
            };
            return Ok(Value::Object(Map::from_iter([(name, inner)])));
        }
        Ok(match name.as_str() {
            "true" => true.into(),
            "false" => false.into(),
            "None" => Value::Null,
            _ => Value::String(name),
        })
    }

    /// A struct where the first thing is `name:`, else a tuple.
    fn brackets(&mut self) -> Result<Value, String> {
        let mut ahead = self.rest.clone();
        ahead.next();
        let mut look = Reader { rest: ahead };
        look.next_sign();
        if look.word().is_empty() || !look.takes(':') {
            return self.list('(', ')').map(Value::Array);
        }
        self.rest.next();
        let mut out = Map::new();
        while !self.takes(')') {
            self.next_sign();
            let key = self.word();
            if key.is_empty() || !self.takes(':') {
                return Err(format!("`{key}` is no field"));
            }
            out.insert(key, self.value()?);
            if !self.takes(',') && self.next_sign() != Some(')') {
                return Err("a comma or closing bracket is missing".into());
            }
        }
        Ok(Value::Object(out))
    }

    fn list(&mut self, open: char, close: char) -> Result<Vec<Value>, String> {
        self.takes(open);
        let mut out = Vec::new();
        while !self.takes(close) {
            out.push(self.value()?);
            if !self.takes(',') && self.next_sign() != Some(close) {
                return Err(format!("a comma or `{close}` is missing"));
            }
        }
        Ok(out)
    }
}
