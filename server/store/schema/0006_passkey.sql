-- A passkey with which the person of this phone comes back on another one. It ends with the phone.
ALTER TABLE devices ADD COLUMN passkey_id BLOB;    -- as the authenticator names it
ALTER TABLE devices ADD COLUMN passkey BLOB;       -- what checks its signature
ALTER TABLE devices ADD COLUMN passkey_ms INTEGER; -- when it was made
CREATE UNIQUE INDEX device_passkey ON devices (passkey_id) WHERE passkey_id IS NOT NULL;
