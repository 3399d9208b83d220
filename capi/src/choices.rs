//! The numbers that stand for choices, and the constants of the header.

use crate::misuse::{Fault, Misuse, constants};
use litdiode::fit::{Figure, NoiseScale, Parameter, Residual};
use litdiode::key_points::KeyPoint;
use litdiode::live::{Order, Purpose};
use litdiode::plan::Method;
use litdiode::resistance::Quantity;
use litdiode::sweep::{Axis, Leads, Noise, Reach, Severity, Sign, Swept};

/// One of several, by number.
pub struct Choice<T: 'static> {
    /// The argument.
    argument: &'static str,
    list: &'static [(&'static str, i32, T)],
}

impl<T: Copy> Choice<T> {
    /// The choices of `argument`: name, number, value.
    pub const fn new(argument: &'static str, list: &'static [(&'static str, i32, T)]) -> Self {
        Self { argument, list }
    }

    /// What `number` stands for.
    pub fn of(&self, number: i32) -> Result<T, Fault> {
        self.of_argument(self.argument, number)
    }

    /// The same of an argument with a name of its own.
    fn of_argument(&self, argument: &'static str, number: i32) -> Result<T, Fault> {
        let none =
            || Misuse::NoChoice { argument, number, known: self.known().collect::<Vec<_>>().join(", ") };
        Ok(self.find(number).ok_or_else(none)?)
    }

    fn find(&self, number: i32) -> Option<T> {
        self.list.iter().find(|(_, own, _)| *own == number).map(|(_, _, value)| *value)
    }

    /// Names and numbers of all there are.
    fn known(&self) -> impl Iterator<Item = String> {
        self.list.iter().map(|(name, own, _)| format!("{name} ({own})"))
    }
}

impl<T: PartialEq> Choice<T> {
    /// The number of `value`; −1 for one that has none.
    pub fn number(&self, value: T) -> i32 {
        self.list.iter().find(|(_, _, own)| *own == value).map_or(-1, |(_, number, _)| *number)
    }
}

macro_rules! choices {
    ($(
        $(#[doc = $doc:literal])+
        $list:ident: $type:ty, $argument:literal {
            $first:ident = $first_number:literal => $first_value:expr,
            $($name:ident = $number:literal => $value:expr,)+
        }
    )+) => {
        $(
            $(#[doc = $doc])+
            pub const $list: Choice<$type> = Choice::new(
                $argument,
                &[
                    (stringify!($first), $first_number, $first_value),
                    $((stringify!($name), $number, $value),)+
                ],
            );
            $(#[doc = $doc])+
            pub const $first: i32 = $first_number;
            $(
                #[doc = concat!("As [`", stringify!($first), "`].")]
                pub const $name: i32 = $number;
            )+
        )+

        /// The constants for the header, a comment before the first of each group.
        pub const CONSTANTS: &[&str] = &[$(
            concat!($("///", $doc, "\n",)+ "pub const ", stringify!($first), ": i32 = ", $first_number, ";\n"),
            $(concat!("pub const ", stringify!($name), ": i32 = ", $number, ";\n"),)+
        )+];
    };
}

/// The setter of a part of the noise.
pub type NoisePart = fn(Noise, f64) -> Noise;

/// A correction by one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CorrectionKind {
    /// What the instrument reads of no voltage, in V.
    VoltageOffset,
    /// What it reads of no current, in A.
    CurrentOffset,
    /// The currents are voltages over this resistor, in Ω.
    SenseResistor,
    /// Gain of the voltage.
    VoltageGain,
    /// Gain of the current.
    CurrentGain,
    /// Leads between the device and where the voltage is read, in Ω.
    LeadResistance,
    /// A path beside the device, in Ω.
    Leakage,
}

/// Where an interval comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IntervalMethod {
    /// The profile's where the linear one does not hold.
    Automatic,
    /// Student's t, first order.
    Linear,
    /// Of the likelihood.
    Profile,
}

/// What is odd about a reading of a live sweep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Oddity {
    /// Nothing.
    None,
    /// Off the running curve; left out until a second one confirms it.
    Wild,
    /// The axis that is set was read elsewhere.
    NotFollowed,
    /// Outside the limits.
    BeyondLimits,
    /// What a later version names.
    Other,
}

choices! {
    /// `swept`: which quantity was stepped.
    SWEPT: Swept, "swept" {
        LITDIODE_SWEPT_VOLTAGE = 0 => Swept::Voltage,
        LITDIODE_SWEPT_CURRENT = 1 => Swept::Current,
    }
    /// `sign`: the sign convention of the readings.
    SIGN: Sign, "sign" {
        LITDIODE_SIGN_AUTO = 0 => Sign::Auto,
        LITDIODE_SIGN_GENERATOR = 1 => Sign::Generator,
        LITDIODE_SIGN_LOAD = 2 => Sign::Load,
    }
    /// `leads`: which lead went where.
    LEADS: Leads, "leads" {
        LITDIODE_LEADS_AUTO = 0 => Leads::Auto,
        LITDIODE_LEADS_AS_GIVEN = 1 => Leads::AsGiven,
        LITDIODE_LEADS_SWAPPED = 2 => Leads::Swapped,
    }
    /// `part`: a part of the noise of an instrument. `_V` in V, `_A` in A, `_REL` and `_GAIN_U` shares, offsets in V and A.
    NOISE_PART: NoisePart, "part" {
        LITDIODE_NOISE_VOLTAGE_V = 0 => Noise::voltage_v,
        LITDIODE_NOISE_CURRENT_A = 1 => Noise::current_a,
        LITDIODE_NOISE_VOLTAGE_REL = 2 => Noise::voltage_rel,
        LITDIODE_NOISE_CURRENT_REL = 3 => Noise::current_rel,
        LITDIODE_NOISE_VOLTAGE_STEP_V = 4 => Noise::voltage_step_v,
        LITDIODE_NOISE_CURRENT_STEP_A = 5 => Noise::current_step_a,
        LITDIODE_NOISE_VOLTAGE_GAIN_U = 6 => Noise::voltage_gain_u,
        LITDIODE_NOISE_CURRENT_GAIN_U = 7 => Noise::current_gain_u,
        LITDIODE_NOISE_VOLTAGE_OFFSET_U = 8 => Noise::voltage_offset_u,
        LITDIODE_NOISE_CURRENT_OFFSET_U = 9 => Noise::current_offset_u,
        LITDIODE_NOISE_SCATTER_DOF = 10 => Noise::scatter_dof,
    }
    /// `correction`: a correction of the readings by one number. Offsets in V and A are what is read of nothing, and subtracted.
    /// Gains divide. A sense resistor in Ω divides a current column that holds volts. Leads in Ω add I·R to the voltage, a
    /// leakage path in Ω adds V/R to the current, both in generator sign.
    CORRECTION: CorrectionKind, "correction" {
        LITDIODE_CORRECTION_VOLTAGE_OFFSET = 0 => CorrectionKind::VoltageOffset,
        LITDIODE_CORRECTION_CURRENT_OFFSET = 1 => CorrectionKind::CurrentOffset,
        LITDIODE_CORRECTION_SENSE_RESISTOR = 2 => CorrectionKind::SenseResistor,
        LITDIODE_CORRECTION_VOLTAGE_GAIN = 3 => CorrectionKind::VoltageGain,
        LITDIODE_CORRECTION_CURRENT_GAIN = 4 => CorrectionKind::CurrentGain,
        LITDIODE_CORRECTION_LEAD_RESISTANCE = 5 => CorrectionKind::LeadResistance,
        LITDIODE_CORRECTION_LEAKAGE = 6 => CorrectionKind::Leakage,
    }
    /// `axis`: an axis of the readings.
    AXIS: Axis, "axis" {
        LITDIODE_AXIS_VOLTAGE = 0 => Axis::Voltage,
        LITDIODE_AXIS_CURRENT = 1 => Axis::Current,
    }
    /// `reach`: which points one source of uncertainty moves.
    REACH: Reach, "reach" {
        LITDIODE_REACH_COMMON = 0 => Reach::Common,
        LITDIODE_REACH_EACH = 1 => Reach::Each,
    }
    /// `severity`: how much a finding says against the figures.
    SEVERITY: Severity, "severity" {
        LITDIODE_SEVERITY_NOTE = 0 => Severity::Note,
        LITDIODE_SEVERITY_WARNING = 1 => Severity::Warning,
        LITDIODE_SEVERITY_FAULT = 2 => Severity::Fault,
    }
    /// `figure`: a key point. In A, V, W, V, A, 1, A/cm² and 1.
    KEY_POINT: KeyPoint, "figure" {
        LITDIODE_ISC = 0 => KeyPoint::Isc,
        LITDIODE_VOC = 1 => KeyPoint::Voc,
        LITDIODE_PMAX = 2 => KeyPoint::Pmax,
        LITDIODE_V_PMAX = 3 => KeyPoint::VPmax,
        LITDIODE_I_PMAX = 4 => KeyPoint::IPmax,
        LITDIODE_FF = 5 => KeyPoint::Ff,
        LITDIODE_JSC = 6 => KeyPoint::Jsc,
        LITDIODE_EFFICIENCY = 7 => KeyPoint::Efficiency,
    }
    /// `parameter`: a parameter of a diode model. IPH, I0, I01 and I02 in A, RS and RSH in Ω.
    PARAMETER: Parameter, "parameter" {
        LITDIODE_IPH = 100 => Parameter::Iph,
        LITDIODE_I0 = 101 => Parameter::I0,
        LITDIODE_N = 102 => Parameter::N,
        LITDIODE_RS = 103 => Parameter::Rs,
        LITDIODE_RSH = 104 => Parameter::Rsh,
        LITDIODE_I01 = 105 => Parameter::I01,
        LITDIODE_N1 = 106 => Parameter::N1,
        LITDIODE_I02 = 107 => Parameter::I02,
        LITDIODE_N2 = 108 => Parameter::N2,
    }
    /// `residual`: the distance that a fit makes small; AUTO goes by the noise that is stated.
    RESIDUAL: Option<Residual>, "residual" {
        LITDIODE_RESIDUAL_AUTO = 0 => None,
        LITDIODE_RESIDUAL_NEAREST = 1 => Some(Residual::Nearest),
        LITDIODE_RESIDUAL_CURRENT = 2 => Some(Residual::Current),
        LITDIODE_RESIDUAL_VOLTAGE = 3 => Some(Residual::Voltage),
        LITDIODE_RESIDUAL_IMPLICIT = 4 => Some(Residual::Implicit),
    }
    /// `noise_scale`: where the size of the noise comes from.
    NOISE_SCALE: NoiseScale, "noise_scale" {
        LITDIODE_NOISE_SCALE_STATED = 0 => NoiseScale::Stated,
        LITDIODE_NOISE_SCALE_FROM_SCATTER = 1 => NoiseScale::FromScatter,
    }
    /// `method`: where an interval of a fit comes from; AUTO is the profile's where the linear one does not hold.
    INTERVAL: IntervalMethod, "method" {
        LITDIODE_INTERVAL_AUTO = 0 => IntervalMethod::Automatic,
        LITDIODE_INTERVAL_LINEAR = 1 => IntervalMethod::Linear,
        LITDIODE_INTERVAL_PROFILE = 2 => IntervalMethod::Profile,
    }
    /// `quantity`: which resistance.
    QUANTITY: Quantity, "quantity" {
        LITDIODE_SERIES = 0 => Quantity::Series,
        LITDIODE_SHUNT = 1 => Quantity::Shunt,
    }
    /// `order`: in which order a live sweep gives its set points.
    ORDER: Order, "order" {
        LITDIODE_ORDER_FREE = 0 => Order::Free,
        LITDIODE_ORDER_UP_AND_DOWN = 1 => Order::UpAndDown,
    }
    /// `purpose`: why a set point is asked for.
    PURPOSE: Purpose, "purpose" {
        LITDIODE_PURPOSE_BRACKET = 0 => Purpose::Bracket,
        LITDIODE_PURPOSE_INFORMATION = 1 => Purpose::Information,
        LITDIODE_PURPOSE_GAP = 2 => Purpose::Gap,
        LITDIODE_PURPOSE_CONFIRMATION = 3 => Purpose::Confirmation,
    }
    /// `flag`: what is odd about a reading of a live sweep.
    ODDITY: Oddity, "flag" {
        LITDIODE_FLAG_NONE = 0 => Oddity::None,
        LITDIODE_FLAG_WILD = 1 => Oddity::Wild,
        LITDIODE_FLAG_NOT_FOLLOWED = 2 => Oddity::NotFollowed,
        LITDIODE_FLAG_BEYOND_LIMITS = 3 => Oddity::BeyondLimits,
        LITDIODE_FLAG_OTHER = 4 => Oddity::Other,
    }
    /// `method`: whose uncertainty a plan makes small, that of a fitted model or of key points without one.
    PLAN_METHOD: Method, "method" {
        LITDIODE_PLAN_MODEL = 0 => Method::Model,
        LITDIODE_PLAN_LOCAL = 1 => Method::Local,
    }
    /// No or yes, for arguments that say so.
    FLAG: bool, "flag" {
        LITDIODE_NO = 0 => false,
        LITDIODE_YES = 1 => true,
    }
}

constants! {
    /// Status of every fit, as `litdiode_fit_quality` tells it: the numbers of [`litdiode::fit::Status`].
    FIT_STATUS:
    /// An optimum inside the bounds.
    LITDIODE_FIT_CONVERGED = 0,
    /// An optimum with a parameter at its bound.
    LITDIODE_FIT_AT_BOUND = 1,
    /// The data leave at least one parameter open.
    LITDIODE_FIT_NOT_IDENTIFIED = 2,
    /// No optimum, or budget or deadline ended before; the last good state is given.
    LITDIODE_FIT_NOT_CONVERGED = 3,
}

constants! {
    /// Why a live sweep asks for no more, as `litdiode_live_reason` tells it: the numbers of [`litdiode::live::StopReason`].
    STOP_REASON:
    /// The target is known as well as was wanted.
    LITDIODE_STOP_REACHED = 961,
    /// Gains and offsets alone leave more than was wanted.
    LITDIODE_STOP_COMMON_TO_ALL = 962,
    /// As many readings as there is room for.
    LITDIODE_STOP_POINTS_USED_UP = 963,
    /// As long as the sweep may take.
    LITDIODE_STOP_TIME_USED_UP = 964,
    /// No reading shows power.
    LITDIODE_STOP_NO_POWER = 965,
    /// A limit lies before the axis where a figure is.
    LITDIODE_STOP_LIMIT_REACHED = 966,
    /// Readings do not go where they are set.
    LITDIODE_STOP_NOT_FOLLOWED = 967,
    /// The instrument gives no numbers.
    LITDIODE_STOP_NO_NUMBERS = 968,
    /// A request to stop; the next call goes on.
    LITDIODE_STOP_CANCELLED = 969,
    /// Readings lie at a limit or beyond it.
    LITDIODE_STOP_BEYOND_LIMITS = 970,
}

/// No or yes, of an argument.
pub fn flag(argument: &'static str, number: i32) -> Result<bool, Fault> {
    FLAG.of_argument(argument, number)
}

/// A key point or a parameter.
pub fn figure(number: i32) -> Result<Figure, Fault> {
    let point = KEY_POINT.find(number).map(Figure::KeyPoint);
    let found = point.or_else(|| PARAMETER.find(number).map(Figure::Parameter));
    Ok(found.ok_or_else(|| {
        let known: Vec<String> = KEY_POINT.known().chain(PARAMETER.known()).collect();
        Misuse::NoChoice { argument: "figure", number, known: known.join(", ") }
    })?)
}
