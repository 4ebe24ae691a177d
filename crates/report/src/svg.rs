//! The few SVG elements that the charts need. Colours come from the page's style sheet by class.

use std::fmt::Write as _;

/// Where a text sits relative to its point.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Anchor {
    /// It begins there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// An SVG drawing under construction.
pub(crate) struct Drawing {
    body: String,
    width_px: f64,
    height_px: f64,
}

impl Drawing {
    /// An empty drawing of the given size.
    pub fn new(width_px: f64, height_px: f64) -> Self {
        Self {
            body: String::new(),
            width_px,
            height_px,
        }
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        // Writing to a String cannot fail, here and below.
        let _ = write!(
            self.body,
            r#"<line class="{class}" x1="{:.1}" y1="{:.1}" x2="{:.1}" y2="{:.1}"/>"#,
            from.0, from.1, to.0, to.1
        );
    }

    /// A rectangle between two corners in any order.
    pub fn rectangle(&mut self, class: &str, corner: (f64, f64), opposite: (f64, f64)) {
        let _ = write!(
            self.body,
            r#"<rect class="{class}" x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}"/>"#,
            corner.0.min(opposite.0),
            corner.1.min(opposite.1),
            (corner.0 - opposite.0).abs(),
            (corner.1 - opposite.1).abs()
        );
    }

    /// A circle.
    pub fn circle(&mut self, class: &str, centre: (f64, f64), radius_px: f64) {
        let _ = write!(
            self.body,
            r#"<circle class="{class}" cx="{:.1}" cy="{:.1}" r="{radius_px:.1}"/>"#,
            centre.0, centre.1
        );
    }

    /// A text; the words are escaped here.
    pub fn text(&mut self, class: &str, at: (f64, f64), anchor: Anchor, words: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let _ = write!(
            self.body,
            r#"<text class="{class}" x="{:.1}" y="{:.1}" text-anchor="{anchor}">{}</text>"#,
            at.0,
            at.1,
            escaped(words)
        );
    }

    /// A line through points, cut off outside the rectangle between two corners.
    pub fn clipped_path(
        &mut self,
        class: &str,
        id: &str,
        corners: ((f64, f64), (f64, f64)),
        points: impl IntoIterator<Item = (f64, f64)>,
    ) {
        let _ = write!(self.body, r#"<clipPath id="{id}">"#);
        self.rectangle("", corners.0, corners.1);
        let _ = write!(
            self.body,
            r#"</clipPath><path class="{class}" clip-path="url(#{id})" d=""#
        );
        for (index, (x_px, y_px)) in points.into_iter().enumerate() {
            let command = if index == 0 { 'M' } else { 'L' };
            let _ = write!(self.body, "{command}{x_px:.1} {y_px:.1}");
        }
        self.body.push_str(r#""/>"#);
    }

    /// The finished drawing; `label` says in a sentence what it shows.
    pub fn finish(self, label: &str) -> String {
        format!(
            r#"<svg class="chart" viewBox="0 0 {:.0} {:.0}" role="img" aria-label="{}">{}</svg>"#,
            self.width_px,
            self.height_px,
            escaped(label),
            self.body
        )
    }

    /// The finished drawing as a file of its own, with the style that its classes need; every rule of the
    /// style begins with `class`, so that it can also stand inside a page.
    pub fn stand_alone(self, class: &str, style: &str, label: &str) -> String {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="{class}" viewBox="0 0 {width:.0} {height:.0}" width="{width:.0}" height="{height:.0}" role="img" aria-label="{}"><style>{style}</style>{}</svg>"#,
            escaped(label),
            self.body,
            width = self.width_px,
            height = self.height_px,
        )
    }
}

/// Text that is safe inside SVG and HTML, in content and in quoted attributes.
pub(crate) fn escaped(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for letter in words.chars() {
        match letter {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            '"' => text.push_str("&quot;"),
            '\'' => text.push_str("&#39;"),
            other => text.push(other),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_cannot_leave_their_element() {
        let mut drawing = Drawing::new(10.0, 10.0);
        drawing.text("", (0.0, 0.0), Anchor::Start, "<script>");
        let text = drawing.finish("a \"label\"");
        assert!(text.contains("&lt;script&gt;"), "{text}");
        assert!(text.contains("a &quot;label&quot;"), "{text}");
    }
}
