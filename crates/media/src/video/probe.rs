//! What a video file says of itself, as ffprobe reports it.

use std::ffi::OsString;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Command, Stdio};

use serde::Deserialize;

use super::luma::LumaKind;
use super::turn::Turn;
use crate::error::MediaError;

/// Packets looked at to learn frame spacing and key frames: some seconds of a phone video.
const PACKETS_PROBED: usize = 300;

/// Codecs whose decoder passes over all but key frames when asked to; tried with ffmpeg 5.1, where
/// those of VP9 and AV1 decode every picture all the same.
const SKIPPING_DECODERS: [&str; 6] = ["h264", "hevc", "vp8", "mpeg4", "mpeg2video", "mpeg1video"];

/// A rational number of seconds per time-stamp unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct TimeBase {
    pub num: i64,
    pub den: i64,
}

impl TimeBase {
    /// Parse `1/11008`; `None` when it is not a ratio of positive numbers.
    pub fn parse(text: &str) -> Option<Self> {
        let (num, den) = text.split_once('/')?;
        let (num, den) = (num.trim().parse().ok()?, den.trim().parse().ok()?);
        (num > 0 && den > 0).then_some(Self { num, den })
    }

    /// Seconds of a time stamp; the product is formed before the division, so equal stamps give
    /// equal seconds and ffprobe's own decimal print is matched to its last digit.
    pub fn seconds(self, pts: i64) -> f64 {
        (i128::from(pts) * i128::from(self.num)) as f64 / self.den as f64
    }
}

/// What is known of a video before decoding; times in seconds of the container's clock.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct VideoFacts {
    pub stream_index: u32,
    /// After rotation.
    pub width: usize,
    pub height: usize,
    pub turn: Turn,
    pub luma: LumaKind,
    pub time_base: TimeBase,
    /// What counts as video time 0 on the container's clock.
    pub zero_s: f64,
    pub start_s: f64,
    pub end_s: f64,
    /// Whether `end_s` is stated for this very track (not for the longest one, nor found by search).
    pub end_is_stated: bool,
    pub frame_interval_s: f64,
    pub cheap_key_frames: bool,
}

#[derive(Debug, Deserialize)]
struct Answer {
    #[serde(default)]
    packets: Vec<Packet>,
    #[serde(default)]
    streams: Vec<Stream>,
    format: Option<Format>,
}

#[derive(Debug, Deserialize)]
struct Packet {
    stream_index: Option<u32>,
    pts: Option<i64>,
    dts: Option<i64>,
    #[serde(default)]
    flags: String,
}

#[derive(Debug, Deserialize)]
struct Stream {
    index: u32,
    #[serde(default)]
    codec_name: String,
    #[serde(default)]
    codec_type: String,
    #[serde(default)]
    pix_fmt: String,
    #[serde(default)]
    color_range: String,
    width: Option<usize>,
    height: Option<usize>,
    time_base: Option<String>,
    start_pts: Option<i64>,
    duration_ts: Option<i64>,
    nb_frames: Option<String>,
    avg_frame_rate: Option<String>,
    #[serde(default)]
    disposition: Disposition,
    #[serde(default)]
    side_data_list: Vec<SideData>,
    #[serde(default)]
    tags: Tags,
}

#[derive(Debug, Default, Deserialize)]
struct Disposition {
    #[serde(default)]
    attached_pic: i32,
}

