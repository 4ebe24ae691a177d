#[path = "../tests/it/made_up.rs"]
mod made_up;
use made_up::*;
use meltrange_report::*;
fn main() {
    let b = std::fs::read("/tmp/edge/f.jpg").unwrap();
    let r = reading();
    let l = log();
    let p = pictures(&r, &b);
    std::fs::write(
        "/tmp/edge/look.html",
        evidence_page(&Evidence {
            recording: "unknown_1.mp4",
            log_name: "temperature.csv",
            video_start_s: 0.0,
            program: "meltrange 0.1.0",
            reading: &r,
            log: &l,
            notes: &[],
            view_width_px: 640.0,
            view_height_px: 480.0,
            at_start: Some(picture(&b, 0.0)),
            at_end: Some(picture(&b, 599.0)),
            pictures: &p,
        })
        .unwrap(),
    )
    .unwrap();
}
