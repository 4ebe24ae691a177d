//! The open fonts that displays are rendered with, unpacked and rasterised.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

/// How a font draws digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Make {
    Segments,
    Dots,
    /// Drawn by neither rule: may be refused, must not be misread.
    Foreign,
}

/// A font of the tests.
pub struct Face {
    pub name: &'static str,
    pub make: Make,
    font: fontdue::Font,
}

/// Name, make and file below node_modules. All under the SIL Open Font License 1.1.
const FILES: [(&str, Make, &str); 13] = [
    (
        "classic",
        Make::Segments,
        "dseg/fonts/DSEG7-Classic/DSEG7Classic-Regular.ttf",
    ),
    (
        "classic light",
        Make::Segments,
        "dseg/fonts/DSEG7-Classic/DSEG7Classic-Light.ttf",
    ),
    (
        "classic bold italic",
        Make::Segments,
        "dseg/fonts/DSEG7-Classic/DSEG7Classic-BoldItalic.ttf",
    ),
    (
        "modern",
        Make::Segments,
        "dseg/fonts/DSEG7-Modern/DSEG7Modern-Regular.ttf",
    ),
    (
        "modern italic",
        Make::Segments,
        "dseg/fonts/DSEG7-Modern/DSEG7Modern-Italic.ttf",
    ),
    (
        "classic mini",
        Make::Segments,
        "dseg/fonts/DSEG7-Classic-MINI/DSEG7ClassicMini-Regular.ttf",
    ),
    (
        "modern mini bold",
        Make::Segments,
        "dseg/fonts/DSEG7-Modern-MINI/DSEG7ModernMini-Bold.ttf",
    ),
    (
        "dots thin",
        Make::Dots,
        "@fontsource/doto/files/doto-latin-500-normal.woff",
    ),
    (
        "dots",
        Make::Dots,
        "@fontsource/doto/files/doto-latin-700-normal.woff",
    ),
    (
        "dots full",
        Make::Dots,
        "@fontsource/doto/files/doto-latin-900-normal.woff",
    ),
    (
        "gothic",
        Make::Foreign,
        "@fontsource/dotgothic16/files/dotgothic16-latin-400-normal.woff",
    ),
    (
        "sixtyfour",
        Make::Foreign,
        "@fontsource/sixtyfour/files/sixtyfour-latin-400-normal.woff",
    ),
    (
        "press",
        Make::Foreign,
        "@fontsource/press-start-2p/files/press-start-2p-latin-400-normal.woff",
    ),
];

static FACES: LazyLock<Vec<Face>> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fonts/node_modules");
    FILES
        .iter()
        .map(|&(name, make, file)| {
            let path = folder.join(file);
            #[expect(
                clippy::disallowed_methods,
                reason = "the crate is pure, its tests read fonts"
            )]
            let bytes = std::fs::read(&path).unwrap_or_else(|error| {
                panic!(
                    "{} could not be read ({error}); the fonts of these tests come from npm: \
                     run scripts/set-up.sh fonts",
                    path.display()
                )
            });
            let bytes = if bytes.starts_with(b"wOFF") {
                unpacked(&bytes)
            } else {
                bytes
            };
            let font = fontdue::Font::from_bytes(bytes, fontdue::FontSettings::default())
                .unwrap_or_else(|error| panic!("{file}: {error}"));
            Face { name, make, font }
        })
        .collect()
});

/// All fonts.
pub fn faces() -> &'static [Face] {
    &FACES
}

