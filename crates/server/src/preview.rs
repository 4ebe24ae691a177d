//! A look into a video that is not imported yet.

use crate::problem::Problem;
use crate::uploads::Held;
use crate::wire::UploadedVideo;
use jpeg_encoder::{ColorType, Encoder};
use meltrange_labbook::BookError;
use meltrange_media::{MediaError, Opened};
use meltrange_reading::{Density, FrameRequest, FrameSource as _};
use std::ops::ControlFlow;

/// JPEG quality of 100.
const QUALITY: u8 = 85;

async fn looking_into<T: Send + 'static>(
    held: Held,
    look: impl FnOnce(Opened, &Held) -> Result<T, MediaError> + Send + 'static,
) -> Result<T, Problem> {
    let (path, name) = (held.path.clone(), held.upload.name.clone());
    tokio::task::spawn_blocking(move || look(meltrange_media::open(&held.path, 0.0)?, &held))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map_err(|error| Problem::from(BookError::Media(error)).naming(&path, &name))
}

/// What a video holds.
pub(crate) async fn video(held: Held) -> Result<UploadedVideo, Problem> {
    looking_into(held, |source, held| {
        let info = source.info();
        let px = |side: usize| side as f64 * info.source_px_per_px;
        Ok(UploadedVideo {
            upload: held.upload.clone(),
            width_px: px(info.width),
            height_px: px(info.height),
            start_s: info.start_s,
            end_s: info.end_s,
            frame_interval_s: info.frame_interval_s,
            remarks: source.remarks().iter().map(ToString::to_string).collect(),
        })
    })
    .await
}

/// The first picture at or after `time_s` [s, video clock] as a grey JPEG, else the last.
pub(crate) async fn picture(held: Held, time_s: Option<f64>) -> Result<Vec<u8>, Problem> {
    let found = looking_into(held, move |mut source, _| {
        let info = source.info();
        let from_s = time_s
            .unwrap_or(info.start_s)
            .clamp(info.start_s, info.end_s);
        let request = FrameRequest {
            from_s,
            to_s: f64::INFINITY,
            density: Density::Spaced { spacing_s: 0.0 },
        };
        let mut jpeg = Vec::new();
        source.deliver(request, &mut |frame| {
            let side = |px: usize| u16::try_from(px).unwrap_or(u16::MAX);
            let encoder = Encoder::new(&mut jpeg, QUALITY);
            let (width, height) = (side(frame.width), side(frame.height));
            if encoder
                .encode(frame.luma, width, height, ColorType::Luma)
                .is_err()
            {
                jpeg.clear();
            }
            ControlFlow::Break(())
        })?;
        Ok(jpeg)
    })
    .await?;
    if found.is_empty() {
        return Err(Problem::unknown("the video has no picture there"));
    }
    Ok(found)
}
