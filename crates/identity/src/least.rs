//! Where a function of one number is least.

const SCAN: usize = 80;
const SECTIONS: usize = 60;

/// By a scan, which finds the right valley, and golden sections in it.
pub(crate) fn least([from, to]: [f64; 2], of: impl Fn(f64) -> f64) -> f64 {
    let step = (to - from) / SCAN as f64;
    let at = |index: usize| from + step * index as f64;
    let best = (0..=SCAN)
        .map(|index| (of(at(index)), index))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(0, |(_, index)| index);
    let (mut low, mut high) = ((at(best) - step).max(from), (at(best) + step).min(to));
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    for _ in 0..SECTIONS {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if of(left) < of(right) {
            high = right;
        } else {
            low = left;
        }
    }
    0.5 * (low + high)
}
