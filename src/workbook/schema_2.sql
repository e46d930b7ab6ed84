-- The step from version 1 to version 2: reference cards and set-ups. A new workbook is made by all steps in turn.
PRAGMA user_version = 2;

CREATE TABLE card (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    kind     TEXT NOT NULL CHECK (kind IN ('lrv', 'lab', 'spectrum')),
    lrv      REAL,                            -- kind lrv: a neutral card, 0..100; else NULL
    lab_l REAL, lab_a REAL, lab_b REAL,       -- kind lab: D50, 2 degrees; else NULL
    spectrum TEXT NOT NULL,                   -- kind spectrum: lines nm,reflectance as they came; else empty
    sd       REAL NOT NULL,                   -- points of LRV; kind lab: units of L*, a* and b* each
    sd_assumed INTEGER NOT NULL CHECK (sd_assumed IN (0, 1)),
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE setup (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    photo_file TEXT NOT NULL, photo_hash TEXT NOT NULL,
    light    TEXT NOT NULL, -- empty: unknown
    method   TEXT NOT NULL, grade TEXT NOT NULL,
    setup_json TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;
