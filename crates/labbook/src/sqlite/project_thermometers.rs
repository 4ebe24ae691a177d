//! What records of standards, checks and calibrations do to the tables of the present state.

use super::Connection;
use super::project::number;
use crate::records::{Calibration, Check, Record, Standard};

pub(super) async fn standard(
    connection: &mut Connection,
    record: &Record,
    entry: &Standard,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO standard (first, subject, record, retired) VALUES (?1, ?2, ?1, ?3)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, retired = excluded.retired",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.retired)
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn check(
    connection: &mut Connection,
    record: &Record,
    entry: &Check,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO thermometer_check (first, subject, record, bench, made_on, void)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, bench = excluded.bench,
             made_on = excluded.made_on, void = excluded.void",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.bench.to_string())
    .bind(entry.made_on.to_string())
    .bind(entry.void)
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn calibration(
    connection: &mut Connection,
    record: &Record,
    entry: &Calibration,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO calibration (first, subject, record, bench, in_force_from, withdrawn)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, bench = excluded.bench,
             in_force_from = excluded.in_force_from, withdrawn = excluded.withdrawn",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.bench.to_string())
    .bind(entry.in_force_from.to_string())
    .bind(entry.withdrawn)
    .execute(connection)
    .await?;
    Ok(())
}
