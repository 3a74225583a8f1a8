//! What an outcome costs again after one file changed, beside a full one: in an invented folder of 1,000 aircraft, and in the
//! clean fleet.
//!
//! `cargo bench --bench again`

#[path = "../examples/generate_fleet/folder.rs"]
mod generate;

use divan::Bencher;
use walkaround::inspect::Workspace;

fn main() {
    divan::main();
}

type Folder = Vec<(String, Vec<u8>)>;

fn thousand(findings: u32) -> Folder {
    generate::files(1000, 1, findings).map(|(name, text)| (name, text.into_bytes())).collect()
}

fn clean_fleet() -> Folder {
    let texts = [
        include_str!("../testdata/fleets/clean/curlew.rig"),
        include_str!("../testdata/fleets/clean/dunlin.rig"),
        include_str!("../testdata/fleets/clean/handset.rig"),
        include_str!("../testdata/fleets/clean/knot.rig"),
        include_str!("../testdata/fleets/clean/links.rig"),
        include_str!("../testdata/fleets/clean/places.rig"),
        include_str!("../testdata/fleets/clean/plover.rig"),
        include_str!("../testdata/fleets/clean/sanderling.rig"),
        include_str!("../testdata/fleets/clean/simulator.rig"),
        include_str!("../testdata/fleets/clean/turnstone.rig"),
        include_str!("../testdata/fleets/clean/whimbrel.rig"),
    ];
    texts.iter().enumerate().map(|(number, text)| (format!("{number:02}.rig"), text.as_bytes().to_vec())).collect()
}

fn workspace(folder: &Folder) -> Workspace {
    let mut workspace = Workspace::new();
    folder.iter().for_each(|(name, text)| workspace.set(name, text.as_slice()));
    workspace
}

/// A full outcome on one thread.
fn full(bencher: Bencher<'_, '_>, folder: &Folder) {
    bencher.bench_local(|| workspace(folder).outcome().findings.len());
}

/// An outcome after a line was added to one file, or taken out.
fn again(bencher: Bencher<'_, '_>, folder: &Folder) {
    let mut workspace = workspace(folder);
    workspace.outcome();
    let (name, text) = &folder[folder.len() / 2];
    let texts = [[text.as_slice(), b"# another line\n"].concat(), text.clone()];
    let mut turn = 0;
    bencher.bench_local(|| {
        turn += 1;
        workspace.set(name, texts[turn % 2].as_slice());
        workspace.outcome().findings.len()
    });
}

#[divan::bench(sample_count = 10)]
fn thousand_full(bencher: Bencher<'_, '_>) {
    full(bencher, &thousand(0));
}

#[divan::bench]
fn thousand_again(bencher: Bencher<'_, '_>) {
    again(bencher, &thousand(0));
}

#[divan::bench(sample_count = 10)]
fn thousand_with_findings_full(bencher: Bencher<'_, '_>) {
    full(bencher, &thousand(20));
}

#[divan::bench]
fn thousand_with_findings_again(bencher: Bencher<'_, '_>) {
    again(bencher, &thousand(20));
}

#[divan::bench]
fn clean_fleet_full(bencher: Bencher<'_, '_>) {
    full(bencher, &clean_fleet());
}

#[divan::bench]
fn clean_fleet_again(bencher: Bencher<'_, '_>) {
    again(bencher, &clean_fleet());
}
