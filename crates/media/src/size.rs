//! How large the delivered pictures are.

/// Longest side delivered [px]. A capillary fills a tenth of the picture or more, so this keeps it
/// some 90 px wide; a 4K picture would only cost time.
const LONGEST_SIDE_PX: usize = 960;

/// Columns, rows and source pixels per delivered pixel, for a stored picture after turning.
pub(crate) fn delivered_size(width: usize, height: usize) -> (usize, usize, f64) {
    let longest = width.max(height);
    if longest <= LONGEST_SIDE_PX {
        return (width, height, 1.0);
    }
    let scale = longest as f64 / LONGEST_SIDE_PX as f64;
    let side = |source: usize| ((source as f64 / scale).round() as usize).max(1);
    (side(width), side(height), scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_pictures_shrink_to_the_longest_side() {
        assert_eq!(delivered_size(640, 480), (640, 480, 1.0));
        assert_eq!(delivered_size(3840, 2160), (960, 540, 4.0));
        let (width, height, scale) = delivered_size(720, 1280);
        assert_eq!((width, height), (540, 960));
        assert!((scale - 4.0 / 3.0).abs() < 1e-12);
    }
}
