-- The tables of the first version, as it wrote them, with one invented part.
PRAGMA application_id = 0x5457706c;
PRAGMA user_version = 1;
CREATE TABLE action (
  id INTEGER PRIMARY KEY,
  by TEXT NOT NULL CHECK (by IN ('user', 'program')),
  what TEXT NOT NULL CHECK (what <> ''),
  document TEXT NOT NULL,
  at_unix_s INTEGER
) STRICT;

CREATE TABLE document (
  id INTEGER PRIMARY KEY,
  title TEXT NOT NULL CHECK (title <> ''),
  revision TEXT NOT NULL,
  UNIQUE (title, revision)
) STRICT;

CREATE TABLE part (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE CHECK (name <> ''),
  family TEXT NOT NULL CHECK (family IN ('avalanche', 'flat-clamp', 'snapback', 'varistor', 'gas-tube', 'thyristor',
    'steering', 'table', 'resistor', 'inductor', 'bead', 'fuse', 'ptc', 'limiter')),
  retired INTEGER NOT NULL DEFAULT 0 CHECK (retired IN (0, 1))
) STRICT;

CREATE TABLE datum (
  part INTEGER NOT NULL REFERENCES part (id),
  ordinal INTEGER NOT NULL CHECK (ordinal >= 0),
  key TEXT NOT NULL CHECK (key <> ''),
  min REAL, typ REAL, max REAL,
  number REAL,
  flag INTEGER CHECK (flag IN (0, 1)),
  curve TEXT CHECK (json_valid(curve)),
  wave TEXT,
  current_a REAL,
  voltage_v REAL,
  temperature_c REAL,
  slope_v_per_s REAL,
  width_s REAL,
  pulses INTEGER CHECK (pulses >= 1),
  frequency_hz REAL,
  kind TEXT NOT NULL CHECK (kind IN ('guaranteed', 'typical', 'measured', 'invented')),
  document INTEGER NOT NULL REFERENCES document (id),
  place TEXT NOT NULL,
  action INTEGER NOT NULL REFERENCES action (id),
  PRIMARY KEY (part, ordinal),
  CHECK ((min IS NOT NULL OR typ IS NOT NULL OR max IS NOT NULL) + (number IS NOT NULL) + (flag IS NOT NULL)
    + (curve IS NOT NULL) = 1),
  CHECK (min IS NULL OR typ IS NULL OR min <= typ),
  CHECK (typ IS NULL OR max IS NULL OR typ <= max),
  CHECK (min IS NULL OR max IS NULL OR min <= max)
) STRICT, WITHOUT ROWID;

CREATE TABLE history (
  id INTEGER PRIMARY KEY,
  part INTEGER NOT NULL REFERENCES part (id),
  action INTEGER NOT NULL REFERENCES action (id),
  event TEXT NOT NULL CHECK (event IN ('added', 'changed', 'retired')),
  old TEXT CHECK (json_valid(old)),
  new TEXT CHECK (json_valid(new)),
  CHECK (event <> 'changed' OR old IS NOT NULL OR new IS NOT NULL)
) STRICT;
CREATE INDEX history_of_part ON history (part);

CREATE TABLE setting (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

INSERT INTO action VALUES (1, 'user', 'first version', '', 1000);
INSERT INTO document VALUES (1, 'sheet 1', 'A');
INSERT INTO part VALUES (1, 'larch-33', 'avalanche', 0);
INSERT INTO datum (part, ordinal, key, number, kind, document, place, action)
VALUES (1, 0, 'stand_off', 33.0, 'guaranteed', 1, 'table 2', 1);
INSERT INTO history VALUES (1, 1, 1, 'added', NULL, NULL);
