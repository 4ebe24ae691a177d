//! The evidence page: everything someone needs to check a reading, in one HTML file.

mod view;

use crate::curves::{Chart, melting_chart, temperature_chart};
use crate::{numbers, words};
use meltrange_physics::TemperatureLog;
use meltrange_reading::{Moment, Reading, TubeReading};
use minijinja::{Environment, UndefinedBehavior, Value, context};
use view::{PictureStore, View};

const PAGE: &str = include_str!("evidence/page.html");
const STYLE: &str = include_str!("evidence/style.css");

/// One picture as JPEG with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// The encoded picture; the whole view.
    pub jpeg: Vec<u8>,
    /// When it was taken [s], log clock.
    pub time_s: f64,
}

/// The pictures on both sides of a moment.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MomentPictures {
    /// Just before it.
    pub before: Option<Picture>,
    /// Just after it.
    pub after: Option<Picture>,
}

/// The pictures of one tube's moments.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TubePictures {
    /// Around the first liquid.
    pub first_liquid: MomentPictures,
    /// Around the last crystal.
    pub last_crystal: MomentPictures,
}

/// What the page is made from.
#[derive(Debug, Clone)]
pub struct Evidence<'a> {
    /// Name of the recording as the person knows it.
    pub recording: &'a str,
    /// Name of the temperature log.
    pub log_name: &'a str,
    /// Log time of video time 0 [s].
    pub video_start_s: f64,
    /// Program and version.
    pub program: &'a str,
    /// The reading.
    pub reading: &'a Reading,
    /// Doubts about the files that are not among the reading's flags.
    pub notes: &'a [String],
    /// The log it was made with.
    pub log: &'a TemperatureLog,
    /// Width of the source pictures [source px].
    pub view_width_px: f64,
    /// Height of the source pictures [source px].
    pub view_height_px: f64,
    /// The view when the recording began.
    pub at_start: Option<Picture>,
    /// The view when it ended.
    pub at_end: Option<Picture>,
    /// Pictures tube by tube, in the order of `reading.tubes`; tubes beyond its end have none.
    pub pictures: &'a [TubePictures],
}

/// Why the page could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EvidenceError {
    /// The page's template and its values do not fit: a fault of the program.
    #[error("the evidence page could not be filled in")]
    Template(#[from] minijinja::Error),
}

/// The evidence page as HTML that opens without a network and runs no script.
///
/// The same evidence gives the same bytes.
///
/// # Errors
/// [`EvidenceError::Template`], a fault of the program.
pub fn evidence_page(evidence: &Evidence<'_>) -> Result<String, EvidenceError> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.add_template("page.html", PAGE)?;
    let mut album = Album {
        view: View {
            width_px: evidence.view_width_px,
            height_px: evidence.view_height_px,
            tubes: &evidence.reading.tubes,
        },
        log: evidence.log,
        store: PictureStore::default(),
    };
    let no_pictures = TubePictures::default();
    let tubes: Vec<Value> = evidence
        .reading
        .tubes
        .iter()
        .enumerate()
        .map(|(index, tube)| {
            let pictures = evidence.pictures.get(index).unwrap_or(&no_pictures);
            let ends = [("start", &evidence.at_start), ("end", &evidence.at_end)];
            tube_section(tube, pictures, ends, &mut album)
        })
        .collect();
    let views: Vec<Value> = [("start", &evidence.at_start), ("end", &evidence.at_end)]
        .into_iter()
        .filter_map(|(when, picture)| Some(album.whole_view(when, picture.as_ref()?)))
        .collect();
    let quality: Vec<Value> = evidence
        .reading
        .quality
        .iter()
        .map(|flag| context! { kind => words::quality(flag.kind), text => &flag.text })
        .collect();
    let page = environment.get_template("page.html")?.render(context! {
        style => safe(STYLE.to_owned()),
        store => safe(album.store.markup()),
        recording => evidence.recording,
        log_name => evidence.log_name,
        video_start => numbers::fixed(evidence.video_start_s, 1),
        program => evidence.program,
        frames_read => evidence.reading.frames_read,
        as_logged => words::AS_LOGGED,
        first_means => words::FIRST_LIQUID_MEANS,
        last_means => words::LAST_CRYSTAL_MEANS,
        cautions => words::CAUTIONS.to_vec(),
        tubes,
        views,
        quality,
        notes => evidence.notes.to_vec(),
    })?;
    Ok(page)
}

/// Markup of ours that the template must not escape again.
fn safe(markup: String) -> Value {
    Value::from_safe_string(markup)
}