#[derive(Debug, Deserialize)]
struct SideData {
    rotation: Option<f64>,
    displaymatrix: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
struct Tags {
    #[serde(rename = "DURATION")]
    duration: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Format {
    #[serde(default)]
    format_name: String,
    nb_streams: Option<usize>,
    start_time: Option<String>,
    duration: Option<String>,
}

/// The path as an argument that ffmpeg cannot mistake for an option or another protocol.
pub(super) fn file_argument(path: &Path) -> OsString {
    let mut argument = OsString::from("file:");
    argument.push(path);
    argument
}

/// Ask ffprobe about `path`.
///
/// # Errors
/// [`MediaError`] when ffprobe is missing, the file is no video or holds no picture.
pub(super) fn probe(path: &Path) -> Result<VideoFacts, MediaError> {
    // Opening it here gives the system's own words for a missing or forbidden file.
    std::fs::File::open(path).map_err(|source| MediaError::Unreadable {
        path: path.into(),
        source,
    })?;
    let output = ffprobe()
        .args(["-read_intervals", &format!("%+#{PACKETS_PROBED}")])
        .args(["-of", "json", "-show_entries", ENTRIES])
        .arg(file_argument(path))
        .output()
        .map_err(|source| starting("ffprobe", source))?;
    let complaint = String::from_utf8_lossy(&output.stderr);
    if !output.status.success() {
        return Err(refusal(path, &complaint));
    }
    let answer: Answer =
        serde_json::from_slice(&output.stdout).map_err(|_| MediaError::ProbeAnswer {
            path: path.into(),
            found: String::from_utf8_lossy(&output.stdout)
                .chars()
                .take(120)
                .collect(),
        })?;
    facts(path, &answer)
}

const ENTRIES: &str = "stream=index,codec_name,codec_type,pix_fmt,color_range,width,height,time_base,start_pts,duration_ts,nb_frames,avg_frame_rate\
:stream_disposition=attached_pic:stream_side_data=rotation,displaymatrix:stream_tags=DURATION\
:format=format_name,nb_streams,start_time,duration:packet=stream_index,pts,dts,flags";

/// What holds its pictures itself, by the names of ffmpeg's demuxers: everything that video comes in. Play lists, lists of files and
/// manifests, which name further files, are none of them.
macro_rules! formats {
    () => {
        "mov,matroska,avi,mpegts,mpeg,mpegvideo,asf,flv,live_flv,ogg,gif,apng,h264,hevc,h263,m4v,av1,obu,ivf,mjpeg,smjpeg,dv,mxf,nut,yuv4mpegpipe,rm,nsv,wtv,vc1,vc1test,cavsvideo,dirac,dxa,roq,swf"
    };
}
pub(super) const FORMATS: &str = formats!();

/// Those, and what is only looked at to be refused in words that help.
const FORMATS_LOOKED_AT: &str = concat!(
    formats!(),
    ",image2,jpeg_pipe,png_pipe,bmp_pipe,tiff_pipe,webp_pipe,tty,mp3,wav,flac,aac"
);

fn ffprobe() -> Command {
    let mut command = Command::new("ffprobe");
    command
        .args(["-hide_banner", "-loglevel", "error"])
        // A play list posing as a video must not make the decoder fetch anything, or read any other file.
        .args(["-protocol_whitelist", "file"])
        .args(["-format_whitelist", FORMATS_LOOKED_AT])
        .env("AV_LOG_FORCE_NOCOLOR", "1")
        .stdin(Stdio::null());
    command
}

pub(super) fn starting(program: &'static str, source: std::io::Error) -> MediaError {
    if source.kind() == std::io::ErrorKind::NotFound {
        MediaError::DecoderMissing { program }
    } else {
        MediaError::DecoderStart { program, source }
    }
}

/// Turn ffprobe's refusal into the most helpful error.
fn refusal(path: &Path, complaint: &str) -> MediaError {
    if complaint.contains("moov atom not found") && begins_as_mp4(path) {
        return MediaError::IndexMissing { path: path.into() };
    }
    let said = complaint
        .lines()
        .next_back()
        .and_then(|line| line.rsplit_once(": "))
        .map_or("ffprobe gave no reason", |(_, reason)| reason);
    MediaError::NotAVideo {
        path: path.into(),
        said: said.to_owned(),
    }
}

fn begins_as_mp4(path: &Path) -> bool {
    let mut head = [0_u8; 12];
    std::fs::File::open(path).is_ok_and(|mut file| file.read_exact(&mut head).is_ok())
        && matches!(&head[4..8], b"ftyp" | b"mdat" | b"wide" | b"free" | b"skip")
}

fn facts(path: &Path, answer: &Answer) -> Result<VideoFacts, MediaError> {
    let format_name = answer
        .format
        .as_ref()
        .map_or("", |format| format.format_name.as_str());
    // ffprobe takes any *.txt for character art, and a lone picture for a video of one frame.
    if format_name == "tty" || format_name == "image2" || format_name.ends_with("_pipe") {
        return Err(MediaError::NotAVideo {
            path: path.into(),
            said: if format_name == "tty" {
                "it is a text file".into()
            } else {
                "it is a single picture".into()
            },
        });
    }
    let stream = answer
        .streams
        .iter()
        .find(|stream| stream.codec_type == "video" && stream.disposition.attached_pic == 0)
        .ok_or_else(|| no_track(path, answer))?;
    let (Some(width), Some(height), Some(time_base)) = (
        stream.width.filter(|&width| width > 0),
        stream.height.filter(|&height| height > 0),
        stream.time_base.as_deref().and_then(TimeBase::parse),
    ) else {
        return Err(MediaError::NoPictures { path: path.into() });
    };
    let packets: Vec<&Packet> = answer
        .packets
        .iter()
        .filter(|packet| packet.stream_index == Some(stream.index))
        .collect();
    if packets.is_empty() {
        return Err(MediaError::NoPictures { path: path.into() });
    }
    let side = stream
        .side_data_list
        .iter()
        .find(|side| side.rotation.is_some());
    let turn = side.map_or(Turn::None, |side| {
        Turn::of(
            side.rotation.unwrap_or(0.0),
            side.displaymatrix.as_deref().unwrap_or(""),
        )
    });
    let (width, height) = turn.size_after(width, height);
    let times = Times::of(path, answer, stream, time_base, &packets)?;
    let keys = packets
        .iter()
        .filter(|packet| packet.flags.contains('K'))
        .count();
    Ok(VideoFacts {
        stream_index: stream.index,
        width,
        height,
        turn,
        luma: LumaKind::of(&stream.pix_fmt, &stream.color_range),
        time_base,
        zero_s: times.zero_s,
        start_s: times.start_s,
        end_s: times.end_s,
        end_is_stated: times.end_is_stated,
        frame_interval_s: times.frame_interval_s,
        cheap_key_frames: SKIPPING_DECODERS.contains(&stream.codec_name.as_str())
            && keys * 3 <= packets.len(),
    })
}

fn no_track(path: &Path, answer: &Answer) -> MediaError {
    let found: Vec<String> = answer
        .streams
        .iter()
        .map(|stream| format!("{} {}", stream.codec_type, stream.codec_name))
        .collect();
    MediaError::NoVideoTrack {
        path: path.into(),
        found: if found.is_empty() {
            "no track at all".into()
        } else {
            found.join(", ")
        },
    }
}

struct Times {
    zero_s: f64,
    start_s: f64,
    end_s: f64,
    end_is_stated: bool,
    frame_interval_s: f64,
}

impl Times {
    fn of(
        path: &Path,
        answer: &Answer,
        stream: &Stream,
        time_base: TimeBase,
        packets: &[&Packet],
    ) -> Result<Self, MediaError> {
        let format = answer.format.as_ref();
        let format_name = format.map_or("", |format| format.format_name.as_str());
        let seconds = |text: Option<&str>| text.and_then(|text| text.parse::<f64>().ok());
        let format_start_s = seconds(format.and_then(|format| format.start_time.as_deref()));
        let mut stamps: Vec<i64> = packets
            .iter()
            .filter_map(|packet| packet.pts.or(packet.dts))
            .collect();
        stamps.sort_unstable();
        let start_pts = stream
            .start_pts
            .or_else(|| stamps.first().copied())
            .unwrap_or(0);
        let start_s = time_base.seconds(start_pts);
        let frame_interval_s = median_step(&stamps, time_base)
            .or_else(|| {
                let rate = stream.avg_frame_rate.as_deref().and_then(TimeBase::parse)?;
                Some(rate.den as f64 / rate.num as f64)
            })
            .unwrap_or(1.0);
        let only_track = format.and_then(|format| format.nb_streams) == Some(1);
        // Matroska states the end on its own clock, the others the length.
        let matroska = format_name.contains("matroska");
        let origin_s = if matroska { 0.0 } else { start_s };
        // Of an AVI that lost its index ffprobe reports the length of what is left; its header
        // still counts the frames, which are all of one length.
        let counted = stream
            .nb_frames
            .as_deref()
            .and_then(|count| count.parse::<i64>().ok())
            .filter(|_| format_name == "avi");
        let stated = counted
            .or(stream.duration_ts)
            .filter(|&duration| duration > 0)
            .map(|duration| (time_base.seconds(start_pts + duration), true))
            .or_else(|| {
                let end_s = clock_seconds(stream.tags.duration.as_deref()?)?;
                (end_s > 0.0).then_some((end_s, true))
            })
            .or_else(|| {
                let duration_s = seconds(format.and_then(|format| format.duration.as_deref()))?;
                (duration_s > 0.0).then_some((origin_s + duration_s, only_track))
            });
        let (end_s, end_is_stated) = match stated {
            Some((end_s, own)) => ((end_s - frame_interval_s).max(start_s), own),
            None => (
                last_packet_s(path, stream.index, time_base)?.unwrap_or(start_s),
                false,
            ),
        };
        Ok(Self {
            // The clocks of transport and program streams start anywhere.
            zero_s: if matches!(format_name, "mpegts" | "mpeg") {
                format_start_s.unwrap_or(start_s)
            } else {
                0.0
            },
            start_s,
            end_s,
            end_is_stated,
            frame_interval_s,
        })
    }
}

fn median_step(stamps: &[i64], time_base: TimeBase) -> Option<f64> {
    let mut steps: Vec<i64> = stamps
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|&step| step > 0)
        .collect();
    steps.sort_unstable();
    Some(time_base.seconds(*steps.get(steps.len() / 2)?))
}

/// Seconds of `00:07:21.860465000`, as Matroska tags state a track's end.
fn clock_seconds(text: &str) -> Option<f64> {
    let mut parts = text.trim().split(':');
    let hours: f64 = parts.next()?.parse().ok()?;
    let minutes: f64 = parts.next()?.parse().ok()?;
    let seconds: f64 = parts.next()?.parse().ok()?;
    let total = hours * 3600.0 + minutes * 60.0 + seconds;
    (parts.next().is_none() && total.is_finite()).then_some(total)
}

/// Time of the last packet, by running through the file without decoding: for containers that
/// state no end (a browser's webm, a raw stream). Memory does not grow with the file.
fn last_packet_s(
    path: &Path,
    stream_index: u32,
    time_base: TimeBase,
) -> Result<Option<f64>, MediaError> {
    let mut child = ffprobe()
        .args(["-select_streams", &stream_index.to_string()])
        .args(["-of", "csv=p=0", "-show_entries", "packet=pts,dts"])
        .arg(file_argument(path))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|source| starting("ffprobe", source))?;
    let mut last: Option<i64> = None;
    if let Some(stdout) = child.stdout.take() {
        for line in BufReader::new(stdout).lines().map_while(Result::ok) {
            let stamp = line.split(',').find_map(|cell| cell.parse::<i64>().ok());
            last = last.max(stamp);
        }
    }
    // Its exit status adds nothing: a damaged tail is reported by the decoding pass.
    let _ = child.wait();
    Ok(last.map(|pts| time_base.seconds(pts)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_base_keeps_exact_products() {
        let base = TimeBase::parse("1/11008").expect("a ratio");
        assert_eq!(base.seconds(11_008), 1.0);
        assert_eq!(TimeBase::parse("0/1"), None);
        assert_eq!(TimeBase::parse("1000"), None);
        // AVI at 1.163 frames/s: 299 frames after the first.
        let avi = TimeBase::parse("1000/1163").expect("a ratio");
        assert!((avi.seconds(299) - 257.093_723_1).abs() < 1e-6);
    }

    #[test]
    fn matroska_clock_text() {
        assert_eq!(clock_seconds("00:07:21.500000000"), Some(441.5));
        assert_eq!(clock_seconds("7:21"), None);
        assert_eq!(clock_seconds(""), None);
    }
}
