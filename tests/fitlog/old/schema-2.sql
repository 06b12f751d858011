-- A record of schema 2, with invented data.
PRAGMA application_id = 1718187107;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
CREATE TABLE calibrations (
    digest TEXT PRIMARY KEY,
    identity TEXT NOT NULL CHECK (json_valid(identity))
) STRICT, WITHOUT ROWID;
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
    note TEXT NOT NULL DEFAULT '',
    CHECK (to_mm > from_mm)
) STRICT;
INSERT INTO "cuts" VALUES(1,1,1,'2026-01-02T08:00:00+00:00','Builder A',20.0,60.0,0.8,NULL,'one pass');
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
CREATE TABLE hulls (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;
INSERT INTO "hulls" VALUES(1,'Invented dinghy, old record');
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
INSERT INTO "signoffs" VALUES(1,2,3,'2026-01-04T08:00:00+00:00','Builder A','the stem hides it','["0 in to 4 in: unsure"]',NULL,NULL);
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
INSERT INTO "summaries" VALUES(1,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9);
INSERT INTO "summaries" VALUES(2,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9);
INSERT INTO "summaries" VALUES(3,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9);
INSERT INTO "summaries" VALUES(4,'{"feeler_every_mm":300.0,"from_mm":null,"gap_limit_mm":0.1,"lap_mm":null,"least_lap_mm":null,"limit_mm":0.79375,"to_mm":null,"unseen_mm":100.0}','plank',0.0,100.0,1.4,0.3,50.0,NULL,NULL,NULL,30.0,0.0,40.0,25.0,0.0,5.0,0.0,0.0,25.0,'plane',1,0.9);
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
) STRICT;
INSERT INTO "takes" VALUES(1,1,'2026-01-01T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d1',NULL);
INSERT INTO "takes" VALUES(2,2,'2026-01-02T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d2',NULL);
INSERT INTO "takes" VALUES(3,3,'2026-01-03T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d3',NULL);
INSERT INTO "takes" VALUES(4,4,'2026-01-04T08:00:00+00:00','Builder A','plank',NULL,'0.1.0','cafe','{"limit_mm":0.79375,"lap_mm":25.4}','{"verdict": "plane", "cuts": [{"from_mm": 20.0, "to_mm": 60.0, "deepest_mm": 0.9, "profile": [[20.0, 0.0], [40.0, 0.9], [60.0, 0.0]]}]}','{"schema":1,"state":"measured"}','d4',NULL);
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
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('fits',4);
INSERT INTO "sqlite_sequence" VALUES('takes',4);
INSERT INTO "sqlite_sequence" VALUES('signoffs',1);
INSERT INTO "sqlite_sequence" VALUES('cuts',1);
COMMIT;
