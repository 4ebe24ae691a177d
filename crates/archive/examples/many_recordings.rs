//! A book with many small recordings, to measure exports on.
//!
//! `many_recordings BOOK RECORDINGS`: each of 40 pictures of 4 kB and a log of as many rows. The practical is
//! invented.

use meltrange_labbook::{Book, Draft, LoadedTube, Person, Role, Run, RunState, Sample, SampleId};

const PICTURES: u32 = 40;
const PICTURE_BYTES: usize = 4096;

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(place), Some(count)) = (arguments.next(), arguments.next()) else {
        return Err("expected BOOK RECORDINGS".into());
    };
    let count: u32 = count.parse()?;
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place.as_ref(), "Many recordings", first).await?;
    for number in 1..=count {
        let sample = Draft::new(Sample {
            label: format!("U-{number}"),
            expected_substance: Some("acetanilide".into()),
            ..Sample::default()
        });
        let run = Draft::new(Run {
            bench: None,
            load: vec![LoadedTube {
                place: 1,
                sample: Some(SampleId::from(sample.subject())),
            }],
            programme: None,
            state: RunState::UnderWay,
            remarks: None,
        });
        let id = run.subject().into();
        book.append(who, vec![sample, run]).await?;
        let mut writer = book.begin_recording(who, id).await?;
        for at in 0..PICTURES {
            let time_s = f64::from(at) / 2.0;
            let mut picture = vec![0xFF, 0xD8];
            picture.resize(PICTURE_BYTES, (number ^ at) as u8);
            writer.frame(time_s, picture)?;
            writer.temperature(time_s, 110.0 + time_s / 60.0)?;
        }
        book.end_recording(who, writer).await?;
    }
    book.close().await;
    Ok(())
}