/// The TrueType file in a WOFF 1.0 one.
///
/// Layout: W3C Recommendation "WOFF File Format 1.0" (2012), sections 3 to 5.
fn unpacked(woff: &[u8]) -> Vec<u8> {
    let u16_at = |at: usize| u16::from_be_bytes([woff[at], woff[at + 1]]);
    let u32_at =
        |at: usize| u32::from_be_bytes([woff[at], woff[at + 1], woff[at + 2], woff[at + 3]]);
    let tables = usize::from(u16_at(12));
    let mut directory = Vec::new();
    let mut body = Vec::new();
    let body_at = 12 + 16 * tables;
    for i in 0..tables {
        let entry = 44 + 20 * i;
        let (offset, packed, length) = (
            u32_at(entry + 4) as usize,
            u32_at(entry + 8) as usize,
            u32_at(entry + 12) as usize,
        );
        let data = &woff[offset..offset + packed];
        let table = if packed < length {
            miniz_oxide::inflate::decompress_to_vec_zlib(data).expect("a sound zlib stream")
        } else {
            data.to_vec()
        };
        assert_eq!(
            table.len(),
            length,
            "a table has the length that its entry states"
        );
        directory.extend_from_slice(&woff[entry..entry + 4]);
        directory.extend_from_slice(&woff[entry + 16..entry + 20]);
        directory.extend_from_slice(&((body_at + body.len()) as u32).to_be_bytes());
        directory.extend_from_slice(&(length as u32).to_be_bytes());
        body.extend_from_slice(&table);
        body.resize(body.len().next_multiple_of(4), 0);
    }
    let mut file = woff[4..8].to_vec();
    file.extend_from_slice(&(tables as u16).to_be_bytes());
    // The search fields are not used by any reader here.
    file.extend_from_slice(&[0; 6]);
    file.extend(directory);
    file.extend(body);
    file
}

/// A text as coverage 0..=1, row-major, and where it stands.
#[derive(Clone)]
pub struct Mask {
    pub width: usize,
    pub height: usize,
    pub coverage: Vec<f32>,
    /// Columns at which places begin, and the place each character belongs to.
    pub places: Vec<(f64, f64)>,
}

/// Height of an eight in masks [px], and room above and below.
pub const MASK_DIGIT: f64 = 72.0;
pub const MASK_ROOM: f64 = 12.0;

impl Face {
    /// `cells` side by side; a point joins the place before it as the font has it. A blank is as
    /// wide as an eight.
    pub fn mask(&self, text: &str) -> Mask {
        let probe = self.font.metrics('8', 100.0);
        let size = (100.0 * MASK_DIGIT / probe.height as f64) as f32;
        let eight = self.font.metrics('8', size);
        let baseline = MASK_ROOM + MASK_DIGIT - f64::from(eight.ymin.min(0));
        let mut pen = MASK_ROOM;
        let mut drawn: BTreeMap<usize, (fontdue::Metrics, Vec<u8>, f64)> = BTreeMap::new();
        let mut places = Vec::new();
        for (i, character) in text.chars().enumerate() {
            if character == ' ' {
                places.push((pen, pen + f64::from(eight.advance_width)));
                pen += f64::from(eight.advance_width);
                continue;
            }
            let (metrics, bitmap) = self.font.rasterize(character, size);
            places.push((pen, pen + f64::from(metrics.advance_width)));
            drawn.insert(i, (metrics, bitmap, pen));
            pen += f64::from(metrics.advance_width);
        }
        let width = (pen + MASK_ROOM).ceil() as usize;
        let height = (MASK_DIGIT + 2.0 * MASK_ROOM) as usize;
        let mut coverage = vec![0.0_f32; width * height];
        for (metrics, bitmap, at) in drawn.values() {
            let left = at.round() as i64 + i64::from(metrics.xmin);
            let top = baseline.round() as i64 - i64::from(metrics.ymin) - metrics.height as i64;
            for row in 0..metrics.height {
                for column in 0..metrics.width {
                    let (x, y) = (left + column as i64, top + row as i64);
                    if x >= 0 && y >= 0 && (x as usize) < width && (y as usize) < height {
                        let target = &mut coverage[y as usize * width + x as usize];
                        let found = f32::from(bitmap[row * metrics.width + column]) / 255.0;
                        *target = target.max(found);
                    }
                }
            }
        }
        Mask {
            width,
            height,
            coverage,
            places,
        }
    }
}

impl Mask {
    /// Coverage at mask coordinates, bilinear; nought outside.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        if x < 0.0 || y < 0.0 {
            return 0.0;
        }
        let (i, j) = (x as usize, y as usize);
        if i + 1 >= self.width || j + 1 >= self.height {
            return 0.0;
        }
        let (fx, fy) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let row = j * self.width + i;
        let top = self.coverage[row] + fx * (self.coverage[row + 1] - self.coverage[row]);
        let below = row + self.width;
        let bottom = self.coverage[below] + fx * (self.coverage[below + 1] - self.coverage[below]);
        top + fy * (bottom - top)
    }
}
