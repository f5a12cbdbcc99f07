CREATE TABLE meta (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- Devices are 64-bit identities kept as the signed integer with the same bits;
-- record and document ids are 16 bytes: device, then number, both big-endian.

CREATE TABLE people (
    id         TEXT PRIMARY KEY,
    name       TEXT NOT NULL,
    role       TEXT NOT NULL CHECK (role IN ('owner', 'coach', 'assistant', 'client')),
    doc        BLOB UNIQUE,       -- the one document a client may see; null for all others
    created_ms INTEGER NOT NULL,
    CHECK ((role = 'client') = (doc IS NOT NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE devices (
    id          INTEGER PRIMARY KEY,
    person      TEXT NOT NULL REFERENCES people (id),
    secret_hash BLOB NOT NULL UNIQUE,
    created_ms  INTEGER NOT NULL,
    revoked_ms  INTEGER,
    have        INTEGER NOT NULL DEFAULT 0, -- number of the last operation judged
    chain       BLOB NOT NULL,              -- hash chain at that number
    last_wall_ms INTEGER NOT NULL DEFAULT 0, -- stamp of the last operation accepted
    last_count   INTEGER NOT NULL DEFAULT 0,
    day         INTEGER NOT NULL DEFAULT 0, -- days since 1970-01-01 UTC that day_count counts for
    day_count   INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX devices_person ON devices (person);

CREATE TABLE invitations (
    handle     TEXT PRIMARY KEY,
    secret_mac BLOB NOT NULL,
    role       TEXT NOT NULL CHECK (role IN ('owner', 'coach', 'assistant', 'client')),
    name       TEXT NOT NULL,
    doc        BLOB,
    made_by    TEXT REFERENCES people (id), -- null for the set-up invitation
    created_ms INTEGER NOT NULL,
    expires_ms INTEGER NOT NULL,
    tries      INTEGER NOT NULL DEFAULT 0,
    used_ms    INTEGER,
    used_by    INTEGER           -- the device that used it
) STRICT, WITHOUT ROWID;

CREATE TABLE docs (
    num     INTEGER PRIMARY KEY,
    id      BLOB NOT NULL UNIQUE,
    kind    TEXT NOT NULL,
    head    INTEGER NOT NULL DEFAULT 0, -- number of its last operation
    digest  BLOB NOT NULL,
    changed INTEGER NOT NULL UNIQUE     -- the practice-wide change number of its last change
) STRICT;

CREATE TABLE ops (
    doc    INTEGER NOT NULL REFERENCES docs (num),
    n      INTEGER NOT NULL,
    device INTEGER NOT NULL,
    seq    INTEGER NOT NULL,
    at_ms  INTEGER NOT NULL, -- when this server received it
    bytes  BLOB NOT NULL,
    PRIMARY KEY (doc, n)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX ops_author ON ops (device, seq);

CREATE TABLE records (
    doc  INTEGER NOT NULL REFERENCES docs (num),
    id   BLOB NOT NULL,
    kind TEXT NOT NULL,
    PRIMARY KEY (doc, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE refusals (
    device INTEGER NOT NULL REFERENCES devices (id),
    seq    INTEGER NOT NULL,
    code   TEXT NOT NULL,
    at_ms  INTEGER NOT NULL,
    PRIMARY KEY (device, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE audit (
    n       INTEGER PRIMARY KEY,
    at_ms   INTEGER NOT NULL,
    person  TEXT NOT NULL,
    device  TEXT NOT NULL,
    act     TEXT NOT NULL,
    subject TEXT NOT NULL,
    result  TEXT NOT NULL
) STRICT;
CREATE TRIGGER audit_no_update BEFORE UPDATE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
CREATE TRIGGER audit_no_delete BEFORE DELETE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit trail is append-only'); END;
