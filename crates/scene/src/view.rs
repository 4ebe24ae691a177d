//! What the camera sees of the bench at one moment.

use meltrange_physics::MeltingError;

use crate::backdrop::backdrop;
use crate::camera::{Camera, Warp, blur, blur_reach_px};
use crate::camera_spec::OcclusionKind;
use crate::canvas::{Canvas, MAP_MARGIN_PX};
use crate::course::{BlockCourse, Horizon};
use crate::spec::Scene;
use crate::tube::{Tube, glaze};
use crate::tube_spec::Content;

/// One picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Columns, even.
    pub width: usize,
    /// Rows, even.
    pub height: usize,
    /// `height × width`, row-major, 0..=255 (full range).
    pub luma: Vec<u8>,
    /// Blue and red difference (BT.601, full range, 128 neutral), each `height/2 × width/2`; `None` for grey.
    pub chroma: Option<[Vec<u8>; 2]>,
}

impl Picture {
    /// `height × width × 3` red, green, blue, 0..=255.
    pub fn rgb(&self) -> Vec<u8> {
        let mut rgb = Vec::with_capacity(self.luma.len() * 3);
        for (at, &luma) in self.luma.iter().enumerate() {
            let (x, y) = (at % self.width, at / self.width);
            let (cb, cr) = self.chroma.as_ref().map_or((0.0, 0.0), |[blue, red]| {
                let at = (y / 2) * (self.width / 2) + x / 2;
                (f32::from(blue[at]) - 128.0, f32::from(red[at]) - 128.0)
            });
            let luma = f32::from(luma);
            for value in [
                luma + 1.402 * cr,
                luma - 0.344_136 * cb - 0.714_136 * cr,
                luma + 1.772 * cb,
            ] {
                rgb.push((value + 0.5).clamp(0.0, 255.0) as u8);
            }
        }
        rgb
    }
}

/// Bench and camera of a scene: draws any moment as far as the tubes' timelines go.
#[derive(Debug)]
pub(crate) struct View {
    pub(crate) scene: Scene,
    pub(crate) tubes: Vec<Option<Tube>>,
    /// Log time at which slow changes of the camera are complete \[s\].
    end_s: f64,
    camera: Camera,
    /// Backdrop and empty glass, before and after the lens.
    still: Vec<f32>,
    still_blurred: Vec<f32>,
    lamp_chroma: [f32; 2],
}

/// Where a tube's own picture ends, in bores; outside stands what stands there anyway (a neighbour's glass).
const GLASS_PER_BORE: f32 = 1.05;

/// Buffers reused from picture to picture.
#[derive(Debug, Default)]
pub(crate) struct Workspace {
    pub(crate) canvas: Canvas,
    levels: Vec<f32>,
    solid: Vec<f32>,
    scratch: Vec<f32>,
    steady: Vec<f32>,
    displaced: Vec<f32>,
    chroma: [Vec<f32>; 2],
}

impl View {
    /// Set up a scene on a block.
    ///
    /// # Errors
    /// [`MeltingError`] when a melting law or a thermal contact is out of range.
    pub(crate) fn new(
        scene: Scene,
        block: &dyn BlockCourse,
        horizon: Horizon,
    ) -> Result<Self, MeltingError> {
        let bare = backdrop(&scene.picture, scene.seed);
        let mut tubes = Vec::with_capacity(scene.tubes.len());
        for (index, spec) in scene.tubes.iter().enumerate() {
            tubes.push(match spec.content {
                Content::Absent => None,
                Content::Powder | Content::Empty => {
                    Some(Tube::new(&scene, index, (block, horizon), &bare)?)
                }
            });
        }
        let mut still = bare;
        glaze(&scene, &mut still);
        let mut still_blurred = still.clone();
        blur(
            &mut still_blurred,
            scene.picture.width,
            scene.camera.blur_px,
            &mut Vec::new(),
        );
        let end_s = horizon.end_s();
        Ok(Self {
            camera: Camera::new(&scene, end_s),
            lamp_chroma: chroma_of(scene.picture.lamp_tint),
            scene,
            tubes,
            end_s,
            still,
            still_blurred,
        })
    }

