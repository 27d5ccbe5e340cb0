"""The second verifier of exports against the public figures, and against the program: over the files
of the corpus, over files tampered with, and over files that it writes itself."""

import json
import os
import pathlib
import subprocess
import tempfile
import unittest

import verify_log as v

CORPUS = pathlib.Path(__file__).resolve().parents[1] / "corpus" / "record"
# RFC 8032 section 7.1, tests 1 to 3: seed, public key, message, signature.
RFC_8032 = [
    ("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b4"
     "6bd25bf5f0595bbe24655141438e7a100b"),
    ("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
     "387b2eaeb4302aeeb00d291612bb0c00"),
    ("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
     "4a7c15e9716ed28dc027beceea1ec40a"),
]
# The example of c2sp.org/signed-note.
EXAMPLE_KEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
EXAMPLE_NOTE = (
    "This is an example message.\n\n\u2014 example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONn"
    "cAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
)
# The leaves with which the implementations of Certificate Transparency are tested, and the root.
CT_LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657",
             "606162636465666768696a6b6c6d6e6f"]
CT_ROOT = "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328"


def read(name):
    return (CORPUS / name).read_bytes()


def ring():
    return v.parse_ring(read("log.keys").decode())


def program(data, *further):
    """What the program says of an export: its exit code, and the report."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "some.export"
        path.write_bytes(data)
        command = [os.environ["LOFTWRIGHT"], "verify-log", str(path), "--json", *further]
        if "--key" not in further:
            command += ["--key", str(CORPUS / "log.keys")]
        done = subprocess.run(command, capture_output=True, check=False)
        return done.returncode, json.loads(done.stdout) if done.stdout else None


class PublicFigures(unittest.TestCase):
    def test_signatures(self):
        for seed, public, message, signature in RFC_8032:
            seed, public, message, signature = map(
                bytes.fromhex, (seed, public, message, signature))
            self.assertEqual(v.public_key(seed), public)
            self.assertEqual(v.sign(seed, message), signature)
            self.assertTrue(v.verifies(public, message, signature))
            for at in (0, 31, 32, 63):
                changed = bytearray(signature)
                changed[at] ^= 1
                self.assertFalse(v.verifies(public, message, bytes(changed)))

    def test_note(self):
        name, public = v.parse_key(EXAMPLE_KEY)
        text, [(signer, identifier, signature)] = v.parse_note(EXAMPLE_NOTE.encode())
        self.assertEqual((signer, identifier), (name, v.key_id(name, public)))
        self.assertTrue(v.verifies(public, text.encode(), signature))

    def test_tree(self):
        tree = v.Tree()
        for leaf in CT_LEAVES:
            tree.add(bytes.fromhex(leaf))
        self.assertEqual(tree.root().hex(), CT_ROOT)


class Corpus(unittest.TestCase):
    def test_the_files_are_clean(self):
        older = v.open_checkpoint(read("older.note"), ring())
        newest = v.open_checkpoint(read("newest.note"), ring())
        self.assertEqual(v.verify(read("log.export"), ring(), older), [])
        self.assertEqual(v.verify(read("log.export"), ring(), newest), [])
        self.assertEqual(v.verify(read("stretch.export"), ring(), newest), [])
        self.assertEqual(v.verify(read("record-6.evidence"), ring(), newest), [])
        self.assertNotEqual(v.verify(read("record-6.evidence"), ring(), older), [])
        since = read("record-6-since.evidence")
        self.assertEqual(v.verify(since, ring(), older), [])
        self.assertEqual(v.verify(since, ring(), newest), [])
        rewritten = (older[0], older[1], bytes(32))
        self.assertNotEqual(v.verify(since, ring(), rewritten), [])
        self.assertNotEqual(v.verify(read("stretch.export"), ring(), older), [])
        stranger = v.parse_ring(EXAMPLE_KEY)
        self.assertNotEqual(v.verify(read("log.export"), stranger), [])

    def test_every_changed_byte_and_every_cut_is_found(self):
        for name in ("stretch.export", "record-6.evidence", "record-6-since.evidence"):
            data = read(name)
            starts = [frame[0] for frame in v.frames(data)]
            for at in range(len(v.MAGIC), len(data)):
                frame = max(start for start in starts if start <= at)
                changed = bytearray(data)
                changed[at] ^= 1 << at % 8
                self.assertEqual(v.verify(bytes(changed), ring())[0][0], frame, f"{name} {at}")
                self.assertNotEqual(v.verify(data[:at], ring()), [], f"{name} cut at {at}")

    def test_both_verifiers_find_the_same_places(self):
        data = read("log.export")
        for at in range(30, len(data), 397):
            for changed in (
                data[:at] + bytes([data[at] ^ 1 << at % 8]) + data[at + 1:],
                data[:at],
            ):
                code, report = program(changed)
                faults = v.verify(changed, ring())
                self.assertEqual(code, 1)
                self.assertEqual(report["faults"][0]["byte"], faults[0][0], f"byte {at}")

    def test_frames_moved_are_found_by_both(self):
        data = read("log.export")
        starts = [frame[0] for frame in v.frames(data)] + [len(data)]
        pieces = [data[one:other] for one, other in zip(starts, starts[1:])]
        for at in range(len(pieces)):
            for changed in (
                pieces[:at] + pieces[at + 1:],
                pieces[:at] + [pieces[at]] + pieces[at:],
                pieces[:at] + pieces[at + 1:at + 2] + [pieces[at]] + pieces[at + 2:],
            ):
                if changed == pieces:
                    continue
                changed = v.MAGIC + b"".join(changed)
                faults = v.verify(changed, ring())
                code, report = program(changed)
                self.assertEqual(code, 1)
                self.assertEqual(report["faults"][0]["byte"], faults[0][0], f"frame {at}")


def length(number):
    out = bytearray()
    while number >= 0x80:
        out.append(number & 0x7F | 0x80)
        number >>= 7
    return bytes(out) + bytes([number])


def encode(value):
    """The canonical encoding of what the tests below write."""
    if isinstance(value, int):
        # Of a negative number the bits of its complement count.
        bits = (value if value >= 0 else ~value).bit_length()
        count = 0 if value == 0 else bits // 8 + 1
        return bytes([3, count]) + value.to_bytes(count, "big", signed=True)
    if isinstance(value, str):
        return b"\x05" + length(len(value.encode())) + value.encode()
    if isinstance(value, bytes):
        return b"\x06" + length(len(value)) + value
    if isinstance(value, list):
        return b"\x07" + length(len(value)) + b"".join(map(encode, value))
    pairs = sorted((name.encode(), encode(of)) for name, of in value.items())
    return b"\x08" + length(len(pairs)) + b"".join(
        length(len(name)) + name + of for name, of in pairs)


class Log:
    """A log that this test writes: frames, leaves, checkpoints."""

    NAME = "other-shop.example/log"
    SEED = bytes(range(32))

    def __init__(self):
        self.data, self.check, self.tree = v.MAGIC, bytes(16), v.Tree()
        public = v.public_key(self.SEED)
        material = v.base64.b64encode(b"\x01" + public).decode()
        self.identifier = v.key_id(self.NAME, public)
        self.key = f"{self.NAME}+{self.identifier.hex()}+{material}"

    def frame(self, letter, content):
        content = encode(content)
        head = letter.encode() + len(content).to_bytes(4, "big")
        self.check = v.sha256(b"loftwright frame 1\n", self.check, head, content)[:16]
        self.data += head + content + self.check

    def note(self, root):
        text = f"{self.NAME}\n{self.tree.size}\n{v.base64.b64encode(root).decode()}\n"
        signature = self.identifier + v.sign(self.SEED, text.encode())
        return f"{text}\n\u2014 {self.NAME} {v.base64.b64encode(signature).decode()}\n"

    def write(self, count, lie=None):
        head = {"origin": self.NAME, "size": count, "what": "log", "first": 0, "peaks": []}
        self.frame("H", head)
        self.frame("K", {"key": self.key})
        for position in range(count):
            salt, body = bytes([position]) * 32, encode({"note": "x" * 40 * position})
            header = {"version": 1, "position": position, "instant_ms": -129 + position,
                      "kind": "role", "principal": f"person {position}"}
            leaf = encode(header) + v.sha256(b"loftwright body 1\n", salt, body)
            self.tree.add(leaf if position != lie else leaf + b"!")
            self.frame("R", {"leaf": leaf, "salt": salt, "body": body})
        self.frame("C", {"note": self.note(self.tree.root())})
        self.frame("E", {"records": count, "checkpoints": 1})
        return self.data


class WrittenHere(unittest.TestCase):
    def test_the_program_takes_what_another_program_wrote(self):
        for count in (0, 1, 2, 3, 7, 20):
            log = Log()
            data = log.write(count)
            self.assertEqual(v.verify(data, v.parse_ring(log.key)), [])
            with tempfile.TemporaryDirectory() as folder:
                keys = pathlib.Path(folder) / "log.keys"
                keys.write_text(log.key + "\n", encoding="utf-8")
                code, report = program(data, "--key", str(keys))
                self.assertEqual((code, report["records"]), (0, count), report)

    def test_a_root_over_other_records_is_found_by_both(self):
        log = Log()
        data = log.write(9, lie=4)
        self.assertNotEqual(v.verify(data, v.parse_ring(log.key)), [])
        with tempfile.TemporaryDirectory() as folder:
            keys = pathlib.Path(folder) / "log.keys"
            keys.write_text(log.key + "\n", encoding="utf-8")
            code, report = program(data, "--key", str(keys))
        self.assertEqual(code, 1)
        self.assertEqual([fault["kind"] for fault in report["faults"]], ["root"])


if __name__ == "__main__":
    unittest.main()
