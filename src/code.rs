//! A number for each error, each [`Reason`], and each note, doubt and warning, for programs that carry no text across
//! their border.
//!
//! | numbers | errors, and what is said beside a result |
//! |---|---|
//! | 1 | [`Cancelled`], and the errors of other enums that say the same |
//! | 2 | [`LevelError`] |
//! | 3 | [`UnknownName`] |
//! | 101 to 117 | [`sweep::SweepError`](crate::sweep::SweepError) |
//! | 121 to 142 | [`sweep::Kind`](crate::sweep::Kind) of a finding |
//! | 201 to 207 | [`diode::ModelError`](crate::diode::ModelError) |
//! | 301 to 309 | [`fit::FitError`](crate::fit::FitError) |
//! | 321 to 336 | [`fit::Note`](crate::fit::Note) |
//! | 351 to 354 | [`fit::ProblemError`](crate::fit::ProblemError) |
//! | 371 to 374 | [`fit::ClosedError`](crate::fit::ClosedError) |
//! | 381 to 385 | [`fit::Reservation`](crate::fit::Reservation) |
//! | 401 to 411 | [`interpolant::InterpolantError`](crate::interpolant::InterpolantError) |
//! | 501 to 515 | `resistance::ResistanceError` |
//! | 521 to 530 | `resistance::Doubt` |
//! | 541 to 544 | `resistance::QuoteReason` |
//! | 601 to 612 | `translate::TranslateError` |
//! | 621 to 628 | `translate::Warning` |
//! | 701 to 703 | `simulate::SimulationError` |
//! | 711 to 713 | [`ArithmeticError`](crate::arithmetic::ArithmeticError) |
//! | 721 to 724 | `DetectionError` |
//! | 731 to 733 | `HysteresisError` |
//! | 735 to 738 | `StepError` |
//! | 741 to 745 | `CheckError` |
//! | 751 to 752 | `maximum_power::NoMaximum`, else those of what it holds |
//! | 761 to 765 | `maximum_power::PowerRemark` |
//! | 771 to 772 | `maximum_power::PowerChoice` |
//! | 773, 781 to 792, 798, 799 | `plan::PlanError` |
//! | 774 to 776, 780, 793 to 797 | `plan::PlanNote` |
//! | 800 to 899 | [`Reason`], why a figure, its ± or an end of its interval is missing |
//! | 901 to 944 | `reading::Problem`, why a file is not read |
//! | 951 to 957 | `live::LiveError`, else those of what it holds |
//! | 961 to 970 | `live::StopReason` |
//! | 1001 to 1014 | what a program passes wrongly to the C interface |
//!
//! A number that was given once is not given to anything else later; what is new gets new ones.

#[cfg(feature = "methods")]
use crate::maximum_power::NoMaximum;
use crate::numerics::cancel::Cancelled;
use crate::quantity::estimate::{LevelError, UnknownName};
use crate::quantity::reason::Reason;

/// An error, a reason, or what is said beside a result, with a number.
///
/// # Examples
/// ```
/// use litdiode::code::Coded;
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let error = Sweep::new(&[0.0, 0.1], &[1.0], SweepOptions::default()).unwrap_err();
/// assert_eq!(error.code(), 102);
/// ```
pub trait Coded {
    /// The number, above 0.
    fn code(&self) -> u16;
}

/// The numbers of the variants of an enum.
macro_rules! codes {
    ($of:path { $($variant:ident = $code:literal,)* }) => {
        impl Coded for $of {
            fn code(&self) -> u16 {
                match self {
                    $(Self::$variant { .. } => $code,)*
                }
            }
        }
    };
}

impl Coded for Cancelled {
    fn code(&self) -> u16 {
        1
    }
}

impl Coded for LevelError {
    fn code(&self) -> u16 {
        2
    }
}

impl Coded for UnknownName {
    fn code(&self) -> u16 {
        3
    }
}

