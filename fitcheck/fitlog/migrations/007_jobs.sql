-- Photographs sent to be measured, and what became of them: work in hand beside the record. They are not sealed, and an
-- export leaves them out; what is measured goes on record as from the command line.

CREATE TABLE jobs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    made_at TEXT NOT NULL,
    who TEXT,
    plank TEXT NOT NULL,
    -- What they show: the edge square-on, or the lap edge-on.
    kind TEXT NOT NULL CHECK (kind IN ('edge', 'gap')),
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
CREATE INDEX jobs_of_state ON jobs (state, id);
CREATE INDEX jobs_of_plank ON jobs (plank, id);
