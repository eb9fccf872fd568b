//! The page under test: what a person sees in it, types into it and takes out of it.

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, anyhow, bail};
use fantoccini::actions::{ActionSequence, Actions};
use fantoccini::elements::Element;
use fantoccini::{Client, Locator};
use serde_json::{Value, json};
use tempfile::TempDir;
use xtask::serve::Server;

use crate::console::{self, Extension};
use crate::gestures::At;

/// How long a journey waits for a state before it gives up. Far more than anything takes: it ends a journey that would
/// never end, and measures nothing.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// The time between two looks at what is waited for.
const LOOK_AGAIN: Duration = Duration::from_millis(25);

/// One browser window with the page in it.
#[derive(Debug)]
pub struct Page {
    client: Client,
    url: String,
    folder: PathBuf,
    server: RefCell<Option<Server>>,
    downloads: TempDir,
    expected_errors: RefCell<Vec<String>>,
    seen_errors: RefCell<Vec<String>>,
}

impl Page {
    pub(crate) fn new(client: Client, server: Server, folder: &Path, downloads: TempDir) -> Self {
        Self {
            client,
            url: server.url(),
            folder: folder.to_path_buf(),
            server: RefCell::new(Some(server)),
            downloads,
            expected_errors: RefCell::default(),
            seen_errors: RefCell::default(),
        }
    }

    // ── Going there ──

    /// Opens `path` of the site, for example `""` or `"?lang=de"`, and waits until the document is loaded.
    ///
    /// # Errors
    /// When the browser cannot load it.
    pub async fn goto(&self, path: &str) -> Result<()> {
        let address = format!("{}{path}", self.url);
        self.client.goto(&address).await.with_context(|| format!("cannot open {address}"))
    }

    /// Loads the page again, as F5 does.
    ///
    /// # Errors
    /// When the browser cannot load it.
    pub async fn reload(&self) -> Result<()> {
        self.client.refresh().await.context("cannot reload the page")
    }

    /// Waits until `window.solewright.ready()` says yes: the page has drawn what it begins with.
    ///
    /// # Errors
    /// When that does not come.
    pub async fn wait_ready(&self) -> Result<()> {
        self.wait_until("the page is ready", "return window.solewright?.ready?.() === true").await
    }

    /// From the start of the last navigation until the page said that it is ready, ms, to about 10 ms.
    ///
    /// # Errors
    /// When it has not said so.
    pub async fn ready_after_ms(&self) -> Result<f64> {
        let mark = self.eval("return performance.getEntriesByName('journey-ready')[0]?.startTime").await?;
        mark.as_f64().context("the page has not said that it is ready")
    }

    /// Waits until the page has drawn what it knows by now: two frames, the first of which may have begun before.
    ///
    /// # Errors
    /// When the browser draws no more.
    pub async fn drawn(&self) -> Result<()> {
        let two_frames =
            "return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))";
        self.eval(two_frames).await.map(drop)
    }

    /// Ends the server: from now on the page has only what the browser kept. The browser's complaint about it
    /// is no error of the page.
    pub fn server_off(&self) {
        self.expect_console_error("net::ERR_");
        self.server.take();
    }

    /// Serves again at the same address.
    ///
    /// # Errors
    /// When something else took the port meanwhile.
    pub fn server_on(&self) -> Result<()> {
        let port = self.url.trim_end_matches('/').rsplit(':').next().unwrap_or_default().parse()?;
        self.server.replace(Some(Server::start(&self.folder, port)?));
        Ok(())
    }

    // ── Reading ──

    /// The text a person reads in the element named `testid`, once it is there.
    ///
    /// # Errors
    /// When no such element comes.
    pub async fn text(&self, testid: &str) -> Result<String> {
        let element = self.find(testid).await?;
        Ok(element.text().await.with_context(|| format!("cannot read `{testid}`"))?.trim().to_owned())
    }

    /// The value in the field named `testid`, once it is there.
    ///
    /// # Errors
    /// When no such field comes.
    pub async fn value(&self, testid: &str) -> Result<String> {
        let element = self.find(testid).await?;
        let value = element.prop("value").await.with_context(|| format!("cannot read `{testid}`"))?;
        value.with_context(|| format!("`{testid}` has no value"))
    }

