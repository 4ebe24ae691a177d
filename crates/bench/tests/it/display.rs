//! A film of a display as a bench's thermometer, through ffmpeg.

use meltrange_bench::{BenchClock, BenchFile, Connections, ThermometerNews, open_thermometer};
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use tokio::sync::mpsc;

const WIDTH: usize = 320;
const HEIGHT: usize = 120;
const FRAMES_PER_S: usize = 10;
const SECONDS: usize = 8;

/// Segments a to g of the digits 0 to 9, as every data sheet of a decoder has them.
const SEGMENTS: [u8; 10] = [0x3f, 0x06, 0x5b, 0x4f, 0x66, 0x6d, 0x7d, 0x07, 0x7f, 0x6f];

/// Tenths of a degree shown at a picture: 100.0 °C, rising by 12 °C/min in steps of a tenth.
fn tenths_at(picture: usize) -> usize {
    1000 + picture / (FRAMES_PER_S / 2)
}

fn fill(luma: &mut [u8], x: usize, y: usize, width: usize, height: usize) {
    for row in y..y + height {
        luma[row * WIDTH + x..row * WIDTH + x + width].fill(220);
    }
}

fn digit(luma: &mut [u8], x: usize, value: usize) {
    let (y, long, thick) = (25, 30, 7);
    let lit = |segment: u8| SEGMENTS[value] & (1 << segment) != 0;
    let bars = [
        (thick, 0, long, thick),
        (thick + long, thick, thick, long - 4),
        (thick + long, thick + long + 3, thick, long - 4),
        (thick, 2 * long + 2, long, thick),
        (0, thick + long + 3, thick, long - 4),
        (0, thick, thick, long - 4),
        (thick, long + 1, long, thick),
    ];
    for (segment, (dx, dy, width, height)) in (0..).zip(bars) {
        if lit(segment) {
            fill(luma, x + dx, y + dy, width, height);
        }
    }
}

/// Bright digits on a dark face.
fn picture(tenths: usize) -> Vec<u8> {
    let mut luma = vec![25; WIDTH * HEIGHT];
    for (place, value) in [tenths / 1000, tenths / 100 % 10, tenths / 10 % 10]
        .into_iter()
        .enumerate()
    {
        digit(&mut luma, 40 + 60 * place, value);
    }
    fill(&mut luma, 215, 88, 7, 7);
    digit(&mut luma, 228, tenths % 10);
    luma
}

fn film(path: &Path) {
    let size = format!("{WIDTH}x{HEIGHT}");
    let rate = FRAMES_PER_S.to_string();
    let mut ffmpeg = Command::new("ffmpeg")
        .args([
            "-v", "error", "-f", "rawvideo", "-pix_fmt", "gray", "-s", &size, "-r", &rate,
        ])
        .args(["-i", "-", "-c:v", "mjpeg", "-q:v", "3", "-y"])
        .arg(path)
        .stdin(Stdio::piped())
        .spawn()
        .expect("ffmpeg is installed");
    let mut to = ffmpeg.stdin.take().expect("piped");
    for frame in 0..FRAMES_PER_S * SECONDS {
        to.write_all(&picture(tenths_at(frame)))
            .expect("it listens");
    }
    drop(to);
    assert!(ffmpeg.wait().expect("it ends").success());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_display_tells_what_it_shows_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let film_path = folder.path().join("display.mkv");
    film(&film_path);
    let text = format!(
        "name = \"A\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n[thermometer]\nkind = \"display\"\n\
         [thermometer.digits]\nstyle = \"seven_segment\"\nlit = \"bright_on_dark\"\n\
         [thermometer.camera]\nkind = \"ffmpeg\"\ninput = {film_path:?}\noptions = {{ readrate = \"1\" }}\n"
    );
    let file = BenchFile::parse(&text, Path::new("a.toml")).expect("a bench file");
    let opened = open_thermometer(&file.thermometer, &mut Connections::new()).expect("a display");
    let (to, mut news) = mpsc::channel(64);
    let telling = tokio::spawn(opened.thermometer.tell(BenchClock::start(), to));
    let mut values = Vec::new();
    let end = tokio::time::Instant::now() + Duration::from_secs(SECONDS as u64 + 4);
    while let Ok(Some(told)) = tokio::time::timeout_at(end, news.recv()).await {
        match told {
            ThermometerNews::Sample(sample) => values.push(sample.temperature_c),
            // The film is over; the camera is looked for again.
            ThermometerNews::Lost { .. } => break,
            ThermometerNews::Unreadable { .. } | ThermometerNews::Found { .. } => {}
        }
    }
    telling.abort();
    let shown: Vec<f64> = (0..FRAMES_PER_S * SECONDS)
        .map(|frame| tenths_at(frame) as f64 / 10.0)
        .collect();
    assert!(values.len() > FRAMES_PER_S * SECONDS / 4, "{values:?}");
    assert!(
        values.iter().all(|value| shown.contains(value)),
        "{values:?}"
    );
    assert!(
        values.windows(2).all(|pair| pair[1] >= pair[0]),
        "{values:?}"
    );
    assert!(values.last() >= Some(&101.0), "{values:?}");
}
