//! Pictures with times into one video file, or a folder of JPEG pictures.

use std::io::Write as _;
use std::path::Path;

use super::ffmpeg::Ffmpeg;
use super::{EncodeError, matroska};

/// Container and codec.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VideoFormat {
    /// H.264 in MP4.
    Mp4H264,
    /// HEVC in MP4.
    Mp4Hevc,
    /// H.264 in Matroska.
    MkvH264,
    /// MJPEG in AVI: a steady rate only, times given to `write` are not kept.
    AviMjpeg,
    /// VP9 in WebM.
    WebmVp9,
    /// A folder of JPEG pictures with `frames.csv` (`file,time_s`).
    JpegFolder,
}

/// What the pictures are and how they are kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmFormat {
    /// Columns, even.
    pub width: usize,
    /// Rows, even.
    pub height: usize,
    /// Whether pictures come with chroma planes.
    pub colour: bool,
    /// Container and codec.
    pub video: VideoFormat,
    /// Mean rate, > 0; AVI plays at exactly this rate.
    pub frames_per_s: f64,
    /// 0 coarsest to 1 finest.
    pub quality: f64,
    /// Most pictures between two that decode on their own.
    pub key_frame_every: u32,
}

/// One picture in planes, full range.
#[derive(Debug, Clone, Copy)]
pub struct PlanarPicture<'a> {
    /// `height × width`, row-major.
    pub luma: &'a [u8],
    /// Blue and red difference, each `height/2 × width/2`; ignored for grey.
    pub chroma: Option<[&'a [u8]; 2]>,
}

/// A video under way. Dropped before [`VideoWriter::finish`], the encoder is stopped and what it
/// wrote is of no use.
#[derive(Debug)]
pub struct VideoWriter {
    encoder: Ffmpeg,
    format: FilmFormat,
    times_ms: Vec<u64>,
    neutral: Vec<u8>,
}

impl VideoWriter {
    /// Start writing `path` (a file, or a folder that is made for [`VideoFormat::JpegFolder`]).
    ///
    /// # Errors
    /// [`EncodeError::FfmpegMissing`] without ffmpeg; [`EncodeError::Unwritable`] for the folder.
    pub fn create(path: &Path, format: FilmFormat) -> Result<Self, EncodeError> {
        Self::create_with(Path::new("ffmpeg"), path, format)
    }

    /// As [`VideoWriter::create`], with the encoder program named.
    ///
    /// # Errors
    /// As [`VideoWriter::create`].
    pub fn create_with(
        program: &Path,
        path: &Path,
        format: FilmFormat,
    ) -> Result<Self, EncodeError> {
        if format.video == VideoFormat::JpegFolder {
            std::fs::create_dir_all(path).map_err(|source| EncodeError::Unwritable {
                path: path.to_owned(),
                source,
            })?;
        }
        let mut writer = Self {
            encoder: Ffmpeg::start(program, path, arguments(path, format))?,
            format,
            times_ms: Vec::new(),
            neutral: vec![128; format.width * format.height / 4],
        };
        if format.video != VideoFormat::AviMjpeg {
            writer.encoder.pipe(|input| {
                matroska::write_head(
                    input,
                    (format.width, format.height),
                    matroska::Stored::Planes(b"I420"),
                )
            })?;
        }
        Ok(writer)
    }

    /// Write the next picture at its video time \[s\], kept to the millisecond.
    ///
    /// # Errors
    /// [`EncodeError`] when the picture does not fit, its time does not rise, or the encoder stopped.
    pub fn write(&mut self, time_s: f64, picture: PlanarPicture<'_>) -> Result<(), EncodeError> {
        let (width, height) = (self.format.width, self.format.height);
        let index = self.times_ms.len();
        let wrong = |found, expected| EncodeError::PictureSize {
            index,
            found,
            expected,
            width,
            height,
        };
        if picture.luma.len() != width * height {
            return Err(wrong(picture.luma.len(), width * height));
        }
        let chroma = picture.chroma.filter(|_| self.format.colour);
        for plane in chroma.iter().flatten() {
            if plane.len() != width * height / 4 {
                return Err(wrong(plane.len(), width * height / 4));
            }
        }
        let time_ms = (time_s * 1000.0).round().max(0.0) as u64;
        if let Some(&before) = self.times_ms.last()
            && time_ms <= before
        {
            let before_s = before as f64 / 1000.0;
            return Err(EncodeError::NotRising {
                index,
                found_s: time_s,
                before_s,
            });
        }
        self.times_ms.push(time_ms);
        let neutral = std::mem::take(&mut self.neutral);
        let [blue, red] = chroma.unwrap_or([&neutral, &neutral]);
        let planes = [picture.luma, blue, red];
        let steady = self.format.video == VideoFormat::AviMjpeg;
        let written = self.encoder.pipe(|input| {
            if steady {
                planes.iter().try_for_each(|plane| input.write_all(plane))
            } else {
                matroska::write_picture(input, time_ms, &planes)
            }
        });
        self.neutral = neutral;
        written
    }

