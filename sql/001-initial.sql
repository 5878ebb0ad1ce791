-- The store's first schema. Times are milliseconds since 1970 (UTC) unless a column says otherwise; values of
-- readings are thousandths of °C or %RH, as the engine takes them.

CREATE TABLE meta (
  key   TEXT NOT NULL PRIMARY KEY,
  value INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

INSERT INTO meta (key, value) VALUES
  ('epoch', 1),        -- rises when a store is restored from a backup
  ('thinned_seq', 0),  -- readings up to this journal row are thinned
  ('cut_seq', 0);      -- the kept snapshot at which retention cut last; the journal is whole after it

CREATE TABLE sensors (
  id   INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE
) STRICT;

-- Every input the engine took. Readings are nearly all of it, so their rows hold integers only.
CREATE TABLE journal (
  seq         INTEGER PRIMARY KEY,
  kind        INTEGER NOT NULL,  -- 0 reading, 1 request, 2 settings, 3 clock, 4 tick, 5 dose
  now_ms      INTEGER NOT NULL,  -- engine time at which it was taken
  sensor_id   INTEGER REFERENCES sensors (id),
  quantity    INTEGER,           -- 0 temperature, 1 humidity
  time_ms     INTEGER,           -- when it was measured
  value_milli INTEGER,
  body        TEXT,
  CHECK (kind BETWEEN 0 AND 5),
  CHECK (kind <> 0 OR (sensor_id IS NOT NULL AND quantity IN (0, 1) AND time_ms IS NOT NULL AND value_milli IS NOT NULL AND body IS NULL))
) STRICT;

-- A broker delivers a reading again after a restart; this is what makes the second delivery change nothing.
CREATE UNIQUE INDEX journal_reading ON journal (sensor_id, quantity, time_ms, value_milli) WHERE kind = 0;
CREATE INDEX journal_other ON journal (kind, seq) WHERE kind <> 0;

-- Decisions. journal_seq is no foreign key: readings age out, decisions do not.
CREATE TABLE ledger (
  id          INTEGER PRIMARY KEY,
  journal_seq INTEGER NOT NULL,
  ordinal     INTEGER NOT NULL,
  time_ms     INTEGER NOT NULL,
  bench       TEXT NOT NULL,     -- empty for a reference sensor
  decision    TEXT NOT NULL,
  cause       TEXT NOT NULL,
  json        TEXT NOT NULL,
  UNIQUE (journal_seq, ordinal)
) STRICT;
CREATE INDEX ledger_bench ON ledger (bench, id);
CREATE INDEX ledger_time ON ledger (time_ms);

CREATE TRIGGER ledger_is_kept BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is never deleted from'); END;
CREATE TRIGGER ledger_is_final BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is never changed'); END;

CREATE TABLE nights (
  bench            TEXT NOT NULL,
  night            TEXT NOT NULL,     -- the evening's date, "2026-09-14"
  sunset_ms        INTEGER NOT NULL,
  sunrise_ms       INTEGER NOT NULL,
  coverage         REAL NOT NULL,     -- 0..1
  counted          INTEGER NOT NULL,  -- 0 or 1
  mean_c           REAL,              -- NULL where unknown, as below
  minimum_c        REAL,
  mean_rh          REAL,
  acclimated_c     REAL,
  deficit_c        REAL,
  metabolic_rate   REAL,              -- 1: as used to
  feeding          TEXT NOT NULL,
  strength_percent INTEGER NOT NULL,
  PRIMARY KEY (bench, night)
) STRICT, WITHOUT ROWID;

CREATE TABLE snapshots (
  journal_seq INTEGER PRIMARY KEY,
  now_ms      INTEGER NOT NULL,
  revision    INTEGER NOT NULL,
  kept        INTEGER NOT NULL,  -- 1: for ever, retention may cut the journal here
  bytes       BLOB NOT NULL
) STRICT;
CREATE INDEX snapshots_kept ON snapshots (now_ms) WHERE kept = 1;

-- AUTOINCREMENT: an id that was once sent must never name another effect.
CREATE TABLE outbox (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  kind       TEXT NOT NULL,
  topic      TEXT NOT NULL,
  payload    BLOB NOT NULL,
  qos        INTEGER NOT NULL CHECK (qos BETWEEN 0 AND 2),
  retain     INTEGER NOT NULL CHECK (retain IN (0, 1)),
  expires_ms INTEGER,
  created_ms INTEGER NOT NULL,
  acked_ms   INTEGER
) STRICT;
CREATE INDEX outbox_pending ON outbox (id) WHERE acked_ms IS NULL;
CREATE INDEX outbox_acked ON outbox (acked_ms) WHERE acked_ms IS NOT NULL;

-- What is left of readings older than the raw window. A sum, not a mean: an hour may be thinned in two goes.
CREATE TABLE hourly (
  sensor_id INTEGER NOT NULL REFERENCES sensors (id),
  quantity  INTEGER NOT NULL,
  hour      INTEGER NOT NULL,    -- whole hours since 1970
  sum_milli INTEGER NOT NULL,
  min_milli INTEGER NOT NULL,
  max_milli INTEGER NOT NULL,
  count     INTEGER NOT NULL CHECK (count > 0),
  PRIMARY KEY (sensor_id, quantity, hour)
) STRICT, WITHOUT ROWID;

-- Written and removed to learn whether the disk takes writes again.
CREATE TABLE probe (
  id     INTEGER PRIMARY KEY CHECK (id = 1),
  filler BLOB NOT NULL
) STRICT;
