-- One file for everything that the page keeps.  Times are seconds since 1970, UTC.

CREATE TABLE secret (
  name TEXT PRIMARY KEY,
  value BLOB NOT NULL
);

CREATE TABLE class (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL,
  code TEXT NOT NULL UNIQUE,
  usual TEXT NOT NULL DEFAULT '{}',   -- what every design of the class has unless it says otherwise, JSON
  created_s REAL NOT NULL
);

CREATE TABLE person (
  id INTEGER PRIMARY KEY,
  class_id INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  name TEXT NOT NULL,
  number TEXT NOT NULL DEFAULT '',     -- shown to whoever first took the name, asked of whoever takes it again
  UNIQUE (class_id, name)
);

CREATE TABLE upload (
  id TEXT PRIMARY KEY,
  class_id INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  data BLOB NOT NULL
);

CREATE TABLE design (
  id TEXT PRIMARY KEY,
  class_id INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  person_id INTEGER REFERENCES person ON DELETE CASCADE,   -- the teacher's own if null
  beginning TEXT NOT NULL,
  upload_id TEXT REFERENCES upload,
  number INTEGER NOT NULL DEFAULT 0,   -- the version that is seen; undo goes back, redo forward
  changed_s REAL NOT NULL
);

CREATE TABLE version (
  design_id TEXT NOT NULL REFERENCES design ON DELETE CASCADE,
  number INTEGER NOT NULL,
  "values" TEXT NOT NULL,
  PRIMARY KEY (design_id, number)
) WITHOUT ROWID;

-- What was handed in never changes; what was said of it is added.
CREATE TABLE handed_in (
  id TEXT PRIMARY KEY,                 -- made by the page before it sends: twice sent is once there
  class_id INTEGER NOT NULL REFERENCES class ON DELETE CASCADE,
  person_id INTEGER REFERENCES person ON DELETE CASCADE,
  design_id TEXT REFERENCES design ON DELETE SET NULL,
  beginning TEXT NOT NULL,
  upload_id TEXT REFERENCES upload,
  "values" TEXT NOT NULL,
  at_s REAL NOT NULL
);

CREATE TABLE said (
  id INTEGER PRIMARY KEY,
  handed_in_id TEXT NOT NULL REFERENCES handed_in ON DELETE CASCADE,
  state TEXT NOT NULL,
  words TEXT NOT NULL DEFAULT '',
  at_s REAL NOT NULL
);

CREATE INDEX design_of_person ON design (class_id, person_id, changed_s);
CREATE INDEX said_of ON said (handed_in_id, id);
