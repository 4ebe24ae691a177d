//! One tube of the scene: its content at any time, drawn and measured.

use std::sync::Mutex;

use meltrange_physics::MeltingError;

use crate::backdrop::{Filling, Glass, OUTER_PER_BORE};
use crate::bed::{Bed, BedMotion, Loose};
use crate::canvas::{Canvas, LocalMap, Look, Stand};
use crate::course::{BlockCourse, Horizon};
use crate::grains::{Grain, pack};
use crate::overlay::{Overlay, OverlaySwells, specks};
use crate::spec::{Light, PictureSpec, Scene};
use crate::timeline::{Timeline, points_beyond};
use crate::trouble::Swell;
use crate::tube_spec::{Content, Onset, TubeSpec};

/// Solid in a line of sight counts as gone when it stops less than about a fifth of the light.
const CLEAR_BELOW: (f32, f32) = (0.12, 0.3);

/// What is seen of a column, in pixels, before lens and sensor.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Visible {
    pub(crate) liquid_px: f64,
    pub(crate) solid_px: f64,
    pub(crate) column_px: f64,
    /// Mean light of the region \[grey levels\].
    pub(crate) mean_level: f64,
}

/// One tube, ready to be drawn at any time.
#[derive(Debug)]
pub(crate) struct Tube {
    pub(crate) spec: TubeSpec,
    pub(crate) stand: Stand,
    pub(crate) map: LocalMap,
    pub(crate) motion: BedMotion,
    pub(crate) timeline: Timeline,
    pub(crate) overlay_swells: OverlaySwells,
    pub(crate) wetting: Option<Swell>,
    pub(crate) glistening: Option<Swell>,
    picture: PictureSpec,
    grains: Vec<Grain>,
    loose: Vec<Option<Loose>>,
    specks: Vec<Grain>,
    overlay: Overlay,
    behind: Vec<f32>,
    /// Gain on and gleam added to what is behind, for a bore with air and with liquid.
    glass: [Vec<[f32; 2]>; 2],
    /// The last drawing of the content at rest, without and with footprints: most of a scene is
    /// waiting, and the same powder need not be drawn again.
    drawn: Mutex<[Option<Rest>; 2]>,
}

/// A state of rest (bed and wetness) and its drawing.
type Rest = ((Bed, f64), Canvas);

impl Tube {
    /// Set up the tube at `index` of the scene in front of `backdrop`.
    ///
    /// # Errors
    /// [`MeltingError`] when the melting law or the thermal contact is out of range.
    pub(crate) fn new(
        scene: &Scene,
        index: usize,
        (block, horizon): (&dyn BlockCourse, Horizon),
        backdrop: &[f32],
    ) -> Result<Self, MeltingError> {
        let spec = scene.tubes[index].clone();
        let picture = scene.picture.clone();
        let stand = stand(scene, index);
        let bore = stand.bore_radius_px;
        let column_px = spec.column_height_mm * 2.0 * bore;
        let swell = |onset: Option<Onset>| onset.map(|onset| Swell::new(onset, &spec));
        let overlay_swells = OverlaySwells {
            condensation: swell(spec.condensation),
            sublimate: swell(spec.sublimate),
            bubbles: swell(spec.bubbles),
        };
        let (wetting, glistening) = (swell(spec.wetting), swell(spec.glistening));
        let above = if spec.condensation.or(spec.sublimate).is_some() {
            6.0
        } else {
            3.0
        };
        let size = (picture.width, picture.height);
        let map = LocalMap::new(&stand, column_px + above * bore, size);
        let timeline = Timeline::new(&spec, block, horizon)?;
        let motion = BedMotion::new(&spec, (scene.seed, index), bore);
        let grains = match spec.content {
            Content::Powder => pack(&spec, scene.seed, index, bore, column_px),
            Content::Empty | Content::Absent => Vec::new(),
        };
        let loose = vec![None; grains.len()];
        let specks = match spec.content {
            Content::Absent => Vec::new(),
            Content::Powder | Content::Empty => {
                let range = (column_px + 0.5 * bore, column_px + 2.7 * bore);
                specks(&spec, scene.seed, index, bore, range)
            }
        };
        let region = map.region;
        let glass_model = Glass::new(&picture, scene.seed, index);
        let mut behind = Vec::with_capacity(region.width * region.height);
        let mut glass = [Vec::new(), Vec::new()];
        for row in 0..region.height {
            for column in 0..region.width {
                let at = row * region.width + column;
                behind.push(backdrop[(region.y0 + row) * picture.width + region.x0 + column]);
                let (u, v) = (f64::from(map.u[at]), f64::from(map.v[at]));
                for (values, filling) in glass.iter_mut().zip([Filling::Air, Filling::Liquid]) {
                    let gleam = glass_model.level(&stand, u, v, 0.0, filling);
                    let gain = glass_model.level(&stand, u, v, 1.0, filling) - gleam;
                    values.push([gain as f32, gleam as f32]);
                }
            }
        }
        let overlay_for = |swells: &OverlaySwells, map: &LocalMap| {
            let light = (picture.light, picture.lamp);
            let owner = (scene.seed, index);
            Overlay::new(swells, map, light, owner, (bore, column_px), horizon)
        };
        let mut tube = Self {
            spec,
            stand,
            motion,
            timeline,
            overlay: overlay_for(&OverlaySwells::default(), &map),
            overlay_swells,
            map,
            wetting,
            glistening,
            picture: picture.clone(),
            grains,
            loose,
            specks,
            behind,
            glass,
            drawn: Mutex::default(),
        };
        match horizon {
            Horizon::End(end_s) => {
                tube.go_on(block, points_beyond(end_s));
                tube.overlay_swells.forget_unknown();
            }
            Horizon::Open => tube.go_on(block, 1),
        }
        tube.overlay = overlay_for(&tube.overlay_swells, &tube.map);
        Ok(tube)
    }

