//! Which runs agree.

/// Rounding of decimals that must not part runs which agree on paper [°C].
const ROUNDING_C: f64 = 1e-9;

/// Fewest runs that can agree.
const FEWEST: usize = 2;

/// One run as far as agreement goes: first liquid and last crystal [°C].
pub(crate) type Ends = [f64; 2];

/// Largest set of runs of which any two are within `limit_c` of each other at both ends, as
/// rising places in `runs`; of equally large sets the one with the later runs.
///
/// Two runs at least, and half of all at least: among many runs two agree by chance.
/// Within 0.5 °C at both ends is common practice, no source; that the half is needed is ours.
pub(crate) fn agreeing(runs: &[Ends], limit_c: f64) -> Option<Vec<usize>> {
    let mut best: Vec<usize> = Vec::new();
    for first in runs {
        for last in runs {
            let within =
                |value: f64, from: f64| value >= from && value <= from + limit_c + ROUNDING_C;
            let inside = |run: &Ends| within(run[0], first[0]) && within(run[1], last[1]);
            if runs.iter().filter(|run| inside(run)).count() < best.len() {
                continue;
            }
            let set: Vec<usize> = runs
                .iter()
                .enumerate()
                .filter(|(_, run)| inside(run))
                .map(|(index, _)| index)
                .collect();
            let later = || set.iter().rev().cmp(best.iter().rev()).is_gt();
            if set.len() > best.len() || (set.len() == best.len() && later()) {
                best = set;
            }
        }
    }
    (best.len() >= FEWEST && 2 * best.len() >= runs.len()).then_some(best)
}

/// Whether the last run makes enough runs agree that did not without it: as [`agreeing`], looking
/// only at sets that hold it, and without saying which.
pub(crate) fn last_makes_agree(runs: &[Ends], limit_c: f64) -> bool {
    let Some(last) = runs.last() else {
        return false;
    };
    let within = |value: f64, from: f64| value >= from && value <= from + limit_c + ROUNDING_C;
    let lowest = |end: usize| {
        runs.iter()
            .map(move |run| run[end])
            .filter(move |&from| within(last[end], from))
    };
    let enough = FEWEST.max(runs.len().div_ceil(2));
    lowest(0).any(|first_c| {
        lowest(1).any(|last_c| {
            let inside = |run: &&Ends| within(run[0], first_c) && within(run[1], last_c);
            runs.iter().filter(inside).count() >= enough
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_count() {
        assert_eq!(
            agreeing(&[[121.5, 122.5], [121.9, 122.9]], 0.5),
            Some(vec![0, 1])
        );
        // 0.5 on paper is more than 0.5 in binary.
        assert_eq!(
            agreeing(&[[121.4, 122.5], [121.9, 122.9]], 0.5),
            Some(vec![0, 1])
        );
        assert_eq!(agreeing(&[[121.5, 122.5], [122.1, 122.5]], 0.5), None);
        assert_eq!(agreeing(&[[121.5, 122.5], [121.5, 123.1]], 0.5), None);
        assert_eq!(agreeing(&[[121.5, 122.5]], 0.5), None);
        assert_eq!(agreeing(&[], 0.5), None);
    }

    #[test]
    fn the_later_of_two_pairs_is_used() {
        let runs = [
            [120.0, 121.0],
            [120.2, 121.2],
            [121.5, 122.4],
            [121.7, 122.6],
        ];
        assert_eq!(agreeing(&runs, 0.5), Some(vec![2, 3]));
    }

    #[test]
    fn a_few_among_many_agree_by_chance() {
        let runs = [
            [118.0, 119.0],
            [119.0, 120.0],
            [120.0, 121.0],
            [121.0, 122.0],
            [121.2, 122.0],
        ];
        assert_eq!(agreeing(&runs, 0.5), None);
    }

    #[test]
    fn the_last_run_decides_as_all_of_them_do() {
        use rand::{RngExt as _, SeedableRng as _};
        let mut chance = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        for _ in 0..200 {
            let mut runs: Vec<Ends> = Vec::new();
            for _ in 0..8 {
                let first_c: f64 = chance.random_range(120.0..122.0);
                runs.push([first_c, first_c + chance.random_range(0.5..1.5)]);
                let found = agreeing(&runs, 0.5).is_some();
                assert_eq!(last_makes_agree(&runs, 0.5), found, "{runs:?}");
                if found {
                    break;
                }
            }
        }
    }

    #[test]
    fn a_chain_does_not_agree_as_a_whole() {
        let runs = [[121.0, 122.0], [121.4, 122.0], [121.8, 122.0]];
        assert_eq!(agreeing(&runs, 0.5), Some(vec![1, 2]));
    }
}
