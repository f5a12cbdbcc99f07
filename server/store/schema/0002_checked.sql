-- What "check" goes by, and what was erased.

-- link is SHA-256 over the link before and this line; the first line follows no link. Lines
-- written before this version get theirs in the same step.
DROP TRIGGER audit_no_update;
ALTER TABLE audit ADD COLUMN link BLOB NOT NULL DEFAULT x'';

-- hash is that of the refused operation, which is not kept: without it the device's chain
-- could not be followed past the refusal.
ALTER TABLE refusals ADD COLUMN hash BLOB;

-- From where a device's chain can be followed: base is a number up to have, base_chain the chain
-- value at it. It moves forward when operations go for good.
ALTER TABLE devices ADD COLUMN base INTEGER NOT NULL DEFAULT 0;
ALTER TABLE devices ADD COLUMN base_chain BLOB;
UPDATE devices SET base = have, base_chain = chain WHERE id IN (SELECT device FROM refusals);

-- Documents whose operations are gone for good. A phone that holds one is told so.
CREATE TABLE erased (
    doc     BLOB PRIMARY KEY,
    changed INTEGER NOT NULL UNIQUE, -- the practice-wide change number of the erasure
    at_ms   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
