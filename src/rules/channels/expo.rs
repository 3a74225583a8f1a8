//! `channels/expo`: the expo of a stick leaves nothing of its centre, or makes it the quickest part of it.

use crate::findings::fact::{percent, text};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::rates::odd_expo;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (least, most) = (out.parameter("least", Dimension::Percent), out.parameter("most", Dimension::Percent));
    for found in odd_expo(setup.model, least, most) {
        let facts = [
            text("stick", found.rates.name),
            percent("expo", found.expo.value),
            percent("limit", if found.expo.value > most { most } else { least }),
        ];
        let (key, case, sentence, words) = if found.expo.value > most {
            (
                "dead",
                "",
                "With expo {expo} the {stick} stick moves next to nothing around its centre (an expo above {limit} is found).",
                "Take an expo between 10 and 60 percent.",
            )
        } else {
            (
                "nervous",
                "nervous",
                "With expo {expo} the {stick} stick is at its quickest around its centre (an expo below {limit} is found).",
                "Take the minus out, or an expo between 0 and 60 percent.",
            )
        };
        out.find(setup.in_model(found.line.span), key, sentence, facts).case(case).mend_words(words);
    }
}