fn tube_section(
    tube: &TubeReading,
    pictures: &TubePictures,
    ends: [(&str, &Option<Picture>); 2],
    album: &mut Album<'_>,
) -> Value {
    let moments: Vec<Value> = [
        (
            "first",
            "First liquid",
            &tube.first_liquid,
            &pictures.first_liquid,
        ),
        (
            "last",
            "Last crystal",
            &tube.last_crystal,
            &pictures.last_crystal,
        ),
    ]
    .into_iter()
    .filter_map(|(class, name, moment, pictures)| {
        let moment = moment.as_ref()?;
        Some(context! {
            class,
            name,
            temperature => numbers::moment_with_uncertainty(moment),
            time => numbers::clock(moment.time_s),
            shots => album.moment_shots(tube, name, moment, pictures),
        })
    })
    .collect();
    // Without a moment, what the tube held and what became of it is all there is to see.
    let ends: Vec<Value> = if moments.is_empty() {
        ends.into_iter()
            .filter_map(|(when, picture)| Some(album.end_shot(tube, when, picture.as_ref()?)))
            .collect()
    } else {
        Vec::new()
    };
    let levels: Vec<Value> = tube
        .levels
        .iter()
        .map(|level| {
            Value::from(vec![
                numbers::percent(level.liquid_fraction),
                numbers::moment_cell(Some(&level.moment)),
                numbers::clock(level.moment.time_s),
            ])
        })
        .collect();
    let remarks: Vec<Value> = tube
        .remarks
        .iter()
        .map(|remark| {
            context! {
                kind => words::remark(remark.kind),
                time => numbers::clock(remark.time_s),
                text => &remark.text,
            }
        })
        .collect();
    context! {
        number => tube.tube,
        outcome => words::outcome(tube.outcome),
        range => numbers::range(tube),
        first_liquid => numbers::moment_cell(tube.first_liquid.as_ref()),
        last_crystal => numbers::moment_cell(tube.last_crystal.as_ref()),
        rate => numbers::rate_cell(tube.heating_rate_c_per_min),
        melting => melting_chart(tube, album.log).map(chart_section),
        temperature => temperature_chart(tube, album.log).map(chart_section),
        moments,
        ends,
        curve_doubt => words::curve_doubt(tube.outcome),
        levels,
        remarks,
    }
}

fn chart_section(chart: Chart) -> Value {
    context! {
        svg => safe(chart.svg),
        rows => chart.rows,
        holds_remarks => chart.holds_remarks,
    }
}

/// The pictures of the page with what their captions need.
struct Album<'a> {
    view: View<'a>,
    log: &'a TemperatureLog,
    store: PictureStore,
}

impl Album<'_> {
    fn whole_view(&mut self, when: &str, picture: &Picture) -> Value {
        let id = self.store.add(picture);
        context! {
            svg => safe(self.view.whole(&id, None, when)),
            caption => format!("At the {when}: {}", self.taken(picture)),
        }
    }

    /// One tube close up when the recording began or ended.
    fn end_shot(&mut self, tube: &TubeReading, when: &str, picture: &Picture) -> Value {
        let id = self.store.add(picture);
        let words = format!("at the {when} of the recording");
        context! {
            svg => safe(self.view.close_up(&id, tube, &words)),
            caption => format!("At the {when}: {}", self.taken(picture)),
        }
    }

    fn moment_shots(
        &mut self,
        tube: &TubeReading,
        name: &str,
        moment: &Moment,
        pictures: &MomentPictures,
    ) -> Vec<Value> {
        [("before", &pictures.before), ("after", &pictures.after)]
            .into_iter()
            .filter_map(|(when, picture)| {
                let picture = picture.as_ref()?;
                let id = self.store.add(picture);
                let words = format!("just {when} {}", name.to_lowercase());
                let apart_s = numbers::fixed((picture.time_s - moment.time_s).abs(), 1);
                Some(context! {
                    svg => safe(self.view.close_up(&id, tube, &words)),
                    whole => safe(self.view.whole(&id, Some(tube.tube), &words)),
                    caption => format!("{apart_s} s {when}: {}", self.taken(picture)),
                })
            })
            .collect()
    }

    /// When a picture was taken and what the log said then.
    fn taken(&self, picture: &Picture) -> String {
        let clock = numbers::clock(picture.time_s);
        match self.log.at(picture.time_s) {
            Some(point) => format!("{clock}, {} °C", numbers::fixed(point.temperature_c, 2)),
            None => clock,
        }
    }
}
