//! The borrowed picture and how it is sampled.

/// A luma picture: `height × width`, row-major, 0..=255, no padding.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    luma: &'a [u8],
    width: usize,
    height: usize,
}

/// Why pixels do not make a picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// Width or height is nought.
    #[error("the picture is {width} x {height} pixels; expected at least 1 x 1")]
    Empty {
        /// Columns stated.
        width: usize,
        /// Rows stated.
        height: usize,
    },
    /// More or fewer pixels than width × height.
    #[error("the picture has {found} pixels; {width} x {height} need {expected}: was it padded?")]
    Size {
        /// Pixels handed over.
        found: usize,
        /// Columns stated.
        width: usize,
        /// Rows stated.
        height: usize,
        /// Pixels expected.
        expected: usize,
    },
}

impl<'a> Picture<'a> {
    /// Borrows `luma` as a picture of `width` columns and `height` rows.
    ///
    /// # Errors
    /// [`PictureError`] when there are no pixels or not `width × height` of them.
    pub fn new(luma: &'a [u8], width: usize, height: usize) -> Result<Self, PictureError> {
        if width == 0 || height == 0 {
            return Err(PictureError::Empty { width, height });
        }
        let expected = width.saturating_mul(height);
        if luma.len() != expected {
            return Err(PictureError::Size {
                found: luma.len(),
                width,
                height,
                expected,
            });
        }
        Ok(Self {
            luma,
            width,
            height,
        })
    }

    /// Columns.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.height
    }

    /// Bilinear value at pixel coordinates (pixel centres at halves); taken at the edge outside.
    pub(crate) fn sample(&self, x: f64, y: f64) -> f32 {
        let (x0, fx) = cell(x - 0.5, self.width);
        let (y0, fy) = cell(y - 0.5, self.height);
        let x1 = (x0 + 1).min(self.width - 1);
        let y1 = (y0 + 1).min(self.height - 1);
        let at = |x: usize, y: usize| f32::from(self.luma[y * self.width + x]);
        let top = at(x0, y0) + fx * (at(x1, y0) - at(x0, y0));
        let bottom = at(x0, y1) + fx * (at(x1, y1) - at(x0, y1));
        top + fy * (bottom - top)
    }
}

/// Index below a coordinate and the fraction beyond it, kept within `count` places.
fn cell(coordinate: f64, count: usize) -> (usize, f32) {
    let last = (count - 1) as f64;
    let inside = if coordinate.is_finite() {
        coordinate.clamp(0.0, last)
    } else {
        0.0
    };
    let below = inside.floor();
    (below as usize, (inside - below) as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_must_make_a_picture() {
        assert!(matches!(
            Picture::new(&[], 0, 4),
            Err(PictureError::Empty { .. })
        ));
        let error = Picture::new(&[0; 5], 2, 3).expect_err("five pixels are not six");
        assert!(error.to_string().contains("5 pixels; 2 x 3 need 6"));
    }

    #[test]
    fn sampling_goes_through_pixel_centres_and_stays_inside() {
        let picture = Picture::new(&[0, 100, 50, 200], 2, 2).expect("2 x 2");
        assert_eq!(picture.sample(1.5, 0.5), 100.0);
        assert_eq!(picture.sample(1.0, 0.5), 50.0);
        assert_eq!(picture.sample(-9.0, 9.0), 50.0);
        assert_eq!(picture.sample(f64::NAN, 0.5), 0.0);
    }
}
