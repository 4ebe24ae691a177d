//! A book's recordings: captured, imported, looked at, read.

use crate::book::{Book, Handed, PROGRAM, RECORDINGS};
use crate::curves::Curves;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::{PersonId, RecordingId, RunId};
use crate::query::{LONGEST_PAGE, RecordingQuery, RecordingState};
use crate::recording::{
    FRAMES, Frames, INDEX, ImportOrder, Imported, LOG, Manifest, RecordingWriter, STAGED, SoFar,
    make_pictures, read_index, recover, stage, summary, unstage, video_in,
};
use crate::records::{
    Draft, Entry, LoadedTube, Reader, Reading, Record, Recording, RecordingEnd, RecordingSource,
    Run, RunState, TubeEntry,
};
use crate::store::Batch;
use meltrange_media::{LogRead, Opened, PackedPicture, PictureSource, VideoSource};
use std::ops::ControlFlow;
use std::path::Path;

/// Why a recording that was under way when the program ended is over.
const CUT_OFF: &str = "the program or the machine stopped while it was recorded";

impl RecordingSource {
    /// Log time of the pictures' time 0 [s].
    pub fn video_start_s(&self) -> f64 {
        match self {
            Self::Camera => 0.0,
            Self::Video { video_start_s, .. } | Self::Pictures { video_start_s, .. } => {
                *video_start_s
            }
        }
    }
}

/// Run `work` where it may wait for the disk.
async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, BookError> + Send + 'static,
) -> Result<T, BookError> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| BookError::Task {
            found: error.to_string(),
        })?
}

impl Book {
    /// Begin a recording of `run`. Pictures and temperatures go to the writer, whose calls do not wait
    /// for the disk; then [`Book::end_recording`].
    ///
    /// # Errors
    /// [`BookError`] when there is no such run or nothing can be written.
    pub async fn begin_recording(
        &self,
        who: PersonId,
        run: RunId,
    ) -> Result<RecordingWriter, BookError> {
        let draft = Draft::new(Recording {
            run,
            source: RecordingSource::Camera,
            end: None,
        });
        let id: RecordingId = draft.subject().into();
        if let Some(begun) = self.begun() {
            begun.add(id)?;
        }
        // Recorded first: a crash in between leaves an empty recording, not a nameless folder.
        self.append(who, vec![draft]).await?;
        let folder = self.recording_folder(id);
        blocking(move || RecordingWriter::begin(&folder, id)).await
    }

    /// End a recording: its manifest is written, its digest recorded. In trouble with the disk this
    /// waits some ten seconds for it.
    ///
    /// # Errors
    /// [`BookError`], as [`BookError::EndLost`] when the disk did not take everything; the recording then is recovered when the book is opened again.
    pub async fn end_recording(
        &self,
        who: PersonId,
        writer: RecordingWriter,
    ) -> Result<Handed, BookError> {
        let id = writer.recording();
        let end = blocking(move || {
            let folder = writer.end()?;
            let manifest = Manifest::of(&folder, id, false, &mut |_| ())?.write(&folder)?;
            let lines = read_index(&folder.join(INDEX))?;
            let times_s = lines.first().zip(lines.last());
            // A log too short to be used is kept all the same.
            let log = meltrange_media::read_log(&folder.join(LOG)).ok();
            Ok(summary(
                manifest,
                false,
                lines.len() as u64,
                times_s.map(|(first, last)| (first.time_s, last.time_s)),
                log.as_ref().map(|read| &read.log),
            ))
        })
        .await?;
        self.record_end(who, id, end, None).await
    }

    async fn record_end(
        &self,
        who: PersonId,
        id: RecordingId,
        end: RecordingEnd,
        reason: Option<&str>,
    ) -> Result<Handed, BookError> {
        let latest = self.store().latest(id.into()).await?;
        let Entry::Recording(recording) = latest.entry else {
            return Err(unknown(id));
        };
        let mut draft = Draft::revision(
            id,
            latest.id,
            Recording {
                end: Some(end),
                ..recording
            },
        );
        if let Some(reason) = reason {
            draft = draft.because(reason);
        }
        let handed = self.append_or_keep(who, vec![draft]).await?;
        if let Some(begun) = self.begun() {
            begun.remove(id)?;
        }
        Ok(handed)
    }

