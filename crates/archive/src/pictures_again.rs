//! Pictures to look through, which archives leave out because they are made from the video.

use meltrange_labbook::{Book, Recording, RecordingId, RecordingSource};
use std::ops::ControlFlow;

/// Make the pictures of those recordings that are imported videos; which of them have none because their video cannot
/// be decoded here. `progress` hears the part done, 0..=1.
pub(crate) async fn pictures_again(
    book: &Book,
    recordings: impl IntoIterator<Item = (&RecordingId, &Recording)>,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Vec<RecordingId> {
    let videos = recordings.into_iter().filter_map(|(&id, recording)| {
        matches!(recording.source, RecordingSource::Video { .. }).then_some(id)
    });
    let videos: Vec<RecordingId> = videos.collect();
    let mut without = Vec::new();
    for (at, &id) in videos.iter().enumerate() {
        // They count for nothing but looking: the recording is whole without them.
        let made = book.make_pictures(id, |_| ControlFlow::Continue(())).await;
        if made.is_err() {
            without.push(id);
        }
        progress((at + 1) as f64 / videos.len() as f64);
    }
    without
}
