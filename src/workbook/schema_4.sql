-- The step from version 3 to version 4: paints, what was seen of them, pots, what went into them, and how the pots looked. A new workbook is made by all steps in turn.
PRAGMA user_version = 4;

CREATE TABLE paint (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    maker    TEXT NOT NULL, code TEXT NOT NULL, binder TEXT NOT NULL,         -- as the user says; empty: not said
    finish   TEXT NOT NULL CHECK (finish IN ('', 'matte', 'satin', 'gloss')), -- empty: not said
    pigments TEXT NOT NULL,        -- generic names of the Colour Index with blanks between: "PB15:3 PW6"; empty: not known
    white    INTEGER NOT NULL CHECK (white IN (0, 1)),       -- said to be the shelf's white
    on_shelf INTEGER NOT NULL CHECK (on_shelf IN (0, 1)),    -- 0: no longer there; pots still name it
    drop_ml REAL, drop_cv REAL,    -- a drop, and the spread of one over its size; NULL: not said
    density REAL,                  -- g/ml; NULL: not known
    bottle_ml REAL, price REAL,    -- a full bottle and what it costs, in the user's money; NULL: not said
    stock_ml REAL,                 -- what was left of it when that was said; NULL: never
    stock_said TEXT NOT NULL,      -- ISO 8601, UTC; empty: never
    note     TEXT NOT NULL,
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE TABLE sample ( -- a painted-out sample of a paint
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    paint    INTEGER NOT NULL REFERENCES paint (id) ON DELETE RESTRICT,
    share    REAL NOT NULL CHECK (share > 0 AND share <= 1), -- of the paint by volume; 1: masstone
    white    INTEGER REFERENCES paint (id) ON DELETE RESTRICT, -- what the rest is; NULL: nothing, or the shelf's white
    lab_l REAL NOT NULL, lab_a REAL NOT NULL, lab_b REAL NOT NULL,
    white_x REAL NOT NULL, white_y REAL NOT NULL, white_z REAL NOT NULL, -- the white Lab is relative to
    cov_ll REAL NOT NULL, cov_la REAL NOT NULL, cov_lb REAL NOT NULL,    -- covariance of Lab, upper triangle
    cov_aa REAL NOT NULL, cov_ab REAL NOT NULL, cov_bb REAL NOT NULL,
    light    TEXT NOT NULL, observer INTEGER NOT NULL CHECK (observer IN (2, 10)),
    spectrum TEXT NOT NULL,        -- lines nm,reflectance as they came; then Lab follows from it; empty: none
    spectrum_sd REAL,              -- of the reflectance at each wavelength; NULL: no spectrum
    film     INTEGER,              -- samples of a paint of one number are one film, over several grounds; NULL: by itself
    film_um REAL, film_cv REAL,    -- dry thickness, and its spread over its size; NULL: not known
    under_l REAL, under_a REAL, under_b REAL, -- ground or undercoat, D50, 2 degrees; NULL: the paint hides it
    coat     TEXT NOT NULL CHECK (coat IN ('', 'matte', 'satin', 'gloss')), -- clear coat over it; empty: none
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)),                 -- 1: kept, not counted
    reading  INTEGER REFERENCES reading (id) ON DELETE RESTRICT,            -- where the color came from; NULL: typed or measured elsewhere
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX sample_by_paint ON sample (paint);
CREATE INDEX sample_by_white ON sample (white);
CREATE INDEX sample_by_reading ON sample (reading);

