//! JPEG pictures out of a stream of bytes, by their own markers.
//!
//! Cameras that send motion JPEG over HTTP differ in how they write boundaries, lengths and line ends,
//! and some write them wrongly. A JPEG says itself where it begins and ends (ITU-T T.81, B.1.1):
//! what stands between the pictures is passed over, whatever it is.

const SOI: u8 = 0xD8;
const EOI: u8 = 0xD9;
const SOS: u8 = 0xDA;

/// What was found in the stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Found {
    /// A whole picture, from its first to its last marker.
    Picture(Vec<u8>),
    /// Something that began as a picture and was none.
    Broken(&'static str),
}

/// Where in a picture the end of the known bytes is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    /// Between pictures.
    Outside,
    /// Before a marker.
    Marker,
    /// Within the compressed data after a start of scan.
    Scan,
}

/// Cuts a stream into pictures; bytes may come in pieces of any size.
#[derive(Debug)]
pub(crate) struct JpegSplitter {
    held: Vec<u8>,
    /// How far into `held` it was looked.
    looked: usize,
    at: At,
    most: usize,
}

impl JpegSplitter {
    /// Pictures of at most `most` bytes.
    pub fn new(most: usize) -> Self {
        Self {
            held: Vec::new(),
            looked: 0,
            at: At::Outside,
            most,
        }
    }

    /// Take bytes in; what they complete, in order.
    pub fn push(&mut self, bytes: &[u8]) -> Vec<Found> {
        self.held.extend_from_slice(bytes);
        let mut found = Vec::new();
        while let Some(next) = self.step() {
            found.extend(next);
        }
        found
    }

    /// One step; `None` when more bytes are needed.
    fn step(&mut self) -> Option<Option<Found>> {
        match self.at {
            At::Outside => {
                let begin = self.held.windows(2).position(|two| two == [0xFF, SOI]);
                if let Some(begin) = begin {
                    self.held.drain(..begin);
                    self.looked = 2;
                    self.at = At::Marker;
                    return Some(None);
                }
                // The last byte may be the first half of a marker.
                let keep = usize::from(self.held.last() == Some(&0xFF));
                self.held.drain(..self.held.len() - keep);
                None
            }
            _ if self.looked > self.most => Some(Some(self.give_up("larger than is taken"))),
            At::Marker => self.marker(),
            At::Scan => {
                let rest = self.held.get(self.looked..)?;
                let Some(marker) = rest
                    .windows(2)
                    .position(|two| two[0] == 0xFF && !matches!(two[1], 0 | 0xD0..=0xD7 | 0xFF))
                else {
                    self.looked = self.held.len().saturating_sub(1).max(self.looked);
                    return (self.held.len() > self.most)
                        .then(|| Some(self.give_up("larger than is taken")));
                };
                self.looked += marker;
                self.at = At::Marker;
                Some(None)
            }
        }
    }

    fn marker(&mut self) -> Option<Option<Found>> {
        let at = self.looked;
        let (&mark, &kind) = (self.held.get(at)?, self.held.get(at + 1)?);
        if mark != 0xFF {
            return Some(Some(self.give_up("no marker where one has to be")));
        }
        match kind {
            // Fill bytes may stand before any marker (B.1.1.2).
            0xFF => self.looked += 1,
            EOI => {
                let rest = self.held.split_off(at + 2);
                let picture = std::mem::replace(&mut self.held, rest);
                (self.looked, self.at) = (0, At::Outside);
                return Some(Some(Found::Picture(picture)));
            }
            // Another begins: this one was cut off.
            SOI => return Some(Some(self.give_up("cut off"))),
            0x01 | 0xD0..=0xD7 => self.looked += 2,
            _ => {
                let length = self.held.get(at + 2..at + 4)?;
                let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
                if length < 2 {
                    return Some(Some(self.give_up("a segment without a length")));
                }
                // All of it has to be there before what follows is looked at.
                if self.held.len() < at + 2 + length {
                    return None;
                }
                self.looked = at + 2 + length;
                if kind == SOS {
                    self.at = At::Scan;
                }
            }
        }
        Some(None)
    }

    /// Leave a picture; the next may begin anywhere after its first marker.
    fn give_up(&mut self, why: &'static str) -> Found {
        self.held.drain(..2);
        (self.looked, self.at) = (0, At::Outside);
        Found::Broken(why)
    }
}

