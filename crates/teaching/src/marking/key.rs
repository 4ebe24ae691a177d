//! What is known of a recording: by its truth, or by several readers.

use super::Marks;
use meltrange_scene::{Content, Film};
use serde::{Deserialize, Serialize};

/// On what the answer rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = AnswerBasis))]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The recording was drawn; what happened in it is known.
    Truth,
    /// Several readers read it; their mean is taken.
    Consensus,
}

/// Pictures of a recording: when, and how warm the block was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PictureTrack {
    times_s: Vec<f64>,
    temperatures_c: Vec<f64>,
}

/// Why there is no answer to mark against.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum KeyError {
    /// Pictures and temperatures that do not belong together.
    #[error(
        "{times} picture times and {temperatures} temperatures; expected as many of each, at least 2"
    )]
    Lengths {
        /// How many times.
        times: usize,
        /// How many temperatures.
        temperatures: usize,
    },
    /// Times that do not rise, or something that is no number.
    #[error(
        "picture {picture} is at {time_s} s with {temperature_c} °C; expected a time after the picture before, and a temperature"
    )]
    Picture {
        /// From 0.
        picture: usize,
        /// Its time [s].
        time_s: f64,
        /// Its temperature [°C].
        temperature_c: f64,
    },
    /// A drawn recording in which nothing melts to the end.
    #[error("{scene} does not melt to its end; expected an exercise with both moments in it")]
    NotMelted {
        /// Name of the scene.
        scene: String,
    },
    /// Too few readers to agree.
    #[error("{found} readers marked the recording; expected at least 2 to agree on it")]
    Readers {
        /// How many.
        found: usize,
    },
    /// A reader's mark that is outside of the recording.
    #[error(
        "reader {reader} marked {found_s} s; expected a time within the recording, {from_s} to {to_s} s"
    )]
    Outside {
        /// From 0.
        reader: usize,
        /// As marked [s].
        found_s: f64,
        /// First picture [s].
        from_s: f64,
        /// Last picture [s].
        to_s: f64,
    },
}

impl PictureTrack {
    /// Times of the pictures on the log's clock [s], rising, and the block's temperature at each [°C].
    ///
    /// # Errors
    /// [`KeyError`] when they are not as many of each, fewer than 2, not finite, or the times do not rise.
    pub fn new(times_s: Vec<f64>, temperatures_c: Vec<f64>) -> Result<Self, KeyError> {
        if times_s.len() != temperatures_c.len() || times_s.len() < 2 {
            return Err(KeyError::Lengths {
                times: times_s.len(),
                temperatures: temperatures_c.len(),
            });
        }
        let mut before_s = f64::NEG_INFINITY;
        for (picture, (&time_s, &temperature_c)) in times_s.iter().zip(&temperatures_c).enumerate()
        {
            if !(time_s > before_s && time_s.is_finite() && temperature_c.is_finite()) {
                return Err(KeyError::Picture {
                    picture,
                    time_s,
                    temperature_c,
                });
            }
            before_s = time_s;
        }
        Ok(Self {
            times_s,
            temperatures_c,
        })
    }

    /// Times of the pictures [s].
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Temperature of the block at each [°C].
    pub fn temperatures_c(&self) -> &[f64] {
        &self.temperatures_c
    }

    /// First and last picture [s].
    pub fn span_s(&self) -> (f64, f64) {
        (self.times_s[0], self.times_s[self.times_s.len() - 1])
    }

    /// Temperature of the block at a time [°C], straight between pictures, that of the nearest outside.
    pub fn temperature_c(&self, time_s: f64) -> f64 {
        between(&self.times_s, &self.temperatures_c, time_s)
    }

    /// Time between the pictures on either side of a time [s].
    pub fn spacing_s(&self, time_s: f64) -> f64 {
        let after = self.after(time_s);
        self.times_s[after] - self.times_s[after - 1]
    }

    /// Heating rate between the pictures on either side of a time [°C/s].
    fn rate_c_per_s(&self, time_s: f64) -> f64 {
        let after = self.after(time_s);
        (self.temperatures_c[after] - self.temperatures_c[after - 1]) / self.spacing_s(time_s)
    }

    /// The last picture before a time, the first that is not, and the one after [s].
    pub fn around_s(&self, time_s: f64) -> Vec<f64> {
        let at = self
            .times_s
            .partition_point(|&picture_s| picture_s < time_s);
        let from = at.saturating_sub(1);
        let to = (at + 2).min(self.times_s.len());
        self.times_s[from..to].to_vec()
    }

    /// Index of the picture that ends the interval in which a time lies; never 0.
    fn after(&self, time_s: f64) -> usize {
        self.times_s
            .partition_point(|&picture_s| picture_s < time_s)
            .clamp(1, self.times_s.len() - 1)
    }
}

/// Straight between points, the nearest value outside.
fn between(at: &[f64], values: &[f64], x: f64) -> f64 {
    let after = at
        .partition_point(|&point| point < x)
        .clamp(1, at.len() - 1);
    let part = ((x - at[after - 1]) / (at[after] - at[after - 1])).clamp(0.0, 1.0);
    values[after - 1] + part * (values[after] - values[after - 1])
}

/// One end of the range as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct KnownEnd {
    /// Log time [s].
    pub time_s: f64,
    /// Block temperature then [°C].
    pub temperature_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
}

/// Something besides melting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = BesideMelting))]
pub struct Happening {
    /// What: settling, glistening, wetting, collapse, ….
    pub kind: String,
    /// From [s].
    pub from_s: f64,
    /// Until [s], if it lasts.
    #[cfg_attr(feature = "schema", schema(required))]
    pub to_s: Option<f64>,
}