    /// Draw what is seen at a log time as the picture of a number, with the gain of the automatic exposure.
    pub(crate) fn draw(
        &self,
        (index, time_s): (usize, f64),
        auto_gain: f64,
        work: &mut Workspace,
    ) -> Picture {
        let (width, height) = (self.scene.picture.width, self.scene.picture.height);
        self.assemble(time_s, work);
        let warp = self.camera.warp(time_s, self.end_s);
        work.displaced.resize(width * height, 0.0);
        self.camera
            .displace(&work.steady, &mut work.displaced, &warp);
        blur(
            &mut work.displaced,
            width,
            self.camera.defocus_px(time_s),
            &mut work.scratch,
        );
        let mut gain =
            self.camera.gain(time_s, self.end_s) * auto_gain * self.camera.flicker(index);
        if let Some((occlusion, part)) = self.camera.occlusion(time_s) {
            self.camera.cover(&mut work.displaced, occlusion, part);
            if matches!(occlusion.kind, OcclusionKind::Black | OcclusionKind::Blown) {
                gain = 1.0;
            }
        }
        let mut luma = Vec::new();
        self.camera
            .expose(&work.displaced, gain, (index, time_s), &mut luma);
        let chroma = self
            .scene
            .picture
            .colour
            .then(|| self.colour(&luma, work, &warp, time_s));
        Picture {
            width,
            height,
            luma,
            chroma,
        }
    }

    /// Put the tubes as they are now into the steady picture, seen through the lens.
    fn assemble(&self, time_s: f64, work: &mut Workspace) {
        let width = self.scene.picture.width;
        let blur_px = self.scene.camera.blur_px;
        let spill = blur_reach_px(blur_px);
        // A narrow blur stays within the map of a tube, and the rest is blurred once for all.
        let tube_by_tube = spill <= MAP_MARGIN_PX;
        work.steady.clear();
        work.steady.extend_from_slice(if tube_by_tube {
            &self.still_blurred
        } else {
            &self.still
        });
        for (plane, lamp) in work.chroma.iter_mut().zip(self.lamp_chroma) {
            plane.clear();
            plane.resize(self.still.len() / 4, lamp);
        }
        for tube in self.tubes.iter().flatten() {
            tube.compose(&mut work.canvas, time_s, &mut work.levels, &mut work.solid);
            if tube_by_tube {
                self.stamp_blurred(tube, spill, work);
            } else {
                stamp_sharp(tube, width, work);
            }
            if self.scene.picture.colour {
                self.tint(tube, time_s, &work.solid, &mut work.chroma);
            }
        }
        if !tube_by_tube {
            blur(&mut work.steady, width, blur_px, &mut work.scratch);
        }
    }

    /// Put one tube, as composed, into the steady picture through a lens that spills at most `spill`
    /// pixels.
    fn stamp_blurred(&self, tube: &Tube, spill: usize, work: &mut Workspace) {
        let width = self.scene.picture.width;
        let region = tube.map.region;
        let reach = tube.stand.bore_radius_px as f32 * GLASS_PER_BORE;
        for row in 0..region.height {
            let from = (region.y0 + row) * width + region.x0;
            for column in 0..region.width {
                let at = row * region.width + column;
                if tube.map.u[at].abs() > reach {
                    work.levels[at] = self.still[from + column];
                }
            }
        }
        blur(
            &mut work.levels,
            region.width,
            self.scene.camera.blur_px,
            &mut work.scratch,
        );
        let columns = spill..region.width.saturating_sub(spill).max(spill);
        for row in spill..region.height.saturating_sub(spill) {
            let from = row * region.width;
            let to = (region.y0 + row) * width + region.x0;
            work.steady[to + columns.start..to + columns.end]
                .copy_from_slice(&work.levels[from + columns.start..from + columns.end]);
        }
    }

