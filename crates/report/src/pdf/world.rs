//! What the typesetter may see: one template, the values, the pictures, the fonts. No files, no clock.

use crate::fonts::FontSet;
use crate::model::Stamp;
use crate::pictures::Asset;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration, IntoValue};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

const TEMPLATE: &str = include_str!("../templates/report.typ");

/// The typesetter's desk for one document.
pub(super) struct Desk {
    library: LazyHash<Library>,
    assets: Dict,
    fonts: FontSet,
    template: Source,
    date: Option<Datetime>,
}

impl Desk {
    pub fn new(fonts: FontSet, assets: &[Asset], date: Option<Datetime>) -> Self {
        let path = VirtualPath::new("/report.typ").expect("a plain path");
        let id = FileId::new(RootedPath::new(VirtualRoot::Project, path));
        let assets = assets
            .iter()
            .map(|asset| (asset.path.as_str().into(), asset.bytes.clone().into_value()))
            .collect();
        Self {
            library: LazyHash::new(Library::default()),
            assets,
            fonts,
            template: Source::new(id, TEMPLATE.to_owned()),
            date,
        }
    }

    /// Lays the values out, as JSON that the template reads: no text of a person becomes markup.
    pub fn put(&mut self, values: Vec<u8>) {
        let mut inputs = Dict::new();
        inputs.insert("values".into(), Bytes::new(values).into_value());
        inputs.insert("assets".into(), self.assets.clone().into_value());
        self.library = LazyHash::new(Library::builder().with_inputs(inputs).build());
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.fonts.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() {
            return Ok(self.template.clone());
        }
        Err(FileError::AccessDenied)
    }

    fn file(&self, _: FileId) -> FileResult<Bytes> {
        Err(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        self.date
    }
}

/// The day of a report.
pub(super) fn date(stamp: Stamp) -> Option<Datetime> {
    let local = stamp.local();
    Datetime::from_ymd(
        i32::from(local.year()),
        u8::try_from(local.month()).ok()?,
        u8::try_from(local.day()).ok()?,
    )
}
