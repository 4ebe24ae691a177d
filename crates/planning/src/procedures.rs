//! Published procedures as starting points of a programme.
//!
//! Numbers only, and as remembered of editions that differ: whoever works to a standard looks into their
//! own copy. No test fails on one of these values alone.

use crate::order::MeasuringOrder;
use serde::Serialize;

/// A published procedure for solids packed in a closed capillary.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Procedure {
    /// How it is asked for.
    pub id: &'static str,
    /// The standard.
    pub standard: &'static str,
    /// The tube is set in and the slow ramp begins so far below the expected range [°C].
    pub start_below_c: f64,
    /// Rate near melting [°C/min].
    pub rate_c_per_min: f64,
    /// Slowest and fastest that is allowed [°C/min].
    pub rate_within_c_per_min: [f64; 2],
    /// What begin and end mean there, and what is reported.
    pub reports: &'static str,
    /// Repeats and corrections.
    pub repeats: &'static str,
    /// How sure its numbers are.
    pub sureness: &'static str,
}

/// Said beside every procedure.
pub const CHECK_EDITION: &str = "check your own edition";

const READ: &str = "read in a copy";
const MEMORY: &str = "from memory or second hand";

const PROCEDURES: [Procedure; 9] = [
    Procedure {
        id: "usp-741-ia",
        standard: "USP <741> class Ia",
        start_below_c: 5.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.5, 1.5],
        reports: "first detectable liquid to no solid left",
        repeats: "apparatus checked against the six standards, the one nearest in melting",
        sureness: MEMORY,
    },
    Procedure {
        id: "usp-741-ib",
        standard: "USP <741> class Ib (substances that decompose)",
        start_below_c: 10.0,
        rate_c_per_min: 3.0,
        rate_within_c_per_min: [2.5, 3.5],
        reports: "the beginning only, where decomposition hides the end",
        repeats: "as class Ia",
        sureness: MEMORY,
    },
    Procedure {
        id: "21-cfr-436.209",
        standard: "21 CFR 436.209 (historic)",
        start_below_c: 10.0,
        rate_c_per_min: 3.0,
        rate_within_c_per_min: [2.5, 3.5],
        reports: "column collapses against the wall to liquid throughout",
        repeats: "none stated here",
        sureness: READ,
    },
    Procedure {
        id: "ph-eur-2.2.14",
        standard: "Ph. Eur. 2.2.14",
        start_below_c: 5.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.5, 1.5],
        reports: "one value: the last particle melts",
        repeats: "none stated here",
        sureness: MEMORY,
    },
    Procedure {
        id: "ph-eur-2.2.60",
        standard: "Ph. Eur. 2.2.60 (instrumental)",
        start_below_c: 5.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.5, 1.5],
        reports: "clear point",
        repeats: "mean of three; two certified materials that bracket",
        sureness: MEMORY,
    },
    Procedure {
        id: "ph-int-1.2.1",
        standard: "WHO Ph. Int. 1.2.1",
        start_below_c: 5.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.5, 1.5],
        reports: "as the monograph says",
        repeats: "none stated here",
        sureness: MEMORY,
    },
    Procedure {
        id: "jp-2.60",
        standard: "JP 2.60 method 1",
        start_below_c: 5.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.5, 1.5],
        reports: "one value: no solid left",
        repeats: "none stated here",
        sureness: MEMORY,
    },
    Procedure {
        id: "chp-0612",
        standard: "ChP general chapter 0612",
        start_below_c: 10.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [1.0, 1.5],
        reports: "first droplets to all liquid",
        repeats: "mean of three",
        sureness: MEMORY,
    },
    Procedure {
        id: "oecd-102",
        standard: "OECD TG 102 (1995), EC method A.1",
        start_below_c: 10.0,
        rate_c_per_min: 1.0,
        rate_within_c_per_min: [0.2, 1.0],
        reports: "stages up to the end; the end where the range is within the method's accuracy",
        repeats: "two runs or more, within 0.5 K",
        sureness: MEMORY,
    },
];

/// All of them.
pub fn procedures() -> &'static [Procedure] {
    &PROCEDURES
}

/// One by its id.
pub fn procedure(id: &str) -> Option<&'static Procedure> {
    PROCEDURES.iter().find(|procedure| procedure.id == id)
}

impl Procedure {
    /// An order around an expected range as this procedure has it.
    pub fn around(&self, first_liquid_c: f64, last_crystal_c: f64) -> MeasuringOrder {
        let mut order = MeasuringOrder::around(first_liquid_c, last_crystal_c);
        order.start_below_c = self.start_below_c;
        order.cool_below_c = order.cool_below_c.max(self.start_below_c + 10.0);
        order.rate_c_per_min = self.rate_c_per_min;
        order
    }

    /// What an order does that this procedure does not allow.
    pub fn departures(&self, order: &MeasuringOrder) -> Vec<String> {
        let mut found = Vec::new();
        let [least, most] = self.rate_within_c_per_min;
        if !(least..=most).contains(&order.rate_c_per_min) {
            found.push(format!(
                "{} °C/min is not as {} has it, {least} to {most} °C/min",
                order.rate_c_per_min, self.standard
            ));
        }
        if order.start_below_c + 1e-9 < self.start_below_c {
            found.push(format!(
                "the scan starts {:.1} °C below the range; {} has {:.0} °C",
                order.start_below_c, self.standard, self.start_below_c
            ));
        }
        found
    }

    /// Its numbers in one sentence, for beside the plan.
    pub fn sentence(&self) -> String {
        format!(
            "{}: slow ramp from {:.0} °C below, {} °C/min ({} to {}); reports {}; {}. Numbers {}; {CHECK_EDITION}",
            self.standard,
            self.start_below_c,
            self.rate_c_per_min,
            self.rate_within_c_per_min[0],
            self.rate_within_c_per_min[1],
            self.reports,
            self.repeats,
            self.sureness
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_orders_are_programmes_that_keep_to_their_own_procedure() {
        let mut ids: Vec<&str> = procedures().iter().map(|one| one.id).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), procedures().len());
        for one in procedures() {
            let order = one.around(121.0, 122.0);
            crate::Programme::measuring(&order, 300.0).expect("a programme");
            assert_eq!(one.departures(&order), Vec::<String>::new(), "{}", one.id);
            assert!(one.sentence().contains("your own edition"));
        }
    }

    #[test]
    fn what_departs_is_said() {
        let one = procedure("usp-741-ia").expect("there");
        let mut order = one.around(121.0, 122.0);
        order.rate_c_per_min = 5.0;
        order.start_below_c = 1.0;
        assert_eq!(one.departures(&order).len(), 2);
        assert!(procedure("nothing").is_none());
    }
}
