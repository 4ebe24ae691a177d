//! From what a person names to a source of frames.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use meltrange_reading::{Frame, FrameRequest, FrameSource, Region, SourceInfo};

use crate::error::MediaError;
use crate::pictures::PictureSource;
use crate::remark::MediaRemark;
use crate::video::VideoSource;

/// The list of pictures in a recording folder.
const LIST: &str = "frames.csv";

/// The pictures' folder in a recording folder.
const PICTURES: &str = "frames";

/// Folder entries named in a message.
const SHOWN_ENTRIES: usize = 6;

/// A source of frames.
#[derive(Debug)]
#[non_exhaustive]
pub enum Opened {
    /// A video file.
    Video(VideoSource),
    /// Pictures with `frames.csv`.
    Pictures(PictureSource),
}

/// Open a video file, a folder of pictures with `frames.csv`, a `frames.csv`, or a recording folder.
///
/// `frames.csv` may stand in the folder named or in the one above it (`RUN/frames` with
/// `RUN/frames.csv`); its file names are relative to the folder of pictures named, else to the
/// list's own folder, else to `frames` beside the list. A recording folder holds `frames.csv` or
/// one `video.*`. `video_start_s` is the log time of video time 0 [s]; every time delivered is
/// on the log's clock.
///
/// # Errors
/// [`MediaError`] when nothing there can be read; it names what was found and what was expected.
///
/// # Example
/// ```no_run
/// use std::ops::ControlFlow;
/// use meltrange_reading::{Density, FrameRequest, FrameSource};
///
/// let mut pictures = meltrange_media::open("run/video.mp4".as_ref(), 0.0)?;
/// let info = pictures.info();
/// let request = FrameRequest {
///     from_s: info.start_s,
///     to_s: info.end_s,
///     density: Density::Spaced { spacing_s: 1.0 },
/// };
/// let mut times_s = Vec::new();
/// pictures.deliver(request, &mut |frame| {
///     times_s.push(frame.time_s);
///     ControlFlow::Continue(())
/// })?;
/// # Ok::<(), meltrange_media::MediaError>(())
/// ```
pub fn open(path: &Path, video_start_s: f64) -> Result<Opened, MediaError> {
    let kind = std::fs::metadata(path).map_err(|source| MediaError::Unreadable {
        path: path.into(),
        source,
    })?;
    if !kind.is_dir() {
        let is_list = path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
        return if is_list {
            let folder = path.parent().unwrap_or(Path::new("")).to_path_buf();
            open_pictures(
                path,
                vec![folder.clone(), folder.join(PICTURES)],
                video_start_s,
            )
        } else {
            VideoSource::open(path, video_start_s).map(Opened::Video)
        };
    }
    let inside = path.join(LIST);
    if inside.is_file() {
        let folders = vec![path.to_path_buf(), path.join(PICTURES)];
        return open_pictures(&inside, folders, video_start_s);
    }
    // `RUN/frames/..` also works for `.` and for links, where the path has no parent to name.
    let above = path
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .map_or_else(|| path.join(".."), Path::to_path_buf);
    let beside = above.join(LIST);
    if beside.is_file() {
        return open_pictures(&beside, vec![path.to_path_buf(), above], video_start_s);
    }
    VideoSource::open(&the_video(path)?, video_start_s).map(Opened::Video)
}

fn open_pictures(
    list: &Path,
    folders: Vec<PathBuf>,
    video_start_s: f64,
) -> Result<Opened, MediaError> {
    PictureSource::open(list, folders, video_start_s).map(Opened::Pictures)
}

/// The one `video.*` of a recording folder.
fn the_video(folder: &Path) -> Result<PathBuf, MediaError> {
    let unreadable = |source| MediaError::Unreadable {
        path: folder.into(),
        source,
    };
    let mut videos = Vec::new();
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        names.push(
            path.file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned(),
        );
        if path.file_stem().is_some_and(|stem| stem == "video") && path.is_file() {
            videos.push(path);
        }
    }
    videos.sort();
    names.sort();
    match videos.as_slice() {
        [video] => Ok(video.clone()),
        [] => Err(MediaError::NothingToRead {
            path: folder.into(),
            found: summary(&names),
        }),
        several => Err(MediaError::SeveralVideos {
            path: folder.into(),
            found: summary(
                &several
                    .iter()
                    .filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned()))
                    .collect::<Vec<_>>(),
            ),
        }),
    }
}

fn summary(names: &[String]) -> String {
    if names.is_empty() {
        return "nothing".into();
    }
    let shown = names[..names.len().min(SHOWN_ENTRIES)].join(", ");
    match names.len().saturating_sub(SHOWN_ENTRIES) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

impl Opened {
    /// Doubts about the pictures, from opening and from every pass so far: ask again after delivering.
    pub fn remarks(&self) -> Vec<MediaRemark> {
        match self {
            Self::Video(video) => video.remarks(),
            Self::Pictures(pictures) => pictures.remarks(),
        }
    }
}

impl FrameSource for Opened {
    type Error = MediaError;

    fn info(&self) -> SourceInfo {
        match self {
            Self::Video(video) => video.info(),
            Self::Pictures(pictures) => pictures.info(),
        }
    }

    fn set_region(&mut self, region: Option<Region>) {
        match self {
            Self::Video(video) => video.set_region(region),
            Self::Pictures(pictures) => pictures.set_region(region),
        }
    }

    fn deliver(
        &mut self,
        request: FrameRequest,
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<(), MediaError> {
        match self {
            Self::Video(video) => video.deliver(request, sink),
            Self::Pictures(pictures) => pictures.deliver(request, sink),
        }
    }
}
