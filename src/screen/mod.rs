//! The terminal: state, keys, update and view; `sitting` and `begin` alone do file work, `run` is the loop.

pub mod ascii;
pub mod begin;
pub mod bring;
pub mod choice;
mod choosing;
pub mod field;
pub mod find;
mod find_index;
mod jump;
mod keeping;
pub mod keys;
pub mod learn;
pub mod look;
pub mod map;
pub mod past;
pub mod record;
pub mod run;
pub mod said;
mod several;
pub mod sheet;
pub mod sitting;
pub mod state;
mod take_back;
mod tally;
pub mod terminal;
mod update;
pub mod view;
mod vouch;

pub use state::{State, View};
