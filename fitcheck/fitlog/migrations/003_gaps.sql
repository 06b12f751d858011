-- The lap seen edge-on, and feeler readings taken by hand.

ALTER TABLE takes ADD COLUMN kind TEXT NOT NULL DEFAULT 'edge' CHECK (kind IN ('edge', 'gap'));

CREATE TABLE gap_samples (
    take_id INTEGER NOT NULL REFERENCES takes (id),
    n INTEGER NOT NULL,
    place_mm REAL NOT NULL,
    along_mm REAL,
    plank_mm REAL,
    gap_mm REAL CHECK (gap_mm >= 0),
    gap_u95_mm REAL CHECK (gap_u95_mm >= 0),
    proud_mm REAL,
    proud_u95_mm REAL CHECK (proud_u95_mm >= 0),
    state TEXT NOT NULL CHECK (state IN ('open', 'closed', 'unsure', 'covered')),
    edge_u_px REAL,
    edge_v_px REAL,
    flags TEXT NOT NULL CHECK (json_valid(flags)),
    photos TEXT NOT NULL CHECK (json_valid(photos)),
    PRIMARY KEY (take_id, n)
) STRICT, WITHOUT ROWID;

CREATE TABLE feelers (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    fit_id INTEGER NOT NULL REFERENCES fits (id),
    made_at TEXT NOT NULL,
    who TEXT,
    from_mm REAL NOT NULL,
    to_mm REAL NOT NULL,
    -- Thickness of the blade or slip, and whether it went in.
    blade_mm REAL NOT NULL CHECK (blade_mm > 0),
    goes_in INTEGER NOT NULL CHECK (goes_in IN (0, 1)),
    note TEXT NOT NULL DEFAULT '',
    CHECK (to_mm >= from_mm)
) STRICT;
CREATE INDEX feelers_of_fit ON feelers (fit_id);

ALTER TABLE summaries ADD COLUMN worst_gap_mm REAL;
ALTER TABLE summaries ADD COLUMN worst_gap_at_mm REAL;
ALTER TABLE summaries ADD COLUMN open_len_mm REAL NOT NULL DEFAULT 0;
-- Length of the lap not known to be closed within limits; NULL in rows from before gaps were recorded.
ALTER TABLE summaries ADD COLUMN lap_doubt_len_mm REAL;

-- A blade that goes in speaks against a plank that was signed off.
CREATE TRIGGER feeler_opens AFTER INSERT ON feelers WHEN new.goes_in = 1 BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'feeler'
    WHERE plank_id = (SELECT plank_id FROM fits WHERE id = new.fit_id) AND opened_at IS NULL;
END;
