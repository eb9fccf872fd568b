//! From an empty folder to a page in a browser, and back.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::PathBuf;

use anyhow::{Context, Result, bail};
use fantoccini::wd::Capabilities;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use tempfile::TempDir;
use xtask::places;
use xtask::serve::Server;

use crate::driver::Driver;
use crate::page::Page;

/// Names a built page other than `target/site`.
const SITE: &str = "SOLEWRIGHT_SITE";

/// Headless, drawn in software so that every machine draws the same, and silent towards the network.
const FLAGS: [&str; 11] = [
    "--headless",
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
];

/// Runs before the page's own scripts and marks the moment from which [`Page::wait_ready`] would not wait.
const MARK_READY: &str = "
    const looking = setInterval(() => {
        if (window.solewright?.ready?.() !== true) return;
        performance.mark('journey-ready');
        clearInterval(looking);
    }, 10);";

/// How long one script may take, ms; only a bench comes near it.
const SCRIPT_TIMEOUT_MS: u32 = 1_200_000;

/// Where and how a journey takes place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// The folder that is served.
    pub folder: PathBuf,
    /// What is opened of it: `""` for the page itself, `"?demo=none"` for an empty one.
    pub path: String,
    /// What the page is opened on.
    pub device: Device,
    /// The person's choice of light or dark.
    pub scheme: Scheme,
}

impl Default for Setting {
    /// The built page on a small laptop, light.
    fn default() -> Self {
        let folder = std::env::var_os(SITE).map_or_else(places::site, PathBuf::from);
        Self { folder, path: String::new(), device: Device::Laptop, scheme: Scheme::Light }
    }
}

/// A screen, with what one points with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Device {
    /// 1280 × 720 CSS pixels, mouse and keyboard.
    Laptop,
    /// 1180 × 820 CSS pixels, fingers.
    Tablet,
}

/// Light or dark, as `prefers-color-scheme` says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheme {
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
}

/// Walks through the built page on a small laptop. The module's page has an example.
///
/// # Errors
/// The first error of `steps`, or what the console complained about meanwhile.
pub fn journey(name: &str, steps: impl AsyncFnOnce(&Page) -> Result<()>) -> Result<()> {
    journey_in(&Setting::default(), name, steps)
}

/// Walks through a page in a setting of one's own.
///
/// # Errors
/// The first error of `steps`, or what the console complained about meanwhile.
pub fn journey_in(setting: &Setting, name: &str, steps: impl AsyncFnOnce(&Page) -> Result<()>) -> Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let driver = Driver::start()?;
    let profile = TempDir::new()?;
    let downloads = TempDir::new()?;
    let server = Server::start(&setting.folder, 0)?;
    let client = runtime.block_on(connect(&driver, &profile, &downloads))?;
    let page = Page::new(client, server, &setting.folder, downloads);

    // An assertion that fails is to leave a picture and to end the browser, as an error does.
    let walk = || {
        runtime.block_on(async {
            arrive(&page, setting).await?;
            steps(&page).await
        })
    };
    let walked = catch_unwind(AssertUnwindSafe(walk));
    let clean = runtime.block_on(expect_silent_console(&page));
    if !matches!((&walked, &clean), (Ok(Ok(())), Ok(()))) {
        let picture = places::target().join("journeys").join(format!("{name}.png"));
        match runtime.block_on(page.screenshot(&picture)) {
            Ok(()) => eprintln!("what the page showed last: {}", picture.display()),
            Err(error) => eprintln!("no picture of the page's end: {error:#}"),
        }
        if let Err(complaint) = &clean {
            eprintln!("{complaint:#}");
        }
    }
    drop(page);
    drop(driver);
    walked.unwrap_or_else(|panic| resume_unwind(panic)).with_context(|| format!("journey {name}"))?;
    clean.with_context(|| format!("journey {name}"))
}

async fn connect(driver: &Driver, profile: &TempDir, downloads: &TempDir) -> Result<Client> {
    let profile = format!("--user-data-dir={}", profile.path().display());
    let arguments: Vec<&str> = FLAGS.into_iter().chain([profile.as_str()]).collect();
    let preferences = json!({
        "download.default_directory": downloads.path(),
        "download.prompt_for_download": false,
    });
    let capabilities = Capabilities::from_iter([
        ("goog:chromeOptions".to_owned(), json!({ "args": arguments, "prefs": preferences })),
        ("goog:loggingPrefs".to_owned(), json!({ "browser": "ALL" })),
        ("timeouts".to_owned(), json!({ "script": SCRIPT_TIMEOUT_MS })),
    ]);
    let connected = ClientBuilder::new(HttpConnector::new()).capabilities(capabilities).connect(&driver.url()).await;
    connected.context("ChromeDriver cannot start Chromium")
}

async fn arrive(page: &Page, setting: &Setting) -> Result<()> {
    let (width, height, touch) = match setting.device {
        Device::Laptop => (1280, 720, false),
        Device::Tablet => (1180, 820, true),
    };
    let screen = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch });
    page.dev_tools("Emulation.setDeviceMetricsOverride", screen).await?;
    page.dev_tools("Emulation.setTouchEmulationEnabled", json!({ "enabled": touch, "maxTouchPoints": 5 })).await?;
    let scheme = match setting.scheme {
        Scheme::Light => "light",
        Scheme::Dark => "dark",
    };
    let media = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
    page.dev_tools("Emulation.setEmulatedMedia", media).await?;
    page.dev_tools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": MARK_READY })).await?;
    page.goto(&setting.path).await?;
    page.wait_ready().await
}

async fn expect_silent_console(page: &Page) -> Result<()> {
    let errors = page.console_errors().await?;
    if !errors.is_empty() {
        bail!("the browser's console has errors:\n  {}", errors.join("\n  "));
    }
    Ok(())
}
