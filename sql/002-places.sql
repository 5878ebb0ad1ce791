-- Contacts' words join the journal as quantity 2, with 0 (indoors) or 1000 (outdoors) as their value. SQLite cannot
-- change a CHECK, so the table is made anew, row for row with the old numbers: snapshots and the ledger name them.
-- Words are never thinned into the hourly table: half a word has no meaning.

CREATE TABLE journal_with_places (
  seq         INTEGER PRIMARY KEY,
  kind        INTEGER NOT NULL,  -- 0 reading, 1 request, 2 settings, 3 clock, 4 tick, 5 dose
  now_ms      INTEGER NOT NULL,  -- engine time at which it was taken
  sensor_id   INTEGER REFERENCES sensors (id),
  quantity    INTEGER,           -- 0 temperature, 1 humidity, 2 place
  time_ms     INTEGER,           -- when it was measured
  value_milli INTEGER,
  body        TEXT,
  CHECK (kind BETWEEN 0 AND 5),
  CHECK (kind <> 0 OR (sensor_id IS NOT NULL AND quantity IN (0, 1, 2) AND time_ms IS NOT NULL AND value_milli IS NOT NULL AND body IS NULL))
) STRICT;

INSERT INTO journal_with_places (seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli, body)
  SELECT seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli, body FROM journal ORDER BY seq;
DROP TABLE journal;
ALTER TABLE journal_with_places RENAME TO journal;

CREATE UNIQUE INDEX journal_reading ON journal (sensor_id, quantity, time_ms, value_milli) WHERE kind = 0;
CREATE INDEX journal_other ON journal (kind, seq) WHERE kind <> 0;
