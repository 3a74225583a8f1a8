//! The radio arithmetic and tables against tools from outside the project. `.ci/install-outside-tools` installs them; a
//! tool that is missing fails these tests and never skips them.

use serde::Deserialize;
use std::fs;
use std::process::Command;
use walkaround::radio::budget::free_space_loss_db;
use walkaround::radio::decibel::{
    REFERENCE_TEMPERATURE_K, correlated_gain_dbi, dbm_from_mw, eirp_from_field_mw, mw_from_dbm, thermal_noise_dbm,
    total_dbm,
};
use walkaround::radio::regions::{Band, RegionCode, Row, Table, country_codes};

/// The dataset stores hundredths of a dBm and cuts off the rest: 25 mW, 13.979 dBm, is 13.97 there.
const CUT_OFF_DB: f64 = 0.01;

#[test]
fn countries_are_those_of_iso_codes() {
    #[derive(Deserialize)]
    struct Codes {
        #[serde(rename = "3166-1")]
        countries: Vec<Country>,
    }
    #[derive(Deserialize)]
    struct Country {
        alpha_2: String,
    }
    let path = "/usr/share/iso-codes/json/iso_3166-1.json";
    let text = fs::read_to_string(path).expect("the package iso-codes is installed");
    let mut theirs: Vec<_> = serde_json::from_str::<Codes>(&text).unwrap().countries;
    theirs.sort_by(|one, other| one.alpha_2.cmp(&other.alpha_2));
    let theirs: Vec<_> = theirs.iter().map(|country| country.alpha_2.as_str()).collect();
    let ours: Vec<_> = country_codes().iter().map(RegionCode::as_str).collect();
    assert_eq!(ours, theirs);
}

/// One rule of the dataset wireless-regdb.
struct DatasetRule {
    band: Band,
    most_eirp_dbm: f64,
}

/// The rules of every country in the installed wireless-regdb. The form, big endian: a magic number, version 20, then
/// pairs of country and pointer; a pointer counts in units of four bytes.
fn dataset() -> Vec<(String, Vec<DatasetRule>)> {
    let bytes = fs::read("/lib/firmware/regulatory.db").expect("the package wireless-regdb is installed");
    let u16_at = |at: usize| usize::from(u16::from_be_bytes(bytes[at..at + 2].try_into().unwrap()));
    let u32_at = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    assert_eq!(&bytes[..4], b"RGDB");
    assert_eq!(u32_at(4), 20, "the version of the form");
    let mut countries = Vec::new();
    for entry in (8..).step_by(4) {
        let collection = u16_at(entry + 2) * 4;
        if collection == 0 {
            break;
        }
        let first = collection + usize::from(bytes[collection]).next_multiple_of(2);
        let rules = (0..usize::from(bytes[collection + 1])).map(|index| {
            let rule = u16_at(first + index * 2) * 4;
            let mhz = |at: usize| f64::from(u32_at(at)) / 1000.0;
            let most_eirp_dbm = u16_at(rule + 2) as f64 / 100.0;
            DatasetRule { band: Band::new(mhz(rule + 4), mhz(rule + 8)), most_eirp_dbm }
        });
        countries.push((String::from_utf8(bytes[entry..entry + 2].to_vec()).unwrap(), rules.collect()));
    }
    countries
}

/// A limit of ours that is above the dataset's, and why it stays.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Difference {
    code: String,
    band: [f64; 2],
    ours_dbm: f64,
    reason: String,
}

