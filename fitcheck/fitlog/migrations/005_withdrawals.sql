-- Mistakes taken back, which stay on record, and what a signature stood on.

CREATE TABLE withdrawals (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    plank_id INTEGER NOT NULL REFERENCES planks (id),
    -- The one thing that was taken back.
    fit_id INTEGER UNIQUE REFERENCES fits (id),
    take_id INTEGER UNIQUE REFERENCES takes (id),
    cut_id INTEGER UNIQUE REFERENCES cuts (id),
    feeler_id INTEGER UNIQUE REFERENCES feelers (id),
    made_at TEXT NOT NULL,
    who TEXT NOT NULL CHECK (who <> ''),
    why TEXT NOT NULL CHECK (why <> ''),
    CHECK ((fit_id IS NOT NULL) + (take_id IS NOT NULL) + (cut_id IS NOT NULL) + (feeler_id IS NOT NULL) = 1)
) STRICT;

-- What was brought to another plank or place: withdrawn where it was, and written anew where it belongs.
CREATE TABLE moves (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    withdrawal_id INTEGER NOT NULL UNIQUE REFERENCES withdrawals (id),
    -- The fit as it was written anew, and the one it was first recorded as, which tells its place in time.
    fit_id INTEGER UNIQUE REFERENCES fits (id),
    first_id INTEGER REFERENCES fits (id),
    -- Or the set of photographs, at another place of the same fit.
    take_id INTEGER UNIQUE REFERENCES takes (id),
    CHECK ((fit_id IS NULL) = (first_id IS NULL) AND (fit_id IS NULL) <> (take_id IS NULL))
) STRICT;

CREATE TRIGGER withdrawals_stay BEFORE UPDATE ON withdrawals BEGIN
    SELECT RAISE(ABORT, 'a withdrawal is never changed');
END;

CREATE TRIGGER withdrawals_are_kept BEFORE DELETE ON withdrawals BEGIN
    SELECT RAISE(ABORT, 'a withdrawal is never taken out');
END;

-- The limits and ends that a set of photographs was recorded under; NULL from before they were kept.
ALTER TABLE takes ADD COLUMN terms TEXT CHECK (terms IS NULL OR json_valid(terms));
-- Limits, fit, feeler readings, coverage and proofs that a signature stood on; NULL from before they were kept.
ALTER TABLE signoffs ADD COLUMN stood_on TEXT CHECK (stood_on IS NULL OR json_valid(stood_on));

-- What counts: all that was not withdrawn. Rank is the order in time.
CREATE VIEW standing_fits AS
SELECT f.*, coalesce(m.first_id, f.id) AS rank FROM fits f LEFT JOIN moves m ON m.fit_id = f.id
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.fit_id = f.id);

-- A set that was measured anew counts again where the new measurement was withdrawn.
CREATE VIEW standing_takes AS
SELECT t.* FROM takes t
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.id)
AND (t.superseded_by IS NULL OR EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.superseded_by));

CREATE VIEW standing_cuts AS
SELECT c.*, coalesce(m.first_id, c.fit_id, 0) AS rank FROM cuts c LEFT JOIN moves m ON m.fit_id = c.fit_id
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.cut_id = c.id);

CREATE VIEW standing_feelers AS
SELECT r.* FROM feelers r WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.feeler_id = r.id);

-- A signature does not outlive what it stood on.
CREATE TRIGGER withdrawal_opens AFTER INSERT ON withdrawals BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'withdrawal'
    WHERE opened_at IS NULL AND fit_id IN (
        new.fit_id,
        (SELECT fit_id FROM takes WHERE id = new.take_id),
        (SELECT fit_id FROM feelers WHERE id = new.feeler_id)
    );
END;
