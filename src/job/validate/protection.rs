//! Sizes and ratings that the protection of a board is judged by.

use rust_decimal::Decimal;

use super::super::Job;
use super::Finder;

impl Job {
    /// Tails, main switches, leads of surge protective devices, let-through energy.
    pub(super) fn protection_problems(&self, f: &mut Finder) {
        f.positive(
            "supply.tails_mm2".into(),
            "tails_mm2",
            self.supply.tails_mm2,
        );
        for (i, b) in self.boards.iter().enumerate() {
            let at = format!("boards[{i}]");
            f.positive(format!("{at}.main_a"), &b.id, b.main_a);
            f.positive(format!("{at}.board_a"), &b.id, b.board_a);
            f.within(
                format!("{at}.spd_lead_m"),
                &b.id,
                b.spd_lead_m,
                Decimal::new(1, 2),
                Decimal::from(100),
            );
            if let Some(poles) = b.main_poles
                && !(1..=4).contains(&poles)
            {
                f.add(
                    format!("{at}.main_poles"),
                    &b.id,
                    format!("{poles} poles"),
                    "give 1 to 4",
                );
            }
            if b.spd.trim().is_empty() && b.spd_lead_m.is_some() {
                f.add(
                    format!("{at}.spd_lead_m"),
                    &b.id,
                    "leads of a surge protective device that isn't recorded",
                    "give its type in spd, or leave the leads out",
                );
            }
            for (j, c) in b.circuits.iter().enumerate() {
                // What the adiabatic equation is reckoned with at most.
                f.within(
                    format!("{at}.circuits[{j}].let_through_a2s"),
                    &c.name,
                    c.let_through_a2s,
                    Decimal::ONE,
                    Decimal::from(1_000_000_000_000_i64),
                );
            }
        }
    }
}
