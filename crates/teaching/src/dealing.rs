//! Dealing unknowns to seats so that neighbours differ.

use rand::seq::SliceRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// Why nothing can be dealt.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DealError {
    /// Neighbours cannot differ.
    #[error("there is {found} unknown; expected two or more, so that neighbours differ")]
    TooFew {
        /// How many there are.
        found: u32,
    },
    /// A room without rows.
    #[error("there are 0 seats in a row; expected 1 or more")]
    NoRow,
}

/// Deal to seats in rows: at random, each unknown about as often as the others, and no two that sit beside, before
/// or behind each other with the same.
///
/// # Arguments
/// * `seats`, `per_row`: the room, filled row by row.
/// * `unknowns`: how many there are.
/// * `seed`: the same seed deals the same.
///
/// # Returns
/// For each seat which unknown, from 0.
///
/// # Errors
/// [`DealError`].
pub fn deal(seats: u32, per_row: u32, unknowns: u32, seed: u64) -> Result<Vec<u32>, DealError> {
    let mut dealt = Vec::new();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    for _ in 0..seats {
        let next = next_unknown(&dealt, per_row, unknowns, &mut rng)?;
        dealt.push(next);
    }
    Ok(dealt)
}

/// One more seat after those that were dealt to.
///
/// # Errors
/// [`DealError`].
pub fn deal_one_more(
    dealt: &[u32],
    per_row: u32,
    unknowns: u32,
    seed: u64,
) -> Result<u32, DealError> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed.wrapping_add(dealt.len() as u64));
    next_unknown(dealt, per_row, unknowns, &mut rng)
}

/// The neighbours of a seat that come before it: one beside, one before. Two colours suffice for such a room, so there
/// is always one left.
fn next_unknown(
    dealt: &[u32],
    per_row: u32,
    unknowns: u32,
    rng: &mut ChaCha8Rng,
) -> Result<u32, DealError> {
    if unknowns < 2 {
        return Err(DealError::TooFew { found: unknowns });
    }
    if per_row == 0 {
        return Err(DealError::NoRow);
    }
    let (seat, per_row) = (dealt.len(), per_row as usize);
    let beside = (!seat.is_multiple_of(per_row))
        .then(|| dealt.get(seat - 1))
        .flatten();
    let before = seat.checked_sub(per_row).and_then(|at| dealt.get(at));
    let taken = |unknown: &u32| beside == Some(unknown) || before == Some(unknown);
    let times = |unknown: u32| dealt.iter().filter(|&&one| one == unknown).count();
    let mut free: Vec<u32> = (0..unknowns).filter(|unknown| !taken(unknown)).collect();
    if free.is_empty() {
        // Two unknowns, and a swap made the neighbours differ: beside counts more than before.
        free = (0..unknowns)
            .filter(|unknown| beside != Some(unknown))
            .collect();
    }
    free.shuffle(rng);
    let least = free.iter().map(|&unknown| times(unknown)).min();
    let least = least.unwrap_or_default();
    // Now and then not the rarest, or the last seats could be foretold.
    let any = rng.random_range(0..4) == 0;
    let chosen = free
        .iter()
        .find(|&&unknown| any && times(unknown) <= least + 1 || times(unknown) == least);
    Ok(chosen.copied().unwrap_or_default())
}

/// What stands on the vials: different for each, without a hint at what is in them or who sits where.
pub fn vials(seats: u32, seed: u64) -> Vec<String> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x7669_616c);
    let mut numbers: Vec<u32> = (100..1000).collect();
    numbers.shuffle(&mut rng);
    (0..seats as usize)
        .map(|seat| match numbers.get(seat) {
            Some(number) => format!("U-{number}"),
            // More seats than numbers of three digits.
            None => format!("U-{}", seat + 1000),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn neighbours_differ_and_all_come_about_as_often(
            seats in 1u32..80, per_row in 1u32..12, unknowns in 2u32..9, seed in any::<u64>()
        ) {
            let dealt = deal(seats, per_row, unknowns, seed).expect("can be dealt");
            let row = per_row as usize;
            for seat in 0..dealt.len() {
                if (seat + 1) % row != 0 && seat + 1 < dealt.len() {
                    prop_assert_ne!(dealt[seat], dealt[seat + 1]);
                }
                if seat + row < dealt.len() {
                    prop_assert_ne!(dealt[seat], dealt[seat + row]);
                }
            }
            let fair = f64::from(seats) / f64::from(unknowns);
            for unknown in 0..unknowns {
                let times = dealt.iter().filter(|&&one| one == unknown).count() as f64;
                prop_assert!(times <= fair + 4.0, "{} of {}", times, fair);
            }
            prop_assert_eq!(&dealt, &deal(seats, per_row, unknowns, seed).expect("again"));
        }

        #[test]
        fn vials_are_told_apart(seats in 0u32..200, seed in any::<u64>()) {
            let mut all = vials(seats, seed);
            prop_assert_eq!(all.len(), seats as usize);
            all.sort();
            all.dedup();
            prop_assert_eq!(all.len(), seats as usize);
        }
    }

    #[test]
    fn a_late_seat_differs_from_its_neighbours() {
        let dealt = deal(8, 4, 3, 1).expect("can be dealt");
        let more = deal_one_more(&dealt, 4, 3, 1).expect("can be dealt");
        assert_ne!(more, dealt[4]);
        assert_eq!(deal(4, 4, 1, 1), Err(DealError::TooFew { found: 1 }));
        assert_eq!(deal(4, 0, 2, 1), Err(DealError::NoRow));
    }

    #[test]
    fn seeds_deal_differently() {
        assert_ne!(deal(32, 8, 5, 1), deal(32, 8, 5, 2));
    }
}
