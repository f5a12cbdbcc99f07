-- 1 for an invitation made on a phone: who shows its code waits for a tap there, or by the owner.
ALTER TABLE invitations ADD COLUMN tap INTEGER NOT NULL DEFAULT 0;
-- The one phone that showed the code: what it said of itself, and what was answered. Its kind and
-- address are kept for the answer only.
ALTER TABLE invitations ADD COLUMN knock_ms INTEGER;
ALTER TABLE invitations ADD COLUMN knock_device INTEGER;
ALTER TABLE invitations ADD COLUMN knock_key BLOB;
ALTER TABLE invitations ADD COLUMN knock_name TEXT;
ALTER TABLE invitations ADD COLUMN knock_phone TEXT;
ALTER TABLE invitations ADD COLUMN knock_address TEXT;
ALTER TABLE invitations ADD COLUMN answered_ms INTEGER;
ALTER TABLE invitations ADD COLUMN answer TEXT CHECK (answer IN ('let_in', 'turn_away'));
CREATE INDEX knocks ON invitations (knock_ms) WHERE knock_ms IS NOT NULL AND answered_ms IS NULL;
