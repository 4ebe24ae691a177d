//! Metrology's own types in the description, under names of their own: some are called as shapes of
//! this interface are.

use meltrange_metrology as metrology;
use std::borrow::Cow;
use std::marker::PhantomData;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::Schema;
use utoipa::{PartialSchema, ToSchema};

/// Stands before the name of each.
const PREFIX: &str = "Metrology";

/// How a schema refers to another.
const REFERENCE: &str = "#/components/schemas/";

/// Describes a `T` of metrology; is never made.
#[derive(Debug)]
pub struct OfMetrology<T>(PhantomData<T>);

pub type ConventionShape = OfMetrology<metrology::Convention>;
pub type CurveShape = OfMetrology<metrology::CorrectionCurve>;
pub type ChartShape = OfMetrology<metrology::ControlChart>;
pub type ResultShape = OfMetrology<metrology::Determination>;
pub type RemarkShape = OfMetrology<metrology::Remark>;
pub type StemShape = OfMetrology<metrology::StatedStem>;
pub type UsualStandardShape = OfMetrology<metrology::UsualStandard>;
pub type ZeroRateShape = OfMetrology<metrology::EndsAtZeroRate>;

impl<T: PartialSchema> PartialSchema for OfMetrology<T> {
    fn schema() -> RefOr<Schema> {
        renamed(&T::schema())
    }
}

impl<T: ToSchema> ToSchema for OfMetrology<T> {
    fn name() -> Cow<'static, str> {
        format!("{PREFIX}{}", T::name()).into()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        let mut own = Vec::new();
        T::schemas(&mut own);
        schemas.extend(
            own.iter()
                .map(|(name, schema)| (format!("{PREFIX}{name}"), renamed(schema))),
        );
    }
}

/// With what it refers to by its new name.
fn renamed(schema: &RefOr<Schema>) -> RefOr<Schema> {
    let text = serde_json::to_string(schema).expect("a description is JSON");
    let text = text.replace(REFERENCE, &format!("{REFERENCE}{PREFIX}"));
    serde_json::from_str(&text).expect("it was a description before")
}
