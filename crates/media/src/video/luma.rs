//! From the decoder's pixels to luma of 0..=255.

/// How luma is got from what the decoder yields.
///
/// ffmpeg's own conversion to `gray` costs about 1 ms for a 640 × 480 picture, a third of decoding it;
/// taking the Y plane as it is and stretching it here costs next to nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LumaKind {
    /// An 8-bit Y plane of 0..=255: taken as it is.
    FullPlane,
    /// An 8-bit Y plane of 16..=235 (ITU-R BT.601, BT.709): stretched here.
    LimitedPlane,
    /// Anything else, such as 10 bits or RGB: converted by ffmpeg.
    Converted,
}

/// 8-bit formats with a Y plane of their own, by ffmpeg's names.
const PLANAR: [&str; 9] = [
    "yuv410p", "yuv411p", "yuv420p", "yuv422p", "yuv440p", "yuv444p", "yuva420p", "yuva422p",
    "yuva444p",
];

/// The same with full range implied.
const PLANAR_FULL: [&str; 6] = [
    "gray", "yuvj411p", "yuvj420p", "yuvj422p", "yuvj440p", "yuvj444p",
];

impl LumaKind {
    /// From ffprobe's `pix_fmt` and `color_range`; a range not stated is the limited one, as in ffmpeg.
    pub fn of(pixel_format: &str, color_range: &str) -> Self {
        match (pixel_format, color_range) {
            (format, _) if PLANAR_FULL.contains(&format) => Self::FullPlane,
            (format, "pc") if PLANAR.contains(&format) => Self::FullPlane,
            (format, _) if PLANAR.contains(&format) => Self::LimitedPlane,
            _ => Self::Converted,
        }
    }

    /// The filter that yields one 8-bit plane.
    pub fn filter(self) -> &'static str {
        match self {
            // Of a gray picture the only plane is its luma.
            Self::FullPlane | Self::LimitedPlane => "extractplanes=y",
            Self::Converted => "format=gray",
        }
    }

    /// Bring a delivered plane to 0..=255.
    pub fn stretch(self, luma: &mut [u8]) {
        if self == Self::LimitedPlane {
            for value in luma {
                *value = STRETCHED[usize::from(*value)];
            }
        }
    }
}

/// (Y − 16) · 255 / 219, rounded and limited.
const STRETCHED: [u8; 256] = stretched();

const fn stretched() -> [u8; 256] {
    let mut table = [0; 256];
    let mut at = 0_usize;
    while at < 256 {
        let above = at.saturating_sub(16);
        let value = (above * 255 * 2 + 219) / (2 * 219);
        table[at] = if value > 255 { 255 } else { value as u8 };
        at += 1;
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limits_of_the_range_become_black_and_white() {
        let mut luma = [0, 16, 17, 126, 235, 255];
        LumaKind::LimitedPlane.stretch(&mut luma);
        // 110 · 255 / 219 = 128.08
        assert_eq!(luma, [0, 0, 1, 128, 255, 255]);
        let mut luma = [0, 16, 235];
        LumaKind::FullPlane.stretch(&mut luma);
        assert_eq!(luma, [0, 16, 235]);
    }

    #[test]
    fn kinds_by_name() {
        assert_eq!(LumaKind::of("yuv420p", "tv"), LumaKind::LimitedPlane);
        assert_eq!(LumaKind::of("yuv420p", ""), LumaKind::LimitedPlane);
        assert_eq!(LumaKind::of("yuv420p", "pc"), LumaKind::FullPlane);
        assert_eq!(LumaKind::of("yuvj420p", "pc"), LumaKind::FullPlane);
        assert_eq!(LumaKind::of("gray", ""), LumaKind::FullPlane);
        assert_eq!(LumaKind::of("yuv420p10le", "tv"), LumaKind::Converted);
        assert_eq!(LumaKind::of("bgr24", ""), LumaKind::Converted);
    }
}
