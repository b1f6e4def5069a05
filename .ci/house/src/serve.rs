//! A small server for one folder on this machine, with the types and headers that a real one has to
//! give. It reads each file when it is asked for, so that a test can deploy a build under it.

use crate::{Fault, headers};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tiny_http::{Header, Method, Request, Response, Server};

/// Serves `folder` on localhost until the process is ended. Port 0 takes a free one; the address is
/// printed as `serving http://localhost:PORT/`. Without `policy` the content policy is left out, of
/// the header and of the page: the control for tests that the policy stops something.
pub fn serve(folder: &Path, port: u16, policy: bool) -> Result<(), Fault> {
    if !folder.join("index.html").is_file() {
        return Err(format!("{} holds no built site: run make build", folder.display()).into());
    }
    let server = Server::http(("127.0.0.1", port))
        .map_err(|e| format!("port {port} cannot be used ({e}); try make serve PORT=8081"))?;
    let port = server
        .server_addr()
        .to_ip()
        .map(|address| address.port())
        .ok_or("the server has no port")?;
    println!("serving http://localhost:{port}/");
    let server = Arc::new(server);
    let workers: Vec<_> = (0..4)
        .map(|_| {
            let server = Arc::clone(&server);
            let folder = folder.to_path_buf();
            std::thread::spawn(move || {
                while let Ok(request) = server.recv() {
                    // A browser that hangs up early is no reason to stop.
                    let _ = answer(request, &folder, policy);
                }
            })
        })
        .collect();
    for worker in workers {
        worker.join().map_err(|_| "a serving thread panicked")?;
    }
    Ok(())
}

fn answer(request: Request, folder: &Path, policy: bool) -> std::io::Result<()> {
    let (status, kind, mut body) = look_up(request.method(), request.url(), folder);
    if !policy && kind.starts_with("text/html") {
        let page = String::from_utf8_lossy(&body).replace(headers::POLICY, "");
        body = page.into_bytes();
    }
    let mut response = Response::from_data(body).with_status_code(status);
    response.add_header(header("Content-Type", kind));
    for (name, value) in headers::all() {
        if policy || name != "Content-Security-Policy" {
            response.add_header(header(name, &value));
        }
    }
    request.respond(response)
}

fn header(name: &str, value: &str) -> Header {
    // Both come from this program's own constants.
    Header::from_bytes(name, value).expect("a header of ASCII")
}

fn look_up(method: &Method, url: &str, folder: &Path) -> (u16, &'static str, Vec<u8>) {
    const TEXT: &str = "text/plain; charset=utf-8";
    if *method != Method::Get && *method != Method::Head {
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
        assert_eq!(look_up(&Method::Post, "/", Path::new("/site")).0, 405);
    }
}
