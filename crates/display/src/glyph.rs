//! What a line says before it is a number.

/// One decided digit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Glyph {
    pub digit: char,
}

/// A decided line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Glyphs {
    pub digits: Vec<Glyph>,
    /// Place that the point follows, from 0.
    pub point_after: Option<usize>,
    pub minus: bool,
    /// Least margin of any decision, 0..=1.
    pub margin: f32,
}

impl Glyphs {
    /// As shown: `-12.5`.
    pub fn text(&self) -> String {
        let mut text = String::new();
        if self.minus {
            text.push('-');
        }
        for (i, glyph) in self.digits.iter().enumerate() {
            text.push(glyph.digit);
            if self.point_after == Some(i) {
                text.push('.');
            }
        }
        text
    }
}
