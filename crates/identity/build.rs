//! Packs the tables of `data/library` small, for the program to carry.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

const TABLES: [&str; 4] = [
    "substances.tsv",
    "enthalpies_of_fusion.tsv",
    "remarks.tsv",
    "pairs.tsv",
];
/// The densest that deflate can; a second of build time.
const LEVEL: u8 = 10;

fn main() -> Result<(), Box<dyn Error>> {
    let data = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("../../data/library");
    let out = PathBuf::from(env::var("OUT_DIR")?);
    for table in TABLES {
        let path = data.join(table);
        println!("cargo::rerun-if-changed={}", path.display());
        let text = fs::read(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        let packed = miniz_oxide::deflate::compress_to_vec_zlib(&text, LEVEL);
        fs::write(out.join(table), packed)?;
    }
    Ok(())
}
