//! The truth against the pictures: what a ruler laid on sharp, noise-free pictures finds.

use meltrange_scene::{Film, Picture, Scene};

const WIDTH: usize = 160;
const BORE_PX: f64 = 48.0;
const FRAMES_PER_S: f64 = 2.0;
/// A pixel counts as gone over when it is within this part of the contrast of its end.
const NEAR: f64 = 0.2;

/// One upright tube, sharp and without noise, whose column never leaves the place where it stood.
fn film(light: &str, seed: u32) -> Film {
    let text = format!(
        "seed = {seed}\n\
         [timing]\nframes_per_s = {FRAMES_PER_S:?}\n\
         [camera]\nnoise = 0.0\nshot_noise = 0.0\nblur_px = 0.0\n\
         [picture]\nlight = \"{light}\"\nbackdrop = \"plain\"\ncolour = false\n\
         width = {WIDTH}\nheight = 240\nbore_px = {BORE_PX:?}\n\
         [programme]\nrate_c_per_min = 2.0\nstart_c = 111.5\nend_c = 117.5\nsoak_s = 10.0\n\
         [[tube]]\nmelts_at_c = 114.0\ncolumn_height_mm = 2.2\ngrain_mm = 0.15\n\
         specks = 0\ntilt_deg = 0.0\n"
    );
    Film::new(Scene::from_toml(&text).expect("a sound scene")).expect("a possible scene")
}

/// Pixels where the fresh column stood, and how they look fresh and molten.
struct Ruler {
    pixels: Vec<usize>,
    fresh: Picture,
    molten: Picture,
    contrast: f64,
}

impl Ruler {
    fn lay(film: &Film) -> Self {
        let tube = &film.truth().tubes[0];
        let half = 0.5 * tube.column_height_px;
        let rows = (tube.y_px - half).ceil() as usize..(tube.y_px + half) as usize;
        let columns =
            (tube.x_px - 0.5 * BORE_PX).ceil() as usize..(tube.x_px + 0.5 * BORE_PX) as usize;
        let pixels: Vec<usize> = rows
            .flat_map(|y| columns.clone().map(move |x| y * WIDTH + x))
            .collect();
        let (fresh, molten) = (film.picture(0), film.picture(film.times_s().len() - 1));
        let mean = |picture: &Picture| {
            let sum: u32 = pixels.iter().map(|&at| u32::from(picture.luma[at])).sum();
            f64::from(sum) / pixels.len() as f64
        };
        let contrast = (mean(&fresh) - mean(&molten)).abs();
        Self {
            pixels,
            fresh,
            molten,
            contrast,
        }
    }

    /// Part of the pixels for which `is`, given their distances from fresh to molten and from
    /// this picture to molten in units of the contrast.
    fn part(&self, picture: &Picture, is: impl Fn(f64, f64) -> bool) -> f64 {
        let distance =
            |from: &Picture, at: usize| f64::from(from.luma[at].abs_diff(self.molten.luma[at]));
        let count = self
            .pixels
            .iter()
            .filter(|&&at| {
                is(
                    distance(&self.fresh, at) / self.contrast,
                    distance(picture, at) / self.contrast,
                )
            })
            .count();
        count as f64 / self.pixels.len() as f64
    }

    /// Part that plainly was powder and looks molten now.
    fn cleared(&self, picture: &Picture) -> f64 {
        self.part(picture, |fresh, now| fresh > 0.5 && now < NEAR)
    }

    /// Part that does not look molten yet.
    fn solid(&self, picture: &Picture) -> f64 {
        self.part(picture, |_, now| now > NEAR)
    }
}

fn picture_at(film: &Film, video_time_s: f64) -> Picture {
    film.picture((video_time_s * FRAMES_PER_S).round() as usize)
}

/// The first time from `from_s` on at which `passed`, looked at twice a second for 40 s.
fn when(film: &Film, from_s: f64, passed: impl Fn(&Picture) -> bool) -> f64 {
    (0..80)
        .map(|step| from_s + f64::from(step) / FRAMES_PER_S)
        .find(|&at_s| passed(&picture_at(film, at_s)))
        .expect("it passes within 40 s")
}

#[test]
fn a_hundredth_of_the_column_clears_at_the_first_liquid() {
    for (light, seed) in [("front", 1), ("front", 3), ("back", 1), ("back", 3)] {
        let film = film(light, seed);
        let ruler = Ruler::lay(&film);
        let truth = film.truth().tubes[0].first_liquid.expect("it melts");
        let before = ruler.cleared(&picture_at(&film, truth.video_time_s - 15.0));
        assert!(before < 0.001, "{light} {seed}: {before} cleared too early");
        let at_s = when(&film, truth.video_time_s - 15.0, |picture| {
            ruler.cleared(picture) >= 0.01
        });
        let off_c = (at_s - truth.video_time_s) / 60.0 * truth.rate_c_per_min;
        // The ruler asks for the look of the clear melt; the truth for an open line of sight, which
        // comes a little earlier: the pixel at its edge is half powder still.
        assert!(
            (-0.1..0.25).contains(&off_c),
            "{light} {seed}: {off_c} °C off"
        );
    }
}

#[test]
fn a_two_hundredth_of_the_column_is_solid_at_the_last_crystal() {
    for (light, seed) in [("front", 2), ("front", 4), ("back", 2), ("back", 4)] {
        let film = film(light, seed);
        let ruler = Ruler::lay(&film);
        let truth = film.truth().tubes[0].last_crystal.expect("all melts");
        let before = ruler.solid(&picture_at(&film, truth.video_time_s - 10.0));
        assert!(before > 0.1, "{light} {seed}: only {before} solid before");
        let at_s = when(&film, truth.video_time_s - 10.0, |picture| {
            ruler.solid(picture) < 0.005
        });
        let off_c = (at_s - truth.video_time_s) / 60.0 * truth.rate_c_per_min;
        assert!(off_c.abs() < 0.1, "{light} {seed}: {off_c} °C off");
    }
}