#[test]
fn no_limit_is_above_the_dataset_without_a_reason() {
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Listed {
        difference: Vec<Difference>,
    }
    let listed: Listed = toml::from_str(include_str!("../../testdata/radio/dataset-differences.toml")).unwrap();
    assert!(listed.difference.iter().all(|difference| difference.reason.len() > 20), "every difference has a reason");
    let dataset = dataset();
    let mut compared = 0;
    let mut found = Vec::new();
    for table in Table::all() {
        for code in &table.codes {
            // The shared European table has no country of its own; its members are looked up.
            let Some((_, theirs)) = dataset.iter().find(|country| country.0 == code.as_str()) else {
                assert_eq!(*code, RegionCode::EU, "the dataset knows every other country that has a table");
                continue;
            };
            for band in bands(table) {
                let most = |rules: &[DatasetRule]| {
                    let near = rules.iter().filter(|rule| rule.band.overlaps(band));
                    near.map(|rule| rule.most_eirp_dbm).reduce(f64::max)
                };
                let Some(theirs_dbm) = most(theirs) else { continue };
                compared += 1;
                let ours_dbm = most_of_ours(table, band);
                if ours_dbm > theirs_dbm + CUT_OFF_DB {
                    found.push((code.to_string(), [band.low, band.high], ours_dbm));
                }
            }
        }
    }
    assert!(compared > 60, "only {compared} bands could be compared");
    let is = |found: &(String, [f64; 2], f64), listed: &Difference| {
        found.0 == listed.code && found.1 == listed.band && (found.2 - listed.ours_dbm).abs() < CUT_OFF_DB
    };
    let unlisted: Vec<_> =
        found.iter().filter(|found| !listed.difference.iter().any(|listed| is(found, listed))).collect();
    assert!(unlisted.is_empty(), "above the dataset without a reason: {unlisted:?}");
    for listed in &listed.difference {
        assert!(found.iter().any(|found| is(found, listed)), "not needed: {} {:?}", listed.code, listed.band);
    }
}

/// Every band of a table's rows, once.
fn bands(table: &Table) -> Vec<Band> {
    let mut bands: Vec<Band> = Vec::new();
    for band in table.rows.iter().flat_map(|row| &row.bands) {
        if !bands.contains(band) {
            bands.push(*band);
        }
    }
    bands
}