/// What is known of a recording.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AnswerKey {
    /// On what it rests.
    pub basis: Basis,
    /// When pictures were taken and how warm the block was.
    pub track: PictureTrack,
    /// The first liquid.
    pub first_liquid: KnownEnd,
    /// The last crystal.
    pub last_crystal: KnownEnd,
    /// What happened besides melting, in order of time.
    pub events: Vec<Happening>,
    /// Whether stray grains stick to the glass.
    pub specks: bool,
    /// Solid to be seen at each picture as part of the fresh column's area; `None` for a consensus.
    pub solid_left_fraction: Option<Vec<f64>>,
}

impl AnswerKey {
    /// What is known of a drawn recording, its first tube. Measured on what is drawn, so it takes a while: keep it.
    ///
    /// The moments are exact, but no reader sees between pictures: a mark can only be put on one. The standard
    /// uncertainty is that of half a picture's spacing as a rectangular distribution, times the heating rate.
    ///
    /// # Errors
    /// [`KeyError::NotMelted`] when one of the moments is not in the recording.
    pub fn of_film(film: &Film) -> Result<Self, KeyError> {
        let start_s = film.scene().log.video_start_s;
        let times_s: Vec<f64> = film
            .times_s()
            .iter()
            .map(|time_s| time_s + start_s)
            .collect();
        let temperatures_c = times_s
            .iter()
            .map(|&time_s| film.block_temperature(time_s).0)
            .collect();
        let track = PictureTrack::new(times_s, temperatures_c)?;
        let truth = film.truth();
        let tube = truth.tubes.first();
        let known = |moment: Option<meltrange_scene::TrueMoment>| {
            let moment = moment.ok_or_else(|| KeyError::NotMelted {
                scene: truth.name.clone(),
            })?;
            let half_c = 0.5 * track.spacing_s(moment.time_s) * moment.rate_c_per_min / 60.0;
            Ok(KnownEnd {
                time_s: moment.time_s,
                temperature_c: moment.temperature_c,
                standard_uncertainty_c: half_c.abs() / 3f64.sqrt(),
            })
        };
        let solid_left_fraction = film.solid_left_fractions(0, track.times_s());
        let spec = film.scene().tubes.first();
        Ok(Self {
            basis: Basis::Truth,
            first_liquid: known(tube.and_then(|tube| tube.first_liquid))?,
            last_crystal: known(tube.and_then(|tube| tube.last_crystal))?,
            events: happenings(&truth.events),
            specks: spec.is_some_and(|spec| spec.content == Content::Powder && spec.specks > 0),
            solid_left_fraction,
            track,
        })
    }

    /// What several readers agreed on: the mean of their moments.
    ///
    /// The standard uncertainty is the standard error of that mean or that of half a picture's spacing,
    /// whichever is larger: readers who all stop at the same picture are not certain of the moment.
    ///
    /// # Errors
    /// [`KeyError`] for fewer than 2 readers and for marks outside of the recording.
    pub fn of_consensus(track: PictureTrack, readers: &[Marks]) -> Result<Self, KeyError> {
        if readers.len() < 2 {
            return Err(KeyError::Readers {
                found: readers.len(),
            });
        }
        let (from_s, to_s) = track.span_s();
        for (reader, marks) in readers.iter().enumerate() {
            for found_s in [marks.first_liquid_s, marks.last_crystal_s] {
                if !(found_s >= from_s && found_s <= to_s) {
                    return Err(KeyError::Outside {
                        reader,
                        found_s,
                        from_s,
                        to_s,
                    });
                }
            }
        }
        let known = |moment_s: fn(&Marks) -> f64| {
            let n = readers.len() as f64;
            let mean = |value: &dyn Fn(&Marks) -> f64| readers.iter().map(value).sum::<f64>() / n;
            let time_s = mean(&moment_s);
            let temperature_c = mean(&|marks| track.temperature_c(moment_s(marks)));
            let squares =
                mean(&|marks| (track.temperature_c(moment_s(marks)) - temperature_c).powi(2));
            let standard_error_c = (squares / (n - 1.0)).sqrt();
            let half_c = 0.5 * track.spacing_s(time_s) * track.rate_c_per_s(time_s);
            KnownEnd {
                time_s,
                temperature_c,
                standard_uncertainty_c: standard_error_c.max(half_c.abs() / 3f64.sqrt()),
            }
        };
        Ok(Self {
            basis: Basis::Consensus,
            first_liquid: known(|marks| marks.first_liquid_s),
            last_crystal: known(|marks| marks.last_crystal_s),
            events: Vec::new(),
            specks: false,
            solid_left_fraction: None,
            track,
        })
    }

    /// Solid to be seen at a time as part of the fresh column's area; `None` for a consensus.
    pub fn solid_left(&self, time_s: f64) -> Option<f64> {
        let left = self.solid_left_fraction.as_ref()?;
        Some(between(self.track.times_s(), left, time_s))
    }
}

/// Begin and end brought together: `wetting_start` and `wetting_end` are one thing that lasts.
fn happenings(events: &[meltrange_scene::Event]) -> Vec<Happening> {
    let mut found: Vec<Happening> = Vec::new();
    for event in events {
        if let Some(kind) = event.kind.strip_suffix("_end") {
            let open = found
                .iter_mut()
                .rev()
                .find(|happening| happening.kind == kind && happening.to_s.is_none());
            if let Some(open) = open {
                open.to_s = Some(event.time_s);
            }
            continue;
        }
        let kind = event.kind.strip_suffix("_start").unwrap_or(&event.kind);
        found.push(Happening {
            kind: kind.to_owned(),
            from_s: event.time_s,
            to_s: None,
        });
    }
    found
}
