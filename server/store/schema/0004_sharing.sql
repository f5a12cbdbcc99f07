-- A client record without a row here is for all staff; with one, for the owner and those granted.
CREATE TABLE closed (doc BLOB PRIMARY KEY) STRICT, WITHOUT ROWID;
CREATE TABLE grants (
    doc    BLOB NOT NULL REFERENCES closed (doc),
    person TEXT NOT NULL REFERENCES people (id),
    PRIMARY KEY (doc, person)
) STRICT, WITHOUT ROWID;

-- What each of the staff is to hear of, numbered for each of them alone: one number for the whole
-- practice would tell them how much goes on in records they may not read. Numbers of earlier
-- versions stay good, so that no phone begins anew.
CREATE TABLE news (
    person TEXT NOT NULL REFERENCES people (id),
    doc    BLOB NOT NULL,
    n      INTEGER NOT NULL,
    PRIMARY KEY (person, doc)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX news_number ON news (person, n);
INSERT INTO news SELECT p.id, d.id, d.changed FROM people p, docs d WHERE p.role <> 'client';
INSERT INTO news SELECT p.id, e.doc, e.changed FROM people p, erased e WHERE p.role <> 'client'
    ON CONFLICT DO NOTHING;