    /// Colour of the solid, at half resolution.
    fn tint(&self, tube: &Tube, time_s: f64, solid: &[f32], chroma: &mut [Vec<f32>; 2]) {
        let charred = tube.timeline.charred(time_s);
        let lamp = self.scene.picture.lamp_tint;
        let browned = [1.0, 1.0 - 0.3 * charred, 1.0 - 0.6 * charred];
        let rgb = std::array::from_fn(|at| lamp[at] * tube.spec.tint[at] * browned[at]);
        let own = chroma_of(rgb);
        let region = tube.map.region;
        let half = self.scene.picture.width / 2;
        for row in (region.y0 % 2..region.height).step_by(2) {
            for column in (region.x0 % 2..region.width).step_by(2) {
                let at = row * region.width + column;
                let cover = solid[at] * tube.map.bore[at];
                let to = (region.y0 + row) / 2 * half + (region.x0 + column) / 2;
                for plane in 0..2 {
                    let lamp = self.lamp_chroma[plane];
                    if cover > 0.0 {
                        chroma[plane][to] = lamp + (own[plane] - lamp) * cover;
                    }
                }
            }
        }
    }

    fn colour(&self, luma: &[u8], work: &Workspace, warp: &Warp, time_s: f64) -> [Vec<u8>; 2] {
        let (width, height) = (self.scene.picture.width, self.scene.picture.height);
        let (half_width, half_height) = (width / 2, height / 2);
        let shift = self.camera.white_shift(time_s) as f32;
        let mut planes = [Vec::new(), Vec::new()];
        for plane in &mut planes {
            plane.reserve(half_width * half_height);
        }
        for y in 0..half_height {
            for x in 0..half_width {
                let (sx, sy) = warp.source(2.0 * x as f64, 2.0 * y as f64);
                let sx = ((sx * 0.5 + 0.5).max(0.0) as usize).min(half_width - 1);
                let sy = ((sy * 0.5 + 0.5).max(0.0) as usize).min(half_height - 1);
                let from = sy * half_width + sx;
                let bright = f32::from(luma[2 * y * width + 2 * x]);
                let values = [
                    bright * (work.chroma[0][from] - shift),
                    bright * (work.chroma[1][from] + shift),
                ];
                for (plane, value) in planes.iter_mut().zip(values) {
                    plane.push((value + 128.5).clamp(0.0, 255.0) as u8);
                }
            }
        }
        planes
    }

    /// Mean level that the automatic exposure goes by, its own gain left out.
    pub(crate) fn mean_level(&self, canvas: &mut Canvas, time_s: f64) -> f64 {
        let surround = self
            .still
            .iter()
            .step_by(97)
            .map(|&level| f64::from(level))
            .sum::<f64>()
            / (self.still.len() as f64 / 97.0);
        let tubes: Vec<f64> = self
            .tubes
            .iter()
            .flatten()
            .map(|tube| tube.measure(canvas, time_s).mean_level)
            .collect();
        let middle = if tubes.is_empty() {
            surround
        } else {
            tubes.iter().sum::<f64>() / tubes.len() as f64
        };
        let mean = self.camera.gain(time_s, self.end_s) * (0.4 * surround + 0.6 * middle);
        match self
            .camera
            .occlusion(time_s)
            .map(|(occlusion, _)| occlusion.kind)
        {
            Some(OcclusionKind::Hand | OcclusionKind::Shadow) => 0.7 * mean,
            Some(OcclusionKind::Black | OcclusionKind::Blown) | None => mean,
        }
    }
}

/// Put one tube, as composed, into the steady picture before the lens.
fn stamp_sharp(tube: &Tube, width: usize, work: &mut Workspace) {
    let region = tube.map.region;
    let reach = tube.stand.bore_radius_px as f32 * GLASS_PER_BORE;
    for row in 0..region.height {
        let to = (region.y0 + row) * width + region.x0;
        for column in 0..region.width {
            let at = row * region.width + column;
            if tube.map.u[at].abs() <= reach {
                work.steady[to + column] = work.levels[at];
            }
        }
    }
}

/// Blue and red difference per unit of luma of a colour (BT.601).
fn chroma_of([red, green, blue]: [f64; 3]) -> [f32; 2] {
    let luma = (0.299 * red + 0.587 * green + 0.114 * blue).max(1e-6);
    [
        (0.564 * (blue / luma - 1.0)) as f32,
        (0.713 * (red / luma - 1.0)) as f32,
    ]
}
