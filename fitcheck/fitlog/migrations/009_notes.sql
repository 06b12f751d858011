-- Notes on a plank that come without photographs, and what a steel rule read from edge to line.

CREATE TABLE notes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    plank_id INTEGER NOT NULL REFERENCES planks (id),
    -- The latest fit then; NULL where none was on record.
    fit_id INTEGER REFERENCES fits (id),
    made_at TEXT NOT NULL,
    who TEXT,
    note TEXT NOT NULL DEFAULT '',
    -- The rule's reading and its place: past the line above zero, short of it below. NULL where it is a note alone.
    at_mm REAL,
    past_line_mm REAL,
    -- A mistake taken back stays on record; all NULL while it stands.
    taken_back_at TEXT,
    taken_back_by TEXT,
    taken_back_why TEXT,
    CHECK ((at_mm IS NULL) = (past_line_mm IS NULL)),
    CHECK (at_mm IS NULL OR fit_id IS NOT NULL),
    CHECK (note <> '' OR at_mm IS NOT NULL),
    CHECK ((taken_back_at IS NULL) = (taken_back_by IS NULL) AND (taken_back_at IS NULL) = (taken_back_why IS NULL))
) STRICT;
CREATE INDEX notes_of_plank ON notes (plank_id);
