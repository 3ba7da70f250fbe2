//! SHA-256 (FIPS 180-4): a short name for what a report was made from, the same wherever the files lie.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

/// Round constants: the first 32 bits of the fractional parts of the cube roots of the first 64 primes (FIPS 180-4, 4.2.2).
const K: [u32; 64] = [
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
];

/// Initial state: the first 32 bits of the fractional parts of the square roots of the first 8 primes (FIPS 180-4, 5.3.3).
const H: [u32; 8] = [
    0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19,
];

/// The SHA-256 digest of some bytes.
pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    let mut state = H;
    let (blocks, rest) = bytes.as_chunks::<64>();
    blocks.iter().for_each(|block| compress(&mut state, block));
    // One bit, zeros, and the length in bits fill the last block or the last two.
    let mut tail = [0u8; 128];
    tail[..rest.len()].copy_from_slice(rest);
    tail[rest.len()] = 0x80;
    let end = if rest.len() < 56 { 64 } else { 128 };
    let bits = (bytes.len() as u64).wrapping_mul(8);
    tail[end - 8..end].copy_from_slice(&bits.to_be_bytes());
    tail[..end].as_chunks::<64>().0.iter().for_each(|block| compress(&mut state, block));
    let mut digest = [0u8; 32];
    for (bytes, word) in digest.as_chunks_mut::<4>().0.iter_mut().zip(state) {
        *bytes = word.to_be_bytes();
    }
    digest
}

fn compress(state: &mut [u32; 8], block: &[u8; 64]) {
    let mut w = [0u32; 64];
    for (word, bytes) in w.iter_mut().zip(block.as_chunks::<4>().0) {
        *word = u32::from_be_bytes(*bytes);
    }
    for t in 16..64 {
        let (a, b) = (w[t - 15], w[t - 2]);
        let s0 = a.rotate_right(7) ^ a.rotate_right(18) ^ (a >> 3);
        let s1 = b.rotate_right(17) ^ b.rotate_right(19) ^ (b >> 10);
        w[t] = w[t - 16].wrapping_add(s0).wrapping_add(w[t - 7]).wrapping_add(s1);
    }
    let [mut a, mut b, mut c, mut d, mut e, mut f, mut g, mut h] = *state;
    for t in 0..64 {
        let s1 = e.rotate_right(6) ^ e.rotate_right(11) ^ e.rotate_right(25);
        let choice = (e & f) ^ (!e & g);
        let t1 = h.wrapping_add(s1).wrapping_add(choice).wrapping_add(K[t]).wrapping_add(w[t]);
        let s0 = a.rotate_right(2) ^ a.rotate_right(13) ^ a.rotate_right(22);
        let t2 = s0.wrapping_add((a & b) ^ (a & c) ^ (b & c));
        (h, g, f, e) = (g, f, e, d.wrapping_add(t1));
        (d, c, b, a) = (c, b, a, t1.wrapping_add(t2));
    }
    for (sum, word) in state.iter_mut().zip([a, b, c, d, e, f, g, h]) {
        *sum = sum.wrapping_add(word);
    }
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
