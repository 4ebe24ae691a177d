//! Development view: geometry and patches.
#![allow(missing_docs)]
use crate::column::Grid;
use crate::frame::Frame;
use crate::image::Plane;
use crate::steady::{Alignment, Motion, Steadier};
use crate::tubes::find_tubes;

pub struct Probe {
    steadier: Steadier,
    pub grids: Vec<Grid2>,
    pub desc: String,
    last: Alignment,
}
pub struct Grid2 {
    g: Grid,
    powder: crate::powder::Powder,
    pub across: usize,
    pub along: usize,
}
impl Probe {
    pub fn new(width: usize, height: usize, luma: &[u8]) -> Option<Self> {
        let plane = Plane::from_luma(width, height, luma);
        let t = find_tubes(&plane, None)?;
        let tubes = t.tubes.clone();
        let fixed = move |x: usize, y: usize| {
            let (x, y) = (x as f32, y as f32);
            !tubes.iter().any(|t| {
                t.filled
                    && (x - t.axis_at(y)).abs() < 0.54 * t.bore_px
                    && y > t.top_y_px - 0.5 * t.bore_px
                    && y < t.bottom_y_px + 0.04 * t.bore_px
            })
        };
        let t2 = t.lighting;
        let steadier = Steadier::new(&plane, &fixed);
        let grids = t.tubes.iter().map(|t| { let g = Grid::new(t); Grid2 { across: g.across, along: g.along, powder: crate::powder::Powder::new(g.across, g.along, g.powder_rows, t2), g } }).collect();
        Some(Self { steadier, grids, desc: format!("{t:?}"), last: Alignment { motion: Motion::default(), gain: 1.0, offset: 0.0, agreeing: 1.0 } })
    }
    pub fn push(&mut self, frame: &Frame<'_>) -> (String, Vec<Vec<u8>>) {
        let a = self.steadier.align(frame, &self.last);
        if a.agreeing > 0.5 { self.last = a; }
        let m = a.motion;
        (
            format!("{:.3} {:.3} {:.5} {:.5} {:.4} {:.2} {:.3}", m.dx_px, m.dy_px, m.rotation_rad, m.zoom, a.gain, a.offset, a.agreeing),
            self.grids.iter().map(|g| g.g.cut(frame, self.steadier.centre(), &a)).collect(),
        )
    }
    pub fn looks(&mut self, time_s: f64, patches: &[Vec<u8>]) -> Vec<String> {
        self.grids.iter_mut().zip(patches).map(|(g, p)| match g.powder.push(time_s, p) {
            None => String::new(),
            Some(l) => format!("{} {} {} {} {} {} {} {} {} {} {}", l.time_s, l.cleared[0], l.cleared[1], l.cleared[2], l.brightened, l.gain, l.solid, l.slid as u8, l.drifting as u8, l.top_drop, l.widening),
        }).collect()
    }
}
