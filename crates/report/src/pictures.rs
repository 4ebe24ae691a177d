//! Pictures that come from outside: which can be shown.

use typst::foundations::Bytes;
use typst::visualize::{ExchangeFormat, RasterImage};

/// Most pixels of a picture; more than any camera at a bench has, and still 400 MB decoded.
const MOST_PIXELS: u64 = 100_000_000;

/// A picture that can be decoded.
#[derive(Debug, Clone)]
pub(crate) struct Asset {
    /// Path by which the templates name it.
    pub path: String,
    /// What it is.
    pub media_type: &'static str,
    /// Its file.
    pub bytes: Bytes,
}

/// What kind of picture it is, where it can be decoded to its end.
///
/// The decoding is the typesetter's own and is remembered there: what passes here cannot fail later.
pub(crate) fn decoded(file: &[u8]) -> Option<(Bytes, &'static str, &'static str)> {
    let (format, media_type, ending) = if file.starts_with(b"\xff\xd8\xff") {
        (ExchangeFormat::Jpg, "image/jpeg", "jpg")
    } else if file.starts_with(b"\x89PNG\r\n\x1a\n") {
        (ExchangeFormat::Png, "image/png", "png")
    } else {
        return None;
    };
    if pixels(file)? > MOST_PIXELS {
        return None;
    }
    let bytes = Bytes::new(file.to_vec());
    let image = RasterImage::plain(bytes.clone(), format).ok()?;
    (image.width() > 0 && image.height() > 0).then_some((bytes, media_type, ending))
}

/// Width and height of a JPEG or PNG [px], as its header says; `None` for anything else.
pub fn picture_size_px(file: &[u8]) -> Option<(u32, u32)> {
    let reader = image::ImageReader::new(std::io::Cursor::new(file));
    reader.with_guessed_format().ok()?.into_dimensions().ok()
}

/// The part of a picture that a rectangle holds, as a PNG: its pixels are those of the picture.
///
/// `crop` is left edge, upper edge, width and height as fractions of the picture's sides. `None` where the
/// rectangle holds no pixel of it or reaches beyond it by more than rounding does, or the picture cannot be
/// decoded.
pub(crate) fn cropped(file: &[u8], crop: [f64; 4]) -> Option<Vec<u8>> {
    const ROUNDING: f64 = 1e-6;
    let [left, top, width, height] = crop;
    let inside = crop.iter().all(|part| part.is_finite())
        && left >= -ROUNDING
        && top >= -ROUNDING
        && width > 0.0
        && height > 0.0
        && left + width <= 1.0 + ROUNDING
        && top + height <= 1.0 + ROUNDING;
    if !inside || pixels(file)? > MOST_PIXELS {
        return None;
    }
    let whole = image::load_from_memory(file).ok()?;
    let span = |from: f64, length: f64, side: u32| {
        let side_px = f64::from(side);
        let first = (from * side_px).round().clamp(0.0, side_px) as u32;
        let end = ((from + length) * side_px).round().clamp(0.0, side_px) as u32;
        (end > first).then_some((first, end - first))
    };
    let (x, across) = span(left, width, whole.width())?;
    let (y, down) = span(top, height, whole.height())?;
    let mut png = std::io::Cursor::new(Vec::new());
    whole
        .crop_imm(x, y, across, down)
        .write_to(&mut png, image::ImageFormat::Png)
        .ok()?;
    Some(png.into_inner())
}

/// Width times height as the header says, without decoding.
fn pixels(file: &[u8]) -> Option<u64> {
    if file.starts_with(b"\x89PNG") {
        let side = |at: usize| -> Option<u64> {
            let four: [u8; 4] = file.get(at..at + 4)?.try_into().ok()?;
            Some(u64::from(u32::from_be_bytes(four)))
        };
        return side(16)?.checked_mul(side(20)?);
    }
    let mut at = 2;
    loop {
        // ISO/IEC 10918-1, annex B: markers with their lengths up to the frame header.
        let (&mark, &kind) = (file.get(at)?, file.get(at + 1)?);
        if mark != 0xff {
            return None;
        }
        match kind {
            0xff => at += 1,
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                let side = |from: usize| -> Option<u64> {
                    let two: [u8; 2] = file.get(from..from + 2)?.try_into().ok()?;
                    Some(u64::from(u16::from_be_bytes(two)))
                };
                return side(at + 5)?.checked_mul(side(at + 7)?);
            }
            _ => {
                let two: [u8; 2] = file.get(at + 2..at + 4)?.try_into().ok()?;
                at += 2 + usize::from(u16::from_be_bytes(two)).max(2);
            }
        }
    }
}
