//! How fast texts are read, in bytes and texts a second: the tables alone, the typed fleet, the whole inspection on one
//! thread, beside a general JSON reader and a JSON Schema validator on the JSON form of the same texts.
//!
//! `cargo bench --bench reading`

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use walkaround::fleet::{self, json, table};
use walkaround::inspect::{self, Options};
use walkaround::source::FileId;
use walkaround::syntax::{Tables, parse};

fn main() {
    divan::main();
}

/// The clean fleet's texts.
const TEXTS: [&str; 11] = [
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

fn counted<'a, 'b>(bencher: Bencher<'a, 'b>, texts: &[&[u8]]) -> Bencher<'a, 'b> {
    let bytes: usize = texts.iter().map(|text| text.len()).sum();
    bencher.counter(BytesCount::new(bytes)).counter(ItemsCount::new(texts.len()))
}

fn texts() -> Vec<&'static [u8]> {
    TEXTS.iter().map(|text| text.as_bytes()).collect()
}

#[divan::bench]
fn tables(bencher: Bencher<'_, '_>) {
    let (texts, mut tables) = (texts(), Tables::default());
    counted(bencher, &texts).bench_local(|| {
        texts
            .iter()
            .map(|text| {
                parse(text, table::vocabulary, &mut tables);
                tables.statements.len()
            })
            .sum::<usize>()
    });
}

#[divan::bench]
fn typed_fleet(bencher: Bencher<'_, '_>) {
    let (texts, mut tables) = (texts(), Tables::default());
    counted(bencher, &texts).bench_local(|| {
        for (index, text) in texts.iter().enumerate() {
            parse(text, table::vocabulary, &mut tables);
            divan::black_box(fleet::read(FileId(index as u32), text, &tables));
        }
    });
}

#[divan::bench]
fn whole_inspection(bencher: Bencher<'_, '_>) {
    let (texts, options) = (texts(), Options::default());
    counted(bencher, &texts).bench_local(|| inspect::inspect(&texts, &options).findings.len());
}

/// The clean fleet in the JSON form.
fn twins() -> Vec<String> {
    let mut tables = Tables::default();
    let twins: Vec<String> = texts()
        .iter()
        .filter_map(|text| {
            parse(text, table::vocabulary, &mut tables);
            json::from_rig(text, &tables, Vec::new())
        })
        .collect();
    assert_eq!(twins.len(), TEXTS.len());
    twins
}

/// The same content for a JSON Schema validator, with the schema made ready before.
#[divan::bench]
fn schema_validation_of_the_same(bencher: Bencher<'_, '_>) {
    let schema: serde_json::Value = serde_json::from_str(include_str!("../docs/rig.schema.json")).unwrap_or_default();
    let validator = jsonschema::draft202012::new(&schema).unwrap_or_else(|error| unreachable!("{error}"));
    let twins = twins();
    let twins: Vec<&[u8]> = twins.iter().map(|twin| twin.as_bytes()).collect();
    let is_valid =
        |twin: &&[u8]| serde_json::from_slice::<serde_json::Value>(twin).is_ok_and(|tree| validator.is_valid(&tree));
    assert!(twins.iter().all(is_valid));
    counted(bencher, &twins).bench_local(|| twins.iter().filter(|twin| is_valid(twin)).count());
}

/// The same content for a general reader that builds a tree.
#[divan::bench]
fn json_tree_of_the_same(bencher: Bencher<'_, '_>) {
    let twins = twins();
    let twins: Vec<&[u8]> = twins.iter().map(|twin| twin.as_bytes()).collect();
    counted(bencher, &twins)
        .bench_local(|| twins.iter().filter_map(|twin| serde_json::from_slice::<serde_json::Value>(twin).ok()).count());
}
