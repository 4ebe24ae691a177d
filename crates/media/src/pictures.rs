//! A folder of pictures with `frames.csv` as a source of frames.

use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use meltrange_reading::{Frame, FrameRequest, FrameSource, Region, SourceInfo};

use crate::error::MediaError;
use crate::frame_list::{FrameEntry, parse_frame_list};
use crate::order::{Order, RowTime};
use crate::picture::{Luma, decode, limited};
use crate::remark::MediaRemark;
use crate::size::delivered_size;
use crate::thinning::{Spacing, TIME_TOLERANCE_S, clip_region};

/// Unusable pictures that are named one by one; more are only counted.
const NAMED_PICTURES: usize = 5;

/// One picture in a file that holds many, one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackedPicture {
    /// When it was taken [s], strictly rising, on the clock of the pictures.
    pub time_s: f64,
    /// Its first byte.
    pub offset: u64,
    /// How many bytes it has.
    pub bytes: u64,
}

/// First byte and length.
type Span = (u64, u64);

/// Pictures listed in a `frames.csv`, or packed into one file.
#[derive(Debug)]
pub struct PictureSource {
    list: PathBuf,
    folders: Vec<PathBuf>,
    /// Strictly rising on the log's clock.
    entries: Vec<FrameEntry>,
    /// Where each picture stands in the one file that holds them all; empty for pictures in files
    /// of their own.
    spans: Vec<Span>,
    /// Size of the pictures as stored, upright.
    stored: (usize, usize),
    info: SourceInfo,
    region: Option<Region>,
    /// Rows that stood out of order, and the line of the first.
    late: Option<(usize, u64)>,
    not_rising: Option<(u64, f64)>,
    /// Lines of unusable pictures with what is wrong, in the order of the list.
    unusable: Vec<(u64, String, String)>,
}

impl PictureSource {
    /// Read the list and look at its first usable picture.
    ///
    /// Names in the list are looked up in `folders`, in this order. `video_start_s` is the log
    /// time of the list's time 0 [s]. Rows out of order are sorted; of several at one time the first
    /// is kept; each with a remark.
    ///
    /// # Errors
    /// [`MediaError`] when the list cannot be used or joins two recordings, a listed picture is not
    /// there, or none can be decoded.
    pub fn open(
        list: &Path,
        folders: Vec<PathBuf>,
        video_start_s: f64,
    ) -> Result<Self, MediaError> {
        if !video_start_s.is_finite() {
            return Err(MediaError::StartNotFinite {
                found: video_start_s,
            });
        }
        let bytes = std::fs::read(list).map_err(|source| MediaError::Unreadable {
            path: list.into(),
            source,
        })?;
        let mut entries = parse_frame_list(&list.display().to_string(), &bytes)?;
        let late = sort(list, &mut entries)?;
        let not_rising = keep_rising(&mut entries, video_start_s);
        if let ([only], Some((dropped, _))) = (entries.as_slice(), not_rising) {
            return Err(MediaError::AllAtOneTime {
                list: list.into(),
                count: dropped as usize + 1,
                time_s: only.time_s - video_start_s,
            });
        }
        let mut source = Self {
            list: list.into(),
            folders,
            info: info(&entries),
            entries,
            spans: Vec::new(),
            stored: (0, 0),
            region: None,
            late,
            not_rising,
            unusable: Vec::new(),
        };
        for entry in &source.entries {
            source.find(entry)?;
        }
        source.learn_size()?;
        Ok(source)
    }

    /// Pictures that stand one after the other in `file`, as `pictures` says.
    ///
    /// `video_start_s` is the log time of the pictures' time 0 [s].
    ///
    /// # Errors
    /// [`MediaError`] when there is none, their times do not rise, or none can be decoded.
    pub fn packed(
        file: &Path,
        pictures: &[PackedPicture],
        video_start_s: f64,
    ) -> Result<Self, MediaError> {
        if !video_start_s.is_finite() {
            return Err(MediaError::StartNotFinite {
                found: video_start_s,
            });
        }
        if pictures.is_empty() {
            return Err(MediaError::NoPictures { path: file.into() });
        }
        let mut entries: Vec<FrameEntry> = (1..)
            .zip(pictures)
            .map(|(line, picture)| FrameEntry {
                line,
                file: format!("picture {line}"),
                time_s: picture.time_s,
            })
            .collect();
        if let Some((line, pair)) = (2..)
            .zip(pictures.windows(2))
            .find(|(_, pair)| !matches!(pair, [before, found] if found.time_s > before.time_s))
        {
            return Err(MediaError::ClockRestarts {
                list: file.into(),
                line,
                before_s: pair[0].time_s,
                found_s: pair[1].time_s,
            });
        }
        keep_rising(&mut entries, video_start_s);
        let mut source = Self {
            list: file.into(),
            folders: Vec::new(),
            info: info(&entries),
            spans: pictures
                .iter()
                .map(|picture| (picture.offset, picture.bytes))
                .collect(),
            entries,
            stored: (0, 0),
            region: None,
            late: None,
            not_rising: None,
            unusable: Vec::new(),
        };
        source.learn_size()?;
        Ok(source)
    }

