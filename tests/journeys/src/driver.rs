//! ChromeDriver as a child process, with the browser that it starts.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, bail};

/// Names a ChromeDriver that is not on the search path.
const CHROMEDRIVER: &str = "SOLEWRIGHT_CHROMEDRIVER";

/// How long ending the browser may take before the driver is killed.
const SHUTDOWN: Duration = Duration::from_secs(10);

/// A running ChromeDriver. Dropping it ends it and every browser that it started.
#[derive(Debug)]
pub(crate) struct Driver {
    child: Child,
    port: u16,
}

impl Driver {
    /// Starts ChromeDriver on a free port.
    pub(crate) fn start() -> Result<Self> {
        let program = std::env::var_os(CHROMEDRIVER).unwrap_or_else(|| "chromedriver".into());
        let mut child = Command::new(&program)
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .with_context(|| {
                let program = program.to_string_lossy();
                format!("cannot start {program}; `cargo xtask test --only journeys` installs what is missing")
            })?;
        let Some(output) = child.stdout.take() else { bail!("ChromeDriver's output cannot be read") };
        let mut lines = BufReader::new(output).lines();
        let mut said = String::new();
        let port = loop {
            let Some(line) = lines.next().transpose()? else {
                bail!("ChromeDriver ended before it listened, after saying: {said}");
            };
            if let Some(port) = port_in(&line) {
                break port;
            }
            said = line;
        };
        // It must be able to go on writing, to a reader that throws it away.
        std::thread::spawn(move || lines.for_each(drop));
        Ok(Self { child, port })
    }

    pub(crate) fn url(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// Asks ChromeDriver to close its browsers and itself; killing it would leave the browsers running.
    fn shut_down(&self) -> std::io::Result<()> {
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port))?;
        stream.set_read_timeout(Some(SHUTDOWN))?;
        write!(stream, "GET /shutdown HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")?;
        stream.read_to_end(&mut Vec::new()).map(drop)
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        if self.shut_down().is_err() {
            let _ = self.child.kill();
        }
        let _ = self.child.wait();
    }
}

/// Reads "ChromeDriver was started successfully on port 39713."
fn port_in(line: &str) -> Option<u16> {
    line.strip_suffix('.')?.rsplit_once("successfully on port ")?.1.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_port_is_read_from_the_line_that_says_it() {
        assert_eq!(port_in("ChromeDriver was started successfully on port 39713."), Some(39713));
        assert_eq!(port_in("Starting ChromeDriver 156.0 on port 0"), None);
    }
}