/// The most e.i.r.p. that any row of a table allows in a band; infinite where one bounds nothing that is radiated.
fn most_of_ours(table: &Table, band: Band) -> f64 {
    let has = |row: &&Row| row.bands.contains(&band);
    let most = |row: &Row| row.most_eirp_dbm(band).unwrap_or(f64::INFINITY);
    table.rows.iter().filter(has).map(most).fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn the_decoder_reads_known_lines() {
    let dataset = dataset();
    let of = |code: &str, mhz: f64| {
        let country = dataset.iter().find(|country| country.0 == code).unwrap();
        let rule = country.1.iter().find(|rule| rule.band.holds(Band::new(mhz, mhz))).unwrap();
        rule.most_eirp_dbm
    };
    // Source: wireless-regdb 2026.05.30, lines of these countries.
    for (code, mhz, dbm) in [("US", 2450.0, 30.0), ("DE", 2450.0, 20.0), ("AU", 920.0, 30.0), ("NZ", 2450.0, 36.0)] {
        assert_eq!(of(code, mhz), dbm, "{code}");
    }
}

/// Runs a Python program that prints one number a line.
fn python(program: &str) -> Vec<f64> {
    let output = Command::new("python3").args(["-c", program]).output().expect("python3 is installed");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().map(|line| line.trim().parse().unwrap()).collect()
}

fn near(ours: &[f64], theirs: &[f64], within: f64) {
    assert_eq!(ours.len(), theirs.len());
    assert!(!ours.is_empty());
    for (ours, theirs) in ours.iter().zip(theirs) {
        assert!((ours - theirs).abs() <= within, "ours {ours}, theirs {theirs}");
    }
}

/// Distances in metres and frequencies in MHz over the range that models use.
const PATHS: [(f64, f64); 8] = [
    (10.0, 35.1),
    (100.0, 433.92),
    (300.0, 868.3),
    (800.0, 915.0),
    (1000.0, 2400.0),
    (5000.0, 2475.0),
    (20_000.0, 5800.0),
    (50_000.0, 72.5),
];

#[test]
fn free_space_loss_as_two_libraries_have_it() {
    let ours: Vec<_> = PATHS.iter().map(|(metres, mhz)| free_space_loss_db(*metres, *mhz)).collect();
    let paths: String = PATHS.iter().map(|(metres, mhz)| format!("({metres}, {mhz}),")).collect();
    let pycraf = python(&format!(
        "from pycraf import conversions as c\nimport astropy.units as u\n\
         for d, f in [{paths}]:\n  print(-c.free_space_loss(d * u.m, f * u.MHz).value)"
    ));
    near(&ours, &pycraf, 1e-9);
    let spacelink = python(&format!(
        "from spacelink.core.path import free_space_path_loss as loss\nimport astropy.units as u\n\
         for d, f in [{paths}]:\n  print(loss(d * u.m, f * u.MHz).value)"
    ));
    near(&ours, &spacelink, 1e-9);
}

#[test]
fn powers_and_sums_as_a_library_has_them() {
    const MILLIWATTS: [f64; 9] = [0.75, 1.0, 10.0, 25.0, 125.0, 160.0, 500.0, 1000.0, 4000.0];
    let head = "from pycraf import conversions as c\nimport astropy.units as u\n";
    let list = MILLIWATTS.map(|mw| mw.to_string()).join(",");
    let theirs = python(&format!("{head}for p in [{list}]:\n  print((p * u.mW).to(c.dBm).value)"));
    near(&MILLIWATTS.map(dbm_from_mw), &theirs, 1e-9);
    let back = python(&format!("{head}for p in [{list}]:\n  print((p * u.mW).to(c.dBm).to(u.mW).value)"));
    near(&MILLIWATTS.map(|mw| mw_from_dbm(dbm_from_mw(mw))), &back, 1e-9);
    // Chains: the milliwatts of all outputs are added.
    let sums = python(&format!(
        "{head}for n in [1, 2, 3, 4]:\n  print(sum((20.0 * c.dBm).to(u.mW) for _ in range(n)).to(c.dBm).value)"
    ));
    let ours: Vec<_> = (1..=4).map(|chains| total_dbm(&vec![20.0; chains])).collect();
    near(&ours, &sums, 1e-9);
    // Field strength: the library takes 376.73 ohm for the free space, the recommendation 120 pi.
    let field = python(&format!("{head}print(c.ptx_from_efield(50 * u.mV / u.m, 3 * u.m, 0 * c.dBi).to(u.mW).value)"));
    near(&[eirp_from_field_mw(50.0, 3.0)], &field, 0.001);
}

#[test]
fn thermal_noise_as_a_library_has_it() {
    const BANDWIDTHS_HZ: [f64; 5] = [1.0, 125e3, 250e3, 500e3, 1e6];
    let list = BANDWIDTHS_HZ.map(|hz| hz.to_string()).join(",");
    let theirs = python(&format!(
        "from spacelink.core.noise import noise_power\nimport astropy.units as u, math\n\
         for b in [{list}]:\n  print(10 * math.log10(noise_power(b * u.Hz, 290 * u.K).to(u.mW).value))"
    ));
    near(&BANDWIDTHS_HZ.map(|hz| thermal_noise_dbm(hz, REFERENCE_TEMPERATURE_K)), &theirs, 1e-9);
}

#[test]
fn the_published_chain_gain_recomputed() {
    // Source: a laboratory's letter filed with the regulator under FCC KDB 662911: 7.30 dBi.
    let theirs = python(
        "import math\ng = [1.41, 1.41, 1.41, 0.86]\nprint(10 * math.log10(sum(10 ** (x / 20) for x in g) ** 2 / len(g)))",
    );
    let ours = correlated_gain_dbi(&[1.41, 1.41, 1.41, 0.86]);
    near(&[ours], &theirs, 1e-9);
    assert!((ours - 7.30).abs() < 0.01);
}