codes!(crate::sweep::SweepError {
    TooFewPoints = 101,
    Lengths = 102,
    Repeats = 103,
    RepeatLength = 104,
    NotFinite = 105,
    Overflow = 106,
    OneVoltage = 107,
    NoCurrent = 108,
    Contradiction = 109,
    Option = 110,
    NoFloor = 111,
    SignContradicted = 112,
    Undecided = 113,
    OutsideTable = 114,
    Table = 115,
    CorrectionOrder = 116,
    NestedDark = 117,
});

codes!(crate::sweep::Kind {
    NegativeVoltage = 121,
    ShortOfIsc = 122,
    ShortOfVoc = 123,
    FewPoints = 124,
    Clipped = 125,
    TurnsBack = 126,
    CurrentStepped = 127,
    SignContradicted = 128,
    Outlier = 129,
    Scatter = 130,
    Quantised = 131,
    Implausible = 132,
    Bias = 133,
    BelowNoise = 134,
    NoVoltage = 135,
    FewAtKnee = 136,
    NotSettled = 137,
    NotMonotone = 138,
    SShape = 139,
    Shunted = 140,
    SeriesLimited = 141,
    LowIdeality = 142,
});

codes!(crate::diode::ModelError {
    Parameter = 201,
    Entry = 202,
    Shape = 203,
    TooMany = 204,
    NoCells = 205,
    Argument = 206,
    Length = 207,
});

codes!(crate::fit::FitError {
    TooFewPoints = 301,
    UnknownName = 302,
    OutOfDomain = 303,
    CrossedBounds = 304,
    Exchanged = 305,
    NoUncertainty = 306,
    NoWeight = 307,
    OutOfReach = 308,
    Model = 309,
});

codes!(crate::fit::Note {
    NoSignal = 321,
    NotConverged = 322,
    NotExamined = 323,
    AtBound = 324,
    NoSeriesResistance = 325,
    NoShunt = 326,
    SecondFeet = 327,
    FewRuns = 328,
    ScatterAboveStated = 329,
    ScatterBelowStated = 330,
    NoScatterLeft = 331,
    NotDetermined = 332,
    SecondDiodeSupported = 333,
    SecondDiodeUnclear = 334,
    OneDiodeAsGood = 335,
    SecondDiodeUnsupported = 336,
});

codes!(crate::fit::ProblemError {
    Empty = 351,
    Length = 352,
    Number = 353,
    Crossed = 354,
});

codes!(crate::fit::ClosedError {
    Domain = 371,
    Slopes = 372,
    Ideality = 373,
    Model = 374,
});

codes!(crate::fit::Reservation {
    NegativeRs = 381,
    SecondCircuit = 382,
    NoShunt = 383,
    FigureOff = 384,
    SlopeOff = 385,
});

codes!(crate::interpolant::InterpolantError {
    Stopped = 1,
    Lengths = 401,
    NotFinite = 402,
    TooFewVoltages = 403,
    Breaks = 404,
    Value = 405,
    Outside = 406,
    NotReached = 407,
    NotRepresentable = 408,
    NoScatter = 409,
    NoNoise = 410,
    NoPenalty = 411,
});

#[cfg(feature = "methods")]
codes!(crate::resistance::ResistanceError {
    Stopped = 1,
    NoCurve = 501,
    TooFewPoints = 502,
    NoKeyPoint = 503,
    SameLight = 504,
    Argument = 505,
    Lengths = 506,
    Undetermined = 507,
    Missing = 508,
    Fit = 509,
    DarkTooShort = 510,
    ZeroNotReached = 511,
    OutsideIrradiances = 512,
    NoLowerIrradiance = 513,
    MaximumAtLowest = 514,
    NoPseudoPower = 515,
});

#[cfg(feature = "methods")]
codes!(crate::resistance::QuoteReason {
    NoMethod = 541,
    AllDoubted = 542,
    NoInterval = 543,
    Chosen = 544,
});

#[cfg(feature = "methods")]
codes!(crate::resistance::Doubt {
    NoStandIn = 521,
    LackOfFit = 522,
    FitEnded = 523,
    Truncation = 524,
    Negative = 525,
    DiodeSlope = 526,
    BentReverse = 527,
    BentLogarithm = 528,
    OffCheung = 529,
    ChangingDistance = 530,
});

