//! Stands in until the engine is there.
use meltrange_physics::TemperatureLog;
use meltrange_reading::{FrameSource, Reading};

pub(crate) struct ReadOptions {
    pub tubes: Option<usize>,
}

#[derive(Debug, thiserror::Error)]
pub(crate) enum ReadError<E: std::error::Error + 'static> {
    #[error("the pictures could not be read")]
    Source(#[source] E),
    #[error("no tubes were found: {seen}")]
    NoTubes {
        seen: String,
        luma: Vec<u8>,
        width: usize,
        height: usize,
        time_s: f64,
    },
}

pub(crate) fn read_recording<S: FrameSource>(
    source: &mut S,
    _log: &TemperatureLog,
    options: &ReadOptions,
    progress: &mut dyn FnMut(f64),
) -> Result<Reading, ReadError<S::Error>>
where
    S::Error: std::error::Error + 'static,
{
    progress(0.0);
    let info = source.info();
    Err(ReadError::NoTubes {
        seen: format!("the engine is not there yet ({:?} tubes)", options.tubes),
        luma: vec![0; info.width * info.height],
        width: info.width,
        height: info.height,
        time_s: info.start_s,
    })
}
