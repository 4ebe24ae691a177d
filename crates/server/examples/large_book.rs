//! A large book to time the server on: `cargo run --release -p meltrange-server --example large_book -- BOOK`,
//! then `scripts/frame_speed.py BOOK`. 1,000 samples, 5,000 recordings, one of them with 20,000 pictures of
//! 40 kB; the others have records only.

use meltrange_labbook::{
    Book, Digest, Draft, LoadedTube, Person, Recording, RecordingEnd, RecordingSource, Role, Run,
    RunState, Sample, SampleId,
};
use std::error::Error;

const SAMPLES: usize = 1_000;
const RECORDINGS: usize = 5_000;
const FRAMES: u32 = 20_000;
const FRAME_BYTES: usize = 40_000;
const FLUSH_EVERY: u32 = 1_000;

/// Drafts written together.
const BATCH: usize = 500;

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let place = std::env::args_os().nth(1).ok_or("expected BOOK")?;
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place.as_ref(), "Large", first).await?;
    let drafts: Vec<Draft> = (0..SAMPLES)
        .map(|at| {
            Draft::new(Sample {
                label: format!("S-{at}"),
                origin: Some("Imaginary College".into()),
                ..Sample::default()
            })
        })
        .collect();
    let samples: Vec<SampleId> = drafts.iter().map(|draft| draft.subject().into()).collect();
    for batch in drafts.chunks(BATCH) {
        book.append(who, batch.to_vec()).await?;
    }
    let mut drafts = Vec::new();
    for at in 1..RECORDINGS {
        let run = Draft::new(run(samples.get(at % SAMPLES).copied()));
        let recording = Draft::new(Recording {
            run: run.subject().into(),
            source: RecordingSource::Camera,
            end: Some(RecordingEnd {
                manifest: Digest::of(b""),
                cut: false,
                frames: 0,
                start_s: None,
                end_s: None,
                lowest_c: None,
                highest_c: None,
            }),
        });
        drafts.extend([run, recording]);
    }
    for batch in drafts.chunks(BATCH) {
        book.append(who, batch.to_vec()).await?;
    }
    let last = Draft::new(Run {
        state: RunState::UnderWay,
        ..run(samples.first().copied())
    });
    let id = last.subject().into();
    book.append(who, vec![last]).await?;
    let mut writer = book.begin_recording(who, id).await?;
    for number in 0..FRAMES {
        let time_s = f64::from(number) * 0.1;
        // Taken for a JPEG by its first bytes; nobody decodes it here.
        let mut picture = vec![0xFF, 0xD8];
        picture.extend(number.to_le_bytes());
        picture.resize(FRAME_BYTES, 7);
        writer.frame(time_s, picture)?;
        writer.temperature(time_s, 100.0 + time_s / 60.0)?;
        if number % FLUSH_EVERY == 0 {
            // Faster than any camera: what the disk did not take yet waits in bounded memory.
            writer.flush()?;
        }
    }
    book.end_recording(who, writer).await?;
    book.close().await;
    Ok(())
}

fn run(sample: Option<SampleId>) -> Run {
    Run {
        bench: None,
        load: vec![LoadedTube { place: 1, sample }],
        programme: None,
        state: RunState::Ended,
        remarks: None,
    }
}
