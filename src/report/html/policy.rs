//! What the page may do: run its own script and use its own style, each named by its digest, and nothing else.

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
    let named = |text: &str| format!("'sha256-{}'", base64(&sha256(text.as_bytes())));
    format!(
        "default-src 'none'; style-src {}; script-src {}; base-uri 'none'; form-action 'none'",
        named(style),
        named(script)
    )
}

/// Base64 by RFC 4648, with padding.
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let bits =
            three.iter().fold(0u32, |bits, &b| bits << 8 | u32::from(b)) << (8 * (3 - three.len()));
        for place in 0..4 {
            let digit = DIGITS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place > three.len() { '=' } else { char::from(digit) });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_of_the_standard() {
        // RFC 4648, section 10.
        let cases = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (text, coded) in cases {
            assert_eq!(base64(text.as_bytes()), coded);
        }
    }

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
