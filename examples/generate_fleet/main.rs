//! Writes an invented settings folder of any size, for timing and for trying the program on many aircraft:
//!
//! `cargo run --release --example generate_fleet -- --files 10000 --out DIR [--variant V] [--findings-per-file K]`
//!
//! `--files` counts the aircraft's files; the places, links and handsets that they share stand in three more. Each file holds
//! one aircraft and one or two models, 120 to 150 lines, about 4.4 kB. The same variant and number give the same
//! text, whatever the number of files. Without `--findings-per-file` the folder is clean by the rule book; with it every file
//! has about that many slips.

#[path = "folder.rs"]
mod folder;

use std::error::Error;
use std::fs;
use std::path::PathBuf;

/// What the command line asks for.
struct Wanted {
    files: u32,
    out: PathBuf,
    variant: u64,
    findings_per_file: u32,
}

fn main() -> Result<(), Box<dyn Error>> {
    let wanted = wanted(std::env::args().skip(1))?;
    for (name, text) in folder::files(wanted.files, wanted.variant, wanted.findings_per_file) {
        let path = wanted.out.join(name);
        fs::create_dir_all(path.parent().unwrap_or(&wanted.out))?;
        fs::write(path, text)?;
    }
    Ok(())
}

/// Reads the command line.
fn wanted(arguments: impl Iterator<Item = String>) -> Result<Wanted, Box<dyn Error>> {
    let (mut files, mut out, mut variant, mut findings_per_file) = (None, None, 1, 0);
    let mut arguments = arguments;
    while let Some(name) = arguments.next() {
        let value = arguments.next().ok_or_else(|| format!("{name} needs a value"))?;
        match name.as_str() {
            "--files" => files = Some(value.parse()?),
            "--out" => out = Some(PathBuf::from(value)),
            "--variant" => variant = value.parse()?,
            "--findings-per-file" => findings_per_file = value.parse()?,
            _ => return Err(format!("{name} is not known: --files, --out, --variant, --findings-per-file").into()),
        }
    }
    let (Some(files), Some(out)) = (files, out) else { return Err("--files N and --out DIR are needed".into()) };
    Ok(Wanted { files, out, variant, findings_per_file })
}
