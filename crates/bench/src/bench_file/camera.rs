//! `[camera]`.

use crate::camera::MjpegCamera;
use meltrange_scene::Scene;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What takes the pictures.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum CameraSpec {
    /// The camera of a laptop, tablet or phone, through its browser.
    #[default]
    Browser,
    /// A network camera that sends motion JPEG over HTTP.
    Mjpeg(MjpegCameraSpec),
    /// A camera of this machine, through Video4Linux.
    V4l2(V4l2CameraSpec),
    /// Anything else that ffmpeg can open.
    Ffmpeg(FfmpegCameraSpec),
    /// Of the simulated bench.
    Simulated(Box<SimulatedCamera>),
}

/// Where a network camera is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MjpegCameraSpec {
    /// `http://[name:password@]host[:port]/path` of its motion JPEG stream.
    pub url: String,
}

/// A Video4Linux device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct V4l2CameraSpec {
    /// Its file, e.g. `/dev/video0`; those under `/dev/v4l/by-id/` stay the same when plugged in anew.
    pub device: String,
    /// The pixel format asked for; of others than `mjpeg` pictures are encoded here.
    #[serde(default = "mjpeg")]
    pub input_format: String,
    /// Columns and rows [px]; the device's own choice if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<[u32; 2]>,
    /// Pictures a second; the device's own choice if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frames_per_s: Option<f64>,
}

/// An input of ffmpeg's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FfmpegCameraSpec {
    /// What ffmpeg calls the input: a device, a file, an address.
    pub input: String,
    /// ffmpeg's name of the kind of input (`-f`), e.g. `avfoundation`, `dshow`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub format: Option<String>,
    /// Options of the input, without their dash, each with a value: `{ framerate = "5" }`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub options: BTreeMap<String, String>,
    /// What becomes of its pictures.
    #[serde(default)]
    pub pictures: PicturesAre,
}

/// Where JPEG pictures come from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PicturesAre {
    /// From the camera, untouched.
    #[default]
    AsCaptured,
    /// Made here, for cameras that have none: a little is lost.
    Encoded,
}

fn mjpeg() -> String {
    "mjpeg".into()
}

/// A value that cannot be: its key, what it is, what would do.
pub(crate) type Wrong = (&'static str, String, &'static str);

impl CameraSpec {
    /// The first value that cannot be.
    pub(crate) fn wrong(&self) -> Option<Wrong> {
        match self {
            Self::Browser | Self::Simulated(_) => None,
            Self::Mjpeg(spec) => MjpegCamera::new(spec).err().map(|why| {
                (
                    "url",
                    why,
                    "http://host/path of the camera's motion JPEG stream",
                )
            }),
            Self::V4l2(spec) => spec.wrong(),
            Self::Ffmpeg(spec) => spec.wrong(),
        }
    }
}

impl V4l2CameraSpec {
    /// The same as an input of ffmpeg's.
    pub(crate) fn input(&self) -> FfmpegCameraSpec {
        let mut options = BTreeMap::from([("input_format".to_owned(), self.input_format.clone())]);
        if let Some([width, height]) = self.size {
            options.insert("video_size".into(), format!("{width}x{height}"));
        }
        if let Some(frames_per_s) = self.frames_per_s {
            options.insert("framerate".into(), frames_per_s.to_string());
        }
        FfmpegCameraSpec {
            input: self.device.clone(),
            format: Some("v4l2".into()),
            options,
            pictures: if self.input_format == "mjpeg" {
                PicturesAre::AsCaptured
            } else {
                PicturesAre::Encoded
            },
        }
    }

    fn wrong(&self) -> Option<Wrong> {
        if let Some([width, height]) = self.size
            && !((16..=16_384).contains(&width) && (16..=16_384).contains(&height))
        {
            return Some(("size", format!("{width} × {height}"), "16 to 16384 px each"));
        }
        if let Some(found) = self.frames_per_s
            && !(0.05..=240.0).contains(&found)
        {
            return Some(("frames_per_s", found.to_string(), "0.05 to 240"));
        }
        if !is_name(&self.input_format) {
            return Some((
                "input_format",
                format!("\"{}\"", self.input_format),
                "a pixel format as ffmpeg names it",
            ));
        }
        (!self.device.starts_with('/')).then(|| {
            (
                "device",
                format!("\"{}\"", self.device),
                "the file of a device, such as /dev/video0",
            )
        })
    }
}