    /// Wait for the encoder; for a folder, write `frames.csv` beside it.
    ///
    /// # Errors
    /// [`EncodeError`] when the encoder failed or nothing was written.
    pub fn finish(mut self) -> Result<(), EncodeError> {
        self.encoder.pipe(|input| input.flush())?;
        let path = self.encoder.path().to_owned();
        let ended = self.encoder.end();
        if self.times_ms.is_empty() {
            return Err(EncodeError::NoPictures { path });
        }
        ended?;
        if self.format.video == VideoFormat::JpegFolder {
            let list = path.with_file_name("frames.csv");
            std::fs::write(&list, frame_list(&self.times_ms))
                .map_err(|source| EncodeError::Unwritable { path: list, source })?;
        }
        Ok(())
    }
}

fn frame_list(times_ms: &[u64]) -> String {
    let mut text = String::from("file,time_s\n");
    for (index, time_ms) in times_ms.iter().enumerate() {
        let line = format!(
            "frame_{index:05}.jpg,{}.{:03}\n",
            time_ms / 1000,
            time_ms % 1000
        );
        text.push_str(&line);
    }
    text
}

/// Arguments for ffmpeg: read raw pictures from the pipe, write `path`.
fn arguments(path: &Path, format: FilmFormat) -> Vec<std::ffi::OsString> {
    let quality = format.quality.clamp(0.0, 1.0);
    let between = |coarse: f64, fine: f64| format!("{:.0}", coarse + (fine - coarse) * quality);
    let size = format!("{}x{}", format.width, format.height);
    let rate = format!("{}", format.frames_per_s);
    let key = format.key_frame_every.to_string();
    let mut list: Vec<&str> = vec!["-nostdin", "-hide_banner", "-v", "error", "-y"];
    match format.video {
        VideoFormat::AviMjpeg => list.extend([
            "-f",
            "rawvideo",
            "-pixel_format",
            "yuv420p",
            "-video_size",
            &size,
            "-framerate",
            &rate,
        ]),
        _ => list.extend(["-f", "matroska"]),
    }
    list.extend(["-i", "pipe:0", "-map", "0:v:0"]);
    // Jpeg keeps the full range of the samples, video the limited one.
    let jpeg = matches!(
        format.video,
        VideoFormat::AviMjpeg | VideoFormat::JpegFolder
    );
    let filter = if jpeg {
        "scale=in_range=full:out_range=full"
    } else {
        "scale=in_range=full:out_range=limited"
    };
    list.extend([
        "-vf",
        filter,
        "-pix_fmt",
        if jpeg { "yuvj420p" } else { "yuv420p" },
    ]);
    if format.video != VideoFormat::AviMjpeg {
        list.extend(["-fps_mode", "passthrough", "-enc_time_base", "1:1000"]);
    }
    let crf = match format.video {
        VideoFormat::WebmVp9 => between(50.0, 18.0),
        _ => between(38.0, 18.0),
    };
    let scale = between(14.0, 2.0);
    match format.video {
        VideoFormat::Mp4H264 | VideoFormat::MkvH264 => {
            list.extend([
                "-c:v", "libx264", "-preset", "veryfast", "-crf", &crf, "-g", &key,
            ]);
        }
        VideoFormat::Mp4Hevc => {
            list.extend([
                "-c:v",
                "libx265",
                "-preset",
                "ultrafast",
                "-crf",
                &crf,
                "-g",
                &key,
            ]);
            list.extend(["-tag:v", "hvc1", "-x265-params", "log-level=error"]);
        }
        VideoFormat::WebmVp9 => {
            list.extend(["-c:v", "libvpx-vp9", "-b:v", "0", "-crf", &crf, "-g", &key]);
            list.extend(["-deadline", "realtime", "-cpu-used", "8", "-row-mt", "1"]);
        }
        VideoFormat::AviMjpeg | VideoFormat::JpegFolder => {
            list.extend(["-c:v", "mjpeg", "-q:v", &scale]);
        }
    }
    match format.video {
        VideoFormat::Mp4H264 | VideoFormat::Mp4Hevc => {
            list.extend(["-video_track_timescale", "90000", "-f", "mp4"]);
        }
        VideoFormat::MkvH264 => list.extend(["-f", "matroska"]),
        VideoFormat::AviMjpeg => list.extend(["-f", "avi"]),
        VideoFormat::WebmVp9 => list.extend(["-f", "webm"]),
        VideoFormat::JpegFolder => list.extend(["-f", "image2", "-start_number", "0"]),
    }
    let mut list: Vec<std::ffi::OsString> = list.into_iter().map(Into::into).collect();
    // A leading "file:" keeps names with a colon from being taken for a protocol.
    let mut target = std::ffi::OsString::from("file:");
    match format.video {
        VideoFormat::JpegFolder => target.push(path.join("frame_%05d.jpg")),
        _ => target.push(path),
    }
    list.push(target);
    list
}
