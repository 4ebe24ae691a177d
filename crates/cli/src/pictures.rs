//! The pictures for the evidence page, fetched a second time around the moments.

use jpeg_encoder::{ColorType, Encoder, EncodingError};
use meltrange_reading::{
    Density, Frame, FrameRequest, FrameSource, Moment, Reading, SourceInfo, TubeReading,
};
use meltrange_report::{MomentPictures, Picture, TubePictures};
use std::ops::ControlFlow;

/// JPEG quality of 100: grains stay grains, and a page stays below a few megabytes.
const JPEG_QUALITY: u8 = 88;

/// Pictures further from their moment than this no longer show it [s].
const MOST_APART_S: f64 = 15.0;

/// How far to look beyond the wanted time, in frame intervals and at least [s].
const LOOK_AROUND_INTERVALS: f64 = 4.0;
const LOOK_AROUND_S: f64 = 2.0;

/// Pictures of a whole reading.
#[derive(Debug, Default)]
pub(crate) struct ReadingPictures {
    /// The first view.
    pub at_start: Option<Picture>,
    /// The last view.
    pub at_end: Option<Picture>,
    /// Tube by tube.
    pub tubes: Vec<TubePictures>,
}

/// Why a picture could not be had.
#[derive(Debug, thiserror::Error)]
pub(crate) enum PictureError<E: std::error::Error + 'static> {
    /// The source failed.
    #[error(transparent)]
    Source(E),
    /// The picture could not be encoded.
    #[error("the picture at {time_s:.2} s could not be encoded as JPEG")]
    Encoding {
        /// Its time [s], log clock.
        time_s: f64,
        /// What the encoder said.
        #[source]
        source: EncodingError,
    },
}

/// Fetch the pictures for the evidence of a reading; `progress` hears the part done, 0..1.
pub(crate) fn fetch<S>(
    source: &mut S,
    reading: &Reading,
    progress: &mut dyn FnMut(f64),
) -> Result<ReadingPictures, PictureError<S::Error>>
where
    S: FrameSource,
    S::Error: std::error::Error + 'static,
{
    source.set_region(None);
    let info = source.info();
    let around_s = (LOOK_AROUND_INTERVALS * info.frame_interval_s).max(LOOK_AROUND_S);
    let steps = 2.0 + 2.0 * reading.tubes.len() as f64;
    let mut done = 0.0;
    let mut step = || {
        done += 1.0;
        progress(done / steps);
    };
    // A damaged file may end before the time it states; the curves know how far the pictures went.
    let end_s = reading
        .tubes
        .iter()
        .filter_map(|tube| tube.curve.last())
        .map(|point| point.time_s)
        .reduce(f64::max)
        .unwrap_or(info.end_s);
    let at_start = at_or_after(source, info.start_s, info.start_s + around_s)?;
    step();
    let at_end = at_or_before(source, end_s - around_s, end_s)?;
    step();
    let mut tubes = Vec::new();
    for tube in &reading.tubes {
        let mut moments = [&tube.first_liquid, &tube.last_crystal].map(|moment| (moment, None));
        for (moment, pictures) in &mut moments {
            if let Some(moment) = moment {
                let apart_s = apart_s(moment, tube, &info);
                *pictures = Some(around(source, moment.time_s, apart_s, around_s)?);
            }
            step();
        }
        let [(_, first_liquid), (_, last_crystal)] = moments;
        tubes.push(TubePictures {
            first_liquid: first_liquid.unwrap_or_default(),
            last_crystal: last_crystal.unwrap_or_default(),
        });
    }
    Ok(ReadingPictures {
        at_start,
        at_end,
        tubes,
    })
}

/// How far before and after a moment its pictures are taken [s]: by the moment's standard
/// uncertainty, so that the two pictures bracket what is claimed; at least half a frame.
fn apart_s(moment: &Moment, tube: &TubeReading, info: &SourceInfo) -> f64 {
    let least_s = (0.5 * info.frame_interval_s).min(MOST_APART_S);
    match tube.heating_rate_c_per_min {
        Some(rate_c_per_min) if rate_c_per_min > 0.0 => {
            (moment.standard_uncertainty_c / rate_c_per_min * 60.0).clamp(least_s, MOST_APART_S)
        }
        _ => least_s,
    }
}

fn around<S>(
    source: &mut S,
    time_s: f64,
    apart_s: f64,
    around_s: f64,
) -> Result<MomentPictures, PictureError<S::Error>>
where
    S: FrameSource,
    S::Error: std::error::Error + 'static,
{
    Ok(MomentPictures {
        before: at_or_before(source, time_s - apart_s - around_s, time_s - apart_s)?,
        after: at_or_after(source, time_s + apart_s, time_s + apart_s + around_s)?,
    })
}

fn at_or_after<S>(
    source: &mut S,
    from_s: f64,
    to_s: f64,
) -> Result<Option<Picture>, PictureError<S::Error>>
where
    S: FrameSource,
    S::Error: std::error::Error + 'static,
{
    let mut kept = Kept::default();
    source
        .deliver(every_frame(from_s, to_s), &mut |frame| {
            kept.take(frame);
            ControlFlow::Break(())
        })
        .map_err(PictureError::Source)?;
    kept.encoded()
}

fn at_or_before<S>(
    source: &mut S,
    from_s: f64,
    to_s: f64,
) -> Result<Option<Picture>, PictureError<S::Error>>
where
    S: FrameSource,
    S::Error: std::error::Error + 'static,
{
    let mut kept = Kept::default();
    source
        .deliver(every_frame(from_s, to_s), &mut |frame| {
            kept.take(frame);
            ControlFlow::Continue(())
        })
        .map_err(PictureError::Source)?;
    kept.encoded()
}

fn every_frame(from_s: f64, to_s: f64) -> FrameRequest {
    FrameRequest {
        from_s,
        to_s,
        density: Density::Spaced { spacing_s: 0.0 },
    }
}

/// The last frame taken.
#[derive(Default)]
struct Kept {
    time_s: f64,
    width: usize,
    height: usize,
    luma: Vec<u8>,
}

impl Kept {
    fn take(&mut self, frame: Frame<'_>) {
        self.time_s = frame.time_s;
        self.width = frame.width;
        self.height = frame.height;
        self.luma.clear();
        self.luma.extend_from_slice(frame.luma);
    }

    fn encoded<E: std::error::Error>(&self) -> Result<Option<Picture>, PictureError<E>> {
        if self.luma.is_empty() {
            return Ok(None);
        }
        let jpeg = grey_jpeg(&self.luma, self.width, self.height).map_err(|source| {
            PictureError::Encoding {
                time_s: self.time_s,
                source,
            }
        })?;
        Ok(Some(Picture {
            jpeg,
            time_s: self.time_s,
        }))
    }
}

/// `height × width` luma, row-major, as a grey JPEG.
pub(crate) fn grey_jpeg(
    luma: &[u8],
    width: usize,
    height: usize,
) -> Result<Vec<u8>, EncodingError> {
    let mut jpeg = Vec::new();
    // Sizes beyond 65535 do not fit the format; the encoder then finds too few bytes and says so.
    let side = |px: usize| u16::try_from(px).unwrap_or(u16::MAX);
    Encoder::new(&mut jpeg, JPEG_QUALITY).encode(
        luma,
        side(width),
        side(height),
        ColorType::Luma,
    )?;
    Ok(jpeg)
}
