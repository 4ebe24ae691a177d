//! Many browsers on many live benches of a shared book: `shared_live ADDRESS [SECONDS]`, with the address of an empty
//! database whose recordings have a place (`meltrange book prepare`).
//!
//! Twenty benches with simulated blocks are brought 640 × 480 pictures at 2 a second, drawn beforehand, all recorded in the shared
//! book and watched by the causal engine. Sixty browsers look: each follows a bench's events, fetches its pictures as they come and one of the pages'
//! requests every second. Browsers, server and engine share the machine. Prints pictures given and kept, and how long requests took.

use jpeg_encoder::{ColorType, Encoder};
use meltrange_bench::{OpenBench, Press, RunOrder};
use meltrange_benches::browser::{Browser, Failed, quantile};
use meltrange_labbook::{Book, Draft, Person, Role, Sample};
use meltrange_planning::{MeasuringOrder, Programme};
use meltrange_scene::{Film, Scene};
use meltrange_server::{Afterwards, AppState, app, begin_kept_run};
use std::io::Write as _;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::net::TcpListener;

const BENCHES: usize = 20;
const BROWSERS: usize = 60;
const FRAMES_PER_S: f64 = 2.0;
const SAMPLES: usize = 200;

const SCENE: &str = "
seed = 5
[picture]
width = 640
height = 480
[timing]
frames_per_s = 2.0
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

fn main() -> Result<(), Failed> {
    let mut arguments = std::env::args().skip(1);
    let place = arguments
        .next()
        .ok_or("expected the address of an empty database")?;
    let seconds: f64 = arguments.next().map_or(Ok(60.0), |text| text.parse())?;
    let pictures = drawn()?;
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(measure(place.as_ref(), &pictures, seconds))
}

/// The scene's pictures as JPEG, in order.
fn drawn() -> Result<Vec<Arc<[u8]>>, Failed> {
    let film = Film::new(Scene::from_toml(SCENE)?)?;
    let mut pictures = Vec::new();
    film.play(&mut |_, picture| -> Result<(), Failed> {
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

async fn measure(place: &Path, pictures: &[Arc<[u8]>], seconds: f64) -> Result<(), Failed> {
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place, "Department", first).await?;
    let drafts = (0..SAMPLES).map(|at| {
        Draft::new(Sample {
            label: format!("S-{at}"),
            ..Sample::default()
        })
    });
    book.append(who, drafts.collect()).await?;
    let files = book.folder().join("benches");
    std::fs::create_dir_all(&files)?;
    for number in 1..=BENCHES {
        let text = format!(
            "name = \"bench-{number}\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n\
             [thermometer]\nkind = \"simulated\"\n[heater]\nkind = \"simulated\"\n"
        );
        std::fs::write(files.join(format!("bench-{number}.toml")), text)?;
    }
    let state = AppState::new(book)?;
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let at = listener.local_addr()?;
    let service = app(state.clone()).into_make_service_with_connect_info::<SocketAddr>();
    tokio::spawn(async move { axum::serve(listener, service).await });
    let order = MeasuringOrder {
        attend: false,
        ..MeasuringOrder::around(250.0, 251.0)
    };
    let mut under_way = Vec::new();
    for number in 1..=BENCHES {
        let bench = state.open_bench(&format!("bench-{number}"))?;
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
    let feeding: Vec<_> = under_way
        .iter()
        .enumerate()
        .map(|(number, (bench, _))| {
            tokio::spawn(feed(bench.clone(), pictures.to_vec(), number, seconds))
        })
        .collect();
    let looking: Vec<_> = (0..BROWSERS)
        .map(|number| tokio::spawn(look(at, number, seconds)))
        .collect();
    let mut given = 0;
    for fed in feeding {
        given += fed.await??;
    }
    let (mut pages_ms, mut seen, mut events) = (Vec::new(), 0, 0);
    for looked in looking {
        let looked = looked.await??;
        pages_ms.extend(looked.pages_ms);
        seen += looked.pictures;
        events += looked.events;
    }
    let mut kept_pictures = 0;
    for (bench, kept) in under_way {
        bench.press(Press::Stop).await?;
        if let Some(lost) = tokio::time::timeout(Duration::from_secs(60), kept.done).await?? {
            return Err(lost.into());
        }
        kept_pictures += state.book().frames(kept.recording).await?.times_s().len();
    }
    pages_ms.sort_by(f64::total_cmp);
    writeln!(
        std::io::stdout(),
        "{BENCHES} benches, 640 × 480 at {FRAMES_PER_S} pictures/s for {seconds:.0} s: {given} given, {kept_pictures} kept\n\
         {BROWSERS} browsers: {} requests of pages, median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, most {:.1} ms; {seen} pictures, {events} pieces of events",
        pages_ms.len(),
        quantile(&pages_ms, 0.5),
        quantile(&pages_ms, 0.95),
        quantile(&pages_ms, 0.99),
        quantile(&pages_ms, 1.0),
    )?;
    state.close();
    state.close_book().await;
    Ok(())
}

/// Bring pictures as a camera would; how many.
async fn feed(
    bench: OpenBench,
    pictures: Vec<Arc<[u8]>>,
    number: usize,
    seconds: f64,
) -> Result<usize, Failed> {
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
        inlet
            .picture(bench.clock().now_s(), picture.clone())
            .await?;
        given += 1;
    }
    Ok(given)
}

/// What one browser saw.
#[derive(Debug, Default)]
struct Looked {
    pages_ms: Vec<f64>,
    pictures: usize,
    events: usize,
}

/// Look at a bench, and at pages beside it.
async fn look(at: SocketAddr, number: usize, seconds: f64) -> Result<Looked, Failed> {
    use http_body_util::BodyExt as _;
    // They do not all come in the same second.
    tokio::time::sleep(Duration::from_millis(50 * number as u64)).await;
    let bench = format!("bench-{}", 1 + number % BENCHES);
    let (mut following, mut watching, mut paging) = (
        Browser::open(at).await?,
        Browser::open(at).await?,
        Browser::open(at).await?,
    );
    let mut told = following
        .ask(&format!("/api/live/{bench}/events"))
        .await?
        .into_body();
    let end = Instant::now() + Duration::from_secs_f64(seconds - 0.05 * number as f64);
    let mut looked = Looked::default();
    let mut next_page = Instant::now();
    let mut next_picture = Instant::now();
    let mut pages = [
        "/api/today",
        "/api/samples?per_page=50",
        "/api/recordings?per_page=50",
        "/api/samples?text=S-1",
        "/api/thermometers",
        "/api/live",
        "/api/people",
    ]
    .into_iter()
    .cycle()
    .skip(number % 7);
    while Instant::now() < end {
        if Instant::now() >= next_page {
            next_page += Duration::from_secs(1);
            if let Some(page) = pages.next() {
                let began = Instant::now();
                paging.get(page).await?;
                looked.pages_ms.push(began.elapsed().as_secs_f64() * 1e3);
            }
        }
        if Instant::now() >= next_picture {
            next_picture += Duration::from_secs_f64(1.0 / FRAMES_PER_S);
            watching.get(&format!("/api/live/{bench}/picture")).await?;
            looked.pictures += 1;
        }
        let until = next_page.min(next_picture);
        let wait = until.saturating_duration_since(Instant::now());
        if let Ok(Some(piece)) = tokio::time::timeout(wait, told.frame()).await {
            piece?;
            looked.events += 1;
        }
    }
    Ok(looked)
}