    /// The attribute of the element named `testid`, once it is there.
    ///
    /// # Errors
    /// When no such element comes.
    pub async fn attribute(&self, testid: &str, name: &str) -> Result<Option<String>> {
        self.find(testid).await?.attr(name).await.with_context(|| format!("cannot read {name} of `{testid}`"))
    }

    /// How many elements are named `testid` now.
    ///
    /// # Errors
    /// When the browser does not answer.
    pub async fn count(&self, testid: &str) -> Result<usize> {
        Ok(self.client.find_all(Locator::Css(&selector(testid))).await?.len())
    }

    /// Whether an element named `testid` is there and to be seen now.
    ///
    /// # Errors
    /// When the browser does not answer.
    pub async fn shows(&self, testid: &str) -> Result<bool> {
        let elements = self.client.find_all(Locator::Css(&selector(testid))).await?;
        for element in elements {
            if element.is_displayed().await? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Waits until the text of `testid` contains `part`.
    ///
    /// # Errors
    /// When that does not come; says the text that was there instead.
    pub async fn wait_for_text(&self, testid: &str, part: &str) -> Result<()> {
        self.wait_for_text_that(testid, "say", part, |last| last.contains(part)).await
    }

    /// Waits until the text of `testid` is exactly `text`.
    ///
    /// # Errors
    /// When that does not come; says the text that was there instead.
    pub async fn wait_for_exact_text(&self, testid: &str, text: &str) -> Result<()> {
        self.wait_for_text_that(testid, "say exactly", text, |last| last == text).await
    }

    /// Waits until a script returns something true.
    ///
    /// # Errors
    /// When that does not come; says `what` was waited for.
    pub async fn wait_until(&self, what: &str, script: &str) -> Result<()> {
        let mut last = Value::Null;
        self.wait_while(async || {
            last = self.eval(script).await?;
            Ok(!matches!(last, Value::Bool(true)))
        })
        .await
        .map_err(|error| anyhow!("{error:#}: {what}; `{script}` gave {last}"))
    }

    /// What a script returns. It is a function's body: `return document.title`.
    ///
    /// # Errors
    /// When the script throws.
    pub async fn eval(&self, script: &str) -> Result<Value> {
        self.eval_with(script, Vec::new()).await
    }

    /// What a script returns that reads `arguments[0]` and so on. A promise is waited for.
    ///
    /// # Errors
    /// When the script throws or the promise is refused.
    pub async fn eval_with(&self, script: &str, arguments: Vec<Value>) -> Result<Value> {
        self.client.execute(script, arguments).await.with_context(|| format!("in the script `{script}`"))
    }

    /// Where the middle of the element named `testid` is.
    ///
    /// # Errors
    /// When no such element comes.
    pub async fn centre(&self, testid: &str) -> Result<At> {
        self.place(testid, 0.5, 0.5).await
    }

    /// A place inside the element named `testid`: shares of its width from the left and of its height from above.
    ///
    /// # Errors
    /// When no such element comes.
    pub async fn place(&self, testid: &str, x_share: f64, y_share: f64) -> Result<At> {
        self.find(testid).await?;
        let script = "const box = document.querySelector(arguments[0]).getBoundingClientRect();
            return [box.x + box.width * arguments[1], box.y + box.height * arguments[2]]";
        let place = self.eval_with(script, vec![json!(selector(testid)), json!(x_share), json!(y_share)]).await?;
        match (place[0].as_f64(), place[1].as_f64()) {
            (Some(x), Some(y)) => Ok(At { x, y }),
            _ => bail!("`{testid}` has no place: {place}"),
        }
    }

    // ── Doing ──

    /// Clicks the element named `testid`, once it is there and lies open to the mouse.
    ///
    /// # Errors
    /// When it does not come, or something else covers it.
    pub async fn click(&self, testid: &str) -> Result<()> {
        let mut refused = String::new();
        self.wait_while(async || {
            let clicked = match self.find_now(testid).await {
                Ok(element) => element.click().await,
                Err(error) => Err(error),
            };
            Ok(clicked.map_err(|error| refused = error.to_string()).is_err())
        })
        .await
        .map_err(|error| anyhow!("{error:#}: `{testid}` to be clicked: {refused}"))
    }

    /// Replaces what is in the field named `testid` by `text`, typed key by key, and leaves the field.
    ///
    /// # Errors
    /// When the field does not come or takes no keys.
    pub async fn fill(&self, testid: &str, text: &str) -> Result<()> {
        self.click(testid).await?;
        self.press("Ctrl+a").await?;
        self.type_keys(text).await?;
        self.press("Tab").await
    }

    /// Types into whatever has the keyboard.
    ///
    /// # Errors
    /// When the browser refuses the keys.
    pub async fn type_keys(&self, text: &str) -> Result<()> {
        let element = self.client.active_element().await.context("nothing has the keyboard")?;
        element.send_keys(text).await.with_context(|| format!("cannot type “{text}”"))
    }

    /// Chooses from the list named `testid` the entry with this value.
    ///
    /// # Errors
    /// When the list or the entry does not come.
    pub async fn choose(&self, testid: &str, value: &str) -> Result<()> {
        let element = self.find(testid).await?;
        element.select_by_value(value).await.with_context(|| format!("cannot choose “{value}” in `{testid}`"))
    }

    /// Gives files to the file field named `testid`, as its dialogue would.
    ///
    /// # Errors
    /// When the field does not come or a file is not there.
    pub async fn upload(&self, testid: &str, files: &[&Path]) -> Result<()> {
        let names = full_names(files)?.join("\n");
        // A hidden field takes files too, so it is found without asking whether it can be seen.
        let element = self.find(testid).await?;
        element.send_keys(&names).await.with_context(|| format!("cannot give files to `{testid}`"))
    }

    /// Clicks the element named `testid`, which opens the browser's file dialogue, and picks these files in it.
    ///
    /// # Errors
    /// When the element does not come, opens no dialogue, or a file is not there.
    pub async fn pick_files(&self, testid: &str, files: &[&Path]) -> Result<()> {
        // WebDriver knows file fields, but not the dialogue that a page opens with a field of its own making.
        let catch = "HTMLInputElement.prototype.click = function () {
                if (this.type !== 'file') return HTMLElement.prototype.click.call(this);
                this.dataset.testid = 'file-dialogue';
                this.hidden = true;
                document.body.append(this);
            }";
        self.eval(catch).await?;
        self.click(testid).await?;
        self.upload("file-dialogue", files).await?;
        let free = "document.querySelector('[data-testid=file-dialogue]').remove();
            delete HTMLInputElement.prototype.click";
        self.eval(free).await.map(drop)
    }

    /// Drops files from outside the browser there.
    ///
    /// # Errors
    /// When a file is not there or the browser refuses.
    pub async fn drop_files(&self, at: At, files: &[&Path]) -> Result<()> {
        let data = json!({ "items": [], "files": full_names(files)?, "dragOperationsMask": 1 });
        for kind in ["dragEnter", "dragOver", "drop"] {
            let event = json!({ "type": kind, "x": at.x, "y": at.y, "data": data });
            self.dev_tools("Input.dispatchDragEvent", event).await?;
        }
        Ok(())
    }

    /// Waits for the file that the browser downloads under this name.
    ///
    /// # Errors
    /// When it does not come; says what came instead.
    pub async fn downloaded(&self, name: &str) -> Result<PathBuf> {
        let path = self.downloads.path().join(name);
        // The browser writes under another name and renames what is complete.
        let waited = self.wait_while(async || Ok(!path.is_file())).await;
        waited.map_err(|error| anyhow!("{error:#}: download {name}; there are {:?}", self.all_downloads()))?;
        Ok(path)
    }

    // ── Keeping ──

    /// Writes a picture of the window's content as PNG.
    ///
    /// # Errors
    /// When the browser gives none or the file cannot be written.
    pub async fn screenshot(&self, to: &Path) -> Result<()> {
        let picture = self.client.screenshot().await.context("the browser gives no picture")?;
        if let Some(folder) = to.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(to, picture).with_context(|| format!("cannot write {}", to.display()))
    }

    /// The console's errors so far, those of workers too, without the expected ones.
    ///
    /// # Errors
    /// When the browser does not answer.
    pub async fn console_errors(&self) -> Result<Vec<String>> {
        let mut errors = self.all_console_errors().await?;
        let expected = self.expected_errors.borrow();
        errors.retain(|error| !expected.iter().any(|part| error.contains(part.as_str())));
        Ok(errors)
    }

    /// Waits until the console has an error that contains `part`. It still fails the journey unless it is expected.
    ///
    /// # Errors
    /// When it does not come.
    pub async fn wait_for_console_error(&self, part: &str) -> Result<()> {
        let came = async || Ok(!self.all_console_errors().await?.iter().any(|error| error.contains(part)));
        self.wait_while(came).await.map_err(|error| anyhow!("{error:#}: console error “{part}”"))
    }

    /// Says that this journey provokes console errors that contain `part`.
    pub fn expect_console_error(&self, part: &str) {
        self.expected_errors.borrow_mut().push(part.to_owned());
    }

    /// A command of the DevTools protocol, for what WebDriver has no word for.
    ///
    /// # Errors
    /// When the browser refuses it.
    pub async fn dev_tools(&self, method: &str, parameters: Value) -> Result<Value> {
        let command = Extension::DevTools { method: method.to_owned(), parameters };
        self.client.issue_cmd(command).await.with_context(|| format!("DevTools refused {method}"))
    }

    pub(crate) async fn act(&self, what: &str, actions: impl Into<ActionSequence>) -> Result<()> {
        self.act_all(what, Actions::from(actions)).await
    }

    pub(crate) async fn act_all(&self, what: &str, actions: Actions) -> Result<()> {
        self.client.perform_actions(actions).await.with_context(|| format!("the browser refused: {what}"))
    }

    async fn all_console_errors(&self) -> Result<Vec<String>> {
        let log = self.client.issue_cmd(Extension::ConsoleLog).await.context("cannot read the browser's console")?;
        let mut seen = self.seen_errors.borrow_mut();
        seen.extend(console::errors(&log));
        Ok(seen.clone())
    }

    async fn wait_for_text_that(
        &self,
        testid: &str,
        verb: &str,
        text: &str,
        fits: impl Fn(&str) -> bool,
    ) -> Result<()> {
        let mut last = String::new();
        self.wait_while(async || {
            // A page that draws anew takes elements away between finding and reading them.
            last = self.text(testid).await.unwrap_or_default();
            Ok(!fits(&last))
        })
        .await
        .map_err(|error| anyhow!("{error:#}: `{testid}` to {verb} “{text}”; it says “{last}”"))
    }

    async fn find(&self, testid: &str) -> Result<Element> {
        let mut found = None;
        self.wait_while(async || {
            found = self.find_now(testid).await.ok();
            Ok(found.is_none())
        })
        .await
        .with_context(|| format!("no element named `{testid}`"))?;
        found.with_context(|| format!("no element named `{testid}`"))
    }

    async fn find_now(&self, testid: &str) -> Result<Element, fantoccini::error::CmdError> {
        self.client.find(Locator::Css(&selector(testid))).await
    }

    async fn wait_while(&self, mut goes_on: impl AsyncFnMut() -> Result<bool>) -> Result<()> {
        let start = Instant::now();
        while goes_on().await? {
            if start.elapsed() > PATIENCE {
                bail!("waited {} s in vain", PATIENCE.as_secs());
            }
            tokio::time::sleep(LOOK_AGAIN).await;
        }
        Ok(())
    }

    fn all_downloads(&self) -> Vec<String> {
        let entries = fs::read_dir(self.downloads.path()).into_iter().flatten().flatten();
        entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
    }
}

fn selector(testid: &str) -> String {
    format!("[data-testid={}]", json!(testid))
}

fn full_names(files: &[&Path]) -> Result<Vec<String>> {
    let full = |file: &&Path| {
        let full = file.canonicalize().with_context(|| format!("no file {}", file.display()))?;
        Ok(full.to_string_lossy().into_owned())
    };
    files.iter().map(full).collect()
}
