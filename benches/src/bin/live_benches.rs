//! Eight benches at once: `cargo run --release -p meltrange-benches --bin live_benches [SECONDS]`.
//!
//! Each bench has a simulated block and is brought 640 × 480 pictures at 5 a second, drawn beforehand
//! from a scene that melts; all are recorded in one lab book and watched by the causal engine. Prints
//! how many pictures were given, kept and passed over by the engine, and how far it fell behind.

use jpeg_encoder::{ColorType, Encoder};
use meltrange_bench::{BenchFile, OpenBench, RunOrder};
use meltrange_labbook::{Book, Person, Role};
use meltrange_planning::{MeasuringOrder, Programme};
use meltrange_scene::{Film, Scene};
use meltrange_server::{Afterwards, AppState, begin_kept_run};
use std::error::Error;
use std::io::Write as _;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

const BENCHES: usize = 8;
const FRAMES_PER_S: f64 = 5.0;
/// The engine's state must be shown within this [s].
const SHOWN_WITHIN_S: f64 = 1.0;

const SCENE: &str = "
seed = 5
[picture]
width = 640
height = 480
[timing]
frames_per_s = 5.0
[programme]
rate_c_per_min = 4.0
soak_s = 5.0
tail_s = 2.0
[[tube]]
melts_at_c = 122.4
[[tube]]
melts_at_c = 122.0
[[tube]]
melts_at_c = 122.8
";

type Done<T> = Result<T, Box<dyn Error>>;

fn main() -> Done<()> {
    let seconds: f64 = std::env::args()
        .nth(1)
        .map_or(Ok(60.0), |text| text.parse())?;
    let pictures = drawn()?;
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(measure(&pictures, seconds))
}

/// The scene's pictures as JPEG, in order.
fn drawn() -> Done<Vec<Arc<[u8]>>> {
    let film = Film::new(Scene::from_toml(SCENE)?)?;
    let mut pictures = Vec::new();
    film.play(&mut |_, picture| -> Done<()> {
        let mut bytes = Vec::new();
        Encoder::new(&mut bytes, 85).encode(
            &picture.rgb(),
            u16::try_from(picture.width)?,
            u16::try_from(picture.height)?,
            ColorType::Rgb,
        )?;
        pictures.push(bytes.into());
        Ok(())
    })?;
    Ok(pictures)
}

fn bench(number: usize) -> Done<OpenBench> {
    let text = format!(
        "name = \"Bench {number}\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n\
         [thermometer]\nkind = \"simulated\"\n[heater]\nkind = \"simulated\"\n"
    );
    Ok(OpenBench::open(
        BenchFile::parse(&text, Path::new("bench.toml"))?,
        1.0,
    )?)
}

async fn measure(pictures: &[Arc<[u8]>], seconds: f64) -> Done<()> {
    let room = tempfile::tempdir()?;
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(&room.path().join("book"), "Eight", first).await?;
    let state = AppState::new(book)?;
    let order = MeasuringOrder {
        attend: false,
        ..MeasuringOrder::around(250.0, 251.0)
    };
    let mut under_way = Vec::new();
    for number in 1..=BENCHES {
        let bench = bench(number)?;
        bench
            .view()
            .wait_for(|view| view.temperature_c.is_some())
            .await?;
        let order = RunOrder {
            programme: Programme::measuring(&order, 300.0)?,
            end_when_clear: false,
            watched: false,
        };
        let kept =
            begin_kept_run(&state, &bench, who, order, Vec::new(), Afterwards::Leave).await?;
        under_way.push((bench, kept));
    }
    let begun = Instant::now();
    let feeding: Vec<_> = under_way
        .iter()
        .enumerate()
        .map(|(at, (bench, _))| tokio::spawn(feed(bench.clone(), pictures.to_vec(), at, seconds)))
        .collect();
    let (mut worst_s, mut behind, mut looks) = (0.0_f64, 0_u64, 0_u64);
    let mut ticks = tokio::time::interval(Duration::from_millis(50));
    while begun.elapsed().as_secs_f64() < seconds {
        ticks.tick().await;
        for (bench, _) in &under_way {
            let behind_s = bench.view().borrow().engine_behind_s;
            looks += 1;
            behind += u64::from(behind_s > SHOWN_WITHIN_S);
            worst_s = worst_s.max(behind_s);
        }
    }
    let mut given = 0;
    for fed in feeding {
        given += fed.await??;
    }
    tokio::time::sleep(Duration::from_secs(2)).await;
    let (mut kept_pictures, mut passed_over, mut followed) = (0, 0, 0);
    for (bench, kept) in under_way {
        let view = bench.view().borrow().clone();
        passed_over += view.passed_over;
        followed += usize::from(view.run.as_ref().is_some_and(|run| run.tubes.len() == 3));
        bench.press(meltrange_bench::Press::Stop).await?;
        let lost = tokio::time::timeout(Duration::from_secs(20), kept.done).await??;
        if let Some(lost) = lost {
            return Err(lost.into());
        }
        kept_pictures += state.book().frames(kept.recording).await?.times_s().len();
    }
    writeln!(
        std::io::stdout(),
        "{BENCHES} benches, 640 × 480 at {FRAMES_PER_S} pictures/s for {seconds:.0} s: {given} given, {kept_pictures} kept, {passed_over} passed over by the engine; three tubes followed at {followed} benches\n\
         engine behind the newest picture: worst {worst_s:.2} s, above {SHOWN_WITHIN_S} s in {:.2} % of {looks} looks",
        100.0 * behind as f64 / looks.max(1) as f64
    )?;
    Ok(())
}

/// Bring pictures as a camera would; how many.
async fn feed(
    bench: OpenBench,
    pictures: Vec<Arc<[u8]>>,
    number: usize,
    seconds: f64,
) -> Result<usize, String> {
    let inlet = bench.pictures().ok_or("a browser is the camera")?.clone();
    let mut ticks = tokio::time::interval(Duration::from_secs_f64(1.0 / FRAMES_PER_S));
    // Not all at the same moment.
    tokio::time::sleep(Duration::from_millis(25 * number as u64)).await;
    let begun = Instant::now();
    let mut given = 0;
    while begun.elapsed().as_secs_f64() < seconds {
        ticks.tick().await;
        // To and fro through the film, so that nothing jumps.
        let round = 2 * (pictures.len() - 1);
        let at = given % round;
        let picture = &pictures[if at < pictures.len() { at } else { round - at }];
        let told = inlet.picture(bench.clock().now_s(), picture.clone()).await;
        told.map_err(|error| error.to_string())?;
        given += 1;
    }
    Ok(given)
}
