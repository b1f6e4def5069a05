//! What a server has to say with each file: types, the policy, and the other security headers. One
//! list for the local server, the deployment notes and the tests.

/// The policy without `frame-ancestors`, word for word what `app/index.html` carries as a meta tag
/// (where `frame-ancestors` has no effect). `connect-src 'self'` is what makes "nothing leaves the
/// phone" something a reader can check.
pub const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; \
style-src 'self'; img-src 'self' blob: data:; media-src 'self'; font-src 'self'; \
connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'";

/// Every header but the type, in the order of the deployment notes.
pub fn all() -> Vec<(&'static str, String)> {
    vec![
        (
            "Content-Security-Policy",
            format!("{POLICY}; frame-ancestors 'none'"),
        ),
        ("Cross-Origin-Opener-Policy", "same-origin".to_owned()),
        ("Referrer-Policy", "no-referrer".to_owned()),
        ("X-Content-Type-Options", "nosniff".to_owned()),
        ("Permissions-Policy", permissions()),
        // Names are fixed, so a copy must be asked about before it is used. Offline the service
        // worker answers, not this cache.
        ("Cache-Control", "no-cache".to_owned()),
    ]
}

/// Everything a page could ask a phone for is shut, but the two that the app uses.
fn permissions() -> String {
    const SHUT: [&str; 20] = [
        "accelerometer",
        "autoplay",
        "bluetooth",
        "camera",
        "display-capture",
        "encrypted-media",
        "fullscreen",
        "geolocation",
        "gyroscope",
        "hid",
        "idle-detection",
        "local-fonts",
        "magnetometer",
        "microphone",
        "midi",
        "payment",
        "publickey-credentials-get",
        "serial",
        "usb",
        "xr-spatial-tracking",
    ];
    let mut list: Vec<String> = SHUT.iter().map(|name| format!("{name}=()")).collect();
    list.push("screen-wake-lock=(self)".to_owned());
    list.push("web-share=(self)".to_owned());
    list.join(", ")
}

/// The type of a file by its ending; `None` for one that the site should not hold.
pub fn kind(path: &str) -> Option<&'static str> {
    let ending = match path {
        "/" => "html",
        _ => path.rsplit_once('.')?.1,
    };
    Some(match ending {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "wasm" => "application/wasm",
        "bin" => "application/octet-stream",
        "css" => "text/css; charset=utf-8",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "png" => "image/png",
        "svg" => "image/svg+xml",
        "txt" => "text/plain; charset=utf-8",
        "wav" => "audio/wav",
        "mp3" => "audio/mpeg",
        "ogg" => "audio/ogg",
        "woff2" => "font/woff2",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_carries_the_same_policy() {
        let page = include_str!("../../../app/index.html");
        let meta = format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">");
        assert!(page.contains(&meta));
    }

    #[test]
    fn the_policy_lets_no_inline_or_foreign_code_in() {
        for word in ["'unsafe-inline'", "'unsafe-eval'", "http:", "https:", "*"] {
            assert!(!POLICY.contains(word), "{word}");
        }
        assert!(POLICY.starts_with("default-src 'none';"));
    }

    #[test]
    fn code_has_its_right_type() {
        assert_eq!(kind("/pinfold-app_bg.wasm"), Some("application/wasm"));
        assert_eq!(kind("/"), Some("text/html; charset=utf-8"));
        assert_eq!(kind("/knowledge.bin"), Some("application/octet-stream"));
        assert_eq!(kind("/strange.exe"), None);
    }
}
