//! The words of the language that carry meaning, as types.

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($variant:ident $word:literal $about:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
        pub enum $name { $(#[doc = $about] $variant),* }

        impl $name {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// The one that is written like this.
            pub fn find(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)* _ => None }
            }

            /// How it is written.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),* }
            }
        }
    };
}

words! {
    /// The family of radio rules that a link falls under.
    Modulation { Hopping "hopping" "Frequency hopping.", Digital "digital" "Digital modulation.", Narrow "narrow" "Narrow channels." }
}
words! {
    /// What a link does with receiver numbers.
    NumberCheck {
        Strict "strict" "Only equal numbers connect.", Learns "learns" "A receiver without a number takes the model's.",
        BlocksOutputs "blocks-outputs" "The link comes up, the outputs move only when the numbers agree.", None "none" "They are not looked at.",
    }
}
words! {
    /// What a link does with firmware versions.
    FirmwareCheck { SameMajor "same-major" "The first numbers must be equal.", None "none" "They are not looked at." }
}
words! {
    /// What sort of craft it is.
    CraftKind {
        Multirotor "multirotor" "A multirotor.", Aeroplane "aeroplane" "An aeroplane with a tail.", FlyingWing "flying-wing" "A tailless wing.",
        Glider "glider" "A glider.", Helicopter "helicopter" "A helicopter.",
        Autogyro "autogyro" "A free rotor carries it, a propeller pushes or pulls it.", Vtol "vtol" "It takes off upright and flies as a wing.",
        Car "car" "A car.", Tracked "tracked" "It runs on tracks.", Boat "boat" "A boat.",
        Hovercraft "hovercraft" "It floats on a cushion of air.",
    }
}
words! {
    /// What drives a craft.
    MotorKind { Electric "electric" "An electric motor.", Combustion "combustion" "An engine that burns fuel.", None "none" "Nothing." }
}
words! {
    /// The four sticks, and the functions they have.
    Stick { Roll "roll" "Roll, aileron.", Pitch "pitch" "Pitch, elevator.", Throttle "throttle" "Throttle.", Yaw "yaw" "Yaw, rudder." }
}
words! {
    /// How a handset is held.
    Grip { Sticks "sticks" "With two hands, at its sticks.", Pistol "pistol" "As a pistol, with a wheel and a trigger." }
}
words! {
    /// Where the throttle stick goes when it is let go.
    ThrottleStick { Stays "stays" "It stays where it is put.", Sprung "sprung" "It springs to its centre." }
}
words! {
    /// What the ends and the middle of a stick, knob or slider are called.
    AxisPosition { Low "low" "Its lower end.", Centre "centre" "Its middle.", High "high" "Its upper end." }
}

impl AxisPosition {
    /// How far from the middle it is, in percent.
    pub const fn percent(self) -> i64 {
        match self {
            Self::Low => -100,
            Self::Centre => 0,
            Self::High => 100,
        }
    }
}

words! {
    /// What a mode is for.
    ModeKind {
        Return "return" "Flies home.", Land "land" "Lands.", Stop "stop" "Stops the motors.", Enable "enable" "Allows arming.",
        Locator "locator" "Makes a noise.", OnGround "on-ground" "Of use on the ground only.",
    }
}
words! {
    /// What the controller does when the link is lost.
    LossAction { MotorsOff "motors-off" "Stops the motors.", Descend "descend" "Comes down.", Circle "circle" "Circles.", FlyBack "fly-back" "Flies home.", Nothing "nothing" "Nothing." }
}
words! {
    /// What the receiver does when the link is lost.
    FailsafeAction {
        OutputStops "output-stops" "It sends nothing more.", Hold "hold" "It repeats the last pulses.",
        Preset "preset" "It gives pulses that were set before.",
    }
}
words! {
    /// One side of an aircraft.
    Side { Left "left" "Left.", Right "right" "Right." }
}
words! {
    /// Which way a part moves when its pulse rises, as it is seen from behind.
    Way {
        Up "up" "Up.", Down "down" "Down.", Left "left" "To the left.", Right "right" "To the right.",
        Open "open" "It opens, or comes out.", On "on" "It goes on.",
    }
}
words! {
    /// What a battery feeds.
    Feeds { Motor "motor" "The motor.", Receiver "receiver" "Receiver and servos.", Both "both" "The motor, the receiver and the servos." }
}
words! {
    /// The shape of a tail of two surfaces.
    Tail { UprightV "upright-v" "Its surfaces rise to the sides.", InvertedV "inverted-v" "Its surfaces fall to the sides." }
}
words! {
    /// What a pilot tests on the aircraft itself.
    Tested { Failsafe "failsafe" "What it does when the link is lost.", Range "range" "How far the link reaches.", Directions "directions" "Which way everything moves." }
}
words! {
    /// The kinds of the pilot's own rules.
    ExpectKind { Never "never" "It can never occur.", Always "always" "It holds in every state that can occur.", Reachable "reachable" "It can occur." }
}
words! {
    /// The severities that the pilot's own rules can have.
    ExpectSeverity { Danger "danger" "A danger.", Caution "caution" "A caution.", Note "note" "A note." }
}

impl CraftKind {
    /// Whether it stays on the ground or the water.
    pub const fn stays_down(self) -> bool {
        matches!(self, Self::Car | Self::Tracked | Self::Boat | Self::Hovercraft)
    }
}

impl Stick {
    /// The letter that channel orders use: aileron, elevator, throttle, rudder.
    pub const fn letter(self) -> char {
        match self {
            Self::Roll => 'A',
            Self::Pitch => 'E',
            Self::Throttle => 'T',
            Self::Yaw => 'R',
        }
    }

    /// The stick of a channel order's letter.
    pub fn of_letter(letter: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|stick| stick.letter().to_string() == letter)
    }
}

/// What a pilot's hands have hold of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Hands {
    /// How the handset is held.
    pub grip: Grip,
    /// Which function is on which of two sticks, from 1 to 4, where it is stated.
    pub mode: Option<u8>,
}

impl Default for Hands {
    /// Two sticks of which nothing more is stated.
    fn default() -> Self {
        Self { grip: Grip::Sticks, mode: None }
    }
}

impl Grip {
    /// The sticks of a handset that is held so, each with its name.
    pub const fn sticks(self) -> &'static [(Stick, &'static str)] {
        match self {
            Self::Sticks => {
                &[(Stick::Roll, "roll"), (Stick::Pitch, "pitch"), (Stick::Throttle, "throttle"), (Stick::Yaw, "yaw")]
            }
            Self::Pistol => &[(Stick::Throttle, "trigger"), (Stick::Yaw, "wheel")],
        }
    }

    /// The stick with this name.
    pub fn stick(self, name: &str) -> Option<Stick> {
        self.sticks().iter().find(|(_, known)| *known == name).map(|(stick, _)| *stick)
    }
}