#[cfg(feature = "methods")]
codes!(crate::translate::TranslateError {
    NoIrradiance = 601,
    Number = 602,
    Unit = 603,
    KeyPoint = 604,
    NotLit = 605,
    TooFew = 606,
    Mixed = 607,
    Lengths = 608,
    NotReached = 609,
    Unpaired = 610,
    NoSmooth = 611,
    Sweep = 612,
});

#[cfg(feature = "methods")]
codes!(crate::translate::Warning {
    IrradianceOutside = 621,
    TemperatureOutside = 622,
    NoUncertainty = 623,
    NoIsc = 624,
    IscNotPositive = 625,
    Extrapolated = 626,
    Unpaired = 627,
    SameIrradiance = 628,
});

#[cfg(feature = "simulate")]
codes!(crate::simulate::SimulationError {
    Property = 701,
    Unreachable = 702,
    Sweep = 703,
});

#[cfg(feature = "methods")]
codes!(crate::plan::PlanError {
    NoDevice = 781,
    NoNoise = 782,
    Noise = 783,
    Option = 784,
    Points = 785,
    UnknownName = 786,
    NothingFree = 787,
    NoTarget = 788,
    Proportional = 789,
    NoParameter = 790,
    NoRange = 791,
    NoRoom = 792,
    NotDetermined = 798,
    Stopped = 799,
    Apart = 773,
});

#[cfg(feature = "methods")]
codes!(crate::plan::PlanNote {
    OnBound = 793,
    Repeated = 794,
    WithoutModel = 795,
    Spread = 796,
    HighVoltage = 797,
    ReverseBias = 780,
    Narrowed = 774,
    OneSided = 775,
    FewDegrees = 776,
});

codes!(crate::quantity::arithmetic::ArithmeticError {
    Units = 711,
    NoUnit = 712,
    NotFinite = 713,
});

#[cfg(feature = "methods")]
codes!(crate::detection::DetectionError {
    FewBlanks = 721,
    Number = 722,
    NoScatter = 723,
    Unreachable = 724,
});

#[cfg(feature = "methods")]
codes!(crate::hysteresis::HysteresisError {
    DifferentlySwept = 731,
    SameWay = 732,
    Settled = 733,
});

#[cfg(feature = "methods")]
codes!(crate::step_response::StepError {
    Lengths = 735,
    TooFew = 736,
    NotFinite = 737,
    Time = 738,
});

#[cfg(feature = "methods")]
codes!(crate::instrument_check::CheckError {
    Empty = 741,
    NoUncertainty = 742,
    Lengths = 743,
    Time = 744,
    Arithmetic = 745,
});

codes!(Reason {
    Remark = 800,
    NoCurve = 801,
    NoDeviceCurve = 802,
    NotReached = 803,
    TooFar = 804,
    Contradiction = 805,
    FarApart = 806,
    FewVoltages = 807,
    NoMaximum = 808,
    MaximumAtEnd = 809,
    OutsideReadings = 810,
    NoPower = 811,
    PowerInScatter = 812,
    AlongAxis = 813,
    Overflow = 814,
    Needs = 815,
    Unstated = 816,
    NotAboveZero = 817,
    FillFactor = 818,
    NoFall = 819,
    FewReadings = 821,
    NoScatter = 822,
    NoDegreesOfFreedom = 823,
    Exact = 824,
    Dark = 825,
    NoCovariance = 826,
    Lost = 827,
    TwoConditions = 828,
    NoConductance = 829,
    BiasUnknown = 830,
    Given = 831,
    Unrecorded = 832,
    NoTimes = 833,
    DifferentSetPoints = 834,
    NoLag = 835,
    UnevenDwell = 836,
    NotFirstOrder = 837,
    NoStep = 838,
    StepNotFollowed = 839,
    NotExponential = 840,
    ElectricalPartOnly = 841,
    PartLeftOut = 842,
    Biased = 843,
    Excess = 844,
    Correlated = 845,
    Extrapolated = 846,
    ExtrapolatedByModel = 847,
    ByProfile = 848,
    UnknownCorrelation = 849,
    Fixed = 851,
    NotDetermined = 852,
    AtBound = 853,
    NoShunt = 854,
    NoSeriesResistance = 855,
    Level = 861,
    NoFigure = 862,
    NoInterval = 863,
    NoProfile = 864,
    ProfileStopped = 865,
    Open = 866,
    OpenToBound = 867,
    OpenAbove = 868,
    NotFinite = 869,
    Stopped = 870,
    FewDraws = 871,
    FailedDraws = 872,
    Unreached = 873,
    OffModel = 874,
});

