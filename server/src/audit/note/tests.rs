//! Notes, keys and checkpoints against the figures that others publish.
//!
//! - The example of the C2SP signed-note specification (c2sp.org/signed-note): a verifier key and a
//!   note of `example.com/foo`.
//! - The key pair with which the public repository `transparency-dev/tessera` tests
//!   (`example.com/log/testdata`, in its `testdata/build_log.sh`), and a checkpoint of 100270
//!   records signed with it, as the tests of the public repository `warpfork/spicytool` have it.
//!   Ed25519 signs the same text in the same way each time, so ours must be the same to the byte.
//! - The example of c2sp.org/tlog-checkpoint, whose key is not published.

use zeroize::Zeroizing;

use super::{
    Checkpoint, CheckpointError, KeyFault, KeyRing, KeyRingFault, NoteFault, NoteFaultKind,
    SignedNote, SigningKey, TrustFault, VerifierKey, key_file, open_checkpoint, sign_checkpoint,
};
use crate::audit::merkle::{Hash, empty_root, leaf_hash};
use crate::audit::test_support::bytes;

const EXAMPLE_KEY: &str = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k";
const EXAMPLE_NOTE: &str = "This is an example message.\n\n\u{2014} example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n";

const TEST_PRIVATE_KEY: &str =
    "PRIVATE+KEY+example.com/log/testdata+33d7b496+AeymY/SZAX0jZcJ8enZ5FY1Dz+wTML2yWSkK+9DSF3eg";
const TEST_KEY: &str =
    "example.com/log/testdata+33d7b496+AeHTu4Q3hEIMHNqc6fASMsq3rKNx280NI+oO5xCFkkSx";
const TEST_CHECKPOINT: &str = "example.com/log/testdata\n100270\nGRV1O0dCqmjjPvYi7CtOT79zb/fPwLNsMFWsynwU8Ac=\n\n\u{2014} example.com/log/testdata M9e0lkcvy5bAe7rrC8tCyAP+my+CLzswA91zOpBNWVU7qCojkUOHnfdQzDImoYeYH8G8PJSwOqsx0RkSa261OmKVwwM=\n";

const SOFA_CHECKPOINT: &str = "example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n\u{2014} example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n";

fn verifier(text: &str) -> VerifierKey {
    text.parse().expect("a verifier key")
}

fn test_key() -> SigningKey {
    SigningKey::parse(TEST_PRIVATE_KEY).expect("a private key")
}

fn note(text: &str) -> SignedNote {
    SignedNote::parse(text.as_bytes()).expect("a note")
}

fn key_named(name: &str, seed: u8) -> SigningKey {
    SigningKey::of_seed(name, Zeroizing::new([seed; 32])).expect("a key")
}

#[test]
fn the_specifications_example_verifies() {
    let key = verifier(EXAMPLE_KEY);
    assert_eq!((key.name(), key.id()), ("example.com/foo", 0x530d_903a));
    assert_eq!(key.to_string(), EXAMPLE_KEY);
    let note = note(EXAMPLE_NOTE);
    assert_eq!(note.text(), "This is an example message.\n");
    assert_eq!(note.to_text(), EXAMPLE_NOTE);
    let ring = KeyRing::of(key.clone());
    assert_eq!(ring.verify(&note, 0), Ok(vec![&key]));
}

#[test]
fn keys_and_signatures_are_those_of_the_other_implementation() {
    let key = test_key();
    assert_eq!(key.verifier().to_string(), TEST_KEY);
    assert_eq!(key.secret_text().as_str(), TEST_PRIVATE_KEY);
    let ring = KeyRing::of(verifier(TEST_KEY));
    let (checkpoint, signers) =
        open_checkpoint(TEST_CHECKPOINT.as_bytes(), &ring).expect("a checkpoint");
    assert_eq!(signers, [key.verifier()]);
    assert_eq!(checkpoint.size, 100_270);
    let signed = sign_checkpoint(&checkpoint, &[&key]).expect("signed");
    assert_eq!(signed.to_text(), TEST_CHECKPOINT);
}

#[test]
fn the_checkpoint_of_the_specification_is_read() {
    let note = note(SOFA_CHECKPOINT);
    let checkpoint = Checkpoint::parse(note.text()).expect("a checkpoint");
    assert_eq!(checkpoint.origin, "example.com/behind-the-sofa");
    assert_eq!(checkpoint.size, 20_852_163);
    assert_eq!(checkpoint.to_text(), note.text());
    assert_eq!(note.to_text(), SOFA_CHECKPOINT);
    let ring = KeyRing::of(verifier(EXAMPLE_KEY));
    assert!(matches!(
        open_checkpoint(SOFA_CHECKPOINT.as_bytes(), &ring),
        Err(CheckpointError::Untrusted(TrustFault::NoKnownSignature(_)))
    ));
}

