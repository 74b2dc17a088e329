//! The learn page: which place it is about, and how it opens and closes.

use crate::job::{Place, Spot};

use super::bring;
use super::record::Row;
use super::state::{State, View};

/// The learn page that is open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Learn {
    /// The place it is about, and the view to go back to from it.
    pub of: Option<(Place, View)>,
    /// Lines that are scrolled away.
    pub line: usize,
}

/// Opens the page of the place at hand, or closes it.
pub(super) fn open(state: &mut State) {
    if state.view == View::Learn {
        close(state);
        return;
    }
    if state.view == View::Why
        && let Some((_, View::Learn)) = state.why
    {
        super::update::close_top(state);
        return;
    }
    match at_hand(state) {
        Some(place) => {
            state.learn = Learn {
                of: Some((place, state.view)),
                line: 0,
            };
            state.view = View::Learn;
        }
        None => state.complain("nothing is selected here that has a page to learn from"),
    }
}

/// Goes back to where the page was opened.
pub(super) fn close(state: &mut State) {
    state.view = state.learn.of.take().map_or(View::Walk, |(_, from)| from);
}

/// The place that a page would be about. In the record a part has many: the one that needs an eye most is taken.
fn at_hand(state: &State) -> Option<Place> {
    let spot = match state.view {
        View::Left => return state.left_at(state.left_line).map(|f| f.place.clone()),
        View::Bring => return bring::place(state),
        View::Why => return state.why.as_ref().map(|(place, _)| place.clone()),
        View::Record => match state.record_rows().get(state.record.row) {
            Some(Row::Part(spot)) => spot.clone(),
            _ => return None,
        },
        View::Form => state.record.spot.clone()?,
        _ => return state.focus(),
    };
    // Inspection, confirmations and signatures belong to no part that is edited.
    if spot == Spot::Visit {
        return None;
    }
    let belongs = |place: &Place| state.job.spot_of(place) == spot;
    let pressing = state.left().into_iter().map(|f| &f.place);
    let any = state.findings.iter().map(|f| &f.place);
    pressing.chain(any).find(|p| belongs(p)).cloned()
}
