"""A second verifier of exports, written from server/src/audit/FORMAT.md and the public standards
(RFC 6962, RFC 8032, RFC 9162, C2SP signed-note and tlog-checkpoint), with the standard library alone.

It shares nothing with the first one but that page. Run it by itself:

    python verify_log.py EXPORT --key KEYS [--checkpoint NOTE]
"""

import argparse
import base64
import functools
import hashlib
import math
import pathlib
import re
import sys

MAGIC = b"loftwright export 1\n"
LARGEST_FRAME = 1 << 24
KINDS = {
    "recommendation", "build confirmed", "published", "activated", "catalogue", "stock", "key",
    "role", "setting", "erasure", "read by a person",
}


class Malformed(Exception):
    """What stands there is not what the format says."""


def sha256(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


# Ed25519, RFC 8032 section 5.1: the curve in extended coordinates, with Python's integers.

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT_OF_MINUS_ONE = pow(2, (P - 1) // 4, P)


def add(one, other):
    x1, y1, z1, t1 = one
    x2, y2, z2, t2 = other
    a, b = (y1 - x1) * (y2 - x2) % P, (y1 + x1) * (y2 + x2) % P
    c, d = 2 * t1 * t2 * D % P, 2 * z1 * z2 % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def multiply(number, point):
    result = (0, 1, 1, 0)
    while number:
        if number & 1:
            result = add(result, point)
        point = add(point, point)
        number >>= 1
    return result


def recover_x(y, sign):
    if y >= P:
        return None
    squared = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    if squared == 0:
        return None if sign else 0
    x = pow(squared, (P + 3) // 8, P)
    if (x * x - squared) % P:
        x = x * ROOT_OF_MINUS_ONE % P
    if (x * x - squared) % P:
        return None
    return P - x if (x & 1) != sign else x


BASE_Y = 4 * pow(5, P - 2, P) % P
BASE_X = recover_x(BASE_Y, 0)
BASE = (BASE_X, BASE_Y, 1, BASE_X * BASE_Y % P)


def compress(point):
    x, y, z, _ = point
    inverse = pow(z, P - 2, P)
    return (y * inverse % P | (x * inverse % P & 1) << 255).to_bytes(32, "little")


def decompress(encoded):
    y = int.from_bytes(encoded, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    x = recover_x(y, sign)
    return None if x is None else (x, y, 1, x * y % P)


def hashed_number(*parts):
    return int.from_bytes(hashlib.sha512(b"".join(parts)).digest(), "little") % L


def secret_number(seed):
    digest = hashlib.sha512(seed).digest()
    number = int.from_bytes(digest[:32], "little")
    return number & (1 << 254) - 8 | 1 << 254, digest[32:]


def public_key(seed):
    return compress(multiply(secret_number(seed)[0], BASE))


def sign(seed, message):
    number, prefix = secret_number(seed)
    public = compress(multiply(number, BASE))
    nonce = hashed_number(prefix, message)
    commitment = compress(multiply(nonce, BASE))
    answer = (nonce + hashed_number(commitment, public, message) * number) % L
    return commitment + answer.to_bytes(32, "little")


@functools.lru_cache(maxsize=None)
def verifies(public, message, signature):
    point = decompress(public)
    if point is None or len(signature) != 64:
        return False
    answer = int.from_bytes(signature[32:], "little")
    if answer >= L:
        return False
    challenge = hashed_number(signature[:32], public, message)
    x, y, z, t = point
    minus = (P - x, y, z, P - t)
    return compress(add(multiply(answer, BASE), multiply(challenge, minus))) == signature[:32]


# Keys, notes, checkpoints.


def strict_base64(text):
    try:
        data = base64.b64decode(text, validate=True)
    except ValueError as error:
        raise Malformed(f"base64: {error}") from error
    if base64.b64encode(data).decode() != text:
        raise Malformed("base64 with stray bits")
    return data


def is_key_name(name):
    return name != "" and "+" not in name and not any(c.isspace() or ord(c) < 32 for c in name)


def key_id(name, public):
    return sha256(name.encode(), b"\n\x01", public)[:4]


def parse_key(text):
    match = re.fullmatch(r"([^+]+)\+([0-9a-f]{8})\+(.+)", text)
    if not match or not is_key_name(match[1]):
        raise Malformed("not a verifier key")
    material = strict_base64(match[3])
    if len(material) != 33 or material[0] != 1:
        raise Malformed("not an Ed25519 key")
    if key_id(match[1], material[1:]).hex() != match[2]:
        raise Malformed("the key's id is another one")
    return match[1], material[1:]


def parse_ring(text):
    """The trusted keys: name, public key, smallest and largest log that each signs."""
    ring = []
    for line in text.splitlines():
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        match = re.fullmatch(r"(\S+)(?:\s+from\s+(\d+))?(?:\s+to\s+(\d+))?", line)
        if not match:
            raise Malformed(f"not a line of keys: {line!r}")
        name, public = parse_key(match[1])
        first = int(match[2] or 0)
        last = int(match[3]) if match[3] else None
        if last is not None and last < first:
            raise Malformed(f"sizes the wrong way round: {line!r}")
        ring.append((name, public, first, last))
    if not ring:
        raise Malformed("no keys")
    return ring


def parse_note(data):
    """The text of a signed note, and its signatures: name, id, signature."""
    try:
        note = data.decode()
    except UnicodeDecodeError as error:
        raise Malformed("a note is UTF-8") from error
    if any(ord(c) < 32 and c != "\n" for c in note):
        raise Malformed("a control character in a note")
    text, blank, lines = note.rpartition("\n\n")
    if not blank or not lines.endswith("\n"):
        raise Malformed("a note has a text, a blank line and signatures")
    signatures = []
    for line in lines[:-1].split("\n"):
        dash, _, rest = line.partition(" ")
        name, space, encoded = rest.partition(" ")
        if dash != "\u2014" or not space or not is_key_name(name):
            raise Malformed("not the line of a signature")
        signature = strict_base64(encoded)
        if len(signature) < 5:
            raise Malformed("a signature too short")
        signatures.append((name, signature[:4], signature[4:]))
    return text + "\n", signatures


def open_checkpoint(data, ring):
    """Origin, size and root of a checkpoint that a trusted key signed."""
    text, signatures = parse_note(data)
    lines = text[:-1].split("\n")
    if len(lines) < 3 or "" in lines or not re.fullmatch(r"0|[1-9][0-9]*", lines[1]):
        raise Malformed("not a checkpoint")
    size, root = int(lines[1]), strict_base64(lines[2])
    if len(root) != 32 or size >= 1 << 64:
        raise Malformed("not a checkpoint")
    is_signed = False
    for name, identifier, signature in signatures:
        for known, public, first, last in ring:
            if (known, key_id(known, public)) != (name, identifier):
                continue
            if not verifies(public, text.encode(), signature):
                raise Malformed("a wrong signature")
            is_signed |= first <= size and (last is None or size <= last)
    if not is_signed:
        raise Malformed("not signed by a trusted key")
    return lines[0], size, root


# The canonical encoding.


def decode(data, at=0, levels=32, left=None):
    """A value and the place after it. Maps are dict, fractions are tuples."""
    left = left or [1 << 18]
    if left[0] == 0:
        raise Malformed("too many values")
    left[0] -= 1
    tag, at = take(data, at, 1)
    tag = tag[0]
    if tag <= 2:
        return (None, False, True)[tag], at
    if tag == 3:
        return whole(data, at)
    if tag == 4:
        above, at = whole(data, at)
        below, at = whole(data, at)
        if below < 2 or math.gcd(above, below) != 1:
            raise Malformed("a fraction not in lowest terms")
        return (above, below), at
    if tag == 5:
        return text_of(data, at)
    if tag == 6:
        length, at = length_of(data, at)
        return take(data, at, length)
    if tag not in (7, 8):
        raise Malformed(f"no tag {tag}")
    if levels == 0:
        raise Malformed("nested too deep")
    count, at = length_of(data, at)
    if tag == 7:
        values = []
        for _ in range(count):
            value, at = decode(data, at, levels - 1, left)
            values.append(value)
        return values, at
    fields, last = {}, None
    for _ in range(count):
        name, at = text_of(data, at)
        if last is not None and name.encode() <= last:
            raise Malformed("keys that do not ascend")
        last = name.encode()
        fields[name], at = decode(data, at, levels - 1, left)
    return fields, at


def take(data, at, length):
    if at + length > len(data):
        raise Malformed("cut short")
    return data[at:at + length], at + length


def length_of(data, at):
    length, shift = 0, 0
    while True:
        byte, at = take(data, at, 1)
        length |= (byte[0] & 0x7F) << shift
        if byte[0] < 0x80:
            if byte[0] == 0 and shift:
                raise Malformed("a length written too long")
            return length, at
        shift += 7
        if shift > 63:
            raise Malformed("a length written too long")


def text_of(data, at):
    length, at = length_of(data, at)
    content, at = take(data, at, length)
    try:
        return content.decode(), at
    except UnicodeDecodeError as error:
        raise Malformed("not UTF-8") from error


def whole(data, at):
    length, at = take(data, at, 1)
    content, at = take(data, at, length[0])
    number = int.from_bytes(content, "big", signed=True)
    if length[0] > 16 or length[0] and int.from_bytes(content[1:], "big", signed=True) == number:
        raise Malformed("a whole number written too long")
    return number, at


def decode_fields(data, needed, optional=()):
    fields, at = decode(data)
    if at != len(data) or not isinstance(fields, dict):
        raise Malformed("not one map")
    return checked(fields, needed, optional)


def checked(fields, needed, optional=()):
    forms = dict(needed) | dict(optional)
    for name in dict(needed):
        if name not in fields:
            raise Malformed(f"{name} is missing")
    for name, value in fields.items():
        if name not in forms:
            raise Malformed(f"{name} is not known")
        if not forms[name](value):
            raise Malformed(f"{name} has another form")
    return fields


def is_text(value):
    return isinstance(value, str)


def is_bytes(value):
    return isinstance(value, bytes)


def is_digest(value):
    return isinstance(value, bytes) and len(value) == 32


def is_digests(value):
    return isinstance(value, list) and all(map(is_digest, value))


def is_number(bits):
    return lambda value: type(value) is int and 0 <= value < 1 << bits


# Leaves.

HEADER = {
    "version": lambda value: type(value) is int and value == 1,
    "position": is_number(64),
    "instant_ms": lambda value: type(value) is int and -(1 << 63) <= value < 1 << 63,
    "kind": lambda value: is_text(value) and value in KINDS,
    "principal": lambda value: is_text(value) and 1 <= len(value.encode()) <= 256,
}
DIGESTS = {
    name: is_digest
    for name in ("request_id_hash", "meaning_digest", "text_digest", "rules_digest",
                 "parts_digest", "subject_commitment")
}
VERSIONS = {name: is_number(32) for name in ("contract_version", "semantics_version")}


def parse_leaf(leaf):
    if len(leaf) > 4096:
        raise Malformed("a leaf too long")
    fields, at = decode(leaf)
    if not isinstance(fields, dict):
        raise Malformed("no header")
    checked(fields, HEADER, DIGESTS | VERSIONS)
    if len(leaf) - at != 32:
        raise Malformed("no commitment of 32 bytes")
    kind = fields["kind"]
    by_rules = kind in ("recommendation", "build confirmed")
    needed = []
    if by_rules or kind in ("published", "activated"):
        needed += ["meaning_digest", "text_digest", "contract_version"]
    if by_rules:
        needed += ["semantics_version"]
    if by_rules or kind in ("catalogue", "stock"):
        needed += ["parts_digest"]
    if by_rules or kind == "erasure":
        needed += ["subject_commitment"]
    for name in needed:
        if name not in fields:
            raise Malformed(f"{name} is missing")
    return fields, leaf[at:]


# The tree.


def node(left, right):
    return sha256(b"\x01", left, right)


class Tree:
    """The perfect subtrees at the right edge: (number of leaves, root), largest first."""

    def __init__(self, size=0, peaks=()):
        powers = [1 << bit for bit in range(62, -1, -1) if size >> bit & 1]
        if size > 1 << 62 or len(powers) != len(peaks):
            raise Malformed("another number of peaks")
        self.size, self.peaks = size, list(zip(powers, peaks))

    def add(self, leaf):
        self.peaks.append((1, sha256(b"\x00", leaf)))
        while len(self.peaks) > 1 and self.peaks[-1][0] == self.peaks[-2][0]:
            count, right = self.peaks.pop()
            _, left = self.peaks.pop()
            self.peaks.append((2 * count, node(left, right)))
        self.size += 1

    def root(self):
        if not self.peaks:
            return sha256()
        roots = [root for _, root in self.peaks]
        return functools.reduce(lambda right, left: node(left, right), reversed(roots))


def is_beginning(older, newer, proof, older_root, newer_root):
    """Whether a proof shows that one log begins another, by RFC 9162 section 2.1.4.2."""
    if older > newer:
        return False
    if older in (0, newer):
        return not proof and (older == 0 or older_root == newer_root)
    path = list(proof)
    if older & (older - 1) == 0:
        path.insert(0, older_root)
    if not path:
        return False
    first, second = older - 1, newer - 1
    while first & 1:
        first, second = first >> 1, second >> 1
    old = new = path[0]
    for step in path[1:]:
        if second == 0:
            return False
        if first & 1 or first == second:
            old, new = sha256(b"\x01", step, old), sha256(b"\x01", step, new)
            while first and not first & 1:
                first, second = first >> 1, second >> 1
        else:
            new = sha256(b"\x01", new, step)
        first, second = first >> 1, second >> 1
    return second == 0 and (old, new) == (older_root, newer_root)


def root_of_proof(leaf_hash, index, size, proof):
    """Where a proof leads, by the recursion of RFC 6962 section 2.1.1; None if it is none."""
    if size == 1:
        return leaf_hash if not proof else None
    if not proof:
        return None
    split = 1 << (size - 1).bit_length() - 1
    rest, last = proof[:-1], proof[-1]
    if index < split:
        left = root_of_proof(leaf_hash, index, split, rest)
        return left and node(left, last)
    right = root_of_proof(leaf_hash, index - split, size - split, rest)
    return right and node(last, right)


# The file.


def frames(data):
    """Each frame: place, letter, content, whether its check is right. Ends with a Malformed."""
    at, before = len(MAGIC), [b"\x00" * 16]
    while at < len(data):
        letter, length = data[at:at + 1], int.from_bytes(data[at + 1:at + 5], "big")
        if letter not in (b"H", b"K", b"R", b"C", b"A", b"E"):
            yield at, None, Malformed("no frame begins so"), True
            return
        if at + 5 <= len(data) and length > LARGEST_FRAME:
            yield at, None, Malformed("a frame too large"), True
            return
        content = data[at + 5:at + 5 + length]
        check = data[at + 5 + length:at + 21 + length]
        if len(check) < 16:
            yield at, None, Malformed("cut short"), True
            return
        found = [sha256(b"loftwright frame 1\n", one, data[at:at + 5], content)[:16] for one in before]
        yield at, letter.decode(), content, check in found
        at, before = at + 21 + length, [check, found[0]]


class Verifier:
    """Reads an export, and gathers faults: (byte, record or None, what)."""

    def __init__(self, ring, older=None):
        self.ring, self.older = ring, older
        self.faults, self.head, self.tree = [], None, Tree()
        self.position = self.records = self.checkpoints = 0
        self.signed_size, self.last_size, self.has_other_root = None, None, False
        self.is_continued, self.has_ended, self.leaf = False, False, None
        self.attached, self.at = set(), 0

    def fault(self, what, record=None):
        self.faults.append((self.at, record, what))

    def run(self, data):
        if not data.startswith(MAGIC):
            raise Malformed("no export")
        is_broken = False
        for self.at, letter, content, is_intact in frames(data):
            if letter is None:
                self.fault(str(content))
                is_broken = True
                break
            if not is_intact:
                self.fault("a damaged frame", self.position if letter == "R" else None)
            if self.has_ended or (letter == "H") != (self.head is None):
                self.fault("a frame where it may not stand")
                continue
            try:
                getattr(self, f"frame_{letter}")(content)
            except Malformed as error:
                self.fault(str(error), self.position if letter == "R" else None)
                self.head = self.head or {"origin": "", "size": 0, "what": ""}
                self.position += letter == "R"
        self.at = len(data)
        if not self.has_ended and not is_broken:
            self.fault("the end is missing")
        if self.head:
            self.finish()
        return self.faults

    def frame_H(self, content):
        common = {"origin": is_text, "size": is_number(64), "what": is_text}
        log = {"first": is_number(64), "peaks": is_digests}
        evidence = {"position": is_number(64), "proof": is_digests}
        since = {"older_size": is_number(64), "older_proof": is_digests}
        fields, _ = decode(content)
        is_log = isinstance(fields, dict) and fields.get("what") == "log"
        head = decode_fields(
            content, common | (log if is_log else evidence), () if is_log else since)
        if ("older_size" in head) != ("older_proof" in head):
            raise Malformed("an older log without its proof")
        if head["what"] not in ("log", "evidence"):
            raise Malformed("neither a log nor evidence")
        self.head = head
        self.position = head["first"] if is_log else head["position"]
        if is_log:
            self.tree = Tree(head["first"], head["peaks"])
            self.compare_with_older()

    def frame_K(self, content):
        line = decode_fields(content, {"key": is_text})["key"]
        if len(parse_ring(line)) != 1 or self.records or self.checkpoints:
            raise Malformed("not one key, or not before the records")

    def frame_R(self, content):
        fields = decode_fields(content, {"leaf": is_bytes}, {"body": is_bytes, "salt": is_digest})
        place = self.position
        self.position += 1
        self.records += 1
        self.tree.add(fields["leaf"])
        self.compare_with_older()
        try:
            header, commitment = parse_leaf(fields["leaf"])
        except Malformed as error:
            self.fault(str(error), place)
            return
        if header["position"] != place:
            self.fault("another record", place)
            self.position = header["position"] + 1
        if ("body" in fields) != ("salt" in fields):
            self.fault("a body without its salt", place)
        elif "body" in fields and commitment != sha256(
                b"loftwright body 1\n", fields["salt"], fields["body"]):
            self.fault("another body", place)
        if self.head["what"] == "evidence":
            if self.leaf or self.checkpoints:
                self.fault("a second record", place)
            self.leaf = self.leaf or (header, sha256(b"\x00", fields["leaf"]))

    def frame_C(self, content):
        note = decode_fields(content, {"note": is_text})["note"]
        self.checkpoints += 1
        origin, size, root = open_checkpoint(note.encode(), self.ring)
        if origin != self.head["origin"]:
            raise Malformed("a checkpoint of another log")
        if size == self.last_size:
            raise Malformed("two checkpoints of one size")
        self.last_size = size
        if self.head["what"] == "evidence":
            self.check_proof(size, root)
        elif size != self.tree.size:
            raise Malformed("a checkpoint of another size")
        elif root != self.tree.root():
            if not self.has_other_root:
                self.fault("another root", self.signed_size or self.head["first"])
            self.has_other_root = True
            return
        self.signed_size = size

    def check_proof(self, size, root):
        if size != self.head["size"] or not self.leaf or self.checkpoints > 1:
            raise Malformed("a checkpoint where it may not stand")
        if self.older and self.older[1] == size:
            self.is_continued = self.older[2] == root
        elif self.older and self.older[1] == self.head.get("older_size"):
            self.is_continued = is_beginning(
                self.older[1], size, self.head["older_proof"], self.older[2], root)
        index = self.head["position"]
        found = index < size and root_of_proof(self.leaf[1], index, size, self.head["proof"])
        if found != root:
            raise Malformed("the proof leads elsewhere")

    def frame_A(self, content):
        fields = decode_fields(content, {"name": is_text, "content": is_bytes})
        name = fields["name"]
        if not self.leaf or name not in ("rules", "parts") or name in self.attached:
            raise Malformed("an attachment that is none")
        self.attached.add(name)
        if self.leaf[0].get(f"{name}_digest") != sha256(fields["content"]):
            raise Malformed("an attachment that the record does not name")

    def frame_E(self, content):
        self.has_ended = True
        counts = decode_fields(content, {"records": is_number(64), "checkpoints": is_number(64)})
        if counts != {"records": self.records, "checkpoints": self.checkpoints}:
            raise Malformed("other counts")

    def compare_with_older(self):
        if self.older and self.head["what"] == "log" and self.older[1] == self.tree.size:
            self.is_continued = self.older[2] == self.tree.root()

    def finish(self):
        if self.head["what"] == "evidence":
            if not self.leaf or self.signed_size is None:
                self.fault("no record that is proved")
        elif self.tree.size != self.head["size"] or self.signed_size != self.tree.size:
            self.fault("records that are missing, or that nobody signed", self.position)
        if self.older and (not self.is_continued or self.older[0] != self.head["origin"]):
            self.fault("the older checkpoint is not continued")


def verify(data, ring, older=None):
    """The faults of an export: none where all of it is what was signed."""
    return Verifier(ring, older).run(data)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("export", type=pathlib.Path)
    parser.add_argument("--key", type=pathlib.Path, required=True)
    parser.add_argument("--checkpoint", type=pathlib.Path)
    arguments = parser.parse_args()
    try:
        ring = parse_ring(arguments.key.read_text(encoding="utf-8"))
        note = arguments.checkpoint
        older = open_checkpoint(note.read_bytes(), ring) if note else None
        faults = verify(arguments.export.read_bytes(), ring, older)
    except (Malformed, OSError, UnicodeDecodeError) as error:
        print(error, file=sys.stderr)
        return 2
    for byte, record, what in faults:
        place = "" if record is None else f", record {record}"
        print(f"fault at byte {byte}{place}: {what}")
    print("all of it is what was signed" if not faults else f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