/// Columns and rows of a JPEG, from its frame header (T.81, B.2.2); `None` without one.
pub(crate) fn jpeg_size(jpeg: &[u8]) -> Option<(u16, u16)> {
    let mut at = 2;
    loop {
        let (&mark, &kind) = (jpeg.get(at)?, jpeg.get(at + 1)?);
        let two = |at: usize| Some(u16::from_be_bytes([*jpeg.get(at)?, *jpeg.get(at + 1)?]));
        match (mark, kind) {
            (0xFF, 0xFF) => at += 1,
            (0xFF, SOS | EOI) => return None,
            (0xFF, 0xC0..=0xCF) if !matches!(kind, 0xC4 | 0xC8 | 0xCC) => {
                return Some((two(at + 7)?, two(at + 5)?));
            }
            (0xFF, _) => at += 2 + usize::from(two(at + 2)?),
            _ => return None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn picture(width: u16, height: u16, seed: u8) -> Vec<u8> {
        let luma: Vec<u8> = (0..usize::from(width) * usize::from(height))
            .map(|i| (i as u8).wrapping_mul(seed))
            .collect();
        let mut jpeg = Vec::new();
        jpeg_encoder::Encoder::new(&mut jpeg, 90)
            .encode(&luma, width, height, jpeg_encoder::ColorType::Luma)
            .expect("encodes");
        jpeg
    }

    /// With a thumbnail in an application segment, which has an end of image of its own.
    fn with_thumbnail(of: &[u8]) -> Vec<u8> {
        let inner = picture(8, 8, 3);
        let mut jpeg = vec![0xFF, SOI, 0xFF, 0xE1];
        jpeg.extend(u16::try_from(inner.len() + 2).expect("small").to_be_bytes());
        jpeg.extend(&inner);
        jpeg.extend(&of[2..]);
        jpeg
    }

    #[test]
    fn sizes_are_those_encoded() {
        assert_eq!(jpeg_size(&picture(40, 16, 7)), Some((40, 16)));
        assert_eq!(
            jpeg_size(&with_thumbnail(&picture(24, 8, 7))),
            Some((24, 8))
        );
        assert_eq!(jpeg_size(b"text"), None);
        assert_eq!(jpeg_size(&[]), None);
    }

    #[test]
    fn a_picture_cut_off_is_told_and_the_next_is_whole() {
        let (one, two) = (picture(32, 32, 5), picture(32, 32, 9));
        let mut splitter = JpegSplitter::new(1 << 20);
        let mut stream = one[..one.len() - 40].to_vec();
        stream.extend(b"\r\n--b\r\n\r\n");
        stream.extend(&two);
        let found = splitter.push(&stream);
        assert_eq!(found, [Found::Broken("cut off"), Found::Picture(two)]);
    }

    #[test]
    fn too_large_a_picture_is_not_held() {
        let one = picture(64, 64, 11);
        let small = picture(8, 8, 1);
        assert!(small.len() < one.len() / 2, "{} {}", small.len(), one.len());
        let mut splitter = JpegSplitter::new(one.len() / 2 + small.len() / 2);
        let mut stream = one;
        stream.extend(&small);
        let found: Vec<Found> = stream.chunks(16).flat_map(|c| splitter.push(c)).collect();
        assert!(matches!(found[0], Found::Broken(_)), "{found:?}");
        assert_eq!(found.last(), Some(&Found::Picture(small)));
        assert!(splitter.held.len() < 4);
    }

    proptest! {
        #[test]
        fn pictures_come_out_as_they_went_in(
            sizes in proptest::collection::vec((1_u16..5, 1_u16..5, any::<u8>(), any::<bool>()), 1..6),
            between in proptest::collection::vec("[ -~\r\n]{0,40}", 6),
            piece in 1_usize..300,
        ) {
            let pictures: Vec<Vec<u8>> = sizes
                .iter()
                .map(|&(w, h, seed, thumbnail)| {
                    let jpeg = picture(8 * w, 8 * h, seed);
                    if thumbnail { with_thumbnail(&jpeg) } else { jpeg }
                })
                .collect();
            let mut stream = Vec::new();
            for (jpeg, text) in pictures.iter().zip(&between) {
                stream.extend(text.as_bytes());
                stream.extend(jpeg);
            }
            let mut splitter = JpegSplitter::new(1 << 20);
            let found: Vec<Found> = stream.chunks(piece).flat_map(|c| splitter.push(c)).collect();
            let expected: Vec<Found> = pictures.into_iter().map(Found::Picture).collect();
            prop_assert_eq!(found, expected);
        }

        #[test]
        fn whatever_comes_is_survived(bytes in proptest::collection::vec(
            prop_oneof![Just(0xFF_u8), Just(SOI), Just(SOS), Just(0), any::<u8>()], 0..400), piece in 1_usize..50) {
            let mut splitter = JpegSplitter::new(100);
            for chunk in bytes.chunks(piece) {
                for found in splitter.push(chunk) {
                    if let Found::Picture(jpeg) = found {
                        prop_assert!(jpeg.starts_with(&[0xFF, SOI]) && jpeg.ends_with(&[0xFF, EOI]));
                    }
                }
            }
            let _ = jpeg_size(&bytes);
        }
    }
}
