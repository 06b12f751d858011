-- The seals: one for every event on record, each chained to the one before by its digest. Rows are only ever added.

CREATE TABLE seals (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    made_at TEXT NOT NULL,
    -- The kind of event, and the row that holds it.
    what TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    -- The plank it speaks of, and the event in words: both still known where the row itself is gone.
    plank_id INTEGER,
    about TEXT NOT NULL,
    -- 1 where the row was on record before there were seals: it is known as it stood then, not as it was written.
    late INTEGER NOT NULL DEFAULT 0 CHECK (late IN (0, 1)),
    -- The digest of every column of the row, and of the rows that belong to it.
    content TEXT NOT NULL CHECK (json_valid(content)),
    digest TEXT NOT NULL
) STRICT;
CREATE INDEX seals_of_row ON seals (what, row_id);
CREATE INDEX seals_of_plank ON seals (plank_id);

CREATE TRIGGER seals_stay BEFORE UPDATE ON seals BEGIN
    SELECT RAISE(ABORT, 'a seal is never changed');
END;

CREATE TRIGGER seals_are_kept BEFORE DELETE ON seals BEGIN
    SELECT RAISE(ABORT, 'a seal is never taken out');
END;
