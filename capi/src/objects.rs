//! What a handle may stand for.

use crate::choices::Choice;
use crate::misuse::{Fault, Misuse};
use litdiode::cancel::Token;
use litdiode::diode::{Device, Devices};
use litdiode::estimate::Estimate;
use litdiode::fit::{Fit, Options as FitOptions};
use litdiode::key_points::KeyPoints;
use litdiode::live::{LiveOptions, LiveSweep};
use litdiode::plan::{Plan, PlanOptions};
use litdiode::resistance::{Implied, Resistances};
use litdiode::sweep::{Finding, Sweep, SweepOptions};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::convert::identity;
use std::sync::{Arc, Mutex, PoisonError};

/// A fit of one or two diodes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Fitted {
    /// Of one.
    One(Fit<1>),
    /// Of two.
    Two(Fit<2>),
}

/// A model of one or two diodes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Model {
    /// Of one.
    One(Device<1>),
    /// Of two.
    Two(Device<2>),
}

/// Many devices of one or two diodes.
#[derive(Clone, Debug, PartialEq)]
pub enum Models {
    /// Of one.
    One(Devices<1>),
    /// Of two.
    Two(Devices<2>),
}

/// Runs the same expression on one or two diodes.
macro_rules! on {
    ($kind:ident, $of:expr, $inner:ident => $body:expr) => {
        match $of {
            $crate::objects::$kind::One($inner) => $body,
            $crate::objects::$kind::Two($inner) => $body,
        }
    };
}
pub(crate) use on;

/// The sweeps of one device, from which its resistances are found.
#[derive(Clone, Default)]
pub struct Measurements {
    /// Under light.
    pub lit: Option<Sweep>,
    /// In the dark.
    pub dark: Option<Sweep>,
    /// At other irradiances.
    pub more_lit: Vec<Sweep>,
    /// Voltages at open circuit over irradiance.
    pub implied: Option<Implied>,
    /// The ideality factor.
    pub n: Option<Estimate>,
}

/// A live sweep; calls for it follow one another.
pub type Live = Arc<Mutex<LiveSweep>>;

/// A kind of object.
pub trait Kind: Clone {
    /// What it is, in words.
    const NAME: &'static str;
    /// The object, if it is of this kind.
    fn of(object: &mut Object) -> Option<&mut Self>;
    /// As an object.
    fn object(self) -> Object;
}

/// The kinds: number, words, content.
macro_rules! kinds {
    ($($variant:ident($content:ty) = $number:literal $constant:ident $name:literal,)*) => {
        /// An object; a clone shares what is large.
        #[derive(Clone)]
        #[allow(missing_docs)]
        pub enum Object {
            $($variant($content),)*
        }

        impl Object {
            /// What it is, in words.
            pub const fn name(&self) -> &'static str {
                match self {
                    $(Self::$variant(_) => $name,)*
                }
            }

            /// What it is, as a number.
            pub const fn number(&self) -> i32 {
                match self {
                    $(Self::$variant(_) => $number,)*
                }
            }
        }

        $(
            #[doc = concat!("The kind of the handle of ", $name, ".")]
            pub const $constant: i32 = $number;

            impl Kind for $content {
                const NAME: &'static str = $name;

                fn of(object: &mut Object) -> Option<&mut Self> {
                    if let Object::$variant(content) = object { Some(content) } else { None }
                }

                fn object(self) -> Object {
                    Object::$variant(self)
                }
            }
        )*

        /// The constants for the header.
        pub const CONSTANTS: &[&str] = &[$(concat!(
            "/// The kind of the handle of ", $name, ".\npub const ", stringify!($constant), ": i32 = ", $number, ";\n",
        ),)*];
    };
}

kinds! {
    Cancel(Token) = 1 LITDIODE_KIND_CANCEL "a request to stop",
    SweepSettings(Arc<SweepOptions>) = 2 LITDIODE_KIND_SWEEP_SETTINGS "settings of a sweep",
    Sweep(Sweep) = 3 LITDIODE_KIND_SWEEP "a sweep",
    Findings(Arc<Vec<Finding>>) = 4 LITDIODE_KIND_FINDINGS "findings",
    KeyPoints(Arc<KeyPoints>) = 5 LITDIODE_KIND_KEY_POINTS "key points",
    FitSettings(Arc<FitOptions>) = 6 LITDIODE_KIND_FIT_SETTINGS "settings of a fit",
    Fit(Arc<Fitted>) = 7 LITDIODE_KIND_FIT "a fit",
    Model(Model) = 8 LITDIODE_KIND_MODEL "a model",
    Models(Arc<Models>) = 9 LITDIODE_KIND_MODELS "models of many devices",
    Measurements(Arc<Measurements>) = 10 LITDIODE_KIND_MEASUREMENTS "measurements of a device",
    Resistances(Arc<Resistances>) = 11 LITDIODE_KIND_RESISTANCES "resistances",
    LiveSettings(Arc<LiveOptions>) = 12 LITDIODE_KIND_LIVE_SETTINGS "settings of a live sweep",
    Live(Live) = 13 LITDIODE_KIND_LIVE "a live sweep",
    PlanSettings(Arc<PlanOptions>) = 14 LITDIODE_KIND_PLAN_SETTINGS "settings of a plan",
    Plan(Arc<Plan>) = 15 LITDIODE_KIND_PLAN "a plan",
}