impl FfmpegCameraSpec {
    fn wrong(&self) -> Option<Wrong> {
        if self.input.is_empty() || self.input.starts_with('-') {
            return Some((
                "input",
                format!("\"{}\"", self.input),
                "what ffmpeg is to open",
            ));
        }
        if let Some(format) = &self.format
            && !is_name(format)
        {
            return Some((
                "format",
                format!("\"{format}\""),
                "a kind of input as ffmpeg names it",
            ));
        }
        // Each name takes a value, so that none of them can be mistaken for a file to write; `i` would
        // be another input.
        self.options
            .keys()
            .find(|name| !is_name(name) || *name == "i")
            .map(|name| {
                (
                    "options",
                    format!("\"{name}\""),
                    "names of input options without their dash",
                )
            })
    }
}

/// What ffmpeg calls formats and options.
fn is_name(text: &str) -> bool {
    !text.is_empty()
        && text
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'_' | b':' | b'-'))
        && !text.starts_with('-')
}

/// What the simulated camera sees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SimulatedCamera {
    /// Pictures a second of the bench's clock.
    pub frames_per_s: f64,
    /// Tubes, light and camera as in a scene file; fresh tubes of the kind are set in for every run.
    pub scene: Scene,
}

impl Default for SimulatedCamera {
    fn default() -> Self {
        Self {
            frames_per_s: 1.0,
            scene: Scene::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::BenchFile;
    use std::path::Path;

    fn parse(camera: &str) -> Result<BenchFile, String> {
        let text = format!(
            "name = \"North\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n[camera]\n{camera}"
        );
        BenchFile::parse(&text, Path::new("north.toml")).map_err(|error| error.to_string())
    }

    #[test]
    fn cameras_are_read_and_print_back() {
        for text in [
            "kind = \"mjpeg\"\nurl = \"http://10.0.0.9:8080/stream\"\n",
            "kind = \"v4l2\"\ndevice = \"/dev/video0\"\n",
            "kind = \"v4l2\"\ndevice = \"/dev/video0\"\nsize = [1280, 720]\nframes_per_s = 5\ninput_format = \"yuyv422\"\n",
            "kind = \"ffmpeg\"\ninput = \"0\"\nformat = \"avfoundation\"\npictures = \"encoded\"\noptions = { framerate = \"30\" }\n",
        ] {
            let file = parse(text).expect(text);
            let printed = toml::to_string(&file).expect("prints");
            let again = BenchFile::parse(&printed, Path::new("north.toml")).expect("reads back");
            assert_eq!(again, file, "{printed}");
        }
    }

    #[test]
    fn what_cannot_be_is_named() {
        for (text, parts) in [
            (
                "kind = \"mjpeg\"\nurl = \"https://a/\"\n",
                ["camera.url", "https"],
            ),
            (
                "kind = \"mjpeg\"\nurl = \"http://a/\"\ncolour = 1\n",
                ["unknown field", "colour"],
            ),
            (
                "kind = \"v4l2\"\ndevice = \"video0\"\n",
                ["camera.device", "/dev/video0"],
            ),
            (
                "kind = \"v4l2\"\ndevice = \"/dev/video0\"\nsize = [0, 5]\n",
                ["camera.size", "16 to"],
            ),
            (
                "kind = \"v4l2\"\ndevice = \"/d\"\nframes_per_s = 0\n",
                ["camera.frames_per_s is 0", "0.05"],
            ),
            (
                "kind = \"ffmpeg\"\ninput = \"-y\"\n",
                ["camera.input", "open"],
            ),
            (
                "kind = \"ffmpeg\"\ninput = \"0\"\noptions = { i = \"b\" }\n",
                ["camera.options", "\"i\""],
            ),
            (
                "kind = \"ffmpeg\"\ninput = \"0\"\nformat = \"a b\"\n",
                ["camera.format", "kind of input"],
            ),
        ] {
            let error = parse(text).expect_err(text);
            for part in parts {
                assert!(error.contains(part), "{part} not in: {error}");
            }
        }
    }
}