    /// Import a video or a folder of pictures with its log, as they are; a run is made for it.
    ///
    /// `progress` hears the part done, 0..=1, on another thread. Pictures to look at are made
    /// afterwards by [`Book::make_pictures`].
    ///
    /// # Errors
    /// [`BookError`]; then nothing is left of it.
    pub async fn import(
        &self,
        who: PersonId,
        order: ImportOrder,
        mut progress: impl FnMut(f64) + Send + 'static,
    ) -> Result<Imported, BookError> {
        let run = Draft::new(Run {
            bench: order.bench,
            load: (1..)
                .zip(&order.samples)
                .map(|(place, &sample)| LoadedTube { place, sample })
                .collect(),
            programme: None,
            state: RunState::Ended,
            remarks: order.remarks.clone(),
        });
        let imported = Imported {
            run: run.subject().into(),
            recording: RecordingId::new(),
        };
        let recordings = self.folder().join(RECORDINGS);
        let id = imported.recording;
        let staged = blocking(move || stage(&recordings, id, &order, &mut progress)).await?;
        let recording = Draft::about(
            id,
            Recording {
                run: imported.run,
                source: staged.source.clone(),
                end: Some(staged.end.clone()),
            },
        );
        // Recorded first: what was recorded and not put in its place is put there at the next opening.
        self.append(who, vec![run, recording]).await?;
        blocking(move || staged.put()).await?;
        Ok(imported)
    }

    /// Say anew where the pictures' time 0 stands on the log's clock.
    ///
    /// # Errors
    /// [`BookError`]: not for pictures from a camera, whose times are the log's.
    pub async fn realign(
        &self,
        who: PersonId,
        id: RecordingId,
        start_s: f64,
        reason: &str,
    ) -> Result<Record, BookError> {
        let latest = self.store().latest(id.into()).await?;
        let Entry::Recording(mut recording) = latest.entry else {
            return Err(unknown(id));
        };
        let moved_s = start_s - recording.source.video_start_s();
        match &mut recording.source {
            RecordingSource::Camera => {
                return Err(BookError::Field {
                    field: "recording.video_start_s",
                    found: start_s.to_string(),
                    expected: "no start: these pictures were taken on the log's clock",
                });
            }
            RecordingSource::Video { video_start_s, .. }
            | RecordingSource::Pictures { video_start_s, .. } => *video_start_s = start_s,
        }
        if let Some(end) = &mut recording.end {
            for time_s in [&mut end.start_s, &mut end.end_s].into_iter().flatten() {
                *time_s += moved_s;
            }
        }
        let draft = Draft::revision(id, latest.id, recording).because(reason);
        let mut records = self.append(who, vec![draft]).await?;
        records.pop().ok_or_else(|| unknown(id))
    }

    /// Make the pictures of an imported video that people look at, anew where there are some; how
    /// many. They count for nothing else. `progress` hears the part done on another thread.
    ///
    /// # Errors
    /// [`BookError`]; then there are those from before.
    pub async fn make_pictures(
        &self,
        id: RecordingId,
        mut progress: impl FnMut(f64) -> ControlFlow<()> + Send + 'static,
    ) -> Result<u64, BookError> {
        self.bring_here(id).await?;
        let folder = self.recording_folder(id);
        blocking(move || make_pictures(&folder, &mut progress)).await
    }

    /// The pictures of a recording. Keep the answer: opening it reads the whole index.
    ///
    /// # Errors
    /// [`BookError`]: there is no such recording, or its pictures are not made yet.
    pub async fn frames(&self, id: RecordingId) -> Result<Frames, BookError> {
        let recording = self.recording_entry(id).await?;
        self.bring_here(id).await?;
        let folder = self.recording_folder(id);
        let so_far = match recording.end {
            Some(_) => SoFar::Ended,
            None => SoFar::UnderWay,
        };
        blocking(move || Frames::open(&folder, recording.source.video_start_s(), so_far)).await
    }

    /// The temperature log of a recording.
    ///
    /// # Errors
    /// [`BookError`]: there is no such recording, or its log cannot be used.
    pub async fn log(&self, id: RecordingId) -> Result<LogRead, BookError> {
        self.recording_entry(id).await?;
        self.bring_here(id).await?;
        let path = self.recording_folder(id).join(LOG);
        blocking(move || Ok(meltrange_media::read_log(&path)?)).await
    }

    /// What the reading engine takes its frames from: the video or the pictures as captured.
    ///
    /// # Errors
    /// [`BookError`]: there is no such recording, or nothing in it can be decoded.
    pub async fn source(&self, id: RecordingId) -> Result<Opened, BookError> {
        let recording = self.recording_entry(id).await?;
        self.bring_here(id).await?;
        let folder = self.recording_folder(id);
        blocking(move || open_source(&folder, recording.source.video_start_s())).await
    }

    /// Record what the engine read in a recording, with its curves; `notes` are doubts about the files.
    /// Which sample stood where is taken from the run's load.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was recorded.
    pub async fn record_engine_reading(
        &self,
        who: PersonId,
        recording: RecordingId,
        found: &meltrange_reading::Reading,
        notes: Vec<String>,
    ) -> Result<Record, BookError> {
        let (reading, curves) = self.engine_reading(recording, found, notes).await?;
        let mut records = self
            .write(Batch {
                who: Some(who),
                drafts: vec![Draft::new(reading)],
                attachments: vec![curves],
            })
            .await?;
        records.pop().ok_or_else(|| unknown(recording))
    }