#[test]
fn every_flipped_bit_of_a_checkpoint_is_found() {
    let ring = KeyRing::of(verifier(TEST_KEY));
    let bytes = TEST_CHECKPOINT.as_bytes();
    for at in 0..bytes.len() {
        for bit in 0..8 {
            let mut flipped = bytes.to_vec();
            flipped[at] ^= 1 << bit;
            assert!(
                open_checkpoint(&flipped, &ring).is_err(),
                "byte {at}, bit {bit}"
            );
        }
        assert!(open_checkpoint(&bytes[..at], &ring).is_err(), "cut at {at}");
    }
}

#[test]
fn every_changed_byte_of_a_key_is_found() {
    for at in 0..TEST_KEY.len() {
        for (text, is_private) in [(TEST_KEY, false), (TEST_PRIVATE_KEY, true)] {
            let mut bytes = text.as_bytes().to_vec();
            bytes[at] ^= 1;
            let changed = String::from_utf8_lossy(&bytes);
            let is_key = match is_private {
                true => SigningKey::parse(&changed).is_ok(),
                false => changed.parse::<VerifierKey>().is_ok(),
            };
            assert!(!is_key, "{changed}");
        }
    }
    assert_eq!(
        TEST_PRIVATE_KEY.parse::<VerifierKey>(),
        Err(KeyFault::NotPublic)
    );
    let public = SigningKey::parse(TEST_KEY).map(|_| ());
    assert_eq!(public, Err(KeyFault::NotPrivate));
}

#[test]
fn faults_of_notes_are_named_with_their_byte() {
    let cases: [(&[u8], usize, NoteFaultKind); 13] = [
        (b"", 0, NoteFaultKind::NoLineEnd),
        (b"text\n\n", 6, NoteFaultKind::NoSignature),
        (b"text\n", 5, NoteFaultKind::NoBlankLine),
        (b"text\r\n\n", 4, NoteFaultKind::ControlCharacter),
        (b"te\xffxt\n\n", 2, NoteFaultKind::NotText),
        (b"text\n\n- name AAAAAAA=\n", 6, NoteFaultKind::NoDash),
        (
            "text\n\n\u{2014} name\n".as_bytes(),
            14,
            NoteFaultKind::Base64,
        ),
        (
            "text\n\n\u{2014}  AAAAAAA=\n".as_bytes(),
            10,
            NoteFaultKind::KeyName,
        ),
        (
            "text\n\n\u{2014} a+b AAAAAAA=\n".as_bytes(),
            10,
            NoteFaultKind::KeyName,
        ),
        (
            "text\n\n\u{2014} name AA*AAAA=\n".as_bytes(),
            17,
            NoteFaultKind::Base64,
        ),
        (
            "text\n\n\u{2014} name AAAAAAA\n".as_bytes(),
            22,
            NoteFaultKind::Base64,
        ),
        (
            "text\n\n\u{2014} name AAAAAAB=\n".as_bytes(),
            21,
            NoteFaultKind::Base64,
        ),
        (
            "text\n\n\u{2014} name AAAA\n".as_bytes(),
            15,
            NoteFaultKind::ShortSignature,
        ),
    ];
    for (bytes, at, kind) in cases {
        let shown = String::from_utf8_lossy(bytes);
        assert_eq!(
            SignedNote::parse(bytes),
            Err(NoteFault { at, kind }),
            "{shown}"
        );
    }
}

#[test]
fn faults_of_checkpoints_are_named_with_their_byte() {
    let cases = [
        ("\n1\n", 0, NoteFaultKind::NoOrigin),
        ("log\n", 4, NoteFaultKind::Size),
        ("log\n01\n", 4, NoteFaultKind::Size),
        ("log\n+1\n", 4, NoteFaultKind::Size),
        ("log\n18446744073709551616\n", 4, NoteFaultKind::Size),
        ("log\n1\n", 6, NoteFaultKind::Root),
        ("log\n1\nAAAA\n", 6, NoteFaultKind::Root),
        ("log\n1\nAA-A\n", 8, NoteFaultKind::Base64),
    ];
    for (text, at, kind) in cases {
        assert_eq!(
            Checkpoint::parse(text),
            Err(NoteFault { at, kind }),
            "{text}"
        );
    }
    let empty_line = format!(
        "{}\nmore\n",
        Checkpoint::new("log", 0, empty_root()).to_text()
    );
    let found = Checkpoint::parse(&empty_line).map_err(|fault| fault.kind);
    assert_eq!(found, Err(NoteFaultKind::EmptyLine));
}