    /// Follow the block until the timeline has `points` points.
    pub(crate) fn go_on(&mut self, block: &dyn BlockCourse, points: usize) {
        if self.timeline.points() >= points {
            return;
        }
        while self.timeline.points() < points {
            let time_s = self.timeline.push(&self.spec, block);
            let block = block.at(time_s);
            self.motion.watch(time_s, block);
            let swells = [
                &mut self.overlay_swells.condensation,
                &mut self.overlay_swells.sublimate,
                &mut self.overlay_swells.bubbles,
                &mut self.wetting,
                &mut self.glistening,
            ];
            for swell in swells.into_iter().flatten() {
                swell.cue.watch(time_s, block);
            }
        }
        for (loose, grain) in self.loose.iter_mut().zip(&self.grains) {
            if loose.is_none() {
                *loose = Loose::new(grain, &self.spec, &self.motion, &self.timeline);
            }
        }
    }

    /// Draw the content as it is at a log time into `canvas`.
    fn paint(&self, canvas: &mut Canvas, time_s: f64) -> Bed {
        let bed = self.motion.at(&self.timeline, time_s);
        let region = self.map.region;
        let shade = Shading::new(self, &bed, time_s);
        let resting = shade.resting().then(|| (bed.clone(), shade.wet_everywhere));
        let noting = !canvas.footprint.is_empty();
        if let (Some(state), Ok(drawn)) = (&resting, self.drawn.lock())
            && let Some((_, kept)) = drawn[usize::from(noting)]
                .as_ref()
                .filter(|(of, _)| of == state)
        {
            canvas.clone_from(kept);
            return bed;
        }
        for (grain, loose) in self.grains.iter().zip(&self.loose) {
            let place = loose
                .and_then(|loose| loose.place(grain, &bed, self.stand.bore_radius_px, time_s))
                .unwrap_or_else(|| bed.place(f64::from(grain.u), f64::from(grain.v)));
            canvas.grain(grain, shade.look(grain, place), &self.stand, region);
        }
        if let (Some(state), Ok(mut drawn)) = (resting, self.drawn.lock()) {
            drawn[usize::from(noting)] = Some((state, canvas.clone()));
        }
        bed
    }

