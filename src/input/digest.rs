//! A fingerprint: a short name for what a report was made from, the same wherever the files lie.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use sha2::{Digest, Sha256};

/// The SHA-256 digest of some bytes.
pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

/// Bytes in hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Each file's name without its folders, with its digest. A file that cannot be read any more counts as empty; of two files of one name
/// both stand, the second with its place among them.
pub fn digests(files: &BTreeSet<PathBuf>) -> BTreeMap<String, String> {
    let mut result = BTreeMap::new();
    for path in files {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let digest = hex(&sha256(&fs::read(path).unwrap_or_default()));
        let mut free = name.clone();
        for number in 2.. {
            if !result.contains_key(&free) {
                break;
            }
            free = format!("{name}#{number}");
        }
        result.insert(free, digest);
    }
    result
}

/// A name for the content of some files: 64 hexadecimal digits that change with a file's name or a byte in it, and not with the folder
/// they lie in. A file that cannot be read any more counts as empty.
pub fn fingerprint(files: &BTreeSet<PathBuf>) -> String {
    let mut each: Vec<String> = files
        .iter()
        .map(|path| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            format!("{} {name}\n", hex(&sha256(&fs::read(path).unwrap_or_default())))
        })
        .collect();
    each.sort();
    hex(&sha256(each.concat().as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_of_the_standard() {
        // The examples of FIPS 180-2, appendix B (one block, two blocks), and RFC 6234, 8.5 (empty text from memory).
        let cases = [
            ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
            ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ];
        for (text, digest) in cases {
            assert_eq!(hex(&sha256(text.as_bytes())), digest, "{text:?}");
        }
        let million = vec![b'a'; 1_000_000];
        let digest = "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0";
        assert_eq!(hex(&sha256(&million)), digest);
    }

    #[test]
    fn a_fingerprint_tells_content_and_not_place() {
        let at = |folder: &tempfile::TempDir, text: &str| {
            let path = folder.path().join("scenario.toml");
            fs::write(&path, text).expect("written");
            fingerprint(&BTreeSet::from([path]))
        };
        let [one, two] = [(), ()].map(|()| tempfile::tempdir().expect("a folder"));
        let (here, there) = (at(&one, "a"), at(&two, "a"));
        assert_eq!(here, there);
        assert_ne!(here, at(&two, "b"));
        assert_eq!(here.len(), 64);
    }
}
