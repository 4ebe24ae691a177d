//! A camera of this machine through ffmpeg as a subprocess: Video4Linux, or any other input that
//! ffmpeg has.
//!
//! ffmpeg copies the camera's JPEG pictures to one pipe and tells on the other, with its `framecrc`
//! writer, size and time of each. Tried with files as input, read at their own pace; not with a
//! camera device, of which the machines this was written on have none.

use super::device_times::DeviceTimes;
use super::teller::{LARGEST_PICTURE, NobodyListens, STALLED, Teller};
use crate::bench_file::{FfmpegCameraSpec, PicturesAre, V4l2CameraSpec};
use crate::clock::BenchClock;
use crate::device::{Camera, CameraNews};
use async_trait::async_trait;
use std::process::Stdio;
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, BufReader};
use tokio::process::{Child, ChildStderr, ChildStdout, Command};
use tokio::sync::mpsc::Sender;
use tokio::time::timeout;

/// A camera of this machine.
#[derive(Debug, Clone)]
pub struct FfmpegCamera {
    spec: FfmpegCameraSpec,
}

impl From<&FfmpegCameraSpec> for FfmpegCamera {
    fn from(spec: &FfmpegCameraSpec) -> Self {
        Self { spec: spec.clone() }
    }
}

impl From<&V4l2CameraSpec> for FfmpegCamera {
    fn from(spec: &V4l2CameraSpec) -> Self {
        Self { spec: spec.input() }
    }
}

/// What ffmpeg told of one picture.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Told {
    bytes: usize,
    device_s: Option<f64>,
}

/// Reads the lines of `framecrc`, and keeps what ffmpeg complains of among them.
#[derive(Debug, Default)]
struct Listener {
    /// Seconds of a unit of time, once told.
    unit_s: Option<f64>,
    complaint: String,
}

impl Listener {
    /// Take in a line; what it tells of a picture.
    fn hear(&mut self, line: &str) -> Option<Told> {
        let line = line.trim();
        if let Some(base) = line.strip_prefix("#tb 0:") {
            let ratio = base.trim().split_once('/');
            self.unit_s = ratio.and_then(|(num, den)| {
                let (num, den): (f64, f64) = (num.parse().ok()?, den.parse().ok()?);
                (num > 0.0 && den > 0.0).then_some(num / den)
            });
            return None;
        }
        // stream, dts, pts, duration, size, checksum
        let mut cells = line.split(',').map(str::trim);
        let told = (|| {
            let stream: u32 = cells.next()?.parse().ok()?;
            let pts = cells.nth(1)?;
            let bytes = cells.nth(1)?.parse().ok()?;
            cells.next()?.strip_prefix("0x")?;
            let pts: Option<i64> = pts.parse().ok().filter(|pts| *pts != i64::MIN);
            let device_s = pts
                .zip(self.unit_s)
                .map(|(pts, unit_s)| pts as f64 * unit_s);
            (stream == 0).then_some(Told { bytes, device_s })
        })();
        if told.is_none() && !line.is_empty() && !line.starts_with('#') {
            line.clone_into(&mut self.complaint);
        }
        told
    }
}

impl FfmpegCamera {
    fn command(&self) -> Command {
        let mut command = Command::new("ffmpeg");
        command.args(["-nostdin", "-nostats", "-hide_banner", "-loglevel", "error"]);
        // Times as the driver gives them, not counted from the first picture.
        command.arg("-copyts");
        if let Some(format) = &self.spec.format {
            command.args(["-f", format]);
        }
        for (name, value) in &self.spec.options {
            command.arg(format!("-{name}")).arg(value);
        }
        command.arg("-i").arg(&self.spec.input);
        let codec: &[&str] = match self.spec.pictures {
            PicturesAre::AsCaptured => &["-c:v", "copy"],
            // All of them, each with its own time.
            PicturesAre::Encoded => &[
                "-c:v",
                "mjpeg",
                "-q:v",
                "2",
                "-pix_fmt",
                "yuvj420p",
                "-fps_mode",
                "passthrough",
                "-enc_time_base",
                "-1",
            ],
        };
        for (format, pipe) in [("mjpeg", "pipe:1"), ("framecrc", "pipe:2")] {
            command
                .args(["-map", "0:v:0", "-an", "-sn", "-dn"])
                .args(codec)
                .args(["-flush_packets", "1", "-f", format, pipe]);
        }
        command
            .env("AV_LOG_FORCE_NOCOLOR", "1")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .kill_on_drop(true);
        command
    }

