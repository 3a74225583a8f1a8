//! `module/chains-missing`: more chains are asked for than the module has.

use crate::rules::out::{Out, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for bay in &view.bays {
        let (Some(hardware), Some(send), Some(handset)) = (bay.hardware, bay.module.send_on.as_ref(), view.handset)
        else {
            continue;
        };
        let Some(chains) = hardware.chains else { continue };
        let missing = send.value.chains.iter().copied().find(|&chain| chain > chains.value);
        let Some(missing) = missing else { continue };
        let there: Vec<String> =
            send.value.chains.iter().filter(|&&chain| chain <= chains.value).map(u8::to_string).collect();
        let text = match there.as_slice() {
            [] => "send-on chain 1".to_owned(),
            [one] => format!("send-on chain {one}"),
            list if send.value.in_turn => format!("send-on chains {} in-turn", list.join(", ")),
            list => format!("send-on chains {}", list.join(", ")),
        };
        let message = format!("The model sends on chain {missing}, and the module has {}.", count(chains.value));
        out.find_text(view.model.head.place(send.span), message)
            .other(handset.head.place(chains.span), "the chains of the module")
            .mend_sure(format!("write `{text}`"), vec![replace(&view.model.head, send.span, text)]);
    }
}

fn count(chains: u8) -> String {
    if chains == 1 { "one chain".to_owned() } else { format!("{chains} chains") }
}
