//! The name of every check, for all rooms. A finding is found, allowed and set by this name.
//!
//! Code refers to a check by its item here, so that a mistyped name does not compile.

use std::fmt;

macro_rules! check_ids {
    ($($id:ident = $name:literal,)*) => {
        /// The check that finds something. The order is by how bad a finding of the check is.
        #[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
        pub enum CheckId {
            $(#[doc = concat!("`", $name, "`.")] $id,)*
        }

        impl CheckId {
            pub(crate) const ALL: &'static [Self] = &[$(Self::$id),*];

            /// The name in plain words of the trade, in kebab-case.
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$id => $name,)*
                }
            }
        }
    };
}

check_ids! {
    NotWorked = "not-worked",
    WrongWay = "wrong-way",
    RodLength = "rod-length",
    FluidAttacksSeals = "fluid-attacks-seals",
    DoesNotFit = "does-not-fit",
    ShortRelease = "short-release",
    OverRelease = "over-release",
    OverPressure = "over-pressure",
    SlaveOverrun = "slave-overrun",
    NoWearRoom = "no-wear-room",
    MasterBottoms = "master-bottoms",
    IntensifierBottoms = "intensifier-bottoms",
    DeadCentre = "dead-centre",
    ForkOutOfReach = "fork-out-of-reach",
    ForkFouls = "fork-fouls",
    BearingOverrun = "bearing-overrun",
    CableTooTight = "cable-too-tight",
    TorqueShort = "torque-short",
    LiftShort = "lift-short",
    ShaftBottoms = "shaft-bottoms",
    PilotMissed = "pilot-missed",
    SplineMissed = "spline-missed",
    SlaveCrushed = "slave-crushed",
    PedalStaysDown = "pedal-stays-down",
    DragsAsMeasured = "drags-as-measured",
    StartSwitch = "start-switch",
    RequireFailed = "require-failed",
    ThinMargin = "thin-margin",
    WornFails = "worn-fails",
    PortShut = "port-shut",
    DragsHot = "drags-hot",
    SlipsHot = "slips-hot",
    LowBite = "low-bite",
    HighBite = "high-bite",
    SharpTakeUp = "sharp-take-up",
    HeavyPedal = "heavy-pedal",
    RodAngle = "rod-angle",
    ForkAngle = "fork-angle",
    PedalRodAngle = "pedal-rod-angle",
    CableBends = "cable-bends",
    TorqueReserve = "torque-reserve",
    SetupGap = "setup-gap",
    MisalignedBell = "misaligned-bell",
    PilotShort = "pilot-short",
    SplineShort = "spline-short",
    BubbleTrap = "bubble-trap",
    BearingRuns = "bearing-runs",
    RidesHard = "rides-hard",
    AirInLine = "air-in-line",
    ReadingOff = "reading-off",
    FluidBoils = "fluid-boils",
    SmallReservoir = "small-reservoir",
    SlowReturn = "slow-return",
    HoseGives = "hose-gives",
    StartRoom = "start-room",
    CruiseSwitch = "cruise-switch",
    IdleStop = "idle-stop",
    FreeTravelTwice = "free-travel-twice",
    OddRatio = "odd-ratio",
    UnitSlip = "unit-slip",
    AdjustAgain = "adjust-again",
    WayUnknown = "way-unknown",
    ClampLossUnknown = "clamp-loss-unknown",
    FitNotChecked = "fit-not-checked",
    NotUsed = "not-used",
    OptimisticModel = "optimistic-model",
    AssumedValue = "assumed-value",
    OddSize = "odd-size",
    NotAllTried = "not-all-tried",
    Syntax = "syntax",
    WrongUnit = "wrong-unit",
    UnknownUnit = "unknown-unit",
    UnknownBlock = "unknown-block",
    UnknownField = "unknown-field",
    UnknownName = "unknown-name",
    UnknownResult = "unknown-result",
    MissingBlock = "missing-block",
    MissingField = "missing-field",
    GivenTwice = "given-twice",
    TakenName = "taken-name",
    OverStated = "over-stated",
    OutOfRange = "out-of-range",
    UseMissing = "use-missing",
    UseCycle = "use-cycle",
    TooLarge = "too-large",
    UnusedPart = "unused-part",
    UnusedLet = "unused-let",
    UnusedAllow = "unused-allow",
    WrongSetting = "wrong-setting",
}

impl CheckId {
    pub(crate) fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|id| id.name() == name)
    }

    /// Its place in the list of all.
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl fmt::Display for CheckId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
