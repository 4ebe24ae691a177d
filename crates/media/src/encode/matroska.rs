//! Pictures with their times as a Matroska stream: how frames of any spacing reach ffmpeg through a
//! pipe without losing their times.
//!
//! Element numbers are those of RFC 9559 (Matroska) and RFC 8794 (EBML).

use std::io::{self, Write};

const EBML: u32 = 0x1A45_DFA3;
const DOC_TYPE: u32 = 0x4282;
const SEGMENT: u32 = 0x1853_8067;
const INFO: u32 = 0x1549_A966;
const TIMESTAMP_SCALE: u32 = 0x2A_D7B1;
const MUXING_APP: u32 = 0x4D80;
const WRITING_APP: u32 = 0x5741;
const TRACKS: u32 = 0x1654_AE6B;
const TRACK_ENTRY: u32 = 0xAE;
const TRACK_NUMBER: u32 = 0xD7;
const TRACK_UID: u32 = 0x73C5;
const TRACK_TYPE: u32 = 0x83;
const CODEC_ID: u32 = 0x86;
const CODEC_PRIVATE: u32 = 0x63A2;
const VIDEO: u32 = 0xE0;
const PIXEL_WIDTH: u32 = 0xB0;
const PIXEL_HEIGHT: u32 = 0xBA;
const COLOUR_SPACE: u32 = 0x2E_B524;
const CLUSTER: u32 = 0x1F43_B675;
const TIMESTAMP: u32 = 0xE7;
const SIMPLE_BLOCK: u32 = 0xA3;

/// A cluster holds one picture; its size field is written in full.
const UNKNOWN_SIZE: [u8; 8] = [0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF];

/// How the pictures of a stream are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stored {
    /// Uncompressed; the letters name the layout: `I420` for planar 4:2:0, `Y800` for grey.
    Planes(&'static [u8; 4]),
    /// Each a whole JPEG file.
    Jpeg,
    /// Each a whole PNG file.
    Png,
}

/// Write the head of a stream of pictures with a clock of whole milliseconds.
pub(super) fn write_head(
    out: &mut impl Write,
    (width, height): (usize, usize),
    stored: Stored,
) -> io::Result<()> {
    let head = master(EBML, &[leaf(DOC_TYPE, b"matroska")]);
    let info = master(
        INFO,
        &[
            leaf(TIMESTAMP_SCALE, &number(1_000_000)),
            leaf(MUXING_APP, b"meltrange"),
            leaf(WRITING_APP, b"meltrange"),
        ],
    );
    let mut video = vec![
        leaf(PIXEL_WIDTH, &number(width as u64)),
        leaf(PIXEL_HEIGHT, &number(height as u64)),
    ];
    let mut track = vec![
        leaf(TRACK_NUMBER, &[1]),
        leaf(TRACK_UID, &[1]),
        leaf(TRACK_TYPE, &[1]),
    ];
    match stored {
        Stored::Planes(fourcc) => {
            video.push(leaf(COLOUR_SPACE, fourcc));
            track.push(leaf(CODEC_ID, b"V_UNCOMPRESSED"));
        }
        Stored::Jpeg => track.push(leaf(CODEC_ID, b"V_MJPEG")),
        Stored::Png => {
            track.push(leaf(CODEC_ID, b"V_MS/VFW/FOURCC"));
            track.push(leaf(CODEC_PRIVATE, &bitmap_head(width, height)));
        }
    }
    track.push(master(VIDEO, &video));
    let track = master(TRACK_ENTRY, &track);
    out.write_all(&head)?;
    out.write_all(&identifier(SEGMENT))?;
    out.write_all(&UNKNOWN_SIZE)?;
    out.write_all(&info)?;
    out.write_all(&master(TRACKS, &[track]))
}

/// Write one picture, its planes one after the other.
pub(super) fn write_picture(
    out: &mut impl Write,
    time_ms: u64,
    planes: &[&[u8]],
) -> io::Result<()> {
    let samples: usize = planes.iter().map(|plane| plane.len()).sum();
    let time = leaf(TIMESTAMP, &number(time_ms));
    // Track 1, no offset from the cluster's time, key frame.
    let block_head = [0x81, 0x00, 0x00, 0x80];
    let block_size = block_head.len() + samples;
    let mut head = identifier(SIMPLE_BLOCK);
    head.extend(size(block_size as u64));
    let mut cluster = identifier(CLUSTER);
    cluster.extend(size((time.len() + head.len() + block_size) as u64));
    out.write_all(&cluster)?;
    out.write_all(&time)?;
    out.write_all(&head)?;
    out.write_all(&block_head)?;
    planes.iter().try_for_each(|plane| out.write_all(plane))
}

/// The 40 bytes in which other players look for the name of a codec that Matroska has no name for.
fn bitmap_head(width: usize, height: usize) -> Vec<u8> {
    let side = |side: usize| u32::try_from(side).unwrap_or(u32::MAX).to_le_bytes();
    let mut head = 40_u32.to_le_bytes().to_vec();
    head.extend(side(width));
    head.extend(side(height));
    head.extend(1_u16.to_le_bytes());
    head.extend(24_u16.to_le_bytes());
    head.extend(b"MPNG");
    head.resize(40, 0);
    head
}

fn identifier(id: u32) -> Vec<u8> {
    let bytes = id.to_be_bytes();
    let leading = bytes.iter().take_while(|&&byte| byte == 0).count();
    bytes[leading..].to_vec()
}

/// Eight-byte length: a marker bit and 56 bits.
fn size(length: u64) -> [u8; 8] {
    (length | (1 << 56)).to_be_bytes()
}

fn number(value: u64) -> Vec<u8> {
    let bytes = value.to_be_bytes();
    let leading = bytes.iter().take(7).take_while(|&&byte| byte == 0).count();
    bytes[leading..].to_vec()
}

fn leaf(id: u32, content: &[u8]) -> Vec<u8> {
    let mut bytes = identifier(id);
    bytes.extend(size(content.len() as u64));
    bytes.extend(content);
    bytes
}

fn master(id: u32, children: &[Vec<u8>]) -> Vec<u8> {
    leaf(id, &children.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_sizes_have_the_bytes_of_the_standard() {
        assert_eq!(identifier(SIMPLE_BLOCK), [0xA3]);
        assert_eq!(identifier(TIMESTAMP_SCALE), [0x2A, 0xD7, 0xB1]);
        assert_eq!(number(0), [0]);
        assert_eq!(number(1_000_000), [0x0F, 0x42, 0x40]);
        assert_eq!(size(5), [1, 0, 0, 0, 0, 0, 0, 5]);
    }
}
