//! The tables as a whole, and verdicts on invented links. The limits that the expectations rest on are those of the
//! rules named in the table files.

use super::*;
use crate::radio::certainty::Certainty;
use crate::radio::decibel::{dbm_from_mw, mw_from_dbm};
use crate::radio::timing::Sending;
use proptest::prelude::*;

fn table(code: &str) -> &'static Table {
    Table::for_code(RegionCode::parse(code).unwrap()).unwrap()
}

/// An invented hopping link at 2.4 GHz with everything stated.
fn shore_24() -> LinkFacts {
    LinkFacts {
        family: Some(Family::Hopping),
        hop_channels: Some(40),
        bandwidth_mhz: Some(1.0),
        adaptive: Some(false),
        sending: Sending { update_rate_hz: Some(40.0), air_time_ms: Some(2.6), telemetry_share: Some(0.0) },
        usage: Some(Usage::Aircraft),
        indoors: Some(false),
        ..LinkFacts::on(Band::new(2405.0, 2475.0))
    }
}

fn shore_900() -> LinkFacts {
    LinkFacts { hop_channels: Some(50), bandwidth_mhz: Some(0.4), ..on(903.0, 927.0) }
}

fn on(low: f64, high: f64) -> LinkFacts {
    LinkFacts { band: Band::new(low, high), ..shore_24() }
}

fn sends(power_mw: f64, chains: u32, gain_dbi: f64) -> Emission {
    Emission {
        per_chain_dbm: dbm_from_mw(power_mw),
        chains_at_once: Some(chains),
        antenna_gain_dbi: Some(gain_dbi),
        feeder_loss_db: 0.0,
    }
}

#[test]
fn every_table_reads_and_names_its_sources() {
    for (key, text) in FILES {
        let table = Table::read(text).unwrap_or_else(|error| panic!("{key}: {error}"));
        assert_eq!(table.codes[0].as_str(), key, "the first code is the file's key");
        assert!(key == "EU" || table.codes.len() == 1, "{key}: only Europe's table stands for several codes");
        for row in &table.rows {
            assert!(!row.source.is_empty());
            assert!(!row.certainty.is_rule_text() || row.clause.is_some(), "{key}: a rule's text has a clause");
            assert!(!row.limits.is_empty() || row.note.is_some(), "{key}: a row without a limit says so");
        }
    }
    assert_eq!(Table::all().count(), FILES.len());
    let mut codes: Vec<_> = Table::all().flat_map(|table| &table.codes).collect();
    let all = codes.len();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), all, "a code stands in one table");
    // 27 members of the European Union and 4 of EFTA, and EU itself.
    assert_eq!(table("EU").codes.len(), 32);
    assert!(std::ptr::eq(table("DE"), table("NO")));
    assert!(Table::for_code(RegionCode::parse("KE").unwrap()).is_none());
}

#[test]
fn a_table_with_a_mistake_is_refused() {
    let head = "name='x'\ncodes=['US']\nregulator='x'\n";
    let row = "[[row]]\nbands=[[1.0,2.0]]\nsource='x'\ncertainty='Q'\n";
    assert!(Table::read(&format!("{head}{row}")).is_ok());
    for wrong in [
        format!("{head}colour='red'\n{row}"),
        format!("{head}{row}max-dutty=0.1\n"),
        format!("{head}{row}max-duty=1.1\n"),
        format!("{head}{row}limits=[{{value=0,unit='W',kind='eirp'}}]\n"),
        format!("{head}{row}limits=[{{value=1,unit='kW',kind='eirp'}}]\n"),
        format!("{head}{row}limits=[{{value=1,unit='W',kind='eirp',per-mhz=0}}]\n"),
        format!("{head}{}", row.replace("[[1.0,2.0]]", "[[2.0,1.0]]")),
        format!("{head}{}", row.replace("[[1.0,2.0]]", "[]")),
        format!("{head}{}", row.replace("'Q'", "'X'")),
        format!("{}{row}", head.replace("'US'", "'UX'")),
        format!("{head}[[judged]]\nband=[2.0,1.0]\nsource='x'\ncertainty='Q'\n{row}"),
    ] {
        assert!(Table::read(&wrong).is_err(), "{wrong}");
    }
}

