//! How quickly a large lab book answers: `cargo run --release -p meltrange-benches --bin book_speed`.
//!
//! Every answer is asserted before it is timed. Prints one line a question: median and 95 % of the
//! times in milliseconds, and the limit where there is one.

use meltrange_labbook::{
    Access, Book, Draft, Person, PersonId, Role, Run, RunState, Sample, SampleOrder, SampleQuery,
    Standing, When,
};
use std::error::Error;
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

const SAMPLES: u64 = 50_000;
const FRAMES: u32 = 20_000;
/// A 640 × 480 view as JPEG.
const FRAME_BYTES: usize = 40_000;
const FLUSH_EVERY: u32 = 1_000;
const ROUNDS: usize = 200;

type Done = Result<(), Box<dyn Error>>;

fn main() -> Done {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(measure())
}

async fn measure() -> Done {
    let room = tempfile::tempdir()?;
    let place = room.path().join("book");
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(&place, "Large", first).await?;
    fill(&book, who).await?;
    samples(&book).await?;
    writing(&book, who).await?;
    frames(&book, who).await?;
    book.close().await;
    opening(&place).await
}

fn line(what: &str, mut times_ms: Vec<f64>, limit: &str) -> Done {
    times_ms.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = ((times_ms.len() - 1) as f64 * part).round() as usize;
        times_ms.get(place).copied().unwrap_or(f64::NAN)
    };
    writeln!(
        std::io::stdout(),
        "{what:<52} median {:8.3} ms   95 % {:8.3} ms   {limit}",
        at(0.5),
        at(0.95)
    )?;
    Ok(())
}

const SUBSTANCES: [&str; 5] = [
    "acetanilide",
    "urea",
    "trans-cinnamic acid",
    "benzil",
    "vanillin",
];

async fn fill(book: &Book, who: PersonId) -> Done {
    let begun = Instant::now();
    for thousand in 0..SAMPLES / 1000 {
        let drafts = (0..1000)
            .map(|at| {
                let number = 1000 * thousand + at;
                Draft::new(Sample {
                    label: format!("U-{number}"),
                    origin: Some(format!("Imaginary College, shelf {}", number % 97)),
                    expected_substance: Some(SUBSTANCES[(number % 5) as usize].into()),
                    hazards: Some("not looked up yet; ask the responsible person".into()),
                    ..Sample::default()
                })
            })
            .collect();
        book.append(who, drafts).await?;
    }
    let seconds = begun.elapsed().as_secs_f64();
    writeln!(
        std::io::stdout(),
        "{SAMPLES} samples written in {seconds:.1} s"
    )?;
    Ok(())
}

async fn samples(book: &Book) -> Done {
    let query = |text: &str| SampleQuery {
        text: text.into(),
        ..SampleQuery::default()
    };
    let labels = |query: SampleQuery| SampleQuery {
        order: SampleOrder::Label,
        ..query
    };
    let questions = [
        ("newest page of all", query(""), SAMPLES, "U-49999"),
        ("first page by label", labels(query("")), SAMPLES, "U-0"),
        (
            "search, every fifth found",
            query("benzil"),
            SAMPLES / 5,
            "U-49998",
        ),
        (
            "the same by label",
            labels(query("BENZIL")),
            SAMPLES / 5,
            "U-3",
        ),
        ("search, one found", query("U-12345"), 1, "U-12345"),
        ("search, two words", query("vanillin 4999"), 7, "U-49999"),
        (
            "page 900 by label",
            SampleQuery {
                offset: 45_000,
                ..labels(query(""))
            },
            SAMPLES,
            "U-45000",
        ),
        (
            "not read yet, newest",
            SampleQuery {
                standing: Some(Standing::Unread),
                ..query("")
            },
            SAMPLES,
            "U-49999",
        ),
    ];
    for (what, query, total, first) in questions {
        let page = book.store().samples(&query).await?;
        assert_eq!(page.total, total, "{what}");
        let label = page.rows.first().map(|row| row.label.as_str());
        assert_eq!(label, Some(first), "{what}");
        let mut times_ms = Vec::new();
        for _ in 0..ROUNDS {
            let begun = Instant::now();
            book.store().samples(&query).await?;
            times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
        }
        line(&format!("samples: {what}"), times_ms, "limit 20 ms")?;
    }
    let mut times_ms = Vec::new();
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        let today = book.store().today().await?;
        times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
        assert_eq!(today.not_agreed_total, 0);
    }
    line("today", times_ms, "")
}