    /// Compose the tube over the backdrop: levels into `levels`, and how much of each pixel is
    /// solid into `solid` (both of the map's region, row-major).
    pub(crate) fn compose(
        &self,
        canvas: &mut Canvas,
        time_s: f64,
        levels: &mut Vec<f32>,
        solid: &mut Vec<f32>,
    ) {
        canvas.clear(self.map.region);
        let bed = self.paint(canvas, time_s);
        let shade = Shading::new(self, &bed, time_s);
        for grain in &self.specks {
            let (u, v) = (f64::from(grain.u), f64::from(grain.v));
            canvas.grain(
                grain,
                shade.speck(grain, (u, v)),
                &self.stand,
                self.map.region,
            );
        }
        solid.clear();
        solid.extend(canvas.open.iter().map(|open| 1.0 - open));
        if self.spec.content == Content::Powder {
            self.surface(canvas, &bed, time_s);
        }
        self.overlay
            .paint(&self.overlay_swells, canvas, &self.map, &bed, time_s);
        levels.clear();
        let rise = 0.22 * self.stand.bore_radius_px as f32;
        let bore_px = self.stand.bore_radius_px as f32;
        for at in 0..self.behind.len() {
            let (u, v) = (self.map.u[at], self.map.v[at]);
            let bore = self.map.bore[at];
            let [air, liquid] = [self.glass[0][at], self.glass[1][at]];
            let filled = if self.spec.content == Content::Powder {
                let surface =
                    bed.saturated_px as f32 + rise * bed.meniscus as f32 * (u / bore_px).powi(2);
                (surface - v + 0.5).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let gain = air[0] + (liquid[0] - air[0]) * filled;
            let gleam = air[1] + (liquid[1] - air[1]) * filled;
            let content = canvas.light[at] + canvas.open[at] * self.behind[at];
            let inside = self.behind[at] + (content - self.behind[at]) * bore;
            levels.push(gain * inside + gleam);
        }
    }

    /// The liquid's curved surface and its colour.
    fn surface(&self, canvas: &mut Canvas, bed: &Bed, time_s: f64) {
        let charred = self.timeline.charred(time_s) as f32;
        let bore = self.stand.bore_radius_px as f32;
        let rise = 0.22 * bore;
        let width = 0.05 * bore + 0.7;
        let lamp = self.picture.lamp as f32;
        for at in 0..canvas.open.len() {
            let (u, v) = (self.map.u[at], self.map.v[at]);
            if v < bed.saturated_px as f32 {
                canvas.open[at] *= 1.0 - 0.85 * charred;
            }
            if bed.meniscus <= 0.0 {
                continue;
            }
            let above = (v - bed.top_px as f32 - rise * (u / bore).powi(2)) / width;
            if above.abs() < 3.0 {
                let line = bed.meniscus as f32 * (-above * above).exp();
                match self.picture.light {
                    Light::Front => canvas.light[at] += 42.0 * lamp * line * (1.0 + 0.4 * u / bore),
                    Light::Back => canvas.open[at] *= 1.0 - 0.6 * line,
                }
            }
        }
    }

    /// Measure what is seen of the column at a log time, before lens and sensor.
    pub(crate) fn measure(&self, canvas: &mut Canvas, time_s: f64) -> Visible {
        canvas.clear(self.map.region);
        canvas.note_footprints();
        let bed = self.paint(canvas, time_s);
        let half_width = (self.stand.bore_radius_px * bed.width) as f32;
        let mut visible = Visible::default();
        let mut level_sum = 0.0;
        for at in 0..self.behind.len() {
            let (u, v, bore) = (self.map.u[at], self.map.v[at], self.map.bore[at]);
            level_sum += f64::from(canvas.light[at] + canvas.open[at] * self.behind[at]);
            if bore <= 0.0 {
                continue;
            }
            let (low, high) = CLEAR_BELOW;
            let stopped = 1.0 - canvas.open[at];
            let part = ((stopped - low) / (high - low)).clamp(0.0, 1.0);
            visible.solid_px += f64::from(bore * part);
            let in_bed = v < bed.top_px as f32 && (u - bed.shift_px as f32).abs() <= half_width;
            if in_bed {
                visible.column_px += f64::from(bore);
            }
            let wetted = canvas.footprint[at] || (in_bed && v < bed.saturated_px as f32);
            if wetted {
                visible.liquid_px += f64::from(bore * (1.0 - part));
            }
        }
        visible.mean_level = level_sum / self.behind.len().max(1) as f64;
        visible
    }
}

/// Put the empty glass of every tube before the backdrop.
pub(crate) fn glaze(scene: &Scene, backdrop: &mut [f32]) {
    for (index, tube) in scene.tubes.iter().enumerate() {
        if tube.content == Content::Absent {
            continue;
        }
        let stand = stand(scene, index);
        let glass = Glass::new(&scene.picture, scene.seed, index);
        let reach = stand.bore_radius_px * OUTER_PER_BORE + 2.0;
        for y in 0..scene.picture.height {
            for x in 0..scene.picture.width {
                let (u, v) = stand.local_from_picture(x as f64, y as f64);
                if u.abs() < reach && v > -reach {
                    let at = y * scene.picture.width + x;
                    let level = glass.level(&stand, u, v, f64::from(backdrop[at]), Filling::Air);
                    backdrop[at] = level as f32;
                }
            }
        }
    }
}

/// Where the tube at `index` stands.
pub(crate) fn stand(scene: &Scene, index: usize) -> Stand {
    let picture = &scene.picture;
    let spec = &scene.tubes[index];
    let bore_px = picture.bore_px();
    let middle = (scene.tubes.len() as f64 - 1.0) / 2.0;
    let x = picture.centre_fraction * picture.width as f64
        + (index as f64 - middle) * picture.spacing * bore_px;
    let y = picture.bottom_fraction * picture.height as f64;
    let lean = spec.tilt_deg.to_radians();
    Stand {
        x_px: x + spec.shift_px[0],
        y_px: y + spec.shift_px[1],
        bore_radius_px: 0.5 * bore_px,
        sin: lean.sin(),
        cos: lean.cos(),
    }
}

/// How the grains of one tube look at one moment.
struct Shading<'a> {
    tube: &'a Tube,
    melted: f64,
    wet_everywhere: f64,
    charred: f64,
    glisten: f64,
    time_s: f64,
}

