//! The pictures on the page: embedded once, shown whole and close up with the tubes framed.

use super::Picture;
use crate::svg::escaped;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use meltrange_reading::{TubeFrame, TubeReading};

/// A close-up shows the column and this many tube widths on either side.
const CLOSE_UP_MARGIN: f64 = 1.2;

/// Pictures of the page, each embedded once and shown where needed.
#[derive(Default)]
pub(super) struct PictureStore {
    jpegs: Vec<Vec<u8>>,
}

impl PictureStore {
    /// Keep a picture and say under which id it can be shown; equal pictures share one.
    pub(super) fn add(&mut self, picture: &Picture) -> String {
        let place = self
            .jpegs
            .iter()
            .position(|jpeg| *jpeg == picture.jpeg)
            .unwrap_or_else(|| {
                self.jpegs.push(picture.jpeg.clone());
                self.jpegs.len() - 1
            });
        format!("picture-{place}")
    }

    /// Symbols of unit size: whoever shows one gives it the size of the view.
    pub(super) fn markup(&self) -> String {
        self.jpegs
            .iter()
            .enumerate()
            .map(|(place, jpeg)| {
                format!(
                    "<symbol id=\"picture-{place}\" viewBox=\"0 0 1 1\" preserveAspectRatio=\"none\">\
                     <image width=\"1\" height=\"1\" preserveAspectRatio=\"none\" \
                     href=\"data:image/jpeg;base64,{}\"/></symbol>\n",
                    BASE64.encode(jpeg)
                )
            })
            .collect()
    }
}

/// The view through the camera, in source pixels.
pub(super) struct View<'a> {
    /// Columns of the source.
    pub(super) width_px: f64,
    /// Rows of the source.
    pub(super) height_px: f64,
    /// The tubes that stand in it.
    pub(super) tubes: &'a [TubeReading],
}

impl View<'_> {
    /// The whole picture with the tubes framed; `only` leaves all but one out.
    pub(super) fn whole(&self, picture_id: &str, only: Option<usize>, words: &str) -> String {
        let stroke_px = self.width_px / 320.0;
        let letter_px = self.height_px / 18.0;
        let frames: String = self
            .tubes
            .iter()
            .filter(|tube| only.is_none_or(|number| tube.tube == number))
            .map(|tube| {
                let number = format!(
                    "<text class=\"tube\" x=\"{:.1}\" y=\"{:.1}\" font-size=\"{letter_px:.1}\" stroke-width=\"{:.1}\">{}</text>",
                    tube.frame.left_px.max(0.0),
                    (tube.frame.column_top_px - 0.4 * letter_px).max(letter_px),
                    letter_px / 5.0,
                    tube.tube
                );
                framed(&tube.frame, stroke_px) + &number
            })
            .collect();
        let label = match only {
            Some(number) => format!("The whole view {words}, tube {number} framed."),
            None => format!(
                "The whole view at the {words} of the recording, tubes framed and numbered."
            ),
        };
        self.shown(
            picture_id,
            (0.0, 0.0, self.width_px, self.height_px),
            &frames,
            &label,
        )
    }

    /// The column of one tube and a little around it.
    pub(super) fn close_up(&self, picture_id: &str, tube: &TubeReading, words: &str) -> String {
        let frame = &tube.frame;
        let margin_px = CLOSE_UP_MARGIN * (frame.right_px - frame.left_px).abs().max(4.0);
        let left_px = (frame.left_px - margin_px).max(0.0);
        let top_px = (frame.column_top_px - margin_px).max(0.0);
        let width_px = ((frame.right_px + margin_px).min(self.width_px) - left_px).max(1.0);
        let height_px = ((frame.bottom_px + margin_px).min(self.height_px) - top_px).max(1.0);
        let label = format!("Tube {}, close up, {words}.", tube.tube);
        self.shown(
            picture_id,
            (left_px, top_px, width_px, height_px),
            &framed(frame, width_px / 160.0),
            &label,
        )
    }

    fn shown(
        &self,
        picture_id: &str,
        (left_px, top_px, width_px, height_px): (f64, f64, f64, f64),
        frames: &str,
        label: &str,
    ) -> String {
        format!(
            "<svg class=\"shot\" viewBox=\"{left_px:.1} {top_px:.1} {width_px:.1} {height_px:.1}\" role=\"img\" aria-label=\"{}\">\
             <use href=\"#{picture_id}\" width=\"{:.1}\" height=\"{:.1}\"/>{frames}</svg>",
            escaped(label),
            self.width_px,
            self.height_px
        )
    }
}

/// A frame around the column, light on dark so that it shows on any picture.
fn framed(frame: &TubeFrame, stroke_px: f64) -> String {
    ["under", "over"]
        .into_iter()
        .map(|class| {
            let width_px = if class == "under" {
                2.2 * stroke_px
            } else {
                stroke_px
            };
            format!(
                "<rect class=\"frame {class}\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" stroke-width=\"{width_px:.2}\"/>",
                frame.left_px,
                frame.column_top_px,
                (frame.right_px - frame.left_px).max(0.0),
                (frame.bottom_px - frame.column_top_px).max(0.0),
            )
        })
        .collect()
}
