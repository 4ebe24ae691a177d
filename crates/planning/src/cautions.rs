//! What to think of before a programme is run.

use crate::curve::HeatingAbility;
use crate::learning::LearnedBench;
use crate::programme::{Leg, Programme, Purpose};

/// Common practice, no source: ranges are taken at 1 to 2 °C/min at most.
const FASTEST_MEASURING_C_PER_MIN: f64 = 2.0;
/// Common practice, no source: the next load is set in at least this far below its range [°C].
const COOL_BELOW_C: f64 = 20.0;

/// What a careful person would say of `programme` with the block at `now_c`, in sentences.
pub fn cautions(programme: &Programme, ability: &HeatingAbility, now_c: f64) -> Vec<String> {
    let mut said = Vec::new();
    for leg in programme.legs() {
        if let Leg::Scan { rate_c_per_min, .. } = *leg
            && programme.purpose() == Purpose::Measuring
            && rate_c_per_min > FASTEST_MEASURING_C_PER_MIN
        {
            said.push(format!(
                "{rate_c_per_min} °C/min is too fast to measure; the range will read too high and too wide. 1 °C/min is usual"
            ));
        }
    }
    let Some((from_c, to_c)) = programme.window_c() else {
        return said;
    };
    if programme.purpose() == Purpose::Scouting {
        said.push("a scouted tube is not measured again: take a fresh one".into());
        return said;
    }
    if now_c > from_c {
        said.push(format!(
            "the block is at {now_c:.0} °C, within or above the scan that begins at {from_c:.0} °C; let it cool before the tubes are set in"
        ));
    } else if now_c > from_c - COOL_BELOW_C + 3.0 && now_c > ability.room_c + 5.0 {
        said.push(format!(
            "the block is at {now_c:.0} °C; set fresh tubes in at least {COOL_BELOW_C:.0} °C below the range"
        ));
    }
    if from_c < ability.room_c + 1.0 {
        said.push(format!(
            "the scan begins at {from_c:.0} °C, at or below room temperature; the block cannot start there without cooling"
        ));
    }
    if to_c - from_c > 40.0 {
        said.push("the scan is wide; a scouting run first would save time".into());
    }
    said
}

/// Beyond the highest temperature of its logs by this, what was learned of a bench is a guess [°C].
const BEYOND_C: f64 = 20.0;

/// What the bench model has to say of a programme: scans it cannot keep up with, temperatures it never saw.
pub fn learned_cautions(programme: &Programme, learned: &LearnedBench) -> Vec<String> {
    let mut said = Vec::new();
    for leg in programme.legs() {
        if let Leg::Scan {
            to_c,
            rate_c_per_min,
        } = *leg
        {
            let fastest = learned.fastest_c_per_min(to_c);
            if fastest < rate_c_per_min {
                said.push(format!(
                    "at {to_c:.0} °C this bench heats at {:.1} °C/min at most; it cannot keep {rate_c_per_min} °C/min",
                    fastest.max(0.0)
                ));
            }
        }
    }
    if let Some(highest_c) = programme.highest_c()
        && highest_c > learned.highest_seen_c + BEYOND_C
    {
        said.push(format!(
            "the bench was learned up to {:.0} °C only; above, its times are a guess",
            learned.highest_seen_c
        ));
    }
    said
}

/// What to say of an expected range beside the range [°C] in which a calibration holds.
pub fn calibrated_caution(programme: &Programme, valid_c: [f64; 2]) -> Option<String> {
    let (from_c, to_c) = programme.window_c()?;
    let [low_c, high_c] = valid_c;
    (from_c < low_c || to_c > high_c).then(|| {
        format!(
            "the scan from {from_c:.0} to {to_c:.0} °C is not inside the calibrated range, {low_c:.0} to {high_c:.0} °C: the correction there is an extrapolation; check a standard that melts nearby"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{MeasuringOrder, ScoutingOrder};

    fn said(change: impl FnOnce(&mut MeasuringOrder), now_c: f64) -> String {
        let mut order = MeasuringOrder::around(121.0, 123.0);
        change(&mut order);
        let programme = Programme::measuring(&order, 300.0).expect("in range");
        cautions(&programme, &HeatingAbility::default(), now_c).join("\n")
    }

    #[test]
    fn a_plain_programme_needs_no_caution_and_the_others_say_why() {
        assert_eq!(said(|_| (), 22.0), "");
        assert!(said(|order| order.rate_c_per_min = 5.0, 22.0).contains("too fast"));
        assert!(said(|_| (), 119.0).contains("let it cool"));
        assert!(said(|_| (), 110.0).contains("at least 20 °C below"));
        assert!(said(|order| order.last_crystal_c = 190.0, 22.0).contains("scouting"));
        let scouting = Programme::scouting(&ScoutingOrder::up_to(22.0, 200.0), 300.0);
        let scouting = scouting.expect("in range");
        assert!(cautions(&scouting, &HeatingAbility::default(), 22.0)[0].contains("fresh"));
    }
}
