//! Tables with types, read back by the library's own reader and compared with the CSV cell by cell. (A reader by
//! others: tests/cross_check/archive.py.)

use crate::workshop::{export_to, filled, order, room, wait};
use meltrange_archive::{ArchiveError, TableForms, export_book, export_table};
use parquet::file::reader::{FileReader as _, SerializedFileReader};
use parquet::record::Field;
use std::path::Path;

fn rows(path: &Path) -> (Vec<String>, Vec<Vec<Field>>) {
    let reader =
        SerializedFileReader::new(std::fs::File::open(path).expect("there")).expect("sound");
    let names = reader
        .metadata()
        .file_metadata()
        .schema()
        .get_fields()
        .iter()
        .map(|field| field.name().to_owned())
        .collect();
    let rows = reader
        .get_row_iter(None)
        .expect("rows")
        .map(|row| {
            let row = row.expect("sound");
            row.get_column_iter()
                .map(|(_, field)| field.clone())
                .collect()
        })
        .collect();
    (names, rows)
}

#[test]
fn every_table_has_the_same_cells_with_types() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, _) = filled(&at("book")).await;
        export_to(&book, &at("out")).await;
        let mut kinds = [0; 5];
        for entry in std::fs::read_dir(at("out")).expect("readable") {
            let path = entry.expect("readable").path();
            if path.extension().is_none_or(|ending| ending != "csv") {
                continue;
            }
            let name = path
                .file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            let (columns, typed) = rows(&at(&format!("out/tables/{name}.parquet")));
            let mut table = csv::Reader::from_path(&path).expect("there");
            let header: Vec<String> = table
                .headers()
                .expect("there")
                .iter()
                .map(str::to_owned)
                .collect();
            assert_eq!(columns, header, "{name}");
            let plain: Vec<csv::StringRecord> =
                table.records().map(|row| row.expect("sound")).collect();
            assert_eq!(typed.len(), plain.len(), "{name}");
            for (typed, plain) in typed.iter().zip(&plain) {
                for (field, cell) in typed.iter().zip(plain) {
                    match field {
                        Field::Null => assert_eq!(cell, ""),
                        Field::Double(value) => assert_eq!(cell.parse::<f64>(), Ok(*value)),
                        Field::Long(value) => assert_eq!(cell.parse::<i64>(), Ok(*value)),
                        Field::Bool(value) => assert_eq!(cell, if *value { "yes" } else { "no" }),
                        Field::Str(value) => assert_eq!(cell, value),
                        other => panic!("{name}: {other:?}"),
                    }
                    let kind = match field {
                        Field::Null => 0,
                        Field::Double(_) => 1,
                        Field::Long(_) => 2,
                        Field::Bool(_) => 3,
                        _ => 4,
                    };
                    kinds[kind] += 1;
                }
            }
        }
        assert!(kinds.iter().all(|&count| count > 0), "{kinds:?}");

        let only_csv = meltrange_archive::ExportOrder {
            tables: TableForms {
                csv: true,
                parquet: false,
            },
            ..order(&at("csv"))
        };
        export_book(&book, &only_csv, &mut |_| ())
            .await
            .expect("room");
        assert!(!at("csv/tables").exists() && at("csv/samples.csv").exists());

        export_table(&book, "samples", &at("one.parquet"))
            .await
            .expect("there");
        assert_eq!(rows(&at("one.parquet")).1.len(), 3);
        export_table(&book, "samples", &at("one.csv"))
            .await
            .expect("there");
        let bytes = |name: &str| std::fs::read(at(name)).expect("there");
        assert_eq!(bytes("one.csv"), bytes("out/samples.csv"));
        let refused = export_table(&book, "sample", &at("none.csv")).await;
        assert!(
            matches!(refused, Err(ArchiveError::NoTable { .. })),
            "{refused:?}"
        );
        assert!(!at("none.csv").exists());
        book.close().await;
    });
}