impl Object {
    /// As text for people.
    pub fn text(&self) -> Result<String, Fault> {
        match self {
            Self::Sweep(sweep) => Ok(sweep.to_string()),
            Self::Findings(findings) => Ok(litdiode::quantity_format::sentences(findings)),
            Self::KeyPoints(points) => Ok(points.to_string()),
            Self::Fit(fit) => Ok(on!(Fitted, &**fit, f => f.to_string())),
            Self::Model(model) => Ok(on!(Model, model, m => m.to_string())),
            Self::Resistances(all) => Ok(all.to_string()),
            Self::Plan(plan) => Ok(plan.to_string()),
            _ => Err(self.without("text")),
        }
    }

    /// As JSON.
    pub fn json(&self) -> Result<String, Fault> {
        let written = match self {
            Self::SweepSettings(settings) => serde_json::to_string(&**settings),
            Self::Sweep(sweep) => serde_json::to_string(sweep),
            Self::Findings(findings) => serde_json::to_string(&**findings),
            Self::KeyPoints(points) => serde_json::to_string(&**points),
            Self::Fit(fit) => serde_json::to_string(&**fit),
            Self::Model(model) => serde_json::to_string(model),
            Self::Resistances(all) => serde_json::to_string(&**all),
            Self::LiveSettings(settings) => serde_json::to_string(&**settings),
            Self::Live(live) => serde_json::to_string(&*live.lock().unwrap_or_else(PoisonError::into_inner)),
            Self::PlanSettings(settings) => serde_json::to_string(&**settings),
            Self::Plan(plan) => serde_json::to_string(&**plan),
            _ => return Err(self.without("JSON")),
        };
        // Whatever a handle stands for can be written.
        written.map_err(|e| Misuse::Panicked { what: format!("{} as JSON: {e}", self.name()) }.into())
    }

    /// The object of this kind that [`Object::json`] wrote.
    pub fn from_json(kind: i32, json: &str) -> Result<Self, Fault> {
        READ.of(kind)?(json)
    }

    fn without(&self, what: &'static str) -> Fault {
        Misuse::Without { kind: self.name(), what }.into()
    }
}

type Reader = fn(&str) -> Result<Object, Fault>;

/// Reads what `of` makes an object of this kind of.
fn read<T: Kind, C: DeserializeOwned>(json: &str, of: impl FnOnce(C) -> T) -> Result<Object, Fault> {
    let wrong =
        |e: serde_json::Error| Misuse::NotJson { argument: "json", kind: T::NAME, why: e.to_string() };
    Ok(of(serde_json::from_str(json).map_err(wrong)?).object())
}

macro_rules! readers {
    ($($constant:ident: $kind:ty = $of:expr,)*) => {
        /// How each kind that is read from JSON is read.
        const READ: Choice<Reader> = Choice::new(
            "kind",
            &[$((stringify!($constant), $constant, |json| read::<$kind, _>(json, $of)),)*],
        );
    };
}

readers! {
    LITDIODE_KIND_SWEEP_SETTINGS: Arc<SweepOptions> = Arc::new,
    LITDIODE_KIND_SWEEP: Sweep = identity,
    LITDIODE_KIND_FINDINGS: Arc<Vec<Finding>> = Arc::new,
    LITDIODE_KIND_KEY_POINTS: Arc<KeyPoints> = Arc::new,
    LITDIODE_KIND_FIT: Arc<Fitted> = Arc::new,
    LITDIODE_KIND_MODEL: Model = identity,
    LITDIODE_KIND_LIVE_SETTINGS: Arc<LiveOptions> = Arc::new,
    LITDIODE_KIND_LIVE: Live = |live| Arc::new(Mutex::new(live)),
    LITDIODE_KIND_PLAN_SETTINGS: Arc<PlanOptions> = Arc::new,
    LITDIODE_KIND_PLAN: Arc<Plan> = Arc::new,
}
