//! How a picture must be turned before it is looked at.

/// Turning that the container asks for (display matrix).
///
/// ffmpeg would turn by itself, but at full size and before anything is left out; turned here,
/// after selection, scaling and reduction to grey, the same costs a fraction. Mirrored or odd
/// angles are rare and left to ffmpeg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turn {
    /// As stored.
    None,
    /// A quarter turn clockwise.
    Clockwise,
    /// A quarter turn counter-clockwise.
    CounterClockwise,
    /// Upside down.
    Half,
    /// Mirrored or odd: left to ffmpeg; whether width and height change places.
    ByDecoder {
        /// Columns become rows.
        swaps_sides: bool,
    },
}

impl Turn {
    /// From ffprobe's `rotation` [degrees, counter-clockwise positive] and `displaymatrix` text.
    pub fn of(rotation_deg: f64, matrix_text: &str) -> Self {
        let matrix = matrix(matrix_text);
        let quarter = (rotation_deg / 90.0).round();
        let near_quarter = (rotation_deg - quarter * 90.0).abs() < 1.0;
        let quarter = quarter.rem_euclid(4.0) as u8;
        let upright = matrix.is_none_or(|m| m[0] * m[4] - m[1] * m[3] > 0.0);
        match (near_quarter, upright, quarter) {
            (true, true, 0) => Self::None,
            (true, true, 1) => Self::CounterClockwise,
            (true, true, 2) => Self::Half,
            (true, true, 3) => Self::Clockwise,
            (near, _, quarter) => Self::ByDecoder {
                swaps_sides: near && quarter % 2 == 1,
            },
        }
    }

    /// Size after turning.
    pub fn size_after(self, width: usize, height: usize) -> (usize, usize) {
        match self {
            Self::Clockwise | Self::CounterClockwise | Self::ByDecoder { swaps_sides: true } => {
                (height, width)
            }
            Self::None | Self::Half | Self::ByDecoder { swaps_sides: false } => (width, height),
        }
    }

    /// Filters that turn the picture, after scaling.
    pub fn filters(self) -> &'static [&'static str] {
        match self {
            Self::None | Self::ByDecoder { .. } => &[],
            Self::Clockwise => &["transpose=clock"],
            Self::CounterClockwise => &["transpose=cclock"],
            Self::Half => &["hflip", "vflip"],
        }
    }

    /// Whether ffmpeg is to turn by itself.
    pub fn by_decoder(self) -> bool {
        matches!(self, Self::ByDecoder { .. })
    }
}

/// The nine numbers of ffprobe's print: three lines `00000000: 0 65536 0`.
fn matrix(text: &str) -> Option<[f64; 9]> {
    let numbers: Vec<f64> = text
        .lines()
        .filter_map(|line| line.split_once(':'))
        .flat_map(|(_, row)| row.split_whitespace())
        .filter_map(|number| number.parse().ok())
        .collect();
    numbers.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    const PORTRAIT: &str = "\n00000000:            0       65536           0\n00000001:       -65536           0           0\n00000002:            0           0  1073741824\n";

    #[test]
    fn phone_held_upright_turns_clockwise() {
        assert_eq!(Turn::of(-90.0, PORTRAIT), Turn::Clockwise);
        assert_eq!(Turn::of(-90.0, "").size_after(1280, 720), (720, 1280));
        assert_eq!(Turn::of(90.0, ""), Turn::CounterClockwise);
        assert_eq!(Turn::of(180.0, ""), Turn::Half);
        assert_eq!(Turn::of(-180.0, ""), Turn::Half);
        assert_eq!(Turn::of(0.0, ""), Turn::None);
    }

    #[test]
    fn mirrored_pictures_are_left_to_the_decoder() {
        let mirrored = "\n0: 0 65536 0\n1: 65536 0 0\n2: 0 0 1073741824\n";
        assert_eq!(
            Turn::of(-90.0, mirrored),
            Turn::ByDecoder { swaps_sides: true }
        );
        assert_eq!(Turn::of(30.0, ""), Turn::ByDecoder { swaps_sides: false });
    }
}