#[test]
fn the_us_limits_of_hopping_links() {
    // Source: 47 CFR 15.247(b)(1) and (b)(2): 1 W from 75 channels at 2.4 GHz and from 50 at 900 MHz, else 125 mW
    // and 250 mW; (b)(4): 1 dB less for each dB of gain over 6 dBi.
    for (link, hops, gain, limit_mw) in [
        (shore_24(), 75, 2.0, 1000.0),
        (shore_24(), 74, 2.0, 125.0),
        (shore_24(), 15, 6.0, 125.0),
        (shore_24(), 75, 9.0, 501.187),
        (shore_900(), 50, 0.0, 1000.0),
        (shore_900(), 49, 0.0, 250.0),
        (shore_900(), 25, 7.0, 198.582),
    ] {
        let link = LinkFacts { hop_channels: Some(hops), ..link };
        let verdict = |mw: f64| judge_power(table("US"), &link, &sends(mw, 1, gain));
        let PowerVerdict::Above(above) = verdict(limit_mw * 1.02) else { panic!("{hops} {gain}") };
        let check = above.binding.unwrap();
        assert!((mw_from_dbm(check.allowed_dbm.unwrap()) / limit_mw - 1.0).abs() < 1e-4, "{hops} {gain}");
        assert_eq!(check.limit.kind, PowerKind::ConductedWithAntennaGain);
        assert!(above.row.certainty.is_rule_text());
        assert!(matches!(verdict(limit_mw), PowerVerdict::Within(_)), "{hops} {gain}");
    }
}

#[test]
fn chains_are_summed_and_the_sum_can_be_written_out() {
    // Source: FCC KDB 662911 D01: two chains of 100 mW are 23.01 dBm together, above 125 mW (20.97 dBm).
    let PowerVerdict::Above(above) = judge_power(table("US"), &shore_24(), &sends(100.0, 2, 2.0)) else { panic!() };
    let sum = above.binding.unwrap().sum;
    assert_eq!((sum.chains_at_once, sum.antenna_gain_dbi), (2, Some(2.0)));
    assert!((sum.conducted_dbm - 23.01).abs() < 0.005);
    assert_eq!(sum.total_dbm, Some(sum.per_chain_dbm + sum.chains_db));
    let erp = sends(500.0, 1, 2.15).sum(PowerKind::Erp);
    assert!((erp.total_dbm.unwrap() - dbm_from_mw(500.0)).abs() < 1e-12);
    assert_eq!(erp.dipole_db, 2.15);
}

#[test]
fn what_is_not_stated_is_taken_leniently() {
    let unstated = LinkFacts { hop_channels: None, family: None, bandwidth_mhz: None, ..shore_24() };
    let PowerVerdict::NotStated(power, facts) = judge_power(table("US"), &unstated, &sends(800.0, 1, 2.0)) else {
        panic!("1 W is possible with 75 channels")
    };
    assert!(facts.contains(&Fact::Family), "{facts:?}");
    assert!((mw_from_dbm(power.binding.unwrap().stated_dbm) - 1000.0).abs() < 1e-6);
    // 2 W is above every row, whatever is not stated.
    assert!(matches!(judge_power(table("US"), &unstated, &sends(2000.0, 1, 2.0)), PowerVerdict::Above(_)));
    // The e.i.r.p. of an antenna without a stated gain is not known; the conducted limit is judged without a fall.
    let no_gain = Emission { antenna_gain_dbi: None, ..sends(800.0, 1, 0.0) };
    let europe = judge_power(table("EU"), &shore_24(), &no_gain);
    assert!(matches!(europe, PowerVerdict::NotStated(_, facts) if facts.contains(&Fact::AntennaGain)));
    assert!(matches!(judge_power(table("US"), &shore_24(), &no_gain), PowerVerdict::Above(_)));
    // Without the number of chains one is counted.
    let no_chains = Emission { chains_at_once: None, ..sends(100.0, 1, 2.0) };
    assert!(
        matches!(judge_power(table("US"), &shore_24(), &no_chains), PowerVerdict::NotStated(_, facts) if facts == [Fact::Chains])
    );
}