    /// The picture files in order of time, with their times on the log's clock [s]. Of packed
    /// pictures there are none.
    ///
    /// # Errors
    /// [`MediaError::PictureMissing`] when one went away.
    pub fn files(&self) -> Result<Vec<(PathBuf, f64)>, MediaError> {
        if !self.spans.is_empty() {
            return Ok(Vec::new());
        }
        self.entries
            .iter()
            .map(|entry| Ok((self.find(entry)?, entry.time_s)))
            .collect()
    }

    /// Doubts collected so far.
    pub fn remarks(&self) -> Vec<MediaRemark> {
        let list = self.list.display().to_string();
        let mut remarks = Vec::new();
        if let Some((count, first_line)) = self.late {
            remarks.push(MediaRemark::OutOfOrder {
                list: list.clone(),
                count,
                first_line,
            });
        }
        if let Some((skipped, first_s)) = self.not_rising {
            remarks.push(MediaRemark::TimesNotRising { skipped, first_s });
        }
        for (line, file, problem) in self.unusable.iter().take(NAMED_PICTURES) {
            remarks.push(MediaRemark::PictureUnusable {
                list: list.clone(),
                line: *line,
                file: file.clone(),
                problem: problem.clone(),
            });
        }
        if self.unusable.len() > NAMED_PICTURES {
            remarks.push(MediaRemark::MorePicturesUnusable {
                list,
                count: (self.unusable.len() - NAMED_PICTURES) as u64,
            });
        }
        remarks
    }

    fn find(&self, entry: &FrameEntry) -> Result<PathBuf, MediaError> {
        self.folders
            .iter()
            .map(|folder| folder.join(&entry.file))
            .find(|path| path.is_file())
            .ok_or_else(|| MediaError::PictureMissing {
                list: self.list.clone(),
                line: entry.line,
                file: entry.file.clone(),
                looked_in: self
                    .folders
                    .iter()
                    .map(|folder| folder.display().to_string())
                    .collect::<Vec<_>>()
                    .join(" and "),
            })
    }

    fn load(&self, at: usize) -> Result<Luma, String> {
        let bytes = match self.spans.get(at) {
            Some(&span) => read_span(&self.list, span),
            None => {
                let path = self
                    .find(&self.entries[at])
                    .map_err(|_| "is not there any more")?;
                std::fs::read(&path)
            }
        };
        decode(&bytes.map_err(|error| format!("cannot be read ({error})"))?)
    }

    /// The size of the first picture that can be decoded is that of all.
    fn learn_size(&mut self) -> Result<(), MediaError> {
        let mut first_problem = None;
        for (at, entry) in self.entries.iter().enumerate() {
            match self.load(at) {
                Ok(luma) => {
                    self.stored = (luma.width, luma.height);
                    (
                        self.info.width,
                        self.info.height,
                        self.info.source_px_per_px,
                    ) = delivered_size(luma.width, luma.height);
                    return Ok(());
                }
                Err(problem) => {
                    first_problem.get_or_insert((entry.line, entry.file.clone(), problem));
                }
            }
        }
        let (line, file, problem) = first_problem.expect("a list that was read has rows");
        Err(MediaError::PictureUnusable {
            list: self.list.clone(),
            line,
            file,
            problem,
        })
    }

    fn load_same_size(&self, at: usize) -> Result<Luma, String> {
        let luma = self.load(at)?;
        let (width, height) = self.stored;
        if (luma.width, luma.height) != (width, height) {
            return Err(format!(
                "is {} × {} pixels where the first picture is {width} × {height}",
                luma.width, luma.height
            ));
        }
        Ok(limited(luma, self.info.width, self.info.height))
    }

