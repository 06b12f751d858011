-- Hulls, planks, their dry fits, and what was measured of each. Lengths in mm, times in UTC (ISO 8601).

CREATE TABLE hulls (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE planks (
    id INTEGER PRIMARY KEY,
    hull_id INTEGER NOT NULL REFERENCES hulls (id),
    strake INTEGER NOT NULL CHECK (strake BETWEEN 1 AND 99),
    side TEXT NOT NULL CHECK (side IN ('port', 'starboard')),
    part TEXT NOT NULL DEFAULT '',
    UNIQUE (hull_id, strake, side, part)
) STRICT;

-- One dry clamping of one plank.
CREATE TABLE fits (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    plank_id INTEGER NOT NULL REFERENCES planks (id),
    number INTEGER NOT NULL CHECK (number >= 1),
    made_at TEXT NOT NULL,
    who TEXT,
    note TEXT NOT NULL DEFAULT '',
    moisture_pct REAL CHECK (moisture_pct BETWEEN 0 AND 200),
    temperature_c REAL CHECK (temperature_c BETWEEN -50 AND 70),
    clamps TEXT CHECK (clamps IN ('tight', 'eased')),
    UNIQUE (plank_id, number)
) STRICT;

CREATE TABLE calibrations (
    digest TEXT PRIMARY KEY,
    identity TEXT NOT NULL CHECK (json_valid(identity))
) STRICT, WITHOUT ROWID;

-- One set of photographs of a fit, measured together. A set measured anew supersedes the old one, which stays.
CREATE TABLE takes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    fit_id INTEGER NOT NULL REFERENCES fits (id),
    recorded_at TEXT NOT NULL,
    who TEXT,
    frame TEXT NOT NULL CHECK (frame IN ('plank', 'photo')),
    at_mm REAL,
    program TEXT NOT NULL,
    calibration TEXT REFERENCES calibrations (digest),
    settings TEXT NOT NULL CHECK (json_valid(settings)),
    advice TEXT CHECK (advice IS NULL OR json_valid(advice)),
    -- The measurement as it came, without its samples.
    document TEXT NOT NULL CHECK (json_valid(document)),
    digest TEXT NOT NULL,
    superseded_by INTEGER REFERENCES takes (id)
) STRICT;
CREATE INDEX takes_of_fit ON takes (fit_id);

CREATE TABLE photographs (
    digest TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL CHECK (bytes >= 0),
    -- In the photo store beside the record, or left where it was.
    place TEXT NOT NULL,
    stored INTEGER NOT NULL CHECK (stored IN (0, 1))
) STRICT, WITHOUT ROWID;

CREATE TABLE take_photographs (
    take_id INTEGER NOT NULL REFERENCES takes (id),
    photograph TEXT NOT NULL REFERENCES photographs (digest),
    PRIMARY KEY (take_id, photograph)
) STRICT, WITHOUT ROWID;
CREATE INDEX takes_of_photograph ON take_photographs (photograph);

CREATE TABLE samples (
    take_id INTEGER NOT NULL REFERENCES takes (id),
    n INTEGER NOT NULL,
    -- The place in the take's frame.
    place_mm REAL NOT NULL,
    along_mm REAL,
    plank_mm REAL,
    past_line_mm REAL,
    u95_mm REAL CHECK (u95_mm >= 0),
    state TEXT NOT NULL CHECK (state IN ('past', 'short', 'on', 'unsure', 'hidden', 'covered', 'ambiguous')),
    edge_u_px REAL,
    edge_v_px REAL,
    line_u_px REAL,
    line_v_px REAL,
    flags TEXT NOT NULL CHECK (json_valid(flags)),
    photos TEXT NOT NULL CHECK (json_valid(photos)),
    PRIMARY KEY (take_id, n),
    CHECK ((past_line_mm IS NULL) = (u95_mm IS NULL))
) STRICT, WITHOUT ROWID;

-- The fit in one row, so that the list of fits never reads samples. Worked out from them whenever they change.
CREATE TABLE summaries (
    fit_id INTEGER PRIMARY KEY REFERENCES fits (id),
    -- The limits and the plank's ends it was worked out for; others ask for working it out anew.
    terms TEXT NOT NULL CHECK (json_valid(terms)),
    frame TEXT NOT NULL,
    from_mm REAL,
    to_mm REAL,
    worst_past_mm REAL,
    worst_past_u95_mm REAL,
    worst_past_at_mm REAL,
    worst_short_mm REAL,
    worst_short_u95_mm REAL,
    worst_short_at_mm REAL,
    -- Lengths of the lap by state, and its longest stretch without an answer.
    past_len_mm REAL NOT NULL,
    short_len_mm REAL NOT NULL,
    on_len_mm REAL NOT NULL,
    unsure_len_mm REAL NOT NULL,
    hidden_len_mm REAL NOT NULL,
    covered_len_mm REAL NOT NULL,
    ambiguous_len_mm REAL NOT NULL,
    unseen_len_mm REAL NOT NULL,
    longest_doubt_mm REAL NOT NULL,
    verdict TEXT,
    cuts INTEGER NOT NULL,
    deepest_mm REAL
) STRICT;
