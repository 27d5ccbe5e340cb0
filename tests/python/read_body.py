"""A second reader of the bodies of recommendations, written from server/src/audit/FORMAT.md, with the
standard library alone: what a record says is read without the program, from the body and the exact
source of the rules.

    python read_body.py EVIDENCE      the request and the recommendation, as JSON
"""

import hashlib
import json
import pathlib
import re
import sys
import zlib

import verify_log as v

NAMES = pathlib.Path(__file__).resolve().parents[2] / "server/src/audit/columns/names.txt"


def known_texts(source):
    """The texts that need not be written, in the order of their numbers."""
    names = NAMES.read_text(encoding="utf-8").splitlines()
    found = set()
    for line in source.decode().split("\n"):
        line = re.sub(r"[ \t\f\r]+", " ", line).strip(" ")
        found.update(line.split('"')[1::2])
        found.update(re.findall(r"[A-Za-z0-9_.]+", line))
        said = line.split(' because "')[0].split(" # ")[0]
        found.update((said, said.partition(" ")[2], said.split(" weight ")[0]))
    found -= {"", *names}
    return names + sorted(found, key=str.encode)


class Columns:
    """A value in columns."""

    def __init__(self, data, known):
        self.data, self.known, self.at = data, known, 0
        self.own = [self.take(v.text_of) for _ in range(self.number())]
        self.unused = 0

    def take(self, read, *arguments):
        value, self.at = read(self.data, self.at, *arguments)
        return value

    def number(self):
        return self.take(v.length_of)

    def value(self):
        [value] = self.site(1)
        if self.at != len(self.data) or self.unused != len(self.own):
            raise v.Malformed("something after a value in columns")
        return value

    def site(self, count):
        if count == 0:
            return []
        tag = self.take(v.take, 1)[0]
        if tag != 9:
            return self.of_tag(tag, count)
        tags = self.take(v.take, count)
        values = {tag: iter(self.of_tag(tag, tags.count(tag))) for tag in sorted(set(tags))}
        return [next(values[tag]) for tag in tags]

    def of_tag(self, tag, count):
        if tag <= 2:
            return [(None, False, True)[tag]] * count
        if tag == 3:
            return [self.take(v.whole) for _ in range(count)]
        if tag == 4:
            return [(self.take(v.whole), self.take(v.whole)) for _ in range(count)]
        if tag == 5:
            return [self.reference() for _ in range(count)]
        if tag == 6:
            return [self.take(v.take, self.number()) for _ in range(count)]
        if tag == 7:
            lengths = [self.number() for _ in range(count)]
            elements = iter(self.site(sum(lengths)))
            return [[next(elements) for _ in range(length)] for length in lengths]
        if tag == 8:
            return self.maps(count)
        raise v.Malformed(f"no tag {tag}")

    def maps(self, count):
        forms = [[self.reference() for _ in range(self.number())] for _ in range(self.number())]
        each = [self.number() for _ in range(count)] if len(forms) != 1 else [0] * count
        maps = [{} for _ in range(count)]
        for key in sorted({key for form in forms for key in form}, key=str.encode):
            entries = [place for place, form in zip(maps, each) if key in forms[form]]
            for place, value in zip(entries, self.site(len(entries))):
                place[key] = value
        return maps

    def reference(self):
        reference = self.number()
        if reference == 0:
            self.unused += 1
            return self.own[self.unused - 1]
        number, is_own = divmod(reference - 1, 2)
        return self.own[number] if is_own else self.known[number]


def digest(decisions):
    """What the decisions came to."""
    said = hashlib.sha256(b"loftwright compared 1\n")

    def text(content):
        data = content.encode()
        length = len(data)
        while length > 0x7F:
            said.update(bytes([length & 0x7F | 0x80]))
            length >>= 7
        said.update(bytes([length]) + data)

    for decision in decisions:
        for field in ("name", "club", "ending"):
            text(decision.get(field, ""))
        said.update(bytes(["value" in decision]))
        if "value" in decision:
            text(decision["value"].get("exact", ""))
            if decision["ending"] in ("ENDING_CHOSEN", "ENDING_ORDERED"):
                text(decision["value"].get("text", ""))
    return said.digest()


def read_body(body, source):
    """The request and the recommendation of a body, with the exact source of the rules."""
    fields = v.decode_fields(body, {
        "version": lambda value: value == 2, "request": v.is_bytes, "made_on": v.is_text,
        "deflated": v.is_bytes, "compared": v.is_digest,
    })
    known = known_texts(source)
    request = Columns(fields["request"], known).value()
    content = zlib.decompress(fields["deflated"], wbits=-15)
    recommendation = Columns(content, known).value()
    if digest(recommendation.get("decisions", [])) != fields["compared"]:
        raise v.Malformed("the digest at the head is of other decisions")
    return request, recommendation | {"made_on": fields["made_on"]}


def read_evidence(data):
    """The same of an evidence pack, which is not verified by this."""
    frames = [(letter, content) for _, letter, content, _ in v.frames(data)]
    record = next(v.decode(content)[0] for letter, content in frames if letter == "R")
    attached = [v.decode(content)[0] for letter, content in frames if letter == "A"]
    rules = next(one["content"] for one in attached if one["name"] == "rules")
    return read_body(record["body"], rules)


if __name__ == "__main__":
    REQUEST, RECOMMENDATION = read_evidence(pathlib.Path(sys.argv[1]).read_bytes())
    print(json.dumps({"request": REQUEST, "recommendation": RECOMMENDATION}, indent=2))
