//! Pairing as the design states it, with every combination of number check, match and numbers written out.

use super::*;

fn dunlin<'a>() -> ModelSide<'a> {
    ModelSide {
        link: Some("shore-24"),
        key: Some("club"),
        domain: Domain::parse("AU"),
        firmware: Some("12.6"),
        matching: Some(true),
        number: Some(4),
    }
}

fn receiver<'a>() -> ReceiverSide<'a> {
    ReceiverSide {
        link: Some("shore-24"),
        key: Some("club"),
        domain: Domain::parse("AU"),
        firmware: Some("12.4"),
        number: Some(ReceiverNumber::Locked(4)),
    }
}

fn strict() -> LinkChecks {
    LinkChecks { number: Some(NumberCheck::Strict), firmware: Some(FirmwareCheck::SameMajor) }
}

/// The outcome in one word.
fn word(pairing: &Pairing<'_>) -> String {
    match pairing {
        Pairing::Connects(Connection { outputs_move: false, .. }) => "blocked".into(),
        Pairing::Connects(Connection { locks_itself: true, .. }) => "locks".into(),
        Pairing::Connects(_) => "connects".into(),
        Pairing::DoesNot(Obstacle::NumberDiffers(..)) => "differs".into(),
        Pairing::DoesNot(Obstacle::NotLocked) => "not-locked".into(),
        Pairing::DoesNot(Obstacle::LockedElsewhere(_)) => "elsewhere".into(),
        Pairing::DoesNot(other) => format!("{other:?}"),
        Pairing::Depends(open) => open.iter().map(|fact| format!("{fact:?}")).collect::<Vec<_>>().join("+"),
    }
}

/// Number check, match, and what happens with a receiver at: the model's number, another number, any, unstated.
/// `?` is not stated.
const BY_NUMBER: &str = "
    strict on   connects  differs   not-locked ReceiverNumber
    strict off  elsewhere elsewhere connects   ReceiverNumber
    learns on   connects  differs   locks      ReceiverNumber
    learns off  elsewhere elsewhere connects   ReceiverNumber
    blocks on   connects  blocked   blocked    ReceiverNumber
    blocks off  blocked   blocked   connects   ReceiverNumber
    none   on   connects  connects  connects   connects
    none   off  connects  connects  connects   connects
    strict ?    Match     differs   Match      Match+ReceiverNumber
    learns ?    Match     differs   Match      Match+ReceiverNumber
    blocks ?    Match     blocked   Match      Match+ReceiverNumber
    none   ?    connects  connects  connects   connects
    ?      on   connects  NumberCheck NumberCheck NumberCheck+ReceiverNumber
    ?      off  NumberCheck NumberCheck connects NumberCheck+ReceiverNumber
    ?      ?    NumberCheck+Match NumberCheck NumberCheck+Match NumberCheck+Match+ReceiverNumber
";

#[test]
fn every_number_check_with_every_match_and_number() {
    let mut rows = 0;
    for line in BY_NUMBER.lines().filter(|line| !line.trim().is_empty()) {
        let words: Vec<_> = line.split_whitespace().collect();
        let number = match words[0] {
            "strict" => Some(NumberCheck::Strict),
            "learns" => Some(NumberCheck::Learns),
            "blocks" => Some(NumberCheck::BlocksOutputs),
            "none" => Some(NumberCheck::None),
            _ => None,
        };
        let matching = match words[1] {
            "on" => Some(true),
            "off" => Some(false),
            _ => None,
        };
        let receivers =
            [Some(ReceiverNumber::Locked(4)), Some(ReceiverNumber::Locked(5)), Some(ReceiverNumber::Any), None];
        for (number_of_receiver, should) in receivers.into_iter().zip(&words[2..6]) {
            let model = ModelSide { matching, ..dunlin() };
            let receiver = ReceiverSide { number: number_of_receiver, ..receiver() };
            let is = pairing(&model, &receiver, LinkChecks { number, ..strict() });
            assert_eq!(word(&is), *should, "{} {} {number_of_receiver:?}", words[0], words[1]);
        }
        rows += 1;
    }
    assert_eq!(rows, 15, "five number checks (one not stated) by three match settings");
}

