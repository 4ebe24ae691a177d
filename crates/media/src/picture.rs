//! One JPEG or PNG picture to luma.

use std::io::Cursor;

use image::metadata::Orientation;
use image::{DynamicImage, GrayImage, ImageDecoder, ImageReader};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::shrink::shrink;

/// A decoded picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Luma {
    /// Columns [px].
    pub width: usize,
    /// Rows [px].
    pub height: usize,
    /// `height × width`, row-major, 0..=255.
    pub pixels: Vec<u8>,
}

/// Decode a JPEG or PNG picture as it comes from a camera, upright as its Exif orientation says.
///
/// # Errors
/// In words that continue "the picture …": it is empty, cut short or no such picture.
pub fn decode_luma(bytes: &[u8]) -> Result<Luma, String> {
    decode(bytes)
}

/// Decode a JPEG or PNG, upright as its Exif orientation says.
///
/// Luma is Y of ITU-R BT.601 in full range, as JPEG stores it and as ffmpeg's `gray` gives it.
/// On failure, words that continue "FILE …".
pub(crate) fn decode(bytes: &[u8]) -> Result<Luma, String> {
    if bytes.is_empty() {
        return Err("is empty".into());
    }
    let (luma, orientation) = if bytes.starts_with(&[0xFF, 0xD8]) {
        decode_jpeg(bytes)?
    } else {
        decode_other(bytes)?
    };
    Ok(upright(luma, orientation))
}

/// Scale a picture down so that its longest side is at most `longest_px`.
pub(crate) fn limited(luma: Luma, width: usize, height: usize) -> Luma {
    if (luma.width, luma.height) == (width, height) {
        return luma;
    }
    Luma {
        pixels: shrink(&luma.pixels, luma.width, luma.height, width, height),
        width,
        height,
    }
}

fn decode_jpeg(bytes: &[u8]) -> Result<(Luma, Orientation), String> {
    // A picture whose tail is missing must not pass as one with a grey bottom. Some cameras leave
    // the end marker out, though: then the decoder has to be content in its strict mode.
    let strict = !has_end_marker(bytes);
    // Colours other than luma and chroma are rare; the decoder turns those into RGB only.
    jpeg_as(bytes, ColorSpace::Luma, strict)
        .or_else(|first_problem| jpeg_as(bytes, ColorSpace::RGB, strict).map_err(|_| first_problem))
}

fn jpeg_as(bytes: &[u8], colours: ColorSpace, strict: bool) -> Result<(Luma, Orientation), String> {
    let options = DecoderOptions::default()
        .jpeg_set_out_colorspace(colours)
        .set_strict_mode(strict);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let values = decoder
        .decode()
        .map_err(|error| format!("cannot be decoded ({})", first_line(&error.to_string())))?;
    let (width, height) = decoder
        .info()
        .map(|info| (usize::from(info.width), usize::from(info.height)))
        .ok_or("cannot be decoded (no size)")?;
    let pixels = match decoder.output_colorspace() {
        Some(ColorSpace::Luma) => values,
        Some(ColorSpace::RGB) => luma_of_rgb(&values),
        _ => return Err("cannot be decoded (unknown colours)".into()),
    };
    if pixels.len() != width * height {
        return Err("cannot be decoded (its size is contradictory)".into());
    }
    let orientation = decoder
        .exif()
        .and_then(|exif| Orientation::from_exif_chunk(exif))
        .unwrap_or(Orientation::NoTransforms);
    Ok((
        Luma {
            width,
            height,
            pixels,
        },
        orientation,
    ))
}

/// Whether the last scan of a JPEG is followed by the end marker. Within a scan neither marker can
/// occur, and a thumbnail's lies before the scan.
fn has_end_marker(jpeg: &[u8]) -> bool {
    jpeg.windows(2)
        .rev()
        .find(|pair| matches!(pair, [0xFF, 0xD9 | 0xDA]))
        .is_some_and(|pair| pair[1] == 0xD9)
}

fn first_line(text: &str) -> &str {
    text.trim().lines().next().unwrap_or("no reason given")
}

fn luma_of_rgb(values: &[u8]) -> Vec<u8> {
    values
        .chunks_exact(3)
        .map(|rgb| bt601(rgb[0], rgb[1], rgb[2]))
        .collect()
}

fn decode_other(bytes: &[u8]) -> Result<(Luma, Orientation), String> {
    let failed = |error: image::ImageError| format!("cannot be decoded ({error})");
    let mut decoder = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| format!("cannot be decoded ({error})"))?
        .into_decoder()
        .map_err(failed)?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let picture = DynamicImage::from_decoder(decoder).map_err(failed)?;
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let pixels = match picture {
        DynamicImage::ImageLuma8(grey) => grey.into_raw(),
        DynamicImage::ImageLumaA8(_)
        | DynamicImage::ImageLuma16(_)
        | DynamicImage::ImageLumaA16(_) => picture.into_luma8().into_raw(),
        colour => luma_of_rgb(colour.into_rgb8().as_raw()),
    };
    Ok((
        Luma {
            width,
            height,
            pixels,
        },
        orientation,
    ))
}

/// Luma of ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B.
fn bt601(red: u8, green: u8, blue: u8) -> u8 {
    let sum = 299 * u32::from(red) + 587 * u32::from(green) + 114 * u32::from(blue);
    ((sum + 500) / 1000) as u8
}

fn upright(luma: Luma, orientation: Orientation) -> Luma {
    if orientation == Orientation::NoTransforms {
        return luma;
    }
    let (width, height) = (luma.width as u32, luma.height as u32);
    let grey = GrayImage::from_raw(width, height, luma.pixels)
        .expect("the decoder filled the whole picture");
    let mut picture = DynamicImage::ImageLuma8(grey);
    picture.apply_orientation(orientation);
    Luma {
        width: picture.width() as usize,
        height: picture.height() as usize,
        pixels: picture.into_luma8().into_raw(),
    }
}
