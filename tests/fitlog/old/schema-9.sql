-- A record of schema 9, with invented data.
PRAGMA application_id = 1718187107;
PRAGMA user_version = 9;
BEGIN TRANSACTION;
CREATE TABLE calibrations (
    digest TEXT PRIMARY KEY,
    identity TEXT NOT NULL CHECK (json_valid(identity))
) STRICT, WITHOUT ROWID;
INSERT INTO "calibrations" VALUES('22a590027f9d4ec2fbc2924a613a35b10bb8532496f351cd6a1849b1e18f8178','{"digest":"0000000000000000000000000000000000000000000000000000000000000000","name":"invented camera"}');
INSERT INTO "calibrations" VALUES('cafe','{"name":"invented camera"}');
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
    note TEXT NOT NULL DEFAULT '', from_card INTEGER CHECK (from_card >= 1),
    CHECK (to_mm > from_mm)
) STRICT;
INSERT INTO "cuts" VALUES(1,1,1,'2026-01-02T08:00:00+00:00','Builder A',20.0,60.0,0.8,NULL,'one pass',NULL);
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
INSERT INTO "feelers" VALUES(1,2,'2026-01-03T08:00:00+00:00','Builder A',0.0,100.0,0.1,0,'paper');
INSERT INTO "feelers" VALUES(2,6,'2026-11-29T11:03:20+00:00','Builder B',10.0,10.0,0.1,0,'paper');
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
INSERT INTO "fits" VALUES(1,1,1,'2026-01-01T08:00:00+00:00','Builder A','its the note; -- of fit 1',11.5,18.0,'tight');
INSERT INTO "fits" VALUES(2,1,2,'2026-01-02T08:00:00+00:00','Builder A','its the note; -- of fit 2',11.5,18.0,'tight');
INSERT INTO "fits" VALUES(3,2,1,'2026-01-03T08:00:00+00:00','Builder A','its the note; -- of fit 3',11.5,18.0,'tight');
INSERT INTO "fits" VALUES(4,3,1,'2026-01-04T08:00:00+00:00','Builder A','its the note; -- of fit 4',11.5,18.0,'tight');
INSERT INTO "fits" VALUES(5,4,1,'2026-11-29T11:03:19+00:00','Builder A','',NULL,NULL,NULL);
INSERT INTO "fits" VALUES(6,5,1,'2026-11-29T11:03:19+00:00','Builder A','',NULL,NULL,NULL);
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
INSERT INTO "gap_samples" VALUES(9,0,0.0,NULL,0.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,1,5.0,NULL,5.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,2,10.0,NULL,10.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,3,15.0,NULL,15.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,4,20.0,NULL,20.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,5,25.0,NULL,25.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,6,30.0,NULL,30.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,7,35.0,NULL,35.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,8,40.0,NULL,40.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,9,45.0,NULL,45.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,10,50.0,NULL,50.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,11,55.0,NULL,55.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,12,60.0,NULL,60.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,13,65.0,NULL,65.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,14,70.0,NULL,70.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,15,75.0,NULL,75.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,16,80.0,NULL,80.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,17,85.0,NULL,85.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,18,90.0,NULL,90.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,19,95.0,NULL,95.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
INSERT INTO "gap_samples" VALUES(9,20,100.0,NULL,100.0,0.0,0.08,12.6,0.3,'closed',1.0,2.0,'[]','[]');
CREATE TABLE hulls (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;
INSERT INTO "hulls" VALUES(1,'Invented dinghy, old record');
CREATE TABLE "jobs" (
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
INSERT INTO "jobs" VALUES(1,'2026-11-29T10:00:00+00:00','Builder A','4 port','edge','{"at": ""}','[{"name": "photo-1.jpg", "sha256": "00"}]','measured','2026-11-29T10:00:09+00:00',0,'',2,NULL);
INSERT INTO "jobs" VALUES(2,'2026-11-30T10:00:00+00:00','Builder A','','camera','{"name": "phone", "corners": "9x6", "square": "25mm"}','[{"name": "photo-1.jpg", "sha256": "00"}]','refused','2026-11-30T10:00:09+00:00',0,'',NULL,NULL);
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
INSERT INTO "moves" VALUES(1,1,6,5,NULL);
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
INSERT INTO "notes" VALUES(1,1,NULL,'2026-11-30T11:00:00+00:00','Builder A','before any fit',NULL,NULL,NULL,NULL,NULL);
CREATE TABLE photographs (
    digest TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL CHECK (bytes >= 0),
    -- In the photo store beside the record, or left where it was.
    place TEXT NOT NULL,
    stored INTEGER NOT NULL CHECK (stored IN (0, 1))
) STRICT, WITHOUT ROWID;
INSERT INTO "photographs" VALUES('0000000000000000000000000000000000000000000000000000000000000001','p1.jpg',101,'00/0000000000000000000000000000000000000000000000000000000000000001.jpg',1);
INSERT INTO "photographs" VALUES('0000000000000000000000000000000000000000000000000000000000000002','p2.jpg',102,'00/0000000000000000000000000000000000000000000000000000000000000002.jpg',1);
INSERT INTO "photographs" VALUES('0000000000000000000000000000000000000000000000000000000000000003','p3.jpg',103,'00/0000000000000000000000000000000000000000000000000000000000000003.jpg',1);
INSERT INTO "photographs" VALUES('0000000000000000000000000000000000000000000000000000000000000004','p4.jpg',104,'00/0000000000000000000000000000000000000000000000000000000000000004.jpg',1);
CREATE TABLE planks (
    id INTEGER PRIMARY KEY,
    hull_id INTEGER NOT NULL REFERENCES hulls (id),
    strake INTEGER NOT NULL CHECK (strake BETWEEN 1 AND 99),
    side TEXT NOT NULL CHECK (side IN ('port', 'starboard')),
    part TEXT NOT NULL DEFAULT '',
    UNIQUE (hull_id, strake, side, part)
) STRICT;
INSERT INTO "planks" VALUES(1,1,4,'port','');
INSERT INTO "planks" VALUES(2,1,4,'starboard','');
INSERT INTO "planks" VALUES(3,1,5,'port','fore "half"');
INSERT INTO "planks" VALUES(4,1,3,'port','');
INSERT INTO "planks" VALUES(5,1,3,'starboard','');
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
INSERT INTO "samples" VALUES(1,0,0.0,NULL,0.0,0.0,0.3,'on',100.0,200.0,101.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,1,5.0,NULL,5.0,0.2136,0.3,'on',101.0,200.0,102.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,2,10.0,NULL,10.0,0.4228,0.3,'on',102.0,200.0,103.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,3,15.0,NULL,15.0,0.6234,0.3,'unsure',103.0,200.0,104.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,4,20.0,NULL,20.0,0.8113,0.3,'unsure',104.0,200.0,105.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,5,25.0,NULL,25.0,0.9826,0.3,'unsure',105.0,200.0,106.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,6,30.0,NULL,30.0,1.134,0.3,'past',106.0,200.0,107.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,7,35.0,NULL,35.0,1.2622,0.3,'past',107.0,200.0,108.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,8,40.0,NULL,40.0,1.3647,0.3,'past',108.0,200.0,109.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,9,45.0,NULL,45.0,NULL,NULL,'covered',109.0,200.0,110.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,10,50.0,NULL,50.0,1.4849,0.3,'past',110.0,200.0,111.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,11,55.0,NULL,55.0,1.5,0.3,'past',111.0,200.0,112.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,12,60.0,NULL,60.0,1.4846,0.3,'past',112.0,200.0,113.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,13,65.0,NULL,65.0,1.4389,0.3,'past',113.0,200.0,114.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,14,70.0,NULL,70.0,1.3639,0.3,'past',114.0,200.0,115.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,15,75.0,NULL,75.0,1.2612,0.3,'past',115.0,200.0,116.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,16,80.0,NULL,80.0,1.1327,0.3,'past',116.0,200.0,117.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,17,85.0,NULL,85.0,0.9812,0.3,'unsure',117.0,200.0,118.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,18,90.0,NULL,90.0,0.8097,0.3,'unsure',118.0,200.0,119.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,19,95.0,NULL,95.0,0.6216,0.3,'unsure',119.0,200.0,120.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(1,20,100.0,NULL,100.0,0.4209,0.3,'on',120.0,200.0,121.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,0,0.0,NULL,0.0,0.0,0.3,'on',100.0,200.0,101.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,1,5.0,NULL,5.0,0.1068,0.3,'on',101.0,200.0,102.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,2,10.0,NULL,10.0,0.2114,0.3,'on',102.0,200.0,103.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,3,15.0,NULL,15.0,0.3117,0.3,'on',103.0,200.0,104.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,4,20.0,NULL,20.0,0.4056,0.3,'on',104.0,200.0,105.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,5,25.0,NULL,25.0,0.4913,0.3,'on',105.0,200.0,106.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,6,30.0,NULL,30.0,0.567,0.3,'unsure',106.0,200.0,107.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,7,35.0,NULL,35.0,0.6311,0.3,'unsure',107.0,200.0,108.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,8,40.0,NULL,40.0,0.6824,0.3,'unsure',108.0,200.0,109.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,9,45.0,NULL,45.0,NULL,NULL,'covered',109.0,200.0,110.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,10,50.0,NULL,50.0,0.7424,0.3,'unsure',110.0,200.0,111.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,11,55.0,NULL,55.0,0.75,0.3,'unsure',111.0,200.0,112.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,12,60.0,NULL,60.0,0.7423,0.3,'unsure',112.0,200.0,113.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,13,65.0,NULL,65.0,0.7195,0.3,'unsure',113.0,200.0,114.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,14,70.0,NULL,70.0,0.682,0.3,'unsure',114.0,200.0,115.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,15,75.0,NULL,75.0,0.6306,0.3,'unsure',115.0,200.0,116.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,16,80.0,NULL,80.0,0.5664,0.3,'unsure',116.0,200.0,117.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,17,85.0,NULL,85.0,0.4906,0.3,'on',117.0,200.0,118.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,18,90.0,NULL,90.0,0.4048,0.3,'on',118.0,200.0,119.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,19,95.0,NULL,95.0,0.3108,0.3,'on',119.0,200.0,120.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(2,20,100.0,NULL,100.0,0.2105,0.3,'on',120.0,200.0,121.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,0,0.0,NULL,0.0,0.0,0.3,'on',100.0,200.0,101.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,1,5.0,NULL,5.0,0.2136,0.3,'on',101.0,200.0,102.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,2,10.0,NULL,10.0,0.4228,0.3,'on',102.0,200.0,103.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,3,15.0,NULL,15.0,0.6234,0.3,'unsure',103.0,200.0,104.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,4,20.0,NULL,20.0,0.8113,0.3,'unsure',104.0,200.0,105.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,5,25.0,NULL,25.0,0.9826,0.3,'unsure',105.0,200.0,106.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,6,30.0,NULL,30.0,1.134,0.3,'past',106.0,200.0,107.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,7,35.0,NULL,35.0,1.2622,0.3,'past',107.0,200.0,108.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,8,40.0,NULL,40.0,1.3647,0.3,'past',108.0,200.0,109.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,9,45.0,NULL,45.0,NULL,NULL,'covered',109.0,200.0,110.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,10,50.0,NULL,50.0,1.4849,0.3,'past',110.0,200.0,111.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,11,55.0,NULL,55.0,1.5,0.3,'past',111.0,200.0,112.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,12,60.0,NULL,60.0,1.4846,0.3,'past',112.0,200.0,113.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,13,65.0,NULL,65.0,1.4389,0.3,'past',113.0,200.0,114.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,14,70.0,NULL,70.0,1.3639,0.3,'past',114.0,200.0,115.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,15,75.0,NULL,75.0,1.2612,0.3,'past',115.0,200.0,116.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,16,80.0,NULL,80.0,1.1327,0.3,'past',116.0,200.0,117.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,17,85.0,NULL,85.0,0.9812,0.3,'unsure',117.0,200.0,118.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,18,90.0,NULL,90.0,0.8097,0.3,'unsure',118.0,200.0,119.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,19,95.0,NULL,95.0,0.6216,0.3,'unsure',119.0,200.0,120.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(3,20,100.0,NULL,100.0,0.4209,0.3,'on',120.0,200.0,121.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,0,0.0,NULL,0.0,0.0,0.3,'on',100.0,200.0,101.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,1,5.0,NULL,5.0,0.2136,0.3,'on',101.0,200.0,102.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,2,10.0,NULL,10.0,0.4228,0.3,'on',102.0,200.0,103.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,3,15.0,NULL,15.0,0.6234,0.3,'unsure',103.0,200.0,104.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,4,20.0,NULL,20.0,0.8113,0.3,'unsure',104.0,200.0,105.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,5,25.0,NULL,25.0,0.9826,0.3,'unsure',105.0,200.0,106.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,6,30.0,NULL,30.0,1.134,0.3,'past',106.0,200.0,107.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,7,35.0,NULL,35.0,1.2622,0.3,'past',107.0,200.0,108.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,8,40.0,NULL,40.0,1.3647,0.3,'past',108.0,200.0,109.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,9,45.0,NULL,45.0,NULL,NULL,'covered',109.0,200.0,110.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,10,50.0,NULL,50.0,1.4849,0.3,'past',110.0,200.0,111.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,11,55.0,NULL,55.0,1.5,0.3,'past',111.0,200.0,112.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,12,60.0,NULL,60.0,1.4846,0.3,'past',112.0,200.0,113.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,13,65.0,NULL,65.0,1.4389,0.3,'past',113.0,200.0,114.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,14,70.0,NULL,70.0,1.3639,0.3,'past',114.0,200.0,115.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,15,75.0,NULL,75.0,1.2612,0.3,'past',115.0,200.0,116.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,16,80.0,NULL,80.0,1.1327,0.3,'past',116.0,200.0,117.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,17,85.0,NULL,85.0,0.9812,0.3,'unsure',117.0,200.0,118.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,18,90.0,NULL,90.0,0.8097,0.3,'unsure',118.0,200.0,119.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,19,95.0,NULL,95.0,0.6216,0.3,'unsure',119.0,200.0,120.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(4,20,100.0,NULL,100.0,0.4209,0.3,'on',120.0,200.0,121.0,205.0,'["witness"]','["p.jpg"]');
INSERT INTO "samples" VALUES(10,0,0.0,NULL,0.0,0.1,0.3,'on',0.0,700.25,0.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,1,5.0,NULL,5.0,0.1,0.3,'on',10.0,700.25,10.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,2,10.0,NULL,10.0,0.1,0.3,'on',20.0,700.25,20.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,3,15.0,NULL,15.0,0.1,0.3,'on',30.0,700.25,30.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,4,20.0,NULL,20.0,0.1,0.3,'on',40.0,700.25,40.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,5,25.0,NULL,25.0,0.1,0.3,'on',50.0,700.25,50.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,6,30.0,NULL,30.0,0.1,0.3,'on',60.0,700.25,60.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,7,35.0,NULL,35.0,0.1,0.3,'on',70.0,700.25,70.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,8,40.0,NULL,40.0,0.1,0.3,'on',80.0,700.25,80.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,9,45.0,NULL,45.0,0.1,0.3,'on',90.0,700.25,90.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,10,50.0,NULL,50.0,0.1,0.3,'on',100.0,700.25,100.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,11,55.0,NULL,55.0,0.1,0.3,'on',110.0,700.25,110.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,12,60.0,NULL,60.0,0.1,0.3,'on',120.0,700.25,120.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,13,65.0,NULL,65.0,0.1,0.3,'on',130.0,700.25,130.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,14,70.0,NULL,70.0,0.1,0.3,'on',140.0,700.25,140.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,15,75.0,NULL,75.0,0.1,0.3,'on',150.0,700.25,150.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,16,80.0,NULL,80.0,0.1,0.3,'on',160.0,700.25,160.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,17,85.0,NULL,85.0,0.1,0.3,'on',170.0,700.25,170.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,18,90.0,NULL,90.0,0.1,0.3,'on',180.0,700.25,180.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,19,95.0,NULL,95.0,0.1,0.3,'on',190.0,700.25,190.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(10,20,100.0,NULL,100.0,0.1,0.3,'on',200.0,700.25,200.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,0,0.0,NULL,0.0,0.1,0.3,'on',0.0,700.25,0.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,1,5.0,NULL,5.0,0.1,0.3,'on',10.0,700.25,10.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,2,10.0,NULL,10.0,0.1,0.3,'on',20.0,700.25,20.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,3,15.0,NULL,15.0,0.1,0.3,'on',30.0,700.25,30.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,4,20.0,NULL,20.0,0.1,0.3,'on',40.0,700.25,40.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,5,25.0,NULL,25.0,0.1,0.3,'on',50.0,700.25,50.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,6,30.0,NULL,30.0,0.1,0.3,'on',60.0,700.25,60.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,7,35.0,NULL,35.0,0.1,0.3,'on',70.0,700.25,70.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,8,40.0,NULL,40.0,0.1,0.3,'on',80.0,700.25,80.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,9,45.0,NULL,45.0,0.1,0.3,'on',90.0,700.25,90.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,10,50.0,NULL,50.0,0.1,0.3,'on',100.0,700.25,100.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,11,55.0,NULL,55.0,0.1,0.3,'on',110.0,700.25,110.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,12,60.0,NULL,60.0,0.1,0.3,'on',120.0,700.25,120.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,13,65.0,NULL,65.0,0.1,0.3,'on',130.0,700.25,130.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,14,70.0,NULL,70.0,0.1,0.3,'on',140.0,700.25,140.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,15,75.0,NULL,75.0,0.1,0.3,'on',150.0,700.25,150.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,16,80.0,NULL,80.0,0.1,0.3,'on',160.0,700.25,160.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,17,85.0,NULL,85.0,0.1,0.3,'on',170.0,700.25,170.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,18,90.0,NULL,90.0,0.1,0.3,'on',180.0,700.25,180.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,19,95.0,NULL,95.0,0.1,0.3,'on',190.0,700.25,190.0,705.5,'["witness"]','["p01.jpg"]');
INSERT INTO "samples" VALUES(11,20,100.0,NULL,100.0,0.1,0.3,'on',200.0,700.25,200.0,705.5,'["witness"]','["p01.jpg"]');
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
INSERT INTO "seals" VALUES(1,'2026-11-29T10:45:42+00:00','fit',1,1,'fit 1 of 4 port',1,'{"clamps":"6a8fef68b149056568a0a97ba761aa1b","made_at":"e62ee4f597ff4c8071310a5101cd9881","moisture_pct":"d9d8b73e7fa3813fae560964e8385264","note":"206f0114790c44aca8b52d11be3a0041","number":"6b86b273ff34fce19d6b804eff5a3f57","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"6b86b273ff34fce19d6b804eff5a3f57","temperature_c":"566afbb607a8f17b7cdf2d7f1632a2a8","who":"b7c4fa880c787fc32db01b9a67894831"}','0ec5e2adb19b402714e8db8f1d71ddf51025d4b9492832a99af37c97374cc4ba');
INSERT INTO "seals" VALUES(2,'2026-11-29T10:45:42+00:00','fit',2,1,'fit 2 of 4 port',1,'{"clamps":"6a8fef68b149056568a0a97ba761aa1b","made_at":"5d153ad3e0cd6d2a7bf028725d9fc953","moisture_pct":"d9d8b73e7fa3813fae560964e8385264","note":"861a2ebd165ed37fc0bb2780c78b7f3d","number":"d4735e3a265e16eee03f59718b9b5d03","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"6b86b273ff34fce19d6b804eff5a3f57","temperature_c":"566afbb607a8f17b7cdf2d7f1632a2a8","who":"b7c4fa880c787fc32db01b9a67894831"}','f1d657fb0ca91d73ba2166c0c5c19959e744a7f6ae831c9a7437c94d67fc6c0c');
INSERT INTO "seals" VALUES(3,'2026-11-29T10:45:42+00:00','fit',3,2,'fit 1 of 4 starboard',1,'{"clamps":"6a8fef68b149056568a0a97ba761aa1b","made_at":"f4854ab86069df8c40da466e7352b175","moisture_pct":"d9d8b73e7fa3813fae560964e8385264","note":"2cfcd139c9bf6f99c7f7df427554dac4","number":"6b86b273ff34fce19d6b804eff5a3f57","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"fcefe71f055b5c5fb2a46266c3836d58","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"d4735e3a265e16eee03f59718b9b5d03","temperature_c":"566afbb607a8f17b7cdf2d7f1632a2a8","who":"b7c4fa880c787fc32db01b9a67894831"}','faf27bd62f26cb6cab16d1c09ecf17b338a82ae2b7bfa44bdd5773fd416ffdf2');
INSERT INTO "seals" VALUES(4,'2026-11-29T10:45:42+00:00','fit',4,3,'fit 1 of 5 port fore "half"',1,'{"clamps":"6a8fef68b149056568a0a97ba761aa1b","made_at":"7379e0ec293d2c1f4121aab6a1cddde5","moisture_pct":"d9d8b73e7fa3813fae560964e8385264","note":"9f85d16b9a0382917963b9352fef9194","number":"6b86b273ff34fce19d6b804eff5a3f57","plank.part":"d01f0a842006156cd6428cf73a24eca3","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"1ae3592f8248c3f879b56afe3f2ce6aa","plank_id":"4e07408562bedb8b60ce05c1decfe3ad","temperature_c":"566afbb607a8f17b7cdf2d7f1632a2a8","who":"b7c4fa880c787fc32db01b9a67894831"}','14b283ccd83feb17c74c6a5879de7a2907d3ff53874b4f273cc35ee59014d220');
INSERT INTO "seals" VALUES(5,'2026-11-29T10:45:42+00:00','set',1,1,'a set of photographs of fit 1 of 4 port',1,'{"advice":"61667d3fa255dcf3b40dd2ac4c979c9e","calibration":"2bddee9a8ce9b17943f9145c713819c7","camera.identity":"ba12de1c25b9e936b2c6f596bfb4f455","digest":"e9268d61334f2670b393f67559f5fd51","document":"7cb6776937a3a0ae0b0d934878e0b109","fit_id":"6b86b273ff34fce19d6b804eff5a3f57","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","photographs.bytes":"d45d39f3996478609d46956d9f1c1975","photographs.digest":"9d60b5d4c20ca56b0927345869f2500e","photographs.name":"23c5d23cafc0b6a627da50cc892b33a6","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"e62ee4f597ff4c8071310a5101cd9881","samples.edge_u_px":"3226340d802b1d47af9daa7f669fcf77","samples.edge_v_px":"4ba9d671e5362560aa8f0163301c7bd7","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"501c46f5935a1a55b607f36a8e2f0b61","samples.line_v_px":"637788593084214fe1bee3f80c596183","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"ebebd4521c8b08d6db7f0505331f3b98","samples.photos":"4a9d2a5b96cd89f7a915147e5a731af2","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"10339c11e87ef3437419265fe7ef32bb","samples.take_id":"7e6e5633f5da80d0a6f26d5c71f30c87","samples.u95_mm":"13499ef2297cd6a99856cd5a515acc67","settings":"a18049c4533f9da2bd1320ee2a9d946f","who":"b7c4fa880c787fc32db01b9a67894831"}','7ac1334726ba51245fa28ac237d4672830be23af89c30238d2f9889c402b08e9');
INSERT INTO "seals" VALUES(6,'2026-11-29T10:45:42+00:00','set',2,1,'a set of photographs of fit 2 of 4 port',1,'{"advice":"61667d3fa255dcf3b40dd2ac4c979c9e","calibration":"2bddee9a8ce9b17943f9145c713819c7","camera.identity":"ba12de1c25b9e936b2c6f596bfb4f455","digest":"34412f715fb0a97e9a93ca3bbea23343","document":"7cb6776937a3a0ae0b0d934878e0b109","fit_id":"d4735e3a265e16eee03f59718b9b5d03","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","photographs.bytes":"cb2128fa588a6c0496c6d771d91f263a","photographs.digest":"c7b18b66cb1427bb0a961bd8d1fc5866","photographs.name":"0d542bf599afda73e07db3e278b1ffef","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"5d153ad3e0cd6d2a7bf028725d9fc953","samples.edge_u_px":"3226340d802b1d47af9daa7f669fcf77","samples.edge_v_px":"4ba9d671e5362560aa8f0163301c7bd7","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"501c46f5935a1a55b607f36a8e2f0b61","samples.line_v_px":"637788593084214fe1bee3f80c596183","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"a5f93d1e90ab0ae7f0edb7da57c4a364","samples.photos":"4a9d2a5b96cd89f7a915147e5a731af2","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"f03e02095634fe2344d98476d9e7f35a","samples.take_id":"9b4ae98afa237456104db766b841d1b8","samples.u95_mm":"13499ef2297cd6a99856cd5a515acc67","settings":"a18049c4533f9da2bd1320ee2a9d946f","who":"b7c4fa880c787fc32db01b9a67894831"}','c690366bab6c88465e9da9922418eae431612d314ff564eb83986020befc4893');
INSERT INTO "seals" VALUES(7,'2026-11-29T10:45:42+00:00','set',3,2,'a set of photographs of fit 1 of 4 starboard',1,'{"advice":"61667d3fa255dcf3b40dd2ac4c979c9e","calibration":"2bddee9a8ce9b17943f9145c713819c7","camera.identity":"ba12de1c25b9e936b2c6f596bfb4f455","digest":"77ceb5c0e9f84ebd84104a972cac6b27","document":"7cb6776937a3a0ae0b0d934878e0b109","fit_id":"4e07408562bedb8b60ce05c1decfe3ad","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","photographs.bytes":"cbacec60bc382722c359f28b74c84368","photographs.digest":"1c2d70517784b60abda0651c61e08ef6","photographs.name":"d3f25e49d13bbec7dd869d239ff319fd","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"f4854ab86069df8c40da466e7352b175","samples.edge_u_px":"3226340d802b1d47af9daa7f669fcf77","samples.edge_v_px":"4ba9d671e5362560aa8f0163301c7bd7","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"501c46f5935a1a55b607f36a8e2f0b61","samples.line_v_px":"637788593084214fe1bee3f80c596183","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"ebebd4521c8b08d6db7f0505331f3b98","samples.photos":"4a9d2a5b96cd89f7a915147e5a731af2","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"10339c11e87ef3437419265fe7ef32bb","samples.take_id":"b5a23208296051730fc90b193815b624","samples.u95_mm":"13499ef2297cd6a99856cd5a515acc67","settings":"a18049c4533f9da2bd1320ee2a9d946f","who":"b7c4fa880c787fc32db01b9a67894831"}','d61c030860c70808facc467388b5e5f3f22fb1a88b1b6689c694d47645fcb09a');
INSERT INTO "seals" VALUES(8,'2026-11-29T10:45:42+00:00','set',4,3,'a set of photographs of fit 1 of 5 port fore "half"',1,'{"advice":"61667d3fa255dcf3b40dd2ac4c979c9e","calibration":"2bddee9a8ce9b17943f9145c713819c7","camera.identity":"ba12de1c25b9e936b2c6f596bfb4f455","digest":"769a48bd38bbfd4385c7699dee6280b1","document":"7cb6776937a3a0ae0b0d934878e0b109","fit_id":"4b227777d4dd1fc61c6f884f48641d02","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","photographs.bytes":"614fcb0d009bbde79e77f822d2074561","photographs.digest":"7f37e3376bc7213c35bdb694f0682861","photographs.name":"a80c14998d1f87bd625ba828b0763af8","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"7379e0ec293d2c1f4121aab6a1cddde5","samples.edge_u_px":"3226340d802b1d47af9daa7f669fcf77","samples.edge_v_px":"4ba9d671e5362560aa8f0163301c7bd7","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"501c46f5935a1a55b607f36a8e2f0b61","samples.line_v_px":"637788593084214fe1bee3f80c596183","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"ebebd4521c8b08d6db7f0505331f3b98","samples.photos":"4a9d2a5b96cd89f7a915147e5a731af2","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"10339c11e87ef3437419265fe7ef32bb","samples.take_id":"a26a83f920bf5441b2e71c227feded40","samples.u95_mm":"13499ef2297cd6a99856cd5a515acc67","settings":"a18049c4533f9da2bd1320ee2a9d946f","who":"b7c4fa880c787fc32db01b9a67894831"}','73c38e991dbb291f2300c08ddb99e1382154a34a3a156bdbb5de9744a026277d');
INSERT INTO "seals" VALUES(9,'2026-11-29T10:45:42+00:00','set',9,1,'a set of photographs of fit 2 of 4 port',1,'{"digest":"6f4d80577f74766c46dae22e697f625b","document":"c89a148be40e6752261e3038609a4b68","fit_id":"d4735e3a265e16eee03f59718b9b5d03","frame":"f7230a80ccc950fc0c9311ea31320a73","gaps.edge_u_px":"cbac6faa729787e6b88a98cf20a87424","gaps.edge_v_px":"3d2bed7ea2fd149e561d29da7f13d6a8","gaps.flags":"e8ab0355aebc5187dafa7e1e2db01747","gaps.gap_mm":"8080e4dd83d982adb0932bcee86939a2","gaps.gap_u95_mm":"ec4c64fb8b1299b43b047dd70ac588ed","gaps.n":"dc1c077001b8219bb52deaba68e4bfa8","gaps.photos":"e8ab0355aebc5187dafa7e1e2db01747","gaps.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","gaps.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","gaps.proud_mm":"2af79a5c194d058a622503c3b146df72","gaps.proud_u95_mm":"1719296c7dfee8cd221dd4115f7f62c4","gaps.state":"31179ee8289fd9d9ae376ced8700ab74","gaps.take_id":"12ff213b8f9ae5935957cdcf272ead3f","kind":"245ee90755289f739954f8c6e4fd6723","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"f4854ab86069df8c40da466e7352b175","settings":"c89a148be40e6752261e3038609a4b68"}','712cba537f7c094ecc69bba8a2fe7ece550743108b691a8423cf790990e0746a');
INSERT INTO "seals" VALUES(10,'2026-11-29T10:45:42+00:00','summary',1,1,'the line in the list of fit 1 of 4 port',1,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"a19a1584344c1f3783bff51524a5a4b8","cuts":"6b86b273ff34fce19d6b804eff5a3f57","deepest_mm":"8139b33952401b3ee0e2ca84651cb9a1","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","longest_doubt_mm":"00c10b58d5c431fee46080cd1ce96bf2","on_len_mm":"e15274dcfe2d0cb541e8aa23fef7aaaa","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"26c9a96ce053a14dd88a71a4830c9cbe","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"00c10b58d5c431fee46080cd1ce96bf2","verdict":"fe9f6ceb21e2e919d58174e5987da1fc","worst_past_at_mm":"f97a13577367c1d604d37c4d2b6242d7","worst_past_mm":"1a948f1b4374f4e3f02501c7feb43784","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','f6bb6850d9efbf2eca630452ff40e64012e8393ea90e3af4d7ee6b0a8f2985e9');
INSERT INTO "seals" VALUES(11,'2026-11-29T10:45:42+00:00','summary',2,1,'the line in the list of fit 2 of 4 port',1,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"a19a1584344c1f3783bff51524a5a4b8","cuts":"6b86b273ff34fce19d6b804eff5a3f57","deepest_mm":"8139b33952401b3ee0e2ca84651cb9a1","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","longest_doubt_mm":"00c10b58d5c431fee46080cd1ce96bf2","on_len_mm":"e15274dcfe2d0cb541e8aa23fef7aaaa","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"26c9a96ce053a14dd88a71a4830c9cbe","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"00c10b58d5c431fee46080cd1ce96bf2","verdict":"fe9f6ceb21e2e919d58174e5987da1fc","worst_past_at_mm":"f97a13577367c1d604d37c4d2b6242d7","worst_past_mm":"1a948f1b4374f4e3f02501c7feb43784","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','06afc8a6a6ed8898b8a30be91d8f292caa0fb9ac808376181e4b33b816495b12');
INSERT INTO "seals" VALUES(12,'2026-11-29T10:45:42+00:00','summary',3,2,'the line in the list of fit 1 of 4 starboard',1,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"a19a1584344c1f3783bff51524a5a4b8","cuts":"6b86b273ff34fce19d6b804eff5a3f57","deepest_mm":"8139b33952401b3ee0e2ca84651cb9a1","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","longest_doubt_mm":"00c10b58d5c431fee46080cd1ce96bf2","on_len_mm":"e15274dcfe2d0cb541e8aa23fef7aaaa","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"26c9a96ce053a14dd88a71a4830c9cbe","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"00c10b58d5c431fee46080cd1ce96bf2","verdict":"fe9f6ceb21e2e919d58174e5987da1fc","worst_past_at_mm":"f97a13577367c1d604d37c4d2b6242d7","worst_past_mm":"1a948f1b4374f4e3f02501c7feb43784","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','b371e6ed691d2fac319bf7d29aeaeb24b0cec498ab742f031dd00c415b677672');
INSERT INTO "seals" VALUES(13,'2026-11-29T10:45:42+00:00','summary',4,3,'the line in the list of fit 1 of 5 port fore "half"',1,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"a19a1584344c1f3783bff51524a5a4b8","cuts":"6b86b273ff34fce19d6b804eff5a3f57","deepest_mm":"8139b33952401b3ee0e2ca84651cb9a1","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","longest_doubt_mm":"00c10b58d5c431fee46080cd1ce96bf2","on_len_mm":"e15274dcfe2d0cb541e8aa23fef7aaaa","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"26c9a96ce053a14dd88a71a4830c9cbe","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"00c10b58d5c431fee46080cd1ce96bf2","verdict":"fe9f6ceb21e2e919d58174e5987da1fc","worst_past_at_mm":"f97a13577367c1d604d37c4d2b6242d7","worst_past_mm":"1a948f1b4374f4e3f02501c7feb43784","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','321fe2c0ede4af6c702854095767b10e0f40ec2fd6c6194a4375c268e96605de');
INSERT INTO "seals" VALUES(14,'2026-11-29T10:45:42+00:00','cut',1,1,'a cut of fit 1 of 4 port',1,'{"deepest_mm":"1e9d7c27c8bbc8ddf0055c93e064a62f","fit_id":"6b86b273ff34fce19d6b804eff5a3f57","from_mm":"585348dbd28810f9a34f57be46f000c5","made_at":"5d153ad3e0cd6d2a7bf028725d9fc953","note":"77294d53ba198d4d00f7a23eef60248a","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"6b86b273ff34fce19d6b804eff5a3f57","to_mm":"db58b6c40698d7371bbcff35d085e1ba","who":"b7c4fa880c787fc32db01b9a67894831"}','56e5f40596686c23ae0318441373ae424a526f82a31d60700472bb56c5f1aef9');
INSERT INTO "seals" VALUES(15,'2026-11-29T10:45:42+00:00','feeler',1,1,'a feeler reading of fit 2 of 4 port',1,'{"blade_mm":"14be4b45f18e0d8c67b4f719b5144eee","fit_id":"d4735e3a265e16eee03f59718b9b5d03","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","goes_in":"5feceb66ffc86f38d952786c6d696c79","made_at":"f4854ab86069df8c40da466e7352b175","note":"9d53f79e7113d46cd361484015051037","to_mm":"43b87f618caab482ebe4976c92bcd6ad","who":"b7c4fa880c787fc32db01b9a67894831"}','781735f89ced3796cb3c6f8220a7116bbfd51f165b7c41b7bfa012a388477b01');
INSERT INTO "seals" VALUES(16,'2026-11-29T10:45:42+00:00','signing',1,2,'the signing of fit 1 of 4 starboard',1,'{"fit_id":"4e07408562bedb8b60ce05c1decfe3ad","missing":"48c565310441fe09fac67156b46335f7","overruled":"95f77011f682ffe94304eca0bc5cf150","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"fcefe71f055b5c5fb2a46266c3836d58","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"d4735e3a265e16eee03f59718b9b5d03","signed_at":"7379e0ec293d2c1f4121aab6a1cddde5","who":"b7c4fa880c787fc32db01b9a67894831"}','033c1195ff72c808d4b766ceb4e95f785279536214c202416074a8f912b3d7f0');
INSERT INTO "seals" VALUES(17,'2026-11-29T11:03:19+00:00','summary',5,4,'the line in the list of fit 1 of 3 port',0,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","cuts":"5feceb66ffc86f38d952786c6d696c79","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","lap_doubt_len_mm":"43b87f618caab482ebe4976c92bcd6ad","longest_doubt_mm":"8aed642bf5118b9d3c859bd4be35ecac","on_len_mm":"43b87f618caab482ebe4976c92bcd6ad","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"ae36a13098ca0734f3887bdbe25e3a1c","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_at_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_mm":"14be4b45f18e0d8c67b4f719b5144eee","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','239f2828eb28e3aa4f9a9b84e9501e7286908a414ead20adbb6d400b911f71f2');
INSERT INTO "seals" VALUES(18,'2026-11-29T11:03:19+00:00','fit',5,4,'fit 1 of 3 port',0,'{"made_at":"d4ddcd1b92c27740554da6ccbcdcb711","note":"12ae32cb1ec02d01eda3581b127c1fee","number":"6b86b273ff34fce19d6b804eff5a3f57","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"06d033ece6645de592db973644cf7357","plank_id":"4b227777d4dd1fc61c6f884f48641d02","who":"b7c4fa880c787fc32db01b9a67894831"}','c377ca8da4169791d0d0e0cc37d839cefec5cd01658eace41d66ced0b9d79562');
INSERT INTO "seals" VALUES(19,'2026-11-29T11:03:19+00:00','set',10,4,'a set of photographs of fit 1 of 3 port',0,'{"calibration":"d6efba6c1bf5ea3db538a3a6c9d2376d","camera.identity":"77f86589c40c5269e9dc17ccf32d3a85","digest":"72dfa5cdcc09412cc4e91435f29e2128","document":"7b50df3e3cafb9e35d09a668453eb1f8","fit_id":"ef2d127de37b942baad06145e54b0c61","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"d4ddcd1b92c27740554da6ccbcdcb711","samples.edge_u_px":"a7c2280aecc8cdfde4da4decd4ccebba","samples.edge_v_px":"f2ca91483236e4396c73d3225680b6df","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"a7c2280aecc8cdfde4da4decd4ccebba","samples.line_v_px":"19afd799ed4cf85d94a068a99ef5eaf5","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"199dfe461b0b42052e69196e4d3e5ab2","samples.photos":"f050502991e7c8ad5a8a4bc1d63f81bf","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"3746f4ce1eb66e7b14fbc88652066ad3","samples.take_id":"d8ebbbf096ee5f35170be3419b04eee4","samples.u95_mm":"1719296c7dfee8cd221dd4115f7f62c4","settings":"b7f868b5e4878ef1ba25438b57fa9f16","terms":"ae36a13098ca0734f3887bdbe25e3a1c","who":"b7c4fa880c787fc32db01b9a67894831"}','1f865545f6924190fcf9e366ed144a0ea5bdbf28e01848a095dcc41f997551be');
INSERT INTO "seals" VALUES(20,'2026-11-29T11:03:20+00:00','withdrawal',1,4,'the withdrawal of fit 1 of 3 port',0,'{"fit_id":"ef2d127de37b942baad06145e54b0c61","made_at":"32b22b714e286672121874735b8d6d22","plank_id":"4b227777d4dd1fc61c6f884f48641d02","who":"b7c4fa880c787fc32db01b9a67894831","why":"ca9fef790e0d5596af32f134ee91c0ed"}','fad4702e831cf283f5ac7d4b2664d4f38e5f26a3e06ce3c5693d559ef4a06076');
INSERT INTO "seals" VALUES(21,'2026-11-29T11:03:20+00:00','move',1,5,'the move of fit 1 of 3 starboard',0,'{"first_id":"ef2d127de37b942baad06145e54b0c61","fit_id":"e7f6c011776e8db7cd330b54174fd76f","withdrawal_id":"6b86b273ff34fce19d6b804eff5a3f57"}','62da07cf6e518d3117078d81239420d77035cf6973951af5108bcdd9fd6c9374');
INSERT INTO "seals" VALUES(22,'2026-11-29T11:03:20+00:00','fit',6,5,'fit 1 of 3 starboard',0,'{"made_at":"d4ddcd1b92c27740554da6ccbcdcb711","note":"12ae32cb1ec02d01eda3581b127c1fee","number":"6b86b273ff34fce19d6b804eff5a3f57","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"fcefe71f055b5c5fb2a46266c3836d58","plank.strake":"06d033ece6645de592db973644cf7357","plank_id":"ef2d127de37b942baad06145e54b0c61","who":"b7c4fa880c787fc32db01b9a67894831"}','247d00b88eded1129ada2542a28d28611c390754ec27ab7f583a73aa417ca8ea');
INSERT INTO "seals" VALUES(23,'2026-11-29T11:03:20+00:00','set',11,5,'a set of photographs of fit 1 of 3 starboard',0,'{"calibration":"d6efba6c1bf5ea3db538a3a6c9d2376d","camera.identity":"77f86589c40c5269e9dc17ccf32d3a85","digest":"72dfa5cdcc09412cc4e91435f29e2128","document":"7b50df3e3cafb9e35d09a668453eb1f8","fit_id":"e7f6c011776e8db7cd330b54174fd76f","frame":"f7230a80ccc950fc0c9311ea31320a73","kind":"c4a335446487eb2e5a6ab2023a178426","program":"8e633b4f41f99d4c388915bc852f2143","recorded_at":"d4ddcd1b92c27740554da6ccbcdcb711","samples.edge_u_px":"a7c2280aecc8cdfde4da4decd4ccebba","samples.edge_v_px":"f2ca91483236e4396c73d3225680b6df","samples.flags":"967e4ac15cab6f45df1959cb5f234892","samples.line_u_px":"a7c2280aecc8cdfde4da4decd4ccebba","samples.line_v_px":"19afd799ed4cf85d94a068a99ef5eaf5","samples.n":"dc1c077001b8219bb52deaba68e4bfa8","samples.past_line_mm":"199dfe461b0b42052e69196e4d3e5ab2","samples.photos":"f050502991e7c8ad5a8a4bc1d63f81bf","samples.place_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.plank_mm":"e77bf857e2b2c4f00753fa6bffc9fa4b","samples.state":"3746f4ce1eb66e7b14fbc88652066ad3","samples.take_id":"62e41ac6c3f2d4f076696bfc40dae0a3","samples.u95_mm":"1719296c7dfee8cd221dd4115f7f62c4","settings":"b7f868b5e4878ef1ba25438b57fa9f16","terms":"ae36a13098ca0734f3887bdbe25e3a1c","who":"b7c4fa880c787fc32db01b9a67894831"}','099d8878ea499bda23c8830d7db9ef371f5b4c6e354aebdd2c10439bb77e4fd7');
INSERT INTO "seals" VALUES(24,'2026-11-29T11:03:20+00:00','summary',6,5,'the line in the list of fit 1 of 3 starboard',0,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","cuts":"5feceb66ffc86f38d952786c6d696c79","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","lap_doubt_len_mm":"43b87f618caab482ebe4976c92bcd6ad","longest_doubt_mm":"8aed642bf5118b9d3c859bd4be35ecac","on_len_mm":"43b87f618caab482ebe4976c92bcd6ad","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_at_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_mm":"14be4b45f18e0d8c67b4f719b5144eee","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','a3d951891de82f942a14244487c6fa4a293b18072656f4d0298074c93b5b0535');
INSERT INTO "seals" VALUES(25,'2026-11-29T11:03:20+00:00','feeler',2,5,'a feeler reading of fit 1 of 3 starboard',0,'{"blade_mm":"14be4b45f18e0d8c67b4f719b5144eee","fit_id":"e7f6c011776e8db7cd330b54174fd76f","from_mm":"f1e42019aecc858ffbcca7fddec511b7","goes_in":"5feceb66ffc86f38d952786c6d696c79","made_at":"32b22b714e286672121874735b8d6d22","note":"9d53f79e7113d46cd361484015051037","to_mm":"f1e42019aecc858ffbcca7fddec511b7","who":"ae3dad6897dfd7073587e64a63462a4f"}','6d4d75710f32f07a6140b4aa3563170339f1ddbadcfda8dd8429f959c5a6e34a');
INSERT INTO "seals" VALUES(26,'2026-11-29T11:03:20+00:00','summary',6,5,'the line in the list of fit 1 of 3 starboard',0,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","cuts":"5feceb66ffc86f38d952786c6d696c79","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","lap_doubt_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","longest_doubt_mm":"8aed642bf5118b9d3c859bd4be35ecac","on_len_mm":"43b87f618caab482ebe4976c92bcd6ad","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_at_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_mm":"14be4b45f18e0d8c67b4f719b5144eee","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','fb1d4700790f0e7afaeed9bc5439308a58723f97342b40bb48b860122559a4a2');
INSERT INTO "seals" VALUES(27,'2026-11-29T11:03:20+00:00','withdrawal',2,5,'the withdrawal of 3 starboard',0,'{"feeler_id":"d4735e3a265e16eee03f59718b9b5d03","made_at":"32b22b714e286672121874735b8d6d22","plank_id":"ef2d127de37b942baad06145e54b0c61","who":"ae3dad6897dfd7073587e64a63462a4f","why":"b55fd9fd7d00d4faa781132f37ae9fa4"}','c304f62f034ee1c0fbb6b15e78750c9c7bfb59523d40ea9d85fb80781b816e1c');
INSERT INTO "seals" VALUES(28,'2026-11-29T11:03:20+00:00','summary',6,5,'the line in the list of fit 1 of 3 starboard',0,'{"ambiguous_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","covered_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","cuts":"5feceb66ffc86f38d952786c6d696c79","frame":"f7230a80ccc950fc0c9311ea31320a73","from_mm":"8aed642bf5118b9d3c859bd4be35ecac","hidden_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","lap_doubt_len_mm":"43b87f618caab482ebe4976c92bcd6ad","longest_doubt_mm":"8aed642bf5118b9d3c859bd4be35ecac","on_len_mm":"43b87f618caab482ebe4976c92bcd6ad","open_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","past_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","short_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","terms":"6ac65277d2d22c478c457cd513fd4908","to_mm":"43b87f618caab482ebe4976c92bcd6ad","unseen_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","unsure_len_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_at_mm":"8aed642bf5118b9d3c859bd4be35ecac","worst_past_mm":"14be4b45f18e0d8c67b4f719b5144eee","worst_past_u95_mm":"221764976efe04132774d96b0253cc31"}','2c3e6a0bfbee12db8fe6efe8d77396d409bdb85d7d301815ce49a81143a1e353');
INSERT INTO "seals" VALUES(29,'2026-11-29T18:31:38+00:00','note',1,1,'a note of 4 port',0,'{"made_at":"e17cd28c4f59a06dc4c99f18b1a8609e","note":"3a4aa479fab4d59065730f0de8b21376","plank.part":"055539df4a0b804c58caf46c0cd2941a","plank.side":"1476a94ecb88a936a39035d4966b4dd7","plank.strake":"46b1884167c4edd308bcf0c04163dd02","plank_id":"6b86b273ff34fce19d6b804eff5a3f57","who":"b7c4fa880c787fc32db01b9a67894831"}','db23514a733282b2418894cca85b4284b4914a2452626ef28f96758a0b0b997e');
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
    opened_why TEXT, stood_on TEXT CHECK (stood_on IS NULL OR json_valid(stood_on)),
    CHECK ((overruled IS NULL) = (missing IS NULL))
) STRICT;
INSERT INTO "signoffs" VALUES(1,2,3,'2026-01-04T08:00:00+00:00','Builder A','the stem hides it','["0 in to 4 in: unsure"]',NULL,NULL,NULL);
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
, worst_gap_mm REAL, worst_gap_at_mm REAL, open_len_mm REAL NOT NULL DEFAULT 0, lap_doubt_len_mm REAL) STRICT;
INSERT INTO "summaries" VALUES(1,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9,NULL,NULL,0.0,NULL);
INSERT INTO "summaries" VALUES(2,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9,NULL,NULL,0.0,NULL);
INSERT INTO "summaries" VALUES(3,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9,NULL,NULL,0.0,NULL);
INSERT INTO "summaries" VALUES(4,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9,NULL,NULL,0.0,NULL);
INSERT INTO "summaries" VALUES(5,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":25.4,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,0.1,0.3,0.0,NULL,NULL,NULL,0.0,0.0,100.0,0.0,0.0,0.0,0.0,0.0,0.0,NULL,0,NULL,NULL,NULL,0.0,100.0);
INSERT INTO "summaries" VALUES(6,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,0.1,0.3,0.0,NULL,NULL,NULL,0.0,0.0,100.0,0.0,0.0,0.0,0.0,0.0,0.0,NULL,0,NULL,NULL,NULL,0.0,100.0);
CREATE TABLE take_photographs (
    take_id INTEGER NOT NULL REFERENCES takes (id),
    photograph TEXT NOT NULL REFERENCES photographs (digest),
    PRIMARY KEY (take_id, photograph)
) STRICT, WITHOUT ROWID;
INSERT INTO "take_photographs" VALUES(1,'0000000000000000000000000000000000000000000000000000000000000001');
INSERT INTO "take_photographs" VALUES(2,'0000000000000000000000000000000000000000000000000000000000000002');
INSERT INTO "take_photographs" VALUES(3,'0000000000000000000000000000000000000000000000000000000000000003');
INSERT INTO "take_photographs" VALUES(4,'0000000000000000000000000000000000000000000000000000000000000004');
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
, kind TEXT NOT NULL DEFAULT 'edge' CHECK (kind IN ('edge', 'gap')), terms TEXT CHECK (terms IS NULL OR json_valid(terms))) STRICT;
INSERT INTO "takes" VALUES(1,1,'2026-01-01T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d1',NULL,'edge',NULL);
INSERT INTO "takes" VALUES(2,2,'2026-01-02T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d2',NULL,'edge',NULL);
INSERT INTO "takes" VALUES(3,3,'2026-01-03T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d3',NULL,'edge',NULL);
INSERT INTO "takes" VALUES(4,4,'2026-01-04T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d4',NULL,'edge',NULL);
INSERT INTO "takes" VALUES(9,2,'2026-01-03T08:00:00+00:00',NULL,'plank',NULL,'0.1.0',NULL,'{}',NULL,'{}','d9',NULL,'gap',NULL);
INSERT INTO "takes" VALUES(10,5,'2026-11-29T11:03:19+00:00','Builder A','plank',NULL,'0.1.0','22a590027f9d4ec2fbc2924a613a35b10bb8532496f351cd6a1849b1e18f8178','{"lap_mm":25.4,"limit_mm":0.79375,"reference":"station","thickness_mm":12.7}',NULL,'{"budget_mm":{"edge":0.1},"camera":{"digest":"0000000000000000000000000000000000000000000000000000000000000000","name":"invented camera"},"photos":[{"name":"p01.jpg"}],"planing":null,"reasons":[],"reference":{"kind":"station"},"schema":1,"settings":{"lap_mm":25.4,"limit_mm":0.79375,"reference":"station","thickness_mm":12.7},"state":"measured","stations":[],"warnings":[]}','f6978ba8edd4feee2a4fd3a0836aa16176d2e88e14d6d8a4083c17a67f756d2e',NULL,'edge','{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":25.4,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}');
INSERT INTO "takes" VALUES(11,6,'2026-11-29T11:03:19+00:00','Builder A','plank',NULL,'0.1.0','22a590027f9d4ec2fbc2924a613a35b10bb8532496f351cd6a1849b1e18f8178','{"lap_mm":25.4,"limit_mm":0.79375,"reference":"station","thickness_mm":12.7}',NULL,'{"budget_mm":{"edge":0.1},"camera":{"digest":"0000000000000000000000000000000000000000000000000000000000000000","name":"invented camera"},"photos":[{"name":"p01.jpg"}],"planing":null,"reasons":[],"reference":{"kind":"station"},"schema":1,"settings":{"lap_mm":25.4,"limit_mm":0.79375,"reference":"station","thickness_mm":12.7},"state":"measured","stations":[],"warnings":[]}','f6978ba8edd4feee2a4fd3a0836aa16176d2e88e14d6d8a4083c17a67f756d2e',NULL,'edge','{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":25.4,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}');
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
INSERT INTO "withdrawals" VALUES(1,4,5,NULL,NULL,NULL,'2026-11-29T11:03:20+00:00','Builder A','wrong side');
INSERT INTO "withdrawals" VALUES(2,5,NULL,NULL,NULL,2,'2026-11-29T11:03:20+00:00','Builder B','wrong place');
CREATE INDEX takes_of_fit ON takes (fit_id);
CREATE INDEX takes_of_photograph ON take_photographs (photograph);
CREATE INDEX cuts_of_plank ON cuts (plank_id);
CREATE INDEX signoffs_of_plank ON signoffs (plank_id);
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
CREATE INDEX feelers_of_fit ON feelers (fit_id);
CREATE TRIGGER feeler_opens AFTER INSERT ON feelers WHEN new.goes_in = 1 BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'feeler'
    WHERE plank_id = (SELECT plank_id FROM fits WHERE id = new.fit_id) AND opened_at IS NULL;
END;
CREATE INDEX seals_of_row ON seals (what, row_id);
CREATE INDEX seals_of_plank ON seals (plank_id);
CREATE TRIGGER seals_stay BEFORE UPDATE ON seals BEGIN
    SELECT RAISE(ABORT, 'a seal is never changed');
END;
CREATE TRIGGER seals_are_kept BEFORE DELETE ON seals BEGIN
    SELECT RAISE(ABORT, 'a seal is never taken out');
END;
CREATE TRIGGER withdrawals_stay BEFORE UPDATE ON withdrawals BEGIN
    SELECT RAISE(ABORT, 'a withdrawal is never changed');
END;
CREATE TRIGGER withdrawals_are_kept BEFORE DELETE ON withdrawals BEGIN
    SELECT RAISE(ABORT, 'a withdrawal is never taken out');
END;
CREATE VIEW standing_fits AS
SELECT f.*, coalesce(m.first_id, f.id) AS rank FROM fits f LEFT JOIN moves m ON m.fit_id = f.id
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.fit_id = f.id);
CREATE VIEW standing_takes AS
SELECT t.* FROM takes t
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.id)
AND (t.superseded_by IS NULL OR EXISTS (SELECT 1 FROM withdrawals w WHERE w.take_id = t.superseded_by));
CREATE VIEW standing_cuts AS
SELECT c.*, coalesce(m.first_id, c.fit_id, 0) AS rank FROM cuts c LEFT JOIN moves m ON m.fit_id = c.fit_id
WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.cut_id = c.id);
CREATE VIEW standing_feelers AS
SELECT r.* FROM feelers r WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.feeler_id = r.id);
CREATE TRIGGER withdrawal_opens AFTER INSERT ON withdrawals BEGIN
    UPDATE signoffs SET opened_at = new.made_at, opened_why = 'withdrawal'
    WHERE opened_at IS NULL AND fit_id IN (
        new.fit_id,
        (SELECT fit_id FROM takes WHERE id = new.take_id),
        (SELECT fit_id FROM feelers WHERE id = new.feeler_id)
    );
END;
CREATE INDEX jobs_of_state ON jobs (state, id);
CREATE INDEX jobs_of_plank ON jobs (plank, id);
CREATE INDEX notes_of_plank ON notes (plank_id);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('fits',6);
INSERT INTO "sqlite_sequence" VALUES('takes',11);
INSERT INTO "sqlite_sequence" VALUES('signoffs',1);
INSERT INTO "sqlite_sequence" VALUES('cuts',1);
INSERT INTO "sqlite_sequence" VALUES('feelers',2);
INSERT INTO "sqlite_sequence" VALUES('seals',29);
INSERT INTO "sqlite_sequence" VALUES('withdrawals',2);
INSERT INTO "sqlite_sequence" VALUES('moves',1);
INSERT INTO "sqlite_sequence" VALUES('jobs',2);
INSERT INTO "sqlite_sequence" VALUES('notes',1);
COMMIT;