#[test]
fn a_model_without_a_number() {
    let model = ModelSide { number: None, ..dunlin() };
    let with = |number, check| {
        word(&pairing(&model, &ReceiverSide { number, ..receiver() }, LinkChecks { number: Some(check), ..strict() }))
    };
    assert_eq!(with(Some(ReceiverNumber::Locked(4)), NumberCheck::Strict), "ModelNumber");
    assert_eq!(with(Some(ReceiverNumber::Any), NumberCheck::Strict), "not-locked");
    assert_eq!(with(Some(ReceiverNumber::Any), NumberCheck::Learns), "locks");
    assert_eq!(with(None, NumberCheck::Strict), "ModelNumber+ReceiverNumber");
    assert_eq!(with(None, NumberCheck::None), "connects");
    let off = ModelSide { matching: Some(false), ..model };
    let elsewhere = pairing(&off, &receiver(), strict());
    assert_eq!(elsewhere, Pairing::DoesNot(Obstacle::LockedElsewhere(4)));
    // Whatever match is set to, the number that was only tried is not named.
    let open = ModelSide { matching: None, number: None, ..dunlin() };
    assert_eq!(word(&pairing(&open, &receiver(), strict())), "Match+ModelNumber");
}

#[test]
fn the_first_obstacle_decides() {
    let mut model = ModelSide {
        link: Some("dune-9"),
        key: Some("own"),
        domain: Domain::parse("US"),
        firmware: Some("11.2"),
        number: Some(5),
        ..dunlin()
    };
    let is = |model: &ModelSide<'static>| pairing(model, &receiver(), strict());
    assert_eq!(is(&model), Pairing::DoesNot(Obstacle::Link("dune-9", "shore-24")));
    model.link = Some("shore-24");
    assert_eq!(is(&model), Pairing::DoesNot(Obstacle::Key("own", "club")));
    model.key = Some("club");
    assert!(matches!(is(&model), Pairing::DoesNot(Obstacle::Domain(..))));
    model.domain = Some(Domain::Any);
    assert_eq!(is(&model), Pairing::DoesNot(Obstacle::Firmware("11.2", "12.4")));
    model.firmware = Some("12.9");
    assert_eq!(is(&model), Pairing::DoesNot(Obstacle::NumberDiffers(Some(5), 4)));
    model.number = Some(4);
    assert_eq!(is(&model), Pairing::Connects(Connection { outputs_move: true, locks_itself: false }));
}

#[test]
fn what_is_not_stated_only_matters_where_it_decides() {
    let is = |model: &ModelSide<'_>, checks| word(&pairing(model, &receiver(), checks));
    assert_eq!(is(&ModelSide { key: None, ..dunlin() }, strict()), "Key");
    assert_eq!(is(&ModelSide { link: None, ..dunlin() }, strict()), "Link");
    assert_eq!(is(&ModelSide { domain: None, ..dunlin() }, strict()), "Domain");
    assert_eq!(is(&ModelSide { domain: Domain::parse("KE"), ..dunlin() }, strict()), "Domain");
    assert_eq!(is(&ModelSide { firmware: None, ..dunlin() }, strict()), "Firmware");
    let unchecked = LinkChecks { firmware: None, ..strict() };
    assert_eq!(is(&dunlin(), unchecked), "connects", "same major version passes either way");
    assert_eq!(is(&ModelSide { firmware: Some("11.0"), ..dunlin() }, unchecked), "FirmwareCheck");
    assert_eq!(is(&ModelSide { firmware: None, ..dunlin() }, unchecked), "FirmwareCheck");
    let free = LinkChecks { firmware: Some(FirmwareCheck::None), ..strict() };
    assert_eq!(is(&ModelSide { firmware: None, ..dunlin() }, free), "connects");
    // A stated obstacle decides whatever else is open.
    assert_eq!(is(&ModelSide { key: None, number: Some(5), ..dunlin() }, strict()), "differs");
    let any = ReceiverSide { domain: Some(Domain::Any), ..receiver() };
    assert_eq!(word(&pairing(&ModelSide { domain: None, ..dunlin() }, &any, strict())), "connects");
    let nothing = pairing(&ModelSide::default(), &ReceiverSide::default(), LinkChecks::default());
    assert_eq!(
        word(&nothing),
        "Link+Key+Domain+FirmwareCheck+NumberCheck+Match+ModelNumber+ReceiverNumber",
        "{nothing:?}"
    );
}

#[test]
fn major_versions() {
    for (version, major) in [("12.6", "12"), ("v12.6.1", "12"), ("7", "7"), ("12.0-shore", "12"), (" V3.1 ", "3"), ("", "")]
    {
        assert_eq!(major_version(version), major, "{version}");
    }
}
