//! A CSV file that another program writes, followed as it grows.
//!
//! A temperature's time is when its row was seen; a time column is not looked at, since nothing is
//! known of its clock. Of rows that come together only the last is told: the times of the others are
//! past and unknown. What stood in the file before is not told either.

use crate::bench_file::CsvThermometerSpec;
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::pattern::quoted;
use crate::payload::number;
use crate::telling::{NobodyListens, Telling, while_listened};
use async_trait::async_trait;
use std::convert::Infallible;
use std::fs::{File, Metadata};
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::time::Duration;
use tokio::sync::mpsc::Sender;

/// Most that is read at a look [bytes]; the rest waits for the next.
const MOST: u64 = 1 << 20;

/// A thermometer whose temperatures another program writes to a file.
pub(crate) struct CsvThermometer {
    spec: CsvThermometerSpec,
}

/// How far a file was read.
#[derive(Debug, Clone, PartialEq)]
struct Place {
    identity: u64,
    offset: u64,
    column: Column,
}

/// Which column the temperature is in.
#[derive(Debug, Clone, PartialEq)]
enum Column {
    /// The head has not been read yet.
    Unread,
    /// Number of the column and how many there are.
    At { index: usize, of: usize },
    /// The head has no such column.
    Missing(String),
}

/// What a look brought.
type Look = (Option<Place>, Option<Result<f64, String>>);

impl CsvThermometer {
    pub fn new(spec: &CsvThermometerSpec) -> Self {
        Self { spec: spec.clone() }
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        let every = Duration::from_secs_f64(self.spec.interval_s);
        let mut place = None;
        let mut is_first_look = true;
        loop {
            let (spec, before) = (self.spec.clone(), place.clone());
            let look = tokio::task::spawn_blocking(move || look(&spec, before, is_first_look));
            let time_s = telling.now_s();
            // A task that cannot be joined was ended from outside, with the program.
            match look
                .await
                .unwrap_or_else(|error| Err(io::Error::other(error)))
            {
                Ok((now, found)) => {
                    place = now;
                    if let Some(found) = found {
                        telling.answer(time_s, found).await?;
                    }
                }
                Err(error) => {
                    if error.kind() == io::ErrorKind::NotFound {
                        place = None;
                    }
                    let path = self.spec.path.display();
                    telling
                        .lost(format!("{path} cannot be read: {error}"))
                        .await?;
                }
            }
            is_first_look = false;
            tokio::time::sleep(every).await;
        }
    }
}

#[cfg(unix)]
fn identity(metadata: &Metadata) -> u64 {
    use std::os::unix::fs::MetadataExt as _;
    metadata.ino()
}

#[cfg(not(unix))]
fn identity(_metadata: &Metadata) -> u64 {
    // Rotation then shows in the length alone.
    0
}

/// Read what was added since the last look. Another file under the name, or one that became shorter,
/// is read from its beginning.
fn look(spec: &CsvThermometerSpec, before: Option<Place>, is_first_look: bool) -> io::Result<Look> {
    let mut file = File::open(&spec.path)?;
    let metadata = file.metadata()?;
    let identity = identity(&metadata);
    let kept = before.filter(|at| at.identity == identity && at.offset <= metadata.len());
    let is_old = is_first_look && kept.is_none();
    let mut place = kept.unwrap_or(Place {
        identity,
        offset: 0,
        column: Column::Unread,
    });
    file.seek(SeekFrom::Start(place.offset))?;
    let mut bytes = Vec::new();
    file.take(if is_old { u64::MAX } else { MOST })
        .read_to_end(&mut bytes)?;
    // A half-written row waits until its line end is there.
    let whole = bytes
        .iter()
        .rposition(|&b| b == b'\n')
        .map_or(0, |at| at + 1);
    if whole == 0 && !is_old && bytes.len() as u64 == MOST {
        place.offset += MOST;
        let found = format!("{MOST} bytes without a line end; expected rows");
        return Ok((Some(place), Some(Err(found))));
    }
    bytes.truncate(whole);
    place.offset += u64::try_from(whole).unwrap_or_default();

    let text = String::from_utf8_lossy(&bytes);
    let mut rows = text
        .lines()
        .map(str::trim_end)
        .filter(|row| !row.is_empty());
    if place.column == Column::Unread
        && let Some(head) = rows.next()
    {
        place.column = find_column(head, spec);
        if let Column::Missing(found) = &place.column {
            let found = found.clone();
            return Ok((Some(place), Some(Err(found))));
        }
    }
    if is_old {
        return Ok((Some(place), None));
    }
    let found = rows
        .next_back()
        .map(|row| temperature(row, spec, &place.column));
    Ok((Some(place), found))
}

fn fields(row: &str, separator: char) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .delimiter(u8::try_from(separator).unwrap_or(b','))
        .from_reader(row.as_bytes());
    match reader.records().next() {
        Some(Ok(record)) => record.iter().map(|f| f.trim().to_owned()).collect(),
        _ => Vec::new(),
    }
}

fn find_column(head: &str, spec: &CsvThermometerSpec) -> Column {
    let names = fields(head.trim_start_matches('\u{FEFF}'), spec.separator);
    match names.iter().position(|name| *name == spec.column) {
        Some(index) => Column::At {
            index,
            of: names.len(),
        },
        None => Column::Missing(format!(
            "{} has the columns {}; expected one named {}",
            spec.path.display(),
            quoted(&names.join(", ")),
            spec.column
        )),
    }
}

fn temperature(row: &str, spec: &CsvThermometerSpec, column: &Column) -> Result<f64, String> {
    let (index, of) = match column {
        Column::At { index, of } => (*index, *of),
        Column::Missing(found) => return Err(found.clone()),
        Column::Unread => return Err("a row before the head; expected the names of columns".into()),
    };
    let cells = fields(row, spec.separator);
    if cells.len() != of {
        return Err(format!(
            "{} has {} cells; expected {of} (a decimal comma makes one more; write a decimal point)",
            quoted(row),
            cells.len()
        ));
    }
    number(cells.get(index).map_or("", String::as_str))
}

#[async_trait]
impl Thermometer for CsvThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
