//! Huffman tables for pictures that leave them out.
//!
//! Motion JPEG, as many USB cameras send it, may lack its Huffman tables: the typical ones of ITU-T T.81,
//! Annex K.3 are meant (common practice, no source). Decoders of still pictures refuse such pictures, so the
//! tables are put in; nothing else is touched.

/// Class and destination (T.81, B.2.4.2), counts of codes of 1 to 16 bits, and what they stand for.
type Table = (u8, [u8; 16], &'static [u8]);

/// The four tables of T.81, Annex K.3.
const TYPICAL: [Table; 4] = [
    // Table K.3.
    (
        0x00,
        [0, 1, 5, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0],
        &[
            0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0A, 0x0B,
        ],
    ),
    // Table K.5.
    (
        0x10,
        [0, 2, 1, 3, 3, 2, 4, 3, 5, 5, 4, 4, 0, 0, 1, 125],
        &[
            0x01, 0x02, 0x03, 0x00, 0x04, 0x11, 0x05, 0x12, 0x21, 0x31, 0x41, 0x06, 0x13, 0x51,
            0x61, 0x07, 0x22, 0x71, 0x14, 0x32, 0x81, 0x91, 0xA1, 0x08, 0x23, 0x42, 0xB1, 0xC1,
            0x15, 0x52, 0xD1, 0xF0, 0x24, 0x33, 0x62, 0x72, 0x82, 0x09, 0x0A, 0x16, 0x17, 0x18,
            0x19, 0x1A, 0x25, 0x26, 0x27, 0x28, 0x29, 0x2A, 0x34, 0x35, 0x36, 0x37, 0x38, 0x39,
            0x3A, 0x43, 0x44, 0x45, 0x46, 0x47, 0x48, 0x49, 0x4A, 0x53, 0x54, 0x55, 0x56, 0x57,
            0x58, 0x59, 0x5A, 0x63, 0x64, 0x65, 0x66, 0x67, 0x68, 0x69, 0x6A, 0x73, 0x74, 0x75,
            0x76, 0x77, 0x78, 0x79, 0x7A, 0x83, 0x84, 0x85, 0x86, 0x87, 0x88, 0x89, 0x8A, 0x92,
            0x93, 0x94, 0x95, 0x96, 0x97, 0x98, 0x99, 0x9A, 0xA2, 0xA3, 0xA4, 0xA5, 0xA6, 0xA7,
            0xA8, 0xA9, 0xAA, 0xB2, 0xB3, 0xB4, 0xB5, 0xB6, 0xB7, 0xB8, 0xB9, 0xBA, 0xC2, 0xC3,
            0xC4, 0xC5, 0xC6, 0xC7, 0xC8, 0xC9, 0xCA, 0xD2, 0xD3, 0xD4, 0xD5, 0xD6, 0xD7, 0xD8,
            0xD9, 0xDA, 0xE1, 0xE2, 0xE3, 0xE4, 0xE5, 0xE6, 0xE7, 0xE8, 0xE9, 0xEA, 0xF1, 0xF2,
            0xF3, 0xF4, 0xF5, 0xF6, 0xF7, 0xF8, 0xF9, 0xFA,
        ],
    ),
    // Table K.4.
    (
        0x01,
        [0, 3, 1, 1, 1, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0],
        &[
            0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0A, 0x0B,
        ],
    ),
    // Table K.6.
    (
        0x11,
        [0, 2, 1, 2, 4, 4, 3, 4, 7, 5, 4, 4, 0, 1, 2, 119],
        &[
            0x00, 0x01, 0x02, 0x03, 0x11, 0x04, 0x05, 0x21, 0x31, 0x06, 0x12, 0x41, 0x51, 0x07,
            0x61, 0x71, 0x13, 0x22, 0x32, 0x81, 0x08, 0x14, 0x42, 0x91, 0xA1, 0xB1, 0xC1, 0x09,
            0x23, 0x33, 0x52, 0xF0, 0x15, 0x62, 0x72, 0xD1, 0x0A, 0x16, 0x24, 0x34, 0xE1, 0x25,
            0xF1, 0x17, 0x18, 0x19, 0x1A, 0x26, 0x27, 0x28, 0x29, 0x2A, 0x35, 0x36, 0x37, 0x38,
            0x39, 0x3A, 0x43, 0x44, 0x45, 0x46, 0x47, 0x48, 0x49, 0x4A, 0x53, 0x54, 0x55, 0x56,
            0x57, 0x58, 0x59, 0x5A, 0x63, 0x64, 0x65, 0x66, 0x67, 0x68, 0x69, 0x6A, 0x73, 0x74,
            0x75, 0x76, 0x77, 0x78, 0x79, 0x7A, 0x82, 0x83, 0x84, 0x85, 0x86, 0x87, 0x88, 0x89,
            0x8A, 0x92, 0x93, 0x94, 0x95, 0x96, 0x97, 0x98, 0x99, 0x9A, 0xA2, 0xA3, 0xA4, 0xA5,
            0xA6, 0xA7, 0xA8, 0xA9, 0xAA, 0xB2, 0xB3, 0xB4, 0xB5, 0xB6, 0xB7, 0xB8, 0xB9, 0xBA,
            0xC2, 0xC3, 0xC4, 0xC5, 0xC6, 0xC7, 0xC8, 0xC9, 0xCA, 0xD2, 0xD3, 0xD4, 0xD5, 0xD6,
            0xD7, 0xD8, 0xD9, 0xDA, 0xE2, 0xE3, 0xE4, 0xE5, 0xE6, 0xE7, 0xE8, 0xE9, 0xEA, 0xF2,
            0xF3, 0xF4, 0xF5, 0xF6, 0xF7, 0xF8, 0xF9, 0xFA,
        ],
    ),
];

/// The picture with the typical tables before its first scan, where it has none of its own.
pub(crate) fn with_tables(mut jpeg: Vec<u8>) -> Vec<u8> {
    if let Some(scan) = scan_without_tables(&jpeg) {
        jpeg.splice(scan..scan, segment());
    }
    jpeg
}

/// Where the first scan begins when no table was defined before it.
fn scan_without_tables(jpeg: &[u8]) -> Option<usize> {
    let mut at = 2;
    loop {
        match (*jpeg.get(at)?, *jpeg.get(at + 1)?) {
            (0xFF, 0xFF) => at += 1,
            // Huffman tables; and arithmetic coding, which has none.
            (0xFF, 0xC4 | 0xC9..=0xCF) => return None,
            (0xFF, 0xDA) => return Some(at),
            (0xFF, _) => {
                at += 2 + usize::from(u16::from_be_bytes([*jpeg.get(at + 2)?, *jpeg.get(at + 3)?]));
            }
            _ => return None,
        }
    }
}

fn segment() -> Vec<u8> {
    let mut body = Vec::new();
    for (class, counts, values) in TYPICAL {
        body.push(class);
        body.extend(counts);
        body.extend(values);
    }
    let mut segment = vec![0xFF, 0xC4];
    // 416 bytes of tables and the length itself.
    segment.extend(
        u16::try_from(body.len() + 2)
            .unwrap_or(u16::MAX)
            .to_be_bytes(),
    );
    segment.extend(body);
    segment
}

#[cfg(test)]
mod tests {
    use super::*;
    use zune_jpeg::zune_core::bytestream::ZCursor;

    /// A colour picture and the same without its tables.
    fn with_and_without() -> (Vec<u8>, Vec<u8>) {
        let rgb: Vec<u8> = (0..48 * 32 * 3_usize)
            .map(|i| (i * i % 251) as u8)
            .collect();
        let mut whole = Vec::new();
        // Its tables are those of Annex K.3 unless it is asked for better ones.
        jpeg_encoder::Encoder::new(&mut whole, 90)
            .encode(&rgb, 48, 32, jpeg_encoder::ColorType::Rgb)
            .expect("encodes");
        let mut bare = whole[..2].to_vec();
        let mut at = 2;
        while whole[at + 1] != 0xDA {
            let next = at + 2 + usize::from(u16::from_be_bytes([whole[at + 2], whole[at + 3]]));
            if whole[at + 1] != 0xC4 {
                bare.extend(&whole[at..next]);
            }
            at = next;
        }
        bare.extend(&whole[at..]);
        (whole, bare)
    }

    /// Class, counts and values of every table, as the picture defines them.
    fn tables(jpeg: &[u8]) -> Vec<(u8, Vec<u8>)> {
        let (mut tables, mut at) = (Vec::new(), 2);
        while jpeg[at + 1] != 0xDA {
            let next = at + 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
            let mut rest = &jpeg[at + 4..next];
            while jpeg[at + 1] == 0xC4 && !rest.is_empty() {
                let len = 17 + rest[1..17].iter().map(|&n| usize::from(n)).sum::<usize>();
                tables.push((rest[0], rest[1..len].to_vec()));
                rest = &rest[len..];
            }
            at = next;
        }
        tables.sort();
        tables
    }

    #[test]
    fn tables_left_out_are_put_in_and_others_left_alone() {
        let (whole, bare) = with_and_without();
        assert_eq!(tables(&bare), []);
        let healed = with_tables(bare.clone());
        // The same four tables as an encoder writes that has them from the standard too.
        assert_eq!(tables(&healed), tables(&whole));
        assert_eq!(healed.len(), bare.len() + 420);
        assert_eq!(with_tables(whole.clone()), whole);
        for broken in [&[][..], &[0xFF, 0xD8], &bare[..20]] {
            assert_eq!(with_tables(broken.to_vec()), broken);
        }
    }

    #[test]
    fn a_healed_picture_decodes_as_the_whole_one() {
        let (whole, bare) = with_and_without();
        let pixels = |jpeg: &[u8]| {
            zune_jpeg::JpegDecoder::new(ZCursor::new(jpeg))
                .decode()
                .expect("decodes")
        };
        // Without them it is refused: that is why.
        let refused = zune_jpeg::JpegDecoder::new(ZCursor::new(&bare)).decode();
        assert!(refused.is_err());
        assert_eq!(pixels(&with_tables(bare)), pixels(&whole));
    }
}
