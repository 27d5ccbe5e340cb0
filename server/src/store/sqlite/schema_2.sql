-- The log: its name, the secret of its hashes.
CREATE TABLE log (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    origin TEXT NOT NULL,
    secret BLOB NOT NULL
) STRICT;

-- The records from `first` on, up to the next row, one after the other in each column:
-- * the hash of its leaf in the tree, 32 bytes;
-- * the keyed hash of all that its request said, 32 bytes, zeros where it had none (that of the
--   request's id is in the leaf);
-- * the length of its leaf in four bytes, largest first; its leaf: header and commitment;
-- * the length of its content in four bytes, largest first; its nonce of twelve bytes; its content:
--   salt and body, sealed under the key of the subject that `facts` names; in the clear, with a
--   nonce of zeros, where it names none.
-- What is asked for most stands first, since a row goes over many pages.
CREATE TABLE records (
    first INTEGER PRIMARY KEY,
    hashes BLOB NOT NULL,
    request_contents BLOB NOT NULL,
    leaves BLOB NOT NULL,
    bodies BLOB NOT NULL
) STRICT;

-- The roots of the perfect subtrees of 256 leaves and more; smaller ones follow from the leaves.
CREATE TABLE nodes (
    level INTEGER NOT NULL,
    place INTEGER NOT NULL,
    hash BLOB NOT NULL,
    PRIMARY KEY (level, place)
) STRICT, WITHOUT ROWID;

-- Keys of subjects; a number is never given twice.
CREATE TABLE subjects (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    subject_hash BLOB NOT NULL UNIQUE,
    key BLOB NOT NULL,
    salt BLOB NOT NULL
) STRICT;

-- Requests by the first eight bytes of the keyed hash of their id.
CREATE TABLE requests (
    prefix INTEGER NOT NULL,
    position INTEGER NOT NULL,
    PRIMARY KEY (prefix, position)
) STRICT, WITHOUT ROWID;

-- How far `requests` goes, for each first byte of the hash: later ones are found in the leaves.
-- With each batch some come to its end, so the largest is how many records the log has.
CREATE TABLE request_ranges (
    first_byte INTEGER PRIMARY KEY,
    known_to INTEGER NOT NULL
) STRICT;
WITH RECURSIVE bytes (byte) AS (SELECT 0 UNION ALL SELECT byte + 1 FROM bytes WHERE byte < 255)
INSERT INTO request_ranges SELECT byte, 0 FROM bytes;

-- Every checkpoint that was signed.
CREATE TABLE checkpoints (
    size INTEGER PRIMARY KEY,
    note TEXT NOT NULL
) STRICT;

-- Sources of revisions and snapshots of parts, by their SHA-256.
CREATE TABLE blobs (
    digest BLOB PRIMARY KEY,
    content BLOB NOT NULL
) STRICT, WITHOUT ROWID;

-- What rulesets and their revisions are called, so that facts are small.
CREATE TABLE revisions (
    number INTEGER PRIMARY KEY,
    ruleset TEXT NOT NULL,
    revision BLOB NOT NULL,
    UNIQUE (ruleset, revision)
) STRICT;

-- What lists are drawn from: all but `subject` follows from leaf and body. The outcome goes with
-- the subject.
CREATE TABLE facts (
    position INTEGER PRIMARY KEY,
    instant_ms INTEGER NOT NULL,
    kind TEXT NOT NULL,
    revision INTEGER,
    outcome TEXT,
    about INTEGER,
    subject INTEGER
) STRICT;

-- All but the many.
CREATE INDEX acts ON facts (kind, position) WHERE kind <> 'recommendation';
CREATE INDEX records_about ON facts (about, position) WHERE about IS NOT NULL;