CREATE TABLE pot (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    name     TEXT NOT NULL UNIQUE CHECK (length(CAST(name AS BLOB)) BETWEEN 1 AND 200),
    target   INTEGER REFERENCES target (id) ON DELETE RESTRICT, -- what it is to become; NULL: not said
    batch_of INTEGER REFERENCES pot (id) ON DELETE RESTRICT,    -- an earlier pot that it is to look like; NULL: none
    tolerance REAL,                                             -- CIEDE2000; NULL: not said
    lights   TEXT NOT NULL,                                     -- LIGHT, one a line, the one to match under first; empty: not said
    teaches  INTEGER NOT NULL CHECK (teaches IN (0, 1)),        -- whether its readings refine what is believed of the paints
    note     TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX pot_by_target ON pot (target);
CREATE INDEX pot_by_batch ON pot (batch_of);

CREATE TABLE addition (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    pot      INTEGER NOT NULL REFERENCES pot (id) ON DELETE RESTRICT,
    number   INTEGER NOT NULL CHECK (number > 0), -- from 1, in the order of time; a gap: a row was lost
    kind     TEXT NOT NULL CHECK (kind IN ('paint', 'unknown', 'taken')), -- unknown: nobody counted; taken: some of the mix was taken out
    paint    INTEGER REFERENCES paint (id) ON DELETE RESTRICT,  -- kind taken: NULL; unknown: NULL where it is not known either
    amount   REAL CHECK (amount > 0),                           -- as it was said; kind unknown: NULL
    unit     TEXT NOT NULL CHECK (unit IN ('', 'drops', 'ml', 'g')),
    ml       REAL CHECK (ml > 0),                               -- what that was reckoned to be; kind unknown: NULL
    spread   REAL,                                              -- of it, over its size; NULL: as the paint's drops
    explains INTEGER REFERENCES addition (id) ON DELETE RESTRICT, -- the unknown one that this is believed to have been; NULL: it was counted
    note     TEXT NOT NULL,
    created  TEXT NOT NULL,
    CHECK ((kind = 'unknown') = (amount IS NULL) AND (amount IS NULL) = (ml IS NULL) AND (amount IS NULL) = (unit = '')),
    CHECK (kind <> 'paint' OR paint IS NOT NULL),
    CHECK (kind <> 'taken' OR paint IS NULL)
) STRICT;

CREATE UNIQUE INDEX addition_by_pot ON addition (pot, number);
CREATE INDEX addition_by_paint ON addition (paint);
CREATE INDEX addition_by_explained ON addition (explains);

CREATE TABLE pot_reading ( -- a test piece of a pot
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    checksum INTEGER NOT NULL,
    pot      INTEGER NOT NULL REFERENCES pot (id) ON DELETE RESTRICT,
    addition INTEGER NOT NULL REFERENCES addition (id) ON DELETE RESTRICT, -- the last that was in it
    lab_l REAL NOT NULL, lab_a REAL NOT NULL, lab_b REAL NOT NULL,
    white_x REAL NOT NULL, white_y REAL NOT NULL, white_z REAL NOT NULL, -- the white Lab is relative to
    cov_ll REAL NOT NULL, cov_la REAL NOT NULL, cov_lb REAL NOT NULL,    -- covariance of Lab, upper triangle
    cov_aa REAL NOT NULL, cov_ab REAL NOT NULL, cov_bb REAL NOT NULL,
    light    TEXT NOT NULL, observer INTEGER NOT NULL CHECK (observer IN (2, 10)),
    state    TEXT NOT NULL CHECK (state IN ('dry', 'wet')), -- wet ones are kept, and neither judged nor learned from
    film_um REAL, film_cv REAL,                             -- as a sample's
    under_l REAL, under_a REAL, under_b REAL,
    coat     TEXT NOT NULL CHECK (coat IN ('', 'matte', 'satin', 'gloss')),
    de00 REAL, ci_low REAL, ci_high REAL, tolerance REAL,   -- against the pot's target; NULL: not judged
    verdict  TEXT NOT NULL,
    set_aside INTEGER NOT NULL CHECK (set_aside IN (0, 1)), -- as a sample's
    reading  INTEGER REFERENCES reading (id) ON DELETE RESTRICT,
    source   TEXT NOT NULL,
    created  TEXT NOT NULL
) STRICT;

CREATE INDEX pot_reading_by_pot ON pot_reading (pot);
CREATE INDEX pot_reading_by_addition ON pot_reading (addition);
CREATE INDEX pot_reading_by_reading ON pot_reading (reading);
