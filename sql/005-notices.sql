-- What people are to be told of, or were told of and lasts: one row a matter. Rows go when they are done with; what was
-- told stands in the outbox for a while, and in the ledger for ever.

CREATE TABLE notices (
  key             TEXT PRIMARY KEY,   -- the matter's id; with the time for what happened once
  kind            TEXT NOT NULL,      -- "sensor-silent"
  urgency         INTEGER NOT NULL CHECK (urgency BETWEEN 0 AND 2),  -- 0 urgent, 1 soon, 2 info
  lasts           INTEGER NOT NULL CHECK (lasts IN (0, 1)),
  bench           TEXT NOT NULL,      -- empty: none, as below
  pump            TEXT NOT NULL,
  sensor          TEXT NOT NULL,
  detail          TEXT NOT NULL,
  since_ms        INTEGER,
  text            TEXT NOT NULL,
  evidence        TEXT NOT NULL,      -- JSON
  decision        TEXT NOT NULL,      -- the ledger's line, JSON
  state           INTEGER NOT NULL CHECK (state BETWEEN 0 AND 2),    -- 0 happened, 1 open, 2 over
  told            INTEGER NOT NULL,   -- how often
  heard           INTEGER NOT NULL CHECK (heard IN (0, 1)),          -- told as open, and not yet as over
  told_ms         INTEGER,
  due_ms          INTEGER,            -- NULL: not to be told again
  gone_ms         INTEGER,
  acknowledged_ms INTEGER,
  acknowledged_by TEXT NOT NULL,
  effects         TEXT NOT NULL       -- outbox ids of the last message, with spaces between
) STRICT, WITHOUT ROWID;
