//! A small server for one folder on this machine, with the types and headers that a real one has to
//! give. It reads each file when it is asked for, so that a test can deploy a build under it.

use crate::{Fault, headers};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Serves `folder` on localhost until the process is ended. Port 0 takes a free one; the address is
/// printed as `serving http://localhost:PORT/`. Without `policy` the content policy is left out, of
/// the header and of the page: the control for tests that the policy stops something.
pub fn serve(folder: &Path, port: u16, policy: bool) -> Result<(), Fault> {
    if !folder.join("index.html").is_file() {
        return Err(format!("{} holds no built site: run make build", folder.display()).into());
    }
    let listener = TcpListener::bind(("127.0.0.1", port))
        .map_err(|e| format!("port {port} cannot be used ({e}); try make serve PORT=8081"))?;
    println!(
        "serving http://localhost:{}/",
        listener.local_addr()?.port()
    );
    for caller in listener.incoming().flatten() {
        let folder = folder.to_path_buf();
        // A thread each, closed after one answer: a browser opens several at once and leaves some
        // idle. A pool of threads, as a library we tried keeps one, let a page wait for ever on those.
        std::thread::spawn(move || {
            // A browser that hangs up early is no reason to stop.
            let _ = answer(caller, &folder, policy);
        });
    }
    Ok(())
}

/// The longest head of a request that is read, in bytes.
const LONGEST_HEAD: u64 = 65_536;

fn answer(caller: TcpStream, folder: &Path, policy: bool) -> std::io::Result<()> {
    caller.set_read_timeout(Some(Duration::from_secs(60)))?;
    let mut lines = BufReader::new(caller.try_clone()?.take(LONGEST_HEAD)).lines();
    let Some(first) = lines.next().transpose()? else {
        return Ok(());
    };
    while lines
        .next()
        .transpose()?
        .is_some_and(|line| !line.is_empty())
    {}
    let mut words = first.split(' ');
    let (method, url) = (
        words.next().unwrap_or_default(),
        words.next().unwrap_or_default(),
    );
    let (status, kind, mut body) = look_up(method, url, folder);
    if !policy && kind.starts_with("text/html") {
        let page = String::from_utf8_lossy(&body).replace(headers::POLICY, "");
        body = page.into_bytes();
    }
    let mut head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n",
        body.len()
    );
    for (name, value) in headers::all() {
        if policy || name != "Content-Security-Policy" {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
    }
    head.push_str("\r\n");
    let mut out = caller;
    out.write_all(head.as_bytes())?;
    if method != "HEAD" {
        out.write_all(&body)?;
    }
    out.flush()
}

fn look_up(method: &str, url: &str, folder: &Path) -> (u16, &'static str, Vec<u8>) {
    const TEXT: &str = "text/plain; charset=utf-8";
    if method != "GET" && method != "HEAD" {
        return (405, TEXT, b"Only reading.\n".to_vec());
    }
    let path = url.split(['?', '#']).next().unwrap_or_default();
    match place(path, folder).and_then(|(file, kind)| Some((std::fs::read(file).ok()?, kind))) {
        Some((bytes, kind)) => (200, kind, bytes),
        None => (404, TEXT, b"Not here.\n".to_vec()),
    }
}

/// The file of a path, or `None` for a path that leaves the folder or has no known type.
fn place(path: &str, folder: &Path) -> Option<(PathBuf, &'static str)> {
    let kind = headers::kind(path)?;
    if path == "/" {
        return Some((folder.join("index.html"), kind));
    }
    let mut file = folder.to_path_buf();
    for part in path.strip_prefix('/')?.split('/') {
        let plain = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
        if part.is_empty() || part.starts_with('.') || !part.chars().all(plain) {
            return None;
        }
        file.push(part);
    }
    Some((file, kind))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_cannot_leave_the_folder() {
        let folder = Path::new("/site");
        let inside = place("/icons/mark.svg", folder).map(|(file, _)| file);
        assert_eq!(inside, Some(PathBuf::from("/site/icons/mark.svg")));
        for path in [
            "/../secret.txt",
            "/icons/../../secret.txt",
            "/.hidden.txt",
            "//secret.txt",
            "/%2e%2e/secret.txt",
            "secret.txt",
        ] {
            assert!(place(path, folder).is_none(), "{path}");
        }
    }

    #[test]
    fn only_reading_is_allowed() {
        assert_eq!(look_up("POST", "/", Path::new("/site")).0, 405);
    }
}
