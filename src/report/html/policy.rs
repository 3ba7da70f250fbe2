//! What the page may do: run its own script and use its own style, each named by its digest, and nothing else.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use crate::input::sha256;

/// The style as the page holds it.
pub(super) fn style() -> String {
    include_str!("page.css").replace("\r\n", "\n")
}

/// The script as the page holds it.
pub(super) fn script() -> String {
    include_str!("page.js").replace("\r\n", "\n")
}

/// The content security policy: no request of any kind, no form, no base; one style and one script.
pub(super) fn policy(style: &str, script: &str) -> String {
    let named = |text: &str| format!("'sha256-{}'", STANDARD.encode(sha256(text.as_bytes())));
    format!(
        "default-src 'none'; style-src {}; script-src {}; base-uri 'none'; form-action 'none'",
        named(style),
        named(script)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_allowed_but_what_is_named() {
        let policy = policy("", "alert('Hello, world.');");
        assert!(policy.starts_with(
            "default-src 'none'; style-src 'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"
        ));
        // The example of Content Security Policy Level 2, section 7.17.
        assert!(
            policy.contains("script-src 'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='")
        );
    }

    #[test]
    fn style_and_script_cannot_end_their_elements() {
        for text in [style(), script()] {
            assert!(!text.contains("</") && !text.contains("<!--"));
        }
    }
}