#[test]
fn a_density_limits_by_bandwidth() {
    // Source: EN 300 328 V2.2.2 4.3.2.3.3: 10 dBm/MHz for digital modulation, so 1 MHz allows 10 dBm.
    let link = LinkFacts { family: Some(Family::Digital), adaptive: Some(true), ..shore_24() };
    let wide = |mhz| LinkFacts { bandwidth_mhz: mhz, ..link };
    let of = |mhz, mw| judge_power(table("EU"), &wide(mhz), &sends(mw, 1, 0.0));
    assert!(matches!(of(Some(1.0), 20.0), PowerVerdict::Above(_)));
    assert!(matches!(of(Some(2.0), 20.0), PowerVerdict::Within(_)));
    assert!(matches!(of(Some(20.0), 100.0), PowerVerdict::Within(_)));
    assert!(matches!(of(Some(20.0), 110.0), PowerVerdict::Above(_)));
    assert!(matches!(of(None, 100.0), PowerVerdict::NotStated(_, facts) if facts.contains(&Fact::Bandwidth)));
}

#[test]
fn time_on_air_of_equipment_that_does_not_listen() {
    // Source: EN 300 328, MU = (P / 100 mW) x DC at most 10 %, nothing asked at 10 dBm and less.
    let link = shore_24();
    // 2.6 ms at 40 Hz are 10.4 %: at 100 mW just too much, at 95 mW (9.88 %) not.
    let DutyVerdict::Breach(ways) = judge_duty(table("EU"), &link, &sends(100.0, 1, 0.0)) else { panic!() };
    assert!(matches!(ways[0].1[..], [AirProblem::MediumUtilisation { is, most: 0.1 }] if (is - 0.104).abs() < 1e-9));
    assert!(matches!(ways.last().unwrap().1[..], [AirProblem::NotListening]));
    assert!(matches!(judge_duty(table("EU"), &link, &sends(95.0, 1, 0.0)), DutyVerdict::Within));
    let listens = LinkFacts { adaptive: Some(true), ..link };
    assert!(matches!(judge_duty(table("EU"), &listens, &sends(100.0, 1, 0.0)), DutyVerdict::Within));
    let fast = Sending { update_rate_hz: Some(200.0), ..link.sending };
    let fast = LinkFacts { sending: fast, ..link };
    assert!(matches!(judge_duty(table("EU"), &fast, &sends(10.0, 1, 0.0)), DutyVerdict::Within));
    let DutyVerdict::Breach(ways) = judge_duty(table("EU"), &fast, &sends(40.0, 1, 0.0)) else { panic!() };
    assert!(ways[0].1.iter().any(|problem| matches!(problem, AirProblem::Gap { least_ms: 5.0, .. })));
    let unknown = LinkFacts { sending: Sending::default(), ..link };
    let verdict = judge_duty(table("EU"), &unknown, &sends(100.0, 1, 0.0));
    assert!(matches!(verdict, DutyVerdict::NotStated(facts) if facts == [Fact::TimeOnAir]));
    // The telemetry share could take 10.4 % under 10 %.
    let open_share = LinkFacts { sending: Sending { telemetry_share: None, ..link.sending }, ..link };
    let verdict = judge_duty(table("EU"), &open_share, &sends(100.0, 1, 0.0));
    assert!(matches!(verdict, DutyVerdict::NotStated(facts) if facts == [Fact::Telemetry]));
    // Source: ARIB STD-T108: carrier sense at 920 MHz.
    let japan = judge_duty(table("JP"), &on(921.0, 927.0), &sends(10.0, 1, 0.0));
    assert!(matches!(japan, DutyVerdict::Breach(ways) if ways[0].1 == [AirProblem::NotListening]));
}