#[test]
fn a_note_keeps_blank_lines_and_several_signatures() {
    let (one, two) = (key_named("one", 1), key_named("two", 2));
    let signed = SignedNote::sign("a\n\nb\n", &[&one, &two]).expect("signed");
    assert_eq!(note(&signed.to_text()), signed);
    // One known key is enough; the other is passed over.
    let ring = KeyRing::of(two.verifier().clone());
    assert_eq!(ring.verify(&signed, 0), Ok(vec![two.verifier()]));
    // A wrong signature of a known key is not, whatever else there is.
    let other = SignedNote::sign("c\n", &[&one, &two]).expect("signed");
    let forged = signed.to_text().replacen("a\n\nb\n", "c\n", 1);
    let mixed = forged.lines().next_back().map(str::to_owned);
    let mixed = format!("{}{}\n", other.to_text(), mixed.expect("a line"));
    assert!(matches!(
        ring.verify(&note(&mixed), 0),
        Err(TrustFault::WrongSignature { .. })
    ));
    for bad in ["", "no line end", "control\u{7}\n"] {
        assert!(SignedNote::sign(bad, &[&one]).is_err(), "{bad}");
    }
    let lines = Checkpoint::new("two\nlines", 0, empty_root());
    assert!(sign_checkpoint(&lines, &[&one]).is_err());
}

#[test]
fn a_ring_is_read_and_written_with_every_fault() {
    let (old, new) = (key_named("log", 1), key_named("log", 2));
    let mut ring = KeyRing::of(old.verifier().clone());
    ring.change(new.verifier().clone(), 100);
    let text = format!("{} to 100\n{} from 100\n", old.verifier(), new.verifier());
    assert_eq!(ring.to_string(), text);
    assert_eq!(
        KeyRing::parse(&format!("# keys\n\n{text}")),
        Ok(ring.clone())
    );
    let faults = KeyRing::parse(&format!(
        "{text}{}\nnothing\n{EXAMPLE_KEY} from 3 to 2\n",
        old.verifier()
    ));
    let faults = faults.expect_err("faults");
    assert!(matches!(
        faults.as_slice(),
        [
            KeyRingFault::Twice { line: 3, .. },
            KeyRingFault::Key { line: 4, .. },
            KeyRingFault::Sizes { line: 5 },
        ]
    ));
    assert_eq!(KeyRing::parse("# none\n"), Err(vec![KeyRingFault::Empty]));

    let signed = |size, key: &SigningKey| {
        let checkpoint = Checkpoint::new("log", size, leaf_hash(b"root"));
        sign_checkpoint(&checkpoint, &[key])
            .expect("signed")
            .to_text()
    };
    let opens = |size, key| open_checkpoint(signed(size, key).as_bytes(), &ring).is_ok();
    assert!(opens(99, &old) && opens(100, &old) && !opens(101, &old));
    assert!(!opens(99, &new) && opens(100, &new) && opens(101, &new));
}

#[test]
fn a_key_file_is_its_owners_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("log.key");
    let key = SigningKey::generate("skerry-point.example/log").expect("a key");
    key_file::create(&path, &key).expect("written");
    let again = key_file::create(&path, &key).expect_err("it is there");
    assert!(again.to_string().ends_with("never written over"), "{again}");
    let read = key_file::read(&path).expect("read");
    assert_eq!(read.verifier(), key.verifier());
    let secret = key.secret_text();
    let (_, secret) = secret.rsplit_once('+').expect("base64");
    assert!(!format!("{key:?}{read:?}").contains(secret));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path| std::fs::metadata(path).expect("there").permissions().mode() & 0o777;
        assert_eq!(mode(&path), 0o600);
        for open in [0o640, 0o604, 0o620, 0o610] {
            std::fs::set_permissions(&path, PermissionsExt::from_mode(open)).expect("set");
            let said = key_file::read(&path).expect_err("refused").to_string();
            assert!(said.contains(&format!("mode {open:04o}")), "{said}");
        }
        std::fs::set_permissions(&path, PermissionsExt::from_mode(0o600)).expect("set");
    }
    std::fs::write(&path, format!("{}x\n", key.secret_text().as_str())).expect("written");
    let said = key_file::read(&path).expect_err("no key").to_string();
    assert!(!said.contains(secret), "{said}");
}

/// The vectors of RFC 8032 section 7.1, tests 1 and 2: seed, public key, message, signature.
#[test]
fn signatures_are_those_of_rfc_8032() {
    let vectors = [
        (
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "",
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        ),
        (
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "72",
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        ),
    ];
    for (seed, message, signature) in vectors {
        let seed = Hash::of_slice(&bytes(seed)).expect("32 bytes").0;
        let key = SigningKey::of_seed("rfc8032", Zeroizing::new(seed)).expect("a key");
        assert_eq!(key.sign(&bytes(message)), bytes(signature));
        assert!(key.verifier().verifies(&bytes(message), &bytes(signature)));
    }
}
