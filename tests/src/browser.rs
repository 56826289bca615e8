//! A real browser, driven through the WebDriver protocol (W3C, WebDriver Level 2).

use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// Flags that keep the browser by itself: no window, no network of its own.
const FLAGS: [&str; 9] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
];

/// Runs `test` in a fresh browser whose page is `width` by `height`. Without
/// Chromium it prints that the test did not run, or fails when `CI` is set.
///
/// # Panics
/// When the test does, or the browser will not do as it is told.
pub fn on_browser(width: u32, height: u32, test: impl FnOnce(&Browser)) {
    match Browser::start(width, height) {
        Ok(browser) => {
            let outcome = catch_unwind(AssertUnwindSafe(|| test(&browser)));
            browser.quit();
            if let Err(fault) = outcome {
                resume_unwind(fault);
            }
        }
        Err(why) if std::env::var("CI").is_ok_and(|ci| !matches!(ci.as_str(), "" | "0" | "false")) => {
            panic!("this test needs Chromium and chromedriver (apt-get install chromium chromium-driver): {why}")
        }
        Err(why) => eprintln!("NOT RUN: needs Chromium and chromedriver: {why}"),
    }
}

/// A browser with one window.
pub struct Browser {
    driver: Child,
    base: String,
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    fn start(width: u32, height: u32) -> Result<Browser, String> {
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| format!("chromedriver: {error}"))?;
        let profile = tempfile::tempdir().map_err(|error| error.to_string())?;
        match Browser::begin(&mut driver, profile.path(), width, height) {
            Ok((base, session)) => Ok(Browser { driver, base, session, _profile: profile }),
            Err(why) => {
                let _ = driver.kill();
                let _ = driver.wait();
                Err(why)
            }
        }
    }

    /// Waits for the driver to name its port and opens a window.
    fn begin(driver: &mut Child, profile: &Path, width: u32, height: u32) -> Result<(String, String), String> {
        let stdout = driver.stdout.take().ok_or("chromedriver has no output")?;
        let mut port = None;
        for line in BufReader::new(stdout).lines() {
            let line = line.map_err(|error| error.to_string())?;
            if let Some((_, rest)) = line.split_once("started successfully on port ") {
                port = Some(rest.trim_end_matches('.').to_owned());
                break;
            }
        }
        let base = format!("http://127.0.0.1:{}", port.ok_or("chromedriver names no port")?);
        let mut args: Vec<String> = FLAGS.iter().map(|&flag| flag.to_owned()).collect();
        args.push(format!("--user-data-dir={}", profile.display()));
        let metrics =
            json!({ "width": width, "height": height, "pixelRatio": 1.0, "touch": false, "mobile": width < 600 });
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": { "args": args, "mobileEmulation": { "deviceMetrics": metrics } },
            "goog:loggingPrefs": { "browser": "ALL" },
        }}});
        let opened = ask(&format!("{base}/session"), Some(&wanted))?;
        let id = opened["sessionId"].as_str().ok_or_else(|| format!("no session: {opened}"))?;
        Ok((base.clone(), format!("{base}/session/{id}")))
    }

    /// Opens a file.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub fn open(&self, file: &Path) {
        self.visit(&format!("file://{}", file.display()));
    }

    /// Opens an address.
    ///
    /// # Panics
    /// When it cannot be opened.
    pub fn visit(&self, url: &str) {
        self.must("url", &json!({ "url": url }));
    }

    /// Runs a script in the page; what it returns.
    ///
    /// # Panics
    /// When it throws.
    pub fn run(&self, script: &str) -> Value {
        self.must("execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// Presses and lets go of a key.
    ///
    /// # Panics
    /// When the browser refuses.
    pub fn press(&self, key: &str) {
        let strokes = json!([{ "type": "keyDown", "value": key }, { "type": "keyUp", "value": key }]);
        self.must("actions", &json!({ "actions": [{ "type": "key", "id": "keys", "actions": strokes }] }));
    }

    /// What the browser's console had to say since it was last asked, warnings and errors.
    ///
    /// # Panics
    /// When the browser refuses.
    pub fn complaints(&self) -> Vec<String> {
        let lines = self.must("se/log", &json!({ "type": "browser" }));
        let all = lines.as_array().cloned().unwrap_or_default();
        all.iter().filter_map(|line| line["message"].as_str()).map(str::to_owned).collect()
    }

    fn must(&self, command: &str, body: &Value) -> Value {
        match ask(&format!("{}/{command}", self.session), Some(body)) {
            Ok(value) => value,
            Err(why) => panic!("{command}: {why}"),
        }
    }

    fn quit(mut self) {
        let _ = ureq::delete(&self.session).call();
        let _ = ureq::get(format!("{}/shutdown", self.base)).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// One WebDriver command; its value.
fn ask(url: &str, body: Option<&Value>) -> Result<Value, String> {
    let agent = ureq::Agent::config_builder().http_status_as_error(false).build().new_agent();
    let sent = match body {
        Some(body) => agent.post(url).send_json(body),
        None => agent.get(url).call(),
    };
    let mut answer = sent.map_err(|error| error.to_string())?;
    let fine = answer.status().is_success();
    let mut json: Value = answer.body_mut().read_json().map_err(|error| error.to_string())?;
    let value = json["value"].take();
    if fine { Ok(value) } else { Err(value["message"].as_str().unwrap_or("no reason given").to_owned()) }
}
