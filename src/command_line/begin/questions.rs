//! What is asked.

/// One question. Whether it is asked, and what an empty answer stands for, hangs on the answers before it: see `Answers`.
pub(super) struct Question {
    /// Its key in a file of answers.
    pub(super) key: &'static str,
    /// The question in words; none where only a file of answers says it: few know it by heart.
    pub(super) ask: Option<&'static str>,
}

/// All questions, in the order in which they are asked.
pub(super) const QUESTIONS: &[Question] = &[
    Question {
        key: "kind",
        ask: Some(
            "What is the aircraft? multirotor, aeroplane, flying-wing, glider (without a motor), helicopter, autogyro, vtol, car,\n\
              tracked, boat or hovercraft.",
        ),
    },
    Question { key: "name", ask: Some("What do you call it?") },
    Question { key: "like", ask: Some("Is it like one that is there, but for a few values? Its name, or no.") },
    Question { key: "handset", ask: Some("Which handset is it flown with?") },
    Question { key: "module", ask: Some("With the module of which bay?") },
    Question { key: "place", ask: Some("Where is it flown?") },
    Question { key: "region", ask: Some("In which country do you fly? Its radio rules are looked up.") },
    Question {
        key: "grip",
        ask: Some("How is the handset held? sticks: two sticks; pistol: a pistol grip with a wheel and a trigger."),
    },
    Question {
        key: "throttle-stick",
        ask: Some("What does the throttle stick do when you let it go? stays, or sprung: it springs to its centre."),
    },
    Question {
        key: "stick-mode",
        ask: Some(
            "Which stick mode is the handset in? 1: throttle and roll on the right stick; 2: roll and pitch on the right; 3: roll and \
              pitch\non the left; 4: throttle and roll on the left.",
        ),
    },
    Question { key: "reverse", ask: Some("Does its motor also run backwards? yes or no.") },
    Question { key: "switches", ask: Some("Which switches do you use, and how many positions has each?") },
    Question { key: "switch", ask: Some("Which switch starts and stops the motor?") },
    Question { key: "channels", ask: Some("How many channels does the radio link carry?") },
    Question {
        key: "update-rate",
        ask: Some(
            "How often does it send the sticks? Its manual says so; you may give several rates, the one you use first.",
        ),
    },
    Question { key: "band", ask: Some("Which frequencies does it use?") },
    // For which radio rules module and receivers were built.
    Question { key: "domain", ask: None },
    Question {
        key: "number",
        ask: Some("Which receiver number does it have? The model in the handset and the receiver are both set to it."),
    },
    Question {
        key: "order",
        ask: Some(
            "What do channels 1 to 4 carry, in order? A: aileron (roll), E: elevator (pitch), T: throttle, R: rudder (yaw). The flight\n\
              controller or the wiring of the servos decides.",
        ),
    },
    Question {
        key: "arm-channel",
        ask: Some(
            "Which channel asks the flight controller to arm? The controller's settings say so; it is none of the first four.",
        ),
    },
];
