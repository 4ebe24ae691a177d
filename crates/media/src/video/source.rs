//! A video file as a source of frames.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use meltrange_reading::{Density, Frame, FrameRequest, FrameSource, Region, SourceInfo};

use super::decoder::{Decoder, Orders};
use super::luma::LumaKind;
use super::probe::{VideoFacts, probe};
use super::said::{Complaints, Stamp};
use crate::error::MediaError;
use crate::remark::MediaRemark;
use crate::size::delivered_size;
use crate::thinning::{Spacing, TIME_TOLERANCE_S, clip_region};

/// A first picture farther than this from video time 0 is worth a remark [s].
const START_REMARK_S: f64 = 0.5;

/// A video file; pictures are decoded by ffmpeg on demand.
#[derive(Debug)]
pub struct VideoSource {
    path: PathBuf,
    facts: VideoFacts,
    /// Log time of the container's time 0 [s].
    offset_s: f64,
    info: SourceInfo,
    region: Option<Region>,
    remarks: Doubts,
}

/// One picture in colour.
#[derive(Debug, Clone, Copy)]
pub struct ColourPicture<'a> {
    /// Time on the log's clock [s].
    pub time_s: f64,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width × 3`, row-major, red, green, blue, 0..=255.
    pub rgb: &'a [u8],
}

/// What was noticed in any pass so far.
#[derive(Debug, Clone, Default)]
struct Doubts {
    cut_short: Option<MediaRemark>,
    damaged: Option<(u64, String)>,
    not_rising: Option<(u64, f64)>,
    without_time: u64,
}

/// What was noticed in one pass.
#[derive(Debug, Clone, Copy, Default)]
struct Pass {
    last_s: Option<f64>,
    not_rising: Option<(u64, f64)>,
    without_time: u64,
    stopped: bool,
}

impl VideoSource {
    /// Look at a video file; nothing is decoded yet.
    ///
    /// `video_start_s` is the log time of video time 0 [s]. Video time 0 is the zero of the
    /// container's presentation clock as ffprobe reports it (its `pts_time`), after edit lists;
    /// for transport and program streams, whose clocks start anywhere, it is the file's start.
    ///
    /// # Errors
    /// [`MediaError`] when ffmpeg is missing or the file is no video with at least one picture.
    pub fn open(path: &Path, video_start_s: f64) -> Result<Self, MediaError> {
        if !video_start_s.is_finite() {
            return Err(MediaError::StartNotFinite {
                found: video_start_s,
            });
        }
        let facts = probe(path)?;
        let (width, height, source_px_per_px) = delivered_size(facts.width, facts.height);
        let offset_s = video_start_s - facts.zero_s;
        let info = SourceInfo {
            width,
            height,
            source_px_per_px,
            start_s: facts.start_s + offset_s,
            end_s: facts.end_s + offset_s,
            frame_interval_s: facts.frame_interval_s,
            cheap_key_frames: facts.cheap_key_frames,
        };
        Ok(Self {
            path: path.into(),
            facts,
            offset_s,
            info,
            region: None,
            remarks: Doubts::default(),
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Doubts collected by the passes so far.
    pub fn remarks(&self) -> Vec<MediaRemark> {
        let mut remarks = Vec::new();
        let first_s = self.facts.start_s - self.facts.zero_s;
        if first_s.abs() > START_REMARK_S {
            remarks.push(MediaRemark::StartsAwayFromZero { first_s });
        }
        remarks.extend(self.remarks.cut_short.clone());
        if let Some((complaints, first)) = self.remarks.damaged.clone() {
            remarks.push(MediaRemark::Damaged { complaints, first });
        }
        if let Some((skipped, first_s)) = self.remarks.not_rising {
            remarks.push(MediaRemark::TimesNotRising { skipped, first_s });
        }
        if self.remarks.without_time > 0 {
            remarks.push(MediaRemark::WithoutTime {
                skipped: self.remarks.without_time,
            });
        }
        remarks
    }

    /// Deliver pictures in colour, at least `spacing_s` apart (0 means all), for people to look at:
    /// scaled and turned as the grey ones are, converted by ffmpeg.
    ///
    /// # Errors
    /// [`MediaError`]; pictures delivered before stay valid.
    pub fn deliver_colour(
        &mut self,
        spacing_s: f64,
        sink: &mut dyn FnMut(ColourPicture<'_>) -> ControlFlow<()>,
    ) -> Result<(), MediaError> {
        let request = FrameRequest {
            from_s: f64::NEG_INFINITY,
            to_s: f64::INFINITY,
            density: Density::Spaced { spacing_s },
        };
        let (width, height) = (self.info.width, self.info.height);
        let mut orders = self.orders(request, None);
        orders.luma = LumaKind::FullPlane;
        orders.frame_len = 3 * width * height;
        orders.filters = select(
            f64::NEG_INFINITY,
            f64::INFINITY,
            Spacing::of(request.density).least_s(),
            &self.facts,
        )
        .into_iter()
        .chain(self.colour_filters())
        .collect();
        let mut decoder = Decoder::start(&orders)?;
        let pass = self.pump(
            &mut decoder,
            request.to_s,
            (width, height),
            &mut |picture| {
                sink(ColourPicture {
                    time_s: picture.time_s,
                    width,
                    height,
                    rgb: picture.luma,
                })
            },
        )?;
        let complaints = decoder.finish();
        self.note(request, pass, &complaints);
        Ok(())
    }

    fn colour_filters(&self) -> Vec<String> {
        let turn = self.facts.turn;
        let (width, height) = if turn.by_decoder() {
            (self.info.width, self.info.height)
        } else {
            turn.size_after(self.info.width, self.info.height)
        };
        let mut filters = vec![format!("scale={width}:{height}:flags=area")];
        filters.extend(turn.filters().iter().map(|filter| (*filter).to_owned()));
        filters.push("format=rgb24".into());
        filters
    }

    fn orders(&self, request: FrameRequest, region: Option<Region>) -> Orders<'_> {
        let (from_s, to_s) = (request.from_s - self.offset_s, request.to_s - self.offset_s);
        let spacing = Spacing::of(request.density);
        let key_frames_only =
            matches!(request.density, Density::KeyFrames { .. }) && self.facts.cheap_key_frames;
        let mut filters = Vec::new();
        filters.extend(select(
            from_s - TIME_TOLERANCE_S,
            to_s + TIME_TOLERANCE_S,
            spacing.least_s(),
            &self.facts,
        ));
        filters.extend(self.picture_filters(region));
        // Decoding restarts well before the first picture wanted: pictures that are shown before
        // but stored after a key frame need the group of pictures before it.
        let lead_s = (8.0 * self.facts.frame_interval_s).max(0.5);
        let seek_s = from_s - lead_s;
        Orders {
            path: &self.path,
            stream_index: self.facts.stream_index,
            key_frames_only,
            seek_s: (seek_s > self.facts.start_s + lead_s).then_some(seek_s),
            turn_by_decoder: self.facts.turn.by_decoder(),
            luma: self.facts.luma,
            filters,
            frame_len: region.map_or(self.info.width * self.info.height, |region| {
                region.width * region.height
            }),
            time_base: self.facts.time_base,
        }
    }

    /// Scale, turn and cut, in this order: turning costs least on the small picture.
    fn picture_filters(&self, region: Option<Region>) -> Vec<String> {
        let (turned_width, turned_height) = (self.info.width, self.info.height);
        let turn = self.facts.turn;
        let (width, height) = if turn.by_decoder() {
            (turned_width, turned_height)
        } else {
            turn.size_after(turned_width, turned_height)
        };
        let scale = format!("scale={width}:{height}:flags=area");
        // The scaler also sees to it that a picture of another size in mid-file does not upset the
        // pipe. One plane is scaled faster than three; ffmpeg converts and scales in one go.
        let mut filters = match self.facts.luma {
            LumaKind::Converted => vec![scale, LumaKind::Converted.filter().into()],
            plane => vec![plane.filter().into(), scale],
        };
        filters.extend(turn.filters().iter().map(|filter| (*filter).to_owned()));
        if let Some(Region {
            x,
            y,
            width,
            height,
        }) = region
        {
            filters.push(format!("crop={width}:{height}:{x}:{y}:exact=1"));
        }
        filters
    }

    /// Deliver until the end, the limit or the sink's stop.
    fn pump(
        &self,
        decoder: &mut Decoder<'_>,
        to_s: f64,
        size: (usize, usize),
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<Pass, MediaError> {
        let mut pass = Pass::default();
        while let Some(picture) = decoder.next()? {
            let Stamp::At { pts, time_base } = picture.stamp else {
                pass.without_time += 1;
                decoder.give_back(picture.luma);
                continue;
            };
            let time_s = time_base.seconds(pts) + self.offset_s;
            if pass.last_s.is_some_and(|last_s| time_s <= last_s) {
                let (skipped, first_s) = pass.not_rising.unwrap_or((0, time_s));
                pass.not_rising = Some((skipped + 1, first_s));
                decoder.give_back(picture.luma);
                continue;
            }
            if time_s > to_s + TIME_TOLERANCE_S {
                pass.stopped = true;
                break;
            }
            pass.last_s = Some(time_s);
            let (width, height) = size;
            let flow = sink(Frame {
                time_s,
                width,
                height,
                luma: &picture.luma,
            });
            decoder.give_back(picture.luma);
            if flow.is_break() {
                pass.stopped = true;
                break;
            }
        }
        Ok(pass)
    }

    fn note(&mut self, request: FrameRequest, pass: Pass, complaints: &Complaints) {
        let remarks = &mut self.remarks;
        remarks.without_time = remarks.without_time.max(pass.without_time);
        if pass.not_rising.map_or(0, |found| found.0)
            > remarks.not_rising.map_or(0, |found| found.0)
        {
            remarks.not_rising = pass.not_rising;
        }
        if complaints.errors > remarks.damaged.as_ref().map_or(0, |found| found.0) {
            remarks.damaged = Some((complaints.errors, complaints.first.clone()));
        }
        let Some(last_s) = pass.last_s.filter(|_| !pass.stopped) else {
            return;
        };
        // A pass over everything ends within one spacing of the last picture, unless it is missing.
        let (interval_s, end_s) = (self.info.frame_interval_s, self.info.end_s);
        let allowance_s = 1.0 + 3.0 * interval_s + Spacing::of(request.density).least_s().max(0.0);
        let dense =
            matches!(request.density, Density::Spaced { .. }) || !self.facts.cheap_key_frames;
        let short =
            dense && self.facts.end_is_stated && request.to_s.min(end_s) - last_s > allowance_s;
        if (short || complaints.ended_early) && dense {
            self.remarks.cut_short = Some(MediaRemark::CutShort {
                last_s,
                stated_end_s: self.facts.end_is_stated.then_some(end_s),
            });
        }
    }
}

impl FrameSource for VideoSource {
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
        let region = self.region;
        let size = region.map_or((self.info.width, self.info.height), |region| {
            (region.width, region.height)
        });
        let mut decoder = Decoder::start(&self.orders(request, region))?;
        let pass = self.pump(&mut decoder, request.to_s, size, sink)?;
        let complaints = decoder.finish();
        let whole = request.from_s <= self.info.start_s && request.to_s >= self.info.start_s;
        if pass.last_s.is_none() && !pass.stopped && whole {
            let path = self.path.clone();
            return Err(if complaints.errors > 0 {
                MediaError::Decode {
                    path,
                    said: complaints.last,
                }
            } else {
                MediaError::NoPictures { path }
            });
        }
        self.note(request, pass, &complaints);
        Ok(())
    }
}

/// A `select` filter for pictures of a span at least `least_s` apart, plus those after the span, by
/// which the reader knows that it is over; `None` when every picture is wanted.
fn select(from_s: f64, to_s: f64, least_s: f64, facts: &VideoFacts) -> Option<String> {
    let from_start = from_s <= facts.start_s;
    if from_start && least_s <= 0.0 {
        return None;
    }
    let spaced = if least_s > 0.0 {
        format!("*(isnan(prev_selected_t)+gte(t-prev_selected_t,{least_s:.6}))")
    } else {
        String::new()
    };
    let beyond = if to_s.is_finite() {
        format!("gt(t,{to_s:.9})+")
    } else {
        String::new()
    };
    let from = if from_start {
        "1".to_owned()
    } else {
        format!("gte(t,{from_s:.9})")
    };
    Some(format!("select='{beyond}{from}{spaced}'"))
}