#[test]
fn the_highest_step_keeps_power_and_time() {
    let steps = [10.0, 800.0, 40.0, 160.0, 400.0];
    let step = |code, link: &LinkFacts, chains, gain| {
        highest_fitting_step(table(code), link, &sends(1.0, chains, gain), &steps).map(|step| step.power_mw)
    };
    assert_eq!(step("US", &shore_24(), 1, 2.0), Some(40.0)); // 125 mW
    assert_eq!(step("US", &shore_24(), 2, 2.0), Some(40.0)); // 80 mW of two chains
    assert_eq!(step("AU", &shore_24(), 1, 2.0), Some(160.0)); // 500 mW e.i.r.p.
    assert_eq!(step("AU", &shore_24(), 1, 0.0), Some(400.0));
    assert_eq!(step("EU", &shore_24(), 1, 2.0), Some(40.0)); // 63 mW e.i.r.p., 6.6 % medium utilisation
    let fast = LinkFacts { sending: Sending { update_rate_hz: Some(200.0), ..shore_24().sending }, ..shore_24() };
    assert_eq!(step("EU", &fast, 1, 0.0), Some(10.0)); // only the row for 10 dBm asks for no silence
    assert_eq!(step("EU", &fast, 1, 2.0), None);
    assert_eq!(step("JP", &on(921.0, 927.0), 1, 0.0), None); // it does not listen
    let open = LinkFacts { hop_channels: None, ..shore_24() };
    let best = highest_fitting_step(table("US"), &open, &sends(1.0, 1, 2.0), &steps).unwrap();
    assert_eq!(best, Step { power_mw: 800.0, certain: false });
}

#[test]
fn bands_outside_and_unknown() {
    let of = |code, low, high| judge_band(table(code), &on(low, high));
    assert!(matches!(of("US", 2405.0, 2475.0), BandVerdict::Allowed));
    let BandVerdict::Outside { part, judged, nearest } = of("US", 2405.0, 2490.0) else { panic!() };
    assert_eq!((part, judged.certainty), (Band::new(2483.5, 2490.0), Certainty::RuleText));
    assert!(nearest.contains(&Band::new(2400.0, 2483.5)));
    assert!(matches!(of("US", 863.0, 870.0), BandVerdict::Outside { .. }));
    assert!(matches!(of("EU", 903.0, 927.0), BandVerdict::Outside { .. }));
    // Brazil leaves out the middle of what the United States allow.
    let BandVerdict::Outside { part, .. } = of("BR", 903.0, 927.0) else { panic!() };
    assert_eq!(part, Band::new(907.5, 915.0));
    assert!(matches!(of("US", 151.0, 154.0), BandVerdict::NotKnown { .. }));
    // 35 MHz is for models that fly.
    let narrow = LinkFacts { family: Some(Family::Narrow), bandwidth_mhz: Some(0.01), ..on(35.0, 35.2) };
    assert!(matches!(judge_band(table("DE"), &narrow), BandVerdict::Allowed));
    let boat = LinkFacts { usage: Some(Usage::Surface), ..narrow };
    let BandVerdict::NotForThis { rows, .. } = judge_band(table("DE"), &boat) else { panic!() };
    assert_eq!(rows[0].1, [Mismatch::Usage]);
    // A link on one frequency has a band without width.
    assert!(matches!(
        judge_band(table("DE"), &LinkFacts { band: Band::new(35.1, 35.1), ..narrow }),
        BandVerdict::Allowed
    ));
    assert!(matches!(judge_band(table("DE"), &on(2450.0, 2450.0)), BandVerdict::Allowed));
    assert!(matches!(judge_band(table("DE"), &on(2490.0, 2490.0)), BandVerdict::Outside { .. }));
}