async fn writing(book: &Book, who: PersonId) -> Done {
    let mut times_ms = Vec::new();
    for number in 0..ROUNDS {
        let draft = Draft::new(Sample {
            label: format!("one by one {number}"),
            ..Sample::default()
        });
        let begun = Instant::now();
        book.append(who, vec![draft]).await?;
        times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
    }
    line("one sample written, flushed to the disk", times_ms, "")
}

fn picture(number: u32) -> Vec<u8> {
    let mut bytes = vec![0xFF, 0xD8];
    bytes.extend(
        (0..FRAME_BYTES as u32 / 4)
            .flat_map(|at| (at.wrapping_mul(2_654_435_761) ^ number).to_le_bytes()),
    );
    bytes
}

async fn frames(book: &Book, who: PersonId) -> Done {
    let run = Draft::new(Run {
        bench: None,
        load: Vec::new(),
        programme: None,
        state: RunState::UnderWay,
        remarks: None,
    });
    let run_id = run.subject().into();
    book.append(who, vec![run]).await?;
    let mut writer = book.begin_recording(who, run_id).await?;
    let begun = Instant::now();
    for number in 0..FRAMES {
        writer.frame(f64::from(number) / 10.0, picture(number))?;
        if number % FLUSH_EVERY == 0 {
            // Faster than any camera: what the disk did not take yet waits in bounded memory.
            writer.flush()?;
        }
    }
    writer.flush()?;
    let rate = f64::from(FRAMES) / begun.elapsed().as_secs_f64();
    writeln!(
        std::io::stdout(),
        "{FRAMES} pictures of 40 kB taken in at {rate:.0} a second"
    )?;
    let id = writer.recording();
    book.end_recording(who, writer).await?;
    let mut times_ms = Vec::new();
    for _ in 0..20 {
        let begun = Instant::now();
        let frames = book.frames(id).await?;
        times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
        assert_eq!(frames.times_s().len(), FRAMES as usize);
    }
    line("frames: index of 20,000 opened", times_ms, "")?;
    let frames = book.frames(id).await?;
    let mut times_ms = Vec::new();
    let mut at = 1_u32;
    for _ in 0..2000 {
        // A full cycle through 0..20000 in an order without pattern for the disk.
        at = (at.wrapping_mul(7_919) + 12_347) % FRAMES;
        let begun = Instant::now();
        let found = frames.picture(frames.shown_at(f64::from(at) / 10.0 + 0.01))?;
        times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
        assert!(found == picture(at), "picture {at}");
    }
    line(
        "frames: any of 20,000, its digest checked",
        times_ms,
        "limit 20 ms",
    )
}

async fn opening(place: &Path) -> Done {
    let mut times_ms = Vec::new();
    for _ in 0..10 {
        let begun = Instant::now();
        let book = Book::open(place, Access::Write).await?;
        book.store().samples(&SampleQuery::default()).await?;
        times_ms.push(1000.0 * begun.elapsed().as_secs_f64());
        book.close().await;
    }
    line("book opened and first page of samples", times_ms, "")?;
    let begun = Instant::now();
    let verdict = meltrange_labbook::verify(place, None, &mut |_| ()).await?;
    assert!(verdict.sound(), "{:?}", verdict.findings);
    writeln!(
        std::io::stdout(),
        "verified: {} records and {:.0} MB of recordings in {:.1} s",
        verdict.records,
        verdict.recording_bytes as f64 / 1e6,
        begun.elapsed().as_secs_f64()
    )?;
    Ok(())
}