#[cfg(feature = "methods")]
codes!(crate::maximum_power::PowerRemark {
    BiasedUpwards = 761,
    Bias = 762,
    FlattenedKnee = 763,
    OnlyConcave = 764,
    LackOfFit = 765,
});

#[cfg(feature = "methods")]
codes!(crate::maximum_power::PowerChoice {
    None = 771,
    GuidedCurve = 772,
});

#[cfg(feature = "methods")]
codes!(crate::live::StopReason {
    Reached = 961,
    CommonToAll = 962,
    PointsUsedUp = 963,
    TimeUsedUp = 964,
    NoPower = 965,
    LimitReached = 966,
    NotFollowed = 967,
    NoNumbers = 968,
    Cancelled = 969,
    BeyondLimits = 970,
});

#[cfg(feature = "methods")]
impl Coded for crate::live::LiveError {
    fn code(&self) -> u16 {
        match self {
            Self::Sweep(error) => error.code(),
            Self::Fit(error) => error.code(),
            Self::Option { .. } => 951,
            Self::Limits { .. } => 952,
            Self::Target { .. } => 953,
            Self::BeforeReadings { .. } => 954,
            Self::NotFinite { .. } => 955,
            Self::Time { .. } => 956,
            Self::Full { .. } => 957,
        }
    }
}

#[cfg(feature = "reading")]
codes!(crate::reading::Problem {
    Binary = 901,
    Spreadsheet = 902,
    Compressed = 903,
    RepeatedKey = 904,
    UnitsDiffer = 905,
    TooLarge = 906,
    Encoding = 907,
    UnknownEncoding = 908,
    Empty = 909,
    NoRows = 910,
    OtherRows = 911,
    Lengths = 912,
    TwoDelimiters = 913,
    TwoNumbers = 914,
    MixedMarks = 915,
    Width = 916,
    OtherHeadings = 917,
    Missing = 918,
    NoNumber = 919,
    Overflow = 920,
    UnitOfCell = 921,
    NoUnit = 922,
    NoColumn = 923,
    Function = 924,
    TwoColumns = 925,
    NoHeadings = 926,
    Exchanged = 927,
    UnknownColumn = 928,
    SameColumn = 929,
    UnknownUnit = 930,
    WrongUnit = 931,
    Mega = 932,
    DensityWithoutUnit = 933,
    NoArea = 934,
    Contradiction = 935,
    Several = 936,
    NoSuchSweep = 937,
    FewRows = 938,
    Option = 940,
    TerminalCode = 941,
    EmptyItem = 942,
    ItemOrMinus = 943,
    OpenList = 944,
});

#[cfg(feature = "reading")]
impl Coded for crate::reading::ReadError {
    fn code(&self) -> u16 {
        self.problem.code()
    }
}

#[cfg(feature = "methods")]
impl Coded for NoMaximum {
    fn code(&self) -> u16 {
        match self {
            Self::Reason(reason) => reason.code(),
            Self::Curve(error) => error.code(),
            Self::Fit(error) => error.code(),
            Self::NotConcave { .. } => 751,
            Self::NotConverged => 752,
        }
    }
}

#[cfg(test)]
mod tests {
    /// Every number in this file is given once, but for that of work that was stopped.
    #[test]
    fn no_number_is_given_twice() {
        let given = include_str!("code.rs").lines().filter_map(|line| {
            let (name, code) = line.strip_prefix("    ")?.strip_suffix(',')?.split_once(" = ")?;
            name.chars().all(char::is_alphanumeric).then(|| code.parse::<u16>().ok()).flatten()
        });
        let mut all: Vec<u16> = given.filter(|code| *code != 1).collect();
        let count = all.len();
        assert!(count > 60, "{count}");
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