    fn note(&mut self, at: usize, problem: String) {
        let entry = &self.entries[at];
        if let Err(place) = self
            .unusable
            .binary_search_by_key(&entry.line, |(line, ..)| *line)
        {
            self.unusable
                .insert(place, (entry.line, entry.file.clone(), problem));
        }
    }
}

impl FrameSource for PictureSource {
    type Error = MediaError;

    fn info(&self) -> SourceInfo {
        self.info
    }

    fn set_region(&mut self, region: Option<Region>) {
        self.region =
            region.and_then(|region| clip_region(region, self.info.width, self.info.height));
    }

    fn deliver(
        &mut self,
        request: FrameRequest,
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<(), MediaError> {
        let spacing = Spacing::of(request.density);
        let from_s = request.from_s - TIME_TOLERANCE_S;
        let begin = self.entries.partition_point(|entry| entry.time_s < from_s);
        let mut before_s = None;
        let mut part = Vec::new();
        for at in begin..self.entries.len() {
            let time_s = self.entries[at].time_s;
            if time_s > request.to_s + TIME_TOLERANCE_S {
                break;
            }
            if !spacing.admits(time_s, before_s) {
                continue;
            }
            let luma = match self.load_same_size(at) {
                Ok(luma) => luma,
                Err(problem) => {
                    self.note(at, problem);
                    continue;
                }
            };
            before_s = Some(time_s);
            let frame = match self.region {
                None => Frame {
                    time_s,
                    width: luma.width,
                    height: luma.height,
                    luma: &luma.pixels,
                },
                Some(region) => {
                    cut(&luma, region, &mut part);
                    Frame {
                        time_s,
                        width: region.width,
                        height: region.height,
                        luma: &part,
                    }
                }
            };
            if sink(frame).is_break() {
                break;
            }
        }
        Ok(())
    }
}

fn read_span(file: &Path, (offset, bytes): Span) -> std::io::Result<Vec<u8>> {
    let mut file = File::open(file)?;
    file.seek(SeekFrom::Start(offset))?;
    let mut picture = Vec::new();
    file.take(bytes).read_to_end(&mut picture)?;
    if (picture.len() as u64) < bytes {
        return Err(std::io::ErrorKind::UnexpectedEof.into());
    }
    Ok(picture)
}

fn cut(luma: &Luma, region: Region, part: &mut Vec<u8>) {
    part.clear();
    for line in luma
        .pixels
        .chunks_exact(luma.width)
        .skip(region.y)
        .take(region.height)
    {
        part.extend_from_slice(&line[region.x..region.x + region.width]);
    }
}

/// Sort by time, keeping the order of equal times; how many stood out of order, and the first's line.
fn sort(list: &Path, entries: &mut [FrameEntry]) -> Result<Option<(usize, u64)>, MediaError> {
    let times: Vec<RowTime> = entries
        .iter()
        .map(|entry| (entry.line, entry.time_s))
        .collect();
    match Order::of(&times) {
        Order::Rising => Ok(None),
        Order::Restarts {
            line,
            before_s,
            found_s,
        } => Err(MediaError::ClockRestarts {
            list: list.into(),
            line,
            before_s,
            found_s,
        }),
        Order::Late { count, first_line } => {
            entries.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
            Ok(Some((count, first_line)))
        }
    }
}

/// Shift to the log's clock and leave out rows that do not rise; how many, and the first's time.
fn keep_rising(entries: &mut Vec<FrameEntry>, video_start_s: f64) -> Option<(u64, f64)> {
    let mut last_s = f64::NEG_INFINITY;
    let mut dropped: Option<(u64, f64)> = None;
    entries.retain_mut(|entry| {
        entry.time_s += video_start_s;
        let rises = entry.time_s > last_s;
        if rises {
            last_s = entry.time_s;
        } else {
            let (count, first_s) = dropped.unwrap_or((0, entry.time_s));
            dropped = Some((count + 1, first_s));
        }
        rises
    });
    dropped
}

fn info(entries: &[FrameEntry]) -> SourceInfo {
    let time = |entry: Option<&FrameEntry>| entry.map_or(0.0, |entry| entry.time_s);
    let mut steps: Vec<f64> = entries
        .windows(2)
        .map(|pair| pair[1].time_s - pair[0].time_s)
        .collect();
    steps.sort_by(f64::total_cmp);
    SourceInfo {
        width: 0,
        height: 0,
        source_px_per_px: 1.0,
        start_s: time(entries.first()),
        end_s: time(entries.last()),
        frame_interval_s: steps.get(steps.len() / 2).copied().unwrap_or(1.0),
        cheap_key_frames: false,
    }
}
