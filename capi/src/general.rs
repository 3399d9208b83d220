//! Version, freeing, text and JSON of any handle, requests to stop.

use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, constants};
use crate::objects::Object;
use crate::pointers::{In, Out};
use crate::work::{duration, give};
use litdiode::cancel::Token;
use std::ffi::c_char;

// It grows when a function changes or goes; a new function leaves it as it is.
constants! {
    /// The constant for the header.
    CONSTANTS:
    /// The number of the interface that this header describes. `litdiode_version` tells that of the library.
    LITDIODE_ABI = 1,
}

interface! {
    /// The version of the library as text, and in `abi` the number of its interface, which must be LITDIODE_ABI.
    fn litdiode_version(abi: Out<i32>) {
        abi.set("abi", LITDIODE_ABI)?;
        Ok(Answer::Text(env!("CARGO_PKG_VERSION").into()))
    }

    /// Frees what a handle of any kind stands for. A handle that was freed is never given again.
    fn litdiode_free(handle: u64) {
        handles::free("handle", handle)?;
        Ok(Answer::Done)
    }

    /// The number of handles in use, by which a host finds those that it forgot to free.
    fn litdiode_handle_count(count: Out<usize>) {
        count.set("count", handles::in_use())?;
        Ok(Answer::Done)
    }

    /// What a handle stands for: one of LITDIODE_KIND_….
    fn litdiode_kind(handle: u64, kind: Out<i32>) {
        kind.set("kind", handles::object("handle", handle)?.number())?;
        Ok(Answer::Done)
    }

    /// A sweep, findings, key points, a fit, a model, resistances or a plan as text for people.
    fn litdiode_text(handle: u64) {
        Ok(Answer::Text(handles::object("handle", handle)?.text()?))
    }

    /// Settings of a sweep, of a live sweep or of a plan, a sweep, findings, key points, a fit, a model, resistances, a live
    /// sweep or a plan as JSON, without loss. Numbers that are not finite are the words "inf", "-inf", "nan".
    fn litdiode_to_json(handle: u64) {
        Ok(Answer::Text(handles::object("handle", handle)?.json()?))
    }

    /// The object of this kind that `litdiode_to_json` wrote; resistances are not read.
    fn litdiode_from_json(kind: i32, json: In<c_char>, handle: Out<u64>) {
        handle.check("handle")?;
        let object = Object::from_json(kind, &json.text("json")?)?;
        handle.set("handle", handles::insert(object)?)?;
        Ok(Answer::Done)
    }

    /// A request to stop, which functions with an argument `cancel` look at. It sets itself `deadline_s` seconds from now;
    /// NaN or infinite: never.
    fn litdiode_cancel_new(deadline_s: f64, cancel: Out<u64>) {
        give("cancel", cancel, || {
            Ok(duration("deadline_s", deadline_s)?.map_or_else(Token::new, Token::within))
        })?;
        Ok(Answer::Done)
    }

    /// Asks all work that looks at it to stop, from any thread: it then ends with the status LITDIODE_CANCELLED.
    fn litdiode_cancel_request(cancel: u64) {
        handles::get::<Token>("cancel", cancel)?.cancel();
        Ok(Answer::Done)
    }

    /// Whether it was asked for, or its deadline is over: 1, else 0.
    fn litdiode_cancel_requested(cancel: u64, requested: Out<i32>) {
        let token = handles::get::<Token>("cancel", cancel)?;
        requested.set("requested", token.is_cancelled().into())?;
        Ok(Answer::Done)
    }
}
