//! Whether meters and current transformers sit where they should and point the right way: grid + PV + battery = load.
//!
//! Powers have the signs of the record: import, generating, discharging and load are above zero.

use super::error::CalcError;
use super::input;

/// State the powers are read in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// PV off, load on, battery at rest.
    Idle,
    /// PV above load.
    Surplus,
    /// Battery charging.
    Charging,
}

/// What a transformer measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meter {
    /// Supply from and to the network.
    Grid,
    /// PV inverters.
    Pv,
    /// Battery inverter.
    Battery,
}

impl Meter {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Meter::Grid => "grid",
            Meter::Pv => "PV",
            Meter::Battery => "battery",
        }
    }
}

/// Powers as they are shown, W; `None` for what isn't there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Powers {
    /// Import above zero, export below.
    pub grid: f64,
    /// Generating above zero.
    pub pv: Option<f64>,
    /// Discharging above zero, charging below.
    pub battery: Option<f64>,
    /// What the premises use.
    pub load: f64,
}

impl Powers {
    fn meters(&self) -> Vec<Meter> {
        let mut out = vec![Meter::Grid];
        out.extend(self.pv.map(|_| Meter::Pv));
        out.extend(self.battery.map(|_| Meter::Battery));
        out
    }

    fn shown(&self, meter: Meter) -> f64 {
        match meter {
            Meter::Grid => self.grid,
            Meter::Pv => self.pv.unwrap_or(0.0),
            Meter::Battery => self.battery.unwrap_or(0.0),
        }
    }

    /// The same with one of those that are there set to another value.
    fn with(mut self, meter: Meter, watts: f64) -> Powers {
        match meter {
            Meter::Grid => self.grid = watts,
            Meter::Pv => self.pv = self.pv.map(|_| watts),
            Meter::Battery => self.battery = self.battery.map(|_| watts),
        }
        self
    }

    /// Grid, PV and battery together, W: what the load should be.
    pub fn sum(&self) -> f64 {
        input::to_millionth(self.grid + self.pv.unwrap_or(0.0) + self.battery.unwrap_or(0.0))
    }
}

/// What a sum may be off: a share of the largest power, and a floor for small ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Share of the largest power, %; 0 to 100.
    pub percent: f64,
    /// Added to it, W; -1e9 to 1e9.
    pub floor_w: f64,
}

