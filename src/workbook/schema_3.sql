-- The step from version 2 to version 3: parts, photos, lamps, notes, mappings of columns, and the changes that can be undone. A new workbook is made by all steps in turn.
-- The program sums the rows of target anew in the same transaction, for their checksum covers the new columns too.
PRAGMA user_version = 3;

ALTER TABLE target ADD COLUMN spectrum TEXT NOT NULL DEFAULT '';
ALTER TABLE target ADD COLUMN caution TEXT NOT NULL DEFAULT '';

CREATE TABLE part (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    parent   INTEGER REFERENCES part (id) ON DELETE RESTRICT,   -- NULL: a project
    target   INTEGER REFERENCES target (id) ON DELETE RESTRICT, -- what it wears; NULL: nothing yet
    status   TEXT NOT NULL CHECK (status IN ('missing', 'target', 'mixing', 'within', 'painted', 'coated')),
    note     TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE UNIQUE INDEX part_by_place ON part (ifnull(parent, 0), name);
CREATE INDEX part_by_target ON part (target);

CREATE TABLE photo (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    path     TEXT NOT NULL,        -- where it was last seen
    hash     TEXT NOT NULL UNIQUE, -- of the file's bytes
    bytes INTEGER NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL, -- pixels, upright
    camera   TEXT NOT NULL, lens TEXT NOT NULL, taken TEXT NOT NULL,         -- as the file says; empty: it does not
    iso REAL, exposure_s REAL, f_number REAL, focal_mm REAL,
    thumbnail BLOB NOT NULL,       -- JPEG
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE lamp (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    light    TEXT NOT NULL, -- LIGHT; empty where there is a spectrum
    spectrum TEXT NOT NULL, -- lines nm,power as they came; else empty
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE note (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    target   INTEGER REFERENCES target (id) ON DELETE RESTRICT, -- one of the three
    part     INTEGER REFERENCES part (id) ON DELETE RESTRICT,
    reading  INTEGER REFERENCES reading (id) ON DELETE RESTRICT,
    text     TEXT NOT NULL,
    created  TEXT NOT NULL,
    CHECK ((target IS NOT NULL) + (part IS NOT NULL) + (reading IS NOT NULL) = 1)
) STRICT;

CREATE INDEX note_by_target ON note (target);
CREATE INDEX note_by_part ON note (part);
CREATE INDEX note_by_reading ON note (reading);

CREATE TABLE mapping ( -- how the columns of a table from outside were read
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    headings TEXT NOT NULL UNIQUE, -- of the table, with "; " between
    columns  TEXT NOT NULL,        -- lines COLUMN=MEANING
    light    TEXT NOT NULL,        -- where the table names none; empty: not said
    observer INTEGER NOT NULL CHECK (observer IN (2, 10)),
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE change (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    words    TEXT NOT NULL,
    undone   INTEGER NOT NULL CHECK (undone IN (0, 1)),
    image    BLOB NOT NULL, -- the rows as they were before it; where it is undone, as they were after it
    created  TEXT NOT NULL
) STRICT;
