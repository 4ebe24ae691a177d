//! Scaling a picture down by averaging the area that each new pixel covers.

/// Share of one source line in one target line.
struct Share {
    source: usize,
    weight: f32,
}

/// Scale `height × width` luma down to `to_height × to_width` by area averages.
pub(crate) fn shrink(
    luma: &[u8],
    width: usize,
    height: usize,
    to_width: usize,
    to_height: usize,
) -> Vec<u8> {
    let columns = shares(width, to_width);
    let rows = shares(height, to_height);
    let mut out = Vec::with_capacity(to_width * to_height);
    let mut sums = vec![0.0_f32; width];
    for row in &rows {
        sums.fill(0.0);
        for share in row {
            let line = &luma[share.source * width..][..width];
            for (sum, &value) in sums.iter_mut().zip(line) {
                *sum += share.weight * f32::from(value);
            }
        }
        out.extend(columns.iter().map(|column| {
            let value: f32 = column
                .iter()
                .map(|share| share.weight * sums[share.source])
                .sum();
            value.round().clamp(0.0, 255.0) as u8
        }));
    }
    out
}

/// For each target line the source lines it covers; weights sum to 1.
fn shares(from: usize, to: usize) -> Vec<Vec<Share>> {
    let step = from as f64 / to as f64;
    (0..to)
        .map(|target| {
            let (begin, end) = (target as f64 * step, (target + 1) as f64 * step);
            let last = (end.ceil() as usize).min(from);
            (begin.floor() as usize..last)
                .map(|source| {
                    let covered = end.min((source + 1) as f64) - begin.max(source as f64);
                    Share {
                        source,
                        weight: (covered / step) as f32,
                    }
                })
                .filter(|share| share.weight > 0.0)
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn averages_the_area_covered() {
        // 4 × 2 to 2 × 1: plain means of 2 × 2 blocks.
        let luma = [10, 20, 100, 120, 30, 40, 140, 160];
        assert_eq!(shrink(&luma, 4, 2, 2, 1), [25, 130]);
        // 3 columns to 2: the middle one is shared by halves; (0 + 50/2) / 1.5 = 16.7.
        assert_eq!(shrink(&[0, 50, 200], 3, 1, 2, 1), [17, 150]);
    }

    #[test]
    fn a_flat_picture_stays_flat() {
        let luma = vec![77; 101 * 67];
        assert!(
            shrink(&luma, 101, 67, 50, 33)
                .iter()
                .all(|&value| value == 77)
        );
    }
}
