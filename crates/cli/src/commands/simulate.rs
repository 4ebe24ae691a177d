//! `simulate`: a scene file to a recording with known truth.

use std::path::{Path, PathBuf};

use meltrange_media::encode::{
    EncodeError, FilmFormat, PlanarPicture, RecordingWriter, VideoFormat,
};
use meltrange_physics::MeltingError;
use meltrange_scene::{Container, Film, Scene, SceneError, log_csv, media_name};

/// Why a scene did not become a recording.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SimulateError {
    /// The scene file could not be read.
    #[error("{path} could not be read")]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The scene file says something that cannot be.
    #[error("{path}, {source}")]
    Scene {
        /// Which file.
        path: PathBuf,
        /// Where and what.
        source: SceneError,
    },
    /// The scene's physics is out of range.
    #[error("{path}: {source}")]
    Physics {
        /// Which file.
        path: PathBuf,
        /// What.
        source: MeltingError,
    },
    /// The recording could not be written.
    #[error(transparent)]
    Encode(#[from] EncodeError),
    /// The truth has no place in JSON.
    #[error("the truth of {path} could not be written as JSON")]
    Truth {
        /// Which scene.
        path: PathBuf,
        /// Why.
        #[source]
        source: serde_json::Error,
    },
}

/// What was made.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulateSummary {
    /// Pictures with their path in the new folder.
    pub media: PathBuf,
    /// The temperature log.
    pub log: PathBuf,
    /// Log time of video time 0 \[s\].
    pub video_start_s: f64,
    /// How many pictures.
    pub frames: usize,
    /// Length of the video \[s\].
    pub duration_s: f64,
    /// Outcome of each place as known.
    pub outcomes: Vec<&'static str>,
}

/// Render the scene file at `scene_path` into the new folder `out_dir`.
///
/// `progress` is told the number of pictures done and their total.
///
/// # Errors
/// [`SimulateError`]; `out_dir` is then as it was before.
pub fn run(
    scene_path: &Path,
    out_dir: &Path,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<SimulateSummary, SimulateError> {
    let path = || scene_path.to_owned();
    let text = std::fs::read_to_string(scene_path).map_err(|source| SimulateError::Unreadable {
        path: path(),
        source,
    })?;
    let scene = Scene::from_toml(&text).map_err(|source| SimulateError::Scene {
        path: path(),
        source,
    })?;
    let quantum_c = scene.log.quantum_c;
    let format = film_format(&scene);
    let media = media_name(scene.output.container);
    let film = Film::new(scene).map_err(|source| SimulateError::Physics {
        path: path(),
        source,
    })?;
    let mut writer = RecordingWriter::create(out_dir, media, format)?;
    let total = film.times_s().len();
    film.play(&mut |index, picture| {
        let chroma = picture
            .chroma
            .as_ref()
            .map(|[blue, red]| [&blue[..], &red[..]]);
        writer.picture(
            film.times_s()[index],
            PlanarPicture {
                luma: &picture.luma,
                chroma,
            },
        )?;
        progress(index + 1, total);
        Ok::<(), EncodeError>(())
    })?;
    let truth = film.truth();
    let unwritable = |source| SimulateError::Truth {
        path: path(),
        source,
    };
    let truth_json = serde_json::to_vec_pretty(&truth).map_err(unwritable)?;
    let manifest = serde_json::json!({ "video_start_s": truth.video_start_s }).to_string();
    let log = log_csv(&film.log(), quantum_c);
    writer.finish(&[
        ("temperature.csv", log.as_bytes()),
        ("truth.json", &truth_json),
        ("recording.json", manifest.as_bytes()),
        ("scene.toml", text.as_bytes()),
    ])?;
    Ok(SimulateSummary {
        media: out_dir.join(media),
        log: out_dir.join("temperature.csv"),
        video_start_s: truth.video_start_s,
        frames: truth.n_frames,
        duration_s: truth.duration_s,
        outcomes: truth.tubes.iter().map(|tube| tube.outcome).collect(),
    })
}

fn film_format(scene: &Scene) -> FilmFormat {
    FilmFormat {
        width: scene.picture.width,
        height: scene.picture.height,
        colour: scene.picture.colour,
        video: match scene.output.container {
            Container::Mp4 => VideoFormat::Mp4H264,
            Container::Mp4Hevc => VideoFormat::Mp4Hevc,
            Container::Mkv => VideoFormat::MkvH264,
            Container::Avi => VideoFormat::AviMjpeg,
            Container::Webm => VideoFormat::WebmVp9,
            Container::Frames => VideoFormat::JpegFolder,
        },
        frames_per_s: scene.timing.frames_per_s,
        quality: scene.output.quality,
        key_frame_every: scene.output.key_frame_every,
    }
}