/// What is wrong with a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// It says nothing about the transformers: this has to be changed first.
    Unclear(&'static str),
    /// A power that has another sign than it must have in this state.
    Sign(&'static str),
    /// Grid + PV + battery is not the load.
    Balance {
        /// Their sum, W.
        sum_w: f64,
        /// The load, W.
        load_w: f64,
        /// What they may be apart, W.
        allowed_w: f64,
    },
}

/// What the sum may be off in one state, W.
///
/// # Errors
/// A power or the floor not from -1e9 to 1e9, or a percentage not from 0 to 100.
pub fn allowed_w(powers: &Powers, tolerance: Tolerance) -> Result<f64, CalcError> {
    let mut largest = 0.0_f64;
    for (key, watts) in [
        ("grid", powers.grid),
        ("pv", powers.pv.unwrap_or(0.0)),
        ("battery", powers.battery.unwrap_or(0.0)),
        ("load", powers.load),
    ] {
        largest = largest.max(input::WATT.take(key, watts)?.abs());
    }
    let share = input::PERCENT.take("percent", tolerance.percent)? / 100.0;
    Ok(input::to_millionth(
        share * largest + input::FLOOR_W.take("floor_w", tolerance.floor_w)?,
    ))
}

/// What is wrong with one state by its signs and its sum; `None` where it is as it should be.
///
/// # Errors
/// As [`allowed_w`].
pub fn state_fault(
    state: State,
    powers: &Powers,
    tolerance: Tolerance,
) -> Result<Option<Fault>, CalcError> {
    let about = allowed_w(powers, tolerance)?;
    let signs = match state {
        State::Idle => idle(powers, about),
        State::Surplus => surplus(powers, about),
        State::Charging => charging(powers, about),
    };
    if signs.is_some() {
        return Ok(signs);
    }
    let sum_w = powers.sum();
    let off = input::to_millionth((sum_w - powers.load).abs());
    Ok((off > about).then_some(Fault::Balance {
        sum_w,
        load_w: powers.load,
        allowed_w: about,
    }))
}

fn idle(p: &Powers, about: f64) -> Option<Fault> {
    let (pv, battery) = (p.pv.unwrap_or(0.0), p.battery.unwrap_or(0.0));
    if p.load < -about {
        return Some(Fault::Sign("the load reads below zero"));
    }
    if p.load <= about {
        return Some(Fault::Unclear(
            "the load is too small to tell: switch a heater or kettle on",
        ));
    }
    if pv.abs() > about {
        return Some(Fault::Sign("PV is off and doesn't read about zero"));
    }
    if p.grid.abs() <= about && battery > about {
        return Some(Fault::Unclear(
            "the battery reads as if it carried the load: stop it and read again; if it is stopped, its transformer is on the grid's conductor",
        ));
    }
    (p.grid <= about).then_some(Fault::Sign(
        "the load comes from the grid, which doesn't read above zero",
    ))
}

fn surplus(p: &Powers, about: f64) -> Option<Fault> {
    let (pv, battery) = (p.pv.unwrap_or(0.0), p.battery.unwrap_or(0.0));
    if p.load < -about {
        return Some(Fault::Sign("the load reads below zero"));
    }
    if pv < -about {
        return Some(Fault::Sign("PV generates and reads below zero"));
    }
    if pv <= p.load.max(about) {
        return Some(Fault::Unclear(
            "PV doesn't read above the load: more sun or less load; if it is above it for certain, the grid transformer is reversed and the display reckons its load with it",
        ));
    }
    if p.grid.abs() <= about && battery < -about {
        return Some(Fault::Unclear(
            "the battery reads as if it took the surplus: stop it and read again",
        ));
    }
    (p.grid >= -about).then_some(Fault::Sign(
        "the surplus goes to the grid, which doesn't read below zero",
    ))
}

fn charging(p: &Powers, about: f64) -> Option<Fault> {
    let (pv, battery) = (p.pv.unwrap_or(0.0), p.battery.unwrap_or(0.0));
    if p.load < -about {
        return Some(Fault::Sign("the load reads below zero"));
    }
    if pv < -about {
        return Some(Fault::Sign("PV reads below zero, it can't take power"));
    }
    if battery > about {
        return Some(Fault::Sign("the battery charges and reads above zero"));
    }
    (battery >= -about).then_some(Fault::Unclear(
        "the battery reads about zero: charge it with more power",
    ))
}

/// A way the transformers could be fitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What each is shown as, and what it really measures.
    pub on: Vec<(Meter, Meter)>,
    /// What those that are turned round are shown as.
    pub reversed: Vec<Meter>,
}

impl Change {
    /// How much there is to put right: those turned round, and swaps of two.
    pub fn size(&self) -> usize {
        self.reversed.len() + self.moved().len().saturating_sub(1)
    }

    /// Those that measure something else than they are shown as.
    pub fn moved(&self) -> Vec<(Meter, Meter)> {
        self.on.iter().copied().filter(|(a, b)| a != b).collect()
    }

    /// The powers as they really are, from those shown.
    fn undone(&self, shown: &Powers) -> Powers {
        let mut out = *shown;
        for (channel, conductor) in &self.on {
            let sign = if self.reversed.contains(channel) {
                -1.0
            } else {
                1.0
            };
            out = out.with(*conductor, sign * shown.shown(*channel));
        }
        out
    }
}