impl<'a> Shading<'a> {
    fn new(tube: &'a Tube, bed: &Bed, time_s: f64) -> Self {
        let by_melting = tube.timeline.wetness(time_s);
        let by_trouble = tube.wetting.map_or(0.0, |wetting| wetting.at(time_s));
        Self {
            tube,
            melted: bed.melted,
            wet_everywhere: by_melting.max(by_trouble),
            charred: tube.timeline.charred(time_s),
            glisten: tube
                .glistening
                .map_or(0.0, |glistening| glistening.at(time_s)),
            time_s,
        }
    }

    /// Whether the drawing depends on the bed and the wetness alone.
    fn resting(&self) -> bool {
        self.melted <= 0.0 && self.charred <= 0.0 && self.glisten <= 0.0
    }

    fn look(&self, grain: &Grain, (u, v): (f64, f64)) -> Look {
        let spec = &self.tube.spec;
        let melted = f64::from(grain.melted(self.melted, spec.grain_span));
        let wet = self.wet_everywhere.max((3.0 * melted).min(1.0));
        self.shaded(grain, (u, v), melted, wet)
    }

    /// Stray specks melt with the column but have no neighbours to make them wet.
    fn speck(&self, grain: &Grain, (u, v): (f64, f64)) -> Look {
        let melted = 0.9 * f64::from(grain.melted(self.melted, 0.2));
        self.shaded(grain, (u, v), melted, melted.min(1.0))
    }

    fn shaded(&self, grain: &Grain, (u, v): (f64, f64), melted: f64, wet: f64) -> Look {
        let spec = &self.tube.spec;
        let picture = &self.tube.picture;
        let (x, y) = self.tube.stand.picture_from_local(u, v);
        let translucency =
            spec.dry_translucency + (spec.wet_translucency - spec.dry_translucency) * wet;
        let round = (1.0 - (u / self.tube.stand.bore_radius_px).powi(2))
            .max(0.0)
            .sqrt();
        let depth = 0.5 * (f64::from(grain.depth) + 1.0);
        let albedo = spec.albedo * (1.0 - 0.92 * self.charred) * (1.0 - 0.42 * wet);
        let lit = match picture.light {
            Light::Front => {
                215.0 * albedo * (0.6 + 0.4 * round) * (0.5 + 0.5 * depth) * picture.contrast
            }
            Light::Back => 24.0 * albedo + 150.0 * (1.0 - picture.contrast).max(0.0),
        };
        Look {
            x: x as f32,
            y: y as f32,
            size: (1.0 - melted).max(0.0) as f32,
            opacity: (1.0 - translucency * (1.0 - 0.9 * self.charred)) as f32,
            brightness: (lit * picture.lamp * self.sparkle(grain.phase)) as f32,
        }
    }

    /// Brightness of a glistening grain relative to a dull one.
    fn sparkle(&self, phase: f32) -> f64 {
        if self.glisten <= 0.0 {
            return 1.0;
        }
        let phase = f64::from(phase);
        let slow = (std::f64::consts::TAU * phase + (0.25 + 0.5 * phase) * self.time_s).sin();
        let flash = if (977.0 * phase + 0.11 * self.time_s).fract() < 0.05 {
            1.1
        } else {
            0.0
        };
        1.0 + self.glisten * (0.35 * slow + flash - 0.12)
    }
}
