//! What the customer keeps.
use super::State;
use super::sheet::Sheet;
use crate::paper::flow::Block;
/// Title.
pub(super) const TITLE: &str = "Handover";
pub(super) fn blocks(_sheet: &Sheet<'_>, _state: State) -> Vec<Block> {
    vec![Block::anchored(1, "Handover", "handover")]
}
