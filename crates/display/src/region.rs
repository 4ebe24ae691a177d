//! Where the digits stand in the picture: four corners, marked once by the person.

use crate::picture::Picture;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};

/// Where the digits stand in the picture. Mark the digits with some of the plain face around them:
/// half a digit's height on each side is good. Unit signs, labels and the frame stay outside.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DisplayRegion {
    /// The whole picture is the face of the display.
    WholePicture,
    /// Corners in picture pixels, x to the right and y down, as read on the upright display: top
    /// left, top right, bottom right, bottom left.
    Corners([[f64; 2]; 4]),
}

/// Least width and height of a marked region [px].
const LEAST_SIDE_PX: f64 = 8.0;

/// A region with the transform into the picture: plain pixels `0..width_px × 0..height_px` on the
/// upright display to picture pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Upright {
    pub width_px: f64,
    pub height_px: f64,
    /// How far the line of digits may be turned in the region [rad].
    pub turn_bound: f64,
    /// Unit square to picture, row-major 3 × 3 with the last entry 1.
    picture_from_unit: [f64; 8],
}

impl Upright {
    pub fn new(region: &DisplayRegion, picture: &Picture<'_>) -> Result<Self, Unreadable> {
        let (w, h) = (picture.width() as f64, picture.height() as f64);
        let corners = match region {
            DisplayRegion::WholePicture => [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]],
            DisplayRegion::Corners(corners) => *corners,
        };
        let inside = |[x, y]: [f64; 2]| {
            x.is_finite()
                && y.is_finite()
                && (-1.0..=w + 1.0).contains(&x)
                && (-1.0..=h + 1.0).contains(&y)
        };
        if !corners.iter().all(|&corner| inside(corner)) {
            return Err(Unreadable::Region {
                fault: "a corner lies outside the picture",
            });
        }
        if !convex(&corners) {
            return Err(Unreadable::Region {
                fault: "the corners do not go round clockwise from the top left",
            });
        }
        let side = |a: usize, b: usize| {
            (corners[a][0] - corners[b][0]).hypot(corners[a][1] - corners[b][1])
        };
        let width_px = 0.5 * (side(0, 1) + side(2, 3));
        let height_px = 0.5 * (side(0, 3) + side(1, 2));
        if width_px < LEAST_SIDE_PX || height_px < LEAST_SIDE_PX {
            return Err(Unreadable::Region {
                fault: "the region is less than 8 pixels wide or high",
            });
        }
        Ok(Self {
            width_px,
            height_px,
            turn_bound: match region {
                DisplayRegion::WholePicture => 0.19,
                DisplayRegion::Corners(_) => 0.08,
            },
            picture_from_unit: square_to_quadrangle(&corners),
        })
    }

    /// Picture pixels of a point given in upright pixels.
    pub fn to_picture(self, x: f64, y: f64) -> (f64, f64) {
        let m = &self.picture_from_unit;
        let (u, v) = (x / self.width_px, y / self.height_px);
        let scale = m[6] * u + m[7] * v + 1.0;
        (
            (m[0] * u + m[1] * v + m[2]) / scale,
            (m[3] * u + m[4] * v + m[5]) / scale,
        )
    }
}

/// Whether the corners turn to the same side everywhere, clockwise with y down.
fn convex(corners: &[[f64; 2]; 4]) -> bool {
    (0..4).all(|i| {
        let (a, b, c) = (corners[i], corners[(i + 1) % 4], corners[(i + 2) % 4]);
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0.0
    })
}

/// Projective map of the unit square onto a quadrangle.
///
/// # Source
/// P. S. Heckbert, Fundamentals of Texture Mapping and Image Warping (1989), section 2.2.3.
fn square_to_quadrangle(corners: &[[f64; 2]; 4]) -> [f64; 8] {
    let [p0, p1, p2, p3] = *corners;
    let sum = [p0[0] - p1[0] + p2[0] - p3[0], p0[1] - p1[1] + p2[1] - p3[1]];
    let d1 = [p1[0] - p2[0], p1[1] - p2[1]];
    let d2 = [p3[0] - p2[0], p3[1] - p2[1]];
    let det = d1[0] * d2[1] - d2[0] * d1[1];
    let g = (sum[0] * d2[1] - d2[0] * sum[1]) / det;
    let h = (d1[0] * sum[1] - sum[0] * d1[1]) / det;
    [
        p1[0] - p0[0] + g * p1[0],
        p3[0] - p0[0] + h * p3[0],
        p0[0],
        p1[1] - p0[1] + g * p1[1],
        p3[1] - p0[1] + h * p3[1],
        p0[1],
        g,
        h,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_go_to_corners() {
        let pixels = vec![0; 200 * 100];
        let picture = Picture::new(&pixels, 200, 100).expect("200 x 100");
        let corners = [[10.0, 12.0], [180.0, 5.0], [170.0, 90.0], [20.0, 80.0]];
        let upright =
            Upright::new(&DisplayRegion::Corners(corners), &picture).expect("a sound region");
        let (w, h) = (upright.width_px, upright.height_px);
        for ([x, y], expected) in [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].iter().zip(corners) {
            let found = upright.to_picture(*x, *y);
            assert!((found.0 - expected[0]).abs() < 1e-9 && (found.1 - expected[1]).abs() < 1e-9);
        }
    }

    #[test]
    fn crossed_and_outlying_corners_are_refused() {
        let pixels = vec![0; 100 * 100];
        let picture = Picture::new(&pixels, 100, 100).expect("100 x 100");
        let crossed = [[10.0, 10.0], [90.0, 90.0], [90.0, 10.0], [10.0, 90.0]];
        let outside = [[10.0, 10.0], [300.0, 10.0], [300.0, 90.0], [10.0, 90.0]];
        for corners in [crossed, outside] {
            let refused = Upright::new(&DisplayRegion::Corners(corners), &picture);
            assert!(matches!(refused, Err(Unreadable::Region { .. })));
        }
    }
}
