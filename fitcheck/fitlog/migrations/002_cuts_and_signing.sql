-- What was planed, and who said that a plank may be fastened.

CREATE TABLE cuts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    plank_id INTEGER NOT NULL REFERENCES planks (id),
    -- The fit after which it was planed.
    fit_id INTEGER REFERENCES fits (id),
    made_at TEXT NOT NULL,
    who TEXT,
    from_mm REAL NOT NULL,
    to_mm REAL NOT NULL,
    deepest_mm REAL NOT NULL CHECK (deepest_mm > 0),
    -- [[at_mm, depth_mm], ...] where the depth along the cut is known.
    profile TEXT CHECK (profile IS NULL OR json_valid(profile)),
    note TEXT NOT NULL DEFAULT '',
    CHECK (to_mm > from_mm)
) STRICT;
CREATE INDEX cuts_of_plank ON cuts (plank_id);

CREATE TABLE signoffs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    plank_id INTEGER NOT NULL REFERENCES planks (id),
    fit_id INTEGER NOT NULL REFERENCES fits (id),
    signed_at TEXT NOT NULL,
    who TEXT NOT NULL CHECK (who <> ''),
    -- Why the builder overruled what was missing; both NULL where nothing was.
    overruled TEXT,
    missing TEXT CHECK (missing IS NULL OR json_valid(missing)),
    opened_at TEXT,
    opened_why TEXT,
    CHECK ((overruled IS NULL) = (missing IS NULL))
) STRICT;
CREATE INDEX signoffs_of_plank ON signoffs (plank_id);

-- Any later cut or fit opens a signed plank again, whoever writes it.
CREATE TRIGGER cut_opens AFTER INSERT ON cuts BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'cut'
    WHERE plank_id = new.plank_id AND opened_at IS NULL;
END;

CREATE TRIGGER fit_opens AFTER INSERT ON fits BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'fit'
    WHERE plank_id = new.plank_id AND opened_at IS NULL;
END;

CREATE TRIGGER take_opens AFTER INSERT ON takes BEGIN
    UPDATE signoffs SET opened_at = new.recorded_at, opened_why = 'photographs'
    WHERE plank_id = (SELECT plank_id FROM fits WHERE id = new.fit_id) AND opened_at IS NULL;
END;
