//! A static server for this machine only.
//!
//! Guarantees: listens on the loopback address and nowhere else; serves plain files of one folder with the media type
//! of their extension; `index.html` for a folder; tells the browser to keep nothing, so a reload always shows the last
//! build. [`Server::stop`] also cuts connections that are still open: afterwards the server is really gone, which is
//! what the offline journeys need.
//!
//! Not for anything but one's own machine: no TLS, no listing of folders; compressed is only what the build compressed.

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;

use hyper::header::{CACHE_CONTROL, HeaderValue};
use hyper_util::rt::TokioIo;
use hyper_util::service::TowerToHyperService;
use tokio::sync::oneshot;
use tower_http::services::ServeDir;
use tower_http::set_header::SetResponseHeader;

/// A running server. Dropping it stops it.
#[derive(Debug)]
pub struct Server {
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves `folder` at `port` of the loopback address; port 0 takes any free one.
    ///
    /// # Errors
    /// When the port is taken or the system refuses a socket or a thread.
    pub fn start(folder: &Path, port: u16) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
        let (stop, stopped) = oneshot::channel();
        let folder = folder.to_path_buf();
        let thread = std::thread::Builder::new().name("static server".into()).spawn(move || {
            // Dropping the runtime at the end of this closure drops every open connection with it.
            runtime.block_on(async move {
                tokio::select! {
                    () = accept(listener, folder) => {}
                    _ = stopped => {}
                }
            });
        })?;
        Ok(Self { address, stop: Some(stop), thread: Some(thread) })
    }

    /// The page's address, with a slash at the end.
    #[must_use]
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Serves until the process is ended.
    pub fn wait(mut self) {
        if let Some(thread) = self.thread.take() {
            // The thread ends by a panic of its own at worst, and has printed it then.
            let _ = thread.join();
        }
    }

    /// Stops serving and cuts open connections; returns when the port is free again.
    pub fn stop(self) {
        drop(self);
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

async fn accept(listener: TcpListener, folder: PathBuf) {
    let listener = match tokio::net::TcpListener::from_std(listener) {
        Ok(listener) => listener,
        Err(error) => {
            eprintln!("the static server cannot listen: {error}");
            return;
        }
    };
    let files = SetResponseHeader::overriding(
        ServeDir::new(folder).precompressed_br(),
        CACHE_CONTROL,
        HeaderValue::from_static("no-store"),
    );
    loop {
        // One connection that fails to open is the browser's business, not the server's.
        let Ok((stream, _)) = listener.accept().await else { continue };
        let connection = hyper::server::conn::http1::Builder::new()
            .serve_connection(TokioIo::new(stream), TowerToHyperService::new(files.clone()));
        tokio::spawn(async move {
            let _ = connection.await;
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};
    use std::net::TcpStream;

    fn site() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [("index.html", "<p>hello"), ("a.js", "1"), ("b_bg.wasm", "\0asm"), ("c.css", "p{}")] {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        folder
    }

    /// The whole answer to a GET of `path`, headers in lower case.
    fn get(server: &Server, path: &str) -> String {
        let mut stream = TcpStream::connect(server.address).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer.to_ascii_lowercase()
    }

    #[test]
    fn files_come_with_their_media_type_and_are_not_kept() {
        let folder = site();
        let server = Server::start(folder.path(), 0).unwrap();
        for (path, media) in [
            ("/", "text/html"),
            ("/a.js", "text/javascript"),
            ("/b_bg.wasm", "application/wasm"),
            ("/c.css", "text/css"),
        ] {
            let answer = get(&server, path);
            assert!(answer.starts_with("http/1.1 200"), "{path}: {answer}");
            assert!(answer.contains(&format!("content-type: {media}")), "{path}: {answer}");
            assert!(answer.contains("cache-control: no-store"), "{path}: {answer}");
        }
        assert!(get(&server, "/").ends_with("<p>hello"));
    }

    #[test]
    fn nothing_outside_the_folder_is_served() {
        let folder = site();
        let inner = folder.path().join("inner");
        std::fs::create_dir(&inner).unwrap();
        let server = Server::start(&inner, 0).unwrap();
        for path in ["/missing", "/../a.js", "/%2e%2e/a.js", "/..%2fa.js", "//etc/hostname"] {
            let answer = get(&server, path);
            assert!(answer.starts_with("http/1.1 404"), "{path}: {answer}");
        }
    }

    #[test]
    fn a_stopped_server_is_gone_even_for_open_connections() {
        let folder = site();
        let server = Server::start(folder.path(), 0).unwrap();
        let address = server.address;
        let mut kept_open = TcpStream::connect(address).unwrap();
        server.stop();
        assert!(TcpStream::connect(address).is_err());
        let mut rest = Vec::new();
        assert!(matches!(kept_open.read_to_end(&mut rest), Ok(0) | Err(_)));
        // The port is free again.
        Server::start(folder.path(), address.port()).unwrap();
    }

    #[test]
    fn a_taken_port_is_an_error() {
        let folder = site();
        let server = Server::start(folder.path(), 0).unwrap();
        let error = Server::start(folder.path(), server.address.port()).unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::AddrInUse);
    }
}