    /// Show pictures until there are no more; why.
    async fn show_once(&self, teller: &mut Teller) -> Result<String, NobodyListens> {
        let mut child = match self.command().spawn() {
            Ok(child) => child,
            Err(error) => {
                return Ok(format!(
                    "ffmpeg cannot be started: {error}; install ffmpeg 5.1 or later"
                ));
            }
        };
        let stdout = child.stdout.take().expect("stdout was asked for as a pipe");
        let stderr = child.stderr.take().expect("stderr was asked for as a pipe");
        let mut listener = Listener::default();
        let shown = self.read(stdout, stderr, &mut listener, teller).await;
        end(&mut child).await;
        let why = shown?;
        Ok(match listener.complaint.as_str() {
            "" => why,
            complaint => format!("{why}: {complaint}"),
        })
    }

    async fn read(
        &self,
        mut stdout: ChildStdout,
        stderr: ChildStderr,
        listener: &mut Listener,
        teller: &mut Teller,
    ) -> Result<String, NobodyListens> {
        let mut lines = BufReader::new(stderr).split(b'\n');
        let mut times = DeviceTimes::default();
        loop {
            let next = async {
                loop {
                    match lines.next_segment().await {
                        Ok(Some(line)) => {
                            if let Some(told) = listener.hear(&String::from_utf8_lossy(&line)) {
                                return Ok(told);
                            }
                        }
                        Ok(None) => return Err("ffmpeg ended".to_owned()),
                        Err(error) => return Err(format!("ffmpeg cannot be heard: {error}")),
                    }
                }
            };
            let picture = async {
                let told = next.await?;
                if told.bytes > LARGEST_PICTURE {
                    return Err(format!("a picture of {} bytes", told.bytes));
                }
                let mut jpeg = vec![0; told.bytes];
                match stdout.read_exact(&mut jpeg).await {
                    Ok(_) => Ok((told, jpeg)),
                    Err(error) => Err(format!("a picture was cut off: {error}")),
                }
            };
            let (told, jpeg) = tokio::select! {
                picture = timeout(STALLED, picture) => match picture {
                    Ok(Ok(picture)) => picture,
                    Ok(Err(why)) => return Ok(why),
                    Err(_) => return Ok(format!("no picture for {} s", STALLED.as_secs())),
                },
                () = teller.closed() => return Err(NobodyListens),
            };
            if !jpeg.starts_with(&[0xFF, 0xD8]) {
                return Ok("the input gives no JPEG pictures; choose its motion JPEG format, or set pictures = \"encoded\"".into());
            }
            let (time_s, doubt) = times.time_s(told.device_s, teller.now_s());
            if let Some(what) = doubt {
                teller.doubt("times", what).await?;
            }
            teller.picture(time_s, jpeg).await?;
        }
    }
}

/// Stop ffmpeg and wait for it, so that the device is free when it is opened anew.
async fn end(child: &mut Child) {
    // Both fail only when it has ended already.
    let _ = child.start_kill();
    let _ = child.wait().await;
}

#[async_trait]
impl Camera for FfmpegCamera {
    async fn show(self: Box<Self>, clock: BenchClock, to: Sender<CameraNews>) {
        let mut teller = Teller::new(clock, to);
        loop {
            let Ok(why) = self.show_once(&mut teller).await else {
                return;
            };
            tracing::debug!(camera = self.spec.input, why, "no pictures");
            if teller.lost(why).await.is_err() || teller.pause().await.is_err() {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_tell_sizes_and_times() {
        let mut listener = Listener::default();
        assert_eq!(listener.hear("#software: Lavf59"), None);
        assert_eq!(listener.hear("#tb 0: 1/1000000"), None);
        assert_eq!(
            listener.hear("0, 5000000,   5000000,    40000,    12345, 0x1234abcd"),
            Some(Told {
                bytes: 12345,
                device_s: Some(5.0)
            })
        );
        assert_eq!(listener.complaint, "");
        let complaint =
            "[video4linux2 @ 0x55] Cannot open video device /dev/video9: No such file or directory";
        assert_eq!(listener.hear(complaint), None);
        assert_eq!(listener.complaint, complaint);
        assert_eq!(
            listener.hear("0, 1, NOPTS, 1, 7, 0x1"),
            Some(Told {
                bytes: 7,
                device_s: None
            })
        );
    }

    #[test]
    fn a_video4linux_device_is_opened_as_asked() {
        let spec = V4l2CameraSpec {
            device: "/dev/video2".into(),
            input_format: "mjpeg".into(),
            size: Some([1280, 720]),
            frames_per_s: Some(5.0),
        };
        let command = FfmpegCamera::from(&spec).command();
        let arguments: Vec<String> = command
            .as_std()
            .get_args()
            .map(|a| a.to_string_lossy().into_owned())
            .collect();
        let text = arguments.join(" ");
        assert!(
            text.contains(
                "-f v4l2 -framerate 5 -input_format mjpeg -video_size 1280x720 -i /dev/video2 "
            ),
            "{text}"
        );
        assert!(text.contains("-c:v copy"), "{text}");
    }
}