/// The smallest ways of fitting the transformers by which every state would be in order; several where they are of one
/// size, one without a change where all is in order as it is shown, none where nothing explains the powers.
///
/// Every reversal and every exchange of the transformers that are there is tried: 48 ways for three.
///
/// # Errors
/// As [`allowed_w`]; an empty list; states that don't show the same meters.
pub fn explanations(
    states: &[(State, Powers)],
    tolerance: Tolerance,
) -> Result<Vec<Change>, CalcError> {
    let Some((_, first)) = states.first() else {
        return Err(CalcError::Empty {
            key: "states",
            example: "480,0,480",
        });
    };
    let meters = first.meters();
    if states.iter().any(|(_, p)| p.meters() != meters) {
        return Err(CalcError::Contradiction {
            key: "states",
            why: "the states don't show the same meters",
        });
    }
    let mut found: Vec<Change> = Vec::new();
    for change in ways(&meters) {
        let mut fits = true;
        for (state, powers) in states {
            fits = fits && state_fault(*state, &change.undone(powers), tolerance)?.is_none();
        }
        if fits {
            found.push(change);
        }
    }
    let least = found.iter().map(Change::size).min();
    found.retain(|c| Some(c.size()) == least);
    Ok(found)
}

/// Every way of fitting them.
pub fn ways(meters: &[Meter]) -> Vec<Change> {
    let mut out = Vec::new();
    for order in orders(meters) {
        for reversed in subsets(meters) {
            out.push(Change {
                on: meters.iter().copied().zip(order.iter().copied()).collect(),
                reversed,
            });
        }
    }
    out
}

fn orders(meters: &[Meter]) -> Vec<Vec<Meter>> {
    if meters.is_empty() {
        return vec![Vec::new()];
    }
    let mut out = Vec::new();
    for first in meters {
        let rest: Vec<Meter> = meters.iter().copied().filter(|m| m != first).collect();
        for mut order in orders(&rest) {
            order.insert(0, *first);
            out.push(order);
        }
    }
    out
}

fn subsets(meters: &[Meter]) -> Vec<Vec<Meter>> {
    let mut out = vec![Vec::new()];
    for meter in meters {
        for mut with in out.clone() {
            with.push(*meter);
            out.push(with);
        }
    }
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::*;

    const TOLERANCE: Tolerance = Tolerance {
        percent: 10.0,
        floor_w: 50.0,
    };

    fn powers(grid: f64, pv: f64, battery: f64, load: f64) -> Powers {
        Powers {
            grid,
            pv: Some(pv),
            battery: Some(battery),
            load,
        }
    }

    #[test]
    fn forty_eight_ways_for_three_and_eight_for_two() {
        assert_eq!(ways(&[Meter::Grid, Meter::Pv, Meter::Battery]).len(), 48);
        assert_eq!(ways(&[Meter::Grid, Meter::Pv]).len(), 8);
    }

    /// Derived: off by exactly 10 % of 2000 W and 50 W is in order, a watt more isn't.
    #[test]
    fn the_edge_of_the_balance() {
        let fault = |load| state_fault(State::Idle, &powers(2000.0, 0.0, 0.0, load), TOLERANCE);
        assert_eq!(fault(1750.0).unwrap(), None);
        assert!(matches!(
            fault(1749.0).unwrap(),
            Some(Fault::Balance { .. })
        ));
    }

    /// Derived: what a display shows under each way of fitting leads back to that way and no other.
    #[test]
    fn every_way_is_recovered_from_what_it_shows() {
        for (load, export, pv, battery) in [
            (900.0, 2100.0, 3000.0, 1400.0),
            (2350.0, 710.0, 1900.0, 3600.0),
            (640.0, 5200.0, 480.0, 2500.0),
        ] {
            let truth = [
                (State::Idle, powers(load, 0.0, 0.0, load)),
                (State::Surplus, powers(-export, load + export, 0.0, load)),
                (
                    State::Charging,
                    powers(load + battery - pv, pv, -battery, load),
                ),
            ];
            for way in ways(&[Meter::Grid, Meter::Pv, Meter::Battery]) {
                let shown = truth.map(|(state, t)| {
                    let mut out = t;
                    for (channel, conductor) in &way.on {
                        let turned = way.reversed.contains(channel);
                        let sign = if turned { -1.0 } else { 1.0 };
                        out = out.with(*channel, sign * t.shown(*conductor));
                    }
                    (state, out)
                });
                assert_eq!(
                    explanations(&shown, TOLERANCE).unwrap(),
                    std::slice::from_ref(&way)
                );
            }
        }
    }
}
