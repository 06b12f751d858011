-- Photographs of the printed board are jobs too: a camera is calibrated from them. SQLite changes no CHECK in place.

CREATE TABLE jobs_of_cameras_too (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    made_at TEXT NOT NULL,
    who TEXT,
    -- Empty where the photographs show no plank.
    plank TEXT NOT NULL CHECK ((plank = '') = (kind = 'camera')),
    -- What they show: the edge square-on, the lap edge-on, or the printed board.
    kind TEXT NOT NULL CHECK (kind IN ('edge', 'gap', 'camera')),
    -- What was told with them.
    told TEXT NOT NULL CHECK (json_valid(told)),
    -- Their files in the job's folder, each with its digest.
    photos TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(photos)),
    state TEXT NOT NULL DEFAULT 'open' CHECK (
        state IN ('open', 'waiting', 'measuring', 'recording', 'measured', 'refused', 'failed', 'cancelled')
    ),
    changed_at TEXT NOT NULL,
    -- How often the process that measured it ended before it did.
    crashes INTEGER NOT NULL DEFAULT 0,
    -- Why it failed, in words.
    said TEXT NOT NULL DEFAULT '',
    -- The fit it went on record as.
    fit INTEGER,
    -- The job whose photographs it measures again.
    again_of INTEGER REFERENCES jobs (id)
) STRICT;
INSERT INTO jobs_of_cameras_too SELECT * FROM jobs;
DROP TABLE jobs;
ALTER TABLE jobs_of_cameras_too RENAME TO jobs;
CREATE INDEX jobs_of_state ON jobs (state, id);
CREATE INDEX jobs_of_plank ON jobs (plank, id);
