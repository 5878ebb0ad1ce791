-- Inputs that could not be stored while others could: kept unchanged, so that nothing accepted is lost.

CREATE TABLE not_stored (
  id            INTEGER PRIMARY KEY,  -- counts up; the largest is how many there ever were
  now_ms        INTEGER NOT NULL,     -- engine time at which it arrived
  topic         TEXT NOT NULL,        -- the beginning of it, as of the payload
  payload       BLOB NOT NULL,
  payload_bytes INTEGER NOT NULL,     -- of the whole payload
  why           TEXT NOT NULL
) STRICT;

-- When a request with this id was first finally answered; in stores of an earlier schema, when it was first taken. The
-- engine remembers only the last 10,000 answers.
CREATE TABLE request_ids (
  id     TEXT NOT NULL PRIMARY KEY,
  now_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

INSERT INTO request_ids (id, now_ms)
  SELECT told, MIN(now_ms) FROM
    (SELECT CASE WHEN json_valid(body) THEN body ->> 'id' END AS told, now_ms FROM journal WHERE kind = 1 AND kind <> 0)
  WHERE told <> '' GROUP BY told;

-- Digests of journal rows as they were when new. Each seal covers the rows after the previous seal, and its chain covers
-- all seals before it. Readings are thinned, so they have a digest of their own.
CREATE TABLE seals (
  last_seq INTEGER PRIMARY KEY,  -- the last row covered
  readings INTEGER NOT NULL,     -- how many, of those that retention thins
  others   INTEGER NOT NULL,     -- how many, of those that are kept for ever
  readings_digest BLOB NOT NULL CHECK (length(readings_digest) = 32),  -- SHA-256, as below
  others_digest   BLOB NOT NULL CHECK (length(others_digest) = 32),
  chain           BLOB NOT NULL CHECK (length(chain) = 32)
) STRICT;

CREATE TRIGGER seals_are_kept BEFORE DELETE ON seals
BEGIN SELECT RAISE(ABORT, 'seals are never deleted'); END;
CREATE TRIGGER seals_are_final BEFORE UPDATE ON seals
BEGIN SELECT RAISE(ABORT, 'seals are never changed'); END;