#[test]
fn a_band_of_two_rows_keeps_the_stricter() {
    // Australia: 4 W up to 5850 MHz for digital modulation, 25 mW up to 5875 MHz for any.
    let link = LinkFacts { family: Some(Family::Digital), ..on(5800.0, 5870.0) };
    assert!(matches!(judge_band(table("AU"), &link), BandVerdict::Allowed));
    assert!(matches!(judge_power(table("AU"), &link, &sends(100.0, 1, 2.0)), PowerVerdict::Above(_)));
    // The European bands from 869.4 to 870 MHz have a hole at 869.65 for power above 25 mW.
    let erp = |mw, low, high| {
        let link = LinkFacts { sending: Sending { update_rate_hz: Some(10.0), ..shore_24().sending }, ..on(low, high) };
        judge_power(table("EU"), &link, &sends(mw, 1, 2.15))
    };
    assert!(matches!(erp(500.0, 869.4, 869.65), PowerVerdict::Within(_)));
    assert!(matches!(erp(500.0, 869.4, 869.7), PowerVerdict::Above(_)));
}

#[test]
fn how_sure_a_region_is_about_a_band() {
    let surest = |code, band| table(code).surest_row(band).map(|row| row.certainty);
    assert_eq!(surest("US", shore_24().band), Some(Certainty::RuleText));
    assert_eq!(surest("AU", shore_24().band), Some(Certainty::Dataset));
    assert_eq!(surest("GB", Band::new(916.0, 927.0)), None);
}

fn any_link() -> impl Strategy<Value = LinkFacts> {
    let bands =
        prop::sample::select(vec![(2405.0, 2475.0), (903.0, 927.0), (863.5, 869.5), (433.1, 434.5), (5730.0, 5840.0)]);
    let families = prop::sample::select(vec![Family::Hopping, Family::Digital, Family::Narrow]);
    (bands, families, 1u32..100, 0.01..30.0f64, any::<bool>(), 0.1..5.0f64, 10.0..400.0f64).prop_map(
        |((low, high), family, hops, mhz, adaptive, air_ms, hz)| LinkFacts {
            family: Some(family),
            hop_channels: Some(hops),
            bandwidth_mhz: Some(mhz),
            adaptive: Some(adaptive),
            sending: Sending { update_rate_hz: Some(hz), air_time_ms: Some(air_ms), telemetry_share: Some(0.0) },
            ..on(low, high)
        },
    )
}

proptest! {
    /// Leaving a statement out never turns an allowed link into one that is not.
    #[test]
    fn silence_is_never_stricter(
        link in any_link(), mw in 0.1..3000.0f64, gain in -2.0..14.0f64, left_out in 0usize..8,
        code in prop::sample::select(vec!["US", "CA", "EU", "GB", "AU", "NZ", "JP", "CN", "IN", "BR"]),
    ) {
        let table = table(code);
        let full = sends(mw, 2, gain);
        let (mut less, mut sends_less) = (link, full);
        match left_out {
            0 => less.family = None,
            1 => less.hop_channels = None,
            2 => less.bandwidth_mhz = None,
            3 => less.adaptive = None,
            4 => less.sending.air_time_ms = None,
            5 => less.sending.telemetry_share = None,
            6 => sends_less.antenna_gain_dbi = None,
            _ => sends_less.chains_at_once = None,
        }
        let band = |link| matches!(judge_band(table, link), BandVerdict::Allowed);
        prop_assert!(!band(&link) || band(&less));
        if !band(&link) {
            return Ok(());
        }
        let above = |link, sends| matches!(judge_power(table, link, sends), PowerVerdict::Above(_));
        prop_assert!(above(&link, &full) || !above(&less, &sends_less));
        let breach = |link, sends| matches!(judge_duty(table, link, sends), DutyVerdict::Breach(_));
        prop_assert!(breach(&link, &full) || above(&link, &full) || !breach(&less, &sends_less));
        let steps = [5.0, 20.0, 80.0, 320.0];
        let step = |link, sends| highest_fitting_step(table, link, sends, &steps).map_or(0.0, |step| step.power_mw);
        prop_assert!(step(&less, &sends_less) >= step(&link, &full));
    }

    /// With everything stated the highest step is allowed, and no higher one is.
    #[test]
    fn the_highest_step_is_the_border(link in any_link(), gain in -2.0..14.0f64) {
        let steps = [5.0, 20.0, 80.0, 320.0, 1280.0];
        for table in Table::all().filter(|table| matches!(judge_band(table, &link), BandVerdict::Allowed)) {
            let best = highest_fitting_step(table, &link, &sends(1.0, 1, gain), &steps);
            for mw in steps {
                let sends = sends(mw, 1, gain);
                let power = judge_power(table, &link, &sends);
                let kept = !matches!(power, PowerVerdict::Above(_) | PowerVerdict::NoRow)
                    && !matches!(judge_duty(table, &link, &sends), DutyVerdict::Breach(_) | DutyVerdict::NoRow);
                if best.is_none_or(|best| mw > best.power_mw) {
                    prop_assert!(!kept, "{} {mw} mW is kept though the best is {best:?}", table.name);
                } else if best.is_some_and(|best| mw == best.power_mw) {
                    prop_assert!(kept, "{} {mw} mW", table.name);
                }
            }
        }
    }
}

