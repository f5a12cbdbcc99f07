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

-- An invitation for a person who is known.
ALTER TABLE invitations ADD COLUMN person TEXT REFERENCES people (id);