    /// What the engine read in a recording as it would be recorded, and its curves.
    ///
    /// # Errors
    /// [`BookError`]: there is no such recording.
    pub async fn engine_reading(
        &self,
        recording: RecordingId,
        found: &meltrange_reading::Reading,
        mut notes: Vec<String>,
    ) -> Result<(Reading, Vec<u8>), BookError> {
        let load = self.store().recording(recording).await?.row.load;
        if !load.is_empty() && load.len() != found.tubes.len() {
            notes.push(format!(
                "the run's load names {} tubes, {} were found; check which sample is which",
                load.len(),
                found.tubes.len()
            ));
        }
        let curves = serde_json::to_vec(&Curves::of(found))?;
        let in_place = |place: usize| {
            load.iter()
                .find(|tube| usize::from(tube.place) == place)
                .and_then(|tube| tube.sample)
        };
        let reading = Reading {
            recording,
            reader: Reader::Engine {
                program: PROGRAM.into(),
            },
            tubes: found
                .tubes
                .iter()
                .map(|tube| TubeEntry::by_engine(tube, in_place(tube.tube)))
                .collect(),
            quality: found.quality.iter().map(Into::into).collect(),
            notes,
            curves: Some(Digest::of(&curves)),
        };
        Ok((reading, curves))
    }

    async fn recording_entry(&self, id: RecordingId) -> Result<Recording, BookError> {
        match self.store().latest(id.into()).await {
            Ok(Record {
                entry: Entry::Recording(recording),
                ..
            }) => Ok(recording),
            Ok(_) | Err(BookError::Unknown { .. }) => Err(unknown(id)),
            Err(other) => Err(other),
        }
    }

    /// Put in order what a crash left.
    pub(crate) async fn recover(&self) -> Result<(), BookError> {
        let recordings = self.folder().join(RECORDINGS);
        let mut recorded = std::collections::BTreeSet::new();
        for id in staged_ids(&recordings)? {
            if self.recording_entry(id).await.is_ok() {
                recorded.insert(id);
            }
        }
        unstage(&recordings, |id| recorded.contains(&id))?;
        if self.shared_at().is_some() {
            return self.recover_own().await;
        }
        let under_way = RecordingQuery {
            state: Some(RecordingState::UnderWay),
            limit: LONGEST_PAGE,
            ..RecordingQuery::default()
        };
        loop {
            let rows = self.store().recordings(&under_way).await?.rows;
            if rows.is_empty() {
                return Ok(());
            }
            for row in rows {
                self.recover_one(row.id).await?;
            }
        }
    }

    /// In a shared book: those that were begun on this machine; others are under way elsewhere.
    async fn recover_own(&self) -> Result<(), BookError> {
        let Some(begun) = self.begun() else {
            return Ok(());
        };
        for id in begun.ids()? {
            match self.recording_entry(id).await {
                Ok(recording) if recording.end.is_none() => self.recover_one(id).await?,
                // It was never recorded, or its end was.
                Ok(_) | Err(BookError::Unknown { .. }) => begun.remove(id)?,
                Err(other) => return Err(other),
            }
        }
        Ok(())
    }

    async fn recover_one(&self, id: RecordingId) -> Result<(), BookError> {
        let begun = self.store().latest(id.into()).await?;
        let (Entry::Recording(recording), Some(who)) = (begun.entry, begun.who) else {
            return Err(unknown(id));
        };
        let folder = self.recording_folder(id);
        let end = blocking(move || recover(&folder, id)).await?;
        self.record_end(who, id, end, Some(CUT_OFF)).await?;
        let run = self.store().latest(recording.run.into()).await?;
        if let Entry::Run(entry) = run.entry
            && entry.state == RunState::UnderWay
        {
            let broken = Run {
                state: RunState::Broken,
                ..entry
            };
            let draft = Draft::revision(recording.run, run.id, broken).because(CUT_OFF);
            self.append_or_keep(who, vec![draft]).await?;
        }
        Ok(())
    }
}

fn staged_ids(recordings: &Path) -> Result<Vec<RecordingId>, BookError> {
    let entries = match std::fs::read_dir(recordings) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        other => other.map_err(|error| BookError::file(recordings, "read", error))?,
    };
    Ok(entries
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name();
            name.to_string_lossy().strip_prefix(STAGED)?.parse().ok()
        })
        .collect())
}

fn open_source(folder: &Path, shift_s: f64) -> Result<Opened, BookError> {
    if let Some(video) = video_in(folder) {
        return Ok(Opened::Video(VideoSource::open(&video, shift_s)?));
    }
    let pictures: Vec<PackedPicture> = read_index(&folder.join(INDEX))?
        .iter()
        .map(|line| PackedPicture {
            time_s: line.time_s,
            offset: line.offset,
            bytes: line.bytes,
        })
        .collect();
    let file = folder.join(FRAMES);
    Ok(Opened::Pictures(PictureSource::packed(
        &file, &pictures, shift_s,
    )?))
}

fn unknown(id: RecordingId) -> BookError {
    BookError::Unknown {
        what: "recording",
        name: id.to_string(),
    }
}
