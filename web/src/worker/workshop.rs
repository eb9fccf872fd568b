use crate::protocol::Request;
use base::Params;
use engine::{Drawn, Workshop};
use glam::DVec2;
use last::ShoeInsole;
use making::{MadeFile, MakeError, MakeModel};
use serde::Serialize;
use serde::de::DeserializeOwned;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// The page's second program, the crate `solewright-workshop`. Nothing of it is downloaded before it is fetched but its
/// few lines of JavaScript.
#[wasm_bindgen(raw_module = "./workshop.js")]
extern "C" {
    #[wasm_bindgen(js_name = default, catch)]
    async fn begin() -> Result<JsValue, JsValue>;
    fn need_solids(order: &[u8]) -> Vec<u8>;
    fn make(order: &[u8]) -> Vec<u8>;
    fn trace(order: &[u8]) -> Vec<u8>;
}

/// Whether a request needs the second program.
pub(super) fn is_needed(request: &Request) -> bool {
    matches!(request, Request::Make { .. } | Request::TraceDrawing { .. } | Request::TracePicture { .. })
}

/// Fetches the second program, once.
///
/// # Errors
/// A sentence for the person.
pub(crate) async fn fetch() -> Result<Fetched, String> {
    match begin().await {
        Ok(_) => Ok(Fetched),
        Err(error) => {
            web_sys::console::error_1(&error);
            Err("the part of this page that makes files and traces drawings could not be fetched: connect to the \
                 network and try again; if that does not help, save the case file and open the page anew"
                .to_owned())
        }
    }
}

/// The second program, ready for work in this thread.
pub(crate) struct Fetched;

impl Workshop for Fetched {
    fn need_solids(&self, only: &[String]) -> Result<bool, MakeError> {
        ask(need_solids, &only).unwrap_or_else(|reason| Err(failed(reason)))
    }

    fn make(&self, model: &MakeModel, only: &[String], options: &Params) -> Result<Vec<MadeFile>, MakeError> {
        ask(make, &(model, only, options)).unwrap_or_else(|reason| Err(failed(reason)))
    }

    fn trace(&self, name: &str, drawn: &Drawn, onto: &[DVec2]) -> Result<ShoeInsole, String> {
        ask(trace, &(name, drawn, onto)).unwrap_or_else(Err)
    }
}

fn ask<Order: Serialize, Done: DeserializeOwned>(work: fn(&[u8]) -> Vec<u8>, order: &Order) -> Result<Done, String> {
    let done = postcard::to_stdvec(order).map(|order| work(&order));
    done.and_then(|done| postcard::from_bytes(&done)).map_err(|error| {
        format!("two parts of the page do not fit ({error}): close every tab of the page and open it again")
    })
}

fn failed(reason: String) -> MakeError {
    MakeError { name: "the files".to_owned(), reason }
}
