-- Schema of a workbook, version 1; schema_2.sql is the step from there to version 2. These texts are never changed: the program makes new workbooks
-- from them in turn, knows old ones by them, and takes none that differs.
PRAGMA application_id = 1398227563; -- 0x5357426B, "SWBk"
PRAGMA user_version = 1;

CREATE TABLE target (
    id       INTEGER PRIMARY KEY AUTOINCREMENT, -- never given out twice, so that undo cannot hit another row
    checksum INTEGER NOT NULL,                  -- FNV-1a of id and all columns below
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    lab_l REAL NOT NULL, lab_a REAL NOT NULL, lab_b REAL NOT NULL,
    white_x REAL NOT NULL, white_y REAL NOT NULL, white_z REAL NOT NULL, -- the white Lab is relative to
    cov_ll REAL NOT NULL, cov_la REAL NOT NULL, cov_lb REAL NOT NULL,    -- covariance of Lab, upper triangle
    cov_aa REAL NOT NULL, cov_ab REAL NOT NULL, cov_bb REAL NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN ('chip', 'published', 'instrument', 'screen')),
    light    TEXT NOT NULL,
    observer INTEGER NOT NULL CHECK (observer IN (2, 10)), -- degrees
    source   TEXT NOT NULL,
    created  TEXT NOT NULL                                 -- ISO 8601, UTC
) STRICT;

CREATE TABLE reading (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    target   INTEGER REFERENCES target (id) ON DELETE RESTRICT, -- the program clears the link first; NULL: none
    name     TEXT NOT NULL CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    photo_file TEXT NOT NULL, photo_hash TEXT NOT NULL, region TEXT NOT NULL, calibration_json TEXT NOT NULL,
    lab_l REAL NOT NULL, lab_a REAL NOT NULL, lab_b REAL NOT NULL,
    white_x REAL NOT NULL, white_y REAL NOT NULL, white_z REAL NOT NULL,
    cov_ll REAL NOT NULL, cov_la REAL NOT NULL, cov_lb REAL NOT NULL,
    cov_aa REAL NOT NULL, cov_ab REAL NOT NULL, cov_bb REAL NOT NULL,
    light    TEXT NOT NULL,
    de00 REAL, ci_low REAL, ci_high REAL, -- NULL: not judged
    verdict  TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX reading_by_target ON reading (target);
