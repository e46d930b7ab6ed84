-- The step from version 3 to version 4: paints, pots, what went into them, and how the pots looked. A new workbook is made by all steps in turn.
PRAGMA user_version = 4;

CREATE TABLE paint (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    maker    TEXT NOT NULL, code TEXT NOT NULL, binder TEXT NOT NULL, -- as the user says; may be empty
    finish   TEXT NOT NULL CHECK (finish IN ('matte', 'satin', 'gloss')),
    pigment  TEXT NOT NULL,        -- generic name of the Colour Index, "PB15:3"; empty: not known
    white    INTEGER REFERENCES paint (id) ON DELETE RESTRICT, -- what its tints are let down with; NULL: it has none
    drop_ml  REAL NOT NULL, drop_cv REAL NOT NULL,             -- a drop, and the spread of one over its size
    density  REAL,                 -- g/ml; NULL: unknown
    samples  TEXT NOT NULL,        -- JSON: what was seen of it, see below
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE pot (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    target   INTEGER REFERENCES target (id) ON DELETE RESTRICT, -- what it is to become; NULL: not said
    teaches  INTEGER NOT NULL CHECK (teaches IN (0, 1)),        -- whether its readings refine what is believed of the paints
    note     TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX pot_by_target ON pot (target);

CREATE TABLE addition ( -- in the order of their ids
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    pot      INTEGER NOT NULL REFERENCES pot (id) ON DELETE RESTRICT,
    paint    INTEGER NOT NULL REFERENCES paint (id) ON DELETE RESTRICT,
    drops    REAL NOT NULL CHECK (drops > 0),
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX addition_by_pot ON addition (pot);
CREATE INDEX addition_by_paint ON addition (paint);

CREATE TABLE pot_color ( -- a dry test piece of a pot
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    pot      INTEGER NOT NULL REFERENCES pot (id) ON DELETE RESTRICT,
    after    INTEGER NOT NULL CHECK (after > 0), -- how many additions were in it
    lab_l REAL NOT NULL, lab_a REAL NOT NULL, lab_b REAL NOT NULL,
    white_x REAL NOT NULL, white_y REAL NOT NULL, white_z REAL NOT NULL, -- the white Lab is relative to
    cov_ll REAL NOT NULL, cov_la REAL NOT NULL, cov_lb REAL NOT NULL,    -- covariance of Lab, upper triangle
    cov_aa REAL NOT NULL, cov_ab REAL NOT NULL, cov_bb REAL NOT NULL,
    light    TEXT NOT NULL, observer INTEGER NOT NULL CHECK (observer IN (2, 10)),
    source   TEXT NOT NULL, -- as a target's
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX pot_color_by_pot ON pot_color (pot);
