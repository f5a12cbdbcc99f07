-- A phone's sign-in secrets are derived from the server's key and the salt, one after the
-- other; secret_hash is of the first, which was handed out when it joined.
ALTER TABLE devices ADD COLUMN salt BLOB;
UPDATE devices SET salt = randomblob(16);
ALTER TABLE devices ADD COLUMN used INTEGER NOT NULL DEFAULT 0;    -- number of the newest secret seen
ALTER TABLE devices ADD COLUMN used_ms INTEGER NOT NULL DEFAULT 0; -- when that one was seen first
ALTER TABLE devices ADD COLUMN public_key BLOB;                    -- null until the phone says one
ALTER TABLE devices ADD COLUMN ended_ms INTEGER;                   -- its secrets were ended: a copy was used
ALTER TABLE devices ADD COLUMN contact_ms INTEGER NOT NULL DEFAULT 0;
ALTER TABLE devices ADD COLUMN wipe INTEGER NOT NULL DEFAULT 0;    -- a revoked phone is to empty itself
ALTER TABLE devices ADD COLUMN told_ms INTEGER;                    -- when it was told so

-- An invitation for a person who is known, and a recovery code of the owner.
ALTER TABLE invitations ADD COLUMN person TEXT REFERENCES people (id);
ALTER TABLE invitations ADD COLUMN recovery INTEGER NOT NULL DEFAULT 0;

-- Staff see every client record unless sees_some is 1: then those of their list, in which a
-- record that was taken away stays, marked. n counts the changes that this one person hears
-- of, so that their cursor tells nothing of other records.
ALTER TABLE people ADD COLUMN sees_some INTEGER NOT NULL DEFAULT 0;
ALTER TABLE people ADD COLUMN heard INTEGER NOT NULL DEFAULT 0;    -- the last n given
CREATE TABLE grants (
    person TEXT NOT NULL REFERENCES people (id),
    doc    BLOB NOT NULL,
    n      INTEGER NOT NULL,
    gone   INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (person, doc)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX grants_n ON grants (person, n);
