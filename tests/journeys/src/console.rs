//! The browser's console, through ChromeDriver's own log command and the DevTools protocol.

use fantoccini::wd::WebDriverCompatibleCommand;
use http::Method;
use serde_json::{Value, json};

/// One of ChromeDriver's commands beyond the WebDriver standard.
#[derive(Debug, Clone)]
pub(crate) enum Extension {
    /// What the console received since the last call.
    ConsoleLog,
    /// A command of the DevTools protocol.
    DevTools {
        /// For example `Emulation.setEmulatedMedia`.
        method: String,
        /// The command's parameters, as an object.
        parameters: Value,
    },
}

impl WebDriverCompatibleCommand for Extension {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        let path = match self {
            Self::ConsoleLog => "se/log",
            Self::DevTools { .. } => "goog/cdp/execute",
        };
        base.join(&format!("session/{}/{path}", session.unwrap_or_default()))
    }

    fn method_and_body(&self, _: &url::Url) -> (Method, Option<String>) {
        let body = match self {
            Self::ConsoleLog => json!({ "type": "browser" }),
            Self::DevTools { method, parameters } => json!({ "cmd": method, "params": parameters }),
        };
        (Method::POST, Some(body.to_string()))
    }
}

/// The messages of the log's entries that are errors.
pub(crate) fn errors(log: &Value) -> Vec<String> {
    let entries = log.as_array().into_iter().flatten();
    let errors = entries.filter(|entry| entry["level"] == "SEVERE");
    errors.map(|entry| entry["message"].as_str().unwrap_or_default().to_owned()).collect()
}