/// The facts of a link, of which some are not stated.
fn facts() -> impl Strategy<Value = (LinkFacts, Emission)> {
    let bands =
        vec![(2405.0, 2475.0), (903.0, 927.0), (863.2, 869.6), (868.1, 868.5), (433.1, 434.7), (2390.0, 2440.0)];
    let family = prop::option::of(prop::sample::select(vec![Family::Hopping, Family::Digital, Family::Narrow]));
    let hops = prop::option::of(prop::sample::select(vec![1_u32, 15, 50, 80]));
    let width = prop::option::of(prop::sample::select(vec![0.02, 0.4, 1.0, 5.0]));
    let air = prop::option::of(prop::sample::select(vec![0.05, 2.6, 12.0]));
    let share = prop::option::of(prop::sample::select(vec![0.0, 0.1]));
    let flags = (any::<Option<bool>>(), any::<Option<bool>>());
    let link = (prop::sample::select(bands), family, hops, width, air, share, flags);
    let power = prop::sample::select(vec![0.5, 10.0, 25.0, 90.0, 400.0, 2000.0]);
    let sent = (power, prop::option::of(1_u32..3), prop::option::of(-2.0..9.0_f64));
    (link, sent).prop_map(|((band, family, hop_channels, bandwidth_mhz, air_time_ms, telemetry_share, flags), sent)| {
        let link = LinkFacts {
            family,
            hop_channels,
            bandwidth_mhz,
            adaptive: flags.0,
            sending: Sending { update_rate_hz: Some(40.0), air_time_ms, telemetry_share },
            indoors: flags.1,
            ..on(band.0, band.1)
        };
        let (power, chains_at_once, antenna_gain_dbi) = sent;
        (link, Emission { chains_at_once, antenna_gain_dbi, ..sends(power, 1, 0.0) })
    })
}

proptest! {
    /// What is allowed at a glance is within power and time by the whole judgement.
    #[test]
    fn a_glance_allows_nothing_that_the_judgement_does_not((link, sent) in facts()) {
        for table in Table::all() {
            if is_plainly_allowed(table, &link, &sent) {
                prop_assert!(matches!(judge_power(table, &link, &sent), PowerVerdict::Within(_)), "{}", table.name);
                prop_assert!(matches!(judge_duty(table, &link, &sent), DutyVerdict::Within), "{}", table.name);
            }
        }
    }
}

#[test]
fn a_glance_sees_what_is_within_and_leaves_the_rest() {
    let listening = LinkFacts { adaptive: Some(true), ..shore_24() };
    assert!(is_plainly_allowed(table("EU"), &listening, &sends(50.0, 1, 2.0)));
    assert!(!is_plainly_allowed(table("EU"), &listening, &sends(500.0, 1, 2.0)));
    assert!(!is_plainly_allowed(table("EU"), &LinkFacts { family: None, ..listening }, &sends(50.0, 1, 2.0)));
}
