-- 1 for a recovery code: it stands for the owner until it is used or others are made.
ALTER TABLE invitations ADD COLUMN recovery INTEGER NOT NULL DEFAULT 0;
